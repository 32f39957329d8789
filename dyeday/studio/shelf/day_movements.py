"""What a closed session took from the shelf, as recorded, else as planned; a plan with the shelf's amounts."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from typing import TypeVar

from dyeday.craft.dye.measuring import figure
from dyeday.craft.errors import above, below
from dyeday.grouping import grouped
from dyeday.plan.model import Acid, Base, Dye, Extra, Plan
from dyeday.studio.shelf.movements import OPENING, Move, Shelf, bottle_name, lot_at, shelf_of, valid
from dyeday.terms import MoveKind, StockKind
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.consumption import (
    Consumed,
    acid_by_plan,
    acids_put_in,
    dyes_consumed,
    extra_by_plan,
    extra_recorded,
    wetted_at,
    wetted_here,
)
from dyeday.track.day.day_state import Day


def moves_of_day(
    day: Day, session: str, others: Iterable[Move], ended: datetime, new_id: Callable[[], str]
) -> list[Move]:
    """Return what a day took from the shelf by ``ended``; ``others`` are the valid movements of all but its session.

    A movement has the time of its last use. Uses before and after a count among ``others`` are separate movements.
    """
    there = [move for move in others if move.at <= ended]  # not what came or was made since
    began = day.first_at or ended
    counted_first = first_counts(day.first_plan or day.plan, shelf_of(there))
    first = [replace(move, at=began) if move.thing is StockKind.BOTTLE else move for move in counted_first]
    counts = grouped((_stock_of(move), move.at) for move in there if move.kind is MoveKind.COUNTED)
    moves = [*first, *_dyes(day, [*there, *first], counts, began, ended), *_acid(day), *_extras(day), *_yarn(day)]

    def key(move: Move) -> tuple[object, ...]:
        counts_before = sum(at < move.at for at in counts.get(_stock_of(move), ()))
        return (move.kind, move.thing, move.name, move.bottle, move.planned, move.why, counts_before)

    alike = grouped((key(move), move) for move in moves).values()
    sums = []
    for group in alike:
        at, amount = min(max(began, *(move.at for move in group)), ended), sum(move.amount for move in group)
        sums.append(replace(group[0], id=new_id(), at=at, amount=amount, session=session))
    return sums


T = TypeVar("T", Acid, Base, Extra)
_NEVER = datetime.min.replace(tzinfo=UTC)


def _move(kind: MoveKind, thing: StockKind, name: str, amount: float, unit: str, **more: object) -> Move:
    return replace(Move("", _NEVER, kind, thing, name, amount, unit), **more)  # type: ignore[arg-type]


def said_on_hand(plan: Plan) -> list[tuple[StockKind, str, float, str]]:
    """Return (thing, name, amount, unit) of all that a plan says is on hand."""
    acid = plan.acid
    stated = (
        *((StockKind.DYE, dye.name, dye.on_hand_g, "g") for dye in plan.dyes),
        (StockKind.ACID, acid.name, acid.on_hand, acid.unit),
        *((StockKind.EXTRA, extra.name, extra.on_hand, extra.unit) for extra in plan.extras),
        *((StockKind.YARN, base.name, base.on_hand, "pieces") for base in plan.bases),
    )
    return [(thing, name, amount, unit) for thing, name, amount, unit in stated if amount is not None]


def first_counts(plan: Plan, shelf: Shelf) -> Iterator[Move]:
    """Yield what a plan says is on hand of things with no amount on the shelf, as movements without id and time."""
    for thing, name, amount, unit in said_on_hand(plan):
        if shelf.amount(thing, name) is None:
            yield _move(MoveKind.COUNTED, thing, name, amount, unit, why="from the plan")
    for dye in plan.dyes:
        strength, made = dye.bottle_pct or dye.solution_pct, dye.bottle_made or plan.session.date
        name = bottle_name(dye.name, strength, made)
        if dye.bottle_ml > 0 and not shelf.bottles_of(dye.name) and all(b.name != name for b in shelf.bottles):
            yield _move(
                MoveKind.MADE, StockKind.BOTTLE, dye.name, dye.bottle_ml, "mL", strength_pct=strength, made=made,
                bottle=name, why="from the plan",
            )  # fmt: skip


def _stock_of(move: Move) -> tuple[StockKind | None, str]:
    """Return what a movement is of; solution counts as its dye."""
    return (StockKind.DYE if move.thing is StockKind.BOTTLE else move.thing, move.name)


def _dyes(
    day: Day,
    there: Sequence[Move],
    counts: Mapping[tuple[StockKind | None, str], Sequence[datetime]],
    began: datetime,
    ended: datetime,
) -> Iterator[Move]:
    """Yield what went of each dye; ``counts`` are when things were counted."""
    for dye in day.plan.dyes:
        of_each = ((batch, one) for batch in day.batches.values() for one in dyes_consumed(day, batch))
        used_at = [(one, min(max(began, _dyed_at(batch)), ended)) for batch, one in of_each if one.dye == dye.name]
        for one, at in sorted(used_at, key=lambda pair: not pair[0].recorded):
            if dry := one.powder_g:
                how = {"planned": not one.recorded, "why": "as powder", "at": at}
                yield _move(MoveKind.USED, StockKind.DYE, dye.name, dry, "g", **how)
        counted_at = sorted(counts.get((StockKind.DYE, dye.name), ()))
        moves = [move for move in there if _stock_of(move) == (StockKind.DYE, dye.name)]
        solutions = ((one, at) for one, at in used_at if one.solution_ml or one.left_ml)
        wet = ((sum(when < at for when in counted_at), (one, at)) for one, at in solutions)
        for past, pairs in sorted(grouped(wet).items()):
            known = [move for move in moves if past == len(counted_at) or move.at < counted_at[past]]
            taken = [replace(move, at=max(at for _, at in pairs)) for move in _solution(day, dye, known, pairs)]
            moves += taken
            yield from taken


def _dyed_at(batch: BatchRecord) -> datetime:
    """Return when dye last went on a batch, else when it was wetted."""
    return max((put_on.since.utc for put_on in batch.painted), default=wetted_at(batch) or _NEVER)


def _solution(
    day: Day, dye: Dye, moves: Sequence[Move], used_at: Sequence[tuple[Consumed, datetime]]
) -> Iterator[Move]:
    """Yield the solution used as drawn from bottles, the oldest first whatever their strength, the rest as made.

    If more was left over than used, it goes into the youngest of those bottles, else into one of its own.
    """
    today, used = day.plan.session.date, [one for one, _ in used_at]
    net_ml, left_ml = sum(one.solution_ml for one in used), sum(one.left_ml for one in used)
    if net_ml <= 0 and left_ml <= 0:
        return
    planned_ml = sum(one.solution_ml for one in used if not one.recorded)
    by_plan = planned_ml > 0 and planned_ml >= net_ml / 2
    stock = shelf_of(moves).bottles_of(dye.name)
    wanted_g = net_ml * dye.solution_pct / 100
    for bottle in stock:
        if not above(wanted_g, 0):
            break
        drawn = min(bottle.left_ml, wanted_g * 100 / bottle.strength_pct)
        wanted_g -= drawn * bottle.strength_pct / 100
        yield _move(MoveKind.USED, StockKind.BOTTLE, dye.name, drawn, "mL", bottle=bottle.name, planned=by_plan)
    if stock and below(wanted_g, 0):
        back_ml, into = wanted_g * 100 / stock[-1].strength_pct, stock[-1].name
        yield _move(MoveKind.USED, StockKind.BOTTLE, dye.name, back_ml, "mL", bottle=into, planned=by_plan)
    if not above(wanted_g, 0) and (stock or not above(left_ml, 0)):
        return
    fresh_ml = wanted_g * 100 / dye.solution_pct
    name = bottle_name(dye.name, dye.solution_pct, today)
    over_ml = max(0.0, left_ml)
    lot = lot_at(moves, StockKind.DYE, dye.name, max(at for _, at in used_at))
    yield _move(
        MoveKind.MADE, StockKind.BOTTLE, dye.name, fresh_ml + over_ml, "mL",
        bottle=name, lot=lot, strength_pct=dye.solution_pct, made=today,
        powder_g=(fresh_ml + over_ml) * dye.solution_pct / 100, planned=by_plan, why="made that day",
    )  # fmt: skip
    if fresh_ml:
        yield _move(MoveKind.USED, StockKind.BOTTLE, dye.name, fresh_ml, "mL", bottle=name, planned=by_plan)


def _acid(day: Day) -> Iterator[Move]:
    acid = day.plan.acid
    for put in acids_put_in(day):
        yield _move(MoveKind.USED, StockKind.ACID, acid.name, put.amount_of(acid), acid.unit, at=put.at.utc)
    for batch in day.batches.values():
        if unsaid := acid_by_plan(day, batch):
            at = _dyed_at(batch)
            yield _move(MoveKind.USED, StockKind.ACID, acid.name, unsaid, acid.unit, planned=True, at=at)


def _extras(day: Day) -> Iterator[Move]:
    begun = [batch for batch in day.batches.values() if wetted_here(batch)]
    for extra in day.plan.extras:
        for amounts, planned in ((extra_recorded(day, extra), False), (extra_by_plan(day, extra, begun), True)):
            for no, amount in amounts.items():
                how = {"planned": planned, "at": _dyed_at(day.batches[no])}
                yield _move(MoveKind.USED, StockKind.EXTRA, extra.name, amount, extra.unit, **how)


def _yarn(day: Day) -> Iterator[Move]:
    for batch in day.batches.values():
        if wetted_here(batch):
            count, at = float(batch.dyed_skeins), wetted_at(batch)
            yield _move(MoveKind.USED, StockKind.YARN, batch.base.name, count, "pieces", at=at)


def on_shelf(plan: Plan, shelf: Shelf) -> Plan:
    """Return ``plan`` with the shelf's amounts, and bottles as strong as the oldest, where the plan has none."""

    def stocked(item: T, thing: StockKind) -> T:
        there = item.on_hand is not None
        return item if there else replace(item, on_hand=_not_negative(shelf.amount(thing, item.name)))

    return replace(
        plan,
        acid=stocked(plan.acid, StockKind.ACID),
        dyes=tuple(_dye_on_shelf(dye, shelf) for dye in plan.dyes),
        bases=tuple(stocked(base, StockKind.YARN) for base in plan.bases),
        extras=tuple(stocked(extra, StockKind.EXTRA) for extra in plan.extras),
    )


