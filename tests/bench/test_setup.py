"""The studio set up on the screen: kept, judged by the reader of plans, and never lost."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from textual.events import Key
from textual.widgets import Input, Static

from dyeday.bench.plain_app import ScreenApp
from dyeday.bench.setup.desk import SetupDesk, SetupError
from dyeday.bench.setup.form_screen import FormScreen
from dyeday.bench.setup.form_toml import dyes_of, judged_table, mix_of, time_of, typed_of
from dyeday.bench.setup.forms import form_of, judged_colourway, shares_of, typed_colourway
from dyeday.bench.setup.setup_screen import ListScreen, SetupScreen
from dyeday.bench.setup.steps import (
    ACID,
    BASES,
    COLOURWAYS,
    DYES,
    HOURS,
    JUG,
    KIT,
    PALETTE,
    SCALE,
    STEPS,
    USUAL,
    WATER,
    SetupStep,
)
from dyeday.commands.days.check_and_begin import load
from dyeday.plan.equipment import Kit
from dyeday.plan.library import Library
from dyeday.plan.model import Base, Colourway, Dye
from dyeday.plan.weigh_out import weigh_out
from dyeday.store.records.library import LibraryRecords
from dyeday.terms import CoolWhere, DosePer, KitKind
from tests.bench.driving import screen_text
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
    assert all(dose is not None for batch in weigh_out(plan).batches for _, dose in batch.acid_soaks)


@pytest.mark.parametrize(
    ("step", "values", "field", "why"),
    [
        (WATER, {"alkalinity": "9000"}, "alkalinity", "9000"),
        (WATER, {"temperature": "3 km"}, "temperature", "is a length"),
        (KIT, {"name": "pot", "kind": "pot"}, "holds", "has no holds"),
        (
            KIT,
            {"name": "pot", "kind": "pot", "holds": "2", "circuit": "attic"},
            "circuit",
            "no circuit is called 'attic'",
        ),
        (BASES, {"name": "A", "fibre": "70 wool, 20 nylon"}, "fibre", "add to 90"),
        (BASES, {"name": "A", "fibre": "wool, nylon"}, "fibre", "not a percentage"),
        (HOURS, {"start": "10:00", "stop": "09:00"}, "stop", "not after start"),
        (HOURS, {"breaks": "13:00"}, "breaks", "not a span"),
        (ACID, {"kind": "citric solution"}, "strength", "not given"),
        (SCALE, {"resolution": "1 kg"}, "resolution", "1 kg"),
        (JUG, {"resolution": "0"}, "resolution", "0"),
        (DYES, {}, "name", "has no name"),
        (DYES, {"name": "Ochre"}, "", "a second dye"),
    ],
)
def test_a_mistake_is_shown_at_its_field_in_the_readers_words(
    step: SetupStep, values: dict[str, str], field: str, why: str
) -> None:
    assert why in judged_table(step, values, {}, LIBRARY, "").problems[field]


@pytest.mark.parametrize(
    ("typed", "plan"),
    [
        ("9", "09:00"), ("9 am", "09:00"), ("9.30", "09:30"), ("0930", "09:30"), ("5 p.m.", "17:00"),
        ("17h30", "17:30"), ("12 am", "00:00"), ("noon", "12:00"), ("24:00", "00:00+1"), ("midnight", "00:00+1"),
        ("01:30+1", "01:30+1"), ("25:00", "25:00"), ("9:75", "9:75"), ("13 pm", "13 pm"), ("late", "late"),
    ],
)  # fmt: skip
def test_times_of_day_are_typed_as_people_write_them(typed: str, plan: str) -> None:
    """What is not a time stays unchanged, for the reader of plans to refuse."""
    assert time_of(typed) == plan


@pytest.mark.parametrize(
    ("typed", "start", "minutes"),
    [
        ("1am", "", 1500), ("1:30", "2 pm", 1530), ("12 am", "9", 1440), ("01:30+1", "", 1530),
        ("midnight", "", 1440),
        ("5:59", "6", 1799), ("1am", "00:30", 60), ("17", "", 1020),
    ],
)  # fmt: skip
def test_an_hour_after_midnight_stops_the_day_on_the_next(typed: str, start: str, minutes: int) -> None:
    """As in plans, and said beside it; where the day begins before it, it is of the same day."""
    judged = judged_table(HOURS, {"stop": typed, "start": start}, {}, LIBRARY, "")
    assert judged.thing.session.stop_min == minutes
    assert judged.beside.get("stop") == ("the next day" if minutes >= 1440 else None)


@pytest.mark.parametrize("typed", ["8", "9 am", "6:00"])
def test_a_stop_before_the_start_that_is_not_a_small_hour_is_refused(typed: str) -> None:
    """8 may be meant as the evening: it is not taken for a day of 23 hours."""
    assert "not after start" in judged_table(HOURS, {"stop": typed}, {}, LIBRARY, "").problems["stop"]


@pytest.mark.parametrize("typed", ["1pm-1:30pm", "13 - 13.30", "13:00 to 13:30", "13:00–13:30"])
def test_breaks_are_typed_as_people_write_them(typed: str) -> None:
    assert judged_table(HOURS, {"breaks": typed}, {}, LIBRARY, "").thing.session.breaks == ((780, 810),)


@pytest.mark.parametrize(
    ("typed", "mix"),
    [
        ("merino", [("merino", "100")]),
        ("SW merino", [("superwash merino", "100")]),
        ("75 superwash merino, 25 nylon", [("superwash merino", "75"), ("nylon", "25")]),
        ("75% SW merino 25% nylon", [("superwash merino", "75"), ("nylon", "25")]),
        ("75/25 SW merino nylon", [("superwash merino", "75"), ("nylon", "25")]),
        ("merino/silk 70/30", [("merino", "70"), ("silk", "30")]),
        ("80/10/10 merino cashmere nylon", [("merino", "80"), ("cashmere", "10"), ("nylon", "10")]),
        ("merino 50 and silk 50", [("merino", "50"), ("silk", "50")]),
        ("62,5 BFL, 37,5 silk", [("BFL", "62.5"), ("silk", "37.5")]),
        ("75 merino, nylon", [("merino", "75"), ("nylon", "25")]),
        ("wool, nylon", [("wool", "?"), ("nylon", "?")]),
        ("70 merino, 30", [("merino", "70"), ("?", "30")]),
        ("75/25", [("?", "75"), ("?", "25")]),
    ],
)
def test_blends_are_typed_as_people_say_them(typed: str, mix: list[tuple[str, str]]) -> None:
    assert mix_of(typed) == mix


@pytest.mark.parametrize(
    ("typed", "dyes"),
    [
        ("Ochre 1.5, Navy 0.2", [("Ochre", "1.5"), ("Navy", "0.2")]),
        ("1.5 % Ochre and 0.2% Navy", [("Ochre", "1.5"), ("Navy", "0.2")]),
        ("Ochre 1,5 Navy 2", [("Ochre", "1.5"), ("Navy", "2")]),
        ("och .5", [("Ochre", "0.5")]),
        ("ochre and navy", [("Ochre", "1"), ("Navy", "1")]),
        ("sand and sea 2; blue 2r", [("Sand and Sea", "2"), ("Blue 2R", "1")]),
        ("Oker 1", [("Oker", "1")]),
        ("Oker 1 Navy 2", [("Oker 1 Navy 2", "1")]),
    ],
)
def test_dyes_are_typed_as_people_write_them(typed: str, dyes: list[tuple[str, str]]) -> None:
    """What names no dye that is known stays as it is."""
    assert dyes_of(typed, ("Ochre", "Navy", "Blue 2R", "Sand and Sea")) == dyes


@pytest.mark.parametrize(
    ("step", "field", "typed", "meant"),
    [
        (KIT, "kind", "Slow cooker", "pot"),
        (KIT, "kind", "drying rack", "pegs"),
        (KIT, "kind", "bamboo steamer", "steamer"),
        (BASES, "form", "hank", "skein"),
        (ACID, "kind", "white vinegar", "vinegar"),
        (ACID, "ph_with", "strips", "strip"),
    ],
)
def test_usual_words_are_taken_and_the_plans_word_stands_beside(
    step: SetupStep, field: str, typed: str, meant: str
) -> None:
    values = {"name": "A", "holds": "4", "fibre": "merino"}
    judged = judged_table(step, (values if step.library_key else {}) | {field: typed}, {}, LIBRARY, "")
    assert judged.problems == {}
    assert judged.beside[field] == meant


@pytest.mark.parametrize(
    ("values", "field", "why"),
    [
        ({"1.1.share": "0"}, "1.1.share", "'0' is too little"),
        ({"1.2.share": "half"}, "1.2.share", "'half' is not a percentage"),
        ({"1.1.share": "30", "1.1.dyes": "Oker 1"}, "1.1.dyes", "no dye is called 'Oker'"),
        ({"1.2.colour": "blurple"}, "1.2.colour", "screen colour: 'blurple' is not a colour"),
        ({"1.fix": "bake 40 min"}, "1.fix", "heats: 'bake 40 min' is not a heat or a rest"),
        ({"name": ""}, "name", "has no name"),
        ({"steps": "x" * 301}, "steps", "shorten it to 300 characters"),
    ],
)
def test_a_mistake_in_a_colourway_is_shown_at_its_field_alone(values: dict[str, str], field: str, why: str) -> None:
    judged = judged_colourway({"name": "Peat", "1.sections": "2", **values}, {}, LIBRARY, "")
    assert list(judged.problems) == [field]
    assert why in judged.problems[field]


def test_what_a_colourway_does_not_ask_any_more_is_not_a_mistake() -> None:
    """A share where one section is left, powder where it is not speckled any more."""
    values = {"name": "Peat", "1.sections": "1", "1.1.share": "half", "1.how": "painted", "1.powder": "lots"}
    assert judged_colourway(values, {}, LIBRARY, "").problems == {}


def test_what_is_not_typed_has_its_usual_value() -> None:
    base = judged_table(BASES, {"name": "Sock", "fibre": "75 superwash BFL, 25 nylon"}, {}, LIBRARY, "").thing
    assert isinstance(base, Base)
    assert (base.skein_g, base.soak_min) == (100, 20)
    assert base.fibre == (("superwash wool", 75.0), ("nylon", 25.0))
    assert judged_table(HOURS, {}, {}, LIBRARY, "").thing.session.stop_min == 17 * 60


@pytest.mark.parametrize("step", [KIT, BASES])
def test_everything_usual_is_sound_and_comes_back_as_it_was_typed(step: SetupStep) -> None:
    for _, values in USUAL[step.library_key]:
        thing = judged_table(step, dict(values), {}, LIBRARY, "").thing
        assert thing is not None, values
        kept = Library(kit=(thing,)) if step is KIT else Library(bases=(thing,))
        again, rest = typed_of(step, kept, thing.name)
        assert judged_table(step, again, rest, kept, thing.name).thing == thing


def test_every_usual_colourway_is_sound_and_comes_back_as_it_was_typed() -> None:
    for _, values in USUAL["colourways"]:
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


TYPED = st.one_of(
    st.text(max_size=20).filter(lambda said: "\n" not in said and "\r" not in said),
    st.text("0123456789.,/%+-: mghlCFHWA°'\"#", max_size=9),
    st.sampled_from(
        ("pot", "slow cooker", "stockpot", "4 skeins", "400 g", "1 h 30", "merino", "75/25 SW merino nylon")
    ),
    st.sampled_from(
        ("8 °dKH", "120 ppm", "54 °F", "9 am", "13-13.30", "1.5 kW", "Ochre 2, Navy", "steam 40 min", "moss")
    ),
)


@settings(max_examples=150, deadline=None)
@given(st.sampled_from([step for step in STEPS if step is not COLOURWAYS]), st.data())
def test_whatever_is_typed_is_taken_or_says_why_not(step: SetupStep, data: st.DataObject) -> None:
    """What is taken stands in the form as one could have typed it: saved again, it is the same."""
    values = {field.key: data.draw(TYPED) for field in step.fields}
    judged = judged_table(step, values, {}, LIBRARY, "")
    assert (judged.thing is None) == bool(judged.problems)
    assert all(key in values or not key for key in judged.problems)
    if judged.thing is not None:
        part: dict[str, Any] = {step.library_key: (judged.thing,)} if step.library_key else {"studio": judged.thing}
        kept = replace(LIBRARY, **part)
        name = judged.thing.name if step.library_key else ""
        assert judged_table(step, *typed_of(step, kept, name), kept, name).thing == judged.thing


WAY_KEYS = (
    "name",
    "1.how",
    "1.fix",
    "1.powder",
    "1.1.colour",
    "1.1.share",
    "1.1.dyes",
    "1.2.share",
    "1.2.dyes",
    "steps",
)


@settings(max_examples=150, deadline=None)
@given(st.fixed_dictionaries({**dict.fromkeys(WAY_KEYS, TYPED), "1.sections": st.sampled_from("123")}))
def test_whatever_is_typed_of_a_colourway_is_taken_or_says_why_not(values: dict[str, str]) -> None:
    judged = judged_colourway(values, {}, LIBRARY, "")
    assert (judged.thing is None) == bool(judged.problems)
    if judged.thing is not None:
        kept = replace(LIBRARY, colourways=(judged.thing,))
        name = judged.thing.name
        assert judged_colourway(*typed_colourway(kept, name), kept, name).thing == judged.thing


def test_a_section_says_its_grams_and_what_check_would_say() -> None:
    """2.5 % of 40 g, and more than 2 % wants 45 min at heat."""
    values = {"name": "Peat", "1.sections": "2", "1.1.share": "40", "1.1.colour": "moss", "1.1.dyes": "Ochre 2.5"}
    judged = judged_colourway(values | {"1.fix": "steam 40 min"}, {}, LIBRARY, "")
    assert judged.beside["1.1.dyes"] == "Ochre 1 g"
    assert judged.beside["1.2.dyes"] == "undyed"
    assert judged.beside["1.2.share"] == "60 %"
    assert judged.swatches["1.1.colour"] == PALETTE["moss"]
    assert "needs 45 min" not in "".join(judged.problems.values())
    assert any("need 45 min" in each for each in judged.advice)
    assert not any("need 45 min" in each for each in judged_colourway(values, {}, LIBRARY, "").advice)


def test_a_colourway_says_at_once_that_its_solutions_are_more_than_its_liquor() -> None:
    """100 g at 3 % of a 1 % solution are 300 mL, and a painted skein has 90 mL of liquor."""
    library = replace(LIBRARY, bases=(Base("Sock", (("wool", 1.0),), 100),))
    judged = judged_colourway({"name": "Peat", "1.1.dyes": "Ochre 3"}, {}, library, "")
    assert judged.advice[0].startswith(
        "300 mL of solutions do not fit into 90 mL of liquor; set `solution` of its dyes"
    )


@pytest.mark.parametrize(("said", "shown"), [("20 dH", "20 °dH"), ("180 mg/L", "180 mg/L"), ("8.5 dH", "8.5 °dH")])
def test_a_hardness_in_degrees_comes_back_in_degrees(tmp_path: Path, said: str, shown: str) -> None:
    """20 °dH are 356.963 mg/L as CaCO3."""
    desk = SetupDesk(tmp_path)
    form = form_of(desk, WATER)
    form.type("hardness", said)
    form.save()
    assert form_of(desk, WATER).values["hardness"] == shown
    assert form_of(desk, HOURS).values == {}
    assert "usual: 09:00 to 17:00" in desk.summary(HOURS)


def test_acid_capacity_counts_half_of_hardness_in_mmol_and_alkalinity_twice_the_hardness_is_remarked(
    tmp_path: Path,
) -> None:
    """5.2 mmol/L of H+ (ISO 9963-1) are 260 mg/L as CaCO3: 100.087 g/mol, and a mole takes up two of H+."""
    desk = SetupDesk(tmp_path)
    form = form_of(desk, WATER)
    form.type("hardness", "18 dH")
    form.type("alkalinity", "5.2 mmol/L")
    assert form.judge().advice == ()
    form.save()
    assert form_of(desk, WATER).values["alkalinity"] == "260.2262 mg/L"
    assert desk.library.studio is not None
    assert desk.library.studio.water.alkalinity_mg_l == pytest.approx(260.2, abs=0.1)
    form.type("alkalinity", "520 mg/L")
    assert "alkalinity of 520 mg/L beside a hardness of 321 mg/L is rare" in form.judge().advice[0]


def test_a_wrong_weight_gets_an_example_of_its_own_field(tmp_path: Path) -> None:
    """A scale's smallest step is not 100 g, and a draft is named where a step is listed."""
    desk = SetupDesk(tmp_path)
    form = form_of(desk, SCALE)
    form.type("resolution", "a")
    assert form.judge().problems["resolution"].endswith("write it as '0.1 g'")
    way = form_of(desk, COLOURWAYS)
    way.fill({"name": "Robin"})
    assert desk.summary(COLOURWAYS) == "none yet; half typed: Robin"


