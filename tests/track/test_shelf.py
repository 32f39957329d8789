"""The shelf folded from movements, and what a day takes from it; amounts worked out by hand beside each check."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dyeday.paper.sheets.weigh_out_sheet import to_weigh
from dyeday.plan.model import Plan
from dyeday.plan.serialize import to_plain
from dyeday.studio.carry_over import carried_event
from dyeday.studio.lots.lot_making import lots_of_day, with_shelf
from dyeday.studio.shelf.day_movements import differences, moves_of_day, moves_to_add, on_shelf
from dyeday.studio.shelf.movements import Move, Shelf, bottle_name, outlook, shelf_of, split_off, valid
from dyeday.terms import MoveKind, StockKind
from dyeday.track.day.consumption import dyes_consumed, dyes_to_come, extra_by_plan
from dyeday.track.day.day_state import Day
from dyeday.track.flags.room_and_stock import shortages
from tests.fakes import Ids
from tests.track.days import Line, at, day_of, heated, instant, now, plan_with, proper, soaked

NOW = datetime(2026, 4, 18, 20, 0, tzinfo=UTC)
IDS = Ids()


def move(kind: str, thing: str, name: str, amount: float, days_ago: float = 1.0, **more: Any) -> Move:
    made = Move(
        IDS(),
        NOW - timedelta(days=days_ago),
        MoveKind(kind),
        StockKind(thing),
        name,
        amount,
        {"dye": "g", "yarn": "pieces"}.get(thing, "mL"),
    )
    return replace(made, **more)


def solution(dye: str, ml: float, pct: float, day: date, **more: Any) -> Move:
    name = bottle_name(dye, pct, day)
    return move("made", "bottle", dye, ml, bottle=name, strength_pct=pct, made=day, powder_g=ml * pct / 100, **more)


MONDAY = date(2026, 4, 13)


def test_what_came_is_there_less_what_was_used_and_a_count_settles_it() -> None:
    moves = [move("received", "dye", "Navy", 100), move("used", "dye", "Navy", 30)]
    assert shelf_of(moves).amount(StockKind.DYE, "Navy") == 70
    assert shelf_of([*moves, move("counted", "dye", "Navy", 65, why="weighed")]).amount(StockKind.DYE, "Navy") == 65


def test_powder_is_taken_off_once_when_its_solution_is_made() -> None:
    moves = [move("received", "dye", "Navy", 100), solution("Navy", 500, 2, MONDAY)]
    made = shelf_of(moves)
    assert made.amount(StockKind.DYE, "Navy") == 90
    assert [(b.left_ml, b.made, b.strength_pct) for b in made.bottles_of("Navy")] == [(500, MONDAY, 2)]
    drawn = shelf_of([*moves, move("used", "bottle", "Navy", 200, bottle=bottle_name("Navy", 2, MONDAY))])
    assert (drawn.amount(StockKind.DYE, "Navy"), drawn.bottles_of("Navy")[0].left_ml) == (90, 300)


def test_a_bottle_made_of_an_older_jar_leaves_the_lot_of_the_jar_that_came_last() -> None:
    jars = [move("received", "dye", "Navy", 100, 3, lot="A"), move("received", "dye", "Navy", 100, 2, lot="B")]
    navy = shelf_of([*jars, solution("Navy", 500, 2, MONDAY, lot="A")]).item(StockKind.DYE, "Navy")
    assert navy is not None
    assert (navy.lot, navy.amount) == ("B", 190)


def test_a_bottle_topped_up_without_a_lot_keeps_the_lot_it_had() -> None:
    bottles = shelf_of([solution("Navy", 100, 2, MONDAY, lot="A"), solution("Navy", 50, 2, MONDAY)]).bottles_of(
        "Navy"
    )
    assert [(bottle.left_ml, bottle.powder_lot) for bottle in bottles] == [(150, "A")]


def test_what_was_never_counted_is_not_known_and_use_alone_makes_no_stock() -> None:
    assert shelf_of([move("used", "yarn", "Sock", 3)]).amount(StockKind.YARN, "Sock") is None


def test_an_undone_session_leaves_no_trace_but_its_lines() -> None:
    moves = [
        move("received", "yarn", "Sock", 20),
        move("used", "yarn", "Sock", 3, session="2026-04-18-1"),
        Move(IDS(), NOW, MoveKind.UNDONE, session="2026-04-18-1"),
        move("used", "yarn", "Sock", 2, session="2026-04-18-1"),
    ]
    assert shelf_of(moves).amount(StockKind.YARN, "Sock") == 18
    assert len(valid(moves)) == 2


def test_reordering_is_due_before_the_shelf_is_empty() -> None:
    # 8 g a week over eight weeks; 20 g last 17.5 days: enough for a lead of 14, not for one of 18
    moves = [move("received", "dye", "Navy", 84, 60), *(move("used", "dye", "Navy", 8, 7 * n + 1) for n in range(8))]
    (seen,) = outlook(shelf_of(moves), NOW)
    assert [seen.per_week, seen.days_left] == pytest.approx([8, 17.5])
    assert not seen.reorder
    (sooner,) = outlook(shelf_of(moves), NOW, lead_days=18)
    assert sooner.reorder


def test_the_use_of_a_young_shelf_is_over_the_weeks_there_are() -> None:
    moves = [move("received", "dye", "Navy", 50, 14), move("used", "dye", "Navy", 10, 3)]
    assert outlook(shelf_of(moves), NOW)[0].per_week == pytest.approx(5)


def test_dye_in_bottles_lasts_too_and_is_used_when_it_leaves_the_bottle() -> None:
    moves = [
        move("received", "dye", "Navy", 30, 14),
        solution("Navy", 500, 2, MONDAY, at=NOW - timedelta(days=5)),
        move("used", "bottle", "Navy", 300, 3, bottle=bottle_name("Navy", 2, MONDAY)),
    ]
    (seen,) = outlook(shelf_of(moves), NOW)
    # 20 g powder and 4 g in the bottle; 6 g in two weeks
    assert [seen.in_bottles, seen.per_week] == pytest.approx([4, 3])
    assert seen.days_left == pytest.approx(56)


def test_an_empty_shelf_wants_reordering_whatever_was_used() -> None:
    assert outlook(shelf_of([move("counted", "yarn", "Sock", 0)]), NOW)[0].reorder


@given(st.lists(st.sampled_from(["received", "used", "counted", "made", "drawn"]), max_size=60), st.integers(1, 20))
def test_putting_old_movements_away_changes_nothing_on_the_shelf(kinds: list[str], most: int) -> None:
    moves = []
    for n, kind in enumerate(kinds):
        ago = (len(kinds) - n) * 1.0
        session = f"s{n // 3}" if kind in ("used", "drawn") else ""
        if kind == "made":
            moves.append(solution("Navy", 100, 2, MONDAY, at=NOW - timedelta(days=ago)))
        elif kind == "drawn":
            moves.append(
                move("used", "bottle", "Navy", 10, ago, bottle=bottle_name("Navy", 2, MONDAY), session=session)
            )
        else:
            moves.append(move(kind, "dye", "Navy", 7.0, ago, session=session))
    old, rest = split_off(moves, most, NOW - timedelta(days=20))
    whole, going_on = shelf_of(moves), shelf_of(rest)
    assert going_on.amount(StockKind.DYE, "Navy") == pytest.approx(whole.amount(StockKind.DYE, "Navy"))
    assert [b.left_ml for b in going_on.bottles_of("Navy")] == pytest.approx(
        [b.left_ml for b in whole.bottles_of("Navy")]
    )
    assert not {m.session for m in old if m.session} & {m.session for m in rest if m.session}


def test_putting_old_movements_away_leaves_the_lot_of_the_jar_in_use() -> None:
    """A bottle of the jar before it is still there."""
    moves = [move("received", "dye", "Navy", 100, 200, lot="A")]
    moves.append(solution("Navy", 500, 2, MONDAY, lot="A", at=NOW - timedelta(days=190)))
    moves.append(move("received", "dye", "Navy", 100, 180, lot="B"))
    moves += [move("used", "dye", "Navy", 0.1, 100) for _ in range(9)]
    old, rest = split_off(moves, 10, NOW - timedelta(days=60))
    whole, going_on = (shelf_of(each).item(StockKind.DYE, "Navy") for each in (moves, rest))
    assert old
    assert whole is not None
    assert going_on is not None
    assert going_on.lot == whole.lot == "B"
    assert going_on.amount == pytest.approx(189.1)


# --- what a day takes -------------------------------------------------------------------------------------------

STOCK = [
    move("counted", "dye", "Navy", 50),
    move("counted", "yarn", "Sock", 20),
    move("counted", "acid", "vinegar 5 %", 1000),
]


def took(
    lines: list[Line], stock: list[Move] = STOCK, plan: Plan | None = None
) -> list[tuple[str, str, str, float, bool]]:
    day = day_of(lines, plan or plan_with())
    moves = moves_of_day(day, "2026-04-18-1", stock, NOW, IDS)
    plain = [(m.kind.value, m.thing.value if m.thing is not None else "", m) for m in moves]
    return [(kind, thing, m.bottle or m.name, round(m.amount, 3), m.planned) for kind, thing, m in plain]


@pytest.mark.parametrize("now_called", [None, "Slow Blue"])
def test_what_went_on_comes_off_the_shelf_though_a_changed_plan_has_no_such_dye_or_extra(
    now_called: str | None,
) -> None:
    """Left out of the plan, or under another name: its batch was dyed with what the jar and the bottle say."""
    more = '[[extra]]\nname = "salt"\namount = "5 g"\nper = "batch"'
    plan = plan_with(more=more)
    (no,) = (batch.no for batch in plan.batches if batch.colourway == "Deep")
    renamed = tuple(replace(dye, name=now_called) for dye in plan.dyes if dye.name == "Slow" and now_called)
    less = replace(
        plan,
        dyes=(*(dye for dye in plan.dyes if dye.name != "Slow"), *renamed),
        colourways=tuple(colourway for colourway in plan.colourways if colourway.name != "Deep"),
        orders=tuple(order for order in plan.orders if order.colourway != "Deep"),
        extras=(),
    )
    used = at("10:10", no, event="used", used={"Slow": 100, "extra": {"salt": 5}})
    lines = [*soaked(no), used, *heated(no), at("12:00", event="plan changed", plan=to_plain(less))]
    stock = [
        move("counted", "dye", "Slow", 50),
        solution("Slow", 60, 1, MONDAY),
        move("counted", "extra", "salt", 500),
    ]
    left = after(lines, stock, plan)
    assert [bottle.left_ml for bottle in left.bottles_of("Slow")] == []
    assert left.amount(StockKind.DYE, "Slow") == pytest.approx(50 - 0.6 - 0.4)
    assert left.amount(StockKind.EXTRA, "salt") == 495


def after(lines: list[Line], shelf_moves: list[Move], plan: Plan | None = None) -> Shelf:
    day = day_of(lines, plan or plan_with())
    return shelf_of([*shelf_moves, *moves_of_day(day, "2026-04-18-1", shelf_moves, NOW, IDS)])


TODAY = "Navy 1 % 2026-04-18"


def test_recorded_dye_acid_and_yarn_go_down_as_used() -> None:
    # 320 mL of 1 % made that day: 3.2 g of powder; 50 mL of vinegar; three skeins
    lines = [*proper(), at("10:05", "01", used={"Navy": 320})]
    assert took(lines) == [
        ("made", "bottle", TODAY, 320, False),
        ("used", "bottle", TODAY, 320, False),
        ("used", "acid", "vinegar 5 %", 50, False),
        ("used", "yarn", "Sock", 3, False),
    ]
    kept = after(lines, [move("counted", "dye", "Navy", 50)])
    assert kept.amount(StockKind.DYE, "Navy") == pytest.approx(46.8)
    assert kept.bottles_of("Navy") == []


def test_what_is_not_recorded_goes_down_as_planned_and_says_so() -> None:
    # three skeins at 1 %: 3 g, 300 mL of 1 %
    assert took(proper())[:2] == [("made", "bottle", TODAY, 300, True), ("used", "bottle", TODAY, 300, True)]


def test_what_was_left_over_stands_in_a_bottle_of_that_day() -> None:
    lines = [*proper(), at("10:05", "01", used={"Navy": 320}, left_over={"Navy": 20})]
    kept = after(lines, [move("counted", "dye", "Navy", 50)])
    assert kept.amount(StockKind.DYE, "Navy") == pytest.approx(46.8)
    assert [(b.name, round(b.left_ml, 6)) for b in kept.bottles_of("Navy")] == [(TODAY, 20)]


def test_solution_of_which_all_was_left_over_stands_in_a_bottle_too() -> None:
    lines = [*proper(), at("10:05", "01", used={"Navy": 100}, left_over={"Navy": 100})]
    assert took(lines)[:1] == [("made", "bottle", TODAY, 100, False)]
    kept = after(lines, [move("counted", "dye", "Navy", 50)])
    assert kept.amount(StockKind.DYE, "Navy") == pytest.approx(49)


@pytest.mark.parametrize("bottles", [[], [100.0], [100.0, 200.0]])
def test_what_is_left_over_of_an_earlier_days_pour_is_on_the_shelf_again(bottles: list[float]) -> None:
    """30 mL of 1 % left of what was poured before the batch was carried: 15 mL of the youngest bottle's 2 %."""
    before = day_of([*soaked(), at("10:05", "01", used={"Navy": 320})])
    came = at("12:00", "01", **carried_event(before, "2026-04-17-1", before.batches["01"]).to_json())
    stock = [solution("Navy", ml, 2, MONDAY + timedelta(days=n)) for n, ml in enumerate(bottles)]
    kept = after([came, at("12:10", "01", left_over={"Navy": 30})], [move("counted", "dye", "Navy", 50), *stock])
    expected = [*bottles[:-1], bottles[-1] + 15] if bottles else [30]
    assert [round(b.left_ml, 6) for b in kept.bottles_of("Navy")] == expected
    assert kept.amount(StockKind.DYE, "Navy") == pytest.approx(50 - sum(bottles) * 0.02)


