"""What lots and orders cost and bring; amounts worked out by hand beside each check."""

from __future__ import annotations

from dataclasses import replace

import pytest

from dyeday.craft.water.acids import AcidKind
from dyeday.plan.model import Acid, Money
from dyeday.studio.costs import lot_costs, order_margins
from dyeday.studio.parcels import orders_out
from dyeday.terms import KitKind
from dyeday.track.day.carried import Carried
from dyeday.track.day.day_state import Day
from dyeday.track.folding.fold import take_all
from tests.track.days import THE_PLAN, Line, at, day_of, events, heated, now, plan_with, proper, soaked

MORNING = "2026-04-18-1"
DONE = [*proper("01"), at("18:00", "01", to="done")]

PRICES = plan_with(more='[acid]\nprice = 0.002\n[money]\nenergy = 0.30\nhands = 12\ncurrency = "EUR"')


def priced() -> Day:
    plan = replace(
        PRICES,
        bases=tuple(replace(b, price=6.0, sells=24.0) for b in PRICES.bases),
        dyes=tuple(replace(d, price_per_g=0.4) for d in PRICES.dyes),
        kit=tuple(replace(k, power_w=1500.0) if k.kind == KitKind.STEAMER else k for k in PRICES.kit),
    )
    lines = [*DONE, at("10:10", "01", used={"Navy": 310}, left_over={"Navy": 10})]
    return day_of(lines, plan)


def test_a_lot_costs_what_really_went_into_it() -> None:
    # by hand: 3 skeins at 6; 300 mL of 1 % = 3 g at 0.40; 50 mL vinegar at 0.002; 1.5 kW for 50 min = 1.25 kWh at
    # 0.30; hands 30 min of paint and 15 of rinse (loading and unloading were one key) = 0.75 h at 12
    (lot,) = lot_costs([(MORNING, priced())])
    assert lot.unpriced == ()
    assert [(line.what, round(line.money, 4)) for line in lot.lines] == [
        ("yarn", 18.0),
        ("Navy", 1.2),
        ("acid", 0.1),
        ("energy", 0.375),
        ("hands", 9.0),
    ]
    assert lot.total_money == pytest.approx(28.675)
    assert lot.money_per_piece * 3 == pytest.approx(lot.total_money)
    assert not lot.by_recipe


def test_painting_over_a_long_silence_costs_no_more_hands_than_planned() -> None:
    """18 min of paint are planned for 01; ten hours later the next key says that it is over."""
    day = day_of([*soaked(), at("20:00", "01", to="fix")], PRICES)
    (hands,) = (line for lot in lot_costs([(MORNING, day)]) for line in lot.lines if line.what == "hands")
    assert hands.money == pytest.approx(18 / 60 * 12)


def test_an_order_brings_its_price_less_its_share_of_the_lot() -> None:
    days = [(MORNING, priced())]
    out, lots = orders_out(days), lot_costs(days)
    ida = next(o for o in order_margins(out, lots, days) if o.item == "harbour for Ida")
    assert (ida.pieces, ida.brings) == (3, 72.0)
    assert ida.cost == pytest.approx(28.675)
    assert ida.margin == pytest.approx(72 - 28.675)


def test_what_has_no_price_is_named_and_never_taken_for_free() -> None:
    (lot,) = lot_costs([(MORNING, day_of(DONE))])
    assert lot.unpriced == ("yarn", "Navy", "vinegar", "hands")
    assert lot.by_recipe
    days = [(MORNING, day_of(DONE))]
    assert all(o.margin is None for o in order_margins(orders_out(days), [lot], days))


def test_acid_and_heat_of_two_lots_in_one_unit_are_shared() -> None:
    lines = [
        at("09:00", "01", to="soak", unit="tray 1"),
        at("09:00", "05", to="soak", unit="tray 1"),
        at("09:00", event="acid put in", unit="tray 1", acid_ml=100),
        at("10:00", "01", to="paint"),
        at("10:00", "05", to="paint"),
        *heated("01"),
        *heated("05"),
    ]
    plan = replace(
        PRICES, kit=tuple(replace(k, power_w=1200.0) if k.kind == KitKind.STEAMER else k for k in PRICES.kit)
    )
    lots = {lot.colourway: lot for lot in lot_costs([(MORNING, day_of(lines, plan))])}
    amounts = {name: {line.what: line.amount for line in cost.lines} for name, cost in lots.items()}
    assert amounts["Harbour"]["acid"] == pytest.approx(60)
    assert amounts["Rain"]["acid"] == pytest.approx(40)
    assert amounts["Harbour"]["energy"] == pytest.approx(0.6)
    assert amounts["Rain"]["energy"] == pytest.approx(0.4)


def test_a_lost_lot_still_costs() -> None:
    (lot,) = lot_costs([(MORNING, day_of([*soaked("05"), at("10:30", "05", to="scrapped")]))])
    assert lot.sellable == 0
    assert lot.lines[1].amount == pytest.approx(2.0)