def test_killed_at_any_key_setup_goes_on_where_it_was(tmp_path: Path) -> None:
    """Each app is dropped without being left; the next one opens the same form with the same letters."""

    async def script() -> None:
        typed = "Peat"
        for n in range(1, len(typed) + 1):
            app = ScreenApp(SetupScreen(SetupDesk(tmp_path)))
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


def test_fibres_are_listed_and_stand_behind_the_share_typed_before(tmp_path: Path) -> None:
    desk = SetupDesk(tmp_path)

    async def script() -> None:
        app = ScreenApp(SetupScreen(desk))
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("b", "a", "9", "enter", *"75", "f2", "enter", "f2", "down", "enter")
            await pilot.pause()
            assert app.screen.query(Input)[1].value == "75 wool, superwash wool "

    asyncio.run(script())


def test_escape_keeps_what_is_half_typed_and_says_so(tmp_path: Path) -> None:
    desk = SetupDesk(tmp_path)

    async def script() -> None:
        app = ScreenApp(SetupScreen(desk))
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("w", "9", "9", "9", "9", "ctrl+s")
            await pilot.pause()
            assert "9999" in str(app.screen.query_one("#form-message", Static).render())
            await pilot.press("escape")
            await pilot.pause()
            assert "stays half typed" in str(app.screen.query_one("#form-message", Static).render())

    asyncio.run(script())
    assert desk.library.studio is None
    assert desk.summary(WATER).endswith("(half typed)")


