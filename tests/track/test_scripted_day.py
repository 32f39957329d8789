"""One whole day of eleven batches, some of it gone wrong, against the flags it must have: these and no others.

Thresholds are common practice; a cloth's grades are those of ISO 105-A03.
"""

from __future__ import annotations

import json

from dyeday.track.day.day_state import in_order_of_recording
from dyeday.track.events.event_json import read_event
from dyeday.track.flags import flags_of
from dyeday.track.folding.fold import begin, fold, take, until
from tests.track.days import (
    THE_PLAN,
    Line,
    at,
    booted,
    by_boot,
    day_of,
    events,
    heated,
    now,
    plan_with,
    proper,
    soaked,
)


def script() -> list[Line]:
    """Return the day, in the order it was recorded: batch by batch, as from a notebook."""
    return [
        # 01: as it should be
        *proper("01"),
        at("18:00", "01", to="done"),
        # 02: wool soaked 30 of 45 min, boiled, and rinsed half an hour after its heat
        *soaked("02", "09:05", "09:35", "tray 2"),
        at("09:59", unit="steamer 2", is_="filled"),
        *heated("02", "10:00", "11:00", "steamer 2"),
        at("10:40", "02", reading="bath_c", value=97),
        at("11:10", "02", reading="eye", value="clear", where="first rinse"),
        at("11:30", "02", to="rinse", unit="sink 1"),
        at("11:40", "02", to="dry", unit="pegs 1"),
        # 03: no acid in its pot, colour left in the bath
        at("09:00", "03", to="soak"),
        at("10:00", "03", to="paint", unit="pot 1"),
        at("10:05", "03", heat_no=1, run="start", unit="pot 1"),
        at("10:45", "03", heat_no=1, run="end"),
        at("10:46", "03", to="cool"),
        at("15:50", "03", reading="jar", value={"match": 5, "left_l": 7.5}),
        at("16:00", "03", to="rinse", unit="sink 1"),
        at("16:10", "03", to="dry", unit="pegs 1"),
        # 04: one pot of the second burst forgotten, rinsed without a look, a cloth that is marked
        *soaked("04", "09:10", "10:10", "tray 4"),
        at("11:00", "04", to="fix"),
        *(at(t, "04", heat_no=n, run=r, unit="oven 1") for t, n, r in (
            ("11:00", 1, "start"), ("11:02", 1, "end"), ("11:03", 1, "start"), ("11:05", 1, "end"),
            ("11:10", 2, "start"), ("11:12", 2, "end"))),
        at("11:20", "04", to="cool"),
        at("12:30", "04", to="rinse", unit="sink 1"),
        at("12:40", "04", reading="cloth", value="marked"),
        at("12:45", "04", to="dry", unit="pegs 1"),
        # 05: two layers, the second without a soak, as its recipe has it
        *soaked("05", "10:10", "11:10", "tray 1"),
        at("11:59", unit="steamer 1", is_="filled"),
        *heated("05", "12:00", "12:50", "steamer 1"),
        at("14:00", "05", to="paint"),
        at("14:29", unit="steamer 1", is_="filled"),
        *heated("05", "14:30", "15:10", "steamer 1"),
        at("16:20", "05", reading="eye", value="clear"),
        at("16:20", "05", to="rinse", unit="sink 1"),
        at("16:30", "05", to="dry", unit="pegs 1"),
        # 06: its second layer's acid soak forgotten
        *soaked("06", "11:30", "12:30", "tray 1"),
        at("12:55", unit="steamer 2", is_="filled"),
        *heated("06", "13:00", "13:50", "steamer 2"),
        at("15:00", "06", to="paint"),
        # 07: dry yarn in an open tray for an hour and more before its steam
        at("09:30", "07", to="soak", unit="tray 3"),
        at("10:00", "07", to="paint"),
        at("10:01", "07", acid_ml=40, event="acid put in"),
        at("10:02", "07", cover="open"),
        at("10:20", "07", to="set-aside", why="steamers full"),
        at("11:30", unit="steamer 2", is_="filled"),
        *heated("07", "11:35", "12:25", "steamer 2"),
        # 08 and 09: must match, and 09 came from a second jug; 09 never soaked and shared a steamer for four
        *soaked("08", "12:40", "13:40", "tray 2"),
        at("12:50", unit="tray 2", acid_ml=30),
        at("15:59", unit="steamer 1", is_="filled"),
        *heated("08", "16:00", "16:50", "steamer 1"),
        at("13:45", "09", to="paint", mix="second jug"),
        *heated("09", "16:00", "16:50", "steamer 1"),
        # 10: forty minutes for a dye that needs fifty, then given ten more
        *soaked("10", "12:00", "13:00", "tray 3"),
        at("13:59", unit="steamer 2", is_="filled"),
        *heated("10", "14:00", "14:50", "steamer 2"),
        at("14:59", unit="steamer 2", is_="filled"),
        *heated("10", "15:00", "15:20", "steamer 2"),
        # 11: its heat left on until it was noticed
        at("12:00", "11", to="soak", unit="tray 4"),
        at("13:00", "11", to="paint", unit="pot 2"),
        at("13:01", "11", acid_ml=60, event="acid put in"),
        at("13:05", "11", heat_no=1, run="start", unit="pot 2"),
        at("14:15", "11", heat_no=1, run="end"),
        at("14:16", "11", to="cool"),
    ]  # fmt: skip


