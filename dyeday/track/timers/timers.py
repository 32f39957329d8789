"""The timers of batches and tanks at one moment."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from typing import NamedTuple

from dyeday.craft.yarn.heat_into_yarn import tank_lasts_min
from dyeday.plan.model import Kit, Plan
from dyeday.quick_dataclass import dataclass
from dyeday.terms import HeatKind, State, TimerKind
from dyeday.track.day import progress
from dyeday.track.day.batch_record import BatchRecord, Heat
from dyeday.track.day.day_state import Day
from dyeday.track.day.room_air import dry_min
from dyeday.track.day.transitions import heat_timed_out
from dyeday.track.day.waiting_time import open_wait, wait_left_min, waiting_text
from dyeday.track.timestamp import SECOND_IN_MIN, Moment, elapsed_s, merged, minutes, on_wall

HEATING = {HeatKind.STEAM: "steaming", HeatKind.SIMMER: "simmering"}
OFF_WITHIN_MIN = 5
"""heat that its unit does not end is switched off within this of its end; common practice, no source"""


@dataclass(frozen=True, slots=True)
class Timer:
    """One running timer. ``left_s`` is negative past its time; None for a timer that only counts up."""

    id: str
    batch: str | None
    kind: TimerKind
    elapsed_s: float
    left_s: float | None
    unit: str | None
    text: str
    """what is due at its time, for the screen"""
    ends_itself: bool = False
    """whether it times heat that its unit switches off"""

    @property
    def is_due(self) -> bool:
        """Whether it has reached its time."""
        return self.left_s is not None and self.left_s <= 0

    @property
    def harms(self) -> bool:
        """Whether time past its end does harm."""
        return self.kind in (TimerKind.HEAT, TimerKind.TANK, TimerKind.WAIT)

    @property
    def is_left_to_hands(self) -> bool:
        """Whether hands must end it: it harms or warms up to heat, and its unit does not switch itself off."""
        return (self.harms or self.kind is TimerKind.WARM_UP) and not self.ends_itself

    @property
    def calls_hands(self) -> bool:
        """Whether it has reached its time and work follows; dry yarn may stay on the pegs."""
        return self.is_due and self.kind != TimerKind.DRY

    def due_at(self, now: Moment) -> datetime | None:
        """Return when it reaches or reached its time, by the wall clock as it stands now; None without one."""
        return None if self.left_s is None else now.later(self.left_s).utc


def timer_of(day: Day, batch: BatchRecord, now: Moment) -> Timer | None:
    """Return the timer that matters most for a batch; None without. Heat that its unit ended is over."""
    return next(timers_of(day, heat_timed_out(batch, now), now), None)


def _timer(
    batch: BatchRecord, timer_id: str, kind: TimerKind, elapsed_s: float, left_s: float | None = None, text: str = ""
) -> Timer:
    return Timer(timer_id, batch.no, kind, elapsed_s, left_s, batch.unit, text)


def timers_of(day: Day, batch: BatchRecord, now: Moment) -> Iterator[Timer]:
    """Yield the timers of a batch, the one that matters most first."""
    now = day.on_day_clock(now)
    since, state = batch.state_since, batch.state
    if since is None or not batch.is_unfinished:
        return
    so_far_s = elapsed_s(since, now)
    timer_id = f"{state.value}-{batch.no_at(since.utc)}.{len(batch.stays)}"
    if state == State.SOAK:
        left_s = (progress.soak_needed_min(batch, day.plan) - progress.soaked_min(batch, now, batch.layer)) * 60
        text = f"soaked: {progress.state_word(batch, State.PAINT)}"
        yield _timer(batch, timer_id, TimerKind.SOAK, so_far_s, left_s, text)
    elif state == State.FIX:
        yield from _fix_timers(day, batch, now)
    elif state == State.COOL:
        so_far_s = elapsed_s(progress.last_heat_end(batch) or since, now)
        left_s = batch.current_layer.cool_min * 60 - so_far_s
        yield _timer(batch, timer_id, TimerKind.COOL, so_far_s, left_s, f"cool: {batch.after_cooling[1]}")
    elif state == State.DRY:
        left_s = dry_min(day.plan, batch.colourway) * 60 - so_far_s
        yield _timer(batch, timer_id, TimerKind.DRY, so_far_s, left_s, "check whether it is dry")
    else:
        yield from _wait_timer(day, batch, now)
        yield _timer(batch, timer_id, TimerKind.SINCE, so_far_s)


def _fix_timers(day: Day, batch: BatchRecord, now: Moment) -> Iterator[Timer]:
    if (heat := batch.open_heat) is not None:
        yield _heat_timer(day, batch, heat, now)
        return
    if (resting := _rest_timer(day, batch, now)) is not None:
        yield resting
    yield from _wait_timer(day, batch, now)
    if resting is None:
        # After heat it counts from the heat's end, not from when the batch came into fix.
        ended = [heat.end for heat in progress.heats_of(batch, batch.layer) if heat.end is not None]
        since = ended[-1] if ended else batch.state_since
        assert since is not None  # noqa: S101 - a batch in fix has a stay
        text = "fixed: cool it" if next_heat_no(day, batch, now) is None else ""
        timer_id = f"fix-{batch.no}.{len(batch.stays)}"
        yield _timer(batch, timer_id, TimerKind.SINCE, elapsed_s(since, now), text=text)


def doing_text(day: Day, batch: BatchRecord, now: Moment) -> str:
    """Return what a batch is doing and where: "steaming in steamer 2", "painted, wrapped, safe until Sat 20:25"."""
    batch = heat_timed_out(batch, now)
    timer = timer_of(day, batch, now)
    if batch.state is not State.FIX or timer is None or timer.kind is TimerKind.WAIT:
        return waiting_text(day, batch, now) or progress.whereabouts(batch)
    heat = batch.open_heat
    if timer.kind is TimerKind.REST:
        word = "resting"
    elif heat is None:
        word = progress.unfixed_word(batch) if next_heat_no(day, batch, now) is not None else "fixed"
    elif timer.kind is TimerKind.WARM_UP:
        word = "warming up"
    else:
        word = HEATING.get(batch.planned_heat(heat).how, "heating")
    return f"{word}{progress.unit_words(batch.unit, hangs=False)}"


def heat_id(batch: BatchRecord, heat: Heat) -> str:
    """Return the id of a heat's timer and alarm; parts of a batch share that of a heat before the split."""
    return f"heat-{batch.no_at(heat.start.utc)}-{batch.layer_no(heat.layer)}.{heat.heat_no}-{heat.start.utc:%H%M%S}"


