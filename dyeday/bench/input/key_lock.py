"""Which keys count: bounces, held keys, smears of a glove, and the key lock against elbows, children and cats.

A plain state machine on times and key names, so that every rule can be tried without a screen. Numbers: repeats
within 300 ms are one press (the acceptance time of usual slow-key filters); two neighbouring keys within 80 ms are
one finger; more than six keys in a second that could record, or 36 in a minute of any that do more than move about,
are not a hand at work. Arrows, paging, digits, text and the repeats of a held key never lock.
"""

from __future__ import annotations

from collections import deque
from dataclasses import field
from enum import Enum, auto
from typing import NamedTuple

from dyeday.quick_dataclass import dataclass

WORD = "skein"
"""typed, then Enter: unlocks the keys"""
BOUNCE_S, SMEAR_S = 0.3, 0.08
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
    places = {key: (row, column + row * 0.5) for row, keys in enumerate(_ROWS) for column, key in enumerate(keys)}
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
    typed: str = ""
    last_letter_s: float = 0.0
    last_of: dict[str, float] = field(default_factory=dict)
    recent: deque[float] = field(default_factory=deque)
    slow: deque[float] = field(default_factory=deque)
    held: tuple[str, float] | None = None
    """the key that came last and when: of a held key its latest repeat"""
    last_command: tuple[str, float] | None = None
    smeared: set[tuple[str, float]] = field(default_factory=set)

    def lock(self) -> None:
        """Swallow every key until WORD and Enter are typed."""
        self.locked, self.swallowed, self.typed = True, 0, ""

    def unlock(self) -> int:
        """Open again; return how many keys were swallowed, the word that opened it apart."""
        self.locked = False
        self.recent.clear()
        self.slow.clear()
        return max(0, self.swallowed - len(WORD) - 1)

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
        if last is not None and last[0] != key and now_s - last[1] <= SMEAR_S and neighbours(last[0], key):
            self.smeared.add(last)
            return KeyVerdict.SMEAR
        return KeyVerdict.PASS

    def was_smeared(self, key: str, at_s: float) -> bool:
        """Return whether a command key that passed turned out to be half of a smear."""
        was = (key, at_s) in self.smeared
        self.smeared.discard((key, at_s))
        return was

    def _while_locked(self, now_s: float, key: str, character: str | None) -> KeyVerdict:
        self.swallowed += 1
        if now_s - self.last_letter_s > TYPING_PAUSE_S:
            self.typed = ""
        self.last_letter_s = now_s
        if key == "enter":
            right, self.typed = self.typed == WORD, ""
            return KeyVerdict.UNLOCK if right else KeyVerdict.SWALLOW
        self.typed += character.lower() if character and len(self.typed) < 20 else "?"
        if not WORD.startswith(self.typed):
            self.typed = ""
        return KeyVerdict.SWALLOW
