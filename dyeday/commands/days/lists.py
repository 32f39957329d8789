"""`sessions`, `flags` and `log`, as text or JSON."""

from __future__ import annotations

from argparse import Namespace
from dataclasses import asdict

from dyeday.commands.common import Refusal, UsageError, opened, print_json, record, report, say, sessions
from dyeday.files.durable import StoreError
from dyeday.store import clock
from dyeday.store.records.sync import known_sessions
from dyeday.text import batches_text, brief, counted, json_text, wrap
from dyeday.track.day.day_state import make
from dyeday.track.events.remarks import FlagCleared
from dyeday.track.folding.fold import effective

WHOLE_DAY = "day"
"""stands for a batch number, for a flag about the whole day"""


def list_sessions(args: Namespace) -> int:
    """Print every session. Returns 1 if a file cannot be read."""
    kept = sessions(args)
    try:
        known = known_sessions(kept.folder.parent)
    except StoreError:
        known = {}
    rows = kept.listed(known)
    if args.json:
        print_json([asdict(row) for row in rows])
    elif not rows and not kept.unreadable:
        say(f"no session yet in {kept.folder.parent}; start one with `dyeday begin PLAN`")
    else:
        for row in rows:
            state = "closed" if row.closed else "open"
            held = f"{counted(row.batches, 'batch', 'batches')}, {counted(row.events, 'entry', 'entries')}"
            say(f"{row.id}  {state:6}  {held}  {row.name}")
    report(kept.unreadable)
    return 1 if kept.unreadable else 0


def list_flags(args: Namespace) -> int:
    """Print the open flags, with ``--all`` all; or clear one. Returns 1 for an open flag with ``--strict``."""
    if args.resolve:
        return _clear(args)
    from dyeday.paper.layout.sheet_text import WIDTH
    from dyeday.track.flags import flag_title, flags_of

    at = opened(args, reading=True)
    flags = [flag for flag in flags_of(at.day, at.now) if args.all or flag.cleared is None]
    if args.json:
        print_json([flag.to_json() for flag in flags])
    elif not flags:
        say("no flag is open" if not args.all else "no flag was raised")
    else:
        for flag in flags:
            closed = f" [cleared: {flag.cleared.why}]" if flag.cleared else ""
            since = at.day.time_text(flag.since)
            name = f"{flag_title(flag)} ({flag.rule.value})"
            say(*wrap(f"{flag.about or WHOLE_DAY} {name} since {since}: {flag.why}{closed}", WIDTH, "   ", ""))
            for word, text in flag.remarks:
                say(*wrap(text, WIDTH, "       ", f"   {word} "))
    return 1 if args.strict and any(flag.cleared is None for flag in flags) else 0


def _clear(args: Namespace) -> int:
    from dyeday.track.flags import RULES, flag_words, flags_of

    batch_no, rule = args.resolve
    at = opened(args, reading=False)
    if not args.why:
        raise UsageError("clearing a flag needs a reason: add --why TEXT")
    batch = at.day.find(batch_no) if batch_no != WHOLE_DAY else None
    if batch is None and batch_no != WHOLE_DAY:
        known = f"{batches_text([b.no for b in at.day.unsplit])}, {WHOLE_DAY}"
        raise Refusal(f"there is no batch {brief(batch_no)}; the batches are {known}")
    number = batch.no if batch is not None else None
    standing = [f for f in flags_of(at.day, at.now) if f.cleared is None]
    matching = [f for f in standing if number in f.batches or (f.batch is None and number is None)]
    if (flag := next((f for f in matching if f.rule.value == rule), None)) is None:
        is_known = rule in {known.value for known in RULES}
        what = f"no flag {rule!r} is open" if is_known else f"{brief(rule)} is not a flag"
        raise Refusal(f"{what} for {batch_no}; open are: {', '.join(f.rule.value for f in matching) or 'none'}")
    now, cleared = at.day.on_day_clock(clock.now()), FlagCleared(rule=rule, why=args.why)
    events = [make(cleared, now, clock.new_id, batch=no) for no in flag.batches or (None,)]
    record(at.file, events)
    if args.json:
        print_json(events[0].to_json())
    else:
        say(f"{flag.about or batch_no} {flag_words(rule)} cleared: {args.why}")
    return 0


def log(args: Namespace) -> None:
    """Print a session's entries by their time, void ones too; as JSON all its events."""
    at = opened(args, reading=True)
    if args.json:
        for event in at.file.events:
            print(json_text(event.to_json()))  # noqa: T201
        return
    alive, dead = effective(at.file.events)
    order = {event.id: n for n, event in enumerate(alive)}
    rewriting = [e for e in at.file.events if e.id not in order]
    for event in sorted((e for e in (*alive, *rewriting) if e.body.IS_SHOWN), key=lambda e: e.at):
        signs = ("late " if event.is_late else "") + ("void " if event.id in dead else "")
        say(f"{at.day.time_text(event.at):9} {event.whose}{event.text(at.day)}  {signs}".rstrip())
