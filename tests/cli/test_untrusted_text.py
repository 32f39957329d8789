"""Names that would steer a terminal, a printer, a page or a spreadsheet: shown, never obeyed; no shell anywhere."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from tests.cli.test_commands import Shell
from tests.fakes import ROOT, SHORT_DAY
from tests.harmless import is_harmless

EVIL = "\\u001b]0;owned\\u0007\\u009b31m\\u202e[bold]=1+1<b>&\\u2066\\u200b\\U000E0041"
AS_CODE = EVIL.encode().decode("unicode_escape")


@pytest.fixture
def day(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Shell:
    """A day whose names are all evil, with a flag."""
    monkeypatch.setenv("PATH", str(tmp_path))
    text = SHORT_DAY.read_text(encoding="utf-8")
    for name in ("Kelp Light", "Plain Sock", "Slate Blue"):
        text = text.replace(name, f"{name} {EVIL}")
    text = text.replace("Saturday at the back kitchen", EVIL)
    plan = tmp_path / "evil.toml"
    plan.write_text(text, encoding="utf-8")
    shell = Shell(tmp_path / "data", capsys)
    assert shell("begin", str(plan)) == 0
    assert shell("mark", "01", "paint", "--note", AS_CODE, "--tag", AS_CODE[:20]) == 0
    for step in ("fix", "cool", "rinse", "dry", "done"):
        assert shell("mark", "01", step) == 0
    assert shell("close", "--why", AS_CODE) == 0
    return shell


COMMANDS = [
    ["log"], ["log", "--json"], ["flags", "--all"], ["flags", "--json"], ["summary"],
    ["summary", "--json"], ["weigh"], ["weigh", "--json"],
    ["ahead", "--evaluations", "1"], ["ahead", "--evaluations", "1", "--json"], ["sessions"],
    ["sessions", "--json"], ["lots"], ["lots", "--json"], ["lots", "--csv", "-"], ["shelf"], ["shelf", "--json"],
    ["restore"], ["restore", "--json"], ["doctor"], ["times"], ["parcels"], ["look-back"],
]  # fmt: skip


def test_no_command_puts_a_name_with_control_codes_on_the_terminal(day: Shell) -> None:
    """Not one control, escape, bidi, unseen or tag character, as text, as JSON and as CSV."""
    for command in COMMANDS:
        assert day(*command) == 0, command
        assert day.out.strip(), command
        for line in (day.out + day.err).replace("\r\n", "\n").split("\n"):
            assert is_harmless(line), (command, ascii(line))


def test_no_name_is_a_formula_in_a_table(day: Shell, tmp_path: Path) -> None:
    """Cells that begin as a formula have an apostrophe before them."""
    day("lots", "--csv", "-")
    text = day.out
    assert day("shelf", "--csv", str(tmp_path / "shelf.csv")) == 0
    text += (tmp_path / "shelf.csv").read_text(encoding="utf-8")
    assert all(is_harmless(line.rstrip("\r")) for line in text.split("\n"))
    cells = re.findall(r'"((?:[^"]|"")*)"', text)
    assert len(cells) > 10
    assert not [cell for cell in cells if cell.lstrip()[:1] in "=+-@" and cell.strip()]


def test_pages_hold_text_and_never_markup_of_a_name(day: Shell, tmp_path: Path) -> None:
    """The page of the day as a file, for a printer and for a browser."""
    text = tmp_path / "page.txt"
    assert day("summary", "--text", str(text)) == 0
    assert all(is_harmless(line) for line in text.read_text(encoding="utf-8").replace("\f", "").split("\n"))
    page = tmp_path / "page.html"
    assert day("summary", "--html", str(page)) == 0
    said = page.read_text(encoding="utf-8")
    assert "<b>&" not in said
    assert all(is_harmless(line) for line in said.split("\n"))


def test_files_are_named_by_us_alone(day: Shell) -> None:
    """No part of any name that a person typed is part of a file's name in the data folder."""
    day("summary", "--print")
    names = [path.name for path in day.data.rglob("*")]
    assert len(names) > 5
    assert all(re.fullmatch(r"\.?[a-z0-9][a-z0-9.TZ-]*", name) for name in names), names


OF_OUR_OWN_CLASSES = {("quick_dataclass.py", "exec"), ("serialize.py", "eval")}
"""compiled from the fields and annotations of our own classes, as `dataclasses` and `typing` do; never from data"""


def test_there_is_no_shell_anywhere() -> None:
    """Programs are run by a list of words; no os.system, no shell=True, no eval of text from people."""
    for path in sorted((ROOT / "dyeday").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            name = ast.unparse(node.func)
            shells = [key for key in node.keywords if key.arg == "shell"]
            assert not shells, path
            if (path.name, name) in OF_OUR_OWN_CLASSES:
                continue
            assert name not in ("os.system", "os.popen", "eval", "exec", "subprocess.getoutput"), path
            assert not name.startswith("os.spawn"), path
