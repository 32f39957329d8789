"""A season as charts in plain ASCII, 80 columns wide, a number beside every bar."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import astuple

from dyeday.studio.lots.season import Exhausted, Season
from dyeday.text import clip, counted, pad
from dyeday.track.flags import flag_words
from dyeday.track.timestamp import length_text, min_figure

WIDTH, SCALE_CELLS = 80, 27


def season_lines(season: Season) -> Iterator[str]:
    """Yield the season in lines of at most `WIDTH` cells."""
    yield f"LOOKING BACK from {season.first:%a %d %b %Y} to {season.last:%a %d %b %Y}"
    if not season.lots and not season.days:
        yield "the lot book has no lot from these days"
        return
    scrapped = f", {season.skeins_scrapped} scrapped" if season.skeins_scrapped else ""
    done = f"{counted(season.lots, 'lot')}, {counted(season.skeins, 'piece')} done{scrapped}"
    yield f"{counted(season.days, 'day')}, {season.hours:.0f} h; {done}"
    for section in (_exhaustion(season), _stages(season), _flags(season), _alarms(season), _back(season)):
        yield ""
        yield from section


def band_text(band: tuple[float, float]) -> str:
    """Return "0.5-1 %", "below 0.5 %", "above 2 %"."""
    low, high = band
    if low == 0:
        return f"below {high:g} %"
    return f"above {low:g} %" if high == float("inf") else f"{low:g}-{high:g} %"


def _exhaustion(season: Season) -> Iterator[str]:
    yield "EXHAUSTION by dye and depth, from looks at cool baths"
    if not season.exhausted:
        yield "  no finished lot has a look at a cool bath"
        return
    yield f"  {pad('dye', 16)} {pad('depth', 12)} {pad('50 %', 14)}{pad('75', 9)}100  median looks low"
    for one in season.exhausted:
        beside = f"{one.pct.middle:5.0f} %{one.pct.n:6}{one.below:4}"
        yield f"  {pad(one.dye, 16)} {pad(band_text(one.band), 12)} {_scale(one)} {beside}"
    yield "  = middle half, # median, ! expected; low: looks below the expected value"


def _scale(one: Exhausted) -> str:
    """Return a bar from 50 to 100 %, about 2 % a cell; lower values are at its left end."""
    cells = [" "] * SCALE_CELLS

    def place(pct: float) -> int:
        return round(min(max(pct - 50, 0.0), 50.0) / 50 * (SCALE_CELLS - 1))

    for n in range(place(one.pct.low), place(one.pct.high) + 1):
        cells[n] = "="
    cells[place(one.expected_pct)] = "!"
    cells[place(one.pct.middle)] = "#"
    return "".join(cells)


def _stages(season: Season) -> Iterator[str]:
    yield "TIME PER STAGE: the median, and the middle half of the batches"
    if not season.stages:
        yield "  no batch is done"
    top = max((stage.minutes.high for stage in season.stages if stage.stage != "dry"), default=0.0)
    for stage in season.stages:
        much, batches = length_text(stage.minutes.middle), counted(stage.minutes.n, "batch", "batches")
        many = f"{length_text(stage.minutes.low)} to {length_text(stage.minutes.high)}, {batches}"
        each = f", {min_figure(stage.per_100g.middle)} min per 100 g" if stage.per_100g is not None else ""
        bar = "" if stage.stage == "dry" else _bar(stage.minutes.middle, top, 12)
        yield clip(f"  {pad(stage.stage, 8)} {pad(much, 7)} {pad(bar, 12)} {many}{each}", WIDTH)


def _flags(season: Season) -> Iterator[str]:
    yield "FLAGS of finished lots, and of whole days"
    if not season.flags:
        yield "  none"
    top = max((flag.raised for flag in season.flags), default=0)
    for flag in season.flags:
        lots = f" in {counted(flag.lots, 'lot')}" if flag.lots else " about days"
        still = f", {flag.open} open" if flag.open else ""
        bar = pad(_bar(flag.raised, top, 28), 28)
        yield clip(f"  {pad(flag_words(flag.rule), 20)} {bar} {flag.raised}{lots}{still}", WIDTH)


def _alarms(season: Season) -> Iterator[str]:
    prompts = season.prompts / season.hours if season.hours else 0.0
    yield f"ALARMS: {season.alarms_per_hour:.1f} an hour; prompts: {prompts:.1f} an hour"
    if season.longest_alarm_min:
        yield f"  the longest alarm was not answered for {length_text(season.longest_alarm_min)}"
    top = max((month.alarms_per_hour for month in season.months), default=0.0)
    for month in season.months:
        each = f"{month.alarms_per_hour:.1f} an hour, {counted(month.days, 'day')}"
        yield f"  {month.month}  {pad(_bar(month.alarms_per_hour, top, 40), 40)} {each}"


def _back(season: Season) -> Iterator[str]:
    share = f" of {season.lots}, {100 * len(season.back) / season.lots:.0f} %" if season.back else ""
    yield f"BACK TO FIX: {counted(len(season.back), 'lot')}{share}"
    for back in season.back:
        yield clip(f"  {back.lot} {back.colourway} on {back.base}: batch {', '.join(back.batches)}", WIDTH)


def _bar(value: float, top: float, cells: int) -> str:
    """Return a bar of # for which ``top`` fills all cells; any positive value has one."""
    return "" if value <= 0 or top <= 0 else "#" * max(1, round(min(value / top, 1.0) * cells))


SEASON_COLUMNS = ("table", "what", "of", "n", "low", "middle", "high", "unit", "more")


def season_rows(season: Season) -> Iterator[Iterable[object]]:
    """Yield a head row and every figure of the season as rows of one table."""
    yield SEASON_COLUMNS
    of, skeins = f"{season.first} to {season.last}", (season.skeins, season.skeins_scrapped)
    sums = (season.days, season.hours, season.lots, *skeins, season.alarms, season.prompts)
    names = ("days", "hours", "lots", "pieces", "scrapped", "alarms", "prompts")
    for what, value in zip(names, sums, strict=True):
        yield ("season", what, of, None, None, value, None, "h" if what == "hours" else "", None)
    for one in season.exhausted:
        more = f"expected {one.expected_pct:g} %, {one.below} below"
        yield ("exhaustion", one.dye, band_text(one.band), *astuple(one.pct), "%", more)
    for stage in season.stages:
        yield ("stage", stage.stage, "batch", *astuple(stage.minutes), "min", None)
        if stage.per_100g is not None:
            yield ("stage", stage.stage, "100 g", *astuple(stage.per_100g), "min", None)
    for flag in season.flags:
        yield ("flag", flag.rule, "raised", flag.lots, None, flag.raised, None, "", f"{flag.open} open")
    for month in season.months:
        yield ("alarms", month.month, "hour", month.days, None, month.alarms_per_hour, None, "an hour", None)
        yield ("lots", month.month, "month", month.days, None, month.lots, None, "", f"{month.went_back} back to fix")
    for back in season.back:
        about = f"{back.colourway} on {back.base}"
        yield ("back to fix", back.lot, about, len(back.batches), None, None, None, "", ", ".join(back.batches))
