"""Survivors that no test can notice, each with the reason: (module, function, change)."""

from __future__ import annotations

REASONS: dict[tuple[str, str, str], str] = {}
