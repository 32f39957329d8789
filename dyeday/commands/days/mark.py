"""`mark`: events recorded from the shell, one by one or many from a file."""

from __future__ import annotations

from argparse import Namespace
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

from dyeday import units
from dyeday.commands.common import (
    RETRY_S,
    Refusal,
    UsageError,
    choose,
    first_lines,
    print_json,
    read_text,
    record,
    report,
    report_import,
    say,
    typed_amount,
    typed_time,
)
from dyeday.plan.reading.problems import similar
from dyeday.store import clock
from dyeday.store.session_file import Check, SessionFile
from dyeday.store.session_form import is_closed
from dyeday.terms import ReadingKind, State
from dyeday.text import brief, harmless, strict_json
from dyeday.track.day.day_state import Body, Day, Event, make
from dyeday.track.day.progress import has_heated, state_word
from dyeday.track.event_keys import EventError, term
from dyeday.track.events.batch_changes import Counted, DyeUsed, Overdyed, Split, Tagged, orders_short
from dyeday.track.events.event_json import read_event
from dyeday.track.events.measured import Measured
from dyeday.track.events.movements import AcidPutIn, Covered, Heated, Load, Moved, Placed
from dyeday.track.events.remarks import AlarmHandled, Noted
from dyeday.track.flags import flag_words, open_flags
from dyeday.track.folding.fold import effective, fold, refuse, refuse_all, refuse_years, take
from dyeday.track.timestamp import Moment, local
from dyeday.track.typed_entries import typed_batches, typed_reading

EARLIEST_S = 2 * 86400.0
"""an entry this long before the day's start is a typing mistake, not a soak started the evening before"""


def mark(args: Namespace) -> None:
    """Record what was typed about batches, or events from a file, all or none. Raises UsageError or Refusal."""
    if args.from_file:
        if args.batch:
            raise UsageError("--from reads whole events: do not name a batch")
        _mark_many(args)
        return
    if not args.batch:
        raise UsageError("mark needs a batch, such as `dyeday mark 03 soak`, or --from FILE")
    session = choose(args, reading=False)
    day = fold(session.plan, session.events)
    now = day.on_day_clock(clock.now())
    try:
        if not (events := _typed(args, day, now)):
            raise UsageError("nothing to mark: name a state, or --unit, --acid, --heat, --reading, --note, --tag, …")
        before = {(no, f.rule) for f in open_flags(day, now) for no in f.batches or ("",)}
        checks = [*([] if args.session else [_refuse_just_closed]), *([] if args.again else [_refuse_typed_again])]
        stored = add_checked(session, events, checks)
    except EventError as error:
        raise Refusal(str(error)) from None
    after = fold(session.plan, session.events)
    raised = [f for f in open_flags(after, now) if {(no, f.rule) for no in f.batches or ("",)} - before]
    if args.json:
        print_json({"events": [e.to_json() for e in stored], "raised": [f.to_json() for f in raised]})
        return
    for event in stored:
        words = f"{event.text(after)}{orders_short(after, [event])}"
        say(f"{event.whose.rstrip()}: {words}{_other_day(event, after, now)}")
    for no in dict.fromkeys(no for event in stored for no in event.batches):
        if skipped := _skipped(day, after, no):
            say(f"   skipped: {', '.join(skipped)}. If that is wrong, mark {no} with the state it is in")
    for flag in raised:
        say(f"{flag.about} {flag_words(flag.rule.value)}: {flag.why}", f"   do: {flag.remedy}")
    if has_heated(after) and not has_heated(day):
        from dyeday.paper.sheets.cautions import FIRST_HEAT

        report([FIRST_HEAT])


PATH = (State.WAITING, State.SOAK, State.PAINT, State.FIX, State.COOL, State.RINSE, State.DRY, State.DONE)


