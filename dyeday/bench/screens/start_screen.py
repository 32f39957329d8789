"""What is seen where no day goes on: a plan made or changed, a day begun, the demo, each by one key."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from rich.text import Text
from textual.app import ComposeResult
from textual.events import Key
from textual.screen import Screen
from textual.widgets import Static

from dyeday.ahead.foreseen_steps import Foresee
from dyeday.bench.input.key_forwarding import TypedAhead
from dyeday.bench.prompts.prompts import AskText
from dyeday.bench.screens.plain_app import PlainApp
from dyeday.bench.screens.plan_desk import PlanDesk
from dyeday.bench.screens.plan_orders import PlanScreen
from dyeday.bench.widgets.key_line import Foot
from dyeday.paper.layout.text_page import wrap
from dyeday.plan.orders.order_editor import DraftError
from dyeday.text import harmless

KEYS = (("O", "a plan"), ("b", "begin a day"), ("d", "demo"), ("q", "leave"))
WORDS = (
    ("O", "make or change a plan's orders: colourway, base, how many, due"),
    ("b", "begin a plan's day, on the bench"),
    ("d", "look round an invented day, part-way through"),
)


class StartScreen(TypedAhead, Screen[None]):
    """``offered`` is the plan file a question begins with."""

    AUTO_FOCUS = ""

    def __init__(self, where: str, offered: str) -> None:
        super().__init__()
        self.where = where
        self.offered = offered

    def compose(self) -> ComposeResult:
        yield Static(Text(" No day is under way", style="bold"), classes="heading")
        yield Static(id="plan-rows")
        yield Static(id="plan-message")
        yield Foot(KEYS)

    def on_mount(self) -> None:
        text = Text(f"\n your days are kept in {harmless(self.where)}\n\n")
        for key, words in WORDS:
            text.append(f" {key:>3} ", style="bold")
            text.append(f" {words}\n")
        self.query_one("#plan-rows", Static).update(text)

    def say(self, text: str, *, wrong: bool = False) -> None:
        lines = wrap(text, max(20, self.size.width - 2))[:3]
        style = self.look.doubt if wrong else ""
        self.query_one("#plan-message", Static).update(Text("\n".join(f" {line}" for line in lines), style=style))

    def on_key(self, event: Key) -> None:
        assert isinstance(self.app, StartApp)  # noqa: S101 - no other app shows this screen
        act = {
            "O": lambda: self._ask("Which plan file; a new name makes one", self._plan),
            "b": lambda: self._ask("Begin which plan's day", lambda file: self.app.exit(("open", str(file)))),
            "d": lambda: self.app.exit(("demo", "")),
            "q": lambda: self.app.exit(None),
            "escape": lambda: self.app.exit(None),
        }.get("escape" if event.key == "escape" else event.character or "")
        if act is not None:
            event.stop()
            event.prevent_default()
            act()

    def _ask(self, label: str, done: Callable[[Path], object]) -> None:
        """Ask for a file, ~ for the home folder, and give it to ``done``."""

        def answered(name: str | None) -> None:
            if name is None:
                self.say("left as it was")
                return
            self.offered = name.strip()
            try:
                file = Path(self.offered).expanduser()
            except RuntimeError:
                self.say(f"{self.offered}: nobody's home folder is called so; name the whole path", wrong=True)
                return
            done(file)

        self.app.push_screen(AskText(label, self.offered), answered)

    def _plan(self, file: Path) -> None:
        assert isinstance(self.app, StartApp)  # noqa: S101 - asked before
        try:
            desk = self.app.desk_for(file)
        except DraftError as error:
            self.say(str(error), wrong=True)
            return
        self.app.push_screen(PlanScreen(desk, self.app.foresee, lambda: self.say(f"b begins the day of {file}")))


class StartApp(PlainApp[tuple[str, str] | None]):
    """Ends with ("open", the plan) or ("demo", ""), or with None where it was only left."""

    def __init__(
        self,
        where: str,
        offered: str,
        desk_for: Callable[[Path], PlanDesk],
        foresee: Foresee | None,
        *,
        ascii_only: bool = False,
    ) -> None:
        super().__init__(ascii_only=ascii_only)
        self.desk_for = desk_for
        self.foresee = foresee
        self.start = StartScreen(where, offered)

    def on_mount(self) -> None:
        self.push_screen(self.start)
