"""The day folded from its events: what each of them does, in whatever order they were recorded."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dyeday.plan.model import Order, Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.serialize import to_plain
from dyeday.plan.step_ids import StepId, stored_step
from dyeday.terms import ChoreWhen, DyeMethod, Outcome, ReadingKind, State, StepKind
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.bath_contents import acids_had, soak_acids
from dyeday.track.day.day_state import Day, Event
from dyeday.track.folding.fold import begin, fold, take, take_all, until
from dyeday.track.timestamp import Moment
from tests.track.days import (
    PLAN,
    THE_PLAN,
    Line,
    at,
    batch_of,
    day_of,
    events,
    heated,
    instant,
    now,
    plan_with,
    proper,
    soaked,
)
from tests.typed_events import make


def test_a_day_begins_with_every_batch_waiting_and_every_unit_clean() -> None:
    """Nothing has happened, nothing was folded."""
    day = begin(THE_PLAN)
    assert [batch.no for batch in day.unsplit] == ["01", "02", "03", "04", "05", "06", "07", "08", "09", "10", "11"]
    assert {batch.state for batch in day.unsplit} == {State.WAITING}
    assert set(day.units) == set(THE_PLAN.unit_names)
    assert not day.events


def test_a_batch_goes_through_its_states_and_keeps_every_stay() -> None:
    """From soak to done, each stretch from its move to the next."""
    batch = batch_of([*proper(), at("20:00", "01", to="done")])
    assert [stay.state for stay in batch.stays] == [
        State.SOAK,
        State.PAINT,
        State.FIX,
        State.COOL,
        State.RINSE,
        State.DRY,
        State.DONE,
    ]
    assert [stay.since.utc for stay in batch.stays][:3] == [instant(t) for t in ("09:00", "10:00", "10:30")]
    assert all(mine.until == after.since for mine, after in zip(batch.stays, batch.stays[1:], strict=False))
    assert (batch.state, batch.outcome, batch.unit, batch.is_unfinished) == (State.DONE, Outcome.FIRST, None, False)


@pytest.mark.parametrize("outcome", ["second", "one-off"])
def test_a_batch_may_end_as_less_than_first_choice(outcome: str) -> None:
    """Its outcome stands with it."""
    assert batch_of([at("20:00", "01", to="done", outcome=outcome)]).outcome == Outcome(outcome)


def test_states_may_be_skipped() -> None:
    """From waiting straight to the rinse: it is where it was said to be, and went nowhere else."""
    batch = batch_of([at("10:00", "01", to="rinse")])
    assert (batch.state, [stay.state for stay in batch.stays]) == (State.RINSE, [State.RINSE])


def test_a_heat_begun_before_anyone_said_fix_is_in_fix() -> None:
    """The yarn is in the heat all the same."""
    batch = batch_of([*soaked(), at("10:30", "01", heat_no=1, run="start", unit="steamer 1")])
    assert (batch.state, batch.unit) == (State.FIX, "steamer 1")


def test_going_back_keeps_what_was_and_begins_the_same_layer_again() -> None:
    """Back from paint to soak: one layer, three stays."""
    batch = batch_of([*soaked(), at("10:10", "01", to="soak")])
    assert (batch.layer, [stay.state for stay in batch.stays]) == (1, [State.SOAK, State.PAINT, State.SOAK])


def test_dye_after_a_fixed_layer_begins_the_next_one() -> None:
    """From cool to paint is layer 2, and its heats are its own."""
    batch = batch_of(
        [*soaked("05"), *heated("05"), at("12:30", "05", to="paint"), *heated("05", "13:00", "13:40")], "05"
    )
    assert (batch.layer, batch.current_layer.how, batch.is_last_layer) == (2, DyeMethod.SPECKLED, True)
    assert [(run.layer, run.heat_no) for run in batch.heats] == [(1, 1), (2, 1)]


@pytest.mark.parametrize("to", ["soak", "paint"])
@pytest.mark.parametrize("after", [["rinse"], ["rinse", "dry"], ["rinse", "set-aside"]])
def test_yarn_rinsed_or_dried_before_its_last_layer_goes_on_with_the_next_as_it_is_advised(
    after: list[str], to: str
) -> None:
    """Also by an entry that names no layer."""
    lines = [*soaked("05"), *heated("05"), *(at(f"13:{n}0", "05", to=state) for n, state in enumerate(after))]
    assert batch_of([*lines, at("14:00", "05", to=to)], "05").layer == 2


def test_dye_before_the_layer_was_fixed_is_the_same_layer_again() -> None:
    """From fix without any heat back to paint is still layer 1."""
    lines = [*soaked("05"), at("10:30", "05", to="fix"), at("10:40", "05", to="paint")]
    assert batch_of(lines, "05").layer == 1


def test_after_its_last_layer_a_batch_painted_again_stays_in_it() -> None:
    """There is no third layer."""
    lines = [*soaked("05"), *heated("05"), at("12:30", "05", to="paint"), *heated("05", "13:00", "13:40")]
    assert batch_of([*lines, at("15:00", "05", to="paint")], "05").layer == 2


def test_an_event_may_say_its_layer() -> None:
    """Straight to the second layer."""
    assert batch_of([at("10:00", "05", to="paint", layer=2)], "05").layer == 2


def test_back_to_waiting_is_back_to_the_first_layer() -> None:
    """Begun again."""
    assert batch_of([at("10:00", "05", to="paint", layer=2), at("11:00", "05", to="waiting")], "05").layer == 1


def test_a_batch_set_aside_remembers_where_it_came_from_and_goes_back() -> None:
    """Out of the steam, its unit free and its heat ended; back in the same layer."""
    lines = [*soaked("05"), *heated("05")[:2], at("10:50", "05", to="set-aside", why="a leak")]
    aside = batch_of(lines, "05")
    assert (aside.state, aside.held_from, aside.unit, aside.open_heat) == (State.SET_ASIDE, State.FIX, None, None)
    assert aside.notes[-1][1] == "a leak"
    back = batch_of([*lines, at("11:00", "05", to="fix", unit="steamer 2")], "05")
    assert (back.state, back.held_from, back.unit, back.layer) == (State.FIX, None, "steamer 2", 1)


def test_set_aside_from_cooling_the_next_layer_is_still_the_next() -> None:
    """It was fixed before it was set aside."""
    lines = [*soaked("05"), *heated("05"), at("12:00", "05", to="set-aside"), at("13:00", "05", to="paint")]
    assert batch_of(lines, "05").layer == 2


def test_a_batch_is_in_the_unit_it_was_put_in_until_it_moves_out() -> None:
    """Moved with a unit, placed into another, moved on without one."""
    lines = [at("09:00", "01", to="soak", unit="tray 1"), at("09:10", "01", unit="tray 2", event="placed")]
    day = day_of(lines)
    assert (list(day.in_unit("tray 1")), [b.no for b in day.in_unit("tray 2")]) == ([], ["01"])
    assert batch_of([*lines, at("09:30", "01", to="paint")]).unit is None


def test_a_layer_that_cools_in_place_stays_in_its_unit() -> None:
    """Out is the default; in place keeps the steamer busy."""
    plan = read_plan(PLAN.replace('name = "Harbour"', 'name = "Harbour"\ncool_where = "in place"'))
    assert batch_of([*soaked(), *heated()]).unit is None
    assert batch_of([*soaked(), *heated()], plan=plan).unit == "steamer 1"


def test_leaving_fix_ends_the_heat_that_is_on() -> None:
    """No entry ends it: the move does."""
    batch = batch_of([*soaked(), *heated()[:2], at("11:25", "01", to="cool")])
    assert batch.open_heat is None
    assert batch.heats[0].end == now("11:25")


def test_starting_the_next_heat_ends_the_one_before() -> None:
    """One heat at a time."""
    lines = [
        at("11:00", "04", heat_no=1, run="start", unit="oven 1"),
        at("11:02", "04", heat_no=2, run="start", unit="oven 1"),
    ]
    batch = batch_of(lines, "04")
    assert [(run.heat_no, run.end) for run in batch.heats] == [(1, now("11:02")), (2, None)]


SPLIT = [*soaked(), at("10:05", "01", used={"Navy": 270}), at("10:10", "01", into={"01a": 2, "01b": 1})]


def test_the_parts_of_a_split_inherit_its_history_and_its_skeins_are_conserved() -> None:
    """Two and one of three; same stays, same mix, each its share of the acid; the whole is off the list."""
    day = day_of(SPLIT)
    assert [b.no for b in day.unsplit][:3] == ["01a", "01b", "02"]
    whole, *parts = day.batches["01"], day.batches["01a"], day.batches["01b"]
    assert sum(part.skeins for part in parts) == whole.skeins == 3
    assert [part.shares for part in parts] == [(("harbour for Ida", 2),), (("harbour for Ida", 1),)]
    for part in parts:
        assert (part.stays, part.planned_mix, part.parent) == (whole.stays, whole.planned_mix, "01")
    assert [part.acids[0].amount_ml for part in parts] == pytest.approx([50 * 2 / 3, 50 / 3])
    assert (whole.state, whole.split_into) == (State.SPLIT, ("01a", "01b"))


def test_after_a_split_each_part_goes_its_own_way_and_the_whole_goes_nowhere() -> None:
    """An event of the batch that was split changes nothing."""
    day = day_of(
        [*SPLIT, at("10:20", "01a", to="fix"), at("10:30", "01", to="rinse"), at("10:40", "01b", to="scrapped")]
    )
    assert [day.batches[no].state for no in ("01", "01a", "01b")] == [State.SPLIT, State.FIX, State.SCRAPPED]


def test_a_part_can_be_split_again() -> None:
    """Three skeins in three parts, none lost."""
    day = day_of([*SPLIT, at("10:20", "01a", into={"01aa": 1, "01ab": 1})])
    assert {b.no: b.skeins for b in day.unsplit if b.no.startswith("01")} == {"01aa": 1, "01ab": 1, "01b": 1}


def test_skeins_of_two_orders_are_shared_out_in_a_split() -> None:
    """Orders of one lot stay told apart."""
    more = '[[order]]\nitem = "harbour for Jan"\ncolourway = "Harbour"\nbase = "Sock"\nskeins = 1\n'
    day = day_of([at("10:00", "01", into={"01a": 2, "01b": 2})], plan_with(more=more))
    assert day.batches["01a"].shares == (("harbour for Ida", 2),)
    assert day.batches["01b"].shares == (("harbour for Ida", 1), ("harbour for Jan", 1))


def test_skeins_weighed_by_the_scale_keep_their_weight_when_they_are_counted() -> None:
    """Three weigh 330 g: counted three they still do, and two of them 220 g; all three had the dye."""
    weighed = [at("08:30", "01", reading="weight_g", value=330), at("08:40", "01", event="counted", skeins=3)]
    batch = batch_of(weighed)
    assert (batch.wof_g, batch.weighed_wof_g) == (330, 330)
    lost = batch_of([*weighed, *soaked(), at("10:30", "01", event="counted", skeins=2)])
    assert lost.wof_g == pytest.approx(220)
    assert lost.dyed_g == pytest.approx(330)


def test_a_skein_counted_too_many_and_taken_back_is_not_lost() -> None:
    """Three painted, miscounted as four, then three again: yarn, dye and acid are those of three."""
    painted = [*soaked(), at("10:30", "01", event="counted", skeins=4)]
    assert batch_of(painted).dyed_skeins == 4
    assert batch_of([*painted, at("10:40", "01", event="counted", skeins=3)]).dyed_skeins == 3
    assert batch_of([*painted, at("10:40", "01", event="counted", skeins=2)]).dyed_skeins == 3


def test_skeins_counted_are_the_skeins_there_are() -> None:
    """One was lost, or one more was found: the weight follows."""
    assert batch_of([at("10:00", "01", skeins=2)]).wof_g == 200
    more = batch_of([at("10:00", "01", skeins=5)])
    assert (more.skeins, more.shares) == (5, (("harbour for Ida", 5),))


def test_a_tag_is_the_latest_one_tied_on() -> None:
    """Two knots, then blue."""
    assert batch_of([at("10:00", "01", tag="two knots"), at("11:00", "01", tag="blue tie")]).tag == "blue tie"


def test_an_overdyed_batch_goes_on_under_its_new_colourway_with_its_history() -> None:
    """What happened belongs to the colourway before it; the new one's first layer begins with its soak or dye."""
    before = batch_of(proper())
    lines = [*proper(), at("18:00", "01", colourway="Peat", why="too pale")]
    after = batch_of(lines)
    assert (after.colourway.name, after.overdyed_from) == ("Peat", ("Harbour",))
    assert [(stay.state, stay.since) for stay in after.stays] == [(stay.state, stay.since) for stay in before.stays]
    assert [after.layer_of(heat.layer) for heat in after.heats] == [before.current_layer]
    assert (len(after.heats), after.skeins) == (len(before.heats), before.skeins)
    assert after.planned_mix != before.planned_mix
    assert batch_of([*lines, at("18:10", "01", to="soak")]).current_layer.how is DyeMethod.IMMERSED


