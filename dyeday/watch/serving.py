"""Serving the page: its address, the server in its own thread, and its application, which only reads."""

from __future__ import annotations

import contextlib
import errno
import hmac
import ipaddress
import json
import logging
import os
import secrets
import socket
import threading
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from importlib import resources
from typing import TYPE_CHECKING, Any

from dyeday.ahead.advising.next_up import NextUp
from dyeday.bench.watch_link import CannotShowError
from dyeday.quick_dataclass import dataclass
from dyeday.text import brief
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import Moment, signed_s
from dyeday.watch.page_values import page_values

if TYPE_CHECKING:
    from dyeday.ahead.foreseen_steps import Forecast

LOOPBACK = "127.0.0.1"
ELSEWHERE = "192.0.2.1"
"""an address kept for documentation (RFC 5737): the way to it is the way out of this computer; nothing is sent"""
SECRET_BYTES = 16
"""128 bits: not to be guessed, and short enough for a QR code that a phone reads across a table"""
MOST_CONNECTIONS, MOST_OF_ONE = 32, 8
"""open at a time: of all clients, and of one; a browser opens up to six"""
IDLE_S = 10
"""a connection that says nothing for so long is closed"""
MOST_HEADER_BYTES, MOST_BODY_BYTES = 8192, 1024
THREADS = 2
LOOK_S = 3.0
"""how often what comes due by time alone is looked for, as on the bench"""
LAST_WORD_S = 3.0
"""how long a page that ends still says so"""
MISSING = "the page for phones needs two more libraries: install them with `pip install '.[room]'` in dyeday's folder"


class FewConnections(socket.socket):
    """A listening socket that refuses a connection beyond its limits by closing it at once."""

    most, most_of_one = MOST_CONNECTIONS, MOST_OF_ONE

    def __init__(self, *args: Any, **how: Any) -> None:
        super().__init__(*args, **how)
        self._open: list[tuple[str, socket.socket]] = []

    def accept(self) -> tuple[socket.socket, Any]:
        """Raises ConnectionAbortedError for one too many, which a server treats as a client that went away."""
        connection, address = super().accept()
        self._open = [(who, one) for who, one in self._open if one.fileno() != -1]
        own = sum(who == address[0] for who, _ in self._open)
        if len(self._open) >= self.most or own >= self.most_of_one:
            connection.close()
            raise ConnectionAbortedError(errno.ECONNABORTED, "too many connections")
        self._open.append((address[0], connection))
        return connection, address


class ServedPage:
    """The page at ``url`` until it is closed. ``secret`` is a new one unless a test gives its own."""

    def __init__(self, address: str = LOOPBACK, port: int = 0, *, secret: str = "") -> None:
        """Raises CannotShowError where a library is missing or the address cannot be had."""
        try:
            from waitress import create_server
        except ImportError:
            raise CannotShowError(MISSING) from None
        _be_silent()
        self.values = Values()
        secret = secret or secrets.token_urlsafe(SECRET_BYTES)
        listening = _listening(address, port)
        host = f"{address}:{listening.getsockname()[1]}"
        self.url = f"http://{host}/{secret}/"
        try:
            self.code: Sequence[str] = qr_lines(self.url)
        except ImportError:
            listening.close()
            raise CannotShowError(MISSING) from None
        self._channels: dict[int, Any] = {}
        self._server = create_server(
            Door(self.values, host, secret, most_clients=MOST_CLIENTS),
            map=self._channels,
            sockets=[listening],
            threads=THREADS,
            # What listens and wakes the server counts as well.
            connection_limit=MOST_CONNECTIONS + 4,
            channel_timeout=IDLE_S,
            cleanup_interval=IDLE_S // 2,
            max_request_header_size=MOST_HEADER_BYTES,
            max_request_body_size=MOST_BODY_BYTES,
            ident=None,
            log_socket_errors=False,
        )
        self._thread = threading.Thread(target=self._run, name="watch page", daemon=True)
        self._looked: tuple[tuple[Day, Forecast | None, bool], Moment] | None = None
        self._later: threading.Timer | None = None
        self._thread.start()

    def show(
        self, day: Day, now: Moment, items: Sequence[NextUp], forecast: Forecast | None, *, unsaved: bool = False
    ) -> None:
        """Show ``day`` as it is at ``now``; without an entry or a forecast it is computed each LOOK_S only."""
        about = (day, forecast, unsaved)
        before, self._looked = self._looked, (about, now)
        # Clocks count on by themselves: only an entry, a forecast or a while makes another page.
        if (
            before is not None
            and all(a is b for a, b in zip(before[0], about, strict=True))
            and 0 <= signed_s(before[1], now) < LOOK_S
        ):
            self._looked = before
            self.values.hold()
        else:
            self.values.put(page_values(day, now, items, forecast, unsaved=unsaved))

    @property
    def is_on(self) -> bool:
        """Whether it still serves."""
        return self._thread.is_alive()

    def _run(self) -> None:
        # Whatever breaks here ends the page, never the bench that shows it: the page then says that it hears nothing.
        with contextlib.suppress(Exception):
            self._server.run()

    def end(self, why: str) -> None:
        """Tell the open pages ``why`` it ends and stop LAST_WORD_S later, in a thread of its own."""
        self.values.end(why)
        self._later = threading.Timer(LAST_WORD_S, self.close)
        self._later.daemon = True
        self._later.start()

    def close(self) -> None:
        """Stop within 5 s; harmless when it has stopped."""
        if self._later is not None:
            self._later.cancel()
        if self._thread.is_alive():
            self._server.trigger.pull_trigger(self._close_all)
            self._thread.join(5)
            self._server.task_dispatcher.shutdown()

    def _close_all(self) -> None:
        """Close what listens and every connection, in the server's own thread; with nothing left it ends."""
        for channel in list(self._channels.values()):
            channel.close()


