"""The steps of setup, each with what is known of it; to be done in any order and left at any time."""

from __future__ import annotations

from rich.text import Text
from textual.app import ComposeResult
from textual.events import Key
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from dyeday.bench.plain_app import Drawn
from dyeday.bench.setup.desk import SetupDesk
from dyeday.bench.setup.form_screen import FormScreen
from dyeday.bench.setup.forms import form_of
from dyeday.bench.setup.list_screen import ListScreen
from dyeday.bench.setup.steps import STEPS, SetupStep
from dyeday.bench.widgets.one_line import ChoiceList, Foot, Message
from dyeday.text import pad

KEYS = (("letter", "opens a step"), ("enter", "the chosen one"), ("escape", "done, go back"))


class SetupScreen(Drawn[None]):
    """Dismissed when it is left; everything is kept as it is made."""

    AUTO_FOCUS = "OptionList"

    def __init__(self, desk: SetupDesk) -> None:
        super().__init__()
        self.desk = desk
        self.message = ""

    def compose(self) -> ComposeResult:
        yield Static(Text(" Your studio: steps in any order, kept as you go", style="bold"), classes="heading")
        yield ChoiceList(*(Option("") for _ in STEPS), id="things")
        yield Message(4)
        yield Foot(KEYS)

    def on_mount(self) -> None:
        self.show()
        if (place := self.desk.was_open()) is not None:
            self.open(place.step)
            there = self.app.screen
            if isinstance(there, ListScreen):
                there.go_on(place)

    def show(self) -> None:
        """Show every step with what is known of it."""
        things = self.query_one("#things", OptionList)
        for n, step in enumerate(STEPS):
            line = Text(f"{step.letter} ", style="bold")
            line.append(pad(step.title, 12), style="not bold")
            line.append(pad(self.desk.summary(step), max(10, self.size.width - 22)), style="not bold")
            things.replace_option_prompt_at_index(n, line)
        if things.highlighted is None:
            things.highlighted = 0
        self._show_why()

    def _show_why(self) -> None:
        place = self.query_one("#things", OptionList).highlighted or 0
        said, step = [self.message] if self.message else [], STEPS[place]
        self.query_one(Message).say(*said, f"Why: {step.why}.", f"Without: {step.without}.")

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        event.stop()
        self._show_why()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        self.open(STEPS[event.option_index])

    def on_key(self, event: Key) -> None:
        if event.key in ("escape", "q"):
            event.stop()
            self.dismiss(None)
        for n, step in enumerate(STEPS):
            if event.character == step.letter:
                event.stop()
                self.query_one("#things", OptionList).highlighted = n
                self.open(step)

    def open(self, step: SetupStep) -> None:
        """Open a step: its form, or the list of its things."""
        if step.library_key:
            self.app.push_screen(ListScreen(self.desk, step), lambda _: self._left(""))
        else:
            self.app.push_screen(FormScreen(form_of(self.desk, step)), lambda message: self._left(message or ""))

    def _left(self, message: str) -> None:
        self.message = message
        self.show()
