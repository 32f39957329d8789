"""The main screen as plain values, computed from the day and now: what each line says, nothing of how it looks."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING

from dyeday.ahead.advising.next_step import NextStep
from dyeday.ahead.advising.next_up import AtBatch, NextUp
from dyeday.bench.view.urgency import Urgency, of_clock
from dyeday.paper.local_time import clock_near, local
from dyeday.quick_dataclass import dataclass
from dyeday.terms import AlarmKind, ClockKind, HeatEdge, HeatKind, Outcome, State
from dyeday.text import all_harmless, counted, harmless
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.events.event_text import STATE_WORDS, event_text, state_word
from dyeday.track.flags import RULES, Flag
from dyeday.track.folding.fold import current
from dyeday.track.timers.alarm_states import Alarm
from dyeday.track.timers.clocks import Clock
from dyeday.track.timestamp import Now, into_min_s, length_text, whole_min

if TYPE_CHECKING:
    from dyeday.ahead.forecast import Forecast


@dataclass(frozen=True, slots=True)
class BatchRow:
    """One batch's line. ``ended``: hands are done with it."""

    no: str
    tag: str
    swatch: tuple[str, ...]
    colourway: str
    base: str
    pieces: str
    state: str
    where: str
    time: str
    then: str
    next_step: str
    """its next step in full; empty where it has none"""
    warms_up: bool
    """whether its unit is on and not at heat yet"""
    flags: str
    flag_words: str
    last: str
    urgency: Urgency
    ended: bool
    folds: bool
    """whether it may be left out where rows are many: it only waits, or dries"""


@dataclass(frozen=True, slots=True)
class AlarmLine:
    """One line of alarms: those that came and went of one thing are one. ``ids`` are all of them."""

    ids: tuple[str, ...]
    text: str
    brief: str
    """the same without how long it has stood"""


@dataclass(frozen=True, slots=True)
class BenchView:
    """The main screen at one moment."""

    title: str
    corner: tuple[str, ...]
    """alarms, when the day finishes and the clock, shorter and shorter"""
    foreseen: str
    """when the day finishes and whether it fits, where that is known"""
    alarms: tuple[AlarmLine, ...]
    """that want acknowledging"""
    standing: tuple[AlarmLine, ...]
    """that stand and are not shelved, acknowledged or not"""
    next_up: tuple[NextUp, ...]
    rows: tuple[BatchRow, ...]
    closed: bool
    day_flags: int
    """open flags about the whole day"""


def picture(
    day: Day,
    now: Now,
    flags: dict[str, list[Flag]],
    stand: list[Alarm],
    items: list[NextUp],
    rows: tuple[BatchRow, ...],
    found: Forecast | None,
) -> BenchView:
    """Return the main screen put together.

    ``flags`` are by batch, the whole day's under ""; ``stand`` are the alarms that stand, ``items`` what is next,
    ``rows`` a row for each batch; ``found`` is the latest forecast, where there is one. `view_cache` has them.
    """
    wanting = [alarm for alarm in stand if not alarm.acknowledged and not alarm.is_shelved(now.utc)]
    lasting = [alarm for alarm in stand if alarm.until is None]
    shelved = [alarm for alarm in lasting if alarm.is_shelved(now.utc)]
    zone = day.plan.session.zone
    here = local(now.utc, zone)
    foreseen = fit_text(found, zone) if found is not None and day.closed is None else ""
    late = late_text(found, zone) if found is not None and foreseen else ""
    return BenchView(
        title=harmless(day.plan.session.name),
        corner=_corner(len(lasting), len(shelved), foreseen, late, f"{here:%H:%M}"),
        foreseen=foreseen,
        alarms=_alarm_lines(wanting, now),
        standing=_alarm_lines([alarm for alarm in lasting if not alarm.is_shelved(now.utc)], now),
        next_up=tuple(items),
        rows=rows,
        closed=day.closed is not None,
        day_flags=sum(flag.resolved is None for flag in flags.get("", [])),
    )


