"""Times of day where clocks are put forward or back: in Paris on 29 March and 25 October 2026, both at 01:00 UTC.

The dates and hours are those of Directive 2000/84/EC: the last Sundays of March and October, at 01:00 UTC.
"""

from __future__ import annotations

import json
import os
import re
import time
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dyeday.ahead.forecast import forecast
from dyeday.ahead.from_day import problem_of
from dyeday.ahead.problem_parts.hours import wall
from dyeday.ahead.problem_parts.session_days import DAYS_AHEAD
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.store import clock
from dyeday.track.folding.fold import begin
from dyeday.track.timestamp import (
    ChangedClockError,
    Moment,
    StillToComeError,
    instants_of,
    last_time,
    local,
    time_text_from,
    wall_instant,
)
from dyeday.track.typed_entries import minutes_ago
from tests.cli.test_commands import Shell
from tests.fakes import SHORT_DAY

PARIS = "Europe/Paris"
SPRING, AUTUMN = date(2026, 3, 29), date(2026, 10, 25)
pytestmark = pytest.mark.skipif(not hasattr(time, "tzset"), reason="this computer's zone cannot be set here")


@pytest.fixture(params=[PARIS, None], ids=["by the plan's zone", "by this computer's"])
def zone(request: pytest.FixtureRequest) -> Iterator[str | None]:
    """Paris, once as the plan's zone and once as the computer's own."""
    before = os.environ.get("TZ")
    os.environ["TZ"] = "UTC" if request.param else PARIS
    time.tzset()
    yield request.param
    if before is None:
        os.environ.pop("TZ")
    else:
        os.environ["TZ"] = before
    time.tzset()


def utc(day: date, hour: int, minute: int = 0) -> datetime:
    return datetime(day.year, day.month, day.day, hour, minute, tzinfo=UTC)


def test_a_time_before_the_change_typed_after_it_is_that_instant(zone: str | None) -> None:
    """01:55 typed at 03:30 of the spring night is 00:55 UTC, 35 minutes before; 01:55 in autumn is 23:55 UTC."""
    assert last_time(1, 55, zone, Moment(utc(SPRING, 1, 30))) == utc(SPRING, 0, 55)
    assert last_time(1, 55, zone, Moment(utc(AUTUMN, 2, 30))) == utc(AUTUMN, 0) - timedelta(minutes=5)
    assert last_time(23, 0, zone, Moment(utc(SPRING, 10))) == utc(SPRING, 0) - timedelta(hours=2)


def test_a_time_that_was_left_out_is_refused(zone: str | None) -> None:
    with pytest.raises(ChangedClockError, match="02:30 does not exist on 29 Mar"):
        last_time(2, 30, zone, Moment(utc(SPRING, 4)))
    assert instants_of(datetime(2026, 3, 29, 2, 30), zone) == ()  # noqa: DTZ001 - as clocks show it


def test_both_of_a_time_that_came_twice_can_be_named(zone: str | None) -> None:
    after, between = Moment(utc(AUTUMN, 4)), Moment(utc(AUTUMN, 1, 10))
    with pytest.raises(ChangedClockError, match="write 02:30A for the first, 02:30B for the second"):
        last_time(2, 30, zone, after)
    assert last_time(2, 30, zone, after, letter="A") == utc(AUTUMN, 0, 30)
    assert last_time(2, 30, zone, after, letter="B") == utc(AUTUMN, 1, 30)
    assert last_time(2, 30, zone, between) == utc(AUTUMN, 0, 30)
    with pytest.raises(StillToComeError, match="the second 02:30 is still to come"):
        last_time(2, 30, zone, between, letter="B")
    assert minutes_ago("02:30b", after, zone) == 150
    assert minutes_ago("2:30A", after, zone) == 210
    assert time_text_from(utc(AUTUMN, 0, 30), zone, AUTUMN) == "02:30A"
    assert time_text_from(utc(AUTUMN, 1, 30), zone, AUTUMN) == "02:30B"
    assert time_text_from(utc(AUTUMN, 2, 30), zone, AUTUMN) == "03:30"


def test_an_hour_before_midnight_that_comes_twice_has_its_letters() -> None:
    """Chile's clocks go back at 03:00 UTC on 5 April 2026: to 23:00 in Santiago, to 21:00 on Easter Island."""
    santiago, day = "America/Santiago", date(2026, 4, 4)
    shown = [time_text_from(utc(date(2026, 4, 5), hour, 30), santiago, day) for hour in (1, 2, 3, 4)]
    assert shown == ["22:30", "23:30A", "23:30B", "Sun 00:30"]
    shown = [time_text_from(utc(date(2026, 4, 5), hour, 30), "Pacific/Easter", day) for hour in (1, 2, 3, 4)]
    assert shown == ["20:30", "21:30A", "21:30B", "22:30"]


