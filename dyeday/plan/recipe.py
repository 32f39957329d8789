"""A colourway: its layers in order, with sections, heat, cover and cooling, and the dye and liquor they take."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cached_property
from typing import Annotated, ClassVar

from dyeday.craft.dye import depth_of_shade as shade
from dyeday.craft.errors import above
from dyeday.craft.yarn.cooling_curve import COOL_IN_POT_MIN, COOL_OUT_MIN
from dyeday.plan.schema import PER_100G, Key
from dyeday.quick_dataclass import dataclass
from dyeday.terms import AcidPlace, CoolWhere, Cover, DyeMethod, HeatKind

PUTTING_DYE_ON = {DyeMethod.PAINTED: "paint", DyeMethod.SPECKLED: "speckle", DyeMethod.IMMERSED: "dye"}
"""what the screen calls putting a layer's dye on"""
DEEP_PCT = 2.0
"""a section above it is deep: it needs longer at heat, and bleeds at first; common practice, no source"""
MOST_DOS_PCT = 5.0
"""Anionic dyes are typically used at 0.1-5.0 % owf (US patent 5,925,149, background)."""
WASTE_PCT = 5.0
"""Solution mixed beyond what is needed, for what stays in jug and pipette; common practice, no source."""


@dataclass(frozen=True, slots=True)
class UsualLayer:
    """The defaults of a layer; common practice, no source."""

    liquor_ml_per_100g: float
    cover: Cover
    acid_in: AcidPlace
    cool_where: CoolWhere


_PUT_ON = UsualLayer(90.0, Cover.WRAPPED, AcidPlace.SOAK, CoolWhere.OUT)
_FLICKED_ON = UsualLayer(0.0, Cover.WRAPPED, AcidPlace.SOAK, CoolWhere.OUT)
_IMMERSED = UsualLayer(2000.0, Cover.LIDDED, AcidPlace.BATH, CoolWhere.IN_PLACE)


def usual_layer(how: DyeMethod) -> UsualLayer:
    """Return the defaults of a layer; a pot cools in place, for yarn lifted out of it scalds and misses dye."""
    return {DyeMethod.IMMERSED: _IMMERSED, DyeMethod.SPECKLED: _FLICKED_ON}.get(how, _PUT_ON)


def usual_cool_min(how: DyeMethod, where: CoolWhere) -> float:
    """Return the minutes a layer cools: a pot of liquor takes longer than yarn, lifted out or in a closed steamer."""
    in_its_pot = how is DyeMethod.IMMERSED and where is CoolWhere.IN_PLACE
    return COOL_IN_POT_MIN if in_its_pot else COOL_OUT_MIN


@dataclass(frozen=True, slots=True)
class Section:
    """A stretch of a skein with dyes of its own, (dye, % DOS of that stretch)."""

    share_pct: float
    swatch: str | None
    dyes: tuple[tuple[str, float], ...]
    """(dye, % DOS of that section); parts of the powder where the layer is speckled by powder"""

    @property
    def is_deep(self) -> bool:
        """Whether its dyes together are above `DEEP_PCT`."""
        return above(sum(pct for _, pct in self.dyes), DEEP_PCT)


@dataclass(frozen=True, slots=True)
class FixStep:
    """One heat, or the least rest between two."""

    how: HeatKind
    minutes: float

    @property
    def is_heat(self) -> bool:
        """Whether it is a heat, not a rest."""
        return self.how is not HeatKind.REST


