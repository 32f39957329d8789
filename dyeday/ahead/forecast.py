"""Both answers about the rest of a day, how late tonight and how much by stop, and the steps to be advised."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from functools import partial
from typing import cast

from dyeday.ahead.advising.hindrances import hindrance
from dyeday.ahead.advising.hysteresis import advised
from dyeday.ahead.advising.reasons import with_change_reason
from dyeday.ahead.due_dates import due_minutes
from dyeday.ahead.followed_rows import counted_by_stop, followed, in_number_order, last_attended
from dyeday.ahead.foreseen_steps import Forecast, Planned
from dyeday.ahead.from_day import both_problems, counts_heat
from dyeday.ahead.heat_first import brought_forward, costs_little, linked_first, loads_that_wait
from dyeday.ahead.kernel.feasibility import past_steps
from dyeday.ahead.kernel.problem import Problem, Row, Solution
from dyeday.ahead.kernel.search import COUNT, END, solve
from dyeday.ahead.late_case import PLAN_TIMES, StudioTimes, minutes_late
from dyeday.ahead.problem_parts.hours import midnight, wall
from dyeday.ahead.problem_parts.session_days import day_number, end_of_day, end_of_day_over, stop_min_at
from dyeday.ahead.problem_parts.siblings import heated_together
from dyeday.ahead.problem_parts.urgent_first import urgent_first
from dyeday.ahead.warnings import warnings
from dyeday.ahead.what_if import HANDS
from dyeday.plan.model import Plan
from dyeday.plan.step_ids import ChoreId, StepId, owner_text
from dyeday.terms import DayAim, State, StepKind
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import Moment, merged

__all__ = ["Budget", "Forecast", "Planned", "forecast"]

LEAST, LEAST_AGAIN = 120, 15
"""least evaluations for each answer, of a first search and of one that continues another: also on a slow computer"""
FIRST_HEAT = 40
"""most evaluations for each answer of a search that puts a heat first: it begins from the answer without that"""
Budget = Callable[[], Callable[[], bool]]
"""called before each question; returns a function that says whether that question's time is up"""
_Solve = Callable[[Problem, int, Sequence[Row] | None], Solution]
"""answers one question (`END` or `COUNT`) about a problem, from earlier rows if there are any"""


def forecast(
    day: Day,
    now: Moment,
    *,
    evaluations: int | None = None,
    budget: Budget | None = None,
    seed: int = 0,
    before: Forecast | None = None,
    own: StudioTimes = PLAN_TIMES,
    warn: bool = True,
) -> Forecast:
    """Return the forecast of ``day`` from ``now``, each search with ``evaluations`` or until its time is up.

    The search starts from ``before``, an earlier one, whose advice stays unless the change is worth it (`advised`).
    Without ``budget`` the same arguments give the same answer. ``warn`` is False where warnings are not needed.
    """

    def solved(
        problem: Problem, objective: int, warm: Sequence[Row] | None, most: int | None = evaluations
    ) -> Solution:
        spent = None if budget is None else budget()
        least = LEAST if warm is None else LEAST_AGAIN
        solution = solve(problem, objective, seed, most, spent, warm, least)
        return replace(solution, rows=in_number_order(problem, solution.rows))

    answered = partial(_answered, day, now, before, own)
    problems = both_problems(day, now, own.learned)
    answer = answered(solved, problems)
    if day.wishes and not answer.earliest.rows and any(len(b.past) < len(b.steps) for b in answer.problem.batches):
        # The step put first can only start after another one, which would have to wait for it.
        problems = both_problems(day, now, own.learned, wishes=False)
        answer = answered(solved, problems)
    most = FIRST_HEAT if evaluations is None else min(FIRST_HEAT, evaluations)
    answer = _with_heat_first(day, answer, problems, answered, partial(solved, most=most))
    return replace(answer, warned=tuple(warnings(answer, day))) if warn else answer


