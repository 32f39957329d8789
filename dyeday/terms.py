"""The closed sets as enums; their values are words of plans and JSON."""

from __future__ import annotations

from enum import Enum
from typing import NamedTuple


class Term(Enum):
    """A word of a closed set. Members hash by identity, four times faster than by name."""

    _value_: str
    __hash__ = object.__hash__


class State(Term):
    """Where a batch is. SPLIT is internal: the batch goes on as its parts."""

    WAITING = "waiting"
    SOAK = "soak"
    PAINT = "paint"
    FIX = "fix"
    COOL = "cool"
    RINSE = "rinse"
    DRY = "dry"
    """hangs to dry"""
    DONE = "done"
    SET_ASIDE = "set-aside"
    SCRAPPED = "scrapped"
    SPLIT = "split"


STATES = tuple(state for state in State if state is not State.SPLIT)
"""those a batch can be moved to"""


class HeatKind(Term):
    """What a step of a layer's fix is: a kind of heat, or REST, the least time between two heats."""

    STEAM = "steam"
    MICROWAVE = "microwave"
    SIMMER = "simmer"
    REST = "rest"


class KitKind(Term):
    TRAY = "tray"
    POT = "pot"
    MICROWAVE = "microwave"
    STEAMER = "steamer"
    SPINNER = "spinner"
    SINK = "sink"
    PEGS = "pegs"


class KitTraits(NamedTuple):
    """What a kind of kit can do."""

    heat: HeatKind | None = None
    """the heat it gives"""
    heat_verb: str = "heats"
    """what a unit does at heat"""
    warm_up_min: float = 0.0
    """from switching on to full heat, where the plan does not say; common practice, no source"""
    limits_batch: bool = False
    """a batch is made no larger than one unit holds, but where it may soak in several trays"""
    in_turn: bool = False
    """a batch goes through it dish by dish, one at a time, and rests in it in between"""
    together: bool = False
    """the forecast puts batches into one unit together, as far as there is room"""
    joined: bool = False
    """the forecast lets a batch with a heat of the same length join a load that is on already"""
    hangs: bool = False
    """skeins hang in it"""
    switches_off: bool = False
    """its own timer ends the heat, where the plan does not say"""
    steady: bool = False
    """its heat counts towards the least minutes a dye needs"""
    scorches: bool = False
    """a heat much longer than its load needs can scorch it"""
    scheduled: bool = True
    """steps of the schedule take a unit of it"""
    boundless: bool = False
    """a plan need not say how much it holds"""


KIT_TRAITS = {
    KitKind.TRAY: KitTraits(limits_batch=True, together=True),
    KitKind.POT: KitTraits(HeatKind.SIMMER, "simmers", warm_up_min=10.0, limits_batch=True, steady=True),
    KitKind.MICROWAVE: KitTraits(HeatKind.MICROWAVE, in_turn=True, switches_off=True, scorches=True),
    KitKind.STEAMER: KitTraits(
        HeatKind.STEAM, "steams", warm_up_min=10.0, limits_batch=True, together=True, joined=True, steady=True
    ),
    KitKind.SPINNER: KitTraits(scheduled=False),
    KitKind.SINK: KitTraits(boundless=True),
    KitKind.PEGS: KitTraits(hangs=True),
}

KIT_OF_HEAT = {traits.heat: kind for kind, traits in KIT_TRAITS.items() if traits.heat is not None}
"""the kind of kit that gives a kind of heat"""
STEADY_HEATS = tuple(heat for heat in HeatKind if heat in KIT_OF_HEAT and KIT_TRAITS[KIT_OF_HEAT[heat]].steady)


class DyeMethod(Term):
    """How a layer's dye goes on."""

    PAINTED = "painted"
    SPECKLED = "speckled"
    IMMERSED = "immersed"


class Cover(Term):
    """How painted yarn waits."""

    OPEN = "open"
    LIDDED = "lidded"
    WRAPPED = "wrapped"


class AcidPlace(Term):
    """What a layer's acid goes into."""

    SOAK = "soak"
    BATH = "bath"
    PAINT = "paint"


class CoolWhere(Term):
    IN_PLACE = "in place"
    OUT = "out"


class PhWith(Term):
    """What pH is read with."""

    STRIP = "strip"
    METER = "meter"


class DosePer(Term):
    """What a dyer's own dose of acid is per; WOF: percent of the yarn's weight, as pure acid."""

    PER_100_G = "100 g"
    WOF = "WOF"
    LITRE = "L"


class Form(Term):
    """What one piece of a base is."""

    SKEIN = "skein"
    MINI = "mini"
    BLANK = "blank"


class ChoreWhen(Term):
    BEFORE_SOAK = "before soak"
    BEFORE_PAINT = "before paint"
    AFTER_PAINT = "after paint"
    AFTER_COOL = "after cool"
    AFTER_RINSE = "after rinse"
    AFTER_DRY = "after dry"
    END_OF_DAY = "end of day"


class ChorePer(Term):
    DAY = "day"
    LOT = "lot"
    BATCH = "batch"
    SKEIN = "skein"


class ExtraPer(Term):
    DAY = "day"
    LOT = "lot"
    BATCH = "batch"
    SKEIN = "skein"
    PER_100_G = "100 g"


class DayAim(Term):
    """What a day aims at: most batches rinsed by stop or through their heat by stop, or all rinsed tonight."""

    BY_STOP = "by stop"
    TONIGHT = "tonight"
    HEAT_BY_STOP = "heat by stop"


class UnitSystem(Term):
    """What amounts are shown in."""

    METRIC = "metric"
    US = "US"


class Outcome(Term):
    """What a finished batch is sold as."""

    FIRST = "first"
    SECOND = "second"
    ONE_OFF = "one-off"