def _message(app: ScreenApp[Any]) -> str:
    return str(app.screen.query_one("#form-message", Static).render())


def test_a_half_typed_form_is_thrown_away_by_the_same_key_twice(tmp_path: Path) -> None:
    """In the form by f8, in the list by x; what was saved stays."""
    desk = SetupDesk(tmp_path)
    desk.put(DYES, Dye("Ochre"))

    async def script() -> None:
        app = ScreenApp(SetupScreen(desk))
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("d", "enter", "x", "f8")
            await pilot.pause()
            assert "f8 again discards" in _message(app)
            assert desk.draft(DYES, "Ochre") == {"name": "x"}
            await pilot.press("f8")
            await pilot.pause()
            assert isinstance(app.screen, ListScreen)
            assert desk.draft(DYES, "Ochre") is None
            await pilot.press("a", *"Navy", "escape", "down", "x")
            await pilot.pause()
            assert "x again discards" in _message(app)
            assert desk.draft(DYES, "") == {"name": "Navy"}
            await pilot.press("x")
            await pilot.pause()

    asyncio.run(script())
    assert desk.half_typed(DYES) == []
    assert [dye.name for dye in SetupDesk(tmp_path).library.dyes] == ["Ochre"]


def test_a_copy_takes_nothing_from_a_new_one_that_is_half_typed(tmp_path: Path) -> None:
    desk = SetupDesk(tmp_path)
    desk.put(DYES, Dye("Ochre"))

    async def script() -> None:
        app = ScreenApp(SetupScreen(desk))
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("d", "a", *"Navy", "escape", "c")
            await pilot.pause()
            assert "a new one is not saved yet" in _message(app)

    asyncio.run(script())
    assert desk.draft(DYES, "") == {"name": "Navy"}


