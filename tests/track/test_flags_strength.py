"""The flag about too little acid. Limits are common practice; the need is USGS PHREEQC's figure for this water, and
half of what the fibre in it may take.

Vinegar of 5 % w/v to pH 4.5 in water of 200 mg/L alkalinity at 20 °C: 12.79 mL for each litre (phreeqpython 1.6.2
with minteq.v4.dat). It leaves 3.8 mmol/L of acetate, in which wool takes 0.82 θ mmol/g with
(θ / (1 - θ))² = [H⁺] [A⁻] 10^4.6 (from memory): 0.053 mmol/g, for nylon 0.05. At pH 4.5 0.355 of acetic acid
(pKa 4.76) gives its proton, of 0.833 mmol in a mL: 0.177 mL for a gram of 75 % superwash and 25 % nylon.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from dyeday.plan.doses import as_wool_g, dose
from dyeday.plan.model import Plan
from dyeday.terms import FlagId
from tests.track.days import Line, at, flags, heated, instant, plan_with

WEAK = FlagId.WEAK_ACID
WATER = "[water]\nalkalinity = 200\nhardness = 0\ntemperature = 20\n"
HARD = plan_with(more=WATER)
PHREEQC_ML_PER_L = 12.79
HALF_OF_FIBRE_ML_PER_G = 0.177 / 2


def need(litres: float, plan: Plan = HARD, fibre_g: float | None = None, base: str = "Sock") -> float:
    """Return the full dose, mL or g, of so much water with yarn in it, by default at 10 L/kg."""
    yarn_g = litres * 100 if fibre_g is None else fibre_g
    found = dose(plan, litres, as_wool_g(plan, yarn_g, plan.base(base)))
    assert found is not None
    return found.amount


def soak(*more: Line, acid_ml: float | None = None, batch: str = "01", unit: str = "tray 1") -> list[Line]:
    """Return a soak of an hour with so much acid in its tray, and the paint that ends it."""
    put = [] if acid_ml is None else [at("09:00", batch, event="acid put in", acid_ml=acid_ml, unit=unit)]
    return [at("09:00", batch, to="soak", unit=unit), *put, *more, at("10:00", batch, to="paint")]


def raised(lines: list[Line], plan: Plan = HARD, batch: str = "01") -> bool:
    return bool(flags(lines, WEAK, "20:00", batch=batch, plan=plan))


def ph(time: str, value: float, batch: str = "01") -> Line:
    return at(time, batch, reading="ph", value=value)


@pytest.mark.parametrize(("value", "weak"), [(4.5, False), (5.2, False), (5.21, True), (6.8, True)])
def test_a_ph_above_target_by_more_than_the_limit_is_weak(value: float, weak: bool) -> None:
    """Target 4.5 and a strip's 0.7: 5.2 is within it, a hundredth more is not."""
    assert raised(soak(ph("09:50", value), acid_ml=100)) is weak


@pytest.mark.parametrize(("value", "weak"), [(5.0, False), (5.01, True)])
def test_a_meter_is_held_to_half_a_ph(value: float, weak: bool) -> None:
    """Read with a meter the limit is 0.5."""
    plan = plan_with(more=f'{WATER}[acid]\nph_with = "meter"\n')
    assert raised(soak(ph("09:50", value), acid_ml=100), plan) is weak


@pytest.mark.parametrize(("value", "weak"), [(4.8, False), (4.81, True)])
def test_the_ph_limit_is_set_in_the_rules(value: float, weak: bool) -> None:
    """[rules] ph_limit = 0.3 moves the edge to 4.8."""
    assert raised(soak(ph("09:50", value), acid_ml=100), plan_with("ph_limit = 0.3", WATER)) is weak


@pytest.mark.parametrize(("value", "weak"), [(4.7, False), (4.71, True)])
def test_the_target_is_the_plans(value: float, weak: bool) -> None:
    """A target of 4.0 with a strip allows 4.7."""
    plan = plan_with(more=f"{WATER}[acid]\ntarget_ph = 4.0\n")
    assert raised(soak(ph("09:50", value), acid_ml=200), plan) is weak


def test_the_last_ph_of_the_soak_counts_and_not_an_earlier_one() -> None:
    """High then low is good; low then high is weak."""
    assert not raised(soak(ph("09:10", 6.5), ph("09:50", 4.6), acid_ml=100))
    assert raised(soak(ph("09:10", 4.6), ph("09:50", 6.5), acid_ml=100))


