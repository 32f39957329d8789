"""Filling a steamer's tank with each load, where one fill does not last two heats."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import timedelta

from dyeday.ahead.foreseen_steps import Planned
from dyeday.plan.equipment import Kit
from dyeday.plan.model import Plan
from dyeday.terms import KIT_OF_HEAT, StepKind
from dyeday.track.day.progress import FILL_MIN
from dyeday.track.timers.timers import fill_lasts_min, to_reserve_min


def fills_each_load(plan: Plan, kit: Kit | None, heat_min: float) -> bool:
    """Return whether its tank is filled with each load: ``heat_min`` and the plan's longest heat would run it low."""
    lasts = fill_lasts_min(kit)
    if kit is None or lasts is None:
        return False
    layers = (layer for colourway in plan.colourways for layer in colourway.layers)
    heats = (heat.minutes for layer in layers for heat in layer.heats if KIT_OF_HEAT[heat.how] is kit.kind)
    longest_min = max(heats, default=0.0) + kit.warm_up_min
    return to_reserve_min(plan, lasts) < heat_min + longest_min


def with_fills(plan: Plan, steps: Iterable[Planned]) -> list[Planned]:
    """Return steps in order, each fill of a tank apart from its load; a batch that joins others fills nothing."""
    every = list(steps)
    heats = [step for step in every if step.kind is StepKind.HEAT]
    out: list[Planned] = []
    for step in every:
        key = (step.batch, step.id.layer, step.id.heat)
        heat = next((h for h in heats if (h.batch, h.id.layer, h.id.heat) == key), None)
        on = any(h.unit == step.unit and h.start < step.end <= h.end for h in heats if h is not heat)
        if (
            step.kind is StepKind.LOAD
            and heat is not None
            and not on
            and step.minutes > FILL_MIN
            and fills_each_load(plan, plan.kit_of(step.unit), heat.minutes)
        ):
            filled = step.start + timedelta(minutes=FILL_MIN)
            out.append(replace(step, id=step.id._replace(kind=StepKind.FILL), end=filled))
            step = replace(step, start=filled)
        out.append(step)
    return out
