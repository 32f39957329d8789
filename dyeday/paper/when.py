"""Instants as a person reads them, in the session's zone; the only use that is made of the zone."""

from __future__ import annotations

from datetime import datetime

from dyeday.track.instant import clock_from, local, whole_min

__all__ = ["clock", "clock_on", "local", "span"]


def clock(moment: datetime, zone: str | None) -> str:
    """Return "14:05"."""
    return f"{local(moment, zone):%H:%M}"


def clock_on(moment: datetime, zone: str | None, day: datetime) -> str:
    """Return "14:05", with a "+1" where it is on a later day than ``day``."""
    return clock_from(moment, zone, local(day, zone).date())


def span(seconds: float) -> str:
    """Return a length as "45 s", "12 min", "1h05", "2d03h"; minutes are whole, rounded down."""
    whole = int(abs(seconds))
    sign = "-" if seconds < 0 and whole else ""
    if whole < 60:
        return f"{sign}{whole} s"
    if whole < 3600:
        return f"{sign}{whole_min(whole)} min"
    if whole < 86400:
        return f"{sign}{whole // 3600}h{whole // 60 % 60:02d}"
    return f"{sign}{whole // 86400}d{whole // 3600 % 24:02d}h"
