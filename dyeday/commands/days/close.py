"""`close`: the session closed and taken into the records, and what stays where."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Sequence

from dyeday.commands.common import Opened, Refusal, opened, print_json, report, report_missing_copy, say
from dyeday.store import clock
from dyeday.store.records.taking_in import take_in
from dyeday.store.session_form import is_closed
from dyeday.studio.carry_over import unfinished, unfinished_lines
from dyeday.track.day.day_state import Event, make
from dyeday.track.events.session_events import Closed
from dyeday.track.folding.fold import fold
from dyeday.track.timestamp import time_text_on

CAUTION_OFF = "Is every heat off at the wall? dyeday cannot see it. Steam burns: let units cool closed."


def close(args: Namespace) -> None:
    """Close a session, or record a closed one again. Raises Refusal if heat is on, unless with ``--yes``."""
    at = opened(args, reading=True)
    if (closed := at.day.closed) is None:
        _add_closed(args, at)
    taken_in = take_in(at.file)
    if taken_in.trouble:
        raise Refusal(taken_in.trouble)
    session, day = at.file.about.id, fold(at.file.plan, at.file.events)
    if args.json:
        left = [{"batch": batch, "where": where} for batch, where in unfinished(day, at.now)]
        data: dict[str, object] = {"closed": session, "stays": left, "told": list(taken_in.lines)}
        print_json(data if closed is None else {**data, "already": True})
    elif closed is not None:
        when = time_text_on(closed.utc, day.plan.session.zone, at.now.utc)
        say(f"{session} was closed already, {when}; it is in the records", *taken_in.lines)
    else:
        say(f"{session} is closed", *taken_in.lines, *unfinished_lines(day, at.now))
        report([CAUTION_OFF])


def _add_closed(args: Namespace, at: Opened) -> None:
    event = make(Closed(why=args.why), at.day.on_day_clock(clock.now()), clock.new_id)

    def check(existing: Sequence[Event], fresh: Sequence[Event]) -> None:
        if is_closed(existing):
            raise Refusal(f"another terminal closed {at.file.about.id} just now; nothing to do")
        batches = fold(at.file.plan, existing).unsplit
        on = [(batch, heat) for batch in batches if (heat := batch.heat_on(at.now)) is not None]
        if on and not args.yes:
            heats = ", ".join(f"{batch.no} in {batch.unit or 'heat'}" for batch, _ in on)
            first, heat = on[0]
            ends = f"dyeday mark {first.no} --heat {heat.heat_no} end"
            raise Refusal(f"heat is still on: {heats}; switch it off at the wall, then `{ends}`, or add --yes")

    at.file.add([event], check)
    report_missing_copy(at.file)
