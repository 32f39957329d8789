"""The weigh-out sheet: what to mix, then for each batch what goes where, in mixing order, with boxes to tick."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import NamedTuple

from dyeday.craft.dye.measuring import figure
from dyeday.grouping import grouped
from dyeday.paper.layout.sheet import BLANK, BOX, Block, Column, Paragraph, Part, Sheet, Table, tick
from dyeday.paper.sheets.cautions import ACID, DEFERS, EYES, POWDER, cautions_of
from dyeday.plan.amount_text import acid_amount_text, mass_text, solution_text, volume_text
from dyeday.plan.batches import shares_text
from dyeday.plan.doses import why_no_dose
from dyeday.plan.model import Batch, Layer, Plan
from dyeday.plan.recipe import WASTE_PCT
from dyeday.plan.weigh_out import (
    BatchWeighed,
    LayerLiquor,
    WeighOut,
    mix_from,
    section_waters_ml,
    warnings,
    weigh_out,
)
from dyeday.terms import AcidPlace, DyeMethod, ExtraPer, State, UnitSystem
from dyeday.text import counted
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.reading_meaning import amount_text, dose_text, parts_text
from dyeday.track.timestamp import length_text

_MIX = (
    Column("", 3), Column("dye"), Column("powder", 8, right=True, large=True),
    Column("makes", 8, right=True, large=True), Column("of", 5, right=True), Column("weighed", 10, right=True),
)  # fmt: skip
_WHERE, _WHAT = Column("where", 18), Column("what")
_PUT_IN = Column("put in", 9, right=True)

MOST_ALIKE = 4
"""batches in one row: as many boxes as have room before it"""


class StillToWeigh(NamedTuple):
    """Arguments of `weigh_out`: a day's batches with a layer to be dyed, the weights of all, and what is begun."""

    batches: Sequence[Batch] | None = None
    weights_g: Mapping[str, float] = MappingProxyType({})
    begun: Mapping[str, tuple[int, bool]] = MappingProxyType({})
    mixed_for: Mapping[str, str] = MappingProxyType({})


ALL = StillToWeigh()
"""all of a plan"""


def to_weigh(batches: Iterable[BatchRecord]) -> StillToWeigh:
    """Return what is still to weigh out of a day's batches."""
    live = [batch for batch in batches if batch.state is not State.SCRAPPED]
    dyed = {b.no: len({painted.layer for painted in b.painted_since_overdye}) for b in live}
    soaked = {(b.no, stay.layer) for b in live for stay in b.stays if stay.state is State.SOAK}
    to_dye = (b for b in live if b.is_unfinished and dyed[b.no] < len(b.colourway.layers))
    still = [Batch(b.no, b.colourway.name, b.base.name, b.skeins, b.tag, b.shares, b.mix) for b in to_dye]
    begun = {b.no: (dyed[b.no], (b.no, dyed[b.no] + 1) in soaked) for b in live}
    put_on = [(other.no, put.mix, other.layer_no(put.layer)) for other in live for put in other.painted]
    mixed_for = {b.no: [no for no, *of in put_on if of == [b.mix, dyed[b.no] + 1] and no != b.no] for b in live}
    return StillToWeigh(
        still, {b.no: b.wof_g for b in live}, begun, {no: ", ".join(of) for no, of in mixed_for.items()}
    )


def weigh_sheet(plan: Plan, still: StillToWeigh = ALL, about: str = "", tasks: Sequence[str] = ()) -> Sheet:
    """Return the sheet for what is ``still`` to weigh, else for all of the plan; ``tasks`` come before its dye."""
    weighed = weigh_out(plan, *still)
    pieces = counted(sum(one.batch.skeins for one in weighed.batches), "piece")
    left, whole = len(weighed.batches), len(still.weights_g)
    many = f"{left} of {whole} batches to dye" if left < whole else f"{counted(left, 'batch', 'batches')}, {pieces}"
    summary = f"{plan.session.date:%a %d %b %Y}, {many}"
    summary += f", {about}" if about else ""
    blocks = _blocks(plan, weighed, tasks, has_begun=any(map(any, still.begun.values())))
    return Sheet("weigh", f"WEIGH-OUT  {plan.session.name}", summary, tuple(blocks))


