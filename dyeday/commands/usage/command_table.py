"""Every command of the shell: the function that runs it, its examples, what it is for, and its shared options."""

from __future__ import annotations

from typing import NamedTuple

TOPICS = ("plan", "words", "flags", "first-day", "cautions", "orders", "records", "backup", "trouble")


class Command(NamedTuple):
    """A command. ``runs`` is ``module:function`` within `dyeday.commands`, imported only when the command runs."""

    name: str
    runs: str
    example: str
    """a line, or several that stand under the first one's ``example: ``"""
    text: str
    of_session: bool = False
    as_json: bool = True
    as_of: bool = False


# fmt: off
COMMANDS = (
    Command("setup", "screens.start_screens:setup", "dyeday setup",
            "set up the studio on the screen", as_json=False),
    Command("open", "screens.open_bench:open_plan", "dyeday open saturday.toml",
            "open a plan's session on the bench; start it if needed", as_json=False),
    Command("demo", "screens.open_bench:demo", "dyeday demo",
            "try the demo: a made-up day on the bench, deleted afterwards"),
    Command("begin", "days.check_and_begin:begin", "dyeday begin saturday.toml",
            "start a session without a screen, and print its id"),
    Command("carry", "days.carry:carry", "dyeday carry sunday.toml",
            "write tomorrow's plan from the unfinished batches", of_session=True),
    Command("sessions", "days.lists:list_sessions", "dyeday sessions --json", "list all sessions, newest first"),
    Command("check", "days.check_and_begin:check", "dyeday check saturday.toml",
            "check a plan for mistakes and unusual recipes"),
    Command("watch", "screens.watch:watch", "dyeday watch --network",
            "show what is next and every timer on a page for phones and tablets", of_session=True, as_json=False),
    Command("ahead", "days.forecast_answer:ahead", "dyeday ahead saturday.toml",
            "forecast when everything happens, and what will not fit", of_session=True, as_of=True),
    Command("orders", "screens.orders_answer:orders", "dyeday orders orders.csv --into saturday.toml",
            "import a table of orders into a plan; without a table, edit its orders on the screen"),
    Command("library", "books.library_answer:library", "dyeday library --take saturday.toml",
            "list the kit, bases, dyes and colourways that plans can name; add a plan's"),
    Command("mark", "days.mark:mark",
            "dyeday mark 03 soak --unit 'tray 1' --acid '60 mL'\n"
            "         dyeday mark 03 --heat 1 start --unit 'steamer 1' --tank filled\n"
            "         dyeday mark 03 --reading ph=4.6 --where pot --at 14:05\n"
            "         dyeday mark 03 --into 03a=2 03b=1 --why 'two orders'",
            "record what happened", of_session=True),
    Command("flags", "days.lists:list_flags", "dyeday flags --resolve 03 short-soak --why 'soaked on'",
            "list open flags, or clear one", of_session=True, as_of=True),
    Command("log", "days.lists:log", "dyeday log --json > day.jsonl",
            "print every entry of a session", of_session=True),
    Command("close", "days.close:close", "dyeday close",
            "close the session and say what stays where", of_session=True),
    Command("summary", "papers.print_sheets:summary", "dyeday summary --print",
            "show or print the page of the day", of_session=True, as_of=True),
    Command("sheet", "papers.print_sheets:sheet", "dyeday sheet weigh saturday.toml --print",
            "show or print a sheet for wall, folder or parcel", of_session=True, as_json=False, as_of=True),
    Command("weigh", "papers.weigh:weigh", "dyeday weigh saturday.toml",
            "show what to weigh out: dye, solution, acid, water", of_session=True),
    Command("acid", "papers.acid_answer:acid", "dyeday acid --water '4 L' --alkalinity '11 dKH'",
            "calculate the acid for one bath of your water"),
    Command("parcels", "papers.parcels_answer:parcels", "dyeday parcels --cost",
            "show which orders and parcels are complete, and what others wait for", of_session=True, as_of=True),
    Command("shelf", "books.shelf_answer:shelf", "dyeday shelf --received 'Slate Blue' --amount 100 g --lot PW-113",
            "list what is in stock; record what came and went"),
    Command("times", "books.times_answer:times", "dyeday times --take",
            "compare planned with actual minutes", of_session=True),
    Command("look-back", "books.look_back:look_back", "dyeday look-back --from 2026-01 --to 2026-06",
            "show a season in figures"),
    Command("lots", "books.lots_answer:lots", "dyeday lots harbour wool 2026",
            "find and show finished lots, add notes to them, dye them again", of_session=True),
    Command("restore", "keeping.restore:restore", "dyeday restore 2026-03-14-1 --newest",
            "list copies of your data, or bring one back"),
    Command("doctor", "keeping.doctor:doctor", "dyeday doctor --strict",
            "check the data folder, copies, clock, terminal and printer"),
    Command("sound", "screens.sound_settings:sound", "dyeday sound --prompt 'aplay ding.wav'",
            "show, set, test or switch off this computer's sounds"),
    Command("help", "usage:help_on", "dyeday help plan",
            "show a short page on a topic: " + ", ".join(TOPICS), as_json=False),
)
# fmt: on
