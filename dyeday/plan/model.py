"""The session plan as plain frozen values: every quantity a float in the unit its name carries.

Each key is declared beside the field that keeps it; colourways are in `plan/recipe.py`, kit in `plan/equipment.py`.
Times of day are minutes from midnight of the session's date in the session's zone; 1530 is 01:30 of the next day.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import field
from datetime import date as Date  # noqa: N812 - the field is called date
from functools import cached_property
from typing import Annotated, Any, ClassVar

from dyeday.craft.dye.dye_classes import PH_OF_CLASS
from dyeday.craft.water.acids import POURED, VINEGAR_PCT, AcidKind
from dyeday.craft.water.alkalinity import HIGHEST_MG_L
from dyeday.plan.equipment import Circuit, Kit, dishes_of
from dyeday.plan.recipe import DEEP_PCT, PUTTING_DYE_ON, Colourway, FixStep, Layer, Section
from dyeday.plan.rules import Rules
from dyeday.plan.schema import PIECES, Key
from dyeday.quick_dataclass import dataclass
from dyeday.terms import (
    KIT_OF_HEAT,
    KIT_TRAITS,
    ChorePer,
    ChoreWhen,
    DayAim,
    DosePer,
    ExtraPer,
    Form,
    HeatKind,
    KitKind,
    PhWith,
    UnitSystem,
)
from dyeday.text import LONGEST_TAG

__all__ = [
    "DEEP_HOLD_MIN", "DEEP_PCT", "HOLD_MIN", "MOST_PIECES", "MOST_SPARE", "PUTTING_DYE_ON", "Acid", "Base", "Batch",
    "Chore", "Circuit", "Colourway", "Dye", "Extra", "FixStep", "HandBatch", "Kit", "Layer", "Money", "Order",
    "OrderKey", "Plan", "Rules", "Section", "Session", "Water", "dishes_of",
]  # fmt: skip

WHICH_ACID = "any acetic acid is vinegar; a powder is citric unless its label says monohydrate"
ACID_PCT = {AcidKind.VINEGAR: VINEGAR_PCT}
"""strength by kind of acid, % w/v; the others have none until it is said"""
MOST_PIECES = 5000
"""of an order or a batch; more is a typing mistake"""
HOLD_MIN = 30.0
"""least time at heat of a section; common practice, no source"""
DEEP_HOLD_MIN = 45.0
"""least time at heat of a section above `DEEP_PCT`; common practice, no source"""
MOST_SPARE = 500
"""of an order"""
Spans = tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Water:
    """The water of the tap; alkalinity and hardness are None where they were not measured."""

    alkalinity_mg_l: Annotated[
        float | None,
        Key('as CaCO3, or such as "8 dKH" or "5.2 mmol/L" (acid capacity); of HCO3 write bicarbonate = 220, in mg/L',
            "mg/L", 0, HIGHEST_MG_L, "alkalinity", own=True),
    ] = None  # fmt: skip
    hardness_mg_l: Annotated[float | None, Key("total, as CaCO3", "mg/L", 0, HIGHEST_MG_L, "hardness")] = None
    temperature_c: Annotated[float, Key("of the cold tap", "°C", 0, 60, "temperature")] = 15.0
    rinse_temperature_c: Annotated[
        float,
        Key("of rinsing water", "°C", 0, 60, "rinse_temperature",
            usual=lambda v: v["temperature_c"], usually="water.temperature"),
    ] = 15.0  # fmt: skip


@dataclass(frozen=True)
class Acid:
    """The acid on the shelf and its target pH."""

    kind: Annotated[AcidKind, Key(WHICH_ACID)] = AcidKind.VINEGAR
    strength_pct: Annotated[
        float | None,
        Key("of a liquid, g in 100 mL", "% w/v", 0.1, 100, "strength", own=True,
            usual=lambda v: ACID_PCT.get(v["kind"]), usually="5 % for vinegar; needed for a solution"),
    ] = 5.0  # fmt: skip
    """% w/v; None for a solid"""
    target_ph: Annotated[float, Key("pH of the bath 10 min after the yarn goes in", "", 2.5, 7.5)] = 4.5
    dose: Annotated[
        float | None,
        Key('your own full dose: "20 mL per 100 g", "15 mL/L", or "1 % WOF" of pure acid', own=True,
            usually="worked out from water and fibre; 1 % WOF if the water is unknown"),
    ] = None  # fmt: skip
    """mL or g of this acid, or %, as ``dose_per`` says"""
    dose_per: DosePer = DosePer.PER_100_G
    parts: Annotated[
        int | None, Key("in how many parts a pot gets acid: one first, the rest at the simmer", "", 1, 4, usually="2")
    ] = None
    ph_with: Annotated[PhWith, Key("what pH is read with")] = PhWith.STRIP
    on_hand: Annotated[float | None, Key("how much you have, in mL of a liquid or g of a solid", own=True)] = None
    fibre_takes_mmol_per_g: Annotated[
        float | None, Key("mmol of acid that 1 g of yarn takes up; try 0.1 if pH always reads high", "",
                          0, 2, "fibre_takes", usually="by pH; wool about 0.05 at pH 4.5")
    ] = None  # fmt: skip
    price: Annotated[float | None, Key("money per mL of a liquid, per g of a solid", "", 0, 1e5)] = None

    @cached_property
    def is_liquid(self) -> bool:
        """Whether it is measured in mL, not weighed in g."""
        return self.kind in POURED

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
class Base:
    """One undyed yarn, in pieces of ``skein_g``."""

    name: Annotated[str, Key("the name orders use")]
    fibre: Annotated[tuple[tuple[str, float], ...], Key("in %, 100 in all, { merino = 80, nylon = 20 }", own=True)]
    skein_g: Annotated[float, Key("weight of one skein", "g", 1, 5000, "skein")]
    length_m: Annotated[float | None, Key("length of one skein", "m", 0.5, 20_000, "length")] = None
    form: Annotated[Form, Key("skein, mini or blank")] = Form.SKEIN
    soak_min: Annotated[
        float,
        Key("how long it soaks", "min", 0, 1440, "soak", always=True,
            usually="20 min superwash and nylon; else 45 min", usual=lambda v: usual_soak_min(v["fibre"])),
    ] = 45.0  # fmt: skip
    on_hand: Annotated[float | None, Key("skeins in stock", "", 0, 1e6, strip=PIECES)] = None
    price: Annotated[float | None, Key("money for one undyed skein", "", 0, 1e6)] = None
    sells: Annotated[float | None, Key("money for one dyed skein, if the order has no price", "", 0, 1e6)] = None
    care: Annotated[str, Key("care words for the label", longest=200, usually="as the fibres need")] = ""


def usual_soak_min(fibre: tuple[tuple[str, float], ...]) -> float:
    """Return the minutes that a base soaks whose table gives none; common practice, no source."""
    return 20.0 if any(name.startswith("superwash") or name == "nylon" for name, _ in fibre) else 45.0


@dataclass(frozen=True, slots=True)
class Dye:
    """One dye powder and the solution the dyer makes of it."""

    name: Annotated[str, Key("the name recipes use")]
    solution_pct: Annotated[float, Key("strength you make it at, g in 100 mL", "% w/v", 0.01, 30, "solution")] = 1.0
    on_hand_g: Annotated[float | None, Key("powder in stock", "g", 0, 1e6, "on_hand")] = None
    price_per_g: Annotated[float | None, Key("money per g", "", 0, 1e5, "price")] = None
    min_steam_min: Annotated[
        float | None, Key("minutes at full heat it needs", "min", 0, 600, "min_steam",
                          usually="30 min; 45 min above 2 % DOS")
    ] = None  # fmt: skip
    expected_exhaustion_pct: Annotated[
        float | None, Key("share that goes onto the yarn, if below the usual", "%", 1, 100, "expected_exhaustion",
                          usually="rules.exhaustion")
    ] = None  # fmt: skip
    dye_class: Annotated[
        str, Key("by the maker's sheet; it sets the pH of its bath",
                 name="class", words=tuple(PH_OF_CLASS))
    ] = ""  # fmt: skip
    ph_low: Annotated[
        float | None, Key('pH of the bath it needs, such as "4-6"', name="ph", own=True, usually="by its class")
    ] = None
    ph_high: float | None = None
    bottle_ml: Annotated[
        float, Key('solution left over, { left = "40 mL", strength = "2 %", made = 2026-03-01 }; left is needed',
                   name="bottle", own=True, usually="none")
    ] = 0.0  # fmt: skip
    bottle_pct: float | None = None
    """its strength, % w/v; None: as ``solution_pct``"""
    bottle_made: Date | None = None


@dataclass(frozen=True, slots=True)
class Chore:
    """Other attended work: tying, mixing, wrapping, spinning out, re-skeining, packing."""

    name: Annotated[str, Key("what it is")]
    minutes: Annotated[float, Key("how long it takes each time", "min", 0, 1440)]
    per: Annotated[ChorePer, Key("once for each")]
    when: Annotated[ChoreWhen, Key("when it is done")]


@dataclass(frozen=True, slots=True)
class Extra:
    """Soap, wetting agent, salt: ``amount`` of it goes into every one of ``per``."""

    name: Annotated[str, Key("what it is")]
    amount: Annotated[float, Key('how much each time: "2 mL" or "5 g"', own=True)]
    """mL or g, as ``unit`` says"""
    unit: str = "mL"
    per: Annotated[ExtraPer, Key("what gets that amount")] = ExtraPer.BATCH
    on_hand: Annotated[float | None, Key("how much you have, in the unit of amount", own=True)] = None
    price: Annotated[float | None, Key("money per mL or g", "", 0, 1e5)] = None


OrderKey = tuple[str, str, str]
"""(item, colourway, base): by which an order is known"""


@dataclass(frozen=True, slots=True)
class Order:
    """An order: skeins of a colourway on a base."""

    item: Annotated[str, Key("what you call it")]
    colourway: Annotated[str, Key("a [[colourway]]", own=True)]
    base: Annotated[str, Key("a [[base]]", own=True)]
    skeins: Annotated[int, Key("how many", "", 1, MOST_PIECES)]
    due: Annotated[Date | None, Key("the day it is due")] = None
    priority: Annotated[
        int, Key("lower numbers and earlier due dates go first, if the day gets as much done", "", 1, 9)
    ] = 5
    match: Annotated[bool, Key("all from one mix")] = False
    spare: Annotated[int, Key("how many more, for stock", "", 0, MOST_SPARE)] = 0
    price: Annotated[float | None, Key("money for one skein", "", 0, 1e6, usually="base.sells")] = None
    parcel: Annotated[str, Key("the parcel it goes with: an order number, a customer, a set")] = ""
    sample: Annotated[bool, Key("dyed and not sold: for the shade card, a fair, a photo")] = False

    @property
    def key(self) -> OrderKey:
        """(item, colourway, base): which identifies it among the orders of a plan."""
        return self.item, self.colourway, self.base


@dataclass(frozen=True, slots=True)
class HandBatch:
    """A batch as the plan's ``[[batch]]`` table gives it, before the automatic split."""

    no: Annotated[str | None, Key('such as "03"; without [[batch]], kit decides', own=True)] = None
    order: Annotated[str | None, Key("the item of its order", own=True)] = None
    skeins: Annotated[int | None, Key("how many, if order is given", "", 1, MOST_PIECES)] = None
    tag: Annotated[str, Key("what you tie to it", longest=LONGEST_TAG)] = ""
    carried: Annotated[str, Key('where it comes from: "2026-03-14-1/03"; `carry` writes it', longest=40)] = ""
    colourway: Annotated[str, Key("the order's, where several orders have this item")] = ""
    base: Annotated[str, Key("the order's, where several orders have this item")] = ""


