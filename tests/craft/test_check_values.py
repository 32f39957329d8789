"""Every published or recorded figure of the trade that the arithmetic should give; check_values.csv names the source
of each row, and what is left out is listed here with its reason.

Rows of minteq.v4.dat were recorded with that file of the USGS phreeqc3 source, which no extra of this project
installs; test_acid_against_phreeqc.py compares with the same acids in the database that the reference extra
brings.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable
from math import floor, log10
from pathlib import Path

import pytest

from dyeday.craft import electric
from dyeday.craft.dye import colour_difference, dye_classes, exhaustion
from dyeday.craft.dye import depth_of_shade as shade
from dyeday.craft.water import acid_on_fibre
from dyeday.craft.water import acids as acid_kinds
from dyeday.craft.water import alkalinity as water
from dyeday.craft.water.acid_dose import dose_for, with_acid
from dyeday.craft.water.acids import AcidKind, acid
from dyeday.craft.water.bath_chemistry import of_raw_water
from dyeday.craft.water.dissociation import constants
from dyeday.craft.yarn import cooling_curve as cooling
from dyeday.craft.yarn import drying_air as drying
from dyeday.craft.yarn import fibres
from dyeday.craft.yarn import heat_into_yarn as heat
from dyeday.units import M_PER_YARD

Row = dict[str, str]

WITH_SOURCE = Path(__file__).with_name("check_values.csv")
ROWS = list(csv.DictReader(WITH_SOURCE.read_text(encoding="utf-8").splitlines()))

GUIDANCE = "guidance or a measurement on cloth; no function gives it"
COUNT = "yarn comes with metres and grams on its label; no function turns one count into another"
WORDS = "a caution in words; nothing to compute"

LEFT_OUT = {
    ("acid dose open", ""): "a bath that has come to rest with the air needs up to 5 % more; baths here are fresh",
    ("wool acid", "pH of zero combination with salt"): "the allowance's form has no zero; it nears it",
    ("wool acid data", "tartaric acid"): "tartaric acid is not computed; a weak acid also goes in undissociated",
    ("nylon acid", ""): "from memory; nylon is allowed for as wool, which is more",
    ("DOS range", ""): GUIDANCE,
    ("exhaustion", "C.I. Acid Red 1"): GUIDANCE,
    (
        "cp water",
        "",
    ): "only its sum from one temperature to another is used; see enthalpy water",
    ("cp fibre", "nylon"): "nylon is heated as wool, which is within 2 % of a wet skein's heat",
    ("exhaustion", "dilution"): "the dyer multiplies a thinned sample's absorbance; no function does",
    ("grey scale change A02", ""): "no change of colour is graded here, only stain on a cloth",
    ("dE76", ""): "ΔE*ab is a step inside the staining grade, which is checked",
    ("dE2000", ""): "the grey scales are steps of ΔE*ab; no function gives ΔE2000",
    ("yarn count", "Nm 10"): COUNT,
    ("yarn count", "Nm 80/2"): COUNT,
    ("yarn count", "250 tex"): COUNT,
    ("ramp time", ""): "a subtraction; no function gives it",
    ("acid owf", ""): GUIDANCE,
    ("fix time", ""): GUIDANCE,
    ("steam", ""): GUIDANCE,
    ("microwave", ""): GUIDANCE,
    ("soak", ""): GUIDANCE,
    ("regain", "wool combed / carded"): "another trade's allowance, from memory; typed in where it is wanted",
    ("electrical", "UK double socket total"): GUIDANCE,
    ("electrical", "microwave 800 W rated output"): GUIDANCE,
    ("safety", ""): WORDS,
}
"""Topic and how the inputs contain, to the reason why no check here covers the row."""

CHECKS: dict[str, Callable[[Row], None]] = {}


def numbers(text: str) -> list[float]:
    """The numbers in a text, in order."""
    return [float(found) for found in re.findall(r"(?<![\w.])-?\d+(?:\.\d+)?", text)]


def number(pattern: str, text: str) -> float:
    """The number a pattern's first group finds."""
    found = re.search(pattern, text)
    assert found, f"{pattern} is not in {text!r}"
    return float(found[1])


