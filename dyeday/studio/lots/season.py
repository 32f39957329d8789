"""The figures of a season, from the lot book."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import field, replace
from datetime import date as Date  # noqa: N812 - as in the model
from statistics import median, quantiles

from dyeday.craft.errors import below
from dyeday.grouping import grouped
from dyeday.plan.batches import split_no
from dyeday.plan.model import PUTTING_DYE_ON, Layer
from dyeday.quick_dataclass import dataclass
from dyeday.studio.lots.lot import Lot, LotBatch, LotReading, LotStay
from dyeday.studio.lots.lot_making import BookDay
from dyeday.terms import State

BANDS = ((0.0, 0.5), (0.5, 1.0), (1.0, 2.0), (2.0, float("inf")))
"""depth of shade, % of the weight of fibre: pale, medium, full, deep; common practice, no source"""
STAGES = ("soak", "paint", "speckle", "dye", "fix", "cool", "rinse", "dry")


@dataclass(frozen=True, slots=True)
class Spread:
    """``n`` values: their median, and their quartiles, which one odd day hardly moves."""

    n: int
    low: float
    middle: float
    high: float


def spread_of(values: Sequence[float]) -> Spread:
    """Return the spread of one value or more."""
    if len(values) == 1:
        return Spread(1, values[0], values[0], values[0])
    return Spread(len(values), *quantiles(values, n=4, method="inclusive"))


@dataclass(frozen=True, slots=True)
class Exhausted:
    """One dye in one band of depth: its exhaustion by readings of baths, alone in them or with other dyes."""

    dye: str
    band: tuple[float, float]
    pct: Spread
    expected_pct: float
    """median of what was expected of those baths"""
    below: int
    """readings below what was expected"""


@dataclass(frozen=True, slots=True)
class StageMinutes:
    """Minutes of the stays in one stage; per 100 g too if hands do the work."""

    stage: str
    minutes: Spread
    per_100g: Spread | None


@dataclass(frozen=True, slots=True)
class FlagCount:
    """One rule: its flags, those still open, and the lots with any."""

    rule: str
    raised: int
    open: int
    lots: int


@dataclass(frozen=True, slots=True)
class ReturnedLot:
    """A lot that went back to fix, with the batches that did."""

    lot: str
    colourway: str
    base: str
    batches: tuple[str, ...]


class _Alarms:
    """Alarms over hours of recorded activity."""

    __slots__ = ()
    alarms: int
    hours: float

    @property
    def alarms_per_hour(self) -> float:
        """Alarms per hour of recorded activity; 0 without any."""
        return self.alarms / self.hours if self.hours else 0.0


@dataclass(frozen=True, slots=True)
class Month(_Alarms):
    """A calendar month with a lot or a closed day."""

    month: str
    """YYYY-MM"""
    days: int = 0
    hours: float = 0.0
    alarms: int = 0
    prompts: int = 0
    lots: int = 0
    skeins: int = 0
    went_back: int = 0
    """lots"""


@dataclass(frozen=True, slots=True)
class Season(_Alarms):
    """The figures from ``first`` to ``last``, both included."""

    first: Date
    last: Date
    days: int
    hours: float
    prompts: int
    alarms: int
    busiest_10_min: int
    longest_alarm_min: float
    lots: int
    skeins: int
    skeins_scrapped: int
    exhausted: tuple[Exhausted, ...]
    stages: tuple[StageMinutes, ...]
    flags: tuple[FlagCount, ...]
    back: tuple[ReturnedLot, ...]
    months: tuple[Month, ...]


@dataclass()
class _Sums:
    """What is collected in one reading of the book."""

    readings: dict[tuple[str, tuple[float, float]], list[tuple[float, float]]] = field(default_factory=dict)
    minutes: dict[str, list[float]] = field(default_factory=dict)
    per_100g: dict[str, list[float]] = field(default_factory=dict)
    flags: dict[str, list[tuple[str, bool]]] = field(default_factory=dict)
    months: dict[str, Month] = field(default_factory=dict)
    back: list[ReturnedLot] = field(default_factory=list)
    days: list[BookDay] = field(default_factory=list)


def season(book: Iterable[Lot | BookDay], first: Date, last: Date) -> Season:
    """Return the figures of the book's lots and days from ``first`` to ``last``, both included."""
    sums = _Sums()
    for one in (one for one in book if first <= one.date <= last):
        if isinstance(one, BookDay):
            sums.days.append(one)
            counts = one.rates
            _in_month(sums, one.date, days=1, hours=counts.hours, alarms=counts.alarms, prompts=counts.prompts)
            for flag in one.day_flags:
                sums.flags.setdefault(flag.rule, []).append(("", flag.cleared_at is None))
        else:
            _add_lot(sums, one)
    days, months = sums.days, [month for _, month in sorted(sums.months.items())]
    return Season(
        first=first,
        last=last,
        days=len(days),
        hours=sum(day.rates.hours for day in days),
        prompts=sum(month.prompts for month in months),
        alarms=sum(month.alarms for month in months),
        busiest_10_min=max((day.rates.busiest for day in days), default=0),
        longest_alarm_min=max((day.rates.longest_min for day in days), default=0.0),
        lots=sum(month.lots for month in months),
        skeins=sum(month.skeins for month in months),
        skeins_scrapped=sum(day.skeins_scrapped for day in days),
        exhausted=tuple(_exhausted(sums)),
        stages=tuple(_stages(sums)),
        flags=tuple(_flags(sums)),
        back=tuple(sorted(sums.back, key=lambda back: back.lot)),
        months=tuple(months),
    )


