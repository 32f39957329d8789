"""The options of every command of the shell."""

from __future__ import annotations

import argparse

from dyeday.commands.usage.adding import CommandAdder, may_overwrite, number
from dyeday.commands.usage.command_table import TOPICS
from dyeday.terms import STATES, StockKind, UnitEvent, Water

ACIDS = ("vinegar", "citric", "citric monohydrate", "citric solution")
SHEETS = ("summary", "weigh", "day", "labels", "packing", "lot", "cautions")
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
            raise argparse.ArgumentError(self, "put it after its thing: --received NAME --amount Q")
        assert isinstance(values, list)  # noqa: S101 - nargs is "+"
        namespace.moved[-1][at] = " ".join(values)


def add_all(made: CommandAdder) -> None:
    """Add every command of `COMMANDS`."""
    _add_days(made)
    _add_papers(made)
    _add_books(made)


def _add_days(made: CommandAdder) -> None:
    made.add("setup")
    opening = made.add("open")
    opening.add_argument("plan", metavar="PLAN", help="the plan's file")
    demo = made.add("demo")
    demo.add_argument("--into", metavar="DIR", help="write the demo's data here and print its session; open nothing")
    beginning = made.add("begin")
    beginning.add_argument("plan", metavar="PLAN", help="the plan's file")
    for each in (opening, beginning):
        each.add_argument("--new", action="store_true", help="start a second session from this plan")
        each.add_argument("--take-changes", action="store_true", help="apply the changed plan to the running session")
    carrying = made.add("carry")
    carrying.add_argument("new", metavar="NEW", help="the plan file to write; never an existing one")
    carrying.add_argument("--date", metavar="DATE", help="of that plan, such as 2026-03-15; else the next day")
    made.add("sessions")
    checking = made.add("check")
    checking.add_argument("plan", metavar="PLAN", help="the plan's file")
    checking.add_argument("--strict", action="store_true", help="exit 1 if there is advice")
    showing = made.add("watch")
    showing.add_argument(
        "--network",
        nargs="?",
        const="",
        metavar="ADDRESS",
        help="show it to the home network, at this computer's ADDRESS there; without, to this computer only",
    )
    showing.add_argument(
        "--port", type=number(0, 65535), default=0, metavar="N", help="listen at this port, else at a free one"
    )
    _add_ahead(made)
    _add_orders(made)
    _add_mark(made.add("mark"))
    flags = made.add("flags")
    flags.add_argument("--all", action="store_true", help="cleared ones too")
    flags.add_argument("--resolve", nargs=2, metavar=("BATCH", "RULE"), help="clear a flag, with --why")
    flags.add_argument("--why", metavar="TEXT", help="the reason for clearing it")
    flags.add_argument("--strict", action="store_true", help="exit 1 if a flag is open")
    made.add("log")
    closing = made.add("close")
    closing.add_argument("--why", metavar="TEXT", help="a note on the day")
    closing.add_argument("--yes", action="store_true", help="close even if heat is still on")


def _add_ahead(made: CommandAdder) -> None:
    looking = made.add("ahead")
    looking.add_argument("plan", metavar="PLAN", nargs="?", help="a plan from its start, else the session from now")
    looking.add_argument(
        "--with", dest="with_", action="append", metavar="CHANGE", help="change the day: 'steamer +1', 'stop 21:00'"
    )
    looking.add_argument("--without", action="append", metavar="BATCH", help="forecast without a batch")
    looking.add_argument(
        "--what-if", action="store_true", help="minutes gained by one more of a unit, one more hour, a batch left out"
    )
    looking.add_argument(
        "--budget-ms",
        type=number(1, 600_000),
        metavar="MS",
        help="search for so many milliseconds, not schedules, for each answer",
    )
    looking.add_argument(
        "--evaluations",
        type=number(1, 1_000_000),
        metavar="N",
        help="try N schedules for each answer: all rinsed, rinsed by stop; 200 if left out",
    )
    looking.add_argument(
        "--width", type=number(40, 1000), metavar="N", help="columns to fit, else the window's; 80 in a file"
    )
    looking.add_argument("--html", metavar="FILE", help="the day as a chart for a browser and the wall")
    looking.add_argument("--overwrite", action="store_true", help="replace an existing FILE")
    looking.add_argument("--strict", action="store_true", help="exit 1 if the day does not fit")


