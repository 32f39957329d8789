"""The heavy day's sheets in a real browser: how many pages, and no time, unit or lot number broken across lines."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from dyeday.ahead.forecast import forecast
from dyeday.commands.days.check_and_begin import first_moment
from dyeday.paper.layout.sheet import Paragraph, Sheet
from dyeday.paper.layout.sheet_html import sheet_html
from dyeday.paper.sheets.day_sheet import day_sheet
from dyeday.paper.sheets.sheet_kinds import SheetSource, make_sheet
from dyeday.paper.sheets.weigh_out_sheet import weigh_sheet
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.track.day.day_state import Day, Event
from dyeday.track.folding.fold import begin, fold
from tests.fakes import HEAVY_DAY, FakeClock, Ids
from tests.paper.browser import CHROMIUM, PDFTOTEXT, printed_to_pdf, shown_by
from tests.paper.sheets import plan_of
from tests.typed_events import make

pytestmark = [
    pytest.mark.skipif(CHROMIUM is None, reason="no browser here: chromium is not installed"),
    pytest.mark.skipif(PDFTOTEXT is None, reason="no browser here whose pages could be read: pdftotext is missing"),
]
UNITS = {"min", "h", "g", "mL", "L", "%", "°C"}
SESSION = "2026-05-09-1"
STATES = ("soak", "paint", "fix", "cool", "rinse", "dry", "done")


def over() -> Day:
    """Return the heavy day at its end, all of it done."""
    plan = read_plan(HEAVY_DAY.read_text(encoding="utf-8"))
    clock, ids, events = FakeClock(first_moment(plan).utc), Ids(), list[Event]()
    for state in STATES:
        for batch in plan.batches:
            clock.on(4)
            events.append(make("moved", clock(), ids, batch=batch.no, to=state))
    return fold(plan, events)


def sheets() -> Iterator[tuple[str, Sheet]]:
    day = over()
    assert day.last_at is not None
    end = FakeClock(day.last_at)()
    of = SheetSource(
        day, SESSION, end, days=lambda: [(SESSION, day)], foresee=lambda: forecast(day, end, evaluations=1)
    )
    morning = begin(day.plan)
    yield "weigh", weigh_sheet(day.plan)
    yield "day", day_sheet(morning, forecast(morning, first_moment(day.plan), evaluations=30))
    for kind in ("summary", "packing", "cautions"):
        yield kind, make_sheet(kind, of)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_heavy_day_is_few_pages_and_breaks_no_time_unit_or_lot_number(paper: str) -> None:
    """Weigh-out four pages at most, cautions and day's end one, four slips a page; no line has half a time or lot."""
    made = dict(sheets())
    pages = {
        name: shown_by(pdf)
        for name, pdf in printed_to_pdf({n: sheet_html(s, paper) for n, s in made.items()}).items()
    }
    assert len(pages["weigh"]) <= 4
    assert len(pages["summary"]) == len(pages["cautions"]) == 1
    slips = [block.parts[0] for block in made["packing"].blocks if block.slip]
    headings = [slip.text for slip in slips if isinstance(slip, Paragraph)]
    assert sum(heading in pages["packing"][0] for heading in headings) == 4
    assert len(headings) == 6
    times = 0
    for said in pages.values():
        for line in "\n".join(said).split("\n"):
            words = line.split()
            times += sum(bool(re.fullmatch(r"\d\d:\d\d", word)) for word in words)
            assert not any(re.fullmatch(r":\d\d|\d{6}-", word) for word in words), line
            # A cell of a table may be a line of its own: it begins behind two blanks.
            begun = [cell.split()[0].rstrip(".,;:)") for cell in re.split(r"\s{2,}", line.strip()) if cell]
            assert not UNITS & set(begun), line
    assert times > 50


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_weigh_out_of_thirty_batches_says_once_what_is_alike(paper: str) -> None:
    """Three bases by four colourways are twelve recipes, whatever orders and lots the batches are of."""
    plan = plan_of(30)
    pages = shown_by(printed_to_pdf({"weigh": sheet_html(weigh_sheet(plan), paper)})["weigh"])
    assert len(pages) <= 7
    said = "\n".join(pages)
    for batch in plan.batches:
        assert re.search(rf"\b{batch.no}\b", said)