EXPECTED = {
    ("02", "short-soak"),
    ("02", "rinsed-hot"),
    ("03", "no-acid"),
    ("03", "under-exhausted"),
    ("04", "short-fix"),
    ("04", "no-bath-reading"),
    ("04", "bleeding"),
    ("06", "missed-acid-soak"),
    ("07", "dried-out"),
    ("08+09", "over-full"),
    ("09", "missed-acid-soak"),
    ("08+09", "mixed-lot"),
    ("10", "short-fix"),
    ("11", "overdue"),
}
END = now("18:30")


def test_the_scripted_day_has_exactly_the_flags_it_should_have() -> None:
    """Every flag once, and none for what was done well."""
    found = [(flag.about, flag.rule.value) for flag in flags_of(day_of(script()), END)]
    assert sorted(found, key=str) == sorted(EXPECTED)


def test_the_day_read_back_from_its_own_json_has_the_same_flags() -> None:
    """To JSON text and back, event by event: same day, same flags."""
    first = events(script())
    lines = [json.dumps(event.to_json()) for event in first]
    again = [read_event(json.loads(line), now("30:00")) for line in lines]
    assert again == first
    assert flags_of(fold(THE_PLAN, again), END) == flags_of(fold(THE_PLAN, first), END)


def test_the_day_recorded_as_it_happened_has_the_same_flags_as_from_a_notebook() -> None:
    """The order of recording changes nothing where the times are given."""
    as_it_happened = sorted(script(), key=lambda line: str(line["at"]))
    assert flags_of(day_of(as_it_happened), END) == flags_of(day_of(script()), END)


def test_the_day_taken_one_event_at_a_time_has_the_same_flags() -> None:
    """As the bench takes them."""
    day = begin(THE_PLAN)
    for event in in_order_of_recording(events(script())):
        day = take(day, event)
    assert flags_of(day, END) == flags_of(day_of(script()), END)


def test_every_flag_of_the_day_says_numbers_or_names_and_a_remedy() -> None:
    """A flag without a reason or a remedy is of no help."""
    for flag in flags_of(day_of(script()), END):
        assert flag.why, flag
        assert flag.remedy, flag
        assert flag.since <= END.utc


def test_in_the_middle_of_the_day_only_what_had_happened_is_flagged() -> None:
    """At 11:00 two batches have their flags, as if the rest of the day were not."""
    morning = until(day_of(script()), now("11:00").utc)
    found = {(flag.about, flag.rule.value) for flag in flags_of(morning, now("11:00"))}
    assert found == {("02", "short-soak"), ("03", "no-acid")}


def test_looser_rules_leave_fewer_flags_and_touch_no_others() -> None:
    """With longer covers, lower exhaustion, a faint cloth allowed and patient alarms, their flags are gone."""
    plan = plan_with('open = 240\nexhaustion = 75\ncloth = "3-4"\noverdue = 60\nshock = 10\nfelting = 98')
    found = {(flag.about, flag.rule.value) for flag in flags_of(day_of(script(), plan), END)}
    gone = {("07", "dried-out"), ("03", "under-exhausted"), ("04", "bleeding"), ("11", "overdue")}
    assert found == EXPECTED - gone


def test_a_wall_clock_set_back_after_the_day_hides_no_flag() -> None:
    """The flags of what happened stand, whatever the wall shows now."""
    day = day_of(by_boot(script()))
    before = {(flag.about, flag.rule.value) for flag in flags_of(day, booted("18:30"))}
    after = {(flag.about, flag.rule.value) for flag in flags_of(day, booted("18:30", stepped_h=-2))}
    assert before == after == EXPECTED
