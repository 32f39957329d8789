"""A lot read from the events it depends on is the lot read from all of its day."""

from __future__ import annotations

import json
from collections.abc import Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dyeday.plan.model import Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.studio.lots.lot import Lot
from dyeday.studio.lots.lot_making import lot_of_day, lots_of_day
from dyeday.track.day.day_state import Event
from dyeday.track.events.event_json import read_event
from dyeday.track.folding.fold import fold
from dyeday.track.folding.related_rows import Row, related_rows
from dyeday.track.timestamp import Moment, parse_utc
from tests.fakes import ROOT
from tests.track.days import THE_PLAN, Line, at, events, now
from tests.track.test_fold import STORY

SESSION = "2026-04-18-1"
WHOLE_DAY = [line for line in STORY if "order" not in line]
MORE = [
    at("08:40", "03", to="paint", mix="second"),
    at("08:50", event="load", batches=["03", "04"], to="fix", unit="steamer 2", acid_ml=5, run="start", heat_no=1),
    at("09:10", "04", reading="ph", value=4.5),
    at("10:25", unit="tray 2", event="acid put in", acid_ml=20),
    at("10:45", "06", to="soak", unit="tray 2", water="kept"),
    at("10:56", "07", to="paint"),
    at("10:57", unit="steamer 1", is_="down"),
    at("11:30", "04", into={"04a": 1, "04b": 1}),
]
REWRITINGS: list[Line] = [
    {"event": "struck"},
    {"event": "unstruck"},
    {"unit": "tray 1"},
    {"unit": "steamer 2"},
    {"acid_ml": 30},
    {},
]
STRETCH = events([*WHOLE_DAY, *MORE])


def story(draw: st.DrawFn) -> list[Event]:
    """Draw a day in any order of recording, with corrections to other batches and units, all done and closed."""
    chosen = draw(st.lists(st.sampled_from(STRETCH), unique_by=lambda e: e.id, max_size=24))
    lines = [event.to_json() for event in chosen]
    for n in range(draw(st.integers(0, 5)) if lines else 0):
        about = draw(st.sampled_from([line["id"] for line in lines] + ["c"]))
        keys: Line = draw(st.sampled_from(REWRITINGS))
        other = draw(st.sampled_from([None, "01", "02", "06"]))
        about_key = "strikes" if "event" in keys else "corrects"
        batch = other if about_key == "corrects" else None
        lines.append(
            at(f"{draw(st.sampled_from([13, 16]))}:{n:02d}", batch, **{**keys, about_key: about, "id": f"r{n}"})
        )
    numbers = [batch.no for batch in fold(THE_PLAN, events(lines)).unsplit]
    ends = [at(f"14:{n:02d}", no, to="done", id=f"d{n}") for n, no in enumerate(numbers)]
    closed = at("14:03", event="closed", id="c")
    place = draw(st.integers(0, len(ends)))
    return events([*lines, *ends[:place], closed, *ends[place:]])


def holds(plan: Plan, recorded: Sequence[Event]) -> list[tuple[Lot, Sequence[Row]]]:
    """Hold every lot of a day against the same lot from its own rows; return the lots with those."""
    rows = [event.to_json() for event in recorded]
    day = fold(plan, recorded)
    assert day.ended is not None
    found = []
    for lot in lots_of_day(day, SESSION, day.ended):
        judged = {batch.no: batch.flags for batch in lot.batches}
        own = related_rows(rows, judged)
        part = fold(plan, [read_event(row, now("20:00")) for row in own])
        assert part.ended == day.ended
        assert lot_of_day(part, SESSION, day.ended, lot.number, judged) == lot
        found.append((lot, own))
    return found


@given(st.composite(story)())
@settings(max_examples=200, deadline=None, derandomize=True)
def test_every_lot_of_any_day_is_the_same_from_its_own_rows(recorded: list[Event]) -> None:
    """With undone, redone and corrected entries, splits and shared baths among them."""
    assert holds(THE_PLAN, recorded)


