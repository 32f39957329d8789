"""The batches' lines as plain values: what each says of its batch, and how urgent that batch is."""

from __future__ import annotations

from collections.abc import Sequence
from enum import IntEnum

from dyeday.ahead.advising.next_step import NextStep
from dyeday.ahead.advising.next_up import AtBatch, NextUp, Rank, at_batch, before_rinse
from dyeday.bench.looks.themes import LookStyles
from dyeday.plan.step_ids import StepId
from dyeday.quick_dataclass import dataclass
from dyeday.terms import ChorePer, ChoreWhen, HeatEdge, HeatKind, Outcome, State, StepKind, TimerKind
from dyeday.text import harmless
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import STATE_WORDS, state_word, unfixed_word
from dyeday.track.day.waiting_time import lies_open, open_wait
from dyeday.track.flags import RULES, Flag
from dyeday.track.folding.fold import current
from dyeday.track.timers.timers import HEATING, Timer
from dyeday.track.timestamp import Moment, into_min_s, length_text, signed_s, time_text_near, whole_min

SWATCH_CELLS = 4
_HEATING = HEATING | {HeatKind.MICROWAVE: "microwave"}
QUIET = (State.WAITING, State.DRY, State.SET_ASIDE)
"""states in which a batch needs nothing until its work begins, or until tomorrow"""
TIME_CELLS = 12
HOURS_FROM_MIN, DAYS_FROM_MIN = 600, 6000
"""minutes from which a length is shown in hours, and in days"""


class Urgency(IntEnum):
    """How urgent a batch or a step is; a greater one comes first."""

    CALM = 0
    READY = 1
    """its time has come, and waiting does no harm"""
    OVER = 2
    """past its time, and waiting does harm"""
    ALARM = 3

    sign: str
    """a space, "•" or "!": one cell"""

    def __init__(self, value: int) -> None:
        self.sign = " •!!"[value]

    def style(self, look: LookStyles) -> str:
        """Return its Rich style in ``look``; empty for calm."""
        return ("", look.due, look.urgent, look.urgent)[self]


def urgency_of_timer(timer: Timer | None, alarmed: bool) -> Urgency:
    """Return how urgent a timer is, ``alarmed`` while an alarm of the same lasts."""
    if alarmed:
        return Urgency.ALARM
    if timer is None or not timer.calls_hands:
        return Urgency.CALM
    return Urgency.OVER if timer.is_left_to_hands else Urgency.READY


def urgency_of_item(item: NextUp) -> Urgency:
    """Return how urgent one thing to do is."""
    if item.mark == "!":
        return Urgency.ALARM
    if item.mark != "*":
        return Urgency.CALM
    return Urgency.OVER if item.rank <= Rank.HARM else Urgency.READY


@dataclass(frozen=True, slots=True)
class BatchRow:
    """One batch's line, as texts; "" where there is nothing to say. ``ended``: its work is finished."""

    no: str
    tag: str
    swatch: tuple[str, ...]
    """"#rrggbb" of each cell"""
    colourway: str
    base: str
    pieces: str
    state: str
    where: str
    """the unit it is in"""
    time: str
    """as `timer_text` has it"""
    then: str
    """its next state or heat, in a word"""
    next_step: str
    """its next step in full"""
    warms_up: bool
    """whether its unit is on and not at heat yet"""
    flags: str
    """the sign of a flag and how many are open"""
    flag_words: str
    last: str
    """its last entry, with the time of it"""
    urgency: Urgency
    ended: bool
    may_be_left_out: bool
    """whether it may be left out where rows are many: it waits, dries, is set aside or has ended"""
    dries: bool


