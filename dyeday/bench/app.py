"""The Textual app: one tick for everything, one screen to begin with, nothing else."""

from __future__ import annotations

import asyncio
import contextlib
import signal
from collections.abc import Callable

from textual.app import App

from dyeday.bench.keeper import Keeper
from dyeday.bench.main import BenchScreen
from dyeday.bench.pages import BatchPage
from dyeday.store.durable import StoreError
from dyeday.track.alarms import standing
from dyeday.track.clocks import due

TICK_S = 1.0


class BenchApp(App[None], inherit_bindings=False):
    """The bench on one session. ``ring`` makes one sound; tests give a quiet one."""

    CSS_PATH = "bench.tcss"
    ENABLE_COMMAND_PALETTE = False
    TITLE = "dyeday"

    def __init__(self, keeper: Keeper, ring: Callable[[], None] | None = None) -> None:
        super().__init__()
        self.keeper = keeper
        self.ring = ring or self.bell
        self.bench = BenchScreen(keeper)
        now = keeper.now()
        self.heard = {clock.id for clock in due(keeper.day, now)}
        self.rung: dict[str, int] = {}

    def on_mount(self) -> None:
        self.push_screen(self.bench)
        self.set_interval(TICK_S, self.tick)
        self._end_in_order()

    def _end_in_order(self) -> None:
        """Let SIGTERM and SIGHUP leave the bench as `q` does: by themselves they would leave the terminal askew."""
        loop = asyncio.get_running_loop()
        for name in ("SIGTERM", "SIGHUP"):
            number = getattr(signal, name, None)
            if number is not None:
                # Not on Windows, and not where the app runs outside the main thread.
                with contextlib.suppress(NotImplementedError, RuntimeError, ValueError):
                    loop.add_signal_handler(number, self.exit)

    def tick(self) -> None:
        """Take in what other shells wrote, sound what is due, and paint. Never raises what a person can cause."""
        try:
            self.keeper.refresh()
        except StoreError as error:
            self.bench.say(str(error), wrong=True)
        if self.keeper.watching and self.keeper.file.hold_bench():
            self.keeper.watching = False
            self.bench.say("the other bench has gone: this one records now")
        self.sound()
        self.bench.paint()
        if isinstance(self.screen, BatchPage):
            self.screen.show()

    def sound(self) -> None:
        """Ring once for all prompts that came due since the last tick, and for alarms as often as they sound."""
        now = self.keeper.now()
        coming = {clock.id for clock in due(self.keeper.day, now) if clock.what != "dry"}
        fresh = bool(coming - self.heard)
        self.heard = coming | self.heard
        for alarm in standing(self.keeper.day, now):
            times = alarm.sounds(now.utc, self.keeper.day.plan.rules.re_alarm)
            if times > self.rung.get(alarm.id, 0):
                fresh = True
            self.rung[alarm.id] = times
        if fresh:
            self.ring()
