"""The labels of what leaves the studio."""

from __future__ import annotations

from collections.abc import Sequence

from dyeday.craft.yarn.fibres import felts
from dyeday.plan.model import Base, Colourway
from dyeday.quick_dataclass import dataclass
from dyeday.studio.parcels import Outgoing
from dyeday.track.day.day_state import Day

HAND_WASH = "hand wash cool, do not rub or wring, dry flat"
WOOL_WASH = "wool wash 30 °C, no tumble dryer, dry flat"
"""care words of a base without its own, by whether the yarn felts; common practice, no source"""


@dataclass(frozen=True, slots=True)
class Label:
    """What one label says; ``count`` of them are wanted. Length and weight are of one piece."""

    lot: str
    colourway: str
    base: str
    fibre: str
    length_m: float | None
    weight_g: float
    care: str
    note: str
    count: int
    swatches: tuple[tuple[str, float], ...]
    """(#rrggbb, %) of the sections of its last layer"""


def label_of(base: Base, colourway: Colourway, lot: str, note: str = "", count: int = 1) -> Label:
    """Return the label of pieces of a base. Fibres have the plan's names: local law may ask for others."""
    facts = (base.name, fibre_text(base), base.length_m, base.skein_g, care_words(base))
    return Label(lot, colourway.name, *facts, note, count, colourway.layers[-1].swatches)


def labels(outgoing: Outgoing, days: Sequence[tuple[str, Day]]) -> list[Label]:
    """Return the labels of all that is ready, parcel by parcel, then of what is in no parcel."""
    # Batches begun before the running plan renamed a colourway or base have the old name.
    dyed = [batch for _, day in days for batch in day.batches.values()]
    bases = {batch.base.name: batch.base for batch in dyed}
    bases |= {base.name: base for _, day in days for base in day.plan.bases}
    ways = {batch.colourway.name: batch.colourway for batch in dyed}
    ways |= {way.name: way for _, day in days for way in day.plan.colourways}
    noted = []
    for status in outgoing.orders:
        notes = (("sample", status.order.sample), ("alternate skeins", status.alternate))
        noted.append((", ".join(word for word, holds in notes if holds), status.pieces))
    noted += [("", outgoing.spares), ("second", outgoing.seconds), ("one-off", outgoing.one_offs)]
    ready = ((one, note) for note, pieces in noted for one in pieces)
    return [label_of(bases[one.base], ways[one.colourway], one.lot, note, one.skeins) for one, note in ready]


def fibre_text(base: Base) -> str:
    """Return "75 % superwash wool, 25 % nylon": heaviest first, as EU 1007/2011 art. 9 has it (from memory)."""
    heaviest_first = sorted(base.fibre, key=lambda pair: -pair[1])
    return ", ".join(f"{pct:g} % {name}" for name, pct in heaviest_first)


def care_words(base: Base) -> str:
    """Return how finished yarn is washed: in the base's own words, else by whether it felts."""
    return base.care or (HAND_WASH if felts(dict(base.fibre)) else WOOL_WASH)