def test_what_was_saved_as_setup_was_killed_is_not_asked_again(tmp_path: Path) -> None:
    """The library has it, and the draft could not be forgotten any more."""
    desk = SetupDesk(tmp_path)
    desk.keep_draft(DYES, "", {"name": "Ochre"})
    desk.put(DYES, Dye("Ochre"))
    assert form_of(desk, DYES).values == {}
    assert desk.half_typed(DYES) == []


def test_the_grams_of_a_section_are_read_to_their_end_at_80_columns(tmp_path: Path) -> None:
    """And what is typed right after ctrl+n goes into the new section."""
    desk = SetupDesk(tmp_path)
    for name in DYE_NAMES:
        desk.put(DYES, Dye(name))

    async def script() -> None:
        app = ScreenApp(SetupScreen(desk))
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("c", "a", "1", *"Peat", "down", "down", "down", "down")
            await pilot.press(*"ochre 1.25, navy 0.15, madder 2, fern 0.5", "ctrl+n", *"moss")
            await pilot.pause()
            beside = " ".join(line[54:].strip() for line in screen_text(app).splitlines())
            for grams in ("Ochre 0.625 g", "Navy 0.075 g", "Madder 1 g", "Fern 0.25 g"):
                assert grams in beside

    asyncio.run(script())
    assert (desk.draft(COLOURWAYS, "") or {})["1.2.colour"] == "moss"


