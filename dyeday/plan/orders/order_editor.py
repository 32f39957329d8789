"""A plan's orders as a person changes them, each change a new `PlanDraft` or a DraftError; a new plan's text."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from dyeday.plan.library import EMPTY, KEPT, Library, Studio, without_stock
from dyeday.plan.model import MOST_PIECES, Acid, Order, Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.reading.problems import PlanError
from dyeday.plan.reading.toml_syntax import toml_of
from dyeday.plan.writing.plan_text import order_table, plan_text
from dyeday.plan.writing.text_edit import EditError, add_orders, change_order, move_order, remove_order
from dyeday.plan.writing.toml_values import Value
from dyeday.quick_dataclass import dataclass
from dyeday.text import LONGEST_NAME, harmless, is_of_these_days, shortened


class DraftError(ValueError):
    """A change that would make an invalid plan: why, in one line."""


@dataclass(frozen=True)
class PlanDraft:
    """A plan's text and the plan in it; ``plan`` is None before the first order."""

    text: str
    library: Library
    plan: Plan | None
    colourways: tuple[str, ...]
    bases: tuple[str, ...]

    @property
    def orders(self) -> tuple[Order, ...]:
        """The plan's orders, none before there is a plan."""
        return self.plan.orders if self.plan is not None else ()

    def with_order(self, order: Order) -> PlanDraft:
        """Return the draft with one more order, unlike every other in item, colourway or base. Raises DraftError."""
        items = {one.item for one in self.orders if one.key[1:] == order.key[1:]}
        names = (order.item if n == 1 else f"{order.item} {n}" for n in range(1, 10_000))
        free = next(name for name in names if name not in items)
        return self._changed(lambda text: add_orders(text, [order_table(replace(order, item=free))]))

    def with_keys(self, n: int, changes: Mapping[str, Value | None]) -> PlanDraft:
        """Return the draft with keys of order ``n`` (from 0) changed; None takes one out. Raises DraftError."""
        return self._changed(lambda text: change_order(text, n, changes))

    def moved(self, n: int, to: int) -> PlanDraft:
        """Return the draft with order ``n`` at place ``to``, both from 0. Raises DraftError."""
        return self._changed(lambda text: move_order(text, n, to))

    def without(self, n: int) -> PlanDraft:
        """Return the draft without order ``n`` (from 0). Raises DraftError for the only one."""
        if len(self.orders) == 1:
            raise DraftError("a plan has one order or more; change this one instead")
        return self._changed(lambda text: remove_order(text, n))

    def _changed(self, change: Any) -> PlanDraft:
        try:
            return draft_of(change(self.text), self.library)
        except EditError as error:
            raise DraftError(str(error)) from None
        except PlanError as error:
            first = error.problems[0]
            raise DraftError(f"{first.what}; {first.hint}") from None


def draft_of(text: str, library: Library = EMPTY) -> PlanDraft:
    """Return a plan's text as a draft. Raises PlanError, but not where all it lacks is an order."""
    raw, _ = toml_of(text)
    plan = read_plan(text, library) if raw.get("order") else None
    colourways, bases = names_in(raw, library)
    return PlanDraft(text, library, plan, colourways, bases)


def names_in(raw: Mapping[str, Any], library: Library) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the colourways and the bases that orders of a plan's raw tables may name."""

    def own(key: str) -> list[str]:
        tables = raw.get(key)
        names = [t.get("name") for t in tables if isinstance(t, dict)] if isinstance(tables, list) else []
        return [harmless(name).strip() for name in names if isinstance(name, str)]

    colourways = [*own("colourway"), *(c.name for c in library.colourways)]
    bases = [*own("base"), *(b.name for b in library.bases)]
    return tuple(dict.fromkeys(colourways)), tuple(dict.fromkeys(bases))


def day_named(file: Path) -> date | None:
    """Return the day that a plan's file is named by, such as 2026-03-14.toml; None for another name."""
    try:
        day = date.fromisoformat(file.stem)
    except ValueError:
        return None
    return day if day.isoformat() == file.stem and is_of_these_days(day) else None


