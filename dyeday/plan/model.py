"""The session plan as plain frozen values: every quantity a float in the unit its name carries.

Above 400 lines, for it is one list: every kind of value a plan holds, each with its units, and nothing to reckon.
Times of day are minutes from midnight of the session's date in the session's zone; 1530 is 01:30 of the next day.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date as Date  # noqa: N812 - the field is called date
from functools import cached_property
from math import ceil

from dyeday.craft.water.acids import AcidKind
from dyeday.craft.yarn.cooling_curve import OUT_MIN
from dyeday.plan.rules import Rules
from dyeday.terms import (
    AcidPlace,
    ChorePer,
    ChoreWhen,
    CoolWhere,
    Cover,
    ExtraPer,
    Form,
    HeatKind,
    How,
    KitKind,
    PhWith,
    Serves,
    UnitSystem,
)

MOST_PIECES = 5000
"""of an order or a batch; more is a slip of the finger"""
HOLD_MIN = 30.0
"""least time at heat of a section; common practice, no source"""
DARK_PCT = 2.0
"""a section above it needs longer; common practice, no source"""
DARK_HOLD_MIN = 45.0
"""least time at heat of a section above `DARK_PCT`; common practice, no source"""
MOST_SPARE = 500
"""of an order"""
PUTTING_DYE_ON = {How.PAINTED: "paint", How.SPECKLED: "speckle", How.IMMERSED: "dye"}


@dataclass(frozen=True, slots=True)
class Water:
    """The water of the tap; alkalinity and hardness are None where nobody measured them."""

    alkalinity_mg_l: float | None = None
    """as CaCO3"""
    hardness_mg_l: float | None = None
    temperature_c: float = 15.0
    rinse_temperature_c: float = 15.0


@dataclass(frozen=True, slots=True)
class Acid:
    """The acid on the shelf and the pH it is to bring a bath to."""

    kind: AcidKind = AcidKind.VINEGAR
    strength_pct: float | None = 5.0
    """% w/v; None for a solid"""
    target_ph: float = 4.5
    ph_with: PhWith = PhWith.STRIP
    on_hand: float | None = None
    """mL of a liquid, g of a solid"""
    fibre_takes_mmol_per_g: float | None = None
    """the fibre's own share of acid by hand; None for the usual allowance"""
    price: float | None = None
    """money per mL of a liquid, per g of a solid"""

    @property
    def is_liquid(self) -> bool:
        return self.kind in (AcidKind.VINEGAR, AcidKind.CITRIC_SOLUTION)

    @property
    def unit(self) -> str:
        """What it is measured out in: mL of a liquid, g of a solid."""
        return "mL" if self.is_liquid else "g"

    @property
    def name(self) -> str:
        """What the shelf calls it: "vinegar 5 %", "citric"."""
        kind = self.kind.value
        return kind if self.strength_pct is None else f"{kind} {self.strength_pct:g} %"


@dataclass(frozen=True, slots=True)
class Circuit:
    """One circuit of the house, with what may hang on it at once."""

    name: str
    volts: float
    amps: float
    continuous_share: float | None = None
    lead_amps: float | None = None