@dataclass(frozen=True)
class Layer:
    """One time round paint, fix and cool."""

    STORED_AS: ClassVar[Mapping[str, str]] = {"own_acid_soak": "new_soak"}

    how: Annotated[DyeMethod, Key("how the dye goes on", usually='"painted"', usual=lambda _: DyeMethod.PAINTED)]
    sections: Annotated[
        tuple[Section, ...],
        Key(
            '[{ share = 60, dyes = { "Slate Blue" = 0.8 } }, { share = 40, dyes = {}, swatch = "#6b7f3a" }]: '
            "shares in %, 100 in all; dyes in % of the section's weight, or parts of powder; swatch is its colour "
            "on the screen and may be left out",
            own=True,
        ),
    ]
    fix: Annotated[
        tuple[FixStep, ...],
        Key('heats (microwave: of each dish) and rests: ["steam 40 min", "rest 5 min"]', own=True),
    ]
    minutes_per_100g: Annotated[
        float, Key("work at the table, for 100 g", "min", high=600, name="minutes", strip=PER_100G)
    ] = 6.0
    setup_min: Annotated[float, Key("work before the first skein of a lot", "min", high=600, name="setup")] = 0.0
    liquor_ml_per_100g: Annotated[
        float,
        Key("dye liquor for 100 g; an immersed layer's in L per kg, 1 to 200", "mL", 1, 5000, "liquor", own=True,
            usually="90 mL painted, 20 L/kg immersed, none speckled"),
    ] = 90.0  # fmt: skip
    """for an immersed layer too: 20 L/kg are 2000 mL per 100 g"""
    powder_g_per_100g: Annotated[
        float | None,
        Key("powder for 100 g of speckled yarn, divided among the sections' dyes", "g", 0.001, 50,
            "powder", strip=PER_100G, own=True),
    ] = None  # fmt: skip
    cover: Annotated[
        Cover,
        Key("how painted yarn waits", usual=lambda v: usual_layer(v["how"]).cover,
            usually='"wrapped"; "lidded" immersed'),
    ] = Cover.WRAPPED  # fmt: skip
    acid_in: Annotated[
        AcidPlace,
        Key("what this layer's acid goes into; a later layer soaks again only if you write soak",
            usual=lambda v: usual_layer(v["how"]).acid_in, own=True,
            usually='"soak"; "bath" immersed'),
    ] = AcidPlace.SOAK  # fmt: skip
    own_acid_soak: bool = True
    """whether it has its acid in a soak of its own, before its dye goes on; a first layer is soaked in any case"""
    cool_where: Annotated[
        CoolWhere,
        Key("whether it cools in its unit or out of it", usual=lambda v: usual_layer(v["how"]).cool_where,
            usually='"out"; "in place" immersed'),
    ] = CoolWhere.OUT  # fmt: skip
    cool_min: Annotated[
        float,
        Key("cooling after the last heat", "min", high=2880, name="cool", usually="60 min; 300 min in its pot",
            usual=lambda v: usual_cool_min(v["how"], v["cool_where"])),
    ] = COOL_OUT_MIN  # fmt: skip
    target_ph: Annotated[
        float | None, Key("pH of its bath", "", 2.5, 7.5, usually="as its dyes say, else acid.target_ph")
    ] = None

    @property
    def heats(self) -> tuple[FixStep, ...]:
        """The heats of its fix, in order, without the rests."""
        return tuple(step for step in self.fix if step.is_heat)

    @property
    def fix_text(self) -> str:
        """Its fix in words: "microwave 2 min a dish, rest 5 min, microwave 2 min a dish"."""
        dish = {HeatKind.MICROWAVE: " a dish"}
        return ", ".join(f"{step.how.value} {step.minutes:g} min{dish.get(step.how, '')}" for step in self.fix)

    @cached_property
    def swatches(self) -> tuple[tuple[str, float], ...]:
        """(#rrggbb, % of the skein) of the sections that have a swatch, in their order."""
        return tuple((section.swatch, section.share_pct) for section in self.sections if section.swatch)

    def dyeing_min(self, wof_g: float, *, setup: bool = True) -> float:
        """Return the minutes that putting its dye on ``wof_g`` of yarn takes, with or without setting up the mix."""
        return self.minutes_per_100g * wof_g / 100 + (self.setup_min if setup else 0.0)

    @property
    def overfull(self) -> list[tuple[float, float]]:
        """(share, depth of shade), both %, of each section with more dye than fibre can hold; none of dry powder."""
        depths = ((section.share_pct, sum(dos for _, dos in section.dyes)) for section in self.sections)
        is_powder = self.powder_g_per_100g is not None
        return [(share, dos) for share, dos in depths if not is_powder and above(dos, MOST_DOS_PCT)]

    @property
    def wetted_pct(self) -> tuple[float, ...]:
        """What its liquor wets of the yarn in each section: all of it in a bath, else only what has dye."""
        dry = self.how is not DyeMethod.IMMERSED and any(section.dyes for section in self.sections)
        return tuple(0.0 if dry and not section.dyes else section.share_pct for section in self.sections)

    @property
    def wetted_share(self) -> float:
        """The share of the yarn that its liquor wets, 0 to 1."""
        return sum(self.wetted_pct) / sum(section.share_pct for section in self.sections)

    @property
    def liquor_shares(self) -> tuple[float, ...]:
        """Each section's share of its liquor, 0 to 1; together 1."""
        wetted_pct = self.wetted_pct
        return tuple(pct / sum(wetted_pct) for pct in wetted_pct)

    @property
    def acid_share(self) -> float:
        """The share of yarn that its acid is for, 0 to 1: all of it in a soak or bath, else what the paint wets."""
        return 1.0 if self.acid_in is AcidPlace.SOAK else self.wetted_share

    def liquor_ml(self, wof_g: float) -> float:
        """Return the mL of liquor for the part of ``wof_g`` that gets dye; 0 for powder and dye flicked on."""
        if self.powder_g_per_100g is not None:
            return 0.0
        return self.liquor_ml_per_100g * wof_g * self.wetted_share / 100

    def heat_of(self, heat_no: int) -> FixStep:
        """Return heat ``heat_no`` (from 1); the last one if the recipe has fewer."""
        heats = self.heats
        return heats[min(heat_no, len(heats)) - 1]

    def rest_before(self, heat_no: int) -> float:
        """Return the least minutes of rest before heat ``heat_no`` (from 1), 0 where none is asked."""
        heats = [-1, *(n for n, step in enumerate(self.fix) if step.is_heat)]
        if heat_no >= len(heats):
            return 0.0
        return sum(step.minutes for step in self.fix[heats[heat_no - 1] + 1 : heats[heat_no]])

    @cached_property
    def dyes(self) -> tuple[str, ...]:
        """Every dye of the layer once, in the order of its sections."""
        return tuple(dict.fromkeys(name for section in self.sections for name, _ in section.dyes))


