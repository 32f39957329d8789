"""Files that a person named to have something put into: whole or not at all."""

from __future__ import annotations

import contextlib
import stat
from pathlib import Path

from dyeday.store.durable import StoreError, reason, replace_file
from dyeday.text import brief


def put_text(path: Path, text: str) -> None:
    """Put ``text`` into a file, for whom the umask lets; one that is there keeps who may read it.

    What is no plain file, a link or a device, is written to as any program would. Raises StoreError; then a plain
    file is as it was.
    """
    try:
        mode = _mode(path)
        if mode is not None and not stat.S_ISREG(mode):
            path.write_bytes(text.encode())
            return
        replace_file(path, text.encode(), private=False)
        if mode is not None:
            with contextlib.suppress(OSError):
                path.chmod(stat.S_IMODE(mode))
    except OSError as error:
        what = f"{path} cannot be written: {reason(error)}"
        raise StoreError(what, "name a file in a folder that is there and takes it") from None
    except ValueError:
        raise StoreError(f"{brief(str(path))} is no name of a file", "check its name") from None


def _mode(path: Path) -> int | None:
    try:
        return path.lstat().st_mode
    except FileNotFoundError:
        return None
