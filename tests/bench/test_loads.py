"""Several batches moved together: how they are typed, and that one movement is one entry which undo takes back."""

from __future__ import annotations

from pathlib import Path

import pytest

from dyeday.ahead.advising.next_step import roomy_unit
from dyeday.bench.input.batch_typing import BatchTyping
from dyeday.bench.prompts.offer_lines import lines_to_know
from dyeday.bench.prompts.offering import drafts_for
from dyeday.bench.prompts.offers import Offer, OfferTaken
from dyeday.plan.model import Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.terms import FlagId, KitKind, State, Water
from dyeday.track.folding.fold import fold
from tests.bench.driving import Bench, drive
from tests.bench.test_offers import HARD, step_of
from tests.fakes import HEAVY_DAY, SHORT_DAY
from tests.track.days import PLAN, Line, at, day_of, heated, now, plan_with, soaked
from tests.typed_events import draft


def states(bench: Bench, *numbers: str) -> list[State]:
    return [bench.app.live.day.batches[no].state for no in numbers]


@pytest.mark.parametrize(
    "keys", [("1", "minus", "3"), ("1", "comma", "0", "2", "comma", "3"), ("0", "1", "minus", "3")]
)
def test_a_load_typed_as_a_stretch_or_a_list_moves_in_one_entry_and_one_undo(
    tmp_path: Path, keys: tuple[str, ...]
) -> None:
    async def script(bench: Bench) -> None:
        await bench.press(*keys)
        assert "batches 01, 02, 03" in bench.screen
        await bench.press("m", "4")
        assert states(bench, "01", "02", "03", "04") == [State.COOL, State.COOL, State.COOL, State.WAITING]
        assert bench.kinds == ["load"]
        await bench.press("z", "enter")
        assert states(bench, "01", "02", "03") == [State.WAITING] * 3

    drive(tmp_path, script)


