"""What a person types becomes a float in a named unit, and back to what a jug and a scale can do."""

from __future__ import annotations

from typing import Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dyeday import units
from dyeday.terms import UnitSystem

PLAIN_PINT: Any = pint.UnitRegistry()
KINDS = {name: kind for name, kind in vars(units).items() if isinstance(kind, units.Kind)}
PLAIN_KINDS = [
    units.VOLUME_L, units.VOLUME_ML, units.MASS_G, units.LENGTH_M, units.LENGTH_MM, units.TIME_MIN, units.TIME_H,
    units.TEMPERATURE_C, units.DIFFERENCE_C, units.POWER_W, units.VOLTS, units.AMPS,
]  # fmt: skip

# NIST Handbook 44, appendix C: US measures and avoirdupois, exact but for the rounding of what follows from the inch.
HANDBOOK_44 = [
    ("1 gal", units.VOLUME_L, 3.785411784),
    ("1 qt", units.VOLUME_ML, 946.352946),
    ("1 pt", units.VOLUME_ML, 473.176473),
    ("1 cup", units.VOLUME_ML, 236.5882365),
    ("2 cups", units.VOLUME_ML, 473.176473),
    ("1 fl oz", units.VOLUME_ML, 29.5735295625),
    ("1 tbsp", units.VOLUME_ML, 14.78676478125),
    ("1 tsp", units.VOLUME_ML, 4.92892159375),
    ("1 oz", units.MASS_G, 28.349523125),
    ("1 lb", units.MASS_G, 453.59237),
    ("1 yd", units.LENGTH_M, 0.9144),
    ("1 ft", units.LENGTH_M, 0.3048),
    ("1 in", units.LENGTH_MM, 25.4),
]


@pytest.mark.parametrize(("text", "kind", "expected"), HANDBOOK_44, ids=[case[0] for case in HANDBOOK_44])
def test_us_measures_are_those_of_handbook_44(text: str, kind: units.Kind, expected: float) -> None:
    """A gallon is a US gallon, and an ounce a weight or a measure by what belongs there."""
    assert units.read(text, kind) == pytest.approx(expected, rel=1e-12)


def test_an_ounce_is_fluid_where_a_volume_belongs() -> None:
    """The same two letters, by the kind of quantity."""
    assert units.read("1 oz", units.VOLUME_ML) == pytest.approx(29.5735295625)
    assert units.read("1 oz", units.MASS_G) == pytest.approx(28.349523125)


HARDNESS = [
    # By the definitions: 10 mg/L CaO, 10 mg/L CaCO3, a grain (64.79891 mg) in a gallon of 4.54609 L and
    # 3.785411784 L, a mole of CaCO3 (100.087 g), half a mole.
    ("1 dH", 10 * 100.087 / 56.077),
    ("1 °dH", 17.848),
    ("1 dKH", 17.848),
    ("1 °fH", 10.0),
    ("1 f", 10.0),
    ("1 °e", 64.79891 / 4.54609),
    ("1 Clark", 14.254),
    ("1 gpg", 64.79891 / 3.785411784),
    ("1 mmol/L", 100.087),
    ("1 meq/L", 50.0435),
    ("1 mval/L", 50.0435),
    ("1 grains/gal", 17.118),
    ("1 °d", 17.848),
    ("1 ppm", 1.0),
    ("1 mg/L CaCO3", 1.0),
    ("1 ppm as CaCO3", 1.0),
    ("1", 1.0),
]


@pytest.mark.parametrize(("text", "expected"), HARDNESS, ids=[case[0] for case in HARDNESS])
def test_hardness_degrees_are_those_of_their_definitions(text: str, expected: float) -> None:
    """All come out as mg/L CaCO3."""
    assert units.read(text, units.WATER_MG_L) == pytest.approx(expected, rel=3e-5)


