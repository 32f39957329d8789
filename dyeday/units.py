"""What a person types becomes a float in a named unit, and back; the one door to pint.

pint is imported when the first unit is met: a plan of plain numbers does without it.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import field
from functools import lru_cache
from math import isfinite
from typing import Any

from dyeday.craft.dye.measuring import figure, to_step
from dyeday.craft.water.alkalinity import MG_L_CACO3_PER, US_GALLON_L
from dyeday.quick_dataclass import dataclass
from dyeday.terms import UnitSystem
from dyeday.text import HintedError, brief

LONGEST_TEXT = 60
_NUMBER = re.compile(r"^\s*([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d{1,2})?)\s*(.*?)\s*$", re.DOTALL)
_THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}")
"""thousands to one reader, a decimal to another"""
_HOURS_AND_MINUTES = re.compile(r"\s*(\d{1,3})\s*h(?:r|rs|our|ours)?\s*(\d{1,2})\s*(?:m|min|mins|minutes)?\s*", re.I)
_UNIT = re.compile(r"^[A-Za-z°µμº%/ .0-9₃²³·-]{1,30}$")


class QuantityError(HintedError):
    """A typed quantity that cannot be read."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity: its name for people, the unit the float is in, an example, spellings of its units."""

    name: str
    unit: str
    example: str
    aliases: dict[str, str] = field(default_factory=dict)
    """casefolded spelling → pint unit, for those that pint misreads or does not know"""


_VOLUMES = {"fl oz": "fluid_ounce", "oz": "fluid_ounce", "cc": "millilitre", "imp gal": "imperial_gallon"}
_TIMES = {"m": "minute"}
_TEMPERATURES = {
    "c": "degC", "°c": "degC", "ºc": "degC", "degc": "degC", "celsius": "degC",
    "f": "degF", "°f": "degF", "ºf": "degF", "degf": "degF", "fahrenheit": "degF",
}  # fmt: skip
_DIFFERENCES = {
    "c": "delta_degC", "°c": "delta_degC", "ºc": "delta_degC", "degc": "delta_degC", "k": "delta_degC",
    "f": "delta_degF", "°f": "delta_degF", "ºf": "delta_degF", "degf": "delta_degF",
}  # fmt: skip
_WATERS = {
    "mg/l": "mg_per_l_caco3", "ppm": "mg_per_l_caco3", "mg/l caco3": "mg_per_l_caco3",
    "ppm caco3": "mg_per_l_caco3", "mg/l as caco3": "mg_per_l_caco3", "ppm as caco3": "mg_per_l_caco3",
    **dict.fromkeys(("dh", "dkh", "kh", "dgh", "gh", "°dh", "°dkh", "°kh", "°dgh", "°gh", "°d"), "german_degree"),
    "fh": "french_degree", "°fh": "french_degree", "°f": "french_degree",
    "f": "french_degree", "e": "english_degree", "°e": "english_degree", "clark": "english_degree",
    "°clark": "english_degree", "gpg": "grain_per_us_gallon", "grains/gal": "grain_per_us_gallon",
    "mmol/l": "mmol_per_l_caco3", "meq/l": "meq_per_l_caco3", "mval/l": "meq_per_l_caco3",
}  # fmt: skip
_STRENGTHS = {"% w/v": "percent", "w/v %": "percent", "g/100ml": "percent", "g/100 ml": "percent",
              "g/l": "gram_per_litre_wv"}  # fmt: skip

