"""Sheets from the bench: chosen, seen, printed or saved, and no key waits for a printer."""

from __future__ import annotations

import asyncio
import sys
from pathlib import Path

import pytest

from dyeday.ahead.forecast import forecast
from dyeday.bench.screens.sheets_screen import SheetPage
from dyeday.paper.printing import sending as printer
from tests.bench.driving import Bench, drive
from tests.paper.stand_in import stand_in

LP = pytest.mark.skipif(sys.platform == "win32", reason="lp is not on Windows")


async def gone_through(bench: Bench) -> None:
    """Wait until what was begun beside the keys is done."""
    page = bench.app.screen
    assert isinstance(page, SheetPage)
    assert page.busy is not None
    await asyncio.to_thread(page.busy.join)
    await bench.settle()


def test_each_sheet_is_chosen_by_its_digit_and_return_takes_the_end_of_day_page(tmp_path: Path) -> None:
    """At 80 × 24; the keys of the page stand whole in its foot."""
    heads = {"enter": "PAGE OF THE DAY", "2": "WEIGH-OUT", "4": "LABELS", "5": "PACKING LIST", "7": "CAUTIONS"}

    async def script(bench: Bench) -> None:
        await bench.press("p")
        for word in ("1 ", "the page of the day", "labels", "packing: what to check"):
            assert word in bench.screen
        await bench.press("escape")
        for key, head in heads.items():
            await bench.press("p", key)
            assert head in bench.screen
            assert "page 1 of " in bench.screen
            assert "[p] print it  [s] save as files  [esc] back" in bench.screen.split("\n")[-1]
            await bench.press("escape")
        await bench.press("p", "6")
        assert "no batch of the lot of 01 is done yet" in bench.screen
        await bench.press("p", "3")
        assert "the forecast is not ready yet" in bench.screen
        bench.app.outlook.forecast = forecast(bench.app.live.day, bench.clock(), evaluations=1)
        await bench.press("p", "3")
        assert "TIMETABLE" in bench.screen

    drive(tmp_path, script)


@LP
def test_what_is_seen_is_what_is_sent_and_a_second_time_it_is_a_copy(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stand_in(tmp_path, monkeypatch, f"cat > {tmp_path}/got; echo 'request id is studio-4 (0 file(s))'")

    async def script(bench: Bench) -> None:
        await bench.press("p", "2", "p")
        await gone_through(bench)
        assert "sent to queue studio as job 4" in bench.screen
        first = (tmp_path / "got").read_text(encoding="utf-8")
        assert first.splitlines()[0] in bench.screen
        await bench.press("p")
        await gone_through(bench)
        assert "COPY 2, " in (tmp_path / "got").read_text(encoding="utf-8")
        await bench.press("escape")
        assert "sent to queue studio as job 4" in bench.screen

    drive(tmp_path / "data", script, size=(100, 30))


@LP
def test_a_printer_that_does_not_answer_holds_up_no_key_and_is_shown_afterwards(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The page is left, the day goes on, and the bench says where the page is kept."""
    stand_in(tmp_path, monkeypatch, "exec sleep 60")
    monkeypatch.setattr(printer, "LONGEST_S", 1.0)

    async def script(bench: Bench) -> None:
        await bench.press("p", "enter", "p", "p")
        page = bench.app.screen
        assert isinstance(page, SheetPage)
        assert page.busy is not None
        assert "on its way" in bench.screen
        await bench.press("escape", "space", "enter")
        assert bench.kinds[:1] == ["load"]
        await asyncio.to_thread(page.busy.join)
        await bench.settle()
        assert "lp did not answer" in bench.screen

    drive(tmp_path / "data", script, size=(120, 30))


def test_a_sheet_is_kept_as_files_and_they_are_named(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("p", "7", "s")
        await gone_through(bench)
        assert "cautions.txt" in bench.screen
        names = sorted(path.name for path in (bench.folder / "pages").iterdir())
        assert names == ["2026-03-14-1-cautions.html", "2026-03-14-1-cautions.txt"]

    drive(tmp_path, script, size=(160, 30))
