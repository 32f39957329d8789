"""The road to the printer, with a stand-in `lp` first on the path: what it was given, and every way it can fail."""

from __future__ import annotations

import sys
import time
from pathlib import Path

import pytest

from dyeday.paper.printing import sending as printer
from dyeday.paper.printing.sending import send
from tests.harmless import is_harmless
from tests.paper.stand_in import stand_in

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="lp is not on Windows")


def test_a_queued_page_is_never_said_to_be_printed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """lp's exit status 0 means queued; the message names queue and job."""
    script = f'cat > {tmp_path}/got; echo "$@" > {tmp_path}/args; echo "request id is studio-12 (1 file(s))"'
    page = stand_in(tmp_path, monkeypatch, script)
    done = send(page, "Day's end", "studio")
    assert (done.sent, done.text) == (True, f"sent to queue studio as job 12; the page is in {page}")
    assert (tmp_path / "got").read_bytes() == page.read_bytes()
    assert (tmp_path / "args").read_text(encoding="utf-8") == "-d studio -t Day's end\n"


@pytest.mark.parametrize(
    ("names", "queue"), [({"LPDEST": "one", "PRINTER": "two"}, "-d one"), ({"PRINTER": "two"}, "-d two"), ({}, "")]
)
def test_the_queue_is_lpdest_then_printer_then_the_default(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, names: dict[str, str], queue: str
) -> None:
    """The usual variables of the system are honoured."""
    page = stand_in(tmp_path, monkeypatch, f'echo "$@" > {tmp_path}/args')
    for name, value in names.items():
        monkeypatch.setenv(name, value)
    assert send(page, "t").sent
    assert (tmp_path / "args").read_text(encoding="utf-8").strip() == f"{queue} -t t".strip()


