"""Key presses for a batch from soak to done, through the real bench: ``python -m tests.bench.keys --json``.

By advice, Enter offers what is next and Enter accepts it; typed, the batch's number and space offer it. A question is
a screen that opened before an entry was recorded.
"""

from __future__ import annotations

import json
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from dyeday.ahead.advising.next_step import next_step
from dyeday.terms import State, TimerKind
from dyeday.track.day.day_state import entry_of
from dyeday.track.day.transitions import heat_timed_out
from dyeday.track.timers.timers import timer_of
from tests.bench.driving import Bench, drive
from tests.bench.setup_keys import setup_presses
from tests.fakes import SHORT_DAY

BATCH = "01"
MOST_STEPS = 60
ORDERS = {"bursts": 0, "painted": 1, "immersed": 2, "speckled": 3}
"""which order of the short day is a batch of each kind: bursts on two pots and then steam, painted and steamed,
immersed in a pot, speckled over a wash"""
BURSTS = ("microwave 2 min", "rest 3 min", "microwave 2 min", "rest 3 min", "steam 40 min")
"""two bursts, where the short day's colourway has one"""


@dataclass
class Count:
    """What one batch cost."""

    presses: int = 0
    questions: int = 0


def alone(kind: str) -> str:
    """Return the short day with one order alone, four skeins or fewer, which are one batch."""
    head, *orders = SHORT_DAY.read_text(encoding="utf-8").split("[[order]]")
    fix = ", ".join(f'"{step}"' for step in BURSTS)
    head = head.replace('fix = ["microwave 2 min", "rest 3 min", "steam 40 min"]', f"fix = [{fix}]")
    return f"{head}[[order]]{orders[ORDERS[kind]].replace('skeins = 6', 'skeins = 4')}"


async def _until_due(bench: Bench) -> None:
    """Let the time pass that the batch's clock has left, or until its unit is at heat and asks for more acid."""
    day, now = bench.app.live.day, bench.clock()
    batch = heat_timed_out(day.batches[BATCH], now)
    timer, run = timer_of(day, batch, now), batch.open_heat
    if timer is None or timer.left_s is None or timer.left_s <= 0:
        return
    warming = run is not None and timer.kind is TimerKind.WARM_UP
    await bench.on(run.warm_up_min if run is not None and warming else timer.left_s / 60)
    step = next_step(bench.app.live.day, bench.app.live.day.batches[BATCH], bench.clock())
    if warming and step is not None and not step.acid:
        await _until_due(bench)


async def _to_done(bench: Bench, offer: Sequence[str], count: Count) -> None:
    assert list(bench.app.live.day.batches) == [BATCH]
    for _step in range(MOST_STEPS):
        if bench.app.live.day.batches[BATCH].state == State.DONE:
            return
        await _until_due(bench)
        for key in offer:
            await bench.press(key)
            count.presses += 1
        while bench.app.screen is not bench.app.bench:
            # What the offer asks for: a tank too low for this heat is filled as its unit is loaded.
            await bench.press("f" if "first (f)," in bench.screen and "[f]" not in bench.screen else "enter")
            count.presses += 1
            count.questions += 1
            if count.questions > MOST_STEPS:
                raise AssertionError(f"return does not answer:\n{bench.screen}")
    raise AssertionError(f"not done after {MOST_STEPS} steps:\n{bench.screen}")


def played(folder: Path, kind: str, offer: Sequence[str]) -> Count:
    """Play a batch of a kind to done, ``offer`` asking for each next step; return what it cost."""
    count = Count()
    drive(folder, lambda bench: _to_done(bench, offer, count), text=alone(kind))
    return count


def batch_counts(folder: Path, kind: str) -> dict[str, Count]:
    """Return what a batch of a kind costs by advice and by its typed number; ``folder`` must be empty."""
    return {
        "advice": played(folder / f"{kind}-advice", kind, ("enter",)),
        "typed": played(folder / f"{kind}-typed", kind, (*BATCH, "space")),
    }


LATE = 5
"""entries that were not made while they happened"""


async def _late(bench: Bench, count: Count) -> None:
    """Soak two batches and steam two, be away for two hours, and catch up with what happened meanwhile."""
    await bench.press("0", "1", "space", "enter", "0", "2", "space", "enter")
    for no in ("04", "05"):
        await bench.press(*no, "m", "2", "space", "enter")
    await bench.on(120, away=True)
    before = len(bench.session.events)
    await bench.press("v", "escape", "B")  # the first key wakes, the second closes what came due
    count.presses += 3
    while len({entry_of(event.id) for event in bench.session.events[before:]}) < LATE:
        await bench.press("enter")
        count.presses += 1
        if count.presses > MOST_STEPS:
            raise AssertionError(f"return does not catch up:\n{bench.screen}")


def late_five(folder: Path) -> Count:
    """Return what five late entries cost."""
    count = Count()
    drive(folder, lambda bench: _late(bench, count))
    return count


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        found: dict[str, object] = {
            kind: {how: asdict(count) for how, count in batch_counts(folder, kind).items()} for kind in ORDERS
        }
        found["late_five"] = {"presses": late_five(folder / "late").presses}
        found |= setup_presses(folder / "studio")
    if "--json" in sys.argv[1:]:
        sys.stdout.write(json.dumps(found) + "\n")
        return
    for name, what in found.items():
        sys.stdout.write(f"{name}: {what}\n")


if __name__ == "__main__":
    main()