@dataclass(frozen=True, slots=True)
class Batch:
    """Skeins, minis or blanks (all are ``skeins``) that move together, with the shares of the orders in them."""

    no: str
    colourway: str
    base: str
    skeins: int
    tag: str = ""
    shares: tuple[tuple[str, int], ...] = ()
    """(order's item, skeins of it), spares under the order they belong to"""
    mix: str = ""
    """the mix it is to be dyed from; "" for that of its colourway and base"""
    lot: str = ""
    """the number of its lot, where that was begun on another day"""
    carried: str = ""
    """the session and number it comes from"""


@dataclass(frozen=True, slots=True)
class Money:
    """What a lot costs beside yarn, dye and acid; None if not counted."""

    currency: Annotated[str, Key("its sign or letters", longest=8)] = ""
    energy_per_kwh: Annotated[float | None, Key("money for one kWh", "", 0, 1e5, "energy")] = None
    hands_per_h: Annotated[float | None, Key("price of an hour of work", "", 0, 1e5, "hands")] = None


AIMS = {"rinsed by stop": DayAim.BY_STOP, "rinsed tonight": DayAim.TONIGHT, "heat by stop": DayAim.HEAT_BY_STOP}
"""words of session.aim"""


@dataclass(frozen=True, slots=True)
class Session:
    """The day itself: when hands are there, and how amounts and times are shown."""

    STORED_AS: ClassVar[Mapping[str, str]] = {"aim": "serves"}
    name: Annotated[str, Key("what you call the day")]
    date: Annotated[Date, Key("its date")]
    start_min: Annotated[int, Key("when you start", name="start", clock=True)]
    stop_min: Annotated[int, Key('when you want to finish; after midnight "01:30+1"', name="stop", clock=True)]
    tomorrow: Annotated[Spans, Key('your hours on the next day, ["09:00-17:00"]', usually="same hours")] = ()
    breaks: Annotated[Spans, Key('when you are not free, ["13:00-13:30"]')] = ()
    out: Annotated[Spans, Key('when you are out of the house, ["15:05-15:40"]: no work and no heat')] = ()
    zone: Annotated[str | None, Key('such as "Europe/Paris"', usually="this computer's")] = None
    hands: Annotated[int, Key("people; learned times use it, the forecast plans for one", "", 1, 20)] = 1
    aim: Annotated[
        DayAim, Key('most rinsed by stop, all rinsed as early as possible, or most through their heat by stop',
                    own=True, words=tuple(AIMS), usually=f'"{next(iter(AIMS))}"')
    ] = DayAim.BY_STOP  # fmt: skip
    units: Annotated[UnitSystem, Key("how amounts are shown")] = UnitSystem.METRIC
    screen_height_mm: Annotated[
        float | None, Key("height of your screen, for the far view", "mm", 50, 2000, "screen_height")
    ] = None
    studio: Annotated[str, Key("your studio's name, for labels and packing lists")] = ""


