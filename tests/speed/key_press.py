"""How far one key press that records goes: ``python -m tests.speed.key_press``.

The bench of the short example, its session held by it and nothing recorded yet, after what it does by itself behind
its first frame: Space offers the next step of the chosen batch, Enter records it. Counted during Enter, until nothing
is left to draw: the program's files that any call reached, and the calls whose caller and callee stand in different
files of it.
``--pairs`` adds the pairs of files, most calls first.
"""

from __future__ import annotations

import asyncio
import sys
import tempfile
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path
from types import FrameType

import dyeday
from dyeday import quick_dataclass
from tests.bench.driving import Bench, drive

ROOT = f"{Path(dyeday.__file__).parent}/"
MADE = quick_dataclass.__file__
"""whose functions stand for those that the standard library compiles into every dataclass: not counted either"""
RUNS = 4
AT_FIRST = (62, 1015)
"""files and calls between them before keys were given one way"""


class Calls:
    """A profile function that counts. ``pairs`` has caller and callee of the calls between files."""

    def __init__(self) -> None:
        self.files: set[str] = set()
        self.pairs: Counter[tuple[str, str]] = Counter()

    def __call__(self, frame: FrameType, event: str, _arg: object) -> None:
        callee = frame.f_code.co_filename
        if event != "call" or not callee.startswith(ROOT) or callee == MADE:
            return
        self.files.add(callee)
        caller = frame.f_back.f_code.co_filename if frame.f_back is not None else ""
        if caller.startswith(ROOT) and caller != callee:
            self.pairs[caller.removeprefix(ROOT), callee.removeprefix(ROOT)] += 1


def measured() -> Calls:
    """Press the keys once and return what was counted. Work in threads, such as the forecast, is not."""
    calls = Calls()

    async def script(bench: Bench) -> None:
        bench.session.claim_bench()
        bench.app.at_leisure()
        await bench.press("space")
        sys.setprofile(calls)
        try:
            await bench.press("enter")
        finally:
            sys.setprofile(None)
        await asyncio.sleep(0)

    with tempfile.TemporaryDirectory() as folder:
        drive(Path(folder), script)
    return calls


def least_of(runs: int) -> Calls:
    """Return the smallest count of several processes: the tick of each second may fall into a key press."""
    with ProcessPoolExecutor(1, get_context("spawn"), max_tasks_per_child=1) as pool:
        counted = [pool.submit(measured) for _ in range(runs)]
        return min((each.result() for each in counted), key=lambda calls: calls.pairs.total())


def main() -> None:
    """Print both counts beside those of before."""
    calls = least_of(RUNS)
    print(f"files reached: {len(calls.files)} (at first {AT_FIRST[0]})")
    print(f"calls between files: {calls.pairs.total()} (at first {AT_FIRST[1]})")
    if "--pairs" in sys.argv[1:]:
        for (caller, callee), count in calls.pairs.most_common():
            print(f"{count:5} {caller} > {callee}")


if __name__ == "__main__":
    main()
