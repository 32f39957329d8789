"""`dyeday`, `open` and `demo`: the bench on a session."""

from __future__ import annotations

import gc
import json
import os
import shlex
import sys
import tempfile
import traceback
from argparse import Namespace
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from dyeday.commands.common import Refusal, answer, complain, say, tell_of_copy
from dyeday.files.durable import StoreError
from dyeday.store import clock
from dyeday.text import counted, harmless
from dyeday.track.timestamp import local

if TYPE_CHECKING:
    from dyeday.ahead.forecast import Forecast
    from dyeday.ahead.what_if import Gain
    from dyeday.bench.app import BenchApp
    from dyeday.bench.input.idle_gate import IdleGate
    from dyeday.bench.live_session import LiveSession
    from dyeday.files.settings import SoundPrograms
    from dyeday.store.session_file import SessionFile
    from dyeday.terms import WorkKind
    from dyeday.track.day.day_state import Day
    from dyeday.track.durations.learned_times import Learned
    from dyeday.track.timestamp import Now


def open_plan(args: Namespace) -> int:
    """Begin a plan's day, or go on with it, and show the bench. Raises Refusal or StoreError."""
    from dyeday.commands.days.check_and_begin import begun

    session, told = begun(args, Path(args.plan))
    complain(told)
    return run_bench(session)


def demo(args: Namespace) -> int:
    """Show an invented day on the bench, in a folder that is removed after it; or make it in ``--into``."""
    from dyeday.commands.screens.demo import QUIET, make_demo

    if args.into:
        made = make_demo(Path(args.into), clock.now(), QUIET)
        answer({"id": made.about.id, "data": args.into}) if args.json else say(
            f"demo day {made.about.id} is in {harmless(args.into)}",
            f"try: dyeday --data {shlex.quote(harmless(args.into))} summary",
        )
        return 0
    with tempfile.TemporaryDirectory(prefix="dyeday-demo-") as folder:
        return run_bench(make_demo(Path(folder), clock.now(), QUIET), is_demo=True)


SWITCH_S = 0.0005
AHEAD_S = 0.05
"""of work for each of the forecast's two answers, after an event"""
MINUTE_S = 0.02
"""where only a minute has passed: the way found before is followed, and little searched"""
FIRST_S = 0.15
"""for the first look at a day: what it says of tonight is what the morning is planned by"""
SETTLING_S = 0.05
"""where only a minute has passed and the look before still found hands off sooner than the one before that"""


class BenchForecasts:
    """What forecasts for a bench, in pauses of the keys, by the studio's own times; read at the first forecast."""

    def __init__(self, data: Path, quiet: IdleGate) -> None:
        self.data = data
        self.quiet = quiet
        self._own: Mapping[WorkKind, Learned] | None = None
        self._late_scale: float | None = None
        self._seen: Day | None = None
        self._settling = True

    def own(self) -> Mapping[WorkKind, Learned]:
        """Return the studio's learned times by kind of work, read once. Raises StoreError."""
        if self._own is None:
            from dyeday.commands.studio_at_hand import own_times

            self._own = own_times(self.data)
        return self._own

    def late_scale(self) -> float:
        """Return the factor on the late case that the studio's closed days give, worked out once."""
        if self._late_scale is None:
            from dyeday.commands.accuracy_answer import own_late_scale

            self._late_scale = own_late_scale(self.data)
        return self._late_scale

    def look(self, day: Day, now: Now, before: Forecast | None) -> Forecast:
        """Return the forecast: a tenth of a second of search after an event, less where only a minute has passed.

        More for the first of a bench; and every minute as long as that still brings something.
        """
        from dyeday.ahead.forecast import forecast

        fresh, self._seen = day is not self._seen, day
        minute_s = SETTLING_S if self._settling else MINUTE_S
        seconds = FIRST_S if before is None else AHEAD_S if fresh else minute_s
        found = forecast(
            day,
            now,
            budget=lambda: self.quiet.lasting(seconds),
            before=before,
            learned=self.own(),
            late_scale=self.late_scale(),
        )
        self._settling = before is None or fresh or found.hands_off < before.hands_off
        return found

    def what_if(self, day: Day, now: Now, found: Forecast, wanted: Callable[[], bool]) -> Iterator[Gain]:
        """Yield what each change gains, with pauses while keys are pressed, until ``wanted`` returns False."""
        from dyeday.ahead.what_if import gains

        def still() -> bool:
            self.quiet.wait()
            return wanted()

        return gains(day, now, found, learned=self.own(), wanted=still)


def _sounds() -> tuple[SoundPrograms, str]:
    """Return this computer's sound programs, and why there are none where they cannot be read."""
    from dyeday.files.settings import SoundPrograms, read_sounds

    try:
        return read_sounds(), ""
    except StoreError as error:
        return SoundPrograms(), f"only the bell sounds: {error}"


