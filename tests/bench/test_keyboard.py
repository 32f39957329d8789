"""What a terminal may type without ending anything, and what is left of a crash."""

from __future__ import annotations

import sys
import threading
from collections.abc import Iterable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.text import Text
from textual import events
from textual.message import Message

from dyeday.bench.input.batch_typing import BatchChoice
from dyeday.bench.plain_app import PlainApp
from dyeday.bench.screens.text_screens import Reader
from dyeday.files.durable import StoreError
from dyeday.files.places import keep_crash
from dyeday.track.day.day_state import Day
from tests.bench.driving import Bench, drive
from tests.fakes import ROOT

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Windows gives keys, not bytes")

if sys.platform != "win32":
    from dyeday.bench.input.keyboard import KeyboardDriver, Typed


def typed(*reads: bytes) -> list[str]:
    """Return the characters of the keys that some reads of the terminal give, a last pause included."""
    keys = Typed()
    found: list[Message] = [message for raw in reads for message in keys.messages(raw)]
    return characters([*found, *keys.waited()])


def characters(found: Iterable[Message]) -> list[str]:
    return [message.character or message.key for message in found if isinstance(message, events.Key)]


@pytest.mark.parametrize(
    ("reads", "keys"),
    [
        ((b"m\xe91",), "m1"),
        ((b"m", b"\xe9", b"1"), "m1"),
        ((b"\xff\xfe\x80m\xc3(1",), "m(1"),
        (("é".encode(),), "é"),
        ((b"a\xc3", b"\xa9b"), "aéb"),
        ((b"\xe2", b"\x82", b"\xac"), "€"),
        ((b"\xed\xa0\x80m",), "m"),
    ],
    ids=["Latin-1", "alone", "binary", "UTF-8", "two reads", "three reads", "half a pair"],
)
def test_a_byte_that_is_not_utf8_is_dropped_and_the_keys_around_it_count(reads: tuple[bytes, ...], keys: str) -> None:
    """Also where a character comes in two reads; byte forms by RFC 3629, section 3."""
    assert "".join(typed(*reads)) == keys


@pytest.mark.parametrize("broken", [b"\x1b[2:u", b"\x1b[1114112u", b"\x1b[99999999999u", b"\x1b[57344;1;55296u"])
def test_a_broken_sequence_costs_itself_and_no_key_behind_it(broken: bytes) -> None:
    """Numbers that are none, or of no character: Textual's parser raises at the first three."""
    assert typed(b"a" + broken + b"m1") == ["a", "m", "1"]


def test_an_arrow_in_two_reads_is_one_key() -> None:
    """The driver's way of feeding must not cut sequences."""
    assert typed(b"\x1b[", b"A") == ["up"]


@pytest.mark.parametrize("row", ["&é\"'(-è_çà", "&é\"'(§è!çà", "1234567890"])
def test_every_key_of_the_row_comes_from_the_terminal_as_its_digit(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, row: str
) -> None:
    """French, Belgian and German rows as bytes, read by the terminal's own parser: names such as "ampersand"."""

    async def script(bench: Bench) -> None:
        digits: list[str] = []
        take = bench.app.bench.typing.digit

        def digit(day: Day, said: str) -> BatchChoice:
            digits.append(said)
            return take(day, said)

        monkeypatch.setattr(bench.app.bench.typing, "digit", digit)
        keys = Typed()
        for event in (message for sign in row for message in keys.messages(sign.encode())):
            event.set_sender(bench.app)
            bench.app.post_message(event)
            await bench.settle()
        assert "".join(digits) == "1234567890"

    drive(tmp_path, script)


def test_z_and_y_of_a_german_keyboard_are_the_letters_on_its_caps(tmp_path: Path) -> None:
    """They come as letters, wherever their keys are: z undoes, y looks ahead."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "space", "enter", "z")
        assert "Undo: 01" in bench.screen
        await bench.press("escape", "y")
        assert "forecast is not ready" in bench.screen

    drive(tmp_path, script)


@given(st.lists(st.binary(max_size=40), max_size=5))
def test_no_bytes_end_the_keyboard(reads: list[bytes]) -> None:
    """Whatever comes, in whatever pieces, is messages or nothing."""
    typed(*reads)


def test_every_screen_reads_the_keyboard_that_way() -> None:
    """The base of the bench, the start screen and the orders screen chooses the driver."""
    assert PlainApp[None]().driver_class is KeyboardDriver


class Crashing(PlainApp[None]):
    """An app that crashes at its start."""

    CSS_PATH = ROOT / "dyeday" / "bench" / "bench.tcss"

    def __init__(self, where: str) -> None:
        super().__init__()
        self.where = where

    def on_mount(self) -> None:
        if self.where == "app":
            raise KeyError("kelp")
        if self.where == "worker":
            self.run_worker(self._crash, thread=True)
        if self.where == "thread":
            threading.Thread(target=self._crash).start()
        if self.where == "driver":
            self.call_later(self.panic, "kelp in the input thread")
        if self.where == "nowhere":
            self.exit()
        if self.where == "late":
            self.exit()
            self.push_screen(Reader("Kelp", Text("of a key before the one that left")))

    def _crash(self) -> None:
        raise KeyError("kelp")

    def run(self, **_options: object) -> None:
        if self.where == "run":
            raise KeyError("kelp")
        super().run(headless=True)


@pytest.mark.parametrize("where", ["app", "worker", "thread", "driver", "run"])
def test_a_crash_anywhere_ends_the_screen_and_is_shown_with_its_details_and_not_on_the_terminal(
    where: str, capfd: pytest.CaptureFixture[str]
) -> None:
    """App, worker, plain thread, what Textual's input thread calls, and its run itself."""
    app = Crashing(where)
    hook = threading.excepthook
    assert "kelp" in app.show()
    assert threading.excepthook is hook
    out, err = capfd.readouterr()
    assert "Traceback" not in out + err
    assert "kelp" not in out + err


@pytest.mark.parametrize("where", ["nowhere", "late"])
def test_a_screen_that_was_left_has_no_crash(where: str) -> None:
    """Nor has one that opens another while it is left: that one is closed before it has what it is made of."""
    assert Crashing(where).show() == ""


def test_the_details_of_the_latest_crash_are_kept_for_their_owner(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One file, replaced; in a temporary folder where the usual one cannot be made."""
    monkeypatch.setattr("platformdirs.user_log_dir", lambda *_a, **_k: str(tmp_path / "log"))
    assert keep_crash("first") == keep_crash("second \udce9")
    kept = tmp_path / "log" / "crash.txt"
    assert kept.read_text(encoding="utf-8") == "second \\udce9"
    assert kept.stat().st_mode & 0o077 == 0
    monkeypatch.setattr("tempfile.mkdtemp", lambda **_k: str(tmp_path / "spare"))
    monkeypatch.setattr("platformdirs.user_log_dir", lambda *_a, **_k: str(kept / "no folder"))
    assert keep_crash("third").read_text(encoding="utf-8") == "third"
    monkeypatch.setattr("tempfile.mkdtemp", lambda **_k: str(kept / "none either"))
    with pytest.raises(StoreError, match="could not be saved"):
        keep_crash("fourth")
