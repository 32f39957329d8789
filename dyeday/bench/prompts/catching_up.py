"""What has probably happened since the last entry: ends of heat first, then what the clocks and the plan suggest.

Acid, readings and looks are never proposed: they cannot be known.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from itertools import count

from dyeday.ahead.advising.next_step import NextStep, next_step
from dyeday.ahead.problem_parts.hours import hands_off_met
from dyeday.bench.live_session import EventDraft
from dyeday.bench.prompts.offer_drafts import drafts_for
from dyeday.bench.prompts.offers import OfferTaken, offer_for
from dyeday.quick_dataclass import dataclass
from dyeday.terms import ClockKind, HeatEdge, State
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.events.event_text import placed
from dyeday.track.events.recording import make
from dyeday.track.folding.fold import take
from dyeday.track.timers.clocks import clock_of
from dyeday.track.timestamp import Now

MOST = 9
"""proposals shown at once"""
_WAITED_FOR = (ClockKind.SOAK, ClockKind.HEAT, ClockKind.WARM_UP, ClockKind.REST, ClockKind.COOL)
_NEVER = (State.WAITING, State.DRY, State.SET_ASIDE)
"""what is in these states may well have stayed there"""


@dataclass(frozen=True, slots=True)
class Proposal:
    """One thing that probably happened: to which batch, what, and when."""

    batch: str
    at: Now
    step: NextStep
    text: str
    drafts: tuple[EventDraft, ...]

    @property
    def key(self) -> tuple[str, State | None, HeatEdge | None, int | None, int | None]:
        """What tells it from every other: its batch and its step, whenever that was and wherever it went."""
        return self.batch, self.step.to, self.step.edge, self.step.layer, self.step.heat_no


def last_entry_at(day: Day) -> Now | None:
    """Return when the latest thing on record happened; None before the first."""
    alive = [event for event in day.events if event.id not in day.void_ids and event.body.IS_STEP]
    return max((event.moment for event in alive), key=lambda moment: moment.utc, default=None)


def proposals(day: Day, since: Now, now: Now, left_out: Collection[str] = ()) -> list[Proposal]:
    """Return what has probably happened between ``since`` and ``now``, in the order it is asked for.

    One pair of hands does what needs hands, one thing after the other, and nothing in a planned break or absence.
    Nothing more is proposed of batches that were ``left_out``.
    """
    proposed: list[Proposal] = []
    hands = since
    while len(proposed) < MOST:
        steps = list(_steps(day, since, hands, now, left_out))
        if not steps:
            break
        ends = [one for one in steps if one[1].edge is HeatEdge.END]
        at, step = min(ends or steps, key=lambda one: one[0].utc)
        batch = day.batches[step.batch]
        offer = offer_for(day, [batch], step, at)
        drafts = tuple(drafts_for(offer, OfferTaken(step.unit, "")))
        where = "" if step.edge is HeatEdge.END else placed(step.unit, hangs=step.to is State.DRY)
        proposed.append(Proposal(batch.no, at, step, f"{step.text}{where}", drafts))
        ids = (f"proposed-{len(proposed)}-{n}" for n in count())
        for draft in drafts:
            day = take(day, make(draft.body, at, ids.__next__, batch=draft.batch))
        if step.edge is not HeatEdge.END:
            hands = max(hands, at, key=lambda moment: moment.utc)
    return proposed


def _steps(day: Day, since: Now, hands: Now, now: Now, left_out: Collection[str]) -> Iterator[tuple[Now, NextStep]]:
    """Yield the next step of each batch that may have been taken by ``now``, with its time."""
    for batch in day.live:
        if batch.no in left_out or not batch.is_live or batch.state in _NEVER:
            continue
        ready = _ready_at(day, batch, now)
        if ready is None:
            continue
        step = next_step(day, batch, max(ready, since, key=lambda moment: moment.utc))
        if step is None or step.acid or (step.unit_kind is not None and step.unit is None):
            continue
        begin = since if step.edge is HeatEdge.END else hands
        at = max(ready, begin, key=lambda moment: moment.utc)
        if step.edge is not HeatEdge.END and (pause := hands_off_met(day.plan, at.utc)) is not None:
            at = at.later((pause[1] - at.utc).total_seconds())
        if at.utc < now.utc:
            yield at, step


def _ready_at(day: Day, batch: BatchRecord, now: Now) -> Now | None:
    """Return when a batch could go on: its clock is up, or hands are through with it by the plan's minutes."""
    since, wof = batch.state_since, batch.wof_g / 100
    if since is None:
        return None
    if batch.state is State.PAINT:
        return since.later(batch.current_layer.minutes_per_100g * wof * 60)
    if batch.state is State.RINSE:
        return since.later(batch.colourway.rinse_min_per_100g * wof * 60)
    clock = clock_of(day, batch, now)
    if clock is not None and clock.what in _WAITED_FOR and clock.left_s is not None:
        return now.later(clock.left_s)
    return since if batch.state is State.FIX else None
