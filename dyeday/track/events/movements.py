"""Events of work: movements of one batch or a load of several, the kit's acid, water and tanks, and chores."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import reduce
from typing import Any, Self

from dyeday.plan.model import MOST_PIECES
from dyeday.quick_dataclass import altered, with_last
from dyeday.terms import (
    KIT_TRAITS,
    STATES,
    ChoreWhen,
    Cover,
    DyeMethod,
    HeatEdge,
    HeatKind,
    KitKind,
    Outcome,
    State,
    UnitEvent,
    Water,
)
from dyeday.text import brief, harmless, ordinal
from dyeday.track import event_keys as check
from dyeday.track.day import transitions
from dyeday.track.day.batch_record import AcidIn, BatchRecord
from dyeday.track.day.day_state import Body, ChoreEntry, Day, Event
from dyeday.track.day.progress import again_words, state_word_then, unit_words
from dyeday.track.day.transitions import OfBatch, heat_ended, poured_away, watered, with_record, with_unit
from dyeday.track.day.unit_record import UnitRecord
from dyeday.track.event_keys import EventError, key

EDGE_WORDS = {HeatEdge.START: "started", HeatEdge.AT_HEAT: "reached full heat", HeatEdge.END: "ended"}
WATER_WORDS = {Water.NEW: "new water", Water.KEPT: "water kept"}


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
            # Put into a unit's bath: every batch in it has it, whichever batch the event names.
            def change(unit: UnitRecord) -> UnitRecord:
                baths = with_last(unit.baths, acids=(*unit.baths[-1].acids, put))
                return altered(unit, acids=(*unit.acids, put), baths=baths)

            day = with_unit(day, self.unit, change)
        elif batch is not None:
            batch = altered(batch, acids=(*batch.acids, altered(put, layer=batch.layer)))
        return day if batch is None else with_record(day, batch, event)

    def words(self, event: Event, day: Day | None) -> str:
        return f"{put_in_text(self.acid_ml, self.acid_g)}{unit_words(self.unit, hangs=False)}"


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
            if self.what in (UnitEvent.FILLED, UnitEvent.TOPPED_UP):
                litres = [(moment, float(self.litres))] if self.litres else []
                return altered(unit, filled=(*unit.filled, moment), litres=(*unit.litres, *litres))
            if self.what is UnitEvent.EMPTIED:
                baths = poured_away(unit.baths, moment, day.in_unit(unit.name))
                return altered(unit, poured_away_at=(*unit.poured_away_at, moment), baths=baths)
            return unit.changed(moment, is_down=self.what is UnitEvent.DOWN)

        if self.what is UnitEvent.TOPPED_UP:  # in mid-heat, switched off for it
            day = altered(day, batches={**day.batches, **transitions.filled_in_mid_heat(day, self.unit, moment)})
        if self.what is UnitEvent.DOWN:
            lost = {batch.no: heat_ended(batch, moment) for batch in day.in_unit(self.unit)}
            day = altered(day, batches={**day.batches, **lost})
        return with_unit(day, self.unit, change)


class IntoUnit(OfBatch):
    """A movement that may go into a unit, into new water there or that of the load before."""

    water: Water | None = key(check.term(Water), default=None)

    def apply(self, day: Day, event: Event) -> Day:
        return super().apply(watered(day, self.unit, self.water, event.moment), event)

    @property
    def _water_words(self) -> str:
        return f", {WATER_WORDS[self.water]}" if self.water is not None else ""


class Moved(IntoUnit):
    """A batch went into another state."""

    NAME = "moved"
    KNOWN_BY = ("to",)
    MATCH_ORDER = -1
    to: State = key(check.term(STATES))
    unit: str | None = key(check.text, default=None)
    layer: int | None = key(check.layer, default=None)
    outcome: Outcome | None = key(check.term(Outcome), default=None)
    mix: str | None = key(check.text, default=None)

    def change(self, day: Day, batch: BatchRecord, event: Event) -> BatchRecord:
        moment = event.moment
        batch = transitions.moved(batch, self.to, moment, unit=self.unit, layer=self.layer, mix=self.mix)
        if self.to is State.DONE:
            batch = altered(batch, outcome=self.outcome or Outcome.FIRST)
        return altered(batch, notes=(*batch.notes, (moment, self.why))) if self.why else batch

    def words(self, event: Event, day: Day | None) -> str:
        to = state_word_then(day, event.batch or "", self.to, self.layer, event.at)
        layer = f", layer {self.layer}" if self.layer else ""
        sold = f", {self.outcome.value}" if self.outcome not in (None, Outcome.FIRST) else ""
        return f"to {to}{layer}{sold}{unit_words(self.unit, hangs=self.to is State.DRY)}{self._water_words}"


class Placed(IntoUnit):
    """A batch went into another unit, in the same state."""

    NAME = "placed"
    KNOWN_BY = ("unit",)
    MATCH_ORDER = 2
    unit: str = key(check.text)

    def change(self, day: Day, batch: BatchRecord, event: Event) -> BatchRecord:
        return transitions.placed_in(batch, self.unit, event.moment)

    def words(self, event: Event, day: Day | None) -> str:
        return f"moved to {self.unit}{self._water_words}"


class Heated(OfBatch):
    """A heat of a batch was switched on, was at heat, or was switched off."""

    NAME = "pass"
    KNOWN_BY = ("pass",)
    heat_no: int = key(check.heat_no, name="pass")
    edge: HeatEdge = key(check.term(HeatEdge), name="run")
    unit: str | None = key(check.text, default=None)

    def change(self, day: Day, batch: BatchRecord, event: Event) -> BatchRecord:
        return transitions.heated(day.plan, batch, self.heat_no, self.edge, event.moment, self.unit)

    def refuse_of(self, day: Day, batch: BatchRecord, event: Event, *, typed: bool) -> None:
        heats, heat = len(batch.current_layer.heats), batch.open_heat
        if self.heat_no > heats:
            what = f"layer {batch.layer} of {batch.colourway.name!r} has no heat {self.heat_no}"
            raise EventError(what, f"it has {heats}")
        in_microwave = batch.current_layer.heat_of(self.heat_no).how is HeatKind.MICROWAVE
        if typed and self.edge is HeatEdge.AT_HEAT and in_microwave:
            raise EventError("a microwave is at full heat at once", "its minutes count from the start")
        if self.edge is not HeatEdge.END:
            return
        timed_out = batch.state is State.FIX and batch.heats[-1:] and batch.heats[-1].timed_out
        if heat is None and not timed_out and (typed or not batch.heats):
            raise EventError(f"no heat is on for batch {batch.no}", "start the heat first")
        if heat is not None and heat.heat_no != self.heat_no and typed:
            raise EventError(f"heat {heat.heat_no} is on for batch {batch.no}", f"end heat {heat.heat_no}")
        if heat is not None and event.at < (heat.heat_recorded_at or heat.start).utc:
            raise EventError(f"heat {heat.heat_no} of batch {batch.no} began later", "give a later time")

    def words(self, event: Event, day: Day | None) -> str:
        more = again_words(day, event.batch, self.heat_no, event.at) if day and self.edge is HeatEdge.START else ""
        return f"{ordinal(self.heat_no)} heat {EDGE_WORDS[self.edge]}{unit_words(self.unit, hangs=False)}{more}"


class Covered(OfBatch):
    """Painted yarn waits under another cover."""

    NAME = "covered"
    WORDS = "now {cover}"
    KNOWN_BY = ("cover",)
    cover: Cover = key(check.term(Cover))

    def change(self, day: Day, batch: BatchRecord, event: Event) -> BatchRecord:
        return altered(batch, covers=(*batch.covers, (event.moment, self.cover)))


def _batches(name: str, value: Any) -> tuple[str, ...]:
    such_as = f'write "{name}": ["01", "02"]'
    if not isinstance(value, (list, tuple)) or not 0 < len(value) <= MOST_PIECES:
        raise EventError(f"{name} is not a list of batches", such_as)
    for no in value:
        if not isinstance(no, str) or not check.BATCH_NO.match(no):
            raise EventError(f"{brief(no)} is not a batch number", such_as)
    if len(set(value)) < len(value):
        raise EventError(f"{name} names a batch twice", "name each batch once")
    return tuple(value)


def _heats(name: str, value: Any) -> int | dict[str, int]:
    """Return the heat of all batches, or of each by its number."""
    if isinstance(value, Mapping) and value:
        return {harmless(no): check.heat_no(f"{name} {harmless(no)}", heat) for no, heat in value.items()}
    return check.heat_no(name, value)


class Load(Body):
    """A movement of batches as one entry, with a unit or without; it does what single ones would do."""

    NAME = "load"
    KNOWN_BY = ("batches",)
    MATCH_ORDER = -2
    ONE_OF = ("to", "unit", "run")
    MISSING = "movement"
    batches: tuple[str, ...] = key(_batches)
    to: State | None = key(check.term(STATES), default=None)
    unit: str | None = key(check.text, default=None)
    layer: int | None = key(check.layer, default=None)
    outcome: Outcome | None = key(check.term(Outcome), default=None)
    mix: str | None = key(check.text, default=None)
    water: Water | None = key(check.term(Water), default=None)
    acid_ml: float | None = key(check.amount, default=None)
    acid_g: float | None = key(check.amount, default=None)
    tank: UnitEvent | None = key(check.term((UnitEvent.FILLED,)), default=None)
    heat_no: int | Mapping[str, int] | None = key(_heats, name="pass", default=None)
    edge: HeatEdge | None = key(check.term(HeatEdge), name="run", default=None)
    cover: Cover | None = key(check.term(Cover), default=None)

    def _check(self) -> None:
        if (self.heat_no is None) != (self.edge is None):
            raise EventError("'load' has pass or run without the other", 'write "pass": 1, "run": "start"')
        for name in ("water", "tank", "acid_ml", "acid_g"):
            if self.unit is None and name in self.__dict__:
                raise EventError(f"'load' has {name} and no unit", 'add "unit": "tray 1"')
        if isinstance(self.heat_no, Mapping):
            right = 'write "pass" as one number, or one for each of its batches'
            for no in self.batches:
                if no not in self.heat_no:
                    raise EventError(f"'load' has no heat for {no}", right)
            for no in self.heat_no:
                if no not in self.batches:
                    raise EventError(f"'load' has a heat for {no}, which is not in it", right)

    def corrected(self, keys: Mapping[str, Any]) -> Self:
        if "batches" in keys and isinstance(self.heat_no, Mapping) and "pass" not in keys:
            # A batch that was not in the load had no heat in it either.
            keys = {**keys, "pass": {no: heat for no, heat in self.heat_no.items() if no in keys["batches"]}}
        return super().corrected(keys)

    def parts(self, day: Day, event: Event) -> list[Event]:
        """Return the events it stands for, in the order they change ``day``; each has the load's id and time.

        The tank is filled before heat starts, a heat ends before its batch moves on, and the acid goes into the
        bath that the batches are in.
        """
        parts: list[tuple[Body, str | None]] = []
        if self.tank is not None and self.unit is not None:
            parts.append((UnitChanged(unit=self.unit, what=self.tank), None))
        water = self.water
        for no in self.batches:
            batch = day.batches.get(no)
            if self.edge is HeatEdge.END:
                parts.append((Heated(heat_no=self._heat_of(no), edge=self.edge), no))
            to = self.to or (self._follows(day, batch) if batch is not None else None)
            # What is lifted out of the unit it names does not go into it.
            out = self.edge is HeatEdge.END and batch is not None and batch.unit == self.unit
            unit = None if out else self.unit
            if to is not None:
                new: dict[str, Any] = {"layer": self.layer, "outcome": self.outcome, "mix": self.mix, "water": water}
                parts.append((Moved(to=to, unit=unit, why=self.why, **new), no))
            elif unit is not None:
                parts.append((Placed(unit=unit, why=self.why, water=water), no))
            water = water if unit is None else None  # changed once, for all of the load
            if self.cover is not None:
                parts.append((Covered(cover=self.cover), no))
        if self.acid_ml is not None or self.acid_g is not None:
            parts.append((AcidPutIn(unit=self.unit, acid_ml=self.acid_ml, acid_g=self.acid_g), None))
        if self.edge is not None and self.edge is not HeatEdge.END:
            edge, unit = self.edge, self.unit
            parts += [(Heated(heat_no=self._heat_of(no), edge=edge, unit=unit), no) for no in self.batches]
        return [replace(event, body=body, batch=batch) for body, batch in parts]

    def _heat_of(self, batch_no: str) -> int:
        return (self.heat_no[batch_no] if isinstance(self.heat_no, Mapping) else self.heat_no) or 1

    def _follows(self, day: Day, batch: BatchRecord) -> State | None:
        """Return the state a batch goes into where the load does not say; None if it stays in its own."""
        if self.edge is not None:
            return State.FIX if self.edge is HeatEdge.START else None
        if (kit := day.plan.kit_of(self.unit)) is None:
            return None
        traits = KIT_TRAITS[kit.kind]
        if traits.heat is not None:
            undyed = batch.current_layer.how is DyeMethod.IMMERSED and batch.state in (State.WAITING, State.SOAK)
            return State.PAINT if undyed else State.FIX
        if traits.hangs:
            return State.DRY
        if kit.kind is KitKind.TRAY:
            return State.SOAK if batch.state is State.WAITING else None
        return State.RINSE if kit.kind is KitKind.SINK else None

    def apply(self, day: Day, event: Event) -> Day:
        return reduce(lambda so_far, part: part.body.apply(so_far, part), self.parts(day, event), day)

    def words(self, event: Event, day: Day | None) -> str:
        place, ends = unit_words(self.unit, hangs=self.to is State.DRY), self.edge is HeatEdge.END
        heats, moved = [], []
        if self.edge is not None:
            heats = [f"{self._heat_words()} {EDGE_WORDS[self.edge]}{place if ends or self.to is None else ''}"]
        if self.to is not None:
            layer = f", layer {self.layer}" if self.layer else ""
            to = state_word_then(day, self.batches[0], self.to, self.layer, event.at)
            moved = [f"to {to}{layer}{'' if ends else place}"]
        parts = [*heats, *moved] if ends else [*moved, *heats] or [f"into {self.unit}"]
        parts += [self.cover.value] if self.cover is not None else []
        parts += ["tank filled"] if self.tank is not None else []
        parts += [WATER_WORDS[self.water]] if self.water is not None else []
        parts += [put_in_text(self.acid_ml, self.acid_g)] if (self.acid_ml, self.acid_g) != (None, None) else []
        return ", ".join(parts)

    def _heat_words(self) -> str:
        if not isinstance(self.heat_no, Mapping):
            return f"{ordinal(self.heat_no or 1)} heat"
        one = {*self.heat_no.values()}
        if len(one) == 1:
            return f"{ordinal(*one)} heat"
        return ", ".join(f"{ordinal(heat)} heat of {no}" for no, heat in self.heat_no.items())


class OfChore(Body):
    """An event about a chore."""

    chore: str | None = key(check.text, default=None)
    when: ChoreWhen | None = key(check.term(ChoreWhen), default=None)
    """None in entries of older versions"""
    layer: int | None = key(check.layer, default=None)
    first_of_lot: str | None = key(check.text, name="lot", default=None)

    @property
    def chore_words(self) -> str:
        """The chore by its name, with its layer from the second on, or its lot."""
        layer = self.layer or 0
        lot = f", lot of {self.first_of_lot}" if self.first_of_lot else ""
        more = f", layer {layer}" if layer > 1 else lot
        return f"{self.chore}{more}"

    def entry_of(self, event: Event) -> ChoreEntry:
        """Return the chore for the record of the day."""
        return ChoreEntry(event.batch or "", self.chore or "", self.when, self.layer or 0, self.first_of_lot or "")


class ChoreBegun(OfChore):
    """A chore of a batch, a lot or the day was started."""

    NAME = "chore begun"
    chore: str = key(check.text)

    def apply(self, day: Day, event: Event) -> Day:
        return altered(day, chores_begun=(*day.chores_begun, (event.moment, self.entry_of(event))))

    def words(self, event: Event, day: Day | None) -> str:
        return f"begun: {self.chore_words}"


class ChoreFinished(OfChore):
    """A chore of a batch, a lot or the day was done."""

    NAME = "chore"
    chore: str = key(check.text)

    def apply(self, day: Day, event: Event) -> Day:
        day, batch = altered(day, chores=(*day.chores, self.entry_of(event))), day.batches.get(event.batch or "")
        if batch is not None and self.when is ChoreWhen.AFTER_PAINT and batch.state is State.PAINT:
            day = altered(day, batches={**day.batches, batch.no: transitions.dye_is_on(batch, event.moment)})
        return day

    def words(self, event: Event, day: Day | None) -> str:
        return f"done: {self.chore_words}"
