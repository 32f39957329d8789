"""How much dye a recipe needs for a weight of yarn."""

from __future__ import annotations

from functools import lru_cache

from dyeday.craft.dye import depth_of_shade as shade
from dyeday.plan.model import Colourway, Dye, Layer, Plan
from dyeday.quick_dataclass import dataclass
from dyeday.terms import DyeMethod

WASTE_PCT = 5.0
"""Solution mixed beyond what is needed, for what stays in jug and pipette; common practice, no source."""


@dataclass(frozen=True, slots=True)
class PlannedDye:
    """One dye of one section of one layer (both from 1). ``solution_ml`` is None where it goes on as powder."""

    dye: str
    layer: int
    section: int
    powder_g: float
    solution_ml: float | None


def planned_dyes(plan: Plan, colourway: Colourway, wof_g: float) -> list[PlannedDye]:
    """Return what ``wof_g`` of dry yarn takes, in the order of layers, sections and dyes."""
    layers = enumerate(colourway.layers, 1)
    return [dye for number, layer in layers for dye in layer_dyes(plan, layer, number, wof_g)]


def layer_dyes(plan: Plan, layer: Layer, number: int, wof_g: float) -> tuple[PlannedDye, ...]:
    """Return what one layer takes. Powder is shared out by section, then by the dyes' parts."""
    pcts = tuple((dye.name, dye.solution_pct) for dye in reversed(plan.dyes))  # the first of a name counts
    return _layer_dyes(pcts, layer, number, wof_g)


@lru_cache(1024)
def _layer_dyes(
    solution_pcts: tuple[tuple[str, float], ...], layer: Layer, number: int, wof_g: float
) -> tuple[PlannedDye, ...]:
    out = []
    pct_of = dict(solution_pcts)
    powder = layer.powder_g_per_100g
    total_pct = sum(section.share_pct for section in layer.sections)  # three thirds are written 33.3
    for place, section in enumerate(layer.sections, 1):
        part_g = wof_g * section.share_pct / total_pct
        parts = sum(amount for _, amount in section.dyes)
        for name, amount in section.dyes:
            if powder is not None:
                grams = shade.speckle_powder_g(part_g, powder) * amount / parts
                out.append(PlannedDye(name, number, place, grams, None))
                continue
            grams, strength_pct = shade.powder_g(part_g, amount), pct_of.get(name) or Dye(name).solution_pct
            out.append(PlannedDye(name, number, place, grams, shade.solution_ml(grams, strength_pct)))
    return tuple(out)


def liquor_ml(layer: Layer, wof_g: float) -> float:
    """Return the liquor a layer makes up for ``wof_g`` of dry yarn, in mL: for the part of it that gets dye.

    None for powder, and for dye that is flicked on: no water is added to its solutions.
    """
    if layer.powder_g_per_100g is not None:
        return 0.0
    return layer.liquor_ml_per_100g * wof_g * dyed_share(layer) / 100


def dyed_share(layer: Layer) -> float:
    """Return the share of yarn that a layer wets, 0 to 1: all of it in a bath, else its sections that have dye."""
    whole = sum(section.share_pct for section in layer.sections)
    dyed = sum(section.share_pct for section in layer.sections if section.dyes)
    return 1.0 if layer.how is DyeMethod.IMMERSED or not dyed else dyed / whole
