"""Every key of a session plan: its unit, its default, and what is unknown when it is absent."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from dyeday.craft.water.acids import AcidKind
from dyeday.plan.model import PUTTING_DYE_ON, FixStep, Plan, Section
from dyeday.plan.reading.plan_reader import changed_rules, read_plan
from dyeday.terms import (
    AcidPlace,
    ChorePer,
    ChoreWhen,
    CoolWhere,
    Cover,
    DayAim,
    DyeMethod,
    Form,
    HeatKind,
    KitKind,
    PhWith,
    UnitSystem,
)
from tests.plan.plans import plan, plan_text

Getter = Callable[[Plan], object]

US_GALLON_L = 3.785411784  # NIST Handbook 44, appendix C; so are the pound, the ounce and the yard below
POUND_G, OUNCE_G, YARD_M, INCH_MM = 453.59237, 28.349523125, 0.9144, 25.4
GERMAN_DEGREE_MG_L = 17.848  # 10 mg/L CaO by definition, × 100.087 / 56.077

QUANTITIES: list[tuple[str, Getter, list[tuple[str, float]]]] = [
    (
        "session.screen_height",
        lambda p: p.session.screen_height_mm,
        [('"170 mm"', 170), ("170", 170), ('"17,4 cm"', 174), ('"7 in"', 7 * INCH_MM)],
    ),
    (
        "water.alkalinity",
        lambda p: p.water.alkalinity_mg_l,
        [
            ('"180 mg/L"', 180),
            ("180", 180),
            ('"180,5 mg/L"', 180.5),
            ('"10 dH"', 10 * GERMAN_DEGREE_MG_L),
            ("0", 0),
            ('"0 mg/L"', 0),
        ],
    ),
    (
        "water.bicarbonate",
        lambda p: p.water.alkalinity_mg_l,
        [('"200 mg/L"', 200 * 50.0435 / 61.0168), ("200", 200 * 50.0435 / 61.0168), ("0", 0)],
    ),
    (
        "water.hardness",
        lambda p: p.water.hardness_mg_l,
        [('"15 dH"', 15 * GERMAN_DEGREE_MG_L), ("250", 250), ('"12,5 °fH"', 125), ("0", 0)],
    ),
    (
        "water.temperature",
        lambda p: p.water.temperature_c,
        [('"12 °C"', 12), ("12", 12), ('"12,5 °C"', 12.5), ('"59 °F"', 15), ("0", 0)],
    ),
    (
        "water.rinse_temperature",
        lambda p: p.water.rinse_temperature_c,
        [('"30 °C"', 30), ("30", 30), ('"86 °F"', 30)],
    ),
    ("acid.strength", lambda p: p.acid.strength_pct, [('"6 %"', 6), ("6", 6), ('"6,5 %"', 6.5), ('"60 g/L"', 6)]),
    ("acid.target_ph", lambda p: p.acid.target_ph, [("5", 5), ('"4,8"', 4.8)]),
    (
        "acid.on_hand",
        lambda p: p.acid.on_hand,
        [('"2 L"', 2000), ("2000", 2000), ('"0,5 L"', 500), ('"1 gal"', 1000 * US_GALLON_L), ("0", 0)],
    ),
    ("scale.resolution", lambda p: p.scale_g, [('"0.01 g"', 0.01), ("1", 1), ('"0,5 g"', 0.5)]),
    ("jug.resolution", lambda p: p.jug_ml, [('"10 mL"', 10), ("10", 10), ('"2,5 ml"', 2.5)]),
    ("air.temperature", lambda p: p.air_temperature_c, [('"19 °C"', 19), ("19", 19), ("0", 0)]),
    ("air.altitude", lambda p: p.altitude_m, [('"1200 m"', 1200), ("0", 0), ('"4000 ft"', 1219.2)]),
    ("air.humidity", lambda p: p.air_humidity_pct, [('"55 %"', 55), ("55", 55), ("0", 0)]),
    ("circuit.volts", lambda p: p.circuits[0].volts, [('"120 V"', 120), ("120", 120)]),
    ("circuit.amps", lambda p: p.circuits[0].amps, [('"13 A"', 13), ("13", 13)]),
    ("circuit.continuous_share", lambda p: p.circuits[0].continuous_share, [("0.8", 0.8), ('"0,8"', 0.8)]),
    ("circuit.lead_amps", lambda p: p.circuits[0].lead_amps, [('"10 A"', 10), ("10", 10)]),
    ("kit.units", lambda p: p.kit[0].units, [("3", 3), ('"3"', 3)]),
    ("kit.holds", lambda p: p.kit[0].holds_skeins, [("6", 6), ('"6"', 6), ('"6 skeins"', 6)]),
    ("kit.holds", lambda p: p.kit[0].holds_g, [('"600 g"', 600), ('"0,6 kg"', 600), ('"2 lb"', 2 * POUND_G)]),
    ("kit.power", lambda p: p.kit[0].power_w, [('"1800 W"', 1800), ("1800", 1800), ('"1,8 kW"', 1800)]),
    ("kit.output", lambda p: p.kit[0].output_w, [('"800 W"', 800), ("800", 800)]),
    (
        "kit.tank",
        lambda p: p.kit[0].tank_l,
        [('"2 L"', 2), ("2", 2), ('"2400 mL"', 2.4), ('"0,5 gal"', US_GALLON_L / 2)],
    ),
    ("kit.lasts", lambda p: p.kit[0].lasts_min, [('"75 min"', 75), ("75", 75), ('"1,5 h"', 90)]),
    ("kit.warm_up", lambda p: p.kit[0].warm_up_min, [('"25 min"', 25), ("25", 25), ("0", 0)]),
    ("kit.load", lambda p: p.kit[0].load_min, [('"3 min"', 3), ("3", 3), ("0", 0)]),
    ("kit.unload", lambda p: p.kit[0].unload_min, [('"4 min"', 4), ("4", 4), ("0", 0)]),
    ("base.skein", lambda p: p.bases[0].skein_g, [('"50 g"', 50), ("50", 50), ('"3,5 oz"', 3.5 * OUNCE_G)]),
    ("base.length", lambda p: p.bases[0].length_m, [('"420 m"', 420), ("420", 420), ('"437 yd"', 437 * YARD_M)]),
    ("base.soak", lambda p: p.bases[0].soak_min, [('"30 min"', 30), ("30", 30), ('"0,5 h"', 30), ("0", 0)]),
    ("base.on_hand", lambda p: p.bases[0].on_hand, [("24", 24), ('"24 skeins"', 24), ("0", 0)]),
    ("base.price", lambda p: p.bases[0].price, [("11.5", 11.5), ('"11,5"', 11.5)]),
    ("dye.solution", lambda p: p.dyes[0].solution_pct, [('"2 %"', 2), ("2", 2), ('"0,5 %"', 0.5), ('"20 g/L"', 2)]),
    ("dye.on_hand", lambda p: p.dyes[0].on_hand_g, [('"42 g"', 42), ("42", 42), ('"1 oz"', OUNCE_G), ("0", 0)]),
    ("dye.price", lambda p: p.dyes[0].price_per_g, [("0.4", 0.4), ('"0,4"', 0.4)]),
    ("dye.min_steam", lambda p: p.dyes[0].min_steam_min, [('"45 min"', 45), ("45", 45), ('"1 h"', 60)]),
    ("dye.expected_exhaustion", lambda p: p.dyes[0].expected_exhaustion_pct, [('"80 %"', 80), ("80", 80)]),
    (
        "colourway.minutes",
        lambda p: p.colourways[0].layers[0].minutes_per_100g,
        [('"7 min"', 7), ("7", 7), ('"7,5 min per 100 g"', 7.5), ('"90 s"', 1.5)],
    ),
    ("colourway.setup", lambda p: p.colourways[0].layers[0].setup_min, [('"5 min"', 5), ("5", 5)]),
    (
        "colourway.liquor",
        lambda p: p.colourways[0].layers[0].liquor_ml_per_100g,
        [('"120 mL"', 120), ("120", 120), ('"0,12 L per 100 g"', 120), ('"100 mL/100g"', 100)],
    ),
    (
        "colourway.cool",
        lambda p: p.colourways[0].layers[0].cool_min,
        [('"40 min"', 40), ("40", 40), ('"1,5 h"', 90), ("0", 0)],
    ),
    (
        "colourway.rinse",
        lambda p: p.colourways[0].rinse_min_per_100g,
        [('"3 min"', 3), ("3", 3), ('"3 min per 100 g"', 3)],
    ),
    ("colourway.dry", lambda p: p.colourways[0].dry_h, [('"18 h"', 18), ("18", 18), ('"1 day"', 24)]),
]
EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.toml"))
CASES = [(key, get, raw, value) for key, get, cases in QUANTITIES for raw, value in cases]


@pytest.mark.parametrize(("key", "get", "raw", "expected"), CASES, ids=[f"{c[0]}={c[2]}" for c in CASES])
def test_a_quantity_is_read_with_its_unit_or_as_a_plain_number(
    key: str, get: Getter, raw: str, expected: float
) -> None:
    """Text carries its own unit; a plain number is in the unit the plan's keys are documented with."""
    assert get(plan({key: raw})) == pytest.approx(expected, rel=1e-4)


