"""Did you do these?, line by line: return records one, digits change its time, space leaves it out."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from rich.text import Text
from textual.app import ComposeResult
from textual.events import Key
from textual.screen import ModalScreen
from textual.widgets import Static

from dyeday.bench.input.key_forwarding import TypedAhead
from dyeday.bench.prompts.catching_up import Proposal
from dyeday.bench.prompts.prompts import Strip
from dyeday.paper.layout.text_page import clip
from dyeday.text import harmless

Taking = Callable[[Proposal, str], str]
"""records a proposal, at a typed time where one was typed; returns what was wrong, empty where it is on record"""


class CatchUp(TypedAhead, ModalScreen[None]):
    """``fetch`` gives the proposals there are without those of the batches left out, ``time_of`` the time of one."""

    AUTO_FOCUS = ""
    BINDINGS = [("escape", "leave", "cancel")]  # noqa: RUF012

    def __init__(
        self,
        fetch: Callable[[Sequence[str]], list[Proposal]],
        time_of: Callable[[Proposal], str],
        take: Taking,
    ) -> None:
        super().__init__()
        self.fetch, self.time_of, self.take = fetch, time_of, take
        self.left_out: list[str] = []
        self.typed = ""
        self.found = fetch(())

    def compose(self) -> ComposeResult:
        with Strip():
            yield Static(Text("Did you do these?", style="bold"))
            yield Static(id="catch-up-lines")
            yield Static(id="catch-up-keys")

    def on_mount(self) -> None:
        self._show()

    def on_resize(self) -> None:
        self._show()

    def _show(self, wrong: str = "") -> None:
        width = max(20, self.app.size.width - 2)
        text = Text()
        for n, one in enumerate(self.found):
            at = f"{self.typed}_" if self.typed and n == 0 else f"about {self.time_of(one)}"
            line = clip(f"{'>' if n == 0 else ' '} {at:<14} {one.batch} {one.text}", width)
            text.append(harmless(line) + "\n", style="bold" if n == 0 else "")
        text.rstrip()
        self.query_one("#catch-up-lines", Static).update(text)
        keys = wrong or "Enter: yes, record it · digits change its time · Space: no, skip it · Esc ends"
        self.query_one("#catch-up-keys", Static).update(
            Text(keys, style=self.look.flag_style if wrong else self.look.quiet)
        )

    def on_key(self, event: Key) -> None:
        said = event.character or ""
        if event.key == "escape":
            return
        event.stop()
        wrong = ""
        if event.key == "enter":
            wrong = self.take(self.found[0], self.typed)
            self.typed = "" if not wrong else self.typed
        elif event.key == "space":
            self.left_out.append(self.found[0].batch)
            self.typed = ""
        elif event.key == "backspace":
            self.typed = self.typed[:-1]
        elif said and said in "0123456789.:":
            self.typed += said
        self.found = self.fetch(self.left_out)
        if not self.found:
            self.dismiss(None)
        else:
            self._show(wrong)

    def action_leave(self) -> None:
        self.dismiss(None)
