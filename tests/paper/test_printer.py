"""The road to the printer, with a stand-in `lp` first on the path: what it was given, and every way it can fail."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from dyeday.paper import printer
from dyeday.paper.printer import send

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="lp is not on Windows")


def stand_in(folder: Path, monkeypatch: pytest.MonkeyPatch, script: str) -> Path:
    """Put an `lp` that does ``script`` first on the path; return the page to print."""
    lp = folder / "bin" / "lp"
    lp.parent.mkdir()
    lp.write_text(f"#!/bin/sh\n{script}\n", encoding="utf-8")
    lp.chmod(0o755)
    monkeypatch.setenv("PATH", f"{lp.parent}:/usr/bin:/bin")
    for name in ("LPDEST", "PRINTER"):
        monkeypatch.delenv(name, raising=False)
    page = folder / "page.txt"
    page.write_text("the page\n", encoding="utf-8")
    return page


def test_a_queued_page_is_never_said_to_be_printed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """lp's exit status 0 means queued; the message names queue and job."""
    script = f'cat > {tmp_path}/got; echo "$@" > {tmp_path}/args; echo "request id is studio-12 (1 file(s))"'
    page = stand_in(tmp_path, monkeypatch, script)
    done = send(page, "Day's end", "studio")
    assert (done.sent, done.text) == (True, "sent to queue studio as job 12")
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


def test_a_refusal_is_told_in_lp_s_words_without_its_control_characters(
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
    """No printer is no loss."""
    page = stand_in(tmp_path, monkeypatch, "exit 0")
    monkeypatch.setenv("PATH", str(tmp_path / "nothing"))
    done = send(page, "t")
    assert not done.sent
    assert str(page) in done.text


def test_an_lp_that_hangs_is_given_up(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The dyer is told, the page is kept."""
    page = stand_in(tmp_path, monkeypatch, "exec sleep 30")
    monkeypatch.setattr(printer, "LONGEST_S", 0.2)
    done = send(page, "t")
    assert not done.sent
    assert "did not answer" in done.text