def test_solution_made_that_day_has_the_lot_of_the_powder_in_the_jar() -> None:
    jar = move("received", "dye", "Navy", 50, lot="A7")
    kept = after([*proper(), at("10:05", "01", used={"Navy": 320}, left_over={"Navy": 20})], [jar])
    assert [bottle.powder_lot for bottle in kept.bottles_of("Navy")] == ["A7"]


def test_a_day_is_not_written_again_for_a_new_jar_of_its_powder() -> None:
    jar = move("received", "dye", "Navy", 50, lot="A7")
    day = day_of([*proper(), at("10:05", "01", used={"Navy": 320})], plan_with())
    written = [jar, *moves_to_add([jar], day, "2026-04-18-1", NOW, NOW, IDS)]
    later = [*written, move("received", "dye", "Navy", 50, lot="B1")]
    assert moves_to_add(later, day, "2026-04-18-1", NOW, NOW, IDS) == []


def test_bottles_are_emptied_oldest_first_whatever_their_strength() -> None:
    # 3.2 g wanted: 100 mL of 2 % has two, the younger 1 % gives 120 mL; no powder is touched
    moves = [
        move("counted", "dye", "Navy", 50),
        solution("Navy", 500, 1, MONDAY + timedelta(days=2)),
        solution("Navy", 100, 2, MONDAY),
    ]
    kept = after([*proper(), at("10:05", "01", used={"Navy": 320})], moves)
    assert [round(b.left_ml, 6) for b in kept.bottles_of("Navy")] == [380]
    assert kept.amount(StockKind.DYE, "Navy") == pytest.approx(50 - 5 - 2)


