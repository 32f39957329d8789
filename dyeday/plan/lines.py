"""Where each key of a TOML text stands, which the standard reader does not say.

Works on text that `tomllib` has already read without complaint, so it only has to find its way, not to judge.
"""

from __future__ import annotations

Path = tuple[str | int, ...]


def key_lines(text: str) -> dict[Path, int]:
    """Return the line (from 1) of every table, key and array element, by its path.

    Array tables count from 0: ``("kit", 1, "holds")`` is the second ``[[kit]]``'s key.
    """
    return _Scanner(text).run()


def nearest_line(lines: dict[Path, int], path: Path) -> int:
    """Return the line of ``path``, or of the closest thing around it, or 1."""
    while path and path not in lines:
        path = path[:-1]
    return lines.get(path, 1)


class _Scanner:
    def __init__(self, text: str) -> None:
        self.text = text.replace("\r\n", "\n")
        self.pos = 0
        self.line = 1
        self.lines: dict[Path, int] = {}
        self.counts: dict[Path, int] = {}

    def run(self) -> dict[Path, int]:
        table: Path = ()
        while self._blank(newlines=True):
            if self.text.startswith("[[", self.pos):
                self._step(2)
                parts = self._key()
                self._step(2)
                array = (*self._resolve(parts[:-1]), parts[-1])
                self.counts[array] = self.counts.get(array, 0) + 1
                table = (*array, self.counts[array] - 1)
                self._note(array)
                self._note(table)
            elif self.text[self.pos] == "[":
                self._step(1)
                table = self._resolve(self._key())
                self._step(1)
                self._note(table)
            else:
                self._pair(table)
        return self.lines

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

    def _blank(self, *, newlines: bool) -> bool:
        """Pass over white space and comments; tell whether anything is left."""
        while self.pos < len(self.text):
            char = self.text[self.pos]
            if char in " \t" or (newlines and char == "\n"):
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
        self._value(path)

    def _value(self, path: Path) -> None:
        char = self.text[self.pos]
        if char in "\"'":
            self._string()
        elif char == "[":
            self._step(1)
            self._items(path, "]")
        elif char == "{":
            self._step(1)
            self._items(path, "}")
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
