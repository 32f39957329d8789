"""Background work pauses while keys are typed: Python runs one thread at a time, so it would slow every key."""

from __future__ import annotations

import time
from collections.abc import Callable

PAUSE_S = 0.6
"""how long work waits after a key; its answer is on the screen well before"""
LONGEST_WAIT_S = 5.0


class IdleGate:
    """``lasting`` is a budget for work in another thread, which waits for a pause in the keys."""

    def __init__(
        self, clock: Callable[[], float] = time.monotonic, sleep: Callable[[float], None] = time.sleep
    ) -> None:
        self._clock, self._sleep = clock, sleep
        self.last_key_s = clock() - PAUSE_S

    def wait(self) -> None:
        """Return once no key came for `PAUSE_S`, after `LONGEST_WAIT_S` at the latest."""
        end = self._clock() + LONGEST_WAIT_S
        while (now := self._clock()) < (until := min(self.last_key_s + PAUSE_S, end)):
            self._sleep(until - now)

    def lasting(self, seconds: float) -> Callable[[], bool]:
        """Return a budget for this thread: waits for a pause in the keys, then says whether so much work is done."""
        self.wait()
        until = time.thread_time() + seconds

        def spent() -> bool:
            self.wait()
            return time.thread_time() > until

        return spent