def test_undo_takes_the_whole_movement_back_with_what_was_recorded_beside_it(tmp_path: Path) -> None:
    """The soak with its acid and the chore that goes before it: one undo, one redo."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "2", "space", "enter")
        assert bench.kinds == ["load", "chore"]
        await bench.press("z", "enter")
        day = bench.app.live.day
        assert states(bench, "02") == [State.WAITING]
        assert not day.chores
        assert not any(bath.acids for bath in day.units["tray 1"].baths)
        await bench.press("Z", "enter")
        assert states(bench, "02") == [State.SOAK]
        assert len(bench.app.live.day.chores) == 1

    drive(tmp_path, script)


def test_escape_and_arrows_forget_a_load_and_a_number_that_is_none_is_said(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("1", "minus", "3", "escape")
        assert len(bench.app.bench.chosen_load()) == 1
        await bench.press("1", "minus", "9")
        assert "there is no batch '9'" in bench.screen
        assert bench.kinds == []

    drive(tmp_path, script)


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("99", "there is no batch 99"),
        ("9", "there is no batch 9"),
        ("0", "there is no batch 0"),
        ("1-9", "there is no batch '9'"),
        ("04-02", "'04-02' is in reverse order; write 02-04"),
        ("1,0", "there is no batch '0'"),
    ],
)
def test_behind_a_number_of_no_batch_no_key_acts_on_the_one_chosen_before(
    tmp_path: Path, typed: str, why: str
) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("0", "2")
        await bench.type(typed)
        for key in ("space", "space", "r", "h"):
            await bench.press(key)
            assert f"nothing done: {why}" in bench.screen
        assert bench.kinds == []
        await bench.type("03 ")
        assert "03 Old Gate Green (waiting)" in bench.screen

    drive(tmp_path, script)


def test_a_second_digit_behind_one_that_chose_a_batch_says_that_both_name_none() -> None:
    """Of fourteen batches 9 can only be 09; 99 was meant to be another."""
    typing, day = BatchTyping(), fold(read_plan(HEAVY_DAY.read_text(encoding="utf-8")), [])
    chose = [typing.digit(day, "9"), typing.digit(day, "9")]
    assert [choice.words for choice in chose] == ["batch 09 chosen", "there is no batch 99: batch 09 chosen"]
    typing.end(day)
    assert typing.digit(day, "9").words == "batch 09 chosen"


def test_digits_behind_a_wrong_one_do_not_begin_another_number_until_escape(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.type("903")
        assert "there is no batch 903; Esc, then type again" in bench.screen
        await bench.press("escape")
        await bench.type("03")
        assert "batch 03 chosen" in bench.screen
        await bench.type("04-02")
        assert "write 02-04; Esc, then type again" in bench.screen

    drive(tmp_path, script)


def test_a_dash_is_a_six_on_the_unshifted_row_of_a_french_keyboard(tmp_path: Path) -> None:
    """& is 1 there and - is 6; behind a plain digit a dash is a dash."""

    async def script(bench: Bench) -> None:
        await bench.press("1", "minus", "4")
        assert "batches 01, 02, 03, 04" in bench.screen
        await bench.press("escape", "à", "minus")
        assert "there is no batch 06" in bench.screen

    drive(tmp_path, script)


def test_batches_whose_next_steps_differ_are_not_moved_together(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "m", "1", "1", "minus", "2", "space")
        assert "01: paint; 02: into the soak with acid to pH 4.5. Move them one by one" in bench.screen
        assert bench.kinds == ["moved"]

    drive(tmp_path, script)


@pytest.mark.parametrize(
    ("plan", "acids"),
    [
        (None, ("with acid to pH 4.5", "without acid")),
        (
            ('"Old Gate Green"', '"Old Gate Green"\nacid_in = "soak"\ntarget_ph = 5'),
            ("with acid to pH 4.5", "with acid to pH 5.0"),
        ),
        (("target_ph = 4.5", 'dose = "2 % WOF"'), ("with acid", "without acid")),
    ],
)
def test_batches_whose_soaks_want_other_acid_do_not_soak_together(
    tmp_path: Path, plan: tuple[str, str] | None, acids: tuple[str, str]
) -> None:
    """One bath has one amount of acid: 03 gets its own in the pot, as its sheet says."""

    async def script(bench: Bench) -> None:
        await bench.type("01,3 ")
        assert all(f"into the soak {acid}" in bench.screen.replace("\n", "") for acid in acids)
        assert "Move them one by one" in bench.screen
        assert bench.kinds == []

    text = SHORT_DAY.read_text(encoding="utf-8")
    drive(tmp_path, script, size=(120, 30), text=text.replace(*plan, 1) if plan else text)


def test_a_soak_has_one_dose_even_where_no_tray_has_room_for_the_load() -> None:
    """17.5 mL each: 35 mL for both, where two soaks apart would get 20 mL each."""
    rain = '[[order]]\nitem = "more rain"\ncolourway = "Tin Roof Rain"\nbase = "Sock Mini"\nskeins = 4\n'
    plan = read_plan(SHORT_DAY.read_text(encoding="utf-8") + rain)
    numbers = [batch.no for batch in plan.batches if batch.colourway == "Tin Roof Rain"]
    offer = load_offer([], *numbers, plan=plan).into(None)
    assert (len(numbers), offer.acid_figure) == (2, "35")
    assert "1600 mL of water; 35 mL of vinegar for it and the yarn" in lines_to_know(offer)[0]


def load_offer(lines: list[Line], *numbers: str, time: str = "12:00", plan: Plan = HARD) -> Offer:
    day = day_of(lines, plan)
    return Offer(day, tuple(day.batches[no] for no in numbers), step_of(day, numbers[0], time), now(time))


def test_a_soak_of_two_batches_is_offered_the_acid_of_both_and_shares_it() -> None:
    offer = load_offer([], "05", "01")
    assert float(offer.into("tray 2").acid_figure) > float(load_offer([], "05").into("tray 2").acid_figure)
    assert drafts_for(offer, OfferTaken("tray 2", "100")) == [
        draft("load", None, {"batches": ["05", "01"], "to": "soak", "unit": "tray 2", "acid_ml": 100.0})
    ]


USED = [*soaked("01", "09:00", "10:00"), at("10:00", "01", to="paint")]
"""tray 1 soaked a load and is empty again"""


def test_the_water_of_the_load_before_is_asked_for_once_and_then_offered_as_last_time() -> None:
    first = load_offer(USED, "05")
    assert first.into("tray 1").may_keep_water
    assert first.into("tray 1").latest_water is None
    kept = [
        *USED,
        at("11:00", batches=["05"], to="soak", unit="tray 1", water="kept"),
        at("11:30", "05", to="paint"),
    ]
    assert load_offer(kept, "06").into("tray 1").latest_water is Water.KEPT
    assert not first.into("tray 2").may_keep_water


SPECKLED = read_plan(PLAN.replace('"Inked"', '"Inked"\nhow = "speckled"', 1))


@pytest.mark.parametrize(("dyed", "plan"), [("01", HARD), ("07", SPECKLED)], ids=["painted", "speckled"])
def test_a_tray_in_which_dyed_yarn_lay_has_no_water_to_keep(dyed: str, plan: Plan) -> None:
    """Such yarn brings no more water than it carries away again; powder brings none."""
    lines = [
        *soaked(dyed, unit="tray 2"),
        at("10:05", dyed, event="placed", unit="tray 1"),
        *heated(dyed),
    ]
    offer = load_offer(lines, "05", plan=plan).into("tray 1")
    assert not offer.may_keep_water
    assert "water kept" not in " ".join(lines_to_know(offer))
    assert offer.acid_figure == load_offer(lines, "05", plan=plan).into("tray 4").acid_figure != ""


def test_the_amount_follows_the_water() -> None:
    """Water that is kept has what the first load left of its 200 mL; new water wants the whole dose."""
    acid = at("09:00", unit="tray 1", event="acid put in", acid_ml=200)
    offer = load_offer([*USED[:1], acid, *USED[1:]], "05")
    assert float(offer.into("tray 1", Water.KEPT).acid_figure or 0) < float(
        offer.into("tray 1", Water.NEW).acid_figure
    )


def test_the_old_load_is_lifted_out_and_the_tank_filled_with_the_new_load() -> None:
    lines = [
        *soaked("01"),
        at("10:30", batches=["01"], to="fix", heat_no=1, run="start", unit="steamer 1"),
        *soaked("04", "10:00", "10:40", "tray 2"),
    ]
    offer = load_offer(lines, "04")
    assert offer.into("steamer 1").to_lift == ("01",)
    assert drafts_for(offer, OfferTaken("steamer 1", "", is_tank_filled=True, lifted=("01",))) == [
        draft("load", None, {"batches": ["01"], "to": "cool", "unit": "steamer 1", "pass": 1, "run": "end"}),
        draft(
            "load",
            None,
            {"batches": ["04"], "to": "fix", "unit": "steamer 1", "pass": 1, "run": "start", "tank": "filled"},
        ),
    ]


MORE_SPARKS = '[[order]]\nitem = "sparks 2"\ncolourway = "Sparks"\nbase = "Wool"\nskeins = 1\n'
"""12: another batch for the oven"""
IN_OVEN = [*soaked("04"), at("10:30", "04", to="fix"), at("10:30", "04", heat_no=1, run="start", unit="oven 1")]
"""three skeins are two dishes of 2 min: the first burst is over at 10:34"""
AGAIN_IN_OVEN = [*IN_OVEN, at("10:45", "04", heat_no=2, run="start", unit="oven 1")]


def oven_offer(lines: list[Line], time: str) -> Offer:
    painted = [*soaked("12", "08:50", "09:40", "tray 2"), at("10:00", "12", to="fix")]
    day = day_of([*painted, *lines], plan_with(more=MORE_SPARKS))
    return Offer(day, (day.batches["12"],), step_of(day, "12", time), now(time)).into("oven 1")


@pytest.mark.parametrize(
    ("lines", "time", "heat_no"), [(IN_OVEN, "10:32", 1), (IN_OVEN, "10:50", None), (AGAIN_IN_OVEN, "10:47", 2)]
)
def test_what_has_a_burst_to_come_is_lifted_out_to_rest_and_not_to_cool(
    lines: list[Line], time: str, heat_no: int | None
) -> None:
    """Nothing is recorded of a burst that its timer has ended: a later end would make it longer."""
    offer = oven_offer(lines, time)
    assert offer.to_lift == (("04",) if heat_no else ())
    off = {"batches": ["04"], "unit": "oven 1", "pass": heat_no, "run": "end"}
    entries = drafts_for(offer, OfferTaken("oven 1", "", lifted=offer.to_lift))
    assert entries[:-1] == ([draft("load", None, off)] if heat_no else [])


def test_yarn_that_waits_in_the_oven_for_a_burst_there_does_not_rest_after_the_heat_of_another_unit() -> None:
    """12 was steamed for its first layer, and lies in the only oven before the burst of its second; 13 follows."""
    both = """
