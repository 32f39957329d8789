"""What ten years of closed days cost: 2,300 sessions and over 25,000 lots, made up, in a data folder of their own.

The history is written as a dyeday from before the database wrote it, and brought over; what is measured then goes
through the program's own doors.
"""

from __future__ import annotations

import json
import random
import shutil
import time
from collections.abc import Callable, Iterator, Sequence
from datetime import date, timedelta
from functools import partial
from pathlib import Path
from typing import Any

from dyeday.commands.books.shelf_files import row_of
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.serialize import to_plain
from dyeday.store.records.copies import records_of
from dyeday.store.records.lots import LotBook
from dyeday.store.records.shelf import MOST, ShelfRecords
from dyeday.store.records.sync import known_sessions, sync_records
from dyeday.store.records.taking_in import TakenIn, take_in
from dyeday.store.records.times import NEWEST
from dyeday.store.sealed import seal
from dyeday.store.session_file import SessionFile
from dyeday.store.session_form import SESSION, Listed, session_of
from dyeday.store.sessions import Sessions
from dyeday.studio.lots.lot import Lot
from dyeday.studio.lots.lot_making import BookDay, book_day, lots_of_day
from dyeday.studio.shelf.movements import Move
from dyeday.terms import MoveKind, StockKind
from dyeday.track.day.day_state import Event
from dyeday.track.durations import durations_of
from dyeday.track.events.event_json import read_event
from dyeday.track.folding.fold import fold
from dyeday.track.timestamp import Moment, parse_utc
from tests.speed.measured import Line
from tests.speed.shell import whole_run
from tests.speed.terminal import ROOT, python
from tests.store.old_form import lines_of_day, put_index, put_sealed
from tests.typed_events import make

YEARS, SESSIONS = 10, 2300
ROUNDS = 9
FIRST = ("Kelp", "Ember", "Moor", "Rain", "Gate", "Thaw", "Plum", "Loam", "Fog", "Rust", "Fern", "Tide")
SECOND = ("Light", "Walk", "Hour", "Song", "Green", "Edge", "Glass", "Smoke", "Road", "Bloom")
BUYERS = ("shop", "market stall", "club box", "winter parcel", "jumper", "neighbour's cardigan", "guild order")
PLAN = ROOT / "examples" / "heavy-day.toml"
EVENTS = ROOT / "examples" / "heavy-day.jsonl"
CHANCE = random.Random(7)  # noqa: S311 - names, not secrets
ALLOWED = "allowed"


def finished_day(folder: Path, *, parted: bool = False) -> SessionFile:
    """Return the heavy example as a session in which every batch came to its end; it is not closed yet.

    ``parted``, every batch is dyed from a mix of its own and so is a lot of its own.
    """
    text = PLAN.read_text(encoding="utf-8")
    plan = read_plan(text)
    raw = [json.loads(line) for line in EVENTS.read_text(encoding="utf-8").splitlines()]
    for one in raw if parted else ():
        if one.get("to") == "paint":
            one["mix"] = f"mix {one['batch']}"
    began = Moment(parse_utc(raw[0]["at"]))
    session = Sessions(folder).begin(plan, PLAN, text, began)
    session.add([read_event(line, began, twin=n) for n, line in enumerate(raw)])
    day = fold(session.plan, session.events)
    assert day.last_at is not None
    now = Moment(day.last_at).later(3600)
    ends = []
    for n, batch in enumerate(batch for batch in day.unsplit if batch.is_unfinished):
        moment = now.later(600.0 * n)
        word = ("clear", "tinted")[n % 5 == 0]
        ends += [
            make("moved", moment, ids(), batch=batch.no, to="rinse"),
            make("reading", moment.later(60), ids(), batch=batch.no, reading="eye", value=word, where="puddle"),
            make("moved", moment.later(300), ids(), batch=batch.no, to="dry"),
            make("moved", moment.later(90_000), ids(), batch=batch.no, to="done"),
        ]
    session.add(ends)
    return session


def ids() -> Callable[[], str]:
    """Return a maker of ids by chance of its own: the same at every run."""
    return lambda: f"{CHANCE.getrandbits(48):012x}"


