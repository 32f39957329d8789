"""The timetable: the forecast's steps with boxes to tick, and the chart."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import NamedTuple

from dyeday.ahead.foreseen_steps import Forecast, Planned
from dyeday.ahead.problem_parts.mid_heat import hands_steps
from dyeday.paper.layout.sheet import BOX, Block, Column, DrawnLines, Paragraph, Sheet, Table
from dyeday.paper.layout.sheet_text import WIDTH
from dyeday.paper.sheets.cautions import ATTENDED, BURNER, CURRENT, DEFERS, STEAM, cautions_of
from dyeday.paper.sheets.day_chart import BarKind, breaks, chart_lines
from dyeday.paper.sheets.forecast_lines import chores, table_notes, verdict_lines
from dyeday.paper.sheets.step_words import step_words, unit_words_of
from dyeday.terms import KitKind, StepKind
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import local, time_text_on

_TIMETABLE = (
    Column("", 3), Column("start", 9, large=True), Column("batch", 22),
    Column("what"), Column("unit", 11, whole=True),
)  # fmt: skip


def day_sheet(day: Day, forecast: Forecast) -> Sheet:
    """Return the timetable of ``forecast``, a forecast of ``day``."""
    session = day.plan.session
    at = local(forecast.at.utc, session.zone)
    when = f"{at:%H:%M}" if at.date() == session.date else f"{at:%a %d %b %H:%M}"
    about = f"{session.date:%a %d %b %Y}, forecast made at {when}"
    return Sheet("day", f"TIMETABLE  {session.name}", about, tuple(_blocks(day, forecast)))


def closed_day_sheet(day: Day) -> Sheet:
    """Return the sheet of a closed day, which has no timetable."""
    session = day.plan.session
    block = Block((Paragraph("This day is closed. What was left is for another day's plan."),))
    return Sheet("day", f"TIMETABLE  {session.name}", f"{session.date:%a %d %b %Y}, closed", (block,))


def _blocks(day: Day, forecast: Forecast) -> Iterator[Block]:
    yield Block(tuple(map(Paragraph, verdict_lines(forecast, day.plan.session.zone))))
    if not (hands := [step for step in hands_steps(day, forecast) if step.attended]):
        yield Block((Paragraph("Nothing to do."),))
        return
    of = chores(forecast.problem)
    rows = [_row(day, forecast, step, of.get(step.owner, "")) for step in hands]
    rows = sorted([*rows, *_breaks(day, forecast, hands[-1].end)], key=lambda row: row.start)
    cells, swatches = tuple(row.cells for row in rows), tuple(row.swatch for row in rows)
    framed = frozenset(n for n, row in enumerate(rows) if row.framed)
    table = Table(_TIMETABLE, cells, swatches, swatch_column=2, framed=framed, ruled=True)
    if notes := [Paragraph(f"{note[0].upper()}{note[1:]}.") for note in table_notes(forecast, day)]:
        yield Block(tuple(notes), "TIMETABLE")
    yield Block((table,), "TIMETABLE", breakable=True)
    yield from (Block((Paragraph(str(warned)),), "WATCH FOR") for warned in forecast.warned)
    yield Block((DrawnLines(tuple(chart_lines(forecast, day, WIDTH))),), "WORK AND KIT")
    gas = (BURNER,) if any(kit.kind is KitKind.POT and kit.power_w is None for kit in day.plan.kit) else ()
    yield Block((*cautions_of(CURRENT, STEAM, *gas, ATTENDED), Paragraph(DEFERS)), "WHILE HEAT IS ON")


class _Row(NamedTuple):
    start: datetime
    cells: tuple[str, ...]
    swatch: str | None = None
    framed: bool = False


def _row(day: Day, forecast: Forecast, step: Planned, of: str) -> _Row:
    """Return the row of a step; ``of`` is what a chore is for."""
    zone, at = day.plan.session.zone, forecast.at.utc
    start, whose = time_text_on(step.start, zone, at), _batch_text(day, step) or of
    cells = (BOX, start, whose, step_words(step, forecast, day), unit_words_of(step, day))
    return _Row(step.start, cells, _swatch(day, step), framed=step.kind is StepKind.FILL)


def _breaks(day: Day, forecast: Forecast, until: datetime) -> Iterator[_Row]:
    """Yield breaks and hours out of the house from now on as rows of the timetable, none of them to tick."""
    zone, at = day.plan.session.zone, forecast.at.utc
    for pause in breaks(day.plan, until):
        if at < pause.end and pause.start < until:
            word = "break" if pause.kind is BarKind.BREAK else "out of the house"
            text = f"{word} until {time_text_on(pause.end, zone, at)}"
            yield _Row(pause.start, ("", time_text_on(pause.start, zone, at), "", text, ""))


def _swatch(day: Day, step: Planned) -> str | None:
    """Return the colour of the largest section of a step's batch, or None."""
    batch = day.batches.get(step.batch)
    sections = batch.current_layer.sections if batch is not None else ()
    largest = max(sections, key=lambda section: section.share_pct, default=None)
    return largest.swatch or None if largest is not None else None


def _batch_text(day: Day, step: Planned) -> str:
    if (batch := day.batches.get(step.batch)) is None:
        return ""  # a chore of a lot or of the day
    tag = f" [{batch.tag}]" if batch.tag else ""
    return f"{batch.no}{tag} {batch.colourway.name}"
