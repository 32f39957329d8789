"""Flags about dryness and about the shelf, and how a flag about the whole day is closed.

The regain of yarn in an air follows merino's curve; the limits are common practice.
"""

from __future__ import annotations

import pytest

from dyeday.craft.yarn.drying_air import dry_weight_g
from dyeday.plan.doses import as_wool_g, dose
from dyeday.plan.model import Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.serialize import to_plain
from dyeday.terms import FlagId
from dyeday.track.flags import Flag, flags_of, open_flags
from tests.track.days import PLAN, THE_PLAN, Line, at, day_of, flags, heated, instant, now, plan_with, soaked

NOT_DRY, SHORT = FlagId.NOT_DRY, FlagId.SHORT_STOCK
SOCK = {"superwash wool": 75.0, "nylon": 25.0}


def weighed(time: str, grams: float) -> Line:
    return at(time, "01", reading="weight_g", value=grams)


def hung(*weights: Line, done: str = "20:00") -> list[Line]:
    """Return 300 g of sock yarn on the pegs from noon on, weighed, and called done."""
    return [at("11:50", "01", to="rinse"), at("12:00", "01", to="dry"), *weights, at(done, "01", to="done")]


def damp(lines: list[Line], plan: Plan = THE_PLAN) -> list[Flag]:
    return flags(lines, NOT_DRY, "30:00", plan=plan)


@pytest.mark.parametrize(("grams", "raised"), [(300, False), (318, False), (318.01, True), (330, True)])
def test_yarn_more_than_six_percent_heavier_than_its_label_is_not_dry(grams: float, raised: bool) -> None:
    """300 g by the label, nothing known of the air: 318 g are the most."""
    assert bool(damp(hung(weighed("19:50", grams)))) is raised


@pytest.mark.parametrize(("grams", "raised"), [(309, False), (309.01, True)])
def test_how_dry_is_set_in_the_rules(grams: float, raised: bool) -> None:
    """[rules] dry = 3 allows 309 g where 300 g were weighed before."""
    lines = [weighed("08:50", 300), *hung(weighed("19:50", grams))]
    assert bool(damp(lines, plan_with("dry = 3"))) is raised


@pytest.mark.parametrize(("off", "raised"), [(-0.01, False), (0.01, True)])
@pytest.mark.parametrize("humidity", [35, 80])
def test_the_air_of_the_day_moves_what_dry_yarn_weighs(humidity: int, off: float, raised: bool) -> None:
    """Damp air leaves dry yarn heavier, dry air lighter, by the fibre's regain."""
    plan = plan_with(more=f"[air]\ntemperature = 18\nhumidity = {humidity}\n")
    most = dry_weight_g(300, humidity, SOCK) * 1.06
    assert (most > 318) is (humidity == 80)
    assert bool(damp(hung(weighed("19:50", most + off)), plan)) is raised


def test_damp_yarn_says_its_weight_and_what_dry_yarn_weighs_at_most() -> None:
    """325 g of at most 318 g, since it was called done; hang it up again."""
    (flag,) = damp(hung(weighed("19:50", 325)))
    assert flag.why == "weighs 325 g; dry, in air of 65 % humidity, 318 g at most"
    assert flag.since == instant("20:00")
    assert "hang it up again and weigh it in two hours" in flag.remedy


def test_weights_a_hair_apart_are_not_said_as_one_number() -> None:
    """318.4 g of at most 318 g."""
    (flag,) = damp(hung(weighed("19:50", 318.4)))
    assert flag.why.startswith("weighs 318.4 g; dry, in air of 65 % humidity, 318 g")


def test_yarn_never_weighed_raises_nothing() -> None:
    """The key into done asks instead."""
    assert not damp(hung())


def test_yarn_still_on_the_pegs_is_not_asked() -> None:
    """Heavy at noon is wet; it is a flag only when it is called done."""
    assert not damp(hung(weighed("12:10", 450))[:-1])


def test_the_last_weighing_is_the_one_that_counts() -> None:
    """Wet at first and dry at last is dry, an hour before or a day."""
    assert not damp(hung(weighed("18:30", 330), weighed("19:50", 301)))