def test_a_form_can_be_left_while_its_new_section_is_laid_out(tmp_path: Path) -> None:
    """And Down stays on the last field, where Enter saves."""
    desk = SetupDesk(tmp_path)
    desk.put(DYES, Dye("Ochre"))

    async def script() -> None:
        app = ScreenApp(SetupScreen(desk))
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("d", "a", *"Navy", *["down"] * 20)
            assert isinstance(app.screen, FormScreen)
            await pilot.press("enter", "escape", "c", "a", "1", *"Peat", "down", "down", "down", "down", *"ochre 1")
            app.simulate_key("ctrl+n")
            app.simulate_key("escape")
            await pilot.pause()
            assert isinstance(app.screen, ListScreen)

    asyncio.run(script())
    assert [dye.name for dye in desk.library.dyes] == ["Ochre", "Navy"]
    assert (desk.draft(COLOURWAYS, "") or {})["1.sections"] == "2"


def test_a_long_line_of_a_list_is_cut_so_that_the_sign_stands_on_the_chosen_one(tmp_path: Path) -> None:
    desk = SetupDesk(tmp_path)
    for name in ("steam one", "steam two"):
        made = Kit(name, KitKind.STEAMER, 2, holds_skeins=4, power_w=1500, warm_up_min=12, tank_l=2, lasts_min=60)
        desk.put(KIT, made)

    async def script() -> None:
        app = ScreenApp(SetupScreen(desk))
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("k", "down")
            await pilot.pause()
            lines = screen_text(app).splitlines()
            assert lines[1].startswith(" steam one")
            assert lines[2].startswith("▶steam two")
            assert lines[2].rstrip().endswith("…")

    asyncio.run(script())


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
    assert dye.save() == "Gold saved"
    assert [each.name for each in SetupDesk(tmp_path).library.dyes] == ["Gold"]


