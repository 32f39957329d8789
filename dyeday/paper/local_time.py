"""Instants as text in the session's zone."""

from __future__ import annotations

from datetime import datetime

from dyeday.track.timestamp import clock_from, local

__all__ = ["clock", "clock_near", "clock_on", "local"]

NEAR_S = 12 * 3600.0
"""times within this need no weekday"""


def clock(moment: datetime, zone: str | None) -> str:
    """Return "14:05"."""
    return f"{local(moment, zone):%H:%M}"


def clock_on(moment: datetime, zone: str | None, day: datetime) -> str:
    """Return "14:05", or "Sun 03:08" on another day than ``day``: for paper."""
    return clock_from(moment, zone, local(day, zone).date())


def clock_near(moment: datetime, zone: str | None, now: datetime) -> str:
    """Return "03:08" within twelve hours of ``now``, else as `clock_on`: for screens."""
    near = abs((moment - now).total_seconds()) <= NEAR_S
    return clock(moment, zone) if near else clock_on(moment, zone, now)