def near(row: Row, value: float, expected: float | None = None) -> bool:
    """Whether a value agrees with the row's (first) expected number within its tolerance."""
    wanted = numbers(row["expected"])[0] if expected is None else expected
    tolerance = row["tolerance"]
    if tolerance == "factor 2":
        return wanted / 2 <= value <= wanted * 2
    if tolerance.endswith("%"):
        return value == pytest.approx(wanted, rel=float(tolerance[:-1]) / 100)
    if tolerance in ("exact", "range", "-"):
        return value == pytest.approx(wanted, rel=1e-9)
    return value == pytest.approx(wanted, abs=numbers(tolerance)[0])


def covers(*topics: str) -> Callable[[Callable[[Row], None]], Callable[[Row], None]]:
    """Enter a check for the rows of some topics."""

    def enter(check: Callable[[Row], None]) -> Callable[[Row], None]:
        CHECKS.update(dict.fromkeys(topics, check))
        return check

    return enter


def left_out(row: Row) -> str | None:
    """The reason why a row is not covered, if it is not."""
    return next(
        (why for (topic, part), why in LEFT_OUT.items() if row["topic"] == topic and part in row["inputs"]), None
    )


@pytest.mark.parametrize(
    "row",
    [row for row in ROWS if not left_out(row)],
    ids=lambda row: f"{row['topic']}: {row['inputs']} ({row['source']})",
)
def test_the_arithmetic_gives_the_figure_of_its_source(row: Row) -> None:
    CHECKS[row["topic"]](row)


def test_every_row_left_out_is_named_with_a_reason_and_no_reason_is_idle() -> None:
    unused = [key for key in LEFT_OUT if not any(key[0] == row["topic"] and key[1] in row["inputs"] for row in ROWS)]

    assert unused == []
    assert sum(1 for row in ROWS if left_out(row)) == 57
    assert len(ROWS) == 214


@covers("acid dose", "acid dose (same constants)", "acid dose Ca")
def check_dose(row: Row) -> None:
    inputs = row["inputs"]
    alkalinity = number(r"alk=(\d+)", inputs)
    raw = water.raw_water(alkalinity, alkalinity if "Ca hardness" in inputs else 0.0, temperature_c=20)
    bottle = acid(AcidKind.VINEGAR if "vinegar" in inputs else AcidKind.CITRIC)
    dose = dose_for(1.0, raw, number(r"target pH ([\d.]+)", inputs), bottle)

    amount = dose.amount

    # The table prints four decimals of a gram; a printed 0.0449 may stand for 0.04485.
    half_digit = 0.5 * 10 ** -len(row["expected"].split()[0].partition(".")[2])
    wanted = numbers(row["expected"])[0]
    assert near(row, amount) or abs(amount - wanted) <= half_digit


@covers("pH reached", "pH reached Ca")
def check_ph_reached(row: Row) -> None:
    inputs = row["inputs"]
    if "neat" in inputs:
        pure = of_raw_water(1e-6, water.raw_water(0, 0, temperature_c=20))
        assert near(row, with_acid(pure, acid(), 1000).ph)
        return
    alkalinity = number(r"alk=(\d+)", inputs)
    hardness = alkalinity if "Ca hardness" in inputs else 0.0
    raw = of_raw_water(1.0, water.raw_water(alkalinity, hardness, temperature_c=20))
    if "vinegar" in inputs:
        reached = with_acid(raw, acid(), number(r"([\d.]+) mL/L", inputs)).ph
    else:
        reached = with_acid(raw, acid(AcidKind.CITRIC), number(r"([\d.]+) g/L", inputs)).ph
    assert near(row, reached)


@covers("mass factor")
def check_mass_factor(row: Row) -> None:
    assert near(row, acid(AcidKind.CITRIC).mol_per_unit / acid(AcidKind.CITRIC_MONOHYDRATE).mol_per_unit, 1.0938)


@covers("molarity")
def check_molarity(row: Row) -> None:
    assert near(row, 1000 * acid(AcidKind.VINEGAR, 5).mol_per_unit)


