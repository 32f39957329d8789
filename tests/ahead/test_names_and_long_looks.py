"""Chores of any name, looks of any length, days on which nothing can be finished."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest

from dyeday.ahead.advising.advice import advice
from dyeday.ahead.advising.reasons import do_text, timed_reason
from dyeday.ahead.followed_rows import counted_by_stop, in_number_order
from dyeday.ahead.forecast import forecast
from dyeday.ahead.foreseen_steps import Forecast
from dyeday.ahead.kernel.compile_problem import tabulate
from dyeday.ahead.kernel.dispatching_rules import FOR_END, rule_of
from dyeday.ahead.kernel.hill_climb import vary
from dyeday.ahead.kernel.problem import Batch, Problem, Step
from dyeday.ahead.kernel.search import COUNT, solve
from dyeday.bench.view.bench_view import fit_text
from dyeday.commands.days.forecast_answer import forecast_data
from dyeday.paper.layout.sheet_text import text_pages
from dyeday.paper.sheets.day_sheet import day_sheet
from dyeday.paper.sheets.forecast_lines import table_lines, verdict_lines
from dyeday.plan.model import Chore, Plan
from dyeday.plan.step_ids import ChoreId, owner_text
from dyeday.terms import ChorePer, ChoreWhen
from dyeday.track.day.day_state import Day
from dyeday.track.events.movements import ChoreFinished
from dyeday.track.folding.fold import begin
from tests.ahead.days import cut, random_problem
from tests.track.days import at, day_of, now, plan_with

NAMES = (
    "run a bath",
    "unload kiln",
    "load the van",
    "rest",
    "wait 1.2",
    "load 1.2",
    "soak",
    "paint 1",
    "rinse",
    "01",
)


def with_chore(name: str, per: ChorePer, *whens: ChoreWhen) -> Plan:
    return replace(plan_with(), chores=tuple(Chore(name, 5.0, per, when) for when in whens))


def down(day: Day, kind: str = "") -> Day:
    """Return the day with the units of a kind broken, or with all of them."""
    since = now("08:00")
    broken = {name: unit.changed(since, is_down=True) for name, unit in day.units.items() if name.startswith(kind)}
    return replace(day, units={**day.units, **broken})


def look(day: Day, time: str = "09:00") -> Forecast:
    return forecast(day, now(time), evaluations=20)


@pytest.mark.parametrize("per", list(ChorePer))
@pytest.mark.parametrize("name", NAMES)
def test_a_chore_of_any_name_is_only_a_chore(name: str, per: ChorePer) -> None:
    """It is planned at every time of the day, said by its name, and changes nothing that "sweep" would not."""
    day, plain = begin(with_chore(name, per, *ChoreWhen)), begin(with_chore("sweep", per, *ChoreWhen))
    found, usual = look(day), look(plain)
    assert [(s.start, s.end, s.kind) for s in found.steps] == [(s.start, s.end, s.kind) for s in usual.steps]
    for step in found.steps:
        if step.is_chore:
            assert (do_text(step), step.id.chore, step.state) == (name, name, None)
            assert step.batch in day.batches or isinstance(step.owner, ChoreId)
            assert "its heat" not in timed_reason(step, found, day)
    texts = (
        "\n".join([*table_lines(found, day), *"".join(text_pages(day_sheet(day, found))).splitlines()]),
        "\n".join([*table_lines(usual, plain), *"".join(text_pages(day_sheet(plain, usual))).splitlines()]),
    )
    assert texts[0].count("heat on") == texts[1].count("heat on")
    assert advice(day, now("09:00"), 3, found)
    rows = forecast_data(found, day)["steps"]
    assert isinstance(rows, list)
    assert all(row["batch"] in day.batches or row["batch"] is None for row in rows)


@pytest.mark.parametrize("per", list(ChorePer))
@pytest.mark.parametrize("name", NAMES)
def test_a_chore_that_was_recorded_as_done_is_not_planned_again(name: str, per: ChorePer) -> None:
    """By the entry that the bench makes of a step, for a batch, a lot and the day."""
    plan = with_chore(name, per, ChoreWhen.BEFORE_SOAK)
    step = next(step for step in look(begin(plan)).next_steps if step.is_chore)
    line = at("09:01", step.batch or None, event="chore", **ChoreFinished(**step.chore_data).to_json())
    after = look(day_of([line], plan), "09:02")
    assert step.key not in {other.key for other in after.steps}


def test_an_entry_of_an_older_version_still_names_its_chore() -> None:
    """Before chores had a lot of their own, an entry had it in its text."""
    chores = (
        Chore("mix", 5.0, ChorePer.LOT, ChoreWhen.BEFORE_PAINT),
        Chore("tie", 2.0, ChorePer.BATCH, ChoreWhen.BEFORE_SOAK),
    )
    plan = replace(plan_with(), chores=chores)
    lines = [at("09:01", event="chore", chore="mix 01"), at("09:02", "01", event="chore", chore="tie")]
    before, after = (
        {(owner_text(step.owner), step.id.text) for step in look(day, "09:03").steps if step.is_chore}
        for day in (begin(plan), day_of(lines, plan))
    )
    assert before - after == {("mix 01", "mix"), ("01", "tie")}


@pytest.mark.parametrize("tasks", [1, 2, 3, 5])
def test_rules_varied_for_as_long_as_a_look_lasts_stay_finite_numbers(tasks: int) -> None:
    """A quick machine changes a rule thousands of times at a handful of tasks."""
    steps = (Step("paint", 10), Step("rest", 30, attended=False), Step("rinse", 5))
    batches = tuple(Batch(f"{n:02}", steps) for n in range(tasks))
    tables, rng = tabulate(Problem(540, ((540, None),), 900, (), batches)), Random(1)  # noqa: S311 - no secret
    rule = rule_of(tables, FOR_END[0])
    for _ in range(10_000):
        rule, _ = vary(rng, tables, rule, FOR_END)
    assert max(map(abs, rule.keys)) < 2**53


@pytest.mark.parametrize("left", [1, 2, 3, 4, 5])
def test_a_look_far_longer_than_a_day_with_little_left_needs_brings_no_error(left: int) -> None:
    """Hundreds of changes for each task: as a quick machine looks at the end of a day."""
    whole = random_problem(3, 2)
    rows = solve(whole, 1, evaluations=30).rows
    attended = [row for row in rows if row.attended]
    rest = cut(whole, rows, attended[-left].start)
    for objective in (1, 2):
        short, long = (solve(rest, objective, evaluations=count) for count in (20, 1500))
        assert len([row for row in long.rows if row.attended]) == left
        assert long.value.key <= short.value.key


def test_a_day_on_which_nothing_can_be_finished_has_no_finish() -> None:
    """No "before 18:00, your stop" where every batch lacks its kit."""
    found = look(down(begin(plan_with())))
    assert not found.fits
    assert found.nothing_ends
    lines = verdict_lines(found, "UTC")
    assert lines[0] == "no batch that is left can be finished"
    assert not any("before" in line or line.startswith("all rinsed") for line in lines)
    assert fit_text(found, "UTC") == "no batch can be finished"


def test_where_some_batches_cannot_be_finished_the_finish_is_that_of_the_others() -> None:
    """The count comes first."""
    found = look(down(begin(plan_with()), "steamer"))
    assert found.left_out
    assert verdict_lines(found, "UTC")[0].startswith(f"{len(found.left_out)} batches cannot be finished; the others")


def test_batch_100_comes_after_batch_99() -> None:
    """A plan may grow beyond 99 batches during a day: numbers have three digits only from then on."""
    batches = tuple(Batch(no, (Step("rinse", 5),), goal=0) for no in ("100", "99"))
    problem = Problem(now=0, windows=((0, None),), stop=1, units=(), batches=batches)
    rows = solve(problem, COUNT, evaluations=5).rows
    assert [row.batch for row in in_number_order(problem, rows)] == ["99", "100"]
    assert counted_by_stop(problem, rows).not_by_stop == ("99", "100")
