"""A TinyDB storage that never writes in place, keeps no file open, and reads a file only when it changed.

TinyDB's own JSON storage rewrites the file in place and takes an empty one for a new database: a power cut in between
would lose the day.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from pathlib import Path

from tinydb.storages import Storage

from dyeday.files.durable import NotPlain, StoreError, link_as, read_bytes, reason, replace_file
from dyeday.store import backups, clock
from dyeday.store.sealed import LARGEST_FILE, Damaged, FileGone, Kind, RowTexts, Tables, rows_in, seal, unseal
from dyeday.track.timestamp import Moment


class DurableStorage(Storage):
    """A sealed file of a kind. ``read`` returns what it last read until the file's identity, size or time changes.

    Writing makes copies too, unless `copies_later`. Write only while holding the file's lock.
    """

    def __init__(self, path: str | Path, kind: Kind, now: Callable[[], Moment] = clock.now) -> None:
        super().__init__()
        self.path, self.kind, self.now = Path(path), kind, now
        self.backup_failed = ""
        """why the latest copy could not be made"""
        self.unsure = False
        """whether the latest write failed and may or may not be on the disk"""
        self.built: object = None
        """what the kind's ``check`` built when the file was last read; None after a write"""
        self.copies_later = False
        """whether copies wait for `copy_if_due`, because reading one back is too slow for a key"""
        self._owes_copy = False
        self._previous = backups.backup_folder(self.path) / backups.PREVIOUS
        self._texts = RowTexts()
        self._kept: Tables | None = None
        self.seen: tuple[int, int, int] | None = None
        """the file's identity, size and time of change in ns when it was last read or written here"""
        self._version = kind.version
        self._was_there = False

    def read(self) -> Tables | None:
        """Return the file's tables; None if there is neither a file nor copies of it.

        Raises Damaged, FileNewer, FileGone or another StoreError.
        """
        stamp = self._stamp()
        if stamp is None:
            if self._was_there:
                # TinyDB would take None for a new database.
                raise FileGone(f"{self.path} is gone", "put its folder back where it was")
            if backups.copies_of(self.path):
                name = self.path.stem
                right = f"`dyeday restore {name} --newest` brings it back; to start again, move its copies away too"
                raise FileGone(f"{self.path} is not there, though copies of it are", right)
            return None
        if stamp != self.seen:
            self._kept, self.seen = None, None
            try:
                unsealed = unseal(read_bytes(self.path, LARGEST_FILE), self.path, self.kind)
            except (Damaged, NotPlain) as error:
                copy = backups.newest_good(self.path, self.kind)
                right = "keep it, and restore a copy of your own"
                if copy is not None:
                    when = f"{copy.taken.astimezone():%a %d %b %Y %H:%M}"
                    right = f"`dyeday restore {self.path.stem} --newest` brings back the copy of {when}: {copy.holds}"
                raise Damaged(error.what, f"{right}; nothing was changed") from None
            self._kept, self._version, self.built = unsealed.tables, unsealed.version, unsealed.built
            self.seen, self._was_there = stamp, True
        return self._kept

    def write(self, data: Tables) -> None:
        """Put tables on the disk, all of them or none.

        Raises StoreError or OSError: after Unsure the new file is in place, after any other the old one is intact.
        """
        if self._version < self.kind.version and self._was_there:
            backups.back_up(self.path, read_bytes(self.path, LARGEST_FILE), self.kind, self.now().utc)
        # TinyDB has changed what `read` returned: until it is on the disk, nothing in memory can be trusted.
        self._kept = self.seen = self.built = None
        try:
            raw = seal(data, self.kind, self._texts)
        except (ValueError, TypeError):
            raise StoreError(f"the new content of {self.path.name} is not valid text", "write it again") from None
        if len(raw) > LARGEST_FILE:
            what = f"{self.path.name} would be larger than {LARGEST_FILE // 1_000_000} MB and was not changed"
            raise StoreError(what, "close the session and start another one")
        if self._was_there and not self.unsure:
            link_as(self.path, self._previous)
        self.unsure = True
        replace_file(self.path, raw)
        self.unsure = False
        self._kept, self.seen, self._version, self._was_there = data, self._stamp(), self.kind.version, True
        self._owes_copy = True
        if not self.copies_later:
            self.copy_if_due()

    def copy_if_due(self) -> None:
        """Make a copy if one is due. Never raises, as `back_up`."""
        owed, self._owes_copy = self._owes_copy, False
        if owed and self._kept is not None and backups.is_due(self.path, rows_in(self._kept), self.now().utc):
            self.back_up()

    def back_up(self) -> None:
        """Make a copy unless the newest is the same. Never raises: ``backup_failed`` has the reason."""
        self.backup_failed = ""
        try:
            raw = read_bytes(self.path, LARGEST_FILE)
            for _, _, newest in backups.copies_of(self.path)[:1]:
                with contextlib.suppress(StoreError):
                    if read_bytes(newest, LARGEST_FILE) == raw:
                        return
            backups.back_up(self.path, raw, self.kind, self.now().utc)
        except (StoreError, OSError) as error:
            self.backup_failed = reason(error) if isinstance(error, OSError) else error.what

    def changed(self) -> bool:
        """Return whether the file differs from the one last read or written."""
        return self._stamp() != self.seen

    def _stamp(self) -> tuple[int, int, int] | None:
        try:
            about = self.path.stat(follow_symlinks=False)
        except FileNotFoundError:
            return None
        except OSError as error:
            raise StoreError(f"{self.path} cannot be read: {reason(error)}", "check the data folder") from None
        return about.st_ino, about.st_size, about.st_mtime_ns
