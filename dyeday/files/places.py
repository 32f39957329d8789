"""This computer's own folders: the data folder, typed paths, the settings of sounds, and text saved in a crash."""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path

import platformdirs

from dyeday.files.durable import StoreError, make_folder, read_bytes, reason, replace_file
from dyeday.quick_dataclass import dataclass
from dyeday.terms import Term
from dyeday.text import brief


def data_folder(asked: str | None = None) -> Path:
    """Return the data folder: ``--data``, else ``DYEDAY_DATA``, else the system's for data. Raises StoreError."""
    chosen = asked or os.environ.get("DYEDAY_DATA")
    if chosen:
        folder = typed_path(chosen)
        _refuse_no_name(folder)
        return folder
    usual = Path(platformdirs.user_data_dir("dyeday", appauthor=False))
    if not usual.is_absolute():
        raise StoreError("this user's home folder is unknown", "name a data folder with --data")
    return usual


def _refuse_no_name(folder: Path) -> None:
    """Raise StoreError for an impossible name here, so that the message names the folder and not a file in it."""
    try:
        folder.lstat()
    except (FileNotFoundError, NotADirectoryError, PermissionError):
        return
    except OSError as error:
        what = f"the data folder {brief(str(folder))}: {reason(error)}"
        raise StoreError(what, "choose another with --data") from None
    except ValueError:
        raise StoreError(f"{brief(str(folder))} is not a valid folder name", "choose another with --data") from None


def typed_path(typed: str) -> Path:
    """Return the absolute path of a typed one; ~ is the home folder. Raises StoreError."""
    try:
        return Path(typed).expanduser().absolute()
    except RuntimeError:
        raise StoreError(f"{typed}: there is no such home folder", "write the whole path") from None


LARGEST_SETTINGS = 100_000
"""bytes"""


LONGEST_SOUND_S = 20.0
"""a sound program still running after this is ended: it hangs, or it is a song"""


class Occasion(Term):
    """What sounds: the values are fields of `SoundPrograms`, keys of the settings and options of `dyeday sound`."""

    PROMPT = "prompt"
    ALARM = "alarm"
    TANK = "tank"
    """about to boil dry"""


@dataclass(frozen=True, slots=True)
class SoundPrograms:
    """A program for each `Occasion`, () for the bell: an alarm falls back on the prompt's, a tank on the alarm's."""

    prompt: tuple[str, ...] = ()
    alarm: tuple[str, ...] = ()
    tank: tuple[str, ...] = ()

    def of(self, occasion: Occasion) -> tuple[str, ...]:
        """Return the program that runs at an occasion, with its words; () where only the bell rings."""
        alarm = self.alarm or self.prompt
        return {Occasion.PROMPT: self.prompt, Occasion.ALARM: alarm, Occasion.TANK: self.tank or alarm}[occasion]


def settings_file() -> Path:
    """Return the file of this computer's sounds. Raises StoreError.

    It is not in the data folder: a copied one must not bring programs that would run on another computer.
    """
    folder = Path(platformdirs.user_config_dir("dyeday", appauthor=False))
    if not folder.is_absolute():
        raise StoreError("the home folder of this user is unknown", "set HOME, then try again")
    return folder / "sounds.json"


def read_sounds() -> SoundPrograms:
    """Return the sound programs. Raises StoreError if their file cannot be read."""
    path = settings_file()
    if not path.exists() and not path.is_symlink():
        return SoundPrograms()
    wrong = StoreError(f"{path} does not name sound programs", "set them again with `dyeday sound`")
    try:
        raw = json.loads(read_bytes(path, LARGEST_SETTINGS))
    except (ValueError, RecursionError):
        raise wrong from None
    if not isinstance(raw, dict):
        raise wrong
    return SoundPrograms(*(_words(raw.get(each.value, []), wrong) for each in Occasion))


def _words(raw: object, wrong: StoreError) -> tuple[str, ...]:
    if not isinstance(raw, list) or not all(isinstance(word, str) and "\0" not in word for word in raw):
        raise wrong
    return tuple(raw)


def write_sounds(sounds: SoundPrograms) -> None:
    """Save the sound programs, readable by their owner only. Raises StoreError."""
    path = settings_file()
    make_folder(path.parent)
    try:
        replace_file(path, json.dumps(asdict(sounds), indent=1).encode())
    except OSError as error:
        raise StoreError(f"{path} cannot be written: {reason(error)}", "check the disk and the permissions") from None


def keep_crash(details: str) -> Path:
    """Write a crash's details to the user's crash file, else to a temporary folder; return the file.

    Only the latest crash is kept, readable by its owner only: it may contain names from the plan. Raises StoreError.
    """
    raw = details.encode("utf-8", "backslashreplace")
    logs = Path(platformdirs.user_log_dir("dyeday", appauthor=False))
    places = (lambda: logs, lambda: Path(tempfile.mkdtemp(prefix="dyeday-crash-")))
    return _first_that_takes("crash.txt", raw, places, "its details could not be saved")


def keep_elsewhere(session_id: str, text: str) -> Path:
    """Write a new private file to the home, temporary or current folder, and return it. Raises StoreError."""
    import secrets

    name = f"dyeday-{session_id}-{secrets.token_hex(4)}.jsonl"
    places = (Path.home, lambda: Path(tempfile.gettempdir()), Path.cwd)
    return _first_that_takes(name, text.encode(), places, "they could not be saved anywhere else either")


def _first_that_takes(name: str, raw: bytes, places: tuple[Callable[[], Path], ...], refused: str) -> Path:
    why = "no folder is known"
    for place in places:
        try:
            folder = place()
            if not folder.is_absolute():
                continue
            make_folder(folder)
            replace_file(folder / name, raw)
        except OSError as error:
            why = reason(error)
        except StoreError as error:
            why = error.what
        except RuntimeError:  # there is no home folder
            continue
        else:
            return folder / name
    raise StoreError(f"{refused}: {why}", "make room on a disk")


def crash_lines(details: str, saved: str) -> tuple[str, str]:
    """Save a crash's details; return the lines to show. ``saved`` says what is saved and what to do."""
    try:
        file = keep_crash(details)
    except StoreError as error:
        return f"dyeday crashed; {saved}", str(error)
    return (
        f"dyeday crashed; {saved}",
        f"details for a bug report are in {file}; they may contain names from your plan",
    )
