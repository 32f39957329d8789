"""The main screen: shows the picture, chooses a batch, and hands every key that records to `bench_actions`."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING

from rich.cells import cell_len
from rich.text import Text
from textual.app import ComposeResult
from textual.events import Key
from textual.screen import Screen

from dyeday.ahead.advising.advice import URGENT_RANK
from dyeday.ahead.advising.next_step import next_step
from dyeday.ahead.advising.next_up import NextUp, next_up
from dyeday.bench.input.bench_keys import ACTIONS, COMMAND_KEYS, KEYS, WATCHING, bindings
from dyeday.bench.input.key_forwarding import TypedAhead
from dyeday.bench.input.key_lock import SMEAR_S
from dyeday.bench.live_session import Keeper
from dyeday.bench.looks.themes import Look
from dyeday.bench.view.bench_lines import (
    alarm_line,
    header_line,
    keys_line,
    next_line,
    row_line,
    scroll_bar,
    top_line,
    unsaved_line,
    unsaved_words,
)
from dyeday.bench.view.bench_view import Picture, Row
from dyeday.bench.view.list_columns import columns
from dyeday.bench.view.view_cache import MOST_NEXT, Kept
from dyeday.bench.widgets.board import Board, Line
from dyeday.paper.layout.text_page import clip, wrap
from dyeday.paper.local_time import local
from dyeday.terms import ClockKind, State
from dyeday.text import harmless
from dyeday.track.timers.clocks import clock_of
from dyeday.track.timestamp import whole_min

if TYPE_CHECKING:
    from dyeday.bench.actions.bench_actions import Acts
    from dyeday.bench.app import BenchApp
    from dyeday.track.timestamp import Now

_LETTERS = "abcdefghijklmnopqrstuvwxyz"
NARROWEST, LOWEST = 40, 12
MOST_KEYS = 6
MOST_ABOUT = 11
"""cells that the batches or the unit of a line of what is next may take on a terminal of 80"""
PARTS = {
    "top": "band",
    "unsaved": "ground",
    "alarm": "ground",
    "next": "ground",
    "header": "ground",
    "rows": "ground",
    "chosen": "ground",
    "message": "strip",
    "keys": "band",
}
"""what the screen is made of, from the top down, and the colour of the look that each stands on

