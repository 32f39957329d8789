"""`dyeday times` through its door: seen at the close, shown, taken over, and the forecast that goes by it."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from dyeday.store.records.times import TimesRecords
from dyeday.terms import WorkKind
from dyeday.track.durations import ObservedDuration
from tests.cli.test_commands import Shell
from tests.fakes import SHORT_DAY

SLOW = {"soak": "09:00", "paint": "10:00", "fix": "11:00", "cool": "12:00", "rinse": "14:00", "dry": "14:10"}
"""paint takes an hour where the plan gives batch 01 of Kelp Light 26 min (three skeins at 7, and 5 to set up)"""


@pytest.fixture
def shell(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Shell:
    return Shell(tmp_path / "data", capsys)


def a_day(shell: Shell, folder: Path, date: str) -> str:
    """Dye batch 01 slowly on a date, close the day, and return the session's id."""
    plan = folder / f"{date}.toml"
    plan.write_text(SHORT_DAY.read_text(encoding="utf-8").replace("2026-03-14", date), encoding="utf-8")
    assert shell("begin", str(plan)) == 0
    session = shell.out.strip()
    lines = folder / f"{date}.jsonl"
    events = [{"at": f"{date}T{time}:00Z", "batch": "01", "to": state} for state, time in SLOW.items()]
    # An hour without an entry would tell less.
    events.insert(2, {"at": f"{date}T10:30:00Z", "note": "still painting"})
    lines.write_text("".join(json.dumps(event) + "\n" for event in events), encoding="utf-8")
    assert shell("mark", "--session", session, "--from", str(lines)) == 0
    assert shell("close", "--session", session) == 0
    return session


def of_kind(shell: Shell, kind: str) -> dict[str, Any]:
    assert shell("times", "--json") == 0
    return next(each for each in json.loads(shell.out)["times"] if each["kind"] == kind)


def hands_off(shell: Shell) -> str:
    assert shell("ahead", str(SHORT_DAY), "--evaluations", "300", "--json") == 0
    return str(json.loads(shell.out)["tonight"]["hands_off"])


def test_nothing_seen_says_where_it_comes_from(shell: Shell) -> None:
    """Not an error."""
    assert shell("times") == 0
    assert "closing a day" in shell.out


def test_closed_days_tell_planned_against_actual_with_their_number(shell: Shell, tmp_path: Path) -> None:
    """Two days of 60 min where 26 were planned: 26 · exp(2/6 · ln(60/26)) is what to expect so far."""
    a_day(shell, tmp_path, "2026-03-14")
    a_day(shell, tmp_path, "2026-03-15")
    painted = of_kind(shell, "painted")
    assert (painted["planned_min"], painted["actual_min"], painted["n"]) == (26, 60, 2)
    assert painted["factor"] == pytest.approx((60 / 26) ** (2 / 6))
    assert painted["in_use"] is None
    assert of_kind(shell, "soak")["reckoned_with"] is False


def test_work_of_which_only_an_upper_limit_is_known_shows_the_limit_its_factor_comes_from(
    shell: Shell, tmp_path: Path
) -> None:
    """It was dry by the morning; when is not known. What was timed needs no sign."""
    a_day(shell, tmp_path, "2026-03-14")
    assert shell("times") == 0
    assert "<" not in shell.out
    dried = ObservedDuration(WorkKind.DRY, 1440.0, 1200.0, "01", at_most=True)
    TimesRecords(shell.data).replace_observed([("2026-03-14-1", (dried,))])
    assert shell("times") == 0
    assert re.search(r"dry .* 24 h +<20 h +1 ", shell.out)
    assert "Medians; < is an upper limit; a factor stays near 1 while few were seen." in shell.out


def test_the_forecast_goes_by_them_once_they_are_taken_over_and_until_they_are_forgotten(
    shell: Shell, tmp_path: Path
) -> None:
    """Slower paint, a later finish."""
    before = hands_off(shell)
    a_day(shell, tmp_path, "2026-03-14")
    a_day(shell, tmp_path, "2026-03-15")
    assert hands_off(shell) == before
    assert shell("times", "--take") == 0
    assert of_kind(shell, "painted")["in_use"]["n"] == 2
    assert hands_off(shell) > before
    assert shell("times", "--forget") == 0
    assert hands_off(shell) == before


def test_a_day_that_is_settled_again_is_seen_once(shell: Shell, tmp_path: Path) -> None:
    """A late note changes nothing of it."""
    session = a_day(shell, tmp_path, "2026-03-14")
    late = tmp_path / "late.jsonl"
    late.write_text('{"at": "2026-03-14T10:05:00Z", "batch": "01", "note": "a late note"}\n', encoding="utf-8")
    assert shell("mark", "--session", session, "--from", str(late)) == 0
    assert of_kind(shell, "painted")["seen"] == 1


def test_sessions_closed_before_times_were_kept_can_be_read_again(shell: Shell, tmp_path: Path) -> None:
    """Whatever was seen of them: --again has it back."""
    a_day(shell, tmp_path, "2026-03-14")
    before = of_kind(shell, "painted")
    with TimesRecords(shell.data).writing() as db:
        db.execute("DELETE FROM seen")
    assert shell("times", "--json") == 0
    assert json.loads(shell.out) == {"times": [], "kept": None}
    assert shell("times", "--again") == 0
    assert of_kind(shell, "painted") == before


def test_one_day_stretch_by_stretch(shell: Shell, tmp_path: Path) -> None:
    """Each batch with what it was given and what it took."""
    session = a_day(shell, tmp_path, "2026-03-14")
    assert shell("times", "--day", "--session", session) == 0
    assert "  01 paint: 26 min planned, 1 h actual, 2.31 times as long" in shell.lines


def test_records_that_are_damaged_take_no_forecast_away(shell: Shell, tmp_path: Path) -> None:
    """The plan's minutes stand in; asked for the times themselves, the command says so."""
    before = hands_off(shell)
    a_day(shell, tmp_path, "2026-03-14")
    (shell.data / "studio.db").write_text("{", encoding="utf-8")
    assert hands_off(shell) == before
    assert shell("times") == 1
    assert "damaged" in shell.err
