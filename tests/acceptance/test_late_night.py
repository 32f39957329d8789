"""The example of a night before a fair, played through the shell: a steamer dies, fifty minutes go by unrecorded."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from dyeday.terms import State
from dyeday.track.day.batch_record import BatchRecord, Heat
from dyeday.track.day.progress import at_heat_min
from dyeday.track.timestamp import Moment
from tests.acceptance.as_foreseen import Line, as_foreseen
from tests.acceptance.test_home_day import AHEAD, Home, on_times
from tests.acceptance.test_the_day import printed_pages
from tests.fakes import HEAVY_DAY
from tests.paper.browser import CHROMIUM

PLAN = HEAVY_DAY.with_name("late-night.toml")
USABLE_MIN = 56
"""of the 70 that a tank lasts, less the reserve of a fifth"""
AMPS = {"steamer 1": 1400 / 230, "steamer 2": 1400 / 230, "microwave 1": 1200 / 230}
LEAD_A = 13.0


def at(time: str) -> datetime:
    hour, minute = map(int, time.split(":"))
    return datetime(2026, 10, 16, hour, minute, tzinfo=UTC)


BEGIN, DIES, QUIET, BACK, END = at("13:00"), at("17:30"), at("20:00"), at("20:50"), at("23:50")


class Night(Home):
    plan = PLAN
    begins = BEGIN
    dies = DIES
    """when the steamer is found dead: once the hands are free"""
    called_away = False
    """whether nothing is done in the fifty minutes without an entry"""

    def follow(self, since: datetime, until: datetime) -> datetime:
        """Follow what is advised at ``since`` up to ``until``; return when the last thing begun was done."""
        self.at(since)
        steps = json.loads(self.run(*AHEAD, "--json"))["steps"]
        lines = as_foreseen(steps, self.pour_ml, since.isoformat()[:16], until.isoformat()[:16])
        for line in lines:
            moment = datetime.fromisoformat(line["at"])
            # For fifty minutes nothing is entered; then all of it is, at the times it happened.
            quiet = QUIET <= moment < BACK
            if quiet and self.called_away:
                continue
            self.at(BACK if quiet else moment)
            if not self._goes_on(line):
                self.add([line])
        return max([until, *(datetime.fromisoformat(line["at"]) for line in lines)])

    def _goes_on(self, line: Line) -> bool:
        return line.get("to") == "paint" and self.day.batches[line["batch"]].state is State.PAINT

    def lived(self) -> Night:
        self.began()
        weighed = json.loads(self.run("weigh", "--json", str(PLAN)))
        self.pour_ml = {one["batch"]: one["soak"]["pour_ml"] for one in weighed["batches"]}
        self.dies = self.follow(BEGIN, DIES)
        self.at(self.dies)
        self.add([{"at": self.dies.isoformat(), "unit": "steamer 2", "is": "down"}])
        back = self.follow(self.dies, BACK)
        if not self.called_away:
            self.follow(back, END)
            self.at(END)
        return self


def steamings(batch: BatchRecord) -> list[Heat]:
    """Return the stretches of steam a batch had, oldest first."""
    return [run for run in batch.heats if run.unit and run.unit.startswith("steamer")]


@pytest.fixture
def night(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Night:
    return Night(tmp_path / "data", capsys, monkeypatch)


def test_a_night_followed_as_advised_runs_no_tank_low_and_goes_on_where_a_steamer_died(night: Night) -> None:
    """The lead carries two steamers, 12.2 of 13 A; one batch had part of its 30 min when steamer 2 died."""
    on = on_times(night.lived())
    assert [one for one in on if one[2] - one[1] > timedelta(minutes=USABLE_MIN)] == []
    for moment in {since for _, since, _ in on}:
        amps = sum(AMPS[unit] for unit, since, off in on if since <= moment < off)
        assert amps <= LEAD_A
    assert not [one for one in on if one[0] == "steamer 2" and one[2] > night.dies]
    assert max(off for _, _, off in on) <= at("23:30")
    late = [event for event in night.day.events if event.is_late]
    assert len(late) >= 5
    assert all(QUIET <= event.at < BACK <= event.recorded_at for event in late)
    broken = [batch for batch in night.day.unsplit if len({run.unit for run in steamings(batch)}) == 2]
    assert len(broken) == 1
    first, second = (at_heat_min(run, Moment(END)) for run in steamings(broken[0]))
    assert 0 < first < 30
    assert first + second == 30


def test_a_night_followed_as_advised_raises_no_flag_and_its_page_and_log_are_true(night: Night) -> None:
    """What is left painted is listed with how long it is safe; the page is two sides at most."""
    night.lived()
    assert json.loads(night.run("flags", "--json", "--all")) == []
    page = night.run("summary")
    assert re.search(r"\d\d painted, wrapped, safe until Sat \d\d:\d\d", " ".join(page.split()))
    assert "page 1 of 2" in page
    if CHROMIUM is not None:
        assert printed_pages(night) <= 2
    ahead = json.loads(night.run(*AHEAD, "--json"))["steps"]
    assert "steamer 2" not in {step["unit"] for step in ahead if step["start"] >= END.isoformat()[:16]}
    said = night.run(*AHEAD)
    assert "in microwave 1 overnight" not in said
    assert "rinsed by 23:30" not in said
    log = night.run("log", "--json")
    again = Night(night.data.parent / "again", night.capsys, night.monkeypatch)
    again.began()
    again.at(END)
    again.add([json.loads(line) for line in log.splitlines()])
    assert json.loads(again.run("flags", "--json", "--all")) == []
    assert again.run("summary") == page
    assert json.loads(again.run(*AHEAD, "--json"))["steps"] == ahead


def test_heat_forgotten_in_the_fifty_minutes_is_the_one_flag_of_the_night(night: Night) -> None:
    """The control: steamer 1 stays on until 20:50, longer than the 56 usable min of its tank."""
    night.called_away = True
    night.lived()
    night.at(BACK)
    on = {batch.no: run for batch in night.day.unsplit if (run := batch.open_heat) and run.unit == "steamer 1"}
    (start,) = {run.start.utc for run in on.values()}
    off = {"event": "load", "batches": sorted(on), "to": "cool", "pass": min(run.heat_no for run in on.values())}
    night.add([{"at": BACK.isoformat(), **off, "run": "end"}])
    found = json.loads(night.run("flags", "--json"))
    assert [(flag["rule"], flag["batches"]) for flag in found] == [("boil-dry", sorted(on))]
    assert f"{(BACK - start).total_seconds() / 60:.0f} of 70 min" in found[0]["why"]
