"""What a command says is what is on the disk: refusals that are true, retries that record nothing twice."""

from __future__ import annotations

import json
import subprocess
import sys
from argparse import Namespace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from dyeday.commands.common import Opened, opened
from dyeday.files.durable import replace_file
from dyeday.store import clock, session_file
from dyeday.store.records.lots import LotBook
from dyeday.store.records.taking_in import take_in
from dyeday.store.sessions import Sessions
from dyeday.terms import HeatEdge
from dyeday.track.day.day_state import make
from dyeday.track.events.movements import Heated
from dyeday.track.events.remarks import Noted
from tests.cli.test_commands import Shell
from tests.fakes import ROOT, SHORT_DAY, FakeClock
from tests.faults.script import closing, finished

ORDERS = "item,colourway,base,skeins\nguild,Tin Roof Rain,Sock Mini,2\n"


@pytest.fixture
def watch(monkeypatch: pytest.MonkeyPatch) -> FakeClock:
    watch = FakeClock()
    monkeypatch.setattr(clock, "now", watch)
    return watch


@pytest.fixture
def day(tmp_path: Path, capsys: pytest.CaptureFixture[str], watch: FakeClock) -> Shell:
    shell = Shell(tmp_path / "data", capsys)
    assert shell("begin", str(SHORT_DAY)) == 0
    return shell


def process(data: Path, *words: str, out: str = "") -> subprocess.CompletedProcess[str]:
    """Run `dyeday` as a process of its own, its standard output into the file ``out``."""
    command = [sys.executable, "-m", "dyeday", *words, "--data", str(data)]
    if out:
        with Path(out).open("w", encoding="utf-8") as file:
            return subprocess.run(command, cwd=ROOT, stdout=file, stderr=subprocess.PIPE, text=True, check=False)
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)


def notes(data: Path) -> list[str]:
    session = Sessions(data).newest(unfinished=False)
    assert session is not None
    return [event.body.note for event in session.events if isinstance(event.body, Noted)]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_an_entry_whose_answer_finds_no_room_is_saved_says_so_and_is_not_saved_twice(tmp_path: Path) -> None:
    """Typed again, it is asked about; --again puts it on record a second time."""
    data = tmp_path / "data"
    assert process(data, "begin", str(SHORT_DAY)).returncode == 0
    full = process(data, "mark", "01", "--note", "two knots", out="/dev/full")
    assert full.returncode == 1
    assert "is saved (2026-03-14-1.json), do not do it again" in full.stderr
    assert notes(data) == ["two knots"]
    retried = process(data, "mark", "01", "--note", "two knots")
    assert retried.returncode == 1
    assert "is saved; add --again" in retried.stderr
    assert notes(data) == ["two knots"]
    assert process(data, "mark", "01", "--note", "two knots", "--again").returncode == 0
    assert notes(data) == ["two knots"] * 2


def test_the_same_words_a_minute_later_or_behind_other_ones_are_another_entry(day: Shell, watch: FakeClock) -> None:
    assert day("mark", "01", "--acid", "40 mL") == 0
    watch.on(seconds=59)
    assert day("mark", "01", "--acid", "40 mL") == 1
    assert "59 s ago" in day.err
    assert day("mark", "02", "--acid", "40 mL") == 0
    watch.on(seconds=1)
    assert day("mark", "01", "--acid", "40 mL") == 0
    assert day("mark", "01", "--acid", "45 mL") == 0
    assert day("mark", "01", "--acid", "40 mL") == 0


def test_an_entry_that_was_voided_may_be_typed_again_at_once(day: Shell, tmp_path: Path) -> None:
    assert day("mark", "01", "--note", "x", "--json") == 0
    (entry,) = json.loads(day.out)["events"]
    log = tmp_path / "void.jsonl"
    log.write_text(json.dumps({"at": entry["at"], "strikes": entry["id"]}) + "\n", encoding="utf-8")
    assert day("mark", "--from", str(log)) == 0, day.err
    assert day("mark", "01", "--note", "x") == 0


