"""Every kind of event: all named classes of these modules."""

from __future__ import annotations

from collections.abc import Iterator

from dyeday.track.day.day_state import Body
from dyeday.track.events import (  # noqa: F401 - a class is known once its module is loaded
    batch_changes,
    hours_events,
    kit_events,
    measured,
    movements,
    remarks,
    rewriting,
    session_events,
)


def _named(base: type[Body]) -> Iterator[type[Body]]:
    for kind in base.__subclasses__():
        if "NAME" in vars(kind):
            yield kind
        yield from _named(kind)


_ALL = sorted(_named(Body), key=lambda kind: kind.MATCH_ORDER)
KINDS = {kind.NAME: kind for kind in _ALL}
"""by their names in JSON"""
KNOWN_BY = {key: kind for kind in _ALL for key in kind.KNOWN_BY}
"""by the keys that tell them, in the order in which a line of JSON that names no kind is tried"""
