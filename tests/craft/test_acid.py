"""The acid dose: laws it must keep, targets it must refuse, and the three places a dyer puts acid."""

from __future__ import annotations

from dataclasses import replace
from math import log10
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from dyeday.craft.errors import RefusedError
from dyeday.craft.water import acid_on_fibre
from dyeday.craft.water import alkalinity as water
from dyeday.craft.water.acid_dose import after_reading, dose_for, dose_for_bath, with_acid
from dyeday.craft.water.acids import AcidKind, BottledAcid, acid
from dyeday.craft.water.bath_chemistry import of_raw_water
from dyeday.craft.water.dissociation import constants
from dyeday.craft.water.speciation import speciate

VINEGAR, CITRIC = acid(), acid(AcidKind.CITRIC)

acids = st.sampled_from(
    [
        VINEGAR,
        acid(AcidKind.VINEGAR, 25),
        CITRIC,
        acid(AcidKind.CITRIC_MONOHYDRATE),
        acid(AcidKind.CITRIC_SOLUTION, 10),
    ]
)
alkalinities = st.floats(0, 400)
temperatures = st.floats(5, 40)
targets = st.floats(3.8, 5.5)


@given(low=alkalinities, high=alkalinities, target=targets, celsius=temperatures, bottle=acids, hard=st.booleans())
def test_more_alkalinity_never_needs_less_acid(
    low: float, high: float, target: float, celsius: float, bottle: BottledAcid, hard: bool
) -> None:
    low, high = sorted((low, high))
    doses = [
        dose_for(1.0, water.raw_water(mg_l, mg_l if hard else 0.0, temperature_c=celsius), target, bottle)
        for mg_l in (low, high)
    ]

    assert doses[0].amount <= doses[1].amount * (1 + 1e-5)


@given(
    alkalinity=alkalinities,
    hardness=st.floats(0, 500),
    target=targets,
    celsius=temperatures,
    bottle=acids,
    litres=st.floats(0.1, 60),
    raw_ph=st.floats(6.5, 8.5),
)
def test_a_dose_and_the_ph_it_reaches_undo_each_other(
    alkalinity: float,
    hardness: float,
    target: float,
    celsius: float,
    bottle: BottledAcid,
    litres: float,
    raw_ph: float,
) -> None:
    raw = water.raw_water(alkalinity, hardness, temperature_c=celsius, ph=raw_ph)

    dose = dose_for(litres, raw, target, bottle)

    assert with_acid(of_raw_water(litres, raw), bottle, dose.amount).ph == pytest.approx(target, abs=0.005)
    assert dose.bath.ph == pytest.approx(target, abs=0.005)
    assert dose.ph == target


@given(alkalinity=alkalinities, target=targets, bottle=acids, litres=st.floats(0.1, 60))
@example(alkalinity=400.0, target=3.8, bottle=CITRIC, litres=60.0)
def test_a_dose_grows_with_the_litres(alkalinity: float, target: float, bottle: BottledAcid, litres: float) -> None:
    raw = water.raw_water(alkalinity)

    one, many = (dose_for(volume, raw, target, bottle).amount for volume in (1.0, litres))

    assert many == pytest.approx(one * litres, rel=1e-5)


def test_a_paint_liquor_with_acid_of_its_own_needs_only_the_rest() -> None:
    raw = water.raw_water(200)
    whole = dose_for(1, raw, 4.5, VINEGAR).amount
    liquor = with_acid(of_raw_water(1, raw), VINEGAR, whole / 3)

    assert dose_for_bath(liquor, 4.5, VINEGAR).amount == pytest.approx(whole * 2 / 3, rel=1e-5)


def test_a_liquor_already_past_its_target_gets_nothing_and_says_so() -> None:
    liquor = with_acid(of_raw_water(1, water.raw_water(100)), VINEGAR, 40)

    dose = dose_for_bath(liquor, 4.5, VINEGAR)

    assert dose.amount == 0
    assert "add nothing" in dose.notes[0]
    assert dose.ph == pytest.approx(liquor.ph)


