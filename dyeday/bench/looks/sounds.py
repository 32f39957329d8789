"""One sound for what came due: the terminal's bell, and a program set for this computer, which cannot block it."""

from __future__ import annotations

import subprocess
from collections.abc import Callable, Collection
from datetime import datetime

from dyeday.files.places import LONGEST_SOUND_S, Occasion, SoundPrograms
from dyeday.terms import AlarmKind
from dyeday.track.day.day_state import Day
from dyeday.track.timers.alarm_states import standing
from dyeday.track.timers.timers import due
from dyeday.track.timestamp import Moment, elapsed_s, signed_s

RINGS = {Occasion.PROMPT: 1, Occasion.ALARM: 2, Occasion.TANK: 3}
"""how often the bell rings for each occasion"""
RING_S = 0.4
"""between two rings of a pattern: terminals ring only once for bells that follow at once"""
MOST_MUTED_MIN = 30.0
"""Sound comes back by itself: after a call one forgets to unmute it."""
LISTEN_S = 3.0
"""what comes due by time alone is looked for this often"""


class Sounds:
    """``ring`` is the bell, ``programs`` this computer's settings; ``later`` calls a function so many seconds on.

    What stood at the start is not sounded. No plan or event names a program: it may come from another person.
    """

    def __init__(
        self,
        ring: Callable[[], None],
        programs: SoundPrograms,
        day: Day,
        now: Moment,
        later: Callable[[float, Callable[[], None]], object],
    ) -> None:
        self.ring = ring
        self.later = later
        self.programs = programs
        self.heard = {timer.id for timer in due(day, now)}
        self.rung: dict[str, tuple[int, int]] = {}
        """by alarm: number of its snoozes, and of its sounds since the last one"""
        self.minute: datetime | None = None
        self.failed = ""
        self._unusable: set[tuple[str, ...]] = set()
        self.running: subprocess.Popen[bytes] | None = None
        self.began = now
        self.muted: tuple[Moment, float] | None = None
        """since when, and for how many minutes"""
        self._listened: tuple[Day, Moment] | None = None

    def mute(self, now: Moment, minutes: float) -> None:
        """Mute for some minutes, half an hour at most; 0 unmutes. What comes due meanwhile sounds afterwards."""
        self.muted = (now, min(minutes, MOST_MUTED_MIN)) if minutes > 0 else None

    def muted_until(self, now: Moment) -> Moment | None:
        """Return until when it is muted; None if it is not."""
        if self.muted is None:
            return None
        left_s = self.muted[1] * 60 - elapsed_s(self.muted[0], now)
        return now.later(left_s) if left_s > 0 else None

    def listen(self, day: Day, now: Moment, but: Collection[str] = ()) -> None:
        """Sound once for all that came due since the last call, and for alarms as often as they sound.

        Prompts of one minute are one sound; drying has no prompt. Nothing while muted: alarms that still stand then
        sound afterwards. Alarms of the batches and units ``but`` are silent.
        """
        before = self._listened
        if before is not None and before[0] is day and 0 <= signed_s(before[1], now) < LISTEN_S:
            return
        self._listened = (day, now)
        coming = {timer.id for timer in due(day, now) if timer.calls_hands and timer.batch not in but}
        minute = now.utc.replace(second=0, microsecond=0)
        prompted = bool(coming - self.heard) and minute != self.minute
        alarmed: set[AlarmKind] = set()
        if coming - self.heard:
            self.minute = minute
        self.heard |= coming
        if self.muted_until(now) is not None:
            return
        for alarm in standing(day, now, but):
            owed = (len(alarm.snoozes), alarm.sounds(now.utc, day.plan.rules.re_alarm))
            # A silent one keeps its count: an entry undone and redone must not make it sound again.
            if owed[1] and owed > self.rung.get(alarm.id, (0, 0)):
                alarmed.add(alarm.kind)
                self.rung[alarm.id] = owed
        if prompted or alarmed:
            worst = Occasion.TANK if AlarmKind.TANK in alarmed else Occasion.ALARM
            self.sound(now, worst if alarmed else Occasion.PROMPT)

    def sound(self, now: Moment, occasion: Occasion = Occasion.PROMPT) -> None:
        """Ring the bell as often as ``occasion`` has it, and start its program unless one still runs."""
        self.ring()
        for n in range(1, RINGS[occasion]):
            self.later(n * RING_S, self.ring)
        program = self.programs.of(occasion)
        if not program or program in self._unusable:
            return
        if self.running is not None and self.running.poll() is None:
            if elapsed_s(self.began, now) < LONGEST_SOUND_S:
                return
            self.running.kill()
        try:
            self.running = subprocess.Popen(  # noqa: S603 - set by `dyeday sound` on this computer, no shell
                program,
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                start_new_session=True,
            )
            self.began = now
        except (OSError, ValueError) as error:
            why = getattr(error, "strerror", error)
            self.failed = f"the sound program {program[0]!r} cannot be run: {why}; set another with `dyeday sound`"
            self._unusable.add(program)