def test_a_scrapped_batch_stays_on_the_record_and_wants_no_hands() -> None:
    """With the reason."""
    day = day_of([*soaked(), at("10:30", "01", to="scrapped", why="felted")])
    batch = day.batches["01"]
    assert (batch.state, batch.is_unfinished, batch.notes[-1][1]) == (State.SCRAPPED, False, "felted")
    assert batch in day.unsplit


RUSH = {"item": "rush", "colourway": "Peat", "base": "Wool", "skeins": 7}


def test_a_rush_order_adds_batches_after_the_last_number() -> None:
    """Seven skeins through trays for four: two batches, larger first, 12 and 13."""
    day = day_of([at("11:00", order=RUSH)])
    assert [(b.no, b.skeins, b.shares) for b in day.unsplit[-2:]] == [
        ("12", 4, (("rush", 4),)),
        ("13", 3, (("rush", 3),)),
    ]
    assert [*day.order_came_at] == [("rush", "Peat", "Wool")]
    assert day.plan.orders[-1].item == "rush"
    assert day.batches["12"].planned_mix != day.batches["03"].planned_mix


def test_a_second_rush_order_goes_on_from_the_first_and_a_split_takes_no_number() -> None:
    """01a does not count as a batch of its own number."""
    day = day_of([*SPLIT, at("11:00", order=RUSH), at("12:00", order={**RUSH, "item": "more", "skeins": 1})])
    assert day.unsplit[-1].no == "14"


