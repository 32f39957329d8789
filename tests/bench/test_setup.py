"""The studio set up on the screen: kept, judged by the reader of plans, and never lost."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from textual.widgets import Input, Static

from dyeday.bench.setup.colourway import judged_colourway, shares_of, typed_colourway
from dyeday.bench.setup.desk import SetupDesk, SetupError
from dyeday.bench.setup.form_screen import FormScreen
from dyeday.bench.setup.forms import form_of
from dyeday.bench.setup.setup_screen import SetupApp
from dyeday.bench.setup.steps import ACID, BASES, COLOURWAYS, DYES, HOURS, JUG, KIT, SCALE, STEPS, WATER, Step
from dyeday.bench.setup.typed import judged_table, typed_of
from dyeday.bench.setup.usual import COLOURWAYS as WAYS
from dyeday.bench.setup.usual import PALETTE, USUAL
from dyeday.commands.days.check_and_begin import load
from dyeday.plan.library import Library
from dyeday.plan.model import Base, Colourway, Dye
from dyeday.plan.weigh_out import weigh_out
from dyeday.store.records.library import LibraryRecords
from tests.bench.setup_keys import DAY, setup_presses
from tests.bench.setup_keys import DYES as DYE_NAMES

LIBRARY = Library(dyes=tuple(Dye(name) for name in DYE_NAMES))


def test_from_an_empty_home_to_a_begun_day_in_three_hundred_presses(tmp_path: Path) -> None:
    """The plan it wrote reads back, names its water, says what things are, and has acid for its water."""
    assert setup_presses(tmp_path)["setup"]["presses"] <= 300
    library = LibraryRecords(tmp_path / "data").library()
    assert len({kit.name for kit in library.kit}) == 5
    assert [len(way.layers) for way in library.colourways] == [1, 2, 1]
    file = tmp_path / f"{DAY:%Y-%m-%d}.toml"
    plan, text = load(file, library)
    assert plan.water.alkalinity_mg_l == 120
    assert [order.skeins for order in plan.orders] == [3, 2, 4, 2]
    assert "# Your tap water" in text
    assert "# The acid is vinegar 5 %, to pH 4.5" in text
    assert "# colourway: Peat, Dusk, Moor" in text
    assert weigh_out(plan).acid > 0
    assert all((batch.soak is None) == (batch.acid_soaks == 0) for batch in weigh_out(plan).batches)


@pytest.mark.parametrize(
    ("step", "values", "field", "why"),
    [
        (WATER, {"alkalinity": "9000"}, "alkalinity", "9000"),
        (WATER, {"temperature": "3 km"}, "temperature", "is a length"),
        (KIT, {"name": "pot", "kind": "pot"}, "holds", "has no holds"),
        (KIT, {"name": "pot", "kind": "pot", "holds": "2", "circuit": "attic"}, "circuit", "no [[circuit]]"),
        (BASES, {"name": "A", "fibre": "70 wool, 20 nylon"}, "fibre", "add to 90"),
        (BASES, {"name": "A", "fibre": "wool, nylon"}, "fibre", "not a percentage"),
        (HOURS, {"start": "10:00", "stop": "09:00"}, "stop", "not after start"),
        (HOURS, {"breaks": "13:00"}, "breaks", "no span"),
        (ACID, {"kind": "citric solution"}, "strength", "not given"),
        (SCALE, {"resolution": "1 kg"}, "resolution", "1 kg"),
        (JUG, {"resolution": "0"}, "resolution", "0"),
        (DYES, {}, "name", "has no name"),
        (DYES, {"name": "Ochre"}, "", "a second [[dye]]"),
    ],
)
def test_a_mistake_is_told_at_its_field_in_the_readers_words(
    step: Step, values: dict[str, str], field: str, why: str
) -> None:
    assert why in judged_table(step, values, {}, LIBRARY, "").problems[field]


def test_what_is_not_typed_has_its_usual_value() -> None:
    base = judged_table(BASES, {"name": "Sock", "fibre": "75 superwash BFL, 25 nylon"}, {}, LIBRARY, "").thing
    assert isinstance(base, Base)
    assert (base.skein_g, base.soak_min) == (100, 20)
    assert base.fibre == (("superwash wool", 75.0), ("nylon", 25.0))
    assert judged_table(HOURS, {}, {}, LIBRARY, "").thing.session.stop_min == 17 * 60


@pytest.mark.parametrize("step", [step for step in STEPS if step.kept in USUAL])
def test_everything_usual_is_sound_and_comes_back_as_it_was_typed(step: Step) -> None:
    for _, values in USUAL[step.kept]:
        thing = judged_table(step, dict(values), {}, LIBRARY, "").thing
        assert thing is not None, values
        kept = Library(kit=(thing,)) if step is KIT else Library(bases=(thing,))
        again, rest = typed_of(step, kept, thing.name)
        assert judged_table(step, again, rest, kept, thing.name).thing == thing


def test_every_usual_colourway_is_sound_and_comes_back_as_it_was_typed() -> None:
    for _, values in WAYS:
        way = judged_colourway({**values, "name": "Peat", "1.1.dyes": "och 2, navy .5"}, {}, LIBRARY, "").thing
        assert isinstance(way, Colourway)
        kept = Library(dyes=LIBRARY.dyes, colourways=(way,))
        assert judged_colourway(*typed_colourway(kept, "Peat"), kept, "Peat").thing == way


@given(st.lists(st.one_of(st.just(""), st.integers(1, 999).map(str)), min_size=1, max_size=12))
def test_shares_always_add_up(typed: list[str]) -> None:
    """As a plan counts it: within half a percent."""
    shares = shares_of(typed)
    assert all(share is not None and share > 0 for share in shares)
    assert sum(share or 0 for share in shares) == pytest.approx(100, abs=0.5)


TYPED = st.text(max_size=20).filter(lambda said: "\n" not in said and "\r" not in said)


@settings(max_examples=60, deadline=None)
@given(st.sampled_from([step for step in STEPS if step is not COLOURWAYS]), st.data())
def test_whatever_is_typed_is_taken_or_told_why_not(step: Step, data: st.DataObject) -> None:
    values = {field.key: data.draw(TYPED) for field in step.fields}
    judged = judged_table(step, values, {}, LIBRARY, "")
    assert (judged.thing is None) == bool(judged.problems)


@settings(max_examples=60, deadline=None)
@given(st.fixed_dictionaries(dict.fromkeys(("name", "1.how", "1.fix", "1.1.colour", "1.1.share", "1.1.dyes"), TYPED)))
def test_whatever_is_typed_of_a_colourway_is_taken_or_told_why_not(values: dict[str, str]) -> None:
    judged = judged_colourway(values, {}, LIBRARY, "")
    assert (judged.thing is None) == bool(judged.problems)


def test_a_section_says_its_grams_and_what_check_would_say() -> None:
    """2.5 % of 40 g, and more than 2 % wants 45 min at heat."""
    values = {"name": "Peat", "1.sections": "2", "1.1.share": "40", "1.1.colour": "moss", "1.1.dyes": "Ochre 2.5"}
    judged = judged_colourway(values, {}, LIBRARY, "")
    assert judged.beside["1.1.dyes"] == "Ochre 1 g"
    assert judged.beside["1.2.dyes"] == "undyed"
    assert judged.beside["1.2.share"] == "60 %"
    assert judged.swatches["1.1.colour"] == PALETTE["moss"]
    assert "needs 45 min" not in "".join(judged.problems.values())
    assert any("need 45 min" in each for each in judged.advice)


def test_killed_at_any_key_setup_goes_on_where_it_was(tmp_path: Path) -> None:
    """Each app is dropped without being left; the next one opens the same form with the same letters."""

    async def script() -> None:
        typed = "Peat"
        for n in range(1, len(typed) + 1):
            app = SetupApp(SetupDesk(tmp_path))
            async with app.run_test(size=(80, 24)) as pilot:
                await pilot.pause()
                if n == 1:
                    await pilot.press("d", "a")
                    await pilot.pause()
                assert isinstance(app.screen, FormScreen)
                box = app.screen.query(Input).first()
                assert box.value == typed[: n - 1]
                await pilot.press("end", typed[n - 1])
                await pilot.pause()

    asyncio.run(script())
    assert SetupDesk(tmp_path).draft(DYES, "") == {"name": "Peat"}


def test_escape_keeps_what_is_half_typed_and_says_so(tmp_path: Path) -> None:
    desk = SetupDesk(tmp_path)

    async def script() -> None:
        app = SetupApp(desk)
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("w", "9", "9", "9", "9", "ctrl+s")
            await pilot.pause()
            assert "9999" in str(app.screen.query_one("#form-message", Static).render())
            await pilot.press("escape")
            await pilot.pause()
            assert "kept as you typed it" in str(app.screen.query_one("#form-message", Static).render())

    asyncio.run(script())
    assert desk.library.studio is None
    assert desk.summary(WATER).endswith("(half typed)")


def test_a_dye_that_a_colourway_names_is_neither_taken_out_nor_renamed(tmp_path: Path) -> None:
    desk = SetupDesk(tmp_path)
    for name in DYE_NAMES[:1]:
        desk.put(DYES, Dye(name))
    form = form_of(desk, COLOURWAYS)
    form.fill({"name": "Peat", "1.1.dyes": "Ochre 1"})
    form.save()
    with pytest.raises(SetupError, match="used by 'Peat'"):
        desk.remove(DYES, "Ochre")
    dye = form_of(desk, DYES, "Ochre")
    dye.type("name", "Gold")
    with pytest.raises(SetupError, match="used by 'Peat'"):
        dye.save()
    desk.remove(COLOURWAYS, "Peat")
    assert dye.save() == "Gold is kept"
    assert [each.name for each in SetupDesk(tmp_path).library.dyes] == ["Gold"]


def test_a_form_keeps_the_keys_it_does_not_show(tmp_path: Path) -> None:
    desk = SetupDesk(tmp_path)
    desk.put(BASES, Base("Sock", (("wool", 100.0),), 100.0, sells=24.0, care="Wash by hand"))
    form = form_of(desk, BASES, "Sock")
    form.type("skein", "50")
    form.save()
    kept = desk.library.bases[0]
    assert (kept.skein_g, kept.sells, kept.care) == (50, 24, "Wash by hand")
