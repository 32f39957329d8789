"""The main screen: shows the picture, chooses a batch, and hands every key that records to `dyeday.bench.acts`."""

from __future__ import annotations

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Footer, Static

from dyeday.bench.acts import Acts
from dyeday.bench.columns import columns
from dyeday.bench.keeper import Keeper
from dyeday.bench.keys import KEYS, bindings
from dyeday.bench.lines import alarm_line, header_line, next_line, row_line, top_line
from dyeday.bench.picture import Picture, picture

NARROWEST, LOWEST = 60, 12


class Line(Static):
    """One line that is drawn again only when what it says has changed."""

    def __init__(self, **how: str) -> None:
        super().__init__("", markup=False, **how)  # type: ignore[arg-type]
        self.said: Text | None = None

    def say(self, text: Text) -> bool:
        """Show ``text``; tell whether that changed anything."""
        if self.said is not None and self.said == text and self.said.spans == text.spans:
            return False
        self.said = text
        self.update(text)
        return True


class BenchScreen(Screen[None]):
    """The bench. ``chosen`` is the batch that keys speak of."""

    BINDINGS = [*bindings()]  # noqa: RUF012

    def __init__(self, keeper: Keeper) -> None:
        super().__init__()
        self.keeper = keeper
        self.acts = Acts(self, keeper)
        self.chosen: str | None = next((b.no for b in keeper.day.live), None)
        self.digits = ""
        self.lines: dict[str, Line] = {}
        self.shown: Picture | None = None
        self.repaints = 0

    def compose(self) -> ComposeResult:
        yield Line(id="top")
        yield Line(id="alarm")
        for n in range(3):
            yield Line(id=f"next-{n}", classes="next")
        yield Line(id="header")
        yield VerticalScroll(id="rows", can_focus=False)
        yield Line(id="message")
        yield Footer(show_command_palette=False, compact=True)

    def on_mount(self) -> None:
        self.say(self._hint())
        self.paint()

    def on_resize(self) -> None:
        self.paint()

    def _hint(self) -> str:
        if self.keeper.watching:
            return "another bench has this day: watching only"
        return "type a batch's number, then space to move it on"

    def paint(self) -> None:
        """Show the day as it is now; only lines that say something else are drawn again."""
        if not self.is_mounted or not self.query("#rows"):
            return
        now = self.keeper.now()
        self.shown = shown = picture(self.keeper.day, now, self.keeper.flags(now))
        width = self.size.width
        if width < NARROWEST or self.size.height < LOWEST:
            self._line("top").say(Text(f"Make this window at least {NARROWEST} x {LOWEST}."))
        else:
            self._line("top").say(top_line(shown, width, self.keeper.watching, self.keeper.minutes_ago))
        banner = alarm_line(shown, width)
        self._line("alarm").set_class(banner is not None, "standing")
        if banner is not None:
            self._line("alarm").say(banner)
        for n in range(3):
            item = shown.next_up[n] if n < len(shown.next_up) else None
            self._line(f"next-{n}").say(next_line(item, n, width) if item or n == 0 else Text(""))
        self._rows(shown, width)

    def _rows(self, shown: Picture, width: int) -> None:
        room = width - (1 if len(shown.rows) > self._room() else 0)
        laid = columns(room, shown.rows)
        self._line("header").say(header_line(laid))
        holder = self.query_one("#rows", VerticalScroll)
        numbers = [row.no for row in shown.rows]
        if self.chosen not in numbers:
            self.chosen = numbers[0] if numbers else None
        for place, row in enumerate(shown.rows):
            line = self.lines.get(row.no)
            if line is None:
                line = self.lines[row.no] = Line(classes="row")
                after = self.lines.get(shown.rows[place - 1].no) if place else None
                if after is not None:
                    holder.mount(line, after=after)
                else:
                    holder.mount(line, before=0 if holder.children else None)
            self.repaints += line.say(row_line(row, laid, row.no == self.chosen))
        for gone in [no for no in self.lines if no not in numbers]:
            self.lines.pop(gone).remove()

    def _room(self) -> int:
        return max(1, self.size.height - 8)

    def _line(self, name: str) -> Line:
        return self.query_one(f"#{name}", Line)

    def say(self, text: str, *, wrong: bool = False) -> None:
        """Put a sentence into the message line."""
        from dyeday.paper.page import clip

        room = max(20, self.size.width - 2)
        self._line("message").say(Text(" " + clip(text, room), style="#e69f00" if wrong else ""))

    def choose(self, batch_no: str | None) -> None:
        self.chosen = batch_no
        self.paint()
        if batch_no in self.lines:
            self.lines[batch_no].scroll_visible(animate=False)

    def action_choose(self, step: int) -> None:
        numbers = [row.no for row in self.shown.rows] if self.shown else []
        if numbers:
            place = numbers.index(self.chosen) if self.chosen in numbers else 0
            self.choose(numbers[max(0, min(len(numbers) - 1, place + step))])
        self.digits = ""

    def action_digit(self, digit: str) -> None:
        """Two digits (three from batch 100 on) choose a batch; one that can mean only one batch does so at once."""
        numbers = [row.no for row in self.shown.rows] if self.shown else []
        self.digits += digit
        begun = [no for no in numbers if no.startswith(self.digits)]
        if not begun:
            self.say(f"there is no batch {self.digits}", wrong=True)
            self.digits = ""
            return
        whole = [no for no in begun if no.rstrip("abcdefghijklmnopqrstuvwxyz") == self.digits]
        if whole or len(begun) == 1:
            self.choose((whole or begun)[0])
            self.digits = ""
            self.say(f"batch {self.chosen} chosen")
        else:
            self.say(f"batch {self.digits}_")

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        key = next((k for k in KEYS if k.action.split("(")[0] == action), None)
        if key is not None and key.records and self.keeper.watching:
            return None
        return True

    def __getattr__(self, name: str) -> object:
        # Every action of the key table that is not the screen's own is one of `Acts`.
        if name.startswith("action_") and hasattr(Acts, name[len("action_") :]):
            return getattr(self.acts, name[len("action_") :])
        raise AttributeError(name)
