"""The plan made and changed at the bench: its file keeps what people wrote, the forecast answers."""

from __future__ import annotations

import asyncio
import re
from datetime import date, timedelta
from pathlib import Path

import pytest

from dyeday.ahead.foreseen_steps import Forecast
from dyeday.bench.plain_app import ScreenApp
from dyeday.bench.prompts.prompts import name_of
from dyeday.bench.screens.plan_desk import desk_of
from dyeday.bench.screens.plan_orders import PlanScreen
from dyeday.commands.screens.demo import make_demo
from dyeday.files.durable import FileLock
from dyeday.plan.model import Order
from dyeday.plan.orders.order_editor import DraftError, count_of, day_named, due_of
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.store.records.library import LibraryRecords
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import Moment
from tests.bench.driving import Bench, drive, quick
from tests.fakes import SHORT_DAY, FakeClock, begun

HOUSE_RAIN = ("a", "2", "1")
"""Tin Roof Rain on Plain Sock, as the example's colourways and bases stand"""


@pytest.fixture
def day(tmp_path: Path) -> Path:
    path = tmp_path / "day.toml"
    path.write_bytes(SHORT_DAY.read_bytes())
    return path


async def foreseen(bench: Bench) -> None:
    await bench.app.workers.wait_for_complete()
    await bench.settle()


@pytest.mark.parametrize("name", ["2026-W49", "20261130", "2026-W49-1", "monday"])
def test_only_a_whole_date_names_the_day_of_a_plan(name: str) -> None:
    assert day_named(Path("2026-11-30.toml")) == date(2026, 11, 30)
    assert day_named(Path(f"{name}.toml")) is None


def test_an_order_is_picked_counted_dated_and_saved_into_plan_and_day(tmp_path: Path, day: Path) -> None:
    """The file only grew; the day has its batch; `begin` finds nothing changed."""

    async def script(bench: Bench) -> None:
        before = day.read_text(encoding="utf-8")
        await bench.press("O", *HOUSE_RAIN)
        await bench.type("3")
        await bench.press("enter")
        await bench.type("+7")
        await bench.press("enter")
        assert "day.toml, not saved: 5 orders, 20 pieces" in bench.screen
        assert day.read_text(encoding="utf-8") == before
        await bench.press("w")
        assert "is saved, and this day uses it" in bench.screen
        after = day.read_text(encoding="utf-8")
        assert after.startswith(before)
        made = read_plan(after)
        assert made.orders[-1] == Order(
            "Tin Roof Rain / Plain Sock", "Tin Roof Rain", "Plain Sock", 3, date(2026, 3, 21)
        )
        await bench.press("escape")
        assert any(b.colourway.name == "Tin Roof Rain" and b.skeins == 3 for b in bench.app.live.day.unsplit)
        assert bench.session.events[-1].body.NAME == "plan changed"
        from dyeday.store.session_form import digest_of

        assert bench.session.about.digest == digest_of(after)

    drive(tmp_path / "data", script, plan=day)


def test_the_forecast_answers_while_a_count_is_typed(tmp_path: Path, day: Path) -> None:
    """Before it is taken the top line says what it would be with this."""

    async def script(bench: Bench) -> None:
        await bench.press("O")
        await foreseen(bench)
        first = bench.screen.split("\n")[0]
        assert "finish" in first
        assert "with this" not in first
        await bench.press(*HOUSE_RAIN)
        await bench.type("40")
        await foreseen(bench)
        assert "rinsed by stop 17:30, finish" in bench.screen.split("\n")[0]
        await bench.press("escape")
        await foreseen(bench)
        assert bench.screen.split("\n")[0].split("finish")[1] == first.split("finish")[1]

    drive(tmp_path / "data", script, plan=day, foresee=quick)


