"""One table of a TOML text, read key by key: every value checked, every problem noted with its line.

A wrong value is noted and replaced by the default, so that one reading finds all problems.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from datetime import date, datetime, time
from enum import Enum
from typing import Any, TypeVar

from dyeday import units
from dyeday.plan.reading.problems import PlanError, Problem, closest, similar
from dyeday.plan.reading.toml_positions import Path, nearest_line
from dyeday.text import FIRST_YEAR, LAST_YEAR, LONGEST_NAME, brief, harmless, is_of_these_days, shortened

E = TypeVar("E", bound=Enum)
V = TypeVar("V")
MOST_PROBLEMS = 1000
MOST_TEXTS, LONGEST_TEXT = 60, 300
_COUNT = re.compile(r"\s*(\d{1,9})\s*(?:skeins?|minis?|blanks?|pieces?|units?)?\s*", re.ASCII)
_CLOCK = re.compile(r"^([01]?\d|2[0-3]):([0-5]\d)(?::[0-5]\d)?(\+\d)?$")


class Notes:
    """The problems of one text, and the lines of its keys."""

    def __init__(self, lines: dict[Path, int]) -> None:
        self.lines = lines
        self._found: list[tuple[Path, Problem]] = []

    @property
    def problems(self) -> list[Problem]:
        """The problems in the order in which they were found."""
        return [problem for _, problem in self._found]

    def add(self, path: Path, what: str, hint: str) -> None:
        """Note a problem. Raises PlanError at the thousandth."""
        self._found.append((path, Problem(nearest_line(self.lines, path), what, hint)))
        if len(self._found) >= MOST_PROBLEMS:
            raise PlanError(self.problems)

    def has_problem(self, *path: str | int) -> bool:
        """Return whether a problem was noted at ``path`` or below it."""
        return any(at[: len(path)] == path for at, _ in self._found)

    def forget(self, path: Path) -> None:
        """Drop what was noted at exactly ``path``."""
        self._found = [(at, problem) for at, problem in self._found if at != path]


class Table:
    """A table being read. ``path`` is where it stands, for the line of a problem."""

    def __init__(self, notes: Notes, raw: object, path: Path) -> None:
        self.notes = notes
        self.path = path
        self.asked: set[str] = set()
        self.missing: set[str] = set()
        self.is_table = isinstance(raw, Mapping)
        self.raw: Mapping[str, Any] = raw if isinstance(raw, Mapping) else {}
        if not self.is_table:
            notes.add(path, f"{self.label} is not a table", f"write [{self.label}] and its keys below it")

    @property
    def label(self) -> str:
        """The names on the path, joined by dots: "colourway.layer"; "the plan" for the whole text."""
        return ".".join(str(part) for part in self.path if isinstance(part, str)) or "the plan"

    def problem(self, key: str, what: str, hint: str) -> None:
        """Note a problem of ``key`` with a hint. Raises PlanError as `Notes.add` does."""
        self.notes.add((*self.path, key), f"{self._name(key)}: {what}", hint)

    def refused(self, key: str, what: str, hint: str, instead: V) -> V:
        """Note a problem of ``key`` as `problem` does; return ``instead`` of its value."""
        self.problem(key, what, hint)
        return instead

    def lacks(self, key: str, what: str, hint: str) -> None:
        """Note that ``key`` is missing; a misspelling of it found by `finish` replaces the note."""
        if self.is_table:
            self.missing.add(key)
            self.notes.add((*self.path, key), what, hint)

    def has_problem(self, key: str) -> bool:
        """Return whether a problem was noted about ``key``."""
        return self.notes.has_problem(*self.path, key)

    def _name(self, key: str) -> str:
        shown = shortened(harmless(key[:61]), 60)
        return f"{self.label}.{shown}" if self.path else shown

    def has(self, key: str) -> bool:
        """Return whether ``key`` is there; it is a known key from now on."""
        self.asked.add(key)
        return key in self.raw

    def get(self, key: str, *, required: bool = False, example: str = "") -> Any:
        """Return the raw value, or None where it is absent."""
        self.asked.add(key)
        if key not in self.raw and required:
            self.lacks(key, f"{self.label} has no {key}", f"add {key} = {example}")
        return self.raw.get(key)

    def text(self, key: str, *, required: bool = False, longest: int = LONGEST_NAME) -> str:
        """Return a text of at most ``longest`` characters, harmless and stripped."""
        if (raw := self.get(key, required=required, example='"…"')) is None:
            return ""
        if not isinstance(raw, str):
            return self.refused(key, f"{brief(raw)} is not text", f'write {key} = "…", in quotes', "")
        clean = harmless(raw).strip()
        if (count := max(len(raw), len(clean))) > longest:  # a control character is shown as four
            return self.refused(key, f"{count} characters are too long", f"shorten it to {longest}", "")
        if required and not clean:
            self.problem(key, "it is empty", "write a name")
        return clean

    def texts(self, key: str) -> tuple[str, ...]:
        """Return a list of at most `MOST_TEXTS` texts of `LONGEST_TEXT` characters; () where one is wrong."""
        if (raw := self.get(key)) is None:
            return ()
        if not isinstance(raw, list) or not all(isinstance(item, str) for item in raw):
            return self.refused(key, "it is not a list of texts", f'write {key} = ["…", "…"]', ())
        if len(raw) > MOST_TEXTS:
            return self.refused(key, f"{len(raw)} texts are too many", f"shorten the list to {MOST_TEXTS}", ())
        if (long := next((item for item in raw if len(item) > LONGEST_TEXT), None)) is not None:
            return self.refused(key, f"{brief(long)} is too long", f"shorten it to {LONGEST_TEXT} characters", ())
        return tuple(harmless(item).strip() for item in raw)

    def quantity(
        self,
        key: str,
        kind: units.Kind,
        default: float | None = None,
        *,
        required: bool = False,
        low: float | None = 0.0,
        high: float | None = None,
        strip: str = "",
    ) -> float | None:
        """Return a quantity in ``kind``'s unit; ``strip`` is a pattern cut off the end of a text first."""
        if (raw := self.get(key, required=required, example=f'"{kind.example}"')) is None:
            return default
        if strip and isinstance(raw, str) and len(raw) <= units.LONGEST_TEXT:
            raw = re.sub(strip, "", raw.strip())
        try:
            return units.read(raw, kind, low=low, high=high)
        except units.QuantityError as error:
            return self.refused(key, error.what, error.hint, default)

    def amount(self, key: str, kind: units.Kind, default: float, **how: Any) -> float:
        """Return a quantity that has a default, so is never None."""
        amount = self.quantity(key, kind, default, **how)
        return default if amount is None else amount

    def count(
        self, key: str, default: int, *, required: bool = False, low: int = 0, high: int = 1000, right: str = ""
    ) -> int:
        """Return a whole number; a text may say of what ("3 skeins"). ``right`` is what would be right."""
        right = right or f"write {low} to {high}"
        if (raw := self.get(key, required=required, example=str(max(low, 1)))) is None:
            return default
        if isinstance(raw, str) and (match := _COUNT.fullmatch(raw)):
            raw = int(match[1])
        if isinstance(raw, bool) or not isinstance(raw, int):
            return self.refused(key, f"{brief(raw)} is not a whole number", right, default)
        if not low <= raw <= high:
            return self.refused(key, f"{brief(raw)} is out of range", right, default)
        return raw

    def number(self, key: str, default: float | None, *, low: float, high: float, strip: str = "^") -> float | None:
        """Return a number without a unit; ``strip`` is a pattern cut off the end of a text first."""
        if (raw := self.get(key)) is None:
            return default
        right = f"write a number from {low:g} to {high:g}"
        if isinstance(raw, str):
            try:
                raw = units.number(re.sub(strip, "", raw.strip()) if len(raw) <= units.LONGEST_TEXT else raw)
            except units.QuantityError as error:
                return self.refused(key, error.what, right, default)
        if isinstance(raw, bool) or not isinstance(raw, (int, float)):
            return self.refused(key, f"{brief(raw)} is not a number", right, default)
        if not low <= raw <= high:
            return self.refused(key, f"{brief(raw)} is out of range", right, default)
        return float(raw)

    def choice(self, key: str, default: E, *, required: bool = False) -> E:
        """Return a word of the closed set ``default`` is of."""
        words = {member.value: member for member in type(default)}
        return words[self.word(key, tuple(words), default.value, required=required)]

    def word(self, key: str, options: Collection[str], default: str, *, required: bool = False) -> str:
        """Return the one of ``options`` that is written there, in any case."""
        raw = self.get(key, required=required, example=" or ".join(f'"{o}"' for o in list(options)[:3]))
        if raw is None:
            return default
        if isinstance(raw, str) and raw.strip().casefold() in {option.casefold() for option in options}:
            return next(o for o in options if o.casefold() == raw.strip().casefold())
        right = similar(raw if isinstance(raw, str) else "", options)
        return self.refused(key, f"{brief(raw)} is not allowed here", right, default)

    def flag(self, key: str, default: bool) -> bool:
        """Return a boolean; ``default`` where the key is absent or holds anything else."""
        if (raw := self.get(key)) is None:
            return default
        if not isinstance(raw, bool):
            right = "write true or false, without quotes"
            return self.refused(key, f"{brief(raw)} is neither true nor false", right, default)
        return raw

    def day(self, key: str, *, required: bool = False) -> date | None:
        """Return a date of the years 2000 to 2100: beyond, arithmetic with days and zones would end."""
        if (raw := self.get(key, required=required, example="2026-04-11")) is None:
            return None
        try:
            day = raw if isinstance(raw, date) else date.fromisoformat(raw)
            day = day.date() if isinstance(day, datetime) else day
        except (TypeError, ValueError):
            none = "not a date that exists" if re.match(r"\d{4}-\d\d-\d\d$", str(raw)) else "not a date"
            return self.refused(key, f"{brief(raw)} is {none}", "write year-month-day, such as 2026-04-11", None)
        if not is_of_these_days(day):
            return self.refused(key, f"{day} is out of range", f"year must be {FIRST_YEAR}–{LAST_YEAR}", None)
        return day

    def clock(self, key: str, *, required: bool = False) -> int | None:
        """Return a time of day in minutes from midnight; "01:30+1" is on the next day."""
        if (raw := self.get(key, required=required, example='"09:00"')) is None:
            return None
        if (minutes := clock_min(raw)) is None:
            right = 'write "09:00", or "01:30+1" after midnight'
            if isinstance(raw, float) and (meant := clock_min(f"{raw:.2f}".replace(".", ":"))) is not None:
                right = f'write {key} = "{meant // 60:02d}:{meant % 60:02d}", in quotes and with a colon'
            self.problem(key, f"{brief(raw)} is not a time of day", right)
        return minutes

    def windows(self, key: str) -> tuple[tuple[int, int], ...]:
        """Return spans such as "13:00-13:30" in minutes from midnight, in order; two that overlap are one."""
        out: list[tuple[int, int]] = []
        for raw in self.texts(key):
            ends = [clock_min(part.strip()) for part in re.split(r"[-–]", raw)]
            if len(ends) != 2 or ends[0] is None or ends[1] is None or ends[1] <= ends[0]:
                self.problem(key, f"{brief(raw)} is not a span of time", 'write "13:00-13:30"')
            else:
                out.append((ends[0], ends[1]))
        apart: list[tuple[int, int]] = []
        for start, end in sorted(out):
            if apart and start < apart[-1][1]:
                apart[-1] = (apart[-1][0], max(end, apart[-1][1]))
            else:
                apart.append((start, end))
        return tuple(apart)

    def tables(self, key: str) -> list[Table]:
        """Return the tables of an array of tables, none where the key is absent."""
        if (raw := self.get(key)) is None:
            return []
        if not isinstance(raw, list):
            self.problem(key, "it is not a list of tables", f"write [[{self._name(key)}]]")
            return [Table(self.notes, raw, (*self.path, key))] if isinstance(raw, Mapping) else []
        return [Table(self.notes, item, (*self.path, key, n)) for n, item in enumerate(raw)]

    def table(self, key: str) -> Table:
        """Return the table under ``key``; an empty one where the key is absent."""
        return Table(self.notes, self.get(key) if self.has(key) else {}, (*self.path, key))

    def finish(self) -> None:
        """Note every key that was not asked for."""
        for key in self.raw:
            if key not in self.asked:
                known = sorted(self.asked)
                self.notes.add((*self.path, key), f"{self._name(key)} is not a key", similar(key, known))
                meant = closest(key, known)
                if meant in self.missing:
                    self.missing.remove(meant)
                    self.notes.forget((*self.path, meant))


def clock_min(raw: object) -> int | None:
    """Return minutes from midnight of "09:00", "01:30+1" or a TOML time; None for anything else."""
    if isinstance(raw, time):
        return raw.hour * 60 + raw.minute
    match = _CLOCK.match(raw.strip()) if isinstance(raw, str) else None
    return None if match is None else int(match[1]) * 60 + int(match[2]) + 1440 * int(match[3] or 0)
