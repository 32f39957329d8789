"""`summary` and `sheet` through their door: files, the printer, and every refusal."""

from __future__ import annotations

from pathlib import Path

import pytest

from dyeday.cli import main
from dyeday.paper.sheets.cautions import CAUTIONS, DEFERS
from tests.cli.test_commands import Shell
from tests.fakes import SHORT_DAY
from tests.paper.stand_in import stand_in


@pytest.fixture
def day(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Shell:
    shell = Shell(tmp_path / "data", capsys)
    assert shell("begin", str(SHORT_DAY)) == 0
    return shell


@pytest.mark.parametrize("kind", ["summary", "weigh", "day", "labels", "packing", "cautions"])
def test_every_sheet_is_shown_and_written_as_text_and_as_html(day: Shell, tmp_path: Path, kind: str) -> None:
    text, page = tmp_path / "sheet.txt", tmp_path / "sheet.html"
    assert day("sheet", kind) == 0
    shown = day.out
    assert day("sheet", kind, "--text", str(text), "--html", str(page), "--paper", "letter") == 0
    first = shown.splitlines()[0]
    assert text.read_text(encoding="utf-8").startswith(first)
    html = page.read_text(encoding="utf-8")
    assert html.startswith("<!DOCTYPE html>")
    assert "size: letter" in html


def test_labels_come_in_the_size_that_is_asked_for(
    day: Shell, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page = tmp_path / "labels.html"
    for state in ("soak", "paint", "fix", "cool", "rinse", "dry", "done"):
        assert day("mark", "04", state) == 0
    assert day("sheet", "labels", "--html", str(page), "--size", "2x4") == 0
    assert "repeat(2, 105mm)" in page.read_text(encoding="utf-8")
    assert day("sheet", "labels", "--html", str(page), "--overwrite") == 0
    assert "repeat(3, 63.5mm)" in page.read_text(encoding="utf-8")
    for wrong, why in (
        (("labels", "--size", "2x4"), "--size is for labels in a browser"),
        (("packing", "--html", "x.html", "--size", "2x4"), "--size is for labels in a browser"),
        (("labels", "--html", "x.html", "--size", "9x9"), "'9x9' is not columns x rows, such as 3x7"),
    ):
        with pytest.raises(SystemExit):
            day("sheet", *wrong)
        assert why in capsys.readouterr().err


def test_a_plan_that_is_not_begun_has_a_weigh_out_and_a_day_sheet(day: Shell) -> None:
    """The sheet for the wall in the morning."""
    assert day("sheet", "weigh", str(SHORT_DAY)) == 0
    assert "5 batches, 17 pieces" in day.out
    assert day("sheet", "day", str(SHORT_DAY)) == 0
    assert "forecast made at 09:00" in day.out


def test_a_lot_is_named_by_a_batch_of_the_day_and_by_its_number_once_it_is_closed(day: Shell) -> None:
    assert day("sheet", "lot", "04") == 1
    assert "no batch of the lot of 04 is done yet" in day.err
    for state in ("soak", "paint", "fix", "cool", "rinse", "dry", "done"):
        assert day("mark", "04", state) == 0
    assert day("sheet", "lot", "4") == 0
    assert "LOT 260314-04 Tin Roof Rain on Sock Mini" in day.out
    by_batch = day.out
    assert day("close") == 0
    assert day("sheet", "lot", "260314-04") == 0
    assert day.lines[0] == by_batch.splitlines()[0]
    assert "no acid soak" in day.out
    assert day("sheet", "lot", "260314-99") == 1
    assert "is not a lot or a batch" in day.err


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("--printer", "x"), "add --print"),
        (("--copies", "2"), "add --print"),
        (("--print", "--copies", "0"), "from 1 to 99"),
        (("--paper", "A4"), "--html and --print"),
    ],
)
def test_options_that_say_nothing_are_wrong_usage(day: Shell, words: tuple[str, ...], message: str) -> None:
    with pytest.raises(SystemExit) as left:
        day("summary", *words)
    assert left.value.code == 2
    assert message in day.capsys.readouterr().err


def test_printing_says_the_queue_and_the_job_and_where_the_page_is(
    day: Shell, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Never that it was printed."""
    stand_in(tmp_path, monkeypatch, f'echo "$@" > {tmp_path}/args; echo "request id is attic-3 (0 file(s))"')
    assert day("sheet", "weigh", "--print", "--printer", "attic", "--copies", "2", "--paper", "A4") == 0
    assert "sent to queue attic as job 3; the page is in " in day.out
    assert "printed" not in day.out
    args = (tmp_path / "args").read_text(encoding="utf-8")
    assert args.startswith("-d attic -n 2 -o media=iso_a4_210x297mm -t WEIGH-OUT")
    assert day("sheet", "weigh", "--print") == 0
    kept = day.data / "pages" / "2026-03-14-1-weigh.txt"
    assert "COPY 2, " in kept.read_text(encoding="utf-8")


def test_without_a_printer_the_command_fails_and_the_file_is_named(
    day: Shell, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    assert day("summary", "--print") == 1
    kept = day.data / "pages" / "2026-03-14-1-summary.txt"
    assert str(kept) in day.err
    assert kept.read_text(encoding="utf-8").startswith("PAGE OF THE DAY")


def test_a_file_that_cannot_be_written_is_named(day: Shell, tmp_path: Path) -> None:
    assert day("summary", "--html", str(tmp_path)) == 1
    assert str(tmp_path) in day.err


def test_a_closed_day_has_no_timetable_any_more(day: Shell) -> None:
    assert day("close") == 0
    assert day("sheet", "day") == 0
    assert "This day is closed" in day.out


def test_the_cautions_are_read_before_there_is_any_session(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shell = Shell(tmp_path / "data", capsys)

    assert shell("sheet", "cautions") == 0
    assert "Never leave heat unattended" in " ".join(shell.out.split())


def test_help_prints_every_caution_and_who_comes_before_them(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["help", "cautions"]) == 0

    said = " ".join(capsys.readouterr().out.split())
    assert [one.head for one in CAUTIONS if one.whole not in said] == []
    assert said.endswith(DEFERS)


def test_what_a_flag_asks_before_the_next_layer_is_on_the_weigh_out(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The demo's 05 had no acid in its soak; the sheet gives none with the specks of yarn that had."""
    shell = Shell(tmp_path / "demo", capsys)
    assert shell("demo", "--into", str(shell.data)) == 0
    for sheet in (("sheet", "weigh"), ("weigh",)):
        assert shell(*sheet) == 0
        text = " ".join(shell.out.split())
        mist = "else mist 15 mL of citric solution, thinned with a little water, over it before layer 2"
        assert f"05 no acid soak, before its next step: if you poured acid, record it (b, then i); {mist}" in text
        assert "no new acid after an acid soak; 05: first see WATCH FOR" in text
        assert "citric acid made up to that with water; plus any under WATCH FOR" in text
