"""A season in figures: what is counted, from what, and how it is drawn."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import UTC, date, datetime

from dyeday.paper.sheets.season_chart import season_lines, season_rows
from dyeday.plan.model import Layer, Section
from dyeday.studio.lots.lot import Lot, LotFlag, LotReading, LotStay
from dyeday.studio.lots.lot_making import BookDay, book_day, lots_of_day
from dyeday.studio.lots.season import Season, depths, season, spread_of
from dyeday.terms import DyeMethod, ReadingKind, State
from dyeday.text import csv_text
from dyeday.track.timers.alarm_rates import Rates
from tests.track.days import Line, at, day_of, heated, now, proper, soaked

MOMENT = datetime(2026, 4, 18, 12, tzinfo=UTC)
YEAR = (date(2026, 1, 1), date(2026, 12, 31))


def a_lot() -> Lot:
    (lot,) = lots_of_day(day_of([*proper(), at("33:00", "01", to="done")]), "2026-04-18-1", now("34:00"))
    return lot


def looked(pct: float, number: str, expected: float = 90.0, **more: object) -> Lot:
    """Return a lot whose bath was read as ``pct`` exhausted."""
    lot = a_lot()
    reading = LotReading(
        MOMENT, ReadingKind.JAR, {"match": 12, "left_l": 1}, None, State.COOL, 1, (pct, pct), expected
    )
    batch = replace(lot.batches[0], readings=(reading,), **more)  # type: ignore[arg-type]
    return replace(lot, number=number, batches=(batch,))


def of(*kept: Lot | BookDay) -> Season:
    return season(kept, *YEAR)


def test_exhaustion_is_reported_by_dye_and_depth_with_its_middle_half() -> None:
    """Quartiles of 80, 88, 92, 96, 98 by linear interpolation: 88 and 96, median 92; two below 90."""
    found = of(*(looked(pct, f"260418-{n:02d}") for n, pct in enumerate((98, 80, 92, 96, 88), 1)))
    (one,) = found.exhausted
    assert (one.dye, one.band) == ("Navy", (1.0, 2.0))
    assert (one.pct.n, one.pct.low, one.pct.middle, one.pct.high) == (5, 88, 92, 96)
    assert (one.expected_pct, one.below) == (90, 2)


def test_only_the_last_look_at_a_layers_bath_counts() -> None:
    """An earlier one led to more heat."""
    lot = looked(70, "260418-01")
    later = replace(lot.batches[0].readings[0], exhausted_pct=(95.0, 95.0))
    batch = replace(lot.batches[0], readings=(*lot.batches[0].readings, later))
    (one,) = of(replace(lot, batches=(batch,))).exhausted
    assert (one.pct.n, one.pct.middle) == (1, 95)


def test_depth_is_the_share_of_the_yarns_weight_over_all_sections() -> None:
    """Half at 2 % and half at 0.4 % is 1.2 %; powder 0.15 g per 100 g in parts of 3 and 1."""
    halves = (Section(50, None, (("Navy", 2.0),)), Section(50, None, (("Navy", 0.4), ("Rust", 1.0))))
    assert depths(Layer(DyeMethod.PAINTED, halves, ())) == {"Navy": 1.2, "Rust": 0.5}
    powder = Layer(
        DyeMethod.SPECKLED, (Section(100, None, (("Navy", 3.0), ("Rust", 1.0))),), (), powder_g_per_100g=0.15
    )
    assert {dye: round(depth, 6) for dye, depth in depths(powder).items()} == {"Navy": 0.1125, "Rust": 0.0375}


def test_minutes_are_reported_by_stage_and_for_hands_by_weight_too() -> None:
    """Painting 300 g took 30 min: 10 min per 100 g; the last state has no end and counts for nothing."""
    stages = {stage.stage: stage for stage in of(a_lot()).stages}
    assert list(stages) == ["soak", "paint", "fix", "cool", "rinse", "dry"]
    assert (stages["soak"].minutes.middle, stages["paint"].minutes.middle) == (60, 30)
    paint = stages["paint"].per_100g
    assert paint is not None and paint.middle == 10
    assert stages["soak"].per_100g is None


def test_flags_alarms_and_lots_that_went_back_are_counted() -> None:
    """By rule with those still open; alarms by the hour and the month; lots by number."""
    flag = LotFlag("short-fix", "30 of 40 min", "more heat", MOMENT)
    resolved = replace(flag, cleared_at=MOMENT, cleared_why="looked at")
    stays = tuple(
        LotStay(State(state), 1, MOMENT, MOMENT, 10.0) for state in ("paint", "fix", "cool", "rinse", "fix", "rinse")
    )
    first = looked(95, "260418-01", flags=(flag, resolved), stays=stays)
    second = replace(looked(95, "260502-01", flags=(flag,)), date=date(2026, 5, 2))
    day = BookDay(date(2026, 4, 18), Rates(30, 4, 8.0, 6, 22.0), 1)
    quiet = replace(day, date=date(2026, 5, 2), rates=replace(day.rates, alarms=0))
    found = of(first, second, day, quiet)
    assert [(f.rule, f.raised, f.open, f.lots) for f in found.flags] == [("short-fix", 3, 2, 2)]
    assert [(back.lot, back.batches) for back in found.back] == [("260418-01", ("01",))]
    assert (found.days, found.hours, found.alarms, found.alarms_per_hour) == (2, 16.0, 4, 0.25)
    assert [(m.month, m.alarms_per_hour, m.lots, m.went_back) for m in found.months] == [
        ("2026-04", 0.5, 1, 1),
        ("2026-05", 0.0, 1, 0),
    ]
    assert (found.skeins, found.skeins_scrapped, found.longest_alarm_min) == (6, 2, 22.0)


def test_what_lies_outside_the_dates_is_left_out() -> None:
    """Both ends are in."""
    lots = [replace(a_lot(), date=day) for day in (date(2025, 12, 31), *YEAR, date(2027, 1, 1))]
    assert of(*lots).lots == 2


def test_what_a_batch_did_before_it_was_split_counts_once_for_all_its_yarn() -> None:
    """300 g painted in 30 min are 10 min per 100 g, whether 300 g or 200 and 100 g came out."""
    painted = [at("09:00", "02", to="soak"), at("09:50", "02", to="paint"), *heated("02", "10:20", "11:20")]

    def rinsed(*parts: str) -> list[Line]:
        ends = (("12:30", "rinse"), ("12:45", "dry"), ("19:00", "done"))
        return [at(time, part, to=to) for part in parts for time, to in ends]

    split = [at("11:30", "02", into={"02a": 2, "02b": 1}), *rinsed("02a", "02b")]
    for rest in (rinsed("02"), split):
        found = of(*lots_of_day(day_of([*painted, *rest]), "2026-04-18-1", now("20:00")))
        (paint,) = (stage for stage in found.stages if stage.stage == "paint")
        assert paint.per_100g is not None
        assert (paint.minutes.n, paint.per_100g.n, paint.per_100g.middle) == (1, 1, 10)
        assert ("missed-acid-soak", 1) in [(flag.rule, flag.raised) for flag in found.flags]


def test_one_value_is_its_own_spread() -> None:
    """Nothing to interpolate between."""
    spread = spread_of([7.0])
    assert (spread.n, spread.low, spread.middle, spread.high) == (1, 7, 7, 7)


def test_a_night_on_the_pegs_is_not_an_hour_at_work() -> None:
    """From soak to pegs 3 h 45, two hours of the night at most beside it."""
    day = day_of([*proper(), at("33:00", "01", to="done")])
    kept = book_day(day, now("34:00"))
    assert kept.rates.hours == 3.75 + 2.0


def long_names() -> list[Lot]:
    lot = looked(40, "260418-01")
    wide = "色" * 60
    layer = replace(lot.colourway.layers[0], sections=(Section(100, None, ((wide, 0.3),)),))
    colourway = replace(lot.colourway, name=wide, layers=(layer,))
    return [lot, replace(lot, number="260418-02", colourway=colourway), looked(100, "260418-03")]


def test_the_drawing_keeps_to_eighty_columns_of_plain_characters() -> None:
    """Also with long and wide names; a word or number beside every bar."""
    from rich.cells import cell_len

    lines = list(season_lines(of(*long_names())))
    assert max(map(cell_len, lines)) <= 80
    assert all(ord(char) < 128 or char in "色…" for line in lines for char in line)
    scale = next(line for line in lines if "Navy" in line)
    assert "#" in scale and "!" in scale and scale.split()[-4:] == ["70", "%", "2", "1"]


def test_an_empty_season_says_so() -> None:
    """No bar, no division."""
    assert "the lot book has no lot from these days" in list(season_lines(of()))[-1]


def test_the_csv_has_every_figure_of_the_season() -> None:
    """One long table: numbers come back as the same numbers."""
    found = of(*long_names())
    rows = list(csv.DictReader(io.StringIO(csv_text(season_rows(found)))))
    exhaustion = [row for row in rows if row["table"] == "exhaustion"]
    assert [(float(row["low"]), float(row["middle"]), float(row["high"])) for row in exhaustion] == [
        (one.pct.low, one.pct.middle, one.pct.high) for one in found.exhausted
    ]
    assert {row["table"] for row in rows} >= {"season", "exhaustion", "stage", "alarms", "lots"}


def test_looks_and_minutes_of_a_colour_overdyed_are_not_of_the_last_colour() -> None:
    """Lagoon is immersed in Turquoise, Deep painted over it in Slow: neither has the other's bath or brush."""
    lines = [
        *soaked("11"),
        *heated("11", unit="pot 1"),
        at("17:00", "11", reading="jar", value={"match": 12, "left_l": 1}),
        at("17:30", "11", event="overdyed", colourway="Deep"),
        *soaked("11", since="17:31", until="18:31"),
        *heated("11", since="18:40", until="19:40"),
        at("20:50", "11", to="rinse"),
        at("21:30", "11", to="dry"),
        at("33:00", "11", to="done"),
    ]
    found = of(*lots_of_day(day_of(lines), "2026-04-18-1", now("34:00")))
    assert found.exhausted == ()
    assert [(stage.stage, stage.minutes.n) for stage in found.stages if stage.stage in ("paint", "dye")] == [
        ("paint", 1)
    ]
    assert [stage.minutes.n for stage in found.stages if stage.stage == "rinse"] == [1]
