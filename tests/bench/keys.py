"""Key presses for a batch from soak to done, through the real bench: ``python -m tests.bench.keys --json``.

By advice, return offers what is next and return takes it; typed, the batch's number and space offer it. A question is
a screen that opened before an entry was recorded.
"""

from __future__ import annotations

import json
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from dyeday.terms import State
from dyeday.track.timers.clocks import clock_of
from tests.bench.driving import Bench, drive
from tests.bench.setup_keys import setup_presses
from tests.fakes import SHORT_DAY

BATCH = "01"
MOST_STEPS = 60


@dataclass
class Count:
    """What one batch cost."""

    presses: int = 0
    questions: int = 0


def alone() -> str:
    """Return the short day with its second order alone: painted, then steamed once."""
    head, _first, order, *_others = SHORT_DAY.read_text(encoding="utf-8").split("[[order]]")
    return f"{head}[[order]]{order}"


async def _until_due(bench: Bench) -> None:
    """Let the time pass that the batch's clock has left."""
    day, now = bench.app.keeper.day, bench.clock()
    clock = clock_of(day, day.batches[BATCH], now)
    if clock is not None and clock.left_s is not None and clock.left_s > 0:
        await bench.on(clock.left_s / 60)


async def _to_done(bench: Bench, offer: Sequence[str], count: Count) -> None:
    for _step in range(MOST_STEPS):
        if bench.app.keeper.day.batches[BATCH].state == State.DONE:
            return
        await _until_due(bench)
        for key in offer:
            await bench.press(key)
            count.presses += 1
        while bench.app.screen is not bench.app.bench:
            await bench.press("enter")
            count.presses += 1
            count.questions += 1
            if count.questions > MOST_STEPS:
                raise AssertionError(f"return does not answer:\n{bench.screen}")
    raise AssertionError(f"not done after {MOST_STEPS} steps:\n{bench.screen}")


def played(folder: Path, offer: Sequence[str]) -> Count:
    """Play a painted and steamed batch to done, ``offer`` asking for each next step; return what it cost."""
    count = Count()
    drive(folder, lambda bench: _to_done(bench, offer, count), text=alone())
    return count


def painted(folder: Path) -> dict[str, Count]:
    """Return what a painted and steamed batch costs by advice and by its typed number; ``folder`` must be empty."""
    return {
        "advice": played(folder / "advice", ("enter",)),
        "typed": played(folder / "typed", (*BATCH, "space")),
    }


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        counts = {"painted": {how: asdict(count) for how, count in painted(folder).items()}}
        found = {**counts, **setup_presses(folder / "studio")}
    if "--json" in sys.argv[1:]:
        sys.stdout.write(json.dumps(found) + "\n")
        return
    for name, what in found.items():
        sys.stdout.write(f"{name}: {what}\n")


if __name__ == "__main__":
    main()