def test_after_a_reading_the_missing_acid_is_what_an_unknown_base_swallowed() -> None:
    raw = water.raw_water(150, 150, temperature_c=20)
    reckoned = dose_for(10, raw, 4.5, VINEGAR).bath
    truth = replace(reckoned, base_mol=reckoned.base_mol + 0.005)

    more = after_reading(reckoned, truth.ph, 4.5, VINEGAR)

    assert with_acid(truth, VINEGAR, more.amount).ph == pytest.approx(4.5, abs=0.005)


def test_after_a_reading_the_fibre_is_allowed_for_no_second_time() -> None:
    bath = with_acid(of_raw_water(4, water.raw_water(200)), VINEGAR, 30)

    assert after_reading(bath, 5.5, 4.5, VINEGAR).fibre_share_mmol == 0


def test_after_a_reading_at_the_target_nothing_is_added() -> None:
    bath = dose_for(10, water.raw_water(150), 4.5, VINEGAR).bath

    assert after_reading(bath, 4.4, 4.5, VINEGAR).amount == 0
    assert after_reading(bath, 0, 0, VINEGAR).amount == 0


@pytest.mark.parametrize("target", [-0.01, 14.01])
def test_a_target_that_is_not_a_ph_is_refused_after_a_reading(target: float) -> None:
    with pytest.raises(RefusedError, match="the target pH"):
        after_reading(dose_for(10, water.raw_water(150), 4.5, VINEGAR).bath, 4.4, target, VINEGAR)


def test_a_target_above_the_waters_own_ph_is_refused_naming_what_can_be_reached() -> None:
    with pytest.raises(RefusedError, match=r"at pH 7\.80 by itself.*any pH below 7\.80 can"):
        dose_for(1, water.raw_water(200), 8.5, VINEGAR)


def test_a_target_below_neat_vinegar_is_refused_naming_what_vinegar_reaches() -> None:
    with pytest.raises(RefusedError, match=r"at most it reaches pH 2\.4\d"):
        dose_for(1, water.raw_water(200), 2.0, VINEGAR)


def test_what_a_refusal_says_can_be_reached_can_be() -> None:
    with pytest.raises(RefusedError) as caught:
        dose_for(1, water.raw_water(200), 2.3, VINEGAR)

    lowest = float(str(caught.value).partition("reaches pH ")[2].split(" ")[0])
    neat = with_acid(of_raw_water(1e-6, water.raw_water(0)), VINEGAR, 1000).ph
    assert neat <= lowest < neat + 0.011
    assert dose_for(1, water.raw_water(200), lowest, VINEGAR).ph == lowest


def test_a_target_below_saturated_citric_acid_is_refused() -> None:
    with pytest.raises(RefusedError, match="no more dissolves"):
        dose_for(1, water.raw_water(200), 0.5, CITRIC)


@pytest.mark.parametrize("volume_l", [0.0, -1.0, float("nan"), float("inf")])
def test_a_volume_that_is_none_is_refused(volume_l: float) -> None:
    with pytest.raises(RefusedError, match="water in L"):
        dose_for(volume_l, water.raw_water(200), 4.5, VINEGAR)


@pytest.mark.parametrize("target", [float("nan"), -1.0, 15.0])
def test_a_target_off_the_ph_scale_is_refused(target: float) -> None:
    with pytest.raises(RefusedError, match="target pH"):
        dose_for(1, water.raw_water(200), target, VINEGAR)


def test_a_monohydrate_weighs_more_and_a_weak_solution_measures_more_for_the_same_acid() -> None:
    raw = water.raw_water(200)

    anhydrous, mono = (
        dose_for(1, raw, 4.5, acid(kind)).amount for kind in (AcidKind.CITRIC, AcidKind.CITRIC_MONOHYDRATE)
    )
    ten, twenty = (dose_for(1, raw, 4.5, acid(AcidKind.CITRIC_SOLUTION, pct)).amount for pct in (10, 20))

    assert mono / anhydrous == pytest.approx(1.0938, abs=0.0001)
    assert ten / twenty == pytest.approx(2, rel=0.01)


