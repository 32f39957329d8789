"""The cautions, all together: for the bench, for a sheet on the wall, and the one before a jar is opened."""

from __future__ import annotations

from dyeday.paper.sheet import Sheet, Together, Words

CAUTIONS = (
    ("Powder", "Dust mask on before a jar is opened. No fan, nobody else in the room, wet paper under the work."),
    ("Gloves", "On for dye, acid and hot yarn. Pots, jugs, spoons and this microwave never see food again."),
    ("Acid", "Acid into water, never water into acid. Never with bleach: that makes chlorine."),
    ("Steam", "Open lids and film away from you: the first burst burns. Let units cool closed."),
    ("Microwave", "Dry wool scorches and can burn: keep it wet. A still cup of water can burst into boiling."),
    ("Current", "Add up what runs on one circuit and one lead. Heaters do not go on coiled or thin leads."),
    ("Left alone", "Heat is not left alone with a low tank or an empty house. At the end: off at the wall."),
    ("Water", "Spent baths: use them up, neutralise them, and ask your water company what may go down."),
    ("First of all", "The maker's safety sheet, your local codes and a licensed electrician go before these lines."),
)
DEFERS = "The maker's safety sheets, your local codes and licensed trades go before anything on this sheet."


def cautions_of(*heads: str) -> tuple[Words, ...]:
    """Return some of the cautions as they stand on another sheet."""
    return tuple(Words(said, lead=f"{head}:") for head, said in CAUTIONS if head in heads)


def cautions_sheet() -> Sheet:
    """Return the sheet for the wall."""
    blocks = tuple(Together((Words(head, strong=True), Words(said, 1))) for head, said in CAUTIONS)
    return Sheet("cautions", "CAUTIONS", "for the wall beside the dye bench", blocks)
