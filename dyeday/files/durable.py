"""Files replaced whole or not at all: temporary file beside the target, flush, fsync, replace, fsync of the folder.

A reader at any moment, also after a pulled plug, finds the old bytes or the new ones, never a mixture. A lock between
processes ends with its holder, so that none is left behind.
"""

from __future__ import annotations

import contextlib
import errno
import os
import stat
import sys
import time
from pathlib import Path
from types import TracebackType

from dyeday.text import brief

REPLACE_TRIES_S = (0.0, 0.05, 0.1, 0.2, 0.4, 0.8)
"""Windows refuses to replace a file that a scanner or a backup holds open; they close it within a second or two."""


class StoreError(Exception):
    """The data folder or a file in it cannot be used: what is wrong, and what to do."""

    def __init__(self, what: str, hint: str) -> None:
        super().__init__(f"{what}; {hint}")
        self.what = what
        self.hint = hint


class NotPlain(StoreError):  # noqa: N818 - what it is
    """The path is a link, a folder, a pipe or a device, or the file is far too large."""


class Unsure(OSError):  # noqa: N818 - what the failure was
    """A failure after the new file was in place: it can be read, but the disk has not confirmed it."""


SAVED: list[str] = []
"""names of the files this process saved, for the message when its answer cannot be written"""


def saved(name: str) -> None:
    """Remember that ``name`` is on the disk."""
    if not SAVED or SAVED[-1] != name:
        SAVED.append(name)


def not_saved(what: str, error: OSError, right: str) -> StoreError:
    """Return the error of a failed write; it says so if the file is there all the same."""
    if isinstance(error, Unsure):
        return StoreError(f"{what} saved, but the disk did not confirm it: {reason(error)}", "do not do it again")
    return StoreError(f"{what} not saved: {reason(error)}", right)


def make_folder(folder: Path) -> None:
    """Make ``folder``, and what is missing above it, for its owner alone. Raises StoreError."""
    try:
        missing = [above for above in (folder, *folder.parents) if not above.exists()]
        for each in reversed(missing):
            each.mkdir(mode=0o700, exist_ok=True)
            with contextlib.suppress(PermissionError):  # a folder may be one to write in and not to read
                sync_folder(each.parent)
        if not folder.is_dir():
            raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR))
    except OSError as error:
        raise StoreError(f"{folder} cannot be made: {reason(error)}", "choose another with --data") from None


def reason(error: OSError) -> str:
    """Return why the system refused, in its own words without numbers."""
    return (error.strerror or str(error)).lower()


