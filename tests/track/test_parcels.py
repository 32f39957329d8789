"""Orders out of a day, and out of two carried over into each other: complete, waiting, or lying apart."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from dyeday.commands.papers.parcels_answer import parcel_lines
from dyeday.paper.layout.sheet import tick
from dyeday.paper.layout.sheet_text import sheet_text
from dyeday.paper.sheets.labels_and_packing import packing_sheet
from dyeday.plan.model import Order
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.serialize import to_plain
from dyeday.plan.writing.plan_text import plan_text
from dyeday.studio.carry_over import carried_event, plan_after
from dyeday.studio.labels import care_words, fibre_text, labels
from dyeday.studio.lots.lot_making import lots_of_day
from dyeday.studio.parcels import FinishedPieces, OrderStatus, OrderWait, Outgoing, Parcel, orders_out, to_dye_again
from dyeday.terms import FlagId, Outcome, State
from dyeday.track.day.carried import Carried
from dyeday.track.day.day_state import Day
from dyeday.track.day.plan_changes import with_plan
from dyeday.track.flags import flags_of_batch
from dyeday.track.folding.fold import take_all
from tests.track.days import PLAN, THE_PLAN, Line, at, day_of, events, now, plan_with, proper, soaked

MORNING = "2026-04-18-1"
DONE = [*proper("01"), at("18:00", "01", to="done")]


def out_of(lines: list[Line]) -> Outgoing:
    return orders_out([(MORNING, day_of(lines))])


def order(out: Outgoing, item: str) -> OrderStatus:
    return next(o for parcel in out.parcels for o in parcel.orders if o.order.item == item)


def test_an_order_is_complete_when_all_its_pieces_are_firsts_and_done() -> None:
    ida = order(out_of(DONE), "harbour for Ida")
    assert (ida.wanted, ida.ready, ida.is_complete, ida.waits) == (3, 3, True, ())
    assert ida.lots == ("260418-01",)


def test_what_is_under_way_says_where_it_is() -> None:
    ida = order(out_of(proper("01")), "harbour for Ida")
    assert (ida.ready, ida.waits) == (0, (OrderWait(3, "01 drying on pegs 1", "01"),))
    assert order(out_of(DONE), "rain").waits == (OrderWait(2, "05 not started", "05"),)


def test_seconds_and_one_offs_lie_apart_and_their_order_wants_them_again() -> None:
    out = out_of([*proper("01"), at("18:00", "01", to="done", outcome="second")])
    assert [(p.batch, p.skeins) for p in out.seconds] == [("01", 3)]
    assert order(out, "harbour for Ida").waits == (OrderWait(3, "to be dyed again"),)
    off = out_of([*proper("01"), at("18:00", "01", to="done", outcome="one-off")])
    assert (off.seconds, [p.skeins for p in off.one_offs]) == ((), [3])


def test_a_parcel_says_which_of_its_batches_have_open_flags() -> None:
    """Complete, and yet to be looked at; a flag cleared with a reason is no longer said."""
    marked = [*DONE[:-1], at("12:41", "01", reading="cloth", value="faint"), DONE[-1]]
    parcel = next(p for p in out_of(marked).parcels if p.name == "harbour for Ida")
    assert (parcel.is_complete, parcel.flags) == (True, {"01": (FlagId.BLEEDING,)})
    assert "    check first: 01, bleeds" in list(parcel_lines(out_of(marked)))
    own, slip, *_ = packing_sheet("Tests", "", out_of(marked)).blocks  # cut apart; the second goes to the customer
    assert (own.heading, own.slip, own.parts) == (
        "CHECK BEFORE YOU PACK (for you: cut it off)",
        True,
        (tick("harbour for Ida: 01, bleeds"),),
    )
    assert "harbour for Ida: complete" in str(slip)
    assert "bleeds" not in str(slip)
    cleared = [*marked, at("18:10", "01", event="resolved", rule="bleeding", why="rinsed again, clean")]
    assert not next(p for p in out_of(cleared).parcels if p.name == "harbour for Ida").flags
    assert "CHECK BEFORE" not in sheet_text(packing_sheet("Tests", "", out_of(cleared)))


def test_a_flag_that_does_the_yarn_no_harm_is_not_to_be_checked_before_packing() -> None:
    """A crowded rack, as in the lot book."""
    plan = read_plan(PLAN.replace("holds = 40", "holds = 5"))
    hung = [at("09:00", no, to="dry", unit="pegs 1") for no in ("01", "05", "06")]
    day = day_of([*hung, at("18:00", "06", to="done")], plan)
    assert FlagId.CROWDED_RACK in [flag.rule for flag in flags_of_batch(day, day.batches["06"], now("18:00"))]
    (lot,) = lots_of_day(day, MORNING, now("18:00"))
    assert "crowded-rack" not in [flag.rule for flag in lot.batches[0].open_flags]
    pieces = [one for parcel in orders_out([(MORNING, day)]).parcels for o in parcel.orders for one in o.pieces]
    assert [(one.batch, FlagId.CROWDED_RACK in one.flags) for one in pieces] == [("06", False)]


def test_scrapped_pieces_are_to_be_dyed_again() -> None:
    assert order(out_of([at("09:00", "05", to="scrapped")]), "rain").waits == (OrderWait(2, "to be dyed again"),)


LOST_ONE = [*proper("01"), at("13:00", "01", event="counted", skeins=2)]
FOR_IDA = {"item": "harbour for Ida", "colourway": "Harbour", "base": "Sock", "skeins": 0, "spare": 1}
AGAIN = at("13:01", event="added", order=FOR_IDA)


def test_a_skein_that_is_dyed_again_is_one_of_those_ordered() -> None:
    """Ida ordered 3: one felted and is dyed again in a batch of its own."""
    (lost, *_) = to_dye_again(MORNING, day_of(LOST_ONE))
    assert (lost[0].item, lost[0].colourway, lost[1]) == ("harbour for Ida", "Harbour", 1)
    day = day_of([*LOST_ONE, AGAIN, at("18:00", "01", to="done")])
    new = next(no for no in day.batches if no not in day_of([]).batches)
    assert day.batches[new].skeins == 1
    assert to_dye_again(MORNING, day) == []
    ida = order(orders_out([(MORNING, day)]), "harbour for Ida")
    assert (ida.wanted, ida.ready, [wait.batch for wait in ida.waits]) == (3, 2, [new])
    done = day_of([*LOST_ONE, AGAIN, at("18:00", "01", to="done"), at("19:00", new, to="done")])
    assert order(orders_out([(MORNING, done)]), "harbour for Ida").is_complete
    tomorrow = day_after(day, at("42:00", new, to="done"))
    both = order(orders_out([(MORNING, day), ("2026-04-19-1", tomorrow)]), "harbour for Ida")
    assert (both.wanted, both.is_complete) == (3, True)


def test_a_skein_that_is_dyed_again_is_planned_once_under_a_changed_plan() -> None:
    day = day_of([*LOST_ONE, AGAIN])
    for_ida = [b.skeins for b in with_plan(day, THE_PLAN).batches.values() if b.shares[0][0] == "harbour for Ida"]
    assert sorted(for_ida) == [1, 2]


def test_an_overdyed_batch_is_no_longer_what_was_ordered() -> None:
    out = out_of(
        [*proper("01"), at("13:00", "01", colourway="Heather"), *proper("01")[:2], at("20:00", "01", to="done")]
    )
    assert [(p.colourway, p.skeins) for p in out.one_offs] == [("Heather", 3)]
    assert order(out, "harbour for Ida").waits == (OrderWait(3, "to be dyed again"),)


def test_an_overdyed_batch_is_for_the_order_of_its_new_colour_where_one_item_has_both() -> None:
    """Ida ordered 3 in Harbour and 3 in Deep: Harbour overdyed in Deep is for Deep, as in a plan taken again."""
    text = PLAN.replace('item = "deep"', 'item = "harbour for Ida"')
    plan = read_plan(text)
    (deep,) = (batch for batch in plan.batches if batch.colourway == "Deep")
    day = day_of([*soaked("01"), at("10:30", "01", event="overdyed", colourway="Deep")], plan)
    both = [each for parcel in orders_out([(MORNING, day)]).parcels for each in parcel.orders]
    for_ida = [each for each in both if each.order.item == "harbour for Ida"]
    waits = {each.order.colourway: [wait.batch for wait in each.waits] for each in for_ida}
    assert waits == {"Harbour": [None], "Deep": ["01"]}
    again = with_plan(day, plan).batches.values()
    fresh = [one.colourway.name for one in again if one.no == deep.no or one.no not in day.batches]
    assert fresh == ["Harbour"]


def test_a_batch_dyed_again_in_its_own_colour_is_still_what_was_ordered() -> None:
    """It came out too pale."""
    again = at("13:00", "01", event="overdyed", colourway="Harbour")
    assert [wait.batch for wait in order(out_of([*proper("01"), again]), "harbour for Ida").waits] == ["01"]
    done = order(out_of([*proper("01"), again, at("20:00", "01", to="done")]), "harbour for Ida")
    assert (done.ready, done.waits) == (3, ())


def test_tomorrows_plan_has_an_overdyed_batch_as_an_order_of_its_own() -> None:
    """It is for nothing that was ordered; Ida's three are planned again beside it."""
    day = day_of([*soaked("01"), at("10:30", "01", event="overdyed", colourway="Deep")])
    plan, hand = plan_after(day, MORNING, date(2026, 4, 19))
    (own,) = (each for each in plan.orders if each.item == "carried 01")
    assert (own.colourway, own.base, own.skeins) == ("Deep", "Sock", 3)
    assert next(each.skeins for each in plan.orders if each.item == "harbour for Ida") == 3
    assert next(each.order for each in hand if each.no == "01") == "carried 01"


