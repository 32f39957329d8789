"""A plugin of pytest: tests are collected once, and each changed function is tried in a fork of that session.

A first round over all tests, with the code as it is, learns which test calls which function of the watched modules
and how long it takes.
"""

from __future__ import annotations

import functools
import gc
import json
import os
import signal
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from types import FrameType
from typing import Any

import pytest
from _pytest.runner import runtestprotocol

from tests.mutants.mutate import Mutant
from tests.mutants.placing import Placed, placed

ROOT = Path(__file__).resolve().parents[2]

MOST_S = 25.0
"""Tests of one change, at most, by the time they took: the farthest and longest are left out."""
SLACK_S = 10.0
"""A test that takes so much longer than before, five times its time beside, hangs."""
EXAMPLES = 40
"""Draws of a law: fewer than in an ordinary run, so that many changes can be tried."""
HANGS = 99
CLEAN = 0


@dataclass(frozen=True)
class Wanted:
    """A change to try: the module's path, the change, the tests that should notice."""

    path: str
    mutant: Mutant
    tests: tuple[str, ...]

    @property
    def module(self) -> str:
        """The module's dotted name."""
        return self.path.removesuffix(".py").replace("/", ".").removesuffix(".__init__")

    @cached_property
    def placed(self) -> Placed | None:
        """How to put the change into the running program; None where that cannot be done."""
        return placed((ROOT / self.path).read_text(encoding="utf-8"), self.mutant.code, str(ROOT / self.path))


@dataclass(frozen=True)
class Found:
    """A change, and the test that noticed it; nothing where none did."""

    wanted: Wanted
    killed_by: str


def _alike(module: str, tests: Path) -> bool:
    """Whether a module and a file of tests are named alike: `rinsing.py` and `test_flags_rinse.py`."""
    ours, theirs = (Path(path).stem.split("_") for path in (module, tests))
    return any(a[:3] == b[:3] for a in ours for b in theirs)


class Forked:
    """The plugin: tries every wanted change and tells what became of it."""

    def __init__(self, wanted: list[Wanted], tell: Callable[[Found], None], kept: Path | None) -> None:
        self.wanted, self.tell, self.kept = wanted, tell, kept
        self.calls: dict[tuple[str, str], list[pytest.Item]] = {}
        """(file, function) to the tests that call it"""
        self.took: dict[pytest.Item, float] = {}
        self.caches: list[Any] = []

    @pytest.hookimpl(tryfirst=True)
    def pytest_collection(self) -> None:
        # Imported before pytest has begun, hypothesis would be a warning.
        from hypothesis import Phase, settings

        # The same draws in every run, and no search for a smaller example of what has failed.
        settings.register_profile(
            "settled",
            deadline=None,
            derandomize=True,
            database=None,
            max_examples=EXAMPLES,
            phases=(Phase.explicit, Phase.generate),
        )
        settings.load_profile("settled")

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        os.dup2(1, 2)
        self.caches = [one for one in gc.get_objects() if isinstance(one, functools._lru_cache_wrapper)]
        self._learn(session.items)
        for one in self.wanted:
            self.tell(Found(one, self._try(one)))
        return True

    def _learn(self, items: list[pytest.Item]) -> None:
        program = str(ROOT / "dyeday")
        called: set[tuple[str, str]] = set()

        def note(frame: FrameType, event: str, _: object) -> None:
            code = frame.f_code
            if code.co_filename.startswith(program):
                called.add((code.co_filename, code.co_qualname.partition(".<locals>")[0]))

        known = json.loads(self.kept.read_text(encoding="utf-8")) if self.kept and self.kept.exists() else {}
        unknown = [item for item in items if item.nodeid not in known]
        for n, item in enumerate(unknown):
            following = unknown[n + 1] if n + 1 < len(unknown) else None
            called.clear()
            self._fresh()
            began = time.perf_counter()
            sys.settrace(note)
            try:
                reports = runtestprotocol(item, log=False, nextitem=following)
            finally:
                sys.settrace(None)
            if any(report.failed for report in reports):
                continue  # says nothing about a change
            known[item.nodeid] = (time.perf_counter() - began, sorted(called))
        if self.kept:
            self.kept.write_text(json.dumps(known), encoding="utf-8")
        for item in items:
            if item.nodeid in known:
                self.took[item], functions = known[item.nodeid]
                for file, name in functions:
                    self.calls.setdefault((file, name), []).append(item)

    def _fresh(self) -> None:
        for cache in self.caches:
            cache.cache_clear()

    def _tests_of(self, one: Wanted) -> Iterator[pytest.Item]:
        assert one.placed is not None
        readers = one.placed.readers(str(ROOT / one.path))
        covering = {item for reader in readers for item in self.calls.get(reader, ())}
        files = {file for file, _ in readers}
        covering |= {item for item in self.took if str(item.path) in files}  # the test itself reads a constant
        left_s = MOST_S
        nearest = [ROOT / name for name in one.tests]
        far = len(nearest)

        def order(item: pytest.Item) -> tuple[bool, int, float]:
            near = (n for n, path in enumerate(nearest) if path == item.path or path in item.path.parents)
            return not _alike(one.path, item.path), next(near, far), self.took[item]

        for item in sorted(covering, key=order):
            left_s -= self.took[item]
            if left_s < 0:
                return
            yield item

    def _try(self, one: Wanted) -> str:
        """The first test that fails with the change in place."""
        items = list(self._tests_of(one))
        reader, writer = os.pipe()
        child = os.fork()
        if not child:
            try:
                assert one.placed is not None
                one.placed.put(sys.modules[one.module])
                self._run(items, writer)
            except BaseException as error:
                os.write(writer, f"could not be tried: {error!r}".encode())
            finally:
                os._exit(CLEAN)
        os.close(writer)
        with os.fdopen(reader) as said:
            killed_by = said.read()
        os.waitpid(child, 0)
        return killed_by

    def _run(self, items: list[pytest.Item], writer: int) -> None:
        current = ""

        def hangs(*_: object) -> None:
            os.write(writer, f"{current}, it hangs".encode())
            os._exit(HANGS)

        signal.signal(signal.SIGALRM, hangs)
        for n, item in enumerate(items):
            current = item.nodeid
            self._fresh()
            signal.setitimer(signal.ITIMER_REAL, SLACK_S + 5 * self.took[item])
            following = items[n + 1] if n + 1 < len(items) else None
            if any(report.failed for report in runtestprotocol(item, log=False, nextitem=following)):
                os.write(writer, current.encode())
                os._exit(CLEAN)
        signal.setitimer(signal.ITIMER_REAL, 0)
