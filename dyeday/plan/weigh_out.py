"""The weigh-out: dye, solution, acid and water for each batch and the whole day, and what is short."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial

from dyeday.craft.dye.measuring import Mix, to_mix, to_step
from dyeday.craft.errors import above, round_up
from dyeday.grouping import grouped
from dyeday.plan.amount_text import made_up_ml, mass_text, solution_text
from dyeday.plan.doses import Dose, layer_dose, poured_in_all, soak_dose, soak_l
from dyeday.plan.model import Base, Batch, Dye, Layer, Plan
from dyeday.plan.recipe import WASTE_PCT, PlannedDye, planned_dyes
from dyeday.quick_dataclass import dataclass
from dyeday.terms import AcidPlace, DyeMethod, UnitSystem
from dyeday.units import show_volume


@dataclass(frozen=True, slots=True)
class LayerLiquor:
    """The liquor of one layer: its volume, the dye solutions in it, water to make it up, and its acid."""

    layer: int
    how: DyeMethod
    liquor_ml: float
    solutions_ml: float
    acid_in: AcidPlace
    dose: Dose | None
    mixed_for: str = ""
    """batches that the liquor was mixed for, with dye on already: "07"; this one gets the rest"""

    @property
    def is_shared(self) -> bool:
        """Whether one mix of it serves several batches: a bath does not, nor does dry powder."""
        return self.how is not DyeMethod.IMMERSED and self.liquor_ml > 0

    @property
    def acid_ml(self) -> float:
        """The liquid acid in it, mL; 0 for a powder and where there is none."""
        return self.dose.acid_ml or 0.0 if self.dose is not None else 0.0

    @property
    def water_ml(self) -> float:
        """The water that makes it up."""
        return max(0.0, self.liquor_ml - self.solutions_ml - self.acid_ml)


@dataclass(frozen=True, slots=True)
class BatchWeighed:
    """What one batch needs: powders and solutions, water and acid for its soaks, liquor of its layers."""

    batch: Batch
    wof_g: float
    dyes: tuple[PlannedDye, ...]
    soak_l: float
    """water in each of its soaks"""
    acid_soaks: tuple[tuple[int, Dose | None], ...]
    """(layer, dose) of each soak with acid that its layers ask for; None where the dose cannot be worked out"""
    liquors: tuple[LayerLiquor, ...]

    @property
    def liquor_ml(self) -> float:
        """Liquor of all its layers."""
        return sum(liquor.liquor_ml for liquor in self.liquors)

    @property
    def soaks(self) -> list[tuple[str, Dose | None, int]]:
        """(name, dose, how many) of its soaks with acid; those with the same dose are one."""
        by_dose = grouped((dose, str(layer)) for layer, dose in self.acid_soaks)
        before = {dose: f"soak before layer {' and '.join(layers)}" for dose, layers in by_dose.items()}
        return [(before[dose] if len(by_dose) > 1 else "soak", dose, len(layers)) for dose, layers in by_dose.items()]

    @property
    def doses(self) -> list[Dose]:
        """The known doses of acid: one for each soak that has acid, one for each layer's liquor."""
        each = (*(dose for _, dose in self.acid_soaks), *(liquor.dose for liquor in self.liquors))
        return [dose for dose in each if dose is not None]


@dataclass(frozen=True, slots=True)
class DyeTotal:
    """One dye over the day: powder in all, solution in all and what to mix of it with its waste, what is short."""

    dye: str
    powder_g: float
    solution_ml: float
    mix_ml: float
    mix_powder_g: float
    from_bottle_ml: float
    """old solution that goes into the mix"""
    dry_powder_g: float
    """what goes on as powder, as the scale weighs it for each batch"""
    on_hand_g: float | None
    short_g: float | None


@dataclass(frozen=True, slots=True)
class WeighOut:
    """Amounts for all chosen batches; ``liquid`` says that the acid is measured in mL, else in g."""

    batches: tuple[BatchWeighed, ...]
    dyes: tuple[DyeTotal, ...]
    acid: float
    """mL or g: the full doses of every bath"""
    liquid: bool
    doses_known: bool
    acid_poured: tuple[float, float]
    """acid to have ready: each pour of the sheet as jug or scale measures it, in hard and in softened water"""


