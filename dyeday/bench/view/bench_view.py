"""The main screen as plain values, computed from the day and now: what each line says, nothing of how it looks."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from dyeday.ahead.advising.next_step import Step, next_step
from dyeday.ahead.advising.next_up import NextUp
from dyeday.paper.local_time import clock_near, local
from dyeday.terms import HEAT_SHORT, AlarmKind, ClockKind, HeatKind, Outcome, RunEdge, State
from dyeday.text import counted, harmless
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.day.fold import current
from dyeday.track.events.event_text import STATE_WORDS, event_text, state_word
from dyeday.track.flags import RULES, Flag
from dyeday.track.timers.alarm_states import Alarm
from dyeday.track.timers.clocks import Clock
from dyeday.track.timestamp import Now, into_min_s, length_text, short_min

if TYPE_CHECKING:
    from dyeday.ahead.forecast import Forecast


@dataclass(frozen=True, slots=True)
class Row:
    """One batch's line. ``urgency``: 0 nothing, 1 due, 2 alarm; ``over``: hands are done with it."""

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
    flags: str
    flag_words: str
    last: str
    urgency: int
    over: bool


@dataclass(frozen=True, slots=True)
class AlarmLine:
    """One line of alarms: those that came and went of one thing are one. ``ids`` are all of them."""

    ids: tuple[str, ...]
    text: str


@dataclass(frozen=True, slots=True)
class Picture:
    """The main screen at one moment."""

    title: str
    corner: tuple[str, ...]
    """alarms, hands-off time and clock, shorter and shorter"""
    alarms: tuple[AlarmLine, ...]
    """that want acknowledging"""
    standing: tuple[AlarmLine, ...]
    """that stand and are not shelved, acknowledged or not"""
    next_up: tuple[NextUp, ...]
    rows: tuple[Row, ...]
    closed: bool
    day_doubts: int
    """open doubts about the whole day"""


def picture(
    day: Day,
    now: Now,
    flags: dict[str, list[Flag]],
    stand: list[Alarm],
    items: list[NextUp],
    rows: tuple[Row, ...],
    found: Forecast | None,
) -> Picture:
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
    return Picture(
        title=harmless(day.plan.session.name),
        corner=_corner(len(lasting), len(shelved), foreseen, f"{here:%H:%M}"),
        alarms=_alarm_lines(wanting, now),
        standing=_alarm_lines([alarm for alarm in lasting if not alarm.is_shelved(now.utc)], now),
        next_up=tuple(items),
        rows=rows,
        closed=day.closed is not None,
        day_doubts=sum(flag.resolved is None for flag in flags.get("", [])),
    )


def fit_text(found: Forecast, zone: str | None) -> str:
    """Return when hands are off and whether the day fits, as short as the top line needs it."""
    if found.nothing_ends:
        return "no batch can be finished"
    if not found.steps:
        return ""
    if found.counts_heat and found.last_heat is not None:
        last_in, last_off = (clock_near(moment, zone, found.at.utc) for moment in found.last_heat)
        return f"last load in {last_in}, last heat off {last_off}"
    off = f"hands off {clock_near(found.hands_off, zone, found.at.utc)}"
    if found.fits:
        return f"{off}, fits"
    return f"{off}, {found.rinsed} of {found.of} by {clock_near(found.stop, zone, found.at.utc)}"


def _alarm_count(count: int, shelved: int) -> str:
    words = "no alarm" if count == 0 else counted(count, "alarm")
    return f"{words}, {shelved} shelved" if shelved else words


def _corner(count: int, shelved: int, foreseen: str, clock: str) -> tuple[str, ...]:
    words = _alarm_count(count, shelved)
    short = f"{count}!" if count else ""
    most = "   ".join(part for part in (words, foreseen, clock) if part)
    less = "   ".join(part for part in (words, foreseen.split(",")[0], clock) if part)
    return (most, less, f"{words}   {clock}", f"{short} {clock}".strip(), short or clock)


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
        lines.append(AlarmLine(tuple(name for alarm in same for name in alarm.ids), _alarm_line(shown, now) + often))
    if past:
        counts = Counter(alarm.text.split(":")[0] for alarm in past)
        texts = ", ".join(f"{text}, {count} times" if count > 1 else text for text, count in counts.items())
        lines.append(AlarmLine(tuple(name for alarm in past for name in alarm.ids), f"past, not silenced: {texts}"))
    return tuple(lines)


