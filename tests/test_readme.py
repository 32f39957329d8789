"""README and examples/first-day.md are true: every command in them runs, every output shown is compared.

The blocks of each are one day, played in order in a folder, a home and a data folder of their own, on a set clock.
A shown line may have a hole, ``…``: within a line it stands for any text, on a line of its own for any lines. A
command without output shown must end with status 0.
"""

from __future__ import annotations

import argparse
import asyncio
import re
import shlex
import shutil
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest

from dyeday.ahead.forecast import Forecast, forecast
from dyeday.bench.input.bench_keys import KEYS
from dyeday.cli import main
from dyeday.commands.screens import open_bench as benches
from dyeday.commands.usage import made_parser
from dyeday.commands.usage.command_table import TOPICS
from dyeday.commands.usage.options import SHEETS
from dyeday.paper.help_pages import help_lines
from dyeday.store import clock
from dyeday.store.session_file import SessionFile
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import Moment
from tests.bench.driving import Bench, run_bench
from tests.fakes import ROOT, FakeClock, Ring

README, FIRST_DAY = "README.md", "examples/first-day.md"
PAGES = {name: (ROOT / name).read_text(encoding="utf-8") for name in (README, FIRST_DAY)}
MOST_LINES = 220
HOLE = "…"
INSTALL = re.compile(r"python3 -m venv \.venv && \.venv/bin/python -m pip install --quiet (\.|'\.\[test\]') && \S.*")
KEY_NAMES = {"enter": "enter", "esc": "escape", "space": "space"}
AT = re.compile(r"at (\d\d):(\d\d)(?:: (.+))?")


@dataclass(frozen=True)
class Block:
    """A fenced block: its page and line there, counted from 1, its language and its lines."""

    where: str
    language: str
    lines: tuple[str, ...]


def blocks(page: str) -> list[Block]:
    found, lines = [], PAGES[page].split("\n")
    opened: int | None = None
    for no, line in enumerate(lines):
        if line.startswith("```"):
            if opened is None:
                opened = no
            else:
                found.append(Block(f"{page}:{opened + 1}", lines[opened][3:], tuple(lines[opened + 1 : no])))
                opened = None
    assert opened is None
    return found


