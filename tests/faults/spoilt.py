"""Faults that spoil a file as it lies: cut, flipped, emptied, of another shape, of the future, edited, replaced."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from dyeday.files.durable import StoreError
from dyeday.plan.serialize import to_plain
from dyeday.store import backups
from dyeday.store.backups import back_up, copies_of, newest_good
from dyeday.store.records.copies import records_of
from dyeday.store.records.lots import LotBook
from dyeday.store.sealed import Damaged, FileNewer, seal, unseal
from dyeday.store.session_file import SessionFile
from dyeday.store.session_form import SESSION
from dyeday.studio.lots.lot import LotFact, LotFactKind
from tests.fakes import MORNING, FakeClock
from tests.faults.catalogue import Outcome, fault
from tests.faults.script import ENTRIES, again, close, finished, is_as_the_model, started


def _refused(path: Path, forms: Iterable[bytes]) -> tuple[int, int]:
    """Open ``path`` with each form in place of it; return how many, and how many were taken for data or touched."""
    tried = lost = 0
    for form in forms:
        path.write_bytes(form)
        tried += 1
        try:
            SessionFile(path)
            lost += 1
        except StoreError as error:
            lost += isinstance(error, FileNewer) or f"dyeday restore {path.stem} --newest" not in str(error)
        lost += path.read_bytes() != form
    return tried, lost


def _never_taken(path: Path, forms: Iterable[bytes]) -> tuple[int, int]:
    """Give each form to the door that every file of dyeday comes through; return how many, and how many got in."""
    tried = lost = 0
    for form in forms:
        tried += 1
        try:
            unseal(form, path, SESSION)
            lost += 1
        except Damaged:
            pass
    return tried, lost


@fault("cut short at every byte", "the file written again without its end, each length in turn")
def cut(folder: Path, long: bool) -> Outcome:
    """Zero bytes included."""
    path = started(folder, 12).path
    raw = path.read_bytes()
    tried, lost = _never_taken(path, (raw[:n] for n in range(0, len(raw), 1 if long else 61)))
    more, lost_there = _refused(path, (raw[:n] for n in range(0, len(raw), 61 if long else 600)))
    return Outcome(tried + more, lost + lost_there, "refused, left as it is, newest whole copy offered")


@fault("a bit flipped anywhere", "each bit of the file turned in turn")
def flipped(folder: Path, long: bool) -> Outcome:
    """In the seal as well."""
    path = started(folder, 12).path
    raw = path.read_bytes()

    def forms(every: int) -> Iterable[bytes]:
        for bit in range(0, len(raw) * 8, every):
            changed = bytearray(raw)
            changed[bit // 8] ^= 1 << (bit % 8)
            yield bytes(changed)

    tried, lost = _never_taken(path, forms(1 if long else 101))
    more, lost_there = _refused(path, forms(997 if long else 9973))
    return Outcome(tried + more, lost + lost_there, "refused, left as it is, newest whole copy offered")


@fault("empty, zeros, another shape, another's file", "files of those contents in its place")
def shapes(folder: Path, long: bool) -> Outcome:
    """Valid JSON that is not a session, zeros after a power cut, nesting, digits without end, NaN, a key twice."""
    path = started(folder, 12).path
    forms = [
        b"",
        b"\n",
        b"\0" * 8192,
        b"{}",
        b"[]",
        b"null",
        b"[" * 100_000,
        b'{"about":' * 50_000,
        b'{"about":{"1":{"schema_version":1}},"plan":{"1":{}},"events":{}}',
        b'{"about":{"1":{"schema_version":' + b"9" * 5000 + b'}},"plan":{},"events":{}}',
        b'{"about":{"1":{"schema_version":NaN}},"plan":{},"events":{}}',
        b'{"about":{},"about":{}}',
        "{}".encode("utf-16"),
        seal({"about": {"1": {"id": 3}}, "plan": {}, "events": {}}, SESSION),
        seal({}, replace(SESSION, word="shelf")),
        path.read_bytes() + b" ",
    ]
    return Outcome(*_refused(path, forms), "refused, left as it is, newest whole copy offered")


@fault("a file of a later version", "the file sealed as versions to come")
def future(folder: Path, long: bool) -> Outcome:
    """Refused as such, not as damage; a bench that has it open does not change it either."""
    session = started(folder, 12)
    session.claim_bench()
    lost = 0
    for version in (3, 4, 99, 999_999):
        raw = seal({"about": {}, "new": {"1": {"x": 1}}}, replace(SESSION, version=version))
        session.path.write_bytes(raw)
        for use in (lambda: SessionFile(session.path), lambda: session.add(ENTRIES[12:13])):
            try:
                use()
                lost += 1
            except FileNewer:
                pass
        lost += session.path.read_bytes() != raw
    session.release_bench()
    return Outcome(4, lost, "refused with “install the newer one”, left as it is")


@fault("spoilt, edited, replaced or removed under an open bench", "each done to the file between two entries")
def under_a_bench(folder: Path, long: bool) -> Outcome:
    """What was there is kept under a dated name; the day goes on whole."""
    tried = lost = 0

    def spoil(path: Path, n: int) -> None:
        raw = path.read_bytes()
        older = sorted(copies_of(path))[0].file.read_bytes()
        other = path.parent / "other.json"
        if n == 0:
            path.write_bytes(b"")
        elif n == 1:
            path.write_bytes(raw[: len(raw) // 2])
        elif n == 2:
            path.write_bytes(raw.replace(b"soak", b"SOAK"))
        elif n == 3:
            path.write_bytes(older)
        else:
            path.rename(other)
        if n == 5:
            path.symlink_to(other)
        elif n == 6:
            os.mkfifo(path)
        elif n == 7:
            path.mkdir()

    for n in range(8):
        data = folder / str(n)
        session = started(data, 12)
        assert session.claim_bench()
        session.add(ENTRIES[12:14])
        spoil(session.path, n)
        tried += 1
        session.add(ENTRIES[14:16])
        now = SessionFile(session.path)
        lost += not is_as_the_model(now) or len(now.events) != 16
        session.release_bench()
    return Outcome(tried, lost, "kept under a dated name, the day saved again from memory")


@fault("the database cut short, emptied or overwritten", "its file without its end, or with blocks of zeros or noise")
def database(folder: Path, long: bool) -> Outcome:
    """Refused and left as it is, or every answer right; its copy brings all back, notes too."""
    session = finished(folder)
    close(session)
    number = LotBook(folder).find(())[0].number
    for n in range(3):
        LotBook(folder).add_facts(number, [LotFact(MORNING, LotFactKind.NOTE, f"“tie dry” {n} ✓")])
    kept = records_of(folder)
    kept.back_up(MORNING)
    raw, wanted = kept.path.read_bytes(), _lots_of(folder)
    tried = lost = 0
    forms: list[bytes | None] = [None, b"", b"\0" * len(raw)]
    for place in range(100, len(raw), 4096 if long else 40_960):
        forms += [raw[:place], raw[:place] + b"\xa5" * 4096 + raw[place + 4096 :]]
    for form in forms:
        kept.path.unlink(missing_ok=True)
        if form is not None:
            kept.path.write_bytes(form)
        tried += 1
        try:
            held = kept.current_contents()
        except StoreError:
            lost += (kept.path.read_bytes() if kept.path.exists() else None) != form
        else:
            lost += form != raw and held != "" and _lots_of(folder) != wanted
        (good,) = [copy for copy in kept.copies() if copy.good and not copy.was_set_aside]
        kept.restore_copy(good, MORNING)
        lost += _lots_of(folder) != wanted
    return Outcome(tried, lost, "found by SQLite's own check, left as it is; the copy brings all back")


def _lots_of(folder: Path) -> dict[str, object]:
    book = LotBook(folder)
    return {row.number: to_plain(book.lot(row.number)) for row in book.find(())}


@fault("the newest copies damaged", "copies cut, emptied and flipped, the newest first")
def copies_damaged(folder: Path, long: bool) -> Outcome:
    """The next whole one is offered, and no good one ever makes room for a bad one."""
    clock = FakeClock()
    path = started(folder, 12).path
    raw = path.read_bytes()
    clock.utc = max(when for when, _, _ in copies_of(path))
    (path.parent / "backups" / path.stem / "previous.json").unlink(missing_ok=True)
    good = back_up(path, raw, SESSION, clock.utc)
    tried = lost = 0
    for n in range(60 if long else 24):
        clock.on(60 * 11)
        bad = back_up(path, raw, SESSION, clock.utc)
        bad.write_bytes((raw[: n * 7], b"", raw.replace(b"soak", b"soaK", 1))[n % 3])
        tried += 1
        found = newest_good(path, SESSION)
        lost += found is None or found.file != good
    return Outcome(tried, lost, "the newest whole copy is offered, and stays")


@fault("a copy made by others while it is saved", "the folder copied over and over while another process saves")
def copied_while_saved(folder: Path, long: bool) -> Outcome:
    """What a sync program or a nightly copy takes is always a whole file."""
    data = folder / "data"
    session = started(data)
    child = os.fork()
    if child == 0:
        try:
            for event in ENTRIES:
                session.add([event])
            os._exit(0)
        finally:
            os._exit(77)
    tried = lost = 0
    while os.waitpid(child, os.WNOHANG)[0] == 0:
        there = folder / f"copy{tried}"
        (there / "sessions").mkdir(parents=True)
        shutil.copyfile(session.path, there / "sessions" / session.path.name)
        tried += 1
        lost += not is_as_the_model(again(there))
    lost += len(again(data).events) != len(ENTRIES)
    assert all(copy.good for copy in backups.BackedUpFile(session.path, SESSION).copies())
    return Outcome(tried, lost, "every copy whole and equal to the model")
