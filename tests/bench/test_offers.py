"""What the bench offers for a step, and what taking it records; without a screen.

The dose offered is held against PHREEQC; other limits are common practice.
"""

from __future__ import annotations

from dataclasses import replace
from math import ceil

import pytest

from dyeday import units
from dyeday.ahead.advising.next_step import NextStep, in_unit_if_as_good, next_step, shared_step
from dyeday.ahead.advising.next_up import at_batch, next_up
from dyeday.bench.live_session import EventDraft
from dyeday.bench.prompts.offer_lines import lines_to_know
from dyeday.bench.prompts.offer_lines import warnings as offer_warnings
from dyeday.bench.prompts.offering import drafts_for
from dyeday.bench.prompts.offers import Offer, OfferTaken
from dyeday.bench.view.batch_row import SWATCH_CELLS, row, swatch_cells, urgency_of_item
from dyeday.paper.sheets.cautions import OPEN_POWDER
from dyeday.plan.doses import as_wool_g, dose
from dyeday.plan.model import Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.recipe import Colourway
from dyeday.plan.weigh_out import weigh_out
from dyeday.plan.weigh_out_warnings import warnings
from dyeday.quick_dataclass import altered
from dyeday.terms import CoolWhere, FlagId, HeatEdge, ReadingKind, State, Water
from dyeday.track.day.day_state import Day
from dyeday.track.events.movements import AcidPutIn
from dyeday.track.timers.timers import timer_of
from tests.fakes import HOME_DAY
from tests.paper.sheets import summary_pages
from tests.track.days import PLAN, THE_PLAN, Line, at, day_of, flags, heated, now, plan_with, proper, soaked
from tests.typed_events import draft

WATER = "[water]\nalkalinity = 200\nhardness = 0\ntemperature = 20\n"
HARD = plan_with(more=WATER)


def step_of(day: Day, batch: str, time: str) -> NextStep:
    step = next_step(day, day.batches[batch], now(time))
    assert step is not None
    return step


def offered(lines: list[Line], batch: str = "01", time: str = "12:00", plan: Plan = HARD) -> Offer:
    day = day_of(lines, plan)
    return Offer(day, (day.batches[batch],), step_of(day, batch, time), now(time))


def need(litres: float, plan: Plan = HARD, fibre_g: float | None = None, base: str = "Sock") -> float:
    """Return the full dose of so much water, with yarn in it, by default at 10 L/kg."""
    yarn_g = litres * 100 if fibre_g is None else fibre_g
    found = dose(plan, litres, as_wool_g(plan, yarn_g, plan.base(base)))
    assert found is not None
    return found.amount


def test_the_soak_is_offered_with_the_full_dose_as_the_jug_does_it() -> None:
    """300 g are 3 L: 38.4 mL by PHREEQC (minteq.v4.dat) and 25.6 to 26.6 for the fibre, 65 mL in a jug of 5 mL."""
    offer = offered([])
    assert offer.title.startswith("01 Harbour (waiting)")
    assert offer.unit == "tray 1"
    assert offer.amount_label == "acid, mL of vinegar"
    assert offer.into("tray 1").acid_figure == "65"
    assert not offer.looks


def test_a_batch_that_rests_makes_room_in_the_microwave_and_the_offer_says_to_take_it_out() -> None:
    more = '[[order]]\nitem = "more sparks"\ncolourway = "Sparks"\nbase = "Sock"\nskeins = 2\n'
    plan = plan_with(more=more)
    first, other = (batch.no for batch in plan.batches if batch.colourway == "Sparks")
    lines = [*soaked(first), *soaked(other), at("10:30", first, to="fix")]
    lines.append(at("10:30", first, event="pass", heat_no=1, run="start", unit="oven 1"))
    ended = at("10:32", first, event="pass", heat_no=1, run="end")
    offer = offered([*lines, ended], other, "10:33", plan)
    assert (offer.unit, *offer.units[0]) == ("oven 1", "oven 1", f" (take {first} out to rest)")


def test_what_asks_for_more_heat_is_seen_to_before_the_batch_is_rinsed() -> None:
    """Said by the next line and by the offer, until the flag is cleared."""
    lines = [
        *soaked(),
        *heated(),
        at("12:30", "01", event="reading", reading="eye", value="coloured", where="puddle"),
    ]
    first = next(item for item in next_up(day_of(lines), now("13:00")) if item.about == "01")
    assert (first.do, first.why) == ("heat on in steamer 2", "see its flag: colour left")
    offer = offered(lines, time="13:00", plan=plan_with())
    assert (offer.step.to, offer.unit) == (State.FIX, "steamer 2")
    assert "01: see its flag: colour left" in lines_to_know(offer)
    cleared = at("12:40", "01", event="resolved", rule="under-exhausted", why="heated again")
    (after,) = [item for item in next_up(day_of([*lines, cleared]), now("13:00")) if item.about == "01"]
    assert after.do == "rinse in sink 1"
    assert after.why.startswith("cooled, ready 40 min ago")


@pytest.mark.parametrize(
    ("other", "looks", "unit"),
    [("02", [], None), ("02", ["01"], None), ("02", ["01", "02"], "sink 1"), ("08", [], "sink 1")],
)
def test_another_colour_is_rinsed_beside_one_only_where_both_are_clear(
    other: str, looks: list[str], unit: str | None
) -> None:
    """08 is of the colour that is being rinsed; of 02 the dyer may still choose the sink by its number."""
    lines = [line for no in ("01", other) for line in (*soaked(no), *heated(no, unit=f"steamer {no[1]}"))]
    lines += [at("11:20", other, to="cool"), at("13:00", "01", to="rinse", unit="sink 1")]
    lines += [at("12:59", no, event="reading", reading="eye", value="clear", where="puddle") for no in looks]
    lines.sort(key=lambda line: line["at"])
    plan = plan_with(more='[[kit]]\nname = "big"\nkind = "steamer"\nunits = 8\nholds = 8\n')
    lines = [{**line, "unit": line["unit"].replace("steamer", "big")} if "unit" in line else line for line in lines]
    offer = offered(lines, other, "13:02", plan)
    assert offer.unit == unit
    assert offer.units == (("sink 1", " (01)"),)
    about = [item.do for item in next_up(day_of(lines, plan), now("13:02")) if other in item.abouts]
    assert about == (["rinse in sink 1"] if unit else [])
    if unit is None:
        assert offer.full_words() == "another colour is rinsed there: press a number to rinse them together"


def test_the_last_layer_has_a_cell_of_the_swatch_beside_two_grounds() -> None:
    """Half green, half blue, speckled with brown: two cells would be cut without it."""
    batch = day_of([]).batches["05"]
    ground, speckle = batch.colourway.layers
    halves = tuple(replace(ground.sections[0], share_pct=50.0, swatch=swatch) for swatch in ("#00aa00", "#0000aa"))
    brown = tuple(replace(section, swatch="#663300") for section in speckle.sections)
    layers = (replace(ground, sections=halves), replace(speckle, sections=brown))
    cells = swatch_cells(altered(batch, colourway=replace(batch.colourway, layers=layers)))
    assert set(cells) == {"#00aa00", "#0000aa", "#663300"}
    assert cells[-1] == "#663300"
    assert len(cells) <= SWATCH_CELLS


def test_a_finer_jug_is_offered_finer() -> None:
    """64 mL to the half millilitre, upwards."""
    assert offered([], plan=plan_with(more=f"{WATER}[jug]\nresolution = 0.5\n")).into("tray 1").acid_figure == "64"
    assert 63.5 < need(3) <= 64


def test_the_offer_for_a_tray_with_yarn_in_it_is_what_its_bath_lacks() -> None:
    """500 g are 5 L, 107 mL, of which 40 are in: 70 more; an empty tray gets its own 2 L, 43 mL."""
    lines = [
        at("09:00", "01", to="soak", unit="tray 1"),
        at("09:00", unit="tray 1", event="acid put in", acid_ml=40),
    ]
    offer = offered(lines, "05")
    assert offer.into("tray 1").acid_figure == "70"
    assert offer.into("tray 2").acid_figure == "45"
    assert (need(5) - 40, need(2)) == pytest.approx((66.8, 42.7), abs=1)
    assert ("tray 1", " (01, full)") in offer.units
    assert ("tray 2", "") in offer.units


def test_a_bath_that_has_its_acid_already_is_offered_none() -> None:
    """Nothing rather than a negative amount."""
    full = at("09:00", unit="tray 1", event="acid put in", acid_ml=100)
    assert offered([full]).into("tray 1").acid_figure == ""
    assert offered([full]).into("tray 2").acid_figure == "65"


@pytest.mark.parametrize("recorded", [{"unit": "tray 1"}, {"batch": "02"}], ids=["with the tray", "with a batch"])
def test_acid_recorded_with_a_batch_is_in_the_bath_it_lies_in(recorded: dict[str, str]) -> None:
    lines = [at("09:00", "02", to="soak", unit="tray 1"), at("09:05", event="acid put in", acid_ml=50, **recorded)]
    offer = offered(lines).into("tray 1")
    assert offer.acid_offer().amount_in_it == 50
    assert offered(lines[:1]).into("tray 1").acid_offer().amount_now == pytest.approx(
        offer.acid_offer().amount_now + 50, abs=5
    )
    assert any("tray 1 has 50 mL" in line for line in lines_to_know(offer))


