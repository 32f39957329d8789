"""A day played as its forecast has it, as JSON lines for `dyeday mark --from`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

Step = Mapping[str, Any]
Line = dict[str, Any]


def as_foreseen(steps: Sequence[Step], pour_ml: Mapping[str, float], since: str, until: str) -> list[Line]:
    """Return the entries of the steps that begin from ``since`` and before ``until`` (ISO), each as it is advised.

    A soak gets new water and its own dose, ``pour_ml`` by batch; a steamer is filled as it is loaded; a batch is
    looked at as it is rinsed. Batches of one load are one entry.
    """
    lines: list[Line] = []
    loads: dict[tuple[str, str, str, int], list[str]] = {}
    for step in steps:
        # A heat that is on is ended by what is advised then.
        if step["batch"] is None or not since <= step["end" if step["kind"] == "heat" else "start"] < until:
            continue
        no, unit, what = step["batch"], step["unit"], step["what"]
        if what.startswith("soak load"):
            acid = {"acid_ml": pour_ml[no]}
            lines.append({"at": step["end"], "event": "load", "batches": [no], "unit": unit, "to": "soak",
                          "water": "new", **acid})  # fmt: skip
        elif step["kind"] == "paint":
            # Painting may be put down between skeins: it begins with its first stretch and ends with its last.
            stretches = [other for other in steps if (other["batch"], other["kind"]) == (no, "paint")]
            if step["start"] == min(other["start"] for other in stretches):
                lines.append({"at": step["start"], "batch": no, "to": "paint"})
            if step["end"] == max(other["end"] for other in stretches):
                lines.append({"at": step["end"], "batch": no, "to": "fix"})
        elif step["kind"] == "load" or (step["kind"] in ("heat", "unload") and not unit.startswith("microwave")):
            loads.setdefault((step["end"], unit, step["kind"], step["pass"]), []).append(no)
        elif step["kind"] == "rinse":
            lines.append({"at": step["start"], "batch": no, "to": "rinse"})
            lines.append({"at": step["start"], "batch": no, "reading": "eye", "value": "clear"})
            lines.append({"at": step["end"], "batch": no, "to": "dry"})
    lines += [load_line(*load, batches) for load, batches in loads.items()]
    return sorted(lines, key=lambda line: str(line["at"]))


def load_line(at: str, unit: str, kind: str, heat: int, batches: list[str]) -> Line:
    """Return one movement of the hands; a microwave has no tank, and switches itself off."""
    if kind == "heat":
        # The knob takes seconds, in the middle of other work; hands lift the yarn out when they are free.
        return {"at": at, "event": "load", "batches": batches, "pass": heat, "run": "end"}
    if kind == "load":
        tank = {} if unit.startswith("microwave") else {"tank": "filled"}
        return {"at": at, "event": "load", "batches": batches, "unit": unit, "to": "fix", **tank,
                "pass": heat, "run": "start"}  # fmt: skip
    return {"at": at, "event": "load", "batches": batches, "to": "cool"}
