"""The lots of a day, and what the lot book says of the day."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date as Date  # noqa: N812 - the field is called date
from datetime import datetime
from types import MappingProxyType

from dyeday.grouping import grouped
from dyeday.plan.recipe import planned_dyes
from dyeday.quick_dataclass import dataclass
from dyeday.studio.lots.lot import (
    Lot,
    LotAcid,
    LotBatch,
    LotChange,
    LotDye,
    LotFact,
    LotFactKind,
    LotFlag,
    LotHeat,
    LotNote,
    LotReading,
    LotStay,
)
from dyeday.studio.lots.lot_numbers import lot_numbers, lots_head, mixes_of
from dyeday.studio.shelf.movements import Bottle, Move, lot_at, shelf_of, valid
from dyeday.terms import MoveKind, Outcome, State, StockKind
from dyeday.track.day.batch_record import AcidIn, BatchRecord, Heat, Reading, Stay
from dyeday.track.day.bath_contents import acids_had
from dyeday.track.day.bath_readings import exhausted_pct, expected_pct, read_hot
from dyeday.track.day.carried import EntryChange
from dyeday.track.day.consumption import IDLE, by_recipe, recorded_in_all
from dyeday.track.day.day_state import Day, Event
from dyeday.track.day.progress import BATH_READINGS, at_heat_min
from dyeday.track.events.rewriting import Corrected, Undone
from dyeday.track.flags import Flag, flags_of_batch, flags_of_day
from dyeday.track.folding.fold import current, effective
from dyeday.track.timers.alarm_rates import Rates, rates
from dyeday.track.timestamp import Moment, local, minutes

Judged = Mapping[str, tuple[LotFlag, ...]]
"""the flags that batches had when their day closed, by batch number"""
NOT_JUDGED: Judged = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class _Closed:
    """A day that lots are made of."""

    day: Day
    session_id: str
    now: Moment
    judged: Judged
    changes: list[tuple[str | None, LotChange]]


def lots_of_day(day: Day, session_id: str, now: Moment, judged: Judged = NOT_JUDGED) -> list[Lot]:
    """Return a day's finished lots in order of their numbers; batches in ``judged`` keep those flags."""
    closed = _Closed(day, session_id, now, judged, changes_of(day))
    numbered = ((number, day.batches[no]) for no, number in lot_numbers(day, session_id).items())
    by_lot = grouped((number, batch) for number, batch in numbered if batch.state == State.DONE)
    return [_lot(closed, number, batches) for number, batches in sorted(by_lot.items())]


def lot_of_day(day: Day, session_id: str, now: Moment, number: str, judged: Judged) -> Lot | None:
    """Return the lot ``number``, of the batches in ``judged`` or, if that is empty, of all; None if none is done."""
    numbers = dict.fromkeys(judged, number) or lot_numbers(day, session_id)
    own = (day.batches[no] for no, lot in numbers.items() if lot == number)
    batches = [batch for batch in own if batch.state == State.DONE]
    return _lot(_Closed(day, session_id, now, judged, changes_of(day)), number, batches) if batches else None


def _lot(closed: _Closed, number: str, batches: list[BatchRecord]) -> Lot:
    first, plan = batches[0], closed.day.plan
    keys = {key for batch in batches for key in batch.order_keys}
    names = dict.fromkeys(name for layer in first.colourway.layers for name in layer.dyes)
    return Lot(
        number=number,
        session=closed.session_id,
        session_name=plan.session.name,
        date=plan.session.date,
        planned_mix=first.planned_mix,
        colourway=first.colourway,
        base=first.base,
        dyes=tuple(dye for name in names if (dye := plan.dye(name)) is not None),
        acid=plan.acid,
        water=plan.water,
        zone=plan.session.zone,
        batches=tuple(_batch(closed, batch, batches) for batch in batches),
        orders=tuple(order for order in plan.orders if order.key in keys),
    )


