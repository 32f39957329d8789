"""The demo: the heavy example, moved in time so that its early afternoon is now."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from dyeday.files.durable import StoreError, make_folder
from dyeday.files.out_files import put_text
from dyeday.files.safe_read import is_there
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.writing.toml_values import plan_time
from dyeday.store.session_file import SessionFile
from dyeday.store.sessions import Sessions
from dyeday.track.events.event_json import read_event
from dyeday.track.timestamp import Moment, iso, local

MOMENT = datetime(2026, 5, 9, 14, 20, tzinfo=UTC)
"""the end of the example's events"""
QUIET = datetime(2026, 5, 9, 14, 7, tzinfo=UTC)
"""the time of the example at which the demo opens: no alarm yet, one heat ends in a few minutes"""


def example(name: str) -> Path:
    """Return the path of an example, in an installed package or in a checkout. Raises StoreError."""
    package = Path(__file__).resolve().parents[2]
    for folder in (package / "examples", package.parent / "examples"):
        if (folder / name).is_file():
            return folder / name
    raise StoreError(f"the example {name} is missing from this installation", "install dyeday again")


def make_demo(data: Path, now: Moment, moment: datetime = MOMENT) -> SessionFile:
    """Start the demo's session in ``data``, its events up to ``moment``, which is ``now``. Raises StoreError."""
    text = moved_text(example("heavy-day.toml").read_text(encoding="utf-8"), now, moment)
    make_folder(data)
    names = (f"demo{n if n > 1 else ''}.toml" for n in range(1, 1_000_000))
    source = next(file for name in names if not is_there(file := data.resolve() / name))
    put_text(source, text)
    session = Sessions(data).begin(read_plan(text), source, text, now)
    shift = now.utc - moment
    events = []
    for line in example("heavy-day.jsonl").read_text(encoding="utf-8").splitlines():
        raw = json.loads(line)
        at = datetime.fromisoformat(raw["at"]) + shift
        if at > now.utc:
            continue
        event = read_event({**raw, "at": iso(at), "recorded_at": iso(at + timedelta(seconds=2))}, now)
        boot_s = None if now.boot_s is None else now.boot_s - (now.utc - at).total_seconds()
        events.append(replace(event, boot_s=boot_s, boot_id=now.boot_id))
    session.add(events)
    return session


def moved_text(text: str, now: Moment, moment: datetime = MOMENT) -> str:
    """Return the example's plan with its date, hours and due dates moved so that ``moment`` of its day is ``now``."""
    session = read_plan(text).session
    here = local(now.utc, session.zone)
    offset_min = here.hour * 60 + here.minute - (moment.hour * 60 + moment.minute)
    days = (session.start_min + offset_min) // 1440
    by_min = offset_min - 1440 * days
    day = here.date() + timedelta(days=days)
    breaks = ", ".join(f'"{plan_time(start + by_min)}-{plan_time(end + by_min)}"' for start, end in session.breaks)
    for key, value in (
        ("date", day.isoformat()),
        ("start", f'"{plan_time(session.start_min + by_min)}"'),
        ("stop", f'"{plan_time(session.stop_min + by_min)}"'),
        ("breaks", f"[{breaks}]"),
    ):
        text = re.sub(rf"^{key} = .*$", f"{key} = {value}", text, count=1, flags=re.MULTILINE)
    later = day - session.date
    return re.sub(
        r"^due = (\S+)$", lambda due: f"due = {date.fromisoformat(due[1]) + later}", text, flags=re.MULTILINE
    )
