"""When the bell rings: once for each thing that came, never again for what only came back."""

from __future__ import annotations

import pytest

from dyeday.bench.looks.sounds import Sounds
from dyeday.files.places import Occasion, SoundPrograms
from dyeday.track.timestamp import Moment
from tests.fakes import Ring
from tests.track.days import Line, at, day_of, heated, now, soaked

# Forty minutes of steam from 10:40 on are over at 11:20; five minutes later that is an alarm.
START = {**heated()[1], "id": "start"}
STEAM = [*soaked(), heated()[0], START]
OFF = {**at("11:26", "01", heat_no=1, run="end"), "id": "off"}
ACKNOWLEDGED = {**at("11:26", alarm="heat-01-1.1-103000", is_="acknowledged"), "id": "seen"}
SNOOZED = {**at("11:26", alarm="heat-01-1.1-103000", is_="shelved", minutes=5), "id": "put by"}


class Heard:
    """The bell of a bench that has been open since 11:24."""

    def __init__(self) -> None:
        self.ring = Ring()
        self.rests: list[float] = []
        later = lambda seconds, _ring: self.rests.append(seconds)  # noqa: E731 - one line
        self.sounds = Sounds(self.ring, SoundPrograms(), day_of(STEAM), now("11:24"), later)

    def after(self, lines: list[Line], moment: Moment) -> int:
        self.sounds.listen(day_of(lines), moment)
        return self.ring.times


@pytest.mark.parametrize(
    ("first", "about"),
    [([], "start"), ([OFF], "off"), ([ACKNOWLEDGED], "seen"), ([SNOOZED], "put by")],
    ids=["its start", "its end", "its acknowledgement", "its shelving"],
)
def test_an_alarm_does_not_sound_again_at_each_undo_and_redo(first: list[Line], about: str) -> None:
    """Ten times in forty seconds, the entry that makes the alarm or ends it; every toggle is on record."""
    heard = Heard()
    assert heard.after(STEAM, now("11:25:30")) == 1
    lines = [*STEAM, *first]
    heard.after(lines, now("11:26:10"))
    for n in range(10):
        kind = "unstruck" if n % 2 else "struck"
        lines = [*lines, at(f"11:26:{12 + 4 * n}", strikes=about, event=kind)]
        assert heard.after(lines, now(f"11:26:{13 + 4 * n}")) == 1
    assert len(day_of(lines).events) == len(lines)


def test_what_sounds_again_is_an_alarm_whose_minutes_are_over() -> None:
    """Every five minutes, also where an entry was undone meanwhile; after a snooze at once."""
    heard = Heard()
    heard.after(STEAM, now("11:25:30"))
    toggled = [*STEAM, OFF, at("11:27", strikes="off", event="struck")]
    assert [heard.after(toggled, now(time)) for time in ("11:27:01", "11:29:59", "11:30", "11:35")] == [1, 1, 2, 3]
    shelved = [*toggled, at("11:36", alarm="heat-01-1.1-103000", is_="shelved", minutes=5)]
    assert [heard.after(shelved, now(time)) for time in ("11:36:01", "11:40:59", "11:41", "11:46")] == [3, 3, 4, 5]


def test_two_batches_of_one_heat_sound_once() -> None:
    """One steamer forgotten, one sound every five minutes, though the second batch's minute came later."""
    heard = Heard()
    lines = [*STEAM, *soaked("05"), *heated("05", "10:30:40")[:2]]
    times = [heard.after(lines, now(time)) for time in ("11:25:01", "11:25:41", "11:29:59", "11:30", "11:30:41")]
    assert times == [1, 1, 1, 2, 2]


@pytest.mark.parametrize(("occasion", "rings"), [(Occasion.PROMPT, 1), (Occasion.ALARM, 2), (Occasion.TANK, 3)])
def test_a_prompt_an_alarm_and_a_tank_that_runs_dry_are_told_apart_by_ear(occasion: Occasion, rings: int) -> None:
    """One, two and three rings, far enough apart for a terminal to sound each (common practice, no source)."""
    heard = Heard()
    heard.sounds.sound(now("11:25"), occasion)
    assert heard.ring.times == 1
    assert heard.rests == pytest.approx([0.4 * n for n in range(1, rings)])


def test_an_alarm_of_heat_rings_twice() -> None:
    """By what stands, not only by its name."""
    heard = Heard()
    heard.after(STEAM, now("11:25:30"))
    assert len(heard.rests) == 1


def test_muted_nothing_sounds_and_what_still_stands_sounds_afterwards() -> None:
    """Five minutes of silence from 11:24 on; half an hour is the most, and none ends it at once."""
    heard = Heard()
    heard.sounds.mute(now("11:24"), 5)
    assert [heard.after(STEAM, now(time)) for time in ("11:25:30", "11:28:59", "11:29:03")] == [0, 0, 1]
    heard.sounds.mute(now("11:30"), 500)
    assert heard.sounds.muted_until(now("11:30")) == now("12:00")
    assert heard.after(STEAM, now("11:45")) == 1
    heard.sounds.mute(now("11:45"), 0)
    assert heard.after(STEAM, now("11:45:30")) == 2


def test_each_occasion_falls_back_to_the_program_of_the_one_below_it() -> None:
    """A tank sounds as an alarm does, an alarm as a prompt, until they have programs of their own."""
    assert SoundPrograms(("ding",)).of(Occasion.TANK) == ("ding",)
    assert SoundPrograms(("ding",), ("horn",)).of(Occasion.TANK) == ("horn",)
    assert SoundPrograms(("ding",), ("horn",), ("siren",)).of(Occasion.TANK) == ("siren",)
