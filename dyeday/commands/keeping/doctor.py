"""`doctor`: problems of data folder, copies, clock, terminal and printer, and what to do about them."""

from __future__ import annotations

import contextlib
import locale
import os
import secrets
import shutil
import stat
import sys
import time
from argparse import Namespace
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

from dyeday.commands.common import print_json, say
from dyeday.files.durable import FileLock, StoreError, read_bytes, reason, replace_file
from dyeday.paper.printing.sending import printer_state
from dyeday.quick_dataclass import dataclass
from dyeday.store import backups, clock
from dyeday.store.records.copies import kept_in, records_of
from dyeday.store.sealed import LARGEST_FILE, unseal
from dyeday.store.session_form import SESSION
from dyeday.store.sessions import session_files
from dyeday.text import counted, harmless
from dyeday.track.timestamp import Moment, length_text

SIGNS = {"well": " ", "note": "*", "wrong": "!"}
NAMED = ("folder", "records", "session", "copies")
"""what is named though it is well"""
OWNER = "ask the person who looks after this computer to make it yours, or choose another with --data"
LITTLE_MB, TOO_LITTLE_MB = 200.0, 20.0
SLOW_SAVE_S = 0.5
EARLIEST_YEAR, LATEST_YEAR = 2024, 2090
NETWORK = ("nfs", "nfs4", "cifs", "smb3", "smbfs", "9p", "fuse.sshfs", "afs", "ceph", "davfs", "virtiofs", "vboxsf")
MEMORY = ("tmpfs", "ramfs")
FAT = ("vfat", "msdos", "exfat", "fuseblk")


@dataclass(frozen=True, slots=True)
class Finding:
    """One finding: ``state`` is well, note or wrong; ``do`` is what to do about it."""

    about: str
    state: str
    message: str
    do: str = ""


def doctor(args: Namespace) -> int:
    """Print the findings. Returns 1 with ``--strict`` if something is wrong."""
    prints, message, do = printer_state()
    printer = Finding("printer", "well" if prints else "note", message, do)
    findings = [*health(args.data, clock.now()), *_terminal(), printer]
    wrong = [finding for finding in findings if finding.state == "wrong"]
    if args.json:
        rows = [{"about": f.about, "state": f.state, "said": f.message, "do": f.do or None} for f in findings]
        print_json({"folder": str(args.data), "well": not wrong, "findings": rows})
    else:
        for finding in findings:
            if finding.state == "well" and not finding.about.startswith(NAMED):
                continue
            say(f"{SIGNS[finding.state]} {finding.about}: {finding.message}")
            if finding.do:
                say(f"    do: {finding.do}")
        say("")
        notes = sum(finding.state == "note" for finding in findings)
        say(f"{counted(len(wrong), 'problem')}, {counted(notes, 'note')}" if wrong or notes else "no problem found")
    return 1 if wrong and args.strict else 0


def _terminal() -> Iterator[Finding]:
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        yield Finding("terminal", "well", "this is not a terminal window: commands work, the bench does not")
        return
    term = os.environ.get("TERM", "")
    if sys.platform != "win32" and term in ("", "dumb"):
        message = f"this one (TERM={harmless(term)}) cannot place text"
        yield Finding("terminal", "wrong", message, "open another for the bench")
    width, height = shutil.get_terminal_size()
    if width < 80 or height < 24:
        yield Finding("terminal", "note", f"it is {width} x {height}", "make it 80 x 24 or larger for the bench")
    encoding = (sys.stdout.encoding or locale.getpreferredencoding(False)).lower().replace("-", "")
    if encoding != "utf8":
        yield Finding("terminal", "note", f"it uses {encoding}, not UTF-8", "set LANG or LC_ALL to a UTF-8 locale")
    yield Finding("terminal", "well", f"{width} x {height}")


def health(data: Path, now: Moment) -> list[Finding]:
    """Return the findings about the data folder and its files. Raises nothing; changes no data."""
    if not data.is_dir():
        return [Finding("folder", "note", f"{data} is not there yet", "the first day creates it")]
    of_folder = (*_folder(data), *_writing(data), _room(data), _place(data), *_records(data, now))
    of_sessions = (finding for path in session_files(data) for finding in _session(path, now))
    return [*of_folder, *of_sessions, *_foreign_files(data), _clock(data, now)]