def _heat_timer(day: Day, batch: BatchRecord, heat: Heat, now: Moment) -> Timer:
    planned = batch.planned_heat(heat)
    to_warm_s = heat.warm_up_min * 60 - elapsed_s(heat.start, now) if heat.heat_recorded_at is None else 0.0
    so_far_s = -to_warm_s if to_warm_s > 0 else progress.at_heat_min(heat, now) * 60
    over_s = elapsed_s(heat.own_end, now) if heat.own_end is not None else 0.0
    left_s = progress.heat_due_min(day.plan, batch, heat) * 60 - so_far_s - over_s
    how, unit = planned.how.value, heat.unit
    ends_itself, kind = heat.own_end is not None, TimerKind.WARM_UP if to_warm_s > 0 else TimerKind.HEAT
    text = f"{unit or how} done" if ends_itself else f"{how} {unit} off" if unit else f"{how} off"
    return Timer(heat_id(batch, heat), batch.no, kind, max(0.0, so_far_s), left_s, unit, text, ends_itself)


def next_heat_no(day: Day, batch: BatchRecord, now: Moment) -> int | None:
    """Return the number of the first heat that lacks minutes, from the last one begun on; None if none does."""
    now = day.on_day_clock(now)
    begun = max((heat.heat_no for heat in progress.heats_of(batch, batch.layer, until=now)), default=1)
    heat_nos = range(begun, len(batch.current_layer.heats) + 1)
    return next((n for n in heat_nos if not progress.heat_was_enough(day.plan, batch, batch.layer, n, now)), None)


