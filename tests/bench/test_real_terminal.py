"""The bench in a real terminal, read by a terminal emulator: killed, opened again, changed by another shell."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import pytest

from dyeday.bench.setup.steps import PALETTE
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.store import clock
from dyeday.store.records.library import LibraryRecords
from dyeday.store.sessions import Sessions
from dyeday.terms import State
from dyeday.track.day.day_state import make
from dyeday.track.events.movements import Moved
from dyeday.track.timestamp import Moment, local
from tests.bench.setup_keys import Name
from tests.fakes import ROOT, SHORT_DAY

pexpect = pytest.importorskip("pexpect")
pyte = pytest.importorskip("pyte")
pytestmark = [
    pytest.mark.reference,
    pytest.mark.skipif(sys.platform == "win32", reason="pexpect needs a pseudo terminal"),
]

LONGEST_S = 30.0
ENTERED, LEFT = b"\x1b[?1049h", b"\x1b[?1049l"
MODULE = (sys.executable, "-m", "dyeday")


class Terminal:
    """`dyeday` in a pseudo terminal of 80 x 24, and what it shows."""

    def __init__(self, data: Path, *args: str, command: Sequence[str] = MODULE) -> None:
        env = {**os.environ, "DYEDAY_DATA": str(data), "TERM": "xterm-256color", "PYTHONPATH": str(ROOT)}
        env |= {f"XDG_{name}_HOME": str(data.parent / name.lower()) for name in ("CONFIG", "STATE")}
        command = [*command, *args]
        self.child = pexpect.spawn(command[0], command[1:], dimensions=(24, 80), env=env, cwd=str(ROOT))
        self.screen = pyte.Screen(80, 24)
        self.stream = pyte.ByteStream(self.screen)
        self.raw = b""

    def press(self, keys: str | bytes) -> None:
        self.child.send(keys)

    def rest(self) -> str:
        """Read to the end; return all that came since the last screen was read, and take in the exit status."""
        self.child.expect(pexpect.EOF, timeout=LONGEST_S)
        said: bytes = self.child.before or b""
        self.raw += said
        self.child.close()
        return said.decode("utf-8", "replace")

    @property
    def text(self) -> str:
        return "\n".join(self.screen.display)

    def until(self, seen: Callable[[str], bool], longest_s: float = LONGEST_S) -> str:
        """Read the terminal until ``seen`` holds of its text; fail with the screen where it never does."""
        deadline = time.monotonic() + longest_s
        while not seen(self.text):
            left = deadline - time.monotonic()
            assert left > 0, self.text
            try:
                data = self.child.read_nonblocking(65536, timeout=min(left, 0.2))
            except pexpect.TIMEOUT:
                continue
            except pexpect.EOF:
                assert seen(self.text), self.text
                break
            self.raw += data
            self.stream.feed(data)
        return self.text

    def shown(self, seconds: float) -> int:
        """Read for so long; return how many bytes came."""
        came, until = 0, time.monotonic() + seconds
        while (left := until - time.monotonic()) > 0:
            with contextlib.suppress(pexpect.TIMEOUT):
                data = self.child.read_nonblocking(65536, timeout=left)
                self.stream.feed(data)
                came += len(data)
        return came

    def kill(self) -> None:
        self.child.kill(signal.SIGKILL)
        self.child.wait()


@pytest.fixture
def data(tmp_path: Path) -> Iterator[Path]:
    yield tmp_path / "data"


def test_nothing_confirmed_is_lost_to_a_kill_and_the_clocks_go_on(data: Path) -> None:
    """Killed in the middle and opened again, the bench shows what it had confirmed, its time counted on."""
    first = Terminal(data, "open", str(SHORT_DAY))
    first.until(lambda text: "Kelp Light" in text)
    first.press("01 ")
    first.until(lambda text: "Enter: accept" in text)
    first.press("\r")
    first.until(lambda text: "recorded: 01 to soak" in text and "19 min left" in text)
    first.kill()
    session = Sessions(data).newest(unfinished=True)
    assert session is not None
    assert [event.body.NAME for event in session.events] == ["load", "chore"]
    again = Terminal(data)
    again.until(lambda text: "19 min left" in text and "soak" in text)
    again.press("q")
    again.until(lambda text: "Leave the bench?" in text)
    again.press("y")
    again.child.expect(pexpect.EOF, timeout=LONGEST_S)
    again.child.close()
    assert again.child.exitstatus == 0


def test_a_mark_from_a_second_shell_is_on_the_open_bench_within_two_seconds(data: Path) -> None:
    """The shell's command ends, and the bench shows it at one of its next two ticks."""
    bench = Terminal(data, "open", str(SHORT_DAY))
    bench.until(lambda text: "Kelp Light" in text)
    command = [sys.executable, "-m", "dyeday", "mark", "03", "soak", "--unit", "tray 2", "--data", str(data)]
    subprocess.run(command, check=True, cwd=ROOT, capture_output=True)
    bench.until(lambda text: any("03" in line and "tray 2" in line for line in text.split("\n")), longest_s=2.0)
    bench.kill()


