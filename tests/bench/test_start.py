"""What is seen where no day is running: everything by one key, and what cannot be read in the list."""

from __future__ import annotations

import asyncio
from datetime import date
from pathlib import Path

import pytest
from textual.widgets import Static

from dyeday.bench.screens.start_screen import StartAction, StartChoices, StartScreen, choices, new_file, plan_files
from dyeday.plan.library import EMPTY, Library
from dyeday.plan.model import Base, Colourway
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.store.session_form import Listed
from tests.bench.driving import screen_text
from tests.bench.setup_keys import DAY, start_app
from tests.plan.test_mistakes import SOUND

SET_UP = Library(bases=(Base("Sock", (("wool", 100.0),), 100.0),), colourways=(Colourway("Peat", ()),))


def _put(folder: Path, name: str, text: str = SOUND) -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_setup_comes_first_where_no_studio_is_there_yet() -> None:
    first = choices(StartChoices(), DAY)
    assert [(choice.key, choice.do) for choice in first] == [
        ("s", StartAction.SETUP),
        ("n", StartAction.NEW),
        ("O", StartAction.OTHER),
        ("d", StartAction.DEMO),
    ]


def test_todays_plan_then_days_that_go_on_then_plans_each_have_a_key(tmp_path: Path) -> None:
    _put(tmp_path, "bad.toml", "[session]\nname = ")
    _put(tmp_path, "day.toml")
    days = (Listed("2026-03-13-1", "Friday", "2026-03-13", "", False, 3, 9, ""),)
    found = StartChoices(plan_files(tmp_path, EMPTY), days, SET_UP)
    seen = choices(found, DAY)
    assert [choice.key for choice in seen] == ["t", "1", "2", "3", "n", "O", "s", "d"]
    assert seen[0].words == "today's plan, 'Saturday': 1 order; begins its day"
    assert seen[1].words == "running: 'Friday', Fri 13 Mar 2026"
    words = {choice.words: choice.wrong for choice in seen}
    assert words["day.toml: 'Saturday', Sat 14 Mar 2026, 1 order"] == ""
    assert "line 2: cannot read this line" in words["bad.toml cannot be read"]


def test_a_plan_whose_day_is_closed_is_not_offered_to_be_begun_again(tmp_path: Path) -> None:
    """Return would dye every order twice; another day of that name, or one still open, hinders nothing."""
    _put(tmp_path, "day.toml")
    for day, closed, keys in (("14", True, "1n"), ("14", False, "t12n"), ("13", True, "t1n")):
        days = (Listed(f"2026-03-{day}-1", "Saturday", f"2026-03-{day}", "", closed, 3, 9, ""),)
        seen = choices(StartChoices(plan_files(tmp_path, EMPTY), days, SET_UP), DAY)
        assert "".join(choice.key for choice in seen).startswith(keys)
        assert ("its day is closed" in "".join(choice.words for choice in seen)) is (keys == "1n")


def test_a_new_plan_is_for_the_next_day_without_one(tmp_path: Path) -> None:
    _put(tmp_path, "day.toml")
    _put(tmp_path, "2026-03-15.toml", SOUND.replace("03-14", "03-17"))
    assert new_file(tmp_path, plan_files(tmp_path, EMPTY), DAY) == ("2026-03-16.toml", date(2026, 3, 16))


def test_a_plan_is_changed_and_its_day_begun_by_keys(tmp_path: Path) -> None:
    path = _put(tmp_path, "day.toml")
    app = start_app(tmp_path)

    async def script() -> None:
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause()
            await pilot.press("1")
            await pilot.pause()
            await pilot.press("plus", "b")
            await pilot.pause()

    asyncio.run(script())
    assert app.return_value == (StartAction.BEGIN, str(path))
    assert read_plan(path.read_text(encoding="utf-8")).orders[0].skeins == 4


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("gone.toml", "no colourway is set up"),
        ("x" * 300, "file name too long"),
        ("~no such person/plan.toml", "there is no such home folder"),
    ],
    ids=["gone", "too long", "of an unknown user"],
)
def test_a_plan_that_cannot_be_read_is_said_where_no_day_goes_on(tmp_path: Path, name: str, why: str) -> None:
    assert why in _message_after(tmp_path, ["O"], [*name, "enter"], size=(600, 24))


def test_escape_leaves_no_program_from_its_first_screen(tmp_path: Path) -> None:
    """One Esc too many on the way back from a form."""
    assert "press q to leave" in _message_after(tmp_path, ["s", "escape", "escape"])


def test_n_says_what_a_new_plan_needs_where_no_studio_is_set_up(tmp_path: Path) -> None:
    assert "a new plan needs a base and a colourway: press s" in _message_after(tmp_path, ["n"])


def _message_after(folder: Path, *bursts: list[str], size: tuple[int, int] = (80, 24)) -> str:
    """Return what the start screen says after bursts of keys that lead back to it; then q ends it with no answer."""
    app = start_app(folder)
    seen: list[str] = []

    async def script() -> None:
        async with app.run_test(size=size) as pilot:
            await pilot.pause()
            for keys in bursts:
                await pilot.press(*keys)
                await pilot.pause()
            assert isinstance(app.screen, StartScreen)
            seen.append(str(app.screen.query_one("#form-message", Static).render()))
            await pilot.press("q")

    asyncio.run(script())
    assert app.return_value is None
    return seen[0]


def test_the_chosen_line_is_marked_as_in_every_list(tmp_path: Path) -> None:
    """The sign stands before it and moves with it; no key's letter is lost."""
    _put(tmp_path, "day.toml")
    app = start_app(tmp_path)

    async def script() -> None:
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause()
            before = [line for line in screen_text(app).split("\n") if line.strip()]
            assert before[1].startswith("▶s ")
            await pilot.press("down")
            await pilot.pause()
            after = [line for line in screen_text(app).split("\n") if line.strip()]
            assert after[1].startswith(" s ")
            assert [n for n, line in enumerate(after) if "▶" in line] == [2]
            assert after[2][1] == before[2][1] != " "
            await pilot.press("q")

    asyncio.run(script())
