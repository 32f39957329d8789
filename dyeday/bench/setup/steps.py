"""The steps and fields of setup: why each is asked, what happens without it, and its default."""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum, auto

from dyeday.craft.water.acids import AcidKind
from dyeday.craft.yarn.fibres import FIBRES
from dyeday.plan.model import AIMS, WHICH_ACID
from dyeday.quick_dataclass import dataclass
from dyeday.terms import KIT_TRAITS, DyeMethod, Form, HeatKind, KitKind, PhWith

_HEATS = frozenset(kind for kind in KitKind if KIT_TRAITS[kind].heat is not None)
_STEAMS = frozenset(kind for kind in KitKind if KIT_TRAITS[kind].heat is HeatKind.STEAM)
_PLUGGED_IN = _HEATS | {KitKind.SPINNER}
Typed = Mapping[str, str]
_KIT: tuple[tuple[str, Typed], ...] = (
    ("soaking trays", {"name": "tray", "kind": "tray", "units": "2", "holds": "4"}),
    ("stockpot on a hob", {"name": "pot", "kind": "pot", "holds": "400 g", "warm_up": "30"}),
    ("slow cooker", {"name": "slow cooker", "kind": "pot", "holds": "200 g", "power": "250", "warm_up": "90"}),
    ("urn or jam kettle", {"name": "urn", "kind": "pot", "holds": "600 g", "power": "1800"}),
    ("steamer", {"name": "steamer", "kind": "steamer", "holds": "4", "power": "1500"}),
    ("microwave", {"name": "microwave", "kind": "microwave", "holds": "2", "power": "1300"}),
    ("spin dryer", {"name": "spinner", "kind": "spinner", "holds": "6"}),
    ("sink", {"name": "sink", "kind": "sink"}),
    ("drying rack or line", {"name": "rack", "kind": "pegs", "holds": "20"}),
)
_BASES: tuple[tuple[str, Typed], ...] = (
    ("sock yarn, 75 superwash merino, 25 nylon", {"name": "Sock", "fibre": "75 superwash merino, 25 nylon"}),
    ("superwash merino", {"name": "Merino", "fibre": "100 superwash merino"}),
    ("merino, not superwash", {"name": "Soft Merino", "fibre": "100 merino"}),
    ("bluefaced leicester", {"name": "Leicester", "fibre": "100 bluefaced leicester"}),
    ("merino and silk", {"name": "Silk Blend", "fibre": "50 merino, 50 silk"}),
    ("kid mohair and silk lace", {"name": "Mohair Lace", "fibre": "72 kid mohair, 28 silk", "skein": "50"}),
    ("alpaca", {"name": "Alpaca", "fibre": "100 alpaca"}),
    ("sock mini of 20 g", {"name": "Mini", "fibre": "75 superwash merino, 25 nylon", "skein": "20", "form": "mini"}),
)
_COLOURWAYS: tuple[tuple[str, Typed], ...] = (
    ("painted and steamed", {"layers": "1", "1.sections": "1", "1.how": "painted", "1.fix": "steam 45 min"}),
    ("immersed in a pot", {"layers": "1", "1.sections": "1", "1.how": "immersed", "1.fix": "simmer 45 min"}),
    ("speckled and steamed",
     {"layers": "1", "1.sections": "1", "1.how": "speckled", "1.powder": "0.15 g", "1.fix": "steam 45 min"}),
    ("painted, then glazed in a pot",
     {"layers": "2", "1.sections": "1", "1.how": "painted", "1.fix": "steam 45 min",
      "2.sections": "1", "2.how": "immersed", "2.fix": "simmer 30 min"}),
)  # fmt: skip
USUAL = {"kit": _KIT, "bases": _BASES, "colourways": _COLOURWAYS}
"""things to begin from, by the library's field, under the names people know them by; common practice, no source

Each figure is there to be changed; what must be measured is left out.
"""
HEATS = ("steam 45 min", "steam 40 min", "simmer 30 min", "simmer 45 min",
         "microwave 2 min, rest 2 min, microwave 2 min")  # fmt: skip