def changed_plan() -> dict[str, Any]:
    """Return a plan with the harbour order four skeins larger, a new recipe for it, and no peat."""
    text = PLAN.replace(
        'item = "harbour for Ida"\ncolourway = "Harbour"\nbase = "Sock"\nskeins = 3',
        'item = "harbour for Ida"\ncolourway = "Harbour"\nbase = "Sock"\nskeins = 7',
    )
    text = text.replace('name = "Harbour"\nfix = ["steam 40 min"]', 'name = "Harbour"\nfix = ["steam 60 min"]')
    text = text.replace('[[order]]\nitem = "peat blanket"\ncolourway = "Peat"\nbase = "Wool"\nskeins = 4\n', "")
    plain: dict[str, Any] = to_plain(read_plan(text))
    return plain


def test_a_changed_plan_leaves_batches_under_way_their_number_and_their_recipe() -> None:
    """01 is in its tray: it keeps forty minutes; the four skeins more are a new batch with sixty."""
    day = day_of([*soaked()[:2], at("09:30", plan=changed_plan())])
    mine = day.batches["01"]
    assert (mine.skeins, mine.state, mine.current_layer.heats[0].minutes) == (3, State.SOAK, 40)
    (new,) = [b for b in day.unsplit if b.colourway.name == "Harbour" and b.base.name == "Sock" and b.no != "01"]
    assert (new.skeins, new.current_layer.heats[0].minutes) == (4, 60)
    assert "Peat" not in [b.colourway.name for b in day.unsplit]


def test_a_changed_plan_gives_dry_yarn_its_recipe_though_it_has_a_note_or_a_tag() -> None:
    """01 keeps its note and 03, no longer in the plan, its tag."""
    lines = [
        at("09:00", "01", note="smells of sheep"),
        at("09:00", "03", tag="two knots"),
    ]
    change = at("09:30", plan=changed_plan(), renews="dry yarn")
    noted, tagged = (day_of([*lines, change]).batches[no] for no in ("01", "03"))
    assert (noted.current_layer.heats[0].minutes, [text for _, text in noted.notes]) == (60, ["smells of sheep"])
    assert (tagged.colourway.name, tagged.tag) == ("Peat", "two knots")


def test_dry_yarn_with_an_entry_keeps_the_recipe_it_was_dyed_with_in_an_older_session() -> None:
    """Its `plan changed` does not say what it renews: a day already dyed gets no new flags."""
    day = day_of([at("09:00", "01", note="smells of sheep"), at("09:30", plan=changed_plan())])
    assert day.batches["01"].current_layer.heats[0].minutes == 40


def test_a_changed_plan_takes_nothing_from_a_batch_it_no_longer_names() -> None:
    """Peat under way goes on, though it is not ordered any more."""
    day = day_of([at("09:00", "03", to="soak"), at("09:30", plan=changed_plan())])
    assert (day.batches["03"].colourway.name, day.batches["03"].state) == ("Peat", State.SOAK)


