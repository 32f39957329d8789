"""What each key of the bench does: most ask, then record."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import TypeVar

from dyeday.bench.main_screen import BenchScreen
from dyeday.track.day.batch_record import BatchRecord

T = TypeVar("T")
A = TypeVar("A", bound="Actions")


class Actions:
    """What some keys ask and do, shown and recorded through the main ``screen``."""

    def __init__(self, screen: BenchScreen) -> None:
        self.screen = screen
        self.live = screen.live


def of_chosen(action: Callable[[A, BatchRecord], T]) -> Callable[[A], T | None]:
    """Make an action of `Actions` get the chosen batch; without one it only shows a message."""

    @wraps(action)
    def with_batch(self: A) -> T | None:
        batch = self.screen.chosen_batch()
        return None if batch is None else action(self, batch)

    return with_batch