USUAL_HEATS = {
    DyeMethod.PAINTED.value: ("steam 45 min",),
    DyeMethod.SPECKLED.value: ("steam 45 min",),
    DyeMethod.IMMERSED.value: ("simmer 45 min", "simmer 30 min"),
}
"""those a colourway begins with, by how its layer is dyed"""
PALETTE = {
    "cream": "#efe6cf", "lemon": "#f2de6b", "gold": "#d9a521", "ochre": "#b9812b", "peach": "#f0b48c",
    "orange": "#e07b2a", "rust": "#a64b22", "brown": "#6b4429", "peat": "#3d2b20", "pink": "#e7a0b4",
    "rose": "#c75c7c", "red": "#b8252c", "berry": "#84203f", "plum": "#5b2a4f", "violet": "#6d4aa0",
    "lilac": "#b49ad0", "navy": "#1f2f58", "blue": "#2d5fa8", "sky": "#8fbbe0", "slate": "#53687a",
    "teal": "#1f7a7a", "sea": "#6fb3a8", "mint": "#a9d6bd", "green": "#3c7f45", "moss": "#75813c",
    "olive": "#5c5a2a", "lime": "#a5bf3e", "silver": "#b8bcc0", "grey": "#7b7f84", "black": "#1c1c1f",
}  # fmt: skip


class FieldForm(Enum):
    """How what is typed into a field is read."""

    VALUE = auto()
    """a number, or an amount with its unit"""
    NAME = auto()
    """text, also if it looks like a number"""
    MIX = auto()
    """shares with names, such as 75 superwash merino, 25 nylon"""
    TIME = auto()
    """a time of day"""
    SPANS = auto()
    """stretches of time, with commas between them"""
    LIST = auto()
    """texts, with commas between them"""


@dataclass(frozen=True, slots=True)
class Field:
    """One thing typed. ``usual`` counts where nothing is typed; ``words`` can be chosen, ``many`` of them or one."""

    key: str
    label: str
    why: str
    usual: str = ""
    words: tuple[str, ...] = ()
    form: FieldForm = FieldForm.VALUE
    kinds: frozenset[KitKind] = frozenset(KitKind)
    """kinds of kit that it is asked for"""
    many: bool = False
    is_needed: bool = False
    """whether a plan has to say it: the usual one where nothing is typed"""


@dataclass(frozen=True, slots=True)
class SetupStep:
    """``table`` is the plan's table that a step fills; ``library_key`` the field of `Library`, or ""."""

    letter: str
    title: str
    table: str
    why: str
    without: str
    fields: tuple[Field, ...]
    library_key: str = ""


