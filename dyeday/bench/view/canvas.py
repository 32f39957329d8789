"""The room that lines are drawn in."""

from __future__ import annotations

from typing import NamedTuple

from dyeday.bench.looks.themes import ColourDepth, LookStyles


class Canvas(NamedTuple):
    """Room for ``height`` lines of ``width`` cells, the look they are drawn in and the colours the terminal shows."""

    width: int
    height: int
    look: LookStyles
    colours: ColourDepth = ColourDepth.ALL

    def of(self, width: int, height: int) -> Canvas:
        """Return a canvas of another size that looks the same."""
        return self._replace(width=width, height=height)
