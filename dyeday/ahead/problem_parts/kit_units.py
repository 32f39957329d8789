"""The kit of a day as the scheduler's units, and what its circuits carry."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from math import ceil

from dyeday.ahead.kernel.feasibility import fits
from dyeday.ahead.kernel.problem import Batch, Hold, Unit
from dyeday.plan.model import Circuit
from dyeday.terms import KIT_OF_HEAT, KIT_TRAITS
from dyeday.track.day.day_state import Day

JOIN_MIN = 10
"""A steamer is not opened for another batch later than this after the first went in. Common practice, no source."""
HEATERS = frozenset(kind.value for kind in KIT_OF_HEAT.values())


def units_of(day: Day, batches: Sequence[Batch]) -> Iterable[Unit]:
    """Yield the units of the plan's kit for the scheduler; ``batches`` decide which are worth sharing."""
    circuits = {circuit.name: circuit for circuit in day.plan.circuits}
    for kit in day.plan.kit:
        circuit = circuits.get(kit.circuit or "")
        milliamps = int(1000 * (kit.power_w or 0.0) / circuit.volts) if circuit is not None else 0
        for name in kit.unit_names:
            unit = Unit(
                name=name,
                kind=kit.kind.value,
                holds=kit.holds_skeins,
                holds_mg=ceil(1000 * kit.holds_g) if kit.holds_g is not None else None,
                shared=KIT_TRAITS[kit.kind].hangs,
                join_within=JOIN_MIN if KIT_TRAITS[kit.kind].joined else None,
                milliamps=milliamps,
                circuit=circuit.name if circuit is not None else None,
                free_at=None if day.units[name].is_down else 0,
            )
            together = KIT_TRAITS[kit.kind].together and _two_fit(unit, batches)
            yield replace(unit, shared=True) if together else unit


def _two_fit(unit: Unit, batches: Sequence[Batch]) -> bool:
    """Return whether two batches still to go into its kind may fit together: the smallest, and the lightest."""
    ahead = [b for b in batches if any(h.kind == unit.kind and h.last >= len(b.past) for h in b.holds)]
    skeins, mg = (sum(sorted(sizes)[:2]) for sizes in ([b.skeins for b in ahead], [b.weight_mg for b in ahead]))
    return len(ahead) > 1 and fits(unit, Hold(unit.kind, 0, 0), Batch(None, (), skeins=skeins, weight_mg=mg))


def limit_ma(circuit: Circuit) -> int:
    """Return what may be drawn from a circuit at once, in mA: the least of fuse, lead and continuous share."""
    return int(1000 * min(limits_a(circuit)))


def limits_a(circuit: Circuit) -> list[float]:
    """Return every limit of a circuit, in A: its fuse, its lead, its continuous share."""
    lead = [circuit.lead_amps] if circuit.lead_amps is not None else []
    share = [circuit.amps * circuit.continuous_share] if circuit.continuous_share is not None else []
    return [circuit.amps, *lead, *share]
