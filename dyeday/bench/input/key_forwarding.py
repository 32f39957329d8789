"""Keys typed faster than a question can open still reach the question, not the screen below it.

Textual gives a key to the screen that is on top when the key arrives, while an earlier key may still be about to open
a question there. So each screen passes on such keys, and a question is opened by its own key: in a worker, as
Textual's `push_screen_wait` needs, it would open after the next key.
"""

from __future__ import annotations

from collections.abc import Callable, Coroutine, Generator
from functools import partial
from types import coroutine
from typing import Any, TypeVar

from textual import events
from textual.app import App
from textual.await_complete import AwaitComplete
from textual.screen import Screen
from textual.widgets import Input

from dyeday.bench.looks.themes import DARK, LookStyles

Answer = TypeVar("Answer")


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
    """A screen of the bench: it passes on keys meant for a screen above it, and knows the app's colours."""

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
    def means_a(self) -> bool:
        """Whether the key that silences an alarm means something else on this screen just now."""
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