def test_after_a_changed_plan_every_order_has_its_skeins_and_no_number_is_there_twice() -> None:
    """What is under way counts towards its order."""
    day = day_of([*soaked()[:2], at("09:30", plan=changed_plan())])
    for order in day.plan.orders:
        mine = sum(n for b in day.unsplit for item, n in b.shares if item == order.item)
        assert mine == order.skeins, order.item
    assert len({b.no for b in day.unsplit}) == len(day.unsplit)


def taken_again(*lines: Line, plan: Plan = THE_PLAN, before: Plan = THE_PLAN) -> Day:
    """Return the day after ``lines`` whose plan is read from its file again at 12:00."""
    return day_of([*lines, at("12:00", event="plan changed", plan=to_plain(plan), renews="dry yarn")], before)


@pytest.mark.parametrize("states", [("set-aside",), ("set-aside", "waiting")])
def test_yarn_set_aside_before_any_soak_follows_the_changed_plan(states: tuple[str, ...]) -> None:
    """08 was never wetted: it takes the longer soak of its base; 09 is in the one before."""
    wool = replace(THE_PLAN.base("Wool"), soak_min=75.0)
    plan = replace(THE_PLAN, bases=tuple(wool if base.name == "Wool" else base for base in THE_PLAN.bases))
    put = [at(f"10:0{n}", "08", to=state) for n, state in enumerate(states)]
    batches = taken_again(*put, at("10:10", "09", to="soak", unit="tray 1"), plan=plan).batches
    assert (batches["08"].base, batches["09"].base) == (wool, THE_PLAN.base("Wool"))


def of_jumper(day: Day) -> dict[str, int]:
    """Return the skeins of each batch for the jumper, 8 skeins in 08 and 09, that is not scrapped."""
    mine = [b for b in day.unsplit if any(item == "jumper" for item, _ in b.shares)]
    return {b.no: b.skeins for b in mine if b.state is not State.SCRAPPED}


def test_a_plan_taken_again_leaves_each_skein_begun_to_its_own_order() -> None:
    """Two orders of one lot, a batch each: the second one's is begun first, and stays the second one's."""
    order = '[[order]]\nitem = "{}"\ncolourway = "Deep"\nbase = "Wool"\nskeins = 4\n'
    plan = plan_with(more=order.format("first") + order.format("second"))
    no_of = {item: b.no for b in plan.batches for item, _ in b.shares}
    again = taken_again(at("10:00", no_of["second"], to="soak", unit="tray 1"), plan=plan, before=plan)
    assert {no: batch.shares for no, batch in again.batches.items()} == {b.no: b.shares for b in plan.batches}


def test_skeins_that_their_order_wants_no_more_are_for_others_of_their_lot() -> None:
    """The jumper shrinks from 8 skeins to 2, both batches begun, and a hat of the same lot is new: nothing to dye."""
    begun = [*soaked("08"), *soaked("09", unit="tray 2")]
    orders = (replace(o, skeins=2) if o.item == "jumper" else o for o in THE_PLAN.orders)
    hat = Order("hat", "Harbour", "Wool", 6)
    day = taken_again(*begun, plan=replace(THE_PLAN, orders=(*orders, hat)))
    assert [b.no for b in day.unsplit if (b.colourway.name, b.base.name) == ("Harbour", "Wool")] == ["08", "09"]


@pytest.mark.parametrize(("outcome", "more"), [("second", {"12": 4}), ("one-off", {"12": 4}), ("first", {})])
def test_a_plan_taken_again_plans_seconds_and_one_offs_once_more(outcome: str, more: dict[str, int]) -> None:
    """Their order waits for them "to be dyed again", as the parcels say."""
    day = taken_again(*soaked("08"), at("11:30", "08", to="done", outcome=outcome))
    assert of_jumper(day) == {"08": 4, "09": 4} | more


def test_a_plan_taken_again_plans_scrapped_skeins_once_more_as_it_does_lost_ones() -> None:
    """A batch that was scrapped dyes none of what is ordered; it keeps its number."""
    soak = at("09:00", "08", to="soak", unit="tray 1")
    assert of_jumper(taken_again(soak, at("09:10", "08", event="counted", skeins=1))) == {"08": 1, "09": 4, "12": 3}
    day = taken_again(soak, at("09:10", "08", to="scrapped"))
    assert of_jumper(day) == {"09": 4, "12": 4}
    assert day.batches["08"].state is State.SCRAPPED


def test_a_plan_taken_again_keeps_the_numbers_splits_and_tags_of_batches_not_begun() -> None:
    """03 soaks; all others are as the plan lists them, 08 with a new count of 09 too."""
    listed = replace(THE_PLAN, batches=tuple(replace(batch, tag=f"T{batch.no}") for batch in THE_PLAN.batches))
    day = taken_again(at("09:00", "03", to="soak"), plan=listed)
    assert {no: b.tag for no, b in day.batches.items()} == {b.no: b.tag for b in listed.batches} | {"03": ""}
    fewer = taken_again(at("09:00", "09", to="soak"), at("09:10", "09", event="counted", skeins=1), plan=listed)
    assert [(b.skeins, b.tag) for b in fewer.unsplit if b.no in of_jumper(fewer)] == [(4, "T08"), (1, ""), (3, "")]
    rush = at("09:00", order={"item": "rush", "colourway": "Peat", "base": "Wool", "skeins": 2})
    assert taken_again(rush, plan=listed).batches["05"].tag == "T05"


def named(line: Line, event_id: str) -> Line:
    return {**line, "id": event_id}


MOVE = named(at("10:00", "01", to="paint"), "move")