def _rest_timer(day: Day, batch: BatchRecord, now: Moment) -> Timer | None:
    last = next(reversed(progress.heats_of(batch, batch.layer)), None)
    heat_no = next_heat_no(day, batch, now)
    if last is None or last.end is None or heat_no in (None, last.heat_no):
        return None
    rest_min = batch.current_layer.rest_before(heat_no)
    if rest_min <= 0:
        return None
    so_far_s = elapsed_s(last.end, now)
    timer_id = f"rest-{batch.no_at(last.end.utc)}-{batch.layer_no(batch.layer)}.{heat_no}-{last.end.utc:%H%M%S}"
    heat = batch.current_layer.heat_of(heat_no)
    text = f"rested: {heat.how.value} {heat.minutes:g} min"
    return _timer(batch, timer_id, TimerKind.REST, so_far_s, rest_min * 60 - so_far_s, text)


def wait_id(batch: BatchRecord, since: Moment) -> str:
    """Return the id of the timer and alarm of painted yarn that waits ``since`` then; see `heat_id`."""
    return f"wait-{batch.no_at(since.utc)}-{since.utc:%H%M%S}"


def _wait_timer(day: Day, batch: BatchRecord, now: Moment) -> Iterator[Timer]:
    if (wait := open_wait(day, batch, now)) is not None:
        left_s = wait_left_min(batch, wait, day.plan, now) * 60
        text = "painted yarn is drying out: heat or cover it"
        yield _timer(batch, wait_id(batch, wait.since), TimerKind.WAIT, elapsed_s(wait.since, now), left_s, text)


@dataclass(frozen=True, slots=True)
class TankFill:
    """One fill of a unit's tank, with times by the wall clock as it stands now."""

    unit: str
    fill_no: int
    """how often the tank had been filled: 0 for the water of the morning"""
    spans: tuple[tuple[datetime, datetime], ...]
    """when the unit ran on it"""
    running: bool
    low_after_min: float
    """minutes of running after which it is low"""
    before_min: float
    """minutes the unit ran on it in earlier sessions"""

    @property
    def run_min(self) -> float:
        """Minutes the unit has run on it."""
        return self.before_min + sum((end - start).total_seconds() for start, end in self.spans) / 60

    def run_min_by(self, moment: datetime) -> float:
        """Return the minutes it had run by ``moment``."""
        ran = sum((min(end, moment) - start).total_seconds() for start, end in self.spans if start < moment) / 60
        return self.before_min + ran

    def when_low(self, spare_min: float = 0.0) -> datetime | None:
        """Return when it had run for ``spare_min`` past low; None if it has not."""
        left = max(0.0, self.low_after_min + spare_min - self.before_min)
        for start, end in self.spans:
            length = (end - start).total_seconds() / 60
            if length > left:
                return start + timedelta(minutes=left)
            left -= length
        return None


def tank_fills(day: Day, unit: str, now: Moment) -> list[TankFill]:
    """Return the fills of a unit's tank so far, the first being the morning's; none where it is not known to last."""
    if (lasts_min := fill_lasts_min(day.plan.kit_of(unit))) is None:
        return []
    filled = sorted(on_wall(moment, now) for moment in day.units[unit].filled)
    in_unit = ((batch, heat) for batch in day.unsplit for heat in batch.heats if heat.unit == unit)
    # Heat that ended in an earlier session counts in `ran_before_min`.
    heats = [(batch, heat) for batch, heat in in_unit if heat.end is None or batch.is_of_session(heat.end.utc)]
    spans = merged((on_wall(heat.start, now), on_wall(heat.ended(now) or now, now)) for _, heat in heats)
    running = any(heat.is_on(now) for _, heat in heats)
    fills = []
    for n, (begin, end) in enumerate(zip([None, *filled], [*filled, None], strict=True)):
        inside = [(max(s, begin) if begin else s, min(e, end) if end else e) for s, e in spans]
        own_spans = tuple((s, e) for s, e in inside if e > s)
        before_min = day.units[unit].ran_before_min if begin is None else 0.0
        low_min = to_reserve_min(day.plan, lasts_min)
        if not before_min:  # what a tank lost over night is not known
            low_min = max([low_min, *(_late_low_min(day, lasts_min, own_spans, b, h, now) for b, h in heats)])
        fills.append(TankFill(unit, n, own_spans, running and end is None, low_min, before_min))
    return fills