@pytest.mark.parametrize(("time", "counts"), [("09:04", False), ("09:05", True)])
def test_a_ph_counts_once_the_yarn_has_been_in_the_bath_for_five_minutes(time: str, counts: bool) -> None:
    """Before, the amount of acid is what is known."""
    assert raised(soak(ph(time, 6.8), acid_ml=100)) is counts
    assert raised(soak(ph(time, 4.6), acid_ml=1)) is not counts


def test_a_ph_read_after_dye_went_on_is_not_of_the_soak() -> None:
    """A reading one second into the paint says nothing of the soak; in its last moment it does."""
    assert not raised([*soak(acid_ml=100), ph("10:00:01", 6.8)])
    assert raised(soak(ph("10:00", 6.8), acid_ml=100))


@pytest.mark.parametrize(("value", "weak"), [(5.2, False), (5.6, True)])
def test_a_ph_read_after_the_heat_is_weak_until_another_heat_has_followed(value: float, weak: bool) -> None:
    """Steamed and cooling, 4.5 is the target: more acid alone does not fix dye; a second reading clears nothing."""
    lines = [*soak(acid_ml=60), *heated(), ph("11:40", value), ph("11:50", 4.4)]
    found = flags(lines, WEAK, "20:00", plan=HARD)
    assert [flag.since for flag in found] == [instant("11:40")] * weak
    assert all("after the heat: pH 5.6, target 4.5, at most 5.2" in flag.why for flag in found)
    assert all(flag.remedy.endswith("if it colours, mist acid water, never pour, heat again") for flag in found)


def test_a_low_ph_settles_it_however_little_acid_is_on_record() -> None:
    """What was read goes before what was put in."""
    assert not raised(soak(ph("09:50", 4.9), acid_ml=1))


def test_a_weak_ph_says_its_numbers_and_since_when() -> None:
    """What was read, what is wanted, the most that counts; since dye went on."""
    (flag,) = flags(soak(ph("09:50", 6.1), acid_ml=100), WEAK, "20:00", plan=HARD)
    assert flag.why == "soak: pH 6.1, target 4.5, at most 5.2"
    assert flag.since == instant("10:00")


def test_nothing_is_weak_while_the_batch_still_soaks() -> None:
    """More acid can still go in."""
    assert not raised(soak(ph("09:50", 6.8), acid_ml=1)[:-1])


@pytest.mark.parametrize(("share", "weak"), [(0.83, False), (0.77, True)])
def test_without_a_ph_acid_is_held_against_phreeqcs_need_of_the_water_and_half_the_fibres(
    share: float, weak: bool
) -> None:
    """300 g in 3 L planned: 38.4 mL by PHREEQC and 26.6 for the fibre, of which 80 % must have gone in."""
    assert raised(soak(acid_ml=share * (3 * PHREEQC_ML_PER_L + 300 * HALF_OF_FIBRE_ML_PER_G))) is weak


@pytest.mark.parametrize(("off", "weak"), [(0.0, False), (0.001, False), (-0.001, True)])
def test_eighty_percent_of_the_need_is_enough_and_a_hair_less_is_not(off: float, weak: bool) -> None:
    """The edge itself raises nothing."""
    assert raised(soak(acid_ml=0.8 * need(3) + off)) is weak


@pytest.mark.parametrize(("share", "weak"), [(0.501, False), (0.499, True)])
def test_the_share_of_acid_is_set_in_the_rules(share: float, weak: bool) -> None:
    """[rules] acid_share = 50 asks for half."""
    assert raised(soak(acid_ml=share * need(3)), plan_with("acid_share = 50", WATER)) is weak


def test_half_of_the_acid_the_fibre_may_take_is_part_of_what_is_asked() -> None:
    """An allowance of 1 mmol/g, far more than the water's need: acid for the water alone is weak."""
    plan = replace(HARD, acid=replace(HARD.acid, fibre_takes_mmol_per_g=1.0))
    given = dose(plan, 3, 300)
    assert given is not None
    # 300 mmol of protons, 0.355 of 0.833 mmol/mL each: 1014 mL, of which half.
    assert given.fibre_amount == pytest.approx(300 / (0.355 * 0.833) / 2, rel=0.08)
    assert raised(soak(acid_ml=PHREEQC_ML_PER_L * 3), plan)
    assert not raised(soak(acid_ml=0.81 * given.amount), plan)


