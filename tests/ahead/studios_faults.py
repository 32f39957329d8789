"""What no dyer would do, counted in a forecast's schedule.

Lots apart and waits for dry yarn count only where a day without them, searched for as long, ends nearly as early.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import pairwise, permutations

from dyeday.ahead.forecast import LEAST
from dyeday.ahead.foreseen_steps import Forecast, Planned
from dyeday.ahead.kernel.problem import Link, Problem, Row, Solution
from dyeday.ahead.kernel.search import COUNT, END, solve
from dyeday.ahead.problem_parts.hours import wall
from dyeday.terms import State, StepKind, WarningKind
from dyeday.track.day.day_state import Day
from tests.ahead.checker import violations

WORTH_MIN = 2
"""minutes of the day's end that a dyer gives for lots together and for no wait"""
FRESH_MIN, APART_MIN, OVER_MIN, REST_MIN, SOONER_MIN = 60, 20, 5, 10, 30
CAN_WAIT = (StepKind.RINSE, StepKind.PAINT, StepKind.SPECKLE, StepKind.CHORE)
"""what hands do that can begin when a batch has been put to soak: no heat and no soak waits for it"""

FAULTS = (
    "not possible",
    "heat past its end",
    "heat while out",
    "tank over its time",
    "hands wait for dry yarn",
    "specks late in heat",
    "half painted",
    "siblings apart",
    "rest cut or stretched",
    "heat put off",
    "mix taken up again",
)


def faults(day: Day, found: Forecast) -> Iterator[str]:
    """Yield what no dyer would do, once for each time."""
    out = [name for name, _ in found.left_out]
    wrong = violations(found.problem, found.advised.rows, out)
    if any(not text.endswith("too long") for text in wrong):  # waits are counted one by one below
        yield FAULTS[0]
    by_batch: dict[str, list[Planned]] = {}
    for step in found.steps:
        if step.batch in day.batches:
            by_batch.setdefault(step.batch, []).append(step)
    for no, steps in by_batch.items():
        yield from _of_heats(day, steps)
        yield from _of_rests(day, no, steps)
        yield from _put_off(day, found, no, steps)
    yield from (FAULTS[3] for w in found.warned if w.kind is WarningKind.BOIL_DRY and "does not last" in w.do)
    yield from _of_hands(day, found, by_batch)
    yield from _of_siblings(day, found, by_batch)
    yield from _of_mixes(day, found)


def _of_heats(day: Day, steps: Sequence[Planned]) -> Iterator[str]:
    """Yield heats left on, heats in an empty house, and specks that wait too long for heat."""
    out = [(wall(day.plan, a), wall(day.plan, b)) for a, b in day.plan.session.out]
    for before, step in pairwise(steps):
        if before.kind is StepKind.HEAT and step.kind is StepKind.UNLOAD:
            kit = day.plan.kit_of(before.unit or "")
            if kit is not None and not kit.switches_off and step.start - before.end > timedelta(minutes=OVER_MIN):
                yield FAULTS[1]
            if any(before.start < back and before.end > away for away, back in out):
                yield FAULTS[2]
    for n, step in enumerate(steps):
        if step.kind is StepKind.SPECKLE and not step.put_down:
            load = next((s for s in steps[n:] if s.kind is StepKind.LOAD), None)
            if load is not None and load.start - step.end > timedelta(minutes=FRESH_MIN):
                yield FAULTS[5]


def _of_rests(day: Day, no: str, steps: Sequence[Planned]) -> Iterator[str]:
    """Yield rests between two heats of a layer that are shorter than planned, or more than ten minutes longer."""
    ends = {(s.layer, s.heat_no): s.end for s in steps if s.kind is StepKind.HEAT}
    for step in steps:
        before = ends.get((step.layer, (step.heat_no or 0) - 1))
        if step.kind is StepKind.LOAD and before is not None:
            rest = timedelta(
                minutes=day.batches[no].colourway.layer_of(step.layer or 1).rest_before(step.heat_no or 1)
            )
            if not rest <= step.start - before <= rest + timedelta(minutes=REST_MIN + 1):
                yield FAULTS[8]


def _put_off(day: Day, found: Forecast, no: str, steps: Sequence[Planned]) -> Iterator[str]:
    """Yield heats left for another morning though yarn was ready, hands idle and all such kit free in the evening.

    All heats of a layer have to fit in, with their rests: a burst in the evening is worth nothing where the steaming
    that must follow a quarter of an hour later is not possible.
    """
    dyed = None
    for n, load in enumerate(steps):
        if load.kind.puts_dye_on:
            dyed = load.end
        if load.kind is not StepKind.LOAD or load.heat_no != 1 or dyed is None or load.start <= found.stop:
            continue
        loads = [m for m, s in enumerate(steps[n:], n) if s.kind is StepKind.LOAD and s.layer == load.layer]
        heats = [steps[m : m + 3] for m in loads]
        at = max(dyed, found.at.utc)
        while at < found.stop:
            if _fit_evening(day, found, no, heats, at):
                yield FAULTS[9]
                break
            at += timedelta(minutes=5)