def test_acid_of_a_batch_without_any_on_record_is_its_planned_dose() -> None:
    plan = plan_with(more="[water]\nalkalinity = 200")
    lines = [at("09:00", "01", to="soak"), at("10:00", "01", to="paint")]
    (acid,) = [t for t in took(lines, plan=plan) if t[1] == "acid"]
    # 300 g soak in 3 L; vinegar for pH 4.5 is about 0.063 mL per mg/L and litre, and 0.2 mL; half of what the fibre
    # may take is 0.085 mL per g, within the factor of two of its formula (from memory)
    assert acid[3] == pytest.approx(3 * (0.063 * 200 + 0.2) + 300 * 0.085, rel=0.05)
    assert acid[4] is True


def test_yarn_that_was_never_wetted_is_still_on_the_shelf() -> None:
    assert took([at("09:00", "05", to="scrapped")]) == []
    assert ("used", "yarn", "Sock", 2, False) in took(
        [at("09:00", "05", to="soak"), at("09:30", "05", to="scrapped")]
    )


def test_a_layer_painted_after_the_record_goes_down_by_its_recipe() -> None:
    """200 mL of the first layer's 1 % written down, the second one's 0.2 % (40 mL on 200 g) not."""
    first = [*soaked("05"), at("10:05", "05", used={"Navy": 200}), *heated("05")]
    second = [*first, at("12:30", "05", to="paint")]
    poured = [t for t in took(second) if t[:2] == ("used", "bottle")]
    assert [t[3] for t in took(first) if t[:2] == ("used", "bottle")] == [200]
    assert [t[3] for t in poured] == [240]
    at_the_end = [*soaked("05"), *heated("05"), at("12:30", "05", to="paint"), at("12:40", "05", used={"Navy": 210})]
    assert [t[3] for t in took(at_the_end) if t[:2] == ("used", "bottle")] == [210]


