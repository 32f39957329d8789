"""The order of colourways from light to dark, which saves washing brushes and trays."""

from __future__ import annotations

from dyeday.craft.dye.colour_difference import luminance
from dyeday.plan.model import Colourway, Plan, Section

FULL_DEPTH_PCT = 4.0
"""% DOS at which a section without a swatch counts as black; common practice, no source"""


def shades(plan: Plan) -> dict[str, int]:
    """Return the rank of each colourway of the plan by name, 0 for the lightest; ranks differ."""
    by_darkness = sorted(plan.colourways, key=lambda colourway: (darkness(colourway), colourway.name))
    return {colourway.name: rank for rank, colourway in enumerate(by_darkness)}


def darkness(colourway: Colourway) -> float:
    """Return how dark the first layer is, from 0 (white) to 1 (black): its sections' mean by their shares."""
    layer = colourway.layers[0]
    sections = layer.sections
    whole = sum(section.share_pct for section in sections)
    if whole <= 0:
        return 0.0
    return sum(section.share_pct * _of_section(section, layer.powder_g_per_100g) for section in sections) / whole


def _of_section(section: Section, powder_g_per_100g: float | None) -> float:
    if section.swatch is not None:
        return 1.0 - luminance(section.swatch)
    depth_pct = sum(pct for _, pct in section.dyes)
    if depth_pct and powder_g_per_100g is not None:
        depth_pct = powder_g_per_100g
    return min(1.0, depth_pct / FULL_DEPTH_PCT)
