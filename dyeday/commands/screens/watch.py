"""`watch`: what is next and every timer on a page for phones and tablets, read from the session's file."""

from __future__ import annotations

import sys
import time
from argparse import Namespace

from dyeday.ahead.advising.advice import advice
from dyeday.ahead.foreseen_steps import Forecast
from dyeday.bench.input.idle_gate import IdleGate
from dyeday.bench.live_session import LiveSession
from dyeday.bench.watch_link import CLOSED, PAGE_WORDS, CannotShowError, WatchPage
from dyeday.commands.common import Refusal, choose, report, say
from dyeday.commands.screens.bench_services import BenchForecasts, ascii_only, open_page
from dyeday.store import clock
from dyeday.track.day.day_state import Day

LOOK_S = 0.5
"""how often the session's file is checked: the page shows an entry within two seconds"""
LAST_WORD_S = 3.5
"""how long the page still says that the day is closed"""
MOST_NEXT = 6
DARK_ON_LIGHT, RESET = "\x1b[30;107m", "\x1b[0m"


def watch(args: Namespace) -> None:
    """Serve the page of a session until it is interrupted or the day is closed. Raises Refusal."""
    file = choose(args, reading=True)
    live = LiveSession(file, clock.now, clock.new_id, read_only=True)
    if live.day.closed is not None:
        raise Refusal(f"{file.about.id} is closed; open a day with `dyeday open PLAN`")
    try:
        page = open_page(args.network is not None, args.network or "", args.port)
    except CannotShowError as error:
        raise Refusal(str(error)) from None
    try:
        _tell(page, network=args.network is not None)
        _show_until_closed(live, page)
        time.sleep(LAST_WORD_S)
    finally:
        page.close()
    say(f"{file.about.id} is closed: the page is off")


def _tell(page: WatchPage, *, network: bool) -> None:
    if sys.stdout.isatty() and not ascii_only():
        print(*(f"{DARK_ON_LIGHT}{line}{RESET}" for line in page.code), sep="\n")  # noqa: T201 - blocks of our own
    say(page.url, *PAGE_WORDS)
    if not network:
        say("It opens on this computer only; `dyeday watch --network` shows it to phones in your home network.")
    say("Ctrl+C switches it off.")
    sys.stdout.flush()


def _show_until_closed(live: LiveSession, page: WatchPage) -> None:
    """Show the day as other shells record it; while its file is unreadable, the page shows "No word"."""
    foresee = BenchForecasts(live.file.data_folder, IdleGate()).forecast
    forecast: Forecast | None = None
    asked: tuple[Day | None, int] = (None, 0)  # the forecast is renewed after an entry and every minute
    was_trouble = False
    while True:
        live.refresh()
        if live.day.closed is not None:
            page.end(CLOSED)
            return
        now = live.now()
        if live.trouble is None:
            page.show(live.day, now, advice(live.day, now, MOST_NEXT, forecast), forecast)
            minute = int(now.utc.timestamp() // 60)
            if asked[0] is not live.day or asked[1] != minute:
                asked = (live.day, minute)
                try:
                    forecast = foresee(live.day, live.now(), forecast)
                except Exception:  # timers continue without it, and the page shows no finish
                    forecast = None
                    report(["the forecast failed; the next entry tries again"])
        elif not was_trouble:
            report([f"the page shows nothing new until this is fixed: {live.trouble.why}"])
        was_trouble = live.trouble is not None
        time.sleep(LOOK_S)