def test_a_published_table_of_hardness_degrees_agrees() -> None:
    """1 mmol/L = 5.608 °dH = 5.847 gpg = 7.022 °e = 10.01 °fH, as the common conversion table prints it."""
    mmol = units.read("1 mmol/L", units.WATER_MG_L)

    for degrees in ("5.608 dH", "5.847 gpg", "7.022 °e", "10.01 °fH"):
        assert units.read(degrees, units.WATER_MG_L) == pytest.approx(mmol, rel=2e-4)


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        ("32 °F", units.TEMPERATURE_C, 0),  # freezing and boiling, by the definition of the scale
        ("212 F", units.TEMPERATURE_C, 100),
        ("-40 °F", units.TEMPERATURE_C, -40),
        ("95 C", units.TEMPERATURE_C, 95),
        ("18 °F", units.DIFFERENCE_C, 10),
        ("10 K", units.DIFFERENCE_C, 10),
        ("1.5 kW", units.POWER_W, 1500),
        ("1,5 L", units.VOLUME_L, 1.5),
        ("1,5 l", units.VOLUME_ML, 1500),
        (",5 L", units.VOLUME_L, 0.5),
        ("2.", units.VOLUME_L, 2),
        ("+4 L", units.VOLUME_L, 4),
        ("1e3 mL", units.VOLUME_L, 1),
        ("  4L ", units.VOLUME_L, 4),
        ("90 s", units.TIME_MIN, 1.5),
        ("1.5 h", units.TIME_MIN, 90),
        ("1 h 30", units.TIME_MIN, 90),
        ("1h30", units.TIME_MIN, 90),
        ("2 h 15 min", units.TIME_H, 2.25),
        ("20 m", units.TIME_MIN, 20),
        ("20 m", units.LENGTH_M, 20),
        ("1 day", units.TIME_H, 24),
        ("50 g/L", units.STRENGTH_PCT, 5),
        ("5 % w/v", units.STRENGTH_PCT, 5),
        ("5 g/100 mL", units.STRENGTH_PCT, 5),
        ("0,125 L", units.VOLUME_ML, 125),
        ("1,25 kg", units.MASS_G, 1250),
        ("80 %", units.PERCENT, 80),
        ("500 µL", units.VOLUME_ML, 0.5),
        (4, units.VOLUME_L, 4),
        (4.5, units.VOLUME_L, 4.5),
    ],
)
def test_a_quantity_is_read_as_people_write_it(text: object, kind: units.Kind, expected: float) -> None:
    """Decimal comma or point, capitals or not, with or without a space or a unit."""
    assert units.read(text, kind) == pytest.approx(expected)


SPELT = {
    "litre": "l litre litres liter liters", "millilitre": "ml cc", "centilitre": "cl", "decilitre": "dl",
    "gallon": "gal gallon gallons", "quart": "qt", "pint": "pt", "cup": "cup cups", "tablespoon": "tbsp",
    "teaspoon": "tsp", "gram": "g gm gram grams", "kilogram": "kg", "milligram": "mg", "ounce": "ounce ounces",
    "pound": "lb lbs pound pounds", "metre": "metre metres meter meters", "centimetre": "cm", "millimetre": "mm",
    "kilometre": "km", "yard": "yd yds yard yards", "foot": "ft", "inch": "in", "second": "s sec secs second seconds",
    "minute": "min mins minute minutes", "hour": "h hr hrs hour hours", "day": "d day days", "watt": "w watt watts",
    "kilowatt": "kw", "volt": "v volt volts", "ampere": "a amp amps",
}  # fmt: skip
"""pint's unit, and how people write it, in any case"""


@given(st.sampled_from(PLAIN_KINDS), st.floats(0.001, 1e6), st.data())
def test_units_agree_with_pint_as_a_reference(kind: units.Kind, amount: float, data: st.DataObject) -> None:
    """Every spelling of a unit gives what an untouched pint registry gives for that unit."""
    alike = [unit for unit in SPELT if PLAIN_PINT.Unit(unit).is_compatible_with(kind.unit)]
    meant = {word: unit for unit in alike for word in SPELT[unit].split()} | kind.aliases
    word = data.draw(st.sampled_from(sorted(meant)))
    in_case = data.draw(st.sampled_from((word, word.upper(), word.capitalize())))
    reference: Any = PLAIN_PINT.Quantity(amount, meant[word]).to(kind.unit).magnitude

    assert units.read(f"{amount!r} {in_case}", kind) == pytest.approx(float(reference), rel=1e-9)


@given(st.sampled_from(sorted(KINDS)), st.floats(-1e6, 1e6))
def test_a_plain_number_is_in_the_kinds_own_unit(name: str, amount: float) -> None:
    """As a number, as text, and as text with a decimal comma."""
    kind = KINDS[name]

    assert units.read(amount, kind) == amount
    assert units.read(f"{amount:.6f}".replace(".", ","), kind) == pytest.approx(amount, abs=1e-6)


@pytest.mark.parametrize("name", KINDS)
def test_the_example_of_every_kind_is_read(name: str) -> None:
    """What an error says to write is right."""
    example = KINDS[name].example.split(" or ")[0]

    assert units.read(example, KINDS[name]) > 0