def test_a_void_event_does_not_count_and_stays_readable() -> None:
    """The batch is where it was; the event and its undo are both on record."""
    day = day_of([*soaked()[:2], MOVE, at("10:05", strikes="move", event="struck", why="wrong batch")])
    assert day.batches["01"].state == State.SOAK
    assert day.void_ids == {"move"}
    assert day.event("move") is not None
    assert len(day.events) == 4


def test_a_redone_event_counts_again() -> None:
    """As if it had never been undone."""
    lines = [
        *soaked()[:2],
        MOVE,
        named(at("10:05", strikes="move", event="struck"), "strike"),
        at("10:06", strikes="move", event="unstruck"),
    ]
    day = day_of(lines)
    assert (day.batches["01"].state, day.void_ids) == (State.PAINT, frozenset())


def test_a_day_begins_with_its_first_step_as_that_was_corrected() -> None:
    """A soak typed for seven or for eleven was at nine; a forecast, a set clock and a locked key are not steps."""
    for typed in ("07:00", "11:00"):
        soak = named(at(typed, "01", to="soak", unit="tray 1"), "soak")
        right = at("09:00", "01", event="corrected", corrects="soak")
        assert day_of([soak, right]).first_at == instant("09:00")
    seen = {"hands_off": instant("18:00").isoformat(), "late": instant("19:00").isoformat()}
    others = [at("07:00", event="foreseen", **seen), at("07:10", event="guard on")]
    assert day_of(others).first_at is None
    assert day_of([*others, *soaked()]).first_at == instant("09:00")


def test_an_undo_that_is_undone_itself_does_not_count() -> None:
    """The move counts, the undo does not."""
    lines = [
        *soaked()[:2],
        MOVE,
        named(at("10:05", strikes="move", event="struck"), "strike"),
        at("10:06", strikes="strike", event="struck"),
    ]
    day = day_of(lines)
    assert (day.batches["01"].state, day.void_ids) == (State.PAINT, frozenset({"strike"}))


def test_an_undo_of_an_undo_that_is_undone_leaves_the_event_void() -> None:
    """Three undos: the last takes away the second, so the first stands."""
    lines = [
        *soaked()[:2],
        MOVE,
        named(at("10:05", strikes="move", event="struck"), "one"),
        named(at("10:06", strikes="one", event="struck"), "two"),
        at("10:07", strikes="two", event="struck"),
    ]
    assert day_of(lines).batches["01"].state == State.SOAK


def test_the_latest_word_on_an_event_decides() -> None:
    """Undone, redone and undone again is undone."""
    lines = [
        *soaked()[:2],
        MOVE,
        at("10:05", strikes="move", event="struck"),
        at("10:06", strikes="move", event="unstruck"),
        at("10:07", strikes="move", event="struck"),
    ]
    assert day_of(lines).batches["01"].state == State.SOAK


READING = named(at("09:30", "01", reading="ph", value=46), "ph") | {"value": 4.9}


def test_a_corrected_event_has_its_new_keys_and_keeps_the_others() -> None:
    """The value changes, its time and its name do not."""
    (reading,) = batch_of([READING, at("12:00", "01", corrects="ph", value=4.6, why="misread")]).readings
    assert (reading.name, reading.value, reading.at.utc) == (ReadingKind.PH, 4.6, instant("09:30"))


def test_two_corrections_of_one_event_both_hold_the_later_one_over_the_earlier() -> None:
    """First another reading, then another value."""
    lines = [
        READING,
        at("12:00", "01", corrects="ph", reading="bath_c", value=60),
        at("12:05", "01", corrects="ph", value=62),
    ]
    (reading,) = batch_of(lines).readings
    assert (reading.name, reading.value) == (ReadingKind.BATH_C, 62)


def test_a_correction_that_is_undone_does_not_hold() -> None:
    """The first value is back."""
    lines = [
        READING,
        named(at("12:00", "01", corrects="ph", value=4.6), "mend"),
        at("12:05", strikes="mend", event="struck"),
    ]
    assert batch_of(lines).readings[0].value == 4.9


def test_a_correction_without_other_keys_moves_the_event_to_its_own_time() -> None:
    """The paint began at 09:40: the soak is twenty minutes shorter."""
    lines = [*soaked()[:2], MOVE, at("09:40", "01", corrects="move", event="corrected")]
    batch = batch_of(lines)
    assert batch.stays[0].until == now("09:40")
    assert batch.painted[0].since == now("09:40")


def test_a_time_corrected_past_another_event_changes_their_order() -> None:
    """Moved from 10:00 to 11:30, the paint comes after the fix and is where the batch is now."""
    lines = [*soaked()[:2], MOVE, at("10:30", "01", to="fix"), at("11:30", "01", corrects="move", event="corrected")]
    assert [stay.state for stay in batch_of(lines).stays] == [State.SOAK, State.FIX, State.PAINT]


def test_a_correction_that_names_another_batch_moves_the_event_to_it() -> None:
    """Typed for 01, meant for 05."""
    day = day_of([MOVE, at("10:05", "05", corrects="move", event="corrected")])
    assert (day.batches["01"].state, day.batches["05"].state) == (State.WAITING, State.PAINT)
    assert day.batches["05"].painted[0].since == now("10:00")


def test_a_corrected_time_recorded_at_the_bench_goes_through_its_json_unchanged() -> None:
    """As it is stored, so it is read."""
    ids = iter("abc")
    move = make("moved", now("10:00"), lambda: next(ids), batch="01", to="paint")
    mend = make("corrected", now("12:00"), lambda: next(ids), batch="01", at=instant("09:40"), corrects=move.id)
    day = day_of([move.to_json(), mend.to_json()])
    assert day.events == (move, mend)
    assert day.batches["01"].painted[0].since.utc == instant("09:40")


def test_a_correction_that_makes_no_sense_changes_nothing() -> None:
    """A file edited by hand must not stop the day."""
    assert batch_of([READING, at("12:00", "01", corrects="ph", value="sour")]).readings[0].value == 4.9


