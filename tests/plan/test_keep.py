"""A plan kept as plain JSON comes back exactly, and what has not its shape is refused."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dyeday.plan.model import Batch, Colourway, FixStep, Kit, Layer, Order, Plan, Section, Session, Water
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.serialize import from_plain, to_plain
from dyeday.terms import DyeMethod, HeatKind, KitKind
from tests.plan.plans import plan

FLOATS = st.floats(allow_nan=False, allow_infinity=False)
TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
PAIRS = st.tuples(TEXTS, FLOATS)
MAYBE = st.none() | FLOATS
SECTIONS = st.builds(Section, FLOATS, st.none() | TEXTS, st.lists(PAIRS, max_size=2).map(tuple))
LAYERS = st.builds(
    Layer,
    how=st.sampled_from(DyeMethod),
    sections=st.lists(SECTIONS, max_size=2).map(tuple),
    fix=st.lists(st.builds(FixStep, st.sampled_from(HeatKind), FLOATS), max_size=2).map(tuple),
    powder_g_per_100g=MAYBE,
    own_acid_soak=st.booleans(),
)
ORDERS = st.builds(
    Order,
    TEXTS,
    TEXTS,
    TEXTS,
    st.integers(),
    due=st.none() | st.dates(),
    match=st.booleans(),
)
KIT = st.builds(Kit, TEXTS, st.sampled_from(KitKind), st.integers(0, 9), st.none() | st.integers(), MAYBE)
BATCHES = st.builds(Batch, TEXTS, TEXTS, TEXTS, st.integers(), shares=st.just((("Shop", 3), ("Other", 1))))
PLANS = st.builds(
    Plan,
    session=st.builds(
        Session,
        TEXTS,
        st.dates(),
        st.integers(),
        st.integers(),
        breaks=st.just(((780, 810),)),
        zone=st.none() | TEXTS,
    ),
    water=st.builds(Water, MAYBE, MAYBE, FLOATS, FLOATS),
    kit=st.lists(KIT, max_size=2).map(tuple),
    colourways=st.lists(
        st.builds(Colourway, TEXTS, st.lists(LAYERS, max_size=2).map(tuple), steps=st.just(("one", "two"))),
        max_size=2,
    ).map(tuple),
    orders=st.lists(ORDERS, max_size=2).map(tuple),
    batches=st.lists(BATCHES, max_size=2).map(tuple),
)


@given(PLANS)
def test_a_plan_goes_through_json_and_back_unchanged(kept: Plan) -> None:
    """Every float to its last digit, every date, every absent value as absent."""
    back = from_plain(Plan, json.loads(json.dumps(to_plain(kept))))

    assert back == kept
    assert repr(back) == repr(kept)


@pytest.mark.parametrize(
    "path", sorted((Path(__file__).parents[2] / "examples").glob("*.toml")), ids=lambda p: p.name
)
def test_an_example_goes_through_json_and_back_unchanged(path: Path) -> None:
    """A begun session keeps its plan this way."""
    read = read_plan(path.read_text(encoding="utf-8"))

    assert from_plain(Plan, json.loads(json.dumps(to_plain(read)))) == read


def test_what_a_kept_plan_lacks_takes_its_default() -> None:
    """A plan kept before a field was added still opens."""
    data = to_plain(plan())
    del data["water"], data["jug_ml"], data["orders"][0]["priority"]

    back = from_plain(Plan, data)

    assert (back.water, back.jug_ml, back.orders[0].priority) == (Water(), 5.0, 5)


def test_what_a_newer_version_added_is_passed_over() -> None:
    """An unknown key in a kept plan does no harm."""
    assert from_plain(Plan, {**to_plain(plan()), "moon": "full"}) == plan()


def test_a_whole_number_where_a_float_belongs_is_a_float() -> None:
    """JSON from elsewhere may write 5.0 as 5."""
    water = from_plain(Water, {"alkalinity_mg_l": 180})

    assert (water.alkalinity_mg_l, type(water.alkalinity_mg_l)) == (180.0, float)


@pytest.mark.parametrize(
    ("cls", "data"),
    [
        (Water, {"temperature_c": "warm"}),
        (Water, {"temperature_c": True}),
        (Water, {"temperature_c": None}),
        (Water, ["temperature_c"]),
        (Order, {"item": "a", "colourway": "b", "base": "c", "skeins": 2.5}),
        (Order, {"item": "a", "colourway": "b", "base": "c", "skeins": True}),
        (Order, {"item": "a", "colourway": "b", "base": "c", "skeins": 2, "due": "2026-02-30"}),
        (Order, {"item": "a", "colourway": "b", "base": "c", "skeins": 2, "match": 1}),
        (Order, {"item": "a"}),
        (Batch, {"no": "01", "colourway": "a", "base": "b", "skeins": 1, "shares": [["Shop"]]}),
        (Session, {"name": "a", "date": "2026-03-14", "start_min": 0, "stop_min": 1, "zone": 5}),
        (Plan, {"session": []}),
        (Plan, {"session": None}),
    ],
)
def test_data_of_another_shape_is_refused(cls: type[Any], data: Any) -> None:
    """Nothing is taken for something it is not."""
    with pytest.raises((TypeError, ValueError, KeyError)):
        from_plain(cls, data)


def test_dates_are_kept_as_iso_8601() -> None:
    """Readable to a person and to any other program."""
    assert to_plain(Order("a", "b", "c", 1, due=date(2026, 5, 9)))["due"] == "2026-05-09"
