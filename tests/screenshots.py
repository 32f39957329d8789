"""Make the pictures under screenshots/ again: ``python -m tests.screenshots``.

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

from rich.color import Color
from rich.console import Console
from rich.terminal_theme import SVG_EXPORT_THEME
from rich.text import Text

from dyeday.ahead.forecast import forecast
from dyeday.bench.app import BenchApp
from dyeday.bench.live_session import LiveSession
from dyeday.bench.looks.themes import BRIGHT, DARK, DARK_16, NO_COLOUR, ColourDepth, LookStyles
from dyeday.commands.screens.demo import MOMENT as SHOWN
from dyeday.commands.screens.demo import QUIET, make_demo
from dyeday.track.folding.fold import fold
from tests.bench.driving import FakeHand
from tests.bench.test_looks import XTERM
from tests.fakes import ROOT, FakeClock, Ids, Ring
from tests.paper.pictures import main as paper_pictures
from tests.paper.sheets import summary_pages
from tests.watch.pictures import main as watch_pictures

FOLDER = ROOT / "screenshots"
MOMENT = datetime(2026, 5, 9, 14, 20, tzinfo=UTC)
SHOTS: tuple[tuple[str, tuple[int, int], LookStyles, tuple[str, ...]], ...] = (
    ("bench", (80, 24), DARK, ()),
    ("bench-wide", (140, 40), DARK, ()),
    ("bench-large", (200, 60), DARK, ()),
    ("going-on", (100, 30), DARK, ("0", "8", "space")),
    ("flags", (80, 24), DARK, ("0", "5", "f")),
    ("ahead", (100, 40), DARK, ("y",)),
    ("far-view", (80, 24), DARK, ("v",)),
    ("guard", (80, 24), DARK, ("g",)),
    ("readings", (80, 24), DARK, ("1", "3", "r", "p", "5", "full_stop", "6")),
    ("palette", (80, 24), DARK, ("ctrl+p", "a", "c")),
    ("far-view-small", (40, 12), DARK, ("v",)),
    ("help", (140, 40), DARK, ("question_mark",)),
    ("log", (140, 40), DARK, ("l", "up", "up")),
    ("closing", (80, 24), DARK, ("x",)),
    ("bright", (140, 40), BRIGHT, ()),
    ("sixteen-colours", (80, 24), DARK_16, ()),
    ("no-colour", (80, 24), NO_COLOUR, ()),
    # The demo in five pictures: as it opens, the first step, a ready batch, the rest of the day, the far view.
    ("demo-1-now", (100, 36), DARK, ()),
    ("demo-2-first-step", (100, 36), DARK, ("enter",)),
    ("demo-3-ready", (100, 36), DARK, ("0", "8", "space")),
    ("demo-4-ahead", (100, 36), DARK, ("y", "right", "right")),
    ("demo-5-far", (100, 36), DARK, ("v",)),
)
COLOURS = {DARK_16: ColourDepth.SIXTEEN, NO_COLOUR: ColourDepth.NONE}


def main() -> None:
    """Write every picture."""
    os.environ["TZ"] = "UTC"
    if hasattr(time, "tzset"):
        time.tzset()
    FOLDER.mkdir(exist_ok=True)
    for name, size, look, keys in SHOTS:
        asyncio.run(_shoot(name, size, look, keys))
    _page()
    paper_pictures()
    watch_pictures()


async def _shoot(name: str, size: tuple[int, int], look: LookStyles, keys: tuple[str, ...]) -> None:
    with tempfile.TemporaryDirectory() as data:
        clock = FakeClock(MOMENT)
        session = make_demo(Path(data), clock(), QUIET if name.startswith("demo-") else SHOWN)
        if look is NO_COLOUR:
            os.environ["NO_COLOR"] = "1"
        app = BenchApp(LiveSession(session, clock, Ids()), Ring(), key_time=FakeHand())
        os.environ.pop("NO_COLOR", None)
        app.outlook.forecast = forecast(app.live.day, clock(), evaluations=200)
        async with app.run_test(size=size) as pilot:
            await pilot.pause()
            if look is not app.look:
                app.show_colours(COLOURS.get(look, ColourDepth.ALL))
                app.show_look(look)
                app.bench.paint()
            await pilot.press(*keys)
            await pilot.pause()
            svg = app.export_screenshot(title=f"dyeday, {size[0]} x {size[1]}")
            if look is DARK_16:
                for shown, own in zip(range(16), XTERM.values(), strict=True):
                    svg = svg.replace(Color.from_rgb(*SVG_EXPORT_THEME.ansi_colors[shown]).name, own)
            _write(name, svg)


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
