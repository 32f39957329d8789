"""What a person types of a running day: batches, readings and times."""

from __future__ import annotations

import re
from datetime import datetime
from typing import Any

from dyeday import units
from dyeday.craft.dye.colour_difference import stain_grade
from dyeday.plan.batches import by_number
from dyeday.plan.reading.table_reader import clock_min
from dyeday.terms import ReadingKind
from dyeday.text import batches_text, brief, counted
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.event_keys import BATCH_NO
from dyeday.track.events.measured import WORDS_OF, reading_value
from dyeday.track.timestamp import Moment, last_time

_KINDS = {
    **dict.fromkeys((ReadingKind.BATH_C, ReadingKind.YARN_C, ReadingKind.RINSE_C), units.TEMPERATURE_C),
    **dict.fromkeys((ReadingKind.WEIGHT_G, ReadingKind.SPUN_G), units.MASS_G),
}
_PARTS = "abcdefghij"
"""a batch is split into ten at most"""


def typed_reading(name: ReadingKind, text: str) -> Any:
    """Return the value of a reading called ``name`` typed as ``text``.

    Temperatures and weights may have a unit ("95 F", "7 oz"). A jar match is n, litres left and, where it is not the
    recipe's, litres at first: "12 0.4"; an absorbance is first, litres, left, litres. A word may be cut short.
    A cloth may also be L*, a*, b* of the white cloth and of the stained one: "94 0 3 / 91 2.5 1" is grade 4-5.
    Raises ValueError.
    """
    return reading_value(name, _value(name, text.strip()))


def _value(name: ReadingKind, text: str) -> Any:
    if name in _KINDS:
        return round(units.read(text, _KINDS[name]), 4)
    if name is ReadingKind.PH:
        return units.number(text)
    if name is ReadingKind.JAR:
        parts = _numbers(re.sub(r"^1\s*:\s*", "", text), (2, 3))
        return dict(zip(("match", "left_l", "first_l"), parts, strict=False))
    if name is ReadingKind.ABSORBANCE:
        return dict(zip(("first", "first_l", "left", "left_l"), _numbers(text, (4,)), strict=True))
    if name is ReadingKind.CLOTH and len(lab := re.split(r"[\s;/]+", text)) == 6:
        light, red, yellow, *stained = map(units.number, lab)
        return stain_grade((light, red, yellow), (stained[0], stained[1], stained[2]))
    if name in WORDS_OF:
        begun = [word for word in WORDS_OF[name] if word.startswith(text.casefold())]
        return text.casefold() if text.casefold() in WORDS_OF[name] or len(begun) != 1 else begun[0]
    return text


def _numbers(text: str, counts: tuple[int, ...]) -> list[float]:
    parts = [part for part in re.split(r"[\s;/]+", text) if part]
    if len(parts) == 1 and text.count(",") in (n - 1 for n in counts) and "." in text:
        parts = text.split(",")
    if len(parts) not in counts:
        raise ValueError(f"{brief(text)} has {len(parts)} numbers, but needs {' or '.join(map(str, counts))}")
    return [units.number(part) for part in parts]


def minutes_ago(text: str, now: Moment, zone: str | None, begun: datetime | None = None) -> float:
    """Return how long ago "7", "1 h", "14:05" or "02:30B" was, in minutes. Raises ValueError where it cannot be read.

    A time of day is the latest such time, as in `last_time`; "11.47" and "1147" are times of day too. A length is two
    days at most.
    """
    typed = text.strip()
    letter = typed[-1:].upper() if typed[-1:].upper() in ("A", "B") else ""
    digits = typed[:-1] if letter else typed
    pattern = r"^(\d{1,2})[.]?(\d\d)$" if "." in digits else r"^(\d\d)(\d\d)$"
    if (minutes := clock_min(re.sub(pattern, r"\1:\2", digits))) is None:
        try:
            if re.fullmatch(r"\d{4}", typed):
                raise ValueError(text)
            return units.read(text, units.TIME_MIN, low=0, high=2880)
        except ValueError:
            raise ValueError(f"{brief(text)} is not a time or minutes; write 14:05, or 20 for 20 min ago") from None
    moment = last_time(minutes // 60 % 24, minutes % 60, zone, now, begun, letter)
    return (now.utc - moment).total_seconds() / 60


def parts_of(text: str, batch: BatchRecord) -> dict[str, int]:
    """Return the parts of "3 2" as {"03a": 3, "03b": 2}, in skeins; of "3" alone, the rest is the other part.

    Raises ValueError where they are not whole skeins that add up, or the batch cannot be split.
    """
    if batch.skeins < 2:
        raise ValueError(f"{batch.no} is one {batch.base.form.value}; it cannot be split")
    if not BATCH_NO.match(f"{batch.no}a"):
        raise ValueError(f"{batch.no} is from three splits and cannot be split again; keep its skeins together")
    counts = [int(word) if re.fullmatch("[0-9]{1,6}", word) else 0 for word in re.split(r"[\s,;/+]+", text.strip())]
    if len(counts) == 1:
        counts.append(batch.skeins - counts[0])
    if not 2 <= len(counts) <= len(_PARTS) or sum(counts) != batch.skeins or min(counts) < 1:
        has = f"{batch.no} has {counted(batch.skeins, batch.base.form.value)}"
        raise ValueError(f"{has}; write parts that add up to it, such as 1 {batch.skeins - 1}")
    return {f"{batch.no}{letter}": count for letter, count in zip(_PARTS, counts, strict=False)}


def typed_batches(day: Day, text: str) -> list[BatchRecord]:
    """Return the batches in ``text``, each once, in the order typed; a stretch takes in the parts of split ones.

    Raises ValueError where a batch does not exist or a stretch runs backwards.
    """
    typed: dict[str, BatchRecord] = {}
    for part in text.split(","):
        first, dash, last = (end.strip() for end in part.partition("-"))
        begin, end = _batch(day, first), _batch(day, last if dash else first)
        from_no, to_no = by_number(begin.no), by_number(end.no)
        if from_no > to_no:
            raise ValueError(f"{brief(part.strip())} is in reverse order; write {end.no}-{begin.no}")
        through = [batch for batch in day.unsplit if from_no <= by_number(batch.no) <= to_no] if dash else [begin]
        # The parts of a split batch come after its number.
        through += [batch for batch in day.unsplit if dash and end.no in day.lineage(batch) and batch not in through]
        typed.update((batch.no, batch) for batch in through)
    return list(typed.values())


def _batch(day: Day, text: str) -> BatchRecord:
    if (batch := day.find(text)) is None:
        known = batches_text([b.no for b in day.unsplit])
        raise ValueError(f"there is no batch {brief(text)}; the batches are {known}")
    return batch
