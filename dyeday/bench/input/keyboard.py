"""What the terminal types, as messages; bytes that are not UTF-8 and broken sequences are dropped alone."""

from __future__ import annotations

import contextlib
import os
import selectors
import signal
from codecs import getincrementaldecoder
from collections.abc import Iterator

from textual._xterm_parser import XTermParser
from textual.drivers.linux_driver import LinuxDriver
from textual.events import Key
from textual.message import Message

MOST_BYTES = 4096
"""read at once, as Textual's own driver does"""
PAUSE_S = 0.1
"""a lone escape is a key once nothing has followed it for so long"""


class Typed:
    """Turns bytes into messages. A sequence cut in two by a read is put together again."""

    def __init__(self) -> None:
        self._decode = getincrementaldecoder("utf-8")(errors="ignore").decode
        self._parser = XTermParser()

    def messages(self, raw: bytes) -> Iterator[Message]:
        """Yield the messages that ``raw`` completes."""
        # One character at a time, so that what stands behind a broken sequence is not lost with it.
        for character in self._decode(raw):
            yield from self._guarded(character)

    def waited(self) -> Iterator[Message]:
        """Yield what becomes a key because nothing followed it."""
        yield from self._guarded("")

    def _guarded(self, character: str) -> Iterator[Message]:
        try:
            events = self._parser.feed(character) if character else self._parser.tick()
            yield from (message for message in events if not _is_half(message))
        except Exception:  # Textual's parser raises whatever int() and chr() raise
            self._parser = XTermParser()


def _is_half(message: Message) -> bool:
    """Return whether a message is half a character (a surrogate), which no text can hold."""
    return isinstance(message, Key) and "\ud800" <= (message.character or "") <= "\udfff"


class KeyboardDriver(LinuxDriver):
    """Textual's driver, but bytes that are not UTF-8 do not end it, nor does a closed window block it."""

    def write(self, data: str) -> None:
        """Write to the terminal; nothing once its window is gone."""
        gone = getattr(self._app, "window_gone", None)
        if gone is None or not gone.is_set():
            super().write(data)

    suspending = False

    def suspend_application_mode(self) -> None:
        """Give the terminal back while another program or the shell has it."""
        self.suspending = True
        super().suspend_application_mode()
        self.suspending = False

    def stop_application_mode(self) -> None:
        """Leave the screen, and give stop, continue and resize signals back to the terminal."""
        super().stop_application_mode()
        if not self.suspending:
            with contextlib.suppress(ValueError):  # not in the main thread
                for number in (signal.SIGTSTP, signal.SIGCONT, signal.SIGWINCH):
                    signal.signal(number, signal.SIG_DFL)

    def _sigtstp_application(self, *args: object) -> None:
        """Stop from within the loop: in the middle of an entry its lock would be held until `fg`."""
        stop = super()._sigtstp_application
        with contextlib.suppress(RuntimeError):  # the loop has ended
            self._loop.call_soon_threadsafe(stop)

    def _sigcont_application(self, *args: object) -> None:
        """Continue after a stop without warning (SIGSTOP), or without a stop, unless the app has ended."""
        if self._must_signal_resume:
            super()._sigcont_application(*args)
            return
        # From within the loop: the signal may come in the midst of writing, which would then wait for itself.
        with contextlib.suppress(RuntimeError):  # the loop has ended
            self._loop.call_soon_threadsafe(self._start_again)

    def _start_again(self) -> None:
        """Start again with one reader of keys; Textual would begin a second, left waiting for a key."""
        if self._auto_restart and self._key_thread is not None and self._key_thread.is_alive():
            self.suspend_application_mode()
            super()._sigcont_application()

    def run_input_thread(self) -> None:
        """Turn bytes into messages until the driver exits; hang up where the terminal has gone."""
        typed = Typed()
        with selectors.SelectSelector() as selector:
            selector.register(self.fileno, selectors.EVENT_READ)
            while not self.exit_event.is_set():
                if selector.select(PAUSE_S):
                    try:
                        raw = os.read(self.fileno, MOST_BYTES)
                    except OSError:
                        raw = b""
                    if not raw:
                        # The window is closed. Its hang-up signal may have been switched off (nohup).
                        os.kill(os.getpid(), signal.SIGHUP)
                        return
                    for message in typed.messages(raw):
                        self.process_message(message)
                for message in typed.waited():
                    self.process_message(message)