def years_of(tables: str, events: int, session: SessionFile) -> Iterator[tuple[str, str, list[Lot], BookDay, Listed]]:
    """Yield ten years of days: the one real day under other dates, names and buyers, and the lots it then makes."""
    names = list(dict.fromkeys(colourway.name for colourway in session.plan.colourways))
    items = list(dict.fromkeys(order.item for order in session.plan.orders))
    start = date(2016, 1, 2)
    when_real = session.plan.session.date.isoformat()
    for n in range(SESSIONS):
        when = start + timedelta(days=n * 365 * YEARS // SESSIONS)
        said = tables.replace(session.about.id, f"{when.isoformat()}-1").replace(when_real, when.isoformat())
        for name in names:
            said = said.replace(
                json.dumps(name), json.dumps(f"{CHANCE.choice(FIRST)} {CHANCE.choice(SECOND)} {name[0]}")
            )
        for k, item in enumerate(items):
            said = said.replace(json.dumps(item), json.dumps(f"{CHANCE.choice(BUYERS)} {n * 13 + k}"))
        raw = json.loads(said)
        about, plan, made = session_of(raw)
        day = fold(plan, made)
        assert day.ended is not None
        lots = lots_of_day(day, about.id, day.ended)
        listed = Listed(about.id, about.name, about.date, about.begun, True, len(plan.batches), events, about.source)
        yield about.id, said, lots, book_day(day, day.ended), listed


def history(folder: Path) -> LotBook:
    """Write ten years into a data folder, as before the database, and bring them over."""
    session = finished_day(folder / "template", parted=True)
    session.add([make("closed", session_end(session), ids())])
    tables = json.dumps(
        {
            "about": {"1": to_plain(session.about)},
            "plan": {"1": to_plain(session.plan)},
            "events": {str(n): event.to_json() for n, event in enumerate(session.events, 1)},
        },
        ensure_ascii=False,
    )
    (folder / "sessions").mkdir()
    (folder / "lots").mkdir()
    files: dict[int, Any] = {}
    rows = []
    count = 0
    for session_id, said, lots, day, listed in years_of(tables, len(session.events), session):
        year = day.date.year
        if year not in files:
            files[year] = (folder / "lots" / f"{year:04d}.lots").open("wb")
        files[year].write(lines_of_day(lots, session_id, day))
        (folder / "sessions" / f"{session_id}.json").write_bytes(seal(json.loads(said), SESSION))
        rows.append(listed)
        count += len(lots)
    for file in files.values():
        file.close()
    put_index(folder, rows)
    _fill_small_books(folder, session)
    shutil.rmtree(folder / "template")
    began = time.perf_counter()
    sync_records(folder, lambda said: print(said, flush=True))
    print(f"{SESSIONS} sessions, {count} lots brought over in {time.perf_counter() - began:.1f} s", flush=True)
    assert len(LotBook(folder).find(())) == count, "every lot is there"
    assert len(ShelfRecords(folder).all_moves()) == MOST - 40, "and every movement"
    return LotBook(folder)


def _fill_small_books(folder: Path, session: SessionFile) -> None:
    """Fill the shelf and the studio's times to what they hold at most before older entries go."""
    at = session.events[-1].at
    rows = [
        row_of(
            Move(
                f"m{n}",
                at,
                MoveKind.USED,
                StockKind.DYE,
                f"Dye {n % 30}",
                1.0,
                "g",
                session=f"2025-01-01-{n // 12 + 1}",
            )
        )
        for n in range(MOST - 40)
    ]
    put_sealed(folder, "shelf", {"moves": {str(n): row for n, row in enumerate(rows, 1)}})
    day = fold(session.plan, session.events)
    seen = [
        {"session": f"2025-02-01-{n}", **to_plain(one)} for n in range(1, NEWEST + 1) for one in durations_of(day)
    ]
    put_sealed(folder, "times", {"seen": {str(n): row for n, row in enumerate(seen, 1)}, "own": {}})


def session_end(session: SessionFile) -> Moment:
    return Moment(session.events[-1].at).later(3600)


def milliseconds(work: Callable[[], object], clock: Callable[[], float] = time.perf_counter) -> float:
    began = clock()
    work()
    return 1000 * (clock() - began)


def ageing(folder: Path) -> list[Line]:
    """Finding, showing, closing, copying, and what the bench's day costs, beside the same without a history."""
    old, new = folder / "old", folder / "new"
    book = history(old)
    size = (old / "studio.db").stat().st_size
    print(f"ten years: {SESSIONS} sessions, {len(book.find(()))} lots, database {size / 1e6:.0f} MB", flush=True)
    order = book.lot(book.find(["2021"])[1234].number).orders[0].item
    searches = (("kelp", "light", "guild"), ("tinted", "2019"), (order,))
    lines = [_found(old, words) for words in searches]
    lines.append(_shown(old))
    run = python("dyeday", "lots", order, "--data", str(old))
    whole_run(run)
    empty = python("dyeday", "lots", order, "--data", str(new))
    whole = [(whole_run(run)[0], whole_run(empty)[0]) for _ in range(ROUNDS)]
    lines.append(_line("`dyeday lots WORDS`, whole run", whole, 1.3, "with no history"))
    lines.append(_copied(old))
    lines += _closed(old, new)
    lines += _running(old, new)
    return lines


def _line(what: str, pairs: Sequence[tuple[float, float]], at_most: float, against: str) -> Line:
    return Line(what, "ms", tuple(a for a, _ in pairs), tuple(b for _, b in pairs), at_most, against)


def _found(data: Path, words: tuple[str, ...]) -> Line:
    taken = [(milliseconds(lambda: LotBook(data).find(words), time.process_time), 20.0) for _ in range(ROUNDS)]
    return _line(f"lots found by {' '.join(words)!r}: {len(LotBook(data).find(words))}, CPU", taken, 1.0, ALLOWED)


def _shown(data: Path) -> Line:
    numbers = [row.number for row in LotBook(data).find(["2017"])[40 : 40 + 2 * ROUNDS]]
    taken = [(milliseconds(partial(LotBook(data).lot, each), time.process_time), 5.0) for each in numbers]
    return _line("a lot of nine years ago, whole, CPU", taken, 1.0, ALLOWED)


def _copied(data: Path) -> Line:
    kept = records_of(data)
    pairs = []
    for n in range(3):
        LotBook(data).add_facts(LotBook(data).find(["2017"])[40].number, [])
        now = parse_utc(f"2026-01-0{n + 1}T09:00:00Z")
        pairs.append((milliseconds(lambda now=now: kept.back_up(now)), 200.0))  # type: ignore[misc]
    return _line("a copy of the database, made and checked", pairs, 1.0, ALLOWED)


def _closed(old: Path, new: Path) -> list[Line]:
    pairs = []
    for _ in range(5):
        taken = []
        for data in (old, new):
            session = finished_day(data)
            event = make("closed", session_end(session), ids())
            taken_in: list[TakenIn] = []

            def close(
                session: SessionFile = session, event: Event = event, taken_in: list[TakenIn] = taken_in
            ) -> None:
                session.add([event])
                taken_in.append(take_in(session))

            taken.append(milliseconds(close))
            assert taken_in[0].lines and not taken_in[0].trouble
        pairs.append((taken[0], taken[1]))
    return [
        _line("closing a day of 14 batches", [(ours, 200.0) for ours, _ in pairs], 1.0, ALLOWED),
        # The shelf and the times are full in the one and empty in the other; neither grows further.
        _line("closing a day, ten years old", pairs, 1.3, "on the first days"),
    ]


def _running(old: Path, new: Path) -> list[Line]:
    """An entry of a running day, and finding that day at start."""
    open_days = {data: finished_day(data) for data in (old, new)}
    entries = []
    for n in range(40):
        taken = []
        for data in (old, new):
            event = make("note", session_end(open_days[data]).later(n), ids(), batch="01", note=f"number {n}")
            taken.append(milliseconds(lambda data=data, event=event: open_days[data].add([event])))  # type: ignore[misc]
        entries.append((taken[0], taken[1]))
    starts = [
        (milliseconds(lambda: Sessions(old).newest(unfinished=True)),
         milliseconds(lambda: Sessions(new).newest(unfinished=True)))
        for _ in range(ROUNDS)
    ]  # fmt: skip
    listed = [(milliseconds(lambda: Sessions(old).listed(known_sessions(old))), 200.0) for _ in range(ROUNDS)]
    owed = [
        (milliseconds(lambda: sync_records(old, lambda said: None), time.process_time), 20.0) for _ in range(ROUNDS)
    ]
    return [
        _line("an entry of a running day, ten years old", entries, 1.2, "in its first year"),
        # The names of 2,000 files are read, none of the files: a millisecond or two, once, before the bench is there.
        _line("the day to go on with, ten years old", starts, 4.0, "in its first year"),
        _line("all sessions of ten years listed", listed, 1.0, ALLOWED),
        _line("which closed days the records lack, CPU", owed, 1.0, ALLOWED),
    ]
