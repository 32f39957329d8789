"""Chores: of a lot, of the day, of yarn that is dry by the stop, and which ones a batch has among its own steps."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from math import ceil
from typing import cast

from dyeday.ahead.kernel.problem import Batch, Link, Step
from dyeday.ahead.problem_parts.hours import elapsed_min, minute
from dyeday.ahead.problem_parts.session_days import stop_min_at
from dyeday.grouping import grouped
from dyeday.plan.model import Chore, Plan
from dyeday.plan.step_ids import ChoreId, StepId
from dyeday.terms import ChorePer, ChoreWhen, CoolWhere, State, StepKind, WorkKind
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.day.room_air import dry_min
from dyeday.track.durations import Learned, expected_min
from dyeday.track.timestamp import Moment

BEFORE = (ChoreWhen.BEFORE_SOAK, ChoreWhen.BEFORE_PAINT)
_DYE_ON = tuple(kind for kind in StepKind if kind.puts_dye_on)
_KINDS_AT = {
    ChoreWhen.BEFORE_SOAK: (StepKind.SOAK_LOAD,),
    ChoreWhen.BEFORE_PAINT: _DYE_ON,
    ChoreWhen.AFTER_PAINT: _DYE_ON,
    ChoreWhen.AFTER_COOL: (StepKind.CHORE, StepKind.RINSE),
    ChoreWhen.AFTER_RINSE: (StepKind.RINSE,),
    ChoreWhen.AFTER_DRY: (StepKind.DRY,),
}


def chore_past(day: Day, batch: str, chore: StepId | ChoreId, minutes: int, now_min: int) -> tuple[int, int] | None:
    """Return (start, end) of a chore that takes ``minutes`` or more, both now once done; None before it begins."""
    if day.has_done(batch, chore):
        return (now_min, now_min)
    if (begun := day.chore_begun(batch, chore)) is None:
        return None
    start = minute(day.plan, begun.utc)
    return (start, max(now_min + 1, start + minutes))


def chores_of(day: Day, batches: list[Batch], links: list[Link], now_min: int) -> Iterator[Batch]:
    """Yield the chores of a lot and of the day up to the rinse; add to ``links`` what they come before or after."""
    for chore in day.plan.chores:
        if chore.per not in (ChorePer.LOT, ChorePer.DAY) or chore.when in (ChoreWhen.END_OF_DAY, ChoreWhen.AFTER_DRY):
            continue
        at_work = {batch.id: batch for batch in batches}
        is_before, groups = chore.when in BEFORE, grouped((_lot_of(one, chore), one) for one in day.unfinished)
        for mix, lot in groups.items():
            members = [at_work[one.no] for one in lot if one.no in at_work]
            places = [(b, place) for b in members if (place := _place_of(b, chore.when)) is not None]
            waiting = [b for b, place in places if place >= len(b.past)]
            # Before a step that has begun for one, the chore was done; after it, it stays until it is recorded.
            if (len(waiting) < len(members) or not members) if is_before else not (waiting or _took(lot, chore.when)):
                continue
            group = _group_of(day, chore, mix)
            if day.has_done("", group):
                continue
            if is_before:
                links += [Link(group, 0, batch.id, place) for batch, place in places]
            elif chore.when is ChoreWhen.AFTER_COOL:
                links += _around_cooled(day, lot, places, group)
            else:
                links += [Link(batch.id, place, group, 0) for batch, place in places]
            minutes = max(1, ceil(chore.minutes))
            begun = chore_past(day, "", group, minutes, now_min)
            yield Batch(group, (Step(_id(chore), minutes),), past=(begun,) if begun else (), counts=False)


def _lot_of(record: BatchRecord, chore: Chore) -> str:
    """Return the mix of the batches that a chore is done once for; "" for the whole day."""
    return record.planned_mix if chore.per is ChorePer.LOT else ""


def _took(lot: Iterable[BatchRecord], when: ChoreWhen) -> bool:
    """Return whether a batch took the step of ``when`` in this session."""
    state = State.PAINT if when is ChoreWhen.AFTER_PAINT else State.RINSE
    return any(stay.state is state and one.is_of_session(stay.since.utc) for one in lot for stay in one.stays)


def _around_cooled(
    day: Day, lot: Sequence[BatchRecord], places: Sequence[tuple[Batch, int]], group: ChoreId
) -> Iterator[Link]:
    """Yield the links of a chore after cooling: it waits until all its yarn has cooled.

    The rinse waits for it once all the yarn is or was in its last heat, but never where it would keep a pot.
    """
    waits = [(batch, place, batch.steps[place].lags) for batch, place in places]
    is_soon = all(lags[0].after < len(batch.past) for batch, _, lags in waits)
    is_soon = is_soon and not any(one.state is State.SET_ASIDE for one in lot)
    for batch, place, lags in waits:
        yield from (Link(batch.id, lag.after, group, 0, lag.least) for lag in lags)
        where = day.batches[str(batch.id)].colourway.layers[-1].cool_where
        if is_soon and place >= len(batch.past) and where is CoolWhere.OUT:
            yield Link(group, 0, batch.id, place)


def _id(chore: Chore) -> StepId:
    return StepId(StepKind.CHORE, chore=chore.name, when=chore.when)


def _place_of(batch: Batch, when: ChoreWhen) -> int | None:
    """Return the place of the step that a chore comes before or after; after cooling, of the first that waits."""
    kinds = _KINDS_AT[when]
    ids = ((n, step.id) for n, step in enumerate(batch.steps))
    fit = (n for n, each in ids if isinstance(each, StepId) and each.kind in kinds and each.when in (None, when))
    place = next(fit, None)
    while place is not None and when is ChoreWhen.AFTER_PAINT and batch.steps[place].goes_on:
        place += 1
    return place


def chores_of_batch(plan: Plan, when: ChoreWhen) -> list[Chore]:
    """Return the chores of each batch or skein that are done at ``when``."""
    return [chore for chore in plan.chores if chore.when is when and chore.per in (ChorePer.BATCH, ChorePer.SKEIN)]


def chore_minutes(chore: Chore, skeins: int) -> float:
    """Return the minutes a chore takes for a batch of ``skeins``."""
    return chore.minutes * (skeins if chore.per == ChorePer.SKEIN else 1)


def dry_at_min(plan: Plan, record: BatchRecord, hung: Moment, learned: Mapping[WorkKind, Learned]) -> int:
    """Return by when a batch that was ``hung`` to dry is dry, in minutes from the plan's midnight."""
    return minute(plan, hung.utc) + ceil(expected_min(WorkKind.DRY, dry_min(plan, record.colourway), learned))


