"""The strip that stands while the keys are locked: since when, why, and the way out."""

from __future__ import annotations

from rich.text import Text
from textual.app import ComposeResult
from textual.screen import ModalScreen
from textual.widgets import Static

from dyeday.bench.input.key_lock import WORD
from dyeday.bench.prompts.prompts import Strip
from dyeday.paper.local_time import clock
from dyeday.track.timestamp import Now


class KeyLockStrip(ModalScreen[None]):
    """No key reaches it: the app's door keeps them all until the word was typed."""

    AUTO_FOCUS = ""

    def __init__(self, now: Now, zone: str | None, why: str) -> None:
        super().__init__()
        self.since = clock(now.utc, zone)
        self.why = f" ({why})" if why else ""

    def compose(self) -> ComposeResult:
        with Strip():
            text = Text(f"KEYS LOCKED since {self.since}{self.why}. Keys do nothing; alarms go on.\n", style="bold")
            text.append(f"To unlock them type  {WORD}  and press Enter.")
            yield Static(text)
