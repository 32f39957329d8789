"""Nights: summer time begins and ends while yarn dries, midnight passes, a zone is changed; true time goes on."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from dyeday.plan.reading.plan_reader import read_plan
from dyeday.track.day.day_state import Day
from dyeday.track.folding.fold import fold
from dyeday.track.timers.timers import timer_of
from dyeday.track.timestamp import Moment, time_text_near, time_text_on
from tests.fakes import SHORT_DAY, Ids
from tests.paper.sheets import summary_pages
from tests.typed_events import make


def night(start: datetime, zone: str) -> Day:
    """A day whose batch 01 was hung up at ``start``."""
    text = SHORT_DAY.read_text(encoding="utf-8").replace("[session]\n", f'[session]\nzone = "{zone}"\n', 1)
    data: dict[str, Any] = {"to": "dry"}
    return fold(read_plan(text), [make("moved", Moment(start), Ids(), batch="01", **data)])


@pytest.mark.parametrize(
    ("start", "after"),
    [
        (datetime(2026, 3, 28, 21, 0, tzinfo=UTC), "Sun 23:00"),  # Berlin 22:00, clocks go forward in the night
        (datetime(2026, 10, 24, 20, 0, tzinfo=UTC), "Sun 21:00"),  # Berlin 22:00, clocks go back in the night
        (datetime(2026, 6, 1, 20, 0, tzinfo=UTC), "Tue 22:00"),
    ],
)
def test_a_day_of_drying_is_24_hours_whatever_the_clock_on_the_wall_does(start: datetime, after: str) -> None:
    """Durations are true (IANA time zone database, Europe/Berlin 2026); only the label moves."""
    day = night(start, "Europe/Berlin")
    due = datetime.fromtimestamp(start.timestamp() + 24 * 3600, UTC)
    for moment, left in ((start, 86400.0), (due, 0.0)):
        timer = timer_of(day, day.batches["01"], Moment(moment))
        assert timer is not None
        assert timer.left_s == left
    assert time_text_on(due, "Europe/Berlin", start) == after


def test_another_zone_moves_the_labels_and_no_instant() -> None:
    """The zone is for display only."""
    start = datetime(2026, 6, 1, 22, 30, tzinfo=UTC)
    here, there = night(start, "Europe/Berlin"), night(start, "America/New_York")
    for day in (here, there):
        timer = timer_of(day, day.batches["01"], Moment(start.replace(hour=23)))
        assert timer is not None
        assert timer.left_s == 86400.0 - 3600.0
    assert "dry 00:30" in "".join(summary_pages(here, "x", Moment(start)))
    assert "dry 18:30" in "".join(summary_pages(there, "x", Moment(start)))


def test_past_midnight_the_page_says_which_day() -> None:
    """A time of the next day carries its weekday."""
    start = datetime(2026, 6, 1, 21, 30, tzinfo=UTC)
    day = night(start, "Europe/Berlin")
    later = make("moved", Moment(start.replace(hour=23)), Ids(iter(range(50, 60))), batch="02", to="dry")
    page = "".join(summary_pages(fold(day.plan, [*day.events, later]), "x", Moment(later.at)))
    assert "dry 23:30" in page
    assert "dry Tue 01:30" in page


def test_a_day_begun_after_the_date_of_its_plan_says_its_own_times_without_weekday() -> None:
    """The plan is of 14 March, the day of 1 June; before its first entry the plan's date is the day's."""
    day = night(datetime(2026, 6, 1, 10, 0, tzinfo=UTC), "Europe/Berlin")
    assert [day.time_text(datetime(2026, 6, n, 12, 0, tzinfo=UTC)) for n in (1, 2)] == ["14:00", "Tue 14:00"]
    assert fold(day.plan, ()).time_text(datetime(2026, 3, 14, 12, 0, tzinfo=UTC)) == "13:00"


@pytest.mark.parametrize(
    ("day", "said"), [(3, "12:00"), (4, "Thu 12:00"), (1, "Mon 12:00"), (9, "Tue 12:00"), (30, "12:00 on 30 Jun")]
)
def test_a_time_far_from_its_day_says_its_date(day: int, said: str) -> None:
    """A plan for another month is looked at, too; up to six days a weekday will do."""
    assert time_text_on(datetime(2026, 6, day, 12, tzinfo=UTC), "UTC", datetime(2026, 6, 3, 8, tzinfo=UTC)) == said


@pytest.mark.parametrize(
    ("hour", "said"), [(3, "03:08"), (4, "Sun 04:08")]
)  # fmt: skip
def test_a_time_read_now_has_its_weekday_beyond_twelve_hours(hour: int, said: str) -> None:
    """At 15:30 on Saturday."""
    now = datetime(2026, 5, 9, 15, 30, tzinfo=UTC)
    assert time_text_near(datetime(2026, 5, 10, hour, 8, tzinfo=UTC), "UTC", now) == said
