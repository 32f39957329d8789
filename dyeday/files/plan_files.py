"""A plan's file replaced by its changed text: whole or not at all, and only where it did not change meanwhile."""

from __future__ import annotations

import contextlib
import stat
from pathlib import Path

from dyeday.files.durable import Late, StoreError, make_folder, not_saved, read_bytes, reason, replace_file
from dyeday.files.lock import FileLock
from dyeday.files.safe_read import LARGEST_TEXT
from dyeday.text import brief

MARK = b"\xef\xbb\xbf"


def is_there(path: Path) -> bool:
    """Tell whether anything lies at ``path``, a link that leads nowhere too. Raises StoreError: no name of a file."""
    try:
        path.lstat()
    except FileNotFoundError:
        return False
    except OSError as error:
        raise StoreError(f"{path} cannot be read: {reason(error)}", "check its name and its permissions") from None
    except ValueError:
        raise StoreError(f"{brief(str(path))} is not a valid file name", "check its name") from None
    return True


def refuse_too_large(path: Path, text: str) -> None:
    """Raise StoreError where a plan's text is more than would be read back."""
    if len(text.encode()) > LARGEST_TEXT:
        raise StoreError(f"{path} would be larger than {LARGEST_TEXT // 1_000_000} MB", "split it into two plans")


def replace_text(path: Path, before: str, after: str, data: Path) -> None:
    """Put ``after`` where ``before`` was read from; a byte order mark and who may read the file stay as they are.

    ``data`` is the data folder, where the lock lies: no file of dyeday stays beside the plan. Raises StoreError;
    then the file is as it was.
    """
    make_folder(data)
    try:
        with FileLock(data / "plans.lock"):
            raw = read_bytes(path, LARGEST_TEXT)
            refuse_too_large(path, after)
            mark = MARK if raw.startswith(MARK) else b""
            if raw != mark + before.encode():
                raise StoreError(f"{path} was changed by another program just now", "look at it, then try again")
            mode = stat.S_IMODE(path.stat().st_mode)
            replace_file(path, mark + after.encode())
            with contextlib.suppress(OSError):
                path.chmod(mode)
    except Late as error:
        raise not_saved(f"{path} is", error, "") from None
    except OSError as error:
        raise StoreError(f"{path} cannot be written: {reason(error)}", "nothing was changed") from None
