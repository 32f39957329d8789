"""`carry`: tomorrow's plan from the unfinished batches, and their arrival when that plan starts."""

from __future__ import annotations

import hashlib
from argparse import Namespace
from collections.abc import Sequence
from dataclasses import replace
from datetime import date as Date  # noqa: N812 - the class is called date
from datetime import timedelta
from pathlib import Path

from dyeday.commands.common import Refusal, opened, print_json, report, say, sessions
from dyeday.files.durable import StoreError
from dyeday.files.out_files import put_text, refuse_own, refuse_too_large
from dyeday.plan.model import Plan
from dyeday.plan.orders.order_editor import acid_comment
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.reading.problems import PlanError
from dyeday.plan.writing.plan_text import plan_text
from dyeday.store import clock
from dyeday.store.session_file import SessionFile
from dyeday.store.sessions import Sessions, carried_to
from dyeday.studio.carry_over import carried_event, left_text, plan_after, unfinished
from dyeday.studio.parcels import to_dye_again
from dyeday.terms import State
from dyeday.text import FIRST_YEAR, LAST_YEAR, brief, counted, is_of_these_days
from dyeday.track.day.day_state import Day, Event, make
from dyeday.track.events.session_events import CarriedOver
from dyeday.track.folding.fold import begin as begin_day
from dyeday.track.folding.fold import fold, take_all
from dyeday.track.timestamp import Moment, local


def carry(args: Namespace) -> None:
    """Write a plan of a session's unfinished batches. Raises Refusal if there are none, or the plan is not valid."""
    at = opened(args, reading=True)
    session, path = at.file.about.id, Path(args.new)
    lacking = [f"{order.item}: {n} {order.colourway} on {order.base}" for order, n in to_dye_again(session, at.day)]
    if not at.day.unfinished:
        again = (f"to be dyed again: {one}; add an order for it to your next plan" for one in lacking)
        raise Refusal(f"every batch of {session} is finished: nothing to carry", *again)
    date = _date(args.date, at.day)
    plan, hand = plan_after(at.day, session, date)
    head = f"# The unfinished batches of {session}. They continue as they are when this plan starts.\n\n"
    comment = acid_comment(plan)
    text = head + (f"{comment}\n\n" if comment else "") + plan_text(plan, hand)
    try:
        read_plan(text)
    except PlanError as error:
        what = "; ".join(str(problem) for problem in error.problems[:3])
        raise Refusal(f"{session} cannot be carried as it is, and {path} is not written: {what}") from None
    refuse_too_large(path, text)
    refuse_own(path, args.data)
    stays, gone = unfinished(at.day, at.now), carried_to(sessions(args), {session})
    put_text(path, text)
    if args.json:
        numbers = [no for no, _ in stays]
        about = {"plan": str(path), "from": session, "date": date.isoformat(), "batches": numbers}
        print_json({**about, "to_dye_again": lacking})
        return
    say(
        f"{path}: {counted(len(stays), 'batch', 'batches')} of {session} for {date:%a %d %b %Y}",
        *(f"  {no} {how}" for no, how in stays),
        *(f"  to be dyed again: {one}" for one in lacking),
    )
    report(_twice(no, (session, no), gone[session, no]) for no, _ in stays if (session, no) in gone)
    if at.day.closed is None:
        say(f"{session} is still open: close it before you start this plan")


def left_by_last_day(stored: Sessions, now: Moment) -> tuple[str, str]:
    """Return (session, what it left) of the newest day if it is closed and left yarn, else two empty texts."""
    newest = stored.newest(unfinished=False)
    text = left_text(fold(newest.plan, newest.events), now) if newest is not None else ""
    return (newest.about.id, text) if newest is not None and text else ("", "")


def _date(asked: str | None, day: Day) -> Date:
    """Return the date asked for, else the next day, or today if later. Raises Refusal."""
    if asked is not None:
        try:
            date = Date.fromisoformat(asked)
        except ValueError:
            raise Refusal(f"--date {brief(asked)} is not a date; write a date such as 2026-03-15") from None
        if not is_of_these_days(date):
            raise Refusal(f"--date {date} is out of range; year must be {FIRST_YEAR}–{LAST_YEAR}")
        if date < day.plan.session.date:
            raise Refusal(f"--date {date} is before the day it continues; write {day.plan.session.date} or later")
        return date
    today = local(clock.now().utc, day.plan.session.zone).date()
    return max(day.plan.session.date + timedelta(days=1), today)


def carried_events(stored: Sessions, plan: Plan, now: Moment) -> tuple[list[Event], list[str]]:
    """Return events for carried batches, and messages on others. Raises Refusal if their session is still open."""
    events: list[Event] = []
    messages: list[str] = []
    days: dict[str, Day] = {}
    for batch in plan.batches:
        session, _, was = batch.carried.partition("/")
        if not session:
            continue
        if session not in days:
            try:
                file = stored.open(session)
            except StoreError as error:
                if session in stored.ids():  # it may become readable again
                    raise Refusal(str(error)) from None
                messages.append(f"{batch.no}: its history is not carried, {error}")
                continue
            days[session] = fold(file.plan, file.events)
        old = days[session]
        if old.ended is None:
            raise Refusal(f"{session} is still open; close it with `dyeday close --session {session}`")
        if (earlier := old.batches.get(was)) is None or earlier.state == State.SPLIT:
            messages.append(f"{batch.no}: {session} has no batch {was}, so it starts new here")
            continue
        made = make(carried_event(old, session, earlier), now, clock.new_id, batch=batch.no, at=old.ended.utc)
        # The same id here and in an imported log, so that it counts once.
        seed = f"{plan.session.date} {batch.no} {batch.carried}"
        events.append(replace(made, id=hashlib.sha256(seed.encode()).hexdigest()[:12]))
    return events, messages


def add_carried(stored: Sessions, session: SessionFile, now: Moment) -> list[str]:
    """Bring in the carried batches that a session still lacks; return messages."""
    came = {event.batch for event in session.events if isinstance(event.body, CarriedOver)}
    waiting = tuple(batch for batch in session.plan.batches if batch.carried and batch.no not in came)
    events, messages = carried_events(stored, replace(session.plan, batches=waiting), now)
    session.add(events)
    return [*messages, *carried_twice(stored, session.about.id, events)]


def carried_twice(stored: Sessions, session: str, events: Sequence[Event]) -> list[str]:
    """Return a message for each batch carried into a session that another session has already."""
    came = [(event.batch, event.body) for event in events if isinstance(event.body, CarriedOver)]
    gone = carried_to(stored, {str(body.source) for _, body in came}, into=session)
    sources = [(batch, (str(body.source), str(body.was))) for batch, body in came]
    return [_twice(str(batch), source, gone[source]) for batch, source in sources if source in gone]


def _twice(no: str, source: tuple[str, str], other: str) -> str:
    there = other.partition("/")[0]
    right = f"continue it in one of the two; `dyeday carry NEW.toml --session {there}` continues from there"
    return f"{no}: {'/'.join(source)} was carried to {other} already; {right}"


def day_with_carried(stored: Sessions, plan: Plan, now: Moment) -> Day:
    """Return the day of a plan at its start, with its carried batches; report why they count as not begun."""
    try:
        return take_all(begin_day(plan), carried_events(stored, plan, now)[0])
    except Refusal as refusal:
        report([f"{line}; until then its batches count as not started here" for line in refusal.lines])
        return begin_day(plan)
