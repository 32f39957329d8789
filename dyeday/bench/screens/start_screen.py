"""What is seen where no day goes on: a plan made or changed, a day begun, setup, the demo, each by one key."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from functools import partial
from pathlib import Path

from rich.text import Text
from textual.app import ComposeResult
from textual.events import Key
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from dyeday.ahead.foreseen_steps import Foresee
from dyeday.bench.input.key_forwarding import TypedAhead, ask, put_questions
from dyeday.bench.plain_app import PlainApp
from dyeday.bench.prompts.prompts import AskText
from dyeday.bench.screens.plan_desk import PlanDesk
from dyeday.bench.screens.plan_orders import PlanScreen
from dyeday.bench.screens.start_choices import StartAction, StartChoice, StartChoices, choices, new_file
from dyeday.bench.setup.desk import SetupDesk
from dyeday.bench.setup.setup_screen import SetupScreen
from dyeday.bench.widgets.one_line import ChoiceList, Foot, Message
from dyeday.files.durable import StoreError
from dyeday.paper.layout.text_page import pad
from dyeday.plan.orders.order_editor import DraftError
from dyeday.text import harmless

KEYS = (("letter", "chooses"), ("enter", "the marked line"), ("q", "leave"))


class StartScreen(TypedAhead[None]):
    """``find`` gives what there is to choose from, each time this is seen; the app ends with what is to be done."""

    AUTO_FOCUS = "OptionList"

    def __init__(
        self,
        where: str,
        find: Callable[[], StartChoices],
        today: date,
        desk_for: Callable[[Path, date | None], PlanDesk],
        setup_desk: Callable[[], SetupDesk],
        foresee: Foresee | None,
    ) -> None:
        super().__init__()
        self.where, self.find, self.today = where, find, today
        self.desk_for, self.setup_desk, self.foresee = desk_for, setup_desk, foresee
        self.offered = StartChoices()
        self.choices: list[StartChoice] = []

    def compose(self) -> ComposeResult:
        yield Static(Text(" No day is running", style="bold"), classes="heading")
        yield ChoiceList(id="things")
        yield Message()
        yield Foot(KEYS)

    def on_mount(self) -> None:
        self.show()
        self.say(
            self.offered.troubles[0]
            if self.offered.troubles
            else f"Your days are kept in {self.where}. A colour you dyed before: `dyeday lots NAME`."
        )

    def show(self) -> None:
        """Look again at what there is, and show it."""
        self.offered = self.find()
        self.choices = choices(self.offered, self.today)
        things = self.query_one("#things", OptionList)
        things.clear_options()
        for choice in self.choices:
            line = Text(f"{choice.key or ' '} ", style="bold")
            text = f"{choice.words}: {choice.wrong}" if choice.wrong else choice.words
            line.append(pad(harmless(text), max(20, self.size.width - 6)), style="not bold")
            things.add_option(Option(line))
        things.highlighted = 0

    def say(self, text: str, *, wrong: bool = False) -> None:
        """Show ``text`` below the choices in up to three lines, as an error if ``wrong``."""
        self.query_one(Message).say(text, style=self.look.flag_style if wrong else "")

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        self._do(self.choices[event.option_index])

    def on_key(self, event: Key) -> None:
        if event.key == "q":
            event.stop()
            self.app.exit(None)
            return
        if event.key == "escape":
            # One escape too many from a form must not end the program.
            self.say("press q to leave")
        chosen = next((each for each in self.choices if each.key and each.key == event.character), None)
        if chosen is not None:
            event.stop()
            event.prevent_default()
            self._do(chosen)
        elif event.character == "n" and not self.offered.is_set_up:
            event.stop()
            self.say("a new plan needs a base and a colourway: press s to set them up", wrong=True)

    def _do(self, choice: StartChoice) -> None:
        if choice.wrong:
            self.say(f"{choice.about}: {choice.wrong}", wrong=True)
        elif choice.do in (StartAction.BEGIN, StartAction.GO_ON, StartAction.DEMO):
            self.app.exit((choice.do, choice.about))
        elif choice.do is StartAction.ORDERS:
            self._plan(Path(choice.about), None)
        elif choice.do is StartAction.NEW:
            name, day = new_file(Path(), self.offered.plans, self.today)
            self._plan(Path(name), day)
        elif choice.do is StartAction.OTHER:
            put_questions(self.app, self._other(), lambda: None)
        elif choice.do is StartAction.SETUP:
            self._setup()

    async def _other(self) -> None:
        """Ask for a file, ~ for the home folder."""
        name = (await ask(AskText("Plan file (a new name makes a new plan)"))).strip()
        try:
            self._plan(Path(name).expanduser(), None)
        except RuntimeError:
            self.say(f"{name}: there is no such home folder; name the whole path", wrong=True)

    def _plan(self, file: Path, day: date | None) -> None:
        try:
            desk = self.desk_for(file, day)
        except DraftError as error:
            self.say(str(error), wrong=True)
            return
        begin = partial(self.app.exit, (StartAction.BEGIN, str(file)))
        self.app.push_screen(PlanScreen(desk, self.foresee, self.show, begin))

    def _setup(self) -> None:
        try:
            desk = self.setup_desk()
        except StoreError as error:
            self.say(str(error), wrong=True)
            return
        self.app.push_screen(SetupScreen(desk), lambda _: self.show())


class StartApp(PlainApp[tuple[StartAction, str] | None]):
    """Ends with what to do, and of what: BEGIN a plan's day, GO_ON with a session, DEMO; None where it was left."""

    def __init__(self, start: StartScreen, *, ascii_only: bool = False) -> None:
        super().__init__(ascii_only=ascii_only)
        self.start = start

    def get_default_screen(self) -> StartScreen:
        """Return the start screen."""
        return self.start