RULES = {
    "ph_limit": (0.7, "0.4", 0.4), "acid_share": (80.0, '"70 %"', 70.0), "soak": (None, '"25 min"', 25.0),
    "open": (60.0, '"0,5 h"', 30.0), "lidded": (240.0, "200", 200.0), "wrapped": (1440.0, '"20 h"', 1200.0),
    "fix_share": (90.0, "85", 85.0), "scorch_factor": (2.0, '"2,5"', 2.5), "exhaustion": (90.0, '"95 %"', 95.0),
    "shock": (10.0, '"12 °C"', 12.0), "felting": (None, '"90 °C"', 90.0), "cloth": ("4-5", '"4"', "4"),
    "dry": (1.0, '"2 %"', 2.0), "reserve": (20.0, '"25 %"', 25.0), "overdue": (15.0, '"20 min"', 20.0),
    "overdue_after": (5.0, "3", 3.0), "re_alarm": (5.0, '"2 min"', 2.0),
}  # fmt: skip


@pytest.mark.parametrize("key", RULES)
def test_every_threshold_of_a_rule_has_its_default_and_can_be_set(key: str) -> None:
    """The thresholds of flags and alarms are common practice, and a studio may set its own."""
    usual, raw, given = RULES[key]

    assert getattr(plan().rules, key) == usual
    assert getattr(plan({f"rules.{key}": raw}).rules, key) == given


