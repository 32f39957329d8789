"""Closing the day, once every heat is off, and leaving the bench; each after one question."""

from __future__ import annotations

from functools import partial

from dyeday.bench.actions import Actions
from dyeday.bench.live_session import EventDraft
from dyeday.bench.plain_app import ask
from dyeday.bench.prompts.prompts import AskText, Choose, KeyChoice
from dyeday.terms import State
from dyeday.text import batches_text, counted
from dyeday.track.day.progress import hanging_text, units_on
from dyeday.track.events.session_events import Closed
from dyeday.track.flags import to_check

OFF, CLOSE = "off", "close"
"""typed to close a day with heat on by the record, and any other: a child's y would close it for good"""
IN_HAND = (State.SOAK, State.PAINT, State.FIX, State.COOL, State.RINSE)


def _closes(word: str, typed: str) -> str:
    if typed.strip().lower() != word:
        raise ValueError(f"type {word}{' once the heat is off at the wall' if word == OFF else ''}")
    return "close the day"


class CloseActions(Actions):
    """The questions of closing and leaving."""

    async def close_day(self) -> None:
        """Ask whether every heat is off, close the day, and show what is unfinished and where."""
        day, now = self.live.day, self.live.now()
        if day.closed is not None:
            self.screen.say("this day is closed already")
            return
        left = sum(not batch.only_dries for batch in day.unfinished)
        count = counted(left, "batch is", "batches are") if left else "No batch is"
        flags = f" To check: {named}." if (named := to_check(day, now)) else ""
        to_do = f"{count} left for tomorrow{hanging_text(day)}.{flags}"
        typed = f"{to_do} When every heat is off at the wall, type"
        in_hand = batches_text([batch.no for batch in day.unfinished if batch.state in IN_HAND])
        if on := ", ".join(f"{on.unit} ({', '.join(on.batches)})" for on in units_on(day, now)):
            record = "Closing does not end heat on record; Space on the batch does (Esc first)."
            loud = f"! HEAT IS STILL ON: {on}. {record} {typed} {OFF} here:"
            question = AskText(loud, understand=partial(_closes, OFF), loud=True)
        else:
            wet = f"{in_hand} not on the rack yet. " if in_hand else ""
            question = AskText(f"{wet}{typed} {CLOSE} here:", understand=partial(_closes, CLOSE))
        await ask(question)
        if not self.screen.record(EventDraft(Closed())):
            return
        taken_in = self.live.taken_in
        if taken_in is not None and taken_in.trouble:
            self.screen.say(taken_in.trouble, wrong=True)
        elif not self.live.unsaved:
            from dyeday.studio.carry_over import unfinished_lines

            lines = taken_in.lines if taken_in is not None else ()
            self.screen.say("the day is closed; p shows its page, q leaves")
            self.screen.bench_app.tell_meanwhile("The day is closed", [*unfinished_lines(self.live.day, now), *lines])

    async def leave(self) -> None:
        """Ask once, and leave; entries that are not saved are shown first."""
        choices = [KeyChoice("y", True, "leave"), KeyChoice("n", False, "stay")]
        again = "." if self.live.day.closed is not None else "; reopen to carry on."
        is_demo, label = self.screen.bench_app.is_demo, f"Leave the bench? Everything is saved{again}"
        if is_demo:
            label = "Leave the demo? It is deleted; your own days are not touched."
        if not self.live.save():
            count = len(self.live.unsaved)
            why = self.live.trouble.why if self.live.trouble else ""
            label = f"{counted(count, 'entry is', 'entries are')} not saved: {why}. Leave anyway?"
        if await ask(Choose(label, choices, enter_accepts=is_demo, only=True)):
            self.screen.app.exit()
