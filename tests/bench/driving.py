"""Driving the bench in a test: keys in, lines of text out, a clock that is set, no waiting by the clock."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

from textual import events
from textual.pilot import Pilot

from dyeday.ahead.forecast import Forecast, forecast
from dyeday.ahead.foreseen_steps import Foresee
from dyeday.bench.app import BenchApp
from dyeday.bench.live_session import LiveSession
from dyeday.bench.plain_app import PlainApp
from dyeday.store.session_file import SessionFile
from dyeday.store.sessions import Sessions
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import Moment
from tests.fakes import SHORT_DAY, FakeClock, Ids, Ring, begun, impatient


class FakeHand:
    """When keys come: ``pause_s`` apart from ``now_s`` on, however fast the test presses them."""

    def __init__(self, pause_s: float = 2.0, now_s: float = 100.0) -> None:
        self.now_s = now_s
        self.pause_s = pause_s
        self.last: object = None
        """the key that came last, held so that no later one is taken for it"""

    def __call__(self, event: object) -> float:
        if event is not self.last:
            self.now_s += self.pause_s
            self.last = event
        return self.now_s


class Bench:
    """A bench under test. ``press`` keys, ``on`` lets time pass and ticks, ``screen`` is what is seen."""

    def __init__(self, pilot: Pilot[None], app: BenchApp, clock: FakeClock, ring: Ring, folder: Path) -> None:
        self.pilot = pilot
        self.app = app
        self.clock = clock
        self.ring = ring
        self.folder = folder

    async def press(self, *keys: str) -> None:
        for key in keys:
            self.send(key)
            await self.settle()

    def send(self, key: str) -> None:
        """Let a key come as the terminal's driver gives it, without waiting for what it does."""
        char = " " if key == "space" else (key if len(key) == 1 else _CHARACTERS.get(key))
        event = events.Key(key, char)
        event.set_sender(self.app)
        self.app.post_message(event)

    async def settle(self) -> None:
        """Wait until every message was taken and nothing is left to mount or to draw.

        Counted in rounds of the queues, not in time: without a delay, Textual's own pilot waits for the process to
        look idle, which is slow where nothing is busy and wrong where everything is.
        """
        quiet = 0
        for _round in range(MOST_ROUNDS):
            if not self.app.is_running:
                return
            if self.app.return_code is not None:
                await asyncio.sleep(0.001)
                continue
            await self.pilot.pause(0)
            # A screen that was taken down still answers who asked for it: more than one quiet round.
            quiet = 0 if _is_waiting(self.app) else quiet + 1
            if quiet == QUIET_ROUNDS:
                return
        raise AssertionError(f"not settled after {MOST_ROUNDS} rounds")

    async def type(self, text: str) -> None:
        await self.press(*("space" if char == " " else _NAMES.get(char, char) for char in text))

    async def on(self, minutes: float, *, away: bool = False) -> None:
        """Let time pass, with keys pressed all along unless they were ``away``."""
        self.clock.on(minutes)
        if not away:
            self.app.last_key = self.clock()
        # As if it had ticked all along: a gap would be the computer's sleep.
        self.app.last_tick = self.clock()
        self.app.tick()
        await self.settle()

    async def resize(self, width: int, height: int) -> None:
        await self.pilot.resize_terminal(width, height)
        await self.settle()

    @property
    def screen(self) -> str:
        return screen_text(self.app)

    @property
    def kinds(self) -> list[str]:
        """What is on record, by kind."""
        return [event.body.NAME for event in self.session.events]

    @property
    def session(self) -> SessionFile:
        return self.app.live.file

    @property
    def advised(self) -> list[str]:
        """The lines of what hands do next: an alarm above *Next*, then those under it."""
        lines = self.screen.split("\n")
        now = next(n for n, line in enumerate(lines) if line.startswith("── Next "))
        end = next(n for n, line in enumerate(lines) if line.startswith("── Batches "))
        return [line for line in (*lines[1:now], *lines[now + 1 : end]) if line]

    def row(self, batch: str) -> str:
        return next(line for line in self.screen.split("\n") if line[2:].startswith(batch))

    def second_shell(self) -> SessionFile:
        return Sessions(self.folder).open(self.session.about.id)


def quick(day: Day, now: Moment, before: Forecast | None) -> Forecast:
    """A forecast that is not searched for long."""
    return forecast(day, now, evaluations=30, before=before)


MOST_ROUNDS = 5000
QUIET_ROUNDS = 3


def _is_waiting(app: BenchApp) -> bool:
    pumps = [app, *(pump for screen in app.screen_stack for pump in screen.walk_children(with_self=True))]
    return any(pump.message_queue_size for pump in pumps if pump.is_running)


_NAMES = {".": "full_stop", ",": "comma", ":": "colon", "/": "slash", "[": "left_square_bracket",
          "]": "right_square_bracket", "-": "minus", "?": "question_mark"}  # fmt: skip
_CHARACTERS = {name: char for char, name in _NAMES.items()}


def screen_text(app: PlainApp[Any]) -> str:
    """Return the characters on the screen, every screen of the stack put together as the terminal shows it."""
    width, height = app.size
    under = app.screen_stack[-2] if len(app.screen_stack) > 1 and app.screen.is_modal else None
    if under is not None:
        # What lies under a question comes into its background by a timer, which may not have run yet.
        app.screen.refresh()
    lines = app.screen._compositor.render_strips(app.screen.size)
    shown = ["".join(segment.text for segment in strip).rstrip() for strip in lines]
    if under is not None:
        below = under._compositor.render_strips(under.size)
        back = ["".join(segment.text for segment in strip).rstrip() for strip in below]
        shown = [top or bottom for top, bottom in zip(shown, back, strict=False)]
    assert len(shown) <= height
    assert width >= 1
    return "\n".join(shown)


def drive(
    folder: Path,
    script: Callable[[Bench], Awaitable[None]],
    *,
    size: tuple[int, int] = (80, 24),
    plan: Path = SHORT_DAY,
    text: str | None = None,
    session: SessionFile | None = None,
    clock: FakeClock | None = None,
    read_only: bool = False,
    foresee: Foresee | None = None,
    ascii_only: bool = False,
) -> None:
    """Run ``script`` on a bench of its own."""

    time, ring = clock or FakeClock(), Ring()
    said = plan.read_text(encoding="utf-8") if text is None else text
    file = session or begun(folder, time, plan, impatient(said))
    how: dict[str, Any] = {"size": size, "read_only": read_only, "foresee": foresee, "ascii_only": ascii_only}
    asyncio.run(run_bench(file, time, ring, folder, script, **how))


async def run_bench(
    file: SessionFile,
    clock: FakeClock,
    ring: Ring,
    folder: Path,
    script: Callable[[Bench], Awaitable[None]],
    *,
    size: tuple[int, int] = (80, 24),
    read_only: bool = False,
    foresee: Foresee | None = None,
    ascii_only: bool = False,
) -> None:
    """Run ``script`` on the bench of a session that is there."""
    app = BenchApp(
        LiveSession(file, clock, Ids(), read_only=read_only), ring, FakeHand(), foresee=foresee, ascii_only=ascii_only
    )
    app.bench.smear_s = 0.0
    # The bell's patterns go by the computer's clock; here one sound is one ring.
    app.sounds.later = lambda _seconds, _ring: None
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        # What blinks by the computer's clock would be off at one look in two.
        app.blinker.stop()
        await script(Bench(pilot, app, clock, ring, folder))
        app.is_leaving = True