@covers("pKa")
def check_pka(row: Row) -> None:
    k, inputs = constants(25.0), row["inputs"]
    citric = [-log10(k.citric_1), -log10(k.citric_2), -log10(k.citric_3)]
    if "acetic" in inputs:
        assert near(row, -log10(k.acetic))
    elif "/" in inputs:
        assert all(near(row, own, wanted) for own, wanted in zip(citric, numbers(row["expected"]), strict=True))
    else:
        assert near(row, citric[int(number(r"pK(\d)", inputs)) - 1])


@covers("pKa T")
def check_citric_at_20(row: Row) -> None:
    k = constants(20.0)
    own = [-log10(k.citric_1)] if "pK1" in row["inputs"] else [-log10(k.citric_2), -log10(k.citric_3)]
    assert all(near(row, value, wanted) for value, wanted in zip(own, numbers(row["expected"]), strict=True))


@covers("pK carbonate", "pK organic")
def check_pks(row: Row) -> None:
    k = constants(numbers(row["inputs"])[0])
    if row["topic"] == "pK carbonate":
        own = [k.carbonic_1, k.carbonic_2, k.water]
    else:
        own = [k.acetic, k.citric_1, k.citric_2, k.citric_3]
    # pKH, the gas over the bath, is for one at rest with the air, which is not computed.
    wanted = numbers(re.sub(r"pKH [\d.]+", "", row["expected"]).replace("/", " "))
    assert all(near(row, -log10(value), figure) for value, figure in zip(own, wanted, strict=True))


@covers("hardness units")
def check_hardness_units(row: Row) -> None:
    inputs, expected = row["inputs"], row["expected"]
    names = {
        "dH": "°dH",
        "dKH": "°dH",
        "fH": "°fH",
        "Clark": "°e",
        "gpg": "gpg",
        "mmol/L": "mmol/L",
        "meq/L": "meq/L",
    }
    if "HCO3-" in inputs:
        assert near(row, water.alkalinity_from_bicarbonate(61))
    elif inputs.startswith("300"):
        for part in expected.split("; "):
            value, name = part.split()
            assert near(row, 300 / water.MG_L_CACO3_PER[names[name]], float(value))
    else:
        unit = next(names[name] for name in names if re.search(rf"\b{name}\b", inputs))
        assert near(row, water.MG_L_CACO3_PER[unit])
        if "dKH" in expected:
            assert near(row, water.MG_L_CACO3_PER[unit] / water.MG_L_CACO3_PER["°dH"], numbers(expected)[-1])


@covers("dyebath pH")
def check_dyebath_ph(row: Row) -> None:
    names = row["inputs"].split(" / ")
    wanted = [tuple(float(end) for end in span.split("-")) for span in row["expected"].split(" / ")]
    assert [tuple(dye_classes.PH_OF_CLASS[name]) for name in names] == wanted


@covers("wool acid", "wool acid model")
def check_wool(row: Row) -> None:
    inputs = row["inputs"]
    if "maximum" in inputs:
        assert near(row, acid_on_fibre.MOST_MMOL_PER_G)
    elif "no salt" in inputs:
        assert acid_on_fibre.fibre_mmol_per_g(5.0, 1e-5) <= numbers(row["tolerance"])[0]
    elif "half uptake" in inputs or "HI" in inputs:
        assert near(row, acid_on_fibre.fibre_mmol_per_g(2.3, 10**-2.3), numbers(row["expected"])[0] / 2)
    else:
        ph, anion_mmol_l = number(r"pH ([\d.]+)", inputs), number(r"anion (\d+)", inputs)
        assert near(row, acid_on_fibre.fibre_mmol_per_g(ph, anion_mmol_l / 1000))


@covers("wool acid data")
def check_wool_in_boiling_hydrochloric_acid(row: Row) -> None:
    left_mol_l = number(r"left ([\d.]+) mmol", row["inputs"]) / 250
    own = acid_on_fibre.fibre_mmol_per_g(-log10(left_mol_l), left_mol_l, midpoint_ph=2.0)
    # The allowance is good to a factor of two, whatever the balance of 1922 could weigh.
    assert near({**row, "tolerance": "factor 2"}, own)


