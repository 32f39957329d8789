"""The example of a day at home, played through the shell as its forecast advises."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from dyeday.store import clock
from dyeday.track.timestamp import Moment
from tests.acceptance.as_foreseen import as_foreseen
from tests.acceptance.test_the_day import Played, printed_pages
from tests.fakes import HEAVY_DAY
from tests.paper.browser import CHROMIUM

PLAN = HEAVY_DAY.with_name("home-day.toml")
AT = [datetime(2026, 9, 12, hour, minute, tzinfo=UTC) for hour, minute in ((9, 0), (15, 0))]
END = datetime(2026, 9, 12, 23, tzinfo=UTC)
OUT = (datetime(2026, 9, 12, 14, 30, tzinfo=UTC), datetime(2026, 9, 12, 15, 30, tzinfo=UTC))
USABLE_MIN = 40
AHEAD = ("ahead", "--evaluations", "300")
"""counted, so that a busy machine plans the same day"""
STEAMER_A, CIRCUIT_A = 1300 / 230, 13.0


class Home(Played):
    plan = PLAN
    begins = AT[0]

    def at(self, moment: datetime) -> None:
        self.monkeypatch.setattr(clock, "now", lambda: Moment(moment))

    def began(self) -> Home:
        self.at(self.begins)
        self.run("begin", str(self.plan))
        return self

    def lived(self) -> Home:
        """Follow what is advised at nine, and from the hour out on what is advised then."""
        self.began()
        weighed = json.loads(self.run("weigh", "--json", str(PLAN)))
        pour_ml = {one["batch"]: one["soak"]["pour_ml"] for one in weighed["batches"]}
        for since, until in pairwise([*AT, END]):
            self.at(since)
            steps = json.loads(self.run(*AHEAD, "--json"))["steps"]
            for line in as_foreseen(steps, pour_ml, since.isoformat()[:16], until.isoformat()[:16]):
                self.at(datetime.fromisoformat(line["at"]))
                self.add([line])
        self.at(END)
        return self


@pytest.fixture
def home(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Home:
    return Home(tmp_path / "data", capsys, monkeypatch)


def on_times(home: Home) -> list[tuple[str, datetime, datetime]]:
    """Return (unit, on, off) of every heat of the record."""
    return [
        (str(run.unit), run.start.utc, run.end.utc)
        for batch in home.day.batches.values()
        for run in batch.heats
        if run.end is not None
    ]


def test_a_day_at_home_followed_as_advised_has_no_heat_while_out_and_no_tank_run_low(home: Home) -> None:
    """Each heat is off before the door closes and within the 40 of a tank's 50 min; two steamers are 11.3 of 13 A."""
    on = on_times(home.lived())
    assert len(on) == len(home.day.batches) == 9
    assert not [one for one in on if one[1] < OUT[1] and one[2] > OUT[0]]
    assert [one for one in on if one[2] - one[1] > timedelta(minutes=USABLE_MIN)] == []
    for moment in {since for _, since, _ in on}:
        assert sum(STEAMER_A for _, since, off in on if since <= moment < off) <= CIRCUIT_A
    assert all(batch.state.value == "dry" for batch in home.day.batches.values())


def test_a_day_at_home_followed_as_advised_raises_no_flag_and_goes_back_in(home: Home) -> None:
    """Nothing that was offered and taken is a question; its log goes back in as the same day."""
    home.lived()
    assert json.loads(home.run("flags", "--json")) == []
    page = home.run("summary")
    ahead = _without_time(home.run(*AHEAD, "--json"))
    log = home.run("log", "--json")
    again = Home(home.data.parent / "again", home.capsys, home.monkeypatch).began()
    again.at(END)
    again.add([json.loads(line) for line in log.splitlines()])
    assert json.loads(again.run("flags", "--json")) == []
    assert again.run("summary") == page
    assert _without_time(again.run(*AHEAD, "--json")) == ahead


def test_the_page_of_a_day_at_home_is_one_page(home: Home) -> None:
    home.lived()
    home.run("close")
    assert "page 1 of 1" in home.run("summary")
    if CHROMIUM is not None:
        assert printed_pages(home) == 1


def _without_time(said: str) -> Any:
    return json.loads(said)["steps"]


def test_a_steamer_left_on_while_out_is_a_flag_and_a_warning_before(home: Home) -> None:
    """The control: 01 into steam at 14:20 is warned of at once; by 15:30 it was alone and its tank has run low."""
    home.began()
    dose = {one["batch"]: one["soak"]["pour_ml"] for one in json.loads(home.run("weigh", "--json"))["batches"]}
    soaked = {"at": "2026-09-12T13:00:00Z", "event": "load", "batches": ["01"], "unit": "tray 1", "to": "soak"}
    home.at(datetime(2026, 9, 12, 14, 21, tzinfo=UTC))
    home.add([
        {**soaked, "water": "new", "acid_ml": dose["01"]},
        {"at": "2026-09-12T13:50:00Z", "batch": "01", "to": "paint"},
        {"at": "2026-09-12T14:20:00Z", "event": "load", "batches": ["01"], "unit": "steamer 1", "to": "fix",
         "tank": "filled", "pass": 1, "run": "start"},
    ])  # fmt: skip
    warned = json.loads(home.run(*AHEAD, "--json"))["warnings"]
    assert [one["about"] for one in warned if one["kind"] == "left-alone"] == ["steamer 1"]
    home.at(datetime(2026, 9, 12, 15, 30, tzinfo=UTC))
    assert [one["rule"] for one in json.loads(home.run("flags", "--json"))] == ["boil-dry", "left-alone"]