def test_too_little_acid_says_how_much_of_how_much_and_what_to_mist() -> None:
    """10 of the 64 mL that 3 L and 300 g want; 54 mL more, after a look at the pH misted, never poured."""
    (flag,) = flags(soak(acid_ml=10), WEAK, "20:00", plan=HARD)
    assert flag.why == "soak: acid 10 of 64 mL that 3 L of this water and the yarn in it need"
    assert need(3) == pytest.approx(3 * PHREEQC_ML_PER_L + 300 * HALF_OF_FIBRE_ML_PER_G, rel=0.02)
    (steamed,) = flags([*soak(acid_ml=10), *heated()], WEAK, "20:00", plan=HARD)
    assert steamed.remedy.endswith("if it colours, mist acid water, never pour, heat again")
    squeezed = "read the pH of a drop squeezed out; above the target, "
    assert (
        flag.remedy == f"{squeezed}mist 54 mL more vinegar, thinned with water, over the painted yarn, never pour it"
    )
    assert flag.since == instant("10:00")


def test_acid_weighed_in_grams_says_grams_that_tell_it_apart() -> None:
    """Citric in 3 L of water without calcium: 0.5487 g/L by PHREEQC, 1.65 g in all, and the fibre's half."""
    plan = plan_with(more=f'{WATER}[acid]\nkind = "citric"\n')
    few = [at("09:00", "01", to="soak", unit="tray 1"), at("09:01", "01", acid_g=1.2), at("10:00", "01", to="paint")]
    (flag,) = flags(few, WEAK, "20:00", plan=plan)
    assert flag.why == f"soak: acid 1.2 of {need(3, plan):.3g} g that 3 L of this water and the yarn in it need"
    assert need(3, plan, fibre_g=0) == pytest.approx(3 * 0.5487, rel=0.015)
    assert need(3, plan) > need(3, plan, fibre_g=0)
    assert f"mist {need(3, plan) - 1.2:.2g} g more citric" in flag.remedy
    assert "mist 0 g" not in flag.remedy


@pytest.mark.parametrize(("share", "weak"), [(0.79, True), (0.81, False)])
def test_where_water_may_be_hard_or_softened_the_dose_for_hard_water_is_enough(share: float, weak: bool) -> None:
    """Citric to pH 4.5 at an alkalinity of 200 mg/L (PHREEQC): 0.4274 g/L in hard water, 0.5487 in softened."""
    plan = plan_with(more='[water]\nalkalinity = 200\ntemperature = 20\n[acid]\nkind = "citric"\n')
    hard = need(3, plan)
    put_in = at("09:01", "01", acid_g=share * hard)

    assert need(3, plan, fibre_g=0) == pytest.approx(3 * 0.4274, rel=0.015)
    assert raised([at("09:00", "01", to="soak", unit="tray 1"), put_in, at("10:00", "01", to="paint")], plan) is weak


def test_another_acid_than_the_plans_does_not_count() -> None:
    """A gram of citric where vinegar was planned: its strength is not known, so nothing is said."""
    lines = soak(at("09:05", "01", acid_g=1), acid_ml=1)
    assert not raised(lines)


def test_of_unknown_water_the_usual_dose_by_weight_is_asked_and_a_ph_still_tells() -> None:
    """20 mL of 5 % vinegar per 100 g (common practice): 60 mL for the 300 g, of which 48 are enough."""
    unknown = plan_with()
    assert raised(soak(acid_ml=47), unknown)
    assert not raised(soak(acid_ml=49), unknown)
    assert raised(soak(ph("09:50", 6.8), acid_ml=60), unknown)
    assert not raised(soak(ph("09:50", 4.6), acid_ml=1), unknown)


@pytest.mark.parametrize(
    ("dose", "enough_ml"), [("30 mL per 100 g", 90), ("2 % WOF", 120), ("15 mL/L", 45), ("10 ml / 100g", 30)]
)
def test_the_dyers_own_full_dose_is_what_a_soak_is_held_to(dose: str, enough_ml: float) -> None:
    """For 300 g in 3 L; percent of the weight is pure acid, of which 5 % vinegar has 5 g in 100 mL."""
    plan = plan_with(more=f'[acid]\ndose = "{dose}"\n' + WATER)
    assert raised(soak(acid_ml=0.79 * enough_ml), plan)
    assert not raised(soak(acid_ml=0.81 * enough_ml), plan)


