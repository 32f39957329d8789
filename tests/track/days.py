"""A studio's day in a few lines: one plan, and a builder that turns short lines into events and folds them.

Every line goes the way a file of events goes: through `read_event`, in the order of recording, into `fold`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

from dyeday.plan.model import Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.terms import FlagId
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day, Event
from dyeday.track.events.event_json import read_event
from dyeday.track.flags import Flag, flags_of
from dyeday.track.folding.fold import fold
from dyeday.track.timestamp import Moment

MIDNIGHT = datetime(2026, 4, 18, tzinfo=UTC)
BOOT = "boot-one"

Line = dict[str, Any]

PLAN = """
[session]
name = "Tests"
date = 2026-04-18
start = "09:00"
stop = "18:00"
zone = "UTC"

[[kit]]
name = "tray"
kind = "tray"
units = 4
holds = 4

[[kit]]
name = "pot"
kind = "pot"
units = 2
holds = "600 g"

[[kit]]
name = "steamer"
kind = "steamer"
units = 2
holds = 4
tank = "2 L"
lasts = "100 min"

[[kit]]
name = "oven"
kind = "microwave"
holds = 2

[[kit]]
name = "sink"
kind = "sink"

[[kit]]
name = "pegs"
kind = "pegs"
holds = 40

[[base]]
name = "Sock"
fibre = { "superwash wool" = 75, nylon = 25 }
skein = "100 g"
length = "420 m"

[[base]]
name = "Wool"
fibre = { wool = 100 }
skein = "100 g"
length = "200 m"

[[dye]]
name = "Navy"

[[dye]]
name = "Turquoise"
expected_exhaustion = "80 %"

[[dye]]
name = "Slow"
min_steam = "50 min"

# 01: painted, acid in the soak, 20 min of it
[[colourway]]
name = "Harbour"
fix = ["steam 40 min"]
sections = [{ share = 100, dyes = { Navy = 1.0 } }]

# 02: wool that felts, soaked 45 min; above 2 % of a dye
[[colourway]]
name = "Heather"
fix = ["steam 50 min"]
sections = [{ share = 100, dyes = { Navy = 2.5 } }]

# 03: immersed, acid in the bath, 20 L/kg: 8 L
[[colourway]]
name = "Peat"
how = "immersed"
cool_where = "out"
cool = 300
fix = ["simmer 30 min"]
sections = [{ share = 100, dyes = { Navy = 1.0 } }]

# 04: two bursts with a rest between; three skeins are two pots
[[colourway]]
name = "Sparks"
fix = ["microwave 2 min", "rest 5 min", "microwave 2 min"]
sections = [{ share = 100, dyes = { Navy = 1.0 } }]

# 05: a second layer that asks for no new soak
[[colourway]]
name = "Rain"
[[colourway.layer]]
fix = ["steam 40 min"]
sections = [{ share = 100, dyes = { Navy = 1.0 } }]
[[colourway.layer]]
how = "speckled"
fix = ["steam 30 min"]
sections = [{ share = 100, dyes = { Navy = 0.2 } }]

# 06: a second layer with an acid soak of its own
[[colourway]]
name = "Again"
[[colourway.layer]]
fix = ["steam 40 min"]
sections = [{ share = 100, dyes = { Navy = 1.0 } }]
[[colourway.layer]]
acid_in = "soak"
fix = ["steam 40 min"]
sections = [{ share = 100, dyes = { Navy = 1.0 } }]

# 07: acid in the paint
[[colourway]]
name = "Inked"
acid_in = "paint"
fix = ["steam 40 min"]
sections = [{ share = 100, dyes = { Navy = 1.0 } }]

# 10: a dye that needs more heat than the recipe gives
[[colourway]]
name = "Deep"
fix = ["steam 40 min"]
sections = [{ share = 100, dyes = { Slow = 1.0 } }]

# 11: a dye known to leave colour in the bath
[[colourway]]
name = "Lagoon"
how = "immersed"
cool_where = "out"
cool = 300
fix = ["simmer 30 min"]
sections = [{ share = 100, dyes = { Turquoise = 1.0 } }]

[[order]]
item = "harbour for Ida"
colourway = "Harbour"
base = "Sock"
skeins = 3

[[order]]
item = "heather vest"
colourway = "Heather"
base = "Wool"
skeins = 3

[[order]]
item = "peat blanket"
colourway = "Peat"
base = "Wool"
skeins = 4

[[order]]
item = "sparks"
colourway = "Sparks"
base = "Sock"
skeins = 3

[[order]]
item = "rain"
colourway = "Rain"
base = "Sock"
skeins = 2

[[order]]
item = "again"
colourway = "Again"
base = "Sock"
skeins = 2

[[order]]
item = "inked"
colourway = "Inked"
base = "Sock"
skeins = 2

