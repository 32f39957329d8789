"""The shell commands through their door: what they print, what they store, how they refuse."""

from __future__ import annotations

import io
import json
import os
import shlex
import stat
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from dyeday.cli import main
from dyeday.commands.common import say
from dyeday.commands.usage import made_parser, options
from dyeday.craft.water.acids import AcidKind
from dyeday.paper.sheets import sheet_kinds as kinds
from dyeday.store import clock
from dyeday.store.sessions import Sessions
from dyeday.track.events import measured
from dyeday.track.folding.fold import fold
from dyeday.track.timers.alarm_states import alarms
from dyeday.track.timestamp import Moment
from tests.fakes import HEAVY_DAY, ROOT, SHORT_DAY


class Shell:
    """`dyeday` with a data folder of its own; keeps what was printed."""

    def __init__(self, data: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.data = data
        self.capsys = capsys
        self.out = self.err = ""

    def __call__(self, *args: str) -> int:
        self.capsys.readouterr()
        status = main([args[0], "--data", str(self.data), *args[1:]])
        self.out, self.err = self.capsys.readouterr()
        return status

    @property
    def lines(self) -> list[str]:
        return self.out.splitlines()


@pytest.fixture
def shell(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Shell:
    return Shell(tmp_path / "data", capsys)


@pytest.fixture
def day(shell: Shell) -> Shell:
    assert shell("begin", str(SHORT_DAY)) == 0
    return shell


def test_begin_prints_only_the_id_and_the_same_file_goes_on(shell: Shell) -> None:
    """A script can take the id; --new begins another."""
    assert shell("begin", str(SHORT_DAY)) == 0
    assert shell.lines == ["2026-03-14-1"]
    assert shell("begin", str(SHORT_DAY)) == 0
    assert shell.lines == ["2026-03-14-1"]
    assert shell("begin", str(SHORT_DAY), "--new") == 0
    assert shell.lines == ["2026-03-14-2"]


def test_a_changed_plan_is_said_and_taken_only_when_asked(shell: Shell, tmp_path: Path) -> None:
    """The plan of a session is frozen until --take-changes."""
    plan = tmp_path / "plan.toml"
    text = SHORT_DAY.read_text(encoding="utf-8")
    plan.write_text(text, encoding="utf-8")
    shell("begin", str(plan))
    plan.write_text(text.replace("skeins = 2\nspare = 1", "skeins = 3\nspare = 1"), encoding="utf-8")
    assert shell("begin", str(plan)) == 0
    assert "--take-changes" in shell.err
    shell("summary", "--json")
    assert json.loads(shell.out)["skeins"] == 17
    assert shell("begin", str(plan), "--take-changes") == 0
    assert shell.lines == ["2026-03-14-1"]
    shell("summary", "--json")
    assert json.loads(shell.out)["skeins"] == 18
    assert shell("begin", str(plan)) == 0
    assert shell.err == ""


def test_dry_yarn_with_a_note_has_the_recipe_of_the_changes_taken(shell: Shell, tmp_path: Path) -> None:
    """Of its base, soaked longer."""
    plan = tmp_path / "plan.toml"
    text = SHORT_DAY.read_text(encoding="utf-8")
    plan.write_text(text, encoding="utf-8")
    shell("begin", str(plan))
    assert shell("mark", "01", "--note", "smells of sheep") == 0
    plan.write_text(text.replace("[[base]]\n", '[[base]]\nsoak = "77 min"\n'), encoding="utf-8")
    assert shell("begin", str(plan), "--take-changes") == 0, shell.err
    file = Sessions(shell.data).newest(unfinished=False)
    assert file is not None
    assert fold(file.plan, file.events).batches["01"].base.soak_min == 77


def test_hours_changed_by_an_entry_outlive_a_changed_plan_that_says_nothing_of_them(
    shell: Shell, tmp_path: Path
) -> None:
    """A stop put off by hand stays where an order changes; the file's own new stop counts."""
    plan, entries = tmp_path / "plan.toml", tmp_path / "entries.jsonl"
    text = SHORT_DAY.read_text(encoding="utf-8")
    assert 'stop = "17:30"' in text
    plan.write_text(text, encoding="utf-8")
    shell("begin", str(plan))
    entries.write_text('{"at": "2026-03-14T10:00:00Z", "event": "hours", "stop": "20:30"}\n', encoding="utf-8")
    assert shell("mark", "--from", str(entries)) == 0
    more = text.replace("skeins = 2\nspare = 1", "skeins = 3\nspare = 1")
    for changed, stop in ((more, "20:30"), (more.replace('stop = "17:30"', 'stop = "19:00"'), "19:00")):
        plan.write_text(changed, encoding="utf-8")
        assert shell("begin", str(plan), "--take-changes") == 0
        file = Sessions(shell.data).newest(unfinished=False)
        assert file is not None
        stop_min = fold(file.plan, file.events).plan.session.stop_min
        assert f"{stop_min // 60:02.0f}:{stop_min % 60:02.0f}" == stop


def test_mark_stores_what_is_typed_and_says_what_it_means(day: Shell) -> None:
    """State, unit, acid and reading in one line; a flag raised is shown with its remedy."""
    assert day("mark", "1", "soak", "--unit", "tray 1", "--acid", "60 mL", "--reading", "ph=4,6") == 0
    assert day.lines == ["01: to soak in tray 1, 60 mL acid", "01: pH 4.6"]
    assert day("mark", "01", "paint") == 0
    assert "short soak" in day.out
    assert day("flags", "--json") == 0
    flags = json.loads(day.out)
    assert [flag["rule"] for flag in flags] == ["short-soak"]
    assert set(flags[0]) >= {"batch", "rule", "why", "remedy", "since", "resolved"}


def test_a_reason_is_kept_with_whatever_it_was_typed_with(day: Shell) -> None:
    """A recount, a reading, a dose or a tag: --why is part of the entry, in the log and in JSON."""
    for typed in (["--skeins", "2"], ["--reading", "ph=4.6"], ["--acid", "60 mL"], ["--tag", "red"]):
        assert day("mark", "01", *typed, "--why", "one felted", "--json") == 0, day.err
        assert [event["why"] for event in json.loads(day.out)["events"]] == ["one felted"]
    day("log")
    assert [line.endswith("(one felted)") for line in day.lines] == [True] * 4


def test_what_was_used_of_one_dye_in_several_pours_is_added_up(day: Shell) -> None:
    """120 and 30 mL of a solution are 150; powder of the same dye is counted beside it."""
    pours = ("--used", "Peat=120 mL", "--used", "peat=30 mL", "--used", "Peat=0.4 g")
    assert day("mark", "01", *pours, "--left-over", "Peat=5 mL", "--left-over", "Peat=10 mL", "--json") == 0, day.err
    (event,) = json.loads(day.out)["events"]
    assert (event["used"], event["left_over"]) == ({"Peat": 150, "powder": {"Peat": 0.4}}, {"Peat": 15})


def test_several_batches_are_marked_as_one_load(day: Shell, tmp_path: Path) -> None:
    """A stretch or a list of them, with all that the hands did; the log goes back in, and voiding takes all of it."""
    assert day("mark", "1-2", "--unit", "tray 1", "--water", "new", "--acid", "60 mL", "--json") == 0
    (load,) = json.loads(day.out)["events"]
    keys = ("event", "batches", "unit", "water", "acid_ml")
    assert [load[key] for key in keys] == ["load", ["01", "02"], "tray 1", "new", 60]
    assert day("mark", "01,02", "fix", "--unit", "steamer 1", "--tank", "filled", "--heat", "1", "start") == 0
    assert day.lines[0] == "01, 02: to fix in steamer 1, 1st heat started, tank filled"
    assert day("log", "--json") == 0
    log = day.out
    assert [json.loads(line)["event"] for line in log.splitlines()] == ["load", "load"]
    path = tmp_path / "log.jsonl"
    path.write_text(log)
    assert day("mark", "--from", str(path)) == 0
    assert day.lines == ["0 imported, 2 already there"]
    last = json.loads(log.splitlines()[1])
    path.write_text(json.dumps({"at": last["at"], "strikes": last["id"], "why": "not yet"}))
    assert day("mark", "--from", str(path)) == 0
    assert day("summary", "--json") == 0
    states = {b["batch"]: b["state"] for b in json.loads(day.out)["batches"]}
    assert (states["01"], states["02"]) == ("soak", "soak")


@pytest.mark.parametrize(
    ("args", "code", "why"),
    [
        (["4-1", "soak"], 1, "'4-1' is in reverse order; write 01-04"),
        (["01,77", "soak"], 1, "there is no batch '77'"),
        (["01-02", "--note", "slow"], 2, "--note describes one batch"),
        (["01-02", "soak", "--acid", "60 mL"], 2, "--acid needs the unit it is for"),
        (["01", "soak", "--water", "new"], 2, "--water needs the unit it is for"),
    ],
)
def test_a_load_that_cannot_be_marked_says_why(day: Shell, args: list[str], code: int, why: str) -> None:
    """And nothing of it is recorded."""
    try:
        found = day("mark", *args)
    except SystemExit as ended:  # wrong usage ends the parser's way
        found = int(str(ended.code))
        day.err = day.capsys.readouterr().err
    assert (found, why in day.err) == (code, True), day.err
    assert day("log") == 0
    assert day.out == ""


def test_a_batch_is_split_and_overdyed_from_the_shell(day: Shell) -> None:
    """The parts carry its past; the whole is no longer there to be marked."""
    assert day("mark", "03", "soak") == 0
    assert day("mark", "03", "--into", "03a=3", "03b=1") == 0
    assert day("mark", "03a", "--overdye", "Tin Roof Rain", "--why", "too green") == 0
    assert day("mark", "03", "dry") == 1
    assert "03a" in day.err
    assert day("summary", "--json") == 0
    batches = {b["batch"]: b for b in json.loads(day.out)["batches"]}
    assert (batches["03a"]["colourway"], batches["03a"]["skeins"]) == ("Tin Roof Rain", 3)
    assert (batches["03b"]["state"], batches["03b"]["skeins"]) == ("soak", 1)
    assert day("mark", "03b", "--into", "03c=2") == 1
    assert day("mark", "03b", "--into", "03c") == 1


def test_flags_close_only_with_a_reason(day: Shell) -> None:
    """--resolve without --why is refused; with it the flag is closed and kept."""
    day("mark", "01", "paint")
    with pytest.raises(SystemExit):
        day("flags", "--resolve", "1", "missed-acid-soak")
    assert day("flags", "--strict") == 1
    assert day("flags", "--resolve", "1", "missed-acid-soak", "--why", "soaked last night") == 0
    assert day("flags", "--strict") == 0
    assert day("flags", "--all", "--json") == 0
    assert json.loads(day.out)[0]["resolved"]["why"] == "soaked last night"
    assert day("flags", "--resolve", "1", "short-soak", "--why", "x") == 1
    assert "open are: none" in day.err


def test_a_flag_of_two_batches_is_listed_once_and_cleared_by_either_number(
    shell: Shell, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Soaked in one tray without acid from the same minute; painting the second says that the flag is now its too."""
    noon = Moment(datetime(2026, 3, 14, 12, 0, tzinfo=UTC))
    monkeypatch.setattr("dyeday.store.clock.now", lambda: noon)
    assert shell("begin", str(SHORT_DAY)) == 0
    day = shell
    for no in ("01", "02"):
        assert day("mark", no, "soak", "--unit", "tray 1", "--at", "09:00") == 0, day.err
        assert day("mark", no, "paint", "--at", "10:00") == 0, day.err
        assert "no acid soak" in day.out
    day("flags", "--json")
    flag, _over_full = json.loads(day.out)
    assert (flag["rule"], flag["batch"], flag["batches"]) == ("missed-acid-soak", None, ["01", "02"])
    assert day("summary") == 0
    assert day.out.count("no acid soak: ") == 1
    assert day("flags", "--resolve", "02", "missed-acid-soak", "--why", "misted") == 0, day.err
    assert day.out.startswith("01+02 no acid soak cleared")
    day("flags", "--json")
    assert [flag["rule"] for flag in json.loads(day.out)] == ["over-full"]


def test_what_log_gives_mark_takes_back_unchanged(day: Shell, tmp_path: Path) -> None:
    """An empty session given the log has the same log, flags and summary; a second time all is there already."""
    for args in (
        ["1", "soak", "--unit", "tray 1", "--acid", "60 mL"],
        ["1", "paint"],
        ["1", "fix"],
        ["1", "--heat", "1", "start", "--unit", "microwave 1"],
        ["1", "--reading", "jar=1:12 0.2"],
        ["1", "--reading", "sample=darker"],
        ["2", "--note", "a [bold]note[/] with brackets"],
        ["1", "--cover", "open", "--tag", "red"],
    ):
        assert day("mark", *args) == 0, day.err
    day("log", "--json")
    log = tmp_path / "log.jsonl"
    log.write_text(day.out, encoding="utf-8")
    first = day.out
    day("flags", "--json", "--as-of", "2030-01-01T00:00")
    flags = day.out
    day("begin", str(SHORT_DAY), "--new")
    assert day("mark", "--from", str(log)) == 0
    assert day.lines == [f"{len(first.splitlines())} imported, 0 already there"]
    day("log", "--json")
    assert day.out == first
    day("flags", "--json", "--as-of", "2030-01-01T00:00")
    assert day.out == flags
    assert day("mark", "--from", str(log)) == 0
    assert day.lines == [f"0 imported, {len(first.splitlines())} already there"]


def test_many_events_are_taken_all_or_none_and_each_mistake_has_its_line(day: Shell, tmp_path: Path) -> None:
    """A file with mistakes stores nothing and says file:line: what; what would be right."""
    events = tmp_path / "events.jsonl"
    events.write_text(
        '{"at": "2026-03-14T09:05:00Z", "batch": "01", "to": "soak"}\n'
        '{"at": "2026-03-14T09:06:00Z", "batch": "77", "to": "soak"}\n'
        "not json\n"
        '{"at": "2026-03-14T09:07:00Z", "batch": "02", "to": "soup"}\n'
        '{"at": "2026-03-14T09:08:00Z", "batch": "02", "reading": "ph", "value": NaN}\n'
        '{"at": "2026-03-14T09:08:00Z", "batch": "02", "batch": "03", "to": "soak"}\n',
        encoding="utf-8",
    )
    assert day("mark", "--from", str(events)) == 1
    lines = day.err.splitlines()
    assert [line.split(":")[1] for line in lines] == ["2", "3", "4", "5", "6"]
    assert lines[0].startswith(f"{events}:2: there is no batch '77'")
    day("log", "--json")
    assert day.out == ""


@pytest.mark.parametrize(
    "args",
    [
        ["mark", "99", "soak"],
        ["mark", "01", "soak", "--unit", "bath 1"],
        ["mark", "01", "--acid", "4 kg"],
        ["mark", "01", "--reading", "ph=20"],
        ["mark", "01", "--reading", "ph"],
        ["mark", "01", "--reading", "jar=12"],
        ["mark", "01", "--reading", "jar=1 900"],
        ["mark", "01", "--reading", "colour=blue"],
        ["mark", "01", "--heat", "9", "start"],
        ["mark", "01", "--heat", "1", "end"],
        ["mark", "01", "--heat", "²", "start"],
        ["mark", "01", "--into", "01a=²", "01b=1"],
        ["mark", "01", "soak", "--at", "0001-01-01T00:00"],
        ["ahead", "--as-of", "9999-12-31T23:59"],
        ["carry", "/nowhere/at/all", "--date", "9999-12-31"],
        ["lots", "260314-01", "--photo", "~unknown-user/porch.jpg"],
        ["mark", "01", "soak", "--at", "2099-01-01T00:00"],
        ["mark", "01", "soak", "--at", "tea time"],
        ["mark", "--from", "/nowhere/at/all"],
        ["log", "--session", "2026-03-14-9"],
        ["log", "--session", "../../etc/passwd"],
        ["flags", "--as-of", "noon"],
        ["begin", "/nowhere/at/all"],
        ["check", "/"],
        ["begin", "/"],
        ["mark", "--from", "/"],
        ["mark", "01", "soak", "--at", "2020-01-01T00:00"],
        ["acid"],
        ["acid", "--alkalinity", "200", "--target-ph", "9"],
        ["acid", "--alkalinity", "4 kg"],
        ["summary", "--text", "/nowhere/at/all"],
    ],
)
def test_a_mistake_gets_a_message_and_exit_1(day: Shell, args: list[str]) -> None:
    """What is wrong and what would be right on stderr, nothing stored, never a traceback."""
    assert day(*args) == 1
    assert day.err.strip()
    assert "Traceback" not in day.err
    day("log", "--json")
    assert day.out == ""


def test_without_a_session_begin_and_demo_are_named(shell: Shell) -> None:
    """The message says how to get in."""
    for command in ("log", "flags", "summary", "close"):
        assert shell(command) == 1
        assert "begin" in shell.err
        assert "demo" in shell.err


@pytest.mark.parametrize(
    "args",
    [
        ["mark", "01", "soup"],
        ["mark"],
        ["mark", "01"],
        ["mark", "01", "soak", "--from", "x"],
        ["mark", "01", "--used", "Peat=1 mL", "--layer", "2"],
        ["mark", "01", "--note", "x", "--where", "pot"],
        ["flags", "--resolve", "01", "short-soak"],
        ["summary", "--printer", "x"],
        ["shelf", "--weeks", "0"],
        ["shelf", "--weeks", "nan"],
        ["shelf", "--lead", "inf"],
        ["ahead", "--width", "0"],
        ["ahead", "--budget-ms", "-5"],
        ["ahead", "--evaluations", "0"],
        ["boil"],
    ],
)
def test_wrong_usage_is_exit_2(day: Shell, args: list[str]) -> None:
    """A command that says nothing is answered with how it is used."""
    with pytest.raises(SystemExit) as stopped:
        day(*args)
    assert stopped.value.code == 2


def test_options_before_the_command_hold_too(day: Shell, capsys: pytest.CaptureFixture[str]) -> None:
    """--data and --session may stand on either side of the command."""
    assert main(["--data", str(day.data), "--session", "2026-03-14-7", "log"]) == 1
    assert "2026-03-14-7" in capsys.readouterr().err
    assert main(["--data", str(day.data), "sessions"]) == 0
    assert "2026-03-14-1" in capsys.readouterr().out


def test_an_unknown_home_folder_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    """Before anything is made."""
    assert main(["--data", "~unknown-user/dyeday", "sessions"]) == 1
    assert capsys.readouterr().err.startswith("~unknown-user/dyeday: there is no such home folder; ")


@pytest.mark.parametrize("encoding", ["ascii", "latin-1"])
def test_a_terminal_that_takes_no_utf_8_is_answered_all_the_same(day: Shell, encoding: str) -> None:
    """What it cannot show comes as JSON would write it, so that data stays the same data."""
    assert day("mark", "01", "--note", "漢 é 🧶") == 0
    shown = {}
    for words in (["log"], ["log", "--json"]):
        done = subprocess.run(
            [sys.executable, "-m", "dyeday", *words, "--data", str(day.data)],
            cwd=ROOT, env={**os.environ, "PYTHONIOENCODING": encoding}, capture_output=True, check=False,
        )  # fmt: skip
        assert (done.returncode, done.stderr) == (0, b"")
        shown[words[-1]] = done.stdout.decode(encoding)
    assert "note: \\u6f22 " in shown["log"]
    assert json.loads(shown["--json"])["note"] == "漢 é 🧶"


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
def test_a_full_disk_under_the_output_is_said() -> None:
    """No traceback when what is printed cannot be written."""
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "dyeday", "--version"], cwd=ROOT, stdout=full, stderr=subprocess.PIPE, check=False
        )
        assert b"Traceback" not in done.stderr
        check = [sys.executable, "-m", "dyeday", "check", str(SHORT_DAY)]
        done = subprocess.run(check, cwd=ROOT, stdout=full, stderr=subprocess.PIPE, check=False)
    assert done.returncode == 1
    assert b"Traceback" not in done.stderr
    assert b"could not be written" in done.stderr


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
def test_what_was_saved_before_the_output_could_not_be_written_is_said(tmp_path: Path) -> None:
    """Or the person would type it again, and have it twice."""
    command = [sys.executable, "-m", "dyeday", "shelf", "--received", "Peat", "--amount", "50 g", "--as", "dye"]
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [*command, "--data", str(tmp_path)], cwd=ROOT, stdout=full, stderr=subprocess.PIPE, check=False
        )
    assert done.returncode == 1
    assert b"what it did is saved (studio.db), do not do it again" in done.stderr


@pytest.mark.parametrize(
    ("folders", "said"), [(False, "the session is not saved"), (True, "the session is saved, but the disk")]
)
def test_a_session_that_could_not_be_confirmed_is_reported_as_what_it_is(
    shell: Shell, monkeypatch: pytest.MonkeyPatch, folders: bool, said: str
) -> None:
    """The file's own sync fails: it is not there. The folder's fails after it was put in place: it is."""
    sync = os.fsync

    def failing(handle: int) -> None:
        if stat.S_ISDIR(os.fstat(handle).st_mode) == folders:
            raise OSError(5, "Input/output error")
        sync(handle)

    (shell.data / "sessions").mkdir(parents=True)
    with monkeypatch.context() as broken:
        broken.setattr("os.fsync", failing)
        assert shell("begin", str(SHORT_DAY)) == 1
    assert said in shell.err
    assert shell("sessions", "--json") == 0
    assert len(json.loads(shell.out)) == folders


@pytest.mark.parametrize("command", made_parser()[1])
def test_help_has_an_example(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    """--help on each command shows how it is used."""
    with pytest.raises(SystemExit) as stopped:
        main([command, "--help"])
    assert stopped.value.code == 0
    assert f"example: dyeday {command}" in capsys.readouterr().out


def test_the_words_an_option_may_have_are_those_of_the_room_that_knows_them() -> None:
    """They stand in the usage a second time, so that `--help` loads no other room."""
    assert tuple(kind.value for kind in AcidKind) == options.ACIDS
    assert options.LOOKS == measured.SWATCHES
    assert tuple(word for word, _ in kinds.KINDS) == options.SHEETS


def test_check_tells_every_mistake_with_its_line(shell: Shell, tmp_path: Path) -> None:
    """Twelve mistakes, twelve lines, exit 1; as JSON too."""
    text = HEAVY_DAY.read_text(encoding="utf-8")
    for right, wrong in (
        ('stop = "20:00"', 'stop = "08:00"'),
        ('breaks = ["13:00-13:30"]', 'breaks = ["13:30-13:00"]'),
        ('alkalinity = "11 dKH"', 'alkalinity = "4 kg"'),
        ('strength = "20 %"', "strength = -3"),
        ("target_ph = 4.5", "target_pg = 4.5"),
        ("units = 4", "units = 0"),
        ('circuit = "outhouse"\n\n[[kit]]\nname = "steamer"', 'circuit = "outhose"\n\n[[kit]]\nname = "steamer"'),
        ("{ mohair = 72, silk = 28 }", "{ mohair = 72, silk = 27 }"),
        ('fix = ["simmer 50 min"]', 'fix = ["boil 50 min"]'),
        ('"Rosehip" = 0.2 } },\n]\nfix = ["steam 30 min"]', '"Rosehop" = 0.2 } },\n]\nfix = ["steam 30 min"]'),
        ('colourway = "Deep Shelf"\nbase', 'colourway = "Deep Shelve"\nbase'),
        ("skeins = 10", "skeins = -10"),
    ):
        assert text.count(right) >= 1, right
        text = text.replace(right, wrong, 1)
    plan = tmp_path / "plan.toml"
    plan.write_text(text, encoding="utf-8")
    assert shell("check", str(plan)) == 1
    lines = shell.err.splitlines()
    assert len(lines) == 12, shell.err
    for line in lines:
        number = int(line.removeprefix(f"{plan}:").split(":")[0])
        assert 1 <= number <= text.count("\n")
    assert shell("check", str(plan), "--json") == 1
    problems = json.loads(shell.out)["problems"]
    assert [set(problem) for problem in problems] == [{"line", "what", "would_be_right"}] * 12
    assert shell("begin", str(plan)) == 1
    assert shell("sessions", "--json") == 0
    assert json.loads(shell.out) == []


@pytest.mark.parametrize("plan", [SHORT_DAY, HEAVY_DAY])
def test_the_examples_have_no_mistakes(shell: Shell, plan: Path) -> None:
    """What the README shows can be used."""
    assert shell("check", str(plan)) == 0
    assert "no mistakes" in shell.out


def test_closing_says_what_stays_and_asks_after_heat(day: Shell) -> None:
    """Heat still on by the record is refused without --yes; a closed day says where everything is."""
    day("mark", "01", "fix", "--unit", "steamer 1")
    day("mark", "01", "--heat", "2", "start", "--unit", "steamer 1")
    assert day("close") == 1
    assert "01 in steamer 1" in day.err
    assert day("close", "--yes") == 0
    assert "to check: " not in day.out
    assert "01 Kelp Light: warming up in steamer 1" in day.out
    assert "heat off at the wall" in day.err
    assert day("close") == 0
    assert day.out.startswith("2026-03-14-1 was closed already, ") and "it is in the records" in day.out
    assert day("log") == 0
    assert sum("closed" in line for line in day.lines) == 1
    assert day("sessions") == 0
    assert "closed" in day.out


def test_the_page_goes_to_a_file_and_says_the_same_as_the_json(day: Shell, tmp_path: Path) -> None:
    """--text writes the page; --json has the same batches and flags."""
    day("mark", "03", "paint")
    page = tmp_path / "page.txt"
    assert day("summary", "--text", str(page)) == 0
    day("summary", "--json")
    data = json.loads(day.out)
    text = page.read_text(encoding="utf-8")
    assert f"TO CHECK: {len(data['in_doubt'])} flag" in text
    for batch in data["batches"]:
        assert f"{batch['batch']} {batch['colourway']}" in text


def test_a_closed_pipe_is_silent(tmp_path: Path) -> None:
    """`dyeday log | head -1` ends without a word on stderr."""
    run = [sys.executable, "-m", "dyeday"]
    subprocess.run([*run, "demo", "--into", str(tmp_path)], cwd=ROOT, check=True, capture_output=True)
    reader = subprocess.Popen(
        [*run, "log", "--json", "--data", str(tmp_path)], cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    assert reader.stdout is not None
    assert reader.stderr is not None
    reader.stdout.close()
    complaint = reader.stderr.read()
    reader.stderr.close()
    assert reader.wait(timeout=30) == 0
    assert complaint == b""


def test_the_bench_without_a_terminal_says_so(day: Shell) -> None:
    """Pipes get an answer, not a screen."""
    assert day("open", str(SHORT_DAY)) == 1
    assert "needs a terminal" in day.err


def test_the_demo_is_part_way_through_and_has_something_to_see(shell: Shell, tmp_path: Path) -> None:
    """Batches in many states, an acid soak missed, a bath that kept its colour; and it opens without an alarm."""
    assert shell("demo", "--into", str(shell.data)) == 0
    session = Sessions(shell.data).newest(unfinished=True)
    assert session is not None
    now = clock.now()
    assert not any(alarm.sounds(now.utc, 5.0) for alarm in alarms(fold(session.plan, session.events), now))
    assert shell("summary", "--json") == 0
    data = json.loads(shell.out)
    assert len({batch["state"] for batch in data["batches"]}) >= 5
    assert {"missed-acid-soak", "under-exhausted"} <= {flag["rule"] for flag in data["in_doubt"]}


def test_lines_of_one_minute_may_stand_in_any_order(day: Shell, tmp_path: Path) -> None:
    """A heat ended by the move to cool may be ended once more by a line of the same minute."""
    events = tmp_path / "events.jsonl"
    at = '"at": "2026-03-14T10:'
    lines = [
        f'{{{at}00:00Z", "batch": "04", "to": "fix"}}',
        f'{{{at}01:00Z", "batch": "04", "pass": 1, "run": "start", "unit": "steamer 1"}}',
        f'{{{at}52:00Z", "batch": "04", "to": "cool"}}',
        f'{{{at}52:00Z", "batch": "04", "pass": 1, "run": "end"}}',
    ]
    events.write_text("\n".join(lines), encoding="utf-8")
    assert day("mark", "--from", str(events)) == 0, day.err
    assert day.lines == ["4 imported, 0 already there"]


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (
            "open",
            "dyeday open: PLAN is missing; write it as in `dyeday open saturday.toml`, or see",
        ),
        (
            "opn",
            "dyeday: there is no command 'opn'; did you mean 'open'? See",
        ),
        ("sheet wiegh", "dyeday sheet: there is no sheet 'wiegh'; did you mean 'weigh'? See"),
        ("sheet poster", "dyeday sheet: there is no sheet 'poster'; it is one of summary, weigh, day, labels, pack"),
        ("open a --bar", "dyeday open: unknown option --bar; write it as in `dyeday open saturday.toml`"),
        ("open a --takechanges", "dyeday open: unknown option --takechanges; did you mean --take-changes? See"),
        ("open a b", "dyeday open: 'b' is one word too many (put a name with spaces in quotes); write it as in"),
        ("mark 03 --skeins x", "dyeday mark: --skeins cannot be 'x'; write a whole number from 1 to 5000, or see"),
        ("ahead --width 3", "dyeday ahead: --width cannot be '3'; write a whole number from 40 to 1000, or see"),
        ("shelf --weeks 0", "dyeday shelf: --weeks cannot be '0'; write a number from 1 to 520, or see"),
        ("times --take --forget", "dyeday times: --take and --forget exclude each other: use one of them; write"),
        ("close --why", "dyeday close: --why needs a value; write"),
        (
            "mark",
            "dyeday mark: mark needs a batch, such as `dyeday mark 03 soak`, or --from FILE, or see",
        ),
    ],
)
def test_a_command_typed_wrong_is_reported_in_one_line_with_what_would_be_right(
    typed: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Not the whole list of options: the word that is wrong, near ones, an example."""
    with pytest.raises(SystemExit) as left:
        main(typed.split())
    err = capsys.readouterr().err
    assert left.value.code == 2
    assert err.startswith(said)
    assert err.count("\n") == 1


def test_a_time_that_means_yesterday_is_reported_with_its_day(day: Shell, monkeypatch: pytest.MonkeyPatch) -> None:
    """23:59 typed in the morning is the latest that was: the day shows the slip."""
    now = Moment(datetime(2026, 3, 14, 12, 0, tzinfo=UTC))
    monkeypatch.setattr("dyeday.store.clock.now", lambda: now)
    assert day("mark", "01", "soak", "--at", "2026-03-13T10:58Z") == 0
    assert "01: to soak, on Fri 13 Mar at " in day.out
    assert day("mark", "02", "soak", "--at", "2026-03-14T11:58Z") == 0
    assert day.lines[0] == "02: to soak"


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (("--into", "03a=1"), "--into names one part only; write two or more, such as --into 03a=3 03b=2"),
        (("--used", "Peat"), "--used 'Peat' has no amount; write it as --used 'Peat=120 mL'"),
        (("--used", "Peet=1 mL"), "--used: no dye or extra is called 'Peet'; did you mean 'Peat'?"),
        (("--reading", "ph=20"), "--reading ph: pH cannot be 20; write a number from 0 to 14"),
        (("--cover", "paper"), "cover cannot be 'paper'; known are open, lidded, wrapped"),
        (("--acid", "-5 mL"), "--acid: '-5 mL' is too little; write 0 to 1000000 mL"),
    ],
)
def test_what_cannot_be_marked_is_reported_in_the_words_it_was_typed_in(
    typed: tuple[str, ...], said: str, day: Shell
) -> None:
    assert day("mark", "03", *typed) == 1
    assert day.err == f"{said}\n"


class Window(io.StringIO):
    """Something printed to that says it is a terminal."""

    def isatty(self) -> bool:
        return True


def test_a_window_breaks_lines_at_words_and_never_a_command_or_a_path(monkeypatch: pytest.MonkeyPatch) -> None:
    """Both are for copying; in a file a line is a line."""
    monkeypatch.setenv("COLUMNS", "44")
    long = f"there is nothing to see at /{'a/' * 30}plan.toml; begin one with `dyeday begin PLAN --new`"
    printed = []
    for stream in (io.StringIO(), Window()):
        monkeypatch.setattr("sys.stdout", stream)
        say(long)
        printed.append(stream.getvalue().splitlines())
    assert printed == [
        [long],
        [
            "there is nothing to see at",
            f"    /{'a/' * 30}plan.toml;",
            "    begin one with `dyeday begin PLAN --new`",
        ],
    ]


@pytest.mark.skipif(sys.platform == "win32", reason="sh shuts them")
@pytest.mark.parametrize(
    ("typed", "status"), [("log >&-", 0), ("mark --from - <&-", 0), ("mark 99 soak 2>&-", 1), ("<&-", 1)]
)
def test_a_stream_that_is_shut_breaks_nothing(typed: str, status: int, day: Shell) -> None:
    """As a scheduler starts programs: what would be said there is lost, what would be read there is nothing."""
    line = f"exec {shlex.quote(sys.executable)} -m dyeday --data {shlex.quote(str(day.data))} {typed}"
    done = subprocess.run(["sh", "-c", line], capture_output=True, text=True, cwd=ROOT, check=False)
    assert (done.returncode, "Traceback" in done.stderr) == (status, False)


def test_the_first_heat_of_a_day_says_to_mind_wet_hands_and_the_next_one_nothing(day: Shell) -> None:
    """A notice, on stderr; as the bench has it in its offer."""
    assert day("mark", "04", "fix", "--unit", "steamer 1", "--heat", "1", "start") == 0
    assert "plug and switch with dry hands only" in " ".join(day.err.split())
    assert day("mark", "04", "--heat", "1", "end") == 0
    assert day("mark", "05", "fix", "--unit", "steamer 2", "--heat", "1", "start") == 0
    assert day.err == ""
