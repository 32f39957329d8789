"""What ten years of closed days cost: 2,000 sessions and 25,000 lots, made up, in a data folder of their own.

The history is written as the program writes it, without waiting for the disk at every line; what is measured then
goes through the program's own doors.
"""

from __future__ import annotations

import json
import random
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.serialize import to_plain
from dyeday.store.lot_book import LotBook
from dyeday.store.lot_lines import Head, line_of
from dyeday.store.lot_parts import body_of, head_of
from dyeday.store.sealed import seal
from dyeday.store.sessions import SESSION, SessionFile, Sessions
from dyeday.store.shelf import MOST, ShelfFile
from dyeday.store.times import NEWEST, TimesFile
from dyeday.studio.lots.lot import DayKept, Lot
from dyeday.studio.lots.lot_making import kept_of_day, lots_of_day
from dyeday.studio.shelf.movements import Move
from dyeday.track.day.fold import fold
from dyeday.track.durations.observed_durations import taken
from dyeday.track.events.event import make, read_event
from dyeday.track.timestamp import Now, parse_utc
from tests.speed.measured import Line
from tests.speed.shell import whole_run
from tests.speed.terminal import ROOT, python

YEARS, SESSIONS, LOTS = 10, 2000, 25_000
ROUNDS = 9
FIRST = ("Kelp", "Ember", "Moor", "Rain", "Gate", "Thaw", "Plum", "Loam", "Fog", "Rust", "Fern", "Tide")
SECOND = ("Light", "Walk", "Hour", "Song", "Green", "Edge", "Glass", "Smoke", "Road", "Bloom")
BUYERS = ("shop", "market stall", "club box", "winter parcel", "jumper", "neighbour's cardigan", "guild order")
PLAN = ROOT / "examples" / "heavy-day.toml"
EVENTS = ROOT / "examples" / "heavy-day.jsonl"
CHANCE = random.Random(7)  # noqa: S311 - names, not secrets
ALLOWED = "allowed"


def finished_day(folder: Path) -> SessionFile:
    """Return the heavy example as a session in which every batch came to its end; it is not closed yet."""
    text = PLAN.read_text(encoding="utf-8")
    plan = read_plan(text)
    raw = [json.loads(line) for line in EVENTS.read_text(encoding="utf-8").splitlines()]
    began = Now(parse_utc(raw[0]["at"]))
    session = Sessions(folder).begin(plan, PLAN, text, began)
    session.add([read_event(line, began, twin=n) for n, line in enumerate(raw)])
    day = fold(session.plan, session.events)
    assert day.last_at is not None
    now = Now(day.last_at).later(3600)
    ends = []
    for n, batch in enumerate(batch for batch in day.live if batch.is_live):
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


