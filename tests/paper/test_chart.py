"""The chart of hands and kit: the past as it happened, a line for now, the rest as forecast."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import pytest

from dyeday.ahead.forecast import Forecast, forecast
from dyeday.paper.sheets.day_chart import chart_lines, stretches
from dyeday.paper.sheets.forecast_lines import deadline_lines, next_lines, serving_line, warning_lines
from dyeday.plan.model import Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.track.day.day_state import Day
from dyeday.track.folding.fold import begin
from dyeday.track.timestamp import Moment
from tests.ahead.test_together import text as small_batches
from tests.fakes import HEAVY_DAY
from tests.track.days import Line, at, day_of, heated, now, plan_with, soaked

HEAVY = read_plan(HEAVY_DAY.read_text(encoding="utf-8"))


def looked(lines: Sequence[Line], time: str, plan: Plan | None = None) -> tuple[Day, Forecast]:
    day = day_of(list(lines), plan or plan_with())
    return day, forecast(day, now(time), evaluations=20)


def rows(lines: Sequence[str]) -> dict[str, str]:
    """Return the rows of today's chart by name, as far as the blank line below it."""
    chart = list(lines)[: list(lines).index("")]
    names = ("hands", "tray 1", "tray 2", "steamer 1", "steamer 2", "pot 1", "sink 1")
    return {name: line for line in chart for name in names if line.startswith(name)}


@pytest.mark.parametrize("width", [80, 120, 200])
def test_every_line_fits_the_width(width: int) -> None:
    """Eighty columns and wider, on a heavy day that goes on tomorrow."""
    day = begin(HEAVY)
    found = forecast(day, Moment(now("09:00").utc.replace(month=5, day=9)), evaluations=15)
    lines = chart_lines(found, day, width)
    assert "Sun" in lines
    printed = [
        *lines,
        *next_lines(found, day, width),
        *warning_lines(found, width),
        *deadline_lines(found, day, width),
    ]
    assert max(len(line) for line in printed) <= width


def test_the_latest_start_of_a_step_names_it_and_of_a_heat_its_layer() -> None:
    """05 is painted and steamed, then speckled and steamed again."""
    day = begin(HEAVY)
    found = forecast(day, Moment(now("09:00").utc.replace(month=5, day=9)), evaluations=15)
    (of_05,) = re.findall(r"05: .*", "\n".join(deadline_lines(found, day, 80)))
    assert re.fullmatch(r"05: tie and count \S+, 1st heat on \S+, layer 2 1st heat on \S+", of_05.strip())


def test_a_heat_that_is_on_has_no_last_chance_to_be_taken_off() -> None:
    """Its timer ends it: what may wait is the rinse."""
    day, found = looked([*soaked(), *heated()[:2]], "11:00")
    (of_01,) = re.findall(r"01: .*?(?=  |$)", "\n".join(deadline_lines(found, day, 80)), re.M)
    assert re.fullmatch(r"01: rinse \d\d:\d\d", of_01)


def test_before_anything_happened_there_is_no_line_for_now() -> None:
    """All of it is forecast."""
    day, found = looked([], "09:00")
    assert not any("|" in line or "now" in line for line in chart_lines(found, day))


def test_the_past_stands_left_of_now_and_the_forecast_right_of_it() -> None:
    """A steam that ran from 10:30 to 11:20 is drawn as it was, in the unit it was in, with its batch's number."""
    lines = [*soaked(), *heated(), *soaked("02", "11:00", "12:00", "tray 2"), at("12:20", "02", to="fix")]
    day, found = looked(lines, "12:30")
    drawn = chart_lines(found, day, 100)
    assert any(line.strip().startswith("now 12:30") for line in drawn)
    chart = rows(drawn)
    past, coming = chart["steamer 1"].split("|")
    assert "01===" in past
    assert set(coming) & set("=-0123456789")
    assert "01--" in chart["tray 1"].split("|")[0]
    hands = chart["hands"].split("|")
    assert set(hands[0].removeprefix("hands").strip()) == {".", "p"}
    assert {"h", "r"} <= set(hands[1])
    columns = {line.index("|") for line in chart.values() if "|" in line}
    assert len(columns) == 1


