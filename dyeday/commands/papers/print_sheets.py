"""`summary` and `sheet`: sheets to the screen, to files and to the printer."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from dyeday.commands.common import Opened, Refusal, UsageError, fields_of, opened, print_json, say, sessions
from dyeday.files.out_files import put_output
from dyeday.paper.layout.sheet import Sheet
from dyeday.paper.layout.sheet_text import sheet_lines, sheet_text
from dyeday.paper.printing.sending import PagesOf, print_sheet, usual_paper
from dyeday.paper.sheets.sheet_kinds import SheetSource, lot_of_batch, make_sheet, weigh_sheet_of
from dyeday.plan.model import Plan
from dyeday.store import clock
from dyeday.store.sessions import days_until
from dyeday.text import batches_text, brief
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import Moment, iso

if TYPE_CHECKING:
    from dyeday.ahead.foreseen_steps import Forecast

OF_PLANS, OF_LOTS = ("weigh", "day"), ("lot",)


def summary(args: Namespace) -> None:
    """Show a session's page or its JSON, write it to files or print it."""
    _check(args)
    at = opened(args, reading=True)
    if args.json:
        print_json(summary_data(at))
    else:
        _put_out(args, make_sheet("summary", _of(args, at)), _pages_of(args, at), at.day.plan)


def sheet(args: Namespace) -> None:
    """Show a sheet of a plan, a lot or a session, write it to files or print it. Raises UsageError or Refusal."""
    from dyeday.commands.days.check_and_begin import load
    from dyeday.commands.studio_records import stocked, studio_library

    _check(args)
    if args.about and args.kind not in (*OF_PLANS, *OF_LOTS):
        right = f"leave {brief(args.about)} out"
        if args.kind == "cautions":
            raise UsageError(f"`sheet cautions` needs no plan: {right}")
        raise UsageError(f"`sheet {args.kind}` is of a session: {right}, or choose with --session")
    if args.size and (args.kind != "labels" or not args.html):
        raise UsageError("--size is for labels in a browser: `dyeday sheet labels --html FILE --size 3x7`")
    if args.kind in OF_PLANS and args.about:
        plan, _ = stocked(args, load(Path(args.about), studio_library(args))[0])
        pages = PagesOf(args.data, f"{plan.session.date}-plan", plan.session.zone)
        return _put_out(args, _of_plan(args, plan), pages, plan)
    if args.kind == "lot":
        return _lot(args)
    if args.kind == "cautions":
        from dyeday.paper.sheets.cautions import cautions_sheet

        return _put_out(args, cautions_sheet(), PagesOf(args.data, "wall", None), None)
    at = opened(args, reading=True)
    made = replace(make_sheet(args.kind, _of(args, at)), label_size=args.size or "")
    return _put_out(args, made, _pages_of(args, at), at.day.plan)


def _of_plan(args: Namespace, plan: Plan) -> Sheet:
    from dyeday.commands.days.carry import day_with_carried
    from dyeday.commands.days.check_and_begin import first_moment
    from dyeday.paper.sheets.day_sheet import day_sheet

    now = first_moment(plan)
    day = day_with_carried(sessions(args), plan, now)
    if args.kind == "weigh":
        return weigh_sheet_of(day, now)
    return day_sheet(day, _forecast(args, day, now))


def _forecast(args: Namespace, day: Day, now: Moment) -> Forecast:
    from dyeday.commands.studio_records import foreseen, studio_times

    return foreseen(studio_times(args.data), day, now)


def _of(args: Namespace, at: Opened) -> SheetSource:
    def reorder() -> Sequence[str]:
        from dyeday.paper.sheets.reorder_list import to_reorder

        return to_reorder(args.data, at.now.utc)

    return SheetSource(
        day=at.day,
        session_id=at.file.about.id,
        now=at.now,
        days=lambda: days_until(sessions(args), at.file.about.id, at.day),
        foresee=lambda: _forecast(args, at.day, at.now),
        reorder=reorder,
    )


def _lot(args: Namespace) -> None:
    """Put out a lot by its number, or by a batch of the chosen session."""
    from dyeday.paper.sheets.lot_sheet import lot_sheet
    from dyeday.store.records.lots import LotBook

    if not args.about:
        raise UsageError("name a lot, such as 260314-01, or a batch of the session: `dyeday sheet lot 01`")
    book = LotBook(args.data)
    if book.row(args.about) is not None:
        lot = book.lot(args.about)
        return _put_out(args, lot_sheet(lot), PagesOf(args.data, lot.session, lot.zone), None)
    at = opened(args, reading=True)
    if (batch := at.day.find(args.about)) is None:
        known = batches_text([b.no for b in at.day.unsplit])
        raise Refusal(f"{brief(args.about)} is not a lot or a batch; the batches are {known}")
    if (made := lot_of_batch(_of(args, at), batch.no)) is None:
        what = f"no batch of the lot of {batch.no} is done yet"
        raise Refusal(f"{what}; its sheet can be printed when the first one is")
    return _put_out(args, made, _pages_of(args, at), at.day.plan)


def _pages_of(args: Namespace, at: Opened) -> PagesOf:
    return PagesOf(args.data, at.file.about.id, at.day.plan.session.zone)


def _check(args: Namespace) -> None:
    for name, given in (("--printer", args.printer), ("--copies", args.copies)):
        if given is not None and not args.print:
            raise UsageError(f"{name} is for --print: add --print")
    if args.paper and not (args.print or args.html):
        raise UsageError("--paper is for --html and --print: add one of them")


def _put_out(args: Namespace, made: Sheet, pages: PagesOf, plan: Plan | None) -> None:
    files = [(args.text, sheet_text(made))] if args.text else []
    if args.html:
        from dyeday.paper.layout.sheet_html import sheet_html

        files.append((args.html, sheet_html(made, args.paper or usual_paper(plan))))
    for name, text in files:
        put_output(Path(name), text, pages.data, overwrite=args.overwrite)
        say(f"the sheet is in {name}")
    if args.print:
        done = print_sheet(pages, made, clock.now().utc, args.printer, args.copies or 1, args.paper)
        if not done.sent:
            raise Refusal(done.text)
        say(done.text)
    if not files and not args.print:
        say(*sheet_lines(made))


def summary_data(at: Opened) -> dict[str, object]:
    """Return the page's sums and batches as JSON-able data."""
    from dyeday.paper.sheets.day_tally import tally

    sums = tally(at.day, at.now)
    return {
        "session": at.file.about.id,
        "name": at.day.plan.session.name,
        "as_of": iso(at.now.utc),
        "closed": at.day.closed is not None,
        **fields_of(sums, "skeins skeins_dyed skeins_rinsed skeins_done"),
        "in_doubt": [flag.to_json() for flag in sums.open_flags],
        "unfinished": [batch.no for batch in sums.unfinished],
        "batches": [
            {
                "batch": batch.no,
                "colourway": batch.colourway.name,
                "base": batch.base.name,
                **fields_of(batch, "tag skeins unit"),
                "state": batch.state.value,
                "outcome": batch.outcome.value if batch.outcome is not None else None,
            }
            for batch in at.day.unsplit
        ],
        "dyes": {use.dye: fields_of(use, "used_ml powder_g by_recipe_ml by_recipe_g") for use in sums.dyes},
        **fields_of(sums, "acid_ml acid_g"),
    }
