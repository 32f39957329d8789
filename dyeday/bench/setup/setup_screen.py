"""The steps of setup, in any order, each with what is known of it; and the things of one step, such as all kit."""

from __future__ import annotations

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding
from textual.events import Key
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from dyeday.bench.plain_app import Drawn, TypedAhead
from dyeday.bench.setup.desk import ADD, Place, SetupDesk, SetupError
from dyeday.bench.setup.form_screen import FormScreen, PickScreen
from dyeday.bench.setup.form_toml import Values
from dyeday.bench.setup.forms import form_of
from dyeday.bench.setup.steps import STEPS, USUAL, SetupStep
from dyeday.bench.widgets.one_line import ChoiceList, Foot, Message
from dyeday.files.durable import StoreError
from dyeday.text import brief, harmless, pad

NAME_CELLS = 24
EMPTY = "None yet. Press a to add one."
KEYS = (("a", "add"), ("enter", "change"), ("c", "copy"), ("x", "remove"), ("escape", "back"))
STEP_KEYS = (("letter", "opens a step"), ("enter", "the chosen one"), ("escape", "done, go back"))


class ListScreen(TypedAhead[None]):
    """What the library keeps of one kind."""

    AUTO_FOCUS = "OptionList"
    BINDINGS = [  # noqa: RUF012
        Binding("a", "add", "add"),
        Binding("c", "copy", "copy"),
        Binding("x", "remove", "remove"),
        Binding("escape,q", "back", "back"),
    ]

    def __init__(self, desk: SetupDesk, step: SetupStep) -> None:
        super().__init__()
        self.desk, self.step = desk, step
        self.message, self.wrong = "", False
        self.removing: tuple[str, bool] | None = None

    def compose(self) -> ComposeResult:
        yield Static(Text(f" {self.step.title}", style="bold"), classes="heading")
        yield ChoiceList(id="things")
        yield Message()
        yield Foot(KEYS)

    def on_mount(self) -> None:
        before = self.desk.was_open()
        if before is None or before.step is not self.step:
            self.desk.opened(Place(self.step))
        self.show()

    def on_resize(self) -> None:
        self._show_message()

    @property
    def names(self) -> list[str]:
        """The names of what is kept, in the order shown."""
        return [thing.name for thing in getattr(self.desk.library, self.step.library_key)]

    @property
    def chosen(self) -> str | None:
        """The highlighted name, None on an empty list."""
        place = self.query_one("#things", OptionList).highlighted
        return self.names[place] if place is not None and place < len(self.names) else None

    def show(self, name: str | None = None) -> None:
        """Show what is kept, the line of ``name`` chosen."""
        things = self.query_one("#things", OptionList)
        place = self.names.index(name) if name in self.names else things.highlighted
        half = self.desk.half_typed(self.step)
        things.clear_options()
        lines = [
            pad(harmless(each) + (" (half typed)" if each in half else ""), NAME_CELLS)
            + f" {harmless(form_of(self.desk, self.step, each).in_words())}"
            for each in self.names
        ]
        if "" in half:
            lines.append("A new one, not saved yet. Press a to continue it.")
        things.add_options(Option(Text(line, no_wrap=True, overflow="ellipsis")) for line in lines or [EMPTY])
        things.highlighted = min(place or 0, max(0, len(lines) - 1))
        self._show_message()

    def say(self, text: str, *, wrong: bool = False) -> None:
        """Show ``text`` below the list, as an error if ``wrong``."""
        self.message, self.wrong = text, wrong
        self._show_message()

    def _show_message(self) -> None:
        message = self.message or f"Why: {self.step.why}. Without: {self.step.without}."
        self.query_one(Message).say(message, style=self.look.flag_style if self.wrong else "")

    def action_add(self) -> None:
        usual = USUAL.get(self.step.library_key, ())
        if not usual or self.desk.draft(self.step, "") is not None:
            self.open("")
            return

        def chosen(place: int | None) -> None:
            self.desk.opened(Place(self.step))
            if place is not None:
                self.open("", dict(usual[place][1]) if place < len(usual) else None)

        self.desk.opened(Place(self.step, None, ADD))
        lines = [*(words for words, _ in usual), "another"]
        self.app.push_screen(PickScreen("Begin from", lines), chosen)

    def action_copy(self) -> None:
        if (name := self.chosen) is None:
            return
        if self.desk.draft(self.step, "") is not None:
            self.say("a new one is not saved yet: a continues it", wrong=True)
            return
        self.open("", {**form_of(self.desk, self.step, name).values, "name": f"{name} 2"})

    def action_remove(self) -> None:
        name = self.chosen or ""
        half = name in self.desk.half_typed(self.step)
        if not name and not half:
            return
        if self.removing != (name, half):
            self.removing = (name, half)
            what = f"{brief(name)} from the library; plans that use it can no longer be read"
            self.say("x again discards what is not saved" if half else f"x again removes {what}")
            return
        self.removing = None
        try:
            if half:
                self.desk.keep_draft(self.step, name, None)
            else:
                self.desk.remove(self.step, name)
        except (SetupError, StoreError) as error:
            self.say(str(error), wrong=True)
        else:
            self.message, self.wrong = "discarded; what was saved stays" if half else f"{name} removed", False
            self.show()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        if (name := self.chosen) is not None:
            self.open(name)
        else:
            self.action_add()

    def go_on(self, place: Place) -> None:
        """Open again what was open when setup ended without being left."""
        if place.name is not None:
            self.open(place.name)
        elif place.field == ADD:
            self.action_add()

    def open(self, name: str, values: Values | None = None) -> None:
        """Open the form of what is kept under ``name``, a new one begun with ``values``."""
        self.removing = None
        form = form_of(self.desk, self.step, name)
        if values is not None:
            form.begin(self._free(values))

        def left(message: str | None) -> None:
            self.message, self.wrong = message or "", False
            self.show(form.values.get("name"))

        self.app.push_screen(FormScreen(form), left)

    def _free(self, values: Values) -> Values:
        name, n = values.get("name", ""), 1
        while name and name in self.names:
            n += 1
            name = f"{values['name']} {n}"
        return {**values, "name": name} if name else values

    def action_back(self) -> None:
        self.desk.opened(None)
        self.dismiss(None)


class SetupScreen(Drawn[None]):
    """Dismissed when it is left; everything is kept as it is made."""

    AUTO_FOCUS = "OptionList"

    def __init__(self, desk: SetupDesk) -> None:
        super().__init__()
        self.desk = desk
        self.message = ""

    def compose(self) -> ComposeResult:
        yield Static(
            Text(" Your studio: steps in any order", style="bold"),
            classes="heading",
        )
        yield ChoiceList(*(Option("") for _ in STEPS), id="things")
        yield Message(4)
        yield Foot(STEP_KEYS)

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
