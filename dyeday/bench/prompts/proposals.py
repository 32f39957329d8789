"""What probably happened since the last entry: ends of heat first, then what timers and plan suggest.

Acid, readings and looks are never proposed: they cannot be known.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from itertools import count, islice
from typing import cast

from dyeday.ahead.advising.next_step import NextStep, next_step
from dyeday.ahead.from_day import batch_of, layers_set_up
from dyeday.ahead.problem_parts.hours import absence_met, no_hands_met
from dyeday.bench.live_session import EventDraft
from dyeday.bench.prompts.offering import drafts_for
from dyeday.bench.prompts.offers import Offer, OfferTaken
from dyeday.plan.step_ids import DYE_STEP, StepId
from dyeday.quick_dataclass import dataclass
from dyeday.terms import HeatEdge, State, StepKind, TimerKind
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day, Event, make
from dyeday.track.day.progress import load_on_min, unit_words
from dyeday.track.day.waiting_time import painted_by
from dyeday.track.events.movements import Heated, IntoUnit, Load, Moved
from dyeday.track.flags.circuits import overload_with
from dyeday.track.folding.fold import effective, take, until
from dyeday.track.timers.timers import timers_of
from dyeday.track.timestamp import Moment, minutes

MOST = 9
"""proposals shown at once"""
MOST_LOOKED_AT = 4 * MOST
"""proposals computed, of which the likeliest are shown"""
_WAITED_FOR = (TimerKind.SOAK, TimerKind.HEAT, TimerKind.WARM_UP, TimerKind.REST, TimerKind.COOL)
_NOT_PROPOSED = (State.WAITING, State.DRY, State.SET_ASIDE)
"""states from which no step is proposed: yarn often stays there"""


ProposalKey = tuple[str, State | None, HeatEdge | None, int | None, int | None]


@dataclass(frozen=True, slots=True)
class HandWork:
    """What hands do with a batch in one go: it goes ``to`` a state, a heat starts or ends, or both."""

    batch: str
    to: State | None
    edge: HeatEdge | None
    heat_no: int = 0
    layer: int | None = None

    @property
    def is_brief(self) -> bool:
        """Whether it can be done between two skeins of painting: heat on or off."""
        return self.edge is not None and self.to is not State.PAINT

    def minutes(self, day: Day, now: Moment) -> int:
        """Return the whole minutes of work it takes by the plan; 0 if hardly any."""
        batch = day.batches[self.batch]
        wanted = {*self._steps(batch)}
        laid_out = batch_of(day, batch, now, layers_set_up(day)) if wanted else None
        steps = laid_out.steps if laid_out is not None else ()
        return sum(step.minutes for step in steps if cast(StepId, step.id)._replace(part=0) in wanted)

    def _steps(self, batch: BatchRecord) -> Iterator[StepId]:
        layer = self.layer or batch.layer
        if self.to is State.SOAK:
            yield StepId(StepKind.SOAK_LOAD, layer)
        elif self.to is State.PAINT:
            yield StepId(DYE_STEP[batch.layer_of(layer).how], layer)
        elif self.to is State.RINSE:
            yield StepId(StepKind.RINSE)
        if self.edge is HeatEdge.START:
            yield StepId(StepKind.LOAD, layer, self.heat_no)
        elif self.edge is HeatEdge.END:
            yield StepId(StepKind.UNLOAD, layer, self.heat_no)


class Hands:
    """One pair of hands from ``since`` on, doing one thing after the other; painting is put down for a heat."""

    def __init__(self, since: Moment) -> None:
        self.free = self._knob_free = since  # for work; for switching a heat on or off, which interrupts work
        self._work: HandWork | None = None

    def free_for(self, work: HandWork) -> Moment:
        """Return when hands can begin ``work``; a heat is taken off in any case."""
        paints = self._work is not None and self._work.to is State.PAINT and not self.works_on(work.batch)
        if work.edge is HeatEdge.END or (work.is_brief and paints):
            return self._knob_free
        return max(self.free, self._knob_free)

    def works_on(self, batch: str) -> bool:
        """Return whether a batch is what they worked on last."""
        return self._work is not None and self._work.batch == batch

    def take(self, work: HandWork, at: Moment, length_min: float) -> None:
        """Do ``work`` from ``at`` on; what it interrupts takes so much longer."""
        end = at.later(length_min * 60)
        if not work.is_brief:
            self.free, self._work = max(self.free, end), work
            return
        self._knob_free = max(self._knob_free, end)
        if at < self.free:
            self.free = self.free.later(length_min * 60)


def freest(pairs: Sequence[Hands], work: HandWork) -> Hands:
    """Return the pair of hands that can begin ``work`` first."""
    return min(pairs, key=lambda pair: pair.free_for(work))


@dataclass(frozen=True, slots=True)
class Proposal:
    """One thing that probably happened: what, to which batch, and when."""

    offer: Offer
    is_tank_filled: bool
    """whether the tank of its unit was filled for it"""

    @property
    def step(self) -> NextStep:
        """What was done."""
        return self.offer.step

    @property
    def batch(self) -> str:
        """The number of the batch it was done to."""
        return self.offer.batch.no

    @property
    def at(self) -> Moment:
        """When it was done."""
        return self.offer.now

    @property
    def key(self) -> ProposalKey:
        """Its identity: batch and step, without time and unit."""
        return self.batch, self.step.to, self.step.edge, self.step.layer, self.step.heat_no

    @property
    def text(self) -> str:
        """What was done, and where; whether the tank was filled, where there is one."""
        unit = None if self.step.edge is HeatEdge.END else self.step.unit
        tank = ", tank filled" if self.is_tank_filled else ""
        return f"{self.step.text}{unit_words(unit, hangs=self.step.to is State.DRY)}{tank}"

    @property
    def drafts(self) -> tuple[EventDraft, ...]:
        """The entries that record it."""
        taken = OfferTaken(self.step.unit, "", is_tank_filled=self.is_tank_filled)
        return tuple(drafts_for(self.offer, taken))


def last_entry_at(day: Day) -> Moment | None:
    """Return when the latest thing on record happened; None before the first."""
    alive = [event for event in day.events if event.id not in day.void_ids and event.body.IS_TIMED]
    return max((event.moment for event in alive), key=lambda moment: moment.utc, default=None)


def open_heats(day: Day) -> set[tuple[str, int]]:
    """Return batch and number of each heat with no end on record."""
    return {(batch.no, heat.heat_no) for batch in day.unsplit if (heat := batch.open_heat) is not None}


def proposals(
    day: Day,
    since: Moment,
    now: Moment,
    left_out: Collection[str] = (),
    on: Collection[tuple[str, int]] | None = None,
    shown: Collection[ProposalKey] = (),
) -> list[Proposal]:
    """Return what has probably happened between ``since`` and ``now``: first ends of the heats ``on``, then others.

    The heats ``on`` are as `open_heats` gives them, by default those of ``day``; the others are in order of time.
    What was ``shown`` before stays above what was not.

    It is possible: each pair of hands does one thing at a time, nothing in breaks and absences; units and circuits
    are not overloaded, and recorded entries keep their times. Nothing is proposed of batches that were ``left_out``,
    nor of one before its latest entry.
    """
    on = open_heats(day) if on is None else on
    found = islice(_likely(day, since, now, left_out), MOST_LOOKED_AT)

    def rank(one: Proposal) -> tuple[bool, bool]:
        is_end = one.step.edge is HeatEdge.END and (one.batch, one.step.heat_no) in on
        return bool(shown) and one.key not in shown, not is_end

    return sorted(found, key=rank)[:MOST]


def _likely(day: Day, since: Moment, now: Moment, left_out: Collection[str]) -> Iterator[Proposal]:
    """Yield what has probably happened, in the order it did, among what is on record."""
    recorded = [event for event in effective(day.events)[0] if event.at > since.utc and event.body.IS_TIMED]
    day = until(day, since.utc) if recorded else day
    at, ids = since, (f"proposed-{n}" for n in count())
    pairs = [Hands(since) for _ in range(day.plan.session.hands)]
    for batch in sorted(day.unsplit, key=lambda batch: batch.state_since or since):
        if batch.state in (State.PAINT, State.RINSE) and batch.state_since is not None:
            work = HandWork(batch.no, batch.state, None)
            freest(pairs, work).take(work, batch.state_since, _at_work_min(day, work, batch.state_since))
    while True:
        steps = _steps(day, at, pairs, now, recorded, left_out)
        first = min(steps, key=lambda one: (one[0].utc, *_rank(one[1])), default=None)
        if recorded and (first is None or recorded[0].at <= first[0].utc):
            event = recorded.pop(0)
            for work in _works(event):
                freest(pairs, work).take(work, event.moment, _at_work_min(day, work, event.moment))
            at, day = max(at, event.moment), take(day, event)
            continue
        if first is None:
            return
        at, step = first
        offer, work = Offer(day, (day.batches[step.batch],), step, at), _work(step)
        proposal = Proposal(offer, offer.is_tank_short)
        yield proposal
        freest(pairs, work).take(work, at, _at_work_min(day, work, at))
        for draft in proposal.drafts:
            day = take(day, make(draft.body, at, ids.__next__, batch=draft.batch))


def _at_work_min(day: Day, work: HandWork, begun: Moment) -> float:
    """Return how long hands are at work that began then, with the time that they are out of the house meanwhile."""
    length_min = work.minutes(day, begun)
    return length_min if work.is_brief else minutes(begun, painted_by(day.plan, begun, length_min))


def _rank(step: NextStep) -> tuple[bool, bool, bool]:
    """Return the rank of what could be done at the same time: heat off, heat on, hanging up to dry, then the rest."""
    return step.edge is not HeatEdge.END, step.edge is None, step.to is not State.DRY


def _work(step: NextStep) -> HandWork:
    return HandWork(step.batch, step.to, step.edge, step.heat_no or 0, step.layer)


def _works(event: Event) -> Iterator[HandWork]:
    """Yield what hands did in an entry: a load into a unit is one movement, dyeing and rinsing one for each batch."""
    body = event.body
    to, layer = (body.to, body.layer) if isinstance(body, (Load, Moved)) else (None, None)
    edge, heats = (body.edge, body.heat_no) if isinstance(body, (Load, Heated)) else (None, None)
    for n, no in enumerate(event.batches):
        heat_no = heats if isinstance(heats, int) else (heats or {}).get(no, 0)
        if n == 0 or to in (State.PAINT, State.RINSE):
            yield HandWork(no, to, edge, heat_no, layer)


def _steps(
    day: Day, since: Moment, pairs: Sequence[Hands], now: Moment, recorded: Sequence[Event], left_out: Collection[str]
) -> Iterator[tuple[Moment, NextStep]]:
    """Yield the next step of each batch that may have been taken by ``now``, with its time."""
    passed_over = {*left_out, *(no for event in recorded for no in event.batches)}
    units = {event.body.unit for event in recorded if isinstance(event.body, (IntoUnit, Load, Heated))}
    long = [event.at for event in recorded for work in _works(event) if not work.is_brief]
    for batch in day.unsplit:
        if batch.no in passed_over or not batch.is_unfinished or batch.state in _NOT_PROPOSED:
            continue
        ready = _ready_at(day, batch, pairs, now)
        step = next_step(day, batch, max(ready, since)) if ready is not None else None
        if ready is None or step is None or step.acid or (step.to is State.FIX and step.edge is None):
            continue
        work = _work(step)
        at = max(ready, since, freest(pairs, work).free_for(work))
        if step.edge is not HeatEdge.END:
            if step.unit in units if step.unit is not None else step.unit_kind is not None:
                continue
            if (away := no_hands_met(day.plan, at.utc)) is not None:
                at = at.later((away[1] - at.utc).total_seconds())
            end = at.later(work.minutes(day, at) * 60)
            if not work.is_brief and any(begin < end.utc for begin in long):
                continue
            if step.edge is HeatEdge.START and not _may_be_on(day, batch, step, at):
                continue
        if at.utc < now.utc:
            yield at, step


def _may_be_on(day: Day, batch: BatchRecord, step: NextStep, at: Moment) -> bool:
    """Return whether a heat from ``at`` on meets no absence and its circuit bears it."""
    if step.unit is None:
        return True
    end = at.later(load_on_min(day.plan, [batch], step.heat_no or 1, step.unit, at) * 60)
    return absence_met(day.plan, at.utc, end.utc) is None and not overload_with(day, step.unit, at)


def _ready_at(day: Day, batch: BatchRecord, pairs: Sequence[Hands], now: Moment) -> Moment | None:
    """Return when a batch could go on: its clock is up, or hands are through with it by the plan's minutes."""
    if (since := batch.state_since) is None:
        return None
    if batch.state in (State.PAINT, State.RINSE):
        through = [pair.free for pair in pairs if pair.works_on(batch.no)]
        work_min = _at_work_min(day, HandWork(batch.no, batch.state, None), since)
        return through[0] if through else since.later(work_min * 60)
    timer = next(timers_of(day, batch, now), None)
    if timer is not None and timer.kind in _WAITED_FOR and timer.left_s is not None:
        # A burst ended by its own timer has no entry: its batch is ready now, and the proposed end begins its rest.
        return now.later(max(0.0, timer.left_s) if timer.ends_itself else timer.left_s)
    return since if batch.state is State.FIX else None