def test_thresholds_that_differ_from_the_default_are_listed() -> None:
    """A meter's own pH limit changes nothing; a number in the plan does."""
    assert changed_rules(plan({"acid.ph_with": '"meter"'})) == []
    assert changed_rules(plan({"rules.reserve": "30"})) == [("reserve", 30.0, 20.0)]


def test_the_ph_limit_goes_by_what_ph_is_read_with() -> None:
    """A strip reads to 0.7, a meter to 0.5, unless the plan says otherwise."""
    assert plan({"acid.ph_with": '"strip"'}).rules.ph_limit == 0.7
    assert plan({"acid.ph_with": '"meter"'}).rules.ph_limit == 0.5
    assert plan({"acid.ph_with": '"meter"', "rules.ph_limit": "0.6"}).rules.ph_limit == 0.6


DEFAULTS: list[tuple[str, Getter, object]] = [
    ("session.tomorrow", lambda p: p.session.tomorrow, ()),
    ("session.breaks", lambda p: p.session.breaks, ()),
    ("session.zone", lambda p: p.session.zone, None),
    ("session.hands", lambda p: p.session.hands, 1),
    ("session.serves", lambda p: p.session.aim, DayAim.BY_STOP),
    ("session.units", lambda p: p.session.units, UnitSystem.METRIC),
    ("session.screen_height", lambda p: p.session.screen_height_mm, None),
    ("water.alkalinity", lambda p: p.water.alkalinity_mg_l, None),
    ("water.hardness", lambda p: p.water.hardness_mg_l, None),
    ("water.temperature", lambda p: p.water.temperature_c, 15),
    ("water.rinse_temperature", lambda p: p.water.rinse_temperature_c, 15),
    ("acid.kind", lambda p: p.acid.kind, AcidKind.VINEGAR),
    ("acid.strength", lambda p: p.acid.strength_pct, 5),
    ("acid.target_ph", lambda p: p.acid.target_ph, 4.5),
    ("acid.ph_with", lambda p: p.acid.ph_with, PhWith.STRIP),
    ("acid.on_hand", lambda p: p.acid.on_hand, None),
    ("scale.resolution", lambda p: p.scale_g, 0.1),
    ("jug.resolution", lambda p: p.jug_ml, 5),
    ("air", lambda p: (p.air_temperature_c, p.air_humidity_pct, p.altitude_m), (None, None, None)),
    ("circuit", lambda p: (p.circuits[0].continuous_share, p.circuits[0].lead_amps), (None, None)),
    ("kit.units", lambda p: p.kit[0].units, 1),
    ("kit.power", lambda p: (p.kit[0].power_w, p.kit[0].output_w, p.kit[0].circuit), (None, None, None)),
    ("kit.tank", lambda p: (p.kit[0].tank_l, p.kit[0].lasts_min), (None, None)),
    ("kit.load", lambda p: (p.kit[0].load_min, p.kit[0].unload_min), (2, 2)),
    ("base.form", lambda p: p.bases[0].form, Form.SKEIN),
    ("base.length", lambda p: p.bases[0].length_m, None),
    ("base.on_hand", lambda p: (p.bases[0].on_hand, p.bases[0].price), (None, None)),
    ("dye.solution", lambda p: p.dyes[0].solution_pct, 1),
    ("dye.on_hand", lambda p: (p.dyes[0].on_hand_g, p.dyes[0].price_per_g), (None, None)),
    ("dye.expected_exhaustion", lambda p: p.dyes[0].expected_exhaustion_pct, None),
    ("layer.how", lambda p: p.colourways[0].layers[0].how, DyeMethod.PAINTED),
    ("layer.minutes", lambda p: p.colourways[0].layers[0].minutes_per_100g, 6),
    ("layer.setup", lambda p: p.colourways[0].layers[0].setup_min, 0),
    ("layer.liquor", lambda p: p.colourways[0].layers[0].liquor_ml_per_100g, 90),
    ("layer.powder", lambda p: p.colourways[0].layers[0].powder_g_per_100g, None),
    ("layer.cover", lambda p: p.colourways[0].layers[0].cover, Cover.WRAPPED),
    ("layer.acid_in", lambda p: p.colourways[0].layers[0].acid_in, AcidPlace.SOAK),
    ("layer.cool", lambda p: p.colourways[0].layers[0].cool_min, 60),
    ("layer.cool_where", lambda p: p.colourways[0].layers[0].cool_where, CoolWhere.OUT),
    ("colourway.rinse", lambda p: p.colourways[0].rinse_min_per_100g, 2),
    ("colourway.dry", lambda p: p.colourways[0].dry_h, 24),
    ("colourway.steps", lambda p: p.colourways[0].steps, ()),
    ("order.due", lambda p: p.orders[0].due, None),
    ("order.priority", lambda p: p.orders[0].priority, 5),
    ("order.match", lambda p: p.orders[0].match, False),
    ("order.spare", lambda p: p.orders[0].spare, 0),
    ("order.parcel", lambda p: p.orders[0].parcel, ""),
    ("order.sample", lambda p: p.orders[0].sample, False),
]