class HeatEdge(Term):
    """Switched on, at full heat (steaming, simmering), switched off."""

    START = "start"
    AT_HEAT = "heat"
    END = "end"


class ReadingKind(Term):
    PH = "ph"
    BATH_C = "bath_c"
    YARN_C = "yarn_c"
    RINSE_C = "rinse_c"
    WEIGHT_G = "weight_g"
    SPUN_G = "spun_g"
    EYE = "eye"
    JAR = "jar"
    ABSORBANCE = "absorbance"
    CLOTH = "cloth"
    SWATCH = "swatch"


class UnitEvent(Term):
    """What happened to a unit."""

    FILLED = "filled"
    TOPPED_UP = "topped up"
    EMPTIED = "emptied"
    DOWN = "down"
    UP = "up"


class Water(Term):
    """What water a load goes into: new, or that of the load before."""

    NEW = "new"
    KEPT = "kept"


class AlarmKind(Term):
    HEAT = "heat"
    TANK = "tank"
    WAIT = "wait"


class AlarmAction(Term):
    """What was done about an alarm."""

    SILENCED = "acknowledged"
    SNOOZED = "shelved"
    UNSNOOZED = "unshelved"


class AlarmState(Term):
    """States of an alarm as in ISA-18.2 / IEC 62682."""

    ACTIVE = "active"
    SILENCED = "acknowledged"
    RETURNED = "returned to normal"
    SNOOZED = "shelved"
    NORMAL = "normal"


class TimerKind(Term):
    """What a timer counts; SINCE only shows how long."""

    SOAK = "soak"
    WARM_UP = "warm-up"
    HEAT = "heat"
    REST = "rest"
    WAIT = "wait"
    COOL = "cool"
    DRY = "dry"
    TANK = "tank"
    SINCE = "since"


class AdviceAction(Term):
    """What the dyer chose about the advice."""

    NOT_NOW = "not now"
    THIS_FIRST = "instead"
    SERVES = "serves"


class LookRule(Term):
    """When what is left in a bath is to be looked at before yarn is rinsed."""

    ALWAYS = "always"
    KNOWN_TO_BLEED = "when known to bleed"
    NEVER = "never"


class FlagId(Term):
    MISSED_ACID_SOAK = "missed-acid-soak"
    NO_ACID = "no-acid"
    WEAK_ACID = "weak-acid"
    SOUR_BATH = "sour-bath"
    SHORT_SOAK = "short-soak"
    DRIED_OUT = "dried-out"
    SHORT_FIX = "short-fix"
    SCORCH_RISK = "scorch-risk"
    UNDER_EXHAUSTED = "under-exhausted"
    NO_BATH_READING = "no-bath-reading"
    RINSED_HOT = "rinsed-hot"
    FELTING_RISK = "felting-risk"
    BLEEDING = "bleeding"
    NOT_DRY = "not-dry"
    OVER_FULL = "over-full"
    CROWDED_RACK = "crowded-rack"
    OVERLOADED_CIRCUIT = "overloaded-circuit"
    BOIL_DRY = "boil-dry"
    LEFT_ALONE = "left-alone"
    MIXED_LOT = "mixed-lot"
    OVERDUE = "overdue"
    SHORT_STOCK = "short-stock"


FLAGS_OF_DAY = frozenset({FlagId.SHORT_STOCK})
"""those about the whole day; the others are about a batch"""


class WarningKind(Term):
    """What a warning of the forecast is about; the values are those of JSON, flags by their own ids."""

    DRIED_OUT = "dried-out"
    OVERLOADED_CIRCUIT = "overloaded-circuit"
    BOIL_DRY = "boil-dry"
    CIRCUIT_FULL = "circuit-full"
    LEFT_OUT = "left-out"
    WILL_NOT_FIT = "will-not-fit"
    LATEST_START = "latest-start"
    OVERNIGHT = "overnight"
    SHORT_MIX = "short-mix"
    LEFT_ALONE = "left-alone"
    FLAG_FIRST = "flag-first"
    DUE_LATE = "due-late"


class WorkKind(Term):
    """What learned times are of; the values are stored."""

    PAINTED = "painted"
    SPECKLED = "speckled"
    IMMERSED = "immersed"
    RINSE = "rinse"
    LOAD = "load"
    UNLOAD = "unload"
    COOL_OUT = "cool out"
    COOL_IN_PLACE = "cool in place"
    DRY = "dry"
    SOAK = "soak"


class StockKind(Term):
    """What stands on the shelf; all but a bottle of solution may be delivered."""

    DYE = "dye"
    BOTTLE = "bottle"
    ACID = "acid"
    EXTRA = "extra"
    YARN = "yarn"


class MoveKind(Term):
    """What a movement of the shelf was; UNDONE takes back those of a session."""

    RECEIVED = "received"
    COUNTED = "counted"
    USED = "used"
    MADE = "made"
    UNDONE = "undone"


class StepKind(Term):
    """The kinds of step of the schedule; the values are stored with advice."""

    SOAK_LOAD = "soak load"
    SOAK = "soak"
    PAINT = "paint"
    SPECKLE = "speckle"
    DYE = "dye"
    FILL = "fill"
    LOAD = "load"
    """of one batch into a heater"""
    HEAT = "run"
    ACID = "acid"
    DISH = "dish"
    UNLOAD = "unload"
    RINSE = "rinse"
    DRY = "dry"
    CHORE = "chore"

    @property
    def puts_dye_on(self) -> bool:
        """Whether it is one of the steps that put a layer's dye on."""
        return self in (StepKind.PAINT, StepKind.SPECKLE, StepKind.DYE)