def weigh_out(
    plan: Plan,
    batches: Iterable[Batch] | None = None,
    weights_g: Mapping[str, float] | None = None,
    begun: Mapping[str, tuple[int, bool]] | None = None,
    mixed_for: Mapping[str, str] | None = None,
) -> WeighOut:
    """Return the weigh-out of ``batches``, or of all the plan's; ``weights_g`` by number where they were weighed.

    ``begun`` has, by number, how many layers have their dye, and whether the next has soaked: both are left out, and
    the dye of a next layer that was mixed for others too: those, "07", in ``mixed_for``.
    """
    chosen = plan.batches if batches is None else batches
    weights, still = weights_g or {}, begun or {}
    whole = (weigh_batch(plan, batch, weights.get(batch.no)) for batch in chosen)
    left = (_still(one, *still.get(one.batch.no, (0, False))) for one in whole)
    weighed = tuple(_from_mix(one, (mixed_for or {}).get(one.batch.no, "")) for one in left)
    doses = [dose for one in weighed for dose in one.doses]
    pours = [pour for one in weighed for pour in _pours(plan, one)]
    return WeighOut(
        batches=weighed,
        dyes=tuple(_totals(plan, weighed)),
        acid=sum(dose.amount for dose in doses),
        liquid=plan.acid.is_liquid,
        doses_known=bool(doses),
        acid_poured=(sum(hard for hard, _ in pours), sum(softened for _, softened in pours)),
    )


def _pours(plan: Plan, one: BatchWeighed) -> Iterator[tuple[float, float]]:
    """Yield each pour of acid as jug or scale measures it, in hard and in softened water: a soak's, a section's."""
    for number, dose in (*one.acid_soaks, *((liquor.layer, liquor.dose) for liquor in one.liquors)):
        if dose is not None:
            layer = plan.colourway(one.batch.colourway).layers[number - 1]
            softened = dose.amount if dose.if_softened is None else dose.if_softened
            yield poured_in_all(plan, layer, dose.amount), poured_in_all(plan, layer, softened)


def mix_of(weighed: WeighOut, one: BatchWeighed, layer: int) -> list[BatchWeighed]:
    """Return the batches that one mix for a layer of a batch is to be made for; itself alone, or [] for no mix."""
    liquor = next(each for each in one.liquors if each.layer == layer)
    if not liquor.is_shared or liquor.mixed_for:
        return []
    lot = (one.batch.colourway, one.batch.base)
    of_lot = (other for other in weighed.batches if (other.batch.colourway, other.batch.base) == lot)
    return [other for other in of_lot if any(x.layer == layer and not x.mixed_for for x in other.liquors)]


def weigh_batch(plan: Plan, batch: Batch, weighed_g: float | None = None) -> BatchWeighed:
    """Return the amounts of one batch, by its weight where it was weighed, else by its count."""
    base, colourway = plan.base(batch.base), plan.colourway(batch.colourway)
    wof_g = batch.skeins * base.skein_g if weighed_g is None else weighed_g
    dyes = planned_dyes(plan.solution_pct, colourway, wof_g)
    liquors = []
    for number, layer in enumerate(colourway.layers, 1):
        solutions = sum(d.solution_ml or 0.0 for d in dyes if d.layer == number)
        liquors.append(layer_liquor(plan, base, layer, number, wof_g, solutions))
    soaked = ((number, layer) for number, layer in enumerate(colourway.layers, 1) if layer.own_acid_soak)
    soaks = tuple((number, soak_dose(plan, wof_g, base, layer)) for number, layer in soaked)
    return BatchWeighed(batch, wof_g, tuple(dyes), soak_l(wof_g), soaks, tuple(liquors))


def _still(one: BatchWeighed, layers: int, has_soaked: bool) -> BatchWeighed:
    """Return what a batch still needs after so many ``layers`` have their dye."""
    soaks = tuple((layer, dose) for layer, dose in one.acid_soaks if layer > layers + has_soaked)
    return replace(
        one,
        dyes=tuple(dye for dye in one.dyes if dye.layer > layers),
        liquors=one.liquors[layers:],
        acid_soaks=soaks,
        soak_l=one.soak_l if soaks or not (layers or has_soaked) else 0.0,
    )


def _from_mix(one: BatchWeighed, mixed_for: str) -> BatchWeighed:
    """Return a batch without dye and acid of its next layer if its liquor was mixed for others too."""
    if not mixed_for or not one.liquors or not one.liquors[0].is_shared:
        return one
    first, *later = one.liquors
    dyes = tuple(dye for dye in one.dyes if dye.layer != first.layer)
    return replace(one, dyes=dyes, liquors=(replace(first, solutions_ml=0.0, dose=None, mixed_for=mixed_for), *later))


def layer_liquor(plan: Plan, base: Base, layer: Layer, number: int, wof_g: float, solutions_ml: float) -> LayerLiquor:
    """Return the liquor of ``layer``, the colourway's ``number``-th, for ``wof_g`` of yarn."""
    volume_ml = layer.liquor_ml(wof_g) or solutions_ml
    dose = layer_dose(plan, layer, wof_g, base) if layer.acid_in != AcidPlace.SOAK else None
    return LayerLiquor(number, layer.how, volume_ml, solutions_ml, layer.acid_in, dose)


