"""The door of the page: a WSGI application that only reads, and answers four addresses behind a secret."""

from __future__ import annotations

import hmac
import json
import threading
import time
from collections.abc import Callable, Iterable, Mapping
from importlib import resources
from typing import Any

from dyeday.quick_dataclass import dataclass

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
