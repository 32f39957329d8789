"""Readings by few keys: which one, its value, what was understood and what it means, then stored."""

from __future__ import annotations

from typing import Any

from dyeday.bench.actions import Actions, of_chosen
from dyeday.bench.live_session import EventDraft
from dyeday.bench.plain_app import ask
from dyeday.bench.prompts.offers import LOOK_KEYS, look_places
from dyeday.bench.prompts.prompts import Choose, KeyChoice, ask_value, numbered, pick
from dyeday.craft.dye.colour_difference import GRADES
from dyeday.terms import DyeMethod, ReadingKind
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.events.measured import WORDS_OF, Measured
from dyeday.track.events.reading_text import READING_LABELS, READING_WORDS, reading_text
from dyeday.track.reading_meaning import meaning
from dyeday.track.typed_entries import typed_reading

READING_KEYS = {
    "e": ReadingKind.EYE, "p": ReadingKind.PH, "y": ReadingKind.YARN_C, "b": ReadingKind.BATH_C,
    "w": ReadingKind.RINSE_C, "g": ReadingKind.WEIGHT_G, "c": ReadingKind.CLOTH,
}  # fmt: skip
RARE_KEYS = {
    "s": ReadingKind.SPUN_G, "j": ReadingKind.JAR, "a": ReadingKind.ABSORBANCE, "m": ReadingKind.SWATCH,
}  # fmt: skip
"""rare readings, each behind one more key"""
CLOTH_KEYS = {
    "c": "clean", "f": "faint", "m": "marked",
    "5": "5", "r": "4-5", "4": "4", "e": "3-4", "3": "3", "w": "2-3", "2": "2", "q": "1-2", "1": "1",
}  # fmt: skip
"""a digit is its grade; a grade between two has the letter between their digits on the keyboard"""


class ReadingActions(Actions):
    """The questions of a reading."""

    @of_chosen
    async def reading(self, batch: BatchRecord) -> None:
        """Ask which reading, then its value."""
        # These two need the litres of a bath, which only a pot has.
        left_out = () if batch.current_layer.how is DyeMethod.IMMERSED else (ReadingKind.JAR, ReadingKind.ABSORBANCE)
        choices, rare = (
            [KeyChoice(key, name.value, READING_WORDS[name]) for key, name in keys.items() if name not in left_out]
            for keys in (READING_KEYS, RARE_KEYS)
        )
        choices.append(KeyChoice("o", "", f"others: {', '.join(choice.words for choice in rare)}"))
        label = f"Reading of {batch.no}"
        word = await ask(Choose(label, choices)) or await ask(Choose(label, rare))
        await self.read(batch, ReadingKind(word))

    async def read(self, batch: BatchRecord, name: ReadingKind) -> None:
        """Ask for one reading of a batch."""
        value: Any
        where = None
        if name is ReadingKind.EYE:
            value, where = await self._look(batch)
        elif name is ReadingKind.CLOTH:
            grades = [
                KeyChoice(key, word, f"grade {word}" if word in GRADES else word) for key, word in CLOTH_KEYS.items()
            ]
            value = await ask(Choose(f"{batch.no} {READING_WORDS[name]}", grades))
        elif name in WORDS_OF:
            value = await pick(f"{batch.no} {READING_WORDS[name]}", WORDS_OF[name])
        else:
            value = await ask_value(
                f"{batch.no} {READING_LABELS[name]}",
                lambda text: typed_reading(name, text),
                lambda value: reading_text(name, value) + self.meaning(batch, name, value),
                half_typed=self.live.half_typed,
            )
        look = Measured(reading=name, value=value, where=where)
        self.screen.record(EventDraft(look, batch.no), then=self.meaning(batch, name, value))

    async def _look(self, batch: BatchRecord) -> tuple[str, str]:
        """Ask how a bath looks, and where only if that was not the usual place."""
        where, *others = look_places(batch)
        looks = [KeyChoice(key, look, look) for key, look in LOOK_KEYS.items()]
        elsewhere = KeyChoice("w", "", "looked elsewhere")
        label = f"{batch.no}: how does the {{}} look in a white spoon (tinted: faintly coloured)"
        look = await ask(Choose(label.format(where), [*looks, elsewhere]))
        if not look:
            where = await ask(Choose(f"{batch.no}: where did you look", numbered(others)))
            look = await ask(Choose(label.format(where), looks))
        return look, where

    def meaning(self, batch: BatchRecord, name: ReadingKind, value: Any) -> str:
        """Return what a reading means as it is taken, see `dyeday.track.reading_meaning`."""
        day, batch = self.live.at_entry(batch)
        return meaning(day, batch, name, value, self.live.entry_at())