def _folder(data: Path) -> Iterator[Finding]:
    try:
        about = data.stat()
        list(data.iterdir())
    except OSError as error:
        yield Finding("folder", "wrong", f"{data} cannot be read: {reason(error)}", OWNER)
        return
    if sys.platform == "win32":
        yield Finding("folder", "well", f"{data} can be read")
        return
    if about.st_uid != os.getuid():
        yield Finding("folder", "wrong", f"{data} belongs to another user", OWNER)
    elif stat.S_IMODE(about.st_mode) & 0o077:
        do = f"keep them out, on Linux and a Mac with: chmod 700 {data}"
        yield Finding("folder", "note", f"other users of this computer can read {data}", do)
    else:
        yield Finding("folder", "well", f"{data} can be read, only by you")


def _writing(data: Path) -> Iterator[Finding]:
    probe = data / f"probe-{secrets.token_hex(4)}"
    began = time.monotonic()
    try:
        replace_file(probe, b"x" * 4096)
        took_s = time.monotonic() - began
        if read_bytes(probe, 8192) != b"x" * 4096:
            yield Finding("saving", "wrong", "what was written reads back differently", "use another disk")
            return
        yield _locking(probe)
    except (OSError, StoreError) as error:
        message = f"nothing can be saved: {error.what if isinstance(error, StoreError) else reason(error)}"
        yield Finding("saving", "wrong", message, f"make room; if the disk has room, {OWNER}")
        return
    finally:
        with contextlib.suppress(OSError):
            probe.unlink(missing_ok=True)
    if took_s > SLOW_SAVE_S:
        do = "a disk inside this computer is quicker; every entry waits that long"
        yield Finding("saving", "note", f"one entry takes {took_s:.1f} s to be on the disk", do)
    else:
        yield Finding("saving", "well", f"an entry is on the disk in {took_s * 1000:.0f} ms")


def _locking(probe: Path) -> Finding:
    """Return whether a lock on a file excludes a second one."""
    first, second = FileLock(probe), FileLock(probe)
    try:
        if not first.grab():
            return Finding("lock", "wrong", "a new file cannot be locked", "keep the data on another disk")
        if second.grab():
            do = "one terminal at a time here, or keep the data on another disk"
            return Finding("lock", "wrong", "two terminals can lock one file at once", do)
    except StoreError as error:
        return Finding("lock", "wrong", error.what, error.hint)
    finally:
        first.release()
        second.release()
    return Finding("lock", "well", "two terminals that write at once wait for each other")


def _room(data: Path) -> Finding:
    free_mb = shutil.disk_usage(data).free / 1e6
    if free_mb < TOO_LITTLE_MB:
        return Finding("room", "wrong", f"only {free_mb:.0f} MB free", "make room before the day begins")
    if free_mb < LITTLE_MB:
        return Finding("room", "note", f"{free_mb:.0f} MB free", "make some room")
    return Finding("room", "well", f"{free_mb / 1000:.3g} GB free")


def _place(data: Path) -> Finding:
    kind = _file_system(data)
    if kind in MEMORY:
        do = "name a folder on a disk with --data or DYEDAY_DATA"
        return Finding("place", "wrong", "the folder is in memory only: switch the computer off and it is lost", do)
    if kind in NETWORK:
        message = f"a network drive ({kind}): saving and locking depend on its server"
        return Finding("place", "note", message, "one computer at a time; a disk inside this one is better")
    if kind in FAT:
        message = f"a stick or card ({kind}): pulled out while saving, it can lose a file"
        return Finding("place", "note", message, "eject it before pulling; `dyeday restore` after a pull")
    if not kind:
        return Finding("place", "note", "this system does not say what kind of disk it is", "a disk inside is best")
    return Finding("place", "well", f"a disk of this computer ({kind})")


def _file_system(data: Path) -> str:
    """Return the type of file system of ``data``; "" if the system does not say."""
    try:
        lines = Path("/proc/self/mounts").read_text(encoding="utf-8", errors="replace").splitlines()
    except OSError:
        return ""
    real, best, kind = str(data.resolve()), -1, ""
    for line in lines:
        _, at, what, *_ = line.split(" ")
        at = at.replace("\\040", " ")
        if (real == at or real.startswith(at.rstrip("/") + "/")) and len(at) >= best:
            best, kind = len(at), what
    return kind


