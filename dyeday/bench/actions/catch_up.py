"""Catching up after a gap: what you probably did is listed, and recorded line by line with a time marked "about"."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from rich.text import Text
from textual.app import ComposeResult
from textual.events import Key
from textual.widgets import Static

from dyeday.bench.actions.recorder import Actions
from dyeday.bench.prompts.catching_up import Proposal, last_entry_at, proposals
from dyeday.bench.prompts.prompts import Question, Strip
from dyeday.paper.layout.text_page import clip
from dyeday.text import harmless
from dyeday.track.timestamp import clock_near
from dyeday.track.typed_entries import minutes_ago

Taking = Callable[[Proposal, str], str]
"""records a proposal, at a typed time where one was typed; returns what was wrong, empty where it is on record"""


class CatchUp(Question[None]):
    """``fetch`` gives the proposals there are without those of the batches left out, ``time_of`` the time of one."""

    def __init__(
        self,
        fetch: Callable[[Sequence[str]], list[Proposal]],
        time_of: Callable[[Proposal], str],
        take: Taking,
    ) -> None:
        super().__init__()
        self.fetch, self.time_of, self.take = fetch, time_of, take
        self.left_out: list[str] = []
        self.typed = ""
        self.proposals = fetch(())

    def compose(self) -> ComposeResult:
        with Strip():
            yield Static(Text("Did you do these?", style="bold"))
            yield Static(id="catch-up-lines")
            yield Static(id="catch-up-keys")

    def show(self, wrong: str = "") -> None:
        width = max(20, self.app.size.width - 2)
        text = Text()
        for n, one in enumerate(self.proposals):
            at = f"{self.typed}_" if self.typed and n == 0 else f"about {self.time_of(one)}"
            line = clip(f"{'>' if n == 0 else ' '} {at:<14} {one.batch} {one.text}", width)
            text.append(harmless(line) + "\n", style="bold" if n == 0 else "")
        text.rstrip()
        self.query_one("#catch-up-lines", Static).update(text)
        keys = wrong or "Enter: yes, record it · digits change its time · Space: no, skip it · Esc ends"
        self.query_one("#catch-up-keys", Static).update(
            Text(keys, style=self.look.flag_style if wrong else self.look.quiet)
        )

    def on_key(self, event: Key) -> None:
        char = event.character or ""
        if event.key == "escape":
            return
        event.stop()
        wrong = ""
        if event.key == "enter":
            wrong = self.take(self.proposals[0], self.typed)
            self.typed = "" if not wrong else self.typed
        elif event.key == "space":
            self.left_out.append(self.proposals[0].batch)
            self.typed = ""
        elif event.key == "backspace":
            self.typed = self.typed[:-1]
        elif char and char in "0123456789.:":
            self.typed += char
        self.proposals = self.fetch(self.left_out)
        if not self.proposals:
            self.dismiss(None)
        else:
            self.show(wrong)


class CatchUpActions(Actions):
    """The page of what probably happened, shown and recorded through `Recorder`."""

    def catch_up(self) -> None:
        """Show what has probably happened since the last entry, to accept or skip."""
        since = last_entry_at(self.keeper.day)
        if since is None:
            self.screen.say("nothing is on record yet: nothing to catch up with")
            return
        zone = self.keeper.day.plan.session.zone

        def fetch(left_out: Sequence[str]) -> list[Proposal]:
            return proposals(self.keeper.day, since, self.keeper.now(), left_out)

        def take(one: Proposal, typed: str) -> str:
            now = self.keeper.now()
            try:
                ago_min = minutes_ago(typed, now, zone, self.keeper.day.start_or(now)) if typed else None
            except ValueError as error:
                return str(error)
            ago_min = (now.utc - one.at.utc).total_seconds() / 60 if ago_min is None else ago_min
            self.keeper.minutes_ago = ago_min
            recorded = self.acts.record(*one.drafts, about=not typed)
            self.keeper.minutes_ago = 0.0
            return "" if recorded else self.screen.message[0]

        if not fetch(()):
            self.screen.say("nothing is missing since the last entry, as far as the plan tells")
            return
        page = CatchUp(fetch, lambda one: clock_near(one.at.utc, zone, self.keeper.now().utc), take)
        self.screen.app.push_screen(page)
