"""The event of a reading (pH, temperature, weight, look): its bounds and its words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dyeday.craft.dye.colour_difference import GRADES
from dyeday.craft.dye.depth_of_shade import wof_weighed_g
from dyeday.craft.dye.exhaustion import BY_EYE
from dyeday.craft.yarn.drying_air import regain_in_air_pct
from dyeday.craft.yarn.fibres import regain_pct
from dyeday.plan.reading.problems import similar
from dyeday.quick_dataclass import altered
from dyeday.terms import ReadingKind, State
from dyeday.text import brief
from dyeday.track import event_keys as check
from dyeday.track.day.batch_record import BatchRecord, Reading
from dyeday.track.day.bath_readings import FIRST_RINSE, exhausted_pct
from dyeday.track.day.day_state import Day, Event
from dyeday.track.day.transitions import OfBatch
from dyeday.track.event_keys import EventError, key
from dyeday.track.events.reading_text import reading_text

EYES = tuple(BY_EYE)
PUDDLE, POT = "puddle", "pot"
PLACES = (PUDDLE, POT, FIRST_RINSE)
"""where a bath may be looked at"""
CLOTHS = {"clean": "5", "faint": "4", "marked": "3-4"}
"""words for how a cloth is stained, and the grade each stands for"""
SWATCHES = ("match", "lighter", "darker", "redder", "yellower", "greener", "bluer")
_RANGES = {
    ReadingKind.PH: (0, 14), ReadingKind.BATH_C: (-5, 110), ReadingKind.YARN_C: (-5, 110),
    ReadingKind.RINSE_C: (-5, 110), ReadingKind.WEIGHT_G: (0.1, 100_000), ReadingKind.SPUN_G: (0.1, 100_000),
}  # fmt: skip
_RIGHT = {
    ReadingKind.JAR: "add the litres at first: 16 2.5 3",
    ReadingKind.ABSORBANCE: "write first, litres, left, litres: 1.2 3 0.1 2.5",
}
WORDS_OF = {ReadingKind.EYE: EYES, ReadingKind.CLOTH: (*CLOTHS, *GRADES), ReadingKind.SWATCH: SWATCHES}
"""readings typed as one of a few words"""


def reading_value(kind: ReadingKind, value: Any) -> Any:
    """Return the value of a reading, checked: a number, a word, or a table of numbers. Raises EventError."""
    name = kind.value
    if kind in _RANGES:
        return check.number(*_RANGES[kind])(name, value)
    if kind in WORDS_OF:
        return check.word(*WORDS_OF[kind])(name, value)
    needed = ("match", "left_l") if kind is ReadingKind.JAR else ("first", "first_l", "left", "left_l")
    allowed = (*needed, "first_l")
    if not isinstance(value, Mapping) or any(each not in value for each in needed):
        raise EventError(f"{name} needs {', '.join(needed)}", f'write them as numbers in "value" of {name}')
    if extra := [each for each in value if each not in allowed]:
        raise EventError(f"{name} has no {brief(extra[0])}", similar(str(extra[0]), allowed))
    lowest = {"match": 1.0}
    return {each: check.number(lowest.get(each, 0.0), 1e6)(f"{name} {each}", item) for each, item in value.items()}


class Measured(OfBatch):
    """A batch or its bath was measured, or looked at."""

    NAME = "reading"
    KNOWN_BY = ("reading",)
    reading: ReadingKind = key(check.term(ReadingKind))
    value: Any = key(lambda _name, value: value)
    where: str | None = key(check.word(*PLACES), default=None)

    def _check(self) -> None:
        self.__dict__["value"] = reading_value(self.reading, self.value)

    def change(self, day: Day, batch: BatchRecord, event: Event) -> BatchRecord:
        if self.reading is ReadingKind.WEIGHT_G and batch.working_state is State.WAITING:
            weight_g, humidity_pct = float(self.value), day.plan.air_humidity_pct
            if humidity_pct is not None:  # as it would be in standard air
                label = regain_pct(dict(batch.base.fibre))
                weight_g = wof_weighed_g(weight_g, regain_in_air_pct(label, humidity_pct), label)
            batch = altered(batch, weighed_wof_g=weight_g)
        return altered(batch, readings=(*batch.readings, self.of(batch, event)))

    def of(self, batch: BatchRecord, event: Event) -> Reading:
        """Return the reading for the record of its batch."""
        return Reading(event.moment, self.reading, self.value, self.where, batch.state, batch.layer, event.id)

    def refuse_of(self, day: Day, batch: BatchRecord, event: Event, *, typed: bool) -> None:
        if self.reading in _RIGHT:
            try:
                exhausted_pct(batch, self.of(batch, event))
            except (ValueError, ZeroDivisionError) as error:
                raise EventError(str(error), f"read it again, or {_RIGHT[self.reading]}") from None

    def words(self, event: Event, day: Day | None) -> str:
        return reading_text(self.reading, self.value, self.where)