def _in_month(sums: _Sums, day: Date, **more: float) -> None:
    """Add to a calendar month's counts, by the names of `Month`."""
    name = f"{day:%Y-%m}"
    month = sums.months.get(name, Month(name))
    sums.months[name] = replace(month, **{key: getattr(month, key) + amount for key, amount in more.items()})


def _add_lot(sums: _Sums, lot: Lot) -> None:
    back = tuple(batch.no for batch in lot.batches if batch.went_back)
    _in_month(sums, lot.date, lots=1, skeins=lot.skeins, went_back=1 if back else 0)
    if back:
        sums.back.append(ReturnedLot(lot.number, lot.colourway.name, lot.base.name, back))
    # What happened before a split is in the record of each part: it counts once, for the weight of all.
    whole = [((batch.session, split_no(batch.no)[0]), batch) for batch in lot.batches]
    own = (((of, stay), batch) for of, batch in whole for stay in batch.stays if not _is_beneath(batch, stay))
    for (_, stay), had in grouped(own).items():
        dyeing = PUTTING_DYE_ON[lot.colourway.layer_of(stay.layer).how]
        stage = dyeing if stay.state is State.PAINT else stay.state.value
        if stay.until is not None and stage in STAGES and stay.minutes:  # dye and heat recorded at once tell no time
            sums.minutes.setdefault(stage, []).append(stay.minutes)
            wof_g = sum(batch.wof_g for batch in had)
            if stage in (*PUTTING_DYE_ON.values(), State.RINSE.value) and wof_g:
                sums.per_100g.setdefault(stage, []).append(stay.minutes / wof_g * 100)
    for _, flag in dict.fromkeys((of, flag) for of, batch in whole for flag in batch.flags):
        sums.flags.setdefault(flag.rule, []).append((lot.number, flag.cleared_at is None))
    readings: dict[object, LotReading] = {}
    for of, batch in whole:
        # The last reading of each layer's bath: earlier ones led to more heat.
        last = {r.layer: r for r in batch.readings if r.exhausted_pct is not None and not _is_beneath(batch, r)}
        readings |= {(of, read.at, read.layer): read for read in last.values()}
    for read in readings.values():
        if read.exhausted_pct is not None and read.expected_pct is not None:
            for dye, depth in depths(lot.colourway.layer_of(read.layer)).items():
                key = (dye, next(band for band in BANDS if band[0] <= depth < band[1]))
                sums.readings.setdefault(key, []).append((sum(read.exhausted_pct) / 2, read.expected_pct))


def _is_beneath(batch: LotBatch, of: LotStay | LotReading) -> bool:
    """Return whether a stay or reading is from before the last overdye, whose recipe the lot has."""
    begun = (stay.since for stay in batch.stays if stay.state is State.PAINT and stay.layer == 1)
    moment = of.since if isinstance(of, LotStay) else of.at
    return bool(batch.overdyed_from) and moment < max(begun, default=batch.done_at)


def depths(layer: Layer) -> dict[str, float]:
    """Return how much of each dye a layer puts on, % of the weight of fibre."""
    total = sum(section.share_pct for section in layer.sections)
    out: dict[str, float] = {}
    for section in layer.sections:
        parts = sum(amount for _, amount in section.dyes)
        for dye, amount in section.dyes:
            # Powder is given in g per 100 g of yarn, shared out by parts.
            of_section = amount if layer.powder_g_per_100g is None else layer.powder_g_per_100g * amount / parts
            out[dye] = out.get(dye, 0.0) + of_section * section.share_pct / total
    return out


def _exhausted(sums: _Sums) -> Iterator[Exhausted]:
    for (dye, band), readings in sorted(sums.readings.items()):
        too_low = sum(below(pct, expected) for pct, expected in readings)
        usual_pct = median(expected for _, expected in readings)
        yield Exhausted(dye, band, spread_of([pct for pct, _ in readings]), usual_pct, too_low)


def _stages(sums: _Sums) -> Iterator[StageMinutes]:
    for stage in STAGES:
        if stage in sums.minutes:
            by_weight = sums.per_100g.get(stage)
            yield StageMinutes(stage, spread_of(sums.minutes[stage]), spread_of(by_weight) if by_weight else None)


def _flags(sums: _Sums) -> Iterator[FlagCount]:
    for rule, raised in sorted(sums.flags.items(), key=lambda pair: (-len(pair[1]), pair[0])):
        lots = {lot for lot, _ in raised if lot}
        yield FlagCount(rule, len(raised), sum(is_open for _, is_open in raised), len(lots))
