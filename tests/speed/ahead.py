"""How good the forecast's schedules are, and how fast: `python -m tests.speed.ahead CASE.json --objective 1`.

With a folder of cases it prints mean gaps to the best values known, by size: for objective 1 in percent of the
minutes after the start, for objective 2 in batches rinsed by the stop; beside naive ways of working and, where
ortools is installed, CP-SAT in the same time. Every schedule is checked before it counts. On a machine that others
use, too, ``--cpu`` counts the milliseconds that this process has had of it (CP-SAT's stay those of the clock).
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path
from statistics import mean
from time import perf_counter, process_time
from typing import Any

from dyeday.ahead.kernel.compile_problem import tabulate
from dyeday.ahead.kernel.problem import Solution
from dyeday.ahead.kernel.search import solve
from tests.ahead.checker import violations
from tests.ahead.naive import WAYS, outcome
from tests.speed.case_format import problem_of, rows_of

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


def table(
    cases: list[dict[str, Any]], budgets: list[float], seeds: list[int], judge: bool, clock: Callable[[], float]
) -> None:
    """Print one line for each way of working and objective."""
    for objective in (1, 2):
        what = "% later than the best known" if objective == 1 else "batches fewer rinsed by the stop"
        print(f"objective {objective}, {what}: {' / '.join(SIZES)}")
        for way in WAYS:
            gaps: dict[str, list[float]] = {size: [] for size in SIZES}
            for case in cases:
                state = outcome(tabulate(problem_of(case, objective)), way)
                gaps[case["size"]].append(gap(case, objective, state.done, state.now))
            print(f"  {way:16}", _means(gaps))
        for budget in budgets:
            gaps = {size: [] for size in SIZES}
            slowest = 0.0
            for case in cases:
                for seed in seeds:
                    solution, took = timed(case, objective, budget, None, seed, clock)
                    slowest = max(slowest, took)
                    gaps[case["size"]].append(gap_of(case, objective, solution))
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
    parser.add_argument("case", type=Path, help="a case, or a folder of cases")
    parser.add_argument("--objective", type=int, choices=(1, 2), default=1)
    parser.add_argument("--budget-ms", type=float, help="for a folder: instead of 100 and 1000")
    parser.add_argument("--evaluations", type=int)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--seeds", type=int, default=3, help="a folder is solved with this many seeds")
    parser.add_argument("--judge", action=argparse.BooleanOptionalAction, help="CP-SAT; where ortools is installed")
    parser.add_argument("--cpu", action="store_true", help="milliseconds of this process, not of the clock")
    options = parser.parse_args()
    clock = process_time if options.cpu else perf_counter
    if options.case.is_dir():
        cases = [json.loads(path.read_text(encoding="utf-8")) for path in sorted(options.case.glob("*.json"))]
        judge = options.judge if options.judge is not None else find_spec("ortools") is not None
        budgets = [options.budget_ms] if options.budget_ms else [100.0, 1000.0]
        table(cases, budgets, list(range(options.seed, options.seed + options.seeds)), judge, clock)
        return
    case = json.loads(options.case.read_text(encoding="utf-8"))
    budget = options.budget_ms if options.budget_ms or options.evaluations else 100.0
    solution, took = timed(case, options.objective, budget, options.evaluations, options.seed, clock)
    print(
        json.dumps({"schedule": rows_of(solution), "elapsed_ms": round(took, 1), "evaluations": solution.evaluations})
    )


if __name__ == "__main__":
    main()
