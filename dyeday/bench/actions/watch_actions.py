"""The page for phones and tablets: started after one question, its address and QR code shown, and stopped."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest

from rich.text import Text

from dyeday.bench.actions import Actions
from dyeday.bench.plain_app import ask
from dyeday.bench.prompts.prompts import Choose, KeyChoice
from dyeday.bench.screens.text_screens import Reader
from dyeday.bench.watch_link import CLOSED, HERE_WORDS, PAGE_WORDS, CannotShowError, WatchPage
from dyeday.text import wrap

DARK_ON_LIGHT = "black on bright_white"
"""a QR code as phones read it, whatever the look of the bench"""
LEAST, GAP = 30, 4
"""columns that the words need beside the code, and the space between and around them"""


class WatchActions(Actions):
    """What the key of the page asks and does."""

    async def watch(self) -> None:
        """Start the page for phones, show its code, or stop it; ask before each."""
        phones = self.screen.bench_app.phone_page
        if self.live.day.closed is not None:
            self.screen.say(f"{CLOSED}: there is nothing to show on phones", wrong=True)
        elif phones.page is None:
            choices = [
                KeyChoice("n", True, "the phones and tablets of this network"),
                KeyChoice("c", False, "this computer only"),
            ]
            label = "Show what is next and the timers, read-only, on a page for"
            self._start(network=await ask(Choose(label, choices)))
        else:
            choices = [
                KeyChoice("c", True, "show its code and address"),
                KeyChoice("x", False, "switch the page off"),
            ]
            if await ask(Choose("The page for phones is on", choices)) and phones.page is not None:
                self._show_code(phones.page)
            else:
                phones.stop("it was switched off at the bench")
                self.screen.paint()
                self.screen.say("the page for phones is off")

    def _start(self, *, network: bool) -> None:
        try:
            page = self.screen.bench_app.phone_page.start(network=network)
        except CannotShowError as error:
            self.screen.say(str(error), wrong=True)
            return
        self.screen.bench_app.tick()
        self.screen.say("the page for phones is on; W shows its code or switches it off")
        self._show_code(page)

    def _show_code(self, page: WatchPage) -> None:
        app = self.screen.bench_app
        is_there = app.phone_page.is_for_network
        code = list(page.code) if is_there and not app.ascii_only else []
        title, words = ("phones and tablets", PAGE_WORDS) if is_there else ("this computer", HERE_WORDS)
        app.push_screen(Reader(f"A page for {title}", page_text(page.url, code, app.size.width, words)))


def page_text(url: str, code: Sequence[str], width: int, paragraphs: Sequence[str]) -> Text:
    """Return the address, then the words with the ``code`` beside them, or below if ``width`` has no room."""
    beside = width - max((len(line) for line in code), default=0) - GAP
    fits = beside >= LEAST
    cells = beside if fits else max(LEAST, width - 3)
    words = [line for paragraph in paragraphs for line in (*wrap(paragraph, cells), "")]
    text = Text(f"{url}\n\n", style="bold", no_wrap=True)
    rows = (
        zip_longest(words, code, fillvalue="") if fits else [(line, "") for line in words] + [("", c) for c in code]
    )
    for line, blocks in rows:
        text.append(line.ljust(beside) if fits else line, style="not bold")
        text.append(f"{blocks}", style=f"not bold {DARK_ON_LIGHT}" if blocks else "")
        text.append("\n")
    return text
