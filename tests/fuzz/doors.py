"""The doors that others' text comes in by, each as a function of bytes that may raise only what it documents."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path

from dyeday.commands.days.mark import read_events
from dyeday.files.durable import StoreError
from dyeday.files.safe_read import as_text
from dyeday.plan.model import Plan
from dyeday.plan.orders.csv_table import Columns, CsvError, columns_text, guessed_columns, read_columns, read_table
from dyeday.plan.orders.order_import import read_orders
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.reading.problems import PlanError
from dyeday.plan.serialize import from_plain, to_plain
from dyeday.store.sealed import seal, unseal
from dyeday.store.session_form import SESSION
from dyeday.track.events.event_json import read_event
from dyeday.track.timestamp import Moment, parse_utc
from tests.fakes import HEAVY_DAY, MORNING, ROOT, SHORT_DAY

NOW = Moment(MORNING)
HERE = Path("given")


def plan(raw: bytes) -> bool:
    """A session plan: text or refused, a plan or its problems, each with a line; a plan is kept and comes back."""
    try:
        text = as_text(raw, "plan.toml")
        made = read_plan(text)
    except StoreError:
        return False
    except PlanError as error:
        assert error.problems
        assert all(problem.line >= 1 and problem.what and problem.hint for problem in error.problems)
        return False
    assert from_plain(Plan, to_plain(made)) == made
    return True


def events(raw: bytes) -> bool:
    """A file of events: what is taken can be stored and comes back the same, what is not has its line."""
    try:
        text = as_text(raw, "day.jsonl")
    except StoreError:
        return False
    taken, lines, _, complaints = read_events(text, NOW)
    assert {event.id for event in taken} <= set(lines)
    assert all(1 <= number <= text.count("\n") + 1 and said for number, said in complaints.items())
    for event in taken:
        row = event.to_json()
        assert read_event(row, Moment(parse_utc(row["recorded_at"]))) == event
    seal({"events": {str(n): event.to_json() for n, event in enumerate(taken)}}, SESSION)
    return bool(taken)


def orders(raw: bytes) -> bool:
    """A table of orders: rows or where it is broken, orders or every problem with its line."""
    try:
        table = read_table(raw)
        columns = Columns(columns=guessed_columns(table.rows[0].cells))
        return bool(read_orders(table.rows, columns, ["Kelp Light", "Peat"], ["Plain Sock"]).orders)
    except (CsvError, PlanError):
        return False


def columns(raw: bytes) -> bool:
    """The file that says what the columns of a table are."""
    try:
        read_columns(as_text(raw, "orders.columns.toml"))
    except (StoreError, PlanError):
        return False
    return True


def session(raw: bytes) -> bool:
    """A stored session: what it holds, or refused; the bytes as they are, and as a body under a seal that fits."""
    digest = hashlib.sha256(b"session 2\n" + b"{" + raw[1:]).hexdigest()
    fitting = f'{{"kept":{{"what":"session","version":2,"sha256":"{digest}"}},'.encode() + raw[1:]
    good = 0
    for form in (raw, fitting):
        try:
            unseal(form, HERE, SESSION)
            good += 1
        except StoreError:
            continue
    return good > 0


DOORS: dict[str, Callable[[bytes], bool]] = {
    "plan": plan,
    "events": events,
    "orders": orders,
    "columns": columns,
    "session": session,
}


def seeds(door: str) -> list[bytes]:
    """Return sound texts of a door's kind, to begin from."""
    examples = ROOT / "examples"
    found = {
        "plan": [SHORT_DAY, HEAVY_DAY],
        "events": [examples / "heavy-day.jsonl"],
        "orders": sorted(examples.glob("*.csv")),
        "columns": sorted(examples.glob("*.columns.toml")),
        "session": sorted((ROOT / "tests" / "store" / "files").glob("session-*.json")),
    }[door]
    guess = Columns(columns=guessed_columns(["name", "colourway", "base", "quantity"]))
    own = {
        "orders": [b"name,colourway,base,quantity\nan aunt,Kelp Light,Plain Sock,2\n"],
        "columns": [columns_text(guess, "x.csv").encode()],
        "plan": [b'[session]\nname = "x"\ndate = 2026-03-14\nstart = "09:00"\nstop = "17:00"\n'],
        "events": [b'{"at": "2026-03-14T09:05:00Z", "batch": "03", "to": "soak"}\n'],
    }
    return [path.read_bytes() for path in found] + own.get(door, [])