def fit_text(found: Forecast, zone: str | None) -> str:
    """Return when hands are off and whether the day fits, as short as the top line needs it."""
    if found.nothing_ends:
        return "no batch can be finished"
    if not found.steps:
        return ""
    heat = found.last_heat_text(lambda moment: clock_near(moment, zone, found.at.utc)) if found.counts_heat else ""
    if heat:
        return heat
    finish = f"finish {clock_near(found.hands_off, zone, found.at.utc)}"
    if found.fits:
        return f"{finish} · fits"
    return f"{finish} · {found.rinsed} of {found.of} by {clock_near(found.stop, zone, found.at.utc)}"


def late_text(found: Forecast, zone: str | None) -> str:
    """Return how late the day may become, for where there is room: "9 days in 10 by 03:29"."""
    if not found.steps or found.nothing_ends or found.counts_heat or found.hands_off_late <= found.hands_off:
        return ""
    return f"9 days in 10 by {clock_near(found.hands_off_late, zone, found.at.utc)}"


def _alarm_count(count: int, shelved: int) -> str:
    words = counted(count, "alarm") if count else ""
    return f"{words}, {shelved} snoozed" if shelved else words


def _corner(count: int, shelved: int, foreseen: str, late: str, clock: str) -> tuple[str, ...]:
    words = _alarm_count(count, shelved)
    short = f"{count}!" if count else ""
    ways = ((words, foreseen, late, clock), (words, foreseen, clock), (words, foreseen.split(" · ")[0], clock))
    said = ["   ".join(part for part in parts if part) for parts in (*ways, (words, clock))]
    return (*said, f"{short} {clock}".strip(), short or clock)


def _alarm_lines(alarms: list[Alarm], now: Now) -> tuple[AlarmLine, ...]:
    """Return a line for each thing that alarms, however often it came and went; then one for all that are past."""
    things: dict[tuple[str, AlarmKind], list[Alarm]] = {}
    for alarm in alarms:
        things.setdefault((alarm.about, alarm.kind), []).append(alarm)
    lines = []
    past: list[Alarm] = []
    for same in things.values():
        shown = next((alarm for alarm in same if alarm.until is None), None)
        if shown is None:
            past += same
            continue
        often = f", {len(same)} times" if len(same) > 1 else ""
        ids = tuple(name for alarm in same for name in alarm.ids)
        lines.append(AlarmLine(ids, _alarm_line(shown, now) + often, shown.text))
    if past:
        counts = Counter(alarm.text.split(":")[0] for alarm in past)
        texts = ", ".join(f"{text}, {count} times" if count > 1 else text for text, count in counts.items())
        ids = tuple(name for alarm in past for name in alarm.ids)
        lines.append(AlarmLine(ids, f"past, not silenced: {texts}", f"{len(past)} past, not silenced"))
    return tuple(lines)


def _alarm_line(alarm: Alarm, now: Now) -> str:
    stood_min = (now.utc - alarm.since).total_seconds() / 60
    return f"{alarm.text}, alarm for {length_text(stood_min)}"


def row(day: Day, batch: BatchRecord, at: AtBatch, now: Now, flags: Sequence[Flag], *, is_alarmed: bool) -> BatchRow:
    """Return a batch's line at ``now``, with what it waits for then; ``is_alarmed`` while an alarm of it lasts."""
    step, clock = at.step, at.clock
    opened = [flag for flag in flags if flag.resolved is None]
    event = day.event(batch.last_id) if batch.last_id else None
    last = ""
    urgency = of_clock(clock, batch, is_alarmed)
    if event is not None:
        event = current(day, event)
        last = f"{clock_near(event.at, day.plan.session.zone, now.utc)} {event_text(event)}"
    tag, colourway, base, where, last = all_harmless(
        batch.tag, batch.colourway.name, batch.base.name, batch.unit or "", last
    )
    return BatchRow(
        no=batch.no,
        tag=tag,
        swatch=swatch_cells(batch),
        colourway=colourway,
        base=base,
        pieces=str(batch.skeins),
        state=_state(batch, clock),
        where=where,
        time=time_text(clock, urgency),
        then=_then(step),
        next_step=step.text if step is not None else "",
        warms_up=clock is not None and clock.what is ClockKind.WARM_UP,
        flags=f"⚑{len(opened)}" if opened else "",
        flag_words=", ".join(RULES[flag.rule].short for flag in opened),
        last=last,
        urgency=urgency,
        ended=not batch.is_live,
        folds=urgency is Urgency.CALM and (batch.state in QUIET or not batch.is_live),
    )


