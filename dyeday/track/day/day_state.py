"""The record of a session, its events, and the base of what events say."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import field, replace
from datetime import UTC, datetime, timedelta
from datetime import date as Date  # noqa: N812 - a method is called date
from functools import cached_property
from typing import Any, ClassVar, NamedTuple

from dyeday.grouping import grouped
from dyeday.plan.batches import by_number, split_no
from dyeday.plan.model import OrderKey, Plan, Spans
from dyeday.plan.step_ids import ChoreId, StepId
from dyeday.quick_dataclass import altered, dataclass
from dyeday.terms import AdviceAction, AlarmAction, ChoreWhen, DayAim, State, StepKind
from dyeday.text import batches_text
from dyeday.track.day.batch_record import BatchRecord, ClearedFlag
from dyeday.track.day.unit_record import UnitRecord
from dyeday.track.event_keys import Keyed, key, text
from dyeday.track.timestamp import Moment, iso, local, on_wall, parse_utc, time_text_from

LATE_S = 60.0
"""recorded more than this after it happened, an event is late"""
MOST_SNOOZE_MIN = 15.0
"""the longest that an alarm can be snoozed"""
ENTRY_MARK = "+"
"""stands behind the first one's id in the ids of an entry's further events"""


class Body(Keyed):
    """What an event says: one class for each kind, named `NAME` in JSON."""

    WORDS: ClassVar[str] = ""
    """its words on the screen, with keys of JSON in braces"""
    why: str | None = key(text, default=None)

    def refuse(self, day: Day, event: Event, *, typed: bool) -> None:
        """Raise EventError where ``event``, which has this body, cannot be true of ``day``.

        ``typed`` is False for one of many lines that are read together: those of one minute may be in any order, so
        less is refused.
        """

    def apply(self, day: Day, event: Event) -> Day:
        """Return the day with what ``event`` says done to it."""
        return day

    def words(self, event: Event, day: Day | None) -> str:
        """Return it in words, without batch, time and reason; what was so at its time is looked up in ``day``."""
        return self.WORDS.format(**self.to_json()) or self.NAME


@dataclass(frozen=True)
class Event:
    """One thing that happened; what ``body`` may be is listed by `KINDS` of `track/events/event_json.py`."""

    id: str
    body: Body
    at: datetime
    recorded_at: datetime
    batch: str | None = None
    """the number of its batch; None for a unit, a load or the session"""
    boot_s: float | None = None
    """``at`` by the boot clock, where that is known: seconds since the boot ``boot_id``"""
    boot_id: str | None = None
    is_approximate: bool = False
    """whether its time was suggested, not seen"""

    @cached_property
    def moment(self) -> Moment:
        """When it happened, by both clocks."""
        return Moment(self.at, self.boot_s, self.boot_id)

    @property
    def batches(self) -> tuple[str, ...]:
        """The batches it is about: its own, or those of its load."""
        return self.body.batches or (() if self.batch is None else (self.batch,))

    @property
    def whose(self) -> str:
        """The batches it is about with a space after them, "01, 03 "; "" without any."""
        return f"{batches_text(self.batches)} " if self.batches else ""

    def text(self, day: Day | None = None) -> str:
        """Return it in words, without its batch and time; ``day`` as for `Body.words`."""
        why = f" ({self.body.why})" if self.body.why else ""
        return self.body.words(self, day) + why + (", time about" if self.is_approximate else "")

    @property
    def is_late(self) -> bool:
        """Whether it was recorded more than `LATE_S` after it happened."""
        return (self.recorded_at - self.at).total_seconds() > LATE_S

    def corrected(self, keys: Mapping[str, Any]) -> Event:
        """Return this event with other keys. Raises ValueError for a time, EventError for a key of its body."""
        body = self.body.corrected({k: v for k, v in keys.items() if k not in ("at", "batch")})
        at = parse_utc(keys["at"]) if "at" in keys else self.at
        # Its time by the boot clock is not known any more.
        boot_s = self.boot_s if at == self.at else None
        approximate, batch = self.is_approximate and at == self.at, keys.get("batch", self.batch)
        return replace(self, body=body, at=at, batch=batch, boot_s=boot_s, is_approximate=approximate)

    def to_json(self) -> dict[str, Any]:
        """Return it as a JSON object, as it is stored."""
        head = {"event": self.body.NAME, "at": iso(self.at), "batch": self.batch}
        tail = {"id": self.id, "recorded_at": iso(self.recorded_at), "boot_s": self.boot_s, "boot_id": self.boot_id}
        every = {**head, **self.body.to_json(), **tail, "about": self.is_approximate or None}
        optional = ("batch", "boot_s", "boot_id", "about")
        return {name: value for name, value in every.items() if value is not None or name not in optional}


@dataclass(frozen=True, slots=True)
class AlarmAct:
    """What the dyer did about an alarm."""

    at: Moment
    what: AlarmAction
    minutes: float = 0.0
    """how long it was snoozed"""


@dataclass(frozen=True, slots=True)
class AdviceWish:
    """What the dyer chose for a step of the advice: *not now*, for ``minutes`` at most, or *this one first*."""

    at: Moment
    about: str | ChoreId
    """a batch's number, or a chore of a lot or of the day"""
    what: AdviceAction
    """NOT_NOW or THIS_FIRST"""
    step: StepId
    minutes: float


