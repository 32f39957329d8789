"""The dyer's wishes in terms of the problem: *not now* is a release time, *this one first* adds links.

A wish holds while its step is the next of its batch. Unless one puts something first, yarn whose heat broke
off goes first. Heat that is over goes off before all else.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from typing import cast

from dyeday.ahead.kernel.problem import Batch, Id, Link
from dyeday.ahead.problem_parts.hours import minute
from dyeday.plan.step_ids import StepId
from dyeday.terms import AdviceAction, State, StepKind
from dyeday.track.day.day_state import AdviceWish, Day
from dyeday.track.day.progress import heats_of
from dyeday.track.timestamp import Moment


def next_step_of(batch: Batch) -> int | None:
    """Return the place of the next attended step that has not begun, if there is one."""
    return next((n for n in range(len(batch.past), len(batch.steps)) if batch.steps[n].attended), None)


def holding(day: Day, batches: Sequence[Batch]) -> dict[Id, AdviceWish]:
    """Return the latest wish of each batch or chore, if it holds."""
    latest: dict[Id, AdviceWish] = {wish.about: wish for wish in day.wishes}
    wishes = {}
    for batch in batches:
        wish, place = latest.get(batch.id), next_step_of(batch)
        if wish is not None and place is not None and batch.steps[place].id == wish.step:
            wishes[batch.id] = wish
    return wishes


def heeded(day: Day, now: Moment, batches: Sequence[Batch], links: Sequence[Link]) -> tuple[list[Batch], list[Link]]:
    """Return the batches, those put off released later, and links that put the latest *this one first* before all.

    The end of a heat that is on cannot be put off.
    """
    wishes = holding(day, batches)
    out: list[Batch] = []
    firsts = [wish for wish in wishes.values() if wish.what is AdviceAction.THIS_FIRST]
    first = max(firsts, key=lambda wish: wish.at.utc, default=None)
    for batch in batches:
        wish = wishes.get(batch.id)
        if wish is not None and wish.what is AdviceAction.NOT_NOW and not _ends_heat(batch, next_step_of(batch)):
            again = wish.at.utc + timedelta(minutes=wish.minutes)
            if again > now.utc:
                whole_min = minute(day.plan, again + timedelta(seconds=59))  # moments are in whole seconds
                batch = replace(batch, release=max(batch.release, whole_min))
        out.append(batch)
    wanted = next((batch for batch in out if first is not None and batch.id == first.about), None)
    return out, [] if wanted is None else put_first(wanted, out, links)


def put_first(wanted: Batch, batches: Sequence[Batch], links: Sequence[Link]) -> list[Link]:
    """Return links that put the next step of ``wanted`` before that of all others, but for what it waits for.

    The end of a heat that is on does not wait for it.
    """
    place = next_step_of(wanted)
    needed = _before(wanted.id, place, links)
    more: list[Link] = []
    for batch in batches:
        theirs = next_step_of(batch)
        if batch is wanted or theirs is None or place is None or batch.id in needed:
            continue
        if not _ends_heat(batch, theirs):
            more.append(Link(wanted.id, place, batch.id, theirs))
    return more


def _before(batch: Id, place: int | None, links: Sequence[Link]) -> set[Id]:
    """Return the batches and chores with a step that must come before the step ``place`` of one, directly or not."""
    steps = [(batch, place or 0)]
    for to, to_step in steps:
        before = ((link.of, link.of_step) for link in links if link.to == to and link.to_step <= to_step)
        steps.extend(step for step in before if step not in steps)
    return {of for of, _ in steps[1:]}


def _ends_heat(batch: Batch, place: int | None) -> bool:
    """Return whether the next attended step, at ``place``, is the end of a heat that is on."""
    return bool(place and batch.steps[place - 1].draws)


def over_first(batches: Sequence[Batch], links: Sequence[Link], now: int) -> list[Link]:
    """Return links that put the end of each heat that hands end, and that is over by the minute ``now``, first."""
    out: list[Link] = []
    for batch in batches:
        place = next_step_of(batch)
        is_on = place is not None and place == len(batch.past) and _ends_heat(batch, place)
        if is_on and batch.steps[len(batch.past) - 1].by_hand and batch.past[-1][1] <= now:
            out += put_first(batch, batches, links)
    return out


def halted_first(day: Day, batches: Sequence[Batch]) -> list[Link]:
    """Return links that put yarn whose heat broke off into heat before other yarn that waits for that kind of kit.

    Of several such batches the one listed first goes first; one that is put off goes before none.
    """
    links: list[Link] = []
    for batch in batches:
        record = day.batches.get(str(batch.id))
        place = next_step_of(batch)
        if record is None or place is None or batch.release or record.state is not State.FIX:
            continue
        step = cast(StepId, batch.steps[place].id)
        if step.kind is not StepKind.LOAD or record.open_heat is not None:
            continue
        if not heats_of(record, step.layer, step.heat):
            continue
        kind = next((hold.kind for hold in batch.holds if hold.first == place), None)
        before = {link.of for link in links if link.to == batch.id}
        for other in batches:
            theirs = next((h.first for h in other.holds if h.kind == kind and h.first >= len(other.past)), None)
            if other is not batch and theirs is not None and other.id not in before:
                links.append(Link(batch.id, place, other.id, theirs))
    return links
