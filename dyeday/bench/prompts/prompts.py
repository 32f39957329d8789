"""Small questions at the foot of the screen, each dismissed with its answer; the bench stays visible above."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any, Generic, NamedTuple, TypeVar

from rich.cells import cell_len
from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.events import Key
from textual.screen import ModalScreen
from textual.widgets import Input, Static
from textual.widgets.input import Selection

from dyeday.bench.input.bench_keys import WORD
from dyeday.bench.input.half_typed import HalfTyped
from dyeday.bench.plain_app import Answer, Drawn, ask
from dyeday.bench.widgets.one_line import Field
from dyeday.plan.reading.problems import closest
from dyeday.text import harmless, pad, wrap
from dyeday.track.timestamp import Moment, time_text

Value = TypeVar("Value")
CHOICE_KEYS = "123456789abcdefghijklmnopqrstuvwxyz"
"""keys for a list of choices, in the order they are offered"""
DIGITS = CHOICE_KEYS[:9]
"""keys that choose one of nine; not all that Unicode calls a digit"""
MOST_REPEATED = 30
"""cells up to which the choice that Enter accepts is repeated below the choices"""


class Strip(Vertical):
    """The strip at the foot that a question stands in."""


class Question(ModalScreen[Answer | None], Drawn[Answer | None]):
    """A question at the foot of the screen, dismissed with its answer; by Esc with None."""

    AUTO_FOCUS = ""
    BINDINGS = [("escape", "back", "cancel")]  # noqa: RUF012

    def note(self, words: str) -> None:
        """Show on the border above the question why a key did nothing."""
        for strip in self.query(Strip):
            strip.border_title = f" {words} " if words else ""

    def woken(self) -> bool:
        self.note("that key only woke the bench: press it again")
        return True


class TypedQuestion(Question[Answer]):
    """A question with a box to type into."""

    AUTO_FOCUS = "Input"

    def on_key(self, event: Key) -> None:
        """Take keys that were typed before the box had the focus; those it had are not seen here."""
        box = self.query_one(Input)
        if event.is_printable and event.character:
            event.stop()
            box.replace(event.character, *sorted(box.selection))
        elif event.key == "enter":
            event.stop()
            self.submit(box.value)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        event.stop()
        self.submit(event.value)

    def woken(self) -> bool:
        return False

    def submit(self, typed: str) -> None:
        """Answer with what is ``typed``, if that is an answer."""
        raise NotImplementedError


class AskText(TypedQuestion[str]):
    """One line of text. ``understand`` says what was understood, or raises ValueError with what is wrong.

    Typing replaces what is ``offered``. Half-typed text is kept under the ``label`` in ``half_typed`` until it is
    accepted, even if the question is left.
    """

    def __init__(
        self,
        label: str,
        offered: str = "",
        understand: Callable[[str], str] | None = None,
        *,
        half_typed: HalfTyped | None = None,
        loud: bool = False,
    ) -> None:
        super().__init__()
        self.loud = loud
        self.half_typed = half_typed
        self.question = label
        before = half_typed.get(self.question) if half_typed is not None else ""
        self.label = harmless(label) + (" (half typed before)" if before else "")
        self.offered = before or offered
        self.is_replaced = not before
        self.understand = understand

    def compose(self) -> ComposeResult:
        with Strip():
            yield Static(Text(self.label, style=self.look.alarm if self.loud else "bold"), id="ask-label")
            box = Field(harmless(self.offered), select_on_focus=False, id="ask-input")
            if self.is_replaced:
                box.selection = Selection(0, len(box.value))
            yield box
            keys = "Enter: accept, Esc: cancel" if self.offered else "Esc: cancel"
            yield Static(Text(keys, style=self.look.quiet), id="ask-understood")

    def on_input_changed(self, event: Input.Changed) -> None:
        if self.half_typed is not None:
            self.half_typed.keep(self.question, event.value)
        if self.understand is not None:
            is_typed = bool(event.value.strip())
            self._say(self._understood(event.value)[1] if is_typed else Text("Esc: cancel", style=self.look.quiet))

    def say_again(self) -> None:
        """Update the line of what was understood."""
        for box in self.query("#ask-input").results(Input):  # none once it was answered
            if box.value.strip():
                self._say(self._understood(box.value)[1])

    def _say(self, understood: Text) -> None:
        self.query_one("#ask-understood", Static).update(understood)

    def _understood(self, value: str) -> tuple[bool, Text]:
        try:
            understood = self.understand(value) if self.understand is not None else value
        except ValueError as error:
            return False, Text(f"{harmless(error)}   Esc: cancel", style=self.look.flag_style)
        return True, Text(f"understood: {harmless(understood)}   Enter: accept, Esc: cancel", style=self.look.quiet)

    def submit(self, typed: str) -> None:
        is_good, understood = self._understood(typed) if typed.strip() else (True, Text())
        if not is_good:
            self._say(understood)
            return
        if self.half_typed is not None:
            self.half_typed.keep(self.question, "")
        self.dismiss(typed if typed.strip() else None)


class KeyChoice(NamedTuple, Generic[Value]):
    """A key, what it stands for, and its words."""

    key: str
    value: Value
    words: str


def numbered(values: Iterable[Value], words: Callable[[Value], str] = str) -> list[KeyChoice[Value]]:
    """Return a choice for each of nine values at most, by the digits from 1."""
    return [KeyChoice(key, value, words(value)) for key, value in zip(DIGITS, values, strict=False)]


class Choose(Question[Value]):
    """One key of several; Enter accepts the first if ``enter_accepts``; with ``only`` other printing keys cancel."""

    def __init__(
        self,
        label: str,
        choices: Sequence[KeyChoice[Value]],
        *,
        enter_accepts: bool = False,
        only: bool = False,
        above: Sequence[str] = (),
    ) -> None:
        super().__init__()
        self.only = only
        self.above = tuple(harmless(line) for line in above)
        """lines of their own above the question"""
        self.label = harmless(label)
        self.choices = tuple(choices)
        self.enter_accepts = enter_accepts

    @property
    def uses_a(self) -> bool:
        """Whether `a` is a choice here and so silences no alarm."""
        return any(choice.key == "a" for choice in self.choices)

    def compose(self) -> ComposeResult:
        with Strip():
            for line in self.above:
                yield Static(Text(line))
            yield Static(Text(self.label, style="bold"))
            yield Static(id="choose-choices")
            first = harmless(self.choices[0].words)
            if cell_len(first) > MOST_REPEATED:
                first = "the first"
            taken = f"Enter: {first}, " if self.enter_accepts else "Press its key, "
            yield Static(Text(f"{taken}Esc: cancel", style=self.look.quiet))

    def show(self) -> None:
        self.query_one("#choose-choices", Static).update(self._laid_out())

    def _laid_out(self) -> Text:
        """Put the choices into columns, each key beside its words; a long one has its own line."""
        width = max(20, self.app.size.width - 2)
        long = [choice for choice in self.choices if cell_len(harmless(choice.words)) > width // 3 - 7]
        in_columns = [] if 2 * len(long) > len(self.choices) else [c for c in self.choices if c not in long]
        cells = max((cell_len(harmless(choice.words)) for choice in in_columns), default=0) + 7
        across = max(1, width // cells)
        text, place = Text(), 0
        for n, choice in enumerate(self.choices):
            apart = choice not in in_columns
            if n and (apart or place % across == 0):
                text.append("\n")
            text.append(f" {choice.key} ", style="reverse")
            if apart:
                text.append("\n".join(wrap(choice.words, width - 3, "     ", " ")))
                place = 0
            else:
                text.append(" " + pad(choice.words, cells - 4))
                place += 1
        return text

    def on_key(self, event: Key) -> None:
        if event.key == "enter" and self.enter_accepts:
            event.stop()
            self.dismiss(self.choices[0].value)
            return
        choice = next((c for c in self.choices if event.character is not None and c.key == event.character), None)
        if choice is not None:
            event.stop()
            self.dismiss(choice.value)
        elif self.only and event.is_printable:
            event.stop()
            self.dismiss(None)


class KeyLockStrip(ModalScreen[None]):
    """What is shown while the keys are locked; the app forwards no key until the word is typed."""

    AUTO_FOCUS = ""

    def __init__(self, now: Moment, zone: str | None, why: str) -> None:
        super().__init__()
        self.since = time_text(now.utc, zone)
        self.why = f" ({why})" if why else ""

    def compose(self) -> ComposeResult:
        with Strip():
            text = Text(f"KEYS LOCKED since {self.since}{self.why}. Keys do nothing; alarms go on.\n", style="bold")
            text.append(f"To unlock them type  {WORD}  and press Enter.")
            yield Static(text)


async def ask_value(label: str, read: Callable[[str], Value], words: Callable[[Value], str], **how: Any) -> Value:
    """Ask for a text that ``read`` makes a value of, and return that; ``words`` says what was understood."""
    return read(await ask(AskText(label, understand=lambda text: words(read(text)), **how)))


def name_of(text: str, names: Sequence[str]) -> str:
    """Return the one name that ``text`` is, begins, or is close to. Raises ValueError."""
    typed = text.strip().casefold()
    begun = [name for name in names if name.casefold().startswith(typed)]
    exact = [name for name in begun if name.casefold() == typed]
    if exact or len(begun) == 1:
        return (exact or begun)[0]
    if not begun and (near := closest(typed, names)) is not None:
        return near
    shown = ", ".join((begun or names)[:4])
    raise ValueError(f"{'several begin like this' if begun else 'none has this name'}: {shown}, …")


async def pick(label: str, names: Sequence[str], offered: str = "") -> str:
    """Ask for one of ``names``, by a key or, of many, by its beginning; ``offered`` stands first, for Enter."""
    if len(names) <= len(CHOICE_KEYS):
        choices = [KeyChoice(key, name, name) for key, name in zip(CHOICE_KEYS, names, strict=False)]
        choices.sort(key=lambda choice: choice.value != offered)
        return await ask(Choose(label, choices, enter_accepts=offered in names))
    return await ask_value(f"{label}: its beginning", lambda text: name_of(text, names), str, offered=offered)
