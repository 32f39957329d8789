"""The rule about units that together draw more than their circuit or its lead allows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from dyeday.craft.electric import WIRING_CAUTION, CircuitLoad, circuit_load
from dyeday.plan.model import Circuit, Plan
from dyeday.track.day.batch_record import BatchRecord, Heat
from dyeday.track.day.day_state import Day
from dyeday.track.flags.rule import RaisedFlag
from dyeday.track.timestamp import Moment


def overloaded_circuit(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """Units draw more than circuit, lead or continuous share allow; raised again when another is switched on."""
    for heat in batch.heats:
        if (circuit := _circuit_of(day.plan, heat.unit)) is None:
            continue
        together = _on_with(day, heat, now)
        flagged: list[set[str]] = []
        for moment in sorted({one.start.utc for one in together if one.start.utc >= heat.start.utc}):
            begun = (one for one in together if one.start.utc <= moment)
            on = [one for one in begun if one.end is None or one.end.utc > moment]
            units = of_circuit(day.plan, circuit, (one.unit for one in on))
            load = draw_of(day.plan, circuit, units)
            if load.exceeds and not any(units <= before for before in flagged):
                flagged.append(units)
                still_on = draw_of(day.plan, circuit, (one.unit for one in together if one.is_on(now)))
                do = "switch one off" if still_on.exceeds else "check that plug, socket and lead stayed cool,"
                remedy = f"{do} and run them in turn. {WIRING_CAUTION}"
                since = max(min(one.start.utc for one in on if one.unit == unit) for unit in units)
                cause = f"{circuit.name} {sorted(units)} {since}"
                yield RaisedFlag(moment, _draws(circuit, units, load), remedy, cause=cause)


def overload_with(day: Day, unit: str | None, now: Moment) -> str:
    """Return what the rule would raise if ``unit`` were switched on beside what runs now; "" if nothing."""
    if (circuit := _circuit_of(day.plan, unit)) is None:
        return ""
    on = {heat.unit for batch in day.unsplit for heat in batch.heats if heat.is_on(now)}
    units = of_circuit(day.plan, circuit, {unit, *on})
    load = draw_of(day.plan, circuit, units)
    return _draws(circuit, units, load) if load.exceeds else ""


def _draws(circuit: Circuit, units: Iterable[str], load: CircuitLoad) -> str:
    return f"{circuit.name}: {' + '.join(sorted(units))} draw {load.exceeds[0]}"


def draw_of(plan: Plan, circuit: Circuit, units: Iterable[str | None]) -> CircuitLoad:
    """Return what those of ``units`` that a circuit feeds draw together."""
    kits = {unit: plan.kit_of(unit) for unit in of_circuit(plan, circuit, units)}
    return circuit_load(
        {unit: kit.power_w or 0.0 for unit, kit in kits.items() if kit is not None},
        circuit.volts,
        circuit.amps,
        lead_amps=circuit.lead_amps,
        continuous_share=circuit.continuous_share,
    )


def _on_with(day: Day, heat: Heat, now: Moment) -> list[Heat]:
    end = (heat.end or now.later(1)).utc
    begun = (one for batch in day.unsplit for one in batch.heats if one.start.utc < end)
    return [one for one in begun if one.end is None or one.end.utc > heat.start.utc]


def of_circuit(plan: Plan, circuit: Circuit, units: Iterable[str | None]) -> set[str]:
    """Return those of ``units`` that a circuit feeds."""
    return {unit for unit in units if unit and _circuit_of(plan, unit) == circuit}


def _circuit_of(plan: Plan, unit: str | None) -> Circuit | None:
    kit = plan.kit_of(unit)
    return next((circuit for circuit in plan.circuits if kit is not None and circuit.name == kit.circuit), None)