def commands_of(block: Block) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Give each command of a console block with the lines shown as its output."""
    starts = [n for n, line in enumerate(block.lines) if line.startswith("$ ")]
    assert starts and starts[0] == 0, f"{block.where}: a console block begins with a command"
    for start, end in zip(starts, [*starts[1:], len(block.lines)], strict=True):
        yield block.lines[start][2:], block.lines[start + 1 : end]


def pattern_of(shown: Sequence[str]) -> str:
    made = ""
    for line in shown:
        if line.strip() == HOLE:
            made += r"(?:.*\n)*?"
        else:
            made += ".*".join(re.escape(part) for part in line.rstrip().split(HOLE)) + r"[ ]*\n"
    return made


def assert_shown(where: str, shown: Sequence[str], real: str, *, whole: bool) -> None:
    """Assert that ``shown`` is the ``whole`` of the real text, or a stretch of its lines."""
    text = real.rstrip("\n") + "\n" if real else ""
    pattern = pattern_of(shown)
    found = re.fullmatch(pattern, text) if whole else re.search(r"^" + pattern, text, re.MULTILINE)
    page_text = "\n".join(shown)
    assert found, f"{where}: the page shows\n{page_text}\nand what comes is\n{real}"


class Road:
    """A newcomer who follows a page: ``folder`` is the checkout's copy, ``clock`` is set by the blocks."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
        self.folder = folder
        self.capsys = capsys
        self.clock = FakeClock()
        self.opened: SessionFile | None = None
        monkeypatch.setattr(clock, "now", self.clock)
        monkeypatch.setattr(benches, "run_bench", self.open_bench)

    def open_bench(self, session: SessionFile, after: str = "") -> None:
        self.opened = session

    def follow(self, found: Sequence[Block]) -> None:
        waiting: list[Block] = []
        for block in found:
            if block.language == "bench":
                waiting.append(block)
                continue
            if waiting:
                self.at_the_bench(waiting)
                waiting = []
            if block.language == "sh":
                for line in block.lines:
                    assert INSTALL.fullmatch(line), f"{block.where}: {line}"
            elif block.language == "console":
                for command, shown in commands_of(block):
                    self.run(f"{block.where}: {command}", command, shown)
        assert not waiting

    def run(self, where: str, command: str, shown: Sequence[str]) -> None:
        words = shlex.split(command)
        if words[0] == "cp":
            shutil.copy(self.folder / words[1], self.folder / words[2])
            assert not shown
            return
        assert words[0] == "dyeday", where
        if words[1] == "ahead":
            words += ["--evaluations", "200"]  # the same answer every time, and quickly
        self.capsys.readouterr()
        status = main(words[1:])
        out, err = self.capsys.readouterr()
        assert status == 0, f"{where}: {err}"
        if shown:
            assert_shown(where, shown, out + err, whole=True)

    def at_the_bench(self, found: Sequence[Block]) -> None:
        """Press the keys of the blocks on the session that was opened, and compare what is seen."""
        session = self.opened
        assert session is not None, "a bench block stands behind the command that opens the bench"

        async def play(bench: Bench) -> None:
            for block in found:
                await self.block(bench, block)

        asyncio.run(run_bench(session, self.clock, Ring(), self.folder, play, foresee=foresee))

    async def block(self, bench: Bench, block: Block) -> None:
        shown = list(block.lines)
        while shown and (said := AT.fullmatch(shown[0])):
            await self.go_to(bench, int(said[1]), int(said[2]))
            for word in (said[3] or "").split():
                if word in KEY_NAMES:
                    await bench.press(KEY_NAMES[word])
                else:
                    await bench.type(word)
            shown.pop(0)
        assert len(shown) < len(block.lines), f"{block.where}: a bench block says its time and keys"
        if shown:
            assert_shown(block.where, shown, bench.screen, whole=False)

    async def go_to(self, bench: Bench, hour: int, minute: int) -> None:
        then = datetime(2026, 3, 14, hour, minute, tzinfo=UTC)
        minutes = (then - self.clock.utc).total_seconds() / 60
        assert minutes >= 0, "time goes on"
        # By five minutes at most, so that clocks that come due in between ring as they would.
        while minutes > 0:
            await bench.on(min(5.0, minutes))
            minutes -= 5.0


def foresee(day: Day, now: Moment, before: Forecast | None) -> Forecast:
    return forecast(day, now, evaluations=200, before=before)


@pytest.fixture
def in_utc() -> Iterator[None]:
    """The computer's own zone is UTC, so that the clock times shown are the same everywhere."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TZ", "UTC")
        if hasattr(time, "tzset"):
            time.tzset()
        yield
    if hasattr(time, "tzset"):
        time.tzset()


@pytest.mark.usefixtures("in_utc")
@pytest.mark.parametrize("page", PAGES)
def test_every_command_of_the_page_runs_and_shows_what_it_says(
    page: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its day, from copying the example to carrying the rest over, with a new home and nothing kept."""
    for name in ("HOME", "USERPROFILE", "XDG_DATA_HOME", "LOCALAPPDATA"):
        monkeypatch.setenv(name, str(tmp_path / "home"))
    for name in ("DYEDAY_DATA", "LPDEST", "PRINTER", "NO_COLOR"):
        monkeypatch.delenv(name, raising=False)
    folder = tmp_path / "checkout"
    shutil.copytree(ROOT / "examples", folder / "examples")
    monkeypatch.chdir(folder)
    Road(folder, capsys, monkeypatch).follow(blocks(page))


def test_holes_in_what_is_shown_are_few() -> None:
    """An output that is mostly holes would compare nothing."""
    shown = [line for b in blocks(FIRST_DAY) if b.language in ("console", "bench") for line in b.lines]
    assert len(shown) > 80
    assert sum(HOLE in line for line in shown) < len(shown) / 4


def test_both_ways_to_begin_are_there_word_for_word() -> None:
    """One line shows the demo, the other runs the tests: two commands and no third step."""
    lines = [line for b in blocks(README) if b.language == "sh" for line in b.lines]
    assert len(lines) == 2
    assert lines[0].endswith(" && .venv/bin/dyeday demo")
    assert lines[1].endswith(" && .venv/bin/python -m pytest")


