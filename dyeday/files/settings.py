"""Settings of this computer: its sound programs. Never part of a plan, a session or the data folder."""

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
    """A program for each occasion, () for the bell: an alarm falls back on the prompt's, a tank on the alarm's."""

    prompt: tuple[str, ...] = ()
    alarm: tuple[str, ...] = ()
    tank: tuple[str, ...] = ()

    def of(self, occasion: str) -> tuple[str, ...]:
        """Return the program that runs at a "prompt", an "alarm" or a "tank" that runs dry."""
        alarm = self.alarm or self.prompt
        return {"prompt": self.prompt, "alarm": alarm, "tank": self.tank or alarm}[occasion]


def settings_file() -> Path:
    """Return the file of this computer's sounds.

    It is in the user's settings folder, never in the data folder: a copied data folder must not bring programs that
    would run on another computer. Raises StoreError.
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


def write_sounds(sounds: SoundPrograms) -> None:
    """Save the sound programs, readable by their owner only. Raises StoreError."""
    path = settings_file()
    make_folder(path.parent)
    try:
        replace_file(path, json.dumps(asdict(sounds), indent=1).encode())
    except OSError as error:
        raise StoreError(f"{path} cannot be written: {reason(error)}", "check the disk and the permissions") from None
