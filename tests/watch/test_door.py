"""The door of the page, tried as an attacker on the home network would try it."""

from __future__ import annotations

import hmac
import json
import logging
import socket
import urllib.parse
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from dyeday.bench.watch_link import CannotShowError
from dyeday.watch.serving import Door, ServedPage, Values, home_address, qr_lines
from tests.watch.served import SECRET, Reply, demo_day, get, raw, served, show


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ServedPage]:
    with served() as one:
        _, day, now = demo_day(tmp_path_factory.mktemp("demo"))
        show(one, day, now)
        yield one


def test_the_right_address_opens_the_page_and_what_belongs_to_it(page: ServedPage) -> None:
    kinds = {"": "text/html", "page.css": "text/css", "page.js": "text/javascript", "now": "application/json"}
    for name, kind in kinds.items():
        reply = get(page.url, f"/{SECRET}/{name}")
        assert (reply.status, reply.headers["content-type"].split(";")[0]) == (200, kind)
        assert reply.body


@pytest.mark.parametrize(
    "path",
    [
        *("/", "/now", "//", f"/{SECRET}", f"/{SECRET[:-1]}/", f"/{SECRET}x/", f"/{SECRET.upper()}/"),
        *(f"/{'x' * len(SECRET)}/now", f"/{SECRET}/../{SECRET}/nothing", "/%00/"),
        *(f"/{SECRET}/page.html", f"/{SECRET}/../door.py", f"/{SECRET}/%2e%2e/door.py", f"/{SECRET}//now"),
        *(f"/{SECRET}/now?then", f"/{SECRET}/now/", f"/{SECRET};/now", f"/x/?{SECRET}/now"),
    ],
)
def test_a_wrong_secret_or_path_is_not_found_and_tells_nothing(page: ServedPage, path: str) -> None:
    """Whatever is wrong about it, the answer is the same."""
    reply = get(page.url, path)
    assert (reply.status, reply.body) == (404, b"not found\n")


@pytest.mark.parametrize(
    "host",
    ["", "evil.example", "localhost", "127.0.0.1", "127.0.0.1:1", "evil.example:{port}", "127.0.0.1:{port}.evil"],
)
def test_a_foreign_host_is_refused_although_the_secret_is_right(page: ServedPage, host: str) -> None:
    """A page of another site that gives this address a name of its own (DNS rebinding) comes with that name."""
    port = str(urllib.parse.urlsplit(page.url).port)
    reply = get(page.url, host=host.replace("{port}", port))
    assert (reply.status, reply.body) == (403, b"not by this name\n")


def test_two_hosts_are_not_the_right_one(page: ServedPage) -> None:
    place = urllib.parse.urlsplit(page.url)
    reply = get(page.url, host="evil.example", more=f"Host: {place.netloc}\r\n")
    assert reply.status in (400, 403)


@pytest.mark.parametrize(
    "method", ["POST", "PUT", "DELETE", "PATCH", "OPTIONS", "HEAD", "TRACE", "CONNECT", "PROPFIND", "get", "MARK"]
)
def test_no_other_method_is_answered(page: ServedPage, method: str) -> None:
    """`get` is another method than GET (RFC 9110, 9.1), which the server may refuse as no request at all."""
    reply = get(page.url, method=method, more="Content-Length: 0\r\n")
    assert reply.status in (400, 405)
    assert method == "get" or reply.headers["allow"] == "GET"


