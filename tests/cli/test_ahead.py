"""`dyeday ahead`, and what `check` says of fit: both answers, the steps there, and what would change them."""

from __future__ import annotations

import json
import os
import re
from datetime import datetime
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from dyeday.ahead.warnings import TIGHT_MIN
from tests.cli.test_commands import Shell
from tests.fakes import HEAVY_DAY, SHORT_DAY


@pytest.fixture
def shell(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Shell:
    return Shell(tmp_path / "data", capsys)


def ahead(shell: Shell, *args: str) -> dict[str, Any]:
    assert shell("ahead", *args, "--json", "--evaluations", "150") == 0, shell.err
    answer: dict[str, Any] = json.loads(shell.out)
    return answer


def test_both_questions_are_answered_with_the_contracts_keys(shell: Shell) -> None:
    """How late tonight, how much by stop; steps, next, kit, warnings."""
    found = ahead(shell, str(SHORT_DAY))
    assert set(found) >= {"tonight", "by_stop", "fits", "steps", "next", "kit", "warnings"}
    assert found["by_stop"]["rinsed"] == found["by_stop"]["of"] == 5
    assert found["fits"] is True
    late = datetime.fromisoformat(found["tonight"]["hands_off_late"])
    assert late >= datetime.fromisoformat(found["tonight"]["hands_off"])
    assert all(set(step) >= {"batch", "step", "pass", "unit", "start", "end", "attended"} for step in found["steps"])
    assert {step["step"] for step in found["steps"]} >= {"soak", "paint", "fix", "rinse", "dry"}
    assert all(step["why"] for step in found["next"])
    assert all(0 <= unit["busy_share"] <= 1 for unit in found["kit"])


def test_the_same_evaluations_give_the_same_answer(shell: Shell) -> None:
    """A budget in evaluations instead of milliseconds repeats exactly."""
    assert ahead(shell, str(SHORT_DAY)) == ahead(shell, str(SHORT_DAY))


def test_hands_do_one_thing_at_a_time_and_no_step_starts_before_the_day(shell: Shell) -> None:
    """Attended steps never overlap; a batch's steps follow each other."""
    found = ahead(shell, str(SHORT_DAY))
    steps = [(datetime.fromisoformat(s["start"]), datetime.fromisoformat(s["end"]), s) for s in found["steps"]]
    attended = sorted((start, end) for start, end, s in steps if s["attended"])
    assert all(end <= start for (_, end), (start, _) in pairwise(attended))
    for batch in {s["batch"] for _, _, s in steps}:
        mine = [(start, end) for start, end, s in steps if s["batch"] == batch]
        assert mine == sorted(mine)


def test_a_heavy_day_does_not_fit_and_says_what_stays(shell: Shell) -> None:
    """Not fitting is an answer; --strict makes it exit 1."""
    found = ahead(shell, str(HEAVY_DAY))
    assert found["fits"] is False
    carried = found["by_stop"]["carried"]
    assert carried
    assert found["by_stop"]["rinsed"] + len(carried) == found["by_stop"]["of"] == 14
    kinds = {warned["kind"] for warned in found["warnings"]}
    assert "will-not-fit" in kinds
    assert "boil-dry" not in kinds
    fills = [step for step in found["steps"] if step["kind"] == "fill"]
    loads = [step for step in found["steps"] if step["kind"] == "load" and "steamer" in step["unit"]]
    assert {(f["unit"], f["end"]) for f in fills} <= {(s["unit"], s["start"]) for s in loads}
    assert fills
    assert found["serves"] == "by stop"
    assert found["bottleneck"]["name"]
    assert found["latest"]
    assert shell("ahead", str(HEAVY_DAY), "--evaluations", "20", "--strict") == 1


def test_a_change_says_what_it_gains_and_more_is_never_worse(shell: Shell) -> None:
    """In minutes tonight and batches by stop, from one look to the other."""
    found = ahead(shell, str(SHORT_DAY), "--with", "stop 23:00")
    assert found["gains"] == [{"change": "stop 23:00", "minutes": 0, "batches": 0}]
    (gain,) = ahead(shell, str(HEAVY_DAY), "--with", "steamer +1")["gains"]
    assert gain["minutes"] >= 0
    what_if = ahead(shell, str(SHORT_DAY), "--what-if")["gains"]
    assert {"steamer +1", "without 03"} <= {gain["change"] for gain in what_if}


def test_leaving_a_batch_out_or_stopping_later_can_be_asked(shell: Shell) -> None:
    """--without and --with change the day that is looked at, and only that."""
    assert ahead(shell, str(SHORT_DAY), "--without", "03")["by_stop"]["of"] == 4
    assert ahead(shell, str(SHORT_DAY), "--with", "stop 11:00")["fits"] is False
    more = ahead(shell, str(HEAVY_DAY), "--with", "steamer +1", "--with", "stop 23:30")
    assert any(unit["unit"] == "steamer 3" for unit in more["kit"])
    for wrong in (["--with", "kettle +1"], ["--with", "more"], ["--with", "stop 25:00"], ["--without", "99"]):
        assert shell("ahead", str(SHORT_DAY), *wrong) == 1
        assert shell.err.strip()


def test_the_rest_of_a_running_day_starts_from_what_is(shell: Shell) -> None:
    """The demo, part-way through: what is done is not planned again, what runs goes on where it is."""
    assert shell("demo", "--into", str(shell.data)) == 0
    found = ahead(shell)
    planned = {(step["batch"], step["what"]) for step in found["steps"]}
    assert not [what for batch, what in planned if batch == "01"]
    assert ("02", "rinse") in planned
    assert not [what for batch, what in planned if batch == "02" and what.startswith(("soak", "paint"))]
    speckle = [what for batch, what in planned if batch == "05"]
    assert "speckle 2" in speckle
    assert "paint 1" not in speckle
    running = next(step for step in found["steps"] if step["batch"] == "06" and step["what"] == "unload 1.1")
    assert running["unit"] == "steamer 2"


def test_the_text_has_both_answers_a_timetable_and_a_chart(shell: Shell) -> None:
    """Within the width asked for, words and signs only."""
    assert shell("ahead", str(SHORT_DAY), "--evaluations", "60", "--width", "80") == 0
    assert "all rinsed by" in shell.out
    assert "5 of 5 batches rinsed by 17:30" in shell.out
    chart = [line for line in shell.lines if line.startswith(("hands", "steamer 1"))]
    assert len(chart) == 2
    assert {"s", "p", "h", "r"} <= set(chart[0])
    assert re.search(r"\d\d==", chart[1])
    assert any(line.startswith("next: ") for line in shell.lines)
    assert max(len(line) for line in shell.lines if not line.startswith(("all rinsed", "aim:"))) <= 80


def test_the_printed_timetable_is_the_forecast_on_the_screen(shell: Shell, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of one plan: the hands' steps with the same start, batch and order, searched as long for both."""
    monkeypatch.setattr("dyeday.commands.studio_records.LONGEST_S", 600.0)  # a busy machine would end one early
    row = r"(?m)^(?:\[ \] )?(\d\d:\d\d) +(?:\d\d:\d\d|!)? +(\d\d) "
    assert shell("ahead", str(HEAVY_DAY)) == 0
    on_screen = re.findall(row, shell.out)
    assert shell("sheet", "day", str(HEAVY_DAY)) == 0
    assert len(on_screen) > 30
    assert re.findall(row, shell.out) == on_screen


def test_a_tight_start_is_planned_for_when_its_row_has_heat_on(shell: Shell) -> None:
    """Filling its tank comes before that, in a row of its own: the row with heat on is within 15 min of the last."""
    tight = r"(\d\d): [a-z0-9 ]*heat (?:on|again) by (\d\d):(\d\d), to be rinsed by".replace(" ", r"\s+")
    for evaluations in ("20", "40", "60", "80", "100"):  # which of them leaves a start tight is up to the search
        assert shell("ahead", str(HEAVY_DAY), "--evaluations", evaluations) == 0
        found = re.findall(tight, shell.out)
        for batch, hour, minute in found:
            rows = re.sub(r"\n {20,}", " ", shell.out)  # a long step goes on in the next line
            starts = re.findall(rf"(?m)^(\d\d):(\d\d) .* {batch} .*heat\b.* (?:on|again)", rows)
            assert any(0 <= 60 * (int(hour) - int(h)) + int(minute) - int(m) <= TIGHT_MIN for h, m in starts)
        if found:
            return
    pytest.fail("no start is tight")


def test_a_past_day_that_cannot_be_read_stops_no_forecast(shell: Shell) -> None:
    """Bytes turned on the disk behind a list that still knows the day as whole."""
    assert shell("begin", str(SHORT_DAY)) == 0
    assert shell("close") == 0
    assert shell("begin", str(SHORT_DAY)) == 0
    assert shell("sessions") == 0
    file = shell.data / "sessions" / "2026-03-14-1.json"
    when = file.stat()
    file.write_bytes(file.read_bytes().replace(b"closed", b"clOsed"))
    os.utime(file, ns=(when.st_atime_ns, when.st_mtime_ns))
    assert shell("sessions") == 0
    assert ahead(shell)["by_stop"]["of"] == 5


@pytest.mark.parametrize(("plan", "fits"), [(SHORT_DAY, True), (HEAVY_DAY, False)])
def test_check_says_whether_the_day_fits(shell: Shell, plan: Path, fits: bool) -> None:
    """The same as `ahead` says of it."""
    assert shell("check", str(plan), "--json") == 0
    assert json.loads(shell.out)["fits"] is fits


def test_check_names_an_order_whose_yarn_is_dry_after_its_due_day(shell: Shell, tmp_path: Path) -> None:
    plan = tmp_path / "due.toml"
    plan.write_text(SHORT_DAY.read_text(encoding="utf-8").replace("due = 2026-03-20", "due = 2026-03-14"), "utf-8")
    assert shell("check", str(plan)) == 0
    assert [line for line in shell.out.splitlines() if "is due Sat 14 Mar: its yarn is dry Sun 15 Mar" in line]


@pytest.mark.parametrize("stop", ["13:30", "15:30"])
def test_check_gives_the_times_that_ahead_gives_with_the_studios_own_days_too(
    shell: Shell, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, stop: str
) -> None:
    """Also where closed days say that a day becomes much later here, and on either side of the stop."""
    plan = tmp_path / "early.toml"
    text = SHORT_DAY.read_text(encoding="utf-8").replace('stop = "17:30"', f'stop = "{stop}"')
    plan.write_text(text, encoding="utf-8")
    monkeypatch.setattr("dyeday.commands.studio_records.scale_of", lambda days: 2.0)
    assert shell("ahead", str(plan)) == 0
    verdict = shell.out.splitlines()[:2]
    assert "rinsed by" in verdict[0]
    assert shell("check", str(plan)) == 0
    assert [line for line in shell.out.splitlines() if line in verdict] == verdict


def test_an_absurd_kit_is_said_to_be_too_much_instead_of_computed_for_minutes(shell: Shell, tmp_path: Path) -> None:
    plan = tmp_path / "kit.toml"
    trays = "".join(f'\n[[kit]]\nname = "tray {n}x"\nkind = "tray"\nunits = 99\nholds = 4\n' for n in range(500))
    plan.write_text(SHORT_DAY.read_text(encoding="utf-8") + trays, encoding="utf-8")
    assert shell("ahead", str(plan), "--budget-ms", "500") == 1
    assert "a forecast handles 300" in shell.err