START = Field("start", "start", "when you start work, such as 09:00", "09:00", form=FieldForm.TIME, is_needed=True)
STOP = Field(
    "stop",
    "stop",
    "when you want to finish; after midnight 01:30+1",
    "17:00",
    form=FieldForm.TIME,
    is_needed=True,
)
HOURS = SetupStep(
    "h", "Hours", "session", "the day is planned between start and stop, around your breaks",
    "09:00 to 17:00 without a break",
    (
        START, STOP,
        Field("breaks", "breaks", "at home, but no hands: 13:00-13:30, commas between several", "none",
              form=FieldForm.SPANS),
        Field("out", "out of the house",
              "no heat is planned while you are out: 15:05-15:40, commas between several", "never",
              form=FieldForm.SPANS),
        Field("aim", "aim", "rinsed by stop; rinsed tonight; or heat by stop, and rinsed another day",
              "rinsed by stop", tuple(AIMS), FieldForm.NAME),
        Field("studio", "studio's name", "printed on labels and packing lists", "none", form=FieldForm.NAME),
    ),
)  # fmt: skip
WATER = SetupStep(
    "w", "Water", "water", "alkalinity in the water uses up acid, so the dose depends on it",
    "acid goes by weight: 20 mL of 5 % vinegar to 100 g of fibre; read the pH",
    (
        Field("alkalinity", "alkalinity",
              "mg/L as CaCO3, 8 dKH, or 5.2 mmol/L (acid capacity): on the water report, or a KH test; not hardness",
              "not known yet"),
        Field("bicarbonate", "bicarbonate", "HCO3 in mg/L, as many reports give it: in place of alkalinity",
              "not known yet"),
        Field("hardness", "hardness",
              "second best, where alkalinity is not known",
              "not known yet"),
        Field("temperature", "cold tap, °C", "how warm the soak begins", "15"),
    ),
)  # fmt: skip
ACID = SetupStep(
    "a", "Acid", "acid", "the dose is for this acid at this strength", "vinegar of 5 %, to pH 4.5",
    (
        Field("kind", "kind", WHICH_ACID,
              "vinegar", tuple(kind.value for kind in AcidKind), FieldForm.NAME),
        Field("strength", "strength, %",
              "on the label, 5 for most vinegar; of your own mix, g of acid in 100 mL; not for a powder", "5"),
        Field("target_ph", "target pH", "10 min after the yarn goes in; the dye maker's sheet says it", "4.5"),
        Field("ph_with", "pH read with", "with a meter the limits are tighter", "strip",
              tuple(way.value for way in PhWith), FieldForm.NAME),
        Field("dose", "your own dose", "replaces the calculated dose: 20 mL per 100 g, 15 mL/L or 1 % WOF",
              "worked out"),
        Field("fibre_takes", "fibre takes",
              "mmol of acid for 1 g, wool about 0.05; pH always too high: try 0.1, too low: 0.03",
              "worked out"),
    ),
)  # fmt: skip
SCALE = SetupStep(
    "s", "Scale", "scale", "amounts are rounded to what your scale can weigh", "0.1 g",
    (Field("resolution", "smallest step", "the last digit the scale shows, in g", "0.1 g"),),
)  # fmt: skip
JUG = SetupStep(
    "j", "Jug", "jug", "amounts are rounded to what you can measure out", "5 mL",
    (Field("resolution", "marks every", "in mL; what is between the marks is for a pipette", "5 mL"),),
)  # fmt: skip
CIRCUITS = SetupStep(
    "e", "Circuits", "circuit", "heaters that together draw too much trip a circuit in mid-heat",
    "nothing is added up; ask a licensed electrician what your wiring can carry",
    (
        Field("name", "name", "as you call it: kitchen, left sockets", form=FieldForm.NAME),
        Field("volts", "volts", "230 in most of Europe, 120 in North America", "230", is_needed=True),
        Field("amps", "amps", "on the breaker or fuse", "16", is_needed=True),
        Field("lead_amps", "lead, amps", "on the extension lead, where there is one", "no lead"),
    ),
    "circuits",
)  # fmt: skip
KIT = SetupStep(
    "k", "Kit", "kit", "batches are made and timed by what your kit holds", "no forecast of what fits where",
    (
        Field("name", "name", "as you call it; units are numbered: pot 1, pot 2", form=FieldForm.NAME),
        Field("kind", "kind", "what it does: " + ", ".join(kind.value for kind in KitKind), "",
              tuple(kind.value for kind in KitKind), FieldForm.NAME),
        Field("units", "how many", "identical ones", "1"),
        Field("holds", "each holds", "skeins, or a weight such as 400 g", ""),
        Field("power", "power, W", "input on the nameplate, to add up the circuit", "not added up",
              kinds=_PLUGGED_IN),
        Field("circuit", "circuit", "which circuit it is plugged into", "none", form=FieldForm.NAME,
              kinds=_PLUGGED_IN),
        Field("warm_up", "warm-up, min",
              "time it once from switching on, full, until it steams or simmers", "10; microwave 0", kinds=_HEATS),
        Field("tank", "tank, L", "a steamer's fill, from MIN to MAX", "none", kinds=_STEAMS),
        Field("lasts", "tank lasts, min",
              "time it once from switching on full to MIN; stay with it", "worked out", kinds=_STEAMS),
    ),
    "kit",
)  # fmt: skip
BASES = SetupStep(
    "b", "Bases", "base", "the fibre decides acid, heat and soak; the weight decides the dye",
    "orders have no yarn",
    (
        Field("name", "name", "as you sell it", form=FieldForm.NAME),
        Field("fibre", "fibre", "75 superwash merino, 25 nylon; breeds are known by name", "", tuple(FIBRES),
              form=FieldForm.MIX, many=True),
        Field("skein", "weighs", "one skein, in g", "100", is_needed=True),
        Field("length", "length, m", "for the label", "not on the label"),
        Field("form", "form", "skein, mini or blank", "skein", tuple(form.value for form in Form), FieldForm.NAME),
        Field("soak", "soak, min", "until no dry spot is left; superwash and nylon wet out sooner", "by its fibre"),
    ),
    "bases",
)  # fmt: skip
DYES = SetupStep(
    "d", "Dyes", "dye", "amounts are worked out for the solution you make", "colourways have no dye to use",
    (
        Field("name", "name", "as it stands on the jar", form=FieldForm.NAME),
        Field("solution", "solution, %", "g of powder in 100 mL as you make it", "1"),
        Field("min_steam", "min_steam, min", "least minutes at full heat; 45 above 2 % depth", "30"),
    ),
    "dyes",
)  # fmt: skip
COLOURWAYS = SetupStep(
    "c", "Colourways", "colourway", "what is painted or dyed where, how deep, and how it is fixed",
    "an order has no colour", (), "colourways",
)  # fmt: skip
STEPS = (WATER, ACID, HOURS, SCALE, JUG, CIRCUITS, KIT, BASES, DYES, COLOURWAYS)