SHARED = [
    at("09:00", "01", to="soak", unit="tray 1"),
    at("09:05", unit="tray 1", event="acid put in", acid_ml=50),
    at("09:30", "01", to="paint"),
    at("09:35", "05", to="soak", unit="tray 1"),
]


def acid_of(day: Day, batch: str, time: str) -> list[float]:
    return [put.amount_ml for put in soak_acids(day, day.batches[batch], now(time), 1)]


def test_a_bath_is_shared_by_the_batches_in_it_and_by_the_next_one_only_where_its_water_is_kept() -> None:
    """Put in once, it is there for both that are in it; for the load after them it is where that says so.

    Of 50 mL the load after had what the 100 g before it left: half of what their fibre takes, and of their liquor.
    """
    day = day_of([*SHARED[:2], at("09:20", "05", to="soak", unit="tray 1"), at("09:30", "01", to="paint")])
    assert (acid_of(day, "01", "10:00"), acid_of(day, "05", "10:00")) == ([50], [50])
    day = day_of(SHARED)
    assert (acid_of(day, "01", "10:00"), acid_of(day, "05", "10:00")) == ([50], [])
    day = day_of([*SHARED[:-1], at("09:35", batches=["05"], to="soak", unit="tray 1", water="kept")])
    assert acid_of(day, "05", "10:00") == [50]
    assert [(round(put.amount_ml), put.kept) for put in acids_had(day, day.batches["05"])] == [(42, True)]


def test_a_bath_emptied_between_is_another_bath() -> None:
    """The first batch had its acid, the second has none until more is put in."""
    lines = [*SHARED[:-1], at("09:32", unit="tray 1", is_="emptied"), SHARED[-1]]
    day = day_of(lines)
    assert (acid_of(day, "01", "10:00"), acid_of(day, "05", "10:00")) == ([50], [])
    fresh = day_of([*lines, at("09:40", unit="tray 1", event="acid put in", acid_ml=30)])
    assert (acid_of(fresh, "01", "10:00"), acid_of(fresh, "05", "10:00")) == ([50], [30])


def test_a_unit_out_of_order_is_down_until_it_is_up() -> None:
    """Down at ten, up at eleven."""
    down = at("10:00", unit="steamer 1", is_="down")
    assert day_of([down]).units["steamer 1"].is_down
    assert not day_of([down, at("11:00", unit="steamer 1", is_="up")]).units["steamer 1"].is_down


def test_amounts_used_and_left_over_add_up_dye_by_dye() -> None:
    """Two jugs of navy, some of it back, and powder apart."""
    batch = batch_of(
        [
            at("10:00", "01", used={"Navy": 200}),
            at("10:10", "01", used={"Navy": 70, "powder": {"Slow": 1.5}}, left_over={"Navy": 30}),
        ]
    )
    assert (dict(batch.used_ml), dict(batch.powder_g), dict(batch.left_over_ml)) == (
        {"Navy": 270},
        {"Slow": 1.5},
        {"Navy": 30},
    )


def test_powder_and_salt_left_over_were_not_used() -> None:
    """1.5 g out of the jar and half a gram back; 20 of salt, 5 back."""
    lines = [
        at("10:00", "01", used={"powder": {"Slow": 1.5}, "extra": {"salt": 20}}),
        at("10:20", "01", left_over={"powder": {"Slow": 0.5}, "extra": {"salt": 5}}),
    ]
    batch = batch_of(lines)
    assert (dict(batch.powder_g), dict(batch.extras), batch.left_over_ml) == ({"Slow": 1.0}, {"salt": 15}, ())


def test_a_note_without_a_batch_is_the_days() -> None:
    """And with one it is the batch's."""
    day = day_of([at("10:00", note="kettle broke"), at("10:05", "01", note="a knot")])
    assert [said for _, said in day.notes] == ["kettle broke"]
    assert [said for _, said in day.batches["01"].notes] == ["a knot"]


def test_a_day_is_closed_from_its_closing_on() -> None:
    """And not before."""
    assert day_of([at("20:00", event="closed")]).closed == now("20:00")
    assert day_of([]).closed is None


def test_an_event_of_an_unknown_batch_changes_nothing() -> None:
    """A file edited by hand must not stop the day."""
    day = day_of([at("10:00", "77", to="soak")])
    assert day.batches == begin(THE_PLAN).batches


def test_a_day_as_it_was_has_only_what_had_happened_by_then() -> None:
    """At 10:45 the batch is in its steam; what was recorded late about the morning is in it too."""
    day = day_of([*proper(), at("09:10", "01", reading="ph", value=4.6)])
    then = until(day, instant("10:45"))
    assert (then.batches["01"].state, len(then.batches["01"].readings)) == (State.FIX, 1)


@pytest.mark.parametrize(("time", "state"), [("10:29:59", "paint"), ("10:30", "fix")])
def test_what_happened_at_that_very_moment_had_happened(time: str, state: str) -> None:
    """Into its heat at 10:30."""
    assert until(day_of(proper()), instant(time)).batches["01"].state == State(state)


def test_a_day_as_it_was_lacks_what_was_undone_later_and_has_what_was_corrected_later() -> None:
    """An undo or a correction of the evening is true of the morning as well."""
    lines = [
        *soaked()[:2],
        MOVE,
        READING,
        at("18:00", strikes="move", event="struck"),
        at("18:01", "01", corrects="ph", value=4.6),
    ]
    then = until(day_of(lines), instant("10:30"))
    assert then.batches["01"].state == State.SOAK
    assert then.batches["01"].readings[0].value == 4.6


