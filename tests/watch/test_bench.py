"""The key of the page on the bench: one question, the address shown, the bench says while it is on."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from dyeday.ahead.advising.next_up import NextUp
from dyeday.bench.watch_link import CannotShowError, PhonePage
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import Moment
from tests.bench.driving import Bench, drive
from tests.watch.served import get, served


class FakePage:
    """Notes what it was given."""

    url = "http://192.168.1.20:8000/secret/"
    code: Sequence[str] = ("█▀▀█", "▀▀▀▀")

    def __init__(self, fails: bool = False) -> None:
        self.fails = fails
        self.is_on = True
        self.shown: list[Day] = []
        self.ended = ""

    def show(self, day: Day, now: Moment, items: Sequence[NextUp], found: Any, *, unsaved: bool = False) -> None:
        if self.fails:
            raise ZeroDivisionError
        self.shown.append(day)

    def end(self, why: str) -> None:
        self.ended = why

    def close(self) -> None:
        self.is_on = False


def with_page(bench: Bench, page: FakePage) -> list[bool]:
    """Give the bench a page; return what it was opened for, as it is."""
    asked: list[bool] = []

    def opens(network: bool) -> FakePage:
        asked.append(network)
        return page

    bench.app.phone_page = PhonePage(opens)
    return asked


def test_it_is_off_until_asked_for_and_then_shows_the_live_day_and_says_so(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        page = FakePage()
        asked = with_page(bench, page)
        await bench.on(1)
        assert (page.shown, "page on" in bench.screen) == ([], False)
        await bench.press("W")
        assert "this computer only" in bench.screen
        await bench.press("n")
        assert asked == [True]
        assert "http://192.168.1.20:8000/secret/" in bench.screen
        assert "█▀▀█" in bench.screen
        assert "Never leave heat unattended" in bench.screen
        assert "not encrypted" in bench.screen
        await bench.press("escape")
        assert "(phone page on)" in bench.screen.split("\n")[0]
        await bench.press("0", "1", "space", "enter")
        await bench.on(0.1)
        assert page.shown[-1] is bench.app.live.day
        assert bench.kinds

    drive(tmp_path, script)


def test_a_page_for_this_computer_sends_no_phone_to_its_address(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        asked = with_page(bench, FakePage())
        await bench.press("W", "c")
        assert asked == [False]
        assert "A page for this computer" in bench.screen
        assert "Open this address in a browser on this computer" in " ".join(bench.screen.split())
        assert "█▀▀█" not in bench.screen
        assert "Scan the code" not in bench.screen
        assert "Never leave heat unattended" in bench.screen

    drive(tmp_path, script)


def test_its_key_switches_it_off_again(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        page = FakePage()
        asked = with_page(bench, page)
        await bench.press("W", "c", "escape", "W", "c")
        assert "secret" in bench.screen
        await bench.press("escape", "W", "x")
        assert asked == [False]
        assert page.ended == "it was switched off at the bench"
        assert "page on" not in bench.screen
        assert "is off" in bench.screen

    drive(tmp_path, script)


def test_it_stops_at_the_close_of_the_day_and_is_not_started_after(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        page = FakePage()
        asked = with_page(bench, page)
        await bench.press("W", "n", "escape", "x")
        await bench.type("close")
        await bench.press("enter")
        await bench.on(0.1)
        assert page.ended == "the day is closed"
        assert bench.app.phone_page.page is None
        await bench.press("escape", "W")
        assert "nothing to show" in bench.screen
        assert asked == [True]

    drive(tmp_path, script)


def test_without_its_libraries_it_says_how_to_get_them(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        def opens(network: bool) -> FakePage:
            raise CannotShowError("install them with `pip install '.[room]'`")

        bench.app.phone_page = PhonePage(opens)
        await bench.press("W", "n")
        assert "pip install '.[room]'" in bench.screen

    drive(tmp_path, script)


def test_a_page_that_fails_leaves_the_bench_alone(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        page = FakePage()
        with_page(bench, page)
        await bench.press("W", "n", "escape")
        page.fails = True
        await bench.on(1)
        assert "has failed and is off" in bench.screen
        assert not page.is_on
        await bench.press("0", "1", "space", "enter")
        assert "load" in bench.kinds

    drive(tmp_path, script)


def test_a_real_page_is_served_beside_the_bench(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        with served() as page:
            bench.app.phone_page = PhonePage(lambda network: page)
            await bench.press("W", "c")
            assert "Open this address in a browser on this computer" in " ".join(bench.screen.split())
            reply = get(page.url, page.url[page.url.index("/", 8) :] + "now")
            assert reply.status == 200
            bench.app.phone_page.close()
            assert not page.is_on

    drive(tmp_path, script)
