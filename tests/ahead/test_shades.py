"""Light colourways before dark ones."""

from __future__ import annotations

from dataclasses import replace

import pytest

from dyeday.ahead.problem_parts.light_to_dark import darkness, shades
from dyeday.craft.dye.colour_difference import luminance
from dyeday.plan.model import Section
from tests.track.days import plan_with


@pytest.mark.parametrize(
    ("swatch", "expected"),
    [("#ffffff", 1.0), ("#000000", 0.0), ("#ff0000", 0.2126), ("#00ff00", 0.7152), ("#808080", 0.2159)],
)
def test_luminance_is_that_of_wcag(swatch: str, expected: float) -> None:
    """WCAG 2.1's definition of relative luminance; mid grey from IEC 61966-2-1's curve."""
    assert luminance(swatch) == pytest.approx(expected, abs=1e-4)


def test_a_colourway_without_swatches_goes_by_its_depth() -> None:
    """Sections count by their shares; more than 4 % DOS is as dark as can be."""
    plan = plan_with()
    way = plan.colourways[0]

    def painted(*sections: Section) -> float:
        layer = replace(way.layers[0], sections=sections)
        return darkness(replace(way, layers=(layer, *way.layers[1:])))

    assert painted(Section(100, None, (("a", 1.0),))) == pytest.approx(0.25)
    assert painted(Section(50, None, (("a", 6.0),)), Section(50, None, ())) == pytest.approx(0.5)
    assert painted(Section(100, "#000000", (("a", 0.5),))) == 1.0


def test_specks_of_powder_go_by_its_weight_and_not_by_their_parts() -> None:
    """0.4 g for 100 g of yarn in 3 parts of one dye and 1 of another, on half of the skein."""
    way = plan_with().colourways[0]
    sections = (Section(50, None, (("a", 3.0), ("b", 1.0))), Section(50, None, ()))
    specks = replace(way.layers[0], sections=sections, powder_g_per_100g=0.4)
    assert darkness(replace(way, layers=(specks,))) == pytest.approx(0.05)


def test_every_colourway_has_a_rank_of_its_own_from_light_to_dark() -> None:
    """So that a change of colourway is a change, however alike two are."""
    plan = plan_with()
    ranks = shades(plan)
    assert sorted(ranks.values()) == list(range(len(plan.colourways)))
    in_order = sorted(plan.colourways, key=lambda colourway: ranks[colourway.name])
    assert [darkness(c) for c in in_order] == sorted(darkness(c) for c in plan.colourways)
