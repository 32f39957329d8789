"""The seal on every file of dyeday: damage and change differ, the old and the new too, and a damaged file stays."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dyeday.files.durable import StoreError
from dyeday.store.sealed import Damaged, FileGone, FileNewer, Kind, Tables, seal, unseal
from dyeday.store.session_file import DurableStorage, SessionFile
from dyeday.store.session_form import SESSION
from dyeday.store.sessions import Sessions
from tests.fakes import FakeClock, Ids, begun
from tests.typed_events import make

FILES = Path(__file__).parent / "files"
HERE = Path("shelf.json")
NOTES = Kind("note", 1)
JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**9), 10**9) | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"])),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)  # fmt: skip
NAMES = st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
TABLES = st.dictionaries(NAMES, st.dictionaries(NAMES, JSON, max_size=3), max_size=3)


@given(TABLES)
def test_what_is_sealed_is_read_back_the_same(tables: Tables) -> None:
    """Any tables of JSON values, none included."""
    assert unseal(seal(tables, NOTES), HERE, NOTES).tables == tables


@given(TABLES, st.data())
@settings(max_examples=200)
def test_a_changed_byte_is_never_taken_for_data(tables: Tables, data: st.DataObject) -> None:
    """One byte other than it was, left out or put in: refused, or exactly what was sealed."""
    raw = seal(tables, NOTES)
    place = data.draw(st.integers(0, len(raw) - 1))
    byte = data.draw(st.binary(min_size=0, max_size=2))
    changed = raw[:place] + byte + raw[place + 1 :]
    try:
        assert unseal(changed, HERE, NOTES).tables == tables
    except StoreError as error:
        assert isinstance(error, Damaged)


def test_a_version_that_was_flipped_is_damage_not_a_newer_file() -> None:
    """The digest goes over word and version too."""
    raw = seal({"a": {}}, NOTES)
    with pytest.raises(Damaged):
        unseal(raw.replace(b'"version":1', b'"version":3'), HERE, NOTES)
    with pytest.raises(FileNewer):
        unseal(seal({"a": {}}, replace(NOTES, version=3)), HERE, NOTES)


def test_a_file_of_another_kind_is_refused() -> None:
    """A library where a session belongs."""
    with pytest.raises(Damaged, match="is a note file where a session file belongs"):
        unseal(seal({}, NOTES), HERE, SESSION)


@pytest.mark.parametrize(
    "raw",
    [
        b"[" * 200_000,
        b'{"about":' * 100_000,
        b'{"about":{"1":{"schema_version":1}},"plan":{},"events":{"1":' + b"9" * 5000 + b"}}",
        b'{"about":{"1":{"schema_version":NaN}},"plan":{},"events":{}}',
        b'{"about":{},"about":{"1":{"schema_version":1}},"plan":{},"events":{}}',
        b'{"about":{"1":{"schema_version":1}},"plan":{"1":{}},"events":{}}',
        b'{"about":{"1":{"schema_version":1,"id":[]}},"plan":{"1":3},"events":{}}',
        b'\xef\xbb\xbf{"about":{}}',
        '{"about":{}}'.encode("utf-16"),
        b'{"about":{"1":{"schema_version":2}},"plan":{},"events":{}}',
        b"null",
        b"\0" * 4096,
    ],
    ids=range(12),
)
def test_files_that_others_made_are_refused_with_their_name(raw: bytes) -> None:
    """Nested, of 5,000 digits, NaN, a key twice, other shapes, other encodings, zeros after a power cut."""
    with pytest.raises(Damaged, match=r"shelf\.json"):
        unseal(raw, HERE, SESSION)


def test_what_is_not_json_is_never_written(tmp_path: Path) -> None:
    """NaN and a lone surrogate are refused before the file is touched."""
    storage = DurableStorage(tmp_path / "x.json", NOTES)
    storage.write({"a": {"1": {"x": 1}}})
    before = storage.path.read_bytes()
    for bad in (float("nan"), "\ud800"):
        with pytest.raises(StoreError, match="is not valid text"):
            storage.write({"a": {"1": {"x": bad}}})
    assert storage.path.read_bytes() == before


def test_a_session_of_version_1_is_read_migrated_and_copied_before_it_is_written(tmp_path: Path) -> None:
    """A real file of the first version: read without being touched, a copy of it kept as it was."""
    (tmp_path / "sessions").mkdir()
    old = (FILES / "session-1.json").read_bytes()
    path = tmp_path / "sessions" / "2026-03-14-1.json"
    path.write_bytes(old)
    clock = FakeClock()
    session = Sessions(tmp_path, clock).open("2026-03-14-1")
    assert [event.body.NAME for event in session.events] == ["moved", "acid put in", "moved", "note"]
    assert path.read_bytes() == old
    session.add([make("moved", clock(), lambda: "new", batch="02", to="soak")])
    assert path.read_bytes().startswith(b'{"kept":{"what":"session","version":2,')
    copies = [file.read_bytes() for file in (tmp_path / "sessions" / "backups" / "2026-03-14-1").iterdir()]
    assert old in copies
    assert len(Sessions(tmp_path).open("2026-03-14-1").events) == 5


@pytest.mark.parametrize("kind", [SESSION], ids=lambda kind: kind.word)
def test_every_version_of_a_kind_has_its_step_and_its_stored_file(kind: Kind) -> None:
    """A new version cannot be forgotten here."""
    assert sorted(kind.steps) == list(range(1, kind.version))
    for version in range(1, kind.version + 1):
        file = FILES / f"{kind.word}-{version}.json"
        found = unseal(file.read_bytes(), file, kind)
        assert found.version == version
        assert kind.holds(found.built)


def test_a_lost_file_is_not_begun_again_while_copies_of_it_are_there(tmp_path: Path) -> None:
    """A library that vanished would otherwise be an empty one, and stay so."""
    path = tmp_path / "x.json"
    DurableStorage(path, NOTES).write({"a": {"1": {"x": 1}}})
    path.unlink()
    with pytest.raises(FileGone, match="dyeday restore x --newest"):
        DurableStorage(path, NOTES).read()


def test_steps_run_one_after_the_other_and_are_pure() -> None:
    """Version 1 becomes 2 becomes 3."""

    def step(key: str) -> Any:
        return lambda tables: {**tables, key: {}}

    old = {"a": {"1": {"x": 1}}}
    raw = seal(old, NOTES)
    newer = Kind("note", 3, {1: step("two"), 2: step("three")})
    found = unseal(raw, HERE, newer)
    assert (list(found.tables), found.version) == (["a", "two", "three"], 1)
    assert old == {"a": {"1": {"x": 1}}}


def test_a_file_that_vanished_is_never_taken_for_a_new_database(tmp_path: Path) -> None:
    """TinyDB takes None for an empty one."""
    storage = DurableStorage(tmp_path / "x.json", NOTES)
    assert storage.read() is None
    storage.write({"a": {}})
    storage.path.unlink()
    with pytest.raises(FileGone):
        storage.read()


def test_a_folder_that_vanishes_and_comes_back_loses_nothing(tmp_path: Path) -> None:
    """A stick pulled out: refused while it is away, gone on with when it is back, the memory unharmed."""
    clock, ids = FakeClock(), Ids()
    session = begun(tmp_path / "stick", clock)
    session.claim_bench()
    first = make("moved", clock(), ids, batch="01", to="soak")
    session.add([first])
    (tmp_path / "stick").rename(tmp_path / "pulled")
    with pytest.raises(StoreError):
        session.refresh()
    clock.on(1)
    second = make("moved", clock(), ids, batch="02", to="soak")
    with pytest.raises(StoreError):
        session.add([second])
    assert session.events == (first,)
    assert not (tmp_path / "stick").exists()
    (tmp_path / "pulled").rename(tmp_path / "stick")
    session.add([second])
    session.release_bench()
    assert Sessions(tmp_path / "stick").open(session.about.id).events == (first, second)


@pytest.mark.parametrize("harm", [b"", b"{}", b"x" * 100, None])
def test_a_bench_puts_back_from_memory_what_something_else_spoilt(tmp_path: Path, harm: bytes | None) -> None:
    """Cut, overwritten or deleted behind its back: kept under a dated name, and all that was confirmed is there."""
    clock, ids = FakeClock(), Ids()
    session = begun(tmp_path, clock)
    session.claim_bench()
    first = make("moved", clock(), ids, batch="01", to="soak")
    session.add([first])
    if harm is None:
        session.path.unlink()
    else:
        session.path.write_bytes(harm)
    clock.on(1)
    second = make("moved", clock(), ids, batch="02", to="soak")
    session.add([second])
    assert Sessions(tmp_path).open(session.about.id).events == (first, second)
    assert "saved again from memory" in session.mended
    aside = list((tmp_path / "sessions" / "set-aside").glob("*.json"))
    assert [file.read_bytes() for file in aside] == ([] if harm is None else [harm])
    session.release_bench()


def test_a_shell_that_repairs_nothing_leaves_a_spoilt_file_alone(tmp_path: Path) -> None:
    """It has nothing in memory that was seen confirmed."""
    clock, ids = FakeClock(), Ids()
    session = begun(tmp_path, clock)
    session.path.write_bytes(b"spoilt")
    with pytest.raises(Damaged, match=f"dyeday restore {session.about.id} --newest"):
        session.add([make("moved", clock(), ids, batch="01", to="soak")])
    assert session.path.read_bytes() == b"spoilt"


def test_an_older_file_put_back_by_a_sync_program_costs_no_event(tmp_path: Path) -> None:
    """What both have and what either has is there, in the order of recording."""
    clock, ids = FakeClock(), Ids()
    session = begun(tmp_path, clock)
    session.claim_bench()
    session.add([make("moved", clock(), ids, batch="01", to="soak")])
    older = session.path.read_bytes()
    clock.on(1)
    session.add([make("moved", clock(), ids, batch="02", to="soak")])
    session.path.write_bytes(older)
    shell = SessionFile(session.path)
    clock.on(1)
    shell.add([make("moved", clock(), ids, batch="03", to="soak")])
    assert session.refresh()
    assert [event.batch for event in session.events] == ["01", "02", "03"]
    session.add([])
    assert [event.batch for event in SessionFile(session.path).events] == ["01", "02", "03"]
    session.release_bench()


def test_the_seal_is_what_it_says(tmp_path: Path) -> None:
    """A person with a checksum tool can check it: SHA-256 (FIPS 180-4) over "what version" and the body."""
    import hashlib

    raw = seal({"a": {"1": {"x": "é"}}}, NOTES)
    sealed_as = json.loads(raw)["kept"]
    body = b'{"a":{"1":{"x":"\xc3\xa9"}}}'
    assert sealed_as == {"what": "note", "version": 1, "sha256": hashlib.sha256(b"note 1\n" + body).hexdigest()}
