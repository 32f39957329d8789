"""The remembered list of sessions: years of closed days are passed without opening them, and it is never believed
when it is wrong."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from dyeday.store.sessions import SessionFile, Sessions
from dyeday.track.events.event import make
from dyeday.track.timestamp import Now
from tests.fakes import FakeClock, Ids, begun


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[str]]:
    """The ids of the session files that were opened."""
    seen: list[str] = []
    original = SessionFile.__init__

    def noting(self: SessionFile, path: Path, now: Callable[[], Now]) -> None:
        seen.append(path.stem)
        original(self, path, now)

    monkeypatch.setattr(SessionFile, "__init__", noting)
    yield seen


def closed_days(folder: Path, count: int) -> tuple[FakeClock, Ids]:
    clock, ids = FakeClock(), Ids()
    for _ in range(count):
        begun(folder, clock).add([make("closed", clock(), ids)])
    return clock, ids


def test_closed_days_are_opened_once_to_find_the_unfinished_one(tmp_path: Path, opened: list[str]) -> None:
    """The second look opens only the day it gives."""
    clock, _ = closed_days(tmp_path, 4)
    old = begun(tmp_path, clock).about.id
    closing = Ids(iter(range(100, 200)))
    for _ in range(3):
        begun(tmp_path, clock).add([make("closed", clock(), closing)])
    Sessions(tmp_path).newest(unfinished=True)
    opened.clear()
    found = Sessions(tmp_path).newest(unfinished=True)
    assert found is not None and found.about.id == old
    assert opened == ["2026-03-14-8", old], "the newest is always looked at"


def test_a_list_of_all_opens_only_what_changed(tmp_path: Path, opened: list[str]) -> None:
    """One event more in one session is one file opened."""
    clock, ids = closed_days(tmp_path, 3)
    going_on = begun(tmp_path, clock)
    before = Sessions(tmp_path).listed()
    assert [row.closed for row in before] == [False, True, True, True]
    opened.clear()
    assert Sessions(tmp_path).listed() == before
    assert opened == []
    going_on.add([make("note", clock(), ids, note="one more")])
    assert [row.events for row in Sessions(tmp_path).listed()] == [1, 1, 1, 1]
    assert opened == [going_on.about.id]


def test_a_closing_that_was_struck_is_seen_though_the_list_had_it_closed(tmp_path: Path) -> None:
    """The file changed, so what was remembered of it does not count."""
    clock, ids = FakeClock(), Ids()
    session = begun(tmp_path, clock)
    closing = make("closed", clock(), ids)
    session.add([closing])
    assert Sessions(tmp_path).newest(unfinished=True) is None
    session.add([make("struck", clock(), ids, strikes=closing.id)])
    assert Sessions(tmp_path).newest(unfinished=True) is not None


@pytest.mark.parametrize(
    "harm",
    ["", "[]", "{", '{"2026-03-14-1": 3}', '{"2026-03-14-1": [[1, 2, 3], {}]}', "another's stamp", "another's row"],
)
def test_an_index_that_is_wrong_is_not_believed(tmp_path: Path, harm: str) -> None:
    """Damaged, or saying something of another file: the sessions are opened, and it is made anew."""
    clock, _ = closed_days(tmp_path, 1)
    going_on = begun(tmp_path, clock).about.id
    kept = Sessions(tmp_path)
    rows = kept.listed()
    index = kept.folder / "sessions.index"
    known = json.loads(index.read_text(encoding="utf-8"))
    first, second = sorted(known)
    if harm == "another's stamp":
        known[first][0], known[second][0] = known[second][0], known[first][0]
        harm = json.dumps(known)
    elif harm == "another's row":
        known[second][1] = known[first][1]
        harm = json.dumps(known)
    index.write_text(harm, encoding="utf-8")
    found = Sessions(tmp_path).newest(unfinished=True)
    assert found is not None and found.about.id == going_on
    assert Sessions(tmp_path).listed() == rows


def test_a_folder_that_cannot_be_written_is_still_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What could not be remembered is opened again."""
    closed_days(tmp_path, 2)

    def no_space(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("dyeday.store.session_index.replace_file", no_space)
    assert len(Sessions(tmp_path).listed()) == 2
    assert Sessions(tmp_path).newest(unfinished=True) is None