def _with_heat_first(
    day: Day, answer: Forecast, problems: tuple[Problem, Problem], answered: Callable[..., Forecast], solved: _Solve
) -> Forecast:
    """Return an answer in which dyed yarn is heated first, if that costs little; else ``answer``."""

    def solved_from(problem: Problem, objective: int, warm: Sequence[Row] | None) -> Solution:
        return solved(problem, objective, ways[objective] or warm)

    for load in loads_that_wait(answer, day):
        evening, stop = (linked_first(problem, load) for problem in problems)
        by_stop = answer.by_stop.rows or answer.earliest.rows
        ways = {
            END: brought_forward(evening, END, answer.earliest.rows, load),
            COUNT: brought_forward(stop, COUNT, by_stop, load),
        }
        if not any(ways.values()):
            continue
        other = answered(solved_from, (evening, stop), f"otherwise {load.unit} would stand idle")
        if costs_little(other, answer):
            return replace(other, evaluations=answer.evaluations + other.evaluations)
    return answer


def _answered(
    day: Day,
    now: Moment,
    before: Forecast | None,
    own: StudioTimes,
    solved: _Solve,
    problems: tuple[Problem, Problem],
    reason: str = "",
) -> Forecast:
    end_problem, stop_problem = problems
    earliest = solved(end_problem, END, before.earliest.rows if before is not None else None)
    whole = _ends_by(stop_problem.stop, earliest)
    by_stop = solved(stop_problem, COUNT, _warmest(stop_problem, earliest, before))
    was = before.by_stop.rows if before is not None else ()
    by_stop = urgent_first(stop_problem, by_stop, was, due_minutes(day), lambda linked: solved(linked, COUNT, None))
    # What rinses everything by stop may end earlier than what the first question's own search came upon.
    seen = followed(end_problem, END, by_stop.rows) if by_stop.rows and not whole else None
    if seen is not None and seen.value.key < earliest.value.key:
        earliest = replace(seen, evaluations=earliest.evaluations)
    for_end = day.aim == DayAim.TONIGHT or _ends_by(stop_problem.stop, earliest)
    problem, objective, solution = (end_problem, END, earliest) if for_end else (stop_problem, COUNT, by_stop)
    earlier = before.advised.rows if before is not None else ()
    missed = before.by_stop.value.missed if before is not None and before.by_stop.rows else None
    solution = heated_together(problem, solution, earlier, lambda linked: solved(linked, objective, None))
    earliest, by_stop = (solution, by_stop) if for_end else (earliest, solution)
    whole = _ends_by(stop_problem.stop, earliest)
    chosen, why = advised(problem, objective, solution, earlier, missed)
    shown_earliest = chosen if for_end else earliest
    shown_by_stop = chosen if whole or not for_end else by_stop

    start = midnight(day.plan)
    over_min = max(last_attended(shown_earliest.rows), end_problem.now)
    finish = start + timedelta(minutes=end_of_day_over(day.plan, over_min) if shown_earliest.rows else over_min)
    counted = counted_by_stop(stop_problem, shown_by_stop.rows)
    # Work that fits into no day's hours is laid out after the last of them.
    hours_end = max((end for _, end in stop_problem.windows if end is not None), default=0)
    ids = {batch.id: batch for batch in end_problem.batches}
    already = sum(batch.only_dries or batch.state is State.DONE for batch in day.unsplit)
    rows = [*chosen.rows, *end_of_day_rows(day.plan, chosen.rows, stop_problem)]
    steps = sorted((_planned(row, start) for row in rows), key=lambda step: (step.start, step.end))
    made = Forecast(
        at=now,
        day=day,
        finish=finish,
        finish_late=finish + timedelta(minutes=minutes_late(shown_earliest.rows, own)),
        late_scale=own.late_scale,
        reached=len(counted.reached) + already,
        of=len(counted.reached) + len(counted.not_by_stop) + already,
        not_by_stop=counted.not_by_stop,
        tomorrow_finish=start + timedelta(minutes=counted.tomorrow) if 0 < counted.tomorrow <= hours_end else None,
        stop=wall(day.plan, stop_min_at(day.plan, now.utc)),
        steps=tuple(in_one(steps)),
        busy=tuple(busy_shares(end_problem, shown_earliest.rows)),
        left_out=tuple((owner_text(of), hindrance(day.plan, end_problem, ids[of])) for of, _ in earliest.left_out),
        for_end=for_end,
        evaluations=earliest.evaluations + by_stop.evaluations,
        earliest=earliest,
        by_stop=by_stop,
        advised=chosen,
        problem=problem,
        counts_heat=counts_heat(day, now),
        made_by_stop=_made_by_stop(day, now),
    )
    return with_change_reason(made, before, why and (reason or why), day)


