"""Readings by few keys: which one, its value, what was understood and what it means, then stored."""

from __future__ import annotations

from typing import Any

from dyeday.bench.actions.recorder import Actions, of_chosen
from dyeday.bench.live_session import EventDraft
from dyeday.bench.prompts.offers import look_places
from dyeday.bench.prompts.prompts import CHOICE_KEYS, AskText, Choose, KeyChoice
from dyeday.terms import ReadingKind
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.events.event_text import READING_WORDS, reading_text
from dyeday.track.events.measured import CLOTHS, GRADES, WORDS_OF, Measured
from dyeday.track.reading_meaning import meaning
from dyeday.track.typed_entries import typed_reading

READING_KEYS = {
    "e": ReadingKind.EYE, "p": ReadingKind.PH, "y": ReadingKind.YARN_C, "b": ReadingKind.BATH_C,
    "w": ReadingKind.RINSE_C, "g": ReadingKind.WEIGHT_G, "c": ReadingKind.CLOTH,
}  # fmt: skip
RARE_KEYS = {
    "s": ReadingKind.SPUN_G, "j": ReadingKind.JAR, "a": ReadingKind.ABSORBANCE, "m": ReadingKind.SWATCH,
}  # fmt: skip
"""readings a studio may never use: one key further away"""
READING_LABELS = {
    ReadingKind.PH: "pH", ReadingKind.YARN_C: "temperature of the yarn, °C",
    ReadingKind.BATH_C: "temperature of the bath, °C", ReadingKind.RINSE_C: "temperature of the rinse water, °C",
    ReadingKind.WEIGHT_G: "weight of the whole batch, g", ReadingKind.SPUN_G: "weight spun out, whole batch, g",
    ReadingKind.JAR: "jar match: dilution, then litres left: 16 2.5 means 1 in 16, 2.5 L left",
    ReadingKind.ABSORBANCE: "absorbance and litres at first, then absorbance and litres left, such as 0.9 3 0.1 2.5",
}  # fmt: skip
WORD_READINGS = WORDS_OF | {ReadingKind.CLOTH: (*CLOTHS, *reversed(GRADES))}


class ReadingActions(Actions):
    """The questions of a reading, asked and recorded through `Recorder`."""

    @of_chosen
    def reading(self, batch: BatchRecord) -> None:
        """Ask which reading, then its value."""
        choices = [KeyChoice(key, name.value, READING_WORDS[name]) for key, name in READING_KEYS.items()]
        choices.append(KeyChoice("o", "", "others: spun weight, jar match, absorbance, swatch"))
        rare = [KeyChoice(key, name.value, READING_WORDS[name]) for key, name in RARE_KEYS.items()]

        def read(name: str) -> None:
            if name:
                self._read(batch, ReadingKind(name))
            else:
                self.acts.ask(
                    Choose(f"Reading of {batch.no}", rare), lambda other: self._read(batch, ReadingKind(other))
                )

        self.acts.ask(Choose(f"Reading of {batch.no}", choices), read)

    def _read(self, batch: BatchRecord, name: ReadingKind) -> None:
        if name in WORD_READINGS:
            words = [KeyChoice(k, w, w) for k, w in zip(CHOICE_KEYS, WORD_READINGS[name], strict=False)]
            ask = Choose(f"{batch.no} {READING_WORDS[name]}", words)
            self.acts.ask(
                ask,
                lambda word: self._where(batch, word) if name is ReadingKind.EYE else self._store(batch, name, word),
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
        places = [KeyChoice(str(n), place, place) for n, place in enumerate(look_places(batch), 1)]
        ask = Choose(f"{batch.no} bath {word}, seen in the", places, return_takes=True)
        self.acts.ask(ask, lambda place: self._store(batch, ReadingKind.EYE, word, place))

    def _store(self, batch: BatchRecord, name: ReadingKind, value: Any, where: str | None = None) -> None:
        look = Measured(reading=name, value=value, where=where)
        self.acts.record(EventDraft(look, batch.no), then=self.meaning(batch, name, value))

    def meaning(self, batch: BatchRecord, name: ReadingKind, value: Any) -> str:
        """Return what a reading of now means, see `dyeday.track.reading_meaning`."""
        return meaning(self.keeper.day, batch, name, value, self.keeper.now())
