"""The page for phones as the bench sees it; `dyeday.watch` serves it, a command connects the two."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Protocol

from dyeday.ahead.advising.next_up import NextUp
from dyeday.bench.live_session import LiveSession
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import Moment

if TYPE_CHECKING:
    from dyeday.ahead.foreseen_steps import Forecast

PAGE_WORDS = (
    "Scan the code or type the address. Give it to your household only.",
    "The page changes nothing. It is not encrypted: others on this network could listen in.",
    "It helps; it is not a safety device. Never leave heat unattended.",
)
"""said wherever the address is shown"""
HERE_WORDS = (
    "Open this address in a browser on this computer.",
    "For phones and tablets, press Esc, then W and x, then W and n.",
    *PAGE_WORDS[2:],
)
"""said instead where the page is for this computer only"""
CLOSED = "the day is closed"


class CannotShowError(Exception):
    """The page cannot be served; the text says why and what to do."""


class WatchPage(Protocol):
    """A page that is being served at ``url``, of which ``code`` is the QR code in lines of half blocks."""

    @property
    def url(self) -> str:
        """The address, with its secret."""

    @property
    def code(self) -> Sequence[str]:
        """The lines of the address's QR code, from half blocks."""

    @property
    def is_on(self) -> bool:
        """Whether it still serves."""

    def show(
        self, day: Day, now: Moment, items: Sequence[NextUp], forecast: Forecast | None, *, unsaved: bool = False
    ) -> None:
        """Show ``day`` as it is at ``now``, ``items`` as what is next, and what the latest forecast says."""

    def end(self, why: str) -> None:
        """Tell the open pages ``why`` it ends, then stop a few seconds later; returns at once."""

    def close(self) -> None:
        """Stop at once; harmless when it has stopped."""


OpenPage = Callable[[bool], WatchPage]
"""starts serving: to the home network where true, else to this computer alone; raises CannotShowError"""


class PhonePage:
    """The page while it is on. ``open_page`` is None where nothing can serve one, as in a test of the bench alone."""

    def __init__(self, open_page: OpenPage | None) -> None:
        self._open_page = open_page
        self.page: WatchPage | None = None
        self.is_for_network = False

    def start(self, *, network: bool) -> WatchPage:
        """Serve the page, to the home network or to this computer alone. Raises CannotShowError."""
        if self._open_page is None:
            raise CannotShowError("this bench has no page to show elsewhere")
        self.page, self.is_for_network = self._open_page(network), network
        return self.page

    def stop(self, why: str) -> None:
        """Have the page say ``why`` it ends, then end it; harmless where none is on."""
        page, self.page = self.page, None
        if page is not None:
            page.end(why)

    def close(self) -> None:
        """End the page at once; harmless where none is on."""
        page, self.page = self.page, None
        if page is not None:
            page.close()

    def tick(self, live: LiveSession, now: Moment, items: Sequence[NextUp], forecast: Forecast | None) -> str:
        """Update the page to the day as it is now; return a message if the page has failed, else ""."""
        if self.page is None:
            return ""
        if live.day.closed is not None:
            self.stop(CLOSED)
            return ""
        try:
            if self.page.is_on:
                self.page.show(live.day, now, items, forecast, unsaved=live.trouble is not None)
                return ""
        except Exception:  # noqa: S110 - the bench goes on without the page, and says so
            pass
        self.close()
        return "the page for phones has failed and is off; W starts it again"