def test_spares_fill_in_for_what_went_wrong_and_lie_apart_where_nothing_did() -> None:
    text = PLAN.replace(
        'item = "rain"\ncolourway = "Rain"\nbase = "Sock"\nskeins = 2',
        'item = "rain"\ncolourway = "Rain"\nbase = "Sock"\nskeins = 2\nspare = 1',
    )
    plan = read_plan(text)
    good = [at("09:00", "05", to="soak"), at("18:00", "05", to="done")]
    out = orders_out([(MORNING, day_of(good, plan))])
    assert (order(out, "rain").ready, [p.skeins for p in out.spares]) == (2, [1])
    one_bad = [
        at("09:00", "05", to="soak"),
        at("10:00", "05", into={"05a": 2, "05b": 1}),
        at("18:00", "05a", to="done"),
        at("18:00", "05b", to="done", outcome="second"),
    ]
    out = orders_out([(MORNING, day_of(one_bad, plan))])
    assert order(out, "rain").is_complete
    assert ([p.skeins for p in out.spares], [p.skeins for p in out.seconds]) == ([], [1])


def test_batches_of_an_order_that_must_match_are_compared_before_they_are_packed() -> None:
    """Also those of one mix: one may have had less acid or a shorter heat."""
    lines = [*soaked("08"), *soaked("09"), at("18:00", "08", to="done"), at("18:00", "09", to="done")]
    out = out_of(lines)
    check = "08, 09 side by side, Harbour on Wool must match"
    assert f"    check first: {check}" in list(parcel_lines(out))
    assert tick(f"jumper: {check}") in packing_sheet("Tests", "", out).blocks[0].parts
    assert not [one for one in next(p for p in out_of(DONE).parcels if p.is_complete).checks if "side by side" in one]