def test_orders_are_changed_put_in_order_removed_and_taken_back(tmp_path: Path, day: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("O", "+", "down", "e", "t", "x")
        assert "removed Shop, rain" in bench.screen
        await bench.press("z", "x", "z", "w")
        text = day.read_text(encoding="utf-8")
        orders = read_plan(text).orders
        assert [(o.item, o.skeins, o.sample) for o in orders[:2]] == [
            ("Shop, rain", 4, True),
            ("March parcels", 7, False),
        ]
        kept = [line for line in SHORT_DAY.read_text(encoding="utf-8").split("\n") if line.startswith("#")]
        assert all(line in text for line in kept)

    drive(tmp_path / "data", script, plan=day)


def test_the_demos_orders_are_changed_like_any_days(tmp_path: Path) -> None:
    """Its plan lies beside its day, with the hours the day has; the example and a demo before it stay as they are."""
    clock = FakeClock()
    make_demo(tmp_path, clock())
    first = (tmp_path / "demo.toml").read_bytes()
    session = make_demo(tmp_path, clock())

    async def script(bench: Bench) -> None:
        await bench.press("O", "+", "w")
        assert "demo2.toml is saved, and this day uses it" in bench.screen
        assert bench.session.events[-1].body.NAME == "plan changed"

    drive(tmp_path, script, session=session, clock=clock)
    assert (tmp_path / "demo.toml").read_bytes() == first
    made = read_plan((tmp_path / "demo2.toml").read_text(encoding="utf-8"))
    assert made.session == session.plan.session
    assert made.orders[0].skeins == session.plan.orders[0].skeins + 1


def test_leaving_with_changes_asks_once_and_leaves_the_file_alone(tmp_path: Path, day: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("O", "+", "escape")
        assert "not saved" in bench.screen
        await bench.press("escape")
        assert "[?] keys" in bench.screen
        assert day.read_bytes() == SHORT_DAY.read_bytes()
        assert bench.session.events == ()

    drive(tmp_path / "data", script, plan=day)


def test_a_plan_that_changed_meanwhile_is_not_overwritten(tmp_path: Path, day: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("O", "+")
        other = day.read_text(encoding="utf-8") + "# a word by another hand\n"
        day.write_text(other, encoding="utf-8")
        await bench.press("w")
        assert "was changed by another program just now" in bench.screen
        assert day.read_text(encoding="utf-8") == other

    drive(tmp_path / "data", script, plan=day)


def test_a_plan_saved_while_the_session_cannot_be_is_what_the_day_goes_by_all_the_same(
    tmp_path: Path, day: Path
) -> None:
    """Another program has the session's lock: it says so, and the session has the plan once the lock is free."""

    async def script(bench: Bench) -> None:
        hanging = FileLock(bench.session.path.with_suffix(".lock"))
        assert hanging.grab()
        await bench.press("O", "+", "w")
        assert "only in memory so far" in bench.screen
        hanging.release()
        await bench.press("escape")
        await bench.on(1)
        assert [event.body.NAME for event in bench.second_shell().events] == ["plan changed"]

    drive(tmp_path / "data", script, plan=day)


def test_a_plan_of_another_day_or_gone_is_said(tmp_path: Path, day: Path) -> None:
    async def script(bench: Bench) -> None:
        day.write_bytes(SHORT_DAY.read_bytes().replace(b"date = 2026-03-14", b"date = 2026-03-15"))
        await bench.press("O")
        assert "is for Sun 15 Mar 2026, not for this day" in bench.screen
        day.unlink()
        await bench.press("O")
        assert "check its name" in bench.screen

    # Wide: the message names the file, and temporary folders have names of any length.
    drive(tmp_path / "data", script, plan=day, size=(240, 24))


def test_a_plan_is_made_from_the_library_where_there_was_none(tmp_path: Path) -> None:
    """Names only: kit, bases, dyes and colourways are the library's."""
    data, path = tmp_path / "data", tmp_path / "new.toml"
    with pytest.raises(DraftError, match="no colourway is set up; `dyeday setup`"):
        desk_of(path, data, FakeClock())
    LibraryRecords(data).take(read_plan(SHORT_DAY.read_text(encoding="utf-8")))
    desk = desk_of(path, data, FakeClock())
    assert desk.day_of(desk.draft) is None
    with pytest.raises(DraftError, match="no order yet"):
        desk.save()
    desk.change(desk.draft.with_order(Order("Shop", "Ember Walk", "Hill DK", 4)))
    made = desk.day_of(desk.draft)
    assert made is not None
    assert [b.skeins for b in made[0].unsplit] == [4]
    desk.save()
    text = path.read_text(encoding="utf-8")
    assert "[[colourway]]" not in text
    assert read_plan(text, LibraryRecords(data).library()).orders == desk.draft.orders


def test_a_plan_made_after_its_day_began_is_forecast_from_now(tmp_path: Path) -> None:
    """Its start is over and its stop is not; before the start and after the stop it is computed from the start."""
    day = tmp_path / "day.toml"
    day.write_text(SHORT_DAY.read_text(encoding="utf-8"), encoding="utf-8")
    clock = FakeClock()
    desk = desk_of(day, tmp_path / "data", clock)
    made = desk.day_of(desk.draft)
    assert made is not None
    start = made[1].utc
    for hours, begins in ((-3, start), (4, None), (40, start)):
        clock.utc = start + timedelta(hours=hours)
        made = desk.day_of(desk.draft)
        assert made is not None
        assert made[1].utc == (begins or clock.utc)


def test_a_change_that_makes_no_plan_is_refused_and_nothing_is_changed(tmp_path: Path, day: Path) -> None:
    desk = desk_of(day, tmp_path / "data", FakeClock())
    before = desk.draft
    with pytest.raises(DraftError, match="out of range"):
        desk.draft.with_keys(0, {"skeins": 6000})
    while len(desk.draft.orders) > 1:
        desk.change(desk.draft.without(0))
    with pytest.raises(DraftError, match="one order or more"):
        desk.draft.without(0)
    while desk.undo():
        pass
    assert desk.draft == before


def test_two_orders_of_one_yarn_get_items_of_their_own(tmp_path: Path, day: Path) -> None:
    draft = desk_of(day, tmp_path / "data", FakeClock()).draft
    order = Order("Shop", "Ember Walk", "Hill DK", 1)
    assert [o.item for o in draft.with_order(order).with_order(order).orders[-2:]] == ["Shop", "Shop 2"]


def test_what_is_typed_is_understood_or_said_to_be_wrong() -> None:
    saturday = date(2026, 3, 14)
    assert [due_of(text, saturday) for text in ("-", "+7", "2026-04-01")] == [
        None, date(2026, 3, 21), date(2026, 4, 1)
    ]  # fmt: skip
    assert [name_of(text, ["Bog", "Bogland", "Fen"]) for text in ("bog", "bogl", "fenn")] == ["Bog", "Bogland", "Fen"]
    for wrong in (lambda: due_of("soon", saturday), lambda: count_of("0"), lambda: name_of("b", ["Bog", "Bat"])):
        with pytest.raises(ValueError, match=r"write|several"):
            wrong()


def test_without_a_session_the_plan_has_a_screen_of_its_own(tmp_path: Path, day: Path) -> None:
    """Changed, saved, left: the app ends and the file has it."""
    app = ScreenApp(PlanScreen(desk_of(day, tmp_path / "data", FakeClock()), None))

    async def script() -> None:
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("down", "plus", "w", "escape")
            await pilot.pause()

    asyncio.run(script())
    assert app.return_code == 0
    assert [order.skeins for order in read_plan(day.read_text(encoding="utf-8")).orders] == [6, 5, 4, 2]
    assert not (tmp_path / "data" / "sessions").exists()


def test_a_new_plan_has_the_hours_the_water_and_the_acid_of_the_latest_day(tmp_path: Path) -> None:
    """Written out, so that they can be looked at; what is on hand is the shelf's."""
    data, clock = tmp_path / "data", FakeClock()
    before = begun(data, clock).plan
    LibraryRecords(data).take(before)
    clock.on(24 * 60)
    desk = desk_of(tmp_path / "new.toml", data, clock)
    desk.change(desk.draft.with_order(Order("Shop", "Ember Walk", "Hill DK", 4)))
    made = desk.draft.plan
    assert made is not None
    assert (made.water, made.chores, made.session.stop_min) == (before.water, before.chores, before.session.stop_min)
    assert (made.acid.strength_pct, made.acid.on_hand, made.session.date) == (5.0, None, date(2026, 3, 15))
    assert 'alkalinity = "210 mg/L"' in desk.draft.text


def test_the_chosen_order_has_a_sign_and_no_name_is_cut_while_there_is_room(tmp_path: Path, day: Path) -> None:
    """At 80 columns a sample's name is whole; at 40 something is cut, and no line runs over the edge."""

    async def script(bench: Bench) -> None:
        await bench.press("O", "t")
        rows = bench.screen.split("\n")
        assert any(row.startswith("▶") and "sample: Kelp Light on Plain Sock" in row for row in rows)
        await bench.press("down")
        assert any(row.startswith("▶") and "Tin Roof Rain on Sock Mini" in row for row in bench.screen.split("\n"))
        assert bench.screen.split("\n")[-1].endswith("[esc] back")
        await bench.resize(40, 24)
        assert "…" in bench.screen
        assert all(len(line) <= 40 for line in bench.screen.split("\n"))
        assert bench.screen.split("\n")[-1].endswith("[esc] back")

    drive(tmp_path, script, plan=day)


def test_a_forecast_of_the_plan_that_fails_is_said_and_the_plan_can_be_saved(tmp_path: Path, day: Path) -> None:
    """A worker's error stands where the forecast would, with what to do."""

    def fragile(_day: Day, _now: Moment, _before: Forecast | None) -> Forecast:
        raise OverflowError("too far")

    async def script(bench: Bench) -> None:
        await bench.press("O")
        await foreseen(bench)
        assert "Forecast failed; the plan can be saved. Your next change tries again." in bench.screen

    drive(tmp_path / "data", script, plan=day, size=(120, 30), foresee=fragile)


def test_on_a_wide_screen_the_chosen_order_stands_in_full_beside_the_list(tmp_path: Path, day: Path) -> None:
    """Its batches with when they are rinsed come with the forecast; a narrow screen has the list alone."""

    async def script(bench: Bench) -> None:
        await bench.press("O", "down")
        await foreseen(bench)
        orders = read_plan(day.read_text(encoding="utf-8")).orders
        pane = [line.split("│ ")[-1].strip() for line in bench.screen.split("\n") if "│" in line]
        assert pane[0] == f"{orders[1].item}: {orders[1].colourway} on {orders[1].base}"
        assert "no due date" in pane
        lines = pane[pane.index("Its batches") + 1 :]
        batches = [
            batch for batch in bench.app.live.day.unsplit if any(item == orders[1].item for item, _ in batch.shares)
        ]
        assert batches
        for batch, line in zip(batches, lines, strict=False):
            assert line.startswith(f"{batch.no}: {batch.skeins} ")
            assert re.search(r"rinsed by (\w{3} )?\d\d:\d\d$", line)
        await bench.press("+")
        assert "Its batches" not in bench.screen, "told of another plan"
        await bench.resize(80, 24)
        assert "│" not in bench.screen

    drive(tmp_path / "data", script, plan=day, foresee=quick, size=(140, 40))