def test_a_delivery_typed_again_within_a_minute_is_on_the_shelf_once(day: Shell, watch: FakeClock) -> None:
    received = ("shelf", "--received", "Slate Blue", "--amount", "100 g")
    assert day(*received) == 0
    watch.on(seconds=10)
    assert day(*received) == 1
    assert "s ago; add --again" in day.err
    assert day(*received, "--again") == 0
    day("shelf", "--moves", "--json")
    assert [move["amount"] for move in json.loads(day.out) if move["kind"] == "received"] == [100.0, 100.0]


def test_a_note_on_a_lot_typed_again_within_a_minute_is_kept_once(day: Shell, tmp_path: Path) -> None:
    data = tmp_path / "finished"
    closed = finished(data)
    closed.add([closing()])
    assert take_in(closed).trouble == ""
    number = LotBook(data).find(())[0].number
    day.data = data
    for _ in range(2):
        assert day("lots", number, "--note", "sent") == 0
    assert [fact.text for fact in LotBook(data).lot(number).added] == ["sent"]


def test_a_note_is_reported_as_kept_where_what_comes_after_it_is_refused(day: Shell, tmp_path: Path) -> None:
    data = tmp_path / "finished"
    closed = finished(data)
    closed.add([closing()])
    assert take_in(closed).trouble == ""
    number = LotBook(data).find(())[0].number
    day.data = data
    assert day("lots", number, "--note", "sent", "--into", str(tmp_path / "2026-13-40.toml")) == 1
    assert f"kept with lot {number}: note" in day.err
    assert [fact.text for fact in LotBook(data).lot(number).added] == ["sent"]


def test_orders_that_are_in_the_plan_are_reported_so_though_the_second_file_fails(
    day: Shell, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = tmp_path / "plan.toml"
    plan.write_text(SHORT_DAY.read_text(encoding="utf-8"), encoding="utf-8")
    orders = plan.read_text(encoding="utf-8").count("[[order]]")
    table = tmp_path / "orders.csv"
    table.write_text(ORDERS, encoding="utf-8")

    def full_for_the_second(path: Path, data: bytes, **how: bool) -> None:
        if path.name != plan.name:
            raise OSError(28, "No space left on device")
        replace_file(path, data, **how)

    monkeypatch.setattr("dyeday.files.out_files.replace_file", full_for_the_second)
    assert day("orders", str(table), "--into", str(plan)) == 0
    assert "the orders are saved" in day.err
    assert "no space left" in day.err
    assert not (tmp_path / "orders.columns.toml").exists()
    monkeypatch.undo()
    assert day("orders", str(table), "--into", str(plan)) == 0
    assert "1 exist already" in day.out
    assert plan.read_text(encoding="utf-8").count("[[order]]") == orders + 1


def test_a_plan_brought_over_at_once_by_two_shells_is_written_by_one_and_the_other_is_refused(
    tmp_path: Path,
) -> None:
    data, plan = tmp_path / "data", tmp_path / "tomorrow.toml"
    assert process(data, "begin", str(SHORT_DAY)).returncode == 0
    command = [sys.executable, "-m", "dyeday", "carry", str(plan), "--data", str(data)]
    both = [subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE) for _ in range(2)]
    said = [process.communicate(timeout=60)[1].decode() for process in both]
    assert sorted(process.returncode for process in both) == [0, 1]
    assert any("exists already and is not overwritten; name a new file" in one for one in said)


def test_a_heat_that_another_shell_began_meanwhile_stops_a_close(
    day: Shell, monkeypatch: pytest.MonkeyPatch, watch: FakeClock
) -> None:
    """The record is looked at under the session's lock, not as it was when the command began."""
    assert day("mark", "01", "fix") == 0

    def opened_then_heated(args: Namespace, *, reading: bool) -> Opened:
        at = opened(args, reading=reading)
        session = Sessions(day.data).newest(unfinished=True)
        assert session is not None
        heat = Heated(heat_no=1, edge=HeatEdge.START, unit="microwave")
        session.add([make(heat, watch(), lambda: "heat", batch="01")])
        return at

    monkeypatch.setattr("dyeday.commands.days.close.opened", opened_then_heated)
    assert day("close") == 1
    assert "heat is still on: 01" in day.err
    monkeypatch.undo()
    monkeypatch.setattr(clock, "now", watch)
    assert day("close", "--yes") == 0