def test_a_bench_continued_all_the_while_ends_in_order(data: Path) -> None:
    """Also while it draws, while it is left and after: no traceback, no wait for ever, the terminal as it was."""
    bench = Terminal(data, "open", str(SHORT_DAY))
    bench.until(lambda text: "Kelp Light" in text)
    bench.press("jjkk?")
    for n in range(24):
        if n == 12:
            bench.child.kill(signal.SIGTERM)
        with contextlib.suppress(OSError, pexpect.TIMEOUT, pexpect.EOF):
            bench.child.kill(signal.SIGCONT)
            bench.raw += bench.child.read_nonblocking(65536, timeout=0.04)
    bench.rest()
    assert (bench.child.exitstatus, bench.child.signalstatus) == (0, None), bench.raw[-800:]
    assert b"Traceback" not in bench.raw
    assert bench.raw.rindex(LEFT) > bench.raw.rindex(ENTERED)


def test_names_with_escape_sequences_put_none_of_their_bytes_on_the_terminal(data: Path, tmp_path: Path) -> None:
    """A colourway that would set the window's title or the colour is text and nothing else."""
    plan = tmp_path / "evil.toml"
    text = SHORT_DAY.read_text(encoding="utf-8").replace("Kelp Light", "\\u001b]0;owned\\u0007\\u001b[31mK")
    plan.write_text(text, encoding="utf-8")
    bench = Terminal(data, "open", str(plan))
    bench.until(lambda text: "owned" in text)
    assert b"\x1b]0;owned" not in bench.raw
    assert b"\x1b[31mK" not in bench.raw
    bench.kill()


@pytest.mark.parametrize("stop", [False, True], ids=["never stopped", "stopped unseen"])
def test_a_bench_that_is_continued_takes_keys_and_can_be_left(data: Path, stop: bool) -> None:
    """SIGCONT with or without a stop before it: one reader of keys, and no key is needed to end it."""
    bench = Terminal(data, "open", str(SHORT_DAY))
    bench.until(lambda text: "Kelp Light" in text)
    for _ in range(2):
        if stop:
            bench.child.kill(signal.SIGSTOP)
        bench.child.kill(signal.SIGCONT)
        time.sleep(0.3)
    bench.press("m1")
    bench.until(lambda text: "recorded: 01 to soak" in text)
    bench.child.kill(signal.SIGTERM)
    bench.rest()
    assert bench.child.exitstatus == 0


STOPPING = """
import os, signal, sys
from dyeday.cli import main
from dyeday.store import session_file

def replace_after_ctrl_z(*args):
    if signal.getsignal(signal.SIGTSTP) != signal.SIG_DFL:
        os.kill(os.getpid(), signal.SIGTSTP)
    usual(*args)

usual, session_file.replace_file = session_file.replace_file, replace_after_ctrl_z
sys.exit(main(sys.argv[1:]))
"""


def test_a_bench_stopped_in_the_midst_of_an_entry_stops_behind_it_and_holds_no_lock(data: Path) -> None:
    """SIGTSTP while the file is written: the entry is on the disk, and another shell need not wait for `fg`."""
    bench = Terminal(data, "open", str(SHORT_DAY), command=(sys.executable, "-c", STOPPING))
    bench.until(lambda text: "Kelp Light" in text)
    bench.press("m1")
    ps = ["ps", "-o", "stat=", "-p", str(bench.child.pid)]
    until = time.monotonic() + LONGEST_S
    while not subprocess.run(ps, capture_output=True, text=True).stdout.startswith("T"):
        assert time.monotonic() < until
        bench.shown(0.1)
    Sessions(data).open(Sessions(data).ids()[0]).add(
        [make(Moved(to=State.SOAK), clock.now(), clock.new_id, batch="02")]
    )
    bench.child.kill(signal.SIGCONT)
    bench.until(lambda text: "recorded: 01 to soak" in text)
    bench.child.kill(signal.SIGTERM)
    bench.rest()
    assert bench.child.exitstatus == 0
    assert [event.batch for event in Sessions(data).open("2026-03-14-1").events] == ["01", "02"]