def _blocks(plan: Plan, weighed: WeighOut, tasks: Sequence[str], *, has_begun: bool) -> Iterator[Block]:
    if not weighed.batches:
        yield Block((Paragraph("Nothing to weigh out."),))
        return
    yield Block((*cautions_of(POWDER, EYES, ACID), Paragraph(DEFERS)), "BEFORE YOU OPEN A JAR")
    text = "Leave out what you have mixed already." if has_begun else "Make these up before the day starts."
    head = f"MIX FOR THE {'REST OF THE' if has_begun else 'WHOLE'} DAY"
    yield Block((Paragraph(text), *_mixes(plan, weighed), *_extras(plan, weighed, in_all=not has_begun)), head)
    yield from (Block((Paragraph(warning),), "WATCH FOR") for warning in (*tasks, *warnings(plan, weighed)))
    groups = _alike(weighed.batches)
    mixed = [len(alike) for alike in groups if any(_is_mixed(liquor, len(alike)) for liquor in alike[0].liquors)]
    columns = " and ".join(dict.fromkeys(f"'{_all(count)}'" for count in mixed))
    text = f"Amounts are rounded: {columns} can differ from the sum of 'each'."
    note = [Paragraph(text)] if mixed else []
    for n, alike in enumerate(groups):
        yield Block((*note[n:], *_batch(plan, alike, _others(weighed, alike))), "BATCH BY BATCH", apart=True)


def _others(weighed: WeighOut, alike: Sequence[BatchWeighed]) -> str:
    """Return the batches of a group's lot that stand in other groups: "12, 13"."""
    lot, own = (alike[0].batch.colourway, alike[0].batch.base), {one.batch.no for one in alike}
    yarns = ((one.batch.no, (one.batch.colourway, one.batch.base)) for one in weighed.batches)
    return ", ".join(no for no, yarn in yarns if yarn == lot and no not in own)


def _alike(weighed: Sequence[BatchWeighed]) -> list[list[BatchWeighed]]:
    """Return the batches in order, those together that differ in number, tag, lot and orders alone."""
    bare = [replace(one.batch, no="", tag="", shares=(), mix="", lot="", carried="") for one in weighed]
    by_amounts = grouped((replace(one, batch=batch), one) for one, batch in zip(weighed, bare, strict=True))
    return [alike[n : n + MOST_ALIKE] for alike in by_amounts.values() for n in range(0, len(alike), MOST_ALIKE)]


def _mixes(plan: Plan, weighed: WeighOut) -> Iterator[Part]:
    rows = []
    for total in weighed.dyes:
        if total.mix_ml:
            dye = plan.dye(total.dye)
            of = f"{dye.solution_pct:g} %" if dye is not None else "1 %"
            powder = mass_text(plan, total.mix_powder_g) if total.mix_powder_g else "none"
            note = f"{BLANK} g" if total.mix_powder_g else ""
            name = f"{total.dye} ({mix_from(plan, total)})" if total.from_bottle_ml else total.dye
            rows.append((BOX, name, powder, solution_text(plan, total.mix_ml), of, note))
        if total.dry_powder_g:
            name = f"{total.dye}, dry for speckling"
            rows.append((BOX, name, mass_text(plan, total.dry_powder_g), "", "", f"{BLANK} g"))
    if rows:
        yield Paragraph(f"Solutions include {WASTE_PCT:g} % extra for jug and pipette.")
        yield Table(_MIX, tuple(rows))
    yield from _stock(plan, weighed)


def _stock(plan: Plan, weighed: WeighOut) -> Iterator[Paragraph]:
    for total in weighed.dyes:
        if total.short_g:
            short, on_hand = mass_text(plan, total.short_g), mass_text(plan, total.on_hand_g or 0)
            yield Paragraph(f"{total.dye}: SHORT by {short}, {on_hand} on hand")
    if why := why_no_dose(plan):
        yield Paragraph(f"acid: {why}")
    elif weighed.doses_known:
        yield tick(f"{plan.acid.name}: {amount_text(plan, *weighed.acid_poured)} in all")


