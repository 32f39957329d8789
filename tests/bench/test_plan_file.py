"""The plan file changed in an editor while its day goes on: shown on the bench, listed, applied with one key."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.writing.plan_diff import differences
from tests.bench.driving import Bench, drive, quick
from tests.bench.test_hours import worked_out
from tests.fakes import SHORT_DAY, FakeClock, begun

TEXT = SHORT_DAY.read_text(encoding="utf-8")
LATER = TEXT.replace('stop = "17:30"', 'stop = "19:00"').replace("skeins = 6\n", "skeins = 7\n", 1)
TOLD = "day.toml has changed: P applies the changes"


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "day.toml"
    path.write_text(TEXT, encoding="utf-8")
    return path


def played(tmp_path: Path, file: Path, script: object) -> None:
    clock = FakeClock()
    session = begun(tmp_path, clock, file, TEXT)
    drive(tmp_path, script, session=session, clock=clock, foresee=quick)  # type: ignore[arg-type]


async def paused(bench: Bench) -> None:
    """Let a few seconds pass without a key."""
    await bench.on(0.1, away=True)


def test_a_plan_file_that_changed_is_shown_once_and_taken_with_its_changes_listed(tmp_path: Path, file: Path) -> None:
    """P, the list with what it brings, Enter."""

    async def script(bench: Bench) -> None:
        await paused(bench)
        assert "day.toml has changed" not in bench.screen
        assert "plan changed: P" not in bench.screen
        file.write_text(LATER, encoding="utf-8")
        await paused(bench)
        assert TOLD in " ".join(bench.screen.split())
        assert "plan changed: P" in bench.screen
        await worked_out(bench)
        await bench.press("P")
        await worked_out(bench)
        assert "session: stop 19:00 (was 17:30)" in bench.screen
        assert "skeins 7 (was 6)" in bench.screen
        assert re.search(r"Use the changes today: batch \d\d rinsed ", bench.screen)
        assert bench.kinds == []
        await bench.press("enter")
        assert bench.kinds == ["plan changed"]
        assert bench.session.events[-1].body.to_json()["renews"] == "dry yarn"
        assert bench.app.live.day.plan.session.stop_min == 19 * 60
        assert "day.toml: this day uses it" in bench.screen
        await paused(bench)
        assert "plan changed: P" not in bench.screen
        await bench.press("P")
        assert "day.toml has not changed since this day read it" in bench.screen

    played(tmp_path, file, script)


def test_a_changed_plan_file_that_is_not_a_plan_is_shown_with_its_line_and_not_applied(
    tmp_path: Path, file: Path
) -> None:
    async def script(bench: Bench) -> None:
        file.write_text(TEXT.replace('stop = "17:30"', 'stop = "soon"'), encoding="utf-8")
        await paused(bench)
        await bench.press("P")
        assert "day.toml:" in "".join(bench.screen.split())
        assert bench.kinds == []

    played(tmp_path, file, script)


def test_hours_changed_during_the_day_stay_where_the_file_does_not_change_them(tmp_path: Path, file: Path) -> None:
    """The stop put off on the bench outlives an order added in the file; the file's own new stop counts."""

    async def script(bench: Bench) -> None:
        await bench.press("D", "s")
        await bench.type("2030")
        await bench.press("enter", "enter")
        file.write_text(TEXT.replace("skeins = 6\n", "skeins = 7\n", 1), encoding="utf-8")
        await bench.press("P")
        assert "stop" not in bench.screen.partition("Use the changes today")[2]
        await bench.press("enter")
        assert bench.kinds[-1] == "plan changed"
        assert bench.app.live.day.plan.session.stop_min == 20 * 60 + 30
        file.write_text(LATER, encoding="utf-8")
        await bench.press("P", "enter")
        assert bench.app.live.day.plan.session.stop_min == 19 * 60

    clock = FakeClock()
    drive(tmp_path, script, session=begun(tmp_path, clock, file, TEXT), clock=clock)


def test_a_file_that_went_away_is_not_a_change(tmp_path: Path, file: Path) -> None:
    async def script(bench: Bench) -> None:
        file.unlink()
        await paused(bench)
        assert "plan changed: P" not in bench.screen

    played(tmp_path, file, script)


def test_differences_of_two_plans_are_shown_key_by_key() -> None:
    """New and gone tables by name, values with what they were, structured keys as changed."""
    before = read_plan(TEXT)
    assert differences(before, before) == []
    changed = TEXT.replace("target_ph = 4.5", "target_ph = 4.2").replace('cool = "40 min"', 'cool = "50 min"')
    rush = '[[order]]\nitem = "Rush"\ncolourway = "Tin Roof Rain"\nbase = "Plain Sock"\nskeins = 2\n'
    after = read_plan(f"{changed}\n{rush}")
    found = differences(before, after)
    assert found[0] == "acid: target ph 4.2 (was the default)"
    assert found[-1] == "order Rush, Tin Roof Rain, Plain Sock is new, 2 pieces"
    assert [line for line in found[1:-1] if line.startswith("colourway ") and "layer changed" in line] == found[1:-1]
    assert differences(after, before)[-1] == "order Rush, Tin Roof Rain, Plain Sock was removed"


def test_a_structured_key_that_goes_away_is_listed_without_its_data() -> None:
    """A second layer moves the sections of a colourway into its layers."""
    dyes = 'sections = [{ share = 100, dyes = { Peat = 1.0 } }]\nfix = ["steam 40 min"]\n'
    layer = f"[[colourway.layer]]\n{dyes}"
    one, two = (read_plan(f'{TEXT}\n[[colourway]]\nname = "Moor"\n{more}') for more in (dyes, layer + layer))
    found = differences(one, two)
    assert "colourway Moor: sections gone" in found
    assert "colourway Moor: layer changed" in found
    assert not [line for line in found if "{" in line]
