"""The copy of the lot book: never behind, never the worse for damage, and what it has comes back to its place."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dyeday.plan.serialize import to_plain
from dyeday.store.durable import StoreError
from dyeday.store.lot_book import LotBook
from dyeday.store.lot_copy import YearKept, copy_of, put_together, years_kept
from dyeday.store.sessions import SessionFile
from dyeday.studio.lots.lot import Kept
from tests.store.test_lot_book import LATER, closed, finished, numbers, session_of
from tests.track.days import at, events

__all__ = ["closed"]
NUMBER = "260418-01"


def note(data: Path, text: str) -> LotBook:
    book = LotBook(data)
    book.keep(NUMBER, [Kept(LATER, "note", text)])
    return book


def notes(data: Path) -> list[str]:
    return [kept.text for kept in LotBook(data).lot(NUMBER).kept]


def year(data: Path) -> YearKept:
    (kept,) = years_kept(LotBook(data).folder)
    return kept


def flip(path: Path, within: bytes) -> bytes:
    """Turn a bit of what a file says; return its bytes as they are now."""
    raw = bytearray(path.read_bytes())
    raw[raw.index(within)] ^= 1
    path.write_bytes(raw)
    return bytes(raw)


def test_every_line_is_in_the_copy_as_soon_as_it_is_in_the_book(tmp_path: Path, closed: SessionFile) -> None:
    """After a close, a note, a later entry and a lot taken in."""
    path = LotBook(tmp_path).file_of(2026)
    assert copy_of(path).read_bytes() == path.read_bytes()
    note(tmp_path, "soft")
    assert copy_of(path).read_bytes() == path.read_bytes()
    closed.add(events([at("35:00", "01", note="a knot")]))
    assert copy_of(path).read_bytes() == path.read_bytes()
    other = LotBook(tmp_path / "other")
    other.take_lots([LotBook(tmp_path).lot(NUMBER)])
    assert copy_of(other.file_of(2026)).read_bytes() == other.file_of(2026).read_bytes()


def test_a_damaged_note_comes_back_and_what_was_kept_since_stays(tmp_path: Path, closed: SessionFile) -> None:
    """No day's own record has it; in its place, and what was there is kept under a dated name."""
    note(tmp_path, "first")
    note(tmp_path, "second")
    path = LotBook(tmp_path).file_of(2026)
    flip(path, b'"text":"first"')
    note(tmp_path, "third")
    spoilt = path.read_bytes()
    assert notes(tmp_path) == ["second", "third"]
    kept = year(tmp_path)
    assert (kept.check().lacking, kept.check().damaged) == (1, 1)
    copy, *rest = kept.copies()
    assert rest == []
    aside = kept.bring_back(copy, LATER)
    assert aside is not None and aside.read_bytes() == spoilt
    assert notes(tmp_path) == ["first", "second", "third"]
    assert (kept.check().lacking, kept.check().damaged, kept.check().ahead) == (0, 0, 0)
    assert [copy.name for copy in kept.copies()] == ["copy", "aside-20260501T120000Z"]


def test_a_lost_year_is_not_begun_anew_while_its_copy_is_there(tmp_path: Path, closed: SessionFile) -> None:
    """Told by every look and by a close, which is taken in once the year is back."""
    note(tmp_path, "soft")
    path = LotBook(tmp_path).file_of(2026)
    path.unlink()
    for look in (lambda: numbers(LotBook(tmp_path)), lambda: list(LotBook(tmp_path).season([2026]))):
        with pytest.raises(StoreError, match="dyeday restore lots-2026 --newest"):
            look()
    closed.add(events([at("35:00", "01", note="a knot")]))
    assert closed.settled is not None
    assert "dyeday restore lots-2026 --newest" in closed.settled.trouble
    assert not path.exists()
    kept = year(tmp_path)
    assert kept.bring_back(kept.copies()[0], LATER) is None
    assert notes(tmp_path) == ["soft"]
    closed.settle()
    assert numbers(LotBook(tmp_path), "knot") == [NUMBER]