def _rescue(keeper: LiveSession, crash: str) -> None:
    """Put what could not be saved where there is room. Raises Refusal with where that is, and with a crash."""
    from dyeday.commands.crashes import crash_lines

    head = crash_lines(crash, "not all entries are in the data folder") if crash else ()
    why = keeper.trouble.why if keeper.trouble is not None else "nothing can be saved"
    count, session_id = len(keeper.unsaved), keeper.file.about.id
    lines = [json.dumps(event.to_json(), ensure_ascii=True) for event in keeper.unsaved]
    try:
        from dyeday.files.rescue import keep_elsewhere

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
    """Have the records take in what they lack, and copy them where they changed; say what there is to say."""
    from dyeday.store.records.catching_up import catch_up
    from dyeday.store.records.copies import records_of

    told: list[str] = []
    try:
        catch_up(data, told.append)
        records_of(data).back_up(clock.now().utc)
    except StoreError as error:
        told.append(str(error))
    if told:
        app.call_later(app.tell_meanwhile, "The records", told)


def _night(day: Day, data: Path) -> list[str]:
    """Return what the night did to what came from an earlier session, until something happens in this one."""
    if day.first_at is not None or not any(batch.carried for batch in day.live):
        return []
    from dyeday.commands.studio_at_hand import own_times
    from dyeday.studio.carry_over import overnight

    return overnight(day, clock.now(), own_times(data))


CLOCK_BEHIND_S = 120.0
"""two computers of one studio may differ by a minute or so"""


def _clock_behind(day: Day, now: Now) -> list[str]:
    """Return what is told where this computer's clock stands before the last entry, [] where it does not."""
    last = max((event.recorded_at for event in day.events), default=None)
    here = day.steady(now)
    if last is None or (last - here.utc).total_seconds() < CLOCK_BEHIND_S:
        return []
    zone = day.plan.session.zone
    return [
        f"This computer's clock says {local(now.utc, zone):%a %d %b %Y %H:%M};",
        f"the last entry is of {local(last, zone):%a %d %b %Y %H:%M}.",
        "Leave with q, set the computer's date, time and time zone, and open the bench again:",
        "until then timers stand still, and your entries get times that are too early.",
    ]


def can_show() -> bool:
    """Tell whether there is a terminal that can place text."""
    return sys.stdin.isatty() and sys.stdout.isatty() and os.environ.get("TERM") not in ("dumb", "")


def must_have_screen(otherwise: str) -> None:
    """Raise Refusal where there is no terminal that can place text."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise Refusal(f"the bench needs a terminal; {otherwise}")
    if os.environ.get("TERM") in ("dumb", ""):
        raise Refusal(f"this terminal (TERM={os.environ['TERM']}) cannot position text; {otherwise}")


THROWN_AWAY = "The demo is deleted. `dyeday open PLAN` starts a day."


HINTS = (
    "A made-up day: Enter offers what is next, Enter again records it. v is the far view, ? lists the keys. "
    "q, then Enter, leaves."
)


def ascii_only() -> bool:
    """Tell whether this terminal's locale knows ASCII only."""
    from dyeday.bench.looks.ascii_signs import knows_ascii_only

    return os.name == "posix" and knows_ascii_only(os.environ)


def run_bench(session: SessionFile, *, is_demo: bool = False) -> int:
    """Show the bench until it is left. Raises Refusal where there is no terminal to show it on."""
    must_have_screen("`dyeday flags`, `dyeday log` and `dyeday summary` answer without one")
    from dyeday.bench.app import BenchApp
    from dyeday.bench.input.idle_gate import IdleGate
    from dyeday.bench.live_session import LiveSession
    from dyeday.commands.screens.page_opener import page_opener

    mine = session.hold_bench()

    def after_start() -> None:
        gc.collect()
        gc.freeze()
        gc.enable()
        app.tell_meanwhile("The clock is behind", _clock_behind(keeper.day, clock.now()))
        app.tell_meanwhile("The night", _night(keeper.day, data))
        if mine:
            session.back_up()
        if is_demo:
            app.bench.say(HINTS)
        else:
            app.run_worker(lambda: _look_after_records(app, data), thread=True)

    try:
        keeper = LiveSession(session, clock.now, clock.new_id, watching=not mine)
        quiet = IdleGate()
        # What computes beside the keys gives way after half a millisecond, not after five.
        sys.setswitchinterval(SWITCH_S)
        data = session.path.parent.parent
        ahead = BenchForecasts(data, quiet)
        sounds, silent = _sounds()
        app = BenchApp(
            keeper,
            foresee=ahead.look,
            after_start=after_start,
            quiet=quiet,
            what_if=ahead.what_if,
            is_demo=is_demo,
            ascii_only=ascii_only(),
            sounds=sounds,
            open_page=page_opener(),
        )
        app.sounds.failed = silent
        crash = app.show()
        app.elsewhere.close()
        try:
            saved = keeper.save()
        except Exception:
            if not crash:
                raise
            # What crashed may have broken the store's state as well: what is only in memory is kept elsewhere.
            saved, crash = not keeper.unsaved, f"{crash}\nThen saving:\n{traceback.format_exc()}"
        if not saved:
            _rescue(keeper, crash)
    finally:
        session.release_bench()
    if crash:
        after = "the demo is deleted" if is_demo else "all entries are saved: `dyeday` continues the day"
        from dyeday.commands.crashes import crash_lines

        raise Refusal(*crash_lines(crash, after))
    if not is_demo:
        tell_of_copy(session)
    say(THROWN_AWAY if is_demo else f"{session.about.id}: everything is saved. `dyeday` opens it again.")
    return 0