def test_a_soak_tells_of_new_water_and_of_kept_water_apart() -> None:
    """Once one is chosen, only that one is mentioned."""
    offer = offered([*soaked("02", unit="tray 1"), at("09:55", "02", to="paint")])
    asked, new, kept = (
        " ".join(lines_to_know(offer.into("tray 1", water))) for water in (None, Water.NEW, Water.KEPT)
    )
    assert "3 L of new water; 65 mL of vinegar for it" in asked
    assert "water kept: about " in asked
    assert "3 L of water; 65 mL of vinegar for it" in new
    assert "water kept" not in new
    assert kept.startswith("water kept: about ")
    assert "for it and the yarn" not in kept


def test_acid_poured_away_is_offered_again() -> None:
    """The tray was emptied since."""
    lines = [at("09:00", unit="tray 1", event="acid put in", acid_ml=100), at("09:10", unit="tray 1", is_="emptied")]
    assert offered(lines).into("tray 1").acid_figure == "65"


def test_a_tray_filled_with_litres_is_offered_acid_for_those() -> None:
    """6 L: 76.7 mL by PHREEQC and 26 for the fibre, and what is offered is never weak by the record."""
    lines = [at("08:50", unit="tray 1", is_="filled", litres=6)]
    said = offered(lines).into("tray 1").acid_figure
    assert said == "105"
    put = at("09:00", unit="tray 1", event="acid put in", acid_ml=float(said))
    record = [*lines, at("09:00", "01", to="soak", unit="tray 1"), put, at("10:00", "01", to="paint")]
    assert not flags(record, FlagId.WEAK_ACID, "20:00", plan=HARD)


def test_an_amount_too_small_for_the_jug_is_a_pipettes_and_one_for_the_scale_its_step() -> None:
    """19 mL beside a jug of 50 mL, and less than a gram on a scale of 1 g, are not 0."""
    paint = [*soaked("07")][:2]
    coarse = plan_with(more=f"{WATER}[jug]\nresolution = 50\n")
    assert 0 < need(0.18, coarse, 200) < 25
    assert offered(paint, "07", plan=coarse).into(None).acid_figure == "19.5"
    citric = plan_with(more=f'{WATER}[acid]\nkind = "citric"\n[scale]\nresolution = 1\n')
    assert 0 < need(0.18, citric, 200) < 1
    assert offered(paint, "07", plan=citric).into(None).acid_figure == "1"


def test_of_unknown_water_the_usual_dose_is_offered_and_says_so() -> None:
    """20 mL of 5 % vinegar per 100 g (common practice), for 300 g."""
    offer = offered([], plan=plan_with())
    assert offer.amount_label == "acid, mL of vinegar"
    assert offer.into("tray 1").acid_figure == "60"
    assert any("write its alkalinity in the plan" in line for line in lines_to_know(offer))


def test_the_dyers_own_dose_is_offered() -> None:
    """40 mL per 100 g, for 300 g, in water that would ask for 65."""
    own = plan_with(more=f'{WATER}[acid]\ndose = "40 mL per 100 g"\n')
    assert offered([], plan=own).into("tray 1").acid_figure == "120"


def test_where_the_acid_goes_into_the_bath_the_soak_is_offered_none() -> None:
    """Peat is immersed: plain water first, its acid with the dye, for 8 L."""
    soak = offered([], "03")
    assert soak.amount_label == ""
    assert soak.into("tray 1").acid_figure == ""
    assert any("no acid: it goes into the bath" in line for line in lines_to_know(soak))
    dye = offered([at("09:00", "03", to="soak", unit="tray 1")], "03")
    assert dye.into("pot 1").acid_figure == f"{half_ml()}"
    assert dye.unit == "pot 1"


def test_the_acid_of_a_pot_is_offered_as_the_first_half_of_the_amount_weighed() -> None:
    """The offer says how much goes in now, and how much once the pot simmers."""
    put_in = [at("09:00", "03", to="soak", unit="tray 1")]
    whole = ceil(need(8, fibre_g=400, base="Wool") / 5) * 5
    said = lines_to_know(offered(put_in, "03"))
    assert f"acid: {whole // 2} mL now, {whole // 2} mL once it simmers" in said
    once = plan_with(more=f"{WATER}[acid]\nparts = 1\n")
    assert not any("half" in line for line in lines_to_know(offered(put_in, "03", plan=once)))


@pytest.mark.parametrize(("power_w", "warm_up", "said"), [(2000, 10, True), (2000, 25, False), (None, 10, True)])
def test_a_pot_says_how_long_its_cold_bath_takes_where_its_warm_up_is_shorter(
    power_w: float | None, warm_up: float, said: bool
) -> None:
    """8 L from 20 to 95 °C at 2 kW: 8 × 4.186 × 75 / 2 / 60 = 20.9 min (water's heat from memory), losses apart."""
    kit = tuple(
        replace(item, power_w=power_w, warm_up_min=warm_up) if item.name == "pot" else item for item in HARD.kit
    )
    lines = lines_to_know(offered([at("09:00", "03", to="soak", unit="tray 1")], "03", plan=replace(HARD, kit=kit)))
    at_power = "2000 W" if power_w else "the 2000 W of a usual ring"
    assert (f"8 L from 20 °C takes 21 min or more at {at_power}: press h when it simmers" in lines) is said
    assert any(f"after {warm_up} min of warm-up" in line for line in lines)


@pytest.mark.parametrize("is_seen", [True, False])
def test_the_end_of_a_simmer_asks_when_it_began_where_nothing_says_so(is_seen: bool) -> None:
    """On at 10:10 and computed to simmer at 10:20: with h pressed at 10:40 there is nothing to ask."""
    seen = [at("10:40", "03", heat_no=1, run="heat")] if is_seen else []
    lines = lines_to_know(offered([*simmering(first_ml=2 * half_ml()), *seen], "03", "11:20"))
    assert any(line.startswith("did it simmer at 10:20?") for line in lines) is not is_seen


def half_ml() -> int:
    """Return half of what the 8 L pot of 400 g of wool wants, as the jug of 5 mL does it."""
    return ceil(need(8, fibre_g=400, base="Wool") / 2 / 5) * 5


IN_THE_POT = [
    at("09:00", "03", to="soak", unit="tray 1"),
    at("10:00", "03", to="paint", unit="pot 1"),
]


def simmering(*more: Line, first_ml: float) -> list[Line]:
    """Return the record of a pot on at 10:10, at a simmer at 10:20, with the first part of its acid in."""
    heat = at("10:10", "03", heat_no=1, run="start", unit="pot 1")
    return [*IN_THE_POT, at("10:05", unit="pot 1", acid_ml=first_ml), at("10:09", "03", to="fix"), heat, *more]


def test_a_pot_gets_the_second_part_of_its_acid_when_it_simmers_and_then_nothing_more() -> None:
    """Half before the heat, the rest as a prompt at the simmer; taken, the next step is the end of the heat."""
    whole = ceil(need(8, fibre_g=400, base="Wool") / 5) * 5
    record = simmering(first_ml=half_ml())
    assert step_of(day_of(record, HARD), "03", "10:19").edge is HeatEdge.END
    step = step_of(day_of(record, HARD), "03", "10:21")
    assert step.acid == whole - half_ml()
    said = next_up(day_of(record, HARD), now("10:21"))
    assert [(item.about, item.mark) for item in said if "acid" in item.do] == [("03", "*")]
    offer = offered(record, "03", "10:21")
    assert offer.into("pot 1").acid_figure == f"{step.acid:g}"
    drafts = drafts_for(offer, OfferTaken("pot 1", "70"))
    assert [draft.body for draft in drafts] == [AcidPutIn(acid_ml=70.0, unit="pot 1")]
    done = simmering(at("10:22", unit="pot 1", acid_ml=step.acid), first_ml=half_ml())
    assert step_of(day_of(done, HARD), "03", "10:23").edge is HeatEdge.END


def test_the_whole_acid_at_once_or_a_low_ph_asks_for_no_second_part() -> None:
    """What is in it already is not asked for again."""
    whole = simmering(first_ml=2 * half_ml())
    assert step_of(day_of(whole, HARD), "03", "10:21").edge is HeatEdge.END
    read = simmering(at("10:20", "03", reading="ph", value=4.6), first_ml=half_ml())
    assert step_of(day_of(read, HARD), "03", "10:21").edge is HeatEdge.END


