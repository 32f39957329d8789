"""The one box that text is typed and pasted into."""

from __future__ import annotations

from textual.widgets import Input

from dyeday.text import harmless


class Field(Input):
    """A line of text in which no character turns the reading order or hides: it stands there as ``\\u202e``.

    Raw, a mark from right to left would have the line show something else than what is taken.
    """

    def replace(self, text: str, start: int, end: int) -> None:
        """Put ``text``, made harmless, in place of the characters from ``start`` to ``end``."""
        super().replace(harmless(text), start, end)