STORY: list[Line] = [
    at("09:00:01", "01", to="soak", unit="tray 1"),
    at("09:01", unit="tray 1", event="acid put in", acid_ml=50),
    at("09:02", "05", to="soak", unit="tray 2"),
    at("09:03", "05", acid_g=3),
    at("09:20", "01", reading="ph", value=4.7),
    at("09:40", "01", to="paint"),
    at("09:45", unit="tray 1", is_="emptied"),
    at("09:50", "02", to="soak", unit="tray 1"),
    at("10:00", "01", to="fix"),
    at("10:02", "01", heat_no=1, run="start", unit="steamer 1"),
    at("10:09", "01", heat_no=1, run="heat"),
    at("10:15", "05", to="paint"),
    at("10:16", "05", used={"Navy": 180}),
    at("10:20", order=RUSH),
    at("10:30", "05", to="set-aside"),
    at("10:40", "05", into={"05a": 1, "05b": 1}),
    at("10:50", "01", heat_no=1, run="end"),
    at("10:52", "01", to="cool"),
    at("10:55", "05a", heat_no=1, run="start", unit="steamer 1"),
    at("11:00", "12", to="soak", unit="tray 3"),
    at("11:10", "02", tag="blue tie"),
    at("11:20", "02", skeins=2),
    at("11:40", "05a", heat_no=1, run="end"),
    at("11:50", "01", reading="eye", value="clear"),
    at("11:55", "01", to="rinse", unit="sink 1"),
    at("12:00", "05b", to="scrapped"),
    at("12:10", "01", to="dry", unit="pegs 1"),
    at("12:15", alarm="heat-05a-1.1-105500", is_="acknowledged"),
    at("12:20", "01", event="resolved", rule="short-fix", why="good"),
    at("12:30", "02", colourway="Rain"),
    at("12:40", note="tea"),
]
STORY_EVENTS = events(STORY)


def what_happened(day: Day) -> Day:
    """Return a day without the order its events were recorded in."""
    return replace(day, events=())


def one_by_one(recorded: Sequence[Event]) -> Day:
    day = begin(THE_PLAN)
    for event in recorded:
        day = take(day, event)
    return day


@given(st.permutations(STORY_EVENTS))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_entries_recorded_late_give_the_same_day_as_entries_in_order(shuffled: list[Event]) -> None:
    """Whatever the order of recording, distinct times make one and the same day."""
    assert what_happened(fold(THE_PLAN, shuffled)) == what_happened(fold(THE_PLAN, STORY_EVENTS))


def rewritten(draw: st.DrawFn) -> list[Event]:
    """Draw some entries of the day in any order, with undos, redos and corrections of them among them."""
    chosen = draw(st.lists(st.sampled_from(STORY_EVENTS), unique_by=lambda e: e.id, max_size=12))
    lines = [event.to_json() for event in chosen]
    for n in range(draw(st.integers(0, 5))):
        if not lines:
            break
        about = draw(st.sampled_from([line["id"] for line in lines]))
        kind = draw(st.sampled_from(["struck", "unstruck", "corrected"]))
        key = "corrects" if kind == "corrected" else "strikes"
        line = at(f"13:{n:02d}", **{key: about, "event": kind, "id": f"r{n}"})
        lines.insert(draw(st.integers(lines.index(next(x for x in lines if x["id"] == about)) + 1, len(lines))), line)
    return events(lines)


@given(st.composite(rewritten)())
@settings(max_examples=150, deadline=None, derandomize=True)
def test_taking_events_one_by_one_gives_the_day_that_folding_all_gives(recorded: list[Event]) -> None:
    """In turn, late, undone, redone and corrected alike; several at once as well."""
    whole = fold(THE_PLAN, recorded)
    assert one_by_one(recorded) == whole
    assert take_all(begin(THE_PLAN), recorded) == whole
    half = len(recorded) // 2
    assert take_all(fold(THE_PLAN, recorded[:half]), recorded[half:]) == whole


def test_an_event_in_its_turn_folds_no_other_batch_again() -> None:
    """The records of the others are the same values as before."""
    day = begin(THE_PLAN)
    for event in STORY_EVENTS:
        before, day = day, take(day, event)
        assert all(day.batches[no] is batch for no, batch in before.batches.items() if no not in event.batches)


def test_taking_an_event_leaves_the_day_before_it_as_it_was() -> None:
    """A day is a value."""
    before = fold(THE_PLAN, STORY_EVENTS[:5])
    kept: dict[str, BatchRecord] = dict(before.batches)
    take(before, STORY_EVENTS[5])
    assert dict(before.batches) == kept
    assert len(before.events) == 5


def test_two_events_of_one_moment_count_in_the_order_they_were_recorded() -> None:
    """Paint then fix at ten is in fix; the other way round it is in paint."""
    paint, fix = at("10:00", "01", to="paint"), at("10:00", "01", to="fix")
    assert batch_of([paint, fix]).state == State.FIX
    assert batch_of([fix, paint]).state == State.PAINT


def test_a_batch_is_found_however_its_number_is_typed() -> None:
    """3, 03 and 003 are one; a part by its letter; 99 is not a batch."""
    day = day_of(SPLIT)
    found = [day.find(said) for said in ("3", "03", "003", "1a", "01A", "99")]
    assert [batch and batch.no for batch in found] == ["03", "03", "03", "01a", "01a", None]


def test_a_moment_without_a_boot_is_taken_as_the_wall_has_it() -> None:
    """A day of typed events has no boot clock to go by."""
    day = day_of(SPLIT)
    moment = Moment(instant("12:00"), 5.0, "some-boot")
    assert day.on_day_clock(moment) == moment


def test_a_rush_order_stays_when_a_changed_plan_is_taken() -> None:
    """It is in no plan file; its batch is not begun, and is there all the same."""

    rush = at("09:00", order={"item": "rush", "colourway": "Peat", "base": "Wool", "skeins": 2})
    day = day_of([rush, at("09:30", event="plan changed", plan=to_plain(THE_PLAN))])
    assert [order.item for order in day.plan.orders][-1] == "rush"
    assert sum(b.skeins for b in day.unsplit) == sum(o.skeins + o.spare for o in THE_PLAN.orders) + 2