@pytest.mark.parametrize(
    ("value", "kind", "what"),
    [
        ("4 kg", units.VOLUME_L, "'4 kg' is a weight, and a volume belongs here"),
        ("4 L", units.MASS_G, "'4 L' is a volume, and a weight belongs here"),
        ("20 min", units.TEMPERATURE_C, "'20 min' is a time, and a temperature belongs here"),
        ("10 dH", units.MASS_G, "'10 dH' is "),
        ("20 °C", units.POWER_W, "'20 °C' is a temperature, and a power belongs here"),
        ("4 blorps", units.VOLUME_L, "'4 blorps' has no unit that can be read"),
        ("4 L; rm", units.VOLUME_L, "has no unit that can be read"),
        ("5 min-.", units.TIME_MIN, "'5 min-.' has no unit that can be read"),
        ("4 L 5", units.VOLUME_L, "'4 L 5'"),
        ("1,500.5 W", units.POWER_W, "'1,500.5 W'"),
        ("1,500 mL", units.VOLUME_ML, "'1,500 mL' may be thousands or a decimal"),
        ("10 % w/w", units.STRENGTH_PCT, "'10 % w/w' has no unit that can be read"),
        ("four", units.VOLUME_L, "'four' is not a volume"),
        ("", units.VOLUME_L, "'' is not a volume"),
        (True, units.VOLUME_L, "true is not a volume"),
        (None, units.VOLUME_L, "nothing is not a volume"),
        ([4], units.VOLUME_L, "[4] is not a volume"),
        (float("nan"), units.VOLUME_L, "nan is not a number"),
        ("9" * 50 + "e99", units.VOLUME_L, "is too much"),
        (10**400, units.VOLUME_L, "is too much"),
        ("-1 L", units.VOLUME_L, "'-1 L' is too little"),
        ("101 L", units.VOLUME_L, "'101 L' is too much"),
    ],
)
def test_what_cannot_be_is_refused_saying_what_would_be_read(value: object, kind: units.Kind, what: str) -> None:
    """The error has what is wrong and what would be right."""
    with pytest.raises(units.QuantityError) as caught:
        units.read(value, kind, low=0, high=100)

    assert what in caught.value.what
    assert caught.value.hint


def test_a_number_that_may_be_thousands_is_refused_with_both_ways_to_write_it() -> None:
    """Where it was guessed, a dose would be a thousand times too small."""
    with pytest.raises(units.QuantityError) as of_a_number:
        units.number("-12,500")
    with pytest.raises(units.QuantityError) as of_a_weight:
        units.read("-12,500", units.MASS_G)
    assert of_a_number.value.hint == of_a_weight.value.hint == "write -12500, or -12.500"


def test_both_bounds_are_allowed_themselves() -> None:
    """``low`` and ``high`` are the least and the most that is read."""
    assert [units.read(text, units.VOLUME_L, low=0, high=100) for text in ("0 L", "100 L")] == [0, 100]


@given(st.sampled_from(sorted(KINDS)), st.text(max_size=80) | st.from_regex(r"[0-9]{1,3} ?[a-z%°/µ²·-]{0,8}"))
def test_any_text_is_a_finite_number_or_a_quantity_error(name: str, text: str) -> None:
    """Nothing else is raised, whatever pint makes of it."""
    try:
        amount = units.read(text, KINDS[name], low=-1e12, high=1e12)
    except units.QuantityError as error:
        assert len(error.what) < 200
    else:
        assert -1e12 <= amount <= 1e12


@pytest.mark.parametrize(("text", "expected"), [("4,5", 4.5), (" 4.5 ", 4.5), ("-1", -1), ("1e-3", 0.001)])
def test_a_bare_number_is_read_with_comma_or_point(text: str, expected: float) -> None:
    """A pH or a price has no unit."""
    assert units.number(text) == expected


@pytest.mark.parametrize("text", ["", "4 L", "4,5,6", "pH 4", "1" * 5000])
def test_what_is_not_a_bare_number_is_refused(text: str) -> None:
    """ValueError, in few words."""
    with pytest.raises(ValueError, match="is not a number") as caught:
        units.number(text)

    assert len(str(caught.value)) < 100


@pytest.mark.parametrize(
    ("volume_ml", "jug_ml", "shown"),
    [
        (62.4, 5, "60 mL"),
        (63, 5, "65 mL"),
        (63, 1, "63 mL"),
        (1999, 5, "2 L"),
        (12_340, 5, "12.3 L"),
        (1.26, 5, "1.3 mL"),
        (0.04, 5, "0.04 mL"),
        (276, 1000, "280 mL"),
        (2_500_000, 5, "2500 L"),
        (0, 5, "0 mL"),
        (37.5, 2.5, "37.5 mL"),
    ],
)
def test_a_volume_is_shown_as_the_jug_can_measure_it(volume_ml: float, jug_ml: float, shown: str) -> None:
    """Rounded to the jug; what is less than the jug can tell is not shown as nothing."""
    assert units.show_volume(volume_ml, jug_ml=jug_ml) == shown