def made_up(lots: Sequence[Lot], day: DayKept) -> Iterator[tuple[list[Lot], DayKept]]:
    """Yield ten years of days with the lots of one real day under other names, dates and numbers."""
    start = date(2016, 1, 2)
    for n in range(SESSIONS):
        when = start + timedelta(days=n * 365 * YEARS // SESSIONS)
        session = f"{when.isoformat()}-1"
        count = LOTS * (n + 1) // SESSIONS - LOTS * n // SESSIONS
        of_day = []
        for k in range(count):
            lot = lots[k % len(lots)]
            name = f"{CHANCE.choice(FIRST)} {CHANCE.choice(SECOND)}"
            item = f"{CHANCE.choice(BUYERS)} {n * 13 + k}"
            batches = tuple(
                replace(batch, session=session, shares=tuple((item, many) for _, many in batch.shares))
                for batch in lot.batches
            )
            orders = tuple(replace(order, item=item, colourway=name) for order in lot.orders)
            number = f"{when:%y%m%d}-{k + 1:02d}"
            of_day.append(
                replace(
                    lot,
                    number=number,
                    session=session,
                    date=when,
                    mix=f"{name} / {lot.base.name}",
                    colourway=replace(lot.colourway, name=name),
                    batches=batches,
                    orders=orders,
                )
            )
        yield of_day, replace(day, session=session, date=when, lots=tuple(lot.number for lot in of_day))


def history(folder: Path) -> LotBook:
    """Write ten years into a data folder: sessions, the lot book, and both indexes."""
    session = finished_day(folder / "template")
    session.add([make("closed", session_end(session), ids())])
    day = fold(session.plan, session.events)
    assert day.ended is not None
    lots = lots_of_day(day, session.about.id, day.ended)
    kept = kept_of_day(day, session.about.id, day.ended, lots)
    tables = json.dumps(
        {
            "about": {"1": to_plain(session.about)},
            "plan": {"1": to_plain(session.plan)},
            "events": {str(n): event.to_json() for n, event in enumerate(session.events, 1)},
        }
    )
    book = LotBook(folder)
    book.folder.mkdir(parents=True)
    (folder / "sessions").mkdir()
    files: dict[int, Any] = {}
    for of_day, about in made_up(lots, kept):
        year = about.date.year
        if year not in files:
            files[year] = book.file_of(year).open("wb")
        for lot in of_day:
            files[year].write(line_of(head_of(lot), body_of(lot)))
        head = Head("day", f"@{about.session}", about.session, about.date.isoformat(), count=about.events)
        files[year].write(line_of(head, to_plain(about)))
        said = tables.replace(session.about.id, about.session)
        (folder / "sessions" / f"{about.session}.json").write_bytes(seal(json.loads(said), SESSION))
    for file in files.values():
        file.close()
    for year in book.years():
        book.rebuild(year)
    Sessions(folder).listed()
    _fill_small_books(folder, session)
    return book


def _fill_small_books(folder: Path, session: SessionFile) -> None:
    """Fill the shelf and the studio's times to what they hold at most before older entries go."""
    at = session.events[-1].at
    moves = [
        Move(f"m{n}", at, "used", "dye", f"Dye {n % 30}", 1.0, "g", session=f"2025-01-01-{n // 12 + 1}")
        for n in range(MOST - 200)
    ]
    ShelfFile(folder).add(lambda _: moves)
    day = fold(session.plan, session.events)
    TimesFile(folder).see_anew((f"2025-02-01-{n}", one) for n in range(1, NEWEST + 1) for one in taken(day))


def session_end(session: SessionFile) -> Now:
    return Now(session.events[-1].at).later(3600)


def milliseconds(work: Callable[[], object]) -> float:
    began = time.perf_counter()
    work()
    return 1000 * (time.perf_counter() - began)


def ageing(folder: Path) -> list[Line]:
    """Finding, rebuilding, closing, and what the bench's day costs, beside the same without a history."""
    book = history(folder / "old")
    size = sum(book.file_of(year).stat().st_size for year in book.years())
    print(f"ten years: {SESSIONS} sessions, {len(book.find(()))} lots, lot book {size / 1e6:.0f} MB", flush=True)
    old, new = folder / "old", folder / "new"
    order = book.lot(book.find(["2021"])[1234].number).orders[0].item
    searches = (("kelp", "light", "guild"), ("tinted", "2019"), (order,))
    lines = [_found(old, words) for words in searches]
    lines.append(_shown(old))
    run = python("dyeday", "lots", order, "--data", str(old))
    whole_run(run)
    empty = python("dyeday", "lots", order, "--data", str(new))
    whole = [(whole_run(run)[0], whole_run(empty)[0]) for _ in range(ROUNDS)]
    lines.append(_line("`dyeday lots WORDS`, whole run", whole, 2.0, "with no history"))
    lines.append(_rebuilt(book))
    lines += _closed(old, new)
    lines += _running(old, new)
    return lines


def _line(what: str, pairs: Sequence[tuple[float, float]], at_most: float, against: str) -> Line:
    return Line(what, "ms", tuple(a for a, _ in pairs), tuple(b for _, b in pairs), at_most, against)


def _found(data: Path, words: tuple[str, ...]) -> Line:
    taken = [(milliseconds(lambda: LotBook(data).find(words)), 200.0) for _ in range(ROUNDS)]
    return _line(f"lots found by {' '.join(words)!r}: {len(LotBook(data).find(words))}", taken, 1.0, ALLOWED)


def _shown(data: Path) -> Line:
    number = LotBook(data).find(["2017"])[40].number
    taken = [(milliseconds(lambda: LotBook(data).lot(number)), 200.0) for _ in range(ROUNDS)]
    return _line("a lot of nine years ago, whole", taken, 1.0, ALLOWED)


def _rebuilt(book: LotBook) -> Line:
    """All indexes made again, beside reading every line's JSON."""
    pairs = []
    for _ in range(3):
        ours = sum(milliseconds(lambda year=year: book.rebuild(year)) for year in book.years())  # type: ignore[misc]
        floor = 0.0
        for year in book.years():
            data = book.file_of(year).read_bytes()

            def parse(data: bytes = data) -> None:
                for line in data.splitlines():
                    _, head, body = line.split(b"\t")
                    json.loads(head)
                    json.loads(body)

            floor += milliseconds(parse)
        pairs.append((ours, floor))
    return _line("index of all years, made again", pairs, 1.5, "json.loads of the same")


def _closed(old: Path, new: Path) -> list[Line]:
    pairs = []
    for _ in range(5):
        taken = []
        for data in (old, new):
            session = finished_day(data)
            event = make("closed", session_end(session), ids())
            taken.append(milliseconds(lambda session=session, event=event: session.add([event])))  # type: ignore[misc]
            assert session.settled is not None and session.settled.told and not session.settled.trouble
        pairs.append((taken[0], taken[1]))
    return [
        _line("closing a day of 14 batches", [(ours, 200.0) for ours, _ in pairs], 1.0, ALLOWED),
        # The year's index, the shelf and the times are full in the one and empty in the other; neither grows further.
        _line("closing a day, ten years old", pairs, 4.0, "on the first days"),
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
    listed = [(milliseconds(lambda: Sessions(old).listed()), 200.0) for _ in range(ROUNDS)]
    lacking = [(milliseconds(lambda: LotBook(old).lacking(Sessions(old).listed())), 200.0) for _ in range(ROUNDS)]
    return [
        _line("an entry of a running day, ten years old", entries, 1.2, "in its first year"),
        # The names of 2,000 files are read, none of the files: a millisecond or two, once, before the bench is there.
        _line("the day to go on with, ten years old", starts, 4.0, "in its first year"),
        _line("all 2,000 sessions listed", listed, 1.0, ALLOWED),
        _line("which closed days the book lacks", lacking, 1.0, ALLOWED),
    ]