@dataclass(frozen=True)
class Plan:
    """Everything that should happen, as read from one file."""

    session: Session
    water: Water = field(default_factory=Water)
    acid: Acid = field(default_factory=Acid)
    rules: Rules = field(default_factory=Rules)
    scale_g: Annotated[float, Key("its smallest step", "g", 0.0001, 50, "resolution", "scale")] = 0.1
    jug_ml: Annotated[
        float, Key("how far apart its marks are; what is between them is for a pipette", "mL", 0.01, 1000,
                   "resolution", "jug")
    ] = 5.0  # fmt: skip
    air_temperature_c: Annotated[
        float | None, Key("for drying times; below 5 °C they are a guess", "°C", -10, 60,
                          "temperature", "air")
    ] = None  # fmt: skip
    air_humidity_pct: Annotated[float | None, Key("for drying times", "%", 0, 100, "humidity", "air")] = None
    altitude_m: Annotated[
        float | None, Key("above the sea; it lowers the boiling point", "m", -500, 5000, "altitude", "air")
    ] = None
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

    @cached_property
    def kit_of(self) -> Callable[[str | None], Kit | None]:
        """Looks up the kit that a unit ("steamer 2") is one of; None for a unit that the plan does not have."""
        # The first of a name counts, as it does where units are listed; so with the names below.
        kit_by_unit: dict[str | None, Kit] = {unit: kit for kit in reversed(self.kit) for unit in kit.unit_names}
        return kit_by_unit.get

    def first_of(self, kind: KitKind) -> Kit | None:
        """Return the first kit of a kind, None where there is none."""
        return next((kit for kit in self.kit if kit.kind is kind), None)

    @cached_property
    def worked_out(self) -> dict[object, Any]:
        """Cached values that follow from the plan alone, by function and arguments."""
        return {}

    def switches_off(self, unit: str | None, heat: HeatKind) -> bool:
        """Return whether a unit's own timer ends a heat; without a unit, whether that of its kit does."""
        kit = self.kit_of(unit) or self.first_of(KIT_OF_HEAT[heat])
        return KIT_TRAITS[KIT_OF_HEAT[heat]].switches_off if kit is None else kit.switches_off

    @cached_property
    def units_of(self) -> Callable[[KitKind], dict[str, Kit]]:
        """Looks up the units of a kind of kit: the kit of each by the unit's name, in the plan's order."""
        kit = {unit: kit for unit in self.unit_names if (kit := self.kit_of(unit)) is not None}
        return {kind: {unit: one for unit, one in kit.items() if one.kind is kind} for kind in KitKind}.__getitem__

    @cached_property
    def unit_names(self) -> tuple[str, ...]:
        """The units of all kit, in the plan's order."""
        return tuple(unit for kit in self.kit for unit in kit.unit_names)

    @cached_property
    def base(self) -> Callable[[str], Base]:
        """Looks up a base by name. Raises KeyError: reading a plan leaves no order without its own."""
        return {base.name: base for base in reversed(self.bases)}.__getitem__

    @cached_property
    def colourway(self) -> Callable[[str], Colourway]:
        """Looks up a colourway by name. Raises KeyError, as `base` does."""
        return {colourway.name: colourway for colourway in reversed(self.colourways)}.__getitem__

    @cached_property
    def dye(self) -> Callable[[str], Dye | None]:
        """Looks up a dye by name; None if a changed plan no longer has it."""
        return {dye.name: dye for dye in reversed(self.dyes)}.get

    @cached_property
    def solution_pct(self) -> Callable[[str], float]:
        """Looks up the strength a dye's solution is made at, % w/v; the usual 1 % of a dye the plan does not have."""
        strengths = {dye.name: dye.solution_pct for dye in reversed(self.dyes)}
        return defaultdict(lambda: Dye("").solution_pct, strengths).__getitem__  # no method: a key press asks often

    def dye_minimum_min(self, layer: Layer) -> float:
        """Return the longest hold at heat that any section of ``layer`` needs, in minutes.

        30 min, 45 min where its dyes together are above 2 % DOS (common practice, no source), or a dye's own.
        """
        holds = [0.0]
        for section in layer.sections:
            usual = DEEP_HOLD_MIN if section.is_deep and layer.powder_g_per_100g is None else HOLD_MIN
            own = ((self.dye(name) or Dye(name)).min_steam_min for name, _ in section.dyes)
            holds += [usual if minutes is None else minutes for minutes in own]
        return max(holds)