def swatch_cells(batch: BatchRecord) -> tuple[str, ...]:
    """Return the sections' colours in their order, each as often as its share; the last layer's where it has any."""
    colours = list(batch.colourway.layers[0].swatches)
    if len(batch.colourway.layers) > 1:
        colours += [(s.swatch, 25.0) for s in batch.colourway.layers[-1].sections if s.swatch]
    total = sum(share for _, share in colours) or 1.0
    cells: list[str] = []
    for colour, share in colours:
        cells += [str(colour)] * max(1, round(4 * share / total))
    return tuple(cells[:4])


def _state(batch: BatchRecord, clock: Clock | None) -> str:
    word = state_word(batch)
    if batch.state == State.FIX and clock is not None:
        word = {
            ClockKind.WARM_UP: "warming",
            ClockKind.HEAT: _heating(batch),
            ClockKind.REST: "resting",
            ClockKind.WAIT: "painted",
        }.get(clock.what, "fixed")
    # "microwave 1" would be a unit.
    layered = batch.state in (State.PAINT, State.FIX, State.COOL) and word != HEATING[HeatKind.MICROWAVE]
    if layered and len(batch.colourway.layers) > 1:
        word += f" {batch.layer}"
    if batch.state == State.DONE and batch.outcome is not None and batch.outcome is not Outcome.FIRST:
        word = batch.outcome.value
    return word


HEATING = {HeatKind.STEAM: "steaming", HeatKind.SIMMER: "simmering", HeatKind.MICROWAVE: "microwave"}


def _heating(batch: BatchRecord) -> str:
    """Return the word for the heat that a batch has on."""
    if not batch.heats:
        return "heating"
    heat = batch.heats[-1]
    return HEATING.get(batch.layer_of(heat.layer).heat_of(heat.heat_no).how, "heating")


QUIET = (State.WAITING, State.DRY, State.SET_ASIDE)
"""states in which a batch wants nothing until somebody begins, or tomorrow"""


def time_text(clock: Clock | None, urgency: Urgency) -> str:
    """Return the time that matters: "12 min left", "40 s left", "ready 20 min", "3 min over", "for 20 min"."""
    if clock is None:
        return ""
    if clock.left_s is None:
        return f"for {_length(clock.elapsed_s)}"
    if clock.left_s > 0:
        return f"{int(clock.left_s)} s left" if clock.left_s < 60 else f"{_length(clock.left_s)} left"
    if urgency >= Urgency.OVER:
        return f"{_length(clock.left_s)} over"
    return f"ready {_length(clock.left_s)}" if whole_min(clock.left_s) else "ready now"


def _length(length_s: float) -> str:
    """Return a length as short as a column needs it: "12 min", "1 h 54", "15 h", "4 d"."""
    hours = whole_min(length_s) // 60
    if hours < 10:
        return length_text(whole_min(length_s))
    return f"{hours} h" if hours < 100 else f"{hours // 24} d"


def shown_for_s(clock: Clock | None) -> float:
    """Return for how many seconds what `time_text` says of a clock stays true: until its minute changes."""
    if clock is None:
        return float("inf")
    if clock.left_s is not None and 0 < clock.left_s < 60:
        return 0.5
    if clock.left_s is not None and clock.left_s > 0:
        return into_min_s(clock.left_s)
    return 60 - into_min_s(clock.elapsed_s if clock.left_s is None else clock.left_s)


_SHORT_HEAT = {HeatKind.MICROWAVE: "micro"}


def _then(step: NextStep | None) -> str:
    if step is None:
        return ""
    if step.to == State.PAINT:
        return step.text.split(",")[0]
    if step.edge == HeatEdge.END:
        return "heat off"
    if step.edge == HeatEdge.START:
        heat = step.text.removeprefix("start ").split(" ")[0]
        return _SHORT_HEAT.get(HeatKind(heat), heat)
    return STATE_WORDS.get(step.to, step.to.value) if step.to is not None else ""