@pytest.mark.parametrize(("get", "expected"), [case[1:] for case in DEFAULTS], ids=[case[0] for case in DEFAULTS])
def test_what_is_absent_is_its_default_or_unknown_and_never_silently_zero(get: Getter, expected: object) -> None:
    """None stands for unknown; a default is a number that common practice gives."""
    assert get(plan()) == expected


def test_the_rinse_water_is_as_warm_as_the_tap_unless_said() -> None:
    """The rinse temperature follows the water's."""
    assert plan({"water.temperature": "9"}).water.rinse_temperature_c == 9


@pytest.mark.parametrize(
    ("kind", "warm_up"), [("steamer", 10), ("pot", 10), ("tray", 0), ("microwave", 0), ("spinner", 0), ("pegs", 0)]
)
def test_steamers_and_pots_warm_up_for_ten_minutes_and_nothing_else_does(kind: str, warm_up: float) -> None:
    """The default depends on the kind of kit (common practice)."""
    more = f'\n[[kit]]\nname = "other"\nkind = "{kind}"\nholds = 9\n'

    assert plan(more=more).kit[1].warm_up_min == warm_up


def test_a_sink_needs_no_room_of_its_own() -> None:
    """``holds`` is required of every kind of kit except a sink."""
    sink = plan(more='\n[[kit]]\nname = "sink"\nkind = "sink"\n').kit[1]

    assert (sink.holds_skeins, sink.holds_g) == (None, None)


