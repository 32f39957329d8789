"""Rules about current, tanks and the microwave: too much on a circuit, a tank run low, wool scorched dry."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime

from dyeday.craft.electric import CircuitLoad, circuit_load
from dyeday.craft.yarn.heat_into_yarn import microwave_min
from dyeday.plan.amounts import liquor_ml
from dyeday.plan.model import Circuit, Plan, pots_of
from dyeday.terms import KIT_OF_HEAT, KIT_TRAITS
from dyeday.track.day.batch_record import BatchRecord, Heat
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import at_heat_min, heats_of
from dyeday.track.day.tank_time import fill_lasts_min, tank_fills, to_reserve_min
from dyeday.track.flags.rule import RaisedFlag, of
from dyeday.track.timestamp import SECOND_MIN, Now, length_text, minutes


def overloaded_circuit(day: Day, batch: BatchRecord, now: Now) -> Iterator[RaisedFlag]:
    """Units running together draw more than the circuit, its lead, or its continuous share allow.

    Raised again when one more goes on.
    """
    for heat in batch.heats:
        kit = day.plan.kit_of(heat.unit) if heat.unit else None
        circuit = next((c for c in day.plan.circuits if kit is not None and c.name == kit.circuit), None)
        if circuit is None:
            continue
        told: set[str] = set()
        for moment in sorted({heat.start.utc, *(r.start.utc for r in _others(day, heat, now))}):
            if moment < heat.start.utc:
                continue
            on = {r.unit for r in (heat, *_others(day, heat, now)) if r.unit and _on(r, moment)}
            units = {unit for unit in on if _circuit_of(day.plan, unit) == circuit.name}
            load = load_of(day.plan, circuit, units)
            if load.exceeds and not units <= told:
                told = units
                why = _draws(circuit, units, load)
                remedy = f"switch one off and run them in turn. {load.defer}"
                yield RaisedFlag(moment, why, remedy, cause=f"{circuit.name} {sorted(units)}")


def too_much_with(day: Day, unit: str, now: Now) -> str | None:
    """Return what the rule would say were ``unit`` switched on beside what runs now; None where all is well."""
    circuit = next((c for c in day.plan.circuits if c.name == _circuit_of(day.plan, unit)), None)
    if circuit is None:
        return None
    on = {heat.unit for batch in day.live for heat in batch.heats if heat.unit and heat.is_on(now)}
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


def _others(day: Day, heat: Heat, now: Now) -> list[Heat]:
    end = (heat.end or now.later(1)).utc
    return [
        other
        for batch in day.live
        for other in batch.heats
        if other is not heat and other.start.utc < end and _ends_after(other, heat.start.utc)
    ]


def _on(heat: Heat, moment: datetime) -> bool:
    return heat.start.utc <= moment and _ends_after(heat, moment)


def _ends_after(heat: Heat, moment: datetime) -> bool:
    return heat.end is None or heat.end.utc > moment


def _watts(plan: Plan, unit: str) -> float:
    kit = plan.kit_of(unit)
    return (kit.power_w or 0.0) if kit is not None else 0.0


def _circuit_of(plan: Plan, unit: str) -> str | None:
    kit = plan.kit_of(unit)
    return kit.circuit if kit is not None else None


def boil_dry(day: Day, batch: BatchRecord, now: Now) -> Iterator[RaisedFlag]:
    """A unit ran since its last fill beyond its time less the reserve while this batch was in it."""
    for unit in dict.fromkeys(heat.unit for heat in batch.heats if heat.unit):
        kit = day.plan.kit_of(unit)
        lasts = fill_lasts_min(kit) if kit is not None else None
        if lasts is None:
            continue
        for fill in tank_fills(day, unit, now):
            since = fill.reached(to_reserve_min(day, lasts) + SECOND_MIN)
            if since is None:
                continue
            inside = [
                heat
                for heat in batch.heats
                if heat.unit == unit and (heat.end or now).utc > since and heat.start.utc < fill.spans[-1][1]
            ]
            if not inside:
                continue
            share = f"the reserve is {day.plan.rules.reserve:g} %"
            yield RaisedFlag(
                max(since, min(heat.start.utc for heat in inside)),
                f"{unit} ran {of(fill.ran_min, lasts, 'min')} one fill lasts, {share}",
                "off at the wall, let it cool before you fill it; look at film and yarn for scorch",
                unit,
                f"{unit} {fill.no}",
            )


def scorch_risk(day: Day, batch: BatchRecord, now: Now) -> Iterator[RaisedFlag]:
    """A microwave burst much longer than the load needs, or repeated without its rest."""
    for heat in batch.heats:
        layer = batch.layer_of(heat.layer)
        heats = layer.heats
        if heat.heat_no > len(heats) or not KIT_TRAITS[KIT_OF_HEAT[heats[heat.heat_no - 1].how]].scorches:
            continue
        had, needs = at_heat_min(heat, now), _load_needs_min(day.plan, batch, heat)
        limit = needs * day.plan.rules.scorch_factor
        if had > limit + SECOND_MIN:
            since = heat.heat_start.later(limit * 60).utc
            burst = f"{had:.1f} min" if had < 100 else length_text(had)
            why = f"microwave {burst}, the load needs {needs:.1f} min"
            yield RaisedFlag(since, why, "feel for dry or browned strands, wet it well, and shorten the burst")
        rest, gap = layer.rest_before(heat.heat_no), _gap(batch, heat)
        if _repeats(day.plan, batch, heat, now):
            again = heats_of(batch, heat.layer, heat.heat_no, until=heat.start)
            earlier = again[-1 - pots_of(day.plan.kit_of(heat.unit or ""), batch.skeins, batch.base.skein_g)]
            rest = rest or layer.rest_before(heat.heat_no + 1)
            gap = minutes(earlier.end or heat.start, heat.start)
        if rest > 0 and gap is not None and gap < rest - SECOND_MIN:
            why = f"microwaved again after a rest of {of(gap, rest, 'min')}"
            yield RaisedFlag(
                heat.start.utc, why, "let it stand so that the heat spreads, and look for scorched strands"
            )


def _load_needs_min(plan: Plan, batch: BatchRecord, heat: Heat) -> float:
    """Return the minutes one pot-ful needs: the recipe's burst, or less where so small a load is hot sooner.

    The second by the microwave's output where the plan names it; a burst is never called for longer than planned.
    """
    planned = batch.layer_of(heat.layer).heat_of(heat.heat_no).minutes
    kit = plan.kit_of(heat.unit) if heat.unit else None
    if kit is None or kit.output_w is None:
        return planned
    holds = kit.skeins_of(batch.base.skein_g)
    dry_g = min(batch.skeins, holds or batch.skeins) * batch.base.skein_g
    liquor_g = liquor_ml(batch.layer_of(heat.layer), dry_g)
    return min(planned, microwave_min(dry_g, dry_g + liquor_g, kit.output_w))


def _repeats(plan: Plan, batch: BatchRecord, heat: Heat, now: Now) -> bool:
    """Tell whether a pot gets the same burst once more. The rest of a burst that was broken off is no second one."""
    kit = plan.kit_of(heat.unit) if heat.unit else None
    again = heats_of(batch, heat.layer, heat.heat_no, until=heat.start)
    pots = pots_of(kit, batch.skeins, batch.base.skein_g)
    if kit is None or len(again) <= pots:
        return False
    planned = batch.layer_of(heat.layer).heat_of(heat.heat_no).minutes
    return at_heat_min(again[-1 - pots], now) + at_heat_min(heat, now) > planned + SECOND_MIN


def _gap(batch: BatchRecord, heat: Heat) -> float | None:
    """Return the minutes since the same pot's heat before this one ended; None for the first heat."""
    before = [r for r in heats_of(batch, heat.layer, until=heat.start) if r.heat_no == heat.heat_no - 1]
    same = [r for r in heats_of(batch, heat.layer, heat.heat_no, until=heat.start) if r.start.utc <= heat.start.utc]
    pot = len(same) - 1
    if not before or pot < 0:
        return None
    earlier = before[min(pot, len(before) - 1)]
    return minutes(earlier.end, heat.start) if earlier.end is not None else None
