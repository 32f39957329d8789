"""The demo: the heavy example, moved so that its early afternoon is now."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from dyeday.paper.when import local
from dyeday.plan.model import Plan
from dyeday.plan.read import read_plan
from dyeday.store.durable import StoreError
from dyeday.store.sessions import SessionFile, Sessions
from dyeday.track.events import read_event
from dyeday.track.instant import Now, iso

MOMENT = datetime(2026, 5, 9, 14, 20, tzinfo=UTC)
"""the moment of the example's day, by the times of its events, at which the demo opens"""


def example(name: str) -> Path:
    """Return the path of an example, in an installed package or in a checkout. Raises StoreError."""
    package = Path(__file__).resolve().parent.parent
    for folder in (package / "examples", package.parent / "examples"):
        if (folder / name).is_file():
            return folder / name
    raise StoreError(f"the example {name} is missing from this installation", "install dyeday again")


def make_demo(data: Path, now: Now) -> SessionFile:
    """Begin the demo's session in ``data``, part-way through its day at ``now``."""
    source = example("heavy-day.toml")
    text = source.read_text(encoding="utf-8")
    plan = moved_to(read_plan(text), now)
    session = Sessions(data).begin(plan, source, text, now)
    shift = now.utc - MOMENT
    events = []
    for line in example("heavy-day.jsonl").read_text(encoding="utf-8").splitlines():
        raw = json.loads(line)
        at = datetime.fromisoformat(raw["at"]) + shift
        event = read_event({**raw, "at": iso(at), "recorded_at": iso(at + timedelta(seconds=2))}, now)
        boot_s = None if now.boot_s is None else now.boot_s - (now.utc - at).total_seconds()
        events.append(replace(event, boot_s=boot_s, boot_id=now.boot_id))
    session.add(events)
    return session


def moved_to(plan: Plan, now: Now) -> Plan:
    """Return ``plan`` with its hours moved so that `MOMENT` of its day is ``now``."""
    here = local(now.utc, plan.session.zone)
    offset = here.hour * 60 + here.minute - (MOMENT.hour * 60 + MOMENT.minute)
    days = (plan.session.start_min + offset) // 1440
    by = offset - 1440 * days
    day = here.date() + timedelta(days=days)
    session = replace(
        plan.session,
        date=day,
        start_min=plan.session.start_min + by,
        stop_min=plan.session.stop_min + by,
        breaks=tuple((start + by, end + by) for start, end in plan.session.breaks),
    )
    later = day - plan.session.date
    orders = tuple(replace(order, due=order.due + later if order.due else None) for order in plan.orders)
    return replace(plan, session=session, orders=orders)
