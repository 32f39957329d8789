"""Sessions and records brought up to date with each other before every answer: after a power cut, a restored copy.

The records are behind where a closed session's file differs, in size or time, from the one they took in.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator
from pathlib import Path

from dyeday.files.durable import StoreError
from dyeday.store import clock
from dyeday.store.session_file import SessionFile, Stamp
from dyeday.store.session_form import Listed
from dyeday.store.sessions import Sessions, sort_key

MANY = 5
"""more closed days than this are announced before they are taken in"""
Undelivered = list[tuple[str, str, str]]
"""(event's id, session, event as JSON) of deliveries that sessions do not have yet"""


def known_sessions(data: Path) -> dict[str, tuple[Stamp, Listed]]:
    """Return closed sessions' stamps and list rows as they were taken in. Raises StoreError."""
    from dyeday.store.records.database import Records

    with Records(data).reading() as db:
        rows = db.execute("SELECT session, size, changed_ns, listed FROM taken WHERE listed IS NOT NULL").fetchall()
    return {session: ((size, ns), Listed(**json.loads(listed))) for session, size, ns, listed in rows}


def sync_records(data: Path, tell: Callable[[str], None]) -> None:
    """Bring sessions and records up to date with each other; ``tell`` is called with messages. Raises StoreError."""
    stored = Sessions(data)
    known, undelivered = _on_record(data, tell)
    deliver(data, undelivered, tell)
    behind = [session for session, stamp in stored.stamps().items() if known.get(session) != stamp]
    if not (files := list(_closed(stored, sorted(behind, key=sort_key), tell))):
        return
    from dyeday.store.records.taking_in import take_in

    if len(files) > MANY:
        tell(f"adding {len(files)} closed days to the records")
    for file in files:
        taken_in = take_in(file)
        if taken_in.trouble:
            tell(f"{file.about.id}: {taken_in.trouble}")
        elif taken_in.lines and len(files) <= MANY:
            tell(f"{file.about.id} was closed, and is now in the records: {'; '.join(taken_in.lines)}")


def _on_record(data: Path, tell: Callable[[str], None]) -> tuple[dict[str, Stamp], Undelivered]:
    names = ("studio.db", "backups", "lots", "shelf.json", "library.json", "times.json")
    if not any(os.path.lexists(data / name) for name in names):
        return {}, []  # nothing was kept yet
    from dyeday.store.records.database import Records

    with Records(data, tell).reading() as db:
        known = {row[0]: row[1:] for row in db.execute("SELECT session, size, changed_ns FROM taken")}
        return known, db.execute("SELECT id, session, event FROM to_tell ORDER BY rowid").fetchall()


def _closed(stored: Sessions, sessions: list[str], tell: Callable[[str], None]) -> Iterator[SessionFile]:
    for session in sessions:
        try:
            if not stored.was_never_closed(session) and (file := stored.open(session)).is_closed:
                yield file
        except StoreError as error:
            tell(str(error))


def deliver(data: Path, undelivered: Undelivered, tell: Callable[[str], None]) -> None:
    """Add to sessions the deliveries that they do not have yet. Raises StoreError."""
    if not undelivered:
        return
    from dyeday.store.records.database import Records
    from dyeday.track.events.event_json import read_event

    stored = Sessions(data)
    for event_id, session, text in undelivered:
        if session not in stored.ids():
            continue  # its file may come back from a copy
        try:
            stored.open(session).add([read_event(json.loads(text), clock.now())])
        except StoreError as error:
            tell(f"the delivery is on the shelf; session {session} does not show it yet: {error}")
            continue
        with Records(data).writing() as db:
            db.execute("DELETE FROM to_tell WHERE id = ?", (event_id,))
