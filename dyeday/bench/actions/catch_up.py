"""Catching up after a gap: lists what you probably did, and records it line by line with a time marked "about"."""

from __future__ import annotations

from dataclasses import replace

from rich.text import Text
from textual.app import ComposeResult
from textual.events import Key
from textual.widgets import Static

from dyeday.bench.main_screen import BenchScreen
from dyeday.bench.prompts.prompts import Question, Strip
from dyeday.bench.prompts.proposals import MOST, Proposal, ProposalKey, last_entry_at, open_heats, proposals
from dyeday.terms import HeatEdge
from dyeday.text import clip, harmless
from dyeday.track.timestamp import Moment

KEYS = "Enter: yes · digits: its time{} · Space: no · Esc ends"
KEYS_TYPING = "Enter: yes, record it at this time · Backspace deletes · Esc ends"


class CatchUp(Question[None]):
    """The list of what probably happened since a moment; Enter records its first line, at the time typed for it."""

    def __init__(self, stage: BenchScreen, since: Moment) -> None:
        super().__init__()
        self.stage, self.live, self.since = stage, stage.live, since
        self.left_out: list[str] = []  # batches of which nothing more is proposed
        self.on = open_heats(self.live.day)  # only their ends come first: the end of one begun here keeps its turn
        self.wrong = ""
        self.shown: set[ProposalKey] = set()
        self._list(None)

    def _proposed(self) -> list[Proposal]:
        return proposals(self.live.day, self.since, self.live.now(), self.left_out, self.on, self.shown)

    @property
    def uses_a(self) -> bool:
        """Whether a time is being typed, whose `a` silences no alarm."""
        return bool(self.typed)

    def compose(self) -> ComposeResult:
        with Strip():
            yield Static(Text("Did you do these?", style="bold"))
            yield Static(id="catch-up-lines")
            yield Static(id="catch-up-keys")

    def show(self) -> None:
        width, text = max(20, self.app.size.width - 2), Text()
        for n, one in enumerate(self.proposals):
            at = f"about {self.live.time_text(one.at.utc)}"
            if self.typed and n == 0:
                at = f"{self.typed}_" + (f" = {self.live.time_text(self.typed_at.utc)}" if self.typed_at else "")
            line = clip(f"{'>' if n == 0 else ' '} {at:<14} {one.batch} {one.text}", width)
            text.append(harmless(line) + "\n", style="bold" if n == 0 else "")
        text.rstrip()
        self.query_one("#catch-up-lines", Static).update(text)
        tank = " · f: tank filled or not" if self.proposals[0].offer.tank else ""
        keys = KEYS_TYPING if self.typed else KEYS.format(tank)
        style = self.look.flag_style if self.wrong else self.look.quiet
        self.query_one("#catch-up-keys", Static).update(Text(self.wrong or keys, style=style))

    def on_key(self, event: Key) -> None:
        if event.key == "escape":
            return
        event.stop()
        char, chosen, self.wrong = event.character or "", self.proposals[0], ""
        if event.key == "enter":
            if self._take(chosen):
                self._list(None)
        elif char == "f" and chosen.offer.tank is not None:
            self.proposals[0] = replace(chosen, is_tank_filled=not chosen.is_tank_filled)
        elif event.key == "backspace" or (char and (char in "0123456789" or (self.typed and char.isprintable()))):
            # Behind a digit, any character of a time: "02:30A", "1 h", "20 min".
            self._type(self.typed[:-1] if event.key == "backspace" else self.typed + char)
            self._list(chosen)
        elif event.key == "space":
            self.left_out.append(chosen.batch)
            self._list(None)
        if self.proposals:
            self.show()
        else:
            self.dismiss(None)
            if self.wrong:
                self.stage.say(self.wrong, wrong=True)

    def _list(self, chosen: Proposal | None) -> None:
        """Update the proposals; the ``chosen`` line stays on top, unchanged."""
        fresh = (one for one in self._proposed() if chosen is None or one.key != chosen.key)
        self.proposals = [*filter(None, (chosen,)), *fresh][:MOST]
        if chosen is None:
            self._type("")
        self.shown |= {one.key for one in self.proposals}
        ends = (one for one in self.proposals if one.step.edge is HeatEdge.END)
        asked = (one for one in ends if (one.batch, one.step.heat_no) not in self.on)
        self.stage.asked_about = frozenset(name for one in asked for name in (one.batch, one.step.unit) if name)

    def on_unmount(self) -> None:
        self.stage.asked_about = frozenset()

    def _type(self, typed: str) -> None:
        self.typed, self.typed_at, self.unreadable = typed, None, ""
        try:
            self.typed_at = self.live.typed_moment(typed)
        except ValueError as error:
            self.unreadable = str(error)

    def _take(self, one: Proposal) -> bool:
        """Record a proposal at the time shown for it; return whether that changed the list."""
        if self.typed and self.typed_at is None:
            self.wrong = self.unreadable
            return False
        if all(one.key != fresh.key for fresh in self._proposed()):
            self.wrong = "not recorded: it is on record already, or what came before it has changed"
            return True
        recorded = self.stage.record(*one.drafts, at=self.typed_at or one.at, approximate=not self.typed)
        self.wrong = "" if recorded else self.stage.message[0]
        return recorded


def catch_up(stage: BenchScreen) -> None:
    """Show what has probably happened since the last entry, to accept or skip."""
    if (since := last_entry_at(stage.live.day)) is None:
        stage.say("no entries yet, so nothing to catch up with")
        return
    if (page := CatchUp(stage, since)).proposals:
        stage.app.push_screen(page)
    else:
        stage.say("by the plan, no entry is missing since the last one")