[[colourway]]
name = "Two"
[[colourway.layer]]
fix = ["steam 40 min"]
sections = [{ share = 100, dyes = { Navy = 1.0 } }]
[[colourway.layer]]
fix = ["microwave 2 min"]
sections = [{ share = 100, dyes = { Navy = 0.2 } }]
"""
    for item, base in (("two", "Sock"), ("two b", "Wool")):
        both += f'[[order]]\nitem = "{item}"\ncolourway = "Two"\nbase = "{base}"\nskeins = 2\n'
    waits = [at("14:00", "12", to="paint", layer=2), at("14:30", "12", to="fix", unit="oven 1")]
    day = day_of([*soaked("12"), *heated("12"), *waits], plan_with(more=both))
    load = [day.batches["13"]]
    assert roomy_unit(day, load, KitKind.MICROWAVE, 1, now("14:31")) is None
    burst = at("14:32", "12", heat_no=1, run="start", unit="oven 1")
    day = day_of([*soaked("12"), *heated("12"), *waits, burst], plan_with(more=both))
    assert roomy_unit(day, load, KitKind.MICROWAVE, 1, now("14:33")) is None
    assert roomy_unit(day, load, KitKind.MICROWAVE, 1, now("14:40")) == "oven 1", "its timer ended the burst"


def test_what_has_had_its_bursts_is_lifted_out_to_cool_and_keeps_the_end_by_its_timer() -> None:
    offer = oven_offer(AGAIN_IN_OVEN, "11:15")
    entries = drafts_for(offer, OfferTaken("oven 1", "", lifted=offer.to_lift))
    assert entries[:-1] == [draft("moved", "04", {"to": "cool"})]


def test_taking_the_offer_to_take_yarn_out_of_the_microwave_to_rest_raises_no_flag(tmp_path: Path) -> None:
    """x is not a key of that offer, and the batch that rests still has its second burst to come."""

    async def script(bench: Bench) -> None:
        for number in ("04", "12", "04", "12", "04"):
            await bench.press(*number, "space", "enter")
            await bench.on(30)
        await bench.press(*"12", "space", "x")
        assert "oven 1 (take 04 out to rest)" in bench.screen
        assert "lifted out" not in bench.screen
        await bench.press("enter")
        assert "rested" in bench.row("04")
        assert FlagId.SCORCH_RISK not in {flag.rule for flag in bench.app.live.all_flags()}

    drive(tmp_path, script, text=f"{PLAN}\n{MORE_SPARKS}")


def test_painted_yarn_may_wait_for_its_unit() -> None:
    offer = load_offer([*soaked("01")], "01")
    assert offer.may_wait
    assert drafts_for(offer, OfferTaken(None, "", waits=True)) == [draft("moved", "01", {"to": "fix"})]


@pytest.mark.parametrize(("keys", "water"), [((), "new"), (("n",), "kept"), (("n", "n"), "new")])
def test_a_pot_that_is_not_on_yet_is_recorded_with_its_water(
    tmp_path: Path, keys: tuple[str, ...], water: str
) -> None:
    """The water is asked for; what was kept counts for the next load."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "3", "m", "1", "space", "1", "0", "enter")
        await bench.on(45)
        await bench.press("0", "3", "m", "4", "1", "1", "m", "1", "space", "1")
        assert "Enter: new water, n: water kept" in bench.screen
        await bench.press(*keys, "enter")
        recorded = bench.session.events[-1].body.to_json()
        assert (recorded["to"], recorded["unit"], recorded["water"]) == ("paint", "pot 1", water)
        assert bench.app.live.day.batches["11"].open_heat is None

    drive(tmp_path, script, text=PLAN)


