"""Rules about current, tanks and the microwave: too much on a circuit, a tank run low, wool scorched dry."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime

from dyeday.craft.electric import CircuitLoad, circuit_load
from dyeday.craft.yarn.heat_into_yarn import microwave_min
from dyeday.plan.amounts import liquor_ml
from dyeday.plan.model import Circuit, Plan, pots_of
from dyeday.terms import KIT_OF_HEAT, KIT_TRAITS
from dyeday.track.day.batch_record import BatchRecord, Run
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import at_heat_min, runs_of
from dyeday.track.day.tank_time import fill_lasts_min, tank_fills, to_reserve_min
from dyeday.track.flags.rule import Raised, of
from dyeday.track.timestamp import SECOND_MIN, Now, length_text, minutes


def overloaded_circuit(day: Day, batch: BatchRecord, now: Now) -> Iterator[Raised]:
    """Units running together draw more than the circuit, its lead, or its continuous share allow.

    Raised again when one more goes on.
    """
    for run in batch.runs:
        kit = day.plan.kit_of(run.unit) if run.unit else None
        circuit = next((c for c in day.plan.circuits if kit is not None and c.name == kit.circuit), None)
        if circuit is None:
            continue
        told: set[str] = set()
        for moment in sorted({run.start.utc, *(r.start.utc for r in _others(day, run, now))}):
            if moment < run.start.utc:
                continue
            on = {r.unit for r in (run, *_others(day, run, now)) if r.unit and _on(r, moment)}
            units = {unit for unit in on if _circuit_of(day.plan, unit) == circuit.name}
            load = load_of(day.plan, circuit, units)
            if load.exceeds and not units <= told:
                told = units
                why = _draws(circuit, units, load)
                remedy = f"switch one off and run them in turn. {load.defer}"
                yield Raised(moment, why, remedy, cause=f"{circuit.name} {sorted(units)}")


def too_much_with(day: Day, unit: str, now: Now) -> str | None:
    """Return what the rule would say were ``unit`` switched on beside what runs now; None where all is well."""
    circuit = next((c for c in day.plan.circuits if c.name == _circuit_of(day.plan, unit)), None)
    if circuit is None:
        return None
    on = {run.unit for batch in day.live for run in batch.runs if run.unit and run.is_on(now)}
    units = {unit, *(other for other in on if _circuit_of(day.plan, other) == circuit.name)}
    load = load_of(day.plan, circuit, units)
    return _draws(circuit, units, load) if load.exceeds else None


def _draws(circuit: Circuit, units: Iterable[str], load: CircuitLoad) -> str:
    return f"{circuit.name}: {' + '.join(sorted(units))} draw {load.exceeds[0]}"


def load_of(plan: Plan, circuit: Circuit, units: Iterable[str]) -> CircuitLoad:
    """Return what ``units`` running together draw from a circuit; those on another draw nothing from it."""
    watts = {unit: _watts(plan, unit) for unit in units if _circuit_of(plan, unit) == circuit.name}
    return circuit_load(
        watts,
        circuit.volts,
        circuit.amps,
        lead_amps=circuit.lead_amps,
        continuous_share=circuit.continuous_share,
    )


def _others(day: Day, run: Run, now: Now) -> list[Run]:
    end = (run.end or now.later(1)).utc
    return [
        other
        for batch in day.live
        for other in batch.runs
        if other is not run and other.start.utc < end and _ends_after(other, run.start.utc)
    ]


def _on(run: Run, moment: datetime) -> bool:
    return run.start.utc <= moment and _ends_after(run, moment)


def _ends_after(run: Run, moment: datetime) -> bool:
    return run.end is None or run.end.utc > moment


def _watts(plan: Plan, unit: str) -> float:
    kit = plan.kit_of(unit)
    return (kit.power_w or 0.0) if kit is not None else 0.0


def _circuit_of(plan: Plan, unit: str) -> str | None:
    kit = plan.kit_of(unit)
    return kit.circuit if kit is not None else None


def boil_dry(day: Day, batch: BatchRecord, now: Now) -> Iterator[Raised]:
    """A unit ran since its last fill beyond its time less the reserve while this batch was in it."""
    for unit in dict.fromkeys(run.unit for run in batch.runs if run.unit):
        kit = day.plan.kit_of(unit)
        lasts = fill_lasts_min(kit) if kit is not None else None
        if lasts is None:
            continue
        for fill in tank_fills(day, unit, now):
            since = fill.reached(to_reserve_min(day, lasts) + SECOND_MIN)
            if since is None:
                continue
            inside = [
                run
                for run in batch.runs
                if run.unit == unit and (run.end or now).utc > since and run.start.utc < fill.spans[-1][1]
            ]
            if not inside:
                continue
            share = f"the reserve is {day.plan.rules.reserve:g} %"
            yield Raised(
                max(since, min(run.start.utc for run in inside)),
                f"{unit} ran {of(fill.ran_min, lasts, 'min')} one fill lasts, {share}",
                "off at the wall, let it cool before you fill it; look at film and yarn for scorch",
                unit,
                f"{unit} {fill.no}",
            )


def scorch_risk(day: Day, batch: BatchRecord, now: Now) -> Iterator[Raised]:
    """A microwave pass much longer than the load needs, or repeated without its rest."""
    for run in batch.runs:
        layer = batch.layer_of(run.layer)
        heats = layer.heats
        if run.pass_no > len(heats) or not KIT_TRAITS[KIT_OF_HEAT[heats[run.pass_no - 1].how]].scorches:
            continue
        had, needs = at_heat_min(run, now), _load_needs_min(day.plan, batch, run)
        limit = needs * day.plan.rules.scorch_factor
        if had > limit + SECOND_MIN:
            since = run.heat_start.later(limit * 60).utc
            burst = f"{had:.1f} min" if had < 100 else length_text(had)
            why = f"microwave {burst}, the load needs {needs:.1f} min"
            yield Raised(since, why, "feel for dry or browned strands, wet it well, and shorten the burst")
        rest, gap = layer.rest_before(run.pass_no), _gap(batch, run)
        if _repeats(day.plan, batch, run, now):
            again = runs_of(batch, run.layer, run.pass_no, until=run.start)
            earlier = again[-1 - pots_of(day.plan.kit_of(run.unit or ""), batch.skeins, batch.base.skein_g)]
            rest = rest or layer.rest_before(run.pass_no + 1)
            gap = minutes(earlier.end or run.start, run.start)
        if rest > 0 and gap is not None and gap < rest - SECOND_MIN:
            why = f"microwaved again after a rest of {of(gap, rest, 'min')}"
            yield Raised(run.start.utc, why, "let it stand so that the heat spreads, and look for scorched strands")


def _load_needs_min(plan: Plan, batch: BatchRecord, run: Run) -> float:
    """Return the minutes one pot-ful needs: the recipe's burst, or less where so small a load is hot sooner.

    The second by the microwave's output where the plan names it; a burst is never called for longer than planned.
    """
    planned = batch.layer_of(run.layer).heat_of(run.pass_no).minutes
    kit = plan.kit_of(run.unit) if run.unit else None
    if kit is None or kit.output_w is None:
        return planned
    holds = kit.skeins_of(batch.base.skein_g)
    dry_g = min(batch.skeins, holds or batch.skeins) * batch.base.skein_g
    liquor_g = liquor_ml(batch.layer_of(run.layer), dry_g)
    return min(planned, microwave_min(dry_g, dry_g + liquor_g, kit.output_w))


def _repeats(plan: Plan, batch: BatchRecord, run: Run, now: Now) -> bool:
    """Tell whether a pot gets the same burst once more. The rest of a burst that was broken off is no second one."""
    kit = plan.kit_of(run.unit) if run.unit else None
    again = runs_of(batch, run.layer, run.pass_no, until=run.start)
    pots = pots_of(kit, batch.skeins, batch.base.skein_g)
    if kit is None or len(again) <= pots:
        return False
    planned = batch.layer_of(run.layer).heat_of(run.pass_no).minutes
    return at_heat_min(again[-1 - pots], now) + at_heat_min(run, now) > planned + SECOND_MIN


def _gap(batch: BatchRecord, run: Run) -> float | None:
    """Return the minutes since the same pot's heat before this one ended; None for the first heat."""
    before = [r for r in runs_of(batch, run.layer, until=run.start) if r.pass_no == run.pass_no - 1]
    same = [r for r in runs_of(batch, run.layer, run.pass_no, until=run.start) if r.start.utc <= run.start.utc]
    pot = len(same) - 1
    if not before or pot < 0:
        return None
    earlier = before[min(pot, len(before) - 1)]
    return minutes(earlier.end, run.start) if earlier.end is not None else None