def new_plan_text(day: date, before: Plan | None = None, library: Library = EMPTY) -> str:
    """Return the text of a plan of ``day`` without orders, from the studio's settings or the plan ``before``."""
    session = library.studio.session if library.studio is not None else before.session if before else None
    if session is None:
        session = Studio().session
    rest = Plan(replace(session, name=f"{day:%A}", date=day))
    if before is not None:
        none_of: Any = dict.fromkeys(("circuits", "kit", "bases", "dyes", "colourways", "orders", "batches"), ())
        rest = replace(without_stock(before), session=rest.session, **none_of)
    if (studio := library.studio) is not None:
        rest = replace(rest, water=studio.water, acid=studio.acid, scale_g=studio.scale_g, jug_ml=studio.jug_ml)
    came = f"as on {before.session.date}" if before is not None and studio is None else "as `dyeday setup` has them"
    return commented(plan_text(rest), rest, library, came)


SAYS = {
    "[session]": 'Your hours. A break is a list such as breaks = ["13:00-13:30"].',
    "[water]": "Your tap water, in mg/L as CaCO3: alkalinity is what uses up acid.",
    "[acid]": "The acid on your shelf, as strong as its label says.",
    "[scale]": "The smallest step your scale shows.",
    "[jug]": "How far apart the marks of your jug are, in mL.",
}
"""by the head of a table, the remark above it"""
NO_WATER = (
    "The water is not known yet, so the acid cannot be calculated. Until it is, go by the weight of fibre:",
    "20 mL of 5 % vinegar to 100 g. Then read the pH. Once measured, write it so:",
    '[water]  and below it  alkalinity = "120 mg/L"',
)
WIDE = 96


def acid_comment(plan: Plan) -> str:
    """Return the comment for a plan with the usual acid, and so no table of it; "" if it has a table."""
    usual = f"# The acid is {plan.acid.name}, to pH {plan.acid.target_ph:g}; name another below [acid]."
    return usual if plan.acid == Acid() else ""


def commented(text: str, plan: Plan, library: Library, came: str) -> str:
    """Return a plan's TOML with a remark above each table; ``came`` says where hours, water and acid are from."""
    lines = [f"# The plan of {plan.session.date:%A, %d %B %Y}. Text after # is a comment."]
    lines += [f"# Hours, water and acid are {came}: check them.", ""]
    for line in text.splitlines():
        lines += [f"# {SAYS[line]}"] if line in SAYS else []
        lines.append(line)
    water = plan.water
    if water.alkalinity_mg_l is None and water.hardness_mg_l is None and "[water]" not in text:
        lines += ["", *(f"# {line}" for line in NO_WATER)]
    if comment := acid_comment(plan):
        lines += ["", comment]
    lines += ["", "# Orders can name what `dyeday setup` keeps; a table of the same name in this file goes first."]
    for key, word in KEPT:
        if names := ", ".join(harmless(thing.name) for thing in getattr(library, key)):
            lines.append(f"# {word}: {shortened(names, WIDE)}")
    lines += ["", "# Orders: one table each, [[order]] above it."]
    return "\n".join(lines) + "\n"


def count_of(text: str) -> int:
    """Return how many pieces, 1 to `MOST_PIECES`. Raises ValueError."""
    typed = text.strip()
    if not typed.isdecimal() or len(typed) > 9 or not 1 <= int(typed) <= MOST_PIECES:
        raise ValueError(f"write how many, 1 to {MOST_PIECES}")
    return int(typed)


def due_of(text: str, day: date) -> date | None:
    """Return a due date typed as 2026-03-20, +7 (days from the plan's ``day``), or - for none. Raises ValueError."""
    typed = text.strip()
    if typed == "-":
        return None
    try:
        if typed.startswith("+"):
            return day + timedelta(days=int(typed[1:]))
        return date.fromisoformat(typed)
    except (ValueError, OverflowError):
        raise ValueError("write 2026-03-20, +7 for in a week, - for none") from None


def due_forms(day: date) -> str:
    """Return how a due date is typed, by an example that could be one."""
    return f"{day + timedelta(days=7)}, or +7 for in a week, - for none"


def due_words(due: date | None) -> str:
    """Return "due Mon 08 Jun 2026" or "no due date"."""
    return "no due date" if due is None else f"due {due:%a %d %b %Y}"


def parcel_of(text: str) -> str:
    """Return the parcel an order goes out with, `LONGEST_NAME` characters at most. Raises ValueError."""
    typed = harmless(text).strip()
    if len(typed) > LONGEST_NAME:
        raise ValueError(f"shorten it to {LONGEST_NAME} characters")
    return typed
