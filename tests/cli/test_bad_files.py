"""Files that are none, given to every command that reads one: refused with place and reason, nothing stored."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from tests.cli.test_commands import Shell
from tests.fakes import SHORT_DAY

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="no such files there")


@pytest.fixture
def shell(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Shell:
    made = Shell(tmp_path / "data", capsys)
    assert made("begin", str(SHORT_DAY)) == 0
    return made


def bad_files(folder: Path) -> dict[str, Path]:
    os.mkfifo(folder / "pipe")
    (folder / "link").symlink_to(SHORT_DAY)
    (folder / "loop").symlink_to(folder / "loop")
    with (folder / "huge").open("wb") as file:
        file.truncate(1 << 36)
    (folder / "deep").write_bytes(b"[" * 200_000)
    (folder / "deep keys").write_bytes(b'{"a":' * 100_000)
    (folder / "digits").write_bytes(b"x = " + b"9" * 5000)
    (folder / "wide").write_bytes("a = 1".encode("utf-16"))
    (folder / "latin").write_bytes(b"name = '\xe9'")
    (folder / "nul").write_bytes(b"a\0b")
    (folder / "surrogate").write_bytes(b'{"at": "2026-03-14T09:05:00Z", "batch": "01", "to": "\\ud800"}')
    (folder / "twice").write_bytes(b'{"at": "2026-03-14T09:05:00Z", "batch": "01", "batch": "02", "to": "soak"}')
    (folder / "nan").write_bytes(b'{"at": "2026-03-14T09:05:00Z", "batch": "01", "acid_ml": NaN}')
    found = {path.name: path for path in folder.iterdir()}
    return found | {"device": Path("/dev/zero"), "terminal": Path("/dev/tty"), "folder": folder}


@pytest.mark.parametrize("command", [["check"], ["begin"], ["mark", "--from"], ["ahead"], ["weigh"]], ids=" ".join)
def test_what_is_not_text_of_its_kind_is_refused_with_its_place(
    shell: Shell, tmp_path: Path, command: list[str]
) -> None:
    """Pipes, links, devices, folders, files without end, nesting without end, other encodings."""
    folder = tmp_path / "bad"
    folder.mkdir()
    for path in bad_files(folder).values():
        assert shell(*command, str(path)) == 1, path
        assert shell.err.startswith(str(path)), shell.err
        assert "; " in shell.err
        assert "Traceback" not in shell.err
    assert shell("log", "--json") == 0
    assert shell.lines == []
    assert shell("sessions", "--json") == 0
    assert shell.out.count('"id"') == 1


def test_a_byte_order_mark_is_not_a_mistake(shell: Shell, tmp_path: Path) -> None:
    """Editors write one."""
    plan = tmp_path / "plan.toml"
    plan.write_bytes(b"\xef\xbb\xbf" + SHORT_DAY.read_bytes())
    assert shell("check", str(plan)) == 0
    events = tmp_path / "day.jsonl"
    events.write_bytes(b'\xef\xbb\xbf{"at": "2026-03-14T09:05:00Z", "batch": "01", "to": "soak"}\n')
    assert shell("mark", "--from", str(events)) == 0