def test_a_weight_from_before_it_was_hung_up_says_nothing_of_dryness() -> None:
    """What it weighed in the rinse is not what it weighed at the end."""
    assert not damp([weighed("11:55", 600), *hung()])


def test_a_weight_typed_right_after_done_still_counts() -> None:
    """Within the minute of the key; later it is another matter."""
    assert damp([*hung(), weighed("20:00:59", 320)])
    assert not damp([*hung(), weighed("20:01:01", 320)])


def test_yarn_that_went_from_its_rinse_to_done_is_asked_as_well() -> None:
    """The pegs are not on record; the weight at the end is a weight at the end."""
    lines = [at("11:50", "01", to="rinse"), weighed("19:50", 320), at("20:00", "01", to="done")]
    assert damp(lines)


@pytest.mark.parametrize(
    ("first", "second", "raised"),
    [(303.0, 300.0, False), (303.2, 300.0, True), (296.0, 300.0, True), (301.99, 299.0, False)],
)
def test_two_weighings_two_hours_apart_may_differ_by_a_percent(first: float, second: float, raised: bool) -> None:
    """3 g of 300 are one percent; both are within what dry yarn may weigh or were long ago."""
    assert bool(damp(hung(weighed("17:50", first), weighed("19:50", second)))) is raised


def test_weighings_nearer_than_two_hours_tell_nothing() -> None:
    """119 min apart and still losing: too near to know. At 120 min it is known."""
    assert not damp(hung(weighed("17:51", 310), weighed("19:50", 300)))
    assert damp(hung(weighed("17:50", 310), weighed("19:50", 300)))


def test_a_loss_says_both_weights() -> None:
    """310 g, then 300 g."""
    (flag,) = damp(hung(weighed("17:50", 310), weighed("19:50", 300)))
    assert flag.why == "310 g, then 300 g: more than 1 % apart"


def test_hung_up_again_and_weighed_dry_leaves_the_first_flag_to_be_cleared() -> None:
    """What was damp when it was called done stays on record; the second time raises none of its own."""
    lines = [
        *hung(weighed("19:50", 320)),
        at("20:10", "01", to="dry"),
        weighed("24:00", 300),
        at("24:10", "01", to="done"),
    ]
    (flag,) = damp(lines)
    assert flag.since == instant("20:00")


def test_yarn_weighed_before_its_soak_is_measured_against_that() -> None:
    """Skeins of 290 g in all: 293 g is more than one percent above."""
    for before in ([weighed("08:50", 290)], [at("08:40", "01", to="set-aside"), weighed("08:50", 290)]):
        assert damp([*before, *hung(weighed("19:50", 293))])
        assert not damp([*before, *hung(weighed("19:50", 292.9))])


BEGUN = [at("09:00", "01", to="soak", unit="tray 1")]


def stocked(table: str, name: str, line: str, more: str = "") -> Plan:
    """Return the tests' plan with one line added to a dye or a base."""
    head = f'[[{table}]]\nname = "{name}"'
    assert head in PLAN
    return read_plan(f"{PLAN.replace(head, f'{head}{chr(10)}{line}')}\n{more}\n")


def short(plan: Plan, lines: list[Line] | None = None, time: str = "20:00") -> list[str]:
    """Return what the day's own flag says is short, one sentence each."""
    found = flags_of(day_of(BEGUN if lines is None else lines, plan), now(time))
    return [part for flag in found if flag.rule == SHORT for part in flag.why.split("; ")]


NAVY_G = 3 + 7.5 + 4 + 3 + (2 + 0.4) + (2 + 2) + 2 + 8
"""By the orders: Harbour, Heather at 2.5 %, Peat, Sparks, Rain's two layers, Again's two, Inked, the jumper."""


@pytest.mark.parametrize(("grams", "raised"), [(NAVY_G, False), (NAVY_G + 0.1, False), (NAVY_G - 0.1, True)])
def test_dye_is_short_when_the_plan_needs_more_than_is_on_hand(grams: float, raised: bool) -> None:
    """Exactly enough is enough."""
    assert bool(short(stocked("dye", "Navy", f"on_hand = {grams:.4f}"))) is raised


