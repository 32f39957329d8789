"""The timers of a batch at one moment: what is running, what is due, and since when.

A timer that reaches its time makes a prompt. Which of them can turn into an alarm is `alarm_states`.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from dyeday.quick_dataclass import dataclass
from dyeday.terms import HeatKind, State, TimerKind
from dyeday.track.day.batch_record import BatchRecord, Heat
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import (
    at_heat_min,
    heat_due_min,
    heat_was_had,
    heats_of,
    last_heat_end,
    soak_needed_min,
    soaked_min,
    unit_words,
    whereabouts,
)
from dyeday.track.day.tank_time import tanks
from dyeday.track.day.transitions import heat_timed_out
from dyeday.track.day.waiting_time import open_wait, wait_left_min, waiting_text
from dyeday.track.timestamp import Moment, elapsed_s


@dataclass(frozen=True, slots=True)
class Timer:
    """One running timer. ``left_s`` is None for a timer that only shows how long; negative when over time."""

    id: str
    batch: str | None
    what: TimerKind
    elapsed_s: float
    left_s: float | None = None
    unit: str | None = None
    text: str = ""
    """what is due when it reaches its time, as a sentence for the screen"""
    ends_itself: bool = False
    """whether it times heat that its unit switches off"""

    @property
    def is_due(self) -> bool:
        """Whether its time is over; never for a timer that only counts up."""
        return self.left_s is not None and self.left_s <= 0

    @property
    def harms(self) -> bool:
        """Whether more time does harm; not for a soak, a rest, a cooling or a drying."""
        return self.what in (TimerKind.HEAT, TimerKind.TANK, TimerKind.WAIT)

    @property
    def is_left_to_hands(self) -> bool:
        """Whether it must be attended to: heat also while it warms up, unless its unit switches itself off."""
        return (self.harms or self.what is TimerKind.WARM_UP) and not self.ends_itself

    @property
    def calls_hands(self) -> bool:
        """Whether it has reached its time and calls for hands: yarn on the pegs may stay there."""
        return self.is_due and self.what != TimerKind.DRY

    def due_at(self, now: Moment) -> datetime | None:
        """Return the instant it reaches or reached its time, by the wall clock as it stands now."""
        return None if self.left_s is None else now.later(self.left_s).utc


def timer_of(day: Day, batch: BatchRecord, now: Moment) -> Timer | None:
    """Return the timer that matters most for a batch now, or None where it has none."""
    return next(iter(timers_of(day, batch, now)), None)


def _timer(
    batch: BatchRecord, timer_id: str, what: TimerKind, elapsed_s: float, left_s: float | None = None, text: str = ""
) -> Timer:
    return Timer(timer_id, batch.no, what, elapsed_s, left_s, batch.unit, text)


def timers_of(day: Day, batch: BatchRecord, now: Moment) -> Iterator[Timer]:
    """Yield every timer of a batch, the one that matters most first."""
    now = day.on_day_clock(now)
    since, state = batch.state_since, batch.state
    if since is None or not batch.is_unfinished:
        return
    so_far_s = elapsed_s(since, now)
    stem = f"{batch.no_at(since.utc)}.{len(batch.stays)}"
    if state == State.SOAK:
        left_s = (soak_needed_min(batch, day.plan) - soaked_min(batch, now, batch.layer)) * 60
        text = f"soaked: {batch.current_layer.word}"
        yield _timer(batch, f"soak-{stem}", TimerKind.SOAK, so_far_s, left_s, text)
    elif state == State.FIX:
        yield from _fix_timers(day, batch, now)
    elif state == State.COOL:
        so_far_s = elapsed_s(last_heat_end(batch) or since, now)
        left_s = batch.current_layer.cool_min * 60 - so_far_s
        yield _timer(batch, f"cool-{stem}", TimerKind.COOL, so_far_s, left_s, f"cool: {batch.after_cooling[1]}")
    elif state == State.DRY:
        left_s = batch.colourway.dry_h * 3600 - so_far_s
        yield _timer(batch, f"dry-{stem}", TimerKind.DRY, so_far_s, left_s, "look whether it is dry")
    elif state in (State.PAINT, State.SET_ASIDE):
        yield from _wait_timer(day, batch, now)
        name = "aside" if state == State.SET_ASIDE else state.value
        yield _timer(batch, f"{name}-{stem}", TimerKind.SINCE, so_far_s)
    else:
        yield _timer(batch, f"{state.value}-{stem}", TimerKind.SINCE, so_far_s)


def _fix_timers(day: Day, batch: BatchRecord, now: Moment) -> Iterator[Timer]:
    heat = batch.open_heat
    if heat is not None:
        yield _heat_timer(day, batch, heat, now)
        return
    resting = _rest_timer(day, batch, now)
    if resting is not None:
        yield resting
    yield from _wait_timer(day, batch, now)
    if resting is None:
        # After heat it has been so since the heat ended, not since the batch came here.
        ended = [heat.end for heat in heats_of(batch, batch.layer) if heat.end is not None]
        since = ended[-1] if ended else batch.state_since
        assert since is not None  # noqa: S101 - a batch in fix has a stay
        text = "fixed: cool it" if next_heat_no(day, batch, now) is None else ""
        timer_id = f"fix-{batch.no}.{len(batch.stays)}"
        yield _timer(batch, timer_id, TimerKind.SINCE, elapsed_s(since, now), text=text)


HEATING = {HeatKind.STEAM: "steaming", HeatKind.SIMMER: "simmering"}


def doing_text(day: Day, batch: BatchRecord, now: Moment) -> str:
    """Return what a batch is doing and where: "steaming in steamer 2", "painted, wrapped, safe until Sat 20:25"."""
    batch = heat_timed_out(batch, now)
    timer = timer_of(day, batch, now)
    if batch.state is not State.FIX or timer is None or timer.what is TimerKind.WAIT:
        return waiting_text(day, batch, now) or whereabouts(batch)
    heat = batch.open_heat
    if timer.what is TimerKind.REST:
        word = "resting"
    elif heat is None:
        word = "waiting for heat" if next_heat_no(day, batch, now) is not None else "fixed"
    elif timer.what is TimerKind.WARM_UP:
        word = "warming up"
    else:
        word = HEATING.get(batch.planned_heat(heat).how, "heating")
    return f"{word}{unit_words(batch.unit, hangs=False)}"


def heat_id(batch: BatchRecord, heat: Heat) -> str:
    """Return the id of a heat's timer and of its alarm; it stays the same whatever is recorded later.

    The parts of a split batch share the heat that began before it, and so its id.
    """
    return f"heat-{batch.no_at(heat.start.utc)}-{heat.layer}.{heat.heat_no}-{heat.start.utc:%H%M%S}"


def _heat_timer(day: Day, batch: BatchRecord, heat: Heat, now: Moment) -> Timer:
    planned = batch.planned_heat(heat)
    to_warm_s = heat.warm_up_min * 60 - elapsed_s(heat.start, now) if heat.reached is None else 0.0
    so_far_s = -to_warm_s if to_warm_s > 0 else at_heat_min(heat, now) * 60
    over_s = elapsed_s(heat.own_end, now) if heat.own_end is not None else 0.0
    left_s = heat_due_min(day.plan, batch, heat) * 60 - so_far_s - over_s
    how, unit = planned.how.value, heat.unit
    ends_itself, what = heat.own_end is not None, TimerKind.WARM_UP if to_warm_s > 0 else TimerKind.HEAT
    text = f"{unit or how} done" if ends_itself else f"{how} {unit} off" if unit else f"{how} off"
    return Timer(heat_id(batch, heat), batch.no, what, max(0.0, so_far_s), left_s, unit, text, ends_itself)


def next_heat_no(day: Day, batch: BatchRecord, now: Moment) -> int | None:
    """Return the number of the next heat of the layer that has not had its minutes, or None when all have.

    A heat is left out once a later one began.
    """
    now = day.on_day_clock(now)
    begun = max((heat.heat_no for heat in heats_of(batch, batch.layer, until=now)), default=1)
    heat_nos = range(begun, len(batch.current_layer.heats) + 1)
    return next((n for n in heat_nos if not heat_was_had(day.plan, batch, batch.layer, n, now)), None)


def _rest_timer(day: Day, batch: BatchRecord, now: Moment) -> Timer | None:
    last = next(reversed(heats_of(batch, batch.layer)), None)
    heat_no = next_heat_no(day, batch, now)
    if last is None or last.end is None or heat_no in (None, last.heat_no):
        return None
    rest_min = batch.current_layer.rest_before(heat_no)
    if rest_min <= 0:
        return None
    so_far_s = elapsed_s(last.end, now)
    timer_id = f"rest-{batch.no_at(last.end.utc)}-{batch.layer}.{heat_no}-{last.end.utc:%H%M%S}"
    heat = batch.current_layer.heat_of(heat_no)
    text = f"rested: {heat.how.value} {heat.minutes:g} min"
    return _timer(batch, timer_id, TimerKind.REST, so_far_s, rest_min * 60 - so_far_s, text)


def wait_id(batch: BatchRecord, since: Moment) -> str:
    """Return the id of the timer, and so the alarm, of painted yarn that waits ``since`` then; as `heat_id`."""
    return f"wait-{batch.no_at(since.utc)}-{since.utc:%H%M%S}"


def _wait_timer(day: Day, batch: BatchRecord, now: Moment) -> Iterator[Timer]:
    wait = open_wait(batch, now)
    if wait is not None:
        left_s = wait_left_min(batch, wait, day.plan, now) * 60
        text = "painted yarn is drying out: heat or cover it"
        yield _timer(batch, wait_id(batch, wait.since), TimerKind.WAIT, elapsed_s(wait.since, now), left_s, text)


def tank_timers(day: Day, now: Moment) -> Iterator[Timer]:
    """Yield a timer for every unit with a tank that is running: the minutes until it is down to its reserve."""
    for unit, fills in tanks(day, now):
        fill = fills[-1]
        if fill.running:
            timer_id, text = f"tank-{unit}-{fill.fill_no}", f"{unit} off: its tank is low"
            left_s = (fill.low_after_min - fill.run_min) * 60
            yield Timer(timer_id, None, TimerKind.TANK, fill.run_min * 60, left_s, unit, text)


def all_timers(day: Day, now: Moment) -> list[Timer]:
    """Return every timer of the day, batch by batch, then the tanks."""
    timers = [timer for batch in day.unsplit for timer in timers_of(day, batch, now)]
    return [*timers, *tank_timers(day, now)]


def due(day: Day, now: Moment) -> list[Timer]:
    """Return the timers that have reached their time, longest due first."""
    return sorted((timer for timer in all_timers(day, now) if timer.is_due), key=lambda c: c.left_s or 0.0)
