"""The pages of `dyeday help`, also on the bench: short texts, and lists from the program's own tables."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from dyeday.paper.layout.sheet_text import WIDTH
from dyeday.paper.sheets.cautions import caution_lines
from dyeday.plan.key_help import about, keys_of, plan_help
from dyeday.text import wrap
from dyeday.track.events.hours_events import AIM_WORDS
from dyeday.track.flags import RULES

# fmt: off
WORDS = (
    ("session", "one dye day; it may run past midnight"),
    ("aim", f"what the forecast plans for: {', '.join(AIM_WORDS.values())}"),
    ("batch", "skeins that move together, numbered 01, 02, …"),
    ("piece", "a skein, a mini or a blank"),
    ("tag", "what you tie to a batch's yarn"),
    ("base", "the undyed yarn"),
    ("colourway", "the named colour"),
    ("colour letters",
     "where a screen does not show a colour well: YYBB is half yellow, half blue. B blue, C cream, E grey, "
     "G green, K black, N brown, O orange, P pink, R red, T teal, V violet, W white, Y yellow"),
    ("dish", "what a microwave heats at once; its minutes are for each dish"),
    ("lot",
     "skeins dyed from one mix; finished lots are in the lot book. If you mix twice for a colourway on a base, "
     "record it: dyeday mark 03 paint --mix second"),
    ("sample", "an order that is dyed and not sold"),
    ("kept sample",
     "a strand of a finished lot, tied to its page (dyeday sheet lot): compare new yarn with it by daylight"),
    ("library", "kit, bases, dyes and colourways kept for new plans"),
    ("shelf", "the dye, acid and yarn you have in stock"),
    ("kit", "a kind of equipment"),
    ("unit", "one piece of it"),
    ("tank",
     "a steamer's water, from MIN to MAX; low once a fifth of its minutes is left: reserve in [rules] of the plan. "
     "Fill it switched off, with boiling water, its lid opened away from you; past its alarm it may be dry: let it "
     "cool first"),
    ("rack", "a drying rack or a line; a plan calls it pegs"),
    ("load", "the batches that go into one unit together"),
    ("soak", "wetting the yarn, with or without acid; longer does no harm, overnight too"),
    ("acid water",
     "water with acid as in a soak; mist with that, never with acid from the bottle. For a soak without acid, mist "
     "its whole dose, in just enough water to dampen the yarn (common practice)"),
    ("layer", "one time round paint, fix and cool; L2 is the second"),
    ("fix", "heating the yarn so that the dye stays; a batch is in fix once its dye is on, until it leaves the heat"),
    ("heat", "one steaming, one simmer, or one round of microwave bursts, dish after dish"),
    ("cool", "rest until yarn and rinse water are about equally warm"),
    ("bath", "the liquid the yarn lies in; clear when the dye is on the yarn"),
    ("solution", "powder made up with water before the day"),
    ("liquor", "what you paint with or pour into the bath, mixed from solutions, water and acid"),
    ("mix", "the liquor for one lot, for all of its batches at once"),
    ("puddle", "the liquid under painted yarn"),
    ("exhaustion", "the share of the dye that the yarn has taken up"),
    ("clear, tinted, coloured",
     "the bath in a white spoon: no colour: at least 95 % of the dye is on the yarn; a faint one: 80 to 95 %; a "
     "plain one: less than 80 %. Only coloured raises a flag"),
    ("jar match",
     "exhaustion by eye: keep a jar of the bath before the yarn goes in. Later thin some of it with water until it "
     "looks like the bath, in equal glasses before white paper. Record how far, and the litres of bath left: 1 part "
     "in 16 and 2.5 L of 3 L mean that 95 % is on the yarn"),
    ("absorbance",
     "exhaustion by colorimeter: cooled samples of the bath before and after, set to 0 with water, in the colour of "
     "light that the bath dims most: 0.9 in 3 L at first, 0.1 in 2.5 L left: 91 %"),
    ("WOF", "weight of fibre: the dry weight of the yarn"),
    ("DOS", "depth of shade: dye powder as a share of the dry weight it goes on: of a section, that section's part"),
    ("cover", 'how painted yarn waits: open, lidded, wrapped; "safe" is how long until it may dry out'),
    ("prompt", "a step's time has come: it rings once; an alarm rings twice, a low tank three times"),
    ("chore", "other work: tying and counting, mixing liquor, wrapping, packing"),
    ("ready", "its time has come, and waiting does no harm"),
    ("over", "past its time, and waiting longer will do harm"),
    ("alarm",
     "sounds when you must act at once: heat 15 min over (5 min in a pot with silk or fibre that felts), "
     "painted yarn 5 min past its safe time, a low tank; until you silence or snooze it"),
    ("flag", "something to check, with its numbers and a remedy; it stays until you clear it with a reason"),
    ("undo", "take back the last entry"),
    ("redo", "bring back what was undone or made void"),
    ("void", "cross out any entry, with a reason; the log keeps both"),
    ("finish", "when your last step ends"),
    ("nine days in ten", "of ten days like this one, one ends later than the time given"),
    ("busiest",
     "hands or kit in use for the largest share of the time; more of it need not help: dyeday ahead --what-if "
     "shows what does"),
)
MEANINGS = dict(WORDS)
# fmt: on
FIRST_DAY = (
    "1. Set up your studio: dyeday alone opens the start screen, s the studio; while a day is open, dyeday setup "
    "does.",
    "2. Make a plan: n, then a for each order. w saves. dyeday check PLAN reports errors and unusual recipes.",
    "3. Print the morning's sheets: dyeday sheet weigh PLAN --print is what to weigh out, dyeday sheet day PLAN "
    "--print the timetable. Read the cautions: dyeday sheet cautions.",
    "4. Start the day: b on the plan's screen, or dyeday open PLAN. Enter records the first thing on the list. "
    "dyeday switches nothing: turn units on and off yourself. To move another batch, type its number, then Space. "
    "Press h when a steamer or pot is at full heat: its minutes count from then; without h, from the end of its "
    "warm-up in the plan.",
    "5. Record what you see: r for a reading, f for a batch's flags, n for a note. z undoes an entry. When you "
    "forgot one, press b, type the time it happened, then make the entry.",
    "6. Finish: p prints the page of the day, x closes the day. dyeday carry NEW.toml writes tomorrow's plan for "
    "the batches that are not finished.",
)
ORDERS = (
    "dyeday orders orders.csv --into PLAN reads a table of orders that a spreadsheet or a shop wrote. The first "
    "time it guesses which column means what and writes that to orders.columns.toml beside the plan: correct "
    "it there. Add the names a shop uses for your colourways, its sets, and its way to write dates.",
    "Nothing is written until all names are known. Orders that the plan already has are skipped. Comments and layout "
    "of the plan stay.",
    "dyeday orders --into PLAN, without a table, edits the orders on the screen; O on the bench does it for the "
    "running day.",
    "Closing a day, or dyeday library --take PLAN, keeps its kit, bases, dyes and colourways: the next plan needs "
    "only their names.",
)
RECORDS = (
    "Lots: closing a day puts each finished lot into the lot book, under a number made of the day and its first "
    "batch, 260314-03. dyeday sheet lot NUMBER prints its page: tie a strand of the yarn to it as the kept sample. "
    "dyeday lots finds one by any words.",
    "The same colour again: dyeday lots NUMBER --again --into PLAN adds its recipe as it was, for today's yarn "
    "and water, and lists what differs from then.",
    "Shelf: dyeday shelf lists what is in stock and what to reorder. --received adds a delivery, --made a bottle "
    "of solution, --counted corrects an amount. Closing a day takes off what was used: as recorded, else as "
    "planned. A plan's on_hand counts for its day and does not change the shelf.",
    "Learned times: dyeday times compares your minutes with the plan's; --take makes forecasts use yours.",
    "A season: dyeday look-back. Costs: with prices in the plan, dyeday parcels --cost.",
)
BACKUP = (
    "dyeday doctor prints the folder that holds your data, and checks everything in it. Choose another one with "
    "--data DIR or the variable DYEDAY_DATA.",
    "Each session is one file, written whole at every entry: what the screen confirmed is on the disk. studio.db "
    "holds your setup and library, the lot book, the shelf and learned times: they are restored together.",
    "The folder backups has verified copies of every file. dyeday restore lists them; dyeday restore NAME --newest "
    "brings one back and keeps the present file aside.",
    "These copies do not survive a lost disk or computer. After closing a day, copy the whole folder and your "
    "plans to a stick or another computer. To go back, copy the folder to its place or name it with --data, then "
    "run dyeday doctor.",
    "Use a synced folder on one computer at a time. Eject a USB stick before you pull it out. On a network drive, "
    "locks are only as reliable as its server.",
    "As text, for other programs: dyeday log --json, dyeday lots --json, dyeday shelf --moves --csv FILE, dyeday "
    "library --json. The first three can be read in again.",
)
TROUBLE = (
    "A wrong entry: z undoes the last one; l lists all, to void or correct any of them.",
    "A forgotten entry: b, the time it happened (1147, or 47 for 47 minutes ago), then the entry. From a terminal: "
    "dyeday mark 03 soak --at 14:05.",
    "Advice you do not want: N for not now, I to put the chosen batch first.",
    "The keys do nothing: the key lock is on. The screen shows the word that unlocks it.",
    "No sound: j tests it or mutes it for some minutes. dyeday sound adds a program that plays a sound.",
    "Power cut, closed lid, crash: every confirmed entry is saved. dyeday continues the day when you open it again.",
    "Disk full, stick pulled out: the bench keeps timing and saves as soon as it can. If you leave before, it writes "
    "the entries to a file that dyeday mark --from reads.",
    "A damaged file: dyeday never loads or overwrites it, and names the dyeday restore that brings back the "
    "newest copy, at most one entry older.",
    'No printer: the page is written to a file. "Sent" means that the print queue has it; check that it came out.',
    "Anything else: dyeday doctor checks data folder, copies, clock, terminal and printer, and says what to do.",
)


def _words() -> Iterator[str]:
    for word, means in WORDS:
        yield from wrap(f"{word}: {means}", WIDTH, "  ", "")


def _flags() -> Iterator[str]:
    yield "The thresholds can be changed in [rules] of a plan. A flag never blocks a key."
    rules = {entry.name: entry for entry in keys_of("[rules]")}
    for rule in RULES.values():
        yield ""
        yield from wrap(f"{rule.short} ({rule.id.value}): {rule.meaning}", WIDTH, "  ", "")
        for key in rule.thresholds:
            yield from wrap(f"{key}: {about(rules[key])}", WIDTH, "      ", "    ")
    yield ""
    yield "When alarms sound, also in [rules]:"
    for key in ("overdue_after", "steam_over", "re_alarm"):
        yield from wrap(f"{key}: {about(rules[key])}", WIDTH, "      ", "    ")


def _paragraphs(texts: Iterable[str]) -> Callable[[], Iterator[str]]:
    def lines() -> Iterator[str]:
        for n, text in enumerate(texts):
            if n:
                yield ""
            yield from wrap(text, WIDTH)

    return lines


PAGES: dict[str, tuple[str, Callable[[], Iterable[str]]]] = {
    "plan": ("every key of a plan, with thresholds and alarm times: unit, bounds, default", plan_help),
    "words": ("the words of screens and sheets", _words),
    "flags": ("every flag: when it is raised, and its thresholds", _flags),
    "first-day": ("a first day, in six steps", _paragraphs(FIRST_DAY)),
    "cautions": ("what to mind before you weigh anything or switch anything on", caution_lines),
    "orders": ("orders from a table or on the screen", _paragraphs(ORDERS)),
    "records": ("lots, shelf, learned times, costs", _paragraphs(RECORDS)),
    "backup": ("where your data is, copies, another computer", _paragraphs(BACKUP)),
    "trouble": ("what to do when something goes wrong", _paragraphs(TROUBLE)),
}
"""by topic: what it is about, and its lines"""


def help_lines(topic: str) -> list[str]:
    """Return the lines of a topic of `PAGES`."""
    return list(PAGES[topic][1]())