The line of the alarm is always there, so that an alarm moves no row.
"""


def first_chosen(keeper: Keeper) -> str | None:
    """Return the batch chosen when the bench opens: the one hands go to next, else the first."""
    numbers = [batch.no for batch in keeper.day.live]
    wanted = (about for item in next_up(keeper.day, keeper.now(), 6) for about in item.about.split("+"))
    return next((about for about in wanted if about in numbers), numbers[0] if numbers else None)


class BenchScreen(TypedAhead, Screen[None]):
    """The bench. ``chosen`` is the batch that keys speak of."""

    BINDINGS = [*bindings()]  # noqa: RUF012

    def __init__(self, keeper: Keeper) -> None:
        super().__init__()
        self.keeper = keeper
        self._acts: Acts | None = None
        self.chosen: str | None = first_chosen(keeper)
        self.digits = ""
        self.board = Board(id="board")
        self.kept = Kept()
        self._laid_rows: tuple[Row, ...] = ()
        self._laid_for: tuple[object, ...] = ()
        self.parts: dict[str, list[Text]] = {name: [] for name in PARTS}
        self.first = 0
        """the first batch that is seen, where there are more than have room"""
        self.shown: Picture | None = None
        self.tiny = False
        self.smear_s = SMEAR_S
        self.said = ("", False)

    def compose(self) -> ComposeResult:
        yield self.board

    def on_mount(self) -> None:
        self.say(self._hint())
        self.paint()

    async def on_key(self, event: Key) -> None:
        """Act at once: left to bubble up as a binding, a key would act after the next one had been given away."""
        if self.digits and self._take_part(event.character or ""):
            event.stop()
            event.prevent_default()
            return
        action = ACTIONS.get(event.key)
        if action is None:
            self._unknown(event)
            return
        event.stop()
        event.prevent_default()
        watch, at = self.bench_app.key_watch, self.bench_app.key_time(event)
        if event.key in COMMAND_KEYS:
            # Long enough to see whether a glove is coming down on the key beside it as well.
            await asyncio.sleep(self.smear_s)
            if watch.was_smeared(event.key, at):
                return
        await self.run_action(action)

    def _unknown(self, event: Key) -> None:
        """Say of a key without a meaning that it does nothing: silence would be taken for a record."""
        said = event.character or ""
        if len(said) == 1 and said.isupper():
            self.say(f"{said} does nothing. Caps Lock on?", wrong=True)
        elif said.isprintable() and said:
            self.say(f"{harmless(said)} does nothing; ? lists the keys", wrong=True)

    def _take_part(self, letter: str) -> bool:
        """Choose the part "b" of "04b" where digits typed so far, with this letter, name one; tell whether it did."""
        found = self.keeper.day.find(self.digits + letter) if self.digits and letter.isalpha() else None
        if found is None or found not in self.keeper.day.live:
            return False
        self._chosen(found.no)
        return True

    @property
    def bench_app(self) -> BenchApp:
        from dyeday.bench.app import BenchApp

        assert isinstance(self.app, BenchApp)  # noqa: S101 - no other app shows this screen
        return self.app

    def on_resize(self) -> None:
        self.paint()

    def on_screen_resume(self) -> None:
        self.paint()

    def _hint(self) -> str:
        plan = self.keeper.day.plan.session
        today = local(self.keeper.now().utc, plan.zone).date()
        if self.keeper.watching:
            return "another bench has this day: watching only"
        if self.keeper.day.closed is not None:
            return "this day is closed; what is recorded now stands after its close"
        if plan.date != today and not self.keeper.day.has_begun:
            return f"this plan is for {plan.date:%a %d %b %Y}, and today is {today:%a %d %b}. Space moves a batch on"
        return "type a batch's number, then space to move it on"

    def paint(self) -> None:
        """Show the day as it is now; only lines that say something else are drawn again."""
        if not self.is_mounted:
            return
        now = self.keeper.now()
        width, height = self.size
        rows = len(self.keeper.day.live)
        unsaved = self.keeper.trouble is not None
        room = max(3, min(MOST_NEXT, height - 7 - unsaved - rows))
        flags = self.keeper.flags(now)
        self.shown = shown = self.kept.picture(self.keeper.day, now, flags, room, self.bench_app.found)
        tiny = width < NARROWEST or height < LOWEST
        parts = self.parts
        parts["top"] = [top_line(shown, width, self._notes(shown))]
        parts["unsaved"] = [unsaved_line(unsaved_words(self.keeper), width, self.look)] if unsaved else []
        parts["alarm"] = [] if tiny and not shown.alarms else [self._alarm_line(shown)]
        about = min(max((cell_len(item.about) for item in shown.next_up), default=2), max(MOST_ABOUT, width // 6))
        parts["next"] = [next_line(shown.next_up[n], n, width, self.look, about) for n in range(len(shown.next_up))]
        parts["next"] += [Text("")] * (room - len(parts["next"]))
        if not shown.next_up:
            parts["next"][0] = next_line(None, 0, width, self.look, nothing=self._nothing_words())
        if self.tiny and not tiny:
            self.say(self._hint())
        self.tiny = tiny
        if tiny:
            parts["header"] = parts["rows"] = []
            self._laid_for = ()
            self.say(f"make this window {NARROWEST} x {LOWEST} or larger for the batches")
        else:
            self._rows(shown, width, height - 7 - unsaved - room)
        parts["chosen"] = [self._chosen_line(now, width)]
        parts["keys"] = [keys_line(self._keys(), width)]
        self._put()

    def _notes(self, shown: Picture) -> list[str]:
        """Return what the first line says behind the day's name, as long as it holds."""
        ago_min = self.keeper.minutes_ago
        notes = {
            "CLOSED": shown.closed,
            "watching only": self.keeper.watching,
            "page on": self.bench_app.elsewhere.page is not None,
            f"entry {whole_min(ago_min * 60)} min ago": bool(ago_min),
        }
        return [said for said, holds in notes.items() if holds]

    def _nothing_words(self) -> str:
        """Return what is said where nothing is left for hands; how to end the day where all of it only dries."""
        day = self.keeper.day
        ends = (
            day.closed is None
            and not self.keeper.watching
            and all(b.state == State.DRY for b in day.live if b.is_live)
        )
        return "nothing for hands; x closes the day" if ends else "nothing for hands"

    def _alarm_line(self, shown: Picture) -> Text:
        keyless = self.keeper.watching or not self.bench_app.a_silences
        return alarm_line(shown, self.size.width, self.look, self.lit, keyless)

    @property
    def alarms(self) -> bool:
        """Whether an alarm wants acknowledging, as it was painted last."""
        return self.shown is not None and bool(self.shown.alarms)

    def _put(self) -> None:
        """Put the parts on the board, one below the other; not under a screen that covers all of it.

        Textual draws a covering screen whole again whenever the one below it changes.
        """
        if self.app.screen is not self and not self.app.screen.is_modal:
            return
        look = self.look
        lines = [Line(text, getattr(look, PARTS[name])) for name in PARTS for text in self.parts[name]]
        self.board.show(lines[: max(1, self.size.height)], look.ink)

    def next_items(self) -> list[NextUp]:
        """Return what hands do next, as the next lines have it."""
        return self.kept.items

    def _chosen_line(self, now: Now, width: int) -> Text:
        """Tell the chosen batch's last action with its time, and its next: the cues of one who was interrupted."""
        batch = self.keeper.day.batches.get(self.chosen or "")
        row = next((r for r in self.shown.rows if r.no == self.chosen), None) if self.shown else None
        if batch is None or row is None:
            return Text("")
        step = next_step(self.keeper.day, batch, now) if batch.is_live else None
        after = f"; next {step.text}" if step is not None else ""
        return Text(" " + clip(f"{row.no}: {row.last or 'nothing yet'}{after}", width - 2), style=self.look.quiet)

    def _keys(self) -> list[tuple[str, str]]:
        """Return the keys that make sense now, six at most, the most useful first."""
        batch = self.keeper.day.batches.get(self.chosen or "")
        keys: list[tuple[str, str]] = []
        if self.shown is not None and self.shown.alarms and not self.keeper.watching:
            keys.append(("a", "acknowledge"))
        if batch is not None and not self.keeper.watching:
            step = next_step(self.keeper.day, batch, self.keeper.now()) if batch.is_live else None
            if step is not None:
                keys.append(("space", "go on"))
            if self._chore_is_first():
                keys.append(("C", "chore done"))
            clock = clock_of(self.keeper.day, batch, self.keeper.now())
            if clock is not None and clock.what == ClockKind.WARM_UP:
                keys.append(("h", "at heat"))
            keys.append(("r", "reading"))
        row = next((r for r in self.shown.rows if r.no == self.chosen), None) if self.shown else None
        keys.append(("f", "doubts" if row is not None and row.flags else "story"))
        keys += [] if self.keeper.watching or self.keeper.last_step() is None else [("z", "undo")]
        keys += [("p", "sheets"), ("y", "ahead")]
        return [*keys[: MOST_KEYS - 1], ("?", "keys")]

    def _chore_is_first(self) -> bool:
        """Tell whether the first thing advised, beside what is urgent, is a chore: nothing else records it."""
        items = self.shown.next_up if self.shown is not None else ()
        return next((item.is_chore for item in items if item.rank > URGENT_RANK), False)

    def _rows(self, shown: Picture, width: int, room: int) -> None:
        """Lay out the batches that have room, so that the chosen one is among them, with a bar where not all have."""
        numbers = [row.no for row in shown.rows]
        if self.chosen not in numbers:
            whole = self.keeper.day.batches.get(self.chosen or "")
            parts = [no for no in (whole.split_into if whole is not None else ()) if no in numbers]
            self.chosen = next(iter(parts or numbers), None)
        if self.chosen in numbers:
            place = numbers.index(self.chosen)
            self.first = min(max(self.first, place - room + 1), place)
        self.first = max(0, min(self.first, len(numbers) - room))
        laid_for = (self.chosen, self.first, room, width, self.look.name, self.bench_app.shows_colour)
        if shown.rows is self._laid_rows and laid_for == self._laid_for:
            return
        self._laid_rows = shown.rows
        self._laid_for = laid_for
        bar = scroll_bar(self.first, room, len(numbers))
        laid = columns(width - (1 if bar else 0), shown.rows)
        self.parts["header"] = [header_line(laid)]
        lines = [
            row_line(row, laid, row.no == self.chosen, self.look, self.bench_app.shows_colour)
            for row in shown.rows[self.first : self.first + room]
        ]
        for line, sign in zip(lines, bar, strict=False):
            line.pad_right(width - 1 - line.cell_len)
            line.append(sign, style=self.look.quiet)
        self.parts["rows"] = lines + [Text("")] * (room - len(lines))

    def say(self, text: str, *, wrong: bool = False) -> None:
        """Put a sentence into the message lines; what does not fit is told by the batch's own page."""
        room = max(20, self.size.width - 2)
        lines = wrap(text, room)
        if len(lines) > 2:
            lines = [lines[0], clip(" ".join(lines[1:]), room - 13) + " (f tells all)"]
        self.said = (text, wrong)
        style = self.look.doubt if wrong else ""
        self.parts["message"] = [Text(f" {line}", style=style) for line in [*lines, "", ""][:2]]
        self._put()

    @property
    def look(self) -> Look:
        return self.bench_app.look

    def look_changed(self) -> None:
        """Paint everything in the other look."""
        text, wrong = self.said
        self.say(text, wrong=wrong)
        self.paint()

    @property
    def acts(self) -> Acts:
        """What the recording keys do; its questions and pages are loaded when first wanted, after the first frame."""
        if self._acts is None:
            from dyeday.bench.actions.bench_actions import Acts

            self._acts = Acts(self, self.keeper)
        return self._acts

    def make_ready(self) -> None:
        """Load what the keys will need, before a key needs it."""
        assert self.acts is not None  # noqa: S101 - made by asking

    def blinked(self) -> bool:
        if self.shown is not None:
            self.parts["alarm"] = [self._alarm_line(self.shown)]
            self._put()
        return True

    def silence(self) -> None:
        """Acknowledge an alarm, from whichever screen; not where the bench only watches."""
        self.paint()
        if not self.keeper.watching:
            self.acts.acknowledge()

    def choose(self, batch_no: str | None) -> None:
        self.chosen = batch_no
        self.paint()

    def action_choose(self, step: int) -> None:
        numbers = [row.no for row in self.shown.rows] if self.shown else []
        if numbers:
            place = numbers.index(self.chosen) if self.chosen in numbers else 0
            self.choose(numbers[max(0, min(len(numbers) - 1, place + step))])
        self.digits = ""

    def action_digit(self, digit: str) -> None:
        """Two digits (three from batch 100 on) choose a batch; one that can mean only one batch does so at once."""
        numbers = [row.no for row in self.shown.rows] if self.shown else []
        typed = ("" if self._parts(self.digits) else self.digits) + digit
        self.digits = typed
        begun = [no for no in numbers if no.startswith(typed)]
        parts = self._parts(typed)
        if parts:
            self._chosen(parts[0])
            self.digits = typed
            self.say(f"batch {parts[0]} chosen; a letter chooses another of {', '.join(parts)}")
        elif typed in begun or len(begun) == 1:
            self._chosen(typed if typed in begun else begun[0])
        elif begun:
            self.say(f"batch {self.digits}_")
        elif not self.take_digits():
            self.say(f"there is no batch {self.digits}", wrong=True)
            self.digits = ""

    def _parts(self, digits: str) -> list[str]:
        """Return the live parts of the split batch with this number; a letter after it chooses among them."""
        live = [batch.no for batch in self.keeper.day.live]
        whole = self.keeper.day.find(digits) if digits else None
        if whole is None or whole.no in live or (digits != whole.no and any(no.startswith(digits) for no in live)):
            return []
        return [no for no in live if no.rstrip(_LETTERS) == whole.no]

    def take_digits(self) -> bool:
        """Let digits typed so far stand for a whole number, 9 for 09; tell whether that is a batch."""
        found = self.keeper.day.find(self.digits) if self.digits else None
        if found is not None and found in self.keeper.day.live:
            self._chosen(found.no)
            return True
        return False

    def _chosen(self, batch_no: str) -> None:
        self.digits = ""
        self.choose(batch_no)
        self.say(f"batch {self.chosen} chosen")

    def __getattr__(self, name: str) -> object:
        # Every action of the key table that is not the screen's own is one of `Acts`.
        action = name.removeprefix("action_")
        if action == name:
            raise AttributeError(name)
        from dyeday.bench.actions.bench_actions import Acts

        if not hasattr(Acts, action):
            raise AttributeError(name)
        if self.keeper.watching and any(k.records and k.action == action for k in KEYS):
            return lambda: self.say(WATCHING, wrong=True)

        def act() -> None:
            self.take_digits()
            self.digits = ""
            getattr(self.acts, action)()

        return act