def test_the_acid_of_an_earlier_layer_is_none_of_the_next_pots() -> None:
    """Two layers in two pots, the first layer's acid recorded with the batch: the second asks for its own part."""
    twice = replace(HARD, colourways=tuple(in_two_layers(c) if c.name == "Peat" else c for c in HARD.colourways))
    first = [*simmering(first_ml=half_ml()), at("10:21", "03", acid_ml=4 * half_ml()), at("11:00", "03", to="cool")]
    again = [at("12:00", "03", to="paint", unit="pot 2"), at("12:01", unit="pot 2", acid_ml=half_ml())]
    on = [at("12:05", "03", to="fix"), at("12:05", "03", heat_no=1, run="start", unit="pot 2")]
    assert step_of(day_of([*first, *again, *on], twice), "03", "12:20").acid == half_ml()


def test_a_second_bath_is_offered_in_a_pot_with_its_heat_as_the_first_is() -> None:
    """Cool and out of pot 1, where 11 lies now: layer 2 goes into pot 2, for its own 30 min, as one entry."""
    twice = replace(HARD, colourways=tuple(in_two_layers(c) if c.name == "Peat" else c for c in HARD.colourways))
    first = [*simmering(first_ml=half_ml()), at("11:00", "03", heat_no=1, run="end"), at("11:00", "03", to="cool")]
    offer = offered([*first, at("11:30", "11", to="paint", unit="pot 1")], "03", "17:00", twice)
    assert (offer.step.text, offer.unit) == ("dye, layer 2, start simmer 30 min", "pot 2")
    (load,) = drafts_for(offer, OfferTaken("pot 2", f"{half_ml()}"))
    into_pot = {"batches": ["03"], "to": "paint", "unit": "pot 2", "layer": 2, "acid_ml": half_ml()}
    assert load == draft("load", None, {**into_pot, "pass": 1, "run": "start"})
    day = day_of([*first, at("17:00", **load.body.to_json())], twice)
    assert (day.batches["03"].layer, day.batches["03"].unit) == (2, "pot 2")
    assert step_of(day, "03", "17:05").edge is HeatEdge.END


def test_a_pot_for_the_layer_after_a_steamed_one_is_offered_with_its_own_heat() -> None:
    """It simmers and takes the second layer's minutes, not the steam of the first."""
    wash, peat = (next(c for c in HARD.colourways if c.name == name) for name in ("Harbour", "Peat"))
    (pot,) = peat.layers
    both = replace(wash, layers=(*wash.layers, replace(pot, sections=wash.layers[0].sections)))
    plan = replace(HARD, colourways=tuple(both if c.name == "Harbour" else c for c in HARD.colourways))
    offer = offered([*soaked(), *heated()], time="13:00", plan=plan)
    assert (offer.step.text, offer.wanted_min) == ("dye, layer 2, start simmer 30 min", 40)
    lines = lines_to_know(offer)
    assert "minutes count after 10 min of warm-up, or from h when it simmers" in lines
    assert any(line.startswith("6 L from 20 °C takes ") for line in lines)


def test_yarn_of_a_broken_steamer_that_was_put_into_a_pot_is_offered_its_last_minutes_there() -> None:
    """At heat for 20 of 40 min when it broke; the other steamer is full."""
    broke = [
        *soaked(),
        at("10:10", "02", to="fix"),
        at("10:10", "02", heat_no=1, run="start", unit="steamer 2"),
        at("10:10", "01", to="fix"),
        at("10:10", "01", heat_no=1, run="start", unit="steamer 1"),
        at("10:40", unit="steamer 1", is_="down"),
        at("10:45", "01", event="placed", unit="pot 1"),
    ]
    offer = offered(broke, time="10:50")
    assert (offer.step.text, offer.unit) == ("start steam the last 20 of 40 min", "pot 1")
    (heat,) = drafts_for(offer, OfferTaken("pot 1", ""))
    on = [*broke, at("10:50", "01", **heat.body.to_json())]
    day = day_of(on, HARD)
    assert not flags([*on, at("11:25", "01", to="cool")], FlagId.SHORT_FIX, "12:00")
    assert step_of(day, "01", "11:25").text == "heat off pot 1, out to cool"


def test_painted_yarn_that_was_put_into_a_pot_is_offered_its_steam_there() -> None:
    offer = offered([*soaked(), at("10:15", "01", event="placed", unit="pot 1")], time="10:20")
    assert (offer.step.text, offer.unit) == ("start steam 40 min", "pot 1")


def in_two_layers(colourway: Colourway) -> Colourway:
    return replace(colourway, layers=colourway.layers * 2)


@pytest.mark.parametrize(
    "since",
    [[at("09:35", event="acid put in", unit="tray 1", acid_ml=5)], [at("09:35", "01", reading="ph", value=4.5)]],
)
def test_a_ph_too_high_in_the_soak_asks_for_acid_until_some_is_put_in_or_it_is_read_good(since: list[Line]) -> None:
    """Its message was gone with the next key, and the yarn was painted at that pH."""
    lines = [*soaked()[:2], at("09:30", "01", reading="ph", value=6.5)]
    (item,) = [one for one in next_up(day_of(lines, HARD), now("09:40")) if one.about == "01"]
    offer = offered(lines, time="09:40")
    assert item.do == offer.step.text == f"add {offer.acid_figure} mL of vinegar to tray 1"
    assert (item.why, item.is_urgent) == ("its pH was too high: then read it again", True)
    (put,) = drafts_for(offer, OfferTaken("tray 1", offer.acid_figure))
    assert put == EventDraft(AcidPutIn(unit="tray 1", acid_ml=float(offer.acid_figure)), "01")
    assert step_of(day_of([*lines, *since], HARD), "01", "09:40").text == "paint"


@pytest.mark.parametrize(
    ("more", "asks"),
    [([], True), ([at("09:39", "01", reading="ph", value=4.6)], False), ([at("09:39", "01", to="paint")], False)],
)
def test_five_minutes_after_acid_for_a_high_ph_the_list_asks_to_read_it_again(more: list[Line], asks: bool) -> None:
    """Until it is read, or dye goes on."""
    high = at("09:30", "01", reading="ph", value=6.5)
    lines = [*soaked()[:2], high, at("09:35", event="acid put in", unit="tray 1", acid_ml=20), *more]
    early, items = (next_up(day_of(lines, HARD), now(time)) for time in ("09:39", "09:40"))
    again = [item for item in items if item.do == "read its pH again"]
    assert [(item.why, item.reads) for item in again] == [
        ("20 mL of vinegar went in after pH 6.5", ReadingKind.PH)
    ] * asks
    said = [line for line in lines_to_know(offered(lines, time="09:40")) if "pH again" in line]
    assert said == ["01: read its pH again first: 20 mL of vinegar went in after pH 6.5"] * asks
    assert not any(item.do == "read its pH again" for item in early)


def test_acid_in_one_part_is_offered_whole_and_in_four_a_quarter_every_ten_minutes() -> None:
    """`acid.parts`: the second part at the simmer, further ones ten minutes apart (common practice, no source)."""
    one = plan_with(more=f"{WATER}[acid]\nparts = 1\n")
    whole = ceil(need(8, fibre_g=400, base="Wool") / 5) * 5
    assert offered(IN_THE_POT[:1], "03", plan=one).into("pot 1").acid_figure == f"{whole}"
    four = plan_with(more=f"{WATER}[acid]\nparts = 4\n")
    quarter = float(offered(IN_THE_POT[:1], "03", plan=four).into("pot 1").acid_figure)
    assert quarter == ceil(need(8, fibre_g=400, base="Wool") / 4 / 5) * 5
    record = simmering(at("10:21", unit="pot 1", acid_ml=quarter), first_ml=quarter)
    assert step_of(day_of(record, four), "03", "10:25").edge is HeatEdge.END
    assert 0 < step_of(day_of(record, four), "03", "10:31").acid <= quarter


def test_acid_is_read_in_the_unit_it_is_measured_in() -> None:
    """A tablespoon is read; grams where millilitres belong are refused."""
    read = offered([]).read_amount
    assert read is not None
    assert read("60 mL") == "60"
    assert read("0,5 L") == "500"
    with pytest.raises(units.QuantityError):
        read("6 g")


def test_the_soak_says_water_and_acid_for_it_and_the_fibre_as_the_jug_does_it() -> None:
    """3 L and 300 g, 65 mL to pH 4.5."""
    assert lines_to_know(offered([]))[0] == "3 L of water; 65 mL of vinegar for it and the yarn, to pH 4.5"


def test_fibre_that_acid_dye_leaves_white_takes_no_acid_in_the_offer() -> None:
    """Half the yarn cotton: half of what is poured for the fibre."""
    fine = f"{WATER}[jug]\nresolution = 0.1\n"
    wool = read_plan(f"{PLAN}\n{fine}")
    half = read_plan(f"{PLAN.replace('fibre = { wool = 100 }', 'fibre = { wool = 50, cotton = 50 }')}\n{fine}")
    for_water = need(3, wool, fibre_g=0)

    def for_fibre(plan: Plan) -> float:
        return float(offered([], "02", plan=plan).into("tray 1").acid_figure) - for_water

    assert for_fibre(half) == pytest.approx(for_fibre(wool) / 2, abs=0.15)