def row(
    day: Day, batch: BatchRecord, waits_for: AtBatch, now: Moment, flags: Sequence[Flag], *, is_alarmed: bool
) -> BatchRow:
    """Return a batch's line at ``now``, with what it waits for then; ``is_alarmed`` while an alarm of it lasts."""
    step, timer = waits_for.step, waits_for.timer
    opened = [flag for flag in flags if flag.cleared is None]
    event = day.event(batch.last_id) if batch.last_id else None
    last = ""
    urgency, ended = urgency_of_timer(timer, is_alarmed), not batch.is_unfinished
    if event is not None:
        event = current(day, event)
        last = f"{time_text_near(event.at, day.plan.session.zone, now.utc)} {event.text(day)}"
    tag, colourway, base, where, last = map(
        harmless, (batch.tag, batch.colourway.name, batch.base.name, batch.unit or "", last)
    )
    return BatchRow(
        no=batch.no,
        tag=tag,
        swatch=swatch_cells(batch),
        colourway=colourway,
        base=base,
        pieces=str(batch.skeins),
        state=state_text(batch, waits_for),
        where=where,
        time=_cover_asked(day, batch, timer, now) or timer_text(timer, urgency, now, day.plan.session.zone),
        then="see flag" if before_rinse(batch, flags) else _then(step),
        next_step=step.text if step is not None else "",
        warms_up=timer is not None and timer.kind is TimerKind.WARM_UP,
        flags=f"⚑{len(opened)}" if opened else "",
        flag_words=", ".join(RULES[flag.rule].short for flag in opened),
        last=last,
        urgency=urgency,
        ended=ended,
        may_be_left_out=urgency is Urgency.CALM and (batch.state in QUIET or ended),
        dries=batch.state is State.DRY,
    )


def swatch_cells(batch: BatchRecord) -> tuple[str, ...]:
    """Return at most `SWATCH_CELLS` colours: the first layer's by their shares, then at least one of the last's."""
    layers = batch.colourway.layers
    ground = layers[0].swatches
    last = [str(s.swatch) for s in layers[-1].sections if s.swatch] if len(layers) > 1 else []
    last = last[: SWATCH_CELLS - min(len(ground), SWATCH_CELLS - 1)]
    room, total = SWATCH_CELLS - len(last), sum(share for _, share in ground) or 1.0
    cells = [str(colour) for colour, share in ground for _ in range(max(1, round(room * share / total)))]
    return (*cells[:room], *last)


def state_text(batch: BatchRecord, waits_for: AtBatch) -> str:
    """Return the word of a batch's state: in fix and dry what it is doing there, such as "steaming" or "dried"."""
    timer = waits_for.timer
    word = state_word(batch)
    if batch.state is State.DRY:
        word = "drying" if timer is None or not timer.is_due else "dried"
    if batch.state == State.FIX and timer is not None:
        starts = waits_for.step is not None and waits_for.step.edge is HeatEdge.START
        waits = unfixed_word(batch)
        words = {
            TimerKind.WARM_UP: "warming",
            TimerKind.REST: "rested" if timer.is_due else "resting",
            TimerKind.WAIT: waits,
        }
        word = words.get(timer.kind, waits if starts else "fixed")
        if timer.kind is TimerKind.HEAT and (heat := batch.open_heat) is not None:
            word = _HEATING.get(batch.planned_heat(heat).how, "heating")
    # "steaming 1" and "microwave 1" would read as units.
    layered = batch.state in (State.PAINT, State.FIX, State.COOL) and word != _HEATING[HeatKind.MICROWAVE]
    recipe, number = batch.recipe_place(batch.layer)
    if layered and len(recipe) > 1:
        word += f" L{number}"
    if batch.state == State.DONE and batch.outcome is not None and batch.outcome is not Outcome.FIRST:
        word = batch.outcome.value
    return word


def _cover_asked(day: Day, batch: BatchRecord, timer: Timer | None, now: Moment) -> str:
    """Return "wrapped?" of painted yarn with a chore after its paint to be done and no cover on record; else ""."""
    waits = timer is not None and timer.kind is TimerKind.WAIT and not timer.is_due
    wait = open_wait(day, batch, now) if waits else None
    if wait is None or lies_open(day, batch, now) or any(not at.utc < wait.since.utc for at, _ in batch.covers):
        return ""
    after = (one for one in day.plan.chores if one.when is ChoreWhen.AFTER_PAINT)
    names = (one.name for one in after if one.per in (ChorePer.BATCH, ChorePer.SKEIN))
    steps = (StepId(StepKind.CHORE, wait.layer, chore=name, when=ChoreWhen.AFTER_PAINT) for name in names)
    cover = batch.layer_of(wait.layer).cover
    return f"{cover.value}?" if any(not day.has_done(batch.no, step) for step in steps) else ""