def test_a_form_keeps_the_keys_it_does_not_show(tmp_path: Path) -> None:
    desk = SetupDesk(tmp_path)
    desk.put(BASES, Base("Sock", (("wool", 100.0),), 100.0, sells=24.0, care="Wash by hand"))
    form = form_of(desk, BASES, "Sock")
    form.type("skein", "50")
    form.save()
    kept = desk.library.bases[0]
    assert (kept.skein_g, kept.sells, kept.care) == (50, 24, "Wash by hand")


def test_kept_steps_with_commas_in_them_are_shown_and_stay_until_others_are_typed(tmp_path: Path) -> None:
    """The field cuts at commas, so they stand there as what counts where nothing is typed."""
    desk = SetupDesk(tmp_path)
    steps = ("wet out, squeeze", "paint in thirds")
    form = form_of(desk, COLOURWAYS)
    form.fill({"name": "Peat"})
    form.save()
    desk.put(COLOURWAYS, replace(desk.library.colourways[0], steps=steps))
    form = form_of(desk, COLOURWAYS, "Peat")

    def shown() -> str:
        return next(row.usual for row in form.rows() if row.key == "steps")

    assert shown() == "wet out, squeeze; paint in thirds"
    form.save()
    assert desk.library.colourways[0].steps == steps
    form.type("steps", "paint, wait")
    form.save()
    assert desk.library.colourways[0].steps == ("paint", "wait")
    assert next(row.usual for row in form_of(desk, COLOURWAYS, "Peat").rows() if row.key == "steps") == "none"


def test_a_form_asks_only_what_a_kind_of_kit_can_have_and_what_is_typed_stays(tmp_path: Path) -> None:
    """A tray has no plug, a pot no tank; another kind chosen later hides nothing that was typed."""
    form = form_of(SetupDesk(tmp_path), KIT)

    def asked(kind: str) -> set[str]:
        form.fill({"name": "one", "kind": kind})
        return {row.key for row in form.rows()} - {"name", "kind", "units", "holds"}

    assert asked("tray") == asked("sink") == asked("rack") == set()
    assert asked("spinner") == {"power", "circuit"}
    assert asked("stockpot") == asked("microwave") == {"power", "circuit", "warm_up"}
    assert asked("steamer") == {"power", "circuit", "warm_up", "tank", "lasts"} == asked("")
    form.fill({"name": "one", "kind": "tray", "power": "900"})
    assert "power" in {row.key for row in form.rows()}