def test_what_is_on_hand_is_unknown_unless_it_is_said() -> None:
    """No on_hand anywhere: nothing is short, however large the order."""
    assert not short(THE_PLAN)


def test_nothing_on_hand_is_not_unknown() -> None:
    """Zero is a number."""
    assert short(stocked("dye", "Navy", "on_hand = 0")) == [f"Navy: {NAVY_G:.1f} g needed, 0.0 g on hand"]


def test_the_flag_is_of_the_day_and_says_numbers_and_a_way_out() -> None:
    """No batch, since the day began, with need and stock."""
    day = day_of(BEGUN, stocked("dye", "Navy", "on_hand = 10"))
    (flag,) = [flag for flag in flags_of(day, now("20:00")) if flag.rule == SHORT]
    assert flag.batch is None
    assert flag.why == f"Navy: {NAVY_G:.1f} g needed, 10.0 g on hand"
    assert flag.since == instant("09:00")
    assert "buy more" in flag.remedy


def test_a_day_that_has_not_begun_has_no_flag() -> None:
    """The plan's check says it before; the day's record begins with its first event."""
    assert not short(stocked("dye", "Navy", "on_hand = 0"), [])


def test_old_solution_in_the_bottle_is_on_hand_as_well() -> None:
    """100 mL of 1 % are a gram."""
    bottle = 'bottle = { left = "100 mL" }'
    assert not short(stocked("dye", "Navy", f"on_hand = {NAVY_G - 1:.4f}\n{bottle}"))
    (said,) = short(stocked("dye", "Navy", f"on_hand = {NAVY_G - 1.1:.4f}\n{bottle}"))
    assert said.endswith("g on hand and 1.0 g in the bottle")


def test_a_bottle_of_another_strength_counts_by_its_own() -> None:
    """100 mL of 4 % are four grams."""
    bottle = 'bottle = { left = "100 mL", strength = "4 %" }'
    assert not short(stocked("dye", "Navy", f"on_hand = {NAVY_G - 4:.4f}\n{bottle}"))
    assert short(stocked("dye", "Navy", f"on_hand = {NAVY_G - 4.1:.4f}\n{bottle}"))


def test_a_bottle_does_not_help_a_speckle_of_powder() -> None:
    """Powder cannot be shaken out of a solution."""
    extra = """
[[colourway]]
name = "Dots"
how = "speckled"
powder = 1
fix = ["steam 30 min"]
sections = [{ share = 100, dyes = { Slow = 1 } }]

[[order]]
item = "dots"
colourway = "Dots"
base = "Sock"
skeins = 2
"""
    # Deep takes 2 g in solution, Dots 2 g as powder.
    line = 'bottle = {{ left = "400 mL" }}\non_hand = {}'
    assert not short(stocked("dye", "Slow", line.format(2), extra))
    assert short(stocked("dye", "Slow", line.format(1.9), extra)) == [
        "Slow: 4.0 g needed, 1.9 g on hand and 2.0 g in the bottle"
    ]


def test_a_batch_scrapped_before_it_was_wet_takes_no_extra() -> None:
    """31 skeins at 2 mL of soap; without three of them 56 mL are enough."""
    plan = plan_with(more='[[extra]]\nname = "soap"\namount = "2 mL"\nper = "skein"\non_hand = "56 mL"\n')
    begun = soaked("05")
    assert short(plan, begun) == ["soap: 62 mL needed, 56 mL on hand"]
    assert not short(plan, [*begun, at("10:10", "01", to="scrapped")])


def test_a_batch_scrapped_once_it_was_wet_used_its_extra() -> None:
    """As the shelf counts it."""
    plan = plan_with(more='[[extra]]\nname = "soap"\namount = "2 mL"\nper = "skein"\non_hand = "56 mL"\n')
    assert short(plan, [*soaked("05"), at("10:10", "05", to="scrapped")]) == ["soap: 62 mL needed, 56 mL on hand"]


@pytest.mark.parametrize(("before", "raised"), [([], False), (soaked("05", unit="tray 2"), True)], ids=["dry", "wet"])
def test_yarn_that_was_scrapped_came_off_the_shelf_if_it_was_wet(before: list[Line], raised: bool) -> None:
    said = short(stocked("base", "Sock", "on_hand = 13"), [*BEGUN, *before, at("10:10", "05", to="scrapped")])
    assert said == (["Sock: 14 skeins needed, 13 on hand"] if raised else [])


