"""Prompts and alarms counted as EEMUA 191 and ISA-18.2 count: by the hour, by ten minutes, and how long one stood.

Both are quoted from memory for the way of counting only; no limit of theirs is used here.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from dyeday.track.day.carried import Carried
from dyeday.track.timers.alarm_rates import prompts, rates
from tests.track.days import Line, at, day_of, heated, instant, now, soaked

# 01 soaks 20 min from 9:00, is at heat 10:40-11:20 and comes out at 11:40; its alarm stood from 11:25.
STORY = [*soaked(), *heated(until="11:40")]


def test_a_prompt_is_a_clock_that_came_due_while_its_batch_was_there() -> None:
    """The soak at 9:20, the heat at 11:20, the cooling an hour after the heat."""
    found = prompts(day_of(STORY), now("13:00"))
    assert found == [instant(time) for time in ("09:20", "11:20", "12:40")]
    assert prompts(day_of(STORY), now("11:00")) == [instant("09:20")]


def test_rests_covers_and_tanks_prompt_too() -> None:
    """A rest over at 11:10 before the second burst, yarn open too long at 11:20, a tank at its reserve at 11:50."""
    pots = [("11:00", 1, "start"), ("11:02", 1, "end"), ("11:03", 1, "start"), ("11:05", 1, "end")]
    rest = [at(time, "04", heat_no=n, run=run, unit="oven 1") for time, n, run in pots]
    assert prompts(day_of(rest), now("11:10")) == [instant(time) for time in ("11:02", "11:05", "11:10")]
    at_once = [rest[0], rest[3]]
    assert prompts(day_of(at_once), now("11:10")) == [instant(time) for time in ("11:02", "11:04", "11:10")]
    assert instant("11:10") not in prompts(day_of([*rest, at("11:09", "04", to="set-aside")]), now("11:30"))
    waits = [*soaked(until="10:00"), at("10:20", "01", cover="open"), at("10:20", "01", to="fix")]
    assert prompts(day_of(waits), now("11:30")) == [instant(time) for time in ("09:20", "11:20")]
    steam = [*soaked(), *heated()[:2]]
    assert prompts(day_of(steam), now("11:55")) == [instant(time) for time in ("09:20", "11:20", "11:50")]


def test_an_alarm_of_heat_left_on_when_the_day_was_closed_is_none_of_that_day() -> None:
    """At heat from 10:40 for 40 min, closed at 11:00: over its time only after that."""
    closed = day_of([*soaked(), *heated()[:2], at("11:00", event="closed")])
    assert [rates(closed, now(time)).alarms for time in ("11:00", "14:00")] == [0, 0]


def test_what_came_due_while_the_day_was_closed_is_not_a_prompt_of_the_next() -> None:
    """Carried at 12:00, cool at 12:40; the next session begins at 13:00, where a soak is over at 13:20."""
    came = day_of(STORY).batches["01"]
    today = day_of(soaked("05", "13:00", "13:30"))
    carried = replace(came, carried=Carried(now("12:00"), "2026-04-17-1", "01", shares=came.shares))
    today = replace(today, batches={"01": carried, "05": today.batches["05"]})
    assert prompts(today, now("14:00")) == [instant("13:20")]
    assert rates(today, now("14:00")).busiest == 1


def test_what_came_due_after_the_day_was_closed_is_none_of_its_prompts() -> None:
    closed = day_of([*STORY, at("12:00", None, event="closed")])
    assert prompts(closed, now("13:00")) == prompts(day_of(STORY), now("12:00"))


def test_prompts_of_one_minute_count_as_the_one_sound_they_are() -> None:
    """Two soaks that end together, and the parts of a batch that was split."""
    two = [*STORY, *soaked("05")]
    assert prompts(day_of(two), now("10:00")) == [instant("09:20")]
    parts = [*STORY, at("12:00", "01", into={"01a": 2, "01b": 1})]
    assert len(prompts(day_of(parts), now("13:00"))) == 3


def test_the_busiest_ten_minutes_are_those_with_most_prompts_and_alarms() -> None:
    """Three soaks that end at 9:20, 9:25 and 9:29 against one heat with its alarm."""
    lines: list[Line] = [*STORY, *soaked("05", "09:05"), *soaked("06", "09:09")]
    lines += [at("10:10", "05", to="fix"), at("10:10", "06", to="fix")]
    counted = rates(day_of(lines), now("13:00"))
    assert counted.busiest == 3
    alone = rates(day_of(STORY), now("13:00"))
    assert alone.busiest == 2


@pytest.mark.parametrize(
    ("acted", "stood_min"),
    [
        ([], 15.0),
        ([at("11:31", alarm="heat-01-1.1-103000", is_="acknowledged")], 6.0),
        ([at("11:27", alarm="heat-01-1.1-103000", is_="shelved", minutes=5)], 10.0),
    ],
)
def test_the_longest_an_alarm_stood_is_while_it_was_active_and_unsilenced(
    acted: list[Line], stood_min: float
) -> None:
    """From 11:25 to 11:40, less what was silenced or snoozed."""
    counted = rates(day_of([*STORY, *acted]), now("13:00"))
    assert counted.alarms == 1
    assert counted.longest_min == pytest.approx(stood_min)


OPEN = [*soaked(), at("10:20", "01", cover="open"), at("10:20", "01", to="fix")]
"""its hour open is up at 11:20, its alarm comes at 11:25"""


@pytest.mark.parametrize(
    ("after", "stood_min"),
    [
        ([], 155.0),
        ([*heated("01", "11:35", "12:25")[1:]], 10.0),
        ([at("11:40", "01", cover="wrapped")], 15.0),
        ([at("11:40", "01", cover="wrapped"), at("13:00", alarm="wait-01-102000", is_="acknowledged")], 15.0),
        ([at("12:00", event="closed")], 35.0),
        ([at("11:45", event="closed"), at("12:00", "01", note="noted afterwards")], 35.0),
    ],
    ids=["stands", "heated", "covered", "silenced when past", "closed", "noted after the close"],
)
def test_an_alarm_stood_until_its_cause_went_away_or_the_day_was_closed(after: list[Line], stood_min: float) -> None:
    """A past alarm that is silenced an hour later was answered when the yarn was covered."""
    assert rates(day_of([*OPEN, *after]), now("14:00")).longest_min == pytest.approx(stood_min)
