"""One sound for what came due: the terminal's bell, and a command of the dyer's own that cannot block or crash."""

from __future__ import annotations

import subprocess
from collections.abc import Callable, Sequence
from datetime import datetime

from dyeday.track.alarms import standing
from dyeday.track.clocks import due
from dyeday.track.day import Day
from dyeday.track.instant import Now, elapsed_s

LONGEST_S = 20.0
"""A sound command still running after this is ended by the next sound: it hangs, or it is a song."""

LISTEN_S = 3.0
"""what comes due by time alone is looked for this often"""


class Sounds:
    """``ring`` is the bell, ``command`` the plan's ``session.sound``. What stood at the start is not sounded."""

    def __init__(self, ring: Callable[[], None], command: Sequence[str], day: Day, now: Now) -> None:
        self.ring = ring
        self.command = tuple(command)
        self.heard = {clock.id for clock in due(day, now)}
        self.rung: dict[str, tuple[int, int]] = {}
        """by alarm: how often it had been shelved, and its how many-th sound since then came last"""
        self.minute: datetime | None = None
        self.failed = ""
        self.running: subprocess.Popen[bytes] | None = None
        self.began = now
        self._listened: tuple[Day, Now] | None = None

    def listen(self, day: Day, now: Now) -> bool:
        """Sound once for all that came due since the last call, and for alarms as often as they sound.

        Prompts of one minute are one sound; drying prompts nobody. Returns whether anything sounded.
        """
        before = self._listened
        if before is not None and before[0] is day and 0 <= elapsed_s(before[1], now) < LISTEN_S:
            return False
        self._listened = (day, now)
        coming = {clock.id for clock in due(day, now) if clock.calls_hands}
        minute = now.utc.replace(second=0, microsecond=0)
        fresh = bool(coming - self.heard) and minute != self.minute
        if coming - self.heard:
            self.minute = minute
        self.heard |= coming
        for alarm in standing(day, now):
            owed = (len(alarm.shelved), alarm.sounds(now.utc, day.plan.rules.re_alarm))
            # A silent one keeps what it had: struck and unstruck in turn it must not sound at each.
            if owed[1] and owed > self.rung.get(alarm.id, (0, 0)):
                fresh = True
                self.rung[alarm.id] = owed
        if fresh:
            self.sound(now)
        return fresh

    def sound(self, now: Now) -> None:
        """Ring the bell and start the command, unless the last one still runs."""
        self.ring()
        if not self.command:
            return
        if self.running is not None and self.running.poll() is None:
            if elapsed_s(self.began, now) < LONGEST_S:
                return
            self.running.kill()
        try:
            self.running = subprocess.Popen(  # noqa: S603 - the dyer's own words, no shell
                self.command,
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                start_new_session=True,
            )
            self.began = now
        except (OSError, ValueError) as error:
            self.failed = f"the sound command {self.command[0]!r} cannot be run: {getattr(error, 'strerror', error)}"
            self.command = ()