@dataclass(frozen=True, slots=True)
class Kit:
    """One kind of equipment: ``units`` pieces that hold the same and draw the same."""

    name: str
    kind: KitKind
    units: int = 1
    holds_skeins: int | None = None
    holds_g: float | None = None
    power_w: float | None = None
    output_w: float | None = None
    circuit: str | None = None
    tank_l: float | None = None
    lasts_min: float | None = None
    warm_up_min: float = 0.0
    load_min: float = 2.0
    unload_min: float = 2.0

    @property
    def unit_names(self) -> tuple[str, ...]:
        return tuple(f"{self.name} {n}" for n in range(1, self.units + 1))

    def skeins_of(self, skein_g: float) -> int | None:
        """Return how many skeins of ``skein_g`` one unit holds; None where it holds any number."""
        if self.holds_skeins is not None:
            return self.holds_skeins
        if self.holds_g is not None:
            return int((self.holds_g + 1e-9) // skein_g)
        return None


@dataclass(frozen=True, slots=True)
class Base:
    """One undyed yarn, in pieces of ``skein_g``."""

    name: str
    fibre: tuple[tuple[str, float], ...]
    """(fibre, %) adding to 100"""
    skein_g: float
    length_m: float | None = None
    form: Form = Form.SKEIN
    soak_min: float = 45.0
    on_hand: float | None = None
    price: float | None = None
    """money for one undyed piece"""
    sells: float | None = None
    """money for one dyed piece, where the order says nothing else"""
    care: str = ""
    """care words for the label; empty: as the fibres ask"""


@dataclass(frozen=True, slots=True)
class Dye:
    """One dye powder and the solution the dyer makes of it."""

    name: str
    solution_pct: float = 1.0
    on_hand_g: float | None = None
    price_per_g: float | None = None
    min_steam_min: float | None = None
    """None: `HOLD_MIN`, or `DARK_HOLD_MIN` where a section carries more than `DARK_PCT` of all its dyes"""
    expected_exhaustion_pct: float | None = None
    dye_class: str = ""
    """of acid dyes: levelling, milling, premetallised, …; empty where it is not said"""
    ph_low: float | None = None
    """of the bath it wants, as said or by its class; None where neither is known"""
    ph_high: float | None = None
    bottle_ml: float = 0.0
    """solution left from another day"""
    bottle_pct: float | None = None
    """its strength, % w/v; None: as ``solution_pct``"""
    bottle_made: Date | None = None


@dataclass(frozen=True, slots=True)
class Section:
    """A stretch of a skein with dyes of its own, (dye, % DOS of that stretch)."""

    share_pct: float
    swatch: str | None
    dyes: tuple[tuple[str, float], ...]
    """(dye, % DOS of that section); parts of the powder where the layer is speckled by powder"""


@dataclass(frozen=True, slots=True)
class FixStep:
    """One pass of heat, or the least rest between two."""

    how: HeatKind
    minutes: float

    @property
    def is_heat(self) -> bool:
        return self.how is not HeatKind.REST


@dataclass(frozen=True, slots=True)
class Layer:
    """One time round paint, fix and cool."""

    how: How
    sections: tuple[Section, ...]
    fix: tuple[FixStep, ...]
    minutes_per_100g: float = 6.0
    setup_min: float = 0.0
    liquor_ml_per_100g: float = 90.0
    """for an immersed layer too: 20 L/kg are 2000 mL per 100 g"""
    powder_g_per_100g: float | None = None
    cover: Cover = Cover.WRAPPED
    acid_in: AcidPlace = AcidPlace.SOAK
    new_soak: bool = True
    """whether this layer wants a soak of its own before dye goes on"""
    cool_min: float = OUT_MIN
    cool_where: CoolWhere = CoolWhere.OUT
    target_ph: float | None = None
    """of this layer's bath, instead of what its dyes or the plan's acid say"""

    @property
    def word(self) -> str:
        """What the screen calls putting this layer's dye on: paint, speckle or dye."""
        return PUTTING_DYE_ON[self.how]

    @property
    def heats(self) -> tuple[FixStep, ...]:
        return tuple(step for step in self.fix if step.is_heat)

    def heat_of(self, pass_no: int) -> FixStep:
        """Return heat ``pass_no`` (from 1), the last one where a record counts further than the recipe does."""
        return self.heats[min(pass_no, len(self.heats)) - 1]

    def rest_before(self, heat_no: int) -> float:
        """Return the least minutes of rest before heat ``heat_no`` (from 1), 0 where none is asked."""
        seen, rest = 0, 0.0
        for step in self.fix:
            if step.is_heat:
                seen += 1
                if seen == heat_no:
                    return rest
                rest = 0.0
            else:
                rest += step.minutes
        return 0.0

    @property
    def dyes(self) -> tuple[str, ...]:
        """Every dye of the layer once, in the order of its sections."""
        return tuple(dict.fromkeys(name for section in self.sections for name, _ in section.dyes))


@dataclass(frozen=True, slots=True)
class Colourway:
    """A named colour: its layers in order, and how it is rinsed and dried."""

    name: str
    layers: tuple[Layer, ...]
    rinse_min_per_100g: float = 2.0
    dry_h: float = 24.0
    steps: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Chore:
    """Other attended work: tying, mixing, wrapping, spinning out, re-skeining, packing."""

    name: str
    minutes: float
    per: ChorePer
    when: ChoreWhen


@dataclass(frozen=True, slots=True)
class Extra:
    """Soap, wetting agent, salt: ``amount`` of it goes into every one of ``per``."""

    name: str
    amount: float
    """mL or g, as ``unit`` says"""
    unit: str = "mL"
    per: ExtraPer = ExtraPer.BATCH
    on_hand: float | None = None
    price: float | None = None
    """money per mL or g"""


OrderKey = tuple[str, str, str]
"""(item, colourway, base): by which an order is known"""


@dataclass(frozen=True, slots=True)
class Order:
    """What somebody wants: so many skeins of a colourway on a base."""

    item: str
    colourway: str
    base: str
    skeins: int
    due: Date | None = None
    priority: int = 5
    match: bool = False
    spare: int = 0
    price: float | None = None
    """money one piece is sold for; None: as the base sells"""
    parcel: str = ""
    """what it goes out with: an order number, a customer, a set; empty: by itself"""
    sample: bool = False
    """dyed and not sold: for the shade card, a fair, a photo"""

    @property
    def key(self) -> OrderKey:
        return self.item, self.colourway, self.base


@dataclass(frozen=True, slots=True)
class HandBatch:
    """A batch as the plan's ``[[batch]]`` table has it, before it meets the automatic split."""

    no: str | None = None
    order: str | None = None
    skeins: int | None = None
    tag: str = ""
    carried: str = ""
    """the session and number it comes from: "2026-03-14-1/03"; its story comes with it"""
    colourway: str = ""
    """with ``base`` tells apart orders that share their item; may be empty where ``order`` alone is enough"""
    base: str = ""


@dataclass(frozen=True, slots=True)
class Batch:
    """Skeins that move together, with the shares of the orders in them."""

    no: str
    colourway: str
    base: str
    skeins: int
    tag: str = ""
    shares: tuple[tuple[str, int], ...] = ()
    """(order's item, skeins of it), spares under the order they belong to"""
    mix: str = ""
    """which mix of dye its lot is dyed from; batches of one lot share it"""
    lot: str = ""
    """the number of its lot, where that was begun on another day"""
    carried: str = ""
    """the session and number it comes from"""


@dataclass(frozen=True, slots=True)
class Money:
    """What a lot costs beside yarn, dye and acid; None where it is not reckoned."""

    currency: str = ""
    energy_per_kwh: float | None = None
    hands_per_h: float | None = None


@dataclass(frozen=True, slots=True)
class Session:
    """The day itself: when hands are there, and how amounts and times are shown."""

    name: str
    date: Date
    start_min: int
    stop_min: int
    tomorrow: tuple[tuple[int, int], ...] = ()
    breaks: tuple[tuple[int, int], ...] = ()
    zone: str | None = None
    hands: int = 1
    serves: Serves = Serves.BY_STOP
    units: UnitSystem = UnitSystem.METRIC
    screen_height_mm: float | None = None


@dataclass(frozen=True)
class Plan:
    """Everything that should happen, as read from one file."""

    session: Session
    water: Water = field(default_factory=Water)
    acid: Acid = field(default_factory=Acid)
    rules: Rules = field(default_factory=Rules)
    scale_g: float = 0.1
    jug_ml: float = 5.0
    air_temperature_c: float | None = None
    air_humidity_pct: float | None = None
    altitude_m: float | None = None
    """above the sea: how hot water boils"""
    money: Money = field(default_factory=Money)
    circuits: tuple[Circuit, ...] = ()
    kit: tuple[Kit, ...] = ()
    bases: tuple[Base, ...] = ()
    dyes: tuple[Dye, ...] = ()
    colourways: tuple[Colourway, ...] = ()
    chores: tuple[Chore, ...] = ()
    extras: tuple[Extra, ...] = ()
    orders: tuple[Order, ...] = ()
    batches: tuple[Batch, ...] = ()

    def kit_of(self, unit: str) -> Kit | None:
        """Return the kit that ``unit`` ("steamer 2") is one of, or None."""
        return self._kit_by_unit.get(unit)

    @cached_property
    def _kit_by_unit(self) -> dict[str, Kit]:
        # The first of a name counts, as it does where units are listed.
        return {unit: kit for kit in reversed(self.kit) for unit in kit.unit_names}

    def units_of(self, kind: KitKind) -> tuple[str, ...]:
        """Return the names of all units of a kind, in the plan's order."""
        return tuple(unit for kit in self.kit if kit.kind is kind for unit in kit.unit_names)

    @property
    def unit_names(self) -> tuple[str, ...]:
        return tuple(unit for kit in self.kit for unit in kit.unit_names)

    def base(self, name: str) -> Base:
        """Return the base of this name. Raises KeyError: reading a plan leaves no order without its own."""
        for base in self.bases:
            if base.name == name:
                return base
        raise KeyError(name)

    def colourway(self, name: str) -> Colourway:
        """Return the colourway of this name. Raises KeyError, as `base` does."""
        for colourway in self.colourways:
            if colourway.name == name:
                return colourway
        raise KeyError(name)

    def dye(self, name: str) -> Dye | None:
        """Return the dye of this name, None where a session's plan was changed since and has it no more."""
        return next((dye for dye in self.dyes if dye.name == name), None)

    def solution_pct(self, dye: str) -> float:
        """Return the strength a dye's solution is made at, % w/v; the usual 1 % of a dye the plan does not have."""
        known = self.dye(dye)
        return known.solution_pct if known is not None else Dye(dye).solution_pct

    def dye_minimum_min(self, layer: Layer) -> float:
        """Return the longest hold at heat that any section of ``layer`` needs, in minutes.

        30 min, 45 min where all dyes of the section together are above 2 % DOS (common practice, no source); a dye
        that says its own needs that instead.
        """
        longest = 0.0
        for section in layer.sections:
            # 2.0 % put together of 0.7, 0.7 and 0.6 is not above 2 % by its last binary digit.
            dark = layer.powder_g_per_100g is None and sum(pct for _, pct in section.dyes) > DARK_PCT + 1e-9
            for name, _ in section.dyes:
                dye = self.dye(name)
                own = dye.min_steam_min if dye is not None else None
                longest = max(longest, own if own is not None else DARK_HOLD_MIN if dark else HOLD_MIN)
        return longest


def pots_of(kit: Kit | None, skeins: int, skein_g: float) -> int:
    """Return how many pot-fuls ``skeins`` make in one unit of ``kit``; 1 where the kit is unknown."""
    holds = kit.skeins_of(skein_g) if kit else None
    return ceil(skeins / holds) if holds else 1