def test_the_lists_say_what_each_thing_is_and_the_heading_how_to_add_a_section(tmp_path: Path) -> None:
    desk = SetupDesk(tmp_path)
    for kind in (0, 4):
        form = form_of(desk, KIT)
        form.fill(dict(USUAL["kit"][kind][1]))
        form.save()
    desk.put(DYES, Dye("Ochre"))
    way = form_of(desk, COLOURWAYS)
    way.fill({**USUAL["colourways"][3][1], "name": "Dusk", "1.1.dyes": "Ochre 1", "2.1.dyes": "Ochre 0.2"})
    way.save()

    async def script() -> None:
        app = ScreenApp(SetupScreen(desk))
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("k")
            await pilot.pause()
            shown = screen_text(app)
            assert "tray                     tray, how many 2, each holds 4" in shown
            assert "steamer, each holds 4, power 1500" in shown
            await pilot.press("escape", "c")
            await pilot.pause()
            assert "Dusk                     painted, steam 45 min; immersed, simmer 30 min" in screen_text(app)
            await pilot.press("enter")
            await pilot.pause()
            assert "ctrl+n section  ctrl+l layer  ctrl+r remove" in screen_text(app)

    asyncio.run(script())


def test_a_form_begun_from_a_usual_thing_and_left_as_it_is_leaves_nothing(tmp_path: Path) -> None:
    desk = SetupDesk(tmp_path)

    async def script() -> None:
        app = ScreenApp(SetupScreen(desk))
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("k", "a", "5", "escape")
            await pilot.pause()
            assert desk.half_typed(KIT) == []
            assert "half typed" not in _message(app)
            await pilot.press("a", "1", "x", "escape")
            await pilot.pause()
            assert (desk.draft(KIT, "") or {})["name"] == "x"

    asyncio.run(script())


def test_the_keys_of_a_colourways_parts_stay_beside_a_name_that_is_not_saved(tmp_path: Path) -> None:
    desk = SetupDesk(tmp_path)
    desk.put(DYES, Dye("Ochre"))
    way = form_of(desk, COLOURWAYS)
    way.fill({**USUAL["colourways"][0][1], "name": "A long name for a colour", "1.1.dyes": "Ochre 0.5"})
    way.save()

    async def script() -> None:
        app = ScreenApp(SetupScreen(desk))
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("c", "enter", "x")
            await pilot.pause()
            head = screen_text(app).splitlines()[0]
            assert "- not saved" in head
            assert "ctrl+n section  ctrl+l layer  ctrl+r remove" in head

    asyncio.run(script())


@pytest.mark.parametrize(
    ("how", "fix", "then", "heats"),
    [
        ("immersed", "simmer 30 min", "speckled", "steam 45 min"),
        ("painted", "steam 45 min", "immersed", "simmer 45 min"),
        ("painted", "steam 45 min", "speckled", "steam 45 min"),
        ("immersed", "simmer 20 min", "speckled", "simmer 20 min"),
    ],
)
def test_a_layer_dyed_another_way_gets_its_usual_heat_but_keeps_one_of_its_own(
    tmp_path: Path, how: str, fix: str, then: str, heats: str
) -> None:
    way = form_of(SetupDesk(tmp_path), COLOURWAYS)
    way.fill({"name": "Dusk", "layers": "1", "1.sections": "1", "1.how": how, "1.fix": fix})
    way.type("1.how", then)
    assert way.values["1.fix"] == heats


@pytest.mark.parametrize(("kind", "usual"), [("", "5"), ("citric solution", ""), ("citric", "none")])
def test_no_strength_stands_in_the_field_for_an_acid_that_has_none_or_must_have_its_own(
    tmp_path: Path, kind: str, usual: str
) -> None:
    form = form_of(SetupDesk(tmp_path), ACID)
    form.type("kind", kind)
    assert [row.usual for row in form.rows() if row.key == "strength"] == [usual]