def deep(grams: float) -> Plan:
    """Return the plan with so much of the dye that only batch 10 (200 g at 1 %: 2 g) takes."""
    return stocked("dye", "Slow", f"on_hand = {grams}")


def used(ml: float, batch: str = "10", **more: object) -> list[Line]:
    return [*soaked(batch), at("10:05", batch, used={"Slow": ml}, **more)]


@pytest.mark.parametrize(("ml", "raised"), [(200, False), (250, False), (251, True)])
def test_where_dye_was_recorded_the_record_counts_and_not_the_recipe(ml: float, raised: bool) -> None:
    """2.5 g on hand are 250 mL of 1 %."""
    assert bool(short(deep(2.5), used(ml))) is raised


def test_less_used_than_planned_is_less_needed() -> None:
    """1.5 g recorded where the recipe says 2 g: 1.6 g were enough."""
    assert not short(deep(1.6), used(150))
    assert short(deep(1.6))


def test_solution_left_over_was_not_used_up() -> None:
    """250 mL poured, 60 of them back in the bottle: 1.9 g."""
    assert not short(deep(1.9), used(250, left_over={"Slow": 60}))


def test_a_record_of_the_first_layer_leaves_the_second_to_the_recipe() -> None:
    """Again has two layers of 2 g: the first recorded as 1 g, the second still wanted in full."""
    plan = stocked("dye", "Navy", f"on_hand = {NAVY_G - 1:.4f}")
    lines = [*soaked("06"), at("10:05", "06", used={"Navy": 100})]
    assert not short(plan, lines)
    assert short(plan, [*lines[:-1], at("10:05", "06", used={"Navy": 101})])


def test_a_layer_painted_after_the_record_is_still_needed_by_its_recipe() -> None:
    """The first of Again's layers recorded as 1 g; the second, 2 g, is needed before it is on and after."""
    lines = [*soaked("06"), at("10:05", "06", used={"Navy": 100}), *heated("06"), at("12:30", "06", to="paint")]
    assert not short(stocked("dye", "Navy", f"on_hand = {NAVY_G - 1:.4f}"), lines)
    assert short(stocked("dye", "Navy", f"on_hand = {NAVY_G - 1.1:.4f}"), lines)


def test_a_batch_scrapped_before_any_dye_needs_none() -> None:
    """Scrapped in the tray takes no dye; scrapped after painting it has had it."""
    assert not short(deep(0), [at("09:00", "10", to="soak"), at("09:30", "10", to="scrapped")])
    assert short(deep(0), [*soaked("10"), at("10:30", "10", to="scrapped")])


def test_parts_of_a_split_batch_need_and_used_it_once() -> None:
    """2 g recorded, then divided: still 2 g. Divided before: 2 g by the recipe."""
    halves = {"10a": 1, "10b": 1}
    assert not short(deep(2.0), [*used(200), at("10:30", "10", into=halves)])
    assert not short(deep(2.0), [at("09:00", "10", to="soak"), at("09:30", "10", into=halves)])
    assert short(deep(1.9), [at("09:00", "10", to="soak"), at("09:30", "10", into=halves)])


@pytest.mark.parametrize(("pieces", "raised"), [(14, False), (13, True)])
def test_yarn_is_short_by_the_piece(pieces: int, raised: bool) -> None:
    """The orders take 3 + 3 + 2 + 2 + 2 + 2 skeins of Sock."""
    said = short(stocked("base", "Sock", f"on_hand = {pieces}"))
    assert said == (["Sock: 14 skeins needed, 13 on hand"] if raised else [])


def test_skeins_counted_again_change_what_is_short() -> None:
    """One skein more than planned in the tray is one more off the shelf."""
    plan = stocked("base", "Sock", "on_hand = 14")
    assert short(plan, [*BEGUN, at("09:05", "01", skeins=4)]) == ["Sock: 15 skeins needed, 14 on hand"]


