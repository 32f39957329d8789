"""`sound`: this computer's sound programs. Nothing else sets a program to run."""

from __future__ import annotations

import os
import shlex
import shutil
import subprocess
import sys
from argparse import Namespace
from dataclasses import asdict, replace
from pathlib import Path

from dyeday.commands.common import Refusal, UsageError, print_json, say
from dyeday.files.durable import StoreError
from dyeday.files.places import LONGEST_SOUND_S, Occasion, SoundPrograms, read_sounds, settings_file, write_sounds
from dyeday.text import brief

OCCASIONS = tuple(occasion.value for occasion in Occasion)


def sound(args: Namespace) -> None:
    """Show, set, test or switch off this computer's sounds. Raises Refusal, UsageError or StoreError."""
    typed = {occasion: getattr(args, occasion) for occasion in OCCASIONS if getattr(args, occasion) is not None}
    if args.off and (typed or args.test):
        raise UsageError("use --off without --prompt, --alarm, --tank and --test")
    if args.off:
        write_sounds(SoundPrograms())
    elif typed:
        _set({occasion: _program(occasion, line) for occasion, line in typed.items()}, agreed=args.yes)
    sounds = read_sounds()
    if args.json:
        print_json({**asdict(sounds), "file": str(settings_file())})
    else:
        say(
            f"prompt: {_shown(sounds.prompt)}",
            f"alarm: {_shown(sounds.alarm, 'as at a prompt')}",
            f"tank: {_shown(sounds.tank, 'as at an alarm')}",
        )
    if args.test:
        _test(sounds, aloud=not args.json)


def _program(occasion: str, line: str) -> tuple[str, ...]:
    """Return the absolute path of a program and its arguments. Raises Refusal."""
    try:
        words = shlex.split(line, posix=os.name != "nt")
    except ValueError:
        raise Refusal(f"--{occasion} {brief(line)}: a quote is open; close it") from None
    words = [word.strip('"') for word in words] if os.name == "nt" else words
    program = shutil.which(words[0]) if words and "\0" not in line else None
    if program is None:
        name = words[0] if words else line
        raise Refusal(f"--{occasion}: there is no program {name!r} to run; check its name, or write its whole path")
    # Absolute, so that neither the current folder nor a changed PATH puts another program in its place.
    return (str(Path(program).absolute()), *map(_whole, words[1:]))


def _whole(word: str) -> str:
    """Return the absolute path of a word that names a file, any other word unchanged."""
    try:
        return str(Path(word).absolute()) if Path(word).is_file() else word
    except OSError:  # too long for a name
        return word


def _set(programs: dict[str, tuple[str, ...]], *, agreed: bool) -> None:
    try:
        programs_before = read_sounds()
    except StoreError:  # a damaged file is set again
        programs_before = SoundPrograms()
    if not agreed:
        _ask(programs)
    write_sounds(replace(programs_before, **programs))


def _ask(programs: dict[str, tuple[str, ...]]) -> None:
    """Ask at the terminal whether the programs may run. Raises Refusal unless the answer is yes."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise Refusal("this is not a terminal; add --yes to set it")
    say(*(f"at each {occasion} this computer will run: {_shown(program)}" for occasion, program in programs.items()))
    sys.stdout.write("Set it? y or n: ")
    sys.stdout.flush()
    if sys.stdin.readline().strip().casefold() not in ("y", "yes"):
        raise Refusal("nothing was changed; answer y to set it")


def _shown(program: tuple[str, ...], otherwise: str = "the terminal's bell only") -> str:
    return shlex.join(program) if program else otherwise


def _test(sounds: SoundPrograms, *, aloud: bool) -> None:
    if aloud and sys.stdout.isatty():
        sys.stdout.write("\a")
        sys.stdout.flush()
    wrong = []
    for program in dict.fromkeys(filter(None, (sounds.prompt, sounds.alarm, sounds.tank))):
        name = _shown(program)
        try:
            done = subprocess.run(  # noqa: S603 - set by this command on this computer, no shell
                program,
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                timeout=LONGEST_SOUND_S,
                check=False,
            )
        except subprocess.TimeoutExpired:
            wrong.append(f"{name} still ran after {LONGEST_SOUND_S:g} s and was ended; name a shorter sound")
        except OSError as error:
            wrong.append(f"{name} cannot be run: {error.strerror}; set another with --prompt, --alarm or --tank")
        else:
            if done.returncode:
                wrong.append(f"{name} ended with status {done.returncode}; run it in a terminal to see why")
    if wrong:
        raise Refusal(*wrong)
