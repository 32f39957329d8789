"""A data folder of a dyeday from before the database, brought over with every lot, note, movement and time.

``files/folder-1`` was written by that dyeday: two closed days, one with a later entry, one lot withdrawn, one taken
in from another studio, notes, movements put away in a file of their own. ``folder-1-expected.json`` is what it said.
"""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from dyeday.commands.books.shelf_files import row_of
from dyeday.files.durable import StoreError
from dyeday.plan.serialize import to_plain
from dyeday.store.records.database import Records
from dyeday.store.records.library import LibraryRecords
from dyeday.store.records.lots import LotBook
from dyeday.store.records.shelf import ShelfRecords
from dyeday.store.records.sync import sync_records
from dyeday.store.records.times import TimesRecords
from tests.store.test_lot_book import rows_of_all_tables

FILES = Path(__file__).parent / "files"
# Entries are shown in words of today; everything else is as the older dyeday said it.
_SAID = (FILES / "folder-1-expected.json").read_text(encoding="utf-8")
EXPECTED = json.loads(_SAID.replace("pass 1", "1st heat").replace("bath clear in the puddle", "puddle clear"))
# A folder of that time kept no water, acid or hours, and no unit that is broken.
EXPECTED["library"]["studio"] = None
for kit in EXPECTED["library"]["kit"]:
    kit["down"] = []
OLD = ("shelf.json", "times.json", "library.json", "lots", "shelf-2026-04-01.json")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shutil.copytree(FILES / "folder-1", tmp_path / "data")
    return tmp_path / "data"


def brought_over(data: Path) -> list[str]:
    messages: list[str] = []
    sync_records(data, messages.append)
    return messages


def _in_words_of_today(lot: object) -> object:
    """Return a lot with the words of its entries as they are now: one that is stored whole keeps the older ones."""
    return json.loads(json.dumps(lot).replace("bath clear in the puddle", "puddle clear"))


def said(data: Path) -> dict[str, Any]:
    """Return all that the records say, as the older dyeday said it."""
    book, shelf, times = LotBook(data), ShelfRecords(data), TimesRecords(data)
    return {
        "lots": [_in_words_of_today(to_plain(lot)) for lot in book.lots(book.find(()))],
        "moves": [row_of(move) for move in shelf.all_moves()],
        "shelf": to_plain(shelf.shelf()),
        "seen": [[session, to_plain(one)] for session, one in times.observed()],
        "own": {kind.value: to_plain(each) for kind, each in times.in_use().items()},
        "library": to_plain(LibraryRecords(data).library()),
        "found": {word: [row.number for row in book.find([word])] for word in EXPECTED["found"]},
    }


ADDED_SINCE = ("dye_class", "target_ph", "ph_high", "ph_low", "dose", "dose_per", "parts", "timer", "kept", "shared")
"""keys of dyes, layers, acids, kit and lots that the older dyeday did not know"""


def as_then(value: Any) -> Any:
    """Return what is said without the keys that were added since."""
    if isinstance(value, dict):
        added = (*ADDED_SINCE, "of") if "acid_ml" in value else ADDED_SINCE
        return {key: as_then(each) for key, each in value.items() if key not in added}
    return [as_then(each) for each in value] if isinstance(value, list | tuple) else value


def in_no_order(tables: dict[str, Any]) -> dict[str, Any]:
    """Return what is said without the order of what has none, with heats in the words of today."""
    tables = as_then(tables)
    unordered = {
        name: sorted(json.dumps(one, sort_keys=True).replace('"pass 1 ', '"1st heat ') for one in tables[name])
        for name in ("seen", "lots")
    }
    return {**tables, **unordered}


