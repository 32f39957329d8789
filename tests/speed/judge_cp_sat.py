"""A day of the public cases as a model for OR-Tools' CP-SAT with one worker: what it finds in the same time."""

from __future__ import annotations

from typing import Any

from ortools.sat.python import cp_model

HORIZON_DAYS = 6


class Judge:
    """The model of one case under one objective."""

    def __init__(self, case: dict[str, Any], objective: int) -> None:
        self.case, self.objective = case, objective
        self.model = cp_model.CpModel()
        windows = case["long_day"] if objective == 1 else case["windows"]
        self.end = case["start"] + HORIZON_DAYS * 1440
        self.hands: list[Any] = []
        closed = case["start"]
        for opens, closes in windows:
            if closed < opens <= self.end:
                self.hands.append(self.model.new_fixed_size_interval_var(closed, opens - closed, f"away {closed}"))
            closed = self.end if closes is None else closes
        self.in_unit: dict[str, list[Any]] = {kit["id"]: [] for kit in case["kit"]}
        self.on_circuit: dict[str, list[tuple[Any, int]]] = {name: [] for name in case["circuits"]}
        self.hanging: list[tuple[Any, int]] = []
        self.last = self.minute("last")
        self.rinsed: list[Any] = []
        for batch in case["batches"]:
            self._batch(batch)
        self._limits()

    def minute(self, name: str) -> Any:
        return self.model.new_int_var(self.case["start"], self.end + 3000, name)

    def _attended(self, name: str, minutes: int) -> Any:
        start = self.minute(name)
        self.hands.append(self.model.new_fixed_size_interval_var(start, minutes, name))
        self.model.add(self.last >= start + minutes)
        return start

    def _in_some(self, name: str, kind: str, skeins: int, start: Any, end: Any) -> dict[str, Any]:
        """Put an interval into one unit of a kind; return the choices."""
        size = self.model.new_int_var(0, self.end, f"{name} stays")
        chosen = {}
        for kit in self.case["kit"]:
            if kit["kind"] == kind and kit["holds"] >= skeins:
                here = self.model.new_bool_var(f"{name} in {kit['id']}")
                interval = self.model.new_optional_interval_var(start, size, end, here, f"{name} {kit['id']}")
                self.in_unit[kit["id"]].append(interval)
                chosen[kit["id"]] = here
        self.model.add_exactly_one(chosen.values())
        return chosen

    def _batch(self, b: dict[str, Any]) -> None:
        model, name, skeins = self.model, b["id"], b["skeins"]
        soak = self._attended(f"{name} soak", b["soak_load"])
        paint = self._attended(f"{name} paint", b["paint"])
        model.add(paint >= soak + b["soak_load"] + b["soak_min"])
        self._in_some(f"{name} soak", "tray", skeins, soak, paint)
        ready, cooled = paint + b["paint"], None
        for k, heat in enumerate(b["passes"], 1):
            load = self._attended(f"{name} load {k}", heat["load"])
            model.add(load >= ready)
            if k == 1:
                model.add(load <= paint + b["paint"] + b["fresh_max"])
            on, off = load + heat["load"], load + heat["load"] + heat["run"]
            release: Any = off
            ready = off + heat["rest_after"]
            if heat["unload"]:
                release = self._attended(f"{name} unload {k}", heat["unload"])
                model.add(release >= off)
                ready = release + heat["unload"] + heat["rest_after"]
            for unit, here in self._in_some(f"{name} heat {k}", heat["kind"], skeins, load, release).items():
                kit = next(kit for kit in self.case["kit"] if kit["id"] == unit)
                run = model.new_optional_fixed_size_interval_var(on, heat["run"], here, f"{name} run {k} {unit}")
                self.on_circuit[kit["circuit"]].append((run, round(10 * kit["amps"])))
            cooled = off + b["cool"]
        rinse = self._attended(f"{name} rinse", b["rinse"])
        model.add(rinse >= ready)
        model.add(rinse >= cooled)
        dry = model.new_fixed_size_interval_var(rinse + b["rinse"], b["dry"], f"{name} dry")
        self.hanging.append((dry, skeins))
        done = model.new_bool_var(f"{name} rinsed")
        model.add(rinse + b["rinse"] <= self.case["day1_end"]).only_enforce_if(done)
        self.rinsed.append(done)

    def _limits(self) -> None:
        model = self.model
        model.add_no_overlap(self.hands)
        for intervals in self.in_unit.values():
            model.add_no_overlap(intervals)
        for name, runs in self.on_circuit.items():
            limit = round(10 * self.case["circuits"][name]["limit"])
            model.add_cumulative([run for run, _ in runs], [amps for _, amps in runs], limit)
        pegs = [skeins for _, skeins in self.hanging]
        model.add_cumulative([dry for dry, _ in self.hanging], pegs, self.case["pegs"])
        if self.objective == 1:
            model.minimize(self.last)
        else:
            late = self.minute("late")
            model.add(late >= self.last)
            model.add(late >= self.case["day2_start"])
            model.minimize(late - 20000 * sum(self.rinsed))


def judged(case: dict[str, Any], objective: int, seconds: float) -> tuple[int, int] | None:
    """Return (batches rinsed by the stop, end of the last attended step) found in that time, or None."""
    judge = Judge(case, objective)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 1
    status = solver.solve(judge.model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    return sum(int(solver.value(done)) for done in judge.rinsed), int(solver.value(judge.last))
