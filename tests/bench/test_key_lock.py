"""Which keys count, as a plain state machine on times: bounces, held keys, smears, mashing, and the way out.

The numbers are common practice; 300 ms is the acceptance time that usual slow-key filters have.
"""

from __future__ import annotations

import random

import pytest

from dyeday.bench.input.bench_keys import WORD
from dyeday.bench.key_door import KeyUse, KeyVerdict, KeyWatch, neighbours


def press(watch: KeyWatch, at: float, key: str, **how: bool) -> KeyVerdict:
    use = KeyUse(**{"records": True, "is_command": True, "is_text": False, **how})
    character = " " if key == "space" else (key if len(key) == 1 else None)
    return watch.take(at, key, character, use)


def test_the_same_command_within_300_ms_counts_once() -> None:
    """A bounce is not a second press; after the pause it is."""
    watch = KeyWatch()
    times = (0.0, 0.1, 0.5, 0.79, 1.1)
    verdicts = [press(watch, at, "z") for at in times]
    assert [v is KeyVerdict.PASS for v in verdicts] == [True, False, True, False, True]


def test_a_held_key_acts_once_however_long_it_is_held() -> None:
    """Its repeats are each a bounce of the one before."""
    watch = KeyWatch()
    verdicts = [press(watch, n / 5, "space", is_command=True) for n in range(6)]
    assert verdicts.count(KeyVerdict.PASS) == 1


@pytest.mark.parametrize("delay_s", [0.35, 0.5, 0.66])
def test_a_held_return_offers_and_does_not_take(delay_s: float) -> None:
    """A keyboard may wait longer than a bounce lasts before its first repeat (common practice, no source)."""
    watch = KeyWatch()
    assert press(watch, 10.0, "enter") is KeyVerdict.PASS
    repeats = [press(watch, 10.0 + delay_s + n / 30, "enter", answers=True) for n in range(300)]
    assert repeats[0] is KeyVerdict.TOO_SOON
    assert set(repeats[1:]) == {KeyVerdict.SWALLOW}


def test_return_takes_after_a_pause_or_another_key() -> None:
    """A fresh press is one after 0.7 s, or one with another key in between."""
    watch = KeyWatch()
    press(watch, 10.0, "enter")
    assert press(watch, 10.75, "enter", answers=True) is KeyVerdict.PASS
    press(watch, 20.0, "enter")
    press(watch, 20.2, "2", records=False, is_command=False)
    assert press(watch, 20.5, "enter", answers=True) is KeyVerdict.PASS


def test_two_neighbouring_commands_within_80_ms_do_nothing() -> None:
    """The second is refused, and the message says that the first was half of a smear."""
    watch = KeyWatch()
    assert press(watch, 1.0, "a") is KeyVerdict.PASS
    assert press(watch, 1.079, "s") is KeyVerdict.SMEAR
    assert watch.was_smeared("a", 1.0)
    assert not watch.was_smeared("a", 1.0)


@pytest.mark.parametrize(("other", "at"), [("s", 1.09), ("p", 1.05)])
def test_a_later_or_a_distant_key_is_not_a_smear(other: str, at: float) -> None:
    """80 ms and touching keys make a smear, nothing else."""
    watch = KeyWatch()
    press(watch, 1.0, "a")
    assert press(watch, at, other) is KeyVerdict.PASS
    assert not watch.was_smeared("a", 1.0)


def test_keys_that_touch_are_neighbours_and_none_is_its_own() -> None:
    """Rows are half a key apart; the space bar touches the row above it."""
    assert neighbours("a", "s")
    assert neighbours("g", "t")
    assert neighbours("space", "n")
    assert neighbours("n", "space")
    assert not neighbours("a", "d")
    assert not neighbours("q", "z")
    assert not neighbours("space", "p")
    assert not neighbours("r", "r")


