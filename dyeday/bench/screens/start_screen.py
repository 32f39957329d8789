"""The screen shown without a running day: today's plan, other plans, a new one, running days, setup, the demo."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import field, replace
from datetime import date, timedelta
from enum import Enum
from functools import partial
from pathlib import Path

from rich.text import Text
from textual.app import ComposeResult
from textual.events import Key
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from dyeday.ahead.foreseen_steps import Foresee
from dyeday.bench.plain_app import TypedAhead, ask, put_questions
from dyeday.bench.prompts.prompts import DIGITS, AskText
from dyeday.bench.screens.plan_desk import PlanDesk
from dyeday.bench.screens.plan_orders import PlanScreen
from dyeday.bench.setup.desk import SetupDesk
from dyeday.bench.setup.setup_screen import SetupScreen
from dyeday.bench.widgets.one_line import ChoiceList, Foot, Message
from dyeday.files.durable import StoreError
from dyeday.files.safe_read import read_text
from dyeday.plan.library import EMPTY, Library
from dyeday.plan.orders.order_editor import DraftError
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.reading.problems import PlanError
from dyeday.plan.reading.toml_syntax import toml_of
from dyeday.quick_dataclass import dataclass
from dyeday.store.session_form import Listed
from dyeday.text import brief, counted, pad

NO_PLANS = ("orders.columns.toml", "pyproject.toml")
MOST_PLANS = 9
KEYS = (("letter", "chooses"), ("enter", "the marked line"), ("q", "leave"))


class StartAction(Enum):
    """What a choice does."""

    BEGIN = "begin"
    ORDERS = "orders"
    GO_ON = "go on"
    NEW = "new"
    OTHER = "other"
    SETUP = "setup"
    DEMO = "demo"


@dataclass(frozen=True, slots=True)
class StartChoice:
    """One line of the start screen. ``about`` is the plan's file or the session's id; ``wrong`` says what is."""

    key: str
    do: StartAction
    words: str
    about: str = ""
    wrong: str = ""


@dataclass(frozen=True, slots=True)
class PlanFile:
    """A plan in the folder. ``day`` is None where it cannot be read."""

    path: Path
    name: str
    day: date | None
    about: str
    continues: frozenset[str] = frozenset()
    """the sessions whose batches it carries on"""


@dataclass(frozen=True, slots=True)
class StartChoices:
    """What there is to choose from. ``troubles`` are what could not be read, a line each."""

    plans: tuple[PlanFile, ...] = ()
    days: tuple[Listed, ...] = ()
    """the days on record, closed or not"""
    library: Library = field(default=EMPTY)
    troubles: tuple[str, ...] = ()
    left: str = ""
    """what the last day left, if no plan continues it yet"""

    @property
    def is_set_up(self) -> bool:
        """Whether the library has enough for a plan."""
        return bool(self.library.colourways and self.library.bases)


def plan_files(folder: Path, library: Library) -> tuple[PlanFile, ...]:
    """Return the plans of a folder, those changed last first, nine at most; what cannot be read says why."""
    try:
        files = [(path.stat().st_mtime, path) for path in folder.glob("*.toml") if path.name not in NO_PLANS]
    except OSError:
        return ()
    return tuple(_plan_file(path, library) for _, path in sorted(files, reverse=True)[:MOST_PLANS])


def _plan_file(path: Path, library: Library) -> PlanFile:
    try:
        text = read_text(path)
        raw, _ = toml_of(text)
        plan = read_plan(text, library, without_orders=True)
    except StoreError as error:
        return PlanFile(path, path.name, None, str(error))
    except PlanError as error:
        return PlanFile(path, path.name, None, f"line {error.problems[0]}")
    orders = counted(len(plan.orders), "order") if raw.get("order") else "no order yet"
    continues = frozenset(batch.carried.partition("/")[0] for batch in plan.batches)
    return PlanFile(path, plan.session.name, plan.session.date, orders, continues)


def choices(offered: StartChoices, today: date) -> list[StartChoice]:
    """Return the lines of the start screen, the most likely choice first."""
    out: list[StartChoice] = []
    plans = [plan for plan in offered.plans if plan.day is not None]
    todays = next((plan for plan in plans if plan.day == today and not _is_closed(plan, offered)), None)
    if not offered.is_set_up:
        out.append(StartChoice("s", StartAction.SETUP, "set up your studio"))
    if todays is not None:
        words = f"today's plan, {brief(todays.name)}: {todays.about}; begins its day"
        out.append(StartChoice("t", StartAction.BEGIN, words, str(todays.path)))
    days = ((f"{brief(day.name)}, {date.fromisoformat(day.date):%a %d %b %Y}", day) for day in offered.days)
    running = [StartChoice("", StartAction.GO_ON, f"running: {name}", day.id) for name, day in days if not day.closed]
    listed = [*running, *(_of_plan(plan, is_closed=_is_closed(plan, offered)) for plan in offered.plans)]
    out += [replace(choice, key=key) for key, choice in zip(DIGITS, listed, strict=False)]
    if len(listed) > len(DIGITS):
        out.append(StartChoice("", StartAction.OTHER, "more are in this folder: O opens any by its name"))
    if offered.is_set_up:
        out.append(StartChoice("n", StartAction.NEW, "a new plan", new_file(Path(), offered.plans, today)[0]))
    else:
        lacks = "a new plan needs a base and a colourway"
        out.append(StartChoice("n", StartAction.NEW, lacks, lacks, "press s to set them up"))
    out.append(StartChoice("O", StartAction.OTHER, "a plan in another folder"))
    if offered.is_set_up:
        out.append(StartChoice("s", StartAction.SETUP, "your studio"))
    out.append(StartChoice("d", StartAction.DEMO, "try the demo, a made-up day"))
    return out


def _is_closed(plan: PlanFile, offered: StartChoices) -> bool:
    """Return whether a plan's day is closed: begun again it would dye every order twice."""
    date_text = plan.day.isoformat() if plan.day is not None else None
    return any(day.closed and (day.name, day.date) == (plan.name, date_text) for day in offered.days)