@pytest.mark.parametrize(
    "lost",
    [
        [at("10:10", "01", skeins=2)],
        [at("10:10", "01", into={"01a": 2, "01b": 1}), at("10:11", "01b", to="scrapped")],
    ],
)
def test_a_skein_lost_after_it_was_dyed_still_came_off_the_shelf(lost: list[Line]) -> None:
    """Its order again takes a fifteenth, however the loss is recorded."""
    again = at("11:00", order={"item": "redo", "colourway": "Harbour", "base": "Sock", "skeins": 1})
    plan = stocked("base", "Sock", "on_hand = 14")
    assert short(plan, [*soaked(), *lost, again]) == ["Sock: 15 skeins needed, 14 on hand"]


WATER = "[water]\nalkalinity = 200\nhardness = 0\n"


def one_order(colourway: str, skeins: int, on_hand: float, water: str = WATER, acid: str = "") -> Plan:
    """Return a plan of one order on sock yarn with so much acid on hand."""
    kit_to_colourways = PLAN[: PLAN.index("[[order]]")]
    order = f'[[order]]\nitem = "one"\ncolourway = "{colourway}"\nbase = "Sock"\nskeins = {skeins}\n'
    return read_plan(f"{kit_to_colourways}\n{order}\n{water}\n[acid]\non_hand = {on_hand:.6f}\n{acid}\n")


def acid_for(litres: float, fibre_g: float | None = None) -> float:
    """Return the full dose of so much water, with sock yarn in it, by default at 10 L/kg."""
    plan = one_order("Harbour", 2, 1)
    yarn_g = litres * 100 if fibre_g is None else fibre_g
    found = dose(plan, litres, as_wool_g(plan, yarn_g, plan.bases[0]))
    assert found is not None
    return found.amount


def test_acid_is_short_when_the_soaks_to_come_need_more() -> None:
    """200 g soak in 2 L; enough to the hundredth is enough."""
    note = [at("09:00", "01", tag="red")]
    assert not short(one_order("Harbour", 2, acid_for(2) + 0.01), note)
    (said,) = short(one_order("Harbour", 2, acid_for(2) - 0.01), note)
    assert said.startswith("vinegar 5 %: ")


def test_acid_on_hand_to_the_last_drop_is_enough() -> None:
    """What went in is 50 mL, and so much was there."""
    put_in = [at("09:00", "01", to="soak", unit="tray 1"), at("09:01", "01", event="acid put in", acid_ml=50)]

    assert not short(one_order("Harbour", 2, 50), put_in)
    assert short(one_order("Harbour", 2, 49.99), put_in)


def test_each_layer_takes_its_own_dye() -> None:
    """200 g at 1 % and then at 0.2 g of powder to 100 g (0.2 %): 2 g of the first layer's dye, and the second's."""
    second = "[{ share = 100, dyes = { Navy = 0.2 } }]"
    assert second in PLAN
    text = PLAN[: PLAN.index("[[order]]")].replace(second, second.replace("Navy", "Slow"))
    text = text.replace('name = "Slow"\n', 'name = "Slow"\non_hand = 0\n', 1)
    order = '[[order]]\nitem = "one"\ncolourway = "Rain"\nbase = "Sock"\nskeins = 2\n'
    plan = read_plan(f"{text}\n{order}")
    first_layer_dyed = [at("10:00", "01", to="paint"), at("10:01", "01", used={"Navy": 200})]

    for lines in ([at("09:00", "01", tag="red")], first_layer_dyed):
        (said,) = short(plan, lines)
        assert said.startswith("Slow: 0.4 g needed, 0.0 g")


def test_acid_of_a_second_soak_is_needed_too() -> None:
    """A second layer with an acid soak of its own is another 2 L; once it has soaked, what went in counts."""
    note = [at("09:00", "01", tag="red")]
    assert not short(one_order("Again", 2, acid_for(4) + 0.01), note)
    assert short(one_order("Again", 2, acid_for(4) - 0.01), note)
    assert not short(one_order("Rain", 2, acid_for(2) + 0.01), note)
    first = [at("09:00", "01", to="soak"), at("09:00", "01", acid_ml=10)]
    assert not short(one_order("Again", 2, acid_for(2) + 10.01), first)
    assert short(one_order("Again", 2, acid_for(2) + 9.99), first)