def test_no_request_changes_the_day(tmp_path: Path, page: ServedPage) -> None:
    file, _, _ = demo_day(tmp_path)
    before = {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    for method in ("GET", "POST", "DELETE"):
        get(page.url, method=method, more='X: {"batch": "06", "to": "done"}\r\n')
    assert {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()} == before
    assert file.path in before


def test_what_is_too_large_is_refused(page: ServedPage) -> None:
    """A body with a GET, endless headers, an endless path."""
    assert get(page.url, more="Content-Length: 5\r\n", body=b"12345").status == 413
    assert get(page.url, more=f"Content-Length: {10**9}\r\n").status == 413
    assert (
        get(page.url, more="Transfer-Encoding: chunked\r\n", body=b"fff\r\n" + b"x" * 4095 + b"\r\n0\r\n\r\n").status
        == 413
    )
    assert get(page.url, more=f"X-Long: {'x' * 20_000}\r\n").status in (0, 431)
    assert get(page.url, f"/{'x' * 20_000}").status in (0, 431)


def test_bytes_that_are_not_a_path_are_refused(page: ServedPage) -> None:
    assert get(page.url, "/é/").status == 400


NO_REQUESTS = (
    *(b"\r\n\r\n", b"\0\0\0\0\r\n\r\n", b"GET\r\n\r\n", b"GET / HTTP/9.9\r\n\r\n"),
    *(b"\x16\x03\x01\x02\r\n\r\n", b"GET / HTTP/1.0\r\n\r\n"),
)


@pytest.mark.parametrize("said", NO_REQUESTS)
def test_what_is_not_a_request_opens_nothing_and_breaks_nothing(page: ServedPage, said: bytes) -> None:
    place = urllib.parse.urlsplit(page.url)
    with socket.create_connection((str(place.hostname), place.port or 0), 10) as line:
        line.sendall(said)
        line.shutdown(socket.SHUT_WR)
        got = line.recv(1 << 16)
    assert b"200 OK" not in got
    assert get(page.url).status == 200


def test_every_answer_is_kept_to_itself(page: ServedPage) -> None:
    """A strict content policy, nothing stored, no referrer, no cookie, no name of the server; refusals as well."""
    for reply in (
        get(page.url),
        get(page.url, "/x/"),
        get(page.url, host="evil.example"),
        get(page.url, method="POST"),
    ):
        policy = dict(part.split(" ", 1) for part in reply.headers["content-security-policy"].split("; "))
        assert policy["default-src"] == "'none'"
        assert {policy[name] for name in ("script-src", "style-src", "connect-src")} == {"'self'"}
        assert policy["frame-ancestors"] == policy["form-action"] == policy["base-uri"] == "'none'"
        assert reply.headers["cache-control"] == "no-store"
        assert reply.headers["referrer-policy"] == "no-referrer"
        assert reply.headers["x-content-type-options"] == "nosniff"
        assert not {"set-cookie", "server", "access-control-allow-origin", "location"} & set(reply.headers)


def test_nothing_is_fetched_from_elsewhere(page: ServedPage) -> None:
    """The page, its style and its script name no address, and have nothing inline that the policy forbids."""
    html = get(page.url).body.decode()
    files = (
        html + get(page.url, f"/{SECRET}/page.css").body.decode() + get(page.url, f"/{SECRET}/page.js").body.decode()
    )
    assert "http" not in files.replace("http-equiv", "")
    assert "style=" not in html
    assert "onclick" not in html
    assert "innerHTML" not in files
    assert SECRET not in files


def test_the_secret_is_new_each_time_and_not_to_be_guessed() -> None:
    """128 bits, as OWASP's session identifiers ask at least 64 bits of entropy (from memory)."""
    pages = [ServedPage() for _ in range(3)]
    try:
        secrets = [urllib.parse.urlsplit(one.url).path.strip("/") for one in pages]
    finally:
        for one in pages:
            one.close()
    assert len(set(secrets)) == 3
    assert all(len(secret) >= 128 / 6 for secret in secrets)


def test_secret_and_host_are_compared_whole_in_constant_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """By the standard library's own comparison, whatever was asked for, and by nothing else."""
    compared: list[tuple[bytes, bytes]] = []

    def noted(said: bytes, right: bytes) -> bool:
        compared.append((said, right))
        return said == right

    monkeypatch.setattr(hmac, "compare_digest", noted)
    one = Door(Values(), "h:1", SECRET)
    for path in ("/", "/k", f"/{SECRET[:-1]}x/now", "/" + "y" * 500):
        compared.clear()
        status = _asked(one, PATH_INFO=path)
        assert status.startswith("404")
        assert compared == [(b"h:1", b"h:1"), (path.split("/")[1].encode(), SECRET.encode())]


def _asked(one: Door, **more: str) -> str:
    said: list[str] = []
    environ = {
        "HTTP_HOST": "h:1",
        "REQUEST_METHOD": "GET",
        "REMOTE_ADDR": "10.0.0.1",
        "PATH_INFO": f"/{SECRET}/",
        **more,
    }
    list(one(environ, lambda status, _headers: said.append(status)))
    return said[0]


class Clock:
    """Seconds that are set."""

    def __init__(self) -> None:
        self.s = 100.0

    def __call__(self) -> float:
        return self.s


def test_the_ninth_client_is_refused_until_one_has_gone() -> None:
    """By address: a phone that asks again is the same client."""
    clock = Clock()
    one = Door(Values(), "h:1", SECRET, monotonic=clock)
    for n in range(8):
        assert _asked(one, REMOTE_ADDR=f"10.0.0.{n}") == "200 OK"
    assert _asked(one, REMOTE_ADDR="10.0.0.9").startswith("503")
    clock.s += 20
    for n in range(7):
        assert _asked(one, REMOTE_ADDR=f"10.0.0.{n}") == "200 OK"
    assert _asked(one, REMOTE_ADDR="10.0.0.9").startswith("503")
    clock.s += 11
    assert _asked(one, REMOTE_ADDR="10.0.0.9") == "200 OK"
    assert _asked(one, REMOTE_ADDR="10.0.0.7").startswith("503")


def test_who_does_not_know_the_secret_takes_no_clients_place() -> None:
    one = Door(Values(), "h:1", SECRET)
    for n in range(100):
        assert _asked(one, REMOTE_ADDR=f"10.0.1.{n}", PATH_INFO="/guess/").startswith("404")
    assert _asked(one) == "200 OK"


def test_one_address_holds_few_connections_and_the_others_still_come_in(page: ServedPage) -> None:
    """Fifty that are opened and say nothing leave room for a phone: the ninth of one address is closed at once."""
    place = urllib.parse.urlsplit(page.url)
    lines = [
        socket.create_connection((str(place.hostname), place.port or 0), 10, ("127.0.0.66", 0)) for _ in range(50)
    ]
    try:
        closed = 0
        for line in lines[8:]:
            try:
                closed += line.recv(1) == b""
            except ConnectionError:
                closed += 1
        assert closed == 42
        assert get(page.url).status == 200
    finally:
        for line in lines:
            line.close()


def test_no_address_with_the_secret_comes_into_a_log_or_onto_the_screen(
    page: ServedPage, caplog: pytest.LogCaptureFixture, capfd: pytest.CaptureFixture[str]
) -> None:
    caplog.set_level(logging.DEBUG)
    for ask in _bad(page):
        ask()
    out, err = capfd.readouterr()
    assert SECRET not in caplog.text + out + err
    assert err == ""


def _bad(page: ServedPage) -> list[Callable[[], Reply]]:
    return [
        lambda: get(page.url),
        lambda: get(page.url, method="POST", more="Content-Length: 99999\r\n"),
        lambda: get(page.url, more=f"X: {'x' * 9000}\r\n"),
        lambda: get(page.url, host="evil.example"),
        lambda: raw(page.url, f"GET /{SECRET}/ HTTP/1.1\r\nHost:\r\n bad\r\n\r\n".encode()),
    ]


def test_how_old_a_value_is_comes_with_it() -> None:
    """The server goes by a clock that cannot be set: a bench that stands still is not taken for one that works."""
    clock = Clock()
    values = Values(clock)
    assert values.answer() is None
    values.put({"now_ms": 1_000_000})
    clock.s += 12.5
    said = json.loads(values.answer() or b"")
    assert (said["now_ms"], said["age_s"]) == (1_012_500, 12.5)
    values.hold()
    clock.s += 2
    said = json.loads(values.answer() or b"")
    assert (said["now_ms"], said["age_s"]) == (1_014_500, 2)


def test_once_closed_it_is_gone() -> None:
    page = ServedPage()
    assert get(page.url).status == 200
    page.close()
    page.close()
    assert not page.is_on
    with pytest.raises(ConnectionRefusedError):
        socket.create_connection(("127.0.0.1", urllib.parse.urlsplit(page.url).port or 0), 5)


@pytest.mark.parametrize("asked", ["8.8.8.8", "0.0.0.0", "224.0.0.1", "somewhere", "fe80::1", "1.2.3"])  # noqa: S104
def test_only_an_address_of_a_home_network_is_served(asked: str) -> None:
    """Private ones of RFC 1918; every address of the computer at once, 0.0.0.0, is none."""
    with pytest.raises(CannotShowError, match=r"192\.168\.1\.20"):
        home_address(asked)
    assert home_address("192.168.1.20") == "192.168.1.20"


def test_a_port_that_is_taken_is_shown(page: ServedPage) -> None:
    port = urllib.parse.urlsplit(page.url).port or 0
    with pytest.raises(CannotShowError, match="name another --port"):
        ServedPage(port=port)


def test_the_code_is_the_address_as_a_qr_library_draws_it() -> None:
    """Every module of segno's matrix is a half block: two rows a line, the quiet zone with it."""
    import segno

    url = "http://192.168.100.200:65535/" + "x" * 22 + "/"
    lines = qr_lines(url)
    upper = {" ": 0, "▀": 1, "▄": 0, "█": 1}
    lower = {" ": 0, "▀": 0, "▄": 1, "█": 1}
    back = [[half[sign] for sign in line] for line in lines for half in (upper, lower)]
    code = [list(row) for row in segno.make(url, error="l", micro=False).matrix_iter(border=2)]
    assert back[: len(code)] == code
    assert len(lines) <= 20
    assert max(len(line) for line in lines) <= 40
