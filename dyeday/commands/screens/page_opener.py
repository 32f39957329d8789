"""How the bench and the shell come to a page for phones: what serves it is loaded when it is asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from dyeday.bench.watch_link import OpenPage, WatchPage


def page_opener(address: str = "", port: int = 0) -> OpenPage:
    """Return what starts serving the page; the server is loaded only then."""

    def open_page(network: bool) -> WatchPage:
        from dyeday.watch.serving import opened

        return opened(network, address, port)

    return open_page
