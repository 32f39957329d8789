"""`sound` through its door: this computer's sounds, set only after asking, and never by a record."""

from __future__ import annotations

import json
import shlex
import sys
from pathlib import Path

import pytest

from dyeday.files.places import SoundPrograms, read_sounds
from dyeday.plan.model import Plan, Session
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.serialize import from_plain, to_plain
from dyeday.plan.writing.plan_text import plan_text
from dyeday.store.sessions import Sessions
from tests.bench.driving import Bench, drive
from tests.cli.test_commands import Shell
from tests.fakes import SHORT_DAY, FakeClock, begun

SHORT = SHORT_DAY.read_text(encoding="utf-8")


@pytest.fixture
def settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder for settings of its own; returns the file."""
    monkeypatch.setattr("platformdirs.user_config_dir", lambda *_a, **_k: str(tmp_path / "settings"))
    return tmp_path / "settings" / "sounds.json"


@pytest.fixture
def shell(tmp_path: Path, settings: Path, capsys: pytest.CaptureFixture[str]) -> Shell:
    return Shell(tmp_path / "data", capsys)


def touching(path: Path) -> str:
    """Return a program line that makes the file ``path``."""
    return shlex.join([sys.executable, "-c", f"open({str(path)!r}, 'w')"])


def with_sound(marker: Path) -> str:
    """Return the short day with a sound of the old kind that would make ``marker``."""
    line = f'sound = ["/bin/sh", "-c", "touch {marker.as_posix()}"]'
    assert "[session]\n" in SHORT
    return SHORT.replace("[session]\n", f"[session]\n{line}\n", 1)


def answering(monkeypatch: pytest.MonkeyPatch, said: str) -> None:
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
    monkeypatch.setattr("sys.stdin.readline", lambda: said, raising=False)


def test_nothing_is_set_at_first_and_what_is_set_is_shown(shell: Shell, settings: Path) -> None:
    assert shell("sound") == 0
    assert shell.lines == ["prompt: the terminal's bell only", "alarm: as at a prompt", "tank: as at an alarm"]
    assert not settings.exists()
    assert shell("sound", "--alarm", f"{sys.executable} -V", "--yes") == 0
    assert shell("sound", "--json") == 0
    sounds = json.loads(shell.out)
    assert (sounds["prompt"], sounds["alarm"], sounds["file"]) == ([], [sys.executable, "-V"], str(settings))


def test_without_a_terminal_to_ask_at_nothing_is_set(shell: Shell, settings: Path) -> None:
    """Neither a script nor a pipe sets a program in passing."""
    assert shell("sound", "--prompt", f"{sys.executable} -V") == 1
    assert "--yes" in shell.err
    assert not settings.exists()


@pytest.mark.parametrize(("said", "is_set"), [("y\n", True), ("YES\n", True), ("n\n", False), ("", False)])
def test_a_terminal_is_asked_and_only_a_yes_sets(
    shell: Shell, settings: Path, monkeypatch: pytest.MonkeyPatch, said: str, is_set: bool
) -> None:
    """The end of the input does not count as yes."""
    answering(monkeypatch, said)
    assert shell("sound", "--prompt", f"{sys.executable} -V") == (0 if is_set else 1)
    # A long path stands on a line of its own.
    assert f"at each prompt this computer will run: {sys.executable} -V" in " ".join(shell.out.split())
    assert settings.exists() is is_set


def test_a_program_is_kept_with_its_whole_path_and_for_its_owner_alone(
    shell: Shell, settings: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """So is a file it is given; another folder's program of the same name is never run."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "ding.wav").touch()
    (tmp_path / "chime").write_text("#!/bin/sh\n")
    (tmp_path / "chime").chmod(0o755)
    assert shell("sound", "--prompt", "./chime -q ding.wav", "--yes") == 0
    assert read_sounds().prompt == (str(tmp_path / "chime"), "-q", str(tmp_path / "ding.wav"))
    assert settings.stat().st_mode & 0o077 == 0


@pytest.mark.parametrize("line", ["", "/nowhere/chime", "'open quote"])
def test_a_program_that_cannot_be_run_is_refused(shell: Shell, settings: Path, line: str) -> None:
    assert shell("sound", "--prompt", line, "--yes") == 1
    assert "Traceback" not in shell.err
    assert shell.err
    assert not settings.exists()


def test_one_is_changed_without_the_other_and_off_leaves_the_bell(shell: Shell) -> None:
    for occasion in ("prompt", "alarm"):
        assert shell("sound", f"--{occasion}", f"{sys.executable} --{occasion}", "--yes") == 0
    assert read_sounds() == SoundPrograms((sys.executable, "--prompt"), (sys.executable, "--alarm"))
    assert shell("sound", "--off") == 0
    assert read_sounds() == SoundPrograms()
    with pytest.raises(SystemExit) as left:
        shell("sound", "--off", "--test")
    assert left.value.code == 2


def test_the_test_runs_each_program_and_says_which_failed(shell: Shell, tmp_path: Path) -> None:
    made = tmp_path / "made"
    failing = shlex.join([sys.executable, "-c", "raise SystemExit(3)"])
    assert shell("sound", "--prompt", touching(made), "--alarm", failing, "--yes", "--test") == 1
    assert made.exists()
    assert "status 3" in shell.err


@pytest.mark.parametrize("text", ["{", "[]", '{"prompt": "sh"}', '{"alarm": [1]}', '{"prompt": ["a\\u0000"]}'])
def test_a_damaged_settings_file_is_reported_and_can_be_set_again(shell: Shell, settings: Path, text: str) -> None:
    settings.parent.mkdir()
    settings.write_text(text)
    assert shell("sound") == 1
    assert "dyeday sound" in shell.err
    assert shell("sound", "--prompt", f"{sys.executable} -V", "--yes") == 0


