"""The record of a lot on paper: what it was dyed with, how, and what happened."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import datetime

from dyeday.craft.dye.measuring import figure
from dyeday.paper.layout.event_marks import MEANS, SIGNS
from dyeday.paper.layout.sheet import Block, Column, Paragraph, Part, Sheet, Table
from dyeday.plan.amount_text import acid_text, used_text
from dyeday.plan.model import Layer
from dyeday.studio.labels import fibre_text
from dyeday.studio.lots.lot import Lot, LotBatch, LotFlag
from dyeday.terms import Outcome, State
from dyeday.text import counted
from dyeday.track.day.carried import EntryChange
from dyeday.track.day.progress import heat_place
from dyeday.track.events.reading_text import reading_text
from dyeday.track.flags import flag_words
from dyeday.track.timestamp import length_text, local, time_text_on

_RECIPE = (Column("section", 12), Column("dye"), Column("amount", 31))
_DYES = (Column("dye"), Column("by the recipe", 22), Column("recorded", 22))
_STAYS = (
    Column("state", 14), Column("from", 17), Column("to", 15), Column("time", 7, right=True), Column("where"),
)  # fmt: skip
"""times have room for a date, those of ``from`` for marks too"""


def lot_sheet(lot: Lot) -> Sheet:
    """Return the record of one lot."""
    pieces = f"{counted(lot.skeins, lot.base.form.value)}, {lot.wof_g:g} g"
    dyed = (stay.since for batch in lot.batches for stay in batch.stays if stay.state is State.PAINT)
    begun = min((local(since, lot.zone).date() for since in dyed), default=lot.date)
    day = f"{'' if begun == lot.date else 'dyed '}{begun:%a %d %b %Y}"
    about = f"{day}, session {lot.session}, {pieces}"
    title = f"LOT {lot.number}  {lot.colourway.name} on {lot.base.name}"
    return Sheet(f"lot-{lot.number}", title, about, tuple(_blocks(lot)))


def _blocks(lot: Lot) -> Iterator[Block]:
    if lot.withdrawn:
        yield Block((Paragraph(f"No longer a lot: {lot.withdrawn}"),), "WITHDRAWN")
    yield Block(tuple(_flag_lines(lot)), "TO CHECK")
    yield Block(tuple(_about(lot)), "WHAT IT IS")
    for n, layer in enumerate(lot.colourway.layers, 1):
        yield Block(tuple(_layer(lot, n, layer)), "RECIPE")
    if lot.colourway.steps:
        steps = tuple(Paragraph(step, lead=f"{n}.") for n, step in enumerate(lot.colourway.steps, 1))
        yield Block(steps, "HOW IT IS PAINTED")
    yield from (Block(tuple(_batch(lot, batch)), "WHAT HAPPENED") for batch in lot.batches)
    for fact in lot.added:
        of = f" of {fact.of}" if fact.of else ""
        lead = f"{local(fact.at, lot.zone):%d %b %Y} {fact.what.value}{of}:"
        yield Block((Paragraph(fact.text, lead=lead),), "NOTES")
    changed = {change.what for batch in lot.batches for change in batch.changes}
    if legend := [f"{sign} {MEANS[sign]}" for what, sign in SIGNS.items() if what in changed]:
        yield Block((Paragraph("; ".join(legend)),), "MARKS")


def _flag_lines(lot: Lot) -> Iterator[Paragraph]:
    flags = [(batch, flag) for batch in lot.batches for flag in batch.open_flags]
    for batch, flag in flags:
        yield Paragraph(f"{flag_words(flag.rule)}: {flag.why}", lead=f"batch {batch.no}")
        yield Paragraph(flag.remedy, 1, "do:")
    if not flags:
        yield Paragraph("Nothing to check.")


def _about(lot: Lot) -> Iterator[Paragraph]:
    base = lot.base
    length = f", {base.length_m:g} m" if base.length_m else ""
    yield Paragraph(f"{base.name}: {fibre_text(base)}, {base.skein_g:g} g{length} each", lead="yarn:")
    if lot.mill_lot:
        yield Paragraph(lot.mill_lot, lead="mill lot:")
    for dye, number in lot.powder_lots.items():
        yield Paragraph(number, lead=f"powder lot of {dye}:" if dye else "powder lot:")
    for dye, day in lot.solutions_made.items():
        yield Paragraph(f"made {day}", lead=f"solution of {dye}:")
    water = lot.water
    known = [
        f"alkalinity {figure(water.alkalinity_mg_l, 3)} mg/L" if water.alkalinity_mg_l is not None else "",
        f"hardness {figure(water.hardness_mg_l, 3)} mg/L" if water.hardness_mg_l is not None else "",
        f"{water.temperature_c:g} °C",
    ]
    yield Paragraph(", ".join(fact for fact in known if fact), lead="water:")
    yield Paragraph(f"{lot.acid.name}, to pH {lot.acid.target_ph:g}", lead="acid:")
    yield from (Paragraph(f"{item} ({count})", lead="for:") for item, count in lot.shares)
    yield Paragraph("tie a strand of the yarn here", lead="kept sample:")
    if lot.beside_sample:
        yield Paragraph(", ".join(lot.beside_sample), lead="beside the kept sample:")


def _layer(lot: Lot, number: int, layer: Layer) -> Iterator[Part]:
    many = f"layer {number}, " if len(lot.colourway.layers) > 1 else ""
    liquor = "" if layer.powder_g_per_100g else f", {layer.liquor_ml_per_100g:g} mL of liquor per 100 g"
    powder = f", {layer.powder_g_per_100g:g} g of powder per 100 g" if layer.powder_g_per_100g else ""
    text = f"{many}{layer.how.value}{liquor}{powder}, acid in the {layer.acid_in.value}"
    yield Paragraph(text, strong=True, swatches=layer.swatches)
    rows, colours = list[tuple[str, ...]](), list[str | None]()
    for n, section in enumerate(layer.sections, 1):
        for place, (dye, amount) in enumerate(section.dyes):
            of = "parts" if layer.powder_g_per_100g is not None else "% of its yarn's weight"
            rows.append((f"{n}: {section.share_pct:g} %", dye, f"{amount:g} {of}"))
            colours.append(None if place else section.swatch)
    yield Table(_RECIPE, tuple(rows), tuple(colours))
    yield Paragraph(f"{layer.fix_text}; cool {length_text(layer.cool_min)}", lead="fix:")


def _batch(lot: Lot, batch: LotBatch) -> Iterator[Part]:
    tag = f" [{batch.tag}]" if batch.tag else ""
    weighed = "weighed" if batch.weighed else "by count"
    sold = "" if batch.outcome == Outcome.FIRST else f", {batch.outcome.value}"
    skeins = counted(batch.skeins, lot.base.form.value)
    yield Paragraph(f"batch {batch.no}{tag}: {skeins}, {batch.wof_g:g} g {weighed}{sold}", strong=True)
    if batch.overdyed_from:
        yield Paragraph(f"overdyed from {', '.join(batch.overdyed_from)}", 1)
    if batch.dyes:
        used = ((dye, used_text(dye.used_ml, dye.used_g, "not recorded")) for dye in batch.dyes)
        yield Table(_DYES, tuple((dye.dye, _amount(dye.recipe_g, dye.recipe_ml), text) for dye, text in used))
    marks = _marks(batch)
    start = batch.stays[0].since if batch.stays else batch.done_at
    acids = [
        acid_text(acid.acid_ml, acid.acid_g, kept=acid.kept, share=acid.shared and not acid.bath)
        + (f" in {acid.of or 'its unit'}" if acid.bath else "")
        + ("" if acid.kept else marks[acid.at])
        for acid in batch.acids
    ]
    if acids:
        yield Paragraph(" + ".join(acids), 1, "acid:")
    yield Table(_STAYS, tuple(_stays(lot, batch, marks, start)))
    for heat in batch.heats:
        text = f"{heat_place(heat.how, heat.unit)}, {heat.minutes:.0f} min ({heat.planned_min:g} planned)"
        yield Paragraph(f"{text}, from {time_text_on(heat.start, lot.zone, start)}{marks[heat.start]}", 1, "heat:")
    for reading in batch.readings:
        pct = reading.exhausted_pct
        exhausted = f", {pct[0]:.0f} to {pct[1]:.0f} % of the dye taken up" if pct else ""
        text = f"{reading_text(reading.name, reading.value, reading.where)}{exhausted}"
        yield Paragraph(f"{text}, {time_text_on(reading.at, lot.zone, start)}{marks[reading.at]}", 1, "read:")
    yield from (Paragraph(_flag(flag), 1, "flag:") for flag in batch.flags)
    yield from (Paragraph(note.text + marks[note.at], 1, "note:") for note in batch.notes)
    for change in batch.changes:
        if change.what not in (EntryChange.LATE, EntryChange.APPROXIMATE):
            when = time_text_on(change.recorded_at, lot.zone, start)
            yield Paragraph(f"{change.text}, {when}", 1, f"{change.what.value}:")


def _stays(lot: Lot, batch: LotBatch, marks: Mapping[datetime, str], start: datetime) -> Iterator[tuple[str, ...]]:
    for stay in batch.stays:
        is_layered = len(lot.colourway.layers) > 1 and stay.state in (State.PAINT, State.FIX)
        layer = f", layer {stay.layer}" if is_layered else ""
        until = time_text_on(stay.until, lot.zone, start) if stay.until else ""
        since = time_text_on(stay.since, lot.zone, start) + marks[stay.since]
        lasted = length_text(stay.minutes) if stay.until else ""
        yield stay.state.value + layer, since, until, lasted, ", ".join(stay.units)


def _flag(flag: LotFlag) -> str:
    end = f"cleared: {flag.cleared_why}" if flag.cleared_at else "STILL OPEN"
    return f"{flag_words(flag.rule)}: {flag.why}; {end}"


def _amount(grams: float, ml: float) -> str:
    return f"{figure(grams, 3)} g" + (f" in {figure(ml, 3)} mL" if ml else " as powder")


def _marks(batch: LotBatch) -> Mapping[datetime, str]:
    """Return the marks of a batch's moments, late, corrected, about; "" of any other moment."""
    signs = defaultdict[datetime, str](str)
    for change in batch.changes:
        sign = SIGNS.get(change.what, "")
        if sign not in signs[change.at]:
            signs[change.at] += sign
    return signs
