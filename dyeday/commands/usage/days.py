"""Usage of the commands that fill a plan, start and open its day, and forecast it."""

from __future__ import annotations

from dyeday.commands.usage.adding import CommandAdder, number


def add(made: CommandAdder) -> None:
    """Add ``setup``, ``open``, ``demo``, ``begin``, ``carry``, ``sessions``, ``check``, ``watch``, ``ahead``,
    ``orders`` and ``library``."""
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


def _add_ahead(made: CommandAdder) -> None:
    looking = made.add("ahead")
    looking.add_argument("plan", metavar="PLAN", nargs="?", help="a plan from its start, else the session from now")
    looking.add_argument(
        "--with",
        dest="with_",
        action="append",
        metavar="CHANGE",
        help="change the day: 'steamer +1', 'stop 21:00'",
    )
    looking.add_argument("--without", action="append", metavar="BATCH", help="forecast without a batch")
    looking.add_argument(
        "--what-if", action="store_true", help="minutes gained by one more of each unit, an hour, each batch left out"
    )
    looking.add_argument(
        "--budget-ms",
        type=number(1, 600_000),
        metavar="MS",
        help="search by time instead: milliseconds for each of the two answers",
    )
    looking.add_argument(
        "--evaluations",
        type=number(1, 1_000_000),
        metavar="N",
        help="try N schedules for each of the two answers; 200 if left out, as for the timetable",
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
    orders.add_argument("--again", action="store_true", help="import orders too that another plan of the folder has")
    orders.add_argument("--dry-run", action="store_true", help="show what would be imported, write nothing")
    library = made.add("library")
    library.add_argument("--take", metavar="PLAN", help="add a plan's definitions, and show what is new or changed")
    library.add_argument("--only-new", action="store_true", help="with --take: add new definitions, change none")