def _add_orders(made: CommandAdder) -> None:
    orders = made.add("orders")
    orders.add_argument("csv", metavar="CSV", nargs="?", help="a table from a spreadsheet or a shop; - is stdin")
    orders.add_argument("--into", metavar="PLAN", required=True, help="the plan to import into, all or nothing")
    orders.add_argument(
        "--columns",
        metavar="FILE",
        help="which column means what, else orders.columns.toml beside the plan, guessed the first time",
    )
    orders.add_argument("--again", action="store_true", help="also import orders that another plan in the folder has")
    orders.add_argument("--dry-run", action="store_true", help="show what would be imported, write nothing")
    library = made.add("library")
    library.add_argument("--take", metavar="PLAN", help="add a plan's definitions, and show what is new or changed")
    library.add_argument("--only-new", action="store_true", help="with --take: add new definitions, change none")


def _add_mark(made: argparse.ArgumentParser) -> None:
    states, waters = [state.value for state in STATES], [water.value for water in Water]
    made.add_argument("batch", metavar="BATCH", nargs="?", help="its number; several as 01-04 or 01,03")
    made.add_argument("state", metavar="STATE", nargs="?", choices=states, help="where it goes: " + ", ".join(states))
    made.add_argument("--unit", metavar="U", help="which unit it is in, such as 'steamer 2'")
    made.add_argument("--acid", metavar="Q", help="acid put in, such as '60 mL'; with --unit into that unit's bath")
    made.add_argument("--water", metavar="W", choices=waters, help="what water the unit has: new or kept")
    made.add_argument("--tank", metavar="T", choices=[UnitEvent.FILLED.value], help="filled, before the heat starts")
    made.add_argument("--heat", nargs=2, metavar=("N", "EDGE"), help="heat N: start, heat (hot now) or end")
    made.add_argument("--pass", dest="heat", nargs=2, help=argparse.SUPPRESS)  # as --heat was called
    made.add_argument("--reading", action="append", metavar="K=V", help="ph=4.6, eye=tinted, yarn_c=22, jar='12 0.4'")
    made.add_argument("--where", metavar="PLACE", help="where you looked: puddle, pot, first rinse")
    made.add_argument("--layer", type=number(1, 99), metavar="N", help="which layer it moves into")
    made.add_argument("--mix", metavar="TEXT", help="dye from another mix than the lot's")
    made.add_argument("--outcome", metavar="WORD", help="with done: first, second, one-off")
    made.add_argument("--tag", metavar="TEXT", help="what is tied to it, such as 'red' or '2 knots'")
    made.add_argument("--skeins", type=number(1, 5000), metavar="N", help="its skeins, counted again")
    made.add_argument("--cover", metavar="WORD", help="open, lidded, wrapped")
    made.add_argument("--into", nargs="+", metavar="NO=N", help="split it, such as 03a=3 03b=2")
    made.add_argument(
        "--used", action="append", metavar="NAME=Q", help="'Peat=120 mL' of solution, 'Peat=0.4 g' powder"
    )
    made.add_argument(
        "--left-over", action="append", metavar="NAME=Q", help="left of the solution poured, such as 'Peat=20 mL'"
    )
    made.add_argument("--overdye", metavar="COLOURWAY", help="dye it over in this colourway")
    made.add_argument("--why", metavar="TEXT", help="the reason")
    made.add_argument("--note", metavar="TEXT", help="a note on it")
    made.add_argument("--at", metavar="TIME", help="when it happened, 14:05 or 2026-03-14T14:05; else now")
    made.add_argument(
        "--again", action="store_true", help="record it even if you typed the same less than a minute ago"
    )
    made.add_argument(
        "--from", dest="from_file", metavar="FILE", help="many events, one JSON object a line; - is stdin"
    )


def _add_papers(made: CommandAdder) -> None:
    weighing = made.add("weigh")
    weighing.add_argument(
        "plan", metavar="PLAN", nargs="?", help="a plan; if left out, what still needs dye in the session"
    )
    _add_acid(made.add("acid"))
    summary = made.add("summary")
    sheet = made.add("sheet")
    sheet.add_argument("kind", metavar="SHEET", choices=SHEETS, help=", ".join(SHEETS))
    sheet.add_argument(
        "about", metavar="PLAN|LOT", nargs="?", help="weigh, day: a plan not started; lot: its number, or a batch"
    )
    sheet.add_argument(
        "--size", type=label_size, metavar="COLUMNSxROWS",
        help="labels on a page, for --html: 3x7, 2x4 …; else 3x7 on A4, 3x10 on Letter",
    )  # fmt: skip
    for each in (summary, sheet):
        _add_ways(each)


