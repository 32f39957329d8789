"""What can be done where no day goes on, as plain values: today's plan, other plans, days that go on, a new plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import field, replace
from datetime import date, timedelta
from enum import Enum
from pathlib import Path

from dyeday.bench.prompts.prompts import DIGITS
from dyeday.files.durable import StoreError
from dyeday.files.safe_read import read_text
from dyeday.plan.library import EMPTY, Library
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.reading.problems import PlanError
from dyeday.plan.reading.toml_syntax import toml_of
from dyeday.quick_dataclass import dataclass
from dyeday.store.session_form import Listed
from dyeday.text import brief, counted

NO_PLANS = ("orders.columns.toml", "pyproject.toml")
MOST_PLANS = 9


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


@dataclass(frozen=True, slots=True)
class StartChoices:
    """What there is to choose from. ``troubles`` are what could not be read, a line each."""

    plans: tuple[PlanFile, ...] = ()
    days: tuple[Listed, ...] = ()
    library: Library = field(default=EMPTY)
    troubles: tuple[str, ...] = ()

    @property
    def is_set_up(self) -> bool:
        """Whether there is enough to make a plan of."""
        return bool(self.library.colourways and self.library.bases)


def plan_files(folder: Path, library: Library) -> tuple[PlanFile, ...]:
    """Return the plans of a folder, those changed last first, nine at most; what cannot be read says why."""
    files: list[tuple[float, Path]] = []
    try:
        for path in folder.glob("*.toml"):
            if path.name not in NO_PLANS:
                files.append((path.stat().st_mtime, path))
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
    return PlanFile(path, plan.session.name, plan.session.date, orders)


def choices(offered: StartChoices, today: date) -> list[StartChoice]:
    """Return the lines of the start screen: what is most likely meant first."""
    out: list[StartChoice] = []
    plans = [plan for plan in offered.plans if plan.day is not None]
    todays = next((plan for plan in plans if plan.day == today), None)
    if not offered.is_set_up:
        out.append(StartChoice("s", StartAction.SETUP, "set up your studio: water, kit, bases, dyes, colourways"))
    if todays is not None:
        words = f"today's plan, {brief(todays.name)}: {todays.about}; begins its day"
        out.append(StartChoice("t", StartAction.BEGIN, words, str(todays.path)))
    listed = [*map(_of_day, offered.days), *map(_of_plan, offered.plans)]
    out += [replace(choice, key=key) for key, choice in zip(DIGITS, listed, strict=False)]
    if len(listed) > len(DIGITS):
        out.append(StartChoice("", StartAction.OTHER, "more are in this folder: O opens any by its name"))
    if offered.is_set_up:
        out.append(StartChoice("n", StartAction.NEW, "a new plan", new_file(Path(), offered.plans, today)[0]))
    out.append(StartChoice("O", StartAction.OTHER, "a plan in another folder"))
    if offered.is_set_up:
        out.append(StartChoice("s", StartAction.SETUP, "your studio: water, kit, bases, dyes, colourways"))
    out.append(StartChoice("d", StartAction.DEMO, "try the demo, a made-up day"))
    return out


def _of_day(day: Listed) -> StartChoice:
    words = f"running: {brief(day.name)}, {date.fromisoformat(day.date):%a %d %b %Y}"
    return StartChoice("", StartAction.GO_ON, words, day.id)


def _of_plan(plan: PlanFile) -> StartChoice:
    if plan.day is None:
        words = f"{plan.path.name} cannot be read"
        return StartChoice("", StartAction.ORDERS, words, str(plan.path), plan.about)
    words = f"{plan.path.name}: {brief(plan.name)}, {plan.day:%a %d %b %Y}, {plan.about}"
    return StartChoice("", StartAction.ORDERS, words, str(plan.path))


def new_file(folder: Path, plans: Sequence[PlanFile], today: date) -> tuple[str, date]:
    """Return the name of a plan file that is not there yet, and its day: today, else the next that has none."""
    taken = {plan.day for plan in plans}
    days = (today + timedelta(days=n) for n in range(1000))
    day = next((day for day in days if day not in taken and not (folder / _name(day)).exists()), today)
    return _name(day), day


def _name(day: date) -> str:
    return f"{day:%Y-%m-%d}.toml"
