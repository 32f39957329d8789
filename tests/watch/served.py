"""A page that a test serves, a day to show on it, and an attacker's way of asking: bytes on a socket."""

from __future__ import annotations

import socket
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from urllib.parse import urlsplit

from dyeday.ahead.advising.advice import advice
from dyeday.commands.screens.demo import make_demo
from dyeday.store.session_file import SessionFile
from dyeday.track.day.day_state import Day
from dyeday.track.folding.fold import fold
from dyeday.track.timestamp import Moment
from dyeday.watch.serving import ServedPage

MOMENT = datetime(2026, 5, 9, 14, 20, tzinfo=UTC)
SECRET = "kept-by-the-test-alone"  # noqa: S105 - opens nothing but a test's page
LONGEST_S = 30.0


@dataclass(frozen=True, slots=True)
class Reply:
    """What came back: 0 where the connection was closed without an answer."""

    status: int
    headers: dict[str, str]
    body: bytes


def raw(url: str, said: bytes, source: str = "127.0.0.1") -> Reply:
    """Send bytes to where ``url`` is served, from an address of this computer, and read to the end."""
    place = urlsplit(url)
    assert place.hostname is not None
    try:
        with closing(
            socket.create_connection((place.hostname, place.port or 0), LONGEST_S, source_address=(source, 0))
        ) as line:
            line.sendall(said)
            got = b""
            while more := line.recv(1 << 16):
                got += more
    except ConnectionError:
        return Reply(0, {}, b"")
    if not got:
        return Reply(0, {}, b"")
    head, _, body = got.partition(b"\r\n\r\n")
    first, *rest = head.decode("latin-1").split("\r\n")
    headers = {name.lower(): value for name, _, value in (line.partition(": ") for line in rest)}
    return Reply(int(first.split()[1]), headers, body)


def get(
    url: str,
    path: str | None = None,
    *,
    method: str = "GET",
    host: str | None = None,
    more: str = "",
    body: bytes = b"",
    source: str = "127.0.0.1",
) -> Reply:
    """Ask as a browser would, but for what is given."""
    place = urlsplit(url)
    named = place.netloc if host is None else host
    line = f"{method} {place.path if path is None else path} HTTP/1.1\r\n"
    headers = f"{f'Host: {named}' if named else 'X-Without: host'}\r\nConnection: close\r\n{more}\r\n"
    return raw(url, (line + headers).encode("latin-1") + body, source)


@contextmanager
def served(port: int = 0) -> Iterator[ServedPage]:
    """Serve the demo's day until the block ends."""
    page = ServedPage(port=port, secret=SECRET)
    try:
        yield page
    finally:
        page.close()


def demo_day(folder: Path) -> tuple[SessionFile, Day, Moment]:
    """Return the demo's session and its day at a fixed moment."""
    now = Moment(MOMENT)
    file = make_demo(folder, now)
    return file, fold(file.plan, file.events), now


def show(page: ServedPage, day: Day, now: Moment) -> None:
    page.show(day, now, advice(day, now, 6, None), None)