def test_where_only_hardness_is_known_it_stands_in() -> None:
    """Hardness as an upper guess of alkalinity makes the same demand."""
    plan = plan_with(more="[water]\nhardness = 200\ntemperature = 20\n")
    assert raised(soak(acid_ml=0.75 * need(3)), plan)
    assert not raised(soak(acid_ml=0.85 * need(3)), plan)


def filled(time: str, litres: float, unit: str = "tray 1") -> Line:
    return at(time, unit=unit, is_="filled", litres=litres)


@pytest.mark.parametrize(("share", "weak"), [(0.81, False), (0.8, False), (0.79, True)])
def test_a_tray_filled_with_litres_is_held_to_those(share: float, weak: bool) -> None:
    """6 L recorded for the 300 g, not the 3 L that would be planned."""
    assert raised([filled("08:50", 6), *soak(acid_ml=share * need(6, fibre_g=300))]) is weak


def test_less_water_than_planned_needs_less_acid() -> None:
    """1.5 L recorded: half the planned water's acid, with all of the fibre's, is enough."""
    little = need(1.5, fibre_g=300)
    assert not raised([filled("08:50", 1.5), *soak(acid_ml=little)])
    assert raised(soak(acid_ml=little))


def test_litres_of_another_tray_or_of_a_bath_poured_away_are_not_this_bath() -> None:
    """Only the last fill of the tray it soaked in, since that was emptied."""
    assert not raised([filled("08:50", 9, "tray 2"), *soak(acid_ml=need(3))])
    emptied = at("08:55", unit="tray 1", is_="emptied")
    assert not raised([filled("08:50", 9), emptied, *soak(acid_ml=need(3))])
    assert raised([filled("08:50", 9), *soak(acid_ml=need(3))])


def test_the_fill_of_the_load_before_is_not_the_new_water_of_the_next() -> None:
    """9 L for the first load; what the next one had new is as planned, what it kept is still 9 L."""
    before = [filled("07:50", 9), at("08:00", "05", to="soak", unit="tray 1"), at("08:30", "05", to="paint")]
    entered, *rest = soak(acid_ml=need(3))
    assert not raised([*before, {**entered, "water": "new"}, *rest])
    assert raised([*before, entered, *rest])


def test_the_tray_a_batch_goes_to_when_its_soak_ends_is_not_the_bath_it_soaked_in() -> None:
    """Painted in another tray: its litres say nothing of the soak."""
    lines = soak(acid_ml=need(3))
    lines[-1] = at("10:00", "01", to="paint", unit="tray 2")
    assert not raised([filled("08:50", 20, "tray 2"), *lines])


def shared(acid_ml: float, other_since: str = "09:00") -> list[Line]:
    """Return 300 g and 200 g in one tray with so much acid, the second batch there from ``other_since`` on."""
    return [
        at("09:00", "01", to="soak", unit="tray 1"),
        at("09:00", "01", event="acid put in", acid_ml=acid_ml, unit="tray 1"),
        at(other_since, "05", to="soak", unit="tray 1"),
        at("10:00", "01", to="paint"),
        at("10:05", "05", to="paint"),
    ]


@pytest.mark.parametrize("other_since", ["09:00", "09:01", "09:30"])
@pytest.mark.parametrize("batch", ["01", "05"])
def test_yarn_together_in_one_tray_is_one_bath(batch: str, other_since: str) -> None:
    """500 g are 5 L: 80 % of their acid is enough for both, and what would do for 3 L is weak for both."""
    assert not raised(shared(0.81 * need(5), other_since), batch=batch)
    assert raised(shared(0.81 * need(3), other_since), batch=batch)


def test_a_batch_that_comes_as_the_other_leaves_shares_no_bath_with_it() -> None:
    """In and out at the same moment: the first batch's bath was its own 3 L."""
    assert not raised(shared(0.81 * need(3), "10:00"))


def test_acid_recorded_with_either_of_two_batches_is_in_their_one_bath() -> None:
    """Each batch's own dose, recorded without the tray: together they are enough, one of them alone is not."""
    lines = [
        at("09:00", "01", to="soak", unit="tray 1"),
        at("09:00", "01", acid_ml=need(3), event="acid put in"),
        at("09:00", "05", to="soak", unit="tray 1"),
        at("10:00", "01", to="paint"),
        at("10:00", "05", to="paint"),
    ]
    its_own = at("09:00", "05", acid_ml=need(2), event="acid put in")
    for batch in ("01", "05"):
        assert not raised([*lines[:3], its_own, *lines[3:]], batch=batch)
    assert raised(lines)


