"""One line of a screen, and whether it looks the same as another."""

from __future__ import annotations

from collections.abc import Sequence

from rich.text import Text

from dyeday.quick_dataclass import dataclass


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the screen: its text, what it stands on, a colour such as "#303030", and what stands behind it."""

    text: Text
    ground: str
    aside: Text | None = None

    @property
    def parts(self) -> tuple[Text, ...]:
        return (self.text,) if self.aside is None else (self.text, self.aside)

    @property
    def plain(self) -> str:
        return "".join(part.plain for part in self.parts)


def is_same(text: Text | None, other: Text | None) -> bool:
    """Tell whether two texts look the same: Rich's are equal where their letters are, whatever their colours."""
    if text is other or text is None or other is None:
        return text is other
    return text == other and text.spans == other.spans and text.style == other.style


def changed_lines(lines: Sequence[Line], before: Sequence[Line]) -> list[int]:
    """Return the places of the lines that look other than those ``before``, or are more or fewer."""
    both, most = sorted((len(lines), len(before)))
    return [*(y for y in range(both) if not _is_same_line(lines[y], before[y])), *range(both, most)]


def _is_same_line(line: Line, other: Line) -> bool:
    return line.ground == other.ground and is_same(line.text, other.text) and is_same(line.aside, other.aside)
