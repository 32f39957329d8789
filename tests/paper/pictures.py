"""Pictures of sheets as a browser prints them: ``python -m tests.paper.pictures``, or with all others.

Of the heavy day in the morning and of the demo day in the middle, at fixed moments.
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from datetime import UTC, datetime
from pathlib import Path

from dyeday.ahead.forecast import forecast
from dyeday.commands.days.check_and_begin import first_moment
from dyeday.commands.screens.demo import make_demo
from dyeday.paper.layout.sheet import Sheet
from dyeday.paper.layout.sheet_html import sheet_html
from dyeday.paper.sheets.day_sheet import day_sheet
from dyeday.paper.sheets.day_summary import summary_sheet
from dyeday.paper.sheets.labels_and_packing import labels_sheet
from dyeday.paper.sheets.weigh_out_sheet import weigh_sheet
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.studio.labels import label_of
from dyeday.studio.lots.lot_numbers import lot_numbers
from dyeday.track.folding.fold import begin, fold
from tests.fakes import HEAVY_DAY, ROOT, FakeClock
from tests.paper.browser import CHROMIUM, printed_to_pdf

FOLDER = ROOT / "screenshots"
MOMENT = datetime(2026, 5, 9, 14, 20, tzinfo=UTC)
PDFTOPPM = shutil.which("pdftoppm")
DPI = 70


def main() -> None:
    """Write the first page of each, where there is a browser and what makes pictures of its pages."""
    if CHROMIUM is None or PDFTOPPM is None:
        print("no chromium or no pdftoppm here: pictures of paper stay as they are")
        return
    for name, pdf in printed_to_pdf({name: sheet_html(sheet) for name, sheet in _sheets().items()}).items():
        page = "1"
        command = [PDFTOPPM, "-r", str(DPI), "-f", page, "-l", page, "-singlefile", "-png", "-"]
        subprocess.run([*command, str(FOLDER / f"paper-{name}")], input=pdf, check=True)


def _sheets() -> dict[str, Sheet]:
    plan = read_plan(HEAVY_DAY.read_text(encoding="utf-8"))
    morning = begin(plan)
    lots = lot_numbers(morning, f"{plan.session.date}-1")
    labels = [
        label_of(plan.base(b.base), plan.colourway(b.colourway), lots[b.no], count=b.skeins) for b in plan.batches
    ]
    with tempfile.TemporaryDirectory() as data:
        clock = FakeClock(MOMENT)
        session = make_demo(Path(data), clock())
        day = fold(session.plan, session.events)
        return {
            "weigh": weigh_sheet(plan),
            "day": day_sheet(morning, forecast(morning, first_moment(plan), evaluations=200)),
            "summary": summary_sheet(day, session.about.id, clock()),
            "labels": labels_sheet(plan.session.name, f"{plan.session.date:%a %d %b %Y}", labels),
        }


if __name__ == "__main__":
    main()
