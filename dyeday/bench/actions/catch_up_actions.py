"""Catching up after a gap: what probably happened is proposed, and taken line by line with a time marked "about"."""

from __future__ import annotations

from collections.abc import Sequence

from dyeday.bench.actions.recorder import Recorder
from dyeday.bench.prompts.catching_up import Proposal, last_entry_at, proposals
from dyeday.bench.screens.catch_up_screen import CatchUp
from dyeday.paper.local_time import clock_near
from dyeday.track.typed_entries import minutes_ago


class CatchUpActions:
    """The page of what probably happened, shown and recorded through `Recorder`."""

    def __init__(self, acts: Recorder) -> None:
        self.acts = acts
        self.keeper = acts.keeper

    def catch_up(self) -> None:
        """Show what has probably happened since the last entry, to take or leave."""
        since = last_entry_at(self.keeper.day)
        if since is None:
            self.acts.screen.say("nothing is on record yet: nothing to catch up with")
            return
        zone = self.keeper.day.plan.session.zone

        def fetch(left_out: Sequence[str]) -> list[Proposal]:
            return proposals(self.keeper.day, since, self.keeper.now(), left_out)

        def take(one: Proposal, typed: str) -> str:
            now = self.keeper.now()
            try:
                ago_min = minutes_ago(typed, now, zone, self.keeper.day.began(now)) if typed else None
            except ValueError as error:
                return str(error)
            ago_min = (now.utc - one.at.utc).total_seconds() / 60 if ago_min is None else ago_min
            self.keeper.minutes_ago = ago_min
            recorded = self.acts.record(*one.drafts, about=not typed)
            self.keeper.minutes_ago = 0.0
            return "" if recorded else self.acts.screen.said[0]

        if not fetch(()):
            self.acts.screen.say("nothing is missing since the last entry, as far as the plan tells")
            return
        page = CatchUp(fetch, lambda one: clock_near(one.at.utc, zone, self.keeper.now().utc), take)
        self.acts.screen.app.push_screen(page)