@pytest.mark.parametrize(
    ("fibre", "soak_min"),
    [
        ("{ wool = 100 }", 45),
        ("{ mohair = 72, silk = 28 }", 45),
        ('{ "superwash wool" = 100 }', 20),
        ("{ wool = 80, nylon = 20 }", 20),
    ],
)
def test_superwash_and_nylon_blends_soak_for_twenty_minutes_and_the_rest_for_forty_five(
    fibre: str, soak_min: float
) -> None:
    """The soak's default goes by the fibre (common practice)."""
    assert plan({"base.fibre": fibre}).bases[0].soak_min == soak_min


def test_a_fibre_may_go_by_its_other_usual_name() -> None:
    """Polyamide is nylon."""
    assert plan({"base.fibre": "{ Wool = 80, Polyamide = 20 }"}).bases[0].fibre == (("wool", 80), ("nylon", 20))


def test_a_dye_needs_thirty_minutes_of_steam_and_forty_five_above_two_percent() -> None:
    """The hold goes by depth (common practice) unless the dye says its own."""
    deep = {"colourway.sections": '[{ share = 100, dyes = { "Peat" = 2.1 } }]'}
    pale, dark, own = plan(), plan(deep), plan({**deep, "dye.min_steam": "50"})

    assert [p.dye_minimum_min(p.colourways[0].layers[0]) for p in (pale, dark, own)] == [30, 45, 50]


@pytest.mark.parametrize(
    ("one", "other", "hold_min"), [(1.9, 1.9, 45), (1.0, 1.0, 30), (1.0, 1.1, 45), (0.2, 0.1, 30), (2.0, 0.1, 45)]
)
def test_the_whole_sections_depth_counts_not_each_dyes(one: float, other: float, hold_min: float) -> None:
    """Common practice: a section of 1.9 % and 1.9 % is a dark one."""
    dyes = f'{{ "Peat" = {one}, "Moss" = {other} }}'
    found = plan({"colourway.sections": f"[{{ share = 100, dyes = {dyes} }}]"}, more='\n[[dye]]\nname = "Moss"\n')

    assert found.dye_minimum_min(found.colourways[0].layers[0]) == hold_min


def test_an_immersed_layer_has_defaults_of_its_own() -> None:
    """20 L/kg, lidded, its acid in the bath, five hours to cool in its pot; liquor in L per kg."""
    immersed: dict[str, str | None] = {"colourway.how": '"immersed"', "colourway.fix": '["simmer 45 min"]'}
    layer = plan(immersed).colourways[0].layers[0]

    assert (layer.liquor_ml_per_100g, layer.cover, layer.acid_in) == (2000, Cover.LIDDED, AcidPlace.BATH)
    assert (layer.cool_where, layer.cool_min) == (CoolWhere.IN_PLACE, 300)
    lifted = plan({**immersed, "colourway.cool_where": '"out"'}).colourways[0].layers[0]
    assert (lifted.cool_where, lifted.cool_min) == (CoolWhere.OUT, 60)
    painted = plan().colourways[0].layers[0]
    assert (painted.cool_where, painted.cool_min) == (CoolWhere.OUT, 60)
    assert PUTTING_DYE_ON[layer.how] == "dye"
    given = plan({"colourway.how": '"immersed"', "colourway.liquor": '"18,5 L/kg"'}).colourways[0].layers[0]
    assert given.liquor_ml_per_100g == pytest.approx(1850)