def _batch(closed: _Closed, batch: BatchRecord, lot: list[BatchRecord]) -> LotBatch:
    day, now = closed.day, closed.now
    kin = set(day.lineage(batch))
    since, flags = batch.state_since, closed.judged.get(batch.no)
    return LotBatch(
        session=closed.session_id,
        no=batch.no,
        skeins=batch.skeins,
        wof_g=batch.wof_g,
        done_at=since.utc if since is not None else now.utc,
        tag=batch.tag,
        weighed=batch.weighed_wof_g is not None,
        outcome=batch.outcome or Outcome.FIRST,
        overdyed_from=batch.overdyed_from,
        mixes=mixes_of(batch),
        shares=batch.shares,
        dyes=tuple(_dyes(day, batch)),
        acids=tuple(_acid(day, batch, put, lot) for put in acids_had(day, batch)),
        stays=tuple(_stay(batch, stay) for stay in batch.stays),
        heats=tuple(_heat(batch, heat, now) for heat in batch.heats),
        readings=tuple(_reading(day, batch, reading) for reading in batch.readings),
        flags=tuple(map(_flag, flags_of_batch(day, batch, now))) if flags is None else flags,
        notes=tuple(LotNote(at.utc, text) for at, text in batch.notes),
        changes=tuple(change for no, change in closed.changes if no in kin),
    )


def _acid(day: Day, batch: BatchRecord, put: AcidIn, lot: list[BatchRecord]) -> LotAcid:
    in_bath = not put.kept and not any(put is own for own in batch.acids)
    own, line = {no for one in lot for no in day.lineage(one)}, set(day.lineage(batch))
    baths = ((unit.name, bath) for unit in day.units.values() for bath in unit.baths)
    loads = ((name, {no for no, _ in bath.entered}) for name, bath in baths if put.at in [a.at for a in bath.acids])
    had = [(name, nos) for name, nos in loads if nos & line] if in_bath else []
    of = had[0][0] if had else batch.no
    shared = put.shared or any(nos - own for _, nos in had)
    return LotAcid(put.at.utc, put.amount_ml, put.amount_g, in_bath, put.kept, shared, of)


def _dyes(day: Day, batch: BatchRecord) -> Iterator[LotDye]:
    """Yield the dyes of the layers that were put on, then others on record."""
    put_on = {painted.layer for painted in batch.painted_since_overdye}
    dyes = planned_dyes(day.plan.solution_pct, batch.colourway, batch.dyed_g)
    planned = [dye for dye in dyes if dye.layer in put_on]
    unsaid = [*by_recipe(day, batch, in_all=True)]
    used, powder, left = (recorded_in_all(day, batch, name) for name in ("used_ml", "powder_g", "left_over_ml"))
    for name in dict.fromkeys((*(dye.dye for dye in planned), *used, *powder, *left)):
        recipe = [dye for dye in planned if dye.dye == name]
        recipe_g, recipe_ml = sum(dye.powder_g for dye in recipe), sum(dye.solution_ml or 0.0 for dye in recipe)
        later = [dye for dye in unsaid if dye.dye == name]
        later_ml, later_g = sum(dye.solution_ml for dye in later), sum(dye.powder_g for dye in later)
        used_ml = used.get(name, 0.0) - left.get(name, 0.0) + later_ml if name in used or name in left else None
        used_g = powder[name] + later_g if name in powder else None
        yield LotDye(name, recipe_g, recipe_ml, used_ml, used_g)


def _stay(batch: BatchRecord, stay: Stay) -> LotStay:
    until = stay.until
    units = [place.unit for place in batch.placements if place.meets(stay.since, until)]
    end, lasted = (None, 0.0) if until is None else (until.utc, minutes(stay.since, until))
    return LotStay(stay.state, batch.layer_no(stay.layer), stay.since.utc, end, lasted, tuple(dict.fromkeys(units)))


def _heat(batch: BatchRecord, heat: Heat, now: Moment) -> LotHeat:
    planned = batch.planned_heat(heat)
    had, end = at_heat_min(heat, now), heat.end.utc if heat.end is not None else None
    return LotHeat(
        batch.layer_no(heat.layer), heat.heat_no, planned.how, heat.unit, heat.start.utc, end, had, planned.minutes
    )


def _reading(day: Day, batch: BatchRecord, reading: Reading) -> LotReading:
    exhaustion_pct, expected = None, None
    if reading.name in BATH_READINGS and not read_hot(batch, reading):
        try:
            exhaustion_pct = exhausted_pct(batch, reading)
            expected = expected_pct(day.plan, batch, reading.layer)
        except ValueError:
            pass  # refused when it was typed; a file edited by hand must not stop the book
    layer = batch.layer_no(reading.layer)
    read = reading.at.utc, reading.name, reading.value, reading.where, reading.state, layer
    return LotReading(*read, exhaustion_pct, expected)


def _flag(flag: Flag) -> LotFlag:
    done = flag.cleared
    at, why = (done.at, done.why) if done is not None else (None, "")
    return LotFlag(flag.rule.value, flag.why, flag.remedy, flag.since, at, why)