def test_two_mixes_in_one_order_are_labelled_to_be_knitted_in_alternate_rows() -> None:
    lines = [
        *soaked("08"),
        *soaked("09")[:2],
        at("10:00", "09", to="paint", mix="second jug"),
        at("18:00", "08", to="done"),
        at("18:00", "09", to="done"),
    ]
    days = [(MORNING, day_of(lines))]
    out = orders_out(days)
    jumper = order(out, "jumper")
    assert (jumper.alternate, jumper.lots) == (True, ("260418-08", "260418-09"))
    assert {label.note for label in labels(out, days)} == {"alternate skeins"}


def test_labels_have_what_a_knitter_asks_for() -> None:
    days = [(MORNING, day_of(DONE))]
    (label,) = labels(orders_out(days), days)
    assert (label.colourway, label.base, label.lot, label.count) == ("Harbour", "Sock", "260418-01", 3)
    assert (label.fibre, label.length_m, label.weight_g) == ("75 % superwash wool, 25 % nylon", 420, 100)
    assert label.care.startswith("wool wash 30 °C")


@pytest.mark.parametrize(("name", "new"), [("Harbour", "Harbours"), ("Sock", "Socks")])
def test_what_was_dyed_before_its_colourway_or_base_was_renamed_still_has_its_labels(name: str, new: str) -> None:
    """A name corrected in the running plan leaves the yarn that is done under the old one."""
    renamed = read_plan(PLAN.replace(f'"{name}"', f'"{new}"'))
    days = [(MORNING, day_of([*DONE, at("19:00", event="plan changed", plan=to_plain(renamed))]))]
    done = [label for label in labels(orders_out(days), days) if label.lot == "260418-01"]
    assert [(label.colourway, label.base, label.count) for label in done] == [("Harbour", "Sock", 3)]