@covers("DOS", "DOS stock", "DOS conc", "DOS chem", "DOS uptake")
def check_depth(row: Row) -> None:
    topic, inputs = row["topic"], row["inputs"]
    figures = numbers(inputs.replace("1:40", "40").replace("10:1", "10"))
    if topic == "DOS stock":
        powder = shade.powder_g(figures[0], figures[1])
        assert near(row, shade.solution_ml(powder, figures[2]), numbers(row["expected"])[-1])
    elif topic == "DOS conc":
        assert near(row, shade.powder_g(1000, figures[0]) / shade.liquor_l(1000, figures[1]))
    elif topic == "DOS chem":
        assert near(row, shade.liquor_l(1000 * figures[0], figures[2]) * figures[1])
    elif topic == "DOS uptake":
        assert near(row, exhaustion.absorbance(figures[0], 1, figures[0] - figures[1], 1))
    elif "owf" in inputs:
        assert near(row, shade.powder_g(*figures))
    elif "dye" in inputs:
        assert shade.powder_g(1000 * figures[0], numbers(row["expected"])[0]) == 1000 * figures[1]
    else:
        litres, kilograms = (figures[1], figures[0]) if "material" in inputs else figures
        assert shade.liquor_l(1000 * kilograms, 10) == pytest.approx(litres)
        assert "10" in row["expected"]


@covers("exhaustion")
def check_exhaustion(row: Row) -> None:
    first, left = number(r"A0=([\d.]+)", row["inputs"]), number(r"At=([\d.]+)", row["inputs"])
    assert near(row, exhaustion.absorbance(first, 2.0, left, 2.0))


GREY = (93.0, 0.0, 0.0)
"""A white; a stain that only darkens it has ΔE_GS = ΔE*ab."""


@covers("grey scale staining A03")
def check_grey_scale(row: Row) -> None:
    grade, delta_e, slack = row["inputs"].split()[1], numbers(row["expected"])[-1], float(row["tolerance"])
    darker = [(GREY[0] - max(0.0, delta_e + by), 0.0, 0.0) for by in (-slack, 0.0, slack)]
    assert {colour_difference.stain_grade(GREY, cloth) for cloth in darker} == {grade}


@covers("staining SSR A04")
def check_staining_rating(row: Row) -> None:
    # The rating is seen where it crosses from one grade to the next; half steps up at their middle.
    if "white" in row["inputs"]:
        assert colour_difference.stain_grade((94.0, 0.0, 3.0), (91.0, 2.5, 1.0)) == "4-5"
        return
    difference, rating = numbers(row["inputs"])[0], numbers(row["expected"])[0]
    halves = floor(2 * round(rating, 2) + 0.5) / 2
    grade = colour_difference.stain_grade(GREY, (GREY[0] - difference, 0.0, 0.0))
    assert grade == (f"{halves:g}" if halves == int(halves) else f"{int(halves)}-{int(halves) + 1}")


@covers("enthalpy water")
def check_enthalpy(row: Row) -> None:
    assert near(row, heat.water_kj_per_kg(20, 95))


@covers("latent heat")
def check_latent_heat(row: Row) -> None:
    assert near(row, heat.latent_kj_per_kg(numbers(row["inputs"])[0]))


@covers("cp fibre")
def check_fibre_heat(row: Row) -> None:
    assert near(row, heat.wet_yarn_kj(1000, 0, 20, 21))


@covers("skein heat")
def check_skein_heat(row: Row) -> None:
    if "absorbed" in row["inputs"]:
        assert near(row, 60 * heat.microwave_min(100, 100, 800, coupling=1), 52)
        assert near(row, 60 * heat.microwave_min(100, 100, 800), 87)  # the usual coupling
    else:
        water_g = 1000 * number(r"([\d.]+) kg water", row["inputs"])
        assert near(row, heat.wet_yarn_kj(100, water_g, 20, 95))


