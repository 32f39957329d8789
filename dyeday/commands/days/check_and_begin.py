"""`check` and `begin`: a plan checked, and a session started from it."""

from __future__ import annotations

import re
from argparse import Namespace
from collections.abc import Sequence
from datetime import date as Date  # noqa: N812 - the class is called date
from pathlib import Path

from dyeday.commands.common import (
    Refusal,
    copy_records,
    first_lines,
    print_json,
    read_text,
    refusing,
    report,
    report_missing_copy,
    say,
    sessions,
)
from dyeday.commands.studio_records import foreseen, night_notes, stocked, studio_library, studio_times
from dyeday.files.out_files import PLAN_SUFFIX
from dyeday.plan.library import EMPTY, Library, overridden_definitions
from dyeday.plan.model import Plan
from dyeday.plan.orders.order_editor import day_named
from dyeday.plan.reading.plan_reader import changed_rules, read_plan
from dyeday.plan.reading.problems import PlanError
from dyeday.store import clock
from dyeday.store.session_file import SessionFile
from dyeday.store.session_form import digest_of
from dyeday.terms import WarningKind
from dyeday.text import FIRST_YEAR, LAST_YEAR, counted
from dyeday.track.day.day_state import Event, make
from dyeday.track.events.session_events import PlanChanged, plan_changed
from dyeday.track.folding.fold import fold
from dyeday.track.timestamp import Moment, wall_instant


def first_moment(plan: Plan) -> Moment:
    """Return the moment the plan's day begins."""
    return Moment(wall_instant(plan.session.date, plan.session.start_min, plan.session.zone))


def _past(plan: Plan) -> list[str]:
    session = plan.session
    if wall_instant(session.date, max(session.stop_min, 24 * 60), session.zone) > clock.now().utc:
        return []
    return [f"the plan is for {session.date:%a %d %b %Y}, which is past: set its date"]


def plan_file_text(path: Path) -> str:
    """Return the text of a plan's file. Raises StoreError, or Refusal if it is not a plan by name and text."""
    text = read_text(path)
    if path.suffix.casefold() != PLAN_SUFFIX and str(path) != "-" and "[session]" not in text:
        raise Refusal(f"{path} is not a plan; name a plan's .toml file")
    return text


def named_day(path: Path) -> Date | None:
    """Return the day that names a new plan, None for a name in words. Raises Refusal for a date that is none."""
    if (day := day_named(path)) is None and re.fullmatch(r"\d+-\d+-\d+", path.stem):
        right = "write one such as 2026-03-15.toml, or a name in words"
        raise Refusal(f"{path}: its name is not a date of {FIRST_YEAR}–{LAST_YEAR}; {right}")
    return day


def load(path: Path, library: Library = EMPTY, *, without_orders: bool = False) -> tuple[Plan, str]:
    """Return the plan in a file, and its text. Raises Refusal with every problem, ``file:line: …``."""
    text = plan_file_text(path)
    with refusing(path):
        return read_plan(text, library, without_orders=without_orders), text


