"""A real print system and a printer on loopback: what comes out is what was sent, byte for byte; off and on again."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from dyeday.paper.layout.sheet_text import sheet_text
from dyeday.paper.printing.sending import PagesOf, print_sheet, send
from dyeday.paper.sheets.day_summary import summary_sheet
from tests.fakes import MORNING, FakeClock
from tests.paper.sheets import SESSION, day_of, plan_of
from tests.paper.studio import FOLDERS, Studio, studio, why_not

pytestmark = pytest.mark.skipif(bool(why_not()), reason=why_not() or "it runs")


@pytest.fixture(scope="module")
def printing() -> Iterator[Studio]:
    with studio() as found:
        yield found


@pytest.fixture
def here(printing: Studio, monkeypatch: pytest.MonkeyPatch) -> Studio:
    """Let `lp` speak to that print system."""
    monkeypatch.setenv("CUPS_SERVER", printing.server)
    monkeypatch.setenv("PATH", FOLDERS)
    for name in ("LPDEST", "PRINTER"):
        monkeypatch.delenv(name, raising=False)
    return printing


def test_a_sheet_comes_out_of_a_real_printer_byte_for_byte(here: Studio, tmp_path: Path) -> None:
    """With wide, combining and right-to-left names, form feeds between pages, and its reprint marked as a copy."""
    names = "漢字 e\u0301 שלום"
    sheet = summary_sheet(day_of(plan_of(14, names), names), SESSION, FakeClock()())
    folder = PagesOf(tmp_path, SESSION, "UTC")
    before = len(here.documents())
    first = print_sheet(folder, sheet, MORNING, "studio")
    assert first.sent
    assert "sent to queue studio as job " in first.text
    again = print_sheet(folder, sheet, MORNING, "studio")
    assert again.sent
    came = here.wait_for(before + 2)[before:]
    assert came[0] == sheet_text(sheet).encode()
    assert came[0].count(b"\f") >= 1
    assert came[1] == (tmp_path / "pages" / f"{SESSION}-summary.txt").read_bytes()
    assert b"COPY 2, " in came[1]


def test_a_printer_that_is_off_gets_the_page_when_it_is_back(here: Studio, tmp_path: Path) -> None:
    """`lp` says queued all the same, and so do we: never that it was printed."""
    before = len(here.documents())
    here.stop_printer()
    page = tmp_path / "page.txt"
    page.write_text("the page\n", encoding="utf-8")
    done = send(page, "off and on", "studio", copies=1, paper="A4")
    assert done.sent
    assert done.text.startswith("sent to queue studio as job ")
    assert len(here.documents()) == before
    here.start_printer()
    assert here.wait_for(before + 1)[-1] == b"the page\n"


def test_a_title_that_would_be_a_path_or_a_command_names_no_file_outside(here: Studio, tmp_path: Path) -> None:
    before = len(here.documents())
    page = tmp_path / "page.txt"
    page.write_text("title\n", encoding="utf-8")
    assert send(page, "../../../escaped\x1b[2J", "studio").sent
    assert here.wait_for(before + 1)[-1] == b"title\n"
    assert not list(here.folder.parent.glob("*escaped*"))


def test_a_queue_that_is_not_there_is_shown_and_so_is_a_default_that_is_not_set(here: Studio, tmp_path: Path) -> None:
    """In the print system's words, with what to do."""
    page = tmp_path / "page.txt"
    page.write_text("x\n", encoding="utf-8")
    unknown = send(page, "x", "attic")
    assert not unknown.sent
    assert "lists the queues" in unknown.text
    none = send(page, "x")
    assert not none.sent
    assert "--printer" in none.text


def test_a_print_system_that_does_not_answer_is_told_apart(
    here: Studio, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = tmp_path / "page.txt"
    page.write_text("x\n", encoding="utf-8")
    monkeypatch.setenv("CUPS_SERVER", "127.0.0.1:9")
    done = send(page, "x", "studio")
    assert not done.sent
    assert "the print service is not running" in done.text
    assert str(page) in done.text