def test_what_check_will_say_of_a_colourway_is_said_as_it_is_saved(tmp_path: Path) -> None:
    desk = SetupDesk(tmp_path)
    desk.put(DYES, Dye("Ochre"))
    desk.put(BASES, Base("Sock", (("wool", 1.0),), 100))
    way = form_of(desk, COLOURWAYS)
    way.fill({**USUAL["colourways"][0][1], "name": "Dusk", "1.1.dyes": "Ochre 1"})
    assert way.save().startswith("Dusk saved; check says: 100 mL of solutions do not fit into 90 mL of liquor")


def test_immersed_yarn_cools_in_its_pot_unless_the_form_says_out(tmp_path: Path) -> None:
    """Both ways of a layer; a painted layer is not asked."""
    desk = SetupDesk(tmp_path)
    desk.put(DYES, Dye("Ochre"))
    way = form_of(desk, COLOURWAYS)
    way.fill({**USUAL["colourways"][3][1], "name": "Dusk", "1.1.dyes": "Ochre 1", "2.1.dyes": "Ochre 0.2"})
    asked = {row.key for row in way.rows()}
    assert "2.cool_where" in asked
    assert "1.cool_where" not in asked
    way.save()
    (kept,) = desk.library.colourways
    assert [layer.cool_where for layer in kept.layers] == [CoolWhere.OUT, CoolWhere.IN_PLACE]
    way = form_of(desk, COLOURWAYS, "Dusk")
    way.fill({**way.values, "2.cool_where": "out"})
    way.save()
    (kept,) = desk.library.colourways
    assert [(layer.cool_where, layer.cool_min) for layer in kept.layers] == [(CoolWhere.OUT, 60)] * 2


def test_a_key_that_comes_after_the_one_that_left_a_screen_leaves_nothing_else(tmp_path: Path) -> None:
    """Typed faster than the screen goes: it is dismissed once, and the screen below stays."""

    async def script() -> None:
        app = ScreenApp(SetupScreen(SetupDesk(tmp_path)))
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("k")
            await pilot.pause()
            kit = app.screen
            assert isinstance(kit, ListScreen)
            kit.action_back()
            kit.action_back()
            await pilot.pause()
            assert isinstance(app.screen, SetupScreen)

    asyncio.run(script())


def test_a_dyers_own_dose_and_what_the_fibre_takes_are_typed_on_the_acid_form() -> None:
    """As the plan's keys say them; the form shows again what was typed."""
    judged = judged_table(ACID, {"dose": "20 mL per 100 g", "fibre_takes": "0.4"}, {}, LIBRARY, "")
    assert judged.problems == {}
    acid = judged.thing.acid
    assert (acid.dose, acid.dose_per, acid.fibre_takes_mmol_per_g) == (20, DosePer.PER_100_G, 0.4)
    shown, rest = typed_of(ACID, replace(LIBRARY, studio=judged.thing), "")
    assert (shown["dose"], shown["fibre_takes"]) == ("20 mL per 100 g", "0.4")
    assert not {"dose", "fibre_takes"} & rest.keys()
    wrong = judged_table(ACID, {"dose": "20 mL"}, {}, LIBRARY, "").problems
    assert "does not say per what" in wrong["dose"]


def test_typing_into_a_field_just_entered_replaces_it_and_an_arrow_or_backspace_changes_it(tmp_path: Path) -> None:
    """Two of a kind of kit do not become 22."""

    async def play() -> None:
        app = ScreenApp(SetupScreen(SetupDesk(tmp_path)))
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("w", *"120", "down", "down", *"15", "up", "up", "3", "down", "down", "right", "0")
            assert [box.value for box in app.screen.query(Input)] == ["3", "", "150", ""]
            await pilot.press("down", "up", "backspace", "backspace", "9")
            assert [box.value for box in app.screen.query(Input)] == ["3", "", "19", ""]

    asyncio.run(play())


def test_keys_that_come_at_once_each_go_to_the_field_of_the_key_before(tmp_path: Path) -> None:
    """On a busy computer a Tab right behind another was lost, and what was typed then went into the field before."""

    async def play() -> None:
        app = ScreenApp(SetupScreen(SetupDesk(tmp_path)))
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("w")
            for key in ("1", "tab", "tab", "2", "tab", "3"):
                app.post_message(Key(key, key if key.isdigit() else None))
            await pilot.pause()
            assert [box.value for box in app.screen.query(Input)] == ["1", "", "2", "3"]

    asyncio.run(play())