def test_a_colourway_of_two_layers_keeps_their_order_and_soaks_once() -> None:
    """A later layer wants a soak of its own only where it says its acid is in one."""
    layer = '\n[[colourway.layer]]\nsections = [{ share = 100, dyes = { "Peat" = 3 } }]\nfix = ["steam 45 min"]\n'
    two = f'\n[[colourway]]\nname = "Moor"\n{layer}{layer}how = "speckled"\npowder = "0.15 g per 100 g"\n'

    layers = plan(more=two).colourways[1].layers

    assert [(PUTTING_DYE_ON[one.how], one.own_acid_soak) for one in layers] == [("paint", True), ("speckle", False)]
    assert layers[1].powder_g_per_100g == pytest.approx(0.15)
    assert [one.own_acid_soak for one in plan(more=two + 'acid_in = "soak"\n').colourways[1].layers] == [True, True]


def test_sections_keep_their_order_shares_and_swatches() -> None:
    """Each section has its own share, colour and dyes, in % of that section."""
    sections = '[{ share = "70 %", swatch = "#6f7c86", dyes = { "Peat" = 0.5 } }, { share = 30, dyes = {} }]'

    assert plan({"colourway.sections": sections}).colourways[0].layers[0].sections == (
        Section(70, "#6f7c86", (("Peat", 0.5),)),
        Section(30, None, ()),
    )


def test_a_single_section_is_the_whole_skein() -> None:
    """Where there is one section its share may be left out."""
    only = {"colourway.sections": '[{ dyes = { "Peat" = 1 } }]'}

    assert plan(only).colourways[0].layers[0].sections[0].share_pct == 100


def test_a_fix_is_heats_and_rests_and_the_heats_are_counted() -> None:
    """Rests lie between heats and add up before the next."""
    fix = '["microwave 2 min", "rest 3 min", "rest 120 s", "Microwave 2,5 min", "steam 0.5 h"]'

    layer = plan({"colourway.fix": fix}).colourways[0].layers[0]

    assert layer.fix[1:4] == (FixStep(HeatKind.REST, 3), FixStep(HeatKind.REST, 2), FixStep(HeatKind.MICROWAVE, 2.5))
    assert [heat.minutes for heat in layer.heats] == [2, 2.5, 30]
    assert [layer.rest_before(n) for n in (1, 2, 3)] == [0, 5, 0]


@pytest.mark.parametrize(
    ("kind", "strength", "liquid"),
    [
        ("vinegar", 5, True),
        ("citric", None, False),
        ("citric monohydrate", None, False),
        ("citric solution", 50, True),
    ],
)
def test_acid_on_hand_is_in_millilitres_of_a_liquid_and_grams_of_a_solid(
    kind: str, strength: float | None, liquid: bool
) -> None:
    """What is on hand is measured as the acid comes."""
    given: dict[str, str | None] = {"acid.kind": f'"{kind}"', "acid.on_hand": '"1.5 L"' if liquid else '"1.5 kg"'}
    if kind == "citric solution":
        given["acid.strength"] = '"50 %"'

    acid = plan(given).acid

    assert (acid.kind.value, acid.strength_pct, acid.on_hand, acid.is_liquid) == (kind, strength, 1500, liquid)


@pytest.mark.parametrize(
    ("raw", "minutes"),
    [('"09:00"', 540), ('"9:05"', 545), ("09:30:00", 570), ('"23:59"', 1439), ('"00:15"', 15)],
)
def test_a_time_of_day_may_be_quoted_or_bare(raw: str, minutes: int) -> None:
    """Times are kept as minutes from midnight of the session's date."""
    assert plan({"session.start": raw, "session.stop": '"23:00+1"'}).session.start_min == minutes