def test_an_old_folder_is_brought_over_with_all_it_had(folder: Path) -> None:
    """What it says is, word for word, what the older dyeday said."""
    before = {file: (folder / file).read_bytes() for file in OLD if (folder / file).is_file()}
    messages = brought_over(folder)
    assert "5 lots" in messages[0] and "old-records" in messages[0]
    assert in_no_order(said(folder)) == in_no_order(EXPECTED)
    assert not [name for name in OLD if (folder / name).exists()]
    assert {file: (folder / "old-records" / file).read_bytes() for file in before} == before
    assert brought_over(folder) == []


def test_a_folder_half_put_away_by_a_pulled_plug_is_finished_and_counted_once(folder: Path) -> None:
    """The database was there, some of the old files were still in their places."""
    brought_over(folder)
    rows = rows_of_all_tables(folder)
    for name in ("lots", "times.json"):
        (folder / "old-records" / name).rename(folder / name)
    brought_over(folder)
    assert not (folder / "lots").exists()
    assert rows_of_all_tables(folder) == rows


def test_a_plug_pulled_before_the_database_had_its_name_leaves_the_folder_as_it_was(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing is put away before all of it is in."""

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as broken:
        broken.setattr(Path, "replace", full)
        with pytest.raises(StoreError, match="no space left"):
            LotBook(folder).find(())
    assert all((folder / name).exists() for name in OLD)
    brought_over(folder)
    assert in_no_order(said(folder)) == in_no_order(EXPECTED)


def test_a_days_lines_that_are_damaged_come_from_the_copy_or_from_the_day_itself(folder: Path) -> None:
    """A note is in the copy alone; a lot is in its session too."""
    year = folder / "lots" / "2026.lots"
    raw = year.read_bytes()
    year.write_bytes(raw.replace(b"zur\xc3\xbcckgelegt", b"zur\xc3\xbcckgelebt").replace(b"knot", b"knob"))
    brought_over(folder)
    assert in_no_order(said(folder)) == in_no_order(EXPECTED)


def test_a_book_without_its_copy_has_its_days_taken_in_again(folder: Path) -> None:
    """What their own records have is there again; how many lines were lost is reported."""
    shutil.rmtree(folder / "lots" / "backups")
    year = folder / "lots" / "2026.lots"
    year.write_bytes(year.read_bytes().replace(b"knot", b"knob"))
    messages = brought_over(folder)
    assert "2026.lots: 1 damaged line left out; its days are taken in again" in messages
    assert in_no_order(said(folder))["lots"] == in_no_order(EXPECTED)["lots"]
    assert in_no_order(said(folder))["shelf"] == EXPECTED["shelf"], "taken off once"


def test_a_damaged_shelf_comes_from_its_newest_whole_copy_and_says_so(folder: Path) -> None:
    """The day that its copy lacks is taken off it again."""
    (folder / "shelf.json").write_bytes(b"{")
    assert "its newest undamaged copy is used" in brought_over(folder)[0]
    assert len(ShelfRecords(folder).moves()) > 0


def test_a_damaged_shelf_without_a_copy_stops_the_move_and_is_left_as_it_is(folder: Path) -> None:
    """To go on without it is for a person to say."""
    shutil.rmtree(folder / "backups")
    (folder / "shelf.json").write_bytes(b"{")
    with pytest.raises(StoreError, match="move it away to continue without it"):
        Records(folder).reading().__enter__()
    assert (folder / "shelf.json").read_bytes() == b"{"
    assert not (folder / "studio.db").exists()


def test_a_lot_whose_session_is_lost_is_kept_whole(folder: Path) -> None:
    """The old book had it; no file of its day is needed to show it."""
    (folder / "sessions" / "2026-04-18-1.json").unlink()
    brought_over(folder)
    assert in_no_order(said(folder))["lots"] == in_no_order(EXPECTED)["lots"]


def test_a_lot_looked_at_alone_is_the_one_of_the_list(folder: Path) -> None:
    """Alone, only what it depends on is read of its day."""
    brought_over(folder)
    rows = LotBook(folder).find(())
    assert rows
    assert [LotBook(folder).lot(row.number) for row in rows] == list(LotBook(folder).lots(rows))
