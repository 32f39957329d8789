"""The two ends: the day is closed once every heat is off, the bench is left; each asks once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dyeday.bench.live_session import Draft
from dyeday.bench.prompts.prompts import Choice, Choose
from dyeday.track.events.session_events import Closed

if TYPE_CHECKING:
    from dyeday.bench.actions.bench_actions import Acts


class Ending:
    """The questions of closing and leaving, asked and recorded through `Acts`."""

    def __init__(self, acts: Acts) -> None:
        self.acts = acts
        self.keeper = acts.keeper

    def close_day(self) -> None:
        """Ask whether every heat is off, close the day, and tell what stays where."""
        live = [batch for batch in self.keeper.day.live if batch.is_live]
        now = self.keeper.now()
        on = [batch.no for batch in live if batch.open_run is not None and batch.open_run.is_on(now)]
        if self.keeper.day.closed is not None:
            self.acts.screen.say("this day is closed already")
            return
        heat = f" By the record heat is still on: {', '.join(on)}." if on else ""
        count = {0: "No batch stays", 1: "1 batch stays"}.get(len(live), f"{len(live)} batches stay")
        label = f"Is every heat off at the wall?{heat} {count} for tomorrow."
        choices = [Choice("y", "closed", "yes, close the day"), Choice("n", "", "no")]

        def answered(what: str) -> None:
            if what and self.acts.record(Draft(Closed())):
                settled = self.keeper.settled
                if settled is not None and settled.trouble:
                    self.acts.screen.say(settled.trouble, wrong=True)
                elif not self.keeper.unsaved:
                    from dyeday.studio.carry_over import stays_lines

                    told = settled.told if settled is not None else ()
                    self.acts.screen.say("the day is closed; p and return show its page, q leaves")
                    self.acts.screen.bench_app.tell_meanwhile(
                        "The day is closed", [*stays_lines(self.keeper.day), *told]
                    )

        self.acts.ask(Choose(label, choices), answered)

    def leave(self) -> None:
        """Ask once, and leave; what could not be saved is said first."""
        choices = [Choice("y", "yes", "leave"), Choice("n", "", "stay")]

        def answered(yes: str) -> None:
            if yes:
                self.acts.screen.app.exit()

        label = "Leave the bench? All is on record; opening it again goes on here."
        is_demo = self.acts.screen.bench_app.is_demo
        if is_demo:
            label = "Leave the demo? It is thrown away; your own days are not touched."
        if not self.keeper.save():
            count = len(self.keeper.unsaved)
            entries = "1 entry is" if count == 1 else f"{count} entries are"
            why = self.keeper.trouble.why if self.keeper.trouble else ""
            label = f"{entries} not saved: {why}. Leave all the same?"
        self.acts.ask(Choose(label, choices, return_takes=is_demo), answered)
