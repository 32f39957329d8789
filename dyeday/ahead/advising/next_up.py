"""What to do next: what is due or does harm first, then what keeps the day moving, each with its reason."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from enum import IntEnum
from math import ceil
from typing import TYPE_CHECKING

from dyeday.ahead.advising.next_step import (
    NextStep,
    in_unit_if_as_good,
    next_step,
    rinsed_before,
    roomy_unit,
    soonest_free,
)
from dyeday.grouping import joined
from dyeday.plan.model import Kit
from dyeday.quick_dataclass import dataclass
from dyeday.terms import AlarmState, HeatEdge, KitKind, ReadingKind, State, StepKind, TimerKind
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import heat_had_min, heat_in_all_min, load_on_min, unit_words, units_on
from dyeday.track.day.transitions import heat_timed_out
from dyeday.track.day.waiting_time import lies_open
from dyeday.track.flags import BEFORE_RINSE, RULES, Flag, flags_of_batch
from dyeday.track.flags.circuits import overload_with
from dyeday.track.flags.rinsing import too_warm_to_rinse
from dyeday.track.flags.rule import TYPED_MIN
from dyeday.track.timers.alarm_states import OFF_AND_FILL, Alarm, heat_over_in, standing
from dyeday.track.timers.timers import Timer, tank_min, timers_of
from dyeday.track.timestamp import Moment, length_text, minutes, whole_min

if TYPE_CHECKING:
    from dyeday.ahead.foreseen_steps import Planned

SOON_DRY_S = 30 * 60
"""painted yarn with less than this left under its cover goes before what is merely ready"""
FILL = "fill"


class Rank(IntEnum):
    """The order of `next_up`: the smallest first. `advice` places warnings, the forecast's steps and what waits."""

    ALARM = 0
    """of a batch"""
    HEAT_OVER = 1
    """or a tank that is low"""
    HARM = 2
    """yarn that dries out, or is in a unit that is down"""
    HEAT_ENDS = 3
    """within a minute"""
    ACID_PART = 4
    HOLDS_KIT = 5
    """yarn that is rested, rinsed, or needs a rinse or heat again: the last that comes before the forecast's steps"""
    HEAT = 6
    SOAKED = 7
    COOLED = 8
    PAINTED = 9
    RINSED = 10
    NOT_STARTED = 11
    OTHER = 12
    SET_ASIDE = 13
    DRIED = 14
    CANNOT = 15
    """what only takes time"""
    FORESEEN = 16
    WARNING = 17


