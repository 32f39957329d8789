"""The weigh-out sheet: what to mix, then for each batch what goes where, in mixing order, with boxes to tick."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import chain
from types import MappingProxyType
from typing import NamedTuple

from dyeday.craft.dye.measuring import FAIR_PCT, figure
from dyeday.craft.water.acids import AcidKind
from dyeday.grouping import grouped
from dyeday.paper.layout.sheet import BLANK, BOX, Block, Column, Paragraph, Part, Sheet, Table, tick
from dyeday.paper.sheets.cautions import ACID, DEFERS, EYES, POWDER, cautions_of
from dyeday.plan.amount_text import (
    acid_amount_text,
    acid_range_text,
    dose_text,
    mass_text,
    mix_ml,
    mix_text,
    parts_text,
    share_text,
    solution_text,
    volume_text,
    water_text,
)
from dyeday.plan.batches import shares_text
from dyeday.plan.doses import to_pour, why_no_dose
from dyeday.plan.model import Batch, Layer, Plan
from dyeday.plan.recipe import WASTE_PCT
from dyeday.plan.weigh_out import (
    BatchWeighed,
    LayerLiquor,
    WeighOut,
    mix_from,
    mix_of,
    section_waters_ml,
    weigh_batch,
    weigh_out,
)
from dyeday.plan.weigh_out_warnings import warnings
from dyeday.terms import AcidPlace, DyeMethod, ExtraPer, State, UnitSystem
from dyeday.text import counted
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.timestamp import length_text

_MIX = (
    Column("", 3), Column("dye"), Column("powder", 8, right=True, large=True),
    Column("makes", 8, right=True, large=True), Column("of", 5, right=True), Column("weighed", 10, right=True),
)  # fmt: skip
_WHERE, _WHAT = Column("where", 18), Column("what")
_PUT_IN = Column("put in", 9, right=True)

_BEFORE_DAY = (
    "Make these up before the day starts, mask on. You need no mask to mix liquor from solutions, but one to speckle."
)

LEAST_WATER_ML = 0.5
"""water that is worth measuring; less is what stays in jug and pipette"""
MOST_ALIKE = 4
"""batches in one row: as many boxes as have room before it"""


class StillToWeigh(NamedTuple):
    """A day's batches with a layer to be dyed, the weights of all, and what is begun."""

    batches: Sequence[Batch] | None = None
    weights_g: Mapping[str, float] = MappingProxyType({})
    begun: Mapping[str, tuple[int, bool]] = MappingProxyType({})
    mixed_for: Mapping[str, str] = MappingProxyType({})
    has_begun: bool = False
    """whether a batch got acid or dye in this session itself, not only in the one that it was carried from"""

    def weighed(self, plan: Plan) -> WeighOut:
        """Return the amounts of ``plan`` for these batches."""
        return weigh_out(plan, self.batches, self.weights_g, self.begun, self.mixed_for)


Tasks = Mapping[str, Sequence[str]]
"""sentences by the number of their batch"""
NO_TASKS: Tasks = MappingProxyType({})
ALL = StillToWeigh()
"""all of a plan"""


def to_weigh(batches: Iterable[BatchRecord]) -> StillToWeigh:
    """Return what is still to weigh out of a day's batches."""
    live = [batch for batch in batches if batch.state is not State.SCRAPPED]
    dyed = {b.no: len({painted.layer for painted in b.painted_since_overdye}) for b in live}
    soaked = {(b.no, stay.layer) for b in live for stay in b.stays if stay.state is State.SOAK}
    to_dye = (b for b in live if b.is_unfinished and dyed[b.no] < len(b.colourway.layers))
    still = [Batch(b.no, b.colourway.name, b.base.name, b.skeins, b.tag, b.shares, b.planned_mix) for b in to_dye]
    begun = {b.no: (dyed[b.no], (b.no, dyed[b.no] + 1) in soaked) for b in live}
    put_on = [(other, put.since.utc, [put.mix, other.layer_no(put.layer)]) for other in live for put in other.painted]
    mixed_for = {
        b.no: [
            other.no
            for other, at, of in put_on
            if of == [b.planned_mix, dyed[b.no] + 1]
            and other is not b
            and (b.carried is not None or other.is_of_session(at))  # else that mix was made without it
        ]
        for b in live
    }
    begun_at = [(b, stay.since.utc) for b in live for stay in b.stays if stay.state is State.SOAK]
    begun_at += [(b, put.since.utc) for b in live for put in b.painted_since_overdye]
    return StillToWeigh(
        still,
        {b.no: b.wof_g for b in live},
        begun,
        {no: ", ".join(of) for no, of in mixed_for.items()},
        has_begun=any(b.is_of_session(at) for b, at in begun_at),
    )