def test_care_is_by_what_felts_unless_the_base_says_its_own() -> None:
    assert care_words(THE_PLAN.base("Wool")).startswith("hand wash")
    assert care_words(replace(THE_PLAN.base("Wool"), care="dry clean")) == "dry clean"
    assert (
        fibre_text(replace(THE_PLAN.base("Sock"), fibre=(("nylon", 25.0), ("wool", 75.0)))) == "75 % wool, 25 % nylon"
    )


def carried_over(yesterday: Day, no: str) -> Day:
    """Return a day on which batch ``no`` of yesterday is all there is."""
    came = yesterday.batches[no]
    mark = Carried(now("33:00"), MORNING, no, shares=came.shares)
    order = next(o for o in THE_PLAN.orders if o.item == came.shares[0][0])
    plan = replace(THE_PLAN, orders=(order,), batches=())
    return replace(day_of([], plan), batches={no: replace(came, carried=mark, lot="260418-01")})


def test_an_order_begun_yesterday_and_done_today_is_wanted_once() -> None:
    yesterday = day_of(proper("01"))
    today = carried_over(yesterday, "01")
    done = replace(today, batches={"01": replace(today.batches["01"], state=State.DONE, outcome=Outcome.FIRST)})
    ida = order(orders_out([(MORNING, yesterday), ("2026-04-19-1", done)]), "harbour for Ida")
    assert (ida.wanted, ida.ready, ida.lots) == (3, 3, ("260418-01",))
    waiting = order(orders_out([(MORNING, yesterday), ("2026-04-19-1", today)]), "harbour for Ida")
    assert [wait.skeins for wait in waiting.waits] == [3]


def test_pieces_whose_order_was_taken_out_of_the_plan_are_spares() -> None:
    """Also those carried over, for which the next day's plan has an order of their own."""
    yesterday = day_of(proper("01"))
    done = replace(yesterday.batches["01"], state=State.DONE, outcome=Outcome.FIRST)
    without = replace(THE_PLAN, orders=tuple(o for o in THE_PLAN.orders if o.item != "harbour for Ida"))
    gone = replace(yesterday, plan=without, batches={"01": done})
    assert [(piece.batch, piece.skeins) for piece in orders_out([(MORNING, gone)]).spares] == [("01", 3)]
    before = replace(yesterday, plan=without)
    out = orders_out([(MORNING, before), ("2026-04-19-1", day_after(before, at("42:00", "01", to="done")))])
    assert (order(out, "carried 01").ready, out.spares) == (3, ())


def day_after(before: Day, *lines: Line, session: str = MORNING) -> Day:
    """Return the day after, to which all that is unfinished was carried in the morning."""
    plan, hand = plan_after(before, session, before.plan.session.date + timedelta(days=1))
    bodies = [(no, carried_event(before, session, before.batches[no])) for no in (batch.no or "" for batch in hand)]
    came = [at("33:00", no, event="carried", **body.to_json()) for no, body in bodies]
    return day_of([*came, *lines], read_plan(plan_text(plan, hand)))


def test_wanted_pieces_that_are_dyed_again_are_planned_as_no_spares() -> None:
    """Rain is ordered with a spare: of three scrapped ones two are dyed again, and both are wanted the day after."""
    plan = read_plan(PLAN.replace('item = "rain"', 'item = "rain"\nspare = 1'))
    before = day_of([at("09:00", "05", to="scrapped")], plan)
    after, _ = plan_after(before, MORNING, date(2026, 4, 19))
    (rain,) = (one for one in after.orders if one.item == "rain")
    assert (rain.skeins, rain.spare) == (2, 0)


def test_an_order_whose_batch_was_overdyed_still_waits_on_the_day_after() -> None:
    """What came over is an order of its own: Ida's three are in the next day's plan again."""
    before = day_of([*soaked("01"), at("10:30", "01", event="overdyed", colourway="Deep")])
    out = orders_out([(MORNING, before), ("2026-04-19-1", day_after(before, at("42:00", "01", to="done")))])
    (wait,) = order(out, "harbour for Ida").waits
    assert (wait.skeins, wait.what) == (3, f"{wait.batch} not started")
    assert (order(out, "carried 01").is_complete, out.one_offs) == (True, ())


def test_an_overdyed_batch_that_is_carried_twice_has_one_order_of_its_own() -> None:
    first = day_of([*soaked("01"), at("10:30", "01", event="overdyed", colourway="Deep")])
    second = day_after(first)
    third = day_after(second, session="2026-04-19-1")
    assert [each.skeins for each in third.plan.orders if each.item == "carried 01"] == [3]
    days = [(MORNING, first), ("2026-04-19-1", second), ("2026-04-20-1", third)]
    assert order(orders_out(days), "carried 01").wanted == 3