VOLUME_L = Kind("a volume", "litre", "4 L", _VOLUMES)
VOLUME_ML = Kind("a volume", "millilitre", "60 mL", _VOLUMES)
MASS_G = Kind("a weight", "gram", "100 g", {"gm": "gram"})
LENGTH_M = Kind("a length", "metre", "400 m")
LENGTH_MM = Kind("a length", "millimetre", "170 mm")
TIME_MIN = Kind("a time", "minute", "20 min", _TIMES)
TIME_H = Kind("a time", "hour", "24 h", _TIMES)
TEMPERATURE_C = Kind("a temperature", "degC", "15 °C", _TEMPERATURES)
DIFFERENCE_C = Kind("a temperature difference", "delta_degC", "10 °C", _DIFFERENCES)
ALKALINITY_MG_L = Kind("alkalinity", "mg_per_l_caco3", "180 mg/L or 10 dKH", _WATERS | {"mmol/l": "meq_per_l_caco3"})
"""mmol/L of it is of the acid that it takes up (ISO 9963-1), half the CaCO3 of mmol/L of hardness"""
WATER_MG_L = Kind("a value of alkalinity or hardness", "mg_per_l_caco3", "180 mg/L or 10 dH", _WATERS)
BICARBONATE_MG_L = Kind("bicarbonate", "mg_per_l_caco3", "220 mg/L", {"mg/l": "mg_per_l_caco3",
                        "mg/l hco3": "mg_per_l_caco3", "ppm": "mg_per_l_caco3"})  # fmt: skip
POWER_W = Kind("a power", "watt", "1500 W", {"w": "watt", "kw": "kilowatt"})
VOLTS = Kind("a voltage", "volt", "230 V", {"v": "volt"})
AMPS = Kind("a current", "ampere", "16 A", {"a": "ampere", "amps": "ampere"})
PERCENT = Kind("a percentage", "percent", "50 %")
STRENGTH_PCT = Kind("a strength", "percent", "5 %", _STRENGTHS)

_DEFINITIONS = (
    "mg_per_l_caco3 = [carbonate_hardness]",
    f"german_degree = {MG_L_CACO3_PER['°dH']!r} * mg_per_l_caco3",
    f"french_degree = {MG_L_CACO3_PER['°fH']!r} * mg_per_l_caco3",
    f"english_degree = {MG_L_CACO3_PER['°e']!r} * mg_per_l_caco3",
    f"grain_per_us_gallon = {MG_L_CACO3_PER['gpg']!r} * mg_per_l_caco3",
    f"mmol_per_l_caco3 = {MG_L_CACO3_PER['mmol/L']!r} * mg_per_l_caco3",
    f"meq_per_l_caco3 = {MG_L_CACO3_PER['meq/L']!r} * mg_per_l_caco3",
    "gram_per_litre_wv = 0.1 * percent",
)


@lru_cache(maxsize=1)
def registry() -> Any:
    """Return the one pint registry; the first call builds it, in about a quarter of a second."""
    import pint

    try:
        made: Any = pint.UnitRegistry(cache_folder=":auto:", autoconvert_offset_to_baseunit=False)
    except Exception:  # a cache folder that cannot be written or read must not stop the program
        made = pint.UnitRegistry()
    for line in _DEFINITIONS:
        made.define(line)
    return made


def number(text: str) -> float:
    """Return the number that ``text`` is. Raises QuantityError for none, and for "1,500", which has two meanings."""
    match = _NUMBER.match(text) if len(text) <= LONGEST_TEXT else None
    if match is None or match[2]:
        raise QuantityError(f"{brief(text)} is not a number", "write digits only, such as 4.5")
    return _figure(match[1], text)


def _figure(digits: str, whole: str) -> float:
    if _THOUSANDS.fullmatch(digits):
        right = f"write {digits.replace(',', '')}, or {digits.replace(',', '.')}"
        raise QuantityError(f"{brief(whole)} may be thousands or a decimal", right)
    return float(digits.replace(",", "."))