def _dye_on_shelf(dye: Dye, shelf: Shelf) -> Dye:
    if dye.on_hand_g is None:
        dye = replace(dye, on_hand_g=_not_negative(shelf.amount(StockKind.DYE, dye.name)))
    bottles = shelf.bottles_of(dye.name)
    if dye.bottle_ml > 0 or dye.bottle_made is not None or not bottles:
        return dye
    alike = [bottle for bottle in bottles if bottle.strength_pct == bottles[0].strength_pct]
    left = sum(bottle.left_ml for bottle in alike)
    return replace(dye, bottle_ml=left, bottle_pct=bottles[0].strength_pct, bottle_made=bottles[0].made)


def _not_negative(amount: float | None) -> float | None:
    return None if amount is None else max(0.0, amount)


def differences(plan: Plan, shelf: Shelf) -> list[str]:
    """Return a sentence for each thing whose amounts in plan and on the shelf are over 1 % and 0.05 apart."""
    both = ((*said, shelf.amount(said[0], said[1])) for said in said_on_hand(plan))
    return [
        f"{name}: the plan has {amount:g} {unit} on hand, the shelf {figure(there)}; the plan's amount counts"
        for _, name, amount, unit, there in both
        if there is not None and abs(there - amount) > max(0.05, amount * 0.01)
    ]


def moves_to_add(
    existing: Sequence[Move], day: Day, session: str, ended: datetime, now_utc: datetime, new_id: Callable[[], str]
) -> list[Move]:
    """Return what to add for a day that ``ended``: nothing if written or put away; if changed, first an undoing."""
    written = [move for move in valid(existing) if move.session == session]
    others = valid(move for move in existing if move.session != session)
    if not written and others and others[0].why == OPENING and ended <= others[0].at:
        return []  # so long ago that what it took is put away; a count puts the shelf right
    wanted = moves_of_day(day, session, others, ended, new_id)
    if [_content(move) for move in wanted] == [_content(move) for move in written]:
        return []
    undo = Move(new_id(), now_utc, MoveKind.UNDONE, session=session, why="the day was changed")
    return [undo, *wanted] if written else wanted


def _content(move: Move) -> Move:
    """Return a movement as two are compared: without id, time and powder's lot, amounts rounded."""
    return replace(
        move, id="", at=move.at.min, lot="", amount=round(move.amount, 6), powder_g=round(move.powder_g, 6)
    )