def _listening(address: str, port: int) -> socket.socket:
    made = FewConnections(socket.AF_INET, socket.SOCK_STREAM)
    if os.name == "posix":  # elsewhere it would let another program listen at the same port
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        made.bind((address, port))
    except OSError as error:
        made.close()
        why = (error.strerror or str(error)).lower()
        raise CannotShowError(f"{address}:{port} cannot be used: {why}; name another --port or --network") from None
    return made


def home_address(asked: str = "") -> str:
    """Return ``asked`` or this computer's address at home. Raises CannotShowError for none, or a public one."""
    given = asked or _way_out()
    try:
        address = ipaddress.IPv4Address(given)
    except ValueError:
        right = "write this computer's own, such as 192.168.1.20"
        raise CannotShowError(f"{brief(given)} is not an address; {right}") from None
    if address.is_unspecified or address.is_multicast or not address.is_private:
        right = "name one such as 192.168.1.20 or 10.0.0.5"
        raise CannotShowError(f"{given} is not an address in a home network; {right}")
    return str(address)


def _way_out() -> str:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect((ELSEWHERE, 9))
        except OSError:
            right = "join the home network, or name its address: --network 192.168.1.20"
            raise CannotShowError(f"this computer is on no network; {right}") from None
        return str(probe.getsockname()[0])


def qr_lines(url: str) -> tuple[str, ...]:
    """Return the QR code of ``url`` and its quiet zone in half blocks, a blank is light. Raises ImportError."""
    import segno

    rows = [list(row) for row in segno.make(url, error="l", micro=False).matrix_iter(border=2)]
    rows += [[0] * len(rows[0])] * (len(rows) % 2)
    signs = {(0, 0): " ", (1, 0): "▀", (0, 1): "▄", (1, 1): "█"}
    pairs = (zip(upper, lower, strict=True) for upper, lower in zip(rows[::2], rows[1::2], strict=True))
    return tuple("".join(signs[bool(a), bool(b)] for a, b in pair) for pair in pairs)


def _be_silent() -> None:
    """Keep the server's log off the screen of the bench; addresses in it would have the secret."""
    log = logging.getLogger("waitress")
    log.propagate = False
    if not log.handlers:
        log.addHandler(logging.NullHandler())


def opened(network: bool, address: str = "", port: int = 0) -> ServedPage:
    """Serve the page to this computer, or to the ``network`` at ``address`` or its own. Raises CannotShowError."""
    return ServedPage(home_address(address) if network else LOOPBACK, port)


Environ = Mapping[str, Any]
StartResponse = Callable[[str, list[tuple[str, str]]], object]

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
HEADERS = (
    ("Content-Security-Policy", POLICY),
    ("Cache-Control", "no-store"),
    ("Referrer-Policy", "no-referrer"),
    ("X-Content-Type-Options", "nosniff"),
    ("X-Frame-Options", "DENY"),
    ("Cross-Origin-Resource-Policy", "same-origin"),
)
"""sent with every answer, a refusal as well"""
FILES = {
    "": ("page.html", "text/html; charset=utf-8"),
    "page.css": ("page.css", "text/css; charset=utf-8"),
    "page.js": ("page.js", "text/javascript; charset=utf-8"),
}
MOST_CLIENTS = 8
"""computers and phones that may watch at a time"""
CLIENT_GONE_S = 30.0
"""after so many seconds without a request a client no longer counts"""