def read_bytes(path: Path, most: int) -> bytes:
    """Return a plain file's bytes.

    Raises StoreError where it is a link, a folder, a pipe or a device, larger than ``most`` bytes, or cannot be
    read. Never waits: a pipe without a writer is refused like one with.
    """
    flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOCTTY", 0)
    try:
        if path.is_symlink():
            leads = path.resolve()
            raise NotPlain(f"{path} is a link", f"name the file it leads to, {leads}")
        handle = os.open(path, flags | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_CLOEXEC", 0))
    except (OSError, RuntimeError) as error:  # resolving a link that leads to itself is a RuntimeError
        if isinstance(error, FileNotFoundError):
            raise StoreError(f"{path} is not there", "check its name, and the folder you are in") from None
        why = reason(error) if isinstance(error, OSError) else "a link that leads to itself"
        raise StoreError(f"{path} cannot be read: {why}", "check its name and its permissions") from None
    except ValueError:
        raise StoreError(f"{brief(str(path))} is not a valid file name", "check its name") from None
    about = os.fstat(handle)
    if not stat.S_ISREG(about.st_mode):
        os.close(handle)
        if stat.S_ISDIR(about.st_mode):
            raise NotPlain(f"{path} is a folder", "name a file in it")
        raise NotPlain(f"{path} is not a regular file", "name a file")
    with os.fdopen(handle, "rb") as file:
        try:
            data = file.read(most + 1)
        except OSError as error:
            raise StoreError(f"{path} cannot be read: {reason(error)}", "check the disk") from None
    if len(data) > most:
        right = "files of this kind are never that large: check its name"
        raise NotPlain(f"{path} is larger than {most // 1_000_000} MB", right)
    return data


def replace_file(path: Path, data: bytes, *, private: bool = True, new: bool = False) -> None:
    """Put ``data`` at ``path`` durably; when this returns it is on the disk.

    Only its owner can read it, or, not ``private``, those the umask allows. Raises Unsure if the new file is in place
    and only the folder's fsync failed; after any other OSError the old file is intact. With ``new``, raises
    FileExistsError if anything is there, even from another process just now.
    """
    temporary = path.with_name(f".{path.name}.{os.urandom(8).hex()}.new")
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
    handle = os.open(temporary, flags, 0o600 if private else 0o666)
    try:
        with os.fdopen(handle, "wb") as file:
            if private and hasattr(os, "fchmod"):
                os.fchmod(handle, 0o600)  # even what the umask would remove
            file.write(data)
            file.flush()
            _sync(file.fileno())
        if new:
            _name_new(temporary, path)
        else:
            _replace(temporary, path)
    except BaseException:
        # Do not retry fsync on it: after a failure the system may report lost pages as written.
        with contextlib.suppress(OSError):
            temporary.unlink(missing_ok=True)
        raise
    try:
        sync_folder(path.parent)
    except OSError as error:
        raise Unsure(error.errno, error.strerror) from None
    saved(path.name)


def _sync(handle: int) -> None:
    if sys.platform == "darwin":
        import fcntl

        try:
            # fsync on macOS may leave the data in the drive's cache.
            fcntl.fcntl(handle, fcntl.F_FULLFSYNC)
            return
        except OSError:
            pass
    os.fsync(handle)


def _replace(temporary: Path, path: Path) -> None:
    for n, pause in enumerate(REPLACE_TRIES_S):
        try:
            if pause:
                time.sleep(pause)
            temporary.replace(path)
            return
        except PermissionError:
            if sys.platform != "win32" or n == len(REPLACE_TRIES_S) - 1:
                raise


def _name_new(temporary: Path, path: Path) -> None:
    if sys.platform == "win32":
        temporary.rename(path)  # refuses to replace there
        return
    try:
        os.link(temporary, path, follow_symlinks=False)
    except FileExistsError:
        raise
    except OSError:
        # A stick's file system has no hard links; another process may still come between check and rename.
        if os.path.lexists(path):
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST)) from None
        _replace(temporary, path)
        return
    with contextlib.suppress(OSError):
        temporary.unlink()  # else `sweep` does


def link_as(path: Path, kept: Path) -> None:
    """Link the file at ``path`` as ``kept`` too, so that it outlives its replacement. Never raises."""
    new = kept.with_name(f".{kept.name}.{os.urandom(8).hex()}.new")
    with contextlib.suppress(OSError):
        os.link(path, new, follow_symlinks=False)
        new.replace(kept)
    # If both are links to the same file, replacing leaves both.
    with contextlib.suppress(OSError):
        new.unlink(missing_ok=True)


def sync_folder(folder: Path) -> None:
    """Write the names in ``folder`` to the disk, if the system can. Raises OSError."""
    if sys.platform == "win32":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError as error:
        # Some network and FAT folders cannot do this.
        if error.errno not in (errno.EINVAL, errno.ENOTSUP, errno.ENOSYS):
            raise
    finally:
        os.close(handle)


def sweep(folder: Path) -> None:
    """Remove temporary files that a crash left behind more than a minute ago."""
    for left in folder.glob(".*.new*"):
        try:
            if time.time() - left.stat().st_mtime > 60:
                left.unlink()
        except OSError:
            continue


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
            right = "move the data to a disk where files can be locked"
            raise StoreError(f"{self.path} cannot be locked: {reason(error)}", right) from None
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
