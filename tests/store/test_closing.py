"""Closing a day: one place from which every book takes it in, whoever closed it, and whatever stops a step."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import pytest

from dyeday.store import closing
from dyeday.store.closing import ClosedDay
from dyeday.store.durable import StoreError
from dyeday.track.events.event import make
from tests.fakes import FakeClock, Ids, begun


class Steps:
    """Closing steps that note what they were given; the one called ``fails`` refuses."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, fails: str = "") -> None:
        self.seen: list[tuple[str, int]] = []
        self.fails = fails
        monkeypatch.setattr(closing, "ON_CLOSE", tuple((name, self.step(name)) for name in ("shelf", "book")))

    def step(self, name: str) -> closing.Step:
        def taken(closed: ClosedDay) -> Iterable[str]:
            if name == self.fails:
                raise StoreError("the disk is full", "make room")
            self.seen.append((name, len(closed.day.events)))
            return [f"{name} has {closed.session_id}"]

        return taken


def test_the_steps_run_in_order_when_a_day_is_closed_and_again_when_it_gets_later_entries(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not before the close; after it for every entry."""
    steps = Steps(monkeypatch)
    clock, ids = FakeClock(), Ids()
    session = begun(tmp_path, clock)
    session.add([make("note", clock(), ids, note="before")])
    assert steps.seen == []
    session.add([make("closed", clock(), ids)])
    assert steps.seen == [("shelf", 2), ("book", 2)]
    assert session.settled is not None
    assert session.settled.told == ("shelf has 2026-03-14-1", "book has 2026-03-14-1")
    session.add([make("note", clock(), ids, note="after")])
    assert steps.seen[2:] == [("shelf", 3), ("book", 3)]


def test_a_day_whose_closing_was_struck_is_not_taken_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is open again."""
    steps = Steps(monkeypatch)
    clock, ids = FakeClock(), Ids()
    session = begun(tmp_path, clock)
    end = make("closed", clock(), ids)
    session.add([end])
    seen = len(steps.seen)
    session.add([make("struck", clock(), ids, strikes=end.id)])
    assert len(steps.seen) == seen


def test_a_step_that_fails_is_told_stops_those_after_it_and_costs_no_entry(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The day stays closed; the steps come again with the next entry."""
    steps = Steps(monkeypatch, fails="shelf")
    clock, ids = FakeClock(), Ids()
    session = begun(tmp_path, clock)
    session.add([make("closed", clock(), ids)])
    assert session.settled is not None
    assert session.settled.trouble == (
        "the day is closed, but shelf could not take it in: the disk is full; make room"
    )
    assert steps.seen == []
    assert len(session.events) == 1
    steps.fails = ""
    session.settle()
    assert [name for name, _ in steps.seen] == ["shelf", "book"]