def test_money_keys_are_read_and_none_is_none() -> None:
    assert PRICES.money == Money("EUR", 0.30, 12.0)
    assert THE_PLAN.money == Money()


def test_soap_is_part_of_what_a_lot_costs() -> None:
    """Three skeins at 2 mL and a cent each."""
    more = '[[extra]]\nname = "soap"\namount = "2 mL"\nper = "skein"\nprice = 0.01\n'
    (lot,) = lot_costs([(MORNING, day_of(DONE, plan_with(more=more)))])
    (soap,) = [line for line in lot.lines if line.what == "soap"]
    assert soap.amount == 6.0
    assert soap.money == pytest.approx(0.06)


def test_an_extra_that_the_last_days_plan_does_not_name_is_named_as_one_without_a_price() -> None:
    more = '[[extra]]\nname = "soap"\namount = "2 mL"\nper = "skein"\nprice = 0.01\n'
    before = day_of(DONE, plan_with(more=more))
    after = carried_over(replace(before, plan=THE_PLAN), at("33:30", "01", to="done"))
    (lot,) = lot_costs([(MORNING, before), ("2026-04-19-1", after)])
    assert "soap" in lot.unpriced


SALT = '[[extra]]\nname = "salt"\namount = "50 g"\nper = "{per}"\nprice = 0.01\n'


BEGUN = [*soaked("01"), *soaked("05"), *soaked("08"), *soaked("09")]
"""300 g and 200 g of a lot each, and two batches of 400 g that are one lot"""


def salt_of(lines: list[Line], per: str) -> dict[str, float]:
    lots = lot_costs([(MORNING, day_of(lines, plan_with(more=SALT.format(per=per))))])
    return {lot.lot[-2:]: line.amount for lot in lots for line in lot.lines if line.what == "salt"}


def test_an_extra_for_the_day_is_shared_among_its_lots_by_weight_of_fibre() -> None:
    """50 g over 1,300 g of yarn; a batch not begun bears nothing, and a count of one batch is that batch's."""
    assert salt_of(BEGUN, "day") == pytest.approx({"01": 50 * 3 / 13, "05": 50 * 2 / 13, "08": 50 * 8 / 13})
    said = [*BEGUN, at("10:05", "05", used={"extra": {"salt": 40}})]
    assert salt_of(said, "day") == {"05": 40}


def test_an_extra_for_each_lot_is_that_lots_once() -> None:
    """However many batches it has."""
    assert salt_of(BEGUN, "lot") == pytest.approx({"01": 50, "05": 50, "08": 50})


def test_an_extra_recorded_before_a_split_is_not_asked_of_its_parts_again() -> None:
    """40 g for the whole are 40 g, by skein too."""
    lines = [*BEGUN, at("10:05", "01", used={"extra": {"salt": 40}}), at("10:10", "01", into={"01a": 2, "01b": 1})]
    assert salt_of(lines, "skein")["01"] == pytest.approx(40)


PRICED = replace(
    PRICES,
    bases=tuple(replace(base, price=6.0) for base in PRICES.bases),
    kit=tuple(replace(kit, power_w=1500.0) if kit.kind == KitKind.STEAMER else kit for kit in PRICES.kit),
)
DYED = [at("09:00", "01", to="soak"), at("09:30", "01", to="paint"), at("09:35", "01", used={"Navy": 300})]


def amounts(lines: list[Line], what: str) -> dict[str, float]:
    costs = lot_costs([(MORNING, day_of(lines, PRICED))])
    return {
        lot.lot: line.money if what == "yarn" else line.amount
        for lot in costs
        for line in lot.lines
        if line.what == what
    }


def test_yarn_that_was_lost_after_it_was_dyed_is_paid_for_however_it_is_recorded() -> None:
    counted = amounts([*DYED, at("10:00", "01", skeins=2)], "yarn")
    apart = amounts([*DYED, at("10:00", "01", into={"01a": 2, "01b": 1}), at("10:01", "01b", to="scrapped")], "yarn")
    assert counted == apart == {"260418-01": 18.0}


def test_a_batch_put_away_before_it_was_begun_makes_no_lot_and_costs_nothing() -> None:
    assert amounts([at("09:00", "01", to="set-aside"), at("09:00", "02", to="scrapped")], "yarn") == {}


def test_energy_of_heats_that_overlap_a_little_adds_up_to_what_the_unit_used() -> None:
    # by hand: on from 10:00 to 11:55 at 1.5 kW = 2.875 kWh; of the 5 min of both, 300 g bear 3 and 200 g bear 2
    lines = [*DYED, at("09:30", "05", to="soak"), at("09:40", "05", to="paint")]
    energy = amounts([*lines, *heated("01", "10:00", "11:00"), *heated("05", "10:55", "11:55")], "energy")
    assert list(energy.values()) == pytest.approx([1.5 * 58 / 60, 1.5 * 57 / 60])
    split = at("12:00", "01", into={"01a": 1, "01b": 2})
    again = amounts([*lines, *heated("01", "10:00", "11:00"), *heated("05", "10:55", "11:55"), split], "energy")
    assert [*again.values()] == pytest.approx([*energy.values()])