@pytest.mark.parametrize("parts", [("01a", "01b"), ("01aa", "01ab", "01b")])
def test_parts_of_a_split_batch_do_not_count_their_acid_twice(parts: tuple[str, ...]) -> None:
    """50 % of the need stays 50 % when the batch is divided in its tray, and when a part of it is."""
    again = [at("09:35", "01a", into={"01aa": 1, "01ab": 1})] if len(parts) > 2 else []
    lines = [
        at("09:00", "01", to="soak", unit="tray 1"),
        at("09:00", "01", acid_ml=0.5 * need(3), event="acid put in"),
        at("09:30", "01", into={"01a": 2, "01b": 1}),
        *again,
        *(at("10:00", part, to="paint") for part in parts),
    ]
    assert all(raised(lines, batch=part) for part in parts)


def test_acid_of_a_split_batch_counts_once_for_another_in_its_bath() -> None:
    """Half of what 5 L want: twice that would be enough."""
    lines = [
        at("09:00", batches=["01", "05"], to="soak", unit="tray 1"),
        at("09:00", "01", acid_ml=0.5 * need(5), event="acid put in"),
        at("09:00", "05", acid_ml=1, event="acid put in"),
        at("09:30", "01", into={"01a": 2, "01b": 1}),
        *(at("10:00", no, to="paint") for no in ("01a", "01b", "05")),
    ]
    assert raised(lines, batch="05")


def test_of_a_shared_bath_only_the_batchs_own_part_is_misted() -> None:
    """Nothing of the 107 mL of 5 L is there but 14: three fifths of the rest are for 300 of the 500 g."""
    (flag,) = flags(shared(14), WEAK, "20:00", plan=HARD)
    assert f"mist {(need(5) - 14) * 0.6:.0f} mL more vinegar" in flag.remedy


def test_nothing_is_weak_while_a_missed_acid_soak_stands() -> None:
    """No acid at all is the other rule's, also with a high pH read."""
    lines = soak(ph("09:50", 6.8))
    assert flags(lines, FlagId.MISSED_ACID_SOAK, "20:00", plan=HARD)
    assert not raised(lines)
    assert not raised([at("10:00", "01", to="paint")])


def test_a_later_layer_is_judged_by_its_own_soak() -> None:
    """The first layer's acid does not serve the second, which has its own soak with too little."""
    first = [*soak(acid_ml=100, batch="06"), *heated("06")]
    weak = [
        at("12:30", "06", to="soak", unit="tray 2"),
        at("12:30", "06", event="acid put in", acid_ml=5, unit="tray 2"),
        at("13:30", "06", to="paint"),
    ]
    (flag,) = flags([*first, *weak], WEAK, "20:00", batch="06", plan=HARD)
    assert flag.since == instant("13:30")
    enough = [weak[0], {**weak[1], "acid_ml": need(2)}, weak[2]]
    assert not raised([*first, *enough], batch="06")


def simmered(*more: Line, acid_ml: float | None = None, batch: str = "03") -> list[Line]:
    """Return 400 g dyed in a pot of 8 L (20 L/kg), its acid in the bath, and the move out of the heat."""
    put = [] if acid_ml is None else [at("10:01", batch, acid_ml=acid_ml)]
    return [
        at("09:00", batch, to="soak", unit="tray 1"),
        at("10:00", batch, to="paint", unit="pot 1"),
        *put,
        at("10:05", batch, heat_no=1, run="start", unit="pot 1"),
        at("10:45", batch, heat_no=1, run="end"),
        *more,
        at("10:50", batch, to="cool"),
    ]


@pytest.mark.parametrize(("share", "weak"), [(0.8, False), (0.801, False), (0.799, True)])
def test_a_bath_is_held_to_its_liquor(share: float, weak: bool) -> None:
    """400 g at 20 L/kg are 8 L."""
    assert raised(simmered(acid_ml=share * need(8, fibre_g=400, base="Wool")), batch="03") is weak


@pytest.mark.parametrize(("share", "weak"), [(0.81, False), (0.79, True)])
def test_a_pot_filled_with_litres_is_held_to_those(share: float, weak: bool) -> None:
    """12 L recorded where 8 L were planned."""
    lines = [filled("09:50", 12, "pot 1"), *simmered(acid_ml=share * need(12, fibre_g=400, base="Wool"))]
    assert raised(lines, batch="03") is weak


