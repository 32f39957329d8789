"""Clock and terminal trouble on the bench, by keys and a clock that is set; and the paw on the keyboard."""

from __future__ import annotations

import random
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from dyeday.bench.input.bench_keys import DONE_BY, SMEAR_S, WORD, Do
from dyeday.bench.live_session import EventDraft
from dyeday.store.sessions import Sessions
from dyeday.terms import State
from dyeday.track.events.remarks import Noted
from dyeday.track.events.rewriting import Redone, Undone
from dyeday.track.folding.fold import fold
from tests.bench.driving import Bench, FakeHand, drive
from tests.fakes import HEAVY_DAY, SHORT_DAY, FakeClock, begun, impatient, zoned
from tests.typed_events import make


@pytest.mark.parametrize(
    ("start", "label"),
    [
        (datetime(2026, 3, 28, 21, 0, tzinfo=UTC), "08:00"),  # Berlin goes from +1 to +2 in this night
        (datetime(2026, 10, 24, 20, 0, tzinfo=UTC), "06:00"),  # and back from +2 to +1 in this one
    ],
)
def test_summer_time_changes_in_a_nights_drying_and_no_minute_is_lost(
    tmp_path: Path, start: datetime, label: str
) -> None:
    """Nine hours later fifteen of the twenty-four are left (IANA time zone database, Europe/Berlin 2026)."""
    clock = FakeClock(utc=start)

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "m", "6")
        await bench.on(9 * 60, away=True)
        assert label in bench.screen.split("\n")[0]
        assert "15 h left" in bench.row("01")

    text = zoned("Europe/Berlin")
    drive(tmp_path, script, clock=clock, session=begun(tmp_path, clock, SHORT_DAY, text))


def test_a_day_opened_in_another_zone_has_other_labels_and_the_same_minutes(tmp_path: Path) -> None:
    """The session's own zone stays on screen, whatever the computer's is."""
    clock = FakeClock(utc=datetime(2026, 6, 1, 22, 30, tzinfo=UTC))
    session = begun(tmp_path, clock, SHORT_DAY, zoned("America/New_York"))

    async def first(bench: Bench) -> None:
        await bench.press("0", "1", "m", "1")
        assert "18:30" in bench.screen.split("\n")[0]

    async def again(bench: Bench) -> None:
        assert "18:42" in bench.screen.split("\n")[0]
        assert "8 min left" in bench.row("01")

    drive(tmp_path, first, session=session, clock=clock)
    clock.on(12)
    drive(tmp_path, again, session=Sessions(tmp_path).open(session.about.id), clock=clock)


def test_a_day_runs_past_midnight_and_its_times_say_so(tmp_path: Path) -> None:
    """What happened a quarter of an hour ago needs no weekday, nor does a flag of the new date; the timers go on."""
    clock = FakeClock(utc=datetime(2026, 6, 1, 23, 50, tzinfo=UTC))

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "m", "1")
        await bench.on(15)
        assert "00:05" in bench.screen.split("\n")[0]
        assert "5 min left" in bench.row("01")
        assert "01: 23:50 to soak" in bench.screen
        await bench.on(6)
        assert "ready 00:10" in bench.row("01")
        await bench.press("0", "1", "m", "2", "f")
        assert "since 00:11" in bench.screen
        assert "Tue" not in bench.screen

    drive(tmp_path, script, clock=clock, session=begun(tmp_path, clock, SHORT_DAY, zoned("UTC")))


