"""A plan file being changed at the bench, without the screen: drafts, the day they make, saving.

Nothing is written until it is saved; then the file is replaced, and the running session follows, as with
`begin --take-changes`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from dyeday.bench.live_session import EventDraft, LiveSession
from dyeday.files.durable import StoreError
from dyeday.files.out_files import put_text, replace_text
from dyeday.files.safe_read import is_there, read_text
from dyeday.plan.library import EMPTY, Library
from dyeday.plan.model import Plan
from dyeday.plan.orders.order_editor import DraftError, PlanDraft, day_named, draft_of, new_plan_text
from dyeday.plan.reading.problems import PlanError
from dyeday.store.records.library import LibraryRecords
from dyeday.store.records.shelf import ShelfRecords
from dyeday.store.session_form import digest_of
from dyeday.store.sessions import Sessions
from dyeday.studio.shelf.day_movements import on_shelf
from dyeday.track.day.day_state import Day, make
from dyeday.track.event_keys import EventError
from dyeday.track.events.session_events import PlanChanged, plan_changed, plan_taken
from dyeday.track.folding.fold import begin, take
from dyeday.track.timestamp import Moment, local, wall_instant


@dataclass
class PlanDesk:
    """One plan file on the desk. ``saved`` is its text on the disk, None where there is no file yet."""

    path: Path
    data: Path
    """the data folder"""
    clock: Callable[[], Moment]
    draft: PlanDraft
    saved: str | None
    live: LiveSession | None = None
    """the running session that was begun from the file, if any"""
    notice: str = ""
    """what a file that was just begun is made from; "" for others"""
    undone: list[PlanDraft] = field(default_factory=list)
    """the drafts before this one, which `undo` goes back to"""

    @property
    def is_changed(self) -> bool:
        """Whether there is something to save: an order, and a text other than the file's."""
        return self.draft.text != (self.saved if self.saved is not None else "") and bool(self.draft.orders)

    def change(self, changed: PlanDraft) -> None:
        """Put ``changed`` in place of the draft, which `undo` brings back."""
        self.undone.append(self.draft)
        self.draft = changed

    def undo(self) -> bool:
        """Go back by one change; return whether there was one."""
        if self.undone:
            self.draft = self.undone.pop()
            return True
        return False

    def day_of(self, draft: PlanDraft) -> tuple[Day, Moment] | None:
        """Return the day a draft makes, and from when: its start, or now where that lies between start and stop."""
        if draft.plan is None:
            return None
        if self.live is not None:
            event = make(self.change_of(draft.plan), self.live.now(), str)
            return take(self.live.day, event), self.live.now()
        plan = self._stocked(draft.plan)
        hours, now = plan.session, self.clock()
        start, stop = (wall_instant(hours.date, minute, hours.zone) for minute in (hours.start_min, hours.stop_min))
        return begin(plan), now if start <= now.utc < stop else Moment(start)

    def _stocked(self, plan: Plan) -> Plan:
        try:
            return on_shelf(plan, ShelfRecords(self.data).shelf())
        except StoreError:
            return plan

    def save(self) -> str:
        """Write the file and apply its changes to the session; return a message. Raises DraftError."""
        text, plan = self.draft.text, self.draft.plan
        if plan is None:
            raise DraftError("there is no order yet; a adds one")
        try:
            if self.saved is None:
                if is_there(self.path):
                    raise DraftError(f"{self.path.name} exists now; leave, and open it again")
                put_text(self.path, text)
            else:
                replace_text(self.path, self.saved, text, self.data)
        except StoreError as error:
            raise DraftError(self._by_name(error)) from None
        self.saved, self.undone = text, []
        if self.live is None:
            return f"{self.path.name} is saved; `dyeday open {self.path}` begins its day"
        try:
            return f"{self.path.name} is saved, and {self.take()}"
        except DraftError as error:
            raise DraftError(f"{self.path.name} is saved, but {error}") from None

    def take(self) -> str:
        """Apply the file as it is to the day; return a message. Raises DraftError."""
        live, plan = self.live, self.draft.plan
        assert live is not None  # noqa: S101 - asked by its callers
        assert plan is not None  # noqa: S101 - asked by its callers
        try:
            live.record(EventDraft(self.change_of(plan)))
            if live.unsaved:
                return "this day uses it, but that is only in memory so far"
            live.file.set_source(str(self.path), digest_of(self.draft.text))
        except (EventError, StoreError) as error:
            taken = "`dyeday begin --take-changes` applies them"
            raise DraftError(f"this day does not use it yet: {self._by_name(error)}; {taken}") from None
        return "this day uses it"

    def change_of(self, plan: Plan) -> PlanChanged:
        """Return the event that gives the day ``plan``."""
        assert self.live is not None  # noqa: S101 - asked by its callers
        return plan_changed(self.live.file.plan, self.live.day, self._stocked(plan), str(self.path))

    @property
    def is_newer(self) -> bool:
        """Whether the file has changed since the day read it."""
        return self.live is not None and self.live.file.about.digest != digest_of(self.draft.text)

    @property
    def taken_before(self) -> Plan:
        """The plan that the day read last."""
        assert self.live is not None  # noqa: S101 - asked by its callers
        return plan_taken(self.live.file.plan, self.live.day)

    def _by_name(self, error: Exception) -> str:
        """Return an error with the file's name for its path, which may be longer than the screen's lines for it."""
        return str(error).replace(str(self.path), self.path.name)


def desk_of(
    path: Path, data: Path, clock: Callable[[], Moment], live: LiveSession | None = None, on: date | None = None
) -> PlanDesk:
    """Return a plan file on the desk; a missing one is begun: for ``on``, the day of its name, or today.

    Raises DraftError.
    """
    note = ""
    try:
        library = LibraryRecords(data).library()
    except StoreError as error:
        library, note = EMPTY, f"the library cannot be read: {error}"
    try:
        if live is None and not is_there(path):
            if not library.colourways or not library.bases:
                lacking = "base" if library.colourways else "colourway"
                raise DraftError(f"{path} is not there, and no {lacking} is set up; `dyeday setup` does that")
            latest = Sessions(data).newest(unfinished=False)
            before = latest.plan if latest is not None else None
            today = local(clock().utc, before.session.zone if before is not None else None).date()
            day = on or day_named(path) or today
            draft = draft_of(new_plan_text(day, before, library), library)
            return PlanDesk(path, data, clock, draft, None, notice=_new_words(path, day, before, library))
        text = read_text(path)
        draft = draft_of(text, library)
    except (StoreError, OSError) as error:
        raise DraftError(str(error)) from None
    except PlanError as error:
        more = f" (and {len(error.problems) - 1} more: `dyeday check`)" if len(error.problems) > 1 else ""
        raise DraftError(f"{path}:{error.problems[0]}{more}") from None
    if live is not None:
        if draft.plan is not None and draft.plan.session.date != live.day.plan.session.date:
            raise DraftError(f"{path.name} is for {draft.plan.session.date:%a %d %b %Y}, not for this day")
        if live.file.about.digest != digest_of(text):
            note = f"{path.name} has changed since the day began: saving applies every change"
    return PlanDesk(path, data, clock, draft, text, live, note)


def _new_words(path: Path, day: date, before: Plan | None, library: Library) -> str:
    new = f"{path.name} is new, for {day:%a %d %b %Y}"
    if library.studio is not None:
        return new
    if before is not None:
        return f"{new}; hours, water and acid as on {before.session.date:%a %d %b %Y}"
    return f"{new}; set up hours, water and acid first: Esc, then s"
