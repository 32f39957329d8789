"""`times`: planned and actual minutes of past sessions, and which of them forecasts use."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterator
from statistics import median
from typing import Any

from dyeday.ahead.accuracy import accuracy_of, accuracy_text
from dyeday.commands.common import copy_records, opened, print_json, say, sessions
from dyeday.commands.studio_records import recorded_forecasts
from dyeday.plan.serialize import to_plain
from dyeday.store.records.times import TimesRecords
from dyeday.terms import WorkKind
from dyeday.track.durations import (
    ATTENDED,
    LYING,
    TIMED,
    Learned,
    ObservedDuration,
    durations_of,
    learned,
    to_reckon_with,
)
from dyeday.track.folding.fold import fold
from dyeday.track.timestamp import length_text

Times = dict[WorkKind, Learned]
SESSIONS_AGAIN = 60
"""sessions read by ``--again``, newest first: more than a year of Saturdays"""
WORDS = {
    WorkKind.PAINTED: "paint", WorkKind.SPECKLED: "speckle", WorkKind.IMMERSED: "dye in the pot",
    WorkKind.RINSE: "rinse", WorkKind.LOAD: "load a unit", WorkKind.UNLOAD: "unload a unit",
    WorkKind.COOL_OUT: "cool, lifted out", WorkKind.COOL_IN_PLACE: "cool in place",
    WorkKind.DRY: "dry (at 20 °C, 65 %)", WorkKind.SOAK: "lay in the soak",
}  # fmt: skip


def times(args: Namespace) -> None:
    """Print actual against planned minutes; use learned times, forget them, or read past days again."""
    if args.day:
        _one_day(args)
        return
    file = TimesRecords(args.data)
    if args.again:
        file.replace_observed(_again(args))
    seen = [one for _, one in file.observed()]
    by_kind = learned(seen)
    if args.take or args.forget:
        file.use({} if args.forget else to_reckon_with(by_kind))
    if args.again or args.take or args.forget:
        copy_records(args)
    own = file.in_use()
    accuracy = accuracy_of(recorded_forecasts(args.data))
    rows = {kind: _data(kind, seen, by_kind, own) for kind in TIMED if any(one.kind == kind for one in seen)}
    if args.json:
        print_json({"times": list(rows.values()), "kept": to_plain(accuracy)})
    else:
        say(*_lines(rows, by_kind, own))
        if accuracy is not None:
            say(f"Forecasts: {accuracy_text(accuracy)}.")


def _again(args: Namespace) -> list[tuple[str, tuple[ObservedDuration, ...]]]:
    stored = sessions(args)
    out = []
    for session_id in reversed(stored.ids()[:SESSIONS_AGAIN]):
        file = stored.open(session_id)
        day = fold(file.plan, file.events)
        if day.closed is not None:
            out.append((session_id, durations_of(day)))
    return out


def _data(kind: WorkKind, seen: list[ObservedDuration], by_kind: Times, own: Times) -> dict[str, Any]:
    observed = [one for one in seen if one.kind == kind]
    timed = [one.actual_min for one in observed if not one.at_most]
    each = by_kind.get(kind)
    return {
        "kind": kind.value,
        "planned_min": median(one.planned_min for one in observed),
        "actual_min": median(timed) if timed else None,
        "at_most_min": None if timed else median(one.actual_min for one in observed),
        "seen": len(observed),
        "n": each.n if each is not None else 0,
        "factor": each.factor if each is not None else 1.0,
        "spread": each.spread if each is not None else None,
        "reckoned_with": kind not in LYING,
        "in_use": to_plain(own[kind]) if kind in own else None,
    }


def _lines(rows: dict[WorkKind, dict[str, Any]], by_kind: Times, own: Times) -> Iterator[str]:
    if not rows:
        yield "no learned times yet: closing a day adds them"
        return
    yield f"{'':22} {'planned':>8} {'actual':>9} {'seen':>5}  {'factor':>6}  forecasts use"
    for kind, row in rows.items():
        most = row["at_most_min"]
        actual = length_text(row["actual_min"]) if most is None else f"<{length_text(most)}"
        factor = f"{row['factor']:.2f}" if kind in by_kind and kind not in LYING else "-"
        by = f"{own[kind].factor:.2f} times the plan" if kind in own and kind not in LYING else "the plan"
        yield f"{WORDS[kind]:22} {length_text(row['planned_min']):>8} {actual:>9} {row['seen']:>5}  {factor:>6}  {by}"
    below = "; < is an upper limit" if any(row["at_most_min"] for row in rows.values()) else ""
    yield f"Medians{below}; a factor stays near 1 while few were seen."
    stale = [k for k, e in to_reckon_with(by_kind).items() if k not in own or abs(own[k].factor - e.factor) > 0.05]
    if stale:
        yield "`dyeday times --take` makes forecasts use these factors."
    elif own:
        yield "Forecasts use these factors; `dyeday times --forget` goes back to the plan's minutes."


def _one_day(args: Namespace) -> None:
    at = opened(args, reading=True)
    durations = sorted(durations_of(at.day), key=lambda one: (TIMED.index(one.kind), one.batch))
    if args.json:
        print_json({"session": at.file.about.id, "taken": to_plain(tuple(durations))})
        return
    say(f"{at.file.about.id}: planned and actual minutes")
    for one in durations:
        tail = f", {one.ratio:.2f} times as long" if one.kind in ATTENDED else ""
        planned, actual = length_text(one.planned_min), length_text(one.actual_min)
        say(f"  {one.batch} {WORDS[one.kind]}: {planned} planned, {'at most ' * one.at_most}{actual} actual{tail}")
    if not durations:
        say("  nothing is finished yet")