def test_check_advises_that_a_plans_sound_does_nothing_with_its_line(shell: Shell, tmp_path: Path) -> None:
    """Exit status 0, 1 with --strict as all advice; the key itself is never a problem, whatever it holds."""
    plan = tmp_path / "old.toml"
    plan.write_text(with_sound(tmp_path / "x"), encoding="utf-8")
    line = 1 + with_sound(tmp_path / "x").split("\n").index(f'sound = ["/bin/sh", "-c", "touch {tmp_path}/x"]')
    assert shell("check", str(plan)) == 0
    assert f"advice: line {line}: session.sound is ignored" in shell.out
    assert shell("check", str(plan), "--strict") == 1
    plan.write_text(SHORT.replace("[session]\n", "[session]\nsound = 5\n", 1), encoding="utf-8")
    assert shell("check", str(plan)) == 0
    assert shell("check", str(SHORT_DAY)) == 0
    assert "session.sound" not in shell.out


def test_an_old_frozen_plan_with_a_sound_opens_and_its_sound_is_gone(tmp_path: Path) -> None:
    plan = read_plan(with_sound(tmp_path / "x"))
    frozen = to_plain(plan)
    frozen["session"]["sound"] = ["/bin/sh", "-c", "touch x"]
    again = from_plain(Plan, frozen)
    assert again == plan
    assert "touch" not in repr(again)
    assert "touch" not in plan_text(again)
    assert not hasattr(Session, "sound")


def frozen_with_sound(marker: Path) -> dict[str, object]:
    """Return a plan as an earlier version froze it, sound included."""
    plain: dict[str, object] = to_plain(read_plan(SHORT))
    session = plain["session"]
    assert isinstance(session, dict)
    session["sound"] = ["/bin/sh", "-c", f"touch {marker}"]
    return plain


async def through_prompts_and_alarms(bench: Bench) -> None:
    """Live a soak until its prompt, a heat until its alarm, try the bell, and wait for what would run."""
    await bench.press("j")
    await bench.press("0", "1", "m", "1")
    await bench.press("0", "4", "m", "3", "space", "enter")
    for _quarter in range(8):
        await bench.on(15)
    assert bench.ring.times >= 3
    assert "!" in bench.screen
    assert bench.app.sounds.running is None


def test_a_plan_that_names_a_program_never_runs_it(tmp_path: Path, settings: Path) -> None:
    """Through the bell's key, a prompt and an alarm of its day."""
    marker, clock = tmp_path / "ran", FakeClock()
    session = begun(tmp_path, clock, SHORT_DAY, with_sound(marker))
    drive(tmp_path, through_prompts_and_alarms, session=session, clock=clock)
    assert not marker.exists()


def test_a_log_that_brings_a_changed_plan_never_runs_its_program(shell: Shell, tmp_path: Path) -> None:
    """The `plan changed` line of another person's log, read by `mark --from`."""
    marker, clock = tmp_path / "ran", FakeClock()
    session = begun(shell.data, clock, SHORT_DAY, SHORT)
    line = {
        "id": "fromelsewhere",
        "at": clock.utc.isoformat(),
        "event": "plan changed",
        "plan": frozen_with_sound(marker),
        "source": "/elsewhere/plan.toml",
    }
    log = tmp_path / "log.jsonl"
    log.write_text(json.dumps(line) + "\n", encoding="utf-8")
    assert shell("mark", "--from", str(log)) == 0, shell.err
    again = Sessions(shell.data).open(session.about.id)
    assert [event.body.NAME for event in again.events] == ["plan changed"]
    drive(shell.data, through_prompts_and_alarms, session=again, clock=clock)
    assert not marker.exists()


def test_a_log_whose_changed_plan_cannot_be_read_is_refused(shell: Shell, tmp_path: Path) -> None:
    """It would be logged, and change nothing."""
    session = begun(shell.data, FakeClock(), SHORT_DAY, SHORT)
    log = tmp_path / "log.jsonl"
    line = {"at": FakeClock().utc.isoformat(), "event": "plan changed", "plan": {"bases": 3}}
    log.write_text(json.dumps(line) + "\n", encoding="utf-8")
    assert shell("mark", "--from", str(log)) == 1
    assert "the plan cannot be read" in shell.err
    assert not Sessions(shell.data).open(session.about.id).events


def test_a_carried_plan_never_runs_a_program_and_does_not_hand_it_on(shell: Shell, tmp_path: Path) -> None:
    """`carry` from a day whose plan named one; the new plan is begun and lived."""
    marker, clock = tmp_path / "ran", FakeClock()
    session = begun(shell.data, clock, SHORT_DAY, with_sound(marker))
    carried = tmp_path / "sunday.toml"
    assert shell("mark", "01", "soak") == 0, shell.err
    assert shell("close", "--yes", "--session", session.about.id) == 0, shell.err
    assert shell("carry", str(carried), "--session", session.about.id, "--date", "2026-03-15") == 0, shell.err
    text = carried.read_text(encoding="utf-8")
    assert "sound" not in text
    lived = begun(
        tmp_path / "sunday", clock, carried, text.replace("[session]\n", f"[session]\n{_line(marker)}\n", 1)
    )

    async def script(bench: Bench) -> None:
        await bench.press("j", "t")
        await bench.on(90)
        assert bench.ring.times >= 1
        assert bench.app.sounds.running is None

    drive(tmp_path / "sunday", script, session=lived, clock=clock)
    assert not marker.exists()


def _line(marker: Path) -> str:
    return f'sound = ["/bin/sh", "-c", "touch {marker}"]'