@pytest.mark.parametrize("harm", ["flipped", "shorter", "longer", "empty", "gone"])
def test_a_damaged_copy_is_made_again(tmp_path: Path, closed: SessionFile, harm: str) -> None:
    """From the book, which is whole: at the next line where it does not end as the book goes on, else when asked."""
    note(tmp_path, "first")
    path = LotBook(tmp_path).file_of(2026)
    copy = copy_of(path)
    if harm == "flipped":
        flip(copy, b'"text":"first"')
        assert year(tmp_path).check().copy_damaged == 1
        LotBook(tmp_path).copy_again(2026)
    elif harm == "shorter":
        copy.write_bytes(copy.read_bytes()[:-7])
    elif harm == "longer":
        copy.write_bytes(copy.read_bytes() + b"x" * 1000)
    elif harm == "empty":
        copy.write_bytes(b"")
    else:
        copy.unlink()
        assert year(tmp_path).check().ahead is None
    note(tmp_path, "second")
    assert copy.read_bytes() == path.read_bytes()


def test_a_copy_and_a_book_that_lost_different_lines_make_one_whole_book(tmp_path: Path, closed: SessionFile) -> None:
    """Each has what the other lacks."""
    for text in ("first", "second", "third"):
        note(tmp_path, text)
    path = LotBook(tmp_path).file_of(2026)
    whole = path.read_bytes()
    flip(path, b'"text":"first"')
    flip(copy_of(path), b'"text":"third"')
    kept = year(tmp_path)
    kept.bring_back(kept.copies()[0], LATER)
    assert path.read_bytes() == copy_of(path).read_bytes() == whole


def test_a_line_torn_by_a_pulled_plug_costs_the_copy_nothing(tmp_path: Path, closed: SessionFile) -> None:
    """It was never confirmed; the lines after it are copied as ever."""
    path = LotBook(tmp_path).file_of(2026)
    with path.open("ab") as file:
        file.write(b"1234abcd\t{")
    note(tmp_path, "after")
    assert copy_of(path).read_bytes() == path.read_bytes()
    seen = year(tmp_path).check()
    assert (seen.damaged, seen.lacking, seen.copy_damaged) == (1, 0, 0)


def test_a_copy_that_cannot_be_made_stops_no_line(
    tmp_path: Path, closed: SessionFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Said by the book, and caught up with by the next line."""
    path = LotBook(tmp_path).file_of(2026)
    with monkeypatch.context() as broken:
        broken.setattr("dyeday.store.lot_copy.append_bytes", _no_space)
        assert note(tmp_path, "first").copy_failed == "no space left on device"
    assert notes(tmp_path) == ["first"]
    assert year(tmp_path).check().ahead == 1
    assert note(tmp_path, "second").copy_failed == ""
    assert copy_of(path).read_bytes() == path.read_bytes()


def _no_space(*_: object) -> None:
    raise OSError(28, "No space left on device")


def test_a_lot_withdrawn_and_there_again_is_as_it_was_after_its_lines_came_back(tmp_path: Path) -> None:
    """The same line twice with another between them: their order decides, and it is kept."""
    session = session_of(tmp_path, finished("01"))
    done = next(e for e in session.events if e.data.get("to") == "done")
    session.add(events([at("35:00", event="struck", strikes=done.id)]))
    session.add(events([at("36:00", event="unstruck", strikes=done.id)]))
    before = to_plain(LotBook(tmp_path).lot(NUMBER))
    path = LotBook(tmp_path).file_of(2026)
    raw = path.read_bytes()
    ends = [n for n, byte in enumerate(raw) if byte == ord("\n")]
    for start in (0, *(end + 1 for end in ends[:-1])):
        path.write_bytes(raw[:start] + bytes([raw[start] ^ 1]) + raw[start + 1 :])
        kept = year(tmp_path)
        kept.bring_back(kept.copies()[0], LATER)
        assert path.read_bytes() == raw
        assert to_plain(LotBook(tmp_path).lot(NUMBER)) == before


@given(st.lists(st.tuples(st.booleans(), st.booleans()), max_size=40))
def test_what_either_has_is_there_once_and_in_its_order(has: list[tuple[bool, bool]]) -> None:
    """Two files that each lost some of the same lines; what neither has is gone."""
    lines = [b"%d\n" % n for n in range(len(has))]
    older = [line for line, (first, _) in zip(lines, has, strict=True) if first]
    newer = [line for line, (_, second) in zip(lines, has, strict=True) if second]
    both = put_together(older, newer)
    assert sorted(both) == sorted({*older, *newer})
    for part in (older, newer):
        assert [line for line in both if line in part] == part