def test_heat_that_is_on_now_goes_through_the_line() -> None:
    """Until its time is over; then the yarn lies until it is taken out."""
    lines = [*soaked(), at("10:20", "01", to="fix"), at("10:30", "01", heat_no=1, run="start", unit="steamer 1")]
    day, found = looked(lines, "11:00")
    past, coming = rows(chart_lines(found, day, 100))["steamer 1"].split("|")
    assert past.endswith("=")
    assert coming.startswith("01")
    assert coming[2] in "=-"


def test_batches_that_lie_together_are_named_together() -> None:
    """All of them where the row has room, else the first and a sign that there are others."""
    day = begin(read_plan(small_batches(40, 40, 40)))
    found = forecast(day, now("09:00"), evaluations=300)
    chart = chart_lines(found, day)
    drawn = rows(chart)
    named = re.search(r"[.](0\d[+]0\d[+]0\d)=", drawn["steamer 1"])
    assert named is not None and sorted(named[1].split("+")) == ["01", "02", "03"]
    narrow = rows(chart_lines(found, day, 30))
    assert re.search(r"[.]0\d[+]=", narrow["steamer 1"])
    assert "+ others with it" in "\n".join(chart)


def test_labels_of_short_stays_never_run_together() -> None:
    """A number is whole and apart from the next; what has no room for one is a sign that the legend explains."""
    day = begin(HEAVY)
    found = forecast(day, Moment(now("09:00").utc.replace(month=5, day=9)), evaluations=15)
    for width in (50, 80, 200):
        lines = chart_lines(found, day, width)
        units = [line for line in lines if re.match(r"(tray|microwave|steamer|stockpot|sink) \d", line)]
        labels = re.findall(r"[\d+]+", " ".join(line.split(" ", 2)[-1] for line in units))
        assert labels and all(re.fullmatch(r"\d\d(\+\d\d)*\+?", label) for label in labels)
        assert ("/ another batch" in " ".join(lines)) == any("/" in line for line in units)
        assert all(re.fullmatch(r"\d+ min( +'\d\d)*\s*", line) for line in lines if re.match(r"\d+ min", line))


def test_breaks_are_drawn_and_a_day_without_work_is_said() -> None:
    """A break does not count as idle time."""
    plan = plan_with()
    plan = replace(plan, session=replace(plan.session, breaks=((13 * 60, 13 * 60 + 30),)))
    day, found = looked([], "09:00", plan)
    assert "_" in rows(chart_lines(found, day, 100))["hands"]
    empty = replace(begin(plan), batches={})
    nothing = forecast(empty, now("09:00"), evaluations=5)
    assert chart_lines(nothing, empty) == ["nothing is left to do"]


def test_breaks_of_the_first_day_are_drawn_on_the_next_one_too() -> None:
    """At ten of the second day, with the break at one still to come."""
    plan = plan_with()
    plan = replace(plan, session=replace(plan.session, breaks=((13 * 60, 13 * 60 + 30),)))
    day, found = looked([at("09:00", "01", to="soak", unit="tray 1")], "34:00", plan)
    assert "_" in rows(chart_lines(found, day, 100))["hands"]


def test_the_question_served_and_what_the_day_waits_for_are_one_line() -> None:
    """With the busy share."""
    day, found = looked([], "09:00")
    said = serving_line(found, day)
    assert said.startswith("aim: ")
    assert "busiest:" in said


@pytest.mark.parametrize(("hours", "begins"), [(15.5, "18 09:00"), (25.5, "19 10:00")])
def test_on_a_later_day_the_chart_begins_in_its_morning(hours: float, begins: str) -> None:
    """Half past midnight is still the first day's night; half past ten is the second day, drawn without it."""
    plan = plan_with()
    session = replace(plan.session, stop_min=23 * 60, tomorrow=((600, 900),))
    day = day_of(
        [at("09:00", "01", to="soak", unit="tray 1")], replace(plan, batches=plan.batches[:2], session=session)
    )
    moment = now("09:00").later(hours * 3600)
    today = stretches(day, forecast(day, moment, evaluations=5), moment.utc)[0]
    assert f"{today.start:%d %H:%M}" == begins
    assert today.minutes <= 16 * 60