def test_two_batches_in_one_pot_are_one_bath() -> None:
    """400 g and 200 g are 12 L: acid for 8 L recorded with the pot is weak for both, for 12 L it is not."""

    def pot(acid_ml: float) -> list[Line]:
        put = at("10:01", unit="pot 1", event="acid put in", acid_ml=acid_ml)
        return [put, *simmered(), *simmered(batch="11")]

    for batch in ("03", "11"):
        assert raised(pot(0.85 * need(8, fibre_g=400, base="Wool")), batch=batch)
        assert not raised(pot(0.85 * need(12, fibre_g=600, base="Wool")), batch=batch)


@pytest.mark.parametrize(("value", "weak"), [(5.2, False), (5.21, True)])
def test_a_baths_ph_goes_before_its_amount(value: float, weak: bool) -> None:
    """Read in the pot, too little acid on record or too much."""
    assert raised(simmered(ph("10:40", value, "03"), acid_ml=need(8) if weak else 1), batch="03") is weak


def test_a_weak_bath_says_its_numbers_and_stirs_in_what_lacks() -> None:
    """40 mL in the pot and 20 with the batch, of the 138 mL that 8 L and 400 g want: 77 more, stirred in."""
    lines = [at("09:55", unit="pot 1", event="acid put in", acid_ml=40), *simmered(acid_ml=20)]
    (flag,) = flags(lines, WEAK, "20:00", batch="03", plan=HARD)
    full = need(8, fibre_g=400, base="Wool")
    assert flag.why == f"bath: acid 60 of {full:.0f} mL that 8 L of this water and the yarn in it need"
    assert flag.remedy.startswith(f"stir in {full - 60:.0f} mL more vinegar, heat again")
    assert flag.since == instant("10:50")


def test_a_bath_without_any_acid_is_not_weak_but_without() -> None:
    """no-acid stands."""
    assert flags(simmered(), FlagId.NO_ACID, "20:00", batch="03", plan=HARD)
    assert not raised(simmered(), batch="03")


def test_a_bath_still_in_its_heat_is_not_weak_yet() -> None:
    """Acid may still be stirred in."""
    assert not raised(simmered(acid_ml=1)[:-1], batch="03")


def test_paint_with_its_own_acid_is_held_to_its_liquor_and_not_to_the_steamers_tank() -> None:
    """200 g at 90 mL per 100 g are 0.18 L and their fibre, whatever the steamer was filled with."""
    lines = [
        filled("08:00", 2, "steamer 1"),
        at("09:00", "07", to="soak"),
        at("10:00", "07", to="paint"),
        at("10:00", "07", acid_ml=0.85 * need(0.18, fibre_g=200)),
        *heated("07"),
    ]
    assert not raised(lines, batch="07")
    lines[3] = at("10:00", "07", acid_ml=0.75 * need(0.18, fibre_g=200))
    (flag,) = flags(lines, WEAK, "20:00", batch="07", plan=HARD)
    assert flag.why.startswith("paint: acid ")
    assert "never pour" in flag.remedy


@pytest.mark.parametrize(
    ("read", "why", "remedy"),
    [
        ([], "soak: acid 42 of ", "press a wet white cloth on it"),
        ([ph("09:50", 5.6)], "soak: pH 5.6, target 4.5", "read the pH again: 20 mL of acid went in"),
        ([ph("09:50", 5.6), ph("09:57", 4.6)], "", ""),
    ],
)
def test_a_soak_corrected_to_another_batch_is_judged_as_that_batchs_own(
    read: list[Line], why: str, remedy: str
) -> None:
    """22 mL for one batch, entered for 02 and corrected to 01, then 20 mL more; the last pH decides."""
    load = {**at("09:30", event="load", batches=["02"], to="soak", unit="tray 1", acid_ml=22), "id": "load-1"}
    right = at("09:35", corrects="load-1", batches=["01"], why="mistyped")
    more = at("09:51", "01", event="acid put in", acid_ml=20, unit="tray 1")
    lines = [load, right, *sorted([*read, more], key=lambda line: str(line["at"])), at("10:00", "01", to="paint")]
    found = flags([*lines, *heated()], WEAK, "20:00", plan=HARD)
    assert [flag.why.startswith(why) and flag.remedy.startswith(remedy) for flag in found] == [True] * bool(why)