class ChoreEntry(NamedTuple):
    """A chore as an entry names it; in entries of older versions ``chore`` is the text of its id."""

    batch: str
    """empty for a chore of a lot or of the day"""
    chore: str
    when: ChoreWhen | None = None
    """None in entries of older versions"""
    layer: int = 0
    first_of_lot: str = ""

    def is_of(self, batch: str, chore: StepId | ChoreId) -> bool:
        """Return whether it is this chore of a batch, or where ``batch`` is empty of a lot or the day."""
        if self.batch != batch or (isinstance(chore, StepId) and chore.kind is not StepKind.CHORE):
            return False
        if not self.when:
            return self.chore == chore.text
        if isinstance(chore, ChoreId):
            return (self.chore, self.when, self.first_of_lot) == (chore.name, chore.when, chore.first_of_lot)
        return (self.chore, self.when, self.layer) == (chore.chore, chore.when, chore.layer)


@dataclass(frozen=True)
class Day:
    """The record of one session up to now, of one day or several."""

    plan: Plan
    batches: Mapping[str, BatchRecord]
    units: Mapping[str, UnitRecord]
    events: tuple[Event, ...] = ()
    """all on record, void ones too, in the order of recording"""
    first_plan: Plan | None = None
    """the plan that it began with; None if it was not folded"""
    planned_out: Spans = ()
    """out of the house by the plan file as it was read last, without the hours typed at the bench"""
    alarm_acts: Mapping[str, tuple[AlarmAct, ...]] = field(default_factory=dict)
    """by the id of the alarm"""
    notes: tuple[tuple[Moment, str], ...] = ()
    """(when, text) of those about no batch"""
    cleared: tuple[ClearedFlag, ...] = ()
    """of flags about no batch"""
    order_came_at: Mapping[OrderKey, datetime] = field(default_factory=dict)
    """of orders that came during the session"""
    chores: tuple[ChoreEntry, ...] = ()
    """those done"""
    chores_begun: tuple[tuple[Moment, ChoreEntry], ...] = ()
    """done or not"""
    wishes: tuple[AdviceWish, ...] = ()
    chosen_aim: DayAim | None = None
    """the aim, if chosen during the session"""
    arrivals: Mapping[str, tuple[BatchRecord, ...]] = field(default_factory=dict)
    """by unit, the batches that go into it later; only in a `Day` as it was (`looked_back_at`)"""
    closed: Moment | None = None
    """when it was closed; None while it is open"""
    first_at: datetime | None = None
    """when its first event with `Body.IS_TIMED` and `Body.IS_OF_DAY` happened; None before"""
    last_at: datetime | None = None
    """when the latest event that counts happened"""
    void_ids: frozenset[str] = frozenset()
    """of events that do not count: those undone, and undone undos"""
    read_on: Date | None = field(default=None, compare=False)
    """the date by the reader's clock, as `read_at` has it"""

    @cached_property
    def unsplit(self) -> tuple[BatchRecord, ...]:
        """All batches but those that were split, in the order of their numbers."""
        unsplit = (batch for batch in self.batches.values() if batch.state != State.SPLIT)
        return tuple(sorted(unsplit, key=lambda batch: by_number(batch.no)))

    @cached_property
    def unfinished(self) -> tuple[BatchRecord, ...]:
        """The batches that still need work, in the order of their numbers."""
        return tuple(batch for batch in self.unsplit if batch.is_unfinished)

    @cached_property
    def _by_unit(self) -> dict[str | None, list[BatchRecord]]:
        return grouped((batch.unit, batch) for batch in self.unsplit)

    def find(self, batch_no: str) -> BatchRecord | None:
        """Return the batch called "3", "03" or "003", or None."""
        digits, letters = split_no(batch_no.strip().lower())
        nos = (digits.lstrip("0").rjust(width, "0") + letters for width in (len(digits), 2, 3))
        return next((self.batches[no] for no in nos if no in self.batches), None)

    def lineage(self, batch: BatchRecord) -> tuple[str, ...]:
        """Return a batch's number, then those of the batches it was split from, the nearest first."""
        nos, parent = [batch.no], batch.parent
        while parent is not None:
            nos.append(parent)
            parent = self.batches[parent].parent if parent in self.batches else None
        return tuple(nos)

    def has_done(self, batch: str, chore: StepId | ChoreId) -> bool:
        """Return whether a chore is recorded as done: of a batch, or of a lot or the day if ``batch`` is empty."""
        return any(done.is_of(batch, chore) for done in self.chores)

    def chore_begun(self, batch: str, chore: StepId | ChoreId) -> Moment | None:
        """Return when a chore was started that is not done; else None."""
        begun = (at for at, entry in reversed(self.chores_begun) if entry.is_of(batch, chore))
        return next(begun, None) if not self.has_done(batch, chore) else None

    def in_unit(self, unit: str) -> tuple[BatchRecord, ...]:
        """Return the batches in a unit, in the order of their numbers."""
        return tuple(self._by_unit.get(unit, ()))

    @property
    def shown_events(self) -> list[Event]:
        """Its events, void ones too, without the forecasts that the program recorded."""
        return [event for event in self.events if event.body.IS_SHOWN]

    def event(self, event_id: str) -> Event | None:
        """Return the event with an id, even a void one, or None."""
        return self._by_id.get(event_id)

    @cached_property
    def _by_id(self) -> dict[str, Event]:
        return {event.id: event for event in self.events}

    def on_day_clock(self, now: Moment) -> Moment:
        """Return ``now`` by the wall clock as it was at the latest event of this boot, if that was set since."""
        if now.boot_id is None or now.boot_s is None:
            return now
        if self._asked_last[0] is not now:
            of_boot = (e.moment for e in reversed(self.events) if e.boot_id == now.boot_id and e.boot_s is not None)
            by_it = Moment(on_wall(now, next(of_boot, now)), now.boot_s, now.boot_id)
            self._asked_last[:] = now, by_it
        return self._asked_last[1]

    @cached_property
    def _asked_last(self) -> list[Moment]:
        """The last moment asked for and its answer: every timer and flag asks for the same one."""
        never = Moment(datetime.min.replace(tzinfo=UTC))
        return [never, never]

    @property
    def ended(self) -> Moment | None:
        """The end of a closed session: its close, or a later event that counts; None while open."""
        if self.closed is None:
            return None
        return Moment(self.last_at or self.closed.utc, self.closed.boot_s, self.closed.boot_id)

    @property
    def latest_moment(self) -> Moment | None:
        """When it ended, or of an open one `last_at`; None without any."""
        return self.ended or (Moment(self.last_at) if self.last_at is not None else None)

    @property
    def aim(self) -> DayAim:
        """The aim that the advice follows: as chosen during the session, else as planned."""
        return self.chosen_aim or self.plan.session.aim

    @cached_property
    def date(self) -> Date:
        """The date whose times need no weekday: the latest of the plan's, the first step's and the reader's."""
        first = self.first_at and local(self.first_at, self.plan.session.zone).date()
        return max(filter(None, (self.plan.session.date, first, self.read_on)))

    def read_at(self, now: Moment | None) -> Day:
        """Return it as read at ``now``, None for paper: while it is open, times of that date lack a weekday."""
        today = local(now.utc, self.plan.session.zone).date() if now is not None and self.closed is None else None
        return self if today == self.read_on else altered(self, read_on=today)

    def time_text(self, moment: datetime) -> str:
        """Return "14:05" in the session's zone, "Sun 03:08" on another day than `date`."""
        return time_text_from(moment, self.plan.session.zone, self.date)