def test_an_order_added_to_dye_lost_skeins_again_has_the_price_of_the_order() -> None:
    first = replace(PRICES.orders[0], price=30.0)
    plan = replace(PRICES, orders=(first, *PRICES.orders[1:]))
    order = {"item": first.item, "colourway": first.colourway, "base": first.base, "skeins": 1}
    days = [(MORNING, day_of([*DONE, at("18:10", event="added", order=order)], plan))]
    margins = order_margins(orders_out(days), lot_costs(days), days)
    assert next(one.brings for one in margins if one.item == first.item) == 30.0 * first.skeins


def test_dye_recorded_before_a_split_is_borne_by_the_lots_of_both_parts() -> None:
    split = [*DYED, at("10:00", "01", into={"01a": 1, "01b": 2}), at("10:30", "01b", colourway="Heather")]
    assert amounts(split, "Navy") == pytest.approx({"260418-01": 1.0, "260418-01b": 2.0})


def carried_over(before: Day, *lines: Line) -> Day:
    """Return the day after, on which batch 01 of ``before`` is all there is."""
    came = before.batches["01"]
    mark = Carried(now("33:00"), MORNING, "01", shares=came.shares, acid_count=len(came.acids))
    first = replace(day_of([], before.plan), batches={"01": replace(came, carried=mark)})
    return take_all(first, events(lines))


def test_what_stood_in_the_soak_overnight_is_paid_for_by_the_lot_it_becomes() -> None:
    # by hand: 3 skeins at 6 and 50 mL of vinegar at 0.002, both on the first day
    soaked_in = [at("21:00", "01", to="soak", unit="tray 1"), at("21:05", "01", acid_ml=50)]
    before = day_of(soaked_in, PRICED)
    after = carried_over(before, at("33:30", "01", to="paint"))
    (lot,) = lot_costs([(MORNING, before), ("2026-04-19-1", after)])
    assert lot.lot == "260419-01"
    assert {line.what: line.money for line in lot.lines if line.what in ("yarn", "acid")} == {
        "yarn": 18.0,
        "acid": 0.1,
    }


def test_two_acids_of_two_days_are_two_amounts() -> None:
    before = day_of([at("21:00", "01", to="soak"), at("21:05", "01", acid_ml=50)], PRICED)
    citric = replace(before.plan, acid=Acid(AcidKind.CITRIC, None))
    after = carried_over(replace(before, plan=citric), at("33:30", "01", to="paint"), at("33:35", "01", acid_g=4))
    (lot,) = lot_costs([(MORNING, before), ("2026-04-19-1", after)])
    assert [(line.amount, line.unit) for line in lot.lines if line.what == "acid"] == [(50, "mL"), (4, "g")]


def test_acid_of_two_days_has_the_price_of_the_latest_as_yarn_has() -> None:
    before = day_of([at("21:00", "01", to="soak"), at("21:05", "01", acid_ml=50)], PRICED)
    dearer = replace(before.plan, acid=replace(before.plan.acid, price=0.004))
    after = carried_over(replace(before, plan=dearer), at("33:30", "01", to="paint"), at("33:35", "01", acid_ml=10))
    (lot,) = lot_costs([(MORNING, before), ("2026-04-19-1", after)])
    assert [(line.amount, line.price) for line in lot.lines if line.what == "acid"] == [(60, 0.004)]


def test_acid_that_was_not_recorded_is_paid_for_by_the_recipe() -> None:
    """300 g of sock take 60 mL of vinegar, as the shelf counts them too."""
    (lot,) = lot_costs([(MORNING, day_of([line for line in DONE if "acid_ml" not in line]))])
    assert [line.amount for line in lot.lines if line.what == "acid"] == pytest.approx([60])
    assert lot.by_recipe


@pytest.mark.parametrize(
    "lost",
    [
        [at("10:30", "05", skeins=1)],
        [at("10:30", "05", into={"05a": 1, "05b": 1}), at("10:31", "05b", to="scrapped")],
    ],
)
def test_the_acid_of_a_shared_soak_is_that_of_the_yarn_that_was_in_it(lost: list[Line]) -> None:
    """A skein lost after it was painted had its part of the acid, however the loss is recorded."""
    lines = [
        at("09:00", "05", to="soak", unit="tray 1"),
        at("09:00", "06", to="soak", unit="tray 1"),
        at("09:01", event="acid put in", unit="tray 1", acid_ml=40),
        at("10:00", "05", to="paint"),
        at("10:00", "06", to="paint"),
        *lost,
    ]
    acid = [line.amount for lot in lot_costs([(MORNING, day_of(lines))]) for line in lot.lines if line.what == "acid"]
    assert acid == pytest.approx([20, 20])