def read(value: object, kind: Kind, *, low: float | None = None, high: float | None = None) -> float:
    """Return a typed quantity as a float in ``kind``'s unit, between ``low`` and ``high``, both allowed.

    ``value`` is text such as "1.5 gal", "0,5 L", "16 dH", "1 h 30", or a number in that unit, as is text without one.
    Raises QuantityError.
    """
    right = _right(kind)
    if isinstance(value, bool) or not isinstance(value, (int, float, str)):
        raise QuantityError(f"{brief(value)} is not {kind.name}", right)
    if isinstance(value, str):
        if kind in (TIME_MIN, TIME_H) and (both := _HOURS_AND_MINUTES.fullmatch(value)):
            value = f"{60 * int(both[1]) + int(both[2])} min"
        match = _NUMBER.match(value) if len(value) <= LONGEST_TEXT else None
        if match is None:
            raise QuantityError(f"{brief(value)} is not {kind.name}", right)
        amount = _figure(match[1], value)
        if match[2]:
            amount = _convert(amount, match[2], kind, value)
    else:
        try:
            amount = float(value)
        except OverflowError:
            raise QuantityError(f"{brief(value)} is too much", right) from None
    if not isfinite(amount):
        raise QuantityError(f"{brief(value)} is not a number", right)
    if low is not None and amount < low:
        raise QuantityError(f"{brief(value)} is too little", f"write {_bounds(kind, low, high)}")
    if high is not None and amount > high:
        raise QuantityError(f"{brief(value)} is too much", f"write {_bounds(kind, low, high)}")
    return amount


def _right(kind: Kind) -> str:
    return "write it as " + " or ".join(map(repr, kind.example.split(" or ")))


_SHOWN = {"litre": "L", "millilitre": "mL", "gram": "g", "metre": "m", "millimetre": "mm", "minute": "min",
          "hour": "h", "degC": "°C", "delta_degC": "°C", "mg_per_l_caco3": "mg/L", "watt": "W", "volt": "V",
          "ampere": "A", "percent": "%"}  # fmt: skip


def _bounds(kind: Kind, low: float | None, high: float | None) -> str:
    shown = _SHOWN.get(kind.unit, kind.unit)
    if low is not None and high is not None:
        return f"{low:.10g} to {high:.10g} {shown}"
    return f"{low:.10g} {shown} or more" if low is not None else f"{high:.10g} {shown} or less"


def _convert(amount: float, spelt: str, kind: Kind, whole: str) -> float:
    ureg = registry()
    target = ureg.Unit(kind.unit)
    found = [unit for text in (spelt.casefold(), spelt) if (unit := _unit(text, kind)) is not None]
    for unit in found:  # "500 ML" are millilitres, "500 mA" milliamperes
        if unit.dimensionality == target.dimensionality:
            return float(ureg.Quantity(amount, unit).to(target).magnitude)
    if not found:
        raise QuantityError(f"{brief(whole)} has no unit that can be read", _right(kind))
    raise QuantityError(
        f"{brief(whole)} is {_kind_word(found[-1], spelt)}, and {kind.name} belongs here", _right(kind)
    )


def _unit(spelt: str, kind: Kind) -> Any:
    """Return the unit of a spelling; None where pint knows none."""
    ureg = registry()
    if (name := kind.aliases.get(spelt)) is not None:
        return ureg.Unit(name)
    if not _UNIT.match(spelt) or "w/w" in spelt.casefold():  # pint would cancel it, and w/v is another thing
        return None
    try:
        return ureg.parse_units(spelt.replace("°", "deg"))
    except Exception:  # pint's parser lets assertions and errors of the tokenizer through, beside its own
        return None


def _kind_word(unit: Any, spelt: str) -> str:
    ureg = registry()
    for kind in (MASS_G, VOLUME_L, LENGTH_M, TIME_MIN, TEMPERATURE_C, POWER_W, VOLTS, AMPS, WATER_MG_L):
        if unit.dimensionality == ureg.Unit(kind.unit).dimensionality:
            return kind.name
    return f"in {spelt!r}"


US_TEASPOON_ML, US_TABLESPOON_ML, US_CUP_ML = (US_GALLON_L * 1000 / n for n in (768, 256, 16))
"""By their definitions, NIST Handbook 44, appendix C."""
OUNCE_G = 28.349523125
"""exact by definition"""
M_PER_YARD = 0.9144
"""international yard, exact by definition"""