def test_split_batches_are_counted_once() -> None:
    lines = [*proper(), at("10:05", "01", used={"Navy": 300}), at("13:00", "01", into={"01a": 2, "01b": 1})]
    assert ("used", "yarn", "Sock", 3, False) in took(lines)
    assert ("used", "bottle", TODAY, 300, False) in took(lines)


EXTRAS = """
[[extra]]
name = "soap"
amount = "2 mL"
per = "skein"
on_hand = "1 L"

[[extra]]
name = "salt"
amount = "5 g"
per = "day"
"""


def test_soap_goes_down_by_the_plan_or_as_recorded() -> None:
    plan = plan_with(more=EXTRAS)
    lines = [*proper(), at("09:00", "05", to="soak")]
    assert [t for t in took(lines, plan=plan) if t[1] == "extra"] == [
        ("counted", "extra", "soap", 1000, False),
        ("used", "extra", "soap", 10, True),
        ("used", "extra", "salt", 5, True),
    ]
    said = [*lines, at("12:35", "01", used={"extra": {"soap": 15}})]
    assert [t for t in took(said, plan=plan) if t[2] == "soap"][1:] == [
        ("used", "extra", "soap", 15, False),
        ("used", "extra", "soap", 4, True),
    ]


@pytest.mark.parametrize(
    ("split_at", "taken_ml"), [("12:00", {"01a": 4.0, "01b": 2.0}), ("08:00", {"01a": 6.0, "01b": 6.0})]
)
def test_the_parts_of_a_batch_split_wet_share_what_one_batch_takes(split_at: str, taken_ml: dict[str, float]) -> None:
    """6 mL of wetting agent go in with each batch; split at noon it had its own, split dry each part has one."""
    extra = '[[extra]]\nname = "wetting agent"\namount = "6 mL"\nper = "batch"\n'
    split = at(split_at, "01", into={"01a": 2, "01b": 1})
    soak = [at("09:00", "01", to="soak"), split]
    if split_at < "09:00":
        soak = [split, at("09:00", "01a", to="soak"), at("09:00", "01b", to="soak")]
    plan = plan_with(more=extra)
    day = day_of(soak, plan)
    parts = [batch for batch in day.unsplit if batch.no in taken_ml]
    assert extra_by_plan(day, plan.extras[0], parts) == taken_ml
    taken = [amount for _, _, name, amount, planned in took(soak, plan=plan) if name == "wetting agent" and planned]
    assert taken == [sum(taken_ml.values())]


