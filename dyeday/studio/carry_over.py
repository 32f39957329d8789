"""Carrying batches into the next day: which ones, with what history, and how they lay over night."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date as Date  # noqa: N812 - the field is called date
from typing import Any

from dyeday.ahead.problem_parts.hours import gaps_of
from dyeday.grouping import grouped
from dyeday.plan.library import without_amounts
from dyeday.plan.model import HandBatch, Order, OrderKey, Plan
from dyeday.plan.serialize import to_plain
from dyeday.studio.lots.lot_making import changes_of
from dyeday.studio.lots.lot_numbers import lot_numbers
from dyeday.studio.parcels import to_dye_again
from dyeday.terms import State, TimerKind, WorkKind
from dyeday.text import LONGEST_NAME, LONGEST_TAG, batches_text, counted
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.bath_contents import acids_had
from dyeday.track.day.carried import CarriedChange, CarriedFlag, EntryChange
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import last_heat_end, soak_needed_min, soaked_min, unit_words
from dyeday.track.day.room_air import dry_min
from dyeday.track.day.transitions import heat_timed_out
from dyeday.track.day.waiting_time import waiting_text
from dyeday.track.durations import Learned, expected_min
from dyeday.track.events.session_events import CarriedOver
from dyeday.track.flags import RULES, flags_of_batch, to_check
from dyeday.track.timers.timers import doing_text, tank_fills, tank_min, timer_of
from dyeday.track.timestamp import Moment, length_text, minutes

NEXT_DAY = ", next day"
RESTING = (State.DRY, State.COOL)
MOST_STAYING = 3
"""at most so many lines of what stays are joined into one"""


def unfinished_lines(day: Day, now: Moment) -> list[str]:
    """Return lines for a day that ends: open flags, what stays where, and how to continue."""
    flags = [f"to check: {named}"] if (named := to_check(day, now)) else []
    stays = staying_lines(day, now) or ["nothing is left: all batches are done"]
    more = ["`dyeday carry NEW.toml` writes a plan that continues them"] if day.unfinished else []
    return [*flags, *stays, *more]


def staying_lines(day: Day, now: Moment) -> list[str]:
    """Return what stays where: a line for each unit in which yarn dries or cools, then one for each other batch."""
    resting = (batch for state in RESTING for batch in day.unfinished if batch.state is state)
    lines = []
    for (state, unit), batches in grouped(((batch.state, batch.unit), batch) for batch in resting).items():
        nos = batches_text([batch.no for batch in batches])
        if state is State.DRY:
            pieces = counted(sum(batch.skeins for batch in batches), "piece")
            lines.append(f"on {unit or 'the rack'}, drying: {nos} ({pieces})")
        else:
            lines.append(f"{f'in {unit}' if unit else 'lifted out'}, cooling overnight: {nos}")
    others = ((no, where) for no, where in unfinished(day, now) if day.batches[no].state not in RESTING)
    return [*lines, *(f"{no} {where}" for no, where in others)]


def left_text(day: Day, now: Moment) -> str:
    """Return what a closed day left and how to continue, in one line; "" if it is open or all is done."""
    if day.closed is None or not day.unfinished:
        return ""
    lines = staying_lines(day, now)
    more = "; …" if len(lines) > MOST_STAYING else ""
    head = f"Left on {day.plan.session.date:%a %d %b}, `dyeday carry NEW.toml` continues it"
    return f"{head}: {'; '.join(lines[:MOST_STAYING])}{more}"


def unfinished(day: Day, now: Moment) -> list[tuple[str, str]]:
    """Return (batch number, its colourway, state and place) of all that is not done."""
    return [(batch.no, f"{batch.colourway.name}: {doing_text(day, batch, now)}") for batch in day.unfinished]


def plan_after(day: Day, session: str, date: Date) -> tuple[Plan, tuple[HandBatch, ...]]:
    """Return a plan of ``date`` for what is unfinished, and its batches; ``session`` is the id of ``day``.

    Its orders also have the pieces that are to be dyed again. Hours are those that ``day`` named for tomorrow, else
    its own; out of the house is what its plan had within these: a school run is daily. Amounts on hand are left to
    the shelf.
    """
    old = day.plan
    hand, counts = [], Counter[OrderKey]()
    strays: list[Order] = []
    known = {order.key for order in old.orders}
    for batch in day.unfinished:
        keyed = [(key, count) for item, count in batch.shares if (key := batch.order_key(item)) in known]
        if keyed:
            key = keyed[0][0]
        else:
            stray = Order(f"carried {batch.no}", batch.colourway.name, batch.base.name, batch.skeins)
            strays.append(stray)
            key = stray.key
        for each, count in (*keyed, (key, batch.skeins - sum(count for _, count in keyed))):
            counts[each] += count
        tag = batch.tag[:LONGEST_TAG].strip()
        hand.append(HandBatch(batch.no, key[0], batch.skeins, tag, f"{session}/{batch.no}", *key[1:]))
    again = {order.key: lacking for order, lacking in to_dye_again(session, day)}
    orders_left = _left(old.orders, counts, again)
    orders_left += [replace(order, skeins=counts[order.key]) for order in strays]
    items = Counter(item for item, _, _ in {order.key for order in orders_left})
    hand = [one if items[one.order or ""] > 1 else replace(one, colourway="", base="") for one in hand]
    down = {unit.name for unit in day.units.values() if unit.is_down}
    plan = replace(
        old,
        session=_hours(day, date),
        acid=replace(old.acid, on_hand=None),
        kit=tuple(replace(kit, down=tuple(name for name in kit.unit_names if name in down)) for kit in old.kit),
        bases=tuple(without_amounts(base) for base in old.bases),
        dyes=tuple(without_amounts(dye) for dye in old.dyes),
        extras=tuple(replace(extra, on_hand=None) for extra in old.extras),
        orders=tuple(orders_left),
        batches=(),
    )
    return plan, tuple(hand)


def _left(orders: Sequence[Order], counts: Mapping[OrderKey, int], again: Mapping[OrderKey, int]) -> list[Order]:
    """Return the orders with the pieces still to be done, those under way and those to be dyed ``again``, by key.

    Of orders with one key the last have the pieces under way, the first those to be dyed again.
    """
    left, out = dict(counts), list[Order]()
    first = {order.key: n for n, order in reversed(list(enumerate(orders)))}
    for n, order in reversed(list(enumerate(orders))):
        much = left.get(order.key, 0)
        # The first has the pieces beyond what all of its key ask for.
        take = much if first[order.key] == n else min(much, order.skeins + order.spare)
        more = again.get(order.key, 0) if first[order.key] == n else 0
        if take + more > 0:
            # An order's last pieces are its spares; one that lacks pieces has none left.
            spare = 0 if again.get(order.key) else min(order.spare, take - 1)
            out.insert(0, replace(order, skeins=take + more - spare, spare=spare))
            left[order.key] = much - take
    return out


def _hours(day: Day, date: Date) -> Any:
    session = day.plan.session
    name = session.name.removesuffix(NEXT_DAY)[: LONGEST_NAME - len(NEXT_DAY)] + NEXT_DAY
    hours = dict[str, Any](name=name, date=date)
    if session.tomorrow:
        spans = sorted(session.tomorrow)
        hours |= {"start_min": spans[0][0], "stop_min": spans[-1][1], "breaks": gaps_of(spans)}
    made = replace(session, **hours)
    out = ((max(a, made.start_min), min(b, made.stop_min)) for a, b in day.planned_out)
    return replace(made, out=tuple((a, b) for a, b in out if a < b))


def carried_event(day: Day, session: str, batch: BatchRecord) -> CarriedOver:
    """Return the event that carries ``batch`` from ``session``, the id of ``day``."""
    now = day.latest_moment or Moment(day.events[-1].at)
    lot = lot_numbers(day, session)[batch.no] if batch.painted else batch.lot
    acids = tuple(acids_had(day, batch, shares=True))
    record = replace(batch, parent=None, split_into=(), last_id=None, acids=acids, lot=lot)
    beyond = (flag for flag in flags_of_batch(day, batch, now) if RULES[flag.rule].beyond_record)
    flags = [CarriedFlag(f.rule, f.why, f.remedy, f.since, tuple(sorted(f.causes))) for f in beyond]
    last_fills = {unit: tank_fills(day, unit, now)[-1].run_min for unit in day.units if tank_min(day, unit, now)}
    tanks = {unit: ran_min for unit, ran_min in last_fills.items() if ran_min > 0}
    kin, acids_at = {batch.no, *(no for _, no in batch.earlier_nos)}, {put.at.utc for put in record.acids}
    kept = ((no, change) for no, change in changes_of(day) if change.what is not EntryChange.VOIDED)
    own = (change for no, change in kept if no in kin or (no is None and change.at in acids_at))
    changes = tuple(CarriedChange(change.at, change.what) for change in own)
    return CarriedOver(
        source=session,
        was=batch.no,
        record=to_plain(record),
        flags=to_plain(tuple(flags)),
        changes=to_plain(changes) or None,
        tanks=tanks or None,
    )


def overnight(day: Day, now: Moment, learned: Mapping[WorkKind, Learned]) -> list[str]:
    """Return a line for each unfinished batch from an earlier session: how it lay since, and what it is ready for."""
    came = (batch for batch in day.unsplit if batch.carried is not None and batch.is_unfinished)
    now = day.on_day_clock(now)
    return [f"{batch.no} {batch.colourway.name}: {_lay(day, batch, now, learned)}" for batch in came]


def _lay(day: Day, batch: BatchRecord, now: Moment, learned: Mapping[WorkKind, Learned]) -> str:
    batch = heat_timed_out(batch, now)
    if (since := batch.state_since) is None:
        return "waiting, not started"
    so_far, place = minutes(since, now), unit_words(batch.unit, hangs=batch.state == State.DRY)
    if batch.state == State.DRY:
        wanted = expected_min(WorkKind.DRY, dry_min(day.plan, batch.colourway), learned)
        dried = f"hung {length_text(so_far)} of about {length_text(wanted)} on {batch.unit or 'the rack'}"
        return f"{dried}: {'check whether it is dry' if so_far >= wanted else 'not dry yet by the clock'}"
    if batch.state == State.COOL:
        cooled, wanted = minutes(last_heat_end(batch) or since, now), batch.current_layer.cool_min
        after = "rinse it" if batch.is_last_layer else f"{batch.after_cooling[1]}, layer {batch.layer + 1}"
        ready = f"cool: {after}" if cooled >= wanted else f"{length_text(wanted - cooled)} to go"
        return f"cooled {length_text(cooled)}{place}, {ready}"
    if batch.state == State.SOAK:
        soaked = soaked_min(batch, now, batch.layer)
        enough = soaked >= soak_needed_min(batch, day.plan)
        return f"soaked {length_text(soaked)}{place}, {'wet through' if enough else 'not long enough yet'}"
    if batch.open_heat is not None:
        return f"heat on{place} for {length_text(minutes(batch.open_heat.start, now))} on record: check it first"
    if batch.state in (State.PAINT, State.FIX):
        timer = timer_of(day, batch, now)
        if timer is not None and timer.kind == TimerKind.SINCE and timer.text:
            return f"out of heat for {length_text(timer.elapsed_s / 60)}{place}, {timer.text}"
        waits = waiting_text(day, batch, now)
        return f"{waits}{place}, not in heat for {length_text(so_far)}" if waits else doing_text(day, batch, now)
    if batch.state == State.SET_ASIDE:
        why = f": {batch.notes[-1][1]}" if batch.notes else ""
        return f"set aside for {length_text(so_far)}{place}{why}"
    return f"{batch.state.value} for {length_text(so_far)}{place}"
