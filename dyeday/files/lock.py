"""A lock between processes that ends with its holder, so that none is left behind."""

from __future__ import annotations

import errno
import os
import sys
import time
from pathlib import Path
from types import TracebackType

from dyeday.files.durable import StoreError, reason

LONGEST_WAIT_S = 10.0
_HELD = (errno.EAGAIN, errno.EACCES, errno.EWOULDBLOCK, errno.EDEADLK)
"""errors for a lock held by another process; any other means that the folder has no locks"""


class FileLock:
    """An exclusive lock held on a file beside the data; ``with`` waits for it, `grab` does not."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.wait_s = LONGEST_WAIT_S
        """how long ``with`` waits for another holder"""
        self._handle: int | None = None

    def grab(self) -> bool:
        """Take the lock if it is free; return whether this process holds it now. Raises StoreError."""
        if self._handle is not None:
            return True
        flags = os.O_RDWR | os.O_CREAT | getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_NOFOLLOW", 0)
        try:
            handle = os.open(self.path, flags, 0o600)
        except OSError as error:
            raise StoreError(f"{self.path} cannot be locked: {reason(error)}", "check the data folder") from None
        try:
            _lock(handle)
        except OSError as error:
            os.close(handle)
            if error.errno in _HELD:
                return False
            raise StoreError(
                f"{self.path} cannot be locked: {reason(error)}", "move the data to a disk where files can be locked"
            ) from None
        self._handle = handle
        return True

    def release(self) -> None:
        """Release the lock; does nothing if it is not held."""
        if self._handle is not None:
            _unlock(self._handle)
            os.close(self._handle)
            self._handle = None

    def __enter__(self) -> FileLock:
        until = time.monotonic() + self.wait_s
        while not self.grab():
            if time.monotonic() > until:
                raise StoreError(f"another program has {self.path.name} locked", "close it, or try again in a moment")
            time.sleep(0.01)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.release()


def _lock(handle: int) -> None:
    """Lock or raise OSError at once."""
    if sys.platform == "win32":
        import msvcrt

        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
    else:
        import fcntl

        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)


def _unlock(handle: int) -> None:
    if sys.platform == "win32":
        import msvcrt

        os.lseek(handle, 0, os.SEEK_SET)
        msvcrt.locking(handle, msvcrt.LK_UNLCK, 1)
    else:
        import fcntl

        fcntl.flock(handle, fcntl.LOCK_UN)