def test_acid_put_in_after_the_reading_asks_for_another_reading_rather_than_more_acid() -> None:
    """pH 6.1, then 30 mL in the tray or for the batch, mentioned once: what it is now has to be read."""
    more = at("09:52", "01", event="acid put in", acid_ml=30, unit="tray 1")
    (flag,) = flags(soak(ph("09:50", 6.1), more, acid_ml=10), WEAK, "20:00", plan=HARD)
    assert flag.remedy == "read the pH again: 30 mL of acid went in after that reading"
    for_batch = at("09:52", "01", event="acid put in", acid_ml=30)
    (flag,) = flags(soak(ph("09:50", 6.1), for_batch, acid_ml=10), WEAK, "20:00", plan=HARD)
    assert flag.remedy == "read the pH again: 30 mL of acid went in after that reading"


def test_acid_misted_over_the_paint_asks_for_a_reading_and_the_reading_decides() -> None:
    """A good one ends the flag, as heat is still to come; a bad one asks for acid again."""
    lines = [*soak(ph("09:50", 6.1), acid_ml=10), at("10:05", "01", event="acid put in", acid_ml=20)]

    def remedy(*more: Line) -> str:
        (flag,) = flags([*lines, *more], WEAK, "20:00", plan=HARD)
        return flag.remedy

    assert remedy().startswith("read the pH again: 20 mL")
    # 4.5 and 0.7 more, by a strip, is still good.
    for good in (4.8, 5.2):
        assert not flags([*lines, ph("10:15", good)], WEAK, "20:00", plan=HARD)
    assert remedy(ph("10:15", 5.3)).startswith("mist ")
    assert remedy(ph("10:15", 5.8)).startswith("mist ")


@pytest.mark.parametrize("is_heated", [True, False])
def test_a_weak_bath_is_put_right_by_a_good_ph_once_its_acid_was_heated(is_heated: bool) -> None:
    """pH 6.1 in the pot, acid once it had cooled, and pH 4.6: acid alone fixes no dye."""
    lines = [*simmered(ph("10:40", 6.1, "03"), acid_ml=60), at("11:00", "03", event="acid put in", acid_ml=30)]
    assert raised(lines, batch="03")
    again = [
        at("11:01", "03", to="fix", unit="pot 1"), at("11:01", "03", heat_no=1, run="start"),
        at("11:40", "03", heat_no=1, run="end"), at("11:40", "03", to="cool"),
    ]  # fmt: skip
    found = flags([*lines, *again * is_heated, ph("12:00", 4.6, "03")], WEAK, "20:00", batch="03", plan=HARD)
    assert [flag.remedy for flag in found] == ([] if is_heated else ["pH 4.6 was read since: good, now heat again"])


SHARED_WATER = plan_with(more="[water]\nalkalinity = 180\nhardness = 180\n")
IN_TURN = ("01", "05", "06")
OFFERED_ML = 80
"""for 400 g of sock yarn in 4 L, to a jug of 5 mL: 45.6 mL for the water and 32.1 for the fibre"""


def in_turn(first_ml: float, *, water: str | None = None, second_ml: float = 0) -> list[Line]:
    """Return three soaks of 400 g in tray 1 one after another, and what was said of the water of the later two."""
    acids = dict(zip(IN_TURN, (first_ml, second_ml, 0), strict=True))
    lines: list[Line] = []
    for hour, batch in enumerate(IN_TURN, 9):
        said: Line = {} if water is None or batch == "01" else {"water": water}
        lines += [
            at("08:00", batch, skeins=4),
            at(f"{hour}:00", batches=[batch], unit="tray 1", to="soak", **said),
            *([at(f"{hour}:01", unit="tray 1", event="acid put in", acid_ml=acids[batch])] if acids[batch] else []),
            at(f"{hour}:55", batch, to="paint"),
        ]
    return lines


def of_acid(lines: list[Line]) -> list[list[FlagId]]:
    """Return the flags about acid in the soak, batch by batch."""
    rules = (FlagId.MISSED_ACID_SOAK, WEAK)
    return [
        [rule for rule in rules if flags(lines, rule, "20:00", batch=batch, plan=SHARED_WATER)] for batch in IN_TURN
    ]


def test_a_dose_is_for_one_load_where_nothing_says_that_the_water_was_kept() -> None:
    """The second and the third load soaked in a bath of their own, and no acid went into that."""
    missed = [FlagId.MISSED_ACID_SOAK]
    assert of_acid(in_turn(OFFERED_ML)) == [[], missed, missed]
    assert of_acid(in_turn(OFFERED_ML, water="new")) == [[], missed, missed]


