"""The bases of every app and screen here: look, ASCII signs for a plain terminal, crash handling, keys and questions.

Keys typed faster than a question can open still reach it, not the screen below: Textual gives a key to the screen
that is on top when the key arrives, while an earlier key may still be about to open a question there. So each screen
forwards such keys, and a question is opened by its own key: in a worker, as Textual's `push_screen_wait` needs, it
would open after the next key.
"""

from __future__ import annotations

import asyncio
import contextlib
import errno
import io
import os
import signal
import sys
import threading
import traceback
from collections.abc import Callable, Coroutine, Generator, Iterator, Sequence
from functools import partial
from pathlib import Path
from types import coroutine
from typing import Any, Generic, TypeVar

from rich.console import Console, RenderableType
from textual import events
from textual.app import App, ScreenStackError
from textual.await_complete import AwaitComplete
from textual.css.query import NoMatches
from textual.driver import Driver
from textual.filter import LineFilter
from textual.screen import Screen
from textual.theme import Theme
from textual.widgets import Input

from dyeday.bench.looks.ascii_signs import PlainSigns
from dyeday.bench.looks.themes import DARK, LOOKS, ColourDepth, LookStyles, look_of

T = TypeVar("T")
Answer = TypeVar("Answer")

ENDING = [getattr(signal, name) for name in ("SIGTERM", "SIGHUP", "SIGQUIT") if hasattr(signal, name)]

LEAVE_SCREEN = "\x1b[?2004l\x1b[?1004l\x1b[?7h\x1b[?1049l\x1b[?25h"
"""ends bracketed paste, focus reports, lines without wrap and the alternate screen, shows the cursor (xterm)"""


class PlainApp(App[T], Generic[T], inherit_bindings=False):
    """An app in the bench's colours; what the bench adds is its clock, its alarms and its key lock."""

    CSS_PATH = Path(__file__).with_name("bench.tcss")
    TITLE = "dyeday"
    ENABLE_COMMAND_PALETTE = False
    """the bench has its own, as one of its keys"""

    def __init__(self, *, ascii_only: bool = False) -> None:
        self.colours = ColourDepth.NONE if "NO_COLOR" in os.environ else ColourDepth.ALL
        """what the terminal shows; `show` asks the terminal"""
        self.look: LookStyles = look_of(self.colours)
        self.ascii_only = ascii_only
        super().__init__(ansi_color=True if self.colours is ColourDepth.NONE else None)
        for look in LOOKS:
            self.register_theme(theme_of(look))
        self.show_look(self.look)
        self.faults = io.StringIO()
        """the details of a crash: what Textual would print over the shell's screen"""
        self.window_gone = threading.Event()
        """set once the terminal's window was closed"""
        self.asked_to_end = threading.Event()
        """set by a signal that came before there was a loop to leave"""
        self.is_leaving = False
        """whether `exit` was called: what opens afterwards is closed before it is complete"""
        self.error_console = Console(file=self.faults, width=118, markup=False, highlight=False)

    def get_driver_class(self) -> type[Driver]:
        """Return KeyboardDriver where Textual would use its LinuxDriver, else Textual's choice."""
        usual = super().get_driver_class()
        if sys.platform != "win32":
            from textual.drivers.linux_driver import LinuxDriver

            if usual is LinuxDriver:
                from dyeday.bench.input.keyboard import KeyboardDriver

                return KeyboardDriver
        return usual

    def show(self) -> str:
        """Run on the terminal until it is left; return the details of a crash of it or of any thread, else ""."""
        if self.colours is not ColourDepth.NONE:
            self.show_colours(ColourDepth.of_terminal(self.console.color_system))
        usual, threading.excepthook = threading.excepthook, self._thread_crashed
        try:
            with _terminal_kept(), _signals_kept(self.asked_to_end.set):
                self.run(mouse=False)
        except Exception:
            self.faults.write(traceback.format_exc())
            if sys.__stderr__ is not None and sys.__stderr__.isatty():
                sys.__stderr__.write(LEAVE_SCREEN)
                sys.__stderr__.flush()
        finally:
            threading.excepthook = usual
        details = self.faults.getvalue()
        return details or (f"Textual ended with {self.return_code}\n" if self.return_code else "")

    def exit(self, result: T | None = None, return_code: int = 0, message: RenderableType | None = None) -> None:
        """Leave, as Textual does, with ``result``."""
        self.is_leaving = True
        super().exit(result, return_code, message)

    def _handle_exception(self, error: Exception) -> None:
        # A key typed before the one that leaves may open a screen that is gone at once, and the clock may tick once
        # more when no screen is left: ignore errors in it.
        if not (self.is_leaving and isinstance(error, NoMatches | ScreenStackError)):
            super()._handle_exception(error)

    def _thread_crashed(self, crash: threading.ExceptHookArgs) -> None:
        if isinstance(crash.exc_value, OSError) and crash.exc_value.errno == errno.EIO:
            # The window was closed while Textual's output thread wrote into it: that is leaving, no crash.
            self.window_gone.set()
            self.call_later(self.exit)
            return
        lines = traceback.format_exception(crash.exc_type, crash.exc_value, crash.exc_traceback)
        self.faults.write(f"In the thread {crash.thread.name if crash.thread else '?'}:\n{''.join(lines)}")
        self.call_later(self.exit, None, 1)

    def on_mount(self) -> None:
        """Let SIGTERM, SIGHUP and SIGQUIT leave as a key does: by themselves they leave the terminal askew."""
        loop = asyncio.get_running_loop()
        for number in ENDING:
            # Not on Windows, and not where the app runs outside the main thread.
            with contextlib.suppress(NotImplementedError, RuntimeError, ValueError):
                loop.add_signal_handler(number, self.exit)
        if self.asked_to_end.is_set():
            self.exit()

    def get_line_filters(self) -> Sequence[LineFilter]:
        """Return Textual's filters, with PlainSigns where only ASCII is shown."""
        filters = super().get_line_filters()
        return [*filters, PlainSigns()] if self.ascii_only else filters

    def show_colours(self, colours: ColourDepth) -> None:
        """Take the first look of what a terminal with these ``colours`` can show."""
        self.colours = colours
        self.show_look(look_of(colours))

    def show_look(self, look: LookStyles) -> None:
        """Show the screen in ``look``, its theme too."""
        self.look = look
        if self.is_running:
            self.theme = look.name
        elif self.theme != look.name:
            # Set as a change, it would have every style read a second time before the first frame.
            self.set_reactive(PlainApp.theme, look.name)
            self.stylesheet.set_variables(self.get_css_variables())