def test_resized_to_ten_by_three_and_back_nothing_is_lost_and_alarms_still_show(tmp_path: Path) -> None:
    """The smallest shows the alarm and what to do; back at 80 x 24 all rows stand again, and a question is kept."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "3", "space", "enter")
        before = [line[2:27] for line in bench.screen.split("\n") if line[2:4].isdigit()]
        await bench.resize(10, 3)
        await bench.on(56)
        lines = bench.screen.split("\n")
        assert len(lines) <= 3
        assert all(len(line) <= 10 for line in lines)
        assert "04" in bench.screen
        assert "!" in bench.screen
        await bench.press("v")
        assert "04" in bench.screen
        await bench.press("v", "r", "p")
        await bench.resize(80, 24)
        assert "04 pH" in bench.screen
        await bench.press("escape")
        assert [line[2:27] for line in bench.screen.split("\n") if line[2:4].isdigit()] == before
        assert "04 steam 40 min is up" in bench.screen

    drive(tmp_path, script)


def test_back_from_the_shell_what_came_due_meanwhile_is_shown(tmp_path: Path) -> None:
    """ctrl+z for an hour: on return the alarm stands, sounds once, and what happened is listed."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "3", "space", "enter")
        assert DONE_BY["ctrl+z"] is Do.SUSPEND
        rung = bench.ring.times
        bench.clock.on(60)
        bench.app.app_resume_signal.publish(bench.app)
        await bench.settle()
        assert bench.ring.times == rung + 1
        assert "Asleep for 1 h" in bench.screen
        assert "! 04 steam 40 min is up" in bench.screen
        await bench.press("escape")
        assert "04 steam 40 min is up" in bench.screen.split("\n")[2]

    drive(tmp_path, script)


def paw() -> FakeHand:
    """Keys a hundredth of a second apart: 500 of them in five seconds."""
    return FakeHand(0.01, 0.0)


@pytest.mark.parametrize("seed", [20, 3, 77])
def test_five_hundred_random_keys_in_five_seconds_move_no_batch_twice_and_can_all_be_undone(
    tmp_path: Path, seed: int
) -> None:
    """It locks; unlocked, `z` undoes every step there was."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "m", "1", "0", "4", "m", "3", "space", "enter")
        before = len(bench.session.events)
        untouched = {no: (b.state, b.skeins, b.tag) for no, b in bench.app.live.day.batches.items()}
        bench.app.key_time = paw()
        rng = random.Random(seed)  # noqa: S311 - a paw, not a secret
        keys = [*"abcdefghijklmnopqrstuvwxyz0123456789", "space", "enter", "escape", "up", "down", "f5"]
        for _press in range(500):
            bench.send(rng.choice(keys))
        await bench.settle()
        assert bench.app.is_running
        assert bench.app.key_watch.locked
        mashed = bench.session.events[before:]
        assert "guard on" in [event.body.NAME for event in mashed]
        moves = Counter(event.batch for event in mashed if event.body.NAME in ("moved", "pass"))
        assert all(count <= 1 for count in moves.values())
        bench.app.unlock()
        bench.app.key_time = lambda event: event.time
        await bench.settle()
        while bench.app.screen is not bench.app.bench:
            await bench.press("escape")
        steps = [event for event in mashed if event.body.IS_TIMED]
        bench.app.key_time = FakeHand(1.0, 1000.0)
        for _step in steps:
            await bench.press("z", "enter")
        day = fold(bench.session.plan, bench.session.events)
        assert {event.id for event in steps} <= day.void_ids
        assert {no: (b.state, b.skeins, b.tag) for no, b in day.batches.items()} == untouched

    drive(tmp_path, script, plan=SHORT_DAY)


@pytest.mark.parametrize("opens", ["c", "f", "l", "question_mark"])
def test_a_burst_that_opens_a_screen_has_the_key_lock_on_top_of_it(tmp_path: Path, opens: str) -> None:
    """What is seen is why no key acts and how to go on; once unlocked, the bench is there."""

    async def script(bench: Bench) -> None:
        bench.app.key_time = paw()
        bench.app.bench.smear_s = SMEAR_S
        for key in (opens, *"zmbrxdsgnow"):
            bench.send(key)
        await bench.settle()
        while not bench.app.key_watch.locked:
            for key in "zmbrxdsgnow":
                bench.send(key)
            await bench.settle()
        bench.app.key_time = FakeHand(1.0, 1000.0)
        await bench.press("escape")
        assert "KEYS LOCKED since" in bench.screen
        await bench.press(*WORD, "enter")
        assert bench.app.screen is bench.app.bench

    drive(tmp_path, script, plan=SHORT_DAY)


def test_a_screen_that_was_on_its_way_when_the_keys_lock_is_under_the_lock(tmp_path: Path) -> None:
    """A screen opens a moment after its key, so a key before the lock may open one after it."""

    async def script(bench: Bench) -> None:
        bench.app.lock("mashed")
        await bench.settle()
        bench.app.bench.do(Do.FLAGS)
        await bench.settle()
        await bench.press("escape")
        assert "KEYS LOCKED since" in bench.screen
        await bench.press(*WORD, "enter")
        assert bench.app.screen is bench.app.bench

    drive(tmp_path, script, plan=SHORT_DAY)


@pytest.mark.parametrize("seed", [0, 4, 11])
def test_what_a_toddler_records_in_five_minutes_undo_takes_back_and_after_the_lock_it_records_nothing(
    tmp_path: Path, seed: int
) -> None:
    """One key a second, any unshifted one, while a steaming runs over its time: day and bench stay open."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "m", "1", "0", "4", "m", "3", "space", "enter")
        await bench.on(90)
        before = len(bench.session.events)
        day = bench.app.live.day
        untouched = (day.batches, day.units, day.alarm_acts)
        bench.app.key_time = FakeHand(1.0, 1000.0)
        rng = random.Random(seed)  # noqa: S311 - a toddler, not a secret
        keys = [*"abcdefghijklmnopqrstuvwxyz0123456789,.-", "space", "enter", "escape", "tab", "backspace"]
        keys += ["up", "down", "left", "right"]
        recorded = []
        for _second in range(300):
            bench.clock.on(seconds=1)
            was_locked = bench.app.key_watch.locked
            recorded.append(len(bench.session.events))
            await bench.press(rng.choice(keys))
            assert bench.app.is_running
            assert bench.app.return_code is None
            assert not (was_locked and len(bench.session.events) > recorded[-1])
        assert bench.app.key_watch.locked
        bench.app.unlock()
        await bench.settle()
        while bench.app.screen is not bench.app.bench:
            await bench.press("escape")
        assert bench.app.live.day.closed is None
        live = bench.app.live
        its = {event.id for event in bench.session.events[before:]}
        while live.last_entry()[0].id in its:
            await bench.press("z", "enter")
        # What it undid of before is redone, as z does with any entry of the log.
        dead = [event.id for event in live.day.events[:before] if event.id in live.day.void_ids]
        live.record(*(EventDraft(Redone(target_id=name)) for name in dead))
        day = bench.app.live.day
        assert (day.batches, day.units, day.alarm_acts) == untouched

    drive(tmp_path, script)