def test_events_of_years_that_no_command_takes_are_refused_before_anything_is_written(
    day: Shell, tmp_path: Path
) -> None:
    log = tmp_path / "log.jsonl"
    for at in ("1999-12-31T23:00:00Z", "2101-01-01T00:00:00Z"):
        log.write_text(json.dumps({"at": at, "batch": "01", "note": "x"}) + "\n", encoding="utf-8")
        assert day("mark", "--from", str(log)) == 1
        assert "year must be 2000–2100" in day.err
    assert notes(day.data) == []


def test_thousands_of_bad_lines_are_twenty_messages_and_a_count(day: Shell, tmp_path: Path) -> None:
    log = tmp_path / "log.jsonl"
    log.write_text("not json\n" * 3600, encoding="utf-8")
    assert day("mark", "--from", str(log)) == 1
    assert len(day.err.splitlines()) == 21
    assert day.err.splitlines()[-1] == "and 3580 more like these"


def test_a_session_never_grows_beyond_what_is_read_back(
    day: Shell, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The file that would be too large is refused whole; everything before it is there and opens.

    A tenth of the limit stands for it: the way to it is the same, and takes a hundredth of the time.
    """
    monkeypatch.setattr(session_file, "LARGEST_FILE", 3_200_000)
    log, now = tmp_path / "log.jsonl", datetime(2026, 3, 14, 9, tzinfo=UTC).isoformat()
    taken = 0
    for n in range(9):
        lines = [json.dumps({"at": now, "batch": "01", "note": f"{n} {m} " + "x" * 970}) for m in range(360)]
        log.write_text("\n".join(lines), encoding="utf-8")
        if day("mark", "--from", str(log)):
            break
        taken += 360
    assert "would be larger than 3 MB" in day.err
    assert len(notes(day.data)) == taken > 0
    assert day("mark", "02", "--note", "still room for this") == 0


def test_an_output_option_replaces_nothing_unasked(day: Shell, tmp_path: Path) -> None:
    """Neither a plan, nor dyeday's own files, nor anything else that is there."""
    plan = tmp_path / "saturday.toml"
    plan.write_text(SHORT_DAY.read_text(encoding="utf-8"), encoding="utf-8")
    own = day.data / "sessions" / "2026-03-14-1.json"
    before = own.read_bytes()
    other = tmp_path / "letter.txt"
    other.write_text("Dear", encoding="utf-8")
    for option in (("summary", "--text"), ("summary", "--html"), ("shelf", "--csv"), ("lots", "--csv"),
                   ("look-back", "--csv"), ("sheet", "cautions", "--text")):  # fmt: skip
        for path in (plan, own):
            assert day(*option, str(path), "--overwrite") == 1, option
        assert day(*option, str(other)) == 1
        assert "--overwrite" in day.err
    assert plan.read_text(encoding="utf-8") == SHORT_DAY.read_text(encoding="utf-8")
    assert own.read_bytes() == before
    assert other.read_text(encoding="utf-8") == "Dear"
    assert day("summary", "--text", str(other), "--overwrite") == 0
    assert "PAGE OF THE DAY" in other.read_text(encoding="utf-8")


def test_a_data_folder_whose_name_is_too_long_is_named_itself(day: Shell, tmp_path: Path) -> None:
    day.data = tmp_path / ("d" * 300)
    for command in (("log",), ("begin", str(SHORT_DAY)), ("doctor",), ("shelf",)):
        assert day(*command) == 1
        assert "the data folder" in day.err
        assert "file name too long; choose another with --data" in day.err
