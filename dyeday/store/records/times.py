"""Actual minutes of past sessions, the learned times in use, and how accurate forecasts were."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from datetime import datetime

from dyeday.ahead.accuracy import RecordedForecast
from dyeday.plan.serialize import to_plain
from dyeday.store.records.database import Records
from dyeday.terms import WorkKind
from dyeday.track.durations import Learned, ObservedDuration

NEWEST = 150
"""observations kept of each kind of work"""
DAYS_BACK = 30
"""closed days that forecast accuracy is taken from"""

Observed = tuple[str, ObservedDuration]
"""(session, observation)"""


def put_observed(db: sqlite3.Connection, session: str, observations: Iterable[ObservedDuration]) -> None:
    """Replace a session's observations; delete the oldest beyond `NEWEST` of a kind."""
    day, _, number = session.rpartition("-")
    nth = int(number)
    db.execute("DELETE FROM seen WHERE day = ? AND nth = ?", (day, nth))
    for n, one in enumerate(observations):
        cells = (one.kind.value, day, nth, n, one.planned_min, one.actual_min, one.batch, one.at_most)
        db.execute("INSERT INTO seen VALUES (?, ?, ?, ?, ?, ?, ?, ?)", cells)
    for (kind,) in db.execute("SELECT DISTINCT kind FROM seen").fetchall():
        newest = "SELECT day, nth, n FROM seen WHERE kind = ?1 ORDER BY day DESC, nth DESC, n DESC LIMIT 1 OFFSET ?2"
        db.execute(f"DELETE FROM seen WHERE kind = ?1 AND (day, nth, n) < ({newest})", (kind, NEWEST - 1))


def put_forecast(db: sqlite3.Connection, session: str, forecast: RecordedForecast | None) -> None:
    """Store a session's first forecast and the end of the day; nothing where there is no such forecast."""
    db.execute("DELETE FROM forecast WHERE session = ?", (session,))
    if forecast is not None:
        moments = (to_plain(moment) for moment in (forecast.at, forecast.likely, forecast.late, forecast.ended))
        db.execute("INSERT INTO forecast VALUES (?, ?, ?, ?, ?, ?)", (session, *moments, forecast.late_scale))


class TimesRecords(Records):
    """The observations and learned times of a data folder."""

    def observed(self) -> list[Observed]:
        """Return all observations, oldest session first. Raises StoreError."""
        with self.reading() as db:
            rows = db.execute("SELECT * FROM seen ORDER BY day, nth, n, kind").fetchall()
        return [
            (f"{day}-{nth}", ObservedDuration(WorkKind(kind), planned, actual, batch, bool(at_most)))
            for kind, day, nth, _, planned, actual, batch, at_most in rows
        ]

    def in_use(self) -> dict[WorkKind, Learned]:
        """Return the learned times in use; empty until some are taken. Raises StoreError."""
        with self.reading() as db:
            rows = db.execute("SELECT kind, factor, spread, n FROM own ORDER BY rowid").fetchall()
        return {WorkKind(kind): Learned(factor, spread, n) for kind, factor, spread, n in rows}

    def use(self, learned: dict[WorkKind, Learned]) -> None:
        """Use these learned times from now on; none means the plan's minutes. Raises StoreError."""
        with self.writing() as db:
            db.execute("DELETE FROM own")
            rows = [(kind.value, each.factor, each.spread, each.n) for kind, each in learned.items()]
            db.executemany("INSERT INTO own VALUES (?, ?, ?, ?)", rows)

    def replace_observed(self, sessions: Iterable[tuple[str, Iterable[ObservedDuration]]]) -> None:
        """Replace all observations by these. Raises StoreError."""
        with self.writing() as db:
            db.execute("DELETE FROM seen")
            for session, observations in sessions:
                put_observed(db, session, observations)

    def recorded_forecasts(self) -> list[RecordedForecast]:
        """Return the first forecasts of the newest closed days and how these ended. Raises StoreError."""
        newest = "SELECT session FROM taken ORDER BY substr(session, 1, 10) DESC, session DESC LIMIT ?"
        sql = f"SELECT * FROM forecast WHERE session IN ({newest}) ORDER BY session DESC"
        with self.reading() as db:
            rows = db.execute(sql, (DAYS_BACK,)).fetchall()
        return [_recorded(*row) for row in rows]


def _recorded(session: str, at: str, likely: str, late: str, ended: str, late_scale: float = 1.0) -> RecordedForecast:
    """Return the forecast in a row; one of form 2 or older has no scale."""
    parsed = datetime.fromisoformat
    return RecordedForecast(parsed(at), parsed(likely), parsed(late), parsed(ended), late_scale)