def test_extras_too_can_be_short() -> None:
    plan = plan_with(more=EXTRAS.replace("1 L", "20 mL"))
    # 14 skeins of sock and 17 of wool at 2 mL
    assert list(shortages(day_of([at("09:00", "01", to="soak")], plan))) == ["soap: 62 mL needed, 20 mL on hand"]


def test_what_a_plan_says_is_on_hand_begins_the_shelf_once() -> None:
    plan = plan_with()
    plan = replace(plan, dyes=tuple(replace(d, on_hand_g=42.0) if d.name == "Navy" else d for d in plan.dyes))
    assert ("counted", "dye", "Navy", 42.0, False) in took(proper(), [], plan)
    assert ("counted", "dye", "Navy", 42.0, False) not in took(proper(), STOCK, plan)


@pytest.mark.parametrize(("emptied", "kept", "made_g"), [(MONDAY + timedelta(days=1), 100, 0), (MONDAY, 0, 2)])
def test_the_bottle_of_a_plan_counts_unless_the_shelf_knows_it(emptied: date, kept: float, made_g: float) -> None:
    """The plan has 300 mL of Monday; 200 mL are poured. The empty bottle on the shelf is Tuesday's, or that one."""
    plan = plan_with()
    navy = [
        replace(dye, bottle_ml=300.0, bottle_pct=1.0, bottle_made=MONDAY) for dye in plan.dyes if dye.name == "Navy"
    ]
    plan = replace(plan, dyes=(*navy, *(dye for dye in plan.dyes if dye.name != "Navy")))
    old = solution("Navy", 50, 1, emptied, at=NOW - timedelta(days=3))
    moves = [old, move("counted", "dye", "Navy", 50, 2), move("used", "bottle", "Navy", 50, bottle=old.bottle)]
    shelf = after([*proper(), at("10:05", "01", used={"Navy": 200})], moves, plan)
    assert sum(bottle.left_ml for bottle in shelf.bottles_of("Navy")) == pytest.approx(kept)
    assert shelf.amount(StockKind.DYE, "Navy") == pytest.approx(50 - made_g)


