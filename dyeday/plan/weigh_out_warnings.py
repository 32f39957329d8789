"""What scale, jug and liquor cannot do of a weigh-out, each with a remedy."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from operator import itemgetter

from dyeday.craft.dye.depth_of_shade import PINCH_G, pinches
from dyeday.craft.dye.measuring import FAIR_PCT, figure, to_measure, uncertain_pct, weaker_pct
from dyeday.craft.errors import above, below, round_up
from dyeday.craft.water.acid_dose import DROP_TEST
from dyeday.grouping import grouped
from dyeday.plan.amount_text import mass_text, mix_text, solution_text, volume_text
from dyeday.plan.doses import is_range
from dyeday.plan.model import Plan
from dyeday.plan.recipe import PlannedDye
from dyeday.plan.weigh_out import (
    BatchWeighed,
    DyeTotal,
    WeighOut,
    mix_of,
    no_room_in,
    section_solution_ml,
    section_waters_ml,
    stronger_text,
    weighed_g,
)
from dyeday.terms import DyeMethod

MUCH_OVER = 1.1
"""times its share of the liquor that a section may get of solutions without a warning; common practice, no source"""
_Place = tuple[str, int, int]
"""(batch, layer, section)"""
_Measured = tuple[float, Sequence[BatchWeighed], PlannedDye]
"""an amount of a dye, mL or g, and whose it is: all of a mix, or one batch"""


def warnings(plan: Plan, weighed: WeighOut) -> list[str]:
    """Return what scale, jug and liquor cannot do, each with a remedy."""
    out = [DROP_TEST] if any(is_range(plan, dose) for one in weighed.batches for dose in one.doses) else []
    for one in weighed.batches:
        misfits = (no_room_in(liquor, plan.session.units) for liquor in one.liquors)
        out += [f"{one.batch.no}: {'; '.join(misfit)}" for misfit in misfits if misfit]
    crowded = grouped((what, one.batch.no) for one in weighed.batches for what in _over_their_shares(plan, one))
    out += [f"{', '.join(numbers)}: {what}" for what, numbers in crowded.items()]
    out += [line for total in weighed.dyes for line in _of_powder(plan, weighed, total)]
    return [*out, *_weaker(plan, weighed)]


def _by_jug(weighed: WeighOut, dye: str) -> Iterator[_Measured]:
    """Yield each amount of a dye's solution that is measured: for a batch, or once for a mix of several."""
    of_batch = ((one, a) for one in weighed.batches for a in one.dyes if a.dye == dye and a.solution_ml)
    for one, a in of_batch:
        mix = mix_of(weighed, one, a.layer) or [one]
        if mix[0] is one:
            yield (a.solution_ml or 0.0) * _times(mix), mix, a


def _times(mix: Sequence[BatchWeighed]) -> float:
    return sum(each.wof_g for each in mix) / mix[0].wof_g


def _over_their_shares(plan: Plan, one: BatchWeighed) -> Iterator[str]:
    """Yield the sections of each layer that get much more than their share of a liquor with room for all of it."""
    for liquor in one.liquors:
        layer = plan.colourway(one.batch.colourway).layers[liquor.layer - 1]
        if no_room_in(liquor, plan.session.units) or liquor.how is not DyeMethod.PAINTED or liquor.mixed_for:
            continue
        parts = ((n, part) for n, part in enumerate(layer.liquor_shares, 1) if part)
        each = [(n, (liquor.liquor_ml - liquor.acid_ml) * part, section_solution_ml(one.dyes, liquor, n))
                for n, part in parts]  # fmt: skip
        over = [section for section in each if above(section[2], section[1] * MUCH_OVER)]
        if over:
            numbers = " and ".join(str(n) for n, *_ in over)
            gets = "sections {} get up to" if len(over) > 1 else "section {} gets"
            others = "the others" if len(each) > len(over) + 1 else "the other"
            times = max(ml / share_ml for _, share_ml, ml in over)
            much = f"{gets.format(numbers)} {times:.1f} times the liquor of its share, {others} less"
            yield f"{much}: its colour needs that much; for less liquid, {stronger_text(times)}"