IN_TRAY = [at("09:00", "01", to="soak", unit="tray 1"), at("09:01", unit="tray 1", acid_ml=40)]
PARTED = at("10:20", "01", into={"01a": 1, "01b": 1})
SECOND = [at("11:00", "02", to="soak", unit="tray 1"), at("11:30", "02", to="paint")]


@pytest.mark.parametrize(
    "lines",
    [
        [*IN_TRAY, at("10:30", "01", to="paint"), *SECOND],
        [*IN_TRAY, PARTED, at("10:30", "01a", to="paint"), at("10:40", "01b", to="paint"), *SECOND],
        [*IN_TRAY, at("10:30", "01", to="paint"), *SECOND, at("11:40", "02", into={"02a": 1, "02b": 1})],
        [
            at("09:00", "05", to="soak", unit="tray 1", id="wrong"),
            *IN_TRAY[1:],
            at("10:30", "06", to="paint"),
            *SECOND,
            at("12:00", "06", corrects="wrong", event="corrected"),
        ],
        [
            at("09:00", "06", to="soak", unit="tray 4", id="wrong"),
            *IN_TRAY[1:],
            at("10:30", "06", to="paint"),
            *SECOND,
            at("12:00", corrects="wrong", event="corrected", unit="tray 1"),
        ],
        [
            at("09:00", "01", to="soak", unit="tray 1"),
            at("09:01", unit="tray 4", acid_ml=40, id="wrong"),
            at("10:30", "01", to="paint"),
            *SECOND,
            at("12:00", corrects="wrong", event="corrected", unit="tray 1"),
        ],
    ],
    ids=[
        "shared tray",
        "split before it left",
        "split after it left",
        "another batch meant",
        "another unit meant",
        "its acid meant",
    ],
)
def test_a_load_whose_bath_was_another_batchs_first_has_none_of_its_acid(lines: list[Line]) -> None:
    """The bath ended when the one before left the tray: its rows count."""
    numbers = [batch.no for batch in fold(THE_PLAN, events(lines)).unsplit]
    ends = [at("14:00", no, to="done", id=f"d{no}") for no in numbers]
    found = holds(THE_PLAN, events([*lines, *ends, at("14:10", event="closed")]))
    second = [batch for lot, _ in found for batch in lot.batches if batch.no.startswith("02")]
    assert second
    assert not any(batch.acids for batch in second)


def test_a_lot_of_the_heavy_example_needs_half_of_its_rows_and_no_more() -> None:
    """All lots the same, none of them by reading all."""
    plan = read_plan((ROOT / "examples" / "heavy-day.toml").read_text(encoding="utf-8"))
    raw = [json.loads(line) for line in (ROOT / "examples" / "heavy-day.jsonl").read_text("utf-8").splitlines()]
    began = Moment(parse_utc(raw[0]["at"]))
    recorded = [read_event(line, began, twin=n) for n, line in enumerate(raw)]
    day = fold(plan, recorded)
    assert day.last_at is not None
    last = Moment(day.last_at)
    ends = [
        {"event": "moved", "batch": batch.no, "to": "done", "at": last.later(60 * n).utc.isoformat(), "id": f"d{n}"}
        for n, batch in enumerate(day.unsplit, 1)
    ]
    closed = {"event": "closed", "at": last.later(9000).utc.isoformat(), "id": "c"}
    every = [*recorded, *(read_event(line, began) for line in (*ends, closed))]
    found = holds(plan, every)
    assert found
    assert sum(len(own) for _, own in found) / len(found) < len(every) / 2


def test_a_day_whose_batches_were_numbered_by_new_orders_is_read_whole() -> None:
    """The number of a rush order's batch depends on all the others."""
    rows = [event.to_json() for event in events([*STORY, at("15:00", event="closed")])]
    assert related_rows(rows, ["01"]) is rows