def test_a_plan_that_says_nothing_knows_what_is_on_the_shelf() -> None:
    shelf = shelf_of(
        [
            move("counted", "dye", "Navy", 2),
            solution("Navy", 100, 2, MONDAY),
            move("counted", "yarn", "Sock", 4),
            move("counted", "acid", "vinegar 5 %", 300),
        ]
    )
    stocked = on_shelf(plan_with(), shelf)
    navy = next(d for d in stocked.dyes if d.name == "Navy")
    assert (navy.on_hand_g, navy.bottle_ml, navy.bottle_pct, navy.bottle_made) == (0, 100, 2, MONDAY)
    assert stocked.base("Sock").on_hand == 4
    assert stocked.acid.on_hand == 300
    assert stocked.base("Wool").on_hand is None
    short = list(shortages(day_of([at("09:00", "01", to="soak")], stocked)))
    assert any(line.startswith("Navy: ") for line in short)
    assert "Sock: 14 skeins needed, 4 on hand" in short


def test_what_the_plan_says_itself_counts_and_the_difference_is_reported() -> None:
    plan = plan_with(more='[acid]\non_hand = "2 L"')
    assert on_shelf(plan, shelf_of(STOCK)).acid.on_hand == 2000
    assert differences(plan, shelf_of(STOCK)) == [
        "vinegar 5 %: the plan has 2000 mL on hand, the shelf 1000; the plan's amount counts"
    ]


def test_dye_recorded_for_a_layer_does_not_forget_another_batch() -> None:
    lines = [*proper(), at("10:05", "01", used={"Navy": 300}), *soaked("05"), at("10:30", "05", to="fix")]
    kept = after(lines, [move("counted", "dye", "Navy", 50)])
    assert kept.amount(StockKind.DYE, "Navy") == pytest.approx(50 - 3 - 2)


def test_what_was_dyed_is_used_whatever_was_kept_of_it() -> None:
    """A felted skein took its yarn and dye; a count before dye went on is only a count."""
    felted = took([*soaked(), at("13:00", "01", skeins=2)])
    assert felted == took(soaked())
    fewer = took([at("08:00", "01", skeins=2), *soaked()])
    assert ("used", "yarn", "Sock", 3, False) in felted
    assert ("used", "yarn", "Sock", 2, False) in fewer


@pytest.mark.parametrize("recorded", [True, False])
def test_an_overdyed_batch_took_the_dye_of_both_colourways(recorded: bool) -> None:
    """Harbour takes 300 mL of Navy, Deep 300 mL of Slow, once it is put on."""
    used = [at("09:35", "01", used={"Navy": 300})] if recorded else []
    begun = [at("09:00", "01", to="soak"), at("09:30", "01", to="paint"), *used, *heated("01")]
    over = [*begun, at("12:00", "01", colourway="Deep")]
    day = day_of(over)
    assert [(dye.dye, dye.solution_ml) for dye in dyes_consumed(day, day.batches["01"])] == [("Navy", 300)]
    assert [(dye.dye, dye.solution_ml) for dye in dyes_to_come(day, day.batches["01"])] == [("Slow", 300)]
    assert "01" in [batch.no for batch in to_weigh(day.unsplit).batches or ()]
    day = day_of([*over, at("12:10", "01", to="paint")])
    assert [(dye.dye, dye.solution_ml) for dye in dyes_consumed(day, day.batches["01"])] == [
        ("Navy", 300),
        ("Slow", 300),
    ]
    assert list(dyes_to_come(day, day.batches["01"])) == []
    assert "01" not in [batch.no for batch in to_weigh(day.unsplit).batches or ()]


def test_an_extra_for_each_lot_is_taken_by_the_lots_it_was_not_recorded_with() -> None:
    """5 g of salt a lot: 4 g recorded with one, and a second lot begun; soap goes by all skeins that were wetted."""
    salt = '[[extra]]\nname = "salt"\namount = "5 g"\nper = "lot"\n'
    plan = plan_with(more=salt + '[[extra]]\nname = "soap"\namount = "2 mL"\nper = "skein"\n')
    lines = [*soaked("01"), *soaked("05"), at("10:10", "01", used={"extra": {"salt": 4}})]
    taken = {m.name: 0.0 for m in moves_of_day(day_of(lines, plan), "2026-04-18-1", [], NOW, IDS)}
    for one in moves_of_day(day_of(lines, plan), "2026-04-18-1", [], NOW, IDS):
        taken[one.name] += one.amount
    assert taken["salt"] == 9
    lost = moves_of_day(day_of([*lines, at("11:00", "01", skeins=2)], plan), "2026-04-18-1", [], NOW, IDS)
    assert sum(one.amount for one in lost if one.name == "soap") == taken["soap"]


