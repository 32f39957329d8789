"""Key presses from an empty home to a begun day, at 80 x 24: numbers and commands count, letters of names do not.

The studio has five kinds of kit, two bases, four dyes, three colourways (one of two layers) and four orders.
"""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from dyeday.bench.plain_app import ScreenApp
from dyeday.bench.screens.plan_desk import desk_of
from dyeday.bench.screens.start_screen import StartAction, StartChoices, StartScreen, plan_files
from dyeday.bench.setup.desk import SetupDesk
from dyeday.store.records.library import LibraryRecords
from tests.fakes import FakeClock

DAY = date(2026, 3, 14)


@dataclass(frozen=True)
class Name:
    """Letters of a name: typed, not counted."""

    said: str


DYES = ("Ochre", "Navy", "Madder", "Fern")
STUDIO: tuple[str | Name, ...] = (
    "s",
    "w", "1", "2", "0", "ctrl+s",
    "a", "ctrl+s",
    "k", *(key for n in "12569" for key in ("a", n, "ctrl+s")), "escape",
    "b", "a", "1", "ctrl+s", "a", "2", "ctrl+s", "escape",
    "d", *(key for dye in DYES for key in ("a", Name(dye), "ctrl+s")), "escape",
    "c",
    "a", "1", Name("Peat"), "down", "down", "down", Name("peat"), "down", Name("Ochre"), "space", "1", ".", "5",
    "ctrl+n", Name("moss"), "down", "3", "0", "down", Name("Fern"), "space", "1", "ctrl+s",
    "a", "4", Name("Dusk"), "down", "down", "down", Name("rose"), "down", Name("Madder"), "space", "1",
    "down", "down", "down", Name("navy"), "down", Name("Navy"), "space", "0", ".", "2", "ctrl+s",
    "a", "2", Name("Moor"), "down", "down", "down", "down", Name("Fern"), "space", "2", "ctrl+s",
    "escape", "escape",
)  # fmt: skip
ORDERS: tuple[str | Name, ...] = (
    "n",
    "a", "1", "1", "3", "enter", "enter",
    "a", "2", "1", "2", "enter", "enter",
    "a", "3", "2", "4", "enter", "enter",
    "a", "1", "2", "2", "enter", "enter",
    "b",
)  # fmt: skip


def start_app(folder: Path) -> ScreenApp[tuple[StartAction, str]]:
    """Return the start screen's app on the plans of ``folder``, its data beside them."""
    data = folder / "data"

    def find() -> StartChoices:
        library = LibraryRecords(data).library()
        return StartChoices(plan_files(folder, library), (), library)

    start = StartScreen(
        "here",
        find,
        DAY,
        lambda path, on: desk_of(folder / path, data, FakeClock(), on=on),
        lambda: SetupDesk(data),
        None,
    )
    return ScreenApp(start)


async def typed(app: ScreenApp[tuple[StartAction, str]], keys: Sequence[str | Name]) -> int:
    """Press the keys on the app, and return how many count."""
    counted = 0
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        for key in keys:
            if isinstance(key, Name):
                await pilot.press(*key.said)
            else:
                await pilot.press("full_stop" if key == "." else key)
                counted += 1
            await pilot.pause()
    return counted


def setup_presses(folder: Path) -> dict[str, dict[str, int]]:
    """Set up a studio and begin a day in an empty ``folder``; return the presses. Fails where none begins."""
    app = start_app(folder)
    presses = asyncio.run(typed(app, (*STUDIO, *ORDERS)))
    assert app.return_value is not None, app.screen
    assert app.return_value[0] is StartAction.BEGIN
    return {"setup": {"presses": presses}}