def weigh_sheet(plan: Plan, still: StillToWeigh = ALL, about: str = "", tasks: Tasks = NO_TASKS) -> Sheet:
    """Return the sheet for what is ``still`` to weigh, else for all of the plan; ``tasks`` come before its dye."""
    weighed = still.weighed(plan)
    pieces = counted(sum(one.batch.skeins for one in weighed.batches), "piece")
    left, whole = len(weighed.batches), len(still.weights_g)
    many = f"{left} of {whole} batches to dye" if left < whole else f"{counted(left, 'batch', 'batches')}, {pieces}"
    summary = f"{plan.session.date:%a %d %b %Y}, {many}"
    summary += f", {about}" if about else ""
    blocks = _blocks(plan, weighed, tasks, has_begun=still.has_begun)
    return Sheet("weigh", f"WEIGH-OUT  {plan.session.name}", summary, tuple(blocks))


def _blocks(plan: Plan, weighed: WeighOut, tasks: Tasks, *, has_begun: bool) -> Iterator[Block]:
    if not weighed.batches:
        yield Block((Paragraph("Nothing to weigh out."),))
        return
    yield Block((*cautions_of(POWDER, EYES, ACID), Paragraph(DEFERS)), "BEFORE YOU OPEN A JAR")
    text = "Leave out what you have made up already." if has_begun else _BEFORE_DAY
    little, step = (volume_text(plan, ml) for ml in (plan.jug_ml * 50 / FAIR_PCT, plan.jug_ml))
    head = f"MAKE UP FOR THE {'REST OF THE' if has_begun else 'WHOLE'} DAY"
    yield Block(
        (
            Paragraph(text),
            *_mixes(plan, weighed, has_tasks=bool(tasks)),
            *_extras(plan, weighed, in_all=not has_begun),
            Paragraph(f"Use a pipette for less than {little} of dye solution and between the jug's marks of {step}."),
        ),
        head,
    )
    yield from (
        Block((Paragraph(warning),), "WATCH FOR") for warning in (*chain(*tasks.values()), *warnings(plan, weighed))
    )
    mixes = (mix_of(weighed, one, liquor.layer) for one in weighed.batches for liquor in one.liquors)
    is_rounded_up = plan.session.units is UnitSystem.METRIC and any(len(mix) > 1 for mix in mixes)
    note = (
        [Paragraph("A mix is rounded up, so that it is enough; a little may be left over.")] if is_rounded_up else []
    )
    for n, alike in enumerate(_alike(weighed.batches)):
        yield Block((*note[n:], *_batch(plan, alike, weighed, tasks)), "BATCH BY BATCH", apart=True)


def _alike(weighed: Sequence[BatchWeighed]) -> list[list[BatchWeighed]]:
    """Return the batches in order, those together that differ in number, tag, lot and orders alone."""
    bare = [replace(one.batch, no="", tag="", shares=(), mix="", lot="", carried="") for one in weighed]
    by_amounts = grouped((replace(one, batch=batch), one) for one, batch in zip(weighed, bare, strict=True))
    return [alike[n : n + MOST_ALIKE] for alike in by_amounts.values() for n in range(0, len(alike), MOST_ALIKE)]


def _mixes(plan: Plan, weighed: WeighOut, *, has_tasks: bool) -> Iterator[Part]:
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
    yield from _stock(plan, weighed, has_tasks=has_tasks)