@pytest.mark.parametrize(("zone", "day", "hour", "first"), [
    ("America/Nuuk", date(2022, 10, 29), 22, utc(date(2022, 10, 30), 0, 30)),
    ("Asia/Baku", date(2015, 10, 25), 4, utc(date(2015, 10, 24), 23, 30)),
])  # fmt: skip
def test_an_older_entry_too_has_the_letters_of_its_hour(zone: str, day: date, hour: int, first: datetime) -> None:
    """Clocks went back at 23:00 in Nuuk until 2022, and at 05:00 in Baku until 2015."""
    shown = [time_text_from(first + timedelta(hours=more), zone, day) for more in (0, 1)]
    assert shown == [f"{hour:02}:30A", f"{hour:02}:30B"]


def test_an_entry_is_stored_at_the_hour_it_names(
    zone: str | None, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Through the shell: left out, twice, once with its letter, with a date and with an offset."""
    plan = tmp_path / "plan.toml"
    plan.write_text(_plan(AUTUMN, zone), encoding="utf-8")
    monkeypatch.setattr(clock, "now", lambda: Moment(utc(AUTUMN, 4)))
    shell = Shell(tmp_path / "data", capsys)
    assert shell("begin", str(plan)) == 0, shell.err
    assert shell("mark", "01", "--note", "which", "--at", "02:30") == 1
    assert "02:30A for the first" in shell.err
    for note, at in (("first", "02:30A"), ("second", "02:30b"), ("dated", "2026-10-25T02:30B"),
                     ("offset", "2026-10-25T02:30+02:00")):  # fmt: skip
        assert shell("mark", "01", "--note", note, "--at", at) == 0, shell.err
    shell("log", "--json")
    stored = {json.loads(line)["note"]: json.loads(line)["at"] for line in shell.lines}
    assert stored == {"first": "2026-10-25T00:30:00Z", "second": "2026-10-25T01:30:00Z",
                  "dated": "2026-10-25T01:30:00Z", "offset": "2026-10-25T00:30:00Z"}  # fmt: skip
    shell("log")
    assert "02:30A" in shell.out
    assert "02:30B" in shell.out


@given(minutes=st.lists(st.integers(0, 4 * 1440), min_size=2).map(sorted), day=st.sampled_from([SPRING, AUTUMN]))
def test_times_of_a_plan_follow_each_other_and_show_what_the_plan_says(minutes: list[int], day: date) -> None:
    """Whatever the change does between them; only in the hour left out do they show another time."""
    found = [wall_instant(day, minute, PARIS) for minute in minutes]
    assert all(one <= two for one, two in pairwise(found))
    for minute, moment in zip(minutes, found, strict=True):
        here = local(moment, PARIS)
        if not (day == SPRING and 120 <= minute < 180):
            assert (here.hour * 60 + here.minute, here.date()) == (minute % 1440, day + timedelta(minute // 1440))


def _plan(day: date, zone: str | None) -> str:
    text = SHORT_DAY.read_text(encoding="utf-8").replace("date = 2026-03-14", f"date = {day}")
    assert f"date = {day}" in text
    text = re.sub(r"^tomorrow = .*$", 'tomorrow = ["10:00-13:00"]', text, count=1, flags=re.MULTILINE)
    assert 'tomorrow = ["10:00-13:00"]' in text
    return text.replace("[session]\n", f'[session]\nzone = "{zone}"\n', 1) if zone else text


@pytest.mark.parametrize("change", [SPRING, AUTUMN], ids=["spring", "autumn"])
def test_tomorrows_hours_begin_when_clocks_show_them(zone: str | None, change: date) -> None:
    """Hands from 10:00 to 13:00 of the day of the change, planned on the evening before."""
    plan = read_plan(_plan(change - timedelta(days=1), zone))
    day, now = begin(plan), Moment(wall(plan, plan.session.stop_min - 60))
    begins, ends = problem_of(day, now, for_end=False).windows[-DAYS_AHEAD]
    assert ends is not None
    midnight = wall(plan, 0)
    assert [f"{local(midnight + timedelta(minutes=m), zone):%d %H:%M}" for m in (begins, ends)] == [
        f"{change.day} 10:00", f"{change.day} 13:00"]  # fmt: skip
    found = forecast(day, now, evaluations=20, warn=False)
    later = [step.start for step in found.steps if step.attended and step.start >= utc(change, 0)]
    assert later
    assert f"{local(min(later), zone):%H:%M}" == "10:00"


@pytest.mark.parametrize("change", [SPRING, AUTUMN], ids=["spring", "autumn"])
def test_the_day_of_the_change_begins_and_stops_by_its_clocks(zone: str | None, change: date) -> None:
    plan = read_plan(_plan(change, zone))
    start = Moment(wall(plan, plan.session.start_min))
    found = forecast(begin(plan), start, evaluations=20, warn=False)
    session = plan.session
    for shown, minutes in ((start.utc, session.start_min), (found.stop, session.stop_min)):
        here = local(shown, zone)
        assert here.hour * 60 + here.minute == minutes
    on_an_ordinary_day = read_plan(_plan(change + timedelta(days=7), zone))
    begins = Moment(wall(on_an_ordinary_day, session.start_min))
    usual = forecast(begin(on_an_ordinary_day), begins, evaluations=20, warn=False)
    assert found.finish - start.utc == usual.finish - begins.utc