def show_volume(volume_ml: float, system: UnitSystem = UnitSystem.METRIC, jug_ml: float = 5.0) -> str:
    """Return mL to the jug's step, L from 2 L on; or US teaspoons to gallons, within 1/16 from half a cup on."""
    if system is UnitSystem.US:
        return _us_volume(volume_ml)
    rounded = to_step(volume_ml, jug_ml) if jug_ml > 0 else volume_ml
    if rounded >= 2000:
        return f"{rounded / 1000:.3g} L" if rounded < 999_500 else f"{rounded / 1000:.0f} L"
    if rounded == 0 and volume_ml > 0:
        return f"{figure(volume_ml, 2)} mL"
    return f"{rounded:g} mL"


def us_measured_ml(volume_ml: float, rounded: Callable[[float], int]) -> float:
    """Return mL ``rounded`` to the US measure a volume is shown to, a quarter teaspoon to a quarter gallon.

    Less than a quarter teaspoon stays as it is.
    """
    steps_ml = {
        US_TABLESPOON_ML: US_TEASPOON_ML / 4,
        US_CUP_ML / 2: US_TABLESPOON_ML / 4,
        4 * US_CUP_ML: US_TABLESPOON_ML,
        16 * US_CUP_ML: US_CUP_ML / 4,
        64 * US_CUP_ML: US_CUP_ML,
    }
    step_ml = next((step for below_ml, step in steps_ml.items() if volume_ml < below_ml), 4 * US_CUP_ML)
    return rounded(volume_ml / step_ml) * step_ml if volume_ml >= step_ml else volume_ml


def _us_volume(volume_ml: float) -> str:
    if 0 < volume_ml < US_TEASPOON_ML / 4:
        return f"{volume_ml:.2g} mL"
    if volume_ml < US_TABLESPOON_ML:
        return f"{_quarters(round(4 * volume_ml / US_TEASPOON_ML))} tsp"
    if volume_ml < US_CUP_ML / 2:
        return f"{_quarters(round(4 * volume_ml / US_TABLESPOON_ML))} tbsp"
    tablespoons, cups = round(volume_ml / US_TABLESPOON_ML), round(volume_ml / US_CUP_ML)
    if tablespoons < 64:
        quarters, more = divmod(tablespoons, 4)
        return _us_pair(quarters, "cup" if quarters <= 4 else "cups", more, "tbsp")
    if cups < 16:
        return f"{_quarters(round(4 * volume_ml / US_CUP_ML))} cups"
    if cups < 64:
        quarters, more = divmod(cups, 4)
        return _us_pair(quarters, "gal", more, "cup" if more == 1 else "cups")
    return f"{_quarters(round(4 * volume_ml / 1000 / US_GALLON_L))} gal"


def _us_pair(quarters: int, large: str, more: int, small: str) -> str:
    return f"{_quarters(quarters)} {large}" + (f" + {more} {small}" if more else "")


def show_mass(mass_g: float, system: UnitSystem = UnitSystem.METRIC, scale_g: float = 0.1) -> str:
    """Return g rounded to the scale's resolution; for US, from 30 g on, ounces."""
    if system is UnitSystem.US and mass_g >= 30:
        return f"{mass_g / OUNCE_G:.2g} oz" if mass_g < 280 else f"{mass_g / OUNCE_G:.1f} oz"
    rounded = to_step(mass_g, scale_g) if scale_g > 0 else mass_g
    if rounded == 0 and mass_g > 0:
        return f"{figure(mass_g, 2)} g"
    return f"{round(rounded, 4):.10g} g"


def _quarters(count: int) -> str:
    whole, part = divmod(count, 4)
    fraction = ("", "¼", "½", "¾")[part]
    return f"{whole}{fraction}" if whole else (fraction or "0")
