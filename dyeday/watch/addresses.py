"""Where the page is served: this computer's own address, or its one on the home network; and the QR code of it."""

from __future__ import annotations

import ipaddress
import socket
from collections.abc import Sequence

from dyeday.bench.watch_link import CannotShowError

LOOPBACK = "127.0.0.1"
ELSEWHERE = "192.0.2.1"
"""an address kept for documentation (RFC 5737): the way to it is the way out of this computer; nothing is sent"""


def home_address(asked: str = "") -> str:
    """Return this computer's address on the home network, or ``asked`` where that is one.

    Raises CannotShowError where there is none, or where it could be reached from the whole internet.
    """
    said = asked or _way_out()
    try:
        address = ipaddress.IPv4Address(said)
    except ValueError:
        raise CannotShowError(
            f"{said!r} is not an address; write this computer's own, such as 192.168.1.20"
        ) from None
    if address.is_unspecified or address.is_multicast or not address.is_private:
        raise CannotShowError(
            f"{said} is not an address in a home network; name one such as 192.168.1.20 or 10.0.0.5"
        )
    return str(address)


def _way_out() -> str:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect((ELSEWHERE, 9))
        except OSError:
            raise CannotShowError(
                "this computer is on no network; join the home network, or name its address: --network 192.168.1.20"
            ) from None
        return str(probe.getsockname()[0])


def qr_lines(url: str) -> tuple[str, ...]:
    """Return the QR code of ``url`` with its quiet zone, two rows a line in half blocks: a blank is light.

    Raises ImportError where the QR library is missing.
    """
    import segno

    rows = [list(row) for row in segno.make(url, error="l", micro=False).matrix_iter(border=2)]
    rows += [[0] * len(rows[0])] * (len(rows) % 2)
    signs = {(0, 0): " ", (1, 0): "▀", (0, 1): "▄", (1, 1): "█"}
    return tuple(_line(rows[n], rows[n + 1], signs) for n in range(0, len(rows), 2))


def _line(upper: Sequence[int], lower: Sequence[int], signs: dict[tuple[int, int], str]) -> str:
    return "".join(signs[bool(a), bool(b)] for a, b in zip(upper, lower, strict=True))
