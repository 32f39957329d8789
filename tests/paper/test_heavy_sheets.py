"""The heavy day's sheets in a real browser: how many pages, and no time, unit or lot number broken across lines."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest

from dyeday.ahead.forecast import forecast
from dyeday.commands.days.check_and_begin import first_moment
from dyeday.paper.layout.sheet import Paragraph, Sheet
from dyeday.paper.layout.sheet_html import sheet_html
from dyeday.paper.layout.sheet_text import text_pages
from dyeday.paper.sheets.day_sheet import day_sheet
from dyeday.paper.sheets.day_summary import summary_sheet
from dyeday.paper.sheets.day_tally import tally
from dyeday.paper.sheets.sheet_kinds import SheetSource, make_sheet
from dyeday.paper.sheets.weigh_out_sheet import weigh_sheet
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.track.day.day_state import Day, Event
from dyeday.track.events.event_json import read_event
from dyeday.track.folding.fold import begin, fold
from dyeday.track.timestamp import Moment
from tests.fakes import HEAVY_DAY, HOME_DAY, FakeClock, Ids
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
    slips = [block.parts[0] for block in made["packing"].blocks if block.slip and not block.heading]
    headings = [slip.text for slip in slips if isinstance(slip, Paragraph)]
    assert "CHECK BEFORE YOU PACK" in pages["packing"][0]
    assert [sum(heading in page for heading in headings) for page in pages["packing"]] == [2, 4, 0]
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


def closed_home_day() -> Day:
    """Return the home day at its close: all of it dries, and five flags are open on five batches."""
    # In the house all day: heat left on while out would be a sixth.
    plan = read_plan(HOME_DAY.read_text(encoding="utf-8").replace('out = ["14:30-15:30"]', ""))
    lines = list[dict[str, object]]()
    begun = datetime(2026, 9, 12, 9, tzinfo=UTC)

    def put(minute: int, **keys: object) -> None:
        lines.append({"at": (begun + timedelta(minutes=minute)).isoformat(), **keys})

    for n, batch in enumerate(plan.batches):
        unit, no, began = f"steamer {1 + n % 2}", batch.no, 45 * n
        heated = 22 if no in ("03", "04") else 30
        put(began - (30 if no == "09" else 0), batch=no, to="soak", unit=f"tray {1 + n % 3}")
        put(began, batch=no, acid_ml=65)
        if no == "02":
            put(began + 20, batch=no, reading="ph", value=5.6)
        put(began + 22, batch=no, to="paint")
        put(began + 45, batch=no, to="fix")
        put(began + 46, unit=unit, **{"is": "filled"})
        put(began + 46, batch=no, run="start", unit=unit, **{"pass": 1})
        put(began + 54, batch=no, run="heat", **{"pass": 1})
        put(began + 54 + heated, batch=no, run="end", **{"pass": 1})
        put(began + 86, batch=no, to="cool")
        put(began + 151, batch=no, to="rinse", unit="sink 1")
        put(began + 160, batch=no, to="dry", unit="line 1")
        if no == "09":
            put(began + 161, batch=no, reading="cloth", value="marked")
            put(began + 161, batch=no, note="the last of the old Moss bottle")
    put(525, event="closed")
    return fold(plan, [read_event(line, Moment(datetime.fromisoformat(str(line["at"])))) for line in lines])


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_page_of_a_closed_home_day_with_five_flags_is_one_side_also_as_text(paper: str) -> None:
    """Nine batches, every yarn to be reordered: what is sent to a printer as text, and what a browser prints."""
    day = closed_home_day()
    assert day.closed is not None
    assert len(tally(day, day.closed).open_flags) == 5
    again = [f"{base.name}: 2 pieces, 28 pieces a week (from 1 day only), 0 days left" for base in day.plan.bases]
    sheet = summary_sheet(day, "2026-09-12-1", day.closed, again)
    (text,) = text_pages(sheet)
    assert "LEFT FOR TOMORROW: 0 batches; 9 more hang to dry" in text
    (page,) = shown_by(printed_to_pdf({"home": sheet_html(sheet, paper)})["home"])
    assert "page 1 of 1" in page
