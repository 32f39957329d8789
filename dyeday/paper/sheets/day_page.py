"""The day as a chart for a browser and the wall: SVG in one HTML file, without scripts or links."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from dyeday.ahead.foreseen_steps import Forecast
from dyeday.paper.layout.sheet_html import html_page
from dyeday.paper.sheets.day_chart import HANDS, Bar, BarKind, Stretch, rows_of, stretches
from dyeday.paper.sheets.forecast_lines import verdict_lines, warning_lines
from dyeday.text import html_text
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import local, time_text

WIDTH, LEFT, ROW, TOP = 1600, 130, 40, 46
"""in units of the drawing: its width, the width of row names, the height of a row and of the hours"""
NIGHT = 36
"""gap between today and tomorrow"""
NAME_UNITS = 9
"""width of a digit of a bar's label"""
GREY, PAUSE = "#8a8a8a", "#d0d0d0"
FILL = 'l7 -13 l7 13 z" fill="#005f87"'
"""the sign of a filled tank, from its lower left corner on"""
_STYLE = """
@page { size: landscape; margin: 10mm; }
body { font: 16px/1.4 system-ui, sans-serif; color: #000; background: #fff; margin: 1.2rem; }
h1 { font-size: 1.6rem; margin: 0; }
p { margin: 0.1rem 0; }
svg { width: 100%; height: auto; margin-top: 0.8rem; font: 15px system-ui, sans-serif;
  print-color-adjust: exact; -webkit-print-color-adjust: exact; }
"""


def day_page(day: Day, forecast: Forecast) -> str:
    """Return the day as a page: the finish, hands and kit along a time line, warnings."""
    session, zone = day.plan.session, day.plan.session.zone
    at = local(forecast.at.utc, zone)
    verdict = verdict_lines(forecast, zone)
    wrong = [line.removeprefix("~ ") for line in warning_lines(forecast, 10_000)]
    heading = f"<p>{at:%a %d %b %Y}, as at {at:%H:%M}</p>"
    before, after = ([f"<p>{html_text(line)}</p>" for line in lines] for lines in (verdict, wrong))
    return html_page(session.name, _STYLE, [heading, *before, *day_svg(day, forecast), *after])


def day_svg(day: Day, forecast: Forecast) -> Iterator[str]:
    """Yield the drawing: a row for hands and each unit in use, today and tomorrow on one scale."""
    parts = stretches(day, forecast, forecast.at.utc)
    names = rows_of(day, parts[0].bars)
    minutes = sum(part.minutes for part in parts)
    scale = (WIDTH - LEFT - NIGHT * (len(parts) - 1) - 10) / max(60.0, minutes)
    height = TOP + ROW * len(names) + 50
    yield f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" role="img">'
    yield f"<title>{html_text(day.plan.session.name)}: hands and kit along the day</title>"
    for n, name in enumerate(names):
        y = TOP + ROW * n
        if n % 2 == 0:
            yield f'<rect x="0" y="{y}" width="{WIDTH}" height="{ROW}" fill="#f3f3f3"/>'
        yield _text(4, y + ROW * 0.65, name)
    x = float(LEFT)
    for n, part in enumerate(parts):
        if n:
            yield _text(x, 16, f"{local(part.start, day.plan.session.zone):%a %d %b}")
        yield from _hours(part, forecast.stop, day.plan.session.zone, x, scale, TOP + ROW * len(names))
        for row, name in enumerate(names):
            row_bars = sorted((bar for bar in part.bars if bar.row == name), key=lambda bar: (bar.kind, bar.start))
            named = any(bar.kind is BarKind.HEAT for bar in row_bars)
            for bar in row_bars:
                yield from _bar(bar, part, day, (x, TOP + ROW * row), scale)
            if not named:
                yield from _numbers(row_bars, part, (x, TOP + ROW * row), scale)
        if part.start <= forecast.at.utc <= part.end:
            at = x + _minutes(part.start, forecast.at.utc) * scale
            yield _line(at, 20, TOP + ROW * len(names), 'stroke="#000" stroke-width="3"')
            yield _text(at, 16, f"now {time_text(forecast.at.utc, day.plan.session.zone)}", middle=True, bold=True)
        x += part.minutes * scale + NIGHT
    yield from _legend(names, parts[0].bars)
    yield "</svg>"


def _hours(part: Stretch, stop: datetime, zone: str | None, x: float, scale: float, bottom: int) -> Iterator[str]:
    """Yield a line and a time for each hour that fits, and the stop."""
    hour = local(part.start, zone).replace(minute=0, second=0, microsecond=0)
    every = next((n for n in (1, 2, 3, 6) if n * 60 * scale > 50), 6)
    while hour <= part.end:
        if hour >= part.start and hour.hour % every == 0:
            at = x + _minutes(part.start, hour) * scale
            yield _line(at, TOP - 6, bottom, 'stroke="#bbb"')
            yield _text(at, TOP - 12, f"{hour:%H:%M}", middle=True)
        hour += timedelta(hours=1)
    if part.start <= stop <= part.end + timedelta(minutes=NIGHT / scale):
        at = x + _minutes(part.start, stop) * scale
        yield _line(at, 20, bottom, 'stroke="#000" stroke-dasharray="6 4"')
        yield _text(at - 34, 16, "stop")