def _fit_evening(day: Day, found: Forecast, no: str, heats: Sequence[Sequence[Planned]], at: datetime) -> bool:
    """Tell whether a layer's heats can begin at ``at`` and be over by the stop, no rest over ten minutes too long."""
    if not heats:
        return True
    load, heat, off = heats[0]
    kit = day.plan.kit_of(load.unit or "")
    ends = at + timedelta(minutes=load.minutes + heat.minutes)
    if off.kind is not StepKind.UNLOAD or kit is None or ends + timedelta(minutes=off.minutes) > found.stop:
        return False
    if not _evening_free(found, kit.unit_names, at, load.minutes, ends, off.minutes):
        return False
    rest = day.batches[no].colourway.layer_of(load.layer or 1).rest_before((load.heat_no or 1) + 1)
    after = (ends + timedelta(minutes=max(rest, off.minutes) + more) for more in range(REST_MIN + 1))
    return any(_fit_evening(day, found, no, heats[1:], again) for again in after)


def _evening_free(
    found: Forecast, units: Sequence[str], on: datetime, on_min: int, off: datetime, off_min: int
) -> bool:
    """Tell whether hands are there and idle for a load and an unloading, and units and sockets idle in between."""
    for at, minutes in ((on, on_min), (off, off_min)):
        begin = found.problem.now + round((at - found.at.utc).total_seconds() / 60)
        if not any(a <= begin and (b is None or begin + minutes <= b) for a, b in found.problem.windows):
            return False
        end = at + timedelta(minutes=minutes)
        if any(s.attended and s.start < end and s.end > at for s in found.steps):
            return False
    end = off + timedelta(minutes=off_min)
    return not any((s.unit in units or s.kind is StepKind.HEAT) and s.start < end and s.end > on for s in found.steps)


def _of_hands(day: Day, found: Forecast, by_batch: dict[str, list[Planned]]) -> Iterator[str]:
    """Yield waits for yarn that could have been put to soak before, and dye put down for other dye."""
    hands = found.next_steps
    for before, step in pairwise(hands):
        if before.put_down and (step.minutes > OVER_MIN or step.kind.puts_dye_on) and step.batch != before.batch:
            yield FAULTS[6]
        idle = step.start - before.end
        mine = by_batch.get(step.batch, [])
        soak = next((s for s in mine if s.kind is StepKind.SOAK and s.end <= step.start), None)
        load = next((s for s in mine if s.kind is StepKind.SOAK_LOAD), None)
        if not step.kind.puts_dye_on or soak is None or load is None or idle < timedelta(minutes=2):
            continue
        needed = soak.start + timedelta(minutes=_soak_min(found, step.batch))
        waits = needed >= step.start - timedelta(minutes=1)  # it is painted as soon as it has soaked
        if waits and any(soaks_before(found, load, other) for other in _could_wait(day, found, load)):
            yield FAULTS[4]


def _soak_min(found: Forecast, batch: str) -> int:
    of = next(b for b in found.problem.batches if b.id == batch)
    return next(step.minutes for step in of.steps if step.id.kind is StepKind.SOAK)  # type: ignore[attr-defined]


def _could_wait(day: Day, found: Forecast, load: Planned) -> Iterator[Planned]:
    """Yield what hands did in the half hour before a soak, with a tray empty, though it could have come after it."""
    put_down = {load.owner, *(s.owner for s in found.next_steps if s.put_down)}
    since = load.start - timedelta(minutes=SOONER_MIN)
    before = [s for s in found.next_steps if since <= s.start < load.start and s.kind in CAN_WAIT]
    yield from (s for s in before if s.owner not in put_down and _tray_free(day, found, load, s.start))


def _tray_free(day: Day, found: Forecast, load: Planned, since: datetime) -> bool:
    """Tell whether a tray of the kind that a soak is begun in stood empty before ``since`` and until then."""
    taken = {b.unit for b in day.batches.values() if b.state is State.SOAK}
    ends: dict[str, list[datetime]] = {}
    for s in found.steps:
        if s.kind is StepKind.SOAK and s.start < load.start and s.unit:
            ends.setdefault(s.unit, []).append(s.end)
    alike = next((kit.unit_names for kit in day.plan.kit if load.unit in kit.unit_names), ())
    return any(max(ends[unit]) < since if unit in ends else unit not in taken for unit in alike)


def soaks_before(found: Forecast, load: Planned, other: Planned) -> bool:
    """Tell whether a day in which a soak is begun before another step ends nearly as early, with shorter waits.

    Where hands wait as long for other yarn instead, nothing is gained.
    """
    steps = {batch.id: [step.id for step in batch.steps] for batch in found.problem.batches}
    link = Link(load.owner, steps[load.owner].index(load.id), other.owner, steps[other.owner].index(other.id))
    again = _nearly_as_early(found, [link])
    return again is not None and _waits_min(found.problem, again.rows) < _waits_min(found.problem, _rows(found))