def test_an_order_taken_out_of_the_plan_goes_though_a_rush_order_has_its_name() -> None:
    """An order is its item, colourway and base."""
    rush = at("10:00", order={"item": "sparks", "colourway": "Harbour", "base": "Sock", "skeins": 1})
    less = replace(THE_PLAN, orders=tuple(order for order in THE_PLAN.orders if order.item != "sparks"))
    day = taken_again(rush, plan=less)
    assert [order.colourway for order in day.plan.orders if order.item == "sparks"] == ["Harbour"]


def test_a_unit_that_a_changed_plan_brings_broken_is_down() -> None:
    """One that was there already is as the day has it: what is on record counts, not the plan's `down`."""
    down = ("steamer 1", "steamer 8", "steamer 9")
    kit = tuple(replace(k, units=9, down=down) if k.name == "steamer" else k for k in THE_PLAN.kit)
    units = day_of([at("09:00", event="plan changed", plan=to_plain(replace(THE_PLAN, kit=kit)))]).units
    assert [name for name, unit in units.items() if unit.is_down] == ["steamer 8", "steamer 9"]


def test_a_rush_order_keeps_its_own_mix_when_a_changed_plan_is_taken() -> None:
    """Whether nothing was dyed yet, or yarn of its lot, or its own: it is dyed once, from one mix."""
    rush = at("09:00", order={"item": "rush", "colourway": "Peat", "base": "Wool", "skeins": 6})
    change = at("11:30", event="plan changed", plan=to_plain(THE_PLAN))
    fresh = day_of([rush])
    for no in (None, *mixes_of(fresh, "peat blanket"), *mixes_of(fresh, "rush")):
        day = day_of([rush, *([at("10:00", no, to="paint")] if no else []), change])
        assert {*mixes_of(day, "peat blanket").values()} == {"Peat / Wool"}
        assert {*mixes_of(day, "rush").values()} == {"Peat / Wool / rush"}
        assert sum(day.batches[one].skeins for one in mixes_of(day, "rush")) == 6


def mixes_of(day: Day, order: str) -> dict[str, str]:
    """Return the mix of each batch with skeins for an order, by its number."""
    return {batch.no: batch.planned_mix for batch in day.unsplit if any(item == order for item, _ in batch.shares)}


def test_a_changed_plan_that_is_taken_before_anything_began_keeps_its_split_by_hand() -> None:
    """Numbers and tags given by hand are as in a day begun with it."""

    text = PLAN + '\n[[batch]]\norder = "rain"\nskeins = 1\nno = "09"\ntag = "green"\n'
    changed = read_plan(text)
    day = day_of([at("09:00", event="plan changed", plan=to_plain(changed))])
    assert {no: b.tag for no, b in day.batches.items()} == {b.no: b.tag for b in changed.batches}
    assert day.batches["09"].tag == "green"


@pytest.mark.parametrize(
    ("was", "correction", "said"),
    [
        (at("09:10", "01", acid_ml=50, id="was"), {"acid_ml": 60}, "corrected 01 50 mL acid: 60 mL acid"),
        (at("09:10", "01", reading="ph", value=4.6, id="was"), {"value": 4.9}, "corrected 01 pH 4.6: pH 4.9"),
        (at("09:10", "01", to="soak", id="was"), {}, "corrected 01 to soak: its time"),
    ],
)
def test_a_correction_is_reported_as_what_it_makes_of_the_entry(was: Line, correction: Line, said: str) -> None:
    """In a dyer's words, not by the names of the event's keys."""
    lines = [was, at("09:30", event="corrected", corrects="was", **correction)]
    day = day_of(lines)
    assert events(lines)[-1].text(day) == said


@pytest.mark.parametrize(
    ("step", "said", "stored"),
    [
        (StepId(StepKind.LOAD, 1, 1), "1st heat on", "load 1.1"),
        (StepId(StepKind.UNLOAD, 2, 3), "3rd heat off, layer 2", "unload 2.3"),
        (StepId(StepKind.SOAK_LOAD, 1), "into the soak", "soak load 1"),
        (StepId(StepKind.CHORE, 1, chore="wrap", when=ChoreWhen.AFTER_PAINT), "wrap", "wrap after 1"),
        (StepId(StepKind.CHORE, 2, chore="wrap", when=ChoreWhen.AFTER_PAINT), "wrap, layer 2", "wrap after 2"),
        (StepId(StepKind.CHORE, chore="load 1.1", when=ChoreWhen.END_OF_DAY), "load 1.1", "load 1.1"),
    ],
)
def test_a_step_of_the_schedule_has_words_and_a_stored_text(step: StepId, said: str, stored: str) -> None:
    """Only the stored text of advice is read back; a chore has keys of its own there."""
    assert (step.words, step.text) == (said, stored)
    if step.kind is not StepKind.CHORE:
        assert stored_step(stored) == step


def test_batches_are_in_the_order_of_their_numbers_beyond_ninety_nine_too() -> None:
    """And parts behind the number they had as a whole."""
    day = day_of([])
    some = {no: replace(day.batches["01"], no=no) for no in ("100", "10", "09", "101", "08b", "08a")}
    assert [batch.no for batch in replace(day, batches=some).unsplit] == ["08a", "08b", "09", "10", "100", "101"]


def test_a_second_rinse_after_a_cloth_stays_in_its_sink() -> None:
    """A move without a unit says nothing of where the yarn is."""
    lines = [*proper("01")[:-1], at("13:00", "01", reading="cloth", value="marked"), at("13:05", "01", to="rinse")]
    lines = [
        {**line, "unit": "sink 1"} if line.get("to") == "rinse" and n < len(lines) - 1 else line
        for n, line in enumerate(lines)
    ]
    assert batch_of(lines).unit == "sink 1"
