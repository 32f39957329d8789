"""The session the bench works on: its file, its day and its clock, without the screen.

Events are stored before they are shown: once `record` returns, they are on the disk. While saving fails, the day goes
on in memory, `trouble` says since when, and saving is retried.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from dyeday.bench.input.half_typed import HalfTyped
from dyeday.files.durable import StoreError
from dyeday.files.safe_read import read_text
from dyeday.quick_dataclass import dataclass
from dyeday.store.sealed import Damaged, FileGone
from dyeday.store.session_file import SessionFile
from dyeday.store.session_form import digest_of
from dyeday.terms import FlagId
from dyeday.text import counted
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Body, Day, Event, entry_ids, entry_of, make, spread
from dyeday.track.events.remarks import AlarmHandled
from dyeday.track.events.rewriting import Undone
from dyeday.track.events.session_events import Closed
from dyeday.track.flags import Flag, flag_words, flags_by_batch, one_for_each_cause
from dyeday.track.folding.fold import fold, looked_back_at, take, take_all
from dyeday.track.timestamp import Moment, elapsed_s, minutes, on_wall, time_text, time_text_near

if TYPE_CHECKING:
    from dyeday.store.records.taking_in import TakenIn

Known = tuple[str | None, FlagId]
"""(batch of a flag, None for the whole day; its rule)"""
FLAGS_STALE_S = 20.0
"""how often flags that time alone raises are looked for; after an event at once"""
RETRY_S = 3.0
"""how often a failed save is retried; also at every entry"""


@dataclass(frozen=True, slots=True)
class EventDraft:
    """An event about to be recorded: what happened, and to which batch."""

    body: Body
    batch: str | None = None

    @property
    def is_of_now(self) -> bool:
        """Whether it counts as now even if the next entry is backdated."""
        return not self.body.IS_TIMED and not isinstance(self.body, Closed)


@dataclass(frozen=True, slots=True)
class SaveTrouble:
    """Why nothing can be saved, and since when."""

    since: Moment
    why: str
    brief: str
    """why, in a few words"""


class LiveSession:
    """One open session. ``clock`` and ``new_id`` come from the shell; ``read_only`` records nothing."""

    def __init__(
        self, file: SessionFile, clock: Callable[[], Moment], new_id: Callable[[], str], *, read_only: bool = False
    ) -> None:
        self.file = file
        self.now = clock
        self.new_id = new_id
        self.read_only = read_only
        self.day: Day = fold(file.plan, file.events).read_at(clock())
        self._checked = self.day
        """the day with the events checked last; once these are stored, it is the day"""
        self.earlier: Moment | None = None
        """when the next entry happened, if it is backdated"""
        self.own: set[str] = set()
        """ids of what this bench recorded"""
        self.half_typed = HalfTyped(file.path)
        self.unsaved: tuple[Event, ...] = ()
        """entries that are only in memory"""
        self.trouble: SaveTrouble | None = None
        self.notice = ""
        """messages about the file, each shown once"""
        self.taken_in: TakenIn | None = None
        """the outcome when the closed day was last taken into the records"""
        self._without_copy = ""
        self._tried: Moment | None = None
        self._flags: tuple[Day, float, dict[str, list[Flag]]] | None = None

    def time_text(self, moment: datetime) -> str:
        """Return a moment as screens show it, "14:05" or "Sun 14:05", see `time_text_near`."""
        return time_text_near(moment, self.day.plan.session.zone, self.now().utc)

    def entry_at(self) -> Moment:
        """Return when the next entry happened: now, or its backdated time."""
        return self.earlier or self.now()

    @property
    def minutes_ago(self) -> float:
        """How long ago the next entry happened, if it is backdated; grows until the entry is made."""
        return 0.0 if self.earlier is None else minutes(self.earlier, self.now())

    @property
    def earlier_text(self) -> str:
        """When the next entry happened, "at 09:04", if it is backdated; else empty."""
        return f"at {self.time_text(self.entry_at().utc)}" if self.minutes_ago else ""

    def typed_moment(self, text: str) -> Moment:
        """Return the moment that was typed, see `minutes_ago`. Raises ValueError where it cannot be read."""
        from dyeday.track.typed_entries import minutes_ago

        now = self.now()
        return now.earlier(minutes_ago(text, now, self.day.plan.session.zone, self.day.first_at or now.utc) * 60)

    def day_at_entry(self, batches: Sequence[str] = ()) -> Day:
        """Return the day as it stood when the next entry happens, or as it is now if it lacked any of ``batches``."""
        if self.earlier is None:
            return self.day
        then = looked_back_at(self.day, self.earlier.utc)
        return then if all(no in then.batches for no in batches) else self.day

    def at_entry(self, batch: BatchRecord) -> tuple[Day, BatchRecord]:
        """Return the day and a batch as they stood when the next entry happens."""
        day = self.day_at_entry([batch.no])
        return day, day.batches[batch.no]

    def take_over(self) -> bool:
        """Take over recording if the other bench has gone; return whether it just has. Never raises."""
        try:
            if not self.read_only or not self.file.claim_bench():
                return False
        except StoreError:
            return False  # the folder went away: `refresh` tells of that
        self.file.storage.back_up()
        self.read_only = False
        return True

    def refresh(self) -> None:
        """Take in what other shells recorded, and save what could not be saved; `trouble` has a StoreError."""
        now = self.now()
        if not self.read_only and (self.unsaved or self.file.lacks_events):
            self._try_again(now)
        try:
            self.file.refresh()
            if not self.unsaved and not self.file.lacks_events:
                self.trouble = self._tried = None
        except StoreError as error:
            if isinstance(error, (Damaged, FileGone)) and not self.read_only:
                self._try_again(now)
            else:
                self._ill(error, now)
        self.refresh_day()
        if self.trouble is None and not self.notice and self._without_copy != self.file.without_copy:
            self.notice = self._without_copy = self.file.without_copy

    @property
    def unsaved_words(self) -> str:
        """What the banner says while saving fails: since when, how many entries, why; else nothing."""
        if self.trouble is None:
            return ""
        count = len(self.unsaved)
        entries = counted(count, "entry", "entries") if count else "no entries"
        since = time_text(self.trouble.since.utc, self.day.plan.session.zone)
        return f"NOT SAVED since {since}: {entries} not on disk; {self.trouble.brief}"

    def save(self) -> bool:
        """Try to save what is only in memory; return whether all is on the disk."""
        self._tried = None
        if self.unsaved or self.file.lacks_events:
            self._try_again(self.now())
        return not self.unsaved and not self.file.lacks_events

    def _try_again(self, now: Moment) -> None:
        if self._tried is not None and elapsed_s(self._tried, now) < RETRY_S:
            return
        self._tried = now
        try:
            self.file.add(self.unsaved)
        except StoreError as error:
            self._ill(error, now)
        else:
            self._saved()

    def _saved(self) -> None:
        count, self.unsaved = len(self.unsaved), ()
        if self.trouble is not None and count:
            self.notice = f"saved again: {counted(count, 'entry is', 'entries are')} on the disk now"
        if self.file.mended:
            self.notice, self.file.mended = self.file.mended, ""
        self.trouble = self._tried = None
        self.refresh_day()
        if self.day.closed is not None:
            from dyeday.store.records.taking_in import take_in

            self.taken_in = take_in(self.file)

    def _ill(self, error: StoreError, now: Moment) -> None:
        brief = error.what.rpartition(": ")[2].replace(str(self.file.path), "the day's file")
        self.trouble = SaveTrouble(self.trouble.since if self.trouble is not None else now, str(error), brief)

    def record(self, *drafts: EventDraft, at: Moment | None = None, approximate: bool = False) -> tuple[Event, ...]:
        """Store events as one entry, which happened ``at`` a moment, by default at ``earlier`` if it is backdated.

        ``approximate`` says that the time was suggested, not seen. If they cannot be saved, they count from memory,
        in `unsaved`, and `trouble` says why. Raises EventError if they cannot be true; then nothing changed.
        """
        from dyeday.track.folding.fold import refuse

        # By the line of the day's latest event: a clock set back must not put this before what went before.
        now = self.day.on_day_clock(self.now())
        at = at or self.earlier
        then = None if at is None else on_wall(at, now)
        next_id = iter(entry_ids(self.new_id(), len(drafts))).__next__
        timed = ((draft, None if draft.is_of_now else then) for draft in drafts)
        events = [make(d.body, now, next_id, batch=d.batch, at=t, is_approximate=approximate) for d, t in timed]
        new_ids = {event.id for event in events}

        def check(_existing: object, fresh: Sequence[Event]) -> None:
            self.refresh_day()
            day = self.day
            for event in fresh:
                if event.id in new_ids:
                    refuse(day, event)
                    day = take(day, event)
            self._checked = day

        try:
            self.file.add((*self.unsaved, *events), check)
        except StoreError as error:
            unsaved = spread(events)
            check((), unsaved)
            self.unsaved = (*self.unsaved, *unsaved)
            self.refresh_day()
            self._ill(error, self.now())
            self._tried = self.now()
        else:
            self._saved()
        self.own.update(new_ids)
        if not all(draft.is_of_now for draft in drafts):
            self.earlier = None
        return tuple(event for event in self.day.events if event.id in new_ids)

    def refresh_day(self) -> None:
        """Update the day to the file's events and those only in memory."""
        there = {event.id for event in self.file.events} if self.unsaved else set()
        every = (*self.file.events, *(event for event in self.unsaved if event.id not in there))
        have = len(self.day.events)
        if every == self._checked.events:
            self.day = self._checked = self._checked.read_at(self.now())
        elif every[:have] == self.day.events:
            self.day = take_all(self.day, every[have:]).read_at(self.now())
        else:
            self.day = fold(self.file.plan, every).read_at(self.now())

    def flags(self, now: Moment) -> dict[str, list[Flag]]:
        """Return every batch's flags, the whole day's under ""; made again where the day or time may change them."""
        stamp, kept = now.utc.timestamp(), self._flags
        if kept is None or kept[0] is not self.day or abs(stamp - kept[1]) >= FLAGS_STALE_S:
            kept = self._flags = (self.day, stamp, flags_by_batch(self.day, now))
        return kept[2]

    def all_flags(self) -> list[Flag]:
        """Return every flag of the day as it is now, cleared ones too."""
        return one_for_each_cause(flag for flags in self.flags(self.now()).values() for flag in flags)

    def known_flags(self) -> set[Known]:
        """Return which flags the day has now, cleared ones too."""
        return {(flag.batch, flag.rule) for flags in self.flags(self.now()).values() for flag in flags}

    def raised_since(self, before: set[Known], acted: Sequence[str]) -> str:
        """Return a message about open flags not known ``before``, those of the batches ``acted`` on first."""
        fresh = [flag for flag in self.all_flags() if flag.cleared is None and not self._stood(flag, before)]
        if not fresh:
            return ""
        first = min(fresh, key=lambda flag: flag.batch not in acted)
        more = f" (+{len(fresh) - 1} more)" if len(fresh) > 1 else ""
        return f"{first.about or 'the day'} {flag_words(first.rule.value)}{more}: {first.why}. Do: {first.remedy}"

    def _stood(self, flag: Flag, before: set[Known]) -> bool:
        """Return whether a flag stood before on all its batches, or on those they were split from."""
        batches, rule = self.day.batches, flag.rule
        return all(
            (no, rule) in before
            or ((one := batches.get(no or "")) is not None and (one.parent or "", rule) in before)
            for no in flag.batches or (None,)
        )

    @property
    def last_step(self) -> Event | None:
        """The latest event that still counts and that undo takes back."""
        alive = (event for event in reversed(self.day.events) if event.id not in self.day.void_ids)
        return next((event for event in alive if event.body.IS_TIMED or isinstance(event.body, AlarmHandled)), None)

    def last_entry(self) -> tuple[Event, ...]:
        """Return the events of the latest entry that still counts and that undo takes back; none where none is."""
        last, day = self.last_step, self.day
        if last is None:
            return ()
        return tuple(e for e in day.events if entry_of(e.id) == entry_of(last.id) and e.id not in day.void_ids)

    def last_undone(self) -> tuple[Event, ...]:
        """Return the events of the entry that was undone last and still is."""
        day = self.day
        undone = [
            (event, target)
            for event in day.events
            if isinstance(event.body, Undone) and event.id not in day.void_ids
            if (target := day.event(event.body.target_id)) is not None and target.id in day.void_ids
        ]
        return tuple(target for event, target in undone if entry_of(event.id) == entry_of(undone[-1][0].id))


class PlanWatch:
    """Watches whether the plan file was changed since the day read it; opens it only if its time or size changed."""

    def __init__(self, live: LiveSession) -> None:
        self.live = live
        self.is_changed = False
        self._seen: tuple[object, ...] = ()

    def check(self) -> str:
        """Read the file if it changed; return a message for a change not yet reported, else "". Never raises."""
        about = self.live.file.about
        path = Path(about.source)
        try:
            stat = path.stat()
            seen = (stat.st_mtime_ns, stat.st_size, about.digest, about.source)
            if seen == self._seen:
                return ""
            self._seen = seen
            self.is_changed = digest_of(read_text(path)) != about.digest
        except (StoreError, OSError, ValueError):
            self.is_changed = False  # away, or no text: the day goes on under the plan it has
        return f"{path.name} has changed: P applies the changes" if self.is_changed else ""