def _rows(found: Forecast) -> Iterator[Row]:
    """Yield the steps of a forecast with the minutes of its problem."""
    for s in found.steps:
        start, end = (found.problem.now + round((at - found.at.utc).total_seconds() / 60) for at in (s.start, s.end))
        yield Row(s.owner, s.id, s.unit, start, end, s.attended)


def _waits_min(problem: Problem, rows: Iterable[Row]) -> int:
    """Return the minutes for which hands idle until yarn has soaked that they then paint at once."""
    soaks = {(b.id, s.id): s.minutes for b in problem.batches for s in b.steps if not s.attended and not s.exact}
    by_start = sorted(rows, key=lambda row: (row.start, row.end))
    soaked = {(r.batch, r.end): r.start + soaks[r.batch, r.step] for r in by_start if (r.batch, r.step) in soaks}
    hands = [row for row in by_start if row.attended]
    return sum(
        row.start - before.end
        for before, row in pairwise(hands)
        if soaked.get((row.batch, row.start), 0) >= row.start - 1
    )


def _nearly_as_early(found: Forecast, links: Sequence[Link]) -> Solution | None:
    """Return a day that keeps ``links`` too and is over `WORTH_MIN` later at most; None where none is found.

    A day that puts other siblings apart instead, or stretches rests, is none.
    """
    problem = replace(found.problem, links=(*found.problem.links, *links))
    again = solve(problem, END if found.for_end else COUNT, evaluations=LEAST)
    now, then = found.advised.value, again.value
    worse = then.end > now.end + WORTH_MIN or then.senseless > now.senseless
    if (then.late, then.missed, worse) > (now.late, now.missed, False):
        return None
    return again if len(again.left_out) <= len(found.left_out) else None


def _of_siblings(day: Day, found: Forecast, by_batch: dict[str, list[Planned]]) -> Iterator[str]:
    """Yield batches of one lot that must match and go through the same heat far apart where kit for both is there."""
    lots: dict[str, list[str]] = {}
    matching = {order.key for order in day.plan.orders if order.match}
    for batch in day.unsplit:
        if batch.order_keys & matching and batch.no in by_batch:
            lots.setdefault(batch.planned_mix, []).append(batch.no)
    for members in lots.values():
        loads: dict[tuple[int | None, int | None], list[Planned]] = {}
        for no in members:
            for step in by_batch[no]:
                if step.kind is StepKind.LOAD:
                    loads.setdefault((step.layer, step.heat_no), []).append(step)
        for of in loads.values():
            by_start = sorted(of, key=lambda step: step.start)
            room = max(1, _at_once(found, of[0].unit))
            for n in range(0, len(by_start), room):
                group = by_start[n : n + room]
                if group[-1].start - group[0].start > timedelta(minutes=APART_MIN) and together_costs_little(
                    found, group
                ):
                    yield FAULTS[7]


def together_costs_little(found: Forecast, loads: Sequence[Planned]) -> bool:
    """Tell whether a day ends nearly as early in which all of these go into heat soon after each other.

    It is searched for freely, and with all of them dyed before any goes in.
    """
    steps = {batch.id: [step.id for step in batch.steps] for batch in found.problem.batches}
    place = {load.owner: steps[load.owner].index(load.id) for load in loads}
    dyed_before = [Link(one, place[one] - 1, other, place[other]) for one, other in permutations(place, 2)]
    for again in (_nearly_as_early(found, links) for links in ([], dyed_before)):
        rows = again.rows if again is not None else ()
        starts = [row.start for row in rows if row.batch in place and row.step == steps[row.batch][place[row.batch]]]
        if starts and max(starts) - min(starts) <= APART_MIN:
            return True
    return False


def _of_mixes(day: Day, found: Forecast) -> Iterator[str]:
    """Yield returns to a mix after painting with another: its jars stay open meanwhile, or it is mixed twice."""
    painted = [
        (day.batches[s.batch].planned_mix, s.layer)
        for s in found.next_steps
        if s.batch in day.batches and s.kind.puts_dye_on and s.start.date() == found.at.utc.date()
    ]
    runs = [mix for before, mix in pairwise([None, *painted]) if mix != before]
    yield from [FAULTS[10]] * (len(runs) - len(set(runs)))


def _at_once(found: Forecast, unit: str | None) -> int:
    """Return how many units of a unit's kind are up and can be on at once."""
    units = {u.name: u for u in found.problem.units}
    alike = [u for u in units.values() if unit in units and u.kind == units[unit].kind and u.free_at is not None]
    room = sum(not u.milliamps for u in alike)
    for circuit in found.problem.circuits:
        on = [u for u in alike if u.circuit == circuit.name and u.milliamps]
        room += min(len(on), circuit.milliamps // on[0].milliamps) if on else 0
    return room
