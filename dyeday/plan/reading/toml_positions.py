"""Where the keys, values and tables stand in a TOML text that `tomllib` has accepted, so it does not check syntax."""

from __future__ import annotations

import re
from dataclasses import replace

from dyeday.quick_dataclass import dataclass

Path = tuple[str | int, ...]
_SPACE = re.compile(r"(?:[ \t\r]|#[^\n]*)*")
_LINES = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_STRING = r"""(?s:"{3}(?:\\.|[^\\])*?"{3,5}|'{3}.*?'{3,5}|"(?:\\.|[^"\\])*"|'[^']*')"""
_KEY = re.compile(rf"{_STRING}|[\w-]*")
_VALUE = re.compile(rf"{_STRING}|[^,\]}}#\n]*")


@dataclass(frozen=True, slots=True)
class Span:
    """A table of a text: the offsets of its header, and of the end of its last pair."""

    path: Path
    start: int
    end: int


def nearest_line(lines: dict[Path, int], path: Path) -> int:
    """Return the line of ``path``, or of the closest thing around it, or 1."""
    while path and path not in lines:
        path = path[:-1]
    return lines.get(path, 1)


class TomlPositions:
    """The positions in one text: ``("kit", 1, "holds")`` is the path of the second ``[[kit]]``'s key."""

    def __init__(self, text: str) -> None:
        self._text, self._at, self._line = text, 0, 1
        self.lines: dict[Path, int] = {}
        """the line of each path, from 1"""
        self.tables: list[Span] = []
        """those with a header, in the order of the text"""
        self.values: dict[Path, tuple[int, int]] = {}
        """where the value of each key begins and ends, without white space after it"""
        self._counts: dict[Path, int] = {}
        table: Path = ()
        while self._skip(_LINES):
            if text[self._at] == "[":
                table = self._header()
            else:
                self._pair(table)
                if self.tables:
                    self.tables[-1] = replace(self.tables[-1], end=self._last())

    def _header(self) -> Path:
        start, brackets = self._at, 2 if self._text.startswith("[[", self._at) else 1
        self._to(start + brackets)
        parts = self._key()
        self._to(self._at + brackets)
        if brackets == 1:
            table = self._resolve(parts)
        else:
            array = (*self._resolve(parts[:-1]), parts[-1])
            self._counts[array] = self._counts.get(array, 0) + 1
            table = (*array, self._counts[array] - 1)
            self._note(array)
        self._note(table)
        self.tables.append(Span(table, start, self._at))
        return table

    def _resolve(self, parts: list[str]) -> Path:
        path: Path = ()
        for part in parts:
            path = (*path, part)
            if path in self._counts:
                path = (*path, self._counts[path] - 1)
        return path

    def _note(self, path: Path) -> None:
        self.lines.setdefault(path, self._line)

    def _to(self, at: int) -> None:
        self._line += self._text.count("\n", self._at, at)
        self._at = at

    def _skip(self, pattern: re.Pattern[str]) -> bool:
        """Skip what matches; return whether anything is left."""
        match = pattern.match(self._text, self._at)
        self._to(match.end() if match else self._at)
        return self._at < len(self._text)

    def _last(self) -> int:
        """Return where the last value ends, without white space."""
        end = self._at
        while end and self._text[end - 1] in " \t\r":
            end -= 1
        return end

    def _key(self) -> list[str]:
        parts = []
        while True:
            self._skip(_SPACE)
            start = self._at
            self._skip(_KEY)
            part = self._text[start : self._at]
            parts.append(_unquoted(part) if part[:1] in ("'", '"') else part)
            self._skip(_SPACE)
            if not self._text.startswith(".", self._at):
                return parts
            self._to(self._at + 1)

    def _pair(self, table: Path) -> None:
        path = table
        for part in self._key():
            path = (*path, part)
            self._note(path)
        self._to(self._at + 1)
        self._skip(_SPACE)
        start = self._at
        self._value(path)
        self.values[path] = (start, self._last())

    def _value(self, path: Path) -> None:
        if (char := self._text[self._at]) in "[{":
            self._to(self._at + 1)
            self._items(path, "]" if char == "[" else "}")
        else:
            self._skip(_VALUE)

    def _items(self, path: Path, end: str) -> None:
        index = 0
        while self._skip(_LINES):
            char = self._text[self._at]
            if char in (end, ","):
                self._to(self._at + 1)
                if char == end:
                    return
            elif end == "}":
                self._pair(path)
            else:
                self._note((*path, index))
                self._value((*path, index))
                index += 1


def _unquoted(raw: str) -> str:
    import tomllib

    return str(tomllib.loads(f"k = {raw}")["k"])