def test_a_window_of_one_column_or_two_costs_nothing(data: Path) -> None:
    """A page that is scrolled settles at once, and all is there again when the window is."""
    for key in ("?", "f", "m"):
        bench = Terminal(data, "open", str(SHORT_DAY))
        bench.until(lambda text: "Kelp Light" in text)
        bench.press(key)
        for columns, rows in ((1, 8), (2, 24), (3, 8), (1, 1)):
            bench.child.setwinsize(rows, columns)
            # Drawn once or twice, then at rest; what lays itself out for ever never is.
            assert any(bench.shown(1.0) < 4000 for _ in range(6)), (key, columns, rows)
        bench.child.setwinsize(24, 80)
        bench.press("\x1b")
        bench.until(lambda text: "Kelp Light" in text)
        bench.kill()


def test_a_clock_that_stands_before_the_last_entry_is_shown_as_the_bench_opens(data: Path) -> None:
    """A laptop whose battery ran down, or whose date was never set: with what to do."""
    later = clock.now().later(26 * 3600)
    later = Moment(later.utc, later.boot_s, "another boot")
    session = Sessions(data).begin(read_plan(SHORT_DAY.read_text(encoding="utf-8")), SHORT_DAY, "", later)
    session.add([make(Moved(to=State.SOAK), later, clock.new_id, batch="01")])
    bench = Terminal(data)
    bench.until(lambda text: "The clock is behind" in text)
    shown = bench.until(lambda text: "set the computer's date, time and time zone" in " ".join(text.split()))
    assert f"the last entry is of {local(later.utc, None):%a %d %b %Y %H:%M}" in shown
    bench.kill()


def test_marks_of_reading_order_pasted_into_a_field_are_shown_as_they_are_taken(data: Path) -> None:
    """A line that reads backwards would be taken for another one than it is."""
    bench = Terminal(data, "open", str(SHORT_DAY))
    bench.until(lambda text: "Kelp Light" in text)
    bench.press("n")
    bench.until(lambda text: "Note on 01" in text)
    bench.press("\x1b[200~red \u202egnitniap\u202c\x1b[201~".encode())
    bench.until(lambda text: r"red \u202egnitniap\u202c" in text)
    assert "\u202e".encode() not in bench.raw
    bench.kill()


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGQUIT])
def test_a_terminated_bench_leaves_the_terminal_as_it_was(data: Path, number: int) -> None:
    """SIGTERM, SIGHUP and SIGQUIT end the bench in order: the alternate screen is left, all is on record."""
    bench = Terminal(data, "open", str(SHORT_DAY))
    bench.until(lambda text: "Kelp Light" in text)
    bench.press("m1")
    bench.until(lambda text: "recorded: 01 to soak" in text)
    bench.child.kill(number)
    bench.child.expect(pexpect.EOF, timeout=LONGEST_S)
    bench.raw += bench.child.before or b""
    assert b"\x1b[?1049l" in bench.raw
    session = Sessions(data).newest(unfinished=True)
    assert session is not None
    assert [event.body.NAME for event in session.events] == ["moved"]


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGQUIT])
def test_a_bench_terminated_in_its_first_moments_leaves_the_terminal_as_it_was(data: Path, number: int) -> None:
    """The signal comes as soon as the alternate screen is entered, before anything is on it."""
    bench = Terminal(data, "open", str(SHORT_DAY))
    bench.child.expect_exact(ENTERED, timeout=LONGEST_S)
    bench.child.kill(number)
    assert LEFT.decode() in bench.rest()
    assert bench.child.exitstatus == 0


