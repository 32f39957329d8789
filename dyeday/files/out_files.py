"""Files that the user names to be written, plans too: whole or not at all, none replaced unasked."""

from __future__ import annotations

import contextlib
import os
import re
import stat
from codecs import BOM_UTF8
from pathlib import Path

from dyeday.files.durable import (
    FileLock,
    StoreError,
    Unsure,
    make_folder,
    not_saved,
    read_bytes,
    reason,
    replace_file,
)
from dyeday.files.safe_read import LARGEST_TEXT
from dyeday.text import brief

PLAN_SUFFIX = ".toml"
_PLAN = re.compile(rb"^\s*\[session\]", re.MULTILINE)


def put_output(path: Path, text: str, data: Path, *, overwrite: bool) -> None:
    """Write a page or a table to the file an option names. Raises StoreError; then nothing was changed.

    Refused: anything in the data folder ``data``, a link, a plan, and, without ``overwrite``, an existing file.
    """
    refuse_own(path, data)
    try:
        put_text(path, text, overwrite=overwrite and not _is_plan(path))
    except FileExists:
        if _is_plan(path):
            raise FileExists(f"{path} is a plan and is not overwritten", "name another file") from None
        raise FileExists(f"{path} exists already", "name another file, or add --overwrite to replace it") from None


class FileExists(StoreError):  # noqa: N818 - what the name is
    """A file of that name exists and must not be replaced."""


def put_text(path: Path, text: str, *, overwrite: bool = False) -> None:
    """Write ``text`` to a new file, readable as the umask allows; of two processes at once, one succeeds.

    With ``overwrite`` a plain file is replaced and keeps its permissions. A device or a pipe is written to directly.
    Raises FileExists or another StoreError; then the file is unchanged.
    """
    try:
        mode = path.lstat().st_mode if os.path.lexists(path) else None
        if mode is not None and stat.S_ISLNK(mode):
            leads = brief(str(path.readlink()))
            raise StoreError(f"{path} is a link", f"name the file it leads to, {leads}")
        if mode is not None and not stat.S_ISREG(mode):
            path.write_bytes(text.encode())
            return
        if mode is not None and not overwrite:
            raise FileExistsError
        replace_file(path, text.encode(), private=False, new=not overwrite)
        if mode is not None:
            with contextlib.suppress(OSError):
                path.chmod(stat.S_IMODE(mode))
    except FileExistsError:
        raise FileExists(f"{path} exists already and is not overwritten", "name a new file") from None
    except Unsure as error:
        raise not_saved(f"{path} is", error, "") from None
    except OSError as error:
        what = f"{path} cannot be written: {reason(error)}"
        raise StoreError(what, "name a file in a folder that exists and that you may write to") from None
    except ValueError:
        raise StoreError(f"{brief(str(path))} is not a valid file name", "check its name") from None


def refuse_own(path: Path, data: Path) -> None:
    """Raise StoreError if ``path`` is in the data folder, by whatever name."""
    try:
        is_own = (path.parent.resolve() / path.name).is_relative_to(data.resolve())
    except (OSError, RuntimeError, ValueError):
        return  # writing it says what is wrong
    if is_own:
        raise StoreError(f"{path} is in the data folder, which is for dyeday's own files", "name a file elsewhere")


def _is_plan(path: Path) -> bool:
    """Return whether the file is a plan, by its name or its first table."""
    if path.suffix.casefold() == PLAN_SUFFIX:
        return True
    try:
        return _PLAN.search(read_bytes(path, LARGEST_TEXT)) is not None
    except StoreError:
        return False


def refuse_too_large(path: Path, text: str) -> None:
    """Raise StoreError if a plan's text is too large to be read back."""
    if len(text.encode()) > LARGEST_TEXT:
        raise StoreError(f"{path} would be larger than {LARGEST_TEXT // 1_000_000} MB", "split it into two plans")


def replace_text(path: Path, before: str, after: str, data: Path) -> None:
    """Replace a plan's text ``before`` with ``after``; its byte order mark and permissions stay.

    Raises StoreError, also if the file changed since; then it is unchanged. The lock is in the data folder ``data``.
    """
    make_folder(data)
    try:
        with FileLock(data / "plans.lock"):
            raw = read_bytes(path, LARGEST_TEXT)
            refuse_too_large(path, after)
            mark = BOM_UTF8 if raw.startswith(BOM_UTF8) else b""
            if raw != mark + before.encode():
                raise StoreError(f"{path} was changed by another program just now", "check it, then try again")
            mode = stat.S_IMODE(path.stat().st_mode)
            replace_file(path, mark + after.encode())
            with contextlib.suppress(OSError):
                path.chmod(mode)
    except Unsure as error:
        raise not_saved(f"{path} is", error, "") from None
    except OSError as error:
        raise StoreError(f"{path} cannot be written: {reason(error)}", "nothing was changed") from None
