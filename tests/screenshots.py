"""Make the pictures under screenshots/ anew: ``python -m tests.screenshots``.

The demo day at a fixed moment, so that two runs give the same pictures. Fonts are the reader's own: nothing is
loaded from elsewhere.
"""

from __future__ import annotations

import asyncio
import os
import re
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path

from rich.console import Console
from rich.text import Text

from dyeday.ahead.forecast import forecast
from dyeday.bench.app import BenchApp
from dyeday.bench.live_session import Keeper
from dyeday.commands.screens.demo import make_demo
from dyeday.track.day.fold import fold
from tests.bench.driving import FakeHand
from tests.fakes import ROOT, FakeClock, Ids, Ring
from tests.paper.pictures import main as paper_pictures
from tests.paper.sheets import summary_pages
from tests.watch.pictures import main as watch_pictures

FOLDER = ROOT / "screenshots"
MOMENT = datetime(2026, 5, 9, 14, 20, tzinfo=UTC)
SHOTS: tuple[tuple[str, tuple[int, int], tuple[str, ...]], ...] = (
    ("bench", (80, 24), ()),
    ("bench-wide", (140, 40), ()),
    ("going-on", (100, 30), ("0", "8", "space")),
    ("doubts", (80, 24), ("0", "5", "f")),
    ("ahead", (100, 30), ("y",)),
    ("far-view", (80, 24), ("v",)),
    ("guard", (80, 24), ("g",)),
    ("readings", (80, 24), ("1", "3", "r", "p", "5", "full_stop", "6")),
    ("palette", (80, 24), ("ctrl+p", "a", "c")),
    ("far-view-small", (40, 12), ("v",)),
    ("help", (80, 24), ("question_mark",)),
    ("bright", (80, 24), ("t",)),
    ("no-colour", (80, 24), ()),
)


def main() -> None:
    """Write every picture."""
    os.environ["TZ"] = "UTC"
    if hasattr(time, "tzset"):
        time.tzset()
    FOLDER.mkdir(exist_ok=True)
    for name, size, keys in SHOTS:
        asyncio.run(_shoot(name, size, keys))
    _page()
    paper_pictures()
    watch_pictures()


async def _shoot(name: str, size: tuple[int, int], keys: tuple[str, ...]) -> None:
    with tempfile.TemporaryDirectory() as data:
        clock = FakeClock(MOMENT)
        session = make_demo(Path(data), clock())
        if name == "no-colour":
            os.environ["NO_COLOR"] = "1"
        app = BenchApp(Keeper(session, clock, Ids()), Ring(), key_time=FakeHand())
        os.environ.pop("NO_COLOR", None)
        app.found = forecast(app.keeper.day, clock(), evaluations=200)
        async with app.run_test(size=size) as pilot:
            await pilot.pause()
            await pilot.press(*keys)
            await pilot.pause()
            _write(name, app.export_screenshot(title=f"dyeday, {size[0]} x {size[1]}"))


def _page() -> None:
    with tempfile.TemporaryDirectory() as data:
        clock = FakeClock(MOMENT)
        session = make_demo(Path(data), clock())
        day = fold(session.plan, session.events)
        console = Console(record=True, width=76, file=open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115, PTH123
        console.print(Text(summary_pages(day, session.about.id, clock())[0]))
        _write("page", console.export_svg(title="dyeday summary", unique_id="page"))


def _write(name: str, svg: str) -> None:
    plain = re.sub(r"@font-face \{.*?\}", "", svg, flags=re.DOTALL)
    plain = re.sub(r"terminal-\d+", f"terminal-{name}", plain)
    (FOLDER / f"{name}.svg").write_text(plain, encoding="utf-8")


if __name__ == "__main__":
    main()
