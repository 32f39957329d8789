"""An earlier time typed on the bench in the nights in which clocks are put forward or back, as in Paris in 2026.

The dates and hours are those of Directive 2000/84/EC: the last Sundays of March and October, at 01:00 UTC.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tests.bench.driving import Bench, drive
from tests.fakes import SHORT_DAY, FakeClock, zoned

PARIS = "Europe/Paris"
SPRING, AUTUMN = datetime(2026, 3, 29, 1, tzinfo=UTC), datetime(2026, 10, 25, 1, tzinfo=UTC)
pytestmark = pytest.mark.skipif(not hasattr(time, "tzset"), reason="this computer's zone cannot be set here")


@pytest.fixture(params=[PARIS, None], ids=["by the plan's zone", "by this computer's"])
def text(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """A plan: Paris, once as its own zone and once as the computer's."""
    with monkeypatch.context() as patched:
        patched.setenv("TZ", "UTC" if request.param else PARIS)
        time.tzset()
        yield zoned(request.param) if request.param else SHORT_DAY.read_text(encoding="utf-8")
    time.tzset()


@pytest.mark.parametrize(
    ("change", "hours_later", "typed", "minutes_before"),
    [
        (SPRING, 0.5, "01:55", 35),
        (SPRING, 0.5, "03:10", 20),
        (AUTUMN, 3, "02:30A", 210),
        (AUTUMN, 3, "02:30b", 150),
        (AUTUMN, 1.5, "01:55", 155),
        (AUTUMN, 0.25, "02:30", 45),
    ],
)
def test_the_next_entry_counts_at_the_hour_that_was_typed(
    tmp_path: Path, text: str, change: datetime, hours_later: float, typed: str, minutes_before: int
) -> None:
    """In spring 01:55 is 35 minutes before 03:30; in autumn each of the two 02:30 can be named."""
    now = change + timedelta(hours=hours_later)
    text = text.replace("date = 2026-03-14", f"date = {change:%Y-%m-%d}")

    async def script(bench: Bench) -> None:
        await bench.press("b")
        await bench.type(typed)
        await bench.press("enter", "m", "1")
        (event, *_) = bench.session.events
        assert event.recorded_at - event.at == timedelta(minutes=minutes_before)

    drive(tmp_path, script, text=text, clock=FakeClock(utc=now))


@pytest.mark.parametrize(
    ("change", "hours_later", "said"),
    [(SPRING, 0.75, "02:30 does not exist on 29 Mar"), (AUTUMN, 3, "02:30A for the first")],
)
def test_an_hour_left_out_or_come_twice_is_shown_and_nothing_is_backdated(
    tmp_path: Path, text: str, change: datetime, hours_later: float, said: str
) -> None:
    """02:30 without a letter; the question stays."""
    text = text.replace("date = 2026-03-14", f"date = {change:%Y-%m-%d}")

    async def script(bench: Bench) -> None:
        await bench.press("b")
        await bench.type("02:30")
        await bench.press("enter")
        assert said in " ".join(bench.screen.split())
        await bench.press("escape", "m", "1")
        (event, *_) = bench.session.events
        assert event.recorded_at == event.at

    drive(tmp_path, script, text=text, clock=FakeClock(utc=change + timedelta(hours=hours_later)))