def _bar(bar: Bar, part: Stretch, day: Day, at: tuple[float, float], scale: float) -> Iterator[str]:
    """Yield a bar inside ``part`` in its batch's colours, with its number if that fits."""
    if bar.end < part.start or bar.start >= part.end:
        return
    x, y = at
    x += _minutes(part.start, max(bar.start, part.start)) * scale
    width = max(3.0, _minutes(max(bar.start, part.start), min(bar.end, part.end)) * scale)
    batch = day.batches.get(bar.batch)
    colours = _colours(batch)
    tip = f"<title>{html_text(_words(bar, batch, day.plan.session.zone))}</title>"
    if bar.kind is BarKind.FILL:
        yield f'<path d="M{x - 7:.1f} {y + 36} {FILL}>{tip}</path>'
        return
    if bar.kind in (BarKind.BREAK, BarKind.OUT):
        yield _rect(x, y + 4, width, ROW - 8, PAUSE, tip)
        return
    if bar.kind is BarKind.OVER:
        yield _dashed(x, y + 6, width, 22, tip)
        return
    top, height = {BarKind.LIES: (ROW - 9, 5), BarKind.HEAT: (5, 24)}.get(bar.kind, (9, 18))
    yield from _striped(x, y + top, width, height, colours, tip)
    label = NAME_UNITS * len(bar.batch) + 6
    if bar.kind is BarKind.HEAT and bar.batch and width > label:
        yield f'<rect x="{x + 2:.1f}" y="{y + 8}" width="{label}" height="18" fill="#fff"/>'
        yield _text(x + 5, y + 22, bar.batch, bold=True)


def _numbers(bars: Sequence[Bar], part: Stretch, at: tuple[float, float], scale: float) -> Iterator[str]:
    """Yield the numbers of the batches that lie in a unit without heat, above their bars where those have room."""
    taken = 0.0
    for bar in bars:
        start, end = max(bar.start, part.start), min(bar.end, part.end)
        x, label = at[0] + _minutes(part.start, start) * scale, NAME_UNITS * len(bar.batch) + 6
        if bar.kind is BarKind.LIES and bar.batch and x >= taken and _minutes(start, end) * scale > label:
            yield _text(x + 2, at[1] + ROW - 11, bar.batch, bold=True)
            taken = x + label


def _minutes(start: datetime, end: datetime) -> float:
    return (end - start).total_seconds() / 60


def _colours(batch: BatchRecord | None) -> list[tuple[str, float]]:
    """Return a batch's colours and the share of each, 0 to 1; grey if it has none."""
    layers = batch.colourway.layers if batch is not None else ()
    sections = [swatch for layer in layers for swatch in layer.swatches]
    total = sum(share for _, share in sections)
    return [(colour, share / total) for colour, share in sections] if total else [(GREY, 1.0)]


def _striped(
    x: float, y: float, width: float, height: float, colours: Sequence[tuple[str, float]], tip: str
) -> Iterator[str]:
    yield f'<g stroke="none">{tip}'
    at = x
    for colour, share in colours:
        yield _rect(at, y, width * share, height, colour)
        at += width * share
    yield "</g>"
    yield _rect(x, y, width, height, "none", how=' stroke="#000" stroke-width="0.6"')


def _line(x: float, top: float, bottom: float, how: str) -> str:
    return f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{top}" y2="{bottom}" {how}/>'


def _rect(x: float, y: float, width: float, height: float, fill: str, tip: str = "", how: str = "") -> str:
    place = f'x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}"'
    return f'<rect {place} fill="{html_text(fill)}"{how}>{tip}</rect>'


def _dashed(x: float, y: float, width: float, height: float, tip: str = "") -> str:
    return _rect(x, y, width, height, "#fff", tip, ' stroke="#870000" stroke-width="3" stroke-dasharray="5 3"')


def _text(x: float, y: float, text: str, *, middle: bool = False, bold: bool = False) -> str:
    anchor = ' text-anchor="middle"' if middle else ""
    weight = ' font-weight="bold"' if bold else ""
    return f'<text x="{x:.1f}" y="{y:.1f}"{anchor}{weight}>{html_text(text)}</text>'


def _words(bar: Bar, batch: BatchRecord | None, zone: str | None) -> str:
    whose = f" {bar.batch} {batch.colourway.name} on {batch.base.name}," if batch is not None else ""
    return f"{bar.row}:{whose} {time_text(bar.start, zone)} to {time_text(bar.end, zone)}"


def _legend(names: Sequence[str], bars: Sequence[Bar]) -> Iterator[str]:
    y, x = TOP + ROW * len(names) + 30, float(LEFT)
    there = {BarKind.PAINT if bar.row == HANDS and bar.kind > BarKind.OVER else bar.kind for bar in bars}
    for kind, word, shape in (
        (BarKind.HEAT, "heat, in the colours of its batch", _rect(0, -16, 26, 20, GREY)),
        (BarKind.OVER, "heat over its time", _dashed(1, -15, 24, 18)),
        (BarKind.LIES, "yarn in the unit", _rect(0, -6, 26, 5, GREY)),
        (BarKind.PAINT, "hands busy", _rect(0, -13, 26, 14, GREY)),
        (BarKind.BREAK, "break, or out of the house", _rect(0, -16, 26, 20, PAUSE)),
        (BarKind.FILL, "fill the tank", f'<path d="M6 2 {FILL}/>'),
    ):
        if kind in there:
            yield f'<g transform="translate({x:.0f} {y})">{shape}{_text(34, 0, word)}</g>'
            x += 60 + 8.5 * len(word)
