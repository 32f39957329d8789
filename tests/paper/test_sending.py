"""Sheets kept and sent: what is kept is what went, and a reprint says so."""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from dyeday.paper.layout.sheet_text import sheet_text
from dyeday.paper.printing.sending import PagesOf, Sending, note_sent, print_sheet, save_sheet, sent_before
from dyeday.paper.sheets.day_summary import summary_sheet
from tests.fakes import MORNING, FakeClock
from tests.paper.sheets import SESSION, day_of, plan_of
from tests.paper.stand_in import stand_in

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="lp is not on Windows")


def test_a_reprint_says_which_copy_it_is_and_when_and_whether_it_changed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also where the moment it was made at differs; a page that never reached a queue is not a first copy."""
    stand_in(tmp_path, monkeypatch, f"cat > {tmp_path}/got; echo 'request id is studio-7 (1 file(s))'")
    folder = PagesOf(tmp_path / "data", SESSION, "UTC")
    sheet = summary_sheet(day_of(plan_of(2)), SESSION, FakeClock()())
    first = print_sheet(folder, sheet, MORNING)
    assert first.text.startswith("sent to queue studio as job 7; the page is in ")
    assert (tmp_path / "got").read_text(encoding="utf-8") == sheet_text(sheet)
    later = replace(sheet, about="as at another time")
    print_sheet(folder, later, MORNING + timedelta(minutes=75))
    got = (tmp_path / "got").read_text(encoding="utf-8")
    assert "COPY 2, 14 Mar 10:15; first printed 14 Mar 09:00, nothing changed since\n" in got
    other = summary_sheet(day_of(plan_of(2), "a note"), SESSION, FakeClock()())
    print_sheet(folder, other, MORNING + timedelta(minutes=90))
    got = (tmp_path / "got").read_text(encoding="utf-8")
    assert "COPY 3, 14 Mar 10:30; first printed 14 Mar 09:00, CHANGED since 14 Mar 10:15\n" in got
    assert (folder.data / "pages" / f"{SESSION}-summary.txt").read_text(encoding="utf-8") == got


def test_what_was_not_sent_is_kept_and_is_not_a_copy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    stand_in(tmp_path, monkeypatch, "exit 1")
    folder = PagesOf(tmp_path / "data", SESSION, "UTC")
    sheet = summary_sheet(day_of(plan_of(1)), SESSION, FakeClock()())
    for _try in range(2):
        done = print_sheet(folder, sheet, MORNING)
        assert not done.sent
    kept = folder.data / "pages" / f"{SESSION}-summary.txt"
    assert str(kept) in done.text
    assert "COPY" not in kept.read_text(encoding="utf-8")


def test_another_session_or_sheet_has_copies_of_its_own_and_a_torn_list_harms_nothing(tmp_path: Path) -> None:
    note_sent(PagesOf(tmp_path, SESSION, None), "summary", Sending(MORNING, "a"))
    with (tmp_path / "pages" / "sent.jsonl").open("a", encoding="utf-8") as file:
        file.write('{"session": "2026-03\n[1]\n{"session": "' + SESSION + '", "sheet": "summary", "at": 3}\n')
    note_sent(PagesOf(tmp_path, SESSION, None), "summary", Sending(MORNING, "b"))
    assert [sent.digest for sent in sent_before(PagesOf(tmp_path, SESSION, None), "summary")] == ["a", "b"]
    assert sent_before(PagesOf(tmp_path, SESSION, None), "weigh") == []
    assert sent_before(PagesOf(tmp_path, "2026-03-14-2", None), "summary") == []


def test_a_sheet_is_saved_for_reading_and_for_a_browser(tmp_path: Path) -> None:
    sheet = summary_sheet(day_of(plan_of(1)), SESSION, FakeClock()())
    said = save_sheet(PagesOf(tmp_path, SESSION, "UTC"), sheet, "A4")
    kept = sorted(path.name for path in (tmp_path / "pages").iterdir())
    assert kept == [f"{SESSION}-summary.html", f"{SESSION}-summary.txt"]
    assert all(name in said for name in kept)


def test_where_the_data_folder_takes_no_file_the_page_goes_out_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Kept where the system lets things be passed, and named; that it went cannot be noted, and that is said."""
    stand_in(tmp_path, monkeypatch, f"cat > {tmp_path}/got; echo 'request id is studio-7 (1 file(s))'")
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    no_folder = tmp_path / "data"
    no_folder.write_text("in the way", encoding="utf-8")
    sheet = summary_sheet(day_of(plan_of(1)), SESSION, FakeClock()())
    done = print_sheet(PagesOf(no_folder, SESSION, "UTC"), sheet, MORNING)
    assert done.sent
    assert "studio as job 7" in done.text
    (kept,) = tmp_path.glob("dyeday-*/pages/*.txt")
    assert str(kept) in done.text
    assert "cannot be made" in done.text
    assert (tmp_path / "got").read_bytes() == kept.read_bytes()
