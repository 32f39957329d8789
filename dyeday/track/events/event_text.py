"""Events and states in words, for the screen, the log and the page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from dyeday.terms import DayAim, ReadingKind, State
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day, Event

READING_WORDS = {
    ReadingKind.PH: "pH", ReadingKind.BATH_C: "bath °C", ReadingKind.YARN_C: "yarn °C",
    ReadingKind.RINSE_C: "rinse water °C", ReadingKind.WEIGHT_G: "weight g", ReadingKind.SPUN_G: "spun weight g",
    ReadingKind.EYE: "bath looks", ReadingKind.JAR: "jar match", ReadingKind.ABSORBANCE: "absorbance",
    ReadingKind.CLOTH: "cloth", ReadingKind.SWATCH: "against the swatch",
}  # fmt: skip
READING_LABELS = {
    ReadingKind.PH: "pH", ReadingKind.YARN_C: "temperature of the yarn, °C",
    ReadingKind.BATH_C: "temperature of the bath, °C", ReadingKind.RINSE_C: "temperature of the rinse water, °C",
    ReadingKind.WEIGHT_G: "weight of the whole batch, g", ReadingKind.SPUN_G: "weight spun out, whole batch, g",
    ReadingKind.JAR: "jar match: dilution, then litres left: 16 2.5 means 1 in 16, 2.5 L left",
    ReadingKind.ABSORBANCE: "absorbance and litres at first, then absorbance and litres left, such as 0.9 3 0.1 2.5",
}  # fmt: skip
"""what is asked for, where its value is typed"""


STATE_WORDS = {State.SET_ASIDE: "set aside"}
"""the screen's words for states that are not those of the record"""


def state_word(batch: BatchRecord, state: State | None = None, layer: int | None = None) -> str:
    """Return the screen's word for a state: paint is paint, speckle or dye, as its layer is put on."""
    of = state or batch.state
    if of is State.PAINT:
        return batch.colourway.layer_of(layer or batch.layer).word
    own: str = of.value
    return STATE_WORDS.get(of, own)


def unit_words(unit: str | None, *, hangs: bool) -> str:
    """Return " in tray 1", or " on pegs 1" where it ``hangs`` to dry; "" without a unit."""
    return f" {'on' if hangs else 'in'} {unit}" if unit else ""


_DOING = {
    "waiting": "not started", "soak": "soaking", "paint": "painting", "speckle": "speckling", "dye": "dyeing",
    "fix": "fixing", "cool": "cooling", "rinse": "rinsing", "dry": "drying",
}  # fmt: skip


def whereabouts(batch: BatchRecord) -> str:
    """Return what a batch is doing and where: "soaking in tray 1", "drying on pegs 1"."""
    word = state_word(batch)
    return f"{_DOING.get(word, word)}{unit_words(batch.unit, hangs=batch.state is State.DRY)}"


def reading_text(name: ReadingKind, value: Any, where: str | None = None) -> str:
    """Return a reading as one would say it: "pH 4.6", "jar match 1:12, 0.4 L left"."""
    if name is ReadingKind.JAR and isinstance(value, Mapping):
        first = f" of {value['first_l']:g} L" if value.get("first_l") else ""
        return f"jar match 1:{value['match']:g}, {value['left_l']:g} L left{first}"
    if name is ReadingKind.ABSORBANCE and isinstance(value, Mapping):
        return f"absorbance {value['first']:g} in {value['first_l']:g} L, {value['left']:g} in {value['left_l']:g} L"
    place = f" in the {where}" if where else ""
    if name is ReadingKind.EYE:
        return f"bath {value}{place}"
    for unit in (" °C", " g"):
        if READING_WORDS[name].endswith(unit):
            return f"{READING_WORDS[name].removesuffix(unit)} {value:g}{unit}"
    return f"{READING_WORDS[name]} {value}"


def whose(event: Event) -> str:
    """Return the batches an event is about with a space after them, "01, 03 "; "" without any."""
    return f"{batches_text(event.batches)} " if event.batches else ""


def said(event: Event) -> str:
    """Return an event in words without the day, without its reason."""
    return event.body.words(event, None)


def event_text(event: Event, day: Day | None = None) -> str:
    """Return an event in words, without its batch and time; with ``day``, with that day's names."""
    why = f" ({event.body.why})" if event.body.why else ""
    return event.body.words(event, day) + why + (", time about" if event.is_approximate else "")


def new_batches(day: Day, before: Mapping[str, BatchRecord]) -> str:
    """Return "batch 06 Kelp Light" or such of the batches ``day`` has and ``before`` had not; parts are not new."""
    new = [batch for batch in day.unsplit if batch.no not in before and batch.parent is None]
    if not new:
        return ""
    names = ", ".join(f"{batch.no} {batch.colourway.name}" for batch in new)
    return f"batch{'es' if len(new) > 1 else ''} {names}, at the foot of the list"


def batches_text(numbers: Sequence[str]) -> str:
    """Return batches in one phrase, many that follow one another as a stretch: "01, 03a, 05 to 60"."""
    stretches: list[list[str]] = []
    for no in numbers:
        last = stretches[-1][-1] if stretches else ""
        if last.isdigit() and no.isdigit() and int(no) == int(last) + 1:
            stretches[-1].append(no)
        else:
            stretches.append([no])
    parts = [f"{s[0]} to {s[-1]}" if len(s) >= STRETCH else ", ".join(s) for s in stretches]
    return ", ".join(parts)


STRETCH = 6
"""from so many numbers in a row on, only the first and the last are named"""


AIM_WORDS = {
    DayAim.BY_STOP: "most rinsed by stop",
    DayAim.TONIGHT: "all rinsed tonight",
    DayAim.HEAT_BY_STOP: "most through their heat by stop",
}
"""the screen's words for the aim of a day"""