class Values:
    """The latest value of the page, handed from the thread that knows the day to those that answer."""

    def __init__(self, monotonic: Callable[[], float] = time.monotonic) -> None:
        self._monotonic = monotonic
        self._lock = threading.Lock()
        self._value: dict[str, Any] | None = None
        self._at = self._held = 0.0

    def put(self, value: dict[str, Any]) -> None:
        """Answer ``value`` from now on; its ``now_ms`` is the time at this moment."""
        with self._lock:
            self._value, self._at = value, self._monotonic()
            self._held = self._at

    def hold(self) -> None:
        """Mark the latest value as still true."""
        with self._lock:
            self._held = self._monotonic()

    def end(self, why: str) -> None:
        """Replace the page's value by ``why`` it ends."""
        with self._lock:
            self._value = {**(self._value or {"now_ms": 0}), "ended": why}

    def answer(self) -> bytes | None:
        """Return the value as JSON, with this moment and its age since the last put or hold; None before one."""
        with self._lock:
            if self._value is None:
                return None
            now, value = self._monotonic(), self._value
            gone_on_s, age_s = now - self._at, now - self._held
        answer = {**value, "now_ms": value["now_ms"] + round(gone_on_s * 1000), "age_s": round(age_s, 3)}
        return json.dumps(answer, ensure_ascii=True).encode("ascii")


@dataclass(frozen=True, slots=True)
class _Answer:
    status: str
    kind: str = "text/plain; charset=utf-8"
    body: bytes = b""
    more: tuple[tuple[str, str], ...] = ()


WRONG_HOST = _Answer("403 Forbidden", body=b"not by this name\n")
WRONG_METHOD = _Answer("405 Method Not Allowed", body=b"reading only\n", more=(("Allow", "GET"),))
NO_BODY = _Answer("413 Content Too Large", body=b"reading only\n")
NOT_FOUND = _Answer("404 Not Found", body=b"not found\n")
TOO_MANY = _Answer("503 Service Unavailable", body=b"too many are watching\n", more=(("Retry-After", "30"),))
NOT_YET = _Answer("503 Service Unavailable", body=b"nothing to show yet\n", more=(("Retry-After", "1"),))


class Door:
    """The application. ``host`` is the one Host header it answers to, ``secret`` the first part of every path."""

    def __init__(
        self,
        values: Values,
        host: str,
        secret: str,
        *,
        most_clients: int = MOST_CLIENTS,
        monotonic: Callable[[], float] = time.monotonic,
    ) -> None:
        self._values = values
        self._host = host.encode("ascii")
        self._secret = secret.encode("ascii")
        self._most = most_clients
        self._monotonic = monotonic
        self._lock = threading.Lock()
        self._seen: dict[str, float] = {}
        """by a client's address, when it last asked with the right secret"""
        folder = resources.files("dyeday.watch")
        self._files = {path: (kind, (folder / name).read_bytes()) for path, (name, kind) in FILES.items()}

    def __call__(self, environ: Environ, start_response: StartResponse) -> Iterable[bytes]:
        answer = self._answer(environ)
        length = ("Content-Length", str(len(answer.body)))
        start_response(answer.status, [("Content-Type", answer.kind), length, *HEADERS, *answer.more])
        return [answer.body]

    def _answer(self, environ: Environ) -> _Answer:
        # A page of another site that has this address under a name of its own (DNS rebinding) comes with that name.
        if not _same(str(environ.get("HTTP_HOST", "")), self._host):
            return WRONG_HOST
        if environ.get("REQUEST_METHOD") != "GET":
            return WRONG_METHOD
        if environ.get("CONTENT_LENGTH") not in (None, "", "0"):
            return NO_BODY
        # Kept whole: a path without a slash is compared as well, so that every wrong one takes as long.
        secret, slash, rest = str(environ.get("PATH_INFO", "")).removeprefix("/").partition("/")
        if not _same(secret, self._secret) or not slash or environ.get("QUERY_STRING"):
            return NOT_FOUND
        if not self._let_in(str(environ.get("REMOTE_ADDR", ""))):
            return TOO_MANY
        if rest == "now":
            answer = self._values.answer()
            return NOT_YET if answer is None else _Answer("200 OK", "application/json", answer)
        file = self._files.get(rest)
        return NOT_FOUND if file is None else _Answer("200 OK", *file)

    def _let_in(self, client: str) -> bool:
        """Count a client that knows the secret; return whether there is room for it."""
        now = self._monotonic()
        with self._lock:
            self._seen = {who: at for who, at in self._seen.items() if now - at < CLIENT_GONE_S}
            if client not in self._seen and len(self._seen) >= self._most:
                return False
            self._seen[client] = now
            return True


def _same(given: str, right: bytes) -> bool:
    """Compare in constant time."""
    return hmac.compare_digest(given.encode("utf-8", "replace"), right)