@pytest.mark.parametrize(
    ("volume_ml", "shown"),
    [
        (4.93, "1 tsp"),
        (7.4, "1½ tsp"),
        (14.79, "1 tbsp"),
        (44.4, "3 tbsp"),
        (118.3, "½ cup"),
        (150, "½ cup + 2 tbsp"),
        (300, "1¼ cups"),
        (946.4, "4 cups"),
        (3785.5, "1 gal"),
        (4258, "1 gal + 2 cups"),
        (5678.2, "1½ gal"),
        (37_854, "10 gal"),
        (0.3, "0.3 mL"),
        (0, "0 tsp"),
    ],
)
def test_a_volume_is_shown_in_us_measures(volume_ml: float, shown: str) -> None:
    """Teaspoons to gallons by NIST Handbook 44, in quarters as spoons and cups are made."""
    assert units.show_volume(volume_ml, UnitSystem.US) == shown


@pytest.mark.parametrize(
    ("mass_g", "system", "scale_g", "shown"),
    [
        (6.75, "metric", 0.1, "6.8 g"),
        (6.75, "metric", 0.01, "6.75 g"),
        (0.034, "metric", 0.1, "0.034 g"),
        (0, "metric", 0.1, "0 g"),
        (400, "metric", 1, "400 g"),
        (6.75, "US", 0.1, "6.8 g"),
        (100, "US", 0.1, "3.5 oz"),
        (453.59237, "US", 0.1, "16.0 oz"),
    ],
)
def test_a_weight_is_shown_as_the_scale_can_weigh_it(mass_g: float, system: str, scale_g: float, shown: str) -> None:
    """Dye stays in grams in both systems; yarn is in ounces of 28.349523125 g in the US."""
    assert units.show_mass(mass_g, UnitSystem(system), scale_g) == shown


@given(st.floats(0.01, 1e5), st.sampled_from([0.01, 0.1, 1.0]))
def test_a_shown_weight_is_within_half_a_step_of_the_scale(mass_g: float, scale_g: float) -> None:
    """Rounding loses at most half of what the scale can tell, or a twentieth of what is less than that."""
    shown = float(units.show_mass(mass_g, scale_g=scale_g).removesuffix(" g"))

    assert shown == pytest.approx(mass_g, abs=scale_g / 2 + 1e-9, rel=5e-6)


@given(st.floats(0.1, 1e5), st.sampled_from([1.0, 5.0, 10.0]))
def test_a_shown_volume_is_within_half_a_step_of_the_jug(volume_ml: float, jug_ml: float) -> None:
    """In litres to three digits from two litres on."""
    amount, unit = units.show_volume(volume_ml, jug_ml=jug_ml).split(" ")
    shown_ml = float(amount) * (1000 if unit == "L" else 1)

    assert shown_ml == pytest.approx(volume_ml, abs=jug_ml / 2 + 0.05 + 0.006 * volume_ml * (unit == "L"))


US_ML = {"tsp": 4.92892159375, "tbsp": 14.78676478125, "cup": 236.5882365, "cups": 236.5882365, "gal": 3785.411784}


@given(st.floats(118.3, 1e5))
def test_a_volume_in_us_measures_is_within_a_sixteenth(volume_ml: float) -> None:
    """From half a cup on; acid a fifth short is a flag of its own."""
    shown_ml = 0.0
    for part in units.show_volume(volume_ml, UnitSystem.US).split(" + "):
        said, unit = part.split(" ")
        quarter = {"¼": 0.25, "½": 0.5, "¾": 0.75}.get(said[-1], 0.0)
        shown_ml += (float(said.rstrip("¼½¾") or 0) + quarter) * US_ML[unit]

    assert shown_ml == pytest.approx(volume_ml, rel=1 / 16)


def test_a_spelling_that_pint_knows_and_we_do_not_list_is_read_too() -> None:
    """Prefixes and rarer units come from pint."""
    assert units.read("0.25 hectolitre", units.VOLUME_L) == pytest.approx(25)
    assert units.read("1 stone", units.MASS_G) == pytest.approx(14 * 453.59237)  # of 14 lb avoirdupois