def _extras(plan: Plan, weighed: WeighOut, *, in_all: bool) -> Iterator[Paragraph]:
    times = {
        ExtraPer.BATCH: len(weighed.batches),
        ExtraPer.SKEIN: sum(one.batch.skeins for one in weighed.batches),
        ExtraPer.PER_100_G: sum(one.wof_g for one in weighed.batches) / 100,
    }
    for extra in plan.extras:
        total = f", {figure(extra.amount * times[extra.per], 3)} {extra.unit} in all"
        each = f"{extra.amount:g} {extra.unit} for each {extra.per.value}"
        yield tick(f"{extra.name}: {each}{total if in_all and extra.per in times else ''}")


def _batch(plan: Plan, alike: Sequence[BatchWeighed], others: str) -> Iterator[Part]:
    """Yield the amounts of a group of equal batches, with a box for each batch; ``others`` are of its lot too."""
    one, boxes = alike[0], BOX * len(alike)
    batch, base, colourway = one.batch, plan.base(one.batch.base), plan.colourway(one.batch.colourway)
    forms = base.form.value if batch.skeins == 1 else f"{base.form.value}s"
    numbers = ", ".join(f"{each.batch.no} [{each.batch.tag}]" if each.batch.tag else each.batch.no for each in alike)
    each = " each" if len(alike) > 1 else ""
    swatches = tuple(swatch for layer in colourway.layers for swatch in layer.swatches)
    name = f"{numbers} {batch.colourway} on {batch.base}, {batch.skeins} {forms}{each}"
    yield Paragraph(name, strong=True, swatches=swatches)
    yarn, ones = (batch.colourway, batch.base), (each.batch for each in alike if each.batch.shares)
    by_whom = grouped((shares_text(plan, each.no, yarn, each.shares), each.no) for each in ones)
    for whose, nos in by_whom.items():
        lead = "for:" if len(nos) == len(alike) else f"{', '.join(nos)} for:"
        yield Paragraph(whose + (" each" if len(nos) > 1 else ""), 1, lead)
    if one.soak_l:
        yield Paragraph(f"dry weight {one.wof_g:g} g{each}; weighed {' '.join([BLANK] * len(alike))} g", 1, boxes)
        yield from (Paragraph(soak, 1, boxes) for soak in _soaks(plan, one, len(alike)))
    for liquor in one.liquors:
        yield from _layer(plan, one, liquor, colourway.layers[liquor.layer - 1], len(alike), others)
    yield from (Paragraph(f"{n}. {step}", 1, boxes) for n, step in enumerate(colourway.steps, 1))
    first = one.liquors[0].layer if one.liquors else 1
    yield Paragraph(_after(colourway.layers, first, colourway.dry_h), 1, "then:")


def _all(batches: int) -> str:
    return "both" if batches == 2 else f"all {batches}"


def _is_mixed(liquor: LayerLiquor, batches: int) -> bool:
    """Return whether one mix of a liquor is to be made for several batches."""
    return batches > 1 and liquor.is_shared and not liquor.mixed_for


def _soaks(plan: Plan, one: BatchWeighed, batches: int) -> Iterator[str]:
    water = f"{', EACH batch' if batches > 1 else ''}: {volume_text(plan, one.soak_l * 1000)} water"
    if not one.acid_soaks:
        yield f"soak{water}, no acid in it"
    blanks = " ".join([BLANK[:3] if batches > 1 else BLANK] * batches)
    read = " ".join([BLANK[:3]] * batches)
    for soak, dose, many in one.soaks:
        each = f" in each of {many} soaks" if many > 1 else ""
        aim = f" ({dose.ph:.1f})" if dose is not None and dose.ph is not None else ""
        acid = f"then {dose_text(plan, dose)} {plan.acid.name}{each}; used {blanks}; pH{aim} {read}" if dose else ""
        yield f"{soak}{water}, {acid or f'acid {BLANK}'}"