def test_what_a_kept_bath_wants_is_said_with_the_soak_that_follows_it() -> None:
    """300 g left 2.6 of 3 L and 34 of 65 mL; 200 g in 2.6 L want 50, so 16, by pipette; new water wants 45."""
    lines = [
        at("09:00", "01", to="soak", unit="tray 1"),
        at("09:00", unit="tray 1", event="acid put in", acid_ml=65),
        at("10:00", "01", to="paint"),
    ]
    offer = offered(lines, "05")
    assert (offer.unit, offer.into("tray 1").acid_figure) == ("tray 1", "45")
    (kept,) = [line for line in lines_to_know(offer) if "kept" in line]
    assert kept == "water kept: about 2.62 L left with 35 mL of acid, add 16 mL; read the pH in 10 min"
    assert not any(
        "kept" in line for line in lines_to_know(offered([*lines, at("10:01", unit="tray 1", is_="emptied")], "05"))
    )


@pytest.mark.parametrize(("seen", "said"), [("coloured", True), ("tinted", True), ("clear", False), (None, False)])
def test_a_kept_bath_that_was_seen_with_colour_in_it_says_so(seen: str | None, *, said: bool) -> None:
    """Dye that is left in the water goes onto the next load; a first rinse is other water."""
    rinse = at("09:40", "01", reading="eye", value="coloured", where="first rinse")
    look = at("09:45", "01", reading="eye", value=seen, where="pot")
    lines = [
        at("09:00", "01", to="soak", unit="tray 1"),
        at("09:00", unit="tray 1", event="acid put in", acid_ml=65),
        rinse,
        *([look] if seen else []),
        at("10:00", "01", to="paint"),
    ]
    remarks = [line for line in lines_to_know(offered(lines, "05")) if "comes out deeper" in line]
    assert remarks == ([f"the bath of 01 was {seen}: the shade comes out deeper; take new water, or less dye"] * said)
    assert not [
        line
        for line in lines_to_know(offered([*lines, at("10:01", unit="tray 1", is_="emptied")], "05"))
        if "was " in line
    ]


@pytest.mark.parametrize(("pot", "said"), [("pot 1", True), ("pot 2", False)])
def test_a_look_counts_for_the_last_bath_that_its_yarn_was_in(pot: str, *, said: bool) -> None:
    """03 simmers in pot 1, is split as it cools, and one part is dyed again in pot 2: its look is at that bath."""
    lines = [
        at("09:00", "11", to="soak", unit="tray 2"),
        at("10:00", "03", to="paint", unit="pot 1"),
        at("10:30", "03", heat_no=1, run="start", unit="pot 1"),
        at("11:10", "03", heat_no=1, run="end"),
        at("11:12", "03", reading="eye", value="clear", where="pot"),
        at("11:15", "03", to="cool"),
        at("11:30", "03", into={"03a": 2, "03b": 2}),
        *([at("11:40", "03a", to="paint", unit=pot)] if pot == "pot 2" else []),
        at("13:00", "03a", reading="eye", value="coloured", where="pot"),
    ]
    offer = offered(lines, "11").into("pot 1", Water.KEPT)
    assert any("the bath of 03a was coloured" in line for line in lines_to_know(offer)) is said


@pytest.mark.parametrize(("time", "unit"), [("10:05", "pot 1"), ("10:20", None), ("11:30", None)])
def test_yarn_joins_a_pot_of_its_colour_only_until_that_is_hot(time: str, unit: str | None) -> None:
    """Common practice, no source: cold wool may felt in a hot bath. Pot 1 is hot from 10:10 on."""
    lines = [
        at("08:40", unit="pot 2", is_="down"),
        at("08:50", "03", into={"03a": 2, "03b": 2}),
        at("09:00", batches=["03a", "03b"], to="soak", unit="tray 2"),
        at("10:00", "03a", to="paint", unit="pot 1"),
        at("10:00", "03a", heat_no=1, run="start", unit="pot 1"),
        at("11:10", "03a", heat_no=1, run="end"),
        at("11:12", "03a", to="cool", unit="pot 1"),
    ]
    day = day_of([line for line in lines if line["at"] <= at(time)["at"]])
    assert step_of(day, "03b", time).unit == unit


def test_acid_put_in_since_the_last_load_left_is_for_the_next() -> None:
    """45 mL in the empty tray: none is wanted any more, and it is said to be there."""
    lines = [
        at("09:00", "01", to="soak", unit="tray 1"),
        at("10:00", "01", to="paint"),
        at("10:05", unit="tray 1", event="acid put in", acid_ml=45),
    ]
    offer = offered(lines, "05")
    assert offer.into("tray 1").acid_figure == ""
    assert "tray 1 has 45 mL in it" in lines_to_know(offer)


def test_water_known_by_its_hardness_only_is_said_with_the_offer() -> None:
    """The upper guess in words."""
    plan = plan_with(more="[water]\nhardness = 200\n")
    assert any("stands in for alkalinity" in line for line in lines_to_know(offered([], plan=plan)))


def test_paint_is_offered_with_its_amounts_by_section() -> None:
    """3 g of Navy for 300 g at 1 %, 150 mL of 2 %, and 120 mL of water for the 270 mL of liquor."""
    strong = replace(HARD, dyes=tuple(replace(dye, solution_pct=2.0) for dye in HARD.dyes))
    lines = lines_to_know(offered(soaked()[:2], plan=strong))
    assert lines[:2] == ("Navy 150 mL", "120 mL of water to make 270 mL")


def test_paint_of_several_sections_is_offered_with_the_water_of_each_as_the_weigh_sheet_has_it() -> None:
    """400 g, 90 mL per 100 g: 70 % have 252 mL, 168 of them Plum, 30 % have 108, 48 of them Moss: 84 and 60 of water.

    As a jug of 5 mL shows them they add up to 365; one of 1 mL shows 360.
    """
    text = HOME_DAY.read_text(encoding="utf-8")
    jugs = {
        5: ("170 mL, water 85", "50 mL, water 60", "about 360"),
        1: ("168 mL, water 84", "48 mL, water 60", "360"),
    }
    for jug, said in jugs.items():
        plan = read_plan(f"{text}\n[jug]\nresolution = {jug}\n")
        lines = lines_to_know(offered([at("09:00", "01", to="soak", unit="tray 1")], plan=plan))
        assert (f"70 %: Plum {said[0]} mL", f"30 %: Moss {said[1]} mL", f"{said[2]} mL in all") == lines[-3:]


@pytest.mark.parametrize(
    ("time", "expected"), [("10:34", ["04 has rested 2 of 5 min: ready at 10:37"]), ("10:37", [])]
)
def test_a_burst_before_its_rest_is_over_is_offered_with_the_time_from_when(time: str, expected: list[str]) -> None:
    """The oven switched itself off at 10:32, with no entry: the next burst is offered, and no heat to turn off."""
    plan = read_plan(PLAN.replace('kind = "microwave"\nholds = 2', 'kind = "microwave"\nholds = 4'))
    lines = [
        at("10:00", "04", to="paint"),
        at("10:30", "04", to="fix"),
        at("10:30", "04", heat_no=1, run="start", unit="oven 1"),
    ]
    offer = offered(lines, "04", time, plan)
    assert (offer.step.edge, offer.step.heat_no) == (HeatEdge.START, 2)
    assert [line for line in lines_to_know(offer) if "has rested" in line] == expected


@pytest.mark.parametrize(
    ("time", "expected"), [("09:10", "01 has soaked 10 of 20 min: ready at 09:20"), ("09:20", None)]
)
def test_yarn_that_has_not_soaked_long_enough_is_offered_its_paint_with_the_time_from_when(
    time: str, expected: str | None
) -> None:
    said = [line for line in lines_to_know(offered(soaked()[:2], time=time)) if "has soaked" in line]
    assert said == ([expected] if expected else [])


@pytest.mark.parametrize(
    ("time", "expected"), [("11:47", "01 has cooled 27 of 60 min: ready at 12:20"), ("12:20", None)]
)
def test_yarn_that_is_not_cool_yet_is_offered_its_rinse_with_the_time_from_when(
    time: str, expected: str | None
) -> None:
    said = [line for line in lines_to_know(offered([*soaked(), *heated()], time=time)) if "has cooled" in line]
    assert said == ([expected] if expected else [])


@pytest.mark.parametrize(
    ("batch", "time", "yarn_c", "why"),
    [
        ("02", "11:47", None, "cooled 27 of 60 min"),
        ("01", "11:22", None, "cooled 2 of 60 min"),
        ("02", "12:25", 38, "yarn 38 °C, cool enough below 25 °C"),
        ("02", "12:25", 22, ""),
        ("01", "12:25", 38, ""),
        ("02", "12:25", None, ""),
    ],
)
def test_yarn_too_warm_to_rinse_wants_a_second_enter_and_the_list_says_why(
    batch: str, time: str, yarn_c: float | None, why: str
) -> None:
    """Rinse water of 15 °C: wool waits for 25 °C, superwash for 50 °C; unread, both wait for their recipe's hour."""
    lines = [*soaked(batch), *heated(batch)]
    lines += [at("12:22", batch, reading="yarn_c", value=yarn_c)] if yarn_c is not None else []
    doubts = offer_warnings(offered(lines, batch, time, THE_PLAN), is_tank_filled=False)
    assert doubts == ({f"{batch} is too warm to rinse: {why}"} if why else set())
    if time == "12:25":
        (item,) = [item for item in next_up(day_of(lines), now(time)) if item.about == batch]
        assert item.do == ("let it cool, then read it again" if why else "rinse in sink 1")
        assert item.why == f"not yet: {why}" or not why


