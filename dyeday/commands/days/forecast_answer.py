"""`ahead`: the forecast of a day or a plan, and the gain of changes."""

from __future__ import annotations

import re
import sys
from argparse import Namespace
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path

from dyeday.ahead.accuracy import accuracy_of
from dyeday.ahead.advising.reasons import timed_reason
from dyeday.ahead.deadlines import deadlines
from dyeday.ahead.forecast import Forecast
from dyeday.ahead.problem_parts.hours import FULL_DAY, next_min, plan_min
from dyeday.ahead.problem_parts.mid_heat import hands_steps
from dyeday.ahead.what_if import EVALUATIONS, Gain, bottleneck, gain_of, gains, with_stop, with_units, without_batches
from dyeday.commands.common import Refusal, fields_of, opened, print_json, say, sessions, time_limit, window_width
from dyeday.commands.days.carry import day_with_carried
from dyeday.commands.days.check_and_begin import first_moment, load
from dyeday.commands.studio_records import foreseen, recorded_forecasts, studio_library, studio_times
from dyeday.files.out_files import put_output
from dyeday.paper.sheets import forecast_lines as lines
from dyeday.paper.sheets.day_chart import chart_lines
from dyeday.plan.reading.problems import similar
from dyeday.plan.reading.table_reader import clock_min
from dyeday.plan.serialize import to_plain
from dyeday.plan.step_ids import ChoreId
from dyeday.terms import DayAim, StepKind
from dyeday.text import batches_text, brief
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import Moment, iso


def ahead(args: Namespace) -> int:
    """Print the forecast and the gain of changes. Returns 1 with ``--strict`` if the day does not fit."""
    if args.plan:
        plan, _ = load(Path(args.plan), studio_library(args))
        now = first_moment(plan)
        day = day_with_carried(sessions(args), plan, now)
    else:
        at = opened(args, reading=True)
        day, now = at.day, at.now
    own = studio_times(args.data)
    # Schedules that are counted make an answer repeatable; a time limit does not.
    budget = None if args.evaluations or args.budget_ms is None else partial(time_limit, args.budget_ms / 1000)
    foresee = partial(foreseen, own, now=now, evaluations=args.evaluations, budget=budget)
    asked = changed(day, now, args.with_ or [], args.without or [])
    answered = foresee(day)
    gained: list[Gain] = []
    if asked is not day:
        label = ", ".join([*(args.with_ or []), *(f"without {no}" for no in args.without or [])])
        base, other = _compared((day, asked), answered, foresee)
        gained, day, answered = [gain_of(label, base, other)], asked, other
    if args.what_if:
        gained += gains(day, now, answered, learned=own.learned, evaluations=args.evaluations or EVALUATIONS)
    if args.json:
        accuracy = accuracy_of(recorded_forecasts(args.data))
        gains_data = [{"change": gain.label, **fields_of(gain, "minutes batches")} for gain in gained]
        print_json({**forecast_data(answered, day), "gains": gains_data, "kept": to_plain(accuracy)})
    elif args.html:
        from dyeday.paper.sheets.day_page import day_page

        put_output(Path(args.html), day_page(day, answered), args.data, overwrite=args.overwrite)
        say(f"{args.html} is written: open it in a browser, and print it there")
    else:
        if day.closed is not None:
            say("this day is closed; it would have gone on like this", "")
        say(*_lines(answered, day, gained, args.width or window_width(sys.stdout) or 80))
    return 1 if args.strict and not answered.fits else 0


def _compared(
    days: tuple[Day, Day], answered: Forecast, foresee: Callable[..., Forecast]
) -> tuple[Forecast, Forecast]:
    """Return the forecasts of the day as it is and as changed: searched alike, and more kit is never worse."""

    def again(day: Day, before: Forecast) -> Forecast:
        before = replace(before, advised=replace(before.advised, rows=()))  # without its advice: of another day
        return foresee(day, before=before)

    base, other = again(days[0], answered), again(days[1], answered)
    if len(days[0].batches) == len(days[1].batches) and other.finish > base.finish:
        other = again(days[1], base)
        # The end may be some minutes later in a day that makes as much more sense.
        if other.earliest.value.key <= base.earliest.value.key and other.finish > base.finish:
            base = replace(base, finish=other.finish)
    return base, other


