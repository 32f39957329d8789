"""Invented days of any size: a plan with as many batches as wanted, and a session with as many events."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from dyeday.plan.model import Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.store import clock
from dyeday.store.session_file import SessionFile
from dyeday.store.sessions import Sessions
from dyeday.track.day.day_state import Event
from dyeday.track.timestamp import Moment
from tests.typed_events import make

KIT = """
[[circuit]]
name = "worktop"
volts = 230
amps = 63

[[kit]]
name = "tray"
kind = "tray"
units = {batches}
holds = 4

[[kit]]
name = "steamer"
kind = "steamer"
units = 8
holds = 8
power = "1200 W"
circuit = "worktop"

[[kit]]
name = "sink"
kind = "sink"

[[kit]]
name = "pegs"
kind = "pegs"
holds = 400

[[base]]
name = "Fell sock"
fibre = {{ "superwash wool" = 75, nylon = 25 }}
skein = "100 g"

[[dye]]
name = "Peat"
"""
COLOURWAY = """
[[colourway]]
name = "Moor {n:02d}"
sections = [
  {{ share = 60, swatch = "#5b4632", dyes = {{ "Peat" = 1.0 }} }},
  {{ share = 40, dyes = {{ "Peat" = 0.3 }} }},
]
fix = ["steam 40 min"]

[[order]]
item = "Order {n:02d}"
colourway = "Moor {n:02d}"
base = "Fell sock"
skeins = 4
"""


def plan_text(batches: int, now: datetime | None = None) -> str:
    """Return a plan for today of ``batches`` batches of four skeins, each a colourway of its own."""
    now = now or clock.now().utc.astimezone()
    start = max(0, now.hour - 3)
    head = f'[session]\nname = "A heavy day"\ndate = {now.date()}\nstart = "{start:02d}:00"\nstop = "23:59"\n'
    water = '\n[water]\nalkalinity = "180 mg/L"\n'
    many = "".join(COLOURWAY.format(n=n) for n in range(1, batches + 1))
    return head + water + KIT.format(batches=batches) + many


@dataclass
class Making:
    """Makes events one second apart that end a minute ago."""

    session: SessionFile
    total: int
    now: Moment
    made: int = 0

    def event(self, kind: str, batch: str | None, **data: Any) -> Event:
        at = self.now.later(-60.0 - (self.total - self.made))
        self.made += 1
        return make(kind, at, clock.new_id, batch=batch, **data)


def soaking_day(now: Moment, batches: int, soaking: int, since_min: float = 5.0) -> tuple[Plan, list[Event]]:
    """Return a plan, and events by which some batches soak, the n-th for ``since_min`` and 0.9 n seconds."""
    plan = read_plan(plan_text(batches, now.utc))
    width = max(2, len(str(batches)))
    ids = (f"soak{n:04d}" for n in range(1, soaking + 1))
    return plan, [
        make(
            "moved",
            now.later(-60 * since_min - 0.9 * n),
            lambda: next(ids),
            batch=f"{n:0{width}d}",
            to="soak",
            unit=f"tray {n}",
        )
        for n in range(soaking, 0, -1)
    ]


def session_of(data: Path, batches: int, events: int, soaking: int) -> SessionFile:
    """Begin a session and record ``events`` events: ``soaking`` batches with a clock each, and notes on all."""
    text = plan_text(batches)
    source = data / "heavy.toml"
    data.mkdir(parents=True, exist_ok=True)
    source.write_text(text, encoding="utf-8")
    now = clock.now()
    session = Sessions(data).begin(read_plan(text), source, text, now.later(-timedelta(hours=2).total_seconds()))
    making = Making(session, events, now)
    width = max(2, len(str(batches)))
    numbers = [f"{n:0{width}d}" for n in range(1, batches + 1)]
    made: list[Event] = []
    for n, number in enumerate(numbers[:soaking], 1):
        if len(made) < events:
            made.append(making.event("moved", number, to="soak", unit=f"tray {n}"))
    while len(made) < events:
        number = numbers[len(made) % len(numbers)]
        made.append(making.event("note", number, note="looked at, colour even"))
    session.add(made)
    return session
