"""The bench's door for keys: which count, and the key lock against elbows, children and cats.

Repeats within 300 ms are one press (the acceptance time of usual slow-key filters); two neighbouring keys within
80 ms are one finger; more than six keys in a second that could record, or 36 in a minute of any that do more than
move about, are not a hand at work. Arrows, paging, digits, text and the repeats of a held key never lock.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import field
from enum import Enum, auto
from time import monotonic
from typing import TYPE_CHECKING, Any, NamedTuple

from textual import events
from textual.screen import Screen

from dyeday.bench.host import BenchHost
from dyeday.bench.input import bench_keys as keys
from dyeday.bench.input.idle_gate import IdleGate
from dyeday.bench.live_session import EventDraft, LiveSession
from dyeday.bench.main_screen import BenchScreen
from dyeday.bench.plain_app import TypedAhead
from dyeday.quick_dataclass import dataclass
from dyeday.text import counted
from dyeday.track.day.day_state import Body
from dyeday.track.events.session_events import KeyLockOff, KeyLockOn
from dyeday.track.timestamp import Moment, elapsed_s

if TYPE_CHECKING:
    from dyeday.bench.prompts.prompts import KeyLockStrip

ASLEEP_S = 60.0
"""a gap between two ticks, s: the computer slept, or the bench was suspended"""
AWAY_S = 120.0
"""after so many seconds without a key, the first one only wakes the bench and shows what happened meanwhile"""
BOUNCE_S = 0.3
FRESH_S = 0.7
"""A key that opened a question does not answer it so soon: a keyboard's slowest delay before its first repeat is half
a second or a little more.
"""
MASH_KEYS, MASH_S = 6, 1.0
SLOW_KEYS, SLOW_S = 36, 60.0
"""a child at one key a second starts and cancels this often; a dyer does so only by undo and redo"""
TYPING_PAUSE_S = 5.0
_ROWS = ("1234567890", "qwertyuiop", "asdfghjkl", "zxcvbnm")
_UNDER_SPACE = "xcvbnm"


class KeyUse(NamedTuple):
    """What a key would do where it lands."""

    records: bool
    """it can put something on record: seven of them in a second lock"""
    is_command: bool
    """bounces and smears of it do not act"""
    is_text: bool
    """it goes into a text field, where only the key lock and a held answer stop it"""
    acts: bool = True
    """it does more than choose or turn pages: a minute of them locks"""
    answers: bool = False
    """it would answer a question, for which it must be pressed again, not held"""


class KeyVerdict(Enum):
    """What becomes of a key."""

    PASS = auto()
    SWALLOW = auto()
    TOO_SOON = auto()
    """as SWALLOW, but the dyer may have pressed it twice and should know"""
    SMEAR = auto()
    """neither this key nor the one just before it may act"""
    LOCK = auto()
    UNLOCK = auto()


def neighbours(one: str, other: str) -> bool:
    """Return whether two keys touch on a usual keyboard; rows are half a key apart."""
    if "space" in (one, other):
        return (other if one == "space" else one).lower() in _UNDER_SPACE
    places = {key: (row, column + row * 0.5) for row, line in enumerate(_ROWS) for column, key in enumerate(line)}
    a, b = places.get(one.lower()), places.get(other.lower())
    return a is not None and b is not None and abs(a[0] - b[0]) <= 1 and abs(a[1] - b[1]) <= 1.0 and a != b


def _is_many(times: deque[float], now_s: float, most: int, span_s: float) -> bool:
    """Add a time; return whether there are more than ``most`` of them within ``span_s``."""
    while times and now_s - times[0] > span_s:
        times.popleft()
    times.append(now_s)
    return len(times) > most


@dataclass()
class KeyWatch:
    """Decides what becomes of each key; `take` gets every one as it arrives."""

    locked: bool = False
    swallowed: int = 0
    """keys since it was locked"""
    typed: str = ""
    """letters of `WORD` so far"""
    last_letter_s: float = 0.0
    last_of: dict[str, float] = field(default_factory=dict)
    """by key, when it was pressed last"""
    recent: deque[float] = field(default_factory=deque)
    """when keys came that could record: `MASH_KEYS` of them in `MASH_S` lock"""
    slow: deque[float] = field(default_factory=deque)
    """when keys came that do more than move about: `SLOW_KEYS` of them in `SLOW_S` lock"""
    held: tuple[str, float] | None = None
    """the key that came last and when: of a held key its latest repeat"""
    last_command: tuple[str, float] | None = None
    smeared: set[tuple[str, float]] = field(default_factory=set)
    """(key, when) of those that passed before the other half of a smear came"""

    def lock(self) -> None:
        """Swallow every key until `WORD` and Enter are typed."""
        self.locked, self.swallowed, self.typed = True, 0, ""

    def unlock(self) -> int:
        """Open again; return how many keys were swallowed, the word that opened it apart."""
        self.locked = False
        self.recent.clear()
        self.slow.clear()
        return max(0, self.swallowed - len(keys.WORD) - 1)

    def take(self, now_s: float, key: str, character: str | None, use: KeyUse) -> KeyVerdict:
        """Return what becomes of a key pressed at ``now_s``."""
        if self.locked:
            return self._while_locked(now_s, key, character)
        held, self.held = self.held, (key, now_s)
        if use.answers and held is not None and held[0] == key and now_s - held[1] < FRESH_S:
            return KeyVerdict.TOO_SOON if now_s - held[1] > BOUNCE_S else KeyVerdict.SWALLOW
        if use.is_text:
            return KeyVerdict.PASS
        before = self.last_of.get(key)
        self.last_of[key] = now_s
        if before is not None and now_s - before < BOUNCE_S:
            return KeyVerdict.SWALLOW if use.is_command else KeyVerdict.PASS
        quick = use.records and _is_many(self.recent, now_s, MASH_KEYS, MASH_S)
        slow = use.acts and _is_many(self.slow, now_s, SLOW_KEYS, SLOW_S)
        if quick or slow:
            return KeyVerdict.LOCK
        return self._command(now_s, key) if use.is_command else KeyVerdict.PASS

    def _command(self, now_s: float, key: str) -> KeyVerdict:
        last = self.last_command
        self.last_command = (key, now_s)
        if last is not None and last[0] != key and now_s - last[1] <= keys.SMEAR_S and neighbours(last[0], key):
            self.smeared.add(last)
            return KeyVerdict.SMEAR
        return KeyVerdict.PASS

    def was_smeared(self, key: str, at_s: float) -> bool:
        """Return whether a command key that passed was half of a smear, or the keys were locked since."""
        is_half = (key, at_s) in self.smeared
        self.smeared.discard((key, at_s))
        return is_half or self.locked

    def _while_locked(self, now_s: float, key: str, character: str | None) -> KeyVerdict:
        self.swallowed += 1
        if now_s - self.last_letter_s > TYPING_PAUSE_S:
            self.typed = ""
        self.last_letter_s = now_s
        if key == "enter":
            right, self.typed = self.typed == keys.WORD, ""
            return KeyVerdict.UNLOCK if right else KeyVerdict.SWALLOW
        self.typed += character.lower() if character and len(self.typed) < 20 else "?"
        if not keys.WORD.startswith(self.typed):
            self.typed = ""
        return KeyVerdict.SWALLOW


class KeyDoor(BenchHost, inherit_bindings=False):
    """The app as keys meet it. ``key_time`` tells when a key came, in seconds."""

    tell_since: Callable[[Moment, str], bool]
    """shows what happened since a moment, if anything did, under a heading; tells whether it is shown"""

    def __init__(
        self, live: LiveSession, key_time: Callable[[events.Event], float], quiet: IdleGate, *, ascii_only: bool
    ) -> None:
        super().__init__(ascii_only=ascii_only)
        self.live = live
        self.key_time = key_time
        self.quiet = quiet
        self.bench = BenchScreen(live, self)
        self.key_watch = KeyWatch()
        self.last_key = self.last_tick = self.locked_at = live.now()
        self.last_key_on: Screen[Any] = self.bench
        """the screen that the last key acted on"""
        self.lock_why = ""
        self.key_lock: KeyLockStrip | None = None
        """the first strip of the lock; a screen above it goes when the keys are unlocked"""
        self.types_digits = True
        """whether the digit row types digits unshifted, by the last one typed"""
        self.rewrites = False
        """whether the last key was for undo or redo"""

    def get_default_screen(self) -> Screen[Any]:
        """Return the bench; otherwise Textual would make and style an empty screen below it."""
        return self.bench

    async def on_event(self, event: events.Event) -> None:
        """Let only keys and pastes through that count; everything else is Textual's."""
        if isinstance(event, (events.Key, events.Paste)) and not event.is_forwarded:
            self.quiet.last_key_s = monotonic()
            if self._kept_out(event):
                event.stop()
                return
        await super().on_event(event)

    def _kept_out(self, event: events.Key | events.Paste) -> bool:
        from textual.widgets import Input

        in_text = isinstance(self.focused, Input)
        if isinstance(event, events.Paste):
            return self.key_watch.locked or not in_text
        if not in_text:
            self._as_digit(event)
        on_bench = self.screen is self.bench
        asked = self.screen.is_modal and event.key not in keys.HARMLESS_KEYS
        # A chain of entries is undone as calmly as it was made: z, Enter, z, Enter.
        is_rewriting = keys.DONE_BY.get(event.key) in (keys.Do.UNDO, keys.Do.REDO)
        self.rewrites = is_rewriting if on_bench else asked and self.rewrites
        use = KeyUse(
            records=event.key in keys.RECORDING_KEYS if on_bench else asked,
            acts=event.key not in keys.HARMLESS_KEYS and not self.rewrites,
            is_command=event.key in keys.COMMAND_KEYS if on_bench else asked and event.key == "enter",
            is_text=in_text,
            # A letter that opened a question does not choose in it either; later ones there choose as usual.
            answers=asked and (event.key == "enter" or (not in_text and self.last_key_on is not self.screen)),
        )
        verdict = self.key_watch.take(self.key_time(event), event.key, event.character, use)
        if verdict is KeyVerdict.LOCK:
            self.lock("too many keys at once")
        elif verdict is KeyVerdict.UNLOCK:
            self.unlock()
        elif self.key_watch.locked:
            self._show_lock()
        elif verdict is KeyVerdict.SMEAR:
            self.bench.say("two keys at once: ignored")
        elif verdict is KeyVerdict.TOO_SOON:
            from dyeday.bench.prompts.prompts import Question

            # The key was taken for the one that opened the question, still held.
            if isinstance(self.screen, Question):
                self.screen.note("too quick for an answer: press it again")
        if verdict is not KeyVerdict.PASS:
            return True
        self.last_key_on = self.screen
        return self._back_after_a_while(event.character or "") or self._silenced(event)

    def _as_digit(self, event: events.Key) -> None:
        """Let the unshifted row of other keyboards type digits; a dash behind a plain digit is a dash."""
        char, typing = event.character or "", self.bench.typing
        means_up_to = char == "-" and self.types_digits and (typing.text or typing.just)
        if char in keys.UNSHIFTED_DIGITS and not means_up_to:
            self.types_digits = self.types_digits and char == "-"
            event.key = event.character = keys.UNSHIFTED_DIGITS[char]
        elif char.isdigit():
            self.types_digits = True

    def _silenced(self, event: events.Key) -> bool:
        """Silence an alarm if ``event`` is the key for it and means nothing else on the present screen."""
        shown = self.bench.shown
        if event.key != "a" or self.screen is self.bench or not self.a_silences or not (shown and shown.alarms):
            return False
        self.bench.silence()
        return True

    @property
    def a_silences(self) -> bool:
        return self.screen is self.bench or (isinstance(self.screen, TypedAhead) and not self.screen.uses_a)

    def _back_after_a_while(self, typed: str) -> bool:
        """After two minutes without a key, the first one on the bench only shows what happened since.

        A digit counts all the same: half a number would choose another batch. In a question that key may only update
        what is shown; a text field or a page gets it as usual.
        """
        before, self.last_key = self.last_key, self.live.now()
        was_on = self.screen
        if elapsed_s(self.last_tick, self.last_key) > ASLEEP_S:
            self.tick()  # a key that came before it
        if self.screen is was_on:
            if elapsed_s(before, self.last_key) < AWAY_S:
                return False
            if self.screen is not self.bench:
                return isinstance(self.screen, TypedAhead) and self.screen.woken()
            if not self.tell_since(before, "Since you left"):
                self.bench.say("that key only woke the bench: press it again")
        if was_on is self.bench and typed.isdecimal():
            self.bench.type_digit(typed)
        return True

    def lock(self, why: str = "") -> None:
        """Lock the keyboard until the word is typed; alarms go on."""
        if self.key_watch.locked:
            return
        self.key_watch.lock()
        self.locked_at = self.live.now()
        self._record(KeyLockOn(why=why or None))
        self.lock_why = why
        self._show_lock()

    def _show_lock(self) -> None:
        """Put the key lock's strip on top, even of a screen that an earlier key opened late."""
        from dyeday.bench.prompts.prompts import KeyLockStrip

        if isinstance(self.screen, KeyLockStrip):
            return
        strip = KeyLockStrip(self.locked_at, self.live.day.plan.session.zone, self.lock_why)
        self.key_lock = self.key_lock or strip
        self.push_screen(strip)

    def unlock(self) -> None:
        """Unlock the keys; after a long lock, show what happened meanwhile."""
        swallowed = self.key_watch.unlock()
        while self.key_lock is not None and self.key_lock in self.screen_stack:
            self.pop_screen()
        self.key_lock = None
        self.last_key = now = self.live.now()
        self._record(KeyLockOff(more={"swallowed": swallowed}))
        self.bench.say(f"unlocked; {counted(swallowed, 'key')} did nothing")
        if elapsed_s(self.locked_at, now) >= AWAY_S:
            self.tell_since(self.locked_at, "While the keys were locked")

    def _record(self, body: Body) -> None:
        if not self.live.read_only:
            self.bench.record(EventDraft(body))

    def action_lock_keys(self) -> None:
        self.lock()

    def is_smeared(self, event: events.Key) -> bool:
        return self.key_watch.was_smeared(event.key, self.key_time(event))