def test_a_refusal_is_shown_in_lp_s_words_without_its_control_characters(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What lp writes cannot steer the terminal, and the page's file is named."""
    page = stand_in(tmp_path, monkeypatch, "printf 'no \\033[31mdefault\\007 destination' >&2; exit 1")
    done = send(page, "t")
    assert not done.sent
    assert "\x1b" not in done.text
    assert "default" in done.text
    assert str(page) in done.text


def test_without_lp_the_file_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a printer nothing is lost."""
    page = stand_in(tmp_path, monkeypatch, "exit 0")
    monkeypatch.setenv("PATH", str(tmp_path / "nothing"))
    done = send(page, "t")
    assert not done.sent
    assert str(page) in done.text


def test_an_lp_that_hangs_is_given_up(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The message says so, the page is kept."""
    page = stand_in(tmp_path, monkeypatch, "exec sleep 30")
    monkeypatch.setattr(printer, "LONGEST_S", 0.2)
    done = send(page, "t")
    assert not done.sent
    assert "did not answer" in done.text


def test_copies_are_asked_of_lp(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One for the wall and one for the folder."""
    page = stand_in(tmp_path, monkeypatch, f'echo "$@" > {tmp_path}/args')
    assert send(page, "t", "studio", copies=2).sent
    assert (tmp_path / "args").read_text(encoding="utf-8") == "-d studio -n 2 -t t\n"


def test_what_a_hanging_lp_started_is_ended_with_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A wrapper's child that keeps the pipe open does not hold up the command, and does not stay behind."""
    page = stand_in(tmp_path, monkeypatch, f"sleep 30 & echo $! > {tmp_path}/child; wait")
    monkeypatch.setattr(printer, "LONGEST_S", 0.5)
    assert "did not answer" in send(page, "t").text
    child = int((tmp_path / "child").read_text(encoding="utf-8"))
    # The signal is on its way when `send` returns.
    for _try in range(500):
        if not _lives(child):
            return
        time.sleep(0.01)
    raise AssertionError("it still runs")


def _lives(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text(encoding="utf-8").rsplit(")", 1)[1].split()[0] != "Z"
    except FileNotFoundError:
        return False


@pytest.mark.parametrize(
    ("script", "said"),
    [
        ("exec yes rubbish", "did not stop writing"),
        ("head -c 3000 /dev/zero | tr '\\0' '\\377'; exit 3", "lp refused"),
        ("printf 'request id is \\033]0;evil\\007-x\\n'", "gave no job number"),
    ],
)
def test_an_lp_that_writes_rubbish_is_shown_in_a_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, script: str, said: str
) -> None:
    """However much it writes, and whatever; nothing of it steers the terminal, and no job is made up."""
    done = send(stand_in(tmp_path, monkeypatch, script), "t", "studio")
    assert said in done.text
    assert len(done.text) < 600
    assert not [char for char in done.text if ord(char) < 32 or 127 <= ord(char) < 160]
    assert "as job" not in done.text


def test_a_print_system_that_does_not_run_is_told_apart_from_an_unknown_queue(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """lp says the same of both; lpstat tells."""
    page = stand_in(tmp_path, monkeypatch, "echo 'lp: The printer or class does not exist.' >&2; exit 1")
    lpstat = tmp_path / "bin" / "lpstat"
    for running, remedy in (
        ("scheduler is running", "lists the queues"),
        ("scheduler is not running", "not running: restart"),
    ):
        lpstat.write_text(f"#!/bin/sh\necho 'scheduler {running}'\n", encoding="utf-8")
        lpstat.chmod(0o755)
        done = send(page, "t", "attic")
        assert not done.sent
        assert remedy in done.text
        assert str(page) in done.text


def test_a_title_is_harmless_and_short(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A session's name cannot steer lp or what shows its queue."""
    page = stand_in(tmp_path, monkeypatch, f'printf "%s" "$2" > {tmp_path}/title')
    send(page, "\x1b[31m-o raw" + "x" * 500)
    title = (tmp_path / "title").read_text(encoding="utf-8")
    assert title.startswith("\\x1b[31m-o raw")
    assert len(title) <= 100


@pytest.mark.parametrize(
    ("script", "would", "said"),
    [
        ("[ $1 = -r ] && echo scheduler is running || echo no system default destination", False, "no default"),
        ("[ $1 = -r ] && echo scheduler is running || echo system default destination: studio", True, "studio"),
        ("echo scheduler is not running", False, "the print service does not answer"),
        ("printf '\\033[31mrubbish'", False, "the print service does not answer"),
        ("exec sleep 30", False, "the print service does not answer (no answer)"),
    ],
)
def test_what_stands_between_a_page_and_the_printer_is_asked_without_waiting(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, script: str, would: bool, said: str
) -> None:
    """lpstat's words, harmless; one that hangs is given up."""
    stand_in(tmp_path, monkeypatch, "exit 0")
    lpstat = tmp_path / "bin" / "lpstat"
    lpstat.write_text(f"#!/bin/sh\n{script}\n", encoding="utf-8")
    lpstat.chmod(0o755)
    monkeypatch.setattr(printer, "ASK_LONGEST_S", 0.3 if "sleep" in script else 5.0)
    found = printer.printer_state()
    assert found[0] is would
    assert said in found[1]
    assert is_harmless(found[1])


def test_the_queue_that_is_asked_about_is_the_one_that_would_be_printed_to(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """LPDEST before PRINTER."""
    stand_in(tmp_path, monkeypatch, "exit 0")
    lpstat = tmp_path / "bin" / "lpstat"
    lpstat.write_text("#!/bin/sh\n[ $1 = -r ] && echo scheduler is running || echo $2 accepting requests\n")
    lpstat.chmod(0o755)
    monkeypatch.setenv("PRINTER", "two")
    assert printer.printer_state() == (True, "pages go to queue two", "")
    monkeypatch.setenv("LPDEST", "one")
    assert printer.printer_state() == (True, "pages go to queue one", "")