def after_dry(day: Day, now: Moment, learned: Mapping[WorkKind, Learned]) -> Iterator[Batch]:
    """Yield the chores of yarn that is dry by the stop; of a lot or the day if all its yarn is.

    Chores of a batch are offered while it hangs: once taken down, those not recorded count as done.
    """
    plan, now_min = day.plan, minute(day.plan, now.utc)
    stop = max(now_min, elapsed_min(plan, stop_min_at(plan, now.utc)))
    hung = ((one, one.state_since) for one in day.unsplit if one.only_dries)
    dry_at = {one.no: dry_at_min(plan, one, since, learned) for one, since in hung if since is not None}
    own = chores_of_batch(plan, ChoreWhen.AFTER_DRY)
    for no, release in dry_at.items():
        if own and release <= stop:
            yield _chores_once_dry(day, no, own, release, now_min)
    for chore in plan.chores:
        if chore.when is not ChoreWhen.AFTER_DRY or chore in own:
            continue
        groups = grouped((_lot_of(one, chore), one) for one in day.unfinished)
        for mix, members in groups.items():
            release = max(dry_at.get(one.no, stop + 1) for one in members)
            if release <= stop:
                yield _chores_once_dry(day, _group_of(day, chore, mix), [chore], release, now_min)


def _chores_once_dry(day: Day, of: str | ChoreId, chores: Sequence[Chore], release: int, now_min: int) -> Batch:
    """Return chores of a batch, a lot or the day from minute ``release`` on, less what is done of them."""
    skeins = day.batches[of].skeins if isinstance(of, str) else 1
    steps = tuple(Step(_id(chore), max(1, ceil(chore_minutes(chore, skeins)))) for chore in chores)
    past: list[tuple[int, int]] = []
    for step in steps:
        batch, chore = (of, cast(StepId, step.id)) if isinstance(of, str) else ("", of)
        begun = chore_past(day, batch, chore, step.minutes, now_min)
        if begun is None:
            break
        past.append(begun)
    return Batch(of, steps=steps, release=release, past=tuple(past), counts=False)


def _group_of(day: Day, chore: Chore, mix: str) -> ChoreId:
    """Return the identity of a lot's chore, by the first batch that ever had the ``mix``, or of the day's."""
    if chore.per is not ChorePer.LOT:
        return ChoreId(chore.name, chore.when, "")
    of_lot = (one.no for one in day.batches.values() if mix in (one.planned_mix, *(put.mix for put in one.painted)))
    return ChoreId(chore.name, chore.when, min(of_lot))