def test_an_order_of_which_a_lost_skein_was_dyed_again_wants_no_more_than_before() -> None:
    """Ida's three are two of 01 and one of a batch of its own."""
    order_ = {"item": "harbour for Ida", "colourway": "Harbour", "base": "Sock", "skeins": 0, "spare": 1}
    lines = [*soaked("01"), at("10:30", "01", to="paint"), at("10:40", "01", skeins=2), at("10:41", order=order_)]
    day = day_of(lines)
    (fresh,) = (no for no, batch in day.batches.items() if batch.planned_mix.endswith("harbour for Ida"))
    done = take_all(day, events([at("20:00", no, to="done") for no in ("01", fresh)]))
    found = order(orders_out([(MORNING, done)]), "harbour for Ida")
    assert (found.wanted, found.ready, found.waits) == (3, 3, ())


def test_an_order_dyed_again_on_another_day_waits_for_its_batch_that_the_third_day_goes_on_with() -> None:
    """Two sessions each dye Ida's three; the second is done first, and the third continues the first."""
    first, second = day_of(proper("01")), day_of(DONE)
    days = [(MORNING, first), ("2026-04-19-1", second), ("2026-04-20-1", carried_over(first, "01"))]
    ida = order(orders_out(days), "harbour for Ida")
    assert (ida.wanted, ida.ready, [wait.skeins for wait in ida.waits]) == (6, 3, [3])


def test_two_alike_orders_are_due_when_the_earlier_one_is() -> None:
    first = THE_PLAN.orders[0]
    dates = [date(2026, 5, 1), date(2026, 4, 20), None]
    for several in (dates, dates[::-1]):
        plan = replace(THE_PLAN, orders=tuple(replace(first, due=due) for due in several))
        (parcel,) = orders_out([(MORNING, day_of(DONE, plan))]).parcels
        assert (parcel.due, parcel.orders[0].wanted) == (date(2026, 4, 20), 3 * first.skeins)


def test_spares_of_two_alike_orders_count_once_as_both_are_carried() -> None:
    alike = '[[order]]\nitem = "twice"\ncolourway = "Rain"\nbase = "Wool"\nskeins = 2\nspare = 1\n'
    before = day_of([at("09:00", "01", to="soak")], plan_with(more=alike + alike))
    assert order(orders_out([(MORNING, before)]), "twice").wanted == 4
    assert order(orders_out([(MORNING, before), ("2026-04-19-1", day_after(before))]), "twice").wanted == 4


def test_orders_of_one_parcel_go_out_together_also_one_that_came_in_during_the_day() -> None:
    rush = {"item": "rush 1", "colourway": "Rain", "base": "Sock", "skeins": 1, "parcel": "204 Ida"}
    text = PLAN.replace('item = "harbour for Ida"', 'item = "harbour for Ida"\nparcel = "204 Ida"')
    out = orders_out([(MORNING, day_of([*DONE, at("18:30", order=rush)], read_plan(text)))])
    (parcel,) = (parcel for parcel in out.parcels if parcel.name == "204 Ida")
    assert [o.order.item for o in parcel.orders] == ["harbour for Ida", "rush 1"]
    assert not parcel.is_complete


def test_a_sample_lies_apart_and_is_in_no_parcel() -> None:
    text = PLAN.replace('item = "harbour for Ida"', 'item = "harbour for Ida"\nsample = true')
    out = orders_out([(MORNING, day_of(DONE, read_plan(text)))])
    assert [o.order.item for o in out.samples] == ["harbour for Ida"]
    assert "harbour for Ida" not in [o.order.item for parcel in out.parcels for o in parcel.orders]


def test_flags_of_two_batches_of_one_number_from_two_sessions_are_both_to_check() -> None:
    """A number that is free again is given to another batch on the next day."""
    pieces = [
        FinishedPieces(session, f"lot {session}", "04", "Harbour", "Sock", 2, flags=(flag,))
        for session, flag in ((MORNING, FlagId.BLEEDING), ("2026-04-19-1", FlagId.SHORT_SOAK))
    ]
    parcel = Parcel("post", (OrderStatus(Order("socks", "Harbour", "Sock", 4), 4, tuple(pieces), ()),))
    assert parcel.checks == ["04, bleeds", "04, short soak"]
    assert parcel.flags == {"04": (FlagId.BLEEDING, FlagId.SHORT_SOAK)}
