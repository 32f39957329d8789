"""`restore` and `doctor` through their door: what is kept, brought back without destroying, and its health."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path

import pytest

from dyeday.store.sealed import Kind, seal
from tests.cli.test_commands import Shell
from tests.fakes import SHORT_DAY

ID = "2026-03-14-1"


@pytest.fixture
def day(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Shell:
    monkeypatch.setenv("PATH", str(tmp_path))  # no printer of the machine's own
    shell = Shell(tmp_path / "data", capsys)
    assert shell("begin", str(SHORT_DAY)) == 0
    shell("mark", "01", "soak")
    shell("mark", "02", "soak")
    return shell


def session_file(shell: Shell) -> Path:
    return shell.data / "sessions" / f"{ID}.json"


def events(shell: Shell) -> int:
    assert shell("log", "--json") == 0
    return len(shell.lines)


def findings(shell: Shell) -> dict[str, tuple[str, str, str]]:
    shell("doctor", "--json")
    return {row["about"]: (row["state"], row["said"], row["do"]) for row in json.loads(shell.out)["findings"]}


def test_restore_lists_every_copy_with_what_it_holds(day: Shell) -> None:
    """The copy of the beginning and the file before its latest entry."""
    assert day("restore") == 0
    assert day.lines[0].startswith(f"{ID}  now: Saturday at the back kitchen, 5 batches, 2 entries")
    assert any("previous" in line and "1 entry," in line for line in day.lines)
    assert any("0 entries" in line for line in day.lines)
    assert day("restore", ID, "--json") == 0
    (listed,) = json.loads(day.out)
    assert (listed["name"], listed["kind"], listed["good"]) == (ID, "session", True)
    assert [copy["good"] for copy in listed["copies"]] == [True, True]


def test_a_copy_brought_back_can_be_taken_back(day: Shell) -> None:
    """The present is kept under a dated name, and is a copy like the others."""
    assert day("restore", ID, "previous") == 0
    assert "what was there is kept as" in day.out
    assert events(day) == 1
    assert day("restore", ID, "aside") == 0
    assert events(day) == 2


def test_a_damaged_file_is_reported_with_the_way_back_and_stays_until_then(day: Shell) -> None:
    """Every command refuses it; restore brings the day back and keeps the damaged one."""
    file = session_file(day)
    spoilt = file.read_bytes()[:-20]
    file.write_bytes(spoilt)
    for command in (["log"], ["mark", "03", "soak"], ["flags"], ["summary"]):
        assert day(*command) == 1
        assert f"`dyeday restore {ID} --newest` brings back the copy of" in day.err
    assert day("sessions") == 1
    assert "is damaged" in day.err
    assert file.read_bytes() == spoilt
    assert day("restore", ID, "--newest") == 0
    assert events(day) == 1
    aside = list((file.parent / "set-aside").iterdir())
    assert [path.read_bytes() for path in aside] == [spoilt]


def test_a_lost_file_is_brought_back_and_its_number_is_not_given_again(day: Shell) -> None:
    """Only its copies are left."""
    session_file(day).unlink()
    assert day("log", "--session", ID) == 1
    assert f"`dyeday restore {ID} --newest`" in day.err
    assert day("begin", str(SHORT_DAY)) == 0
    assert day.lines == ["2026-03-14-2"]
    assert day("restore", ID, "--newest") == 0
    assert day("log", "--session", ID) == 0


def test_a_shelf_put_back_to_before_a_close_has_what_that_day_used_taken_off_again(day: Shell) -> None:
    """As the day recorded it: three skeins of Plain Sock for 01, three for 02."""
    assert day("shelf", "--received", "Plain Sock", "--amount", "20 pieces") == 0
    assert day("close") == 0
    after = _amounts(day)
    assert day("shelf", "--counted", "Plain Sock", "--amount", "3 pieces", "--why", "moths") == 0
    copy = min((day.data / "backups" / "studio").glob("2*.db"), key=lambda file: file.stat().st_mtime_ns)
    assert day("restore", "studio", copy.stem) == 0
    assert "what you typed since then is not in it" in day.lines
    assert f"{ID} was closed, and is now in the records" in day.err
    assert _amounts(day) == after


def _amounts(shell: Shell) -> dict[str, float]:
    assert shell("shelf", "--json") == 0
    return {each["name"]: each["amount"] for each in json.loads(shell.out)["things"]}


@pytest.mark.parametrize(
    ("args", "status", "said"),
    [
        (["2026-03-14-9"], 1, "nothing here is called"),
        ([ID, "1999"], 1, "no copy is called"),
        ([ID, "previous", "--newest"], 2, "not both"),
        (["--newest"], 2, "name what to restore"),
        (["../../etc/passwd", "--newest"], 1, "nothing here is called"),
    ],
)
def test_what_cannot_be_restored_is_refused(
    day: Shell, args: list[str], status: int, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """One message, and nothing touched."""
    before = session_file(day).read_bytes()
    if status == 2:
        with pytest.raises(SystemExit) as ended:
            day("restore", *args)
        assert ended.value.code == 2
        assert said in capsys.readouterr().err
    else:
        assert day("restore", *args) == 1
        assert said in day.err
    assert session_file(day).read_bytes() == before


def test_a_session_that_a_bench_has_open_is_not_brought_back_under_it(day: Shell) -> None:
    """It would save its own day again."""
    from dyeday.store.session_file import SessionFile

    bench = SessionFile(session_file(day))
    assert bench.claim_bench()
    assert day("restore", ID, "--newest") == 1
    assert "a bench has" in day.err
    bench.release_bench()
    assert day("restore", ID, "--newest") == 0


def test_doctor_finds_a_sound_folder_well(day: Shell) -> None:
    """It writes, locks, reads and removes a file to say so, and leaves nothing."""
    before = sorted(day.data.rglob("*"))
    assert day("doctor", "--strict") == 0
    assert day.out.endswith("\n\n0 problems, 1 note\n")
    found = findings(day)
    assert {
        found[about][0] for about in ("folder", "saving", "lock", f"session {ID}", f"copies of session {ID}")
    } == {"well"}
    assert found["printer"] == ("note", "there is no lp command here", found["printer"][2])
    assert sorted(day.data.rglob("*")) == before


def test_doctor_says_what_is_wrong_and_what_to_do(day: Shell) -> None:
    """A damaged session, a damaged copy, a stranger beside them, a file of the future."""
    file = session_file(day)
    copy = next((file.parent / "backups" / ID).glob("2*.json"))
    copy.write_bytes(b"")
    (file.parent / f"{ID} (second copy).json").write_text("{}", encoding="utf-8")
    found = findings(day)
    assert found[f"copies of session {ID}"][0] == "wrong"
    assert found["strangers"][0] == "note"
    file.write_bytes(file.read_bytes().replace(b"soak", b"SOAK", 1))
    assert findings(day)[f"session {ID}"] == (
        "wrong",
        "is damaged, or was changed by another program",
        f"dyeday restore {ID} --newest",
    )
    assert day("doctor") == 0
    assert day("doctor", "--strict") == 1
    file.write_bytes(seal({}, Kind("session", 77)))
    assert "install the newer one" in findings(day)[f"session {ID}"][2]


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no mode bits")
def test_doctor_says_when_others_can_look_in(day: Shell) -> None:
    """And the command that ends it."""
    day.data.chmod(0o755)
    session_file(day).chmod(0o644)
    assert findings(day)["folder"][2] == f"keep them out, on Linux and a Mac with: chmod 700 {day.data}"
    day("doctor", "--json")
    remedies = [row["do"] for row in json.loads(day.out)["findings"]]
    assert f"keep them out, on Linux and a Mac with: chmod 600 {session_file(day)}" in remedies


def test_doctor_says_when_nothing_can_be_saved(day: Shell, monkeypatch: pytest.MonkeyPatch) -> None:
    """A full disk, and a folder without locks."""

    def full(*_args: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as broken:
        broken.setattr("os.fsync", full)
        assert findings(day)["saving"][:2] == ("wrong", "nothing can be saved: no space left on device")
    if sys.platform != "win32":
        with monkeypatch.context() as broken:
            broken.setattr("fcntl.flock", lambda *_: (_ for _ in ()).throw(OSError(37, "No locks available")))
            assert findings(day)["lock"][0] == "wrong"
        with monkeypatch.context() as broken:
            broken.setattr("fcntl.flock", lambda *_: None)
            assert "two terminals can lock one file at once" in findings(day)["lock"][1]


def test_a_copy_that_could_not_be_made_is_reported_beside_what_is_saved(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """As the day is begun, marked and closed; no more once copies can be made."""
    shell = Shell(tmp_path / "data", capsys)
    in_the_way = shell.data / "sessions" / "backups"
    in_the_way.parent.mkdir(parents=True)
    in_the_way.write_text("in the way", encoding="utf-8")
    for command in (["begin", str(SHORT_DAY)], ["mark", "01", "soak"], ["close"]):
        assert shell(*command) == 0, shell.err
        assert "saved, but no copy was made: " in shell.err
        assert "see `dyeday doctor`" in shell.err
    assert events(shell) == 2
    in_the_way.unlink()
    assert shell("begin", str(SHORT_DAY), "--new") == 0
    assert "no copy" not in shell.err


def test_a_folder_that_is_not_there_yet_is_not_a_fault(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing is made by looking."""
    shell = Shell(tmp_path / "none", capsys)
    assert shell("doctor") == 0
    assert shell("restore") == 0
    assert not os.path.lexists(shell.data)
