"""What each flag means, in a sentence for the dyer, and the keys of ``[rules]`` that hold its thresholds."""

from __future__ import annotations

from dyeday.terms import FlagId

MEANINGS: dict[FlagId, tuple[str, tuple[str, ...]]] = {
    FlagId.MISSED_ACID_SOAK: (
        "Dye went on yarn that needs acid in its soak, without a soak or without acid in it.",
        (),
    ),
    FlagId.NO_ACID: ("A batch left its heat with no acid on record and none left in a kept bath.", ()),
    FlagId.WEAK_ACID: (
        "The last pH reading is too high, or less acid than needed is left for the batch.",
        ("ph_limit", "acid_share"),
    ),
    FlagId.SOUR_BATH: ("The bath of an immersed layer is far more acid than its dyes need.", ("ph_low",)),
    FlagId.SHORT_SOAK: ("Dye went on before the yarn had soaked as long as its base needs.", ("soak",)),
    FlagId.DRIED_OUT: ("Painted yarn waited for heat longer than its cover allows.", ("open", "lidded", "wrapped")),
    FlagId.SHORT_FIX: ("A batch left its heat before it had enough minutes at full heat.", ("fix_share",)),
    FlagId.SCORCH_RISK: (
        "A microwave burst was much longer than the load needs, or came without its rest.",
        ("scorch_factor",),
    ),
    FlagId.UNDER_EXHAUSTED: ("The bath kept more colour than its dyes should leave.", ("exhaustion",)),
    FlagId.NO_BATH_READING: ("A batch was rinsed before anyone looked at what was left in its bath.", ("look",)),
    FlagId.RINSED_HOT: ("Yarn that felts met rinse water much colder than itself.", ("shock",)),
    FlagId.FELTING_RISK: (
        "Yarn was hotter in a bath than its fibre can take, or went cold into a hot bath.",
        ("felting",),
    ),
    FlagId.BLEEDING: ("A white cloth still took up colour after the last rinse.", ("cloth",)),
    FlagId.NOT_DRY: ("A finished batch weighs more than dry yarn does.", ("dry",)),
    FlagId.OVER_FULL: ("A unit holds more than it has room for.", ()),
    FlagId.CROWDED_RACK: ("A rack holds more skeins than it has room for: they dry more slowly.", ()),
    FlagId.OVERLOADED_CIRCUIT: ("Units running together draw more than their circuit or lead allows.", ()),
    FlagId.BOIL_DRY: ("A unit ran so long on one fill that its tank is near empty.", ("reserve",)),
    FlagId.MIXED_LOT: ("Skeins that must match were dyed from two mixes.", ()),
    FlagId.OVERDUE: ("An alarm was not answered.", ("overdue",)),
    FlagId.SHORT_STOCK: ("The day needs more dye, acid or yarn than you have.", ()),
}
