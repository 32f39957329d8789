"""Days made at random: of the make of the public cases, of every freedom the problem has, and cut in the middle."""

from __future__ import annotations

from dataclasses import replace
from math import ceil
from random import Random
from typing import Any

from dyeday.ahead.kernel.problem import Batch, Circuit, Hold, Lag, Link, Problem, Row, Step, Unit

DAY_MIN = 1440


def random_case(seed: int, batches: int = 5) -> dict[str, Any]:
    """Return a day in the format of the public cases; without ``reference``."""
    rng = Random(seed)  # noqa: S311 - no secret
    heaters = [("M", "microwave", rng.choice((5.5, 6, 6.5)))] * rng.randint(1, 2)
    heaters += [("S", "steamer", rng.choice((7, 7.5, 8)))] * (1 + batches // 9 + rng.randint(0, 1))
    kit: list[dict[str, Any]] = [{"id": f"T{n}", "kind": "tray", "holds": 6} for n in range(1, 3 + batches // 9)]
    counts: dict[str, int] = {}
    for letter, kind, amps in heaters:
        counts[letter] = counts.get(letter, 0) + 1
        circuit = rng.choice(("C1", "C2"))
        kit.append({"id": f"{letter}{counts[letter]}", "kind": kind, "holds": 6, "amps": amps, "circuit": circuit})
    styles: list[dict[str, Any]] = []
    for _ in range(max(2, batches // 3)):
        passes = [("microwave", rng.choice((3, 4)), rng.choice((5, 10, 15))) for _ in range(rng.choice((0, 1, 1, 2)))]
        if not passes or rng.random() < 0.8:
            passes.append(("steamer", rng.choice(range(30, 65, 5)), 0))
        styles.append(
            {
                "soak_min": rng.choice((20, 25, 30)),
                "paint": rng.choice((4.0, 5.0, 6.0, 8.0, 10.0)),
                "passes": passes,
                "cool": rng.randint(13, 36) * 5,
                "rinse": rng.choice((1.5, 2.0, 3.0, 5.0)),
                "dry": rng.randint(11, 24) * 60,
            }
        )
    made = []
    for n in range(1, batches + 1):
        style, skeins = rng.choice(styles), rng.randint(2, 6)
        last = len(style["passes"])
        made.append(
            {
                "id": f"B{n:02}",
                "skeins": skeins,
                "soak_load": ceil(2 + skeins / 2),
                "soak_min": style["soak_min"],
                "paint": ceil(skeins * style["paint"]),
                "fresh_max": 240,
                "passes": [
                    {
                        "kind": kind,
                        "load": 2,
                        "run": run,
                        "unload": 2 if k == last or kind == "steamer" else 0,
                        "rest_after": 0 if k == last else rest,
                    }
                    for k, (kind, run, rest) in enumerate(style["passes"], 1)
                ],
                "cool": style["cool"],
                "rinse": ceil(skeins * style["rinse"]),
                "dry": style["dry"],
            }
        )
    stop = 570 + rng.randint(22, 30) * 15 + 20 * batches
    later = [[570 + DAY_MIN * n, 1050 + DAY_MIN * n] for n in range(1, 20)]
    return {
        "id": f"random-{seed}",
        "start": 570,
        "long_day": [[570, 765], [795, None]],
        "windows": [[570, 765], [795, max(840, stop)], *later],
        "day1_end": max(840, stop),
        "day2_start": 570 + DAY_MIN,
        "kit": kit,
        "circuits": {"C1": {"limit": rng.choice((10, 13, 15, 20))}, "C2": {"limit": rng.choice((10, 13, 20))}},
        "pegs": max(6, rng.randint(3, 5) * batches),
        "batches": made,
    }


def random_problem(seed: int, batches: int = 4) -> Problem:
    """Return a day with everything: shared trays and steamers, grams, layers, chores, links, breaks, a unit down."""
    rng = Random(seed)  # noqa: S311 - no secret
    units = [
        Unit("tray 1", "tray", holds=8, shared=True),
        Unit("tray 2", "tray", holds_mg=600_000, free_at=rng.choice((0, 600, None))),
        Unit("bench", "bench"),
        Unit("microwave", "microwave", holds=2, milliamps=6000, circuit="left"),
        Unit("steamer 1", "steamer", holds=8, shared=True, join_within=5, milliamps=8000, circuit="left"),
        Unit("steamer 2", "steamer", holds=6, milliamps=8000, circuit=rng.choice(("left", None)), free_at=530),
        Unit("sink", "sink"),
        Unit("pegs", "pegs", holds=rng.choice((10, 40)), shared=True),
    ]
    made = [_random_batch(rng, f"{n:02}") for n in range(1, batches + 1)]
    made.append(Batch("mix", (Step("mix", 15),), counts=False))
    made.append(Batch("spin", (Step("spin", 10),), counts=False))
    links = [Link("mix", 0, batch.id, 2) for batch in made[: (batches + 1) // 2]]
    links += [Link(batch.id, len(batch.steps) - 2, "spin", 0, 20) for batch in made[: min(2, batches)]]
    windows = ((540, 720), (750, rng.choice((900, 1080))), (1980, 2400), (3420, rng.choice((3900, None))))
    circuits = (Circuit("left", rng.choice((8000, 15000))),)
    return Problem(540, windows, windows[1][1] or 1080, tuple(units), tuple(made), circuits, tuple(links))


def _random_batch(rng: Random, name: str) -> Batch:
    steps: list[Step] = []
    holds: list[Hold] = []
    skeins = rng.randint(1, 5)
    for layer in range(1, rng.choice((1, 1, 2)) + 1):
        at = len(steps)
        after = (Lag(at - 1, rng.choice((0, 30))),) if at else ()
        steps.append(Step(f"into soak {layer}", 3, lags=after))
        steps.append(Step(f"soak {layer}", 20, attended=False, exact=False))
        steps.append(Step(f"paint {layer}", 5 * skeins))
        holds += [Hold("tray", at, at + 2, to_end=False), Hold("bench", at + 2, at + 2)]
        steps.append(Step(f"load {layer}", 2, lags=(Lag(at + 2, 0, rng.choice((60, 240, None))),)))
        kind = rng.choice(("steamer", "microwave"))
        minutes = rng.choice((30, 45)) if kind == "steamer" else 4 * skeins
        steps.append(Step(f"heat {layer}", minutes, attended=False, draws=True))
        steps.append(Step(f"unload {layer}", 2))
        whole = kind == "microwave"
        holds.append(Hold(kind, at + 3, at + 5, to_end=False, whole=whole, alike=0 if whole else minutes))
    run = len(steps) - 2
    steps.append(Step("rinse", 2 * skeins, lags=(Lag(run, rng.choice((20, 60))),)))
    steps.append(Step("dry", 600, attended=False))
    last = len(steps) - 1
    holds += [Hold("sink", last - 1, last - 1), Hold("pegs", last, last)]
    return Batch(
        name,
        tuple(steps),
        tuple(holds),
        skeins=skeins,
        weight_mg=100_000 * skeins,
        release=rng.choice((0, 0, 600)),
        weight=rng.choice((1, 1, 3)),
        shade=rng.randint(0, 3),
        shade_step=2,
    )


def cut(problem: Problem, rows: tuple[Row, ...], now: int) -> Problem:
    """Return what is left at ``now`` of a day that went as ``rows`` say."""
    at = {(row.batch, row.step): row for row in rows}
    kinds = {unit.name: unit.kind for unit in problem.units}
    batches = []
    for batch in problem.batches:
        mine = [at.get((batch.id, step.id)) for step in batch.steps]
        past = list(batch.past)
        for row in mine[len(past) :]:
            if row is None or row.start >= now:
                break
            past.append((row.start, row.end))
        holds = tuple(
            replace(
                hold,
                unit=next(
                    row.unit
                    for row in mine[hold.first : hold.last + 1]
                    if row is not None and row.unit and kinds[row.unit] == hold.kind
                ),
            )
            if len(batch.past) <= hold.first < len(past)
            else hold
            for hold in batch.holds
        )
        batches.append(replace(batch, past=tuple(past), holds=holds))
    return replace(problem, now=now, batches=tuple(batches))


STEAMERS = {
    # bottleneck: (amps of microwaves and steamers, limits of two circuits, circuits of microwaves, of steamers)
    "circuit": (6, 7.5, 13, 10, "12", "112"),
    "mixed": (6.5, 7, 15, 13, "1", "21"),
    "paint": (6.5, 7.5, 16, 16, "1", "121"),
    "sink": (6, 6, 24, 16, "2", "1111"),
    "steamer": (5.5, 8, 20, 16, "2", "11"),
}
MAKES = tuple(STEAMERS)


def day_of_the_make(seed: int, size: str, bottleneck: str) -> dict[str, Any]:
    """Return a day in the format of the public cases, drawn from what they have in common; without ``reference``.

    ``size`` is small, medium or large; the bottleneck is in the kit and in how long paint, rinse and steam take.
    """
    rng = Random(f"{seed} {size} {bottleneck}")  # noqa: S311 - no secret
    count = {"small": rng.randint(4, 6), "medium": rng.randint(8, 12), "large": rng.randint(18, 30)}[size]
    microwave_a, steamer_a, first, second, microwaves, steamers = STEAMERS[bottleneck]
    if size == "small":
        steamers = steamers[: max(1, len(steamers) - 1)]
    trays = {"small": 2, "medium": 3, "large": 3}[size] + (bottleneck == "sink")
    kit: list[dict[str, Any]] = [{"id": f"T{n}", "kind": "tray", "holds": 6} for n in range(1, trays + 1)]
    heaters: tuple[tuple[str, str, float, str], ...] = (
        ("M", "microwave", microwave_a, microwaves),
        ("S", "steamer", steamer_a, steamers),
    )
    for letter, kind, amps, circuits in heaters:
        kit += [
            {"id": f"{letter}{n}", "kind": kind, "holds": 6, "amps": amps, "circuit": f"C{circuit}"}
            for n, circuit in enumerate(circuits, 1)
        ]
    paint = {"circuit": (4, 7), "mixed": (4, 11), "paint": (8, 12), "sink": (4, 6), "steamer": (4, 6)}[bottleneck]
    rinse = (1.5, 2.0) if bottleneck in ("circuit", "paint", "steamer") else (1.5, 2.0, 2.5, 3.0)
    skeins = {"circuit": (2, 4), "mixed": (2, 6), "paint": (3, 5), "sink": (4, 6), "steamer": (2, 3)}[bottleneck]
    steam = {"steamer": range(40, 65, 5)}.get(bottleneck, range(30, 65, 5))
    styles = []
    for _ in range(max(2, round(count * 0.4))):
        run = rng.choice((3, 4))
        if rng.random() < 0.25 and bottleneck != "steamer":
            rest = rng.choice((10, 15))
            passes = [("microwave", run, rest), ("microwave", run, rest), ("microwave", run, 0)]
        else:
            passes = [[], [("microwave", run, 15)], [("microwave", run, 5), ("microwave", run, 15)]][
                rng.choice((0, 0, 1, 2))
            ]
            passes.append(("steamer", rng.choice(steam), 0))
        cool = rng.randint(24, 35) * 5 if bottleneck == "sink" else rng.randint(12, 35) * 5
        styles.append((passes, rng.choice((20, 25, 30)), rng.randint(*paint), rng.choice(rinse), cool))
    batches = []
    for n in range(1, count + 1):
        (passes, soak, per_skein, per_rinse, cool), many = rng.choice(styles), rng.randint(*skeins)
        batches.append(
            {
                "id": f"B{n:02}",
                "skeins": many,
                "soak_load": ceil(2 + many / 2),
                "soak_min": soak,
                "paint": many * per_skein,
                "fresh_max": 240,
                "passes": [
                    {
                        "kind": kind,
                        "load": 2,
                        "run": run,
                        "unload": 2 if k == len(passes) or kind == "steamer" else 0,
                        "rest_after": rest,
                    }
                    for k, (kind, run, rest) in enumerate(passes, 1)
                ],
                "cool": cool,
                "rinse": ceil(many * per_rinse),
                "dry": rng.randint(10, 24) * 60,
            }
        )
    stop = {"small": rng.randint(56, 63) * 15, "medium": rng.randint(60, 80) * 15, "large": 1260}[size]
    later = [[540 + DAY_MIN * n, 1020 + DAY_MIN * n] for n in range(1, 21)]
    return {
        "id": f"{size}-{bottleneck}-{seed}",
        "size": size,
        "start": 570,
        "long_day": [[570, 765], [795, None]],
        "windows": [[570, 765], [795, stop], *later],
        "day1_end": stop,
        "day2_start": 540 + DAY_MIN,
        "kit": kit,
        "circuits": {"C1": {"limit": first}, "C2": {"limit": second}},
        "pegs": sum(b["skeins"] for b in batches),
        "batches": batches,
    }