def test_a_hole_compares_the_rest_of_its_line_and_nothing_shown_may_be_missing() -> None:
    """The comparing itself refuses what differs."""
    assert_shown("here", ["a … c", "…", "z"], "a b c\nmore\nz\n", whole=True)
    for real in ("a b d\nmore\nz\n", "a b c\nmore\n", "a b c\nmore\nz\nend\n"):
        with pytest.raises(AssertionError):
            assert_shown("here", ["a … c", "…", "z"], real, whole=True)


def parsers() -> dict[str, argparse.ArgumentParser]:
    parser, _ = made_parser()
    action = next(a for a in parser._actions if isinstance(a, argparse._SubParsersAction))
    return dict(action.choices)


def options_of(parser: argparse.ArgumentParser) -> set[str]:
    return {option for action in parser._actions for option in action.option_strings}


def test_every_command_explains_each_of_its_words() -> None:
    """``--help`` has an example and leaves nothing that may be typed without a word on it; examples parse."""
    for name, parser in parsers().items():
        assert (parser.epilog or "").startswith(f"example: dyeday {name}"), name
        assert [action.dest for action in parser._actions if not action.help] == [], name
        for example in (parser.epilog or "").removeprefix("example: ").split("\n"):
            made_parser()[0].parse_args(shlex.split(example.strip().removeprefix("dyeday ").split(" > ")[0]))


def test_every_command_in_the_text_is_one_the_parser_takes() -> None:
    """Examples within sentences are parsed whole; forms with a word in capitals by their options."""
    known = parsers()
    seen = 0
    prose = re.sub(r"^```.*?^```", "", "\n".join(PAGES.values()), flags=re.DOTALL | re.MULTILINE)
    for span in re.findall(r"`([^`\n]+)`", prose):
        words = span.split()
        if words[0] == "dyeday":
            words = words[1:]
        if not words or words[0] not in known:
            continue
        seen += 1
        given = set(re.findall(r"(?<!\S)--[a-z][a-z-]*", span))
        assert given <= options_of(known[words[0]]), span
        # Capitals, brackets and dots stand for something; what has none is an example.
        if span.startswith("dyeday ") and not re.search(r"(?<!\S)\[|\b[A-Z]{3,}\b|…", span) and len(words) > 1:
            parser, _ = made_parser()
            parser.parse_args(shlex.split(span)[1:])
    assert seen > 15


def test_links_and_pictures_lead_somewhere() -> None:
    """Every file and folder the pages point at is in the checkout."""
    named = re.findall(r"\]\(([^)#]+)\)", PAGES[README])
    assert any(name.startswith("screenshots/") for name in named)
    for name in named:
        assert (ROOT / name).exists(), name
    for name in re.findall(r"`((?:examples|tests|screenshots|dyeday)/[^`\s]+)`", "\n".join(PAGES.values())):
        assert (ROOT / name).exists(), name


def test_the_readme_is_short_and_has_every_help_topic_and_sheet() -> None:
    """What it lists is all there is."""
    assert PAGES[README].count("\n") <= MOST_LINES
    topics = re.search(r"`dyeday help` \| (.+) \|", PAGES[README])
    assert topics is not None
    assert [topic.replace(" ", "-") for topic in topics[1].split(", ")] == list(TOPICS)
    table = PAGES[README].split("| sheet |", 1)[1].split("\n\n", 1)[0]
    assert set(re.findall(r"`([a-z]+)`", table)) == set(SHEETS)


def test_every_key_named_is_a_key_of_the_bench() -> None:
    """A single letter between backticks is one that does something."""
    letters = set(re.findall(r"`([A-Za-z])`", "\n".join(PAGES.values())))
    assert len(letters) > 10
    assert letters <= {key.key for key in KEYS}


def test_the_words_explained_are_those_of_the_help() -> None:
    """README and `dyeday help words` explain a word in the same sentence."""
    words = PAGES[README].split("## Words", 1)[1].split("\n## ", 1)[0]
    said = " ".join("\n".join(help_lines("words")).split())
    explained = re.findall(r"\*\*(.+?)\*\*: ([^;\n]+(?:; [^*;\n]+)*)", words)
    assert len(explained) > 10
    for word, means in explained:
        assert f"{word}: {means}" in said, word
