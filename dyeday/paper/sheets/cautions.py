"""The cautions: all for the bench and for the wall, each for the moment where it applies.

The headings are those of a maker's safety sheet (hazards, first aid, fire, spills, handling and storage, protection,
reactivity, disposal) and of the kit. Common practice where no source stands beside a line.
"""

from __future__ import annotations

from collections.abc import Iterator

from dyeday.paper.layout.sheet import Block, Paragraph, Sheet
from dyeday.paper.layout.sheet_text import WIDTH
from dyeday.quick_dataclass import dataclass
from dyeday.text import wrap

SHEET = "Read the safety sheet."
MAKER = "Read the maker's instructions."
CODES = "Follow local codes."
TRADES = "Ask a licensed electrician."
GAS = "Ask a licensed gas fitter."
NUMBERS = "Poison centre ........................  Doctor ........................"
DEFERS = "Where makers, local codes or licensed trades say otherwise, follow them."


@dataclass(frozen=True, slots=True)
class Caution:
    """What to mind about one thing, and what it defers to."""

    head: str
    defers: str
    rule: str

    @property
    def whole(self) -> str:
        """All of it as one text."""
        return f"{self.rule} {self.defers}"


# fmt: off
# FFP2 holds back nine tenths (EN 149: factor 10); HSE Textile Information Sheet 5: keep all dye dust low.
POWDER = Caution("Powder", SHEET,
    "Put on a mask, FFP2 or N95 at least, before you open dye or citric acid; it stops dust, not vapour. No fan, no "
    "one else in the room, wet paper under the work, other wet yarn covered. Wheezing or a rash: stop, get fresh air "
    "and see a doctor; some dyes cause asthma or allergy.")
EYES = Caution("Eyes", SHEET,
    "Wear goggles when you weigh powder and pour strong acid. In the eye: lenses out, rinse under running water for "
    "15 min at once, then get medical help; take the safety sheet along.")
GLOVES = Caution("Gloves", SHEET,
    "Wear nitrile gloves for dye and acid, thick ones for heat, an apron, closed shoes. Wash your hands at each "
    "break.")
AIR = Caution("Air", SHEET,
    "When the jars are closed, open a window, and keep it open while a pot, a steamer or acid gives off vapour.")
PEOPLE = Caution("Children", SHEET,
    "Keep children and animals out while powder is open or anything is hot. Lock dye and acid away in labelled jars, "
    "never in food jars, and acid away from bleach.")
FOOD = Caution("Food", SHEET,
    "No food or drink in the room. Never use pots, jugs, spoons or the microwave for food again. Swallowed: rinse "
    "the mouth, do not make yourself sick, and call a poison centre.")
# Vinegar or citric acid with bleach gives chlorine: US poison centres, citing CDC. 25 %: ECHA dossier of acetic acid.
# Glacial acetic acid is a flammable liquid, category 3 (CLP, Annex VI, from memory).
ACID = Caution("Acid", SHEET,
    "Acid into water, never water into acid. Never with bleach: that makes chlorine. Acetic acid of 10 % and more "
    "irritates, of 25 % and more burns: goggles, gloves, open window. Glacial acid also catches fire: no flame near "
    "it.")
SPILLS = Caution("Spills", SHEET,
    "Wipe powder up wet, never sweep it dry. Dilute spilt acid with plenty of water. Dry a wet floor at once. "
    "Wash skin at once and take soaked clothes off.")
STEAM = Caution("Steam", MAKER,
    "Open lids and film away from you, with gloves on: the first burst scalds. Never carry a full hot pot: let it "
    "cool where it stands. A burn: cool running water for 20 min; blisters: doctor.")
# A still cup of water can boil up all at once when moved: US FDA.
MICROWAVE = Caution("Microwave", MAKER,
    "Keep wool wet: dry wool scorches and can burn. Use film made for heat, and vent it. No metal, no closed jar, "
    "never empty. Still water can suddenly boil over: stir first, and put a wooden stick in. "
    "Smoke: keep it shut and unplug it.")
FIRE = Caution("Fire", CODES,
    "Have a smoke alarm and a fire blanket. Hang no yarn over a heater. Unplug a burning unit, pour no water on it; "
    "if it burns on, get everyone out and call the fire brigade.")
SPINNER = Caution("Spinner", MAKER, "Open it only when it has stopped. Tie back hair, cords and sleeves.")
CURRENT = Caution("Current", TRADES,
    "Use a socket with residual-current protection (RCD or GFCI). Dry your hands before you touch plug, switch or "
    "knob. Unplug a unit that trips it; do not reset.")
LOAD = Caution("Leads", TRADES,
    "Add up what runs on one circuit and on one lead. Unroll a lead fully, keep it off the wet floor, and run no "
    "heater on a thin one.")
BURNER = Caution("Gas burner", GAS,
    "Its carbon monoxide has no smell: open a window, fit an alarm, and never light it in a closed room. Headache or "
    "dizziness: get out and call for help.")
ATTENDED = Caution("Left alone", CODES,
    "Never leave heat unattended, whatever is in the tank: stay in the house, look in, and switch off before you go. "
    "At the end, switch off at the wall.")
WATER = Caution("Waste", CODES,
    "Use up the bath, let it cool. Ask your water company what may go down and whether you need its consent: "
    "some dyes hold chromium or cobalt. Nothing into a ditch or a street drain. Leftover powder, used masks and dye "
    "jars are hazardous waste.")
CAUTIONS = (
    POWDER, EYES, GLOVES, AIR, PEOPLE, FOOD, ACID, SPILLS, STEAM, MICROWAVE, FIRE, SPINNER, CURRENT, LOAD, BURNER,
    ATTENDED, WATER,
)
# fmt: on
FIRST_HEAT = (
    "first heat of the day: plug and switch with dry hands only; use a socket with residual-current protection; "
    "unplug a unit that trips it"
)
"""`CURRENT` in a line, for the moment something is switched on."""
IRRITANT_PCT = 10.0
"""Acetic acid from here on irritates skin and eyes (CLP, Annex VI, from memory)."""
STRONG_ACID = "goggles and gloves on: this acid irritates eyes and skin"
"""`EYES` in a line, for the moment acid of `IRRITANT_PCT` and more is poured."""
OPEN_POWDER = "mask on (FFP2 or N95), no fan, other wet yarn covered: this layer takes dye powder"
"""`POWDER` in a line, for the moment powder goes on yarn."""


def caution_lines() -> Iterator[str]:
    """Yield every caution as lines of a page."""
    for one in CAUTIONS:
        yield from wrap(f"{one.head}: {one.whole}", WIDTH, "  ", "")
    yield from ("", DEFERS)


def cautions_of(*cautions: Caution) -> tuple[Paragraph, ...]:
    """Return cautions as paragraphs of another sheet, which defers once at its end."""
    return tuple(Paragraph(one.rule, lead=f"{one.head}:") for one in cautions)


def cautions_sheet() -> Sheet:
    """Return the sheet for the wall."""
    blocks = [Block((Paragraph(one.whole, lead=f"{one.head}:"),)) for one in CAUTIONS]
    ends = Block((Paragraph(NUMBERS), Paragraph(DEFERS, strong=True)))
    return Sheet("cautions", "CAUTIONS", "for the wall beside the dye bench", (*blocks, ends))
