"""A plan's orders being changed: its text and what reading it gives, each change a new value or a reason why not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from dyeday.plan.library import EMPTY, Library, Studio
from dyeday.plan.model import Order, Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.reading.problems import PlanError
from dyeday.plan.reading.toml_syntax import toml_of
from dyeday.plan.writing.comments import commented
from dyeday.plan.writing.plan_text import order_table, plan_text
from dyeday.plan.writing.text_edit import EditError, add_orders, change_order, move_order, remove_order
from dyeday.plan.writing.toml_values import Value
from dyeday.quick_dataclass import dataclass
from dyeday.text import harmless


class DraftError(ValueError):
    """A change that makes no plan: why, in one line."""


@dataclass(frozen=True)
class PlanDraft:
    """``plan`` is None only where there is no order yet."""

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
        free = next(
            name for n in range(1, 10_000) if (name := order.item if n == 1 else f"{order.item} {n}") not in items
        )
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
            raise DraftError(f"{first.what}; {first.would_be_right}") from None


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


def new_plan_text(day: date, before: Plan | None = None, library: Library = EMPTY) -> str:
    """Return the text of a plan of ``day`` that orders can be put into: the library knows what they name.

    Hours, water and acid are the studio's, else those of the plan ``before``; its rules and chores come along.
    """
    session = library.studio.session if library.studio is not None else before.session if before else None
    if session is None:
        session = Studio().session
    rest = Plan(replace(session, name=f"{day:%A}", date=day))
    if before is not None:
        rest = replace(
            before,
            session=rest.session,
            acid=replace(before.acid, on_hand=None),
            extras=tuple(replace(extra, on_hand=None) for extra in before.extras),
            circuits=(),
            kit=(),
            bases=(),
            dyes=(),
            colourways=(),
            orders=(),
            batches=(),
        )
    studio = library.studio
    if studio is not None:
        rest = replace(rest, water=studio.water, acid=studio.acid, scale_g=studio.scale_g, jug_ml=studio.jug_ml)
    came = f"as on {before.session.date}" if before is not None and studio is None else "as `dyeday setup` has them"
    return commented(plan_text(rest), rest, library, came)
