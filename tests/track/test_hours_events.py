"""The day's hours changed while it goes on: what each key does to the day, and what is refused."""

from __future__ import annotations

import pytest

from dyeday.terms import DayAim
from dyeday.track.event_keys import EventError
from dyeday.track.events.event_json import read_event
from dyeday.track.folding.fold import refuse
from tests.track.days import at, day_of, now


def test_each_key_changes_its_part_of_the_session_and_undo_brings_the_plans_own_back() -> None:
    day = day_of(
        [
            at("10:00", event="hours", stop="20:30"),
            at("10:01", event="hours", **{"break": "13:00-13:30"}),
            at("10:02", event="hours", out="15:05-15:40", hands=2),
            at("10:03", event="hours", aim="tonight"),
        ]
    )
    session = day.plan.session
    assert session.stop_min == 20 * 60 + 30
    assert session.breaks == ((780, 810),)
    assert session.out == ((905, 940),)
    assert session.hands == 2
    assert session.aim is DayAim.TONIGHT
    first = day.events[0]
    undone = day_of([*(event.to_json() for event in day.events), at("10:05", strikes=first.id)])
    assert undone.plan.session.stop_min == 18 * 60


@pytest.mark.parametrize(
    "keys", [{"stop": "soon"}, {"out": "15:40-15:05"}, {"out": "15:40"}, {"hands": 0}, {"aim": "sleep"}, {}]
)
def test_what_is_not_a_time_a_span_or_a_count_is_refused(keys: dict[str, object]) -> None:
    with pytest.raises(EventError):
        read_event({"event": "hours", "at": "2026-04-18T10:00:00Z", **keys}, now("10:00"))


def test_a_stop_before_the_start_is_refused_with_how_a_time_after_midnight_is_typed() -> None:
    day = day_of([])
    event = read_event({"event": "hours", "at": "2026-04-18T10:00:00Z", "stop": "01:30"}, now("10:00"))
    with pytest.raises(EventError, match=r"01:30\+1"):
        refuse(day, event)


def test_it_is_reported_in_the_words_of_the_plan() -> None:
    event = read_event({"event": "hours", "at": "2026-04-18T10:00:00Z", "out": "15:05-15:40"}, now("10:00"))
    assert event.text() == "out 15:05-15:40"


def test_an_entry_that_drops_a_break_and_moves_the_stop_reports_both() -> None:
    dropped = read_event(at("10:00", stop="21:00", instead="15:05-15:40", **{"break": "-"}), now("10:00"))
    assert dropped.text() == "stop 21:00, no break 15:05-15:40"


def test_an_absence_that_moves_past_midnight_shows_both_spans_alike() -> None:
    moved = read_event(at("10:00", event="hours", out="23:30-01:00+1", instead="22:00-00:30+1"), now("10:00"))
    assert moved.text(day_of([])) == "out 23:30-Sun 01:00 instead of 22:00-Sun 00:30"


def test_a_break_and_an_absence_move_and_others_stay() -> None:
    """`instead` names the one that moves; without it there is one more."""
    day = day_of(
        [
            at("10:00", event="hours", **{"break": "13:00-13:30"}),
            at("10:01", event="hours", **{"break": "18:30-20:00"}),
            at("10:02", event="hours", **{"break": "18:45-20:00", "instead": "18:30-20:00"}),
            at("10:03", event="hours", out="15:00-15:30"),
            at("10:04", event="hours", out="15:30-16:00", instead="15:00-15:30"),
        ]
    )
    assert day.plan.session.breaks == ((780, 810), (1125, 1200))
    assert day.plan.session.out == ((930, 960),)
    assert day.events[2].text() == "break 18:45-20:00 instead of 18:30-20:00"


def test_an_absence_that_does_not_take_place_is_dropped_and_others_stay() -> None:
    day = day_of(
        [
            at("10:00", event="hours", out="15:00-15:30"),
            at("10:01", event="hours", out="17:00-17:30"),
            at("10:02", event="hours", out="-", instead="15:00-15:30"),
        ]
    )
    assert day.plan.session.out == ((1020, 1050),)
    assert day.events[2].text() == "no absence 15:00-15:30"


def test_a_dash_must_name_what_is_dropped() -> None:
    event = read_event({"event": "hours", "at": "2026-04-18T10:00:00Z", "out": "-"}, now("10:00"))
    with pytest.raises(EventError, match="names no break or absence"):
        refuse(day_of([]), event)


def test_a_break_that_is_none_of_the_days_cannot_be_moved() -> None:
    event = read_event(
        {"event": "hours", "at": "2026-04-18T10:00:00Z", "break": "14:00-14:30", "instead": "13:15-13:30"},
        now("10:00"),
    )
    with pytest.raises(EventError, match="no break 13:15-13:30 to move; the day has none"):
        refuse(day_of([]), event)
