"""Random studios, as people have them, and how sensible their days come out: ``python -m tests.ahead.studios``.

Each day is looked at in the morning and at four moments of a day that followed the advice with drawn minutes. Printed
is how far the first answer is from one with ten times the evaluations, and how often the advice is what no dyer would
do. Looks are counted in evaluations, so the table is the same on any machine.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from math import ceil
from random import Random

from dyeday.ahead.forecast import LEAST, forecast
from dyeday.ahead.foreseen_steps import Forecast
from dyeday.ahead.problem_parts.hours import wall
from dyeday.plan.model import Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.track.day.day_state import Day
from dyeday.track.folding.fold import begin
from dyeday.track.timestamp import Moment
from tests.ahead.follow import followed_until
from tests.ahead.studios_faults import FAULTS, faults
from tests.fakes import ACCEPTANCE_DAY, HEAVY_DAY, SHORT_DAY

LONG = 10
"""times the first answer's evaluations: what it is compared with"""
MOMENTS = (0.2, 0.4, 0.6, 0.8)
"""of the hours from start to stop, at which a followed day is looked at again"""
FIBRES = (
    ("Fell Sock", '{ "superwash wool" = 75, nylon = 25 }', 100),
    ("Croft DK", "{ wool = 100 }", 100),
    ("Fog Lace", "{ mohair = 72, silk = 28 }", 50),
    ("Tarn Aran", "{ wool = 80, alpaca = 20 }", 100),
    ("Fell Mini", '{ "superwash wool" = 75, nylon = 25 }', 20),
)
FIXES = (
    ['"steam 40 min"'],
    ['"steam 30 min"'],
    ['"microwave 2 min"', '"rest 5 min"', '"microwave 2 min"', '"rest 15 min"', '"steam 30 min"'],
    ['"microwave 3 min"', '"rest 10 min"', '"microwave 3 min"'],
)

SPECKS = ('how = "speckled"', "minutes = 4", 'powder = "0.2 g"')


def studio(seed: int) -> str:
    """Return a plan: the kit of a kitchen or a shed, one to four bases, two to six colourways, a day's orders."""
    rng = Random(f"studio {seed}")  # noqa: S311 - no secret
    holds = rng.choice((3, 4, 4, 5))
    start, stop = rng.choice((8, 9, 10)), rng.choice((16, 17, 18, 20, 22))
    lines = [
        "[session]",
        f'name = "Studio {seed}"',
        "date = 2026-05-09",
        f'start = "{start:02d}:00"',
        f'stop = "{stop:02d}:00"',
        'zone = "UTC"',
        f'breaks = ["{rng.choice(("12:30-13:00", "13:00-13:45"))}"]',
    ]
    if rng.random() < 0.3:
        lines.append('out = ["15:05-15:40"]')
    lines.append(f'aim = "{rng.choice(("rinsed by stop", "rinsed tonight", "heat by stop"))}"')
    amps = rng.choice((10, 13, 16, 20))
    lines += ["[[circuit]]", 'name = "shed"', "volts = 230", f"amps = {amps}"]

    def kit(name: str, kind: str, units: int, size: str, *more: str) -> None:
        lines.extend(
            ["[[kit]]", f'name = "{name}"', f'kind = "{kind}"', f"units = {units}", f"holds = {size}", *more]
        )

    kit("tray", "tray", rng.choice((2, 3, 4)), str(holds))
    power = rng.choice((1200, 1400, 2000))
    steamers = rng.choice((1, 1, 2, 2, 3))
    tank = rng.choice(('lasts = "75 min"', 'lasts = "150 min"', "warm_up = 5"))
    kit("steamer", "steamer", steamers, str(rng.choice((holds, holds, 2 * holds))), f'power = "{power} W"',
        'circuit = "shed"', tank)  # fmt: skip
    kit("oven", "microwave", 1, "2", 'power = "1250 W"', 'output = "800 W"', 'circuit = "shed"')
    pots = rng.random() < 0.5
    if pots:
        kit("pot", "pot", rng.choice((1, 2)), '"600 g"')
    lines += ["[[kit]]", 'name = "sink"', 'kind = "sink"']
    kit("rack", "pegs", 1, str(rng.choice((40, 70))))
    bases = rng.sample(FIBRES, rng.randint(1, 4))
    for name, fibre, grams in bases:
        lines += ["[[base]]", f'name = "{name}"', f"fibre = {fibre}", f'skein = "{grams} g"']
    lines += ["[[dye]]", 'name = "Peat"']
    colourways = [f"Moor {n}" for n in range(1, rng.randint(2, 6) + 1)]
    for name in colourways:
        lines += _colourway(rng, name, pots=pots)
    for n in range(rng.randint(2, 7)):
        base = rng.choice(bases)
        skeins = rng.randint(1, 8) * (2 if base[2] < 100 else 1)
        match = ["match = true"] if rng.random() < 0.4 else []
        lines += ["[[order]]", f'item = "Order {n}"', f'colourway = "{rng.choice(colourways)}"']
        lines += [f'base = "{base[0]}"', f"skeins = {skeins}", *match]
    if rng.random() < 0.5:
        lines += ["[[chore]]", 'name = "mix"', "minutes = 10", 'per = "lot"', 'when = "before paint"']
    return "\n".join(lines) + "\n"