def test_the_title_follows_the_unit_and_says_when_the_heat_is_put_off(tmp_path: Path) -> None:
    """Also the dishes in turn: three skeins are two of an oven for two, and one of an oven for four."""

    async def script(bench: Bench) -> None:
        def title() -> str:
            return next(line for line in bench.screen.split("\n") if "Harbour (p" in line or "Sparks (p" in line)

        await bench.press("0", "1", "m", "2", "space")
        assert title().endswith("start steam 40 min in steamer 1")
        await bench.press("2")
        assert title().endswith("start steam 40 min in steamer 2")
        await bench.press("0")
        assert title().endswith("wait for a steamer")
        await bench.press("1", "escape", "0", "4", "m", "2", "space")
        assert title().endswith("start microwave 2 min, 2 dishes in oven 1")
        await bench.press("2")
        assert title().endswith("start microwave 2 min in big oven 1")

    big = '[[kit]]\nname = "big oven"\nkind = "microwave"\nholds = 4\n'
    drive(tmp_path, script, text=f"{PLAN}\n{big}")


def test_heat_goes_on_under_yarn_being_dyed_only_if_you_say_so(tmp_path: Path) -> None:
    """Enter at the start of a dye of twelve minutes began the simmer as well."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "3", "m", "1", "space")
        assert "dye in pot 1" in bench.screen
        assert "0 heat on later" in bench.screen
        await bench.press("0")
        assert "dye, start simmer" in bench.screen
        assert "0 heat on now" in bench.screen
        await bench.press("0", "enter")
        assert bench.app.live.day.batches["03"].open_heat is None
        await bench.press("space", "enter")
        assert bench.app.live.day.batches["03"].open_heat is not None

    drive(tmp_path, script, text=PLAN)


def test_a_batch_that_lies_in_its_pot_waits_for_heat_and_not_for_a_pot(tmp_path: Path) -> None:
    """03 went into its dye in pot 1 without heat, and its heat is put off once more."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "3", "m", "1", "space", "enter")
        await bench.press("space", "0")
        assert "stay in pot 1, heat off" in bench.screen
        assert "wait for a pot" not in bench.screen

    drive(tmp_path, script, text=PLAN)