def _add_acid(made: argparse.ArgumentParser) -> None:
    made.add_argument("--water", metavar="V", help="how much water, such as '4 L'; 1 L if left out")
    made.add_argument("--alkalinity", metavar="A", help="such as '180 mg/L', '11 dH', '3,6 meq/L'; mg/L by itself")
    made.add_argument(
        "--hardness",
        metavar="H",
        help="of the water; given alone it stands in for alkalinity, and the dose may be too big",
    )
    made.add_argument("--target-ph", metavar="PH", help="4.5 if left out")
    made.add_argument("--kind", choices=ACIDS, default="vinegar", metavar="KIND", help=", ".join(ACIDS))
    made.add_argument("--strength", metavar="S", help="of the acid, in %% w/v; 5 for vinegar")
    made.add_argument("--temperature", metavar="T", help="of the water; 15 °C if left out")
    made.add_argument("--fibre", metavar="W", help="dry weight of yarn in it, to allow for the acid it takes up")
    made.add_argument(
        "--fibre-takes", metavar="M", help="mmol of acid that a gram of fibre takes up, if not the usual"
    )
    made.add_argument("--dose", metavar="Q", help="show the pH that this much acid reaches")
    made.add_argument(
        "--reached", metavar="PH", help="the pH you read after --dose, else after the whole dose: show what to add"
    )


def label_size(typed: str) -> str:
    """Return a size of labels, "3x7", as typed. Raises ArgumentTypeError."""
    from dyeday.paper.layout.label_page import grid_of

    try:
        grid_of("A4", typed)
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from None
    return typed


def _add_ways(made: argparse.ArgumentParser) -> None:
    made.add_argument("--print", action="store_true", help="send it to the printer")
    made.add_argument("--printer", metavar="QUEUE", help="which queue (default: LPDEST, PRINTER, the system's)")
    made.add_argument("--copies", type=number(1, 99), metavar="N", help="how many copies, 1 to 99")
    made.add_argument("--paper", choices=("A4", "Letter"), help="paper size (default: A4; Letter for US units)")
    made.add_argument("--text", metavar="FILE", help="write it to a file as plain text")
    made.add_argument("--html", metavar="FILE", help="write it to a file for a browser")
    may_overwrite(made)


def _add_books(made: CommandAdder) -> None:
    parcels = made.add("parcels")
    parcels.add_argument("--labels", action="store_true", help="the text of the labels of all that is ready")
    parcels.add_argument("--cost", action="store_true", help="what each lot cost, and each order brings")
    parcels.add_argument("--strict", action="store_true", help="exit 1 if a parcel waits")
    _add_shelf(made.add("shelf"))
    times = made.add("times")
    what = times.add_mutually_exclusive_group()
    what.add_argument("--take", action="store_true", help="make forecasts use your minutes from now on")
    what.add_argument("--forget", action="store_true", help="make forecasts use the plan's minutes again")
    what.add_argument("--again", action="store_true", help="read the latest sessions again")
    what.add_argument("--day", action="store_true", help="show each step of one session instead")
    back = made.add("look-back")
    back.add_argument("--from", dest="from_", metavar="DATE", help="2026-03-14, 2026-03 or 2026; else a year before")
    back.add_argument("--to", metavar="DATE", help="else today")
    back.add_argument("--csv", metavar="FILE", help="write the figures to a file; - is stdout")
    may_overwrite(back)
    _add_lots(made.add("lots"))
    _add_keeping(made)