def section_waters_ml(dyes: Sequence[PlannedDye], liquor: LayerLiquor, layer: Layer) -> tuple[float, ...]:
    """Return the water in each section's part of a layer's liquor; together the layer's own water.

    A section that stays dry, or whose solutions exceed its part, gets none, and the others share the rest.
    """
    gaps = []
    for n, share in enumerate(layer.liquor_shares, 1):
        gaps.append(max(0.0, (liquor.liquor_ml - liquor.acid_ml) * share - section_solution_ml(dyes, liquor, n)))
    total = sum(gaps)
    return tuple(gap * liquor.water_ml / total if total else 0.0 for gap in gaps)


def _totals(plan: Plan, weighed: Iterable[BatchWeighed]) -> Iterable[DyeTotal]:
    grams, solution_ml, dry_g = (defaultdict[str, float](float) for _ in range(3))
    for amount in (amount for one in weighed for amount in one.dyes):
        grams[amount.dye] += amount.powder_g
        if amount.solution_ml is None:
            dry_g[amount.dye] += weighed_g(plan, amount.powder_g)
        solution_ml[amount.dye] += amount.solution_ml or 0.0
    for name, powder_g in grams.items():
        dye, needed_ml = plan.dye(name) or Dye(name), solution_ml[name]
        mix_of = partial(to_mix, strength_pct=dye.solution_pct, left_ml=dye.bottle_ml, left_pct=dye.bottle_pct)
        mix = Mix(0.0, 0.0, 0.0, 0.0)
        if needed_ml:
            total_ml = needed_ml * (1 + WASTE_PCT / 100)
            mix = mix_of(total_ml)
            mix = mix_of(made_up_ml(plan, total_ml)) if mix.powder_g else mix
        on_hand_g = dye.on_hand_g
        need_g = mix.powder_g + dry_g[name]
        yield DyeTotal(
            dye=name,
            powder_g=powder_g,
            solution_ml=needed_ml,
            mix_ml=mix.total_ml,
            mix_powder_g=mix.powder_g,
            from_bottle_ml=mix.from_bottle_ml,
            dry_powder_g=dry_g[name],
            on_hand_g=on_hand_g,
            short_g=None if on_hand_g is None else need_g - on_hand_g if above(need_g, on_hand_g) else 0.0,
        )


def mix_from(plan: Plan, total: DyeTotal) -> str:
    """Return what a dye's solution is mixed from: "40 mL from the bottle of 01 Mar, 2 %, and 1.6 g powder"."""
    dye, parts = plan.dye(total.dye) or Dye(total.dye), []
    if total.from_bottle_ml:
        made = f" of {dye.bottle_made:%d %b}" if dye.bottle_made else ""
        strength = f", {dye.bottle_pct:g} %" if dye.bottle_pct else ""
        comma = "," if strength and total.mix_powder_g else ""
        parts.append(f"{solution_text(plan, total.from_bottle_ml)} from the bottle{made}{strength}{comma}")
    if total.mix_powder_g:
        parts.append(f"{mass_text(plan, total.mix_powder_g)} powder")
    return " and ".join(parts) or "nothing"


def weighed_g(plan: Plan, grams: float) -> float:
    """Return powder as the scale shows it; what is too little for the scale as it is."""
    return to_step(grams, plan.scale_g) or grams


def stronger_text(times: float) -> str:
    """Return how to get the same dye in less liquid: in the plan, for the amounts of every batch change with it."""
    return f"set `solution` of its dyes {round_up(times * 10) / 10:g} times as strong in the plan"


def section_solution_ml(dyes: Sequence[PlannedDye], liquor: LayerLiquor, section: int) -> float:
    """Return the solutions of a section of a layer, in mL."""
    return sum(d.solution_ml or 0.0 for d in dyes if (d.layer, d.section) == (liquor.layer, section))


def no_room_in(liquor: LayerLiquor, system: UnitSystem) -> tuple[str, str] | None:
    """Return (message, hint) for a layer whose solutions exceed its liquor."""
    room = liquor.liquor_ml - liquor.acid_ml
    if liquor.liquor_ml <= 0 or liquor.how is DyeMethod.SPECKLED or not above(liquor.solutions_ml, room):
        return None
    stronger = stronger_text(liquor.solutions_ml / room) if room > 0 else ""
    solutions, whole, acid = (
        show_volume(ml, system, 1.0) for ml in (liquor.solutions_ml, liquor.liquor_ml, liquor.acid_ml)
    )
    beside = f" beside {acid} of acid" if liquor.acid_ml else ""
    what = f"{solutions} of solutions do not fit into {whole} of liquor{beside}"
    return what, f"{stronger}, or use more liquor" if stronger else "use more liquor"