@dataclass(frozen=True, slots=True)
class Colourway:
    """A named colour: its layers in order, and how it is rinsed and dried."""

    name: Annotated[str, Key("name of the colour")]
    layers: Annotated[
        tuple[Layer, ...],
        Key("one [[colourway.layer]] for each time round; a single layer's keys may be written here", name="layer",
            own=True),
    ]  # fmt: skip
    rinse_min_per_100g: Annotated[float, Key("rinsing, for 100 g", "min", high=240, name="rinse", strip=PER_100G)] = (
        2.0
    )
    dry_h: Annotated[float, Key("drying", "h", high=400, name="dry")] = 24.0
    steps: Annotated[tuple[str, ...], Key("how it is painted, line by line, shown at the bench")] = ()

    def layer_of(self, number: int) -> Layer:
        """Return layer ``number``, from 1; the nearest one where there is no such layer."""
        return self.layers[min(max(number, 1), len(self.layers)) - 1]


@dataclass(frozen=True, slots=True)
class PlannedDye:
    """One dye of one section of one layer (both from 1). ``solution_ml`` is None where it goes on as powder."""

    dye: str
    layer: int
    section: int
    powder_g: float
    solution_ml: float | None


def planned_dyes(solution_pct: Callable[[str], float], colourway: Colourway, wof_g: float) -> list[PlannedDye]:
    """Return what dry yarn takes by layer, section and dye; ``solution_pct`` gives a dye's strength, % w/v."""
    layers = enumerate(colourway.layers, 1)
    return [dye for number, layer in layers for dye in layer_dyes(solution_pct, layer, number, wof_g)]


def layer_dyes(
    solution_pct: Callable[[str], float], layer: Layer, number: int, wof_g: float
) -> tuple[PlannedDye, ...]:
    """Return what one layer takes, as `planned_dyes`. Powder is shared out by section, then by the dyes' parts."""
    out = []
    powder = layer.powder_g_per_100g
    total_pct = sum(section.share_pct for section in layer.sections)  # three thirds are written 33.3
    for place, section in enumerate(layer.sections, 1):
        part_g = wof_g * section.share_pct / total_pct
        parts = sum(amount for _, amount in section.dyes)
        for name, amount in section.dyes:
            if powder is not None:
                grams = shade.speckle_powder_g(part_g, powder) * amount / parts
                out.append(PlannedDye(name, number, place, grams, None))
                continue
            grams = shade.powder_g(part_g, amount)
            out.append(PlannedDye(name, number, place, grams, shade.solution_ml(grams, solution_pct(name))))
    return tuple(out)
