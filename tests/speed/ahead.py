"""How good the forecast's schedules are, and how fast: `python -m tests.speed.ahead CASE.json --objective 1`.

With a folder of cases it prints mean gaps to the best values known, by size: for objective 1 in percent of the
minutes after the start, for objective 2 in batches rinsed by the stop; beside naive ways of working and, where
ortools is installed, CP-SAT in the same time. Every schedule is checked before it counts. On a machine that others
use, too, ``--cpu`` counts the milliseconds that this process has had of it (CP-SAT's stay those of the clock).

``--made 40`` measures fresh days instead of a folder's, so that nothing can have been tuned to them. They are
compared with the best that any of their looks found, one of them ``--reference-s`` seconds long.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable, Sequence
from importlib.util import find_spec
from itertools import chain
from pathlib import Path
from statistics import mean
from time import perf_counter, process_time
from typing import Any

from dyeday.ahead.kernel.compile_problem import tabulate
from dyeday.ahead.kernel.problem import Solution
from dyeday.ahead.kernel.search import solve
from tests.ahead.checker import violations
from tests.ahead.days import MAKES, day_of_the_make
from tests.ahead.naive import WAYS, outcome
from tests.speed.case_format import problem_of, rows_of

Cases = list[dict[str, Any]]
SIZES = ("small", "medium", "large")


def timed(
    case: dict[str, Any],
    objective: int,
    budget_ms: float | None,
    evaluations: int | None,
    seed: int,
    clock: Callable[[], float] = perf_counter,
) -> tuple[Solution, float]:
    """Return the answer within a budget, and the milliseconds from the case to it."""
    begin = clock()
    until = None if budget_ms is None else begin + budget_ms / 1000

    def spent() -> bool:
        return until is not None and clock() >= until

    solution = solve(problem_of(case, objective), objective, seed=seed, evaluations=evaluations, spent=spent)
    return solution, 1000 * (clock() - begin)


def gap(case: dict[str, Any], objective: int, rinsed: int, end: int) -> float:
    """Return percent of minutes (1) or batches (2) behind the best value known, at least 0."""
    if objective == 1:
        minutes: int = case["reference"]["obj1"]["best_minutes"]
        return max(0.0, 100 * (end - int(case["start"]) - minutes) / minutes)
    best: int = case["reference"]["obj2"]["rinsed_day1"]
    return float(max(0, best - rinsed))


def gap_of(case: dict[str, Any], objective: int, solution: Solution) -> float:
    wrong = violations(problem_of(case, objective), solution.rows)
    if wrong or solution.left_out:
        raise SystemExit(f"{case['id']}: {wrong or solution.left_out}")
    return gap(case, objective, len(case["batches"]) - solution.value.missed, solution.value.end)


def made(count: int, first: int, reference_s: float, objectives: Sequence[int], clock: Callable[[], float]) -> Cases:
    """Return days of the make of the public cases, every size and bottleneck in turn, with what a long look found."""
    cases = [
        day_of_the_make(first + n, SIZES[n % len(SIZES)], MAKES[n // len(SIZES) % len(MAKES)]) for n in range(count)
    ]
    for case in cases:
        case["reference"] = {"obj1": {"best_minutes": 0}, "obj2": {"rinsed_day1": 0}}
        for objective in objectives:
            better(case, objective, timed(case, objective, 1000 * reference_s, None, 0, clock)[0])
    return cases


def better(case: dict[str, Any], objective: int, solution: Solution) -> None:
    """Let a day that was made be compared with a solution where that is the best so far."""
    if objective == 1:
        of = case["reference"]["obj1"]
        minutes = solution.value.end - case["start"]
        of["best_minutes"] = min(of["best_minutes"] or minutes, minutes)
    else:
        of = case["reference"]["obj2"]
        of["rinsed_day1"] = max(of["rinsed_day1"], len(case["batches"]) - solution.value.missed)


def table(
    cases: Cases,
    budgets: list[float],
    seeds: list[int],
    judge: bool,
    clock: Callable[[], float],
    objectives: Sequence[int] = (1, 2),
    *,
    new: bool = False,
) -> None:
    """Print one line for each way of working and objective. ``new`` days are compared with the best look at them."""
    for objective in objectives:
        what = "% later than the best known" if objective == 1 else "batches fewer rinsed by the stop"
        print(f"objective {objective}, {what}: {' / '.join(SIZES)}")
        for way in WAYS:
            gaps: dict[str, list[float]] = {size: [] for size in SIZES}
            for case in cases:
                state = outcome(tabulate(problem_of(case, objective)), way)
                gaps[case["size"]].append(gap(case, objective, state.done, state.now))
            print(f"  {way:16}", _means(gaps))
        looks = {
            budget: [(case, *timed(case, objective, budget, None, seed, clock)) for case in cases for seed in seeds]
            for budget in budgets
        }
        for case, solution, _ in chain.from_iterable(looks.values()) if new else ():
            better(case, objective, solution)
        for budget, seen in looks.items():
            slowest = max(took for _, _, took in seen)
            gaps = {
                size: [gap_of(case, objective, found) for case, found, _ in seen if case["size"] == size]
                for size in SIZES
            }
            print(f"  {f'dyeday {budget:.0f} ms':16}", _means(gaps), f"(slowest {slowest:.0f} ms)")
            if judge:
                _judge(cases, objective, budget)


def _judge(cases: list[dict[str, Any]], objective: int, budget_ms: float) -> None:
    from tests.speed.judge_cp_sat import judged

    gaps: dict[str, list[float]] = {size: [] for size in SIZES}
    nothing = 0
    for case in cases:
        found = judged(case, objective, budget_ms / 1000)
        if found is None:
            nothing += 1
        else:
            gaps[case["size"]].append(gap(case, objective, *found))
    print(f"  {f'CP-SAT {budget_ms:.0f} ms':16}", _means(gaps), f"(nothing at all for {nothing} of {len(cases)})")


def _means(gaps: dict[str, list[float]]) -> str:
    return " / ".join(f"{mean(gaps[size]):6.2f}" if gaps[size] else "     -" for size in SIZES)


def main() -> None:
    """Solve one case, or measure a folder of them."""
    parser = argparse.ArgumentParser(prog="python -m tests.speed.ahead")
    parser.add_argument("case", type=Path, nargs="?", help="a case, or a folder of cases")
    parser.add_argument("--objective", type=int, choices=(1, 2), help="both for a folder, else the first")
    parser.add_argument("--made", type=int, help="so many fresh days instead")
    parser.add_argument("--first", type=int, default=1, help="the number of the first day that is made")
    parser.add_argument("--reference-s", type=float, default=60, help="seconds of the long look at each of them")
    parser.add_argument("--budget-ms", type=float, help="for a folder: instead of 100 and 1000")
    parser.add_argument("--evaluations", type=int)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--seeds", type=int, default=3, help="a folder is solved with this many seeds")
    parser.add_argument("--judge", action=argparse.BooleanOptionalAction, help="CP-SAT; where ortools is installed")
    parser.add_argument("--cpu", action="store_true", help="milliseconds of this process, not of the clock")
    options = parser.parse_args()
    clock = process_time if options.cpu else perf_counter
    objectives = [options.objective] if options.objective else [1, 2]
    budgets = [options.budget_ms] if options.budget_ms else [100.0, 1000.0]
    seeds = list(range(options.seed, options.seed + options.seeds))
    if options.made:
        new = made(options.made, options.first, options.reference_s, objectives, clock)
        table(new, budgets, seeds, False, clock, objectives, new=True)
        return
    if options.case is None:
        parser.error("a case, a folder of cases or --made")
    if options.case.is_dir():
        cases = [json.loads(path.read_text(encoding="utf-8")) for path in sorted(options.case.glob("*.json"))]
        judge = options.judge if options.judge is not None else find_spec("ortools") is not None
        table(cases, budgets, seeds, judge, clock, objectives)
        return
    case = json.loads(options.case.read_text(encoding="utf-8"))
    budget = options.budget_ms if options.budget_ms or options.evaluations else 100.0
    solution, took = timed(case, objectives[0], budget, options.evaluations, options.seed, clock)
    print(
        json.dumps({"schedule": rows_of(solution), "elapsed_ms": round(took, 1), "evaluations": solution.evaluations})
    )


if __name__ == "__main__":
    main()
