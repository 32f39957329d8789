"""`dyeday watch`: the session on the disk, as other shells record it."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from dyeday.cli import main
from dyeday.commands.screens.demo import make_demo
from dyeday.store import clock
from tests.fakes import ROOT
from tests.typed_events import make
from tests.watch.served import get


@contextmanager
def watching(data: Path, *more: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """Run the command; give it and the address it prints."""
    command = [sys.executable, "-m", "dyeday", "watch", "--data", str(data), *more]
    running = subprocess.Popen(
        command, cwd=ROOT, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    try:
        assert running.stdout is not None
        url = running.stdout.readline().strip()
        yield running, url
    finally:
        running.terminate()
        running.communicate(timeout=30)


def now_of(url: str) -> dict[str, Any]:
    reply = get(url, re.sub(r"^http://[^/]+", "", url) + "now")
    found = json.loads(reply.body) if reply.status == 200 else {}
    assert isinstance(found, dict)
    return found


def until(holds: Any) -> Any:
    """Ask until it holds; each question is an exchange with the server, so that this waits on it."""
    for _ in range(200_000):
        if found := holds():
            return found
    raise AssertionError("it never came")


def test_it_shows_what_a_mark_from_another_shell_records_and_changes_nothing(tmp_path: Path) -> None:
    file = make_demo(tmp_path, clock.now())
    with watching(tmp_path) as (_, url):
        assert url.startswith("http://127.0.0.1:")
        until(lambda: now_of(url).get("next"))
        before = file.path.read_bytes()
        assert "06/heat" in _names(now_of(url))
        assert file.path.read_bytes() == before
        assert main(["mark", "06", "--heat", "1", "end", "--data", str(tmp_path)]) == 0
        until(lambda: "06/heat" not in _names(now_of(url)))


def _names(said: dict[str, Any]) -> list[str]:
    return [f"{clock['about']}/{clock['what']}" for clock in said.get("clocks", [])]


def test_it_ends_by_itself_when_the_day_is_closed_and_tells_the_pages(tmp_path: Path) -> None:
    file = make_demo(tmp_path, clock.now())
    with watching(tmp_path) as (running, url):
        until(lambda: now_of(url).get("next"))
        file.add([make("closed", clock.now(), clock.new_id)])
        assert until(lambda: now_of(url).get("ended")) == "the day is closed"
        assert running.wait(30) == 0
    assert main(["watch", "--data", str(tmp_path), "--session", _only(tmp_path)]) == 1


def _only(data: Path) -> str:
    return next((data / "sessions").glob("*.json")).stem


def test_the_forecasts_finish_comes_behind_the_clocks(tmp_path: Path) -> None:
    make_demo(tmp_path, clock.now())
    with watching(tmp_path) as (_, url):
        assert re.search(r"\d\d:\d\d$", until(lambda: now_of(url).get("finish")))


def test_without_the_extra_it_says_how_to_get_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    make_demo(tmp_path, clock.now())
    hidden = "import sys\nsys.modules['waitress'] = None\nfrom dyeday.cli import main\nsys.exit(main(sys.argv[1:]))"
    done = subprocess.run(
        [sys.executable, "-c", hidden, "watch", "--data", str(tmp_path)],
        cwd=ROOT, capture_output=True, text=True, env={**os.environ, "COLUMNS": "200"},
    )  # fmt: skip
    assert done.returncode == 1
    assert "pip install '.[room]'" in done.stderr
    assert "Traceback" not in done.stderr


def test_an_address_of_the_whole_internet_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    make_demo(tmp_path, clock.now())
    assert main(["watch", "--network", "8.8.8.8", "--data", str(tmp_path)]) == 1
    assert "not an address in a home network" in capsys.readouterr().err


def test_nothing_else_loads_the_server_or_the_code() -> None:
    """Importing every command and the bench loads neither library, nor the package that needs them."""
    from tests.test_import_rules import import_all, loaded_by

    rooms = "\n".join(import_all(room) for room in ("commands", "cli", "bench"))
    loaded = loaded_by(rooms)
    assert not {"waitress", "segno", "dyeday.watch", "dyeday.watch.serving"} & loaded
    assert not {"waitress", "segno"} & loaded_by(import_all("watch"))