def test_one_key_takes_the_rinse_with_its_look_and_return_alone_records_none(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "m", "4")
        await bench.on(61)
        await bench.press("space", "enter")
        assert bench.kinds == ["moved", "moved"]
        await bench.press("z", "enter", "space", "t")
        assert bench.kinds[-2:] == ["reading", "moved"]
        assert bench.app.screen is bench.app.bench

    drive(tmp_path, script)


def test_a_look_at_a_hot_bath_taken_with_the_rinse_sends_to_the_first_rinse_and_not_to_the_bath(
    tmp_path: Path,
) -> None:
    async def script(bench: Bench) -> None:
        await bench.type("04m3 ")
        await bench.press("enter")
        await bench.on(51)
        await bench.type("04 ")
        await bench.press("enter")
        await bench.on(57)
        await bench.type("04 c")
        shown_text = " ".join(bench.screen.split())
        assert "still hot: the look at the first rinse counts" in shown_text
        assert "read it again" not in shown_text

    drive(tmp_path, script)


def test_a_tank_too_low_for_the_heat_is_not_started_by_one_return(tmp_path: Path) -> None:
    """Return says that f fills it; return again starts it all the same."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "2", "space", "1", "enter")
        await bench.on(50)
        await bench.press("space", "enter", "0", "5", "m", "2", "space", "1", "enter")
        assert "the tank is too low for it" in bench.screen
        await bench.press("f", "enter")
        assert bench.app.screen is bench.app.bench
        assert bench.session.events[-1].body.to_json()["tank"] == "filled"

    drive(tmp_path, script)


def test_one_return_does_not_overload_a_circuit(tmp_path: Path) -> None:
    """Two steamers of 1400 W at 230 V are 12.2 A on a lead of 10: the second return accepts that."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "2", "space", "enter", "0", "5", "m", "2", "space", "2", "enter")
        assert "draw 12.2 A" in bench.screen
        assert "Enter again starts it anyway" in bench.screen
        assert [heat.unit for b in bench.app.live.day.unsplit for heat in b.heats] == ["steamer 1"]
        await bench.press("enter")
        assert [heat.unit for b in bench.app.live.day.unsplit for heat in b.heats] == ["steamer 1", "steamer 2"]

    drive(tmp_path, script, text=SHORT_DAY.read_text("utf-8").replace("lead_amps = 13", "lead_amps = 10"))


def test_the_fill_of_one_unit_is_not_recorded_for_another(tmp_path: Path) -> None:
    """f is about the unit on the screen: another one's tank is as it was."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "2", "space", "1", "enter")
        await bench.on(50)
        await bench.press("space", "enter", "0", "5", "m", "2", "space", "1", "f", "2", "enter")
        assert bench.app.screen is bench.app.bench
        last = bench.session.events[-1].body.to_json()
        assert (last["unit"], last.get("tank")) == ("steamer 2", None)

    drive(tmp_path, script)
