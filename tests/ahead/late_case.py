"""How often days are over by their late case: ``python -m tests.ahead.late_case``.

Days of the examples with minutes drawn around the expected ones. Hands follow the advised order, and take the next
in it that can start where one cannot. The draws are the same for every schedule of a plan (common random numbers),
and what a day's steps have in common is stratified, so that two looks differ by their schedules only.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import exp, sqrt
from random import Random
from statistics import NormalDist

from dyeday.ahead.forecast import forecast
from dyeday.ahead.from_day import problem_of
from dyeday.ahead.kernel.compile_problem import tabulate
from dyeday.ahead.kernel.decode import decode, replayed
from dyeday.ahead.kernel.list_schedule import play
from dyeday.ahead.kernel.partial_schedule import beginning
from dyeday.ahead.kernel.problem import Batch, Problem, Row, Step
from dyeday.ahead.late_case import DAY_SHARE, learned_spread
from dyeday.ahead.problem_parts.hours import wall
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.track.folding.fold import begin
from dyeday.track.timestamp import Moment
from tests.fakes import ACCEPTANCE_DAY, HEAVY_DAY, SHORT_DAY

WAITS = (0, 5)
"""minutes for which hands wait for a heater"""


def drawn(problem: Problem, number: int, of: int) -> Problem:
    """Return a day with its attended minutes drawn around the expected ones (log-normal), one of some."""
    slow = NormalDist().inv_cdf((number + 0.5) / of)

    def draw(batch: Batch, place: int, step: Step) -> Step:
        if not step.attended or not step.minutes:
            return step
        own = Random(f"{number} {batch.id} {place - len(batch.steps)}").gauss(0.0, 1.0)  # noqa: S311 - no secret
        deviation = learned_spread(step.id, {}) * (sqrt(DAY_SHARE) * slow + sqrt(1 - DAY_SHARE) * own)
        return replace(step, minutes=max(1, round(step.minutes * exp(deviation))))

    batches = (
        replace(batch, steps=tuple(draw(batch, place, step) for place, step in enumerate(batch.steps)))
        for batch in problem.batches
    )
    return replace(problem, batches=tuple(batches))


def drawn_ends(problem: Problem, rows: Sequence[Row], days: int) -> list[int]:
    """Return the minute at which hands are off on each of some drawn days."""
    ends = []
    for number in range(days):
        tables = tabulate(drawn(problem, number, days))
        order, _ = replayed(tables, rows)
        places = [0] * len(tables.tasks)
        for place, task in enumerate(tables.tasks_in(order)):
            places[task] = place
        ways = [out.state for out in (decode(tables, order[:], beginning(tables)),) if out is not None]
        ways += [played.state for wait in WAITS if (played := play(tables, places, wait)) is not None]
        ends.append(min((state.late, state.now) for state in ways)[1])
    return ends


def main() -> None:
    """Print, for each example and look, the likely end, the late case, and the share of days over by it."""
    print("plan          look  likely   late   over by the late case")
    for path in (SHORT_DAY, HEAVY_DAY, ACCEPTANCE_DAY):
        day = begin(read_plan(path.read_text(encoding="utf-8")))
        at = wall(day.plan, day.plan.session.start_min)
        for seed in range(4):
            found = forecast(day, Moment(at), evaluations=200, seed=seed, warn=False)
            problem = problem_of(day, Moment(at), for_end=True)
            late = problem.now + (found.finish_late - at).total_seconds() / 60
            ends = drawn_ends(problem, found.earliest.rows, 40)
            share = sum(end <= late for end in ends) / len(ends)
            said = f"{found.finish:%H:%M}   {found.finish_late:%H:%M}"
            print(f"{path.stem:14}{seed:4}  {said}   {100 * share:.0f} %")


if __name__ == "__main__":
    main()