def test_a_bench_terminated_while_nothing_can_be_saved_leaves_its_entries_elsewhere(
    data: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The data folder is pulled out; the file that the last lines name is taken by `mark --from` once it is back."""
    home = tmp_path / "home"
    home.mkdir()
    monkeypatch.setenv("HOME", str(home))
    bench = Terminal(data, "open", str(SHORT_DAY))
    bench.until(lambda text: "Kelp Light" in text)
    data.rename(tmp_path / "pulled")
    bench.press("m1")
    bench.until(lambda text: "NOT SAVED since" in text and "1 entry not on disk" in text)
    bench.child.kill(signal.SIGTERM)
    bench.child.expect(pexpect.EOF, timeout=LONGEST_S)
    bench.child.close()
    assert bench.child.exitstatus == 1
    (tmp_path / "pulled").rename(data)
    kept = list(home.glob("dyeday-*.jsonl"))
    assert len(kept) == 1
    command = [sys.executable, "-m", "dyeday", "mark", "--from", str(kept[0]), "--data", str(data)]
    subprocess.run(command, check=True, cwd=ROOT, capture_output=True)
    session = Sessions(data).newest(unfinished=True)
    assert session is not None
    assert [event.body.NAME for event in session.events] == ["moved"]


SETUP: tuple[str | Name, ...] = (
    "w", "1", "2", "0", "ctrl+s",
    "k", "a", "2", "ctrl+s", "escape",
    "d", "a", Name("Ochre"), "ctrl+s", "escape",
    "c", "a", "1", Name("Peat"), "down", "down", "down", Name("moss"), "down", Name("Ochre"), "space", "1", ".", "5",
    "ctrl+n", Name("teal"), "ctrl+s", "escape",
)  # fmt: skip
BYTES = {"ctrl+s": "\x13", "ctrl+n": "\x0e", "down": "\x1b[B", "escape": "\x1b", "space": " "}


def _settled(setup: Terminal, drafts: Path, before: bytes, rest_s: float) -> bytes:
    """Return what setup keeps of what is open and typed, once it is not ``before`` and rests."""
    deadline, since, now = time.monotonic() + LONGEST_S, time.monotonic(), before
    while now == before or time.monotonic() - since < rest_s:
        assert time.monotonic() < deadline, setup.text
        setup.shown(0.01)
        read = drafts.read_bytes() if drafts.exists() else b""
        now, since = read, since if read == now else time.monotonic()
    return now


def test_setup_killed_at_every_tenth_key_goes_on_where_it_was(data: Path, keys: Sequence[str | Name] = SETUP) -> None:
    """What was typed is on the screen again, the next key goes where it would have gone, and nothing comes twice."""
    pressed = [one for key in keys for one in (key.said if isinstance(key, Name) else (BYTES.get(key, key),))]
    drafts, before, setup, kills = data / "setup.drafts", b"", Terminal(data, "setup"), 0
    setup.until(lambda text: "Your studio" in text)
    for n, key in enumerate(pressed, 1):
        setup.press(key)
        before = _settled(setup, drafts, before, rest_s=0.1 if n % 10 else 1.0)
        if n % 10 == 0:
            setup.kill()
            kills += 1
            setup = Terminal(data, "setup")
            setup.until(
                lambda text: any(
                    shown in text for shown in ("[f8]", "[x]", "Esc: cancel", "Esc cancels", "Your studio")
                )
            )
    setup.kill()
    library = LibraryRecords(data).library()
    assert kills == len(pressed) // 10
    assert library.studio is not None
    assert library.studio.water.alkalinity_mg_l == 120
    assert [[thing.name for thing in things] for things in (library.kit, library.dyes)] == [["pot"], ["Ochre"]]
    (way,) = library.colourways
    assert way.name == "Peat"
    assert [(section.swatch, dict(section.dyes)) for section in way.layers[0].sections] == [
        (PALETTE["moss"], {"Ochre": 1.5}),
        (PALETTE["teal"], {}),
    ]


SCREENS = {
    "bench": (("open", str(SHORT_DAY)), "Kelp Light", "j", "mute it for 5 min", "tqy"),
    "demo": (("demo",), "Marsh Lantern", "j", "mute it for 5 min", "tqy"),
    "start": ((), "No day is running", "O", "Plan file", "\x1bq"),
    "orders": (("orders", "--into", "PLAN"), "Kelp Light", "?", "", "q"),
}


@pytest.mark.parametrize("name", SCREENS)
def test_bytes_that_are_not_utf8_are_ignored_and_the_keys_after_them_count(
    data: Path, tmp_path: Path, name: str
) -> None:
    """A Latin-1 e acute (0xE9), a binary paste and a broken sequence; then the screen is left in order."""
    args, seen, key, answer, leave = SCREENS[name]
    plan = tmp_path / "plan.toml"
    plan.write_bytes(SHORT_DAY.read_bytes())
    terminal = Terminal(data, *(str(plan) if arg == "PLAN" else arg for arg in args))
    terminal.until(lambda text: seen in text)
    for raw in (b"\xe9", b"\xff\xfe\x80\x81", b"\x1b[2:u"):
        terminal.press(raw)
    terminal.press(key)
    terminal.until(lambda text: answer in text)
    for letter in leave:
        terminal.press(letter)
        time.sleep(0.4)  # two command keys within 80 ms are one glove
    assert "Traceback" not in terminal.rest()
    assert terminal.child.exitstatus == 0


def test_a_window_that_is_closed_ends_the_bench_and_is_not_a_crash(data: Path) -> None:
    """The pseudo terminal is closed under it: the process is gone soon, all is on record, nothing called a crash."""
    bench = Terminal(data, "open", str(SHORT_DAY))
    bench.until(lambda text: "Kelp Light" in text)
    bench.press("m1")
    bench.until(lambda text: "recorded: 01 to soak" in text)
    os.close(bench.child.child_fd)
    deadline = time.monotonic() + LONGEST_S
    while os.waitpid(bench.child.pid, os.WNOHANG)[0] == 0:
        assert time.monotonic() < deadline, "the bench still runs without its window"
        time.sleep(0.1)
    bench.child.closed, bench.child.terminated = True, True
    assert not list((data.parent / "state").rglob("crash.txt"))
    session = Sessions(data).newest(unfinished=True)
    assert session is not None
    assert [event.body.NAME for event in session.events] == ["moved"]


def test_a_crash_while_nothing_can_be_saved_leaves_the_entries_elsewhere(data: Path, tmp_path: Path) -> None:
    """It says that it crashed, that not all is saved and where the entries are; `mark --from` takes them."""
    command = ["/bin/sh", "-c", f"HOME={tmp_path} {THEN_LOOK}", sys.executable, "-c", CRASHING, "app"]
    terminal = Terminal(data, "open", str(SHORT_DAY), command=command)
    terminal.until(lambda text: "Kelp Light" in text)
    data.rename(tmp_path / "pulled")
    terminal.press("m1")
    terminal.until(lambda text: "NOT SAVED since" in text and "1 entry not on disk" in text)
    time.sleep(0.4)
    terminal.press("j")
    terminal.until(lambda text: "status=" in text and "icanon" in text)
    assert "status=1" in terminal.text
    assert b"dyeday crashed; not all entries are in the data folder" in terminal.raw
    assert b"all entries are saved" not in terminal.raw
    assert b"NOT SAVED in the data folder: 1 entry" in terminal.raw
    terminal.rest()
    (kept,) = tmp_path.glob("dyeday-*.jsonl")
    assert '"moved"' in kept.read_text(encoding="utf-8")


CRASHING = """
import sys
from dyeday.bench.actions.alarms_and_flags import AlarmActions
from dyeday.bench.input.keyboard import KeyboardDriver
from dyeday.bench.screens.start_screen import StartScreen
from dyeday.cli import main
from textual.events import Key

def crash(*_args):
    raise KeyError("kelp")

def crash_at_a_key(driver, message):
    if isinstance(message, Key) and message.key == "j":
        crash()
    usual(driver, message)

usual = KeyboardDriver.process_message
if sys.argv[1] == "app":
    AlarmActions.sound = crash
    StartScreen.on_key = crash
else:
    KeyboardDriver.process_message = crash_at_a_key
sys.exit(main(sys.argv[2:]))
"""
THEN_LOOK = """"$0" "$@"; echo "status=$?"; stty -a"""


@pytest.mark.parametrize("name", ["bench", "demo", "start"])
@pytest.mark.parametrize("where", ["app", "driver"])
def test_a_crash_gives_the_terminal_back_ends_with_status_1_and_says_one_thing(
    data: Path, name: str, where: str
) -> None:
    """In the app, and in the thread that reads the keyboard; what was confirmed is on record."""
    args, seen = SCREENS[name][:2]
    command = ["/bin/sh", "-c", THEN_LOOK, sys.executable, "-c", CRASHING, where]
    terminal = Terminal(data, *args, command=command)
    terminal.until(lambda text: seen in text)
    if name == "bench":
        terminal.press("m1")
        terminal.until(lambda text: "recorded: 01 to soak" in text)
        time.sleep(0.4)
    terminal.press("j")
    terminal.until(lambda text: "status=" in text and "icanon" in text)
    shown = " ".join(terminal.text.split())
    assert "dyeday crashed; " in shown
    assert "Traceback" not in shown
    assert "status=1" in shown
    assert "-icanon" not in shown
    assert b"\x1b[?1049l" in terminal.raw
    terminal.rest()
    (kept,) = (data.parent / "state").rglob("crash.txt")
    assert "kelp" in kept.read_text(encoding="utf-8")
    if name == "bench":
        assert "all entries are saved" in shown
        session = Sessions(data).newest(unfinished=True)
        assert session is not None
        assert [event.body.NAME for event in session.events] == ["moved"]