def test_a_powder_adds_no_litres_to_its_bath_and_a_liquid_its_own() -> None:
    vinegar, powder = (dose_for(2, water.raw_water(200), 4.5, bottle) for bottle in (VINEGAR, CITRIC))

    assert powder.bath.volume_l == 2
    assert vinegar.bath.volume_l == pytest.approx(2 + vinegar.amount / 1000)


def test_a_powder_is_given_in_grams_and_a_liquid_in_millilitres() -> None:
    raw = water.raw_water(100)
    strengths = {kind: 10.0 if kind is AcidKind.CITRIC_SOLUTION else None for kind in AcidKind}
    bottles = {kind: acid(kind, strength) for kind, strength in strengths.items()}
    powders = {AcidKind.CITRIC, AcidKind.CITRIC_MONOHYDRATE}

    assert {kind for kind, bottle in bottles.items() if bottle.unit == "g"} == powders
    assert {kind for kind, bottle in bottles.items() if bottle.unit == "mL"} == set(AcidKind) - powders
    for bottle in bottles.values():
        dose = dose_for(1, raw, 4.5, bottle)
        assert dose.amount * bottle.mol_per_unit == pytest.approx(dose.bath.acetic_mol + dose.bath.citric_mol)


def test_water_without_alkalinity_still_needs_a_little_acid() -> None:
    dose = dose_for(1, water.raw_water(0, 0), 4.5, VINEGAR)

    assert 0 < dose.amount < 0.2


def test_calcium_saves_citric_acid_much_and_vinegar_little() -> None:
    soft, hard = water.raw_water(300, 0, temperature_c=20), water.raw_water(300, 300, temperature_c=20)
    saved = {
        bottle.kind: 1 - dose_for(1, hard, 5.0, bottle).amount / dose_for(1, soft, 5.0, bottle).amount
        for bottle in (VINEGAR, CITRIC)
    }

    assert 0.25 < saved[AcidKind.CITRIC] < 0.33
    assert 0.003 < saved[AcidKind.VINEGAR] < 0.032


def test_the_fibres_share_stands_beside_the_dose_and_never_in_it() -> None:
    raw = water.raw_water(200, temperature_c=20)

    without, with_wool = (dose_for(1, raw, 4.5, VINEGAR, fibre_g=grams) for grams in (0, 100))

    assert with_wool.amount == without.amount
    assert (without.fibre_share_mmol, without.fibre_amount) == (0, 0)
    assert 3 < with_wool.fibre_share_mmol < 15
    assert 10 < with_wool.fibre_amount < 45


def test_the_fibres_share_can_be_set_by_hand() -> None:
    dose = dose_for(1, water.raw_water(200), 4.5, CITRIC, fibre_g=50, fibre_mmol_per_g=0.1)

    assert dose.fibre_share_mmol == pytest.approx(5)
    assert dose.fibre_amount > 0


def test_the_allowance_grows_with_acid_and_with_anions() -> None:
    per_g = acid_on_fibre.fibre_mmol_per_g

    assert per_g(4.0, 0.005) > per_g(4.5, 0.005) > per_g(5.0, 0.005)
    assert per_g(4.5, 0.05) > per_g(4.5, 0.005)
    assert per_g(0.0, 10.0) <= acid_on_fibre.MOST_MMOL_PER_G


def test_hardness_alone_stands_in_for_alkalinity_and_is_called_an_upper_guess() -> None:
    guess = water.raw_water(hardness_mg_l=180)

    assert guess.alkalinity_mg_l == 180
    assert "stands in for alkalinity" in dose_for(1, guess, 4.5, VINEGAR).notes[0]


def test_water_of_unknown_temperature_counts_as_tap_water_of_15_degrees() -> None:
    """Common practice, no source."""
    assert water.raw_water(100) == water.raw_water(100, temperature_c=15)


def test_alkalinity_alone_stands_in_for_hardness() -> None:
    known = water.raw_water(180)

    assert known.hardness_mg_l == 180
    assert "taken equal to alkalinity" in known.notes[0]
    assert water.raw_water(180, 0).notes == ()


def test_water_of_which_nothing_is_known_is_refused() -> None:
    with pytest.raises(RefusedError, match="are both missing"):
        water.raw_water()