def test_acid_of_the_soak_that_an_overdye_wants_is_needed() -> None:
    """50 mL went into the first soak; the batch is dry, and Heather wants a soak of its own."""
    lines = [*soaked("01"), *heated("01"), at("13:00", "01", event="overdyed", colourway="Heather")]
    assert not short(one_order("Harbour", 2, 50 + acid_for(2) + 0.01), lines)
    assert short(one_order("Harbour", 2, 50 + acid_for(2) - 0.01), lines)


def test_acid_of_the_bath_is_needed_until_dye_goes_on() -> None:
    """200 g immersed at 20 L/kg are 4 L; afterwards what was recorded counts."""
    before = [at("09:00", "01", to="soak")]
    assert not short(one_order("Peat", 2, acid_for(4, 200) + 0.01), before)
    assert short(one_order("Peat", 2, acid_for(4, 200) - 0.01), before)
    dyed = [*before, at("10:00", "01", to="paint", unit="pot 1"), at("10:00", "01", acid_ml=30)]
    assert not short(one_order("Peat", 2, 30), dyed)
    assert short(one_order("Peat", 2, 29.9), dyed)


def test_acid_put_into_a_unit_is_used_up_and_counted_once_for_parts() -> None:
    """30 mL into the tray and 10 with a batch that was then divided: 40 mL."""
    lines = [
        at("09:00", "01", to="soak", unit="tray 1"),
        at("09:00", unit="tray 1", event="acid put in", acid_ml=30),
        at("09:05", "01", acid_ml=10),
        at("09:30", "01", into={"01a": 1, "01b": 1}),
    ]
    assert not short(one_order("Harbour", 2, 40), lines)
    assert short(one_order("Harbour", 2, 39.9), lines)


def test_a_batch_set_aside_from_waiting_still_needs_its_acid() -> None:
    aside = [at("09:00", "01", to="set-aside")]
    assert short(one_order("Harbour", 2, acid_for(2) - 0.01), aside)
    assert not short(one_order("Harbour", 2, 0), [at("08:50", "01", to="soak", unit="tray 1"), *aside])


def test_a_batch_scrapped_in_waiting_needs_no_acid() -> None:
    """Nothing of the dose is wanted any more."""
    assert not short(one_order("Inked", 2, 0), [at("09:00", "01", to="scrapped")])


def test_of_unknown_water_the_usual_dose_is_foretold() -> None:
    """20 mL of 5 % vinegar per 100 g (common practice) for 200 g; a litre put in is a litre."""
    assert not short(one_order("Harbour", 2, 40, water=""), [at("09:00", "01", tag="red")])
    assert short(one_order("Harbour", 2, 39, water=""), [at("09:00", "01", tag="red")])
    assert short(one_order("Harbour", 2, 900, water=""), [*BEGUN, at("09:00", "01", acid_ml=1000)])


def test_crystal_acid_is_said_in_grams_that_tell() -> None:
    """Two litres of this water and 200 g want 1.75 g of citric, not "2 of 1 g"."""
    plan = one_order("Harbour", 2, 0.9, acid='kind = "citric"')
    need = dose(plan, 2, as_wool_g(plan, 200, plan.bases[0]))
    assert need is not None
    assert short(plan, [at("09:00", "01", tag="red")]) == [f"citric: {need.amount:.3g} g needed, 0.9 g on hand"]


def test_all_that_is_short_is_one_flag() -> None:
    """Dye and yarn in one flag about the day."""
    plan = read_plan(
        PLAN.replace('name = "Navy"', 'name = "Navy"\non_hand = 1').replace(
            'name = "Wool"\nfibre', 'name = "Wool"\non_hand = 1\nfibre'
        )
    )
    found = [flag for flag in flags_of(day_of(BEGUN, plan), now("20:00")) if flag.rule == SHORT]
    assert len(found) == 1
    assert found[0].why == f"Navy: {NAVY_G:.1f} g needed, 1.0 g on hand; Wool: 17 skeins needed, 1 on hand"


