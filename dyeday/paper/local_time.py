"""Instants as a person reads them, in the session's zone; the only use that is made of the zone."""

from __future__ import annotations

from datetime import datetime

from dyeday.track.timestamp import clock_from, local

__all__ = ["clock", "clock_on", "local"]


def clock(moment: datetime, zone: str | None) -> str:
    """Return "14:05"."""
    return f"{local(moment, zone):%H:%M}"


def clock_on(moment: datetime, zone: str | None, day: datetime) -> str:
    """Return "14:05", with a "+1" where it is on a later day than ``day``."""
    return clock_from(moment, zone, local(day, zone).date())