def _ends_by(stop: int, earliest: Solution) -> bool:
    """Tell whether all work on yarn ends by the stop, and no yarn waits too long or stays in heat."""
    return last_attended(earliest.rows) <= stop and not earliest.value.late


def _made_by_stop(day: Day, now: Moment) -> tuple[int, datetime] | None:
    """Return how many batches were through their heat by the session's stop, once the next day has begun."""
    if day_number(day.plan, now.utc) == 0:
        return None
    stop = wall(day.plan, day.plan.session.stop_min)
    stays = ((len(batch.colourway.layers), batch.stay_at(stop)) for batch in day.unsplit)
    through = (State.COOL, State.RINSE, State.DRY, State.DONE)
    return sum(stay is not None and stay.state in through and stay.layer >= layers for layers, stay in stays), stop


def _planned(row: Row, midnight: datetime) -> Planned:
    start, end = (midnight + timedelta(minutes=minutes) for minutes in (row.start, row.end))
    return Planned(cast("str | ChoreId", row.batch), cast(StepId, row.step), row.unit, start, end, row.attended)


def in_one(steps: Sequence[Planned]) -> Iterator[Planned]:
    """Yield steps in their order, parts of putting dye on as one; what is put down in between has `put_down`."""
    going: dict[tuple[str | ChoreId, int], int] = {}
    out: list[Planned] = []
    for step in steps:
        if step.kind.puts_dye_on:
            key = (step.owner, step.id.layer)
            before = going.get(key)
            if before is not None and out[before].end == step.start:
                out[before] = replace(out[before], end=step.end)
                continue
            if before is not None:
                out[before] = replace(out[before], put_down=True)
            going[key] = len(out)
        out.append(step)
    yield from out


def _warmest(problem: Problem, earliest: Solution, before: Forecast | None) -> Sequence[Row] | None:
    """Return the rows the second question starts from: the earlier answer's, or the first question's if better."""
    ways = [earliest.rows, *([before.by_stop.rows] if before is not None else [])]
    followed_rows = [again for rows in ways if rows and (again := followed(problem, COUNT, rows)) is not None]
    return min(followed_rows, key=lambda solution: solution.value.key).rows if followed_rows else None


def end_of_day_rows(plan: Plan, rows: Sequence[Row], problem: Problem) -> list[Row]:
    """Return the chores that end a day with other work, after its last step, but around heat that goes off later."""
    next_day = problem.next_day if problem.next_day > problem.stop else None
    if not (today := [row for row in rows if row.attended and (next_day is None or row.start < next_day)]):
        return []
    last = [(r.start, r.end) for r in today if any(a <= r.start < (b or r.end) for a, b in problem.heat_ends)]
    over = max((row.end for row in today if (row.start, row.end) not in last), default=problem.now)
    chores = end_of_day(plan, over, last)
    ids = [(ChoreId(c.name, c.when), StepId(StepKind.CHORE, chore=c.name, when=c.when)) for c, _, _ in chores]
    return [Row(*of, None, start, end, True) for of, (_, start, end) in zip(ids, chores, strict=True)]


def busy_shares(problem: Problem, rows: Sequence[Row]) -> list[tuple[str, float]]:
    """Return the share of the time from now to the last attended row for which hands and each unit are busy."""
    end = last_attended(rows)
    spans: dict[str, list[tuple[int, int]]] = {HANDS: [], **{unit.name: [] for unit in problem.units}}
    for row in (*_under_way(problem), *rows):
        span = max(row.start, problem.now), min(row.end, end)
        for name in (HANDS if row.attended else None, row.unit):
            if name is not None and span[0] < span[1]:
                spans.setdefault(name, []).append(span)
    span_min = max(1, end - problem.now)
    return [(name, sum(z - a for a, z in merged(busy)) / span_min) for name, busy in spans.items()]


def _under_way(problem: Problem) -> Iterator[Row]:
    """Yield the steps begun, those that are over too."""
    for batch in problem.batches:
        for n, (step, span) in enumerate(zip(batch.steps, past_steps(batch), strict=False)):
            units = (hold.unit for hold in batch.holds if hold.first <= n < hold.last + hold.to_end)
            yield Row(batch.id, step.id, next(units, None), *span, step.attended)
