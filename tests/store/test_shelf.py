"""The shelf: a closed day taken off once, a corrected one again; old movements lie apart, none is lost."""

from __future__ import annotations

from datetime import timedelta
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from dyeday.commands.books.shelf_files import row_of
from dyeday.plan.serialize import from_plain
from dyeday.store import clock
from dyeday.store.records import shelf as store
from dyeday.store.records.shelf import ShelfRecords
from dyeday.store.records.taking_in import take_in
from dyeday.store.session_file import SessionFile
from dyeday.studio.shelf.movements import Move
from dyeday.terms import MoveKind, StockKind
from tests.fakes import FakeClock, Ids, begun
from tests.typed_events import make


class Day:
    """A session of the short example whose batch 04, four minis of rain, is dyed; ids and time count on."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.clock, self.ids = folder, FakeClock(), Ids()
        self.session: SessionFile = begun(folder, self.clock)
        self.lines: tuple[str, ...] = ()

    def mark(self, kind: str, batch: str | None = None, **data: Any) -> str:
        self.clock.on(minutes=5)
        event = make(kind, self.clock(), self.ids, batch=batch, **data)
        self.session.add([event])
        self.lines = take_in(self.session).lines
        return event.id

    def dyed_and_closed(self) -> str:
        self.mark("moved", "04", to="soak")
        self.mark("moved", "04", to="paint")
        used = self.mark("used", "04", used={"Slate Blue": 20.0, "Peat": 5.0})
        self.mark("closed")
        return used

    @property
    def shelf(self) -> ShelfRecords:
        return ShelfRecords(self.folder)


def test_closing_a_day_takes_what_it_used_off_the_shelf(tmp_path: Path) -> None:
    """The plan's own on_hand begins the shelf: 55 g of Slate Blue, and 20 mL of 2 % are 0.4 g."""
    day = Day(tmp_path)
    day.dyed_and_closed()
    kept = day.shelf.shelf()
    assert kept.amount(StockKind.DYE, "Slate Blue") == pytest.approx(54.6)
    assert kept.amount(StockKind.YARN, "Sock Mini") == 36
    # 5 mL of 2 % from the bottle of 40 mL the plan has of Peat: its powder stays as it was
    assert kept.amount(StockKind.DYE, "Peat") == 60
    assert [(b.made.isoformat(), b.left_ml) for b in kept.bottles_of("Peat")] == [("2026-03-01", 35)]


def test_an_entry_after_the_close_that_changes_nothing_of_it_moves_nothing(tmp_path: Path) -> None:
    """Settling again is harmless."""
    day = Day(tmp_path)
    day.dyed_and_closed()
    before = day.shelf.moves()
    day.mark("note", note="swept the floor")
    assert day.shelf.moves() == before


def test_a_day_corrected_after_its_close_is_taken_off_again_and_the_old_lines_stay(tmp_path: Path) -> None:
    """200 mL were meant, not 20: 4 g."""
    day = Day(tmp_path)
    used = day.dyed_and_closed()
    before = day.shelf.moves()
    day.mark("corrected", corrects=used, used={"Slate Blue": 200.0}, why="slip of the pen")
    assert day.shelf.shelf().amount(StockKind.DYE, "Slate Blue") == pytest.approx(51)
    assert day.shelf.moves()[: len(before)] == before
    assert day.shelf.moves()[len(before)].kind == MoveKind.UNDONE


def test_closing_says_what_is_to_be_reordered(tmp_path: Path) -> None:
    """54.6 g of 0.4 g a week last; 36 minis at 4 a week last 9 weeks; nothing of what was used is due."""
    day = Day(tmp_path)
    day.shelf.add(
        lambda _: [
            Move("count", day.clock().utc, MoveKind.COUNTED, StockKind.DYE, "Slate Blue", 0.5, "g", why="spilled")
        ]
    )
    day.dyed_and_closed()
    assert [line for line in day.lines if line.startswith("reorder")] == [
        "reorder Slate Blue: 0.1 g left for 2 days; an order takes 14 days"
    ]


def _these(moves: list[Move], _: list[Move]) -> list[Move]:
    return moves


def test_old_movements_are_put_aside_and_none_is_lost(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is there stays the same; every line can still be listed."""
    monkeypatch.setattr(store, "MOST", 20)
    now = clock.now().utc
    file = ShelfRecords(tmp_path)
    for n in range(30):
        came = [Move(f"m{n:02d}", now - timedelta(days=400 - n), MoveKind.RECEIVED, StockKind.DYE, "Navy", 1.0, "g")]
        file.add(partial(_these, came))
    assert ShelfRecords(tmp_path).shelf().amount(StockKind.DYE, "Navy") == 30
    assert [move.id for move in ShelfRecords(tmp_path).all_moves()] == [f"m{n:02d}" for n in range(30)]
    assert len(ShelfRecords(tmp_path).moves()) <= 20


def test_a_movement_is_kept_without_what_is_as_usual_and_comes_back_whole() -> None:
    """Rows are short, for there will be thousands."""
    now = clock.now().utc
    move = Move("m", now, MoveKind.RECEIVED, StockKind.DYE, "Navy", 1.5, "g")
    assert set(row_of(move)) == {"id", "at", "kind", "thing", "name", "amount", "unit"}
    assert from_plain(Move, row_of(move)) == move


def test_ids_that_are_there_are_left_out(tmp_path: Path) -> None:
    """Taking the same file back twice adds nothing."""
    move = Move("m", clock.now().utc, MoveKind.RECEIVED, StockKind.DYE, "Navy", 1.5, "g")
    file = ShelfRecords(tmp_path)
    assert len(file.add(lambda _: [move])) == 1
    assert file.add(lambda _: [move]) == []


def test_a_shelf_of_the_first_version_is_read(tmp_path: Path) -> None:
    """As it was written then."""
    stored = Path(__file__).parent / "files" / "shelf-1.json"
    (tmp_path / "shelf.json").write_bytes(stored.read_bytes())
    kept = ShelfRecords(tmp_path).shelf()
    assert kept.amount(StockKind.DYE, "Slate Blue") == 88.5
    assert [(b.left_ml, b.powder_lot) for b in kept.bottles_of("Slate Blue")] == [(380, "PW-113")]