@pytest.mark.parametrize(
    ("full", "wraps"), [(True, ["wrap it while it waits; wrapped, safe until Sun 10:20"]), (False, [])]
)
def test_painted_yarn_that_no_steamer_is_free_for_is_offered_its_wrap(full: bool, wraps: list[str]) -> None:
    """Nothing on the bench said that it had better be wrapped."""
    steaming = [
        line
        for no, unit in (("02", "steamer 1"), ("03", "steamer 2"))
        for line in (at("10:00", no, to="fix"), at("10:00", no, heat_no=1, run="start", unit=unit))
    ]
    lines = lines_to_know(offered([*(steaming if full else []), *soaked()], time="10:20"))
    assert [line for line in lines if "wrap" in line] == wraps


@pytest.mark.parametrize(
    ("cover", "full", "do", "more"),
    [
        ("open", True, "wrap it", ", and no unit is free; w records it"),
        ("open", False, "heat on in steamer 1", "; or wrap it"),
        ("lidded", False, None, ""),
    ],
)
def test_open_yarn_about_to_dry_out_is_listed_to_be_wrapped(
    cover: str, do: str | None, more: str, *, full: bool
) -> None:
    """Where both steamers are full it had no row; and heat alone was named at an hour too late for any."""
    steaming = [
        line
        for no, unit in (("02", "steamer 1"), ("08", "steamer 2"))
        for line in (at("10:55", no, to="fix"), at("10:55", no, heat_no=1, run="start", unit=unit))
    ]
    lines = [*soaked(), at("10:20", "01", cover=cover), *(steaming if full else [])]
    rows = [item for item in next_up(day_of(lines), now("11:00")) if item.about == "01" and item.is_urgent]
    assert [(row.do, row.why) for row in rows] == ([(do, f"painted, 20 min before it dries out{more}")] if do else [])


def test_solutions_that_are_more_than_the_liquor_are_offered_with_the_way_out_as_on_paper() -> None:
    """3 g of Navy for 300 g at 1 %, 300 mL of 1 %, but 270 mL of liquor: 1.12 times as strong, upwards."""
    lines = lines_to_know(offered(soaked()[:2]))
    assert lines[0] == "Navy 300 mL"
    assert lines[1] == (
        "300 mL of solutions do not fit into 270 mL of liquor; "
        "set `solution` of its dyes 1.2 times as strong in the plan, or use more liquor"
    )
    assert any(line.endswith(lines[1]) for line in warnings(HARD, weigh_out(HARD)))


def test_a_speckle_of_powder_is_offered_in_grams_and_without_water() -> None:
    """0.6 g of powder, no liquor."""
    text = PLAN.replace(
        'how = "speckled"\nfix = ["steam 30 min"]', 'how = "speckled"\npowder = 0.3\nfix = ["steam 30 min"]'
    )
    lines = [*soaked("05"), *heated("05")]
    assert lines_to_know(offered(lines, "05", "13:00", read_plan(text))) == (OPEN_POWDER, "Navy 0.6 g")


def test_heat_is_offered_with_what_its_tank_still_has() -> None:
    """100 min less 20 % are 80; after 50 of them, 30 are not enough for 40 and the warm-up: a full one goes first."""
    waiting = [*soaked(), at("10:30", "01", to="fix")]
    assert "check that its tank is full: it then has water for 1 h 20" in lines_to_know(offered(waiting))
    ran = [
        *soaked("05"),
        at("10:10", "05", heat_no=1, run="start", unit="steamer 1"),
        at("11:00", "05", heat_no=1, run="end"),
        at("11:00", "05", to="cool"),
    ]
    assert offered([*ran, *waiting]).unit == "steamer 2"
    one = read_plan(PLAN.replace('kind = "steamer"\nunits = 2', 'kind = "steamer"\nunits = 1'))
    (last,) = [line for line in lines_to_know(offered([*ran, *waiting], plan=one)) if "tank" in line]
    assert last == ("its tank has water for 30 min, 50 min needed: switch off, fill it (boiling water), then f")
    short = read_plan(
        PLAN.replace('units = 2\nholds = 4\ntank = "2 L"\nlasts = "100 min"', 'holds = 4\nlasts = "60 min"')
    )
    offer = offered([*ran, *waiting], plan=short)
    (last,) = [line for line in lines_to_know(offer) if "tank" in line]
    assert (
        "water for 0 min: switch off, fill it (let it cool first), then f; "
        "even full not enough for 50 min: top it up" in last
    )
    assert offer.into("steamer 1").is_tank_short


def test_a_heat_that_went_on_elsewhere_says_its_minutes_without_decimals() -> None:
    """Broken off after 10 min 20 s of 40 at heat: 10 more had since; its row says "19 min left" too."""
    on = [*soaked(), at("10:30", "01", to="fix"),
          at("10:30", "01", heat_no=1, run="start", unit="steamer 1"),
          at("10:50:20", "01", heat_no=1, run="end"),
          at("11:00", "01", heat_no=1, run="start", unit="steamer 2")]  # fmt: skip
    (had,) = [line for line in lines_to_know(offered(on, time="11:20")) if line.endswith("so far")]
    assert had == "19 min early: 20 of 40 min of steam so far"


@pytest.mark.parametrize(
    ("time", "had"),
    [("11:18", "2 min early: 38 of 40"), ("11:19:20", "39 s early: 39 of 40"), ("11:19:59", "40 of 40"),
     ("11:20", "40 of 40"), ("11:22", "42 of 40")],
)  # fmt: skip
def test_a_heat_says_by_how_much_it_would_end_early_and_in_its_last_second_lacks_nothing(time: str, had: str) -> None:
    """On at 10:30 with 10 min of warm-up: in its last second a row shows 0 s left of 40 min."""
    on = [*soaked(), at("10:30", "01", to="fix"), at("10:30", "01", heat_no=1, run="start", unit="steamer 1")]
    (line,) = [line for line in lines_to_know(offered(on, time=time)) if line.endswith("so far")]
    assert line == f"{had} min of steam so far"


@pytest.mark.parametrize(("batch", "then"), [("01", "rinse"), ("05", "speckle"), ("06", "soak")])
def test_a_heat_off_offer_says_what_follows_the_cooling(batch: str, then: str) -> None:
    """No rinse comes between two layers."""
    day = day_of([*soaked(batch), *heated(batch)[:-2]])
    lines = lines_to_know(Offer(day, (day.batches[batch],), step_of(day, batch, "11:20"), now("11:20")))
    assert lines[-1].startswith("cools ")
    assert lines[-1].endswith(f", then {then}")


def test_a_row_says_its_last_entry_as_the_log_does() -> None:
    """Peat is dyed, not painted."""
    day = day_of([at("10:00", "03", to="paint", unit="pot 1")])
    batch, later = day.batches["03"], now("10:05")
    assert day.events[-1].text(day) == "to dye in pot 1"
    last = row(day, batch, at_batch(day, batch, later), later, (), is_alarmed=False).last
    assert last == "10:00 to dye in pot 1"


@pytest.mark.parametrize(("until", "word"), [("10:50", "unfixed"), ("11:20", "fixed")])
def test_a_batch_is_fixed_only_once_it_has_had_its_minutes(until: str, word: str) -> None:
    """On at 10:30, 10 min of warm-up: off at 10:50 its 40 min of steam broke off, at 11:20 it has had them."""
    day = day_of([*soaked(), at("10:30", "01", to="fix"),
                  at("10:30", "01", heat_no=1, run="start", unit="steamer 1"),
                  at(until, "01", heat_no=1, run="end")])  # fmt: skip
    batch, later = day.batches["01"], now("11:25")
    assert row(day, batch, at_batch(day, batch, later), later, (), is_alarmed=False).state == word


def test_a_burst_that_was_broken_off_leaves_a_batch_unfixed_while_it_waits_again() -> None:
    """It is painted only until its first heat."""
    fix = [*soaked("04"), at("10:00", "04", to="fix")]
    burst = [at("10:05", "04", heat_no=1, run="start", unit="oven 1"), at("10:06", "04", heat_no=1, run="end")]
    for lines, word in ((fix, "painted"), ([*fix, *burst], "unfixed")):
        day, later = day_of(lines), now("10:47")
        batch = day.batches["04"]
        assert row(day, batch, at_batch(day, batch, later), later, (), is_alarmed=False).state == word