def _alarm_line(alarm: Alarm, now: Now) -> str:
    stood_min = (now.utc - alarm.since).total_seconds() / 60
    return f"{alarm.text}, alarm for {length_text(stood_min)}"


def row(
    day: Day, batch: BatchRecord, clock: Clock | None, now: Now, flags: Sequence[Flag], stand: Sequence[Alarm]
) -> Row:
    """Return a batch's line at ``now``; ``clock`` is the one that matters most for it, ``stand`` the day's alarms."""
    mine = [alarm for alarm in stand if batch.no in alarm.batches and alarm.until is None]
    opened = [flag for flag in flags if flag.resolved is None]
    step = next_step(day, batch, now) if batch.is_live else None
    event = day.event(batch.last_id) if batch.last_id else None
    last = ""
    if event is not None:
        event = current(day, event)
        last = f"{clock_near(event.at, day.plan.session.zone, now.utc)} {event_text(event)}"
    return Row(
        no=batch.no,
        tag=harmless(batch.tag),
        swatch=_swatch(batch),
        colourway=harmless(batch.colourway.name),
        base=harmless(batch.base.name),
        pieces=str(batch.skeins),
        state=_state(batch, clock),
        where=harmless(batch.unit or ""),
        time=time_text(clock),
        then=_then(step),
        flags=f"? {len(opened)}" if opened else "",
        flag_words=", ".join(RULES[flag.rule].short for flag in opened),
        last=harmless(last),
        urgency=2 if mine else (1 if clock is not None and clock.calls_hands else 0),
        over=not batch.is_live,
    )


def _swatch(batch: BatchRecord) -> tuple[str, ...]:
    """Return the sections' colours in their order, each as often as its share; the last layer's where it has any."""
    colours = [(s.swatch, s.share_pct) for s in batch.colourway.layers[0].sections if s.swatch]
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
            ClockKind.HEAT: "fixing",
            ClockKind.REST: "resting",
            ClockKind.WAIT: "painted",
        }.get(clock.what, "fixed")
    if batch.state in (State.PAINT, State.FIX, State.COOL) and len(batch.colourway.layers) > 1:
        word += f" {batch.layer}"
    if batch.state == State.DONE and batch.outcome is not None and batch.outcome is not Outcome.FIRST:
        word = batch.outcome.value
    return word


def time_text(clock: Clock | None) -> str:
    """Return the time that matters: "left 12", "over 3", "for 20" minutes; seconds in a clock's last minute."""
    if clock is None:
        return ""
    if clock.left_s is None:
        return f"for {_short(clock.elapsed_s)}"
    if clock.left_s > 0:
        return f"left {_short(clock.left_s, last_minute=True)}"
    return f"over {_short(-clock.left_s)}"


def shown_for_s(clock: Clock | None) -> float:
    """Return for how many seconds what `time_text` says of a clock stays true: until its minute changes."""
    if clock is None:
        return float("inf")
    if clock.left_s is not None and 0 < clock.left_s < 60:
        return 0.5
    if clock.left_s is not None and clock.left_s > 0:
        return into_min_s(clock.left_s)
    return 60 - into_min_s(clock.elapsed_s if clock.left_s is None else clock.left_s)


def _short(length_s: float, *, last_minute: bool = False) -> str:
    whole = int(length_s)
    if last_minute and whole < 60:
        return f"{whole}s"
    return short_min(length_s)


def _then(step: Step | None) -> str:
    if step is None:
        return ""
    if step.run == RunEdge.END:
        return "heat off"
    if step.run == RunEdge.START:
        heat = step.text.removeprefix("start ").split(" ")[0]
        return HEAT_SHORT.get(HeatKind(heat), heat)
    if step.to == State.PAINT:
        return step.text.split(",")[0]
    return STATE_WORDS.get(step.to, step.to.value) if step.to is not None else ""
