"""The remarks that a new plan is begun with, so that a person who opens it in an editor finds their way."""

from __future__ import annotations

from dyeday.plan.library import KEPT, Library
from dyeday.plan.model import Plan
from dyeday.text import harmless

SAYS = {
    "[session]": 'Your hours. A break is a list such as breaks = ["13:00-13:30"].',
    "[water]": "Your tap water, in mg/L as CaCO3: alkalinity is what uses up acid.",
    "[acid]": "The acid on your shelf, as strong as its label says.",
    "[scale]": "The smallest step your scale shows.",
    "[jug]": "The smallest amount you can measure out.",
}
"""by the head of a table, the remark above it"""
NO_WATER = (
    "The water is not known yet, so the acid cannot be calculated. Until it is, go by the weight of fibre:",
    "20 mL of 5 % vinegar to 100 g. Then read the pH. Once measured, write it so:",
    '[water]  and below it  alkalinity = "120 mg/L"',
)
WIDE = 96


def commented(text: str, plan: Plan, library: Library, came: str) -> str:
    """Return the TOML ``text`` of ``plan`` with a remark above each table; it reads back the same.

    ``came`` says where hours, water and acid are from.
    """
    lines = [f"# The plan of {plan.session.date:%A, %d %B %Y}. Text after # is a comment."]
    lines += [f"# Hours, water and acid are {came}: check them.", ""]
    for line in text.splitlines():
        lines += [f"# {SAYS[line]}"] if line in SAYS else []
        lines.append(line)
    water = plan.water
    if water.alkalinity_mg_l is None and water.hardness_mg_l is None and "[water]" not in text:
        lines += ["", *(f"# {line}" for line in NO_WATER)]
    if "[acid]" not in text:
        lines += [
            "",
            f"# The acid is {plan.acid.name}, to pH {plan.acid.target_ph:g}; another is named below [acid].",
        ]
    lines += ["", "# What orders can name is kept by `dyeday setup`; a table of the same name here counts instead."]
    for key, word in KEPT:
        names = ", ".join(harmless(thing.name) for thing in getattr(library, key))
        if names:
            lines.append(f"# {word}: {names if len(names) <= WIDE else names[: WIDE - 1] + '…'}")
    lines += ["", "# Orders: one table each, [[order]] above it."]
    return "\n".join(lines) + "\n"
