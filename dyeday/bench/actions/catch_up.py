"""Catching up after a gap: what you probably did is listed, and recorded line by line with a time marked "about"."""

from __future__ import annotations

from rich.text import Text
from textual.app import ComposeResult
from textual.events import Key
from textual.widgets import Static

from dyeday.bench.actions.recorder import Actions, Recorder
from dyeday.bench.prompts.catching_up import Proposal, last_entry_at, proposals
from dyeday.bench.prompts.prompts import Question, Strip
from dyeday.paper.layout.text_page import clip
from dyeday.text import harmless
from dyeday.track.timestamp import Now, clock_near
from dyeday.track.typed_entries import minutes_ago


class CatchUp(Question[None]):
    """What has probably happened since a moment; Enter has ``acts`` record the first, at the time typed for it."""

    def __init__(self, acts: Recorder, since: Now) -> None:
        super().__init__()
        self.acts, self.keeper, self.since = acts, acts.keeper, since
        self.left_out: list[str] = []
        """batches of which nothing more is proposed"""
        self.typed = ""
        self.proposals = self._proposed()

    def _proposed(self) -> list[Proposal]:
        return proposals(self.keeper.day, self.since, self.keeper.now(), self.left_out)

    def compose(self) -> ComposeResult:
        with Strip():
            yield Static(Text("Did you do these?", style="bold"))
            yield Static(id="catch-up-lines")
            yield Static(id="catch-up-keys")

    def show(self, wrong: str = "") -> None:
        width, zone = max(20, self.app.size.width - 2), self.keeper.day.plan.session.zone
        text = Text()
        for n, one in enumerate(self.proposals):
            about = f"about {clock_near(one.at.utc, zone, self.keeper.now().utc)}"
            at = f"{self.typed}_" if self.typed and n == 0 else about
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
            wrong = self._take(self.proposals[0])
            self.typed = "" if not wrong else self.typed
        elif event.key == "space":
            self.left_out.append(self.proposals[0].batch)
            self.typed = ""
        elif event.key == "backspace":
            self.typed = self.typed[:-1]
        elif char and char in "0123456789.:":
            self.typed += char
        self.proposals = self._proposed()
        if not self.proposals:
            self.dismiss(None)
        else:
            self.show(wrong)

    def _take(self, one: Proposal) -> str:
        """Record a proposal at the time typed, else its own; return what was wrong, "" where it is on record."""
        now, zone = self.keeper.now(), self.keeper.day.plan.session.zone
        try:
            ago_min = minutes_ago(self.typed, now, zone, self.keeper.day.start_or(now)) if self.typed else None
        except ValueError as error:
            return str(error)
        self.keeper.minutes_ago = (now.utc - one.at.utc).total_seconds() / 60 if ago_min is None else ago_min
        recorded = self.acts.record(*one.drafts, about=not self.typed)
        self.keeper.minutes_ago = 0.0
        return "" if recorded else self.acts.screen.message[0]


class CatchUpActions(Actions):
    """The page of what probably happened, shown and recorded through `Recorder`."""

    def catch_up(self) -> None:
        """Show what has probably happened since the last entry, to accept or skip."""
        since = last_entry_at(self.keeper.day)
        if since is None:
            self.screen.say("nothing is on record yet: nothing to catch up with")
            return
        page = CatchUp(self.acts, since)
        if page.proposals:
            self.screen.app.push_screen(page)
        else:
            self.screen.say("nothing is missing since the last entry, as far as the plan tells")
