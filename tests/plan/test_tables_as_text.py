"""Single tables written for the end of a plan are read back as the same values, whatever they are."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dyeday.plan.model import Base, Colourway, Dye, FixStep, Layer, Order, Plan, Section
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.writing.plan_text import item_text
from dyeday.terms import AcidPlace, CoolWhere, Cover, DyeMethod, Form, HeatKind
from dyeday.text import harmless
from tests.fakes import HEAVY_DAY, SHORT_DAY
from tests.plan.plans import plan_text

NAMES = (
    st.text(st.characters(categories=["L", "N", "P", "S", "Zs"]), min_size=1, max_size=20)
    .map(lambda text: " ".join(harmless(text).split()))  # as every name in a plan is
    .filter(bool)
)
FEW = settings(max_examples=10)
DYES = ("Peat", 'Say "rust" \\ iron', "Grün = 3")


def amounts(low: float, high: float) -> st.SearchStrategy[float]:
    """Amounts as people have them: five digits that count."""
    return st.floats(low, high, allow_nan=False).map(lambda x: float(f"{x:.5g}") if x >= 0.001 else 0.0)


@st.composite
def layers(draw: st.DrawFn, index: int = 0) -> Layer:
    how = draw(st.sampled_from(DyeMethod))
    immersed = how is DyeMethod.IMMERSED
    powder = draw(st.none() | amounts(0.01, 40)) if how is DyeMethod.SPECKLED else None
    acid_in = draw(st.sampled_from(AcidPlace))
    said = index == 0 or immersed or draw(st.booleans())
    shares = draw(st.sampled_from([(100.0,), (50.0, 50.0), (33.3, 33.3, 33.4), (12.5, 87.5)]))
    sections = tuple(
        Section(
            share,
            draw(st.sampled_from([None, "#5b4632", "#ABCDEF"])),
            tuple((name, draw(amounts(0.01, 19))) for name in draw(st.sets(st.sampled_from(DYES), min_size=1))),
        )
        for share in shares
    )
    return Layer(
        how=how,
        sections=sections,
        fix=(
            FixStep(
                draw(st.sampled_from([HeatKind.STEAM, HeatKind.MICROWAVE, HeatKind.SIMMER])), draw(amounts(0.5, 500))
            ),
            FixStep(HeatKind.REST, draw(amounts(0.5, 500))),
        ),
        minutes_per_100g=draw(amounts(0, 500)),
        setup_min=draw(amounts(0, 500)),
        liquor_ml_per_100g=draw(amounts(1, 190).map(lambda x: x * 100)) if immersed else draw(amounts(1, 4000)),
        powder_g_per_100g=powder,
        cover=draw(st.sampled_from(Cover)),
        acid_in=acid_in,
        own_acid_soak=acid_in is AcidPlace.SOAK and said,
        cool_min=draw(amounts(0, 2000)),
        cool_where=draw(st.sampled_from(CoolWhere)),
    )


def read_with(more: str) -> Plan:
    """Return the small plan with the dyes, and ``more`` tables."""
    dyes = "".join(item_text(Dye(name)) for name in DYES[1:])
    return read_plan(plan_text({}, f"{dyes}\n{more}"))


@FEW
@given(st.data())
def test_a_colourway_comes_back_the_same(data: st.DataObject) -> None:
    """Every key of one layer or several, with any name a plan takes."""
    count = data.draw(st.integers(1, 3))
    colourway = Colourway(
        name=data.draw(NAMES.filter(lambda name: name != "Bog")),
        layers=tuple(data.draw(layers(n)) for n in range(count)),
        rinse_min_per_100g=data.draw(amounts(0, 200)),
        dry_h=data.draw(amounts(0, 300)),
        steps=tuple(data.draw(st.lists(NAMES, max_size=3))),
    )
    assert read_with(item_text(colourway)).colourways[-1] == colourway


@FEW
@given(NAMES.filter(lambda name: name != "Sock"), amounts(1, 4000), st.none() | amounts(1, 900), amounts(0, 1000))
def test_a_base_comes_back_the_same(name: str, skein: float, length: float | None, soak: float) -> None:
    """As a table at the end of a plan."""
    base = Base(name, (("wool", 60.0), ("silk", 40.0)), skein, length, Form.BLANK, soak, None, 4.5, 18.0, "by hand")
    assert read_with(item_text(base)).bases[-1] == base


@FEW
@given(NAMES.filter(lambda name: name not in DYES), amounts(0.01, 30), st.none() | amounts(0, 500))
def test_a_dye_comes_back_the_same(name: str, solution: float, steam: float | None) -> None:
    """As a table at the end of a plan."""
    dye = Dye(name, solution, price_per_g=0.31, min_steam_min=steam, expected_exhaustion_pct=82.5)
    assert read_with(item_text(dye)).dyes[-1] == dye


@FEW
@given(NAMES, st.integers(1, 900), st.none() | st.dates(date(2000, 1, 1), date(2100, 1, 1)), st.booleans())
def test_an_order_comes_back_the_same(item: str, skeins: int, due: date | None, match: bool) -> None:
    """At the end of a plan that has one already."""
    order = Order(item, "Bog", "Sock", skeins, due, 3, match, 2, 17.5)
    assert read_with(item_text(order)).orders[-1] == order


@pytest.mark.parametrize("path", [SHORT_DAY, HEAVY_DAY], ids=lambda path: path.name)
def test_every_colourway_of_the_examples_comes_back_the_same(path: Path) -> None:
    """As the reader made it."""
    text = path.read_text(encoding="utf-8")
    read = read_plan(text)
    for colourway in read.colourways:
        renamed = Colourway(f"{colourway.name} II", colourway.layers, colourway.rinse_min_per_100g, colourway.dry_h,
                            colourway.steps)  # fmt: skip
        assert read_plan(f"{text}\n{item_text(renamed)}").colourways[-1] == renamed
