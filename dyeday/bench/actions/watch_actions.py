"""The page for phones and tablets: started after one question, its address and QR code shown, and stopped."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from dyeday.bench.prompts.prompts import Choice, Choose
from dyeday.bench.screens.text_screens import Reader
from dyeday.bench.watch_link import CLOSED, PAGE_WORDS, CannotShowError, WatchPage

if TYPE_CHECKING:
    from dyeday.bench.actions.bench_actions import Acts

DARK_ON_LIGHT = "black on bright_white"
"""a QR code as phones read it, whatever the look of the bench"""


class Watching:
    """What the key of the page asks and does."""

    def __init__(self, acts: Acts) -> None:
        self.acts = acts
        self.elsewhere = acts.screen.bench_app.elsewhere

    def watch(self) -> None:
        if self.acts.keeper.day.closed is not None:
            self.acts.screen.say(f"{CLOSED}: there is nothing to show on phones", wrong=True)
        elif self.elsewhere.page is None:
            choices = [
                Choice("n", "network", "the phones and tablets of this network"),
                Choice("c", "computer", "this computer only"),
            ]
            label = "Show what is next and the clocks, to read only, on a page for"
            self.acts.ask(Choose(label, choices), lambda to: self._start(network=to == "network"))
        else:
            choices = [Choice("c", "code", "show its code and address"), Choice("x", "stop", "switch the page off")]
            self.acts.ask(Choose("The page for phones is on", choices), self._go_on)

    def _start(self, *, network: bool) -> None:
        try:
            page = self.elsewhere.start(network=network)
        except CannotShowError as error:
            self.acts.screen.say(str(error), wrong=True)
            return
        self.acts.screen.bench_app.tick()
        self.acts.screen.say("the page for phones is on; W shows its code again, or switches it off")
        self._show_code(page)

    def _go_on(self, what: str) -> None:
        if what == "code" and self.elsewhere.page is not None:
            self._show_code(self.elsewhere.page)
        else:
            self.elsewhere.stop("it was switched off at the bench")
            self.acts.screen.paint()
            self.acts.screen.say("the page for phones is off; its address opens nothing any more")

    def _show_code(self, page: WatchPage) -> None:
        text = Text(f"{page.url}\n", style="bold")
        text.append("\n".join(PAGE_WORDS) + "\n", style="not bold")
        if not self.acts.screen.bench_app.ascii_only:
            for line in page.code:
                text.append(f"{line}", style=DARK_ON_LIGHT)
                text.append("\n")
        self.acts.screen.app.push_screen(Reader("A page for phones and tablets", text))