def test_a_rush_order_can_make_the_shelf_too_small() -> None:
    """What came during the day needs dye as well."""
    plan = deep(2.0)
    rush = at("12:00", order={"item": "rush", "colourway": "Deep", "base": "Sock", "skeins": 1})
    assert not short(plan)
    assert short(plan, [*BEGUN, rush]) == ["Slow: 3.0 g needed, 2.0 g on hand"]


def test_a_cleared_shortage_says_nothing_of_the_order_that_comes_after_it() -> None:
    plan = deep(1.0)
    clear = at("11:00", event="resolved", rule=SHORT.value, why="a jar came by post")
    rush = at("12:00", order={"item": "rush", "colourway": "Deep", "base": "Sock", "skeins": 1})
    day = day_of([*BEGUN, clear, rush], plan)
    first, second = (flag for flag in flags_of(day, now("13:00")) if flag.rule == SHORT)
    assert first.cleared is not None
    assert (second.since, second.why) == (instant("12:00"), "Slow: 3.0 g needed, 1.0 g on hand")
    harbour = at("12:00", order={"item": "rush", "colourway": "Harbour", "base": "Sock", "skeins": 1})
    assert not [
        flag for flag in open_flags(day_of([*BEGUN, clear, harbour], plan), now("13:00")) if flag.rule == SHORT
    ]


def shown(lines: list[Line], plan: Plan) -> list[tuple[bool, str, str]]:
    """Return (whether it is cleared, since, its text) of each flag about short stock at 20:00."""
    found = [flag for flag in flags_of(day_of(lines, plan), now("20:00")) if flag.rule == SHORT]
    return [(flag.cleared is not None, f"{flag.since:%H:%M}", flag.why) for flag in found]


# All of the Navy is there, but 50 mL of its 1 % solution too much are used at 13:00.
USES_MORE = [at("10:00", "01", to="paint"), at("13:00", "01", used={"Navy": 350})]
LITTLE_SOAP = '[[extra]]\nname = "soap"\namount = "2 mL"\nper = "skein"\non_hand = 1'
ENOUGH = stocked("dye", "Navy", f"on_hand = {NAVY_G:.4f}", LITTLE_SOAP)
SOAP, NAVY = "soap: 62 mL needed, 1 mL on hand", f"Navy: {NAVY_G + 0.5:.1f} g needed, {NAVY_G:.1f} g on hand"
CLEARED = at("09:40", event="resolved", rule=SHORT.value, why="a neighbour has some")


def test_what_becomes_short_after_the_flag_was_cleared_is_a_new_flag() -> None:
    """Soap was short from the start; the Navy became so with what was used at 13:00."""
    assert shown([*BEGUN, CLEARED, *USES_MORE], ENOUGH) == [
        (True, "09:00", SOAP), (False, "13:00", f"{NAVY}; {SOAP}")
    ]  # fmt: skip


def test_what_becomes_short_during_the_day_is_short_since_then() -> None:
    plan = stocked("dye", "Navy", f"on_hand = {NAVY_G:.4f}")
    noted = [at("14:00", "02", tag="red")] * 9
    assert shown([*BEGUN, *USES_MORE, *noted], plan) == [(False, "13:00", NAVY)]
    assert shown([*BEGUN, *noted, *USES_MORE], plan) == [(False, "14:00", NAVY)]


def test_what_was_delivered_and_is_short_again_is_a_new_flag() -> None:
    lacks = stocked("dye", "Navy", f"on_hand = {NAVY_G - 1:.4f}")
    lines = [*BEGUN, CLEARED, came("dye", "Navy", 1.2, "11:00")]
    assert shown(lines, lacks) == []
    assert [shown_flag[:2] for shown_flag in shown([*lines, *USES_MORE], lacks)] == [(False, "13:00")]


def test_use_recorded_late_that_makes_dye_short_is_not_hidden_by_an_earlier_clearing() -> None:
    """Used at 09:30, recorded after the flag about soap was cleared at 09:40."""
    late = [at("09:10", "01", to="paint"), at("09:30", "01", used={"Navy": 350})]
    assert [cleared for cleared, _, _ in shown([*BEGUN, CLEARED, *late], ENOUGH)] == [True, False]