def timer_text(timer: Timer | None, urgency: Urgency, now: Moment, zone: str | None) -> str:
    """Return the time that matters: "12 min left", "40 s left", "ready 14:20", "3 min over", "for 20 min".

    "safe 23 h" is of painted yarn under its cover; "ready Sat" is longer than twelve hours ago.
    """
    if timer is None:
        return ""
    if timer.left_s is None:
        return f"for {_length(timer.elapsed_s)}" if timer.elapsed_s >= 60 else "just begun"
    if timer.left_s > 0:
        left = f"{int(timer.left_s)} s" if timer.left_s < 60 else _length(timer.left_s)
        return f"safe {left}" if timer.kind is TimerKind.WAIT else f"{left} left"
    if urgency >= Urgency.OVER:
        return f"{_length(timer.left_s)} over"
    if not whole_min(timer.left_s):
        return "ready now"
    ready = f"ready {time_text_near(timer.due_at(now) or now.utc, zone, now.utc)}"
    return ready if len(ready) <= TIME_CELLS else " ".join(ready.split(" ")[:2])


def _length(length_s: float) -> str:
    """Return a length as short as a column needs it: "12 min", "1 h 54", "15 h", "4 d"."""
    minutes = whole_min(length_s)
    if minutes < HOURS_FROM_MIN:
        return length_text(minutes)
    return f"{minutes // 60} h" if minutes < DAYS_FROM_MIN else f"{minutes // 1440} d"


def shown_for_s(timer: Timer | None) -> float:
    """Return for how many seconds what `timer_text` says of a timer stays true: until its minute changes."""
    if timer is None:
        return float("inf")
    if timer.left_s is not None and 0 < timer.left_s < 60:
        return 0.5
    if timer.left_s is not None and timer.left_s > 0:
        return into_min_s(timer.left_s)
    return 60 - into_min_s(timer.elapsed_s if timer.left_s is None else timer.left_s)


def _then(step: NextStep | None) -> str:
    if step is None:
        return ""
    if step.to == State.PAINT:
        return step.text.split(",")[0]
    if step.edge == HeatEdge.END:
        return "heat off"
    if step.how is not None:
        return "micro" if step.how is HeatKind.MICROWAVE else step.how.value
    if step.to is State.DONE:
        return "take down"
    return STATE_WORDS.get(step.to, step.to.value) if step.to is not None else ""


@dataclass(frozen=True, slots=True)
class _CachedRow:
    """A row, when it was made and for how long it stays true."""

    row: BatchRow
    at: Moment
    for_s: float
    flags: list[Flag]
    alarmed: bool


class BatchRows:
    """The rows from tick to tick: only one that an event or the time changes is made again. ``made`` counts those."""

    def __init__(self) -> None:
        self.made = 0
        self.rows: tuple[BatchRow, ...] = ()
        self._cache: dict[str, _CachedRow] = {}

    def forget(self) -> None:
        """Have every row made again: another day, or another date."""
        self._cache = {}

    def update(
        self, day: Day, now: Moment, flags: dict[str, list[Flag]], alarmed: set[str]
    ) -> tuple[bool, dict[str, AtBatch]]:
        """Bring ``rows`` up to ``now``; ``alarmed`` are the numbers of batches with an alarm that lasts.

        Return whether an urgency changed, and by number what the batches wait for whose rows were made.
        """
        looked_at: dict[str, AtBatch] = {}
        urgency_changed = False
        for batch in day.unsplit:
            cached, own_flags = self._cache.get(batch.no), flags.get(batch.no, [])
            if (
                cached is not None
                and 0 <= signed_s(cached.at, now) < cached.for_s
                and cached.alarmed == (batch.no in alarmed)
                and cached.flags == own_flags
            ):
                continue
            waits_for = looked_at[batch.no] = at_batch(day, batch, now)
            fresh = row(day, batch, waits_for, now, own_flags, is_alarmed=batch.no in alarmed)
            self.made += 1
            urgency_changed = urgency_changed or cached is None or cached.row.urgency != fresh.urgency
            for_s = shown_for_s(waits_for.timer)
            self._cache[batch.no] = _CachedRow(fresh, now, for_s, own_flags, batch.no in alarmed)
        rows = tuple(self._cache[batch.no].row for batch in day.unsplit)
        if rows != self.rows:
            self.rows = rows
        return urgency_changed, looked_at