def test_a_stop_after_midnight_is_on_the_next_day() -> None:
    """ "01:30+1" is half past one of the next day."""
    assert plan({"session.stop": '"01:30+1"'}).session.stop_min == 24 * 60 + 90


@pytest.mark.parametrize("raw", ["2026-03-14", '"2026-03-14"'])
def test_a_date_may_be_quoted_or_bare(raw: str) -> None:
    """Both forms are the same day, also as an order's due date."""
    read = plan({"session.date": raw, "order.due": raw})

    assert (read.session.date, read.orders[0].due) == (date(2026, 3, 14), date(2026, 3, 14))


def test_the_words_of_a_session_are_read() -> None:
    """Breaks and tomorrow are spans, the zone an IANA name."""
    session = plan(
        {
            "session.breaks": '["13:00-13:30", "16:00 – 16:15"]',
            "session.tomorrow": '["09:00-17:00"]',
            "session.zone": '"Europe/Lisbon"',
            "session.hands": "2",
            "session.serves": '"Tonight"',
            "session.units": '"us"',
        }
    ).session

    assert (session.breaks, session.tomorrow) == (((780, 810), (960, 975)), ((540, 1020),))
    assert (session.zone, session.hands, session.aim, session.units) == (
        "Europe/Lisbon",
        2,
        DayAim.TONIGHT,
        UnitSystem.US,
    )


def test_breaks_that_overlap_are_one() -> None:
    """Also where a shorter one lies inside; two that only touch stay two."""
    changes: dict[str, str | None] = {
        "session.breaks": '["12:00-13:00", "11:00-12:30", "11:10-11:20", "15:00-15:10", "15:10-15:20"]'
    }

    assert plan(changes).session.breaks == ((660, 780), (900, 910), (910, 920))


def test_a_chore_an_order_and_a_kit_are_read_with_all_their_words() -> None:
    """Words that are not quantities: per, when, match, circuit."""
    read = plan(
        {
            "kit.circuit": '"worktop"',
            "chore.name": '"tie"',
            "chore.minutes": '"90 s"',
            "chore.per": '"skein"',
            "chore.when": '"before soak"',
            "order.match": "true",
            "order.priority": "1",
            "order.spare": "2",
            "colourway.steps": '["Dark first.", "Then pale."]',
        }
    )

    chore = read.chores[0]
    assert (chore.name, chore.minutes, chore.per, chore.when) == ("tie", 1.5, ChorePer.SKEIN, ChoreWhen.BEFORE_SOAK)
    assert (read.orders[0].match, read.orders[0].priority, read.orders[0].spare) == (True, 1, 2)
    assert read.kit[0].circuit == "worktop"
    assert read.colourways[0].steps == ("Dark first.", "Then pale.")


def test_units_of_a_kit_are_numbered_also_when_there_is_one() -> None:
    """Kit "tray" is unit "tray 1", and its kind can be asked for."""
    read = plan(more='\n[[kit]]\nname = "steamer"\nkind = "steamer"\nunits = 2\nholds = 4\n')

    assert read.unit_names == ("tray 1", "steamer 1", "steamer 2")
    assert tuple(read.units_of(KitKind.STEAMER)) == ("steamer 1", "steamer 2")
    kit = read.kit_of("steamer 2")
    assert kit is not None
    assert kit.name == "steamer"
    assert read.kit_of("steamer 3") is None


def test_line_endings_of_windows_change_nothing() -> None:
    """CRLF is read as LF."""
    assert read_plan(plan_text().replace("\n", "\r\n")) == plan()


@pytest.mark.parametrize(
    "path", sorted((Path(__file__).parents[2] / "examples").glob("*.toml")), ids=lambda p: p.name
)
def test_the_examples_are_sound_plans(path: Path) -> None:
    """What ships as an example is read without a problem and comes to batches."""
    read = read_plan(path.read_text(encoding="utf-8"))

    assert sum(b.skeins for b in read.batches) == sum(o.skeins + o.spare for o in read.orders) > 0
