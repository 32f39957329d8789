"""Events of the kit: acid put into a bath, a unit filled, emptied, broken, mended."""

from __future__ import annotations

from dyeday.quick_dataclass import altered
from dyeday.terms import UnitEvent
from dyeday.track.day.batch_record import UnitRecord
from dyeday.track.day.baths import AcidIn, poured_away, with_acid
from dyeday.track.day.day_state import Body, Day, Event
from dyeday.track.day.transitions import heat_ended
from dyeday.track.entries import field_checks as check
from dyeday.track.entries.keyed import key
from dyeday.track.events.applying import inside, with_record, with_unit
from dyeday.track.events.event_text import placed


def put_in_text(acid_ml: float | None, acid_g: float | None) -> str:
    """Return an amount of acid in words: "60 mL acid", "5 g acid"."""
    amounts = [(acid_ml, "mL"), (acid_g, "g")]
    return " and ".join(f"{amount:g} {of}" for amount, of in amounts if amount is not None) + " acid"


class AcidPutIn(Body):
    """Acid put into a unit's bath, or for one batch."""

    NAME = "acid put in"
    KNOWN_BY = ("acid_ml", "acid_g")
    ONE_OF = ("acid_ml", "acid_g")
    acid_ml: float | None = key(check.amount, default=None)
    acid_g: float | None = key(check.amount, default=None)
    unit: str | None = key(check.text, default=None)

    @property
    def needs_batch(self) -> bool:
        return self.unit is None

    def apply(self, day: Day, event: Event) -> Day:
        put = AcidIn(event.moment, float(self.acid_ml or 0), float(self.acid_g or 0))
        batch = day.batches.get(event.batch or "")
        if self.unit:
            # Put into a unit's bath: every batch in it has it, whichever batch it was recorded with.
            day = with_unit(
                day, self.unit, lambda unit: altered(unit, acids=(*unit.acids, put), baths=with_acid(unit.baths, put))
            )
            return day if batch is None else with_record(day, batch, event)
        if batch is None:
            return day
        return with_record(day, altered(batch, acids=(*batch.acids, altered(put, layer=batch.layer))), event)

    def words(self, event: Event, day: Day | None) -> str:
        return f"{put_in_text(self.acid_ml, self.acid_g)}{placed(self.unit, hangs=False)}"


class UnitChanged(Body):
    """A unit was filled, emptied, broke down or works again."""

    NAME = "unit"
    WORDS = "{unit} {is}"
    KNOWN_BY = ("is",)
    MATCH_ORDER = 1
    unit: str = key(check.text)
    what: UnitEvent = key(check.term(UnitEvent), name="is")
    litres: float | None = key(check.number(0, 1000), default=None)

    def apply(self, day: Day, event: Event) -> Day:
        moment = event.moment

        def change(unit: UnitRecord) -> UnitRecord:
            if self.what is UnitEvent.FILLED:
                litres = [(moment, float(self.litres))] if self.litres else []
                return altered(unit, filled=(*unit.filled, moment), litres=(*unit.litres, *litres))
            if self.what is UnitEvent.EMPTIED:
                baths = poured_away(unit.baths, moment, inside(day, unit.name))
                return altered(unit, emptied=(*unit.emptied, moment), baths=baths)
            return altered(unit, downs=(*unit.downs, (moment, self.what is UnitEvent.DOWN)))

        if self.what is UnitEvent.DOWN:
            lost = {no: heat_ended(day.batches[no], moment) for no in inside(day, self.unit)}
            day = altered(day, batches={**day.batches, **lost})
        return with_unit(day, self.unit, change)
