"""The studio's library on disk: one file of definitions, and the step that keeps a closed day's new ones."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from dyeday.plan.library import KEPT, Change, Library, take
from dyeday.plan.model import Plan
from dyeday.plan.serialize import from_plain, to_plain
from dyeday.store.durable import StoreError, make_folder, reason
from dyeday.store.lock import FileLock
from dyeday.store.sealed import Kind, Tables
from dyeday.store.storage import DurableStorage
from dyeday.text import counted

if TYPE_CHECKING:
    from dyeday.store.closing import ClosedDay


def _made(tables: Tables) -> Library:
    return from_plain(Library, {key: list(tables[key].values()) for key, _ in KEPT})


def _holds(tables: Tables) -> str:
    return ", ".join(counted(len(tables[key]), word, key) for key, word in KEPT)


def _tables(library: Library) -> Tables:
    return {key: {thing.name: to_plain(thing) for thing in getattr(library, key)} for key, _ in KEPT}


LIBRARY = Kind("library", 1, check=_made, holds=_holds)


class LibraryFile:
    """The library of a data folder."""

    def __init__(self, data: Path) -> None:
        self.data = data
        self.path = data / "library.json"
        self._storage = DurableStorage(self.path, LIBRARY)

    def library(self) -> Library:
        """Return what is kept; an empty library where there is no file yet. Raises StoreError."""
        tables = self._storage.read()
        return Library() if tables is None else _made(tables)

    def take(self, plan: Plan, *, only_new: bool = False) -> list[Change]:
        """Take a plan's definitions in, durably; return what that changed. Raises StoreError; then nothing did."""
        make_folder(self.data)
        try:
            with FileLock(self.path.with_suffix(".lock")):
                library, changes = take(self.library(), plan, only_new=only_new)
                if changes:
                    self._storage.write(_tables(library))
        except OSError as error:
            raise StoreError(f"the library could not be saved: {reason(error)}", f"look at {self.data}") from None
        return changes


def keep_definitions(closed: ClosedDay) -> Iterable[str]:
    """Keep what a closed day's plan defines and the library does not know yet; nothing in it is overwritten."""
    changes = LibraryFile(closed.data).take(closed.day.plan, only_new=True)
    words = [change.word for change in changes]
    counts = ", ".join(
        f"{words.count(word)} {key if words.count(word) > 1 else word}" for key, word in KEPT if word in words
    )
    return [f"new in the library: {counts}"] if changes else []