def test_more_than_six_recording_keys_in_a_second_lock() -> None:
    """Six are a quick hand; the seventh is an elbow."""
    watch = KeyWatch()
    assert [press(watch, n * 0.14, key) for n, key in enumerate("rzmhik")] == [KeyVerdict.PASS] * 6
    assert press(watch, 0.99, "o") is KeyVerdict.LOCK


def test_keys_that_cannot_record_never_lock() -> None:
    """Arrows, paging and digits come as fast and as long as they like."""
    watch = KeyWatch()
    keys = ("down", "pagedown", "1", "2", "f9")
    assert all(
        press(watch, n * 0.02, keys[n % 5], records=False, is_command=False) is KeyVerdict.PASS for n in range(5000)
    )


def test_a_held_recording_key_never_locks() -> None:
    """Thirty repeats a second for a minute are one press."""
    watch = KeyWatch()
    verdicts = [press(watch, n / 30, "space") for n in range(1800)]
    assert verdicts.count(KeyVerdict.PASS) == 1
    assert KeyVerdict.LOCK not in verdicts


def test_slow_mashing_locks_within_the_minute() -> None:
    """A toddler at one key a second begins and cancels questions; a dyer at work does not for a minute."""
    watch = KeyWatch()
    toddler = ("space", "enter", "space", "escape")
    verdicts = [press(watch, float(n), toddler[n % 4]) for n in range(60)]
    assert KeyVerdict.LOCK in verdicts


def test_moving_about_never_locks_however_long() -> None:
    """Half an hour of arrows, one a second."""
    watch = KeyWatch()
    verdicts = {press(watch, float(n), ("down", "up")[n % 2], records=False, acts=False) for n in range(1800)}
    assert verdicts == {KeyVerdict.PASS}


def test_a_dyer_who_catches_up_is_not_locked_out() -> None:
    """Fifteen entries of two keys in half a minute."""
    watch = KeyWatch()
    assert all(press(watch, float(n), ("space", "enter")[n % 2]) is KeyVerdict.PASS for n in range(30))


def test_typing_a_text_locks_nothing() -> None:
    """A note may be typed as fast as one can."""
    watch = KeyWatch()
    assert all(press(watch, n * 0.02, "e", is_text=True) is KeyVerdict.PASS for n in range(200))


def locked() -> KeyWatch:
    watch = KeyWatch()
    watch.lock()
    return watch


def spell(watch: KeyWatch, word: str, start: float = 0.0, pause: float = 0.2) -> KeyVerdict:
    verdict = KeyVerdict.SWALLOW
    for n, char in enumerate(word):
        verdict = press(watch, start + n * pause, char)
    return verdict


def test_the_word_and_enter_open_the_key_lock_and_nothing_shorter() -> None:
    """The word alone does nothing; wrong letters before it must be ended with return or left a while."""
    watch = locked()
    assert spell(watch, WORD) is KeyVerdict.SWALLOW
    assert press(watch, 2.0, "enter") is KeyVerdict.UNLOCK
    watch = locked()
    spell(watch, WORD[:-1])
    assert press(watch, 2.0, "enter") is KeyVerdict.SWALLOW
    watch = locked()
    spell(watch, WORD, pause=6.0)
    assert press(watch, 60.0, "enter") is KeyVerdict.SWALLOW


def test_what_was_swallowed_is_counted() -> None:
    """The record says how many keys did nothing, those of the word apart."""
    watch = locked()
    spell(watch, "xyz")
    spell(watch, WORD, start=3.0)
    press(watch, 9.0, "enter")
    assert watch.unlock() == 3
    assert not watch.locked


def test_no_mashing_opens_it() -> None:
    """A hundred thousand random keys, the word's letters and return among them more often than not."""
    rng = random.Random(7)  # noqa: S311 - a paw, not a secret
    watch = locked()
    keys = [*WORD, *"abcdefghijklmnopqrstuvwxyz", "enter", "space", "escape", "ctrl+q"]
    assert all(press(watch, n * 0.05, rng.choice(keys)) is KeyVerdict.SWALLOW for n in range(100_000))