def _stock(plan: Plan, weighed: WeighOut, *, has_tasks: bool) -> Iterator[Paragraph]:
    for total in weighed.dyes:
        if total.short_g:
            short, on_hand = mass_text(plan, total.short_g), mass_text(plan, total.on_hand_g or 0)
            yield Paragraph(f"{total.dye}: SHORT by {short}, {on_hand} on hand")
    if why := why_no_dose(plan):
        yield Paragraph(f"acid: {why}")
    elif weighed.doses_known:
        made, more = "", "; plus any under WATCH FOR" if has_tasks else ""
        if plan.acid.kind is AcidKind.CITRIC_SOLUTION and plan.acid.strength_pct is not None:
            grams = [mass_text(plan, to_pour(plan, ml) * plan.acid.strength_pct / 100) for ml in weighed.acid_poured]
            made = f", from your bottle or {' to '.join(dict.fromkeys(grams))} citric acid made up to that with water"
        yield tick(f"{plan.acid.name}: {acid_range_text(plan, *weighed.acid_poured)} in all{made}{more}")


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


def _batch(plan: Plan, alike: Sequence[BatchWeighed], weighed: WeighOut, tasks: Tasks) -> Iterator[Part]:
    """Yield the amounts of a group of equal batches of those ``weighed``, with a box for each batch."""
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
    flagged = ", ".join(each.batch.no for each in alike if each.batch.no in tasks)
    see_first = f"; {flagged}: first see WATCH FOR" if flagged else ""
    for liquor in one.liquors:
        yield from _layer(plan, alike, liquor, mix_of(weighed, one, liquor.layer), see_first)
    yield from (Paragraph(f"{n}. {step}", 1, boxes) for n, step in enumerate(colourway.steps, 1))
    first = one.liquors[0].layer if one.liquors else 1
    yield Paragraph(_after(colourway.layers, first, colourway.dry_h), 1, "then:")


def _all(mix: Sequence[BatchWeighed]) -> str:
    return "both" if len(mix) == 2 else f"all {len(mix)}"


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
    plan: Plan, alike: Sequence[BatchWeighed], liquor: LayerLiquor, mix: Sequence[BatchWeighed], see_first: str
) -> Iterator[Part]:
    """Yield a layer: what is mixed, with the first batch of a ``mix`` for all of it, and what a batch gets of it."""
    one, batches = alike[0], len(alike)
    layer, boxes = plan.colourway(one.batch.colourway).layers[liquor.layer - 1], BOX * batches
    mixed_before = "" if not mix or mix[0] is one else mix[0].batch.no
    is_mixed = len(mix) > 1 and not mixed_before
    many = f"layer {liquor.layer}, " if liquor.layer > 1 or len(one.liquors) > 1 else ""
    made = f"{volume_text(plan, liquor.liquor_ml)} liquor" if liquor.liquor_ml else "dry powder"
    made += f", the rest of the mix of {liquor.mixed_for}" if liquor.mixed_for else ""
    made += " for EACH batch" if batches > 1 else ""
    made += f", of the mix of {mixed_before}" if mixed_before else ""
    if is_mixed:
        colour = (one.batch.colourway, one.batch.base)
        must_match = any(order.match for order in plan.orders if (order.colourway, order.base) == colour)
        whose = _all(mix) if len(mix) == batches else ", ".join(each.batch.no for each in mix)
        one_mix = f"{whose} must match, one mix" if must_match else f"one mix for {whose}"
        made += f"; {one_mix}: {volume_text(plan, liquor.liquor_ml * _times(one, mix))}"
    has_acid = liquor.acid_in is not AcidPlace.SOAK or layer.own_acid_soak
    acid = "" if has_acid else f"; no new acid after an acid soak{see_first}"
    yield Paragraph(f"{many}{liquor.how.value}: {made}{acid}", 1)
    from_mix = bool(liquor.mixed_for or mixed_before)
    if not from_mix:
        head = _all(mix) if is_mixed else "each" if batches > 1 else "measure"
        yield _amounts(plan, one, liquor, mix if is_mixed else [one], Column(head, 8, right=True, large=True), boxes)
    if from_mix or is_mixed:
        whose = "each" if batches > 1 else one.batch.no
        yield Paragraph(f"{whose} gets {_poured(plan, one, layer, liquor.layer, mix)}", 1, boxes)
    if liquor.dose is not None and (parts := parts_text(plan, layer, liquor.dose)):
        yield Paragraph(f"acid {parts}", 1)


def _times(one: BatchWeighed, mix: Sequence[BatchWeighed]) -> float:
    """Return how much more yarn a mix is for than one of its batches."""
    return sum(each.wof_g for each in mix) / one.wof_g