@pytest.mark.parametrize(("time", "first"), [("13:05", False), ("13:20", True)])
def test_yarn_that_was_rinsed_long_enough_is_to_be_hung_up_before_anything_planned(time: str, first: bool) -> None:
    """Three skeins of 100 g take 6 min; a batch forgotten in the sink stands among what is urgent."""
    day = day_of([*soaked(), *heated(), at("11:20", "01", to="cool"), at("13:00", "01", to="rinse", unit="sink 1")])
    (item,) = (one for one in next_up(day, now(time)) if one.about == "01")
    assert item.do.startswith("hang up to dry")
    assert item.is_urgent is first
    assert ("20 min in the sink" in item.why) is first


@pytest.mark.parametrize(
    ("time", "first"),
    [("13:19:59", "01 hang up to dry"), ("13:20:05", "02 heat off"), ("13:20:35", "02 heat off")],
)
def test_heat_whose_minute_has_come_is_taken_off_before_anything_else(time: str, first: str) -> None:
    """On at 12:20:30, 10 min of warm-up and 50 of steam: off at 13:20, before yarn that waits in the sink.

    It is past its time, with its !, only then.
    """
    day = day_of([*soaked(), *heated(), at("11:20", "01", to="cool"), at("13:00", "01", to="rinse", unit="sink 1"),
                  *soaked("02", "11:00", "12:00"),
                  at("12:20:30", batches=["02"], to="fix", heat_no=1, run="start", unit="steamer 2")])  # fmt: skip
    one = next_up(day, now(time))[0]
    assert f"{one.about} {one.do}".startswith(first)
    assert (one.why == "heat ends within a minute") is (time == "13:20:05")
    assert urgency_of_item(one).sign == {"13:19:59": " ", "13:20:05": "•", "13:20:35": "!"}[time]


def test_a_burst_that_ends_itself_is_not_cut_short_by_the_first_line() -> None:
    """Half a minute is a quarter of it, and the burst would have to be given again."""
    burst = at("12:00:35", batches=["04"], to="fix", heat_no=1, run="start", unit="microwave 1")
    items = next_up(day_of([*soaked("04", "11:00", "11:50"), burst]), now("12:02:05"))
    assert "04" not in [item.about for item in items]


@pytest.mark.parametrize(("time", "lines"), [("11:40", ["01 heat off"]), ("11:10", ["steamer 1 turn it off, cool"])])
def test_a_tank_that_runs_low_under_a_heat_that_is_over_is_one_line(time: str, lines: list[str]) -> None:
    """Taking the heat off ends both; where the tank runs low in mid-heat, the unit is what hands see to."""
    plan = read_plan(PLAN.replace('lasts = "100 min"', f'lasts = "{70 if time == "11:40" else 40} min"'))
    day = day_of([*soaked(), at("10:30", batches=["01"], to="fix", heat_no=1, run="start", unit="steamer 1")], plan)
    said = [f"{item.about} {item.do}" for item in next_up(day, now(time)) if "off" in item.do]
    assert [line.startswith(start) for line, start in zip(said, lines, strict=True)] == [True]


def test_a_heat_longer_than_a_full_tank_lasts_is_not_said_to_want_filling() -> None:
    """A fill of 60 min is 48 to the reserve, the steam with its warm-up 50: filling first would change nothing."""
    plan = read_plan(PLAN.replace('lasts = "100 min"', 'lasts = "60 min"'))
    (last,) = [
        line for line in lines_to_know(offered([*soaked(), at("10:30", "01", to="fix")], plan=plan)) if "tank" in line
    ]
    assert last == (
        "check that its tank is full: it then has water for 48 min, "
        "50 min needed: top it up, switched off, with boiling water before it is low"
    )


def test_heat_that_would_be_too_much_for_its_circuit_says_so_before_it_is_switched_on() -> None:
    """Two steamers of 1800 W at 230 V are 15.7 A on a circuit of 13; alone one is offered without a word."""
    circuit = '\n[[circuit]]\nname = "hut"\nvolts = 230\namps = 13\n'
    text = PLAN.replace('kind = "steamer"', 'kind = "steamer"\ncircuit = "hut"\npower = 1800') + circuit
    waiting = [*soaked(), at("10:30", "01", to="fix")]
    assert not any("hut" in line for line in lines_to_know(offered(waiting, plan=read_plan(text))))
    on = [*soaked("05", unit="tray 2"), *heated("05", "10:20")[:2], *waiting]
    first = lines_to_know(offered(on, plan=read_plan(text)))[0]
    assert first.startswith("hut: steamer 1 + steamer 2 draw 15.7 A")


def test_a_batch_larger_than_the_oven_is_offered_pot_by_pot() -> None:
    """Three skeins in an oven for two."""
    offer = offered([at("10:00", "04", to="paint"), at("10:30", "04", to="fix")], "04")
    assert lines_to_know(offer)[:1] == ("2 dishes, one after another: 2 min each",)
    assert "2 dishes" in offer.title


@pytest.mark.parametrize(
    ("had", "words", "to_come_min", "dishes"),
    [
        (
            ["10:30", "10:31"],
            "the last 3 of 4 min, 2 dishes",
            3,
            "2 dishes, one after another: the first 1 min, then 2 min",
        ),
        (["10:30", "10:32"], "2 min", 2, None),
        (["10:30", "10:32", "10:33", "10:34:30"], "the last 0.5 of 2 min", 0.5, None),
        (["10:30", "10:33"], "the last 1 of 2 min", 1, None),
        (["10:30", "10:32:50"], "2 min", 2, None),
    ],
)
def test_dishes_that_lack_minutes_are_offered_as_long_as_their_timer_runs(
    had: list[str], words: str, to_come_min: float, dishes: str | None
) -> None:
    """Two dishes of two minutes: broken off, one by one, together, and with the time in which they changed places."""
    edges = [at(time, "04", heat_no=1, run=run) for time, run in zip(had, ["start", "end"] * 2, strict=False)]
    lines = [at("10:00", "04", to="paint"), at("10:30", "04", to="fix", unit="oven 1"), *edges]
    offer = offered(lines, "04", "10:36")
    assert offer.step.text == f"start microwave {words}"
    assert [line for line in lines_to_know(offer) if "dish" in line] == [*filter(None, [dishes])]
    day = day_of([*lines, at("10:36", "04", heat_no=1, run="start", unit="oven 1")], HARD)
    timer = timer_of(day, day.batches["04"], now("10:36"))
    assert timer is not None
    assert timer.left_s == to_come_min * 60
    assert day.batches["04"].heats[-1].ended(now("11:00")) == now("10:36").later(to_come_min * 60)


def test_colour_left_asks_for_heat_before_any_rinse_and_at_a_ph_too_high_for_acid_first() -> None:
    """03 cools in its pot; back in fix by hand, it stays there and lacks heat. Clearing the flag lets it rinse."""
    peat = HARD.colourways[2]
    (layer,) = peat.layers
    peat = replace(peat, layers=(replace(layer, cool_where=CoolWhere.IN_PLACE),))
    plan = replace(HARD, colourways=(*HARD.colourways[:2], peat, *HARD.colourways[3:]))
    lines = [at("09:00", "03", to="soak", unit="tray 1"), at("10:00", "03", to="paint", unit="pot 1")]
    lines += [at("10:00", "03", event="acid put in", acid_ml=20), at("10:05", "03", to="fix")]
    lines += [at("10:05", "03", heat_no=1, run="start"), at("10:45", "03", heat_no=1, run="end")]
    lines += [at("10:45", "03", to="cool")]
    look = at("15:50", "03", reading="eye", value="coloured", where="pot")
    high, more = at("15:51", "03", reading="ph", value=6.2), at("15:52", "03", event="acid put in", acid_ml=10)
    assert offered([*lines, look], "03", "15:53", plan).step.text == "fix again, start simmer 30 min"
    assert offered([*lines, look, high], "03", "15:53", plan).step.acid > 0
    again = [*lines, look, high, more]
    step = offered(again, "03", "15:53", plan).step
    assert (step.text, step.unit) == ("fix again, start simmer 30 min", "pot 1")
    back = day_of([*again, at("15:54", "03", to="fix")], plan)
    step = step_of(back, "03", "15:55")
    assert (step.text, step.unit) == ("fix again, start simmer 30 min", "pot 1")
    named = next(item for item in next_up(back, now("15:55")) if item.about == "03")
    assert (named.do, named.why) == (f"{step.text} in pot 1", "it is back in fix, and no heat is on")
    cleared = [*again, at("15:53", "03", rule=FlagId.UNDER_EXHAUSTED.value, why="checked")]
    assert offered(cleared, "03", "15:54", plan).step.text == "rinse"