def _skipped(before: Day, after: Day, no: str) -> list[str]:
    if no not in before.batches or no not in after.batches:
        return []
    was, batch = before.batches[no], after.batches[no]
    if was.state not in PATH or batch.state not in PATH:
        return []
    return [state_word(batch, state) for state in PATH[PATH.index(was.state) + 1 : PATH.index(batch.state)]]


def _other_day(event: Event, day: Day, now: Moment) -> str:
    """Return the date and time of an event that is not today's, else ""."""
    then, today = (local(moment, day.plan.session.zone) for moment in (event.at, now.utc))
    return "" if then.date() == today.date() else f", on {then:%a %d %b at %H:%M}"


def _refuse_typed_again(existing: Sequence[Event], fresh: Sequence[Event]) -> None:
    """Raise Refusal if the batch's latest entries are the same and were recorded within `RETRY_S`."""
    about = fresh[0].batches
    same = [e for e in effective(existing)[0] if e.batches == about and not isinstance(e.body, AlarmHandled)]
    latest = same[-len(fresh) :]
    ago_s = (fresh[0].recorded_at - latest[-1].recorded_at).total_seconds() if latest else RETRY_S
    if 0 <= ago_s < RETRY_S and [_content(event) for event in latest] == [_content(event) for event in fresh]:
        what = f"the same was recorded {ago_s:.0f} s ago and is saved"
        raise Refusal(f"{'+'.join(about)}: {what}; add --again if it happened a second time")


def _refuse_just_closed(existing: Sequence[Event], fresh: Sequence[Event]) -> None:
    """Raise Refusal if another shell closed the session since it was chosen."""
    if is_closed(existing):
        right = "`dyeday mark --session ID` adds to a closed one"
        raise Refusal(f"another terminal closed the session just now; {right}")


def _content(event: Event) -> tuple[object, ...]:
    """Return what was typed of an entry: its body, and its time if that is not the time of typing."""
    typed_at = event.at if abs((event.recorded_at - event.at).total_seconds()) > 1 else None
    return event.body, typed_at


def add_checked(session: SessionFile, events: Sequence[Event], checks: Sequence[Check] = ()) -> tuple[Event, ...]:
    """Store events, each checked after those before it. Raises EventError or as ``checks``; then none is stored."""

    def check(existing: Sequence[Event], fresh: Sequence[Event]) -> None:
        for refuse_some in checks:
            refuse_some(existing, fresh)
        day = fold(session.plan, existing)
        for event in fresh:
            refuse(day, event)
            day = take(day, event)

    return record(session, events, check)


def _typed(args: Namespace, day: Day, now: Moment) -> list[Event]:
    try:
        batches = typed_batches(day, args.batch)
    except ValueError as error:
        raise Refusal(str(error)) from None
    begun = day.first_at or now.utc
    at = typed_time(args.at, day.plan.session.zone, now, begun=begun) if args.at else None
    if at is not None and (begun - at).total_seconds() > EARLIEST_S:
        raise Refusal(f"{harmless(args.at)} is long before this day; check the date")

    def stamped(kind: type[Body], batch: str | None = None, **keys: Any) -> Event:
        body = kind.read({key: value for key, value in (*keys.items(), ("why", args.why)) if value is not None})
        return make(body, now, clock.new_id, batch=batch, at=at)

    numbers = [batch.no for batch in batches]
    moving = _movement(args, day)
    several = [option for option, value in _OF_ONE.items() if getattr(args, value)]
    if len(numbers) > 1 and several:
        raise UsageError(f"{several[0]} describes one batch: mark the batches one by one")
    for option, other in _GOES_WITH.items():
        if getattr(args, option) is not None and getattr(args, other) is None:
            raise UsageError(f"--{option} goes with a {other}: add one")
    event = partial(stamped, batch=numbers[0])
    return [*_moved(args, numbers, moving, stamped), *_of_one(args, day, event)]