def _clock(data: Path, now: Moment) -> Finding:
    latest_s = 0.0
    for path in session_files(data):
        with contextlib.suppress(OSError):
            latest_s = max(latest_s, path.stat().st_mtime)
    if not EARLIEST_YEAR <= now.utc.year <= LATEST_YEAR:
        return Finding("clock", "wrong", f"it says {now.utc:%d %b %Y}", "set this computer's clock")
    if latest_s > now.utc.timestamp() + 300:
        return Finding("clock", "wrong", f"it says {now.utc:%d %b %H:%M} UTC, before the last entry", "set the clock")
    if now.boot_s is None:
        message = "timers go by the wall clock here: setting it moves them"
        return Finding("clock", "note", message, "let the system set it by itself")
    return Finding("clock", "well", f"{now.utc:%a %d %b %Y %H:%M} UTC; setting it does not move timers")


def _session(path: Path, now: Moment) -> Iterator[Finding]:
    name, good = f"session {path.stem}", backups.newest_good(path, SESSION)
    back = f"dyeday restore {path.stem} --newest" if good is not None else "look for a copy of your own"
    try:
        if not path.exists() and not path.is_symlink():
            yield Finding(name, "wrong", "is not there, though copies of it are", back)
            return
        read = unseal(read_bytes(path, LARGEST_FILE), path, SESSION)
    except StoreError as error:
        right = error.hint if error.hint.startswith("install") else back
        yield Finding(name, "wrong", error.what.removeprefix(f"{path} "), right)
        return
    if read.version < SESSION.version:
        message = f"of version {read.version}, it has no check sum yet"
        yield Finding(name, "note", message, "nothing to do; the next entry copies and updates it")
    else:
        yield Finding(name, "well", f"complete: {SESSION.holds(read.built)}")
    bench = path.with_suffix(".bench")
    if bench.exists():
        lock = FileLock(bench)
        with contextlib.suppress(StoreError):
            if not lock.grab():
                yield Finding(name, "well", "a bench has it open now")
        lock.release()
    yield from _copies_of(backups.BackedUpFile(path, SESSION), name, now)
    yield from _private(path, name)


def _private(path: Path, name: str) -> Iterator[Finding]:
    if sys.platform != "win32" and stat.S_IMODE(path.stat().st_mode) & 0o077:
        do = f"keep them out, on Linux and a Mac with: chmod 600 {path}"
        yield Finding(name, "note", "other users of this computer can read it", do)


def _copies_of(file: backups.BackedUpFile, name: str, now: Moment) -> Iterator[Finding]:
    copies = [copy for copy in file.copies() if not copy.was_set_aside]
    good = [copy for copy in copies if copy.good]
    about = f"copies of {name}"
    if not good:
        yield Finding(about, "note", "none yet", "one is made with the next entry")
    else:
        age_min = max(0.0, (now.utc - good[0].taken).total_seconds() / 60)
        yield Finding(about, "well", f"{len(good)}, the newest {length_text(age_min)} old")
    if len(copies) > len(good):
        message = f"{len(copies) - len(good)} of {len(copies)} are damaged"
        yield Finding(about, "wrong", message, "check the disk; copy the folder to another one")
    if any(copy.taken > now.utc + timedelta(minutes=5) for copy in copies):
        yield Finding(about, "note", "some have a date in the future", "the clock was wrong; compare what each holds")


def _records(data: Path, now: Moment) -> Iterator[Finding]:
    file = records_of(data)
    if not os.path.lexists(file.path):
        return
    try:
        yield Finding("records", "well", f"complete by SQLite's own check: {file.current_contents()}")
    except StoreError as error:
        yield Finding("records", "wrong", error.what.removeprefix(f"{file.path} "), error.hint)
    else:
        yield from _private(file.path, "records")
    yield from _copies_of(file, "records", now)


def _foreign_files(data: Path) -> Iterator[Finding]:
    """Find foreign files: a sync program's second version, remains of a crash."""
    known = {file.path for file in kept_in(data)}
    for folder in (data, data / "sessions"):
        beside = {path for pattern in ("*.json", "*.db") for path in folder.glob(pattern)} - known
        for name in sorted(path.name for path in beside)[:5]:
            do = "if a sync program made it, compare, then move it away; open one computer at a time"
            yield Finding("strangers", "note", f"{folder / name} is in dyeday's folder but is not its file", do)
        if left := list(folder.glob(".*.new*")):
            yield Finding("strangers", "well", f"{counted(len(left), 'half-written file')} left by a crash, harmless")
        if aside := list(backups.aside_folder(folder / "x.json").glob("*.*")):
            do = "`dyeday restore` lists them; delete them once you are sure"
            count = counted(len(aside), "file was", "files were")
            yield Finding("set aside", "note", f"{count} set aside in {folder / 'set-aside'}", do)