def _add_shelf(made: argparse.ArgumentParser) -> None:
    things = made.add_argument_group("what moved", "repeatable, each with its amount")
    things.add_argument("--received", action=_Moved, metavar="NAME", help="what came")
    things.add_argument("--counted", action=_Moved, metavar="NAME", help="the amount counted, with --why")
    things.add_argument("--made", action=_Moved, metavar="DYE", help="a solution, with its --strength")
    things.add_argument("--used", action=_Moved, metavar="NAME", help="used or lost outside sessions, with --why")
    things.add_argument("--amount", action=_Of, nargs="+", metavar="Q", help="of it: 100 g, 2 L, 20 skeins")
    things.add_argument("--strength", action=_Of, nargs="+", metavar="S", help="of a solution: 2 %%")
    made.set_defaults(moved=None)
    made.add_argument("--why", metavar="TEXT", help="the reason, kept with the movement")
    made.add_argument(
        "--again", action="store_true", help="record it even if you typed the same less than a minute ago"
    )
    made.add_argument("--lot", metavar="TEXT", help="the powder's or the mill's lot number")
    made.add_argument("--as", dest="thing", choices=THINGS, help="what it is, if its name is new")
    made.add_argument("--at", metavar="TIME", help="when it happened, 14:05 or 2026-03-14T14:05; else now")
    made.add_argument(
        "--weeks", type=number(1.0, 520.0), default=8.0, metavar="N", help="weeks of past use to go by; default 8"
    )
    made.add_argument(
        "--lead",
        type=number(0.0, 730.0),
        default=14.0,
        metavar="DAYS",
        help="how long an order takes to arrive; default 14",
    )
    made.add_argument("--moves", action="store_true", help="list every movement instead")
    made.add_argument("--csv", metavar="FILE", help="write it to a file for a spreadsheet; - is stdout")
    may_overwrite(made)
    made.add_argument("--from", dest="from_file", metavar="FILE", help="import movements from --moves")
    made.add_argument("--strict", action="store_true", help="exit 1 if something must be reordered")


def _add_lots(made: argparse.ArgumentParser) -> None:
    made.add_argument(
        "words",
        metavar="WORDS",
        nargs="*",
        help="lots that have all these words: colourway, base, order, date, note, flag, mill lot …; or a NUMBER",
    )
    made.add_argument("--all", action="store_true", help="list all, not only the newest 40")
    made.add_argument("--csv", metavar="FILE", help="write what is found to a file, one lot a line; - is stdout")
    may_overwrite(made)
    kept = made.add_argument_group("add to one lot; nothing is changed")
    kept.add_argument("--note", metavar="TEXT", action="append", help="anything worth knowing next time")
    kept.add_argument("--mill-lot", metavar="TEXT", help="the yarn's lot, from the mill's band")
    kept.add_argument("--powder-lot", metavar="[DYE=]TEXT", action="append", help="the powder's lot, from the jar")
    kept.add_argument("--photo", metavar="FILE", action="append", help="the file of a picture")
    kept.add_argument(
        "--look", choices=LOOKS, metavar="WORD", help="how it looks beside the kept swatch: " + ", ".join(LOOKS)
    )
    again = made.add_argument_group("dye it again")
    again.add_argument("--again", action="store_true", help="its order and recipe for a plan; what differs today")
    again.add_argument("--plan", metavar="PLAN", help="today's plan, else that of the newest session")
    again.add_argument("--into", metavar="PLAN", help="add it to this plan; comments and layout stay")
    again.add_argument("--skeins", type=number(1, 5000), metavar="N", help="how many; default: as many as before")
    other = made.add_argument_group("the lot book")
    other.add_argument(
        "--from", dest="from_file", metavar="FILE", help="import lots from --json; existing ones are skipped"
    )


def _add_keeping(made: CommandAdder) -> None:
    restoring = made.add("restore")
    restoring.add_argument("name", metavar="NAME", nargs="?", help="a session's id, or studio")
    restoring.add_argument("when", metavar="COPY", nargs="?", help="which copy, or the beginning of its name")
    restoring.add_argument("--newest", action="store_true", help="the newest undamaged copy")
    looking = made.add("doctor")
    looking.add_argument("--strict", action="store_true", help="exit 1 if something is wrong")
    sounding = made.add("sound")
    sounding.add_argument(
        "--prompt", metavar="PROGRAM", help="what runs at a prompt: a program and its words, quoted"
    )
    sounding.add_argument("--alarm", metavar="PROGRAM", help="what runs at an alarm, else what runs at a prompt")
    sounding.add_argument("--tank", metavar="PROGRAM", help="what runs when a tank runs dry, else as at an alarm")
    sounding.add_argument("--off", action="store_true", help="no program, the terminal's bell only")
    sounding.add_argument("--test", action="store_true", help="ring the bell and run each program that is set")
    sounding.add_argument("--yes", action="store_true", help="set it without being asked")
    helping = made.add("help")
    helping.add_argument("topic", metavar="TOPIC", nargs="?", choices=TOPICS, help=f"one of: {', '.join(TOPICS)}")