_OF_STATE = {
    State.FIX: (Rank.HEAT, "painted, and no heat is on"), State.PAINT: (Rank.PAINTED, "when it is painted"),
    State.RINSE: (Rank.RINSED, "when it is rinsed"), State.WAITING: (Rank.NOT_STARTED, "not started yet"),
    State.SET_ASIDE: (Rank.SET_ASIDE, "set aside"),
}  # fmt: skip
_OF_DUE = {
    TimerKind.HEAT: Rank.HEAT_OVER, TimerKind.REST: Rank.HOLDS_KIT, TimerKind.SOAK: Rank.SOAKED,
    TimerKind.COOL: Rank.COOLED, TimerKind.DRY: Rank.DRIED,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class NextUp:
    """One thing to do, and why now."""

    about: str
    """a batch or a unit, several with a + between; a WARNING has its `Warned.about`; empty for the day or a lot"""
    do: str
    why: str
    rank: Rank
    mark: str = ""
    """! for an alarm, * for what is due, nothing for what is merely possible"""
    is_chore: bool = False
    unit: str | None = None
    """the unit of a step of the forecast, or in which a heat starts"""
    heat_no: int | None = None
    """the heat that starts in ``unit``, if one does"""
    word: str = ""
    """words for the far view, if not about the batch's next step"""
    begin: datetime | None = None
    """when the forecast begins it; None for what is not a step of the forecast"""
    reads: ReadingKind | None = None

    @property
    def is_urgent(self) -> bool:
        """Whether it comes before the forecast's steps: it is due and harmful, or blocks kit."""
        return self.rank <= Rank.HOLDS_KIT

    @property
    def abouts(self) -> tuple[str, ...]:
        """Each batch or unit it is about."""
        return tuple(self.about.split("+"))


@dataclass(frozen=True, slots=True)
class AtBatch:
    """What a batch waits for at a moment: its next step, and its timers, the one that matters most first."""

    step: NextStep | None
    """None where it has none"""
    timers: tuple[Timer, ...]

    @property
    def timer(self) -> Timer | None:
        """The timer that matters most, if there is any."""
        return next(iter(self.timers), None)


def at_batch(day: Day, batch: BatchRecord, now: Moment) -> AtBatch:
    """Return what a batch waits for at ``now``; heat that switched itself off counts as ended."""
    if batch.heats:
        batch = heat_timed_out(batch, now)
    return AtBatch(next_step(day, batch, now), tuple(timers_of(day, batch, now)))


@dataclass(frozen=True, slots=True)
class Glance:
    """Values of a day, computed once for all that show them."""

    alarms: Sequence[Alarm]
    """those that stand"""
    batches: Mapping[str, AtBatch]


def next_up(
    day: Day, now: Moment, seen: Glance | None = None, units: Mapping[str, str] | None = None
) -> list[NextUp]:
    """Return the most urgent thing to do of each batch and unit, in order of rank; the same for several is one.

    ``seen`` has known values; ``units`` has those of the forecast by batch, taken where they are as good.
    """
    items = sorted(_all(day, now, seen or Glance(standing(day, now), {}), units or {}), key=lambda item: item.rank)
    of_each: dict[str, NextUp] = {}
    for item in items:
        of_each.setdefault(item.about, item)
    return joined(of_each.values(), _is_same, lambda one, other: replace(one, about=f"{one.about}+{other.about}"))


def without_forecast(day: Day, now: Moment, most: int, seen: Glance | None = None) -> list[NextUp]:
    """Return up to ``most`` things to do next where nothing is foreseen; ``seen`` is as in `next_up`."""
    plain = next_up(day, now, seen)
    waits = [item for item in plain if item.rank is Rank.CANNOT]
    # Where the second soak goes, and when, only a forecast says.
    left_out = [*waits, *[item for item in plain if item.rank is Rank.NOT_STARTED][1:]]
    others = list(with_fill_lines(day, [item for item in plain if item not in left_out], now))
    return [*others[:1], *waits, *others[1:]][:most]


def _is_same(one: NextUp, other: NextUp) -> bool:
    """Return whether the same thing came due for both in the same minute."""
    return bool(one.mark) and (one.do, one.why, one.mark) == (other.do, other.why, other.mark)


def _all(day: Day, now: Moment, seen: Glance, units: Mapping[str, str]) -> Iterator[NextUp]:
    alarmed: set[str] = set()
    for alarm in seen.alarms:
        if alarm.state(now.utc) not in (AlarmState.ACTIVE, AlarmState.SILENCED):
            continue
        over = heat_over_in(day, alarm.unit, now) if not alarm.batches and alarm.unit is not None else ()
        # One movement ends both: the heat that is over and the water that runs low.
        alarmed.update(alarm.batches or over)
        if not alarm.batches and not over and alarm.unit is not None:
            yield NextUp(alarm.unit, OFF_AND_FILL, f"alarm since {day.time_text(alarm.since)}", Rank.HEAT_OVER, "!")
    for batch in day.unfinished:
        yield from _out_of_a_unit_down(day, batch, now)
        at, unit = seen.batches.get(batch.no) or at_batch(day, batch, now), units.get(batch.no)
        if at.step is not None and at.step.edge is HeatEdge.START and unit is not None:
            at = replace(at, step=in_unit_if_as_good(day, [batch], at.step, unit, now))
        for item in _of_batch(day, batch, now, at):
            if at.step is not None and at.step.begun_heat_no:
                item = replace(item, unit=at.step.unit, heat_no=at.step.begun_heat_no)
            yield replace(item, rank=Rank.ALARM, mark="!") if batch.no in alarmed else item


def pressing_timer(day: Day, batch: BatchRecord, now: Moment) -> Timer | None:
    """Return the timer of a batch's line: yarn about to dry out, else the most important one."""
    return _pressing(tuple(timers_of(day, heat_timed_out(batch, now), now)))


def _pressing(timers: Sequence[Timer]) -> Timer | None:
    return next((timer for timer in timers if _dries_out_soon(timer)), next(iter(timers), None))


def _dries_out_soon(timer: Timer) -> bool:
    return timer.kind == TimerKind.WAIT and timer.left_s is not None and timer.left_s < SOON_DRY_S


def _dries_text(timer: Timer) -> str:
    left_s = timer.left_s or 0.0
    left = length_text(whole_min(abs(left_s)))
    return f"painted, {left} before it dries out" if left_s >= 0 else f"may have dried out {left} ago"


def _out_of_a_unit_down(day: Day, batch: BatchRecord, now: Moment) -> Iterator[NextUp]:
    """Yield the move of a batch out of a unit that is down, or its wait for another."""
    unit = batch.unit
    if unit is None or unit not in day.units or not day.units[unit].is_down:
        return
    kit = day.plan.kit_of(unit)
    broken_off = next((heat for heat in reversed(batch.heats) if heat.unit == unit and heat.end is not None), None)
    heat_no = broken_off.heat_no if broken_off is not None else None
    other = roomy_unit(day, [batch], kit.kind if kit is not None else None, heat_no, now)
    why = [f"{unit} is down"]
    if batch.state is State.FIX and broken_off is not None:
        had = heat_had_min(batch, broken_off.layer, broken_off.heat_no, now)
        lacks = heat_in_all_min(day.plan, batch, broken_off.layer, broken_off.heat_no) - had
        why += [f"{int(had)} min at heat so far, {ceil(lacks)} to go"] if lacks > 0 else []
    if batch.state is State.FIX and kit is not None and other is None:
        # Hands can do nothing about that: it lies well where it is until one is free.
        free = soonest_free(day, kit.kind, now)
        what = f"{free[0]}, from {day.time_text(free[1].utc)}" if free else f"a {kit.kind.value}"
        pot = roomy_unit(day, [batch], KitKind.POT) if kit.kind is KitKind.STEAMER and not free else None
        do = f"wait for {what}" + (f", or steam it in {pot} (u)" if pot else "")
        yield NextUp(batch.no, do, ", ".join(reversed(why)), Rank.CANNOT, word="wait")
        return
    do = f"move out of {unit}" + (f" to {other}" if other else "")
    yield NextUp(batch.no, do, ", ".join(why), Rank.HARM, "*", word="move out")


def _of_batch(day: Day, batch: BatchRecord, now: Moment, at: AtBatch) -> Iterator[NextUp]:
    if (step := at.step) is None:
        return
    timer = _pressing(at.timers)
    dries = "" if timer is None or not _dries_out_soon(timer) else _dries_text(timer)
    heats_in = step.edge is HeatEdge.START and step.unit_kind is not None and day.plan.units_of(step.unit_kind)
    if dries and (step.edge is not HeatEdge.START or step.unit is None) and lies_open(day, batch, now):
        yield NextUp(batch.no, "wrap it", f"{dries}, and no unit is free; w records it", Rank.HARM, "*", word="wrap")
        return
    if (heats_in and (step.unit is None or overload_with(day, step.unit, now))) or (
        step.to is State.RINSE and rinsed_before(day, batch)
    ):
        return  # it waits for a unit or a circuit with room, and hands can do nothing about that
    if step.acid:
        by_ph = batch.state in (State.SOAK, State.COOL)
        why = "its pH was too high: then read it again" if by_ph else "it simmers: the next part of its acid"
        yield NextUp(batch.no, step.text, why, Rank.ACID_PART, "*")
        return
    if batch.state is State.SOAK and any(read.name is ReadingKind.PH for read in batch.readings):
        from dyeday.track.reading_meaning import ph_to_read_again  # loads `units`, which the bench starts without

        if why := ph_to_read_again(day, batch, now):
            yield NextUp(
                batch.no, "read its pH again", why, Rank.ACID_PART, "*", word="read pH", reads=ReadingKind.PH
            )
            return
    if step.again:
        do = f"{step.text}{unit_words(step.unit, hangs=False)}"
        yield NextUp(batch.no, do, step.again, Rank.HOLDS_KIT, "*")
        return
    if (ends := _heat_ends_this_minute(timer, now)) is not None:
        step = next_step(day, batch, ends) or step
    where = unit_words(step.unit, hangs=step.to == State.DRY) if step.edge != HeatEdge.END else ""
    do = f"heat on{where}" if step.edge == HeatEdge.START and step.to != State.PAINT else f"{step.text}{where}"
    if dries:
        yield NextUp(batch.no, do, f"{dries}; or wrap it" if lies_open(day, batch, now) else dries, Rank.HARM, "*")
        return
    is_due = timer is not None and timer.is_due and step.to is State.RINSE and batch.state is State.COOL
    if is_due and (warm := too_warm_to_rinse(day.plan, batch, batch.layer, now)):
        yield NextUp(batch.no, "let it cool, then read it again", f"not yet: {warm}", Rank.CANNOT, word="wait")
        return
    if timer is not None and (timer.is_due or ends is not None):
        why = flag_first(day, batch, now) or _since(timer)
        rank = Rank.HEAT_ENDS if ends is not None else _OF_DUE.get(timer.kind, Rank.OTHER)
        yield NextUp(batch.no, do, why, rank, "*")
        return
    if timer is not None and timer.left_s is not None and timer.kind != TimerKind.WAIT:
        return
    rank, why = _OF_STATE.get(batch.state, (Rank.OTHER, ""))
    if batch.state is State.FIX and step.to is State.COOL:
        rank, why = Rank.HOLDS_KIT, "its heats are done"
    if batch.state == State.WAITING and step.unit is None and day.plan.units_of(KitKind.TRAY):
        return
    if batch.state is State.RINSE and batch.state_since is not None:
        # From its last minute on it holds the sink, and a forecast, which has whole minutes, counts it as hung.
        in_sink = minutes(batch.state_since, now)
        if in_sink > batch.colourway.rinse_min_per_100g * batch.wof_g / 100 - TYPED_MIN:
            rank, why = Rank.HOLDS_KIT, f"rinsed? {length_text(whole_min(in_sink * 60))} in the sink"
    yield NextUp(batch.no, do, why, rank)


def _heat_ends_this_minute(timer: Timer | None, now: Moment) -> Moment | None:
    """Return when a heat ends that by the clock on the wall ends in this minute; None for any other timer."""
    if timer is None or timer.kind is not TimerKind.HEAT or timer.left_s is None or not 0 < timer.left_s < 60:
        return None
    if timer.ends_itself:
        return None  # half a minute is much of a burst, and its unit needs no hand to end it
    end = now.later(timer.left_s)
    return end if end.utc.replace(second=0, microsecond=0) <= now.utc else None


def open_before_rinse(day: Day, batch: BatchRecord, now: Moment) -> list[Flag]:
    """Return the open flags to see to before the next step of cooled yarn; none in another state."""
    return before_rinse(batch, flags_of_batch(day, batch, now, BEFORE_RINSE)) if batch.state is State.COOL else []


def before_rinse(batch: BatchRecord, flags: Iterable[Flag]) -> list[Flag]:
    """Return those of a batch's ``flags`` that `open_before_rinse` has."""
    opened = (flag for flag in flags if flag.cleared is None and flag.rule in BEFORE_RINSE)
    return list(opened) if batch.state is State.COOL else []


def flag_tasks(day: Day, batch: BatchRecord, now: Moment) -> list[tuple[str, str]]:
    """Return (what to do, its remedy) of each flag of `open_before_rinse`."""
    flags = open_before_rinse(day, batch, now)
    return [(f"{batch.no} {RULES[flag.rule].short}, before its next step", flag.remedy) for flag in flags]


def flag_first(day: Day, batch: BatchRecord, now: Moment) -> str:
    """Return which flags of `open_before_rinse` to see to, in words; "" for none."""
    words = [RULES[flag.rule].short for flag in open_before_rinse(day, batch, now)]
    return f"see its flag: {', '.join(words)}" if words else ""


def _since(timer: Timer) -> str:
    late = whole_min(timer.left_s or 0.0)
    length = length_text(late)
    if timer.harms:
        if not timer.is_due:
            return "heat ends within a minute"
        if timer.kind is TimerKind.HEAT and not timer.ends_itself:
            return f"{f'{length} over' if late >= 1 else 'time is up'}, still on"
        what = "heat ended" if timer.kind is TimerKind.HEAT else f"{timer.kind.value} over"
        return what + (f" {length} ago" if late >= 1 else " now")
    ready = {TimerKind.SOAK: "soaked", TimerKind.COOL: "cooled", TimerKind.REST: "rested", TimerKind.DRY: "dried"}
    return f"{ready.get(timer.kind, timer.kind.value)}, ready {f'{length} ago' if late >= 1 else 'now'}"


def with_fill_lines(day: Day, items: Sequence[NextUp], now: Moment) -> Iterator[NextUp]:
    """Yield ``items``, with the filling of a tank before the first heat that would run its present water low.

    None of a unit that is on, nor of one that an item is about.
    """
    named = {*(on.unit for on in units_on(day, now)), *(about for item in items for about in item.abouts)}
    for item in items:
        fill = _fill_before(day, item, now) if item.unit not in named else None
        if fill is not None:
            named.add(fill.about)
            yield fill
        yield item


def _fill_before(day: Day, item: NextUp, now: Moment) -> NextUp | None:
    """Return the filling of the tank that a heat would run low; None with water enough."""
    batches, kit = [day.batches[no] for no in item.abouts if no in day.batches], day.plan.kit_of(item.unit)
    tank = tank_min(day, item.unit, now) if item.unit is not None and item.heat_no is not None else None
    if not batches or kit is None or tank is None:
        return None
    wanted_min = load_on_min(day.plan, batches, item.heat_no or 1, item.unit, now)
    if not tank.is_short_for(wanted_min):
        return None
    by = f"by {day.time_text(item.begin)}: " if item.begin is not None and item.begin > now.later(60).utc else ""
    why = f"{by}{tank.fill_words}; has {int(tank.left)} min, needs {ceil(wanted_min)}"
    mark = item.mark if item.is_urgent else ""
    return NextUp(item.unit or "", _fill_text(day, kit), why, item.rank, mark, word=FILL)


def _fill_text(day: Day, kit: Kit) -> str:
    """Return "fill tank to 2 L"."""
    from dyeday.units import show_volume

    to = show_volume(1000 * (kit.tank_l or 0.0), day.plan.session.units, day.plan.jug_ml)
    return f"fill tank to {to}" if kit.tank_l else "fill tank"


def fill_in_mid_heat(day: Day, step: Planned, now: Moment, *, for_end: bool) -> NextUp | None:
    """Return the filling of a tank for which a step switches heat off that then goes on; None for other steps."""
    batch, kit = day.batches.get(step.batch), day.plan.kit_of(step.unit)
    if batch is None or kit is None or step.kind is not StepKind.UNLOAD or not step.id.part:
        return None
    from dyeday.ahead.problem_parts.off_early import off_early

    early = off_early(day, batch, now, step.minutes, for_end=for_end)
    if early is None or not early.for_tank or early.is_enough:
        return None
    had = f"{batch.no} has {int(early.had_min)} of {early.needed_min:g} min by then"
    why = f"low at {day.time_text(step.start)}: off, boiling water, on again; {had}"
    return NextUp(step.unit or "", _fill_text(day, kit), why, Rank.FORESEEN, word=FILL, begin=step.start)
