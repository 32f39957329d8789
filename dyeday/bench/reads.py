"""Readings by few keys: which one, its value, what was understood and what it means, then stored."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from dyeday.bench.asks import CHOICE_KEYS, AskText, Choice, Choose
from dyeday.bench.keeper import Draft
from dyeday.track.keys import CLOTHS, EYES, GRADES, PLACES, SWATCHES
from dyeday.track.meaning import meaning
from dyeday.track.record import BatchRecord
from dyeday.track.told import READING_WORDS, reading_text
from dyeday.track.typed import typed_reading

if TYPE_CHECKING:
    from dyeday.bench.acts import Acts

READING_KEYS = {"e": "eye", "p": "ph", "y": "yarn_c", "b": "bath_c", "w": "rinse_c", "g": "weight_g", "c": "cloth"}
RARE_KEYS = {"s": "spun_g", "j": "jar", "a": "absorbance", "m": "swatch"}
"""readings a studio may never use: one key further away"""
READING_LABELS = {
    "ph": "pH", "yarn_c": "temperature of the yarn, °C", "bath_c": "temperature of the bath, °C",
    "rinse_c": "temperature of the rinse water, °C", "weight_g": "weight of the whole batch, g",
    "spun_g": "weight spun out, whole batch, g",
    "jar": "jar match: 1 in how many, litres left, litres at first if not the recipe's, such as 16 2.5",
    "absorbance": "absorbance at first, litres, absorbance left, litres, such as 0.9 3 0.1 2.5",
}  # fmt: skip
WORD_READINGS = {"eye": EYES, "cloth": (*CLOTHS, *reversed(GRADES)), "swatch": SWATCHES}


class Reads:
    """The questions of a reading, asked and recorded through `Acts`."""

    def __init__(self, acts: Acts) -> None:
        self.acts = acts
        self.keeper = acts.keeper

    def reading(self, batch: BatchRecord) -> None:
        """Ask which reading, then its value."""
        choices = [Choice(key, name, READING_WORDS[name]) for key, name in READING_KEYS.items()]
        choices.append(Choice("o", "", "others: spun weight, jar match, absorbance, swatch"))
        rare = [Choice(key, name, READING_WORDS[name]) for key, name in RARE_KEYS.items()]

        def read(name: str) -> None:
            if name:
                self._read(batch, name)
            else:
                self.acts.ask(Choose(f"Reading of {batch.no}", rare), lambda other: self._read(batch, other))

        self.acts.ask(Choose(f"Reading of {batch.no}", choices), read)

    def _read(self, batch: BatchRecord, name: str) -> None:
        if name in WORD_READINGS:
            words = [Choice(k, w, w) for k, w in zip(CHOICE_KEYS, WORD_READINGS[name], strict=False)]
            ask = Choose(f"{batch.no} {READING_WORDS[name]}", words)
            self.acts.ask(
                ask, lambda word: self._where(batch, word) if name == "eye" else self._store(batch, name, word)
            )
            return

        def understood(text: str) -> str:
            value = typed_reading(name, text)
            return reading_text(name, value) + self.meaning(batch, name, value)

        def store(text: str) -> None:
            self._store(batch, name, typed_reading(name, text))

        label = f"{batch.no} {READING_LABELS[name]}"
        self.acts.ask(AskText(label, understand=understood, drafts=self.keeper.drafts), store)

    def _where(self, batch: BatchRecord, word: str) -> None:
        places = [Choice(str(n), place, place) for n, place in enumerate(PLACES, 1)]
        ask = Choose(f"{batch.no} bath {word}, seen in the", places, return_takes=True)
        self.acts.ask(ask, lambda place: self._store(batch, "eye", word, place))

    def _store(self, batch: BatchRecord, name: str, value: Any, where: str | None = None) -> None:
        data = {"reading": name, "value": value, **({"where": where} if where else {})}
        self.acts.record(Draft("reading", batch.no, data), then=self.meaning(batch, name, value))

    def meaning(self, batch: BatchRecord, name: str, value: Any) -> str:
        """Return what a reading of now means, see `dyeday.track.meaning`."""
        return meaning(self.keeper.day, batch, name, value, self.keeper.now())
