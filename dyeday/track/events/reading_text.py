"""Readings in words, for the screen, the log and the page."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dyeday.terms import ReadingKind

READING_WORDS = {
    ReadingKind.PH: "pH", ReadingKind.BATH_C: "bath °C", ReadingKind.YARN_C: "yarn °C",
    ReadingKind.RINSE_C: "rinse water °C", ReadingKind.WEIGHT_G: "weight g", ReadingKind.SPUN_G: "spun weight g",
    ReadingKind.EYE: "bath looks", ReadingKind.JAR: "jar match", ReadingKind.ABSORBANCE: "absorbance",
    ReadingKind.CLOTH: "cloth", ReadingKind.SWATCH: "beside the kept sample",
}  # fmt: skip
READING_LABELS = {
    ReadingKind.PH: "pH", ReadingKind.YARN_C: "temperature of the yarn, °C",
    ReadingKind.BATH_C: "temperature of the bath, °C", ReadingKind.RINSE_C: "temperature of the rinse water, °C",
    ReadingKind.WEIGHT_G: "weight of the whole batch, g", ReadingKind.SPUN_G: "weight spun out, whole batch, g",
    ReadingKind.JAR: "jar match: dilution, then litres left: 16 2.5 means 1 in 16, 2.5 L left",
    ReadingKind.ABSORBANCE: "absorbance and litres at first, then absorbance and litres left, such as 0.9 3 0.1 2.5",
}  # fmt: skip
"""what is asked for, where its value is typed"""


def reading_text(name: ReadingKind, value: Any, where: str | None = None) -> str:
    """Return a reading as one would say it: "pH 4.6", "puddle clear", "jar match 1:12, 0.4 L left"."""
    if name is ReadingKind.JAR and isinstance(value, Mapping):
        first = f" of {value['first_l']:g} L" if value.get("first_l") else ""
        return f"jar match 1:{value['match']:g}, {value['left_l']:g} L left{first}"
    if name is ReadingKind.ABSORBANCE and isinstance(value, Mapping):
        return f"absorbance {value['first']:g} in {value['first_l']:g} L, {value['left']:g} in {value['left_l']:g} L"
    if name is ReadingKind.EYE:
        return f"{'bath' if where in (None, '', 'pot') else where} {value}"
    for unit in (" °C", " g"):
        if READING_WORDS[name].endswith(unit):
            return f"{READING_WORDS[name].removesuffix(unit)} {value:g}{unit}"
    return f"{READING_WORDS[name]} {value}"
