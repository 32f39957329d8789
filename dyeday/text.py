"""Text from people made harmless for screen, printer, page, spreadsheet and log, and fitted into cells.

A cell is one place of a terminal or a fixed font: a character takes one or two.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, time
from functools import lru_cache
from typing import Any

LONGEST_NAME = 80
LONGEST_TAG = 60
LONGEST_NOTE = 1000
FIRST_YEAR, LAST_YEAR = 2000, 2100
"""beyond these, arithmetic with days and zones would end"""
LEAST_CELLS = 8
"""width left for words behind an indent"""
UNITS = frozenset({
    "min", "h", "g", "kg", "mL", "L", "%", "°C", "oz", "lb", "tsp", "tbsp", "cup", "cups", "mm", "cm", "m", "kWh",
    "W", "V", "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
})  # fmt: skip
"""what stays on the line of the number before it"""
WEEKDAYS = frozenset({"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"})
"""what stays on the line of the time or date after it"""

_BIDI = {0x061C, 0x200E, 0x200F, *range(0x202A, 0x202F), *range(0x2066, 0x206A)}
_UNSEEN = {0x00AD, 0x180E, 0x200B, 0x2028, 0x2029, *range(0x2060, 0x2070), 0xFEFF, *range(0xFFF9, 0xFFFC)}


class HintedError(ValueError):
    """What is wrong with what a person gave, and what to do about it."""

    def __init__(self, what: str, hint: str) -> None:
        super().__init__(f"{what}; {hint}")
        self.what = what
        self.hint = hint


def _harmful(code: int) -> bool:
    is_control = code < 0x20 or 0x7F <= code <= 0x9F
    is_lone_or_tag = 0xD800 <= code <= 0xDFFF or 0xE0000 <= code <= 0xE007F
    return is_control or is_lone_or_tag or code in _BIDI or code in _UNSEEN


def harmless(text: object) -> str:
    """Return ``text`` as one line in which no character can steer a terminal, a printer or the reading order.

    Line breaks and tabs become spaces; control, escape, bidi, unseen and tag characters and lone surrogates
    become a visible ``\\x1b``-like form; the rest is normalised (NFC).
    """
    text_in = str(text)
    if text_in.isprintable():
        # Nearly everything is, and nothing harmful; the rest is looked at letter by letter.
        return text_in if text_in.isascii() else unicodedata.normalize("NFC", text_in)
    out: list[str] = []
    for char in unicodedata.normalize("NFC", text_in):
        code = ord(char)
        if char in "\n\r\t":
            out.append(" ")
        elif _harmful(code):
            out.append(f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}")
        else:
            out.append(char)
    return unicodedata.normalize("NFC", "".join(out))


@lru_cache(4096)
def shortened(text: str, most: int = LONGEST_NAME) -> str:
    """Return a name of at most ``most`` characters, the last one an ellipsis where it was cut."""
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def clip(text: str, cells: int) -> str:
    """Return ``text`` made harmless and no wider than ``cells``, with … where it was cut."""
    from rich.cells import cell_len, set_cell_size

    clean = harmless(text)
    if cell_len(clean) <= cells:
        return clean
    return set_cell_size(clean, max(0, cells - 1)).rstrip() + "…"[: max(0, cells)]


@lru_cache(4096)
def pad(text: str, cells: int) -> str:
    """Return ``text`` clipped and filled with blanks to exactly ``cells``."""
    from rich.cells import cell_len

    short = clip(text, cells)
    return short + " " * (cells - cell_len(short))


def wrap(text: str, cells: int, indent: str = "", first: str | None = None) -> list[str]:
    """Return ``text`` on lines of at most ``cells``, two or more, broken at blanks; long words are cut up.

    A number and its unit, a day and its month stay on one line. Lines start with ``indent``, cut to leave
    `LEAST_CELLS`, the first with ``first`` if given, which has to leave room for two.
    """
    from rich.cells import cell_len, chop_cells

    cells = max(2, cells)
    indent = indent[: max(0, cells - LEAST_CELLS)]
    lines, line, is_empty = [], indent if first is None else first, True
    room = max(2, cells - max(cell_len(indent), cell_len(line)))
    for word in with_units(harmless(text).split()):
        parts = chop_cells(word, room) if cell_len(word) > room else [word]
        for part in parts:
            if not is_empty and (len(parts) > 1 or cell_len(line) + 1 + cell_len(part) > cells):
                lines.append(line)
                line, is_empty = indent, True
            line += part if is_empty else f" {part}"
            is_empty = False
    return [*lines, line]


def with_units(words: Iterable[str]) -> list[str]:
    """Return words with each number and its unit joined to one, such as "1 h 04", and "Sun 03:08" too."""
    out: list[str] = []
    for word in words:
        is_unit = word.rstrip(".,;:)") in UNITS and out and out[-1][-1].isdigit()
        is_more = word[0].isdigit() and out and (out[-1].endswith(" h") or out[-1] in WEEKDAYS)
        if is_unit or is_more:
            out[-1] += f" {word}"
        else:
            out.append(word)
    return out


def brief(value: object, most: int = 40) -> str:
    """Return ``value`` as a plan has it ("true", text in quotes), harmless and at most ``most`` characters long."""
    try:
        text = harmless(_as_written(value))
    except (ValueError, RecursionError):  # a number of thousands of digits, or lists in lists in lists
        text = "what is written"
    return shortened(text[: most + 1], most)


def _as_written(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return f"{value:.10g}"
    if isinstance(value, (date, time)):
        return value.isoformat()
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {_as_written(item)}" for key, item in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_as_written, value)) + "]"
    return "nothing" if value is None else repr(value)


_FORMULA = frozenset("=+-@\uff1d\uff0b\uff0d\uff20'")
"""characters that begin a formula in a spreadsheet (OWASP ASVS 1.2.10), full-width ones too, and the mark itself"""


def csv_cell(value: object) -> str | int | float:
    """Return ``value`` for one CSV cell: a number stays one, text is harmless and no spreadsheet runs it.

    Text that begins as a formula does (CWE-1236) gets an apostrophe; `csv_original` removes it. None is empty.
    """
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return value
    text = "" if value is None else harmless(value)
    return "'" + text if _begins_formula(text) else text


def csv_original(cell: str) -> str:
    """Return a cell without the apostrophe that `csv_cell` put before it; any other cell as it is."""
    return cell[1:] if cell[:1] == "'" and _begins_formula(cell[1:]) else cell


def _begins_formula(text: str) -> bool:
    return text.lstrip()[:1] in _FORMULA


def csv_text(rows: Iterable[Iterable[object]]) -> str:
    """Return rows as CSV after RFC 4180: every text in quotes, numbers bare, lines ended by CR LF."""
    import csv
    import io

    out = io.StringIO()
    writer = csv.writer(out, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
    # Quotes also keep a semicolon in a name from beginning a cell of its own where semicolons separate.
    writer.writerows([csv_cell(value) for value in row] for row in rows)
    return out.getvalue()


def json_text(data: object, indent: int | None = None) -> str:
    """Return JSON that a terminal may show: what could steer one is escaped. Raises ValueError for NaN, infinity."""
    import json

    text = json.dumps(data, ensure_ascii=False, indent=indent, allow_nan=False)
    # JSON itself escapes only control characters below the space; line ends come from the indent.
    harmful = {char for char in set(text) if char != "\n" and _harmful(ord(char))}
    return text.translate({ord(char): json.dumps(char)[1:-1].replace("\x7f", "\\u007f") for char in harmful})


def strict_json(text: str | bytes) -> Any:
    """Return the data in a JSON text that others wrote.

    Raises ValueError for other text, "NaN", "Infinity" or a key given twice; RecursionError for endless nesting.
    """
    import json

    try:
        return json.loads(text, parse_constant=_no_number, object_pairs_hook=_no_duplicates)
    except json.JSONDecodeError as error:
        line = f"line {error.lineno}, " if error.lineno > 1 else ""
        raise ValueError(f"error at {line}column {error.colno}") from None


def _no_number(name: str) -> float:
    raise ValueError(f"{name} is not a number")


def _no_duplicates(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) != len(pairs):
        keys = [key for key, _ in pairs]
        raise ValueError(f"key {next(key for key in keys if keys.count(key) > 1)!r} appears twice")
    return made


def ordinal(number: int) -> str:
    """Return "1st", "2nd", "3rd", "4th", "11th", "21st"."""
    last = number % 10 if number % 100 not in (11, 12, 13) else 0
    return f"{number}{ {1: 'st', 2: 'nd', 3: 'rd'}.get(last, 'th') }"


def counted(number: int, word: str, many: str | None = None) -> str:
    """Return "1 lot", "3 lots", "2 batches"."""
    return f"{number} {word if number == 1 else many or word + 's'}"


def batches_text(numbers: Sequence[str]) -> str:
    """Return batches in one phrase, many that follow one another as a stretch: "01, 03a, 05 to 60"."""
    stretches: list[list[str]] = []
    for no in numbers:
        last = stretches[-1][-1] if stretches else ""
        if last.isdigit() and no.isdigit() and int(no) == int(last) + 1:
            stretches[-1].append(no)
        else:
            stretches.append([no])
    parts = [f"{s[0]} to {s[-1]}" if len(s) >= STRETCH else ", ".join(s) for s in stretches]
    return ", ".join(parts)


STRETCH = 6
"""from so many numbers in a row on, only the first and the last are named"""


def html_text(value: object) -> str:
    """Return ``value`` as text for an HTML page or attribute: harmless, and no markup in it."""
    import html

    return html.escape(harmless(value), quote=True)


def is_of_these_days(day: date) -> bool:
    """Return whether a date, or a moment, is of a year that any plan, entry or option may name."""
    return FIRST_YEAR <= day.year <= LAST_YEAR


def dash_as_empty(text: str) -> str:
    """Return a typed text without space around it; "" for a dash alone, which says that there is none."""
    return "" if text.strip() == "-" else text.strip()


def no_longer_than(longest: int) -> Callable[[str], str]:
    """Return what gives a typed text back, or raises ValueError where it has more than ``longest`` characters."""

    def check(text: str) -> str:
        if len(text) > longest:
            raise ValueError(f"shorten it to {longest} characters; it has {len(text)}")
        return text

    return check