class ScreenApp(PlainApp[T]):
    """Shows one screen, and ends with its answer when that is left."""

    def __init__(self, shown: Screen[T], *, ascii_only: bool = False) -> None:
        super().__init__(ascii_only=ascii_only)
        self.shown = shown

    def on_mount(self) -> None:
        self.push_screen(self.shown, self.exit)


@contextlib.contextmanager
def _signals_kept(note: Callable[[], None]) -> Iterator[None]:
    """Note the signals that end a program in place of ending at once, which would leave the terminal askew."""
    before = {}
    try:
        with contextlib.suppress(ValueError):  # not in the main thread
            for number in ENDING:
                before[number] = signal.signal(number, lambda _number, _frame: note())
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def theme_of(look: LookStyles) -> Theme:
    """Return a look as a Textual theme."""
    colours = look.variables
    return Theme(
        name=look.name,
        primary=colours["rule"],
        foreground=colours["ink"],
        background=colours["ground"],
        surface=colours["band"],
        panel=colours["band"],
        dark=look.is_dark,
        variables=colours,
        ansi=not look.ground.startswith("#"),
    )


@contextlib.contextmanager
def _terminal_kept() -> Iterator[None]:
    """Give the terminal its line settings back, however the block ends."""
    if sys.platform == "win32" or sys.__stdin__ is None or not sys.__stdin__.isatty():
        yield
        return
    import termios

    fileno = sys.__stdin__.fileno()
    before = termios.tcgetattr(fileno)
    try:
        yield
    finally:
        with contextlib.suppress(termios.error):
            termios.tcsetattr(fileno, termios.TCSADRAIN, before)


class LeftError(Exception):
    """A question was left without an answer."""


@coroutine
def ask(question: Screen[Answer | None]) -> Generator[Screen[Answer | None], Answer, Answer]:
    """Return the answer of a question. Raises LeftError if it is left, which ends what `put_questions` puts."""
    return (yield question)


def put_questions(app: App[Any], asking: Coroutine[Any, Any, object], left: Callable[[], object]) -> None:
    """Put the questions that ``asking`` asks, the first at once; ``left`` is called if one is left."""

    def go_on(step: Callable[[], Screen[Any]]) -> None:
        try:
            question = step()
        except StopIteration:
            return
        except LeftError:
            left()
        else:
            app.push_screen(question, answered)

    def answered(answer: object) -> None:
        go_on(partial(asking.throw, LeftError()) if answer is None else partial(asking.send, answer))

    go_on(partial(asking.send, None))


class TypedAhead(Screen[Answer]):
    """A screen of the bench: it forwards keys meant for a screen above it, and knows the app's colours."""

    @property
    def look(self) -> LookStyles:
        """The colours of now: the app's, dark where a screen is shown by another app."""
        look = getattr(self.app, "look", DARK)
        return look if isinstance(look, LookStyles) else DARK

    @property
    def lit(self) -> bool:
        """Whether the one mark that blinks shows just now; always where a screen is shown by another app."""
        return bool(getattr(self.app, "lit", True))

    @property
    def uses_a(self) -> bool:
        """Whether the key a does something else on this screen just now than silence an alarm."""
        return isinstance(self.focused, Input) or "a" in self.active_bindings

    def ticked(self) -> None:
        """Show what another second has changed; nothing, on screens that show no time."""

    def woken(self) -> bool:
        """Update what is shown after a while without a key; return whether the key did only that."""
        return False

    def blinked(self) -> bool:
        """Show the blinking mark as `lit` says; return whether this screen has one."""
        return False

    def dismiss(self, result: Answer | None = None) -> AwaitComplete:
        """Leave the screen with ``result``; do nothing if an earlier key has left it."""
        return super().dismiss(result) if self in self.app.screen_stack else AwaitComplete()

    def action_back(self) -> None:
        self.dismiss(None)

    async def on_event(self, event: events.Event) -> None:
        if isinstance(event, events.Key) and self.is_attached and self.app.screen is not self:
            (self.app.focused or self.app.screen).post_message(event)
            return
        await super().on_event(event)


class Drawn(TypedAhead[Answer]):
    """A screen that `show` draws: once it is there, and again at another size."""

    def on_mount(self) -> None:
        self.show()

    def on_resize(self) -> None:
        self.show()

    def show(self) -> None:
        """Draw the present state."""


class DrawnEachSecond(Drawn[Answer]):
    """A screen of what also changes beside the keys."""

    def ticked(self) -> None:
        self.show()
