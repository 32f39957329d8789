"""Lots as a list for the terminal, and as rows for a spreadsheet."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from dyeday.craft.dye.measuring import figure
from dyeday.paper.layout.sheet_text import WIDTH
from dyeday.studio.lots.lot import Lot, LotFactKind
from dyeday.studio.lots.lot_view import LotRow
from dyeday.text import clip, pad
from dyeday.track.timestamp import iso

NUMBER_CELLS = 13
MARK_WORDS = {"in-doubt": "to check", "back-to-fix": "back to fix"}
"""what a list says for the stored marks"""
COLUMNS = (
    "number", "date", "session", "colourway", "base", "pieces", "wof_g", "outcome", "orders", "dyes", "acid_ml",
    "acid_g", "alkalinity_mg_l", "exhausted_pct", "flags_open", "flags_resolved", "back_to_fix", "look", "mill_lot",
    "powder_lots", "photos", "notes", "done_at", "withdrawn",
)  # fmt: skip


def list_lines(rows: Sequence[LotRow]) -> Iterator[str]:
    """Yield a line for each lot, at most `WIDTH` cells wide: number, pieces, colourway and base, marks."""
    for row in rows:
        head = f"{pad(row.number, NUMBER_CELLS)} {row.skeins:3d}  "
        mark = f"  {', '.join(MARK_WORDS.get(mark, mark) for mark in row.mark.split())}" if row.mark else ""
        yield head + clip(f"{row.colourway} on {row.base}", WIDTH - len(head) - len(mark)) + mark


def csv_rows(lots: Iterable[Lot]) -> Iterator[Sequence[object]]:
    """Yield the head row and a row for each lot; several things in a cell are separated by "; "."""
    yield COLUMNS
    for lot in lots:
        acids = lot.acids_put_in
        readings = (reading for batch in lot.batches for reading in batch.readings)
        looks = [reading.exhausted_pct for reading in readings if reading.exhausted_pct]
        flags = [flag for batch in lot.batches for flag in batch.flags]
        notes = [note.text for batch in lot.batches for note in batch.notes]
        powder = [f"{dye}: {text}" if dye else text for dye, text in lot.powder_lots.items()]
        yield (
            lot.number,
            lot.date.isoformat(),
            _joined(batch.session for batch in lot.batches),
            lot.colourway.name,
            lot.base.name,
            lot.skeins,
            lot.wof_g,
            _joined([outcome.value for outcome in lot.outcomes]),
            _joined(f"{item} ({count})" for item, count in lot.shares),
            _joined(_dyes(lot)),
            sum(acid.acid_ml for acid in acids),
            sum(acid.acid_g for acid in acids),
            lot.water.alkalinity_mg_l,
            _joined(f"{low:.0f}-{high:.0f}" if low != high else f"{low:.1f}" for low, high in looks),
            _joined(flag.rule for flag in flags if flag.cleared_at is None),
            _joined(f"{flag.rule}: {flag.cleared_why}" for flag in flags if flag.cleared_at is not None),
            _joined(batch.no for batch in lot.batches if batch.went_back),
            _joined(lot.beside_sample),
            lot.mill_lot,
            _joined(powder),
            _joined(fact.text for fact in lot.facts_of(LotFactKind.PHOTO)),
            _joined([*notes, *(fact.text for fact in lot.facts_of(LotFactKind.NOTE))]),
            iso(max(batch.done_at for batch in lot.batches)),
            lot.withdrawn,
        )


def _joined(texts: Iterable[str]) -> str:
    return "; ".join(dict.fromkeys(texts))


def _dyes(lot: Lot) -> Iterator[str]:
    """Yield each dye with its g of powder, as recorded, else "by the recipe"."""
    strengths = {dye.name: dye.solution_pct for dye in lot.dyes}
    grams: dict[str, float] = {}
    by_recipe: set[str] = set()
    for batch in lot.batches:
        for dye in batch.dyes:
            recorded = dye.used_ml is not None or dye.used_g is not None
            own = (dye.used_ml or 0.0) * strengths.get(dye.dye, 1.0) / 100 + (dye.used_g or 0.0)
            grams[dye.dye] = grams.get(dye.dye, 0.0) + (own if recorded else dye.recipe_g)
            if not recorded:
                by_recipe.add(dye.dye)
    for name, amount in grams.items():
        yield f"{name} {figure(amount)} g" + (" by the recipe" if name in by_recipe else "")