def _lines(forecast: Forecast, day: Day, gained: list[Gain], width: int) -> list[str]:
    parts = (
        [*lines.verdict_lines(forecast, day.plan.session.zone), lines.serving_line(forecast, day)],
        lines.gain_lines(gained, width),
        lines.next_lines(forecast, day, width),
        lines.warning_lines(forecast, width),
        lines.table_lines(forecast, day, width),
        chart_lines(forecast, day, width),
    )
    return [line for part in parts if part for line in ("", *part)][1:]


def changed(day: Day, now: Moment, with_: list[str], without: list[str]) -> Day:
    """Return the day with "steamer +1" or "stop 21:00", without some batches; itself if unchanged. Raises Refusal."""
    for change in with_:
        more = re.fullmatch(r"\s*(.+?)\s*([+-]\d{1,2})\s*", change)
        if (stop := re.fullmatch(r"\s*stop\s+(\S+)\s*", change)) is not None:
            minutes, since = clock_min(stop[1]), plan_min(day.plan, now.utc)
            if minutes is not None and "+" not in stop[1] and since >= FULL_DAY:
                minutes = next_min(minutes, since)
            if minutes is None or minutes <= day.plan.session.start_min:
                raise Refusal(f"--with {brief(change)}: {stop[1]} is not a time after the start; write 'stop 21:00'")
            day = with_stop(day, minutes, now)
        elif more is not None:
            names = [kit.name for kit in day.plan.kit]
            if more[1] not in names:
                raise Refusal(f"--with {brief(change)}: no kit is called {brief(more[1])}; {similar(more[1], names)}")
            day = with_units(day, more[1], int(more[2]))
        else:
            raise Refusal(f"--with {brief(change)} cannot be read; write 'steamer +1' or 'stop 21:00'")
    numbers = []
    for number in without:
        if (left_out := day.find(number)) is None:
            known = batches_text([batch.no for batch in day.unsplit])
            raise Refusal(f"--without {brief(number)}: no such batch; the batches are {known}")
        numbers.append(left_out.no)
    return without_batches(day, numbers) if numbers else day


_KINDS = {
    StepKind.SOAK_LOAD: "soak", StepKind.SPECKLE: "paint", StepKind.DYE: "paint", StepKind.HEAT: "heat",
}  # fmt: skip
"""kinds of step whose names in JSON are not their values"""


def forecast_data(forecast: Forecast, day: Day) -> dict[str, object]:
    """Return a forecast as JSON-able data."""
    neck = bottleneck(forecast, day)
    return {
        "tonight": {"hands_off": iso(forecast.finish), "hands_off_late": iso(forecast.finish_late)},
        "by_stop": {
            "rinsed": forecast.reached,
            "of": forecast.of,
            "carried": list(forecast.not_by_stop),
            "tomorrow_hands_off": iso(forecast.tomorrow_finish) if forecast.tomorrow_finish else None,
        },
        "fits": forecast.fits,
        "steps": [
            {
                "batch": step.batch or None,
                "lot": (step.owner.first_of_lot or None) if isinstance(step.owner, ChoreId) else None,
                "kind": _KINDS.get(step.kind, step.kind.value),
                "step": step.state.value if step.state else step.id.chore,
                "what": step.id.text,
                "pass": step.heat_no,
                "start": iso(step.start),
                "end": iso(step.end),
                **fields_of(step, "unit attended"),
            }
            for step in hands_steps(day, forecast)
        ],
        "heat": dict(zip(("last_in", "last_off"), (at and iso(at) for at in forecast.last_heat), strict=True)),
        "next": [
            {
                "batch": step.batch or None,
                "do": step.id.text,
                "at": iso(step.start),
                "why": timed_reason(step, forecast, day),
            }
            for step in forecast.next_steps[:3]
        ],
        "kit": [{"unit": unit, "busy_share": share} for unit, share in forecast.busy],
        "warnings": [
            {"kind": w.kind.value, "about": w.about, "at": iso(w.at), "what": w.text, "do": w.do}
            for w in forecast.warned
        ],
        "serves": (DayAim.TONIGHT if forecast.for_end else day.aim).value,
        "latest": [{"batch": d.batch, "step": d.step.text, "at": iso(d.at)} for d in deadlines(forecast)],
        "bottleneck": neck and {**fields_of(neck, "name busy_share idle_min"), "until": iso(neck.until)},
        "evaluations": forecast.evaluations,
    }