def test_kept_water_has_less_acid_for_the_next_load_and_says_what_lacks() -> None:
    """32 of 80 mL went with the fibre, an eighth of the other 48 with its liquor: 42 of 78 mL, 36 mL lack."""
    lines = in_turn(OFFERED_ML, water="kept")
    assert of_acid(lines) == [[], [WEAK], [WEAK]]
    (flag,) = flags(lines, WEAK, "20:00", batch="05", plan=SHARED_WATER)
    wanted = "78 mL that 4 L of this water and the yarn in it need"
    assert flag.why == f"soak: acid 42 of {wanted}, after an earlier load used some"
    assert "mist 36 mL more vinegar" in flag.remedy


def test_what_kept_water_lacks_put_in_for_the_second_load_raises_nothing() -> None:
    """36 mL lack, to the jug 40; all of it is the second load's."""
    assert of_acid(in_turn(OFFERED_ML, water="kept", second_ml=40))[:2] == [[], []]


def test_twice_the_dose_for_the_first_load_is_enough_for_the_second_in_kept_water() -> None:
    """160 mL less 32, and an eighth of the rest: 112 of 78 mL."""
    assert of_acid(in_turn(2 * OFFERED_ML, water="kept"))[:2] == [[], []]


def test_batches_that_soaked_together_take_what_each_of_them_takes() -> None:
    """800 g in 8 L: 120 mL less 64, and an eighth of the rest with their liquor is 49 of 112 mL for 7 L."""
    lines = [
        *(at("08:00", batch, skeins=4) for batch in IN_TURN),
        at("09:00", batches=["01", "05"], unit="tray 1", to="soak", acid_ml=120),
        at("10:00", "01", to="paint"),
        at("10:00", "05", to="paint"),
        at("10:10", batches=["06"], unit="tray 1", to="soak", water="kept"),
        at("11:00", "06", to="paint"),
    ]
    (flag,) = flags(lines, WEAK, "20:00", batch="06", plan=SHARED_WATER)
    assert flag.why.startswith("soak: acid 49 of 112 mL that 7 L")


def test_parts_of_a_split_batch_took_acid_from_kept_water_as_the_whole_would() -> None:
    """Divided in the tray; both parts had left before the water was kept."""
    whole = in_turn(OFFERED_ML, water="kept")
    lines = [line for line in whole if not (line.get("to") == "paint" and line["batch"] == "01")]
    lines.append(at("9:30", "01", into={"01a": 2, "01b": 2}))
    lines += [at("9:50", "01a", to="paint"), at("9:55", "01b", to="paint")]
    assert of_acid(lines)[1] == [WEAK]


def test_a_bath_that_is_over_is_judged_by_the_layers_that_were_in_it() -> None:
    """Its neighbour's next layer, in another pot with three times the water, changes nothing of it."""
    layer = 'how = "immersed"\ncool_where = "out"\nfix = ["simmer 30 min"]\n'
    sections = "sections = [{ share = 100, dyes = { Navy = 1.0 } }]\n"
    two = '[[colourway]]\nname = "Two"\n' + "".join(
        f'[[colourway.layer]]\n{layer}liquor = "{litres} L/kg"\n{sections}' for litres in (20, 60)
    )
    order = '[[order]]\nitem = "two"\ncolourway = "Two"\nbase = "Wool"\nskeins = 2\n'
    plan = plan_with(more=f'{two}{order}[water]\nalkalinity = "250 mg/L"\n')
    both = [next(b.no for b in plan.batches if b.colourway == name) for name in ("Peat", "Two")]
    lines = [at("10:00", event="acid put in", acid_ml=240, unit="pot 1")]
    for no in both:
        lines += [at("09:00", no, to="soak", unit="tray 1"), at("10:00", no, to="paint", unit="pot 1")]
        lines += [at("10:10", no, heat_no=1, run="start", unit="pot 1"), at("11:00", no, heat_no=1, run="end")]
        lines.append(at("11:00", no, to="cool"))
    lines.sort(key=lambda line: str(line["at"]))
    later = [*lines, at("12:30", both[1], to="paint", layer=2, unit="pot 2")]
    assert flags(later, WEAK, "13:00", batch=both[0], plan=plan) == flags(
        lines, WEAK, "13:00", batch=both[0], plan=plan
    )