@pytest.mark.parametrize(
    ("kind", "strength"),
    [
        (AcidKind.VINEGAR, 0.0),
        (AcidKind.VINEGAR, -5.0),
        (AcidKind.VINEGAR, 200.0),
        (AcidKind.CITRIC_SOLUTION, None),
    ],
)
def test_an_acid_that_cannot_be_is_refused(kind: AcidKind, strength: float | None) -> None:
    with pytest.raises(RefusedError):
        acid(kind, strength)


@pytest.mark.parametrize(("celsius", "is_noted"), [(40, False), (41, True)])
def test_a_dose_in_warm_water_is_flagged_above_40_degrees(celsius: float, is_noted: bool) -> None:
    # minteq.v4.dat and sit.dat of the USGS agree up to 40 °C.
    notes = dose_for(1, water.raw_water(200, 200, temperature_c=celsius), 4.5, VINEGAR).notes

    assert any("may be off by 10 %" in note for note in notes) is is_noted


def test_warm_water_and_much_vinegar_are_remarked_on() -> None:
    dose = dose_for(1, water.raw_water(400, temperature_c=60), 3.6, VINEGAR)

    assert any("tenth" in note for note in dose.notes)
    assert any("40 °C" in note for note in dose.notes)


@pytest.mark.parametrize(("target", "is_noted"), [(3.74, False), (3.72, True)])
def test_vinegar_is_remarked_on_where_it_is_more_than_a_tenth_of_the_bath(target: float, is_noted: bool) -> None:
    # Common practice, no source. To pH 3.74 and 3.72, 8 L of 400 mg/L take 795 and 830 mL of 5 % vinegar.
    dose = dose_for(8, water.raw_water(400), target, VINEGAR)

    assert (dose.amount > 800) is is_noted
    assert any("tenth" in note for note in dose.notes) is is_noted


def test_where_hardness_is_not_known_citric_acid_has_two_doses_and_asks_for_a_drop_test() -> None:
    # USGS minteq.v4 through PHREEQC, alkalinity 300, pH 5.0, 20 °C: 0.4461 g/L with as much calcium, 0.6279 without.
    dose = dose_for(1, water.raw_water(300, temperature_c=20), 5.0, CITRIC)

    assert dose.amount == pytest.approx(0.4461, rel=0.015)
    assert dose.if_softened == pytest.approx(0.6279, rel=0.015)
    assert any("drop test" in note for note in dose.notes)


@pytest.mark.parametrize(
    ("raw", "bottle"),
    [(water.raw_water(300), VINEGAR), (water.raw_water(300, 0), CITRIC), (water.raw_water(None, 300), CITRIC)],
)
def test_vinegar_and_water_of_known_hardness_have_one_dose(raw: water.RawWater, bottle: BottledAcid) -> None:
    dose = dose_for(1, raw, 5.0, bottle)

    assert dose.if_softened is None
    assert not any("drop test" in note for note in dose.notes)


@given(alkalinity=st.floats(1, 400), target=targets, bottle=acids)
def test_softened_water_never_needs_less_and_is_reported_only_where_it_matters(
    alkalinity: float, target: float, bottle: BottledAcid
) -> None:
    dose = dose_for(1, water.raw_water(alkalinity), target, bottle)
    soft = dose_for(1, water.raw_water(alkalinity, 0), target, bottle).amount

    assert soft >= dose.amount * (1 - 1e-5)
    assert (dose.if_softened is not None) == (soft > 1.05 * dose.amount)
    assert dose.if_softened is None or dose.if_softened == pytest.approx(soft)


@pytest.mark.parametrize(("alkalinity", "differ"), [(39, False), (42, True)])
def test_two_doses_within_five_percent_are_one(alkalinity: float, differ: bool) -> None:
    # At pH 4.0 citric acid in softened water is 4.9 % more at an alkalinity of 39 mg/L, 5.2 % at 42.
    dose = dose_for(1, water.raw_water(alkalinity, temperature_c=20), 4.0, CITRIC)

    assert (dose.if_softened is not None) is differ


