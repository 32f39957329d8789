"""The sheets by their names in the shell, and how each is made from a session."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from dyeday.grouping import grouped
from dyeday.paper.layout.sheet import Sheet
from dyeday.quick_dataclass import dataclass
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import Moment, local

if TYPE_CHECKING:
    from dyeday.ahead.foreseen_steps import Forecast
    from dyeday.plan.model import Batch

KINDS = (
    ("summary", "the page of the day"),
    ("weigh", "what to weigh out, with boxes to tick"),
    ("day", "the timetable"),
    ("labels", "labels of what is finished"),
    ("packing", "packing: what to check, and a list for each parcel"),
    ("lot", "the record of one lot"),
    ("cautions", "the cautions, for the wall"),
)


@dataclass(frozen=True, slots=True)
class SheetSource:
    """What sheets are made from: a session as at ``now``; functions give what takes time."""

    day: Day
    session_id: str
    now: Moment
    days: Callable[[], Sequence[tuple[str, Day]]]
    """(session id, day) of the sessions carried into this one, and this one, oldest first"""
    foresee: Callable[[], Forecast]
    reorder: Callable[[], Sequence[str]] = tuple
    """a line for each thing to reorder"""


def make_sheet(kind: str, of: SheetSource) -> Sheet:
    """Return the sheet of a kind other than a lot's. Each loads its modules when made. Raises KeyError."""
    session = of.day.plan.session
    if kind == "summary":
        from dyeday.paper.sheets.day_summary import summary_sheet

        return summary_sheet(of.day, of.session_id, of.now, of.reorder())
    if kind == "weigh":
        return weigh_sheet_of(of.day, of.now, f"session {of.session_id}")
    if kind == "day":
        from dyeday.paper.sheets.day_sheet import closed_day_sheet, day_sheet

        return closed_day_sheet(of.day) if of.day.closed else day_sheet(of.day, of.foresee())
    if kind == "cautions":
        from dyeday.paper.sheets.cautions import cautions_sheet

        return cautions_sheet()
    if kind not in ("labels", "packing"):
        raise KeyError(kind)
    from dyeday.paper.sheets.labels_and_packing import labels_sheet, packing_sheet
    from dyeday.studio.labels import labels
    from dyeday.studio.parcels import orders_out

    days = of.days()
    out, about = orders_out(days), f"{local(of.now.utc, session.zone):%a %d %b %Y %H:%M}"
    if kind == "labels":
        return labels_sheet(session.name, about, labels(out, days), session.studio)
    return packing_sheet(session.name, about, out, session.studio)


def weigh_sheet_of(day: Day, now: Moment, about: str = "") -> Sheet:
    """Return the sheet of what is still to weigh out for a day."""
    from dyeday.paper.sheets.weigh_out_sheet import to_weigh, weigh_sheet

    still = to_weigh(day.unsplit)
    return weigh_sheet(day.plan, still, about, _tasks_before_dye(day, still.batches, now))


def _tasks_before_dye(day: Day, batches: Sequence[Batch] | None, now: Moment) -> dict[str, list[str]]:
    """Return, by batch, a sentence for each flag to see to before dyed yarn gets its next layer."""
    from dyeday.ahead.advising.next_up import flag_tasks

    again = (day.batches[batch.no] for batch in batches or ())
    return grouped((batch.no, f"{what}: {remedy}") for batch in again for what, remedy in flag_tasks(day, batch, now))


def lot_of_batch(of: SheetSource, batch_no: str) -> Sheet | None:
    """Return the record of a batch's lot from its done batches; None if none is done."""
    from dyeday.paper.sheets.lot_sheet import lot_sheet
    from dyeday.studio.lots.lot_making import lots_of_day
    from dyeday.studio.lots.lot_numbers import lot_numbers

    number = lot_numbers(of.day, of.session_id).get(batch_no)
    lots = (lot for lot in lots_of_day(of.day, of.session_id, of.now) if lot.number == number)
    return next((lot_sheet(lot) for lot in lots), None)
