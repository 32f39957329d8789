"""The line of each key of a TOML text that `tomllib` has accepted, so it does not check syntax."""

from __future__ import annotations

from dyeday.quick_dataclass import dataclass

Path = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Span:
    """A table of a text: the offsets of its header, the end of its header, and the end of its last pair."""

    path: Path
    start: int
    header_end: int
    end: int


def key_lines(text: str) -> dict[Path, int]:
    """Return the line (from 1) of every path: ``("kit", 1, "holds")`` is the second ``[[kit]]``'s key."""
    return _Scanner(text).lines


def table_spans(text: str) -> list[Span]:
    """Return every table that has a header, in the order of the text; offsets are those of ``text`` itself."""
    return _Scanner(text).tables


def value_spans(text: str) -> dict[Path, tuple[int, int]]:
    """Return where the value of each key begins and ends, white space after it left out."""
    return _Scanner(text).values


def nearest_line(lines: dict[Path, int], path: Path) -> int:
    """Return the line of ``path``, or of the closest thing around it, or 1."""
    while path and path not in lines:
        path = path[:-1]
    return lines.get(path, 1)


class _Scanner:
    def __init__(self, text: str) -> None:
        self.text = text
        self.pos = 0
        self.line = 1
        self.lines: dict[Path, int] = {}
        self.counts: dict[Path, int] = {}
        self.tables: list[Span] = []
        self.values: dict[Path, tuple[int, int]] = {}
        table: Path = ()
        while self._blank(newlines=True):
            if self.text[self.pos] == "[":
                table = self._header()
            else:
                self._pair(table)
                if self.tables:
                    last = self.tables[-1]
                    self.tables[-1] = Span(last.path, last.start, last.header_end, self._last())

    def _header(self) -> Path:
        start, brackets = self.pos, 2 if self.text.startswith("[[", self.pos) else 1
        self._step(brackets)
        parts = self._key()
        self._step(brackets)
        if brackets == 1:
            table = self._resolve(parts)
        else:
            array = (*self._resolve(parts[:-1]), parts[-1])
            self.counts[array] = self.counts.get(array, 0) + 1
            table = (*array, self.counts[array] - 1)
            self._note(array)
        self._note(table)
        self.tables.append(Span(table, start, self.pos, self.pos))
        return table

    def _resolve(self, parts: list[str]) -> Path:
        path: Path = ()
        for part in parts:
            path = (*path, part)
            if path in self.counts:
                path = (*path, self.counts[path] - 1)
        return path

    def _note(self, path: Path) -> None:
        self.lines.setdefault(path, self.line)

    def _step(self, count: int) -> None:
        self.line += self.text.count("\n", self.pos, self.pos + count)
        self.pos += count

    def _last(self) -> int:
        """Return where the last value ends, without white space."""
        end = self.pos
        while end and self.text[end - 1] in " \t\r":
            end -= 1
        return end

    def _blank(self, *, newlines: bool) -> bool:
        """Skip white space and comments; return whether anything is left."""
        while self.pos < len(self.text):
            char = self.text[self.pos]
            if char in " \t\r" or (newlines and char == "\n"):
                self._step(1)
            elif char == "#":
                end = self.text.find("\n", self.pos)
                self.pos = len(self.text) if end < 0 else end
            else:
                break
        return self.pos < len(self.text)

    def _key(self) -> list[str]:
        parts = []
        while True:
            self._blank(newlines=False)
            if self.text[self.pos] in "\"'":
                start = self.pos
                self._string()
                parts.append(_unquoted(self.text[start : self.pos]))
            else:
                start = self.pos
                while self.pos < len(self.text) and (self.text[self.pos].isalnum() or self.text[self.pos] in "_-"):
                    self.pos += 1
                parts.append(self.text[start : self.pos])
            self._blank(newlines=False)
            if not self.text.startswith(".", self.pos):
                return parts
            self._step(1)

    def _pair(self, table: Path) -> None:
        parts = self._key()
        path = table
        for part in parts:
            path = (*path, part)
            self._note(path)
        self._step(1)
        self._blank(newlines=False)
        start = self.pos
        self._value(path)
        self.values[path] = (start, self._last())

    def _value(self, path: Path) -> None:
        char = self.text[self.pos]
        if char in "\"'":
            self._string()
        elif char in "[{":
            self._step(1)
            self._items(path, "]" if char == "[" else "}")
        else:
            while self.pos < len(self.text) and self.text[self.pos] not in ",]}#\n":
                self.pos += 1

    def _items(self, path: Path, end: str) -> None:
        index = 0
        while self._blank(newlines=True):
            char = self.text[self.pos]
            if char == end:
                self._step(1)
                return
            if char == ",":
                self._step(1)
            elif end == "}":
                self._pair(path)
            else:
                self._note((*path, index))
                self._value((*path, index))
                index += 1

    def _string(self) -> None:
        quote = self.text[self.pos]
        mark = quote * 3 if self.text.startswith(quote * 3, self.pos) else quote
        self._step(len(mark))
        while not self.text.startswith(mark, self.pos):
            self._step(2 if quote == '"' and self.text[self.pos] == "\\" else 1)
        self._step(len(mark))
        while len(mark) == 3 and self.text.startswith(quote, self.pos):
            self._step(1)


def _unquoted(raw: str) -> str:
    if raw[0] == "'" or "\\" not in raw:
        return raw[1:-1]
    import tomllib

    return str(tomllib.loads(f"k = {raw}")["k"])