def test_a_day_put_away_is_not_written_again_where_an_earlier_day_was_taken_in_after_it() -> None:
    """Both are put away together; the later one was changed since, and a count puts the shelf right."""
    day = day_of([*proper(), at("13:00", "01", to="done")], plan_with())
    later, earlier = (datetime(2026, 3, date_, 18, tzinfo=UTC) for date_ in (5, 1))
    moves = [move("counted", "yarn", "Sock", 100, days_ago=90)]
    moves += moves_to_add(moves, day, "2026-03-05-1", later, later, IDS)
    moves += moves_to_add(moves, day, "2026-03-01-1", earlier, later, IDS)
    moves += [move("received", "yarn", "Sock", 1)]
    _, rest = split_off(moves, len(moves) - 1, NOW - timedelta(days=30))
    assert moves_to_add(rest, day, "2026-03-05-1", later, NOW, IDS) == []
    assert moves_to_add(rest, day, "2026-03-01-1", earlier, NOW, IDS) == []


ENDED = datetime(2026, 4, 18, 18, tzinfo=UTC)
MORROW = ENDED + timedelta(days=1)
SESSION = "2026-04-18-1"


def closed(*more: Line) -> Day:
    return day_of([*proper(), *more, at("18:00", event="closed")])


def counted(pieces: int, when: datetime) -> Move:
    return move("counted", "yarn", "Sock", pieces, at=when)


def test_a_count_made_after_a_day_stands_when_the_day_is_written_again() -> None:
    """Of 100 skeins three were dyed; 90 are counted on the next day, then a dye entry of the day is put right."""
    moves = [counted(100, ENDED - timedelta(days=1))]
    moves += moves_to_add(moves, closed(), SESSION, ENDED, ENDED, IDS)
    assert shelf_of(moves).amount(StockKind.YARN, "Sock") == 97
    moves.append(counted(90, MORROW))
    again = moves_to_add(moves, closed(at("12:00", "01", used={"Navy": 160})), SESSION, ENDED, MORROW, IDS)
    assert again[0].kind is MoveKind.UNDONE
    assert shelf_of([*moves, *again]).amount(StockKind.YARN, "Sock") == 90


def test_a_count_during_a_day_has_what_was_used_before_it_and_lacks_what_was_used_after() -> None:
    """01 (three skeins) soaks at nine, 97 are counted at five, 05 (two skeins) soaks at half past five."""
    moves = [counted(100, ENDED - timedelta(days=1)), counted(97, ENDED - timedelta(hours=1))]
    written = moves_to_add(moves, closed(), SESSION, ENDED, ENDED, IDS)
    assert shelf_of([*moves, *written]).amount(StockKind.YARN, "Sock") == 97
    both = moves_to_add(moves, closed(at("17:30", "05", to="soak")), SESSION, ENDED, ENDED, IDS)
    assert shelf_of([*moves, *both]).amount(StockKind.YARN, "Sock") == 95


POURED = [
    at("10:05", "01", used={"Navy": 100}),
    at("13:00", "05", to="soak"),
    at("13:30", "05", to="paint"),
    at("13:35", "05", used={"Navy": 100}),
]
"""100 mL of Navy by ten, and 100 mL more by half past one"""


def test_a_bottle_counted_during_a_day_lacks_only_what_was_poured_after_the_count() -> None:
    bottle = solution("Navy", 500, 1, MONDAY, at=ENDED - timedelta(days=2))
    noon = move("counted", "bottle", "Navy", 390, at=instant("12:00"), bottle=bottle.bottle)
    moves = [bottle, noon]
    moves += moves_to_add(moves, closed(*POURED), SESSION, ENDED, ENDED, IDS)
    assert [(b.name, round(b.left_ml, 6)) for b in shelf_of(moves).bottles_of("Navy")] == [(bottle.bottle, 290)]


def test_a_jar_counted_during_a_day_lacks_only_what_was_dissolved_after_the_count() -> None:
    """Of 1 % there are 1 g in each 100 mL; the jar has 48.9 g at noon."""
    moves = [move("counted", "dye", "Navy", 50, at=ENDED - timedelta(days=2))]
    moves.append(move("counted", "dye", "Navy", 48.9, at=instant("12:00")))
    moves += moves_to_add(moves, closed(*POURED), SESSION, ENDED, ENDED, IDS)
    assert shelf_of(moves).amount(StockKind.DYE, "Navy") == pytest.approx(47.9)


