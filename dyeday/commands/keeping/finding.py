"""What a look at the health of the data folder finds."""

from __future__ import annotations

from dyeday.quick_dataclass import dataclass


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing looked at: ``state`` is well, note or wrong; ``do`` is what a person can do about it."""

    about: str
    state: str
    said: str
    do: str = ""
