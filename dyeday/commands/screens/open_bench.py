"""`dyeday`, `open` and `demo`: the bench on a session."""

from __future__ import annotations

import gc
import json
import sys
import tempfile
import traceback
from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from dyeday.commands.common import Refusal, print_json, report, report_missing_copy, say
from dyeday.commands.screens.bench_services import (
    SWITCH_S,
    BenchForecasts,
    ascii_only,
    must_have_screen,
    open_page,
    sound_programs,
)
from dyeday.files.durable import StoreError
from dyeday.files.places import crash_lines, keep_elsewhere
from dyeday.store import clock
from dyeday.text import counted, harmless
from dyeday.track.timestamp import Moment, local

if TYPE_CHECKING:
    from dyeday.bench.app import BenchApp
    from dyeday.bench.live_session import LiveSession
    from dyeday.store.session_file import SessionFile
    from dyeday.track.day.day_state import Day


def open_plan(args: Namespace) -> None:
    """Start or continue a plan's session and show the bench. Raises Refusal or StoreError."""
    from dyeday.commands.days.check_and_begin import begun

    session, messages = begun(args, Path(args.plan))
    report(messages)
    run_bench(session)


def demo(args: Namespace) -> None:
    """Show a made-up day on the bench, in a temporary folder; or write it to ``--into``."""
    from dyeday.commands.screens.demo import QUIET, make_demo

    if args.into:
        import shlex

        made = make_demo(Path(args.into), clock.now(), QUIET)
        print_json({"id": made.about.id, "data": args.into}) if args.json else say(
            f"demo day {made.about.id} is in {harmless(args.into)}",
            f"try: dyeday --data {shlex.quote(harmless(args.into))} summary",
        )
        return
    with tempfile.TemporaryDirectory(prefix="dyeday-demo-") as folder:
        run_bench(make_demo(Path(folder), clock.now(), QUIET), is_demo=True)


def _rescue(live: LiveSession, crash: str) -> None:
    """Save the unsaved entries elsewhere. Raises Refusal, which names the file, and the ``crash`` if any."""
    head = crash_lines(crash, "not all entries are in the data folder") if crash else ()
    why = live.trouble.why if live.trouble is not None else "nothing can be saved"
    count, session_id = len(live.unsaved), live.file.about.id
    lines = [json.dumps(event.to_json(), ensure_ascii=True) for event in live.unsaved]
    try:
        file = keep_elsewhere(session_id, "".join(f"{line}\n" for line in lines))
    except StoreError as error:
        raise Refusal(
            *head,
            f"NOT SAVED: {counted(count, 'entry', 'entries')}: {why}",
            f"{error}; copy these lines into a file, `dyeday mark --session {session_id} --from FILE` reads them:",
            *lines,
        ) from None
    raise Refusal(
        *head,
        f"NOT SAVED in the data folder: {counted(count, 'entry', 'entries')}: {why}",
        f"they are in {file}; once that is fixed, `dyeday mark --session {session_id} --from {file}` reads them",
    )


def _look_after_records(app: BenchApp, data: Path) -> None:
    """Bring the records up to date, copy them if changed, and show messages on the bench."""
    from dyeday.store.records.copies import records_of
    from dyeday.store.records.sync import sync_records

    messages: list[str] = []
    try:
        sync_records(data, messages.append)
        records_of(data).back_up(clock.now().utc)
    except StoreError as error:
        messages.append(str(error))
    if messages:
        app.call_later(app.tell_meanwhile, "The records", messages)


CLOCK_BEHIND_S = 120.0
"""clocks of two computers may differ by this"""


def _clock_behind(day: Day, now: Moment) -> list[str]:
    """Return a warning if this computer's clock is before the last entry, else []."""
    last = max((event.recorded_at for event in day.events), default=None)
    here = day.on_day_clock(now)
    if last is None or (last - here.utc).total_seconds() < CLOCK_BEHIND_S:
        return []
    zone = day.plan.session.zone
    return [
        f"This computer's clock says {local(now.utc, zone):%a %d %b %Y %H:%M};",
        f"the last entry is of {local(last, zone):%a %d %b %Y %H:%M}.",
        "Leave with q, set the computer's date, time and time zone, and open the bench again:",
        "until then timers stand still, and your entries get times that are too early.",
    ]


HINTS = "A made-up day: Enter offers what is next, Enter again records it. ? lists the keys."


def run_bench(session: SessionFile, *, is_demo: bool = False) -> None:
    """Show the bench until it is left. Raises Refusal without a terminal, after a crash, or for unsaved entries."""
    must_have_screen("`dyeday flags`, `dyeday log` and `dyeday summary` answer without one")
    from dyeday.bench.app import BenchApp
    from dyeday.bench.input.idle_gate import IdleGate
    from dyeday.bench.live_session import LiveSession

    lock = session.claim_bench()

    def after_start() -> None:
        gc.collect()
        gc.freeze()
        gc.enable()
        app.tell_meanwhile("The clock is behind", _clock_behind(live.day, clock.now()))
        from dyeday.commands.studio_records import night_notes

        app.tell_meanwhile("The night", night_notes(live.day, clock.now(), data))
        if lock:
            session.storage.back_up()
        if is_demo:
            app.bench.say(HINTS)
        else:
            app.run_worker(lambda: _look_after_records(app, data), thread=True)

    try:
        live = LiveSession(session, clock.now, clock.new_id, read_only=not lock)
        quiet = IdleGate()
        # Threads give way to keys after half a millisecond, not after five.
        sys.setswitchinterval(SWITCH_S)
        data = session.data_folder
        ahead = BenchForecasts(data, quiet)
        sounds, silent = sound_programs()
        app = BenchApp(
            live,
            foresee=ahead.forecast,
            after_start=after_start,
            quiet=quiet,
            what_if=ahead.what_if,
            is_demo=is_demo,
            ascii_only=ascii_only(),
            sounds=sounds,
            open_page=open_page,
        )
        app.sounds.failed = silent
        crash = app.show()
        app.phone_page.close()
        try:
            saved = live.save()
        except Exception:
            if not crash:
                raise
            # The crash may have broken the store's state too.
            saved, crash = not live.unsaved, f"{crash}\nThen saving:\n{traceback.format_exc()}"
        if not saved:
            _rescue(live, crash)
    finally:
        session.release_bench()
    if crash:
        after = "the demo is deleted" if is_demo else "all entries are saved: `dyeday` continues the day"
        raise Refusal(*crash_lines(crash, after))
    if not is_demo:
        report_missing_copy(session)
    again = "The day is closed." if live.day.closed is not None else "`dyeday` opens it again."
    deleted = "The demo is deleted. `dyeday open PLAN` starts a day."
    say(deleted if is_demo else f"{session.about.id}: everything is saved. {again}")