def _of_plan(plan: PlanFile, *, is_closed: bool) -> StartChoice:
    if plan.day is None:
        return StartChoice("", StartAction.ORDERS, f"{plan.path.name} cannot be read", str(plan.path), plan.about)
    closed = ", its day is closed" if is_closed else ""
    words = f"{plan.path.name}: {brief(plan.name)}, {plan.day:%a %d %b %Y}, {plan.about}{closed}"
    return StartChoice("", StartAction.ORDERS, words, str(plan.path))


def new_file(folder: Path, plans: Sequence[PlanFile], today: date) -> tuple[str, date]:
    """Return the name of a plan file that is not there yet, and its day: today, else the next that has none."""
    taken = {plan.day for plan in plans}
    days = (today + timedelta(days=n) for n in range(1000))
    day = next((day for day in days if day not in taken and not (folder / _name(day)).exists()), today)
    return _name(day), day


def _name(day: date) -> str:
    return f"{day:%Y-%m-%d}.toml"


class StartScreen(TypedAhead[tuple[StartAction, str]]):
    """``find`` gives what there is to choose from, each time this is seen.

    Dismissed with what to do and its subject: BEGIN a plan's day, GO_ON with a session, DEMO; with None to leave.
    """

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
        kept = f"Your days are kept in {self.where}."
        self.say(self.offered.troubles[0] if self.offered.troubles else self.offered.left or kept)

    def show(self) -> None:
        """Look again at what there is, and show it."""
        self.offered = self.find()
        self.choices = choices(self.offered, self.today)
        things = self.query_one("#things", OptionList)
        things.clear_options()
        for choice in self.choices:
            line = Text(f"{choice.key or ' '} ", style="bold")
            text = f"{choice.words}: {choice.wrong}" if choice.wrong else choice.words
            line.append(pad(text, max(20, self.size.width - 6)), style="not bold")
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
            self.dismiss(None)
            return
        if event.key == "escape":
            # One escape too many from a form must not end the program.
            self.say("press q to leave")
        chosen = next((each for each in self.choices if each.key and each.key == event.character), None)
        if chosen is not None:
            event.stop()
            event.prevent_default()
            self._do(chosen)

    def _do(self, choice: StartChoice) -> None:
        if choice.wrong:
            self.say(f"{choice.about}: {choice.wrong}", wrong=True)
        elif choice.do in (StartAction.BEGIN, StartAction.GO_ON, StartAction.DEMO):
            self.dismiss((choice.do, choice.about))
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
        label = "Plan file (a new name makes a new plan, 2026-03-20.toml one for that day)"
        name = (await ask(AskText(label))).strip()
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