def check(args: Namespace) -> int:
    """Print a plan's problems, else advice and whether its day fits.

    Returns 1 for a problem, with ``--strict`` also for advice or short stock. Raises Refusal for an unreadable file.
    """
    from dyeday.commands.days.carry import day_with_carried
    from dyeday.paper.sheets.forecast_lines import verdict_lines
    from dyeday.plan.lint import advice, obsolete_keys
    from dyeday.track.flags.room_and_stock import shortages

    path = Path(args.plan)
    try:
        text = plan_file_text(path)
        library = studio_library(args)
        plan = read_plan(text, library)
    except PlanError as error:
        if args.json:
            problems = [{"line": p.line, "what": p.what, "would_be_right": p.hint} for p in error.problems]
            print_json({"problems": problems, "advice": [], "fits": None})
        report(first_lines(f"{path}:{problem}" for problem in error.problems))
        return 1
    definitions = overridden_definitions(plan, library)
    plan, shelf_notes = stocked(args, plan)
    hints = (*obsolete_keys(text), *advice(plan))
    own = studio_times(args.data)
    at = first_moment(plan)
    day = day_with_carried(sessions(args), plan, at)
    short = list(shortages(day))
    seen = foreseen(own, day, at)
    if args.json:
        rows = [{"what": a.what, "would_be_right": a.hint} for a in hints]
        print_json({"problems": [], "advice": rows, "fits": seen.fits, "short": short, "shelf": shelf_notes,
                "library": definitions})  # fmt: skip
    else:
        skeins = sum(batch.skeins for batch in plan.batches)
        say(f"{path}: no mistakes, {counted(len(plan.batches), 'batch', 'batches')}, {counted(skeins, 'piece')}")
        for key, value, usual in changed_rules(plan):
            say(f"rule {key} = {_plainly(value)}, usual is {_plainly(usual)}")
        say(*(f"library: {item}" for item in definitions))
        say(*(f"advice: {item}" for item in hints), *(f"short: {item}" for item in short))
        say(*(f"shelf: {item}" for item in shelf_notes))
        say(*_past(plan))
        say(*verdict_lines(seen, plan.session.zone))
        say(*(str(warned) for warned in seen.warned if warned.kind is WarningKind.DUE_LATE))
    return 1 if args.strict and (hints or short) else 0


def _plainly(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else ("by base" if value is None else str(value))


def begin(args: Namespace) -> None:
    """Start a plan's session, or find the running one; print its id."""
    session, messages = begun(args, Path(args.plan))
    report(messages)
    report_missing_copy(session)
    copy_records(args)
    if args.json:
        print_json({"id": session.about.id})
    else:
        say(session.about.id)


def begun(args: Namespace, path: Path) -> tuple[SessionFile, list[str]]:
    """Return the session of a plan file, started now if needed, and messages about it."""
    from dyeday.commands.days.carry import add_carried, carried_events, carried_twice

    def notes(session: SessionFile) -> list[str]:
        return night_notes(fold(session.plan, session.events), now, data)

    kept, source, now, data = sessions(args), path.absolute(), clock.now(), args.data
    text = read_text(path)
    latest = None if args.new else kept.newest(unfinished=True)
    if latest is not None and (latest.about.source, latest.about.digest) == (str(source), digest_of(text)):
        # The usual case: neither the plan nor the records are read before the bench shows.
        return latest, [*add_carried(kept, latest, now), *notes(latest)]
    plan, text = load(path, studio_library(args))
    plan, _ = stocked(args, plan)
    going_on = None if args.new else kept.of_plan(source, plan.session.date)
    if going_on is None:
        came, messages = carried_events(kept, plan, now)  # refuses before anything is begun
        session = kept.begin(plan, source, text, now, came, of_plan=not args.new)
        messages += carried_twice(kept, session.about.id, came)
        return session, [*messages, *notes(session), *_past(plan)]
    if going_on.about.digest == digest_of(text):
        return going_on, [*add_carried(kept, going_on, now), *notes(going_on)]
    if not args.take_changes:
        return going_on, [f"{path} has changed since {going_on.about.id} started; --take-changes applies the changes"]
    day = fold(going_on.plan, going_on.events)
    event = make(plan_changed(going_on.plan, day, plan, str(source)), day.on_day_clock(now), clock.new_id)

    def check(existing: Sequence[Event], fresh: Sequence[Event]) -> None:
        latest = next((before for before in reversed(existing) if isinstance(before.body, PlanChanged)), None)
        if latest is not None and latest.body == event.body:
            raise Refusal(f"another terminal applied the changes of {path} just now; nothing to do")

    going_on.add([event], check)
    going_on.set_source(str(source), digest_of(text))
    return going_on, [f"the changes of {path} are applied to {going_on.about.id}"]