def test_heat_once_more_against_bleeding_is_offered_whole_and_its_timer_runs_as_long() -> None:
    done = [at("10:00", "04", to="paint"), at("10:30", "04", to="fix", unit="oven 1")]
    done += [at("10:30", "04", heat_no=1, run="start"), at("10:39", "04", heat_no=2, run="start")]
    done += [at("10:45", "04", to="cool"), at("12:45", "04", to="rinse")]
    bled = [*done, at("12:50", "04", event="reading", reading="cloth", value="2")]
    assert offered(bled, "04", "12:52").step.text == "fix again, start microwave 2 min, 2 dishes"
    day = day_of([*bled, at("12:52", "04", heat_no=2, run="start", unit="oven 1")], HARD)
    timer = timer_of(day, day.batches["04"], now("12:52"))
    assert timer is not None
    assert timer.left_s == 4 * 60
    page = " ".join("".join(summary_pages(day, "x", now("13:10"))).replace("~", "").split())
    assert "from 10:39, 4 min (4 planned, 2 dishes), again from 12:52, 4 min;" in page


def test_a_batch_out_of_a_unit_that_broke_down_goes_where_the_tank_lasts_for_what_its_heat_lacks() -> None:
    """Of 80 min of water steamer 2 has 30 left; 35 of 40 min at heat and 10 of warm-up are 45."""
    plan = read_plan(PLAN.replace('kind = "steamer"\nunits = 2', 'kind = "steamer"\nunits = 3'))
    used = [*soaked("02"), *heated("02", "10:00", "10:50", "steamer 2"), *soaked(), *heated(since="11:00")[:2]]
    day = day_of([*used, at("11:15", unit="steamer 1", is_="down")], plan)
    (line,) = [item.do for item in next_up(day, now("11:16")) if item.about == "01"]
    assert line == "move out of steamer 1 to steamer 3"


def test_units_say_who_is_in_them_and_which_are_down() -> None:
    """The dyer sees what a digit would choose."""
    lines = [at("09:00", unit="tray 2", is_="down"), at("09:00", "06", to="soak", unit="tray 3")]
    assert offered(lines, "05").units == (
        ("tray 1", ""),
        ("tray 2", " (down)"),
        ("tray 3", " (06)"),
        ("tray 4", ""),
    )


def test_the_rinse_asks_for_a_look_and_nothing_else_does() -> None:
    """Clear, tinted or coloured, before the water runs."""
    cooled = [*soaked(), *heated()]
    assert offered(cooled, time="13:00").looks
    assert not offered(soaked()).looks


def test_done_asks_for_the_weight_of_the_whole_batch() -> None:
    """A weight in any unit becomes grams; what is left of the drying is said."""
    offer = offered([at("12:00", "01", to="dry", unit="pegs 1")], time="22:00")
    assert offer.amount_label == "weight of the whole batch, g"
    assert offer.read_amount is not None
    assert offer.read_amount("0,305 kg") == "305"
    assert offer.into(None).acid_figure == ""
    (line,) = lines_to_know(offer)
    assert line.startswith("14 of 24 h of drying left")
    assert not lines_to_know(offered([at("12:00", "01", to="dry")], time="36:00"))


def taken(
    lines: list[Line], batch: str, unit: str | None, amount: str = "", look: str | None = None, time: str = "20:00"
) -> list[EventDraft]:
    day = day_of(lines, HARD)
    return drafts_for(
        Offer(day, (day.batches[batch],), step_of(day, batch, time), now(time)), OfferTaken(unit, amount, look)
    )


def test_taking_the_soak_records_the_move_and_the_acid_in_its_tray() -> None:
    """One movement of the hands is one event."""
    assert taken([], "01", "tray 2", "40") == [
        draft("load", None, {"batches": ["01"], "to": "soak", "unit": "tray 2", "acid_ml": 40.0})
    ]


def test_no_amount_records_no_acid() -> None:
    """An empty field is not 0 mL."""
    assert taken([], "01", "tray 2") == [draft("moved", "01", {"to": "soak", "unit": "tray 2"})]


def test_acid_for_an_immersed_layer_goes_into_its_pot_and_for_paint_with_the_batch() -> None:
    """Paint has no bath of a unit."""
    immersed = taken([at("09:00", "03", to="soak", unit="tray 1")], "03", "pot 1", "100")
    into_pot = {"batches": ["03"], "to": "paint", "unit": "pot 1", "acid_ml": 100.0, "pass": 1, "run": "start"}
    assert immersed == [draft("load", None, into_pot)]
    painted = taken([at("09:00", "07", to="soak", unit="tray 1")], "07", None, "3")
    assert painted == [draft("moved", "07", {"to": "paint"}), draft("acid put in", "07", {"acid_ml": 3.0})]


def test_acid_is_recorded_in_grams_where_the_plans_is_weighed() -> None:
    """acid_g for citric."""
    day = day_of([], plan_with(more=f'{WATER}[acid]\nkind = "citric"\n'))
    offer = Offer(day, (day.batches["01"],), step_of(day, "01", "09:00"), now("09:00"))
    drafts = drafts_for(offer, OfferTaken("tray 1", "1.6"))
    assert drafts == [draft("load", None, {"batches": ["01"], "to": "soak", "unit": "tray 1", "acid_g": 1.6})]


def test_a_look_is_recorded_before_the_rinse() -> None:
    """What was left in the bath is looked at before water runs."""
    drafts = taken([*soaked(), *heated()], "01", "sink 1", look="tinted")
    assert drafts == [
        draft("reading", "01", {"reading": "eye", "value": "tinted", "where": "puddle"}),
        draft("moved", "01", {"to": "rinse", "unit": "sink 1"}),
    ]
    assert len(taken([*soaked(), *heated()], "01", "sink 1")) == 1


def test_a_weight_is_recorded_before_done() -> None:
    """Weighed on the pegs, then called done."""
    drafts = taken([at("12:00", "01", to="dry")], "01", None, "305")
    assert drafts == [
        draft("reading", "01", {"reading": "weight_g", "value": 305.0}),
        draft("moved", "01", {"to": "done"}),
    ]


def test_a_heat_starts_in_its_unit_and_ends_without_naming_one() -> None:
    """One event each."""
    waiting = [*soaked(), at("10:30", "01", to="fix")]
    assert taken(waiting, "01", "steamer 2") == [
        draft("pass", "01", {"pass": 1, "run": "start", "unit": "steamer 2"})
    ]
    on = [*waiting, at("10:30", "01", heat_no=1, run="start", unit="steamer 2")]
    assert taken(on, "01", "steamer 2", time="10:50") == [draft("pass", "01", {"pass": 1, "run": "end"})]


def test_into_the_unit_with_heat_on_is_one_entry_and_so_is_heat_off_and_out_to_cool() -> None:
    into = taken(soaked(), "01", "steamer 2")
    assert into == [
        draft("load", None, {"batches": ["01"], "to": "fix", "unit": "steamer 2", "pass": 1, "run": "start"})
    ]
    on = [*soaked(), at("10:30", batches=["01"], to="fix", heat_no=1, run="start", unit="steamer 2")]
    assert taken(on, "01", None) == [
        draft("load", None, {"batches": ["01"], "to": "cool", "unit": "steamer 2", "pass": 1, "run": "end"})
    ]


def test_a_later_layer_is_recorded_with_its_number() -> None:
    """The speckle over the wash is layer 2."""
    assert taken([*soaked("05"), *heated("05")], "05", None) == [draft("moved", "05", {"to": "paint", "layer": 2})]


def test_the_first_heat_of_a_day_is_offered_with_dry_hands_and_residual_current_protection() -> None:
    """A usual caution; common practice, no source."""
    mine = [*soaked("01", "09:10", "10:10", "tray 2"), at("10:40", "01", to="fix")]
    first = offered(mine, time="10:45")
    later = offered([*soaked("02"), *heated("02"), *mine], time="11:30")

    assert any("hands" in line and "residual-current" in line for line in lines_to_know(first))
    assert not any("residual-current" in line for line in lines_to_know(later))


@pytest.mark.parametrize(("strength", "warns"), [("10", True), ("9.9", False)])
def test_strong_acid_is_offered_with_goggles(strength: str, warns: bool) -> None:
    """Acetic acid of 10 % and more irritates eyes and skin (CLP, Annex VI, from memory)."""
    plan = plan_with(more=f'{WATER}[acid]\nstrength = "{strength} %"\n')

    assert any("goggles" in line for line in lines_to_know(offered([], plan=plan))) is warns


@pytest.mark.parametrize(("batch", "warns"), [("03", True), ("07", True), ("01", False)])
def test_strong_acid_of_a_bath_or_a_paint_is_offered_with_goggles(batch: str, warns: bool) -> None:
    """In the pot of 03 and the paint of 07; that of 01 is in its soak."""
    plan = plan_with(more=f'{WATER}[acid]\nstrength = "10 %"\n')

    assert any("goggles" in line for line in lines_to_know(offered(soaked(batch)[:-1], batch, plan=plan))) is warns


@pytest.mark.parametrize("powder", [True, False])
def test_a_layer_of_powder_is_offered_with_a_mask(powder: bool) -> None:
    """FFP2 or N95 at least; HSE Textile Information Sheet 5 keeps all dye dust low."""
    second = "sections = [{ share = 100, dyes = { Navy = 0.2 } }]"
    assert second in PLAN
    text = PLAN.replace(second, second.replace("0.2", "1") + "\npowder = 0.2") if powder else PLAN
    lines = lines_to_know(offered([*soaked("05"), *heated("05")], "05", plan=read_plan(text)))

    assert any("FFP2" in line for line in lines) is powder


