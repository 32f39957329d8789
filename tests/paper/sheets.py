"""Sheets of every kind for days of any size and names of any make; what one says, whichever way it is laid out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from html.parser import HTMLParser

from dyeday.ahead.forecast import forecast
from dyeday.commands.days.check_and_begin import first_moment
from dyeday.paper.layout.sheet import Cards, Sheet
from dyeday.paper.layout.sheet_text import GOES_ON, text_pages
from dyeday.paper.sheets.day_summary import summary_sheet
from dyeday.paper.sheets.sheet_kinds import KINDS, SheetSource, lot_of_batch, make_sheet
from dyeday.plan.model import Batch, Order, Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.track.day.day_state import Day, Event
from dyeday.track.folding.fold import fold
from dyeday.track.timestamp import Moment
from tests.fakes import SHORT_DAY, FakeClock, Ids
from tests.typed_events import make

SESSION = "2026-03-14-1"
NOW = FakeClock()().later(10 * 3600)


def plan_of(batches: int, name: str = "Saturday", item: str = "Shop", tag: str = "red") -> Plan:
    """Return the short day's plan with so many batches of its colourways in turn, named as given."""
    plan = read_plan(SHORT_DAY.read_text(encoding="utf-8"))
    colourways = [replace(c, name=f"{c.name} {name}"[:80], steps=(*c.steps, name)) for c in plan.colourways]
    made, orders = [], []
    for n in range(batches):
        way, base = colourways[n % len(colourways)].name, plan.bases[n % len(plan.bases)].name
        made.append(Batch(f"{n + 1:02}", way, base, 3, tag, ((f"{item} {n}", 3),), f"mix {n}"))
        orders.append(Order(f"{item} {n}", way, base, 3))
    return replace(
        plan,
        session=replace(plan.session, name=name, zone="UTC"),
        colourways=tuple(colourways),
        batches=tuple(made),
        orders=tuple(orders),
    )


def day_of(plan: Plan, note: str = "") -> Day:
    """Return a day on which every third batch is done, every third painted without a soak, and the rest wait."""
    clock, ids, events = FakeClock(), Ids(), list[Event]()
    for n, batch in enumerate(plan.batches):
        clock.on(seconds=20)
        for state in (("soak", "paint", "fix", "cool", "rinse", "dry", "done"), ("paint",), ())[n % 3]:
            clock.on(seconds=10)
            events.append(make("moved", clock(), ids, batch=batch.no, to=state, minutes_ago=3 if n % 2 else 0))
        if note:
            events.append(make("note", clock(), ids, batch=batch.no, note=note))
    if note:
        events.append(make("note", clock(), ids, note=note))
    return fold(plan, events)


def summary_pages(day: Day, session_id: str, now: Moment) -> list[str]:
    """Return the page of the day, or pages, as they are printed."""
    return text_pages(summary_sheet(day, session_id, now))


def every_sheet(plan: Plan, note: str = "") -> Iterator[Sheet]:
    """Yield each kind of sheet of a day of ``plan``."""
    day = day_of(plan, note)
    morning = fold(plan, [])
    now = Moment(NOW.utc + timedelta(hours=2))
    of = SheetSource(
        day,
        SESSION,
        now,
        days=lambda: [(SESSION, day)],
        foresee=lambda: forecast(day, now, evaluations=1),
    )
    for kind, _ in KINDS:
        if kind not in ("day", "lot"):
            yield make_sheet(kind, of)
    if len(plan.batches) <= 14:
        early = replace(of, day=morning, now=first_moment(plan))
        early = replace(early, foresee=lambda: forecast(morning, first_moment(plan), evaluations=1))
        yield make_sheet("day", early)
    lot = lot_of_batch(of, plan.batches[0].no) if plan.batches else None
    if lot is not None:
        yield lot


def said_by_text(sheet: Sheet) -> Counter[str]:
    """Return the signs of a sheet's plain page, laid out as one endless page, without what only lays it out."""
    flowing = replace(sheet, blocks=tuple(replace(block, new_page=False) for block in sheet.blocks))
    (page,) = text_pages(flowing, lines=10**9)
    lines = [line for line in page.split("\n") if not line or set(line) != {"-"}]
    if any(isinstance(part, Cards) for block in sheet.blocks for part in block.parts):
        lines = [line.replace("| ", "").replace(" |", "") for line in lines if not line.startswith("+-")]
    said = "".join(lines).replace("page 1 of 1", "", 1).replace(GOES_ON, "")
    return _signs(said)


def said_by_html(page: str) -> Counter[str]:
    """Return the signs a browser shows of a page."""
    return _signs(" ".join(Reader.of(page).said))


def _signs(text: str) -> Counter[str]:
    return Counter("".join(text.split()))


class Reader(HTMLParser):
    """What a browser shows of a page, the tags and attributes in it, and whether they are closed in order."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.said: list[str] = []
        self.tags: Counter[str] = Counter()
        self.attributes: Counter[str] = Counter()
        self.open: list[str] = []
        self.wrong: list[str] = []

    @classmethod
    def of(cls, page: str) -> Reader:
        reader = cls()
        reader.feed(page)
        reader.close()
        return reader

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags[tag] += 1
        self.attributes.update(name for name, _ in attrs)
        if tag != "meta":
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.wrong.append(tag)

    def handle_data(self, data: str) -> None:
        if self.open and "head" not in self.open:
            self.said.append(data)