def _colourway(rng: Random, name: str, *, pots: bool) -> list[str]:
    depth = rng.choice((0.1, 0.5, 1.0, 3.0))
    section = f"sections = [{{ share = 100, dyes = {{ Peat = {depth} }} }}]"
    lines = ["[[colourway]]", f'name = "{name}"']
    kind = rng.random()
    if pots and kind < 0.2:
        cool = ['cool_where = "in place"'] if rng.random() < 0.5 else []
        return [*lines, 'how = "immersed"', "minutes = 3", section, 'fix = ["simmer 40 min"]', *cool]
    fix = f"fix = [{', '.join(rng.choice(FIXES))}]"
    if kind < 0.4:
        first = ["[[colourway.layer]]", 'how = "painted"', section, 'fix = ["steam 30 min"]', 'cool = "40 min"']
        return [*lines, *first, "[[colourway.layer]]", *SPECKS, section, fix]
    if kind < 0.55:
        return [*lines, *SPECKS, section, fix]
    return [*lines, f"minutes = {rng.choice((4, 6, 8, 10))}", section, fix]


@dataclass
class Judged:
    """What was seen of some looks: gaps in percent and batches, and how often the advice made no sense."""

    looks: int = 0
    gaps: list[float] = field(default_factory=list)
    fewer: list[int] = field(default_factory=list)
    faults: Counter[str] = field(default_factory=Counter)

    def close(self, percent: float) -> float:
        """Return the share of looks whose first answer is within so many percent and one batch of the long one."""
        within = sum(g <= percent and f <= 1 for g, f in zip(self.gaps, self.fewer, strict=True))
        return within / max(1, self.looks)


def judge(day: Day, now: Moment, evaluations: int, into: Judged, *, long: int) -> Forecast:
    """Look once at a day and put what is seen into ``into``, beside a look of ``long`` evaluations unless 0."""
    first = forecast(day, now, evaluations=evaluations)
    into.looks += 1
    if long:
        better = forecast(day, now, evaluations=long, before=replace_advice(first), warn=False)
        span = max(1.0, (better.finish - now.utc).total_seconds())
        into.gaps.append(max(0.0, 100 * (first.finish - better.finish).total_seconds() / span))
        into.fewer.append(max(0, better.reached - first.reached))
    into.faults.update(faults(day, first))
    return first


def replace_advice(found: Forecast) -> Forecast:
    """Return a forecast to search on from, whose advice need not stay."""
    return replace(found, advised=replace(found.advised, rows=()))


def plans(first: int, count: int) -> Iterator[tuple[str, Plan]]:
    """Yield ``count`` random studios from number ``first`` on; before the first of all, the examples."""
    if first == 1:
        for path in (SHORT_DAY, HEAVY_DAY, ACCEPTANCE_DAY):
            yield path.stem, read_plan(path.read_text(encoding="utf-8"))
    for seed in range(first, first + count):
        yield f"studio {seed}", read_plan(studio(seed))


def judged(plan: Plan, evaluations: int, moments: Sequence[float] = MOMENTS, *, long: int) -> Judged:
    """Return what is seen of a plan's day in the morning and at some moments of it, followed."""
    into = Judged()
    start = Moment(wall(plan, plan.session.start_min))
    judge(begin(plan), start, evaluations, into, long=long)
    span = plan.session.stop_min - plan.session.start_min
    wanted = [wall(plan, plan.session.start_min + ceil(share * span)) for share in moments]
    for day, now in followed_until(plan, 1, max(20, evaluations // 4), wanted):
        judge(day, now, evaluations, into, long=long)
    return into


def main() -> None:
    """Print one line for each plan, and what they come to."""
    parser = argparse.ArgumentParser(prog="python -m tests.ahead.studios")
    parser.add_argument("--studios", type=int, default=60)
    parser.add_argument("--evaluations", type=int, default=LEAST, help="for each answer of a first look")
    parser.add_argument("--first", type=int, default=1, help="number of the first studio; the examples go before 1")
    parser.add_argument("--gaps", type=int, default=100, help="gaps, which take longest, of so many plans only")
    parser.add_argument("--morning", action="store_true", help="look in the morning only")
    options = parser.parse_args()
    total, moments = Judged(), () if options.morning else MOMENTS
    print(f"{'plan':12} looks  gap %  fewer  " + "  ".join(FAULTS))
    for before, (name, plan) in enumerate(plans(options.first, options.studios)):
        seen = judged(plan, options.evaluations, moments, long=LONG * LEAST if before < options.gaps else 0)
        print(_line(name, seen), flush=True)
        total.looks += seen.looks
        total.gaps += seen.gaps
        total.fewer += seen.fewer
        total.faults += seen.faults
    print(_line("all", total))
    if total.gaps:
        print(f"within 3 % and one batch: {100 * total.close(3):.0f} %, within 4 %: {100 * total.close(4):.0f} %")


def _line(name: str, seen: Judged) -> str:
    gap = f"{max(seen.gaps):5.1f}" if seen.gaps else "    -"
    fewer = f"{max(seen.fewer):5}" if seen.fewer else "    -"
    cells = "  ".join(f"{seen.faults[fault] or '.':>{len(fault)}}" for fault in FAULTS)
    return f"{name:12} {seen.looks:5}  {gap}  {fewer}  {cells}"


if __name__ == "__main__":
    main()