def test_citric_acid_in_water_of_unknown_hardness_is_offered_as_a_range_that_asks_for_a_drop_test() -> None:
    plan = plan_with(more='[water]\nalkalinity = 200\n[acid]\nkind = "citric"\n')
    lines = " ".join(lines_to_know(offered([], plan=plan)))

    assert "(hard water) to" in lines
    assert "drop test" in lines


def rinsed_with(cloth: str, *then: Line) -> list[Line]:
    """Return 01 rinsed at 12:30 and its cloth read at 12:40, while 02 is at heat until 13:00."""
    of_01 = [*soaked("01"), *heated("01", "10:30", "11:30"), at("12:30", "01", to="rinse", unit="sink 1")]
    of_02 = [*soaked("02"), *heated("02", "12:00", unit="steamer 2")[:2]]
    return sorted([*of_01, *of_02, at("12:40", "01", reading="cloth", value=cloth), *then], key=lambda one: one["at"])


@pytest.mark.parametrize(
    ("cloth", "step"),
    [("faint", "rinse again"), ("marked", "fix again, start steam 40 min"), ("clean", "hang up to dry")],
)
def test_what_bleeds_is_offered_what_its_flag_says_and_not_the_line(cloth: str, step: str) -> None:
    """A faint cloth is loose dye, a marked one dye that wants heat; the control is clean."""
    day = day_of(rinsed_with(cloth))
    assert step_of(day, "01", "12:41").text == step
    advised = [item.do for item in next_up(day, now("12:50")) if item.about == "01"]
    assert len(advised) == 1
    assert advised[0].startswith(step)


def test_a_second_rinse_is_a_stay_of_its_own_and_the_line_comes_after_it() -> None:
    """Recorded with Space as any step; a cloth that stays faint wants a third, a flag that was cleared none."""
    again = at("12:42", "01", to="rinse", unit="sink 1")
    offer = offered(rinsed_with("faint"), time="12:41", plan=read_plan(PLAN))
    assert offer.title.endswith("rinse again in sink 1")
    assert not offer.looks
    taken = drafts_for(offer, OfferTaken(offer.unit, ""))
    assert [one.body.to_json()["to"] for one in taken] == ["rinse"]
    day = day_of(rinsed_with("faint", again))
    assert [stay.state.value for stay in day.batches["01"].stays][-2:] == ["rinse", "rinse"]
    assert step_of(day, "01", "12:43").text == "hang up to dry"
    still = at("12:50", "01", reading="cloth", value="faint")
    assert step_of(day_of(rinsed_with("faint", again, still)), "01", "12:51").text == "rinse again"
    cleared = at("12:52", "01", rule="bleeding", why="accepted as it is")
    assert step_of(day_of(rinsed_with("faint", again, still, cleared)), "01", "12:53").text == "hang up to dry"


def test_heat_that_is_over_goes_before_a_second_rinse() -> None:
    """Yarn in cold water takes no harm; 02 is over at 13:00."""
    day = day_of(rinsed_with("faint"))
    assert [item.about for item in next_up(day, now("13:02")) if item.about in ("01", "02")] == ["02", "01"]
    assert [item.about for item in next_up(day, now("12:45")) if item.about in ("01", "02")] == ["01"]


@pytest.mark.parametrize("order", [("01", "02"), ("02", "01")])
def test_a_load_is_on_as_long_as_the_batch_that_steams_longest(order: tuple[str, str]) -> None:
    """40 and 50 min with 10 min of warm-up, out of the house from 11:26: it would still be on, in whichever order."""
    text = PLAN.replace('kind = "steamer"\nunits = 2\nholds = 4', 'kind = "steamer"\nunits = 2\nholds = 8')
    plan = read_plan(text.replace('stop = "18:00"', 'stop = "18:00"\nout = ["11:26-12:30"]'))
    lines = [
        line
        for no in order
        for line in (at("09:00", no, to="soak"), at("10:00", no, to="paint"), at("10:20", no, to="fix"))
    ]
    day, moment = day_of(sorted(lines, key=lambda line: str(line["at"])), plan), now("10:28")
    batches = [day.batches[no] for no in order]
    step = shared_step(day, batches, moment)
    assert step is not None
    offer = Offer(day, tuple(batches), step, moment)
    assert offer.wanted_min == 60
    assert any("you are out of the house" in line for line in offer_warnings(offer, is_tank_filled=False))


def test_drying_left_goes_by_the_air_of_the_day_in_the_offer_and_on_the_timer() -> None:
    """At 18 °C and 85 % yarn that dries in 24 h takes 62 h, as the forecast has it."""
    damp = altered(THE_PLAN, air_temperature_c=18.0, air_humidity_pct=85.0)
    hung = [*proper("01")[:-1], at("12:45", "01", to="dry")]
    (line,) = lines_to_know(offered(hung, time="13:45", plan=damp))
    assert line.startswith("61 of 62 h of drying left")
    day = day_of(hung, damp)
    timer = timer_of(day, day.batches["01"], now("13:45"))
    assert timer is not None and timer.left_s is not None
    assert timer.left_s / 3600 == pytest.approx(60.7, abs=0.1)


def test_a_soak_is_offered_in_the_tray_of_the_list_even_where_another_is_empty() -> None:
    """05 lies in tray 1, in acid as 06 will; 07 has its acid in the paint."""
    day = day_of([at("09:00", "05", to="soak", unit="tray 1")], HARD)
    in_tray_1 = {
        no: in_unit_if_as_good(day, [day.batches[no]], step_of(day, no, "09:05"), "tray 1", now("09:05")).unit
        for no in ("06", "07")
    }
    assert in_tray_1 == {"06": "tray 1", "07": "tray 2"}


def test_yarn_without_acid_shares_no_tray_with_yarn_in_acid_unless_you_say_so() -> None:
    """Every tray has yarn in acid, 2 of 4 skeins: none is offered, and a number says what is wrong with it."""
    one_tray = HARD.kit[0].unit_names[:1]
    plan = replace(HARD, kit=(replace(HARD.kit[0], units=len(one_tray)), *HARD.kit[1:]))
    soaking = [
        at("09:00", "05", to="soak", unit="tray 1"),
        at("09:00", unit="tray 1", event="acid put in", acid_ml=45),
    ]
    offer = offered(soaking, "07", plan=plan)
    assert offer.unit is None
    assert "other yarn soaks there with acid" in offer.full_words()
    first, warned, *_ = lines_to_know(offer.into("tray 1"))
    assert first.endswith("no acid: it goes into the paint")
    assert warned == "05 in it soaks with acid: better apart"


def test_the_acid_offered_beside_other_yarn_is_what_the_whole_tray_lacks_and_raises_no_flag() -> None:
    """05 took its part of the acid with it; 06 is still in the tray as 01 comes into what is left."""
    lines = [
        at("09:00", "05", to="soak", unit="tray 1"),
        at("09:00", unit="tray 1", event="acid put in", acid_ml=45),
        at("09:10", "06", to="soak", unit="tray 1"),
        at("09:10", unit="tray 1", event="acid put in", acid_ml=45),
        at("09:40", "05", to="paint"),
    ]
    offer = offered(lines, "10", "09:45").into("tray 1")
    pour = offer.acid_offer()
    assert pour.amount_in_it < 90 - 10
    known = lines_to_know(offer)
    assert known[0].startswith("fill it up to 4 L of water, with 06 in it; ")
    assert f"; {pour.amount_now:g} mL more of vinegar by pipette for all of it and the yarn" in known[0]
    lines.append(at("09:45", "10", to="soak", unit="tray 1"))
    lines.append(at("09:45", unit="tray 1", event="acid put in", acid_ml=float(offer.acid_figure)))
    lines.append(at("10:30", "10", to="paint"))
    assert not flags(lines, FlagId.WEAK_ACID, "20:00", batch="10", plan=HARD)


@pytest.mark.parametrize("jug_ml", [5, 100])
def test_the_words_on_hard_and_softened_water_come_only_with_two_doses(jug_ml: int) -> None:
    """300 g in water of unknown hardness: a jug of 100 mL shows one dose."""
    plan = replace(plan_with(more="[water]\nalkalinity = 200\n"), jug_ml=float(jug_ml))
    first, *others = lines_to_know(offered([], plan=plan))
    assert ("(hard water) to" in first) is any("the lower dose is for hard water" in line for line in others)


def test_yarn_whose_burst_ended_by_itself_cools_from_then() -> None:
    """Two dishes of 2 min each from 10:42, taken out at 11:40."""
    begun = ((1, "10:30"), (2, "10:42"))
    bursts = [at(since, "04", heat_no=heat_no, run="start", unit="oven 1") for heat_no, since in begun]
    lines = [*soaked("04"), at("10:30", "04", to="fix"), *bursts]
    assert lines_to_know(offered(lines, "04", "11:40")) == ("cools 1 h from 10:46, then rinse",)
