"""A day in the JSON format of `tests/ahead/cases`, as a problem; and a solution as rows of that format."""

from __future__ import annotations

from typing import Any

from dyeday.ahead.kernel.problem import Batch, Circuit, Hold, Lag, Problem, Solution, Step, Unit

SCALE = 1000
"""mA in an ampere"""


def problem_of(case: dict[str, Any], objective: int) -> Problem:
    """Return the problem a case poses: objective 1 under its long day, 2 under its windows."""
    windows = case["long_day"] if objective == 1 else case["windows"]
    units = [
        Unit(
            name=kit["id"],
            kind=kit["kind"],
            holds=kit["holds"],
            milliamps=round(SCALE * kit.get("amps", 0)),
            circuit=kit.get("circuit"),
        )
        for kit in case["kit"]
    ]
    units += [Unit("bench", "bench"), Unit("sink", "sink"), Unit("pegs", "pegs", holds=case["pegs"], shared=True)]
    return Problem(
        now=case["start"],
        windows=tuple((start, end) for start, end in windows),
        stop=case["day1_end"],
        units=tuple(units),
        batches=tuple(batch_of(batch) for batch in case["batches"]),
        circuits=tuple(Circuit(name, round(SCALE * c["limit"])) for name, c in case["circuits"].items()),
    )


def batch_of(b: dict[str, Any]) -> Batch:
    """Return one batch of a case."""
    steps = [
        Step("soak_load", b["soak_load"]),
        Step("paint", b["paint"], lags=(Lag(0, b["soak_min"]),)),
    ]
    holds = [Hold("tray", 0, 1, to_end=False), Hold("bench", 1, 1)]
    after, run = Lag(1, 0, b["fresh_max"]), 1
    for k, heat in enumerate(b["passes"], 1):
        load, run = len(steps), len(steps) + 1
        steps.append(Step(f"fix{k}_load", heat["load"], lags=(after,)))
        steps.append(Step(f"fix{k}_run", heat["run"], attended=False, draws=True))
        if heat["unload"]:
            steps.append(Step(f"fix{k}_unload", heat["unload"]))
            holds.append(Hold(heat["kind"], load, run + 1, to_end=False))
        else:
            holds.append(Hold(heat["kind"], load, run))
        after = Lag(len(steps) - 1, heat["rest_after"])
    steps.append(Step("rinse", b["rinse"], lags=(Lag(run, b["cool"]),)))
    steps.append(Step("dry", b["dry"], attended=False))
    holds += [Hold("sink", len(steps) - 2, len(steps) - 2), Hold("pegs", len(steps) - 1, len(steps) - 1)]
    return Batch(b["id"], tuple(steps), tuple(holds), skeins=b["skeins"])


def rows_of(solution: Solution) -> list[dict[str, Any]]:
    """Return a schedule in the case's format."""
    return [
        {"batch": row.batch, "step": row.step, "unit": row.unit, "start": row.start, "end": row.end}
        for row in solution.rows
    ]