def came(thing: str, name: str, amount: float, time: str = "12:00") -> Line:
    return at(time, thing=thing, name=name, amount=amount)


@pytest.mark.parametrize(
    ("plan", "thing", "name", "lacks"),
    [
        (stocked("dye", "Navy", f"on_hand = {NAVY_G - 5:.4f}"), "dye", "Navy", 5.0),
        (stocked("base", "Sock", "on_hand = 12"), "yarn", "Sock", 2.0),
        (one_order("Harbour", 2, acid_for(2) - 10), "acid", "vinegar 5 %", 10.0),
    ],
    ids=["dye", "yarn", "acid"],
)
def test_what_is_delivered_during_the_day_is_on_hand(plan: Plan, thing: str, name: str, lacks: float) -> None:
    """As much as lacked is enough, a little less is not; of another name it is another thing."""
    noted = [at("09:00", "01", tag="red")]
    assert short(plan, noted)
    assert not short(plan, [*noted, came(thing, name, lacks + 0.01)])
    assert short(plan, [*noted, came(thing, name, lacks - 0.01)])
    assert short(plan, [*noted, came(thing, "another", lacks + 1)])


def test_a_delivery_makes_no_known_stock_of_an_unknown_one() -> None:
    """Ten grams came; how much there was before is not known."""
    assert not short(THE_PLAN, [*BEGUN, came("dye", "Navy", 10)])


def test_a_delivery_before_the_first_move_does_not_begin_the_day() -> None:
    """The postman came at eight; the flag is since the dyeing began."""
    day = day_of([came("dye", "Navy", 1, "08:00"), *BEGUN], stocked("dye", "Navy", "on_hand = 10"))
    (flag,) = [flag for flag in flags_of(day, now("20:00")) if flag.rule == SHORT]
    assert (flag.since, flag.why) == (instant("09:00"), f"Navy: {NAVY_G:.1f} g needed, 11.0 g on hand")


def test_a_changed_plan_says_for_itself_what_is_on_hand() -> None:
    """Deliveries before it are in its own number; one after it comes on top."""
    changed = at("13:00", plan=to_plain(stocked("dye", "Navy", "on_hand = 20")))
    lines = [*BEGUN, came("dye", "Navy", 100), changed]
    assert short(THE_PLAN, lines) == [f"Navy: {NAVY_G:.1f} g needed, 20.0 g on hand"]
    assert not short(THE_PLAN, [*lines, came("dye", "Navy", 100, "14:00")])


def test_a_flag_about_the_whole_day_is_cleared_without_a_batch() -> None:
    """Open before, closed with its reason after, never gone."""
    plan = stocked("dye", "Navy", "on_hand = 1")
    resolve = at("09:30", event="resolved", rule=SHORT.value, why="a jar came by post")
    day = day_of([*BEGUN, resolve], plan)
    (flag,) = [flag for flag in flags_of(day, now("10:00")) if flag.rule == SHORT]
    assert flag.cleared is not None
    assert flag.cleared.why == "a jar came by post"
    assert flag.to_json()["batch"] is None
    assert not [flag for flag in open_flags(day, now("10:00")) if flag.rule == SHORT]
    assert [flag for flag in open_flags(day_of(BEGUN, plan), now("10:00")) if flag.rule == SHORT]


def test_clearing_a_batchs_flag_of_that_name_does_not_close_the_days() -> None:
    """A reason given for batch 01 is not one for the whole day."""
    plan = stocked("dye", "Navy", "on_hand = 1")
    wrong = at("09:30", "01", event="resolved", rule=SHORT.value, why="wrong place")
    day = day_of([*BEGUN, wrong], plan)
    assert [flag for flag in open_flags(day, now("10:00")) if flag.rule == SHORT]


def test_the_days_flag_is_listed_before_the_batches() -> None:
    """The day's own first, then batch by batch."""
    plan = stocked("dye", "Navy", "on_hand = 1")
    found = flags_of(day_of([*BEGUN, at("09:01", "01", to="paint")], plan), now("10:00"))
    assert [flag.batch for flag in found][:2] == [None, "01"]
    assert found[0].rule == SHORT
