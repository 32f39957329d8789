"""Readings by few keys: which one, its value, what was understood and what it means, then stored."""

from __future__ import annotations

from typing import Any

from dyeday.bench.actions.recorder import Actions, of_chosen
from dyeday.bench.input.key_forwarding import ask
from dyeday.bench.live_session import EventDraft
from dyeday.bench.prompts.offers import look_places
from dyeday.bench.prompts.prompts import Choose, KeyChoice, ask_value, numbered, pick
from dyeday.craft.dye.colour_difference import GRADES
from dyeday.terms import ReadingKind
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.events.event_text import READING_WORDS, reading_text
from dyeday.track.events.measured import WORDS_OF, Measured
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


def _shown(word: str) -> str:
    """Return a word to choose; the grades are numbers, as are the keys they are chosen by."""
    return f"grade {word}" if word in GRADES else word


class ReadingActions(Actions):
    """The questions of a reading, asked and recorded through `Recorder`."""

    @of_chosen
    async def reading(self, batch: BatchRecord) -> None:
        """Ask which reading, then its value."""
        choices, rare = (
            [KeyChoice(key, name.value, READING_WORDS[name]) for key, name in keys.items()]
            for keys in (READING_KEYS, RARE_KEYS)
        )
        choices.append(KeyChoice("o", "", "others: spun weight, jar match, absorbance, swatch"))
        label = f"Reading of {batch.no}"
        word = await ask(Choose(label, choices)) or await ask(Choose(label, rare))
        name = ReadingKind(word)
        value: Any
        where = None
        if name in WORDS_OF:
            value = await pick(f"{batch.no} {READING_WORDS[name]}", WORDS_OF[name], _shown)
            if name is ReadingKind.EYE:
                places = numbered(look_places(batch))
                where = await ask(Choose(f"{batch.no} bath {value}, seen in the", places, enter_accepts=True))
        else:
            value = await ask_value(
                f"{batch.no} {READING_LABELS[name]}",
                lambda text: typed_reading(name, text),
                lambda value: reading_text(name, value) + self.meaning(batch, name, value),
                drafts=self.keeper.drafts,
            )
        look = Measured(reading=name, value=value, where=where)
        self.acts.record(EventDraft(look, batch.no), then=self.meaning(batch, name, value))

    def meaning(self, batch: BatchRecord, name: ReadingKind, value: Any) -> str:
        """Return what a reading of now means, see `dyeday.track.reading_meaning`."""
        return meaning(self.keeper.day, batch, name, value, self.keeper.now())