_OF_ONE = {
    "--reading": "reading", "--tag": "tag", "--skeins": "skeins", "--overdye": "overdye", "--used": "used",
    "--left-over": "left_over", "--into": "into", "--note": "note",
}  # fmt: skip
"""options for one batch only, and their names in the arguments"""
_GOES_WITH = {"layer": "state", "mix": "state", "outcome": "state", "where": "reading"}
"""options that say more about another one, which must be there"""


def _movement(args: Namespace, day: Day) -> dict[str, Any]:
    """Return the typed keys of a load, without its unit and details."""
    keys: dict[str, Any] = {"to": args.state, "water": args.water, "tank": args.tank, "cover": args.cover}
    if args.acid:
        key, kind = ("acid_ml", units.VOLUME_ML) if day.plan.acid.is_liquid else ("acid_g", units.MASS_G)
        keys[key] = typed_amount("--acid", args.acid, kind)
    if args.heat:
        number, edge = args.heat
        if not number.isdecimal() or len(number) > 3:
            raise Refusal(f"--heat {brief(number)} is not a number; write --heat 1 start")
        keys |= {"pass": int(number), "run": edge}
    return {key: value for key, value in keys.items() if value is not None}


def _moved(args: Namespace, numbers: Sequence[str], did: dict[str, Any], event: Callable[..., Event]) -> list[Event]:
    """Return a load for several things or batches, else the single event, or none."""
    unit = args.unit
    how = {"layer": args.layer, "outcome": args.outcome, "mix": args.mix}
    acid = {key: did[key] for key in ("acid_ml", "acid_g") if key in did}
    if acid and unit is None and len(numbers) == 1:
        # Without a unit, the acid is the batch's own.
        rest = {key: value for key, value in did.items() if key not in acid}
        own = event(AcidPutIn, batch=numbers[0], **acid)
        return [*(_moved(args, numbers, rest, event) if rest else ()), own]
    for option in ("water", "tank", *acid):
        if unit is None and option in did:
            raise UsageError(f"--{option.split('_')[0]} needs the unit it is for: add --unit 'tray 1'")
    several = len(numbers) > 1 or len(did.keys() - {"run"}) > 1
    if (several and (did or unit)) or "tank" in did or (unit and did.keys() == {"cover"}):
        return [event(Load, batches=list(numbers), unit=unit, **how, **did)]
    one = partial(event, batch=numbers[0])
    if "to" in did:
        return [one(Moved, unit=unit, **how, **did)]
    if acid:
        return [one(AcidPutIn, unit=unit, **acid)]
    if "run" in did:
        return [one(Heated, unit=unit, **did)]
    if unit:
        return [one(Placed, unit=unit, **did)]
    return [one(Covered, **did)] if "cover" in did else []


def _of_one(args: Namespace, day: Day, event: Callable[..., Event]) -> Iterator[Event]:
    for typed in args.reading or ():
        name, value = _reading(typed)
        yield event(Measured, reading=name, value=value, where=args.where)
    if args.tag is not None:
        yield event(Tagged, tag=args.tag)
    if args.skeins is not None:
        yield event(Counted, skeins=args.skeins)
    if args.overdye:
        yield event(Overdyed, colourway=args.overdye)
    if args.used or args.left_over:
        used, left = _amounts(args.used, "--used", day), _amounts(args.left_over, "--left-over", day)
        yield event(DyeUsed, used=used or None, left_over=left or None)
    if args.into:
        yield event(Split, into=_parts(args.into))
    if args.note:
        yield event(Noted, note=args.note)


