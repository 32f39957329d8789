"""`ahead`: when everything happens, what will not fit, and what one more unit or an hour would change."""

from __future__ import annotations

import re
from argparse import Namespace
from dataclasses import replace
from pathlib import Path

from dyeday.ahead.forecast import Budget, Forecast, forecast
from dyeday.ahead.reasons import next_planned, why
from dyeday.commands.carrying import day_with_carried
from dyeday.commands.common import Refusal, answer, lasting, opened, say, sessions
from dyeday.commands.plans import first_moment, load
from dyeday.commands.stocked import own_times, studio_library
from dyeday.paper.timetable import chart_lines, table_lines, verdict_lines
from dyeday.plan.model import Plan
from dyeday.plan.problems import near
from dyeday.plan.table import clock_min
from dyeday.store.places import data_folder
from dyeday.track.day import Day
from dyeday.track.instant import iso

BUDGET_MS = 500


def ahead(args: Namespace) -> int:
    if args.plan:
        plan, _ = load(Path(args.plan), studio_library(args))
        now = first_moment(plan)
        day = day_with_carried(sessions(args), changed(plan, args.with_), now)
    else:
        at = opened(args, reading=True)
        day, now = replace(at.day, plan=changed(at.day.plan, args.with_)), at.now
    day = without(day, args.without or [])
    own = own_times(data_folder(args.data))
    found = forecast(day, now, evaluations=args.evaluations, budget=_budget(args), learned=own)
    zone = day.plan.session.zone
    if args.json:
        answer(forecast_data(found, day))
    else:
        say(*verdict_lines(found, zone), "", *table_lines(found, zone, args.width), "")
        say(*chart_lines(found, zone, args.width))
    return 1 if args.strict and not found.fits else 0


def _budget(args: Namespace) -> Budget | None:
    """Return how long a question may take: none where evaluations were given, so that the answer repeats."""
    return None if args.evaluations is not None else lambda: lasting(args.budget_ms / 1000)


def changed(plan: Plan, changes: list[str] | None) -> Plan:
    """Return the plan with "steamer +1", "steamer -1" or "stop 21:00". Raises Refusal for anything else."""
    for change in changes or ():
        more = re.fullmatch(r"\s*(.+?)\s*([+-]\d{1,2})\s*", change)
        stop = re.fullmatch(r"\s*stop\s+(\S+)\s*", change)
        if stop is not None:
            minutes = clock_min(stop[1])
            if minutes is None or minutes <= plan.session.start_min:
                raise Refusal(f"--with {change!r}: {stop[1]} is no time after start; write 'stop 21:00'")
            plan = replace(plan, session=replace(plan.session, stop_min=minutes))
        elif more is not None:
            names = [kit.name for kit in plan.kit]
            if more[1] not in names:
                raise Refusal(f"--with {change!r}: no kit is called {more[1]!r}; {near(more[1], names)}")
            kit = tuple(
                replace(k, units=max(0, k.units + int(more[2]))) if k.name == more[1] else k for k in plan.kit
            )
            plan = replace(plan, kit=kit)
        else:
            raise Refusal(f"--with {change!r} cannot be read; write 'steamer +1' or 'stop 21:00'")
    return plan


def without(day: Day, numbers: list[str]) -> Day:
    """Return the day without some batches, and with every unit its plan lists. Raises Refusal."""
    from dyeday.track.record import UnitRecord

    batches = dict(day.batches)
    for number in numbers:
        found = day.find(number)
        if found is None:
            raise Refusal(
                f"--without {number!r}: there is no such batch; known are {', '.join(b.no for b in day.live)}"
            )
        batches.pop(found.no, None)
    units = {name: day.units.get(name) or UnitRecord(name) for name in day.plan.unit_names}
    return replace(day, batches=batches, units=units)


def forecast_data(found: Forecast, day: Day) -> dict[str, object]:
    """Return a forecast as JSON-able data."""
    return {
        "tonight": {"hands_off": iso(found.hands_off), "hands_off_late": iso(found.hands_off_late)},
        "by_stop": {
            "rinsed": found.rinsed,
            "of": found.of,
            "carried": list(found.carried),
            "tomorrow_hands_off": iso(found.tomorrow_hands_off) if found.tomorrow_hands_off else None,
        },
        "fits": found.fits,
        "steps": [
            {
                "batch": step.batch,
                "step": step.step,
                "what": step.what,
                "pass": step.pass_no,
                "unit": step.unit,
                "start": iso(step.start),
                "end": iso(step.end),
                "attended": step.attended,
            }
            for step in found.steps
        ],
        "next": [
            {"batch": step.batch, "do": step.what, "at": iso(step.start), "why": why(step, found, day)}
            for step in next_planned(found, day)
        ],
        "kit": [{"unit": unit, "busy_share": share} for unit, share in found.busy],
        "warnings": [f"{batch} cannot be finished: {reason}" for batch, reason in found.left_out],
        "evaluations": found.evaluations,
    }