@pytest.mark.parametrize(("keys", "locks"), [(("z", "enter"), False), (("Z", "y"), False), (("m", "escape"), True)])
def test_a_chain_of_entries_is_undone_and_redone_at_a_key_a_second_without_the_lock(
    tmp_path: Path, keys: tuple[str, str], *, locks: bool
) -> None:
    """Thirty of them in a minute; any other question put and left as often is a child."""

    async def script(bench: Bench) -> None:
        for n in range(30):
            bench.app.live.record(EventDraft(Noted(note=f"{n}"), "01"))
        if keys[0] == "Z":
            for _entry in range(30):
                bench.app.live.record(EventDraft(Undone(target_id=bench.app.live.last_entry()[0].id)))
        before = len(bench.session.events)
        bench.app.key_time = FakeHand(1.0, 1000.0)
        for _time in range(30):
            await bench.press(*keys)
        assert bench.app.key_watch.locked is locks
        assert locks or len(bench.session.events) == before + 30

    drive(tmp_path, script)


@pytest.mark.parametrize("keys", [("space",) * 6, ("m", "n", "m", "n")])
def test_a_held_key_and_its_neighbours_open_one_question_at_most(tmp_path: Path, keys: tuple[str, ...]) -> None:
    """A thumb resting on the space bar, a glove on m and n: nothing is on record, and one escape leads back."""

    async def script(bench: Bench) -> None:
        bench.app.key_time = paw()
        for key in keys:
            bench.send(key)
        await bench.settle()
        bench.app.key_time = FakeHand(1.0, 1000.0)
        await bench.press("escape")
        assert bench.app.screen is bench.app.bench
        assert bench.session.events == ()

    drive(tmp_path, script, plan=HEAVY_DAY)


