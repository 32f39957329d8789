"""What is set for this computer alone: the programs that sound. Never part of a plan, a record or the data folder."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path

import platformdirs

from dyeday.files.durable import StoreError, make_folder, read_bytes, reason, replace_file
from dyeday.quick_dataclass import dataclass

LARGEST = 100_000
"""bytes"""


@dataclass(frozen=True, slots=True)
class SoundPrograms:
    """A program and its words for each occasion, () for the terminal's bell alone.

    An alarm without a program of its own sounds as a prompt does, a tank that runs dry as an alarm.
    """

    prompt: tuple[str, ...] = ()
    alarm: tuple[str, ...] = ()
    tank: tuple[str, ...] = ()

    def of(self, occasion: str) -> tuple[str, ...]:
        """Return the program that runs at a "prompt", an "alarm" or a "tank" that runs dry."""
        alarm = self.alarm or self.prompt
        return {"prompt": self.prompt, "alarm": alarm, "tank": self.tank or alarm}[occasion]


def settings_file() -> Path:
    """Return the file of this computer's sounds.

    It lies in this user's folder for settings, never in the data folder: that one can be copied, restored or named
    with ``--data``, and a program in it would run for whoever opens it. Raises StoreError.
    """
    folder = Path(platformdirs.user_config_dir("dyeday", appauthor=False))
    if not folder.is_absolute():
        raise StoreError("the home folder of this user is unknown", "set HOME, then try again")
    return folder / "sounds.json"


def read_sounds() -> SoundPrograms:
    """Return the programs that sound. Raises StoreError where their file cannot be read."""
    path = settings_file()
    if not path.exists() and not path.is_symlink():
        return SoundPrograms()
    wrong = StoreError(f"{path} does not name sound programs", "set them again with `dyeday sound`")
    try:
        raw = json.loads(read_bytes(path, LARGEST))
    except (ValueError, RecursionError):
        raise wrong from None
    if not isinstance(raw, dict):
        raise wrong
    return SoundPrograms(*(_words(raw.get(key, []), wrong) for key in ("prompt", "alarm", "tank")))


def _words(raw: object, wrong: StoreError) -> tuple[str, ...]:
    if not isinstance(raw, list) or not all(isinstance(word, str) and "\0" not in word for word in raw):
        raise wrong
    return tuple(raw)


def write_sounds(sounds: SoundPrograms) -> Path:
    """Keep the programs that sound, readable by their owner alone; return the file. Raises StoreError."""
    path = settings_file()
    make_folder(path.parent)
    try:
        replace_file(path, json.dumps(asdict(sounds), indent=1).encode())
    except OSError as error:
        raise StoreError(
            f"{path} cannot be written: {reason(error)}", "look at the disk and the permissions"
        ) from None
    return path