@covers("microwave IEC water load")
def check_power_test(row: Row) -> None:
    output_w = numbers(row["inputs"])[0]
    assert near(row, 60 * heat.microwave_min(0, 1000, output_w, from_c=10, to_c=20, coupling=1))


@covers("steam rate")
def check_steam_rate(row: Row) -> None:
    assert near(row, heat.evaporation_kg_h(1500))


@covers("heat-up")
def check_heat_up(row: Row) -> None:
    assert near(row, 60 * heat.least_warm_up_min(1500, 2))


@covers("Newton cooling")
def check_newton(row: Row) -> None:
    cases = {
        "165F": ([(0, 165), (10, 150)], 35, 70, 1),
        "40F i": ([(0, 40), (1, 45)], 70, 60, 1),
        "90C t": ([(0, 90), (1, 60)], 25, 40, 1),
        "95C t": ([(0, 95), (12, 60)], 20, 35, 1),
    }
    readings, room, wanted, _ = next(case for start, case in cases.items() if row["inputs"].startswith(start))
    curve = cooling.newton([(float(at), float(read)) for at, read in readings], room)
    assert near(row, cooling.minutes_until(curve, 0, wanted))


@covers("regain")
def check_regain(row: Row) -> None:
    assert near(row, fibres.FIBRES["wool"].regain_pct)


@covers("conditioned mass")
def check_conditioned(row: Row) -> None:
    assert near(row, drying.conditioned_g(100, 16))


@covers("saturation vapour pressure")
def check_saturation(row: Row) -> None:
    assert near(row, drying.saturation_kpa(numbers(row["inputs"])[0]))


@covers("drying air")
def check_air(row: Row) -> None:
    air_c, humidity_pct = numbers(row["inputs"])
    deficit_kpa, bulb_c = numbers(row["expected"])
    assert drying.saturation_kpa(air_c) * (1 - humidity_pct / 100) == pytest.approx(deficit_kpa, abs=0.003)
    assert near(row, drying.wet_bulb_c(air_c, humidity_pct), bulb_c)


@covers("drying ratio")
def check_drying_ratio(row: Row) -> None:
    assert near(row, drying.time_ratio(15, 80, 22, 50))
    deficits = drying.saturation_kpa(22) * 0.5 / (drying.saturation_kpa(15) * 0.2)
    assert near(row, deficits, 3.88)


@covers("electrical")
def check_electrical(row: Row) -> None:
    inputs = row["inputs"]
    if "2 steamers" in inputs:
        units = {"steamer 1": 1500.0, "steamer 2": 1500.0, "microwave 1": 1250.0}
        load = electric.circuit_load(units, 230, 32, lead_amps=13)
        assert near(row, load.amps, 18.48)
        assert load.watts == 4250
        assert len(load.exceeds) == 1
        assert "lead" in load.exceeds[0]
    elif "cord-and-plug" in inputs:
        for rated_amps, most_w in ((15, 1440.0), (20, 1920.0)):
            assert not electric.circuit_load({"one": most_w}, 120, rated_amps, continuous_share=0.8).exceeds
            assert electric.circuit_load({"one": most_w + 1}, 120, rated_amps, continuous_share=0.8).exceeds
    else:
        cases = [(13, 230, 2990)] if "BS 1363" in inputs else [(15, 120, 1800), (20, 120, 2400)]
        for rated_amps, volts, most_w in cases:
            assert electric.circuit_load({"all": most_w}, volts, rated_amps).share == pytest.approx(1)
            assert not electric.circuit_load({"all": most_w}, volts, rated_amps).exceeds


@covers("yarn count")
def check_yarn(row: Row) -> None:
    length_m, weight_g = numbers(row["inputs"])
    # The row gives the yards of 100 g to one decimal.
    assert length_m * 100 / weight_g / M_PER_YARD * weight_g / 100 == pytest.approx(
        numbers(row["expected"])[2], abs=0.05
    )


def test_the_molar_masses_are_those_of_iupac() -> None:
    assert (acid_kinds.ACETIC_G_PER_MOL, acid_kinds.CITRIC_G_PER_MOL) == (60.052, 192.124)
