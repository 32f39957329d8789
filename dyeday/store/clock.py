"""The computer's clock, which only this module reads, and ids of events."""

from __future__ import annotations

import os
import time
from datetime import UTC, datetime
from functools import lru_cache
from pathlib import Path

from dyeday.track.timestamp import Moment


def now() -> Moment:
    """Return this moment, with the boot clock that counts sleep where the system has one."""
    return Moment(datetime.now(UTC), time.clock_gettime(time.CLOCK_BOOTTIME) if boot_id() else None, boot_id())


@lru_cache(maxsize=1)
def boot_id() -> str | None:
    """Return an id of this boot of the system; None if the system has none."""
    try:
        return Path("/proc/sys/kernel/random/boot_id").read_text(encoding="ascii").strip()[:8]
    except (OSError, ValueError):
        return None


def new_id() -> str:
    """Return a random event id of 12 hexadecimal digits."""
    return os.urandom(6).hex()