# 08 and 09: one order that must match, two batches
[[order]]
item = "jumper"
colourway = "Harbour"
base = "Wool"
skeins = 8
match = true

[[order]]
item = "deep"
colourway = "Deep"
base = "Sock"
skeins = 2

[[order]]
item = "lagoon"
colourway = "Lagoon"
base = "Wool"
skeins = 2
"""


STRICT = ("steam_over = 5", 'look = "always"')


def plan_with(rules: str = "", more: str = "") -> Plan:
    """Return the plan with ``rules`` under [rules] and ``more`` tables after it.

    Its steam may stand five minutes and its baths are always looked at, unless ``rules`` say otherwise.
    """
    strict = "\n".join(line for line in STRICT if line.split()[0] not in rules)
    return read_plan(f"{PLAN}\n[rules]\n{strict}\n{rules}\n{more}\n")


THE_PLAN = plan_with()


def seconds(time: str) -> int:
    """Return the seconds from the session's midnight to "10:05", "10:05:30" or, on the next day, "25:10"."""
    parts = [int(part) for part in time.split(":")]
    hours, minutes, rest = (*parts, 0, 0)[:3]
    return hours * 3600 + minutes * 60 + rest


def instant(time: str) -> datetime:
    return MIDNIGHT + timedelta(seconds=seconds(time))


def now(time: str) -> Moment:
    """Return a moment of which only the wall clock is known."""
    return Moment(instant(time))


def booted(time: str, boot_id: str = BOOT, stepped_h: float = 0.0) -> Moment:
    """Return the moment truly ``time``, with its boot clock, where the wall shows ``stepped_h`` too much."""
    return Moment(instant(time) + timedelta(hours=stepped_h), float(seconds(time)), boot_id)


def at(time: str, batch: str | None = None, /, **keys: Any) -> Line:
    """Return one event's JSON object; ``heat_no`` and ``is_`` stand for the keys `pass` and `is`."""
    renamed = {{"heat_no": "pass", "is_": "is"}.get(key, key): value for key, value in keys.items()}
    line: Line = {"at": instant(time).isoformat(), **renamed}
    if batch is not None:
        line["batch"] = batch
    return line


def by_boot(lines: Sequence[Line], boot_id: str = BOOT) -> list[Line]:
    """Return lines recorded on a computer whose boot clock started at the session's midnight."""
    out = []
    for line in lines:
        boot_s = (datetime.fromisoformat(line["at"]) - MIDNIGHT).total_seconds()
        out.append({**line, "boot_s": boot_s, "boot_id": boot_id})
    return out


def events(lines: Sequence[Mapping[str, Any]]) -> list[Event]:
    """Return what `read_event` makes of lines recorded one after the other."""
    recorded = Moment(MIDNIGHT + timedelta(days=3))
    return [read_event(line, recorded, twin=n) for n, line in enumerate(lines)]


def day_of(lines: Sequence[Mapping[str, Any]], plan: Plan = THE_PLAN) -> Day:
    """Return the day that lines make of a plan."""
    return fold(plan, events(lines))


def batch_of(lines: Sequence[Mapping[str, Any]], batch: str = "01", plan: Plan = THE_PLAN) -> BatchRecord:
    return day_of(lines, plan).batches[batch]


def flags(
    lines: Sequence[Mapping[str, Any]], rule: FlagId, time: str, *, batch: str = "01", plan: Plan = THE_PLAN
) -> list[Flag]:
    """Return the flags of one rule that a batch has at a time."""
    found = flags_of(day_of(lines, plan), now(time))
    return [flag for flag in found if flag.rule == rule and batch in flag.batches]


def soaked(batch: str = "01", since: str = "09:00", until: str = "10:00", unit: str = "tray 1") -> list[Line]:
    """Return an acid soak long enough, and the move to paint that ends it."""
    return [
        at(since, batch, to="soak", unit=unit),
        at(since, batch, event="acid put in", acid_ml=50),
        at(until, batch, to="paint"),
    ]


def heated(
    batch: str = "01", since: str = "10:30", until: str = "11:20", unit: str = "steamer 1", heat_no: int = 1
) -> list[Line]:
    """Return one heat from switching on (ten minutes before it is at heat) to its end, then the move to cool."""
    return [
        at(since, batch, to="fix"),
        at(since, batch, heat_no=heat_no, run="start", unit=unit),
        at(until, batch, heat_no=heat_no, run="end"),
        at(until, batch, to="cool"),
    ]


def proper(batch: str = "01") -> list[Line]:
    """Return a painted batch with no flag, from soak to pegs."""
    return [
        *soaked(batch),
        *heated(batch),
        at("12:30", batch, reading="eye", value="clear", where="puddle"),
        at("12:30", batch, to="rinse", unit="sink 1"),
        at("12:40", batch, reading="cloth", value="clean"),
        at("12:45", batch, to="dry", unit="pegs 1"),
    ]