def _amounts(typed: Sequence[str] | None, option: str, day: Day) -> dict[str, Any]:
    """Return the ``used`` of "Peat=120 mL" (solution), "Peat=0.4 g" (powder), "soap=5 mL" (extra), added up."""
    out: dict[str, Any] = {}
    extras = {extra.name.casefold(): extra for extra in day.plan.extras}
    dyes = {dye.name.casefold(): dye.name for dye in day.plan.dyes}
    for one in typed or ():
        name, equals, quantity = (part.strip() for part in one.partition("="))
        extra = extras.get(name.casefold())
        if not equals:
            raise Refusal(f"{option} {brief(one)} has no amount; write it as {option} 'Peat=120 mL'")
        if extra is None and name.casefold() not in dyes:
            known = similar(name, [*dyes.values(), *(e.name for e in extras.values())])
            raise Refusal(f"{option}: no dye or extra is called {brief(name)}; {known}")
        weighed = extra.unit == "g" if extra is not None else _is_weight(quantity)
        amount = typed_amount(f"{option} {harmless(name)}", quantity, units.MASS_G if weighed else units.VOLUME_ML)
        into = out.setdefault("extra", {}) if extra is not None else out.setdefault("powder", {}) if weighed else out
        key = extra.name if extra is not None else dyes[name.casefold()]
        into[key] = into.get(key, 0.0) + amount
    return out


def _is_weight(quantity: str) -> bool:
    """Return whether a text has a unit of weight; a bare number is solution."""
    try:
        units.read(quantity, units.VOLUME_ML)
    except units.QuantityError:
        return True
    return False


def _parts(typed: Sequence[str]) -> dict[str, int]:
    if len(typed) < 2:
        raise Refusal("--into names one part only; write two or more, such as --into 03a=3 03b=2")
    parts = {}
    for part in typed:
        number, equals, skeins = part.partition("=")
        if not equals or not skeins.isdecimal() or len(skeins) > 5:
            raise Refusal(f"--into {brief(part)} is not a part; write --into 03a=3 03b=2")
        parts[number.strip()] = int(skeins)
    return parts


def _reading(typed: str) -> tuple[str, Any]:
    name, equals, text = typed.partition("=")
    if not equals or not text.strip():
        raise Refusal(f"{brief(typed)} is not a reading; write --reading ph=4.6")
    try:
        kind = ReadingKind.SWATCH if name == "sample" else term(ReadingKind)("reading", name)
        return kind.value, typed_reading(kind, text)
    except ValueError as error:
        raise Refusal(f"--reading {harmless(name)}: {error}") from None


def _mark_many(args: Namespace) -> None:
    session = choose(args, reading=False)
    name = args.from_file
    read = read_events(read_text(Path(name)), fold(session.plan, session.events).on_day_clock(clock.now()))

    def check(existing: Sequence[Event], fresh: Sequence[Event]) -> None:
        refused = refuse_all(session.plan, existing, fresh, read.logged)
        wrong = {**read.complaints, **{read.lines[i]: str(error) for i, error in refused.items()}}
        if wrong:
            raise Refusal(*first_lines(f"{name}:{line}: {wrong[line]}" for line in sorted(wrong)))

    stored = record(session, read.events, check)
    report_import(args, len(stored), len(read.events) - len(stored))


class ReadLines(NamedTuple):
    """Events read from lines of JSON; lines count from 1."""

    events: list[Event]
    lines: dict[str, int]
    """the line of each event by its id"""
    logged: set[str]
    """ids that the lines gave: they come from a log"""
    complaints: dict[int, str]
    """what is wrong, by line"""


def read_events(text: str, now: Moment) -> ReadLines:
    """Return the events in lines of JSON; identical lines are two events, lines of one id are one."""
    read = ReadLines([], {}, set(), {})
    seen: Counter[str] = Counter()
    for number, line in enumerate(text.split("\n"), 1):
        if not line.strip():
            continue
        try:
            raw = strict_json(line)
            twin = seen[line.strip()]
            seen[line.strip()] += 1
            event = read_event(raw, now, twin=twin)
            refuse_years(event)
        except EventError as error:
            read.complaints[number] = str(error)
            continue
        except RecursionError:
            read.complaints[number] = "it is nested too deeply; an event has at most three levels"
            continue
        except ValueError as error:
            read.complaints[number] = f"this is not JSON ({error}); write one object a line"
            continue
        if event.id in read.lines:
            continue
        read.events.append(event)
        read.lines[event.id] = number
        if "id" in raw:
            read.logged.add(event.id)
    return read
