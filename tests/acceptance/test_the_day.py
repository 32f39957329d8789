"""The acceptance day of `day.md` played through the shell: its flags, its heats, its forecasts, its page."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from dyeday.cli import main
from dyeday.store import clock
from dyeday.store.sessions import Sessions
from dyeday.track.day.day_state import Day
from dyeday.track.day.fold import fold
from dyeday.track.day.progress import at_heat_min
from dyeday.track.timestamp import Now
from tests.acceptance.played import FRIDAY, Line, instant, out, soak

PLAN = Path(__file__).with_name("day.toml")
OUT = (instant("15:05"), instant("15:40"))
USABLE_MIN = 60
GARAGE_A = 13.0
GARAGE_AMPS = {"steamer 1": 1400 / 230, "steamer 2": 1400 / 230, "microwave 1": 1250 / 230}
ASKED = ("10:00", "11:30", "12:00", "14:10", "14:42", "16:35", "17:50", "20:00", "22:30")


class Played:
    """The day in a data folder of its own, asked through the commands."""

    def __init__(self, data: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
        self.data, self.capsys, self.monkeypatch = data, capsys, monkeypatch

    def run(self, *args: str) -> str:
        self.capsys.readouterr()
        status = main([args[0], "--data", str(self.data), *args[1:]])
        said, wrong = self.capsys.readouterr()
        assert status == 0, (args, wrong)
        return said

    def begin(self, lines: Sequence[Line]) -> Played:
        self.now("Thu 22:39")
        self.run("begin", str(PLAN))
        self.now("Sat 14:00")
        self.add(lines)
        return self

    def now(self, time: str) -> None:
        self.monkeypatch.setattr(clock, "now", lambda: Now(instant(time)))

    def add(self, lines: Sequence[Line]) -> None:
        file = self.data.parent / "lines.jsonl"
        file.write_text("\n".join(json.dumps(line) for line in lines) + "\n")
        self.run("mark", "--from", str(file))

    def flags(self, time: str) -> list[tuple[list[str], str]]:
        asked = json.loads(self.run("flags", "--json", "--as-of", instant(time).isoformat()))
        return [(flag["batches"], flag["rule"]) for flag in asked]

    def ahead(self, time: str) -> dict[str, Any]:
        found: dict[str, Any] = json.loads(self.run("ahead", "--json", "--as-of", instant(time).isoformat()))
        return found

    @property
    def day(self) -> Day:
        file = Sessions(self.data).newest(unfinished=False)
        assert file is not None
        return fold(file.plan, file.events)


@pytest.fixture
def played(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Played:
    return Played(tmp_path / "data", capsys, monkeypatch)


@pytest.fixture
def friday(played: Played) -> Played:
    return played.begin(FRIDAY)


WEAK, DRY = (["03"], "weak-acid"), (["13"], "boil-dry")


@pytest.mark.parametrize(
    ("time", "found"),
    [("11:30", []), ("11:40", [WEAK]), ("23:35", [WEAK]), ("Sat 00:04", [WEAK, DRY]), ("Sat 00:06", [WEAK, DRY])],
)
def test_the_day_has_its_two_flags_at_their_times(friday: Played, time: str, found: list[Any]) -> None:
    assert friday.flags(time) == found


@pytest.mark.parametrize(("batch", "minutes"), [("06", 30), ("10", 30), ("15", 40), ("14", 45)])
def test_minutes_at_heat_add_up_over_units_and_a_breakdown(friday: Played, batch: str, minutes: float) -> None:
    """06 had 18 in the steamer that tripped and 12 in the other, beside its bursts."""
    late = Now(instant("Sat 00:06"))
    runs = [run for run in friday.day.batches[batch].runs if run.unit != "microwave 1"]
    assert sum(at_heat_min(run, late) for run in runs) == pytest.approx(minutes)


def test_a_batch_from_soak_to_rack_takes_six_entries() -> None:
    """Soak, paint, a burst each, into the steam, out of it."""
    mine = [line for line in FRIDAY if "05" in (line.get("batch"), *line.get("batches", ()))]
    steps = [line for line in mine if line.get("to") != "fix" or line.get("event") == "load"]
    assert len(steps) == 6


def _time(text: str) -> datetime:
    return datetime.fromisoformat(text)


def heats(steps: Iterable[dict[str, Any]]) -> list[tuple[str, datetime, datetime]]:
    """Return (unit, since, until) of each heat once, however many batches share it."""
    found = {(s["unit"], _time(s["start"]), _time(s["end"])) for s in steps if s["kind"] == "heat"}
    return sorted(found, key=lambda heat: heat[1])


def _together(spans: Iterable[tuple[datetime, datetime]]) -> timedelta:
    """Return the time in which at least one of ``spans`` was on."""
    total, end = timedelta(), datetime.min.replace(tzinfo=UTC)
    for start, stop in sorted(spans):
        total += max(timedelta(), stop - max(start, end))
        end = max(end, stop)
    return total


@pytest.mark.parametrize("time", ASKED)
def test_every_forecast_of_the_day_keeps_heat_off_while_nobody_is_in_and_tanks_full(
    friday: Played, time: str
) -> None:
    """No heat over the school run, no tank beyond its minutes, never more than the lead carries."""
    steps = friday.ahead(time)["steps"]
    on = heats(steps)
    assert not [heat for heat in on if heat[1] < OUT[1] and heat[2] > OUT[0] and instant(time) < OUT[0]]
    for unit in ("steamer 1", "steamer 2"):
        fills = sorted(_time(s["end"]) for s in steps if s["kind"] == "fill" and s["unit"] == unit)
        mine = [heat for heat in on if heat[0] == unit]
        for since, until in zip([instant(time), *fills], [*fills, instant("Sat 23:59")], strict=True):
            # Batches of one load share its heat.
            ran = _together((max(h[1], since), min(h[2], until)) for h in mine if h[1] < until and h[2] > since)
            assert ran <= timedelta(minutes=USABLE_MIN), (unit, since)
    for moment in {heat[1] for heat in on}:
        amps = sum(GARAGE_AMPS.get(unit, 0.0) for unit in {h[0] for h in on if h[1] <= moment < h[2]})
        assert amps <= GARAGE_A
    if instant(time) >= instant("16:34"):
        assert "steamer 2" not in {step["unit"] for step in steps}
    for speck in (s for s in steps if s["kind"] == "paint" and s["batch"] in ("07", "08") and s["step"] != "paint"):
        into = [h for h in steps if h["kind"] == "heat" and speck["batch"] in h["batches"]
                and _time(h["start"]) >= _time(speck["end"])]  # fmt: skip
        assert not into or _time(into[0]["start"]) - _time(speck["end"]) <= timedelta(minutes=60)


def test_the_log_goes_back_in_with_the_same_flags_and_page(friday: Played, tmp_path: Path) -> None:
    log = friday.run("log", "--json")
    again = Played(tmp_path / "again" / "data", friday.capsys, friday.monkeypatch)
    again.data.parent.mkdir()
    again.begin([json.loads(line) for line in log.splitlines()])
    assert again.flags("Sat 00:06") == friday.flags("Sat 00:06")
    page = friday.run("summary")
    assert again.run("summary") == page


def replaced(lines: Sequence[Line], time: str, *new: Line, batch: str | None = None) -> list[Line]:
    """Return lines with those at a time (of one batch) replaced."""
    when = instant(time).isoformat()
    mine = [n for n, line in enumerate(lines) if line["at"] == when
            and (batch is None or batch in (line.get("batch"), *line.get("batches", ())))]  # fmt: skip
    assert mine
    kept = [line for n, line in enumerate(lines) if n not in mine]
    return [*kept[: mine[0]], *new, *kept[mine[0] :]]


def test_topped_up_as_offered_the_third_soak_is_not_flagged(played: Played) -> None:
    lines = replaced(FRIDAY, "10:24", soak("10:24", "03", unit="tray 1", water="kept", acid_ml=60))
    assert played.begin(lines).flags("23:35") == []


def test_enough_acid_for_two_and_a_good_reading_raise_nothing(played: Played) -> None:
    """160 mL instead of 80 for 01, then 03 in what is left with none added and pH 4.6."""
    lines = replaced(FRIDAY, "Thu 22:40", soak("Thu 22:40", "01", unit="tray 1", acid_ml=160), batch="01")
    ph = {"at": instant("11:30").isoformat(), "batch": "03", "reading": "ph", "value": 4.6}
    assert played.begin([*lines, ph]).flags("23:35") == []


def test_heat_off_within_the_tanks_minutes_raises_nothing(played: Played) -> None:
    lines = replaced(FRIDAY, "Sat 00:04", out("23:38", "13", unit="steamer 1"))
    assert played.begin(lines).flags("Sat 00:06") == [WEAK]
