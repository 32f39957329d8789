"""Events about other events: one undone, redone or corrected. They are folded before all others."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

from dyeday.text import batches_text, brief
from dyeday.track import event_keys as check
from dyeday.track.day.day_state import Body, Day, Event
from dyeday.track.event_keys import EventError, key, others
from dyeday.track.timestamp import iso


class Rewriting(Body):
    """The base of events about another entry, named by its id."""

    IS_TIMED = False
    VERB: ClassVar[str] = ""
    """what was done to the entry"""
    target_id: str

    def refuse(self, day: Day, event: Event, *, typed: bool) -> None:
        if (original := day.event(self.target_id)) is None:
            raise EventError(f"no event has the id {brief(self.target_id)}", "see `dyeday log --json` for ids")
        self.refuse_about(day, event, original)

    def refuse_about(self, day: Day, event: Event, original: Event) -> None:
        """Raise EventError where this cannot be done to ``original``."""

    def words(self, event: Event, day: Day | None) -> str:
        original = day.event(self.target_id) if day is not None else None
        if original is None:
            return f"{self.VERB} {self.target_id}{self._more_words(event, None)}"
        return f"{self.VERB} {original.whose}{original.body.words(original, None)}{self._more_words(event, original)}"

    def _more_words(self, event: Event, original: Event | None) -> str:
        return ""


class Undoing(Rewriting):
    """The base of events that make an entry void, or valid again."""

    target_id: str = key(check.text, name="strikes")


class Undone(Undoing):
    """An entry was undone, or marked as void."""

    NAME = "struck"
    VERB = "undone"
    KNOWN_BY = ("strikes",)


class Redone(Undoing):
    """An entry was redone."""

    NAME = "unstruck"
    VERB = "redone"


class Corrected(Rewriting):
    """An entry was given other keys, another batch or another time."""

    NAME = "corrected"
    VERB = "corrected"
    KNOWN_BY = ("corrects",)
    MATCH_ORDER = -3  # the keys it corrects stand beside it
    IS_TIMED = True
    target_id: str = key(check.text, name="corrects")
    keys: Mapping[str, Any] | None = others(default=None)

    def new_keys(self, event: Event, original: Event) -> dict[str, Any]:
        """Return the keys that the correction ``event`` gives ``original``, another batch too.

        A correction without any moves it to its own ``at``.
        """
        keys = dict(self.keys or {})
        if event.batch is not None and event.batch != original.batch:
            keys["batch"] = event.batch
        return keys or {"at": iso(event.at)}

    def refuse_about(self, day: Day, event: Event, original: Event) -> None:
        try:
            changed = original.corrected(self.new_keys(event, original))
        except EventError:
            raise
        except (ValueError, TypeError, AttributeError):
            raise EventError("its time cannot be read", 'write "at": "2026-03-14T09:05:00Z"') from None
        if changed == original:
            raise EventError("the correction changes nothing", "give another time, value or batch")
        if changed.batch is not None and changed.body.batches:
            raise EventError("a load has several batches", 'correct its "batches"')
        for no in changed.batches:
            check.known("there is no batch", no, day.batches)

    def _more_words(self, event: Event, original: Event | None) -> str:
        """Return what it changes the event to: "60 mL acid", "of batch 04", "its time"."""
        as_given = ", ".join(f"{name} {value}" for name, value in (self.keys or {}).items())
        if original is None:
            return f": {as_given}"
        keys = self.keys or {}
        elsewhere = event.batch is not None and event.batch != original.batch
        try:
            new = original.corrected(keys)
            changed = new.body.words(new, None)
        except (KeyError, TypeError, ValueError):
            return f": {as_given}"  # refused when it was entered; a file edited by hand shows as it is
        parts = [changed] if changed != original.body.words(original, None) else []
        parts += [f"of batch {event.batch}"] if elsewhere else []
        parts += [f"of {batches_text(new.batches)} alone"] if new.batches != original.batches else []
        parts += ["its time"] if "at" in keys or not (keys or elsewhere) else []
        return f": {', '.join(parts) or as_given}"