@pytest.mark.parametrize(
    ("bottle", "name", "unit"),
    [
        (VINEGAR, "5 % vinegar", "mL"),
        (CITRIC, "citric acid", "g"),
        (acid(AcidKind.CITRIC_MONOHYDRATE), "citric acid monohydrate", "g"),
        (acid(AcidKind.CITRIC_SOLUTION, 10), "10 % citric", "mL"),
    ],
)
def test_an_acid_is_called_as_its_label_has_it(bottle: BottledAcid, name: str, unit: str) -> None:
    assert (bottle.name, bottle.unit) == (name, unit)


def test_no_more_citric_acid_goes_in_than_dissolves() -> None:
    # 133 g in 100 g of water at 20 °C (Apelblat, Citric Acid, 2014): 6.92 mol to a litre.
    assert CITRIC.most_mol_per_l == pytest.approx(6.92, abs=0.01)


def test_a_citric_acid_counts_as_one_anion_however_many_protons_it_has_lost() -> None:
    strong, weak = (dose_for(1, water.raw_water(200, 0), ph, CITRIC, fibre_g=1) for ph in (2.8, 4.5))
    moles = [dose.bath.citric_mol / dose.bath.volume_l for dose in (strong, weak)]

    # Above its first pK of 3.13 all of it has let go of one proton or more, below it not.
    assert weak.fibre_share_mmol == pytest.approx(acid_on_fibre.fibre_mmol_per_g(4.5, moles[1]))
    assert strong.fibre_share_mmol < acid_on_fibre.fibre_mmol_per_g(2.8, moles[0])


@pytest.mark.parametrize(
    ("what", "low", "high"),
    [("alkalinity_mg_l", 0, 2000), ("hardness_mg_l", 0, 2000), ("temperature_c", 0, 100), ("ph", 5, 10.5)],
)
def test_water_is_taken_to_the_ends_of_what_can_come_from_a_tap(what: str, low: float, high: float) -> None:
    usual: dict[str, Any] = {"alkalinity_mg_l": 100, "hardness_mg_l": 100}

    for end in (low, high):
        assert getattr(water.raw_water(**{**usual, what: end}), what) == end
    for beyond in (low - 0.01, high + 0.01):
        with pytest.raises(RefusedError, match="it must be"):
            water.raw_water(**{**usual, what: beyond})


@pytest.mark.parametrize(
    ("celsius", "pks"),
    # Clarke and Glew's form with ΔH and ΔCp of Goldberg 2002, from memory, to three decimals; acetic, then citric.
    [
        (10, (4.762, 3.175, 4.794, 6.383)),
        (20, (4.756, 3.141, 4.769, 6.388)),
        (25, (4.756, 3.128, 4.761, 6.396)),
        (40, (4.768, 3.102, 4.753, 6.440)),
    ],
)
def test_acids_let_go_of_protons_as_published_at_each_temperature(celsius: float, pks: tuple[float, ...]) -> None:
    k = constants(celsius)
    own = [-log10(value) for value in (k.acetic, k.citric_1, k.citric_2, k.citric_3)]

    assert own == pytest.approx(pks, abs=0.0011)


def test_the_ionic_strength_of_a_salt_is_half_the_sum_of_its_ions_by_the_squares_of_their_charges() -> None:
    """By definition (Lewis and Randall 1921): three times the calcium chloride, six times the trisodium citrate; what
    carbonate adds to a solution of one pH is twice itself.
    """
    k, mol_l = constants(25.0), 0.005
    chloride = speciate(7.0, 0.015, k, 0.0, mol_l, 0.0)
    citrate = speciate(9.0, 0.03, k, 0.0, 0.0, 3 * mol_l, citric=mol_l)
    without, carbonate = (speciate(13.0, 0.1, k, carbon, 0.0, 0.15) for carbon in (0.0, mol_l))

    assert chloride.ionic_mol_l == pytest.approx(3 * mol_l, rel=1e-3)
    assert citrate.ionic_mol_l == pytest.approx(6 * mol_l, rel=2e-3)
    assert carbonate.ionic_mol_l - without.ionic_mol_l == pytest.approx(2 * mol_l, rel=5e-3)