def _late_low_min(
    day: Day,
    lasts_min: float,
    spans: Sequence[tuple[datetime, datetime]],
    batch: BatchRecord,
    heat: Heat,
    now: Moment,
) -> float:
    """Return the minutes of running after which a fill is low for a heat that a slow warm-up takes below the reserve.

    Half the reserve may then be used. 0 for other heats. ``spans`` are those in which the unit ran on the fill.
    """
    start = on_wall(heat.start, now)
    if not any(begin <= start < end for begin, end in spans):
        return 0.0
    on_min = sum((min(end, start) - begin).total_seconds() for begin, end in spans if begin < start) / 60
    due_min, reserve_min = progress.heat_due_min(day.plan, batch, heat), to_reserve_min(day.plan, lasts_min)
    was_off = (off := heat.ended(now)) is not None and on_min + minutes(heat.start, off) <= reserve_min
    if was_off or on_min + heat.warm_up_min + due_min > reserve_min + SECOND_IN_MIN:
        return 0.0
    end_min = on_min + minutes(heat.start, heat.at_heat_since) + due_min
    return min(end_min + OFF_WITHIN_MIN, (reserve_min + lasts_min) / 2)


def tanks(day: Day, now: Moment) -> Iterator[tuple[str, list[TankFill]]]:
    """Yield each unit with a tank that was heated, and its fills so far."""
    heated = {heat.unit for batch in day.unsplit for heat in batch.heats}
    for unit in day.plan.unit_names:
        if unit in heated and (fills := tank_fills(day, unit, now)):
            yield unit, fills


def to_reserve_min(plan: Plan, lasts_min: float) -> float:
    """Return the minutes of heat after which a tank that lasts ``lasts_min`` is down to its reserve."""
    return lasts_min * (1 - plan.rules.reserve / 100)


def fill_lasts_min(kit: Kit | None) -> float | None:
    """Return the minutes that one fill of a unit's tank lasts: the plan's, else by its power; None if unknown."""
    if kit is None or kit.lasts_min is not None or kit.tank_l is None or kit.power_w is None:
        return None if kit is None else kit.lasts_min
    return tank_lasts_min(kit.tank_l, kit.power_w)


class TankMin(NamedTuple):
    """Minutes of heat to a tank's reserve: now, and of a whole fill."""

    left: float
    of_a_fill: float

    @property
    def fill_words(self) -> str:
        """How to fill it: a tank that is low may have boiled dry, and cold water stops the heat."""
        return "boiling water" if self.left > 0 else "let it cool first"

    def is_short_for(self, wanted_min: float) -> bool:
        """Return whether a fill would bring a heat that keeps the unit on for ``wanted_min`` further."""
        return self.left < min(wanted_min, self.of_a_fill)


def tank_min(day: Day, unit: str, now: Moment) -> TankMin | None:
    """Return the minutes of heat to the reserve of a unit's tank; None where it is not known to last."""
    if (lasts := fill_lasts_min(day.plan.kit_of(unit))) is None:
        return None
    full = to_reserve_min(day.plan, lasts)
    return TankMin(max(0.0, full - tank_fills(day, unit, now)[-1].run_min), full)


def tank_timers(day: Day, now: Moment) -> Iterator[Timer]:
    """Yield a timer for each tank whose unit runs: the time until it is low."""
    for unit, fills in tanks(day, now):
        fill = fills[-1]
        if fill.running:
            timer_id, text = f"tank-{unit}-{fill.fill_no}", f"{unit} off: its tank is low"
            left_s = (fill.low_after_min - fill.run_min) * 60
            yield Timer(timer_id, None, TimerKind.TANK, fill.run_min * 60, left_s, unit, text)


def all_timers(day: Day, now: Moment) -> list[Timer]:
    """Return the timers of the day, batch by batch, then of tanks."""
    timers = [timer for batch in day.unsplit for timer in timers_of(day, batch, now)]
    return [*timers, *tank_timers(day, now)]


def due(day: Day, now: Moment) -> list[Timer]:
    """Return the timers that have reached their time, longest due first."""
    return sorted((timer for timer in all_timers(day, now) if timer.is_due), key=lambda c: c.left_s or 0.0)