def make(
    body: Body,
    now: Moment,
    new_id: Callable[[], str],
    *,
    batch: str | None = None,
    at: datetime | None = None,
    is_approximate: bool = False,
) -> Event:
    """Return a new event, recorded ``now``, that happened now or at ``at``. Raises EventError for a bad value."""
    then = now if at is None else now.earlier((now.utc - at).total_seconds())
    return Event(new_id(), body.checked(), then.utc, now.utc, batch, then.boot_s, then.boot_id, is_approximate)


def entry_of(event_id: str) -> str:
    """Return what the ids of all events of one entry begin with."""
    return event_id.partition(ENTRY_MARK)[0]


def entry_ids(first: str, count: int) -> list[str]:
    """Return the ids of ``count`` events that are one entry."""
    return [first, *(f"{first}{ENTRY_MARK}{n}" for n in range(1, count))]


def in_order_of_recording(events: Iterable[Event]) -> list[Event]:
    """Return events in the order of recording; those recorded together keep theirs."""
    return sorted(events, key=lambda event: event.recorded_at)


def spread(events: Iterable[Event]) -> list[Event]:
    """Return events in their order, recorded a microsecond after the one before where they were not later."""
    out: list[Event] = []
    for event in events:
        if out and event.recorded_at <= out[-1].recorded_at:
            event = replace(event, recorded_at=out[-1].recorded_at + timedelta(microseconds=1))
        out.append(event)
    return out