def changes_of(day: Day) -> list[tuple[str | None, LotChange]]:
    """Return (batch number, change) for each entry corrected, void, late or approximate; None if it is of no batch.

    Of an earlier session, those that `carried_event` brought along.
    """
    changes: list[tuple[str | None, LotChange]] = [
        (no, LotChange(change.at, batch.carried.at.utc, change.what, f"in session {batch.carried.session}"))
        for no, batch in day.batches.items()
        if batch.carried is not None
        for change in batch.carried.changes
    ]

    marked: list[tuple[Event, Event, EntryChange]] = []
    """(entry, the one that marks it, how)"""
    for event in day.events:
        body = event.body
        if event.id in day.void_ids or not isinstance(body, (Corrected, Undone)):
            continue
        if target := day.event(body.target_id):
            what = EntryChange.CORRECTED if isinstance(body, Corrected) else EntryChange.VOIDED
            marked.append((current(day, target), event, what))
    for event in effective(day.events)[0]:
        if event.is_late or event.is_approximate:
            marked.append((event, event, EntryChange.APPROXIMATE if event.is_approximate else EntryChange.LATE))
    for target, event, what in marked:
        change = LotChange(target.at, event.recorded_at, what, event.text(day))
        changes += [(no, change) for no in target.batches or (None,)]
    return sorted(changes, key=lambda pair: pair[1].recorded_at)


@dataclass(frozen=True, slots=True)
class BookDay:
    """A closed day as a season counts it, beside its lots."""

    date: Date
    rates: Rates
    skeins_scrapped: int
    day_flags: tuple[LotFlag, ...] = ()


def book_day(day: Day, now: Moment) -> BookDay:
    """Return a closed day as a season counts it."""
    scrapped = sum(batch.skeins for batch in day.unsplit if batch.state is State.SCRAPPED)
    return BookDay(day.plan.session.date, rates(day, now), scrapped, tuple(map(_flag, flags_of_day(day, now))))


def with_shelf(lots: Sequence[Lot], session: str, at: datetime, moves: Iterable[Move]) -> list[Lot]:
    """Return lots with the shelf's facts about their yarn and dyes when their session closed ``at``."""
    names = {lot.base.name for lot in lots} | {dye.name for lot in lots for dye in lot.dyes}
    then = [m for m in valid(moves) if m.name in names and (m.at <= at or m.session == session)]
    bottles = {bottle.name: bottle for bottle in shelf_of(then).bottles}
    took = [move for move in then if move.session == session and move.kind is MoveKind.USED and move.amount > 0]
    return [replace(lot, shelf=tuple(_known(lot, bottles, then, took, at))) for lot in lots]


def _known(
    lot: Lot, bottles: Mapping[str, Bottle], then: list[Move], took: list[Move], at: datetime
) -> Iterator[LotFact]:
    wetted = (min(stay.since for stay in batch.stays if stay.state not in IDLE) for batch in lot.batches)
    mills = [lot_at(then, StockKind.YARN, lot.base.name, when) for when in sorted(wetted)]
    if text := _each_once(mills):
        yield LotFact(at, LotFactKind.MILL_LOT, text)
    dyed = sorted(stay.since for batch in lot.batches for stay in batch.stays if stay.state is State.PAINT)
    until = local(dyed[-1], lot.zone).date() if dyed else lot.date
    if lot.number.startswith(lots_head(lot.session)):
        # The session's own solutions have the date of its plan, which may be dyed on a day before.
        until = max(until, lot.date)
    for dye in lot.dyes:
        own = (bottles[move.bottle] for move in took if move.name == dye.name and move.bottle in bottles)
        drawn = [bottle for bottle in own if bottle.made <= until]
        powders = [bottle.powder_lot for bottle in drawn]
        if any(move.thing is StockKind.DYE and move.name == dye.name for move in took):
            powders += [lot_at(then, StockKind.DYE, dye.name, when) for when in dyed]
        if text := _each_once(powders):
            yield LotFact(at, LotFactKind.POWDER_LOT, text, dye.name)
        if text := _each_once(sorted(bottle.made.isoformat() for bottle in drawn)):
            yield LotFact(at, LotFactKind.SOLUTION_MADE, text, dye.name)


def _each_once(texts: Iterable[str]) -> str:
    return " + ".join(text for text in dict.fromkeys(texts) if text)
