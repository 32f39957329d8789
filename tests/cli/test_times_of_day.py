"""Times of day typed at a shell: which day they are of, and what an undone one leaves behind."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path

import pytest

from dyeday.store import clock
from dyeday.track.timestamp import iso, local
from tests.cli.test_commands import Shell
from tests.fakes import SHORT_DAY, FakeClock


@pytest.fixture
def day(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Shell:
    shell = Shell(tmp_path / "data", capsys)
    assert shell("begin", str(SHORT_DAY)) == 0
    return shell


def test_a_time_of_day_still_to_come_is_not_an_entry_of_yesterday(
    day: Shell, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A clock a minute slow would put it a day back, before the day began; yesterday's late evening is meant."""
    watch = FakeClock()
    monkeypatch.setattr(clock, "now", watch)
    here = local(watch().utc, None)
    ahead = f"{here + timedelta(minutes=2):%H:%M}"
    assert day("mark", "01", "soak") == 0
    assert day("mark", "01", "paint", "--at", ahead) == 1
    assert f"{ahead} is still to come" in day.err
    assert f"{here - timedelta(days=1):%Y-%m-%d}T" in day.err
    day("log")
    assert len(day.lines) == 1
    watch.on(minutes=24 * 60)
    assert day("mark", "01", "paint", "--at", ahead) == 0
    day("log", "--json")
    assert json.loads(day.lines[-1])["at"] == iso((here + timedelta(minutes=2)).replace(second=0, microsecond=0))


def test_events_of_a_file_are_recorded_by_the_day_s_clock(day: Shell, monkeypatch: pytest.MonkeyPatch) -> None:
    """The wall clock was set two hours ahead since the day's last entry: no time has passed for its soak."""
    watch = FakeClock()
    monkeypatch.setattr(clock, "now", watch)
    assert day("mark", "01", "soak") == 0
    watch.step(hours=2)
    line = json.dumps({"at": iso(watch().utc - timedelta(hours=2)), "batch": "02", "to": "soak"})
    (day.data / "soak.jsonl").write_text(line + "\n", encoding="utf-8")
    assert day("mark", "--from", str(day.data / "soak.jsonl")) == 0, day.err
    day("log", "--json")
    assert [json.loads(each)["recorded_at"][:16] for each in day.lines] == [iso(FakeClock().utc)[:16]] * 2


def test_what_was_undone_leaves_no_time_of_day_behind(day: Shell, monkeypatch: pytest.MonkeyPatch) -> None:
    """An entry of the evening before has its weekday; it makes no tomorrow of today, nor does taking it back."""
    watch = FakeClock()
    monkeypatch.setattr(clock, "now", watch)
    assert day("mark", "01", "soak") == 0
    before = local(watch().utc - timedelta(hours=30), None)
    assert day("mark", "02", "soak", "--at", f"{before:%Y-%m-%dT%H:%M}") == 0
    day("log", "--json")
    wrong = json.loads(day.lines[-1])["id"]
    strike = json.dumps({"at": iso(watch().utc), "strikes": wrong, "why": "mistyped"})
    (day.data / "strike.jsonl").write_text(strike + "\n", encoding="utf-8")
    day("log")
    today = f"{local(watch().utc, None):%a }"
    assert f"{before:%a %H:%M} 02" in day.out
    assert today not in day.out
    assert day("mark", "--from", str(day.data / "strike.jsonl")) == 0, day.err
    day("log")
    assert today not in day.out


def test_a_clock_set_back_moves_no_entry_of_any_command_before_the_days_last(
    day: Shell, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A cleared flag, a delivery and a changed plan follow the day's clock; the flags stay, and so does the order."""
    watch = FakeClock()
    monkeypatch.setattr(clock, "now", watch)
    changed = tmp_path / "plan.toml"
    text = SHORT_DAY.read_text(encoding="utf-8")
    changed.write_text(text, encoding="utf-8")
    assert day("begin", "--new", str(changed)) == 0, day.err
    for state in ("soak", "paint"):
        watch.on(minutes=5)
        assert day("mark", "01", state) == 0, day.err
    watch.step(hours=-2)
    watch.on(minutes=1)
    assert day("flags", "--resolve", "01", "short-soak", "--why", "soaked at home") == 0, day.err
    assert day("shelf", "--received", "Peat", "--amount", "50 g") == 0, day.err
    changed.write_text(text.replace('stop = "17:30"', 'stop = "18:30"'), encoding="utf-8")
    assert day("begin", "--take-changes", str(changed)) == 0, day.err
    day("log", "--json")
    rows = [json.loads(line) for line in day.lines]
    assert [row["at"] for row in rows] == sorted(row["at"] for row in rows)
    assert [row["event"] for row in rows[2:]] == ["resolved", "received", "plan changed"]
    assert day("flags", "--all") == 0
    assert "short-soak" in day.out
    assert "missed-acid-soak" in day.out