def _amounts(
    plan: Plan, one: BatchWeighed, liquor: LayerLiquor, mix: Sequence[BatchWeighed], amount: Column, boxes: str
) -> Table:
    """Return the amounts of a layer of a ``mix`` by section, in mixing order: dye solutions, water, acid last."""
    layer, times, is_mixed = (
        plan.colourway(one.batch.colourway).layers[liquor.layer - 1],
        _times(one, mix),
        len(mix) > 1,
    )
    boxes = BOX if is_mixed else boxes
    rows: list[tuple[str, ...]] = []
    colours: list[str | None] = []
    whole = "the bath" if liquor.how is DyeMethod.IMMERSED else "all the yarn"
    parts = zip(layer.sections, layer.liquor_shares, section_waters_ml(one.dyes, liquor, layer), strict=True)
    for n, (section, share, water_ml) in enumerate(parts, 1):
        where = f"section {n}, {section.share_pct:g} %" if len(layer.sections) > 1 else whole
        first = len(rows)
        for dye in (dye for dye in one.dyes if (dye.layer, dye.section) == (liquor.layer, n)):
            if dye.solution_ml is None:
                powder = mass_text(plan, dye.powder_g)
                rows.append((boxes, where, f"{dye.dye} powder", powder, f"{BLANK[:6]} g"))
            else:
                unit = " mL" if plan.session.units == UnitSystem.METRIC else ""
                what = f"{dye.dye} {plan.solution_pct(dye.dye):g} %"
                solution = (mix_text if is_mixed else solution_text)(plan, dye.solution_ml * times)
                rows.append((boxes, where, what, solution, f"{BLANK[:6]}{unit}"))
        if liquor.liquor_ml and not share:
            rows.append(("", where, "stays undyed", "", ""))
        elif water_ml * times >= LEAST_WATER_ML:
            water = mix_text(plan, water_ml * times, is_water=True) if is_mixed else water_text(plan, water_ml)
            rows.append((boxes, where, "water", water, ""))
        if liquor.dose is not None and share:
            acid = acid_amount_text(plan, liquor.dose.amount * share * times)
            rows.append((boxes, where, plan.acid.name, acid, BLANK[:6]))
        colours += [section.swatch if at == first else None for at in range(first, len(rows))]
    columns = (Column("", len(boxes)), _WHERE, _WHAT, amount, _PUT_IN)
    return Table(columns, tuple(rows), tuple(colours), swatch_column=1)


def _poured(plan: Plan, one: BatchWeighed, layer: Layer, number: int, mix: Sequence[BatchWeighed]) -> str:
    """Return a batch's part of a printed ``mix``: "270 mL", or "225 mL on section 1, 95 mL on section 2".

    Where the mix was made before, as the recipe has it.
    """
    whole = weigh_batch(plan, one.batch, one.wof_g)
    liquor, times = whole.liquors[number - 1], _times(one, mix) if mix else 1.0
    parts = zip(layer.liquor_shares, section_waters_ml(whole.dyes, liquor, layer), strict=True)
    amounts_ml = []
    for n, (share, water_ml) in enumerate(parts, 1):
        solutions_ml = [dye.solution_ml or 0.0 for dye in whole.dyes if (dye.layer, dye.section) == (number, n)]
        acid_ml = liquor.acid_ml * share
        if mix:
            solutions_ml = [mix_ml(plan, ml * times) / times for ml in solutions_ml]
            water_ml = mix_ml(plan, water_ml * times, is_water=True) / times
            acid_ml = to_pour(plan, acid_ml * times) / times
        amounts_ml.append(sum(solutions_ml) + water_ml + acid_ml)
    if len(amounts_ml) == 1:
        return share_text(plan, amounts_ml[0])
    return ", ".join(f"{share_text(plan, ml)} on section {n}" for n, ml in enumerate(amounts_ml, 1) if ml)


def _after(layers: Sequence[Layer], first: int, dry_h: float) -> str:
    """Return what follows the dye of the layers from number ``first`` on."""
    parts = []
    for n, layer in enumerate(layers[first - 1 :], first):
        of = f"layer {n}: " if len(layers) > 1 else ""
        parts.append(f"{of}{layer.fix_text}, cool {length_text(layer.cool_min)}")
    return "; ".join(parts) + f"; rinse, dry {dry_h:g} h"
