"""The far view: what needs attention next, readable from across the room; the bench's next lines and nothing else."""

from __future__ import annotations

from textual.app import ComposeResult

from dyeday.bench.main_screen import BenchScreen
from dyeday.bench.plain_app import Drawn
from dyeday.bench.view.attention import Attention, needing_attention
from dyeday.bench.view.far_text import FarStatus, far_text
from dyeday.bench.widgets.board import Board, Canvas, Line
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import Moment, signed_s, time_text_near

NEAR_S, LOOK_S = 70.0, 3.0
"""if no timer is as near to its end as this, update only every few seconds"""


class FarScreen(Drawn[None]):
    """The far view; the app's tick paints it, the app's blink moves its mark."""

    BLANK = True
    """the board covers all of it"""
    BINDINGS = [("v,escape,q", "back", "back"), ("a", "silence", "silence"), ("g", "app.lock_keys", "key lock")]  # noqa: RUF012

    def __init__(self, bench: BenchScreen) -> None:
        super().__init__()
        self.bench = bench
        self.live = bench.live
        self.board = Board(id="far")
        self._looked: tuple[Day, Moment] | None = None
        self._things: list[Attention] = []
        self.note = ""
        """what happened while the computer slept, until the next key"""

    def compose(self) -> ComposeResult:
        yield self.board

    def show(self) -> None:
        """Show what needs attention now; only lines that say something else are drawn again."""
        if not self.is_mounted:
            return
        day, now = self.live.day, self.live.now()
        self._things = needing_attention(day, now, self.bench.view_cache.items)
        soonest = min((abs(thing.left_s) for thing in self._things if thing.left_s is not None), default=NEAR_S)
        self._looked = (day, now) if soonest >= NEAR_S and not self.live.trouble else None
        self._draw()

    def _draw(self) -> None:
        now, session = self.live.now(), self.live.day.plan.session
        canvas = Canvas(*self.app.size, self.look)
        status = FarStatus(
            lit=self.lit,
            screen_mm=session.screen_height_mm,
            unsaved=self.live.unsaved_words,
            silences=any(thing.unsilenced for thing in self._things) and not self.live.read_only,
            note="; ".join(filter(None, (self.note, self.bench.muted_words()))),
            clock=time_text_near(now.utc, session.zone, now.utc),
            finish=self.bench.shown.foreseen if self.bench.shown is not None else "",
        )
        lines = far_text(self._things, canvas, status).split("\n")[: canvas.height]
        self.board.show([Line(line, self.look.ground) for line in lines], self.look.ink)

    def ticked(self) -> None:
        before = self._looked
        same = before is not None and before[0] is self.live.day
        if before is None or not same or not 0 <= signed_s(before[1], self.live.now()) < LOOK_S:
            self.show()

    def blinked(self) -> bool:
        self._draw()
        return True

    def on_key(self) -> None:
        self.note = ""
        self._draw()

    def action_silence(self) -> None:
        self.bench.silence()
        self.show()
