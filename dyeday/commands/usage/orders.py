"""Usage of the commands that make plans out of what is ordered and what the studio keeps."""

from __future__ import annotations

from dyeday.commands.usage.adding import CommandAdder


def add(made: CommandAdder) -> None:
    """Add ``orders`` and ``library``."""
    orders = made.add(
        "orders",
        "screens.orders_answer:orders",
        "import a table of orders into a plan; without a table, edit its orders on the screen",
        "dyeday orders orders.csv --into saturday.toml",
    )
    orders.add_argument("csv", metavar="CSV", nargs="?", help="a table any spreadsheet or shop wrote; - is stdin")
    orders.add_argument("--into", metavar="PLAN", required=True, help="the plan to import into, all or nothing")
    orders.add_argument(
        "--columns",
        metavar="FILE",
        help="which column means what, else orders.columns.toml beside the plan, guessed the first time",
    )
    orders.add_argument("--again", action="store_true", help="also those that another plan beside this one has")
    orders.add_argument("--dry-run", action="store_true", help="show what would be imported, write nothing")
    library = made.add(
        "library",
        "books.library_answer:library",
        "kit, bases, dyes and colourways kept between days, so that plans only name them",
        "dyeday library --take saturday.toml",
    )
    library.add_argument("--take", metavar="PLAN", help="add a plan's definitions, and show what is new or changed")
    library.add_argument("--only-new", action="store_true", help="with --take: add new definitions, change none")