def test_a_split_that_another_shell_undoes_takes_its_parts_from_under_page_and_question(tmp_path: Path) -> None:
    """The page of a part says that the part is gone; the question for its tag ends; the bench goes on."""

    async def script(bench: Bench) -> None:
        for parts, about in (("02", "page"), ("01", "tag")):
            await bench.press(*parts, "e", "s")
            await bench.type("2 1")
            await bench.press("enter", *(("enter", "enter", "f") if about == "page" else ()))
            split = [event for event in bench.session.events if event.body.NAME == "split"][-1]
            shell = bench.second_shell()
            shell.add([make("struck", bench.clock(), lambda n=parts: f"struck-{n}", strikes=split.id)])  # type: ignore[misc]
            await bench.on(0)
            if about == "page":
                assert "this batch was undone" in bench.screen
            await bench.press("escape" if about == "page" else "enter")
            assert bench.app.screen is bench.app.bench
            assert "waiting" in bench.row(parts)

    drive(tmp_path, script)


def test_a_folder_pulled_out_under_a_bench_that_watches_ends_nothing(tmp_path: Path) -> None:
    """It goes on watching, and records once the folder is back and the other bench has gone."""
    clock = FakeClock()
    first = begun(tmp_path / "stick", clock)
    assert first.claim_bench()

    async def script(bench: Bench) -> None:
        (tmp_path / "stick").rename(tmp_path / "pulled")
        await bench.on(1)
        assert "(read-only)" in bench.screen
        (tmp_path / "pulled").rename(tmp_path / "stick")
        first.release_bench()
        await bench.on(1)
        assert "this one records now" in bench.screen

    watched = Sessions(tmp_path / "stick").open(first.about.id)
    drive(tmp_path, script, session=watched, clock=clock, read_only=True)


def test_the_log_of_a_bench_that_watches_rewrites_nothing(tmp_path: Path) -> None:
    """Its foot has no key for it either."""
    clock = FakeClock()
    first = begun(tmp_path, clock)
    assert first.claim_bench()
    first.add([make("moved", clock(), lambda: "first", batch="01", to="soak")])

    async def script(bench: Bench) -> None:
        await bench.press("l")
        assert "to soak" in bench.screen
        assert "void" not in bench.screen
        await bench.press("z", "enter", "c", "t", "5", "enter", "enter")
        assert bench.kinds == ["moved"]

    drive(tmp_path, script, session=Sessions(tmp_path).open(first.about.id), clock=clock, read_only=True)


def test_the_banner_of_an_alarm_names_its_key_only_where_it_silences(tmp_path: Path) -> None:
    """Not on a bench that watches; as soon as it records, there it is."""
    clock = FakeClock()
    first = begun(tmp_path, clock, text=impatient(SHORT_DAY.read_text(encoding="utf-8")))
    assert first.claim_bench()
    heat: dict[str, Any] = {"pass": 1, "run": "start", "unit": "steamer 1"}
    first.add([make("moved", clock(), lambda: "first", batch="04", to="fix")])
    first.add([make("pass", clock(), lambda: "second", batch="04", **heat)])
    clock.on(56)

    async def script(bench: Bench) -> None:
        banner = bench.screen.split("\n")[2]
        assert "04 steam 40 min is up" in banner
        assert "[a]" not in banner
        first.release_bench()
        await bench.on(0)
        assert "[a]" in bench.screen.split("\n")[2]

    drive(tmp_path, script, session=Sessions(tmp_path).open(first.about.id), clock=clock, read_only=True)


def test_an_earlier_entry_that_comes_in_does_not_choose_another_one_in_the_log(tmp_path: Path) -> None:
    """What stands in reverse is what z undoes; the new line is seen at the next tick."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "m", "1")
        await bench.on(30)
        await bench.press("0", "2", "m", "1", "l")
        late = make("moved", bench.clock(), lambda: "late", batch="03", to="soak", minutes_ago=10)
        bench.second_shell().add([late])
        await bench.on(0)
        assert "03 to soak" in bench.screen
        await bench.press("z", "enter")
        day = fold(bench.session.plan, bench.session.events)
        assert {day.batches[no].state for no in ("01", "03")} == {State.SOAK}
        assert day.batches["02"].state == State.WAITING

    drive(tmp_path, script)