def _layer(
    plan: Plan, one: BatchWeighed, liquor: LayerLiquor, layer: Layer, batches: int, others: str
) -> Iterator[Part]:
    """Yield a layer by section, in mixing order: dye solutions, water, acid last; ``others`` are of its lot too."""
    boxes, is_mixed = BOX * batches, _is_mixed(liquor, batches)
    many = f"layer {liquor.layer}, " if liquor.layer > 1 or len(one.liquors) > 1 else ""
    made = f"{volume_text(plan, liquor.liquor_ml)} liquor" if liquor.liquor_ml else "dry powder"
    made += f", the rest of the mix of {liquor.mixed_for}" if liquor.mixed_for else ""
    for_each = " for EACH batch" if batches > 1 else ""
    colour = (one.batch.colourway, one.batch.base)
    must_match = any(order.match for order in plan.orders if (order.colourway, order.base) == colour)
    one_mix = f"{_all(batches)} must match, one mix" if must_match else f"one mix for {_all(batches)}"
    in_all = f"; {one_mix}: {volume_text(plan, liquor.liquor_ml * batches)}"
    has_acid = liquor.acid_in is not AcidPlace.SOAK or layer.own_acid_soak
    acid = "" if has_acid else "; no new acid after an acid soak"
    lot = f"; one lot with {others}: mix them together" if others and _is_mixed(liquor, 2) else ""
    yield Paragraph(f"{many}{liquor.how.value}: {made}{for_each}{in_all if is_mixed else ''}{lot}{acid}", 1)
    shares = layer.liquor_shares
    rows: list[tuple[str, ...]] = []
    colours: list[str | None] = []
    waters = section_waters_ml(one.dyes, liquor, layer)
    water = "of that mix" if liquor.mixed_for else "water"
    where, whole = "", "the bath" if liquor.how is DyeMethod.IMMERSED else "all the yarn"

    def measured(what: str, amount: float, show: Callable[[Plan, float], str], put_in: str = "") -> None:
        in_all = (show(plan, amount * batches),) if is_mixed else ()
        rows.append((boxes, where, what, show(plan, amount), *in_all, put_in))

    for n, section in enumerate(layer.sections, 1):
        where = f"section {n}, {section.share_pct:g} %" if len(layer.sections) > 1 else whole
        first = len(rows)
        for dye in (d for d in one.dyes if (d.layer, d.section) == (liquor.layer, n)):
            if dye.solution_ml is None:
                measured(f"{dye.dye} powder", dye.powder_g, mass_text, f"{BLANK[:6]} g")
            else:
                unit = " mL" if plan.session.units == UnitSystem.METRIC else ""
                what = f"{dye.dye} {plan.solution_pct(dye.dye):g} %"
                measured(what, dye.solution_ml, solution_text, f"{BLANK[:6]}{unit}")
        if waters[n - 1] >= plan.jug_ml / 2:
            measured(water, waters[n - 1], volume_text)
        elif liquor.liquor_ml and (waters[n - 1] > 0 or not shares[n - 1]):
            left = "a few drops of water" if shares[n - 1] else "stays undyed"
            rows.append(("", where, left, "", *[""] * is_mixed, ""))
        if liquor.dose is not None and shares[n - 1]:
            measured(plan.acid.name, liquor.dose.amount * shares[n - 1], acid_amount_text, BLANK[:6])
        colours += [section.swatch if at == first else None for at in range(first, len(rows))]
    heads = ("each" if batches > 1 else "measure", *[_all(batches)] * is_mixed)
    amounts = [Column(head, 8, right=True, large=True) for head in heads]
    columns = (Column("", len(boxes)), _WHERE, _WHAT, *amounts, _PUT_IN)
    yield Table(columns, tuple(rows), tuple(colours), swatch_column=1)
    parts = parts_text(plan, layer, liquor.dose) if liquor.dose is not None else ""
    if parts:
        yield Paragraph(f"acid {parts}", 1)


def _after(layers: Sequence[Layer], first: int, dry_h: float) -> str:
    """Return what follows the dye of the layers from number ``first`` on."""
    parts = []
    for n, layer in enumerate(layers[first - 1 :], first):
        of = f"layer {n}: " if len(layers) > 1 else ""
        parts.append(f"{of}{layer.fix_text}, cool {length_text(layer.cool_min)}")
    return "; ".join(parts) + f"; rinse, dry {dry_h:g} h"
