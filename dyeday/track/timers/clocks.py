"""The clocks of a batch at one moment: what is running, what is due, and since when.

A clock that reaches its time makes a prompt. Which of them can turn into an alarm is `alarm_states`.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from dyeday.quick_dataclass import dataclass
from dyeday.terms import ClockKind, HeatKind, State
from dyeday.track.day.batch_record import BatchRecord, Heat
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import (
    at_heat_min,
    heat_wanted_min,
    heat_was_had,
    heats_of,
    last_heat_end,
    soak_needed_min,
    soaked_min,
)
from dyeday.track.day.tank_time import tanks
from dyeday.track.day.waiting_time import wait_left_min, waiting_text, waits
from dyeday.track.events.event_text import placed, whereabouts
from dyeday.track.timestamp import Now, elapsed_s


@dataclass(frozen=True, slots=True)
class Clock:
    """One running clock. ``left_s`` is None for a clock that only shows how long; negative when over time."""

    id: str
    batch: str | None
    what: ClockKind
    elapsed_s: float
    left_s: float | None = None
    unit: str | None = None
    text: str = ""
    """what is due when it reaches its time, as a sentence for the screen"""

    @property
    def is_due(self) -> bool:
        """Whether its time is over; never for a clock that only counts up."""
        return self.left_s is not None and self.left_s <= 0

    @property
    def harms(self) -> bool:
        """Whether more time than it has does harm; a soak, a rest, a cooling or a drying may go on."""
        return self.what in (ClockKind.HEAT, ClockKind.TANK, ClockKind.WAIT)

    @property
    def calls_hands(self) -> bool:
        """Whether it has reached its time and hands should come: what hangs to dry may hang on."""
        return self.is_due and self.what != ClockKind.DRY

    def due_at(self, now: Now) -> datetime | None:
        """Return the instant it reaches or reached its time, by the wall clock as it stands now."""
        return None if self.left_s is None else now.later(self.left_s).utc


def clock_of(day: Day, batch: BatchRecord, now: Now) -> Clock | None:
    """Return the clock that matters most for a batch now, or None where it has none."""
    return next(iter(clocks_of(day, batch, now)), None)


def clocks_of(day: Day, batch: BatchRecord, now: Now) -> Iterator[Clock]:
    """Yield every clock of a batch, the one that matters most first."""
    now = day.steady(now)
    since = batch.state_since
    if since is None or not batch.is_live:
        return
    so_far = elapsed_s(since, now)
    no, layer, state = batch.no, batch.layer, batch.state
    stem = f"{batch.no_at(since.utc)}.{len(batch.stays)}"
    if state == State.SOAK:
        left = soak_needed_min(batch, day.plan) * 60 - soaked_min(batch, now, layer) * 60
        yield Clock(
            f"soak-{stem}", no, ClockKind.SOAK, so_far, left, batch.unit, f"soaked: {batch.current_layer.word}"
        )
    elif state == State.FIX:
        yield from _fix_clocks(day, batch, now)
    elif state == State.COOL:
        start = last_heat_end(batch) or since
        left = batch.current_layer.cool_min * 60 - elapsed_s(start, now)
        yield Clock(
            f"cool-{stem}", no, ClockKind.COOL, elapsed_s(start, now), left, batch.unit, f"cool: {_after_cool(batch)}"
        )
    elif state == State.DRY:
        left = batch.colourway.dry_h * 3600 - so_far
        yield Clock(f"dry-{stem}", no, ClockKind.DRY, so_far, left, batch.unit, "look whether it is dry")
    elif state == State.SET_ASIDE:
        yield Clock(f"aside-{stem}", no, ClockKind.SINCE, so_far, None, batch.unit)
        yield from _wait_clock(day, batch, now)
    else:
        yield Clock(f"{state.value}-{stem}", no, ClockKind.SINCE, so_far, None, batch.unit)


def _after_cool(batch: BatchRecord) -> str:
    if batch.is_last_layer:
        return "rinse"
    following = batch.colourway.layers[batch.layer]
    return "soak" if following.new_soak else following.word


def _fix_clocks(day: Day, batch: BatchRecord, now: Now) -> Iterator[Clock]:
    heat = batch.open_heat
    if heat is not None:
        yield _heat_clock(day, batch, heat, now)
        return
    resting = _rest_clock(day, batch, now)
    if resting is not None:
        yield resting
    yield from _wait_clock(day, batch, now)
    if resting is None:
        # After heat it has been so since the heat ended, not since the batch came here.
        ended = [heat.end for heat in heats_of(batch, batch.layer) if heat.end is not None]
        since = ended[-1] if ended else batch.state_since
        assert since is not None  # noqa: S101 - a batch in fix has a stay
        done = next_heat_no(day, batch, now) is None
        text = "fixed: cool it" if done else ""
        yield Clock(
            f"fix-{batch.no}.{len(batch.stays)}",
            batch.no,
            ClockKind.SINCE,
            elapsed_s(since, now),
            None,
            batch.unit,
            text,
        )


HEATING = {HeatKind.STEAM: "steaming", HeatKind.SIMMER: "simmering"}


def doing_text(day: Day, batch: BatchRecord, now: Now) -> str:
    """Return what a batch is doing and where: "steaming in steamer 2", "painted, wrapped, safe until Sat 20:25"."""
    clock = clock_of(day, batch, now)
    if batch.state is not State.FIX or clock is None or clock.what is ClockKind.WAIT:
        return waiting_text(day, batch, now) or whereabouts(batch)
    heat = batch.open_heat
    if clock.what is ClockKind.REST:
        word = "resting"
    elif heat is None:
        word = "waiting for heat" if next_heat_no(day, batch, now) is not None else "fixed"
    elif clock.what is ClockKind.WARM_UP:
        word = "warming up"
    else:
        word = HEATING.get(batch.layer_of(heat.layer).heat_of(heat.heat_no).how, "heating")
    return f"{word}{placed(batch.unit, hangs=False)}"


def heat_id(batch: BatchRecord, heat: Heat) -> str:
    """Return the id of a heat's clock and of its alarm; it stays the same whatever is recorded later.

    The parts of a split batch share the heat that began before it, and so its id.
    """
    return f"heat-{batch.no_at(heat.start.utc)}-{heat.layer}.{heat.heat_no}-{heat.start.utc:%H%M%S}"


def _heat_clock(day: Day, batch: BatchRecord, heat: Heat, now: Now) -> Clock:
    planned = batch.layer_of(heat.layer).heat_of(heat.heat_no)
    warming = heat.reached is None and elapsed_s(heat.start, now) < heat.warm_up_min * 60
    so_far = at_heat_min(heat, now) * 60
    if warming:
        so_far = -(heat.warm_up_min * 60 - elapsed_s(heat.start, now))
    left = heat_wanted_min(day.plan, batch, heat) * 60 - so_far
    where = f" {heat.unit}" if heat.unit else ""
    own_end = heat.own_end is not None
    text = f"{heat.unit or planned.how.value} done" if own_end else f"{planned.how.value}{where} off"
    return Clock(
        heat_id(batch, heat),
        batch.no,
        ClockKind.WARM_UP if warming else ClockKind.HEAT,
        max(0.0, so_far),
        left,
        heat.unit,
        text,
    )


def next_heat_no(day: Day, batch: BatchRecord, now: Now) -> int | None:
    """Return the number of the next heat of the layer that has not had its minutes, or None when all have.

    A heat is left out once a later one began.
    """
    now = day.steady(now)
    begun = max((heat.heat_no for heat in heats_of(batch, batch.layer, until=now)), default=1)
    heat_nos = range(begun, len(batch.current_layer.heats) + 1)
    return next((n for n in heat_nos if not heat_was_had(day.plan, batch, batch.layer, n, now)), None)


def _rest_clock(day: Day, batch: BatchRecord, now: Now) -> Clock | None:
    heats = heats_of(batch, batch.layer)
    following = next_heat_no(day, batch, now)
    if not heats or following is None or heats[-1].end is None:
        return None
    rest = batch.current_layer.rest_before(following) if following != heats[-1].heat_no else 0.0
    if rest <= 0:
        return None
    so_far = elapsed_s(heats[-1].end, now)
    name = f"rest-{batch.no_at(heats[-1].end.utc)}-{batch.layer}.{following}-{heats[-1].end.utc:%H%M%S}"
    heat = batch.current_layer.heat_of(following)
    return Clock(
        name,
        batch.no,
        ClockKind.REST,
        so_far,
        rest * 60 - so_far,
        batch.unit,
        f"rested: {heat.how.value} {heat.minutes:g} min",
    )


def wait_id(batch: BatchRecord, since: Now) -> str:
    """Return the id of the clock, and so the alarm, of painted yarn that waits ``since`` then; as `heat_id`."""
    return f"wait-{batch.no_at(since.utc)}-{since.utc:%H%M%S}"


def _wait_clock(day: Day, batch: BatchRecord, now: Now) -> Iterator[Clock]:
    wait = next((w for w in waits(batch) if w.until is None), None)
    if wait is not None:
        left = wait_left_min(batch, wait, day.plan, now) * 60
        text = "painted yarn is drying out: heat or cover it"
        yield Clock(
            wait_id(batch, wait.since), batch.no, ClockKind.WAIT, elapsed_s(wait.since, now), left, batch.unit, text
        )


def tank_clocks(day: Day, now: Now) -> Iterator[Clock]:
    """Yield a clock for every unit with a tank that is running: the minutes until it is down to its reserve."""
    for unit, lasts_min, fills in tanks(day, now):
        fill = fills[-1]
        if fill.running:
            left_min = lasts_min - fill.ran_min
            name, text = f"tank-{unit}-{fill.no}", f"fill {unit}: its tank is low"
            yield Clock(name, None, ClockKind.TANK, fill.ran_min * 60, left_min * 60, unit, text)


def all_clocks(day: Day, now: Now) -> list[Clock]:
    """Return every clock of the day, batch by batch, then the tanks."""
    clocks = [clock for batch in day.live for clock in clocks_of(day, batch, now)]
    return [*clocks, *tank_clocks(day, now)]


def due(day: Day, now: Now) -> list[Clock]:
    """Return the clocks that have reached their time, longest due first."""
    return sorted((clock for clock in all_clocks(day, now) if clock.is_due), key=lambda c: c.left_s or 0.0)