def _of_powder(plan: Plan, weighed: WeighOut, total: DyeTotal) -> Iterator[str]:
    """Yield what of a dye's powder is hard to weigh."""
    powder, scale = weighed_g(plan, total.mix_powder_g), f"a scale that reads to {plan.scale_g:g} g"
    if powder and above(uncertain_pct(powder, plan.scale_g), FAIR_PCT):
        how = f"may be off by {uncertain_pct(powder, plan.scale_g):.0f} % on {scale}"
        how = f"is too little for {scale}" if total.mix_powder_g < plan.scale_g else how
        yield f"{total.dye}: {figure(powder, 3)} g in all {how}; mix more and keep the rest"
    of_batch = ((one, a) for one in weighed.batches for a in one.dyes if a.dye == total.dye)
    dry = [(weighed_g(plan, a.powder_g), [one], a) for one, a in of_batch if a.solution_ml is None]
    if sprinkled := _small(plan.scale_g, dry):
        shown = [f"{figure(grams, 2)} g" for grams, *_ in sprinkled]
        what = _off_text(sprinkled, shown, plan.scale_g, scale)
        count = round(pinches(sprinkled[0][0]))
        how_many = f"; about {count} pinches of {PINCH_G:g} g make {shown[0]} (weigh ten of yours to check)"
        yield f"{what}{how_many if count > 1 else ''}"


def _weaker(plan: Plan, weighed: WeighOut) -> Iterator[str]:
    """Yield a weaker solution for each dye's smallest amount that a jug measures too roughly, if it has room."""
    least = (min(_by_jug(weighed, total.dye), key=itemgetter(0)) for total in weighed.dyes if total.solution_ml)
    replaced_ml: dict[_Place, float] = defaultdict(float)
    for ml, (one, *others), dye in sorted(least, key=itemgetter(0)):
        strength, times = plan.solution_pct(dye.dye), _times([one, *others])
        if (weaker := weaker_pct(dye.powder_g * times, strength, plan.jug_ml)) is None:
            continue
        thinned_ml, place = ml * strength / weaker, (one.batch.no, dye.layer, dye.section)
        more_ml = thinned_ml - ml
        if above(replaced_ml[place] + more_ml, _water_beside_ml(plan, one, dye) * times):
            continue
        replaced_ml[place] += more_ml
        # Powder enough that the scale is `FAIR_PCT` off at most.
        enough_g = max(plan.scale_g * 50 / FAIR_PCT, round_up(dye.powder_g * times / plan.scale_g) * plan.scale_g)
        made = f"{mass_text(plan, enough_g)} powder made up to {volume_text(plan, enough_g * 100 / weaker)}"
        weak = f"{solution_text(plan, thinned_ml)} of a {weaker:g} % solution ({made})"
        shown = (mix_text if others else solution_text)(plan, ml)
        whose = ", ".join(each.batch.no for each in (one, *others))
        yield f"{dye.dye} for {whose}: {shown} by pipette, or {weak} and {volume_text(plan, more_ml)} less water"


def _small(step: float, amounts: Iterable[_Measured]) -> list[_Measured]:
    """Return what a jug or scale of this step measures too roughly, the least first."""
    small = (each for each in amounts if each[0] and above(uncertain_pct(each[0], step), FAIR_PCT))
    return sorted(small, key=lambda each: each[0])


def _off_text(small: Sequence[_Measured], shown: Sequence[str], step: float, scale: str) -> str:
    """Return "Peat for 04: 0.3 g of powder may be off by 17 % on a …"; ``shown`` are amounts as on the sheet."""
    several = shown[0] != shown[-1]
    span = f"{shown[0]} to {shown[-1]}" if several else shown[0]
    least, most = (to_measure(small[n][0], step) for n in (0, -1))
    if below(most, step):
        off = f"{'are' if several else 'is'} too little for {scale}"
    elif below(least, step):
        off = f"may be off by {uncertain_pct(most, step):.0f} % or more on {scale}"
    else:
        off = f"may be off by {'up to ' if several else ''}{uncertain_pct(least, step):.0f} % on {scale}"
    whose = ", ".join(sorted({one.batch.no for _, mix, _ in small for one in mix}))
    return f"{small[0][2].dye} for {whose}: {span} of powder {off}"


def _water_beside_ml(plan: Plan, one: BatchWeighed, amount: PlannedDye) -> float:
    """Return the water in the part of the liquor that a dye goes into: the room for more solution."""
    layer = plan.colourway(one.batch.colourway).layers[amount.layer - 1]
    liquor = next(each for each in one.liquors if each.layer == amount.layer)
    return section_waters_ml(one.dyes, liquor, layer)[amount.section - 1]
