"""Survivors that no test can notice, each with the reason: (module, function, change)."""

from __future__ import annotations

REASONS: dict[tuple[str, str, str], str] = {
    ("bath_chemistry.py", "of_raw_water", "2 -> 3"): "a step of the iteration only; it settles at the same point",
}