def test_a_day_is_dyed_from_the_jar_and_the_yarn_in_use_not_from_what_came_that_afternoon() -> None:
    days = {"A": ENDED - timedelta(days=2), "B": instant("15:00")}
    moves = [move("received", "dye", "Navy", 50, at=when, lot=f"jar {lot}") for lot, when in days.items()]
    moves += [move("received", "yarn", "Sock", 20, at=when, lot=f"mill {lot}") for lot, when in days.items()]
    day = closed(at("10:05", "01", used={"Navy": 100}), at("17:00", "01", to="done"))
    moves += moves_to_add(moves, day, SESSION, ENDED, ENDED, IDS)
    (lot,) = with_shelf(lots_of_day(day, SESSION, now("19:00")), SESSION, ENDED, moves)
    assert [fact.text for fact in lot.shelf] == ["mill A", "jar A", "2026-04-18"]


@pytest.mark.parametrize(
    ("lot_there", "made", "days"),
    [
        ("260418-01", MORROW.date(), []),
        ("260418-01", NOW.date(), ["2026-04-18"]),
        ("", MORROW.date(), ["2026-04-19"]),
    ],
)
def test_a_lot_has_no_solution_made_after_it_was_dyed_but_its_own_sessions(
    lot_there: str, made: date, days: list[str]
) -> None:
    """Dyed on the 18th: carried to a plan of the 19th, which draws for another lot; or by that plan, a day early."""
    bottle = solution("Navy", 500, 1, made)
    drawn = move("used", "bottle", "Navy", 40, at=MORROW, bottle=bottle.bottle, session="2026-04-19-1")
    plan = plan_with()
    day = day_of(
        [*proper(), at("17:00", "01", to="done")], replace(plan, session=replace(plan.session, date=MORROW.date()))
    )
    day = replace(day, batches={"01": replace(day.batches["01"], lot=lot_there)})
    (lot,) = with_shelf(lots_of_day(day, "2026-04-19-1", now("19:00")), "2026-04-19-1", MORROW, [bottle, drawn])
    assert [fact.text for fact in lot.shelf] == days


def test_powder_that_went_on_dry_is_of_the_jar_in_use_when_it_was_dyed() -> None:
    days = {"A": ENDED - timedelta(days=2), "B": instant("15:00")}
    moves = [move("received", "dye", "Navy", 50, at=when, lot=f"jar {lot}") for lot, when in days.items()]
    day = closed(at("10:05", "01", used={"powder": {"Navy": 3}}), at("17:00", "01", to="done"))
    moves += moves_to_add(moves, day, SESSION, ENDED, ENDED, IDS)
    (lot,) = with_shelf(lots_of_day(day, SESSION, now("19:00")), SESSION, ENDED, moves)
    assert [(fact.of, fact.text) for fact in lot.shelf] == [("Navy", "jar A")]


def test_a_day_written_again_draws_from_no_bottle_that_was_made_after_it() -> None:
    """500 mL of Navy are made on the next day; the 160 mL of the day before were made from powder."""
    moves = [move("counted", "dye", "Navy", 50), *moves_to_add([], closed(), SESSION, ENDED, ENDED, IDS)]
    moves.append(solution("Navy", 500, 1, MORROW.date(), at=MORROW))
    late = closed(at("12:00", "01", used={"Navy": 160}))
    shelf = shelf_of([*moves, *moves_to_add(moves, late, SESSION, ENDED, MORROW, IDS)])
    assert [(bottle.made, bottle.left_ml) for bottle in shelf.bottles_of("Navy")] == [(MORROW.date(), 500)]
    assert shelf.amount(StockKind.DYE, "Navy") == pytest.approx(50 - 1.6 - 5)


def test_a_day_written_again_and_then_put_away_leaves_the_shelf_as_it_was() -> None:
    """What it took stands before the count of the next day, also in the counts that stand for both."""
    moves = [counted(100, ENDED - timedelta(days=1))]
    moves += moves_to_add(moves, closed(), SESSION, ENDED, ENDED, IDS)
    moves.append(counted(90, MORROW))
    moves += moves_to_add(moves, closed(at("17:30", "05", to="soak")), SESSION, ENDED, MORROW, IDS)
    moves += [move("received", "yarn", "Sock", 5, at=MORROW + timedelta(days=5))]
    old, rest = split_off(moves, 5, MORROW + timedelta(days=1))
    assert old and len(rest) < len(moves)
    assert shelf_of(rest).amount(StockKind.YARN, "Sock") == shelf_of(moves).amount(StockKind.YARN, "Sock") == 95
