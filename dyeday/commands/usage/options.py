"""The options of every command of the shell."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import Any

from dyeday.commands.usage.adding import CommandAdder, for_scripts
from dyeday.commands.usage.command_table import TOPICS
from dyeday.paper.layout.label_page import PAPERS, grid_of
from dyeday.terms import STATES, ReadingKind, StockKind, UnitEvent, Water
from dyeday.text import brief

ACIDS = ("vinegar", "citric", "citric monohydrate", "citric solution")
SHEETS = ("summary", "weigh", "day", "labels", "packing", "lot", "cautions")
_SHEETS = "summary (the page of the day), weigh, day (the timetable), labels, packing, lot, cautions"
LOOKS = ("match", "lighter", "darker", "redder", "yellower", "greener", "bluer")
THINGS = tuple(thing.value for thing in StockKind if thing is not StockKind.BOTTLE)
"""what ``--as`` may say a thing on the shelf is; a bottle of solution comes from ``--made``"""


class _Moved(argparse.Action):
    """Starts a movement: [kind, name, amount, strength], the last two filled in by `_Of`."""

    def __call__(self, parser: object, namespace: argparse.Namespace, values: object, option: object = None) -> None:
        namespace.moved = [*(namespace.moved or ()), [self.dest, str(values), "", ""]]


class _Of(argparse.Action):
    """Adds an amount or a strength to the latest movement."""

    def __call__(
        self, parser: argparse.ArgumentParser, namespace: argparse.Namespace, values: object, option: object = None
    ) -> None:
        at = {"amount": 2, "strength": 3}[self.dest]
        if not namespace.moved or namespace.moved[-1][at]:
            raise argparse.ArgumentError(self, "write it after what it measures: --received NAME --amount Q")
        assert isinstance(values, list)  # noqa: S101 - nargs is "+"
        namespace.moved[-1][at] = " ".join(values)


def number(low: float, high: float) -> Callable[[str], float]:
    """Return a reader of numbers from ``low`` to ``high``; of whole ones if both are ints."""
    whole = isinstance(low, int) and isinstance(high, int)

    def read(typed: str) -> float:
        try:
            value = int(typed) if whole else float(typed)
        except ValueError:
            value = float("nan")
        if not low <= value <= high:
            kind = "a whole number" if whole else "a number"
            raise argparse.ArgumentTypeError(f"cannot be {brief(typed)}; write {kind} from {low:g} to {high:g}")
        return value

    return read


def argument(made: argparse._ActionsContainer, name: str, metavar: Any, help_text: str, **how: Any) -> None:
    """Add an argument or an option that has a value; ``how`` is as for argparse."""
    made.add_argument(name, metavar=metavar, help=help_text, **how)


def switch(made: argparse._ActionsContainer, name: str, help_text: str) -> None:
    """Add an option without a value."""
    made.add_argument(name, action="store_true", help=help_text)


def may_overwrite(made: argparse.ArgumentParser) -> None:
    """Add ``--overwrite``, without which no existing file is replaced."""
    switch(made, "--overwrite", "replace an existing file; never a plan")


def add_all(made: CommandAdder) -> None:
    """Add every command of `COMMANDS`."""
    _add_days(made)
    _add_papers(made)
    _add_books(made)


def _add_days(made: CommandAdder) -> None:
    made.add("setup")
    opening = made.add("open")
    argument(opening, "plan", "PLAN", "the plan's file")
    demo = made.add("demo")
    argument(demo, "--into", "DIR", "write the demo's data here and print its session; open nothing")
    beginning = made.add("begin")
    argument(beginning, "plan", "PLAN", "the plan's file")
    for each in (opening, beginning):
        switch(each, "--new", "start a second session from this plan")
        switch(each, "--take-changes", "apply the changed plan to the running session")
    carrying = made.add("carry")
    argument(carrying, "new", "NEW", "the plan file to write; never an existing one")
    argument(carrying, "--date", "DATE", "the plan's date, such as 2026-03-15 (default: the next day)")
    made.add("sessions")
    checking = made.add("check")
    argument(checking, "plan", "PLAN", "the plan's file")
    switch(for_scripts(checking), "--strict", "exit 1 if there is advice")
    showing = made.add("watch")
    text = "show it on the home network, at ADDRESS (default: on this computer only)"
    argument(showing, "--network", "ADDRESS", text, nargs="?", const="")
    argument(showing, "--port", "N", "the port to listen at (default: a free one)", type=number(0, 65535), default=0)
    _add_ahead(made)
    _add_orders(made)
    _add_mark(made.add("mark"))
    flags = made.add("flags")
    switch(flags, "--all", "show cleared flags too")
    argument(
        flags, "--resolve", ("BATCH", "RULE"), "clear a flag, with --why; RULE: see `dyeday help flags`", nargs=2
    )
    argument(flags, "--why", "TEXT", "the reason for clearing it")
    switch(for_scripts(flags), "--strict", "exit 1 if a flag is open")
    made.add("log")
    closing = made.add("close")
    argument(closing, "--why", "TEXT", "a note on the day")
    switch(closing, "--yes", "close even if heat is still on")


def _add_ahead(made: CommandAdder) -> None:
    looking = made.add("ahead")
    argument(looking, "plan", "PLAN", "forecast this plan from its start (default: the session from now)", nargs="?")
    argument(looking, "--with", "CHANGE", "change the day: 'steamer +1', 'stop 21:00'", dest="with_", action="append")
    argument(looking, "--without", "BATCH", "forecast without a batch", action="append")
    switch(looking, "--what-if", "what one more unit, an hour more, or a batch left out would bring")
    argument(for_scripts(looking), "--budget-ms", "MS", "how long to search for each answer", type=number(1, 600_000))
    text = "timetables to try for each answer (default: 200)"
    argument(for_scripts(looking), "--evaluations", "N", text, type=number(1, 1_000_000))
    argument(looking, "--width", "N", "columns to fit (default: the window's; 80 in a file)", type=number(40, 1000))
    argument(looking, "--html", "FILE", "write the day as a chart for a browser or the wall")
    switch(looking, "--overwrite", "replace an existing FILE")
    switch(for_scripts(looking), "--strict", "exit 1 if the day does not fit")


def _add_orders(made: CommandAdder) -> None:
    orders = made.add("orders")
    argument(orders, "csv", "CSV", "a table from a spreadsheet or a shop; for scripts: - is stdin", nargs="?")
    argument(orders, "--into", "PLAN", "the plan to import into, all or nothing", required=True)
    argument(orders, "--columns", "FILE", "what each column means (default: orders.columns.toml beside the plan)")
    switch(orders, "--again", "also import orders that another plan in the folder has")
    switch(orders, "--dry-run", "show what would be imported, write nothing")
    library = made.add("library")
    argument(library, "--take", "PLAN", "add a plan's definitions, and show what is new or changed")
    switch(library, "--only-new", "with --take: add new definitions, change none")


def _add_mark(made: argparse.ArgumentParser) -> None:
    states, waters = [state.value for state in STATES], [water.value for water in Water]
    argument(made, "batch", "BATCH", "the batch's number; several as 01-04 or 01,03", nargs="?")
    argument(made, "state", "STATE", "the state it goes into: " + ", ".join(states), nargs="?", choices=states)
    argument(made, "--unit", "U", "the unit, such as 'steamer 2'")
    argument(made, "--acid", "Q", "acid put in, such as '60 mL'; with --unit into that unit's bath")
    argument(made, "--water", "W", "new or kept: the water in the unit", choices=waters)
    argument(made, "--tank", "T", "filled: the tank was filled before the heat", choices=[UnitEvent.FILLED.value])
    argument(made, "--heat", ("N", "EDGE"), "heat N: start (switched on), heat (at full heat) or end", nargs=2)
    made.add_argument("--pass", dest="heat", nargs=2, help=argparse.SUPPRESS)  # as --heat was called
    others = (kind.value for kind in ReadingKind if kind is not ReadingKind.SWATCH)
    readings = f"{', '.join(others)}, sample (beside the kept sample)"
    text = f"a reading, such as ph=4.6, eye=tinted, cloth=4-5, jar='16 2.5'; K is one of {readings}"
    argument(made, "--reading", "K=V", text, action="append")
    argument(made, "--where", "PLACE", "where you looked: puddle, pot, first rinse")
    argument(made, "--layer", "N", "the layer it moves into", type=number(1, 99))
    argument(made, "--mix", "TEXT", "the mix its dye is from, if not its lot's")
    argument(made, "--outcome", "WORD", "with done: first, second, one-off")
    argument(made, "--tag", "TEXT", "what is tied to it, such as 'red' or '2 knots'")
    argument(made, "--skeins", "N", "how many skeins it has after a recount", type=number(1, 5000))
    argument(made, "--cover", "WORD", "how it waits: open, lidded, wrapped")
    argument(made, "--into", "NO=N", "split it, such as 03a=3 03b=2", nargs="+")
    text = "what was used: 'Peat=120 mL' of solution, 'Peat=0.4 g' of powder"
    argument(made, "--used", "NAME=Q", text, action="append")
    text = "what was left of the solution poured, such as 'Peat=20 mL'"
    argument(made, "--left-over", "NAME=Q", text, action="append")
    argument(made, "--overdye", "COLOURWAY", "dye it over in this colourway")
    argument(made, "--why", "TEXT", "the reason")
    argument(made, "--note", "TEXT", "a note on the batch")
    argument(made, "--at", "TIME", "when it happened, 14:05 or 2026-03-14T14:05 (default: now)")
    switch(made, "--again", "record it even if you typed the same less than a minute ago")
    argument(for_scripts(made), "--from", "FILE", "many events, one JSON object a line; - is stdin", dest="from_file")


def _add_papers(made: CommandAdder) -> None:
    weighing = made.add("weigh")
    argument(weighing, "plan", "PLAN", "a plan (default: what still needs dye in the session)", nargs="?")
    _add_acid(made.add("acid"))
    summary = made.add("summary")
    sheet = made.add("sheet")
    argument(sheet, "kind", "SHEET", _SHEETS, choices=SHEETS)
    text = "for weigh and day: a plan that is not started; for lot: its number, or a batch"
    argument(sheet, "about", "PLAN|LOT", text, nargs="?")
    text = "labels on a page, for --html: 3x7, 2x4 … (default: 3x7 on A4, 3x10 on Letter)"
    argument(sheet, "--size", "COLUMNSxROWS", text, type=label_size)
    for each in (summary, sheet):
        _add_ways(each)


def _add_acid(made: argparse.ArgumentParser) -> None:
    argument(made, "--water", "V", "how much water, such as '4 L' (default: 1 L)")
    text = "of the water, such as '180 mg/L', '11 dKH', '3,6 meq/L'; a bare number is mg/L"
    argument(made, "--alkalinity", "A", text)
    argument(made, "--hardness", "H", "of the water, if its alkalinity is unknown")
    argument(made, "--target-ph", "PH", "the pH to reach (default: 4.5)")
    text = f"which acid: {', '.join(ACIDS)} (default: vinegar, acetic acid of any strength)"
    argument(made, "--kind", "KIND", text, choices=ACIDS, default="vinegar")
    argument(made, "--strength", "S", "of the acid, in g per 100 mL (default: 5 for vinegar)")
    argument(made, "--temperature", "T", "of the water (default: 15 °C)")
    argument(made, "--fibre", "W", "dry weight of yarn in it, to allow for the acid it takes up")
    text = "mmol of acid that a gram of fibre takes up (default: by pH; wool about 0.05 at pH 4.5)"
    argument(made, "--fibre-takes", "M", text)
    argument(made, "--dose", "Q", "show the pH that this much acid reaches")
    argument(made, "--reached", "PH", "the pH you read: show what more to add; --dose is what you poured")


def label_size(typed: str) -> str:
    """Return a size of labels, "3x7", as typed. Raises ArgumentTypeError."""
    try:
        grid_of("A4", typed)
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from None
    return typed


def _add_ways(made: argparse.ArgumentParser) -> None:
    switch(made, "--print", "send it to the printer")
    argument(made, "--printer", "QUEUE", "the print queue (default: the system's; for scripts: LPDEST, PRINTER)")
    argument(made, "--copies", "N", "how many copies, 1 to 99", type=number(1, 99))
    text = "paper size (default: A4; Letter for US units)"
    made.add_argument("--paper", type=str.capitalize, choices=tuple(PAPERS), help=text)
    argument(made, "--text", "FILE", "write it to a file as plain text")
    argument(made, "--html", "FILE", "write it to a file for a browser")
    may_overwrite(made)


def _add_books(made: CommandAdder) -> None:
    parcels = made.add("parcels")
    switch(parcels, "--labels", "the text of the labels of all that is ready")
    switch(parcels, "--cost", "what each lot cost, and each order brings")
    switch(for_scripts(parcels), "--strict", "exit 1 if a parcel waits")
    _add_shelf(made.add("shelf"))
    what = made.add("times").add_mutually_exclusive_group()
    switch(what, "--take", "make forecasts use your minutes from now on")
    switch(what, "--forget", "make forecasts use the plan's minutes again")
    switch(what, "--again", "read the latest sessions again")
    switch(what, "--day", "show each step of one session instead")
    back = made.add("look-back")
    text = "the first day: 2026-03-14, 2026-03 or 2026 (default: a year before the last)"
    argument(back, "--from", "DATE", text, dest="from_")
    argument(back, "--to", "DATE", "the last day (default: today)")
    argument(back, "--csv", "FILE", "write the figures to a file; for scripts: - is stdout")
    may_overwrite(back)
    _add_lots(made.add("lots"))
    _add_keeping(made)


def _add_shelf(made: argparse.ArgumentParser) -> None:
    things = made.add_argument_group("what moved", "repeatable, each with its amount")
    argument(things, "--received", "NAME", "what was delivered", action=_Moved)
    argument(things, "--counted", "NAME", "the amount counted, with --why", action=_Moved)
    argument(things, "--made", "DYE", "a solution, with its --strength", action=_Moved)
    argument(things, "--used", "NAME", "used or lost outside sessions, with --why", action=_Moved)
    argument(things, "--amount", "Q", "how much: 100 g, 2 L, 20 skeins", action=_Of, nargs="+")
    argument(things, "--strength", "S", "of a solution: 2 %%", action=_Of, nargs="+")
    made.set_defaults(moved=None)
    argument(made, "--why", "TEXT", "the reason, kept with the movement")
    switch(made, "--again", "record it even if you typed the same less than a minute ago")
    argument(made, "--lot", "TEXT", "the powder's or the mill's lot number")
    made.add_argument("--as", dest="thing", choices=THINGS, help="what it is, if its name is new")
    argument(made, "--at", "TIME", "when it happened, 14:05 or 2026-03-14T14:05 (default: now)")
    argument(made, "--weeks", "N", "weeks of past use to go by (default: 8)", type=number(1.0, 520.0), default=8.0)
    text = "how long an order takes to arrive (default: 14)"
    argument(made, "--lead", "DAYS", text, type=number(0.0, 730.0), default=14.0)
    switch(made, "--moves", "list every movement instead")
    argument(made, "--csv", "FILE", "write it to a file for a spreadsheet; for scripts: - is stdout")
    may_overwrite(made)
    argument(made, "--from", "FILE", "import movements from --moves", dest="from_file")
    switch(for_scripts(made), "--strict", "exit 1 if something must be reordered")


def _add_lots(made: argparse.ArgumentParser) -> None:
    text = "words of a lot: colourway, base, order, date, note, flag …; or its NUMBER"
    argument(made, "words", "WORDS", text, nargs="*")
    switch(made, "--all", "list all, not only the newest 40")
    argument(made, "--csv", "FILE", "write what is found to a file, one lot a line; for scripts: - is stdout")
    may_overwrite(made)
    kept = made.add_argument_group("add to one lot; its record stays")
    argument(kept, "--note", "TEXT", "a note for the next time", action="append")
    argument(kept, "--mill-lot", "TEXT", "the yarn's lot, from the mill's band")
    argument(kept, "--powder-lot", "[DYE=]TEXT", "the powder's lot, from the jar", action="append")
    argument(kept, "--photo", "FILE", "a picture's file", action="append")
    text = "how it looks beside the kept sample: " + ", ".join(LOOKS)
    argument(kept, "--look", "WORD", text, choices=LOOKS)
    again = made.add_argument_group("dye it again")
    switch(again, "--again", "show its order and recipe for a plan, and what differs today")
    argument(again, "--plan", "PLAN", "today's plan (default: that of the newest session)")
    argument(again, "--into", "PLAN", "add it to this plan; a new one is for the day of its name, 2026-03-20.toml")
    argument(again, "--skeins", "N", "how many (default: as many as before)", type=number(1, 5000))
    other = made.add_argument_group("the lot book")
    argument(other, "--from", "FILE", "import lots from --json; existing ones are skipped", dest="from_file")


def _add_keeping(made: CommandAdder) -> None:
    restoring = made.add("restore")
    text = "a session's id, or studio: setup, library, lot book, shelf and times at once"
    argument(restoring, "name", "NAME", text, nargs="?")
    argument(restoring, "when", "COPY", "a copy's name, or the beginning of it", nargs="?")
    switch(restoring, "--newest", "bring back the newest undamaged copy")
    switch(for_scripts(made.add("doctor")), "--strict", "exit 1 if something is wrong")
    sounding = made.add("sound")
    argument(sounding, "--prompt", "PROGRAM", "the program that runs at a prompt, quoted with its arguments")
    argument(sounding, "--alarm", "PROGRAM", "the program that runs at an alarm (default: the prompt's)")
    argument(sounding, "--tank", "PROGRAM", "the program that runs when a tank runs low (default: the alarm's)")
    switch(sounding, "--off", "run no program, only ring the terminal's bell")
    switch(sounding, "--test", "ring the bell and run each program that is set")
    switch(sounding, "--yes", "set it without asking")
    helping = made.add("help")
    argument(helping, "topic", "TOPIC", f"one of: {', '.join(TOPICS)}", nargs="?", choices=TOPICS)
