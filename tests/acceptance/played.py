"""The acceptance day of `day.md`, entry by entry, as JSON lines for `dyeday mark --from`.

Times are those of its page, Friday 5 June 2026 where no other day is named. Invented data.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

ZONE = ZoneInfo("Europe/Dublin")
DATES = {"Thu": (2026, 6, 4), "Fri": (2026, 6, 5), "Sat": (2026, 6, 6), "Sun": (2026, 6, 7)}

Line = dict[str, Any]


def instant(time: str) -> datetime:
    """Return the instant of "10:24" on Friday, or of "Sat 09:07"."""
    day, _, clock = time.rpartition(" ")
    hour, minute = map(int, clock.split(":"))
    return datetime(*DATES[day or "Fri"], hour, minute, tzinfo=ZONE)


def at(time: str, **keys: Any) -> Line:
    """Return one event's JSON object; ``pass_`` and ``is_`` stand for the keys `pass` and `is`."""
    return {"at": instant(time).isoformat(), **{key.rstrip("_"): value for key, value in keys.items()}}


def soak(time: str, *batches: str, unit: str, water: str = "new", acid_ml: float = 0) -> Line:
    """Return a load put to soak; ``acid_ml`` of none is plain water."""
    acid = {"acid_ml": acid_ml} if acid_ml else {}
    return at(time, event="load", batches=list(batches), unit=unit, to="soak", water=water, **acid)


def steam(time: str, *batches: str, unit: str, heat: int = 1) -> Line:
    """Return a load put into a steamer, its tank filled and the heat on: one movement of the hands."""
    load = {"event": "load", "batches": list(batches), "unit": unit, "to": "fix", "tank": "filled"}
    return at(time, **load, pass_=heat, run="start")


def out(time: str, *batches: str, heat: int = 1, **keys: Any) -> Line:
    """Return heat off and the batches out to cool: one movement of the hands."""
    return at(time, event="load", batches=list(batches), to="cool", pass_=heat, run="end", **keys)


def moved(time: str, batch: str, to: str, **keys: Any) -> Line:
    return at(time, batch=batch, to=to, **keys)


def burst(time: str, batch: str, heat: int) -> Line:
    """Return a burst of all pots of a batch, which the microwave itself ends."""
    return at(time, event="load", batches=[batch], unit="microwave 1", to="fix", pass_=heat, run="start")


def looked(time: str, batch: str, value: str, **keys: Any) -> Line:
    return at(time, batch=batch, reading="eye", value=value, **keys)


RUSH = {"item": "Mon", "colourway": "Tide Wrack", "base": "Harbour Sock", "skeins": 2, "due": "2026-06-08"}

FRIDAY: list[Line] = [
    soak("Thu 22:40", "01", unit="tray 1", acid_ml=80),
    soak("Thu 22:40", "02", unit="tray 2", acid_ml=80),
    at("10:22", event="chore", chore="mix dyes", when="before paint"),
    moved("10:22", "01", "paint"),
    soak("10:24", "03", unit="tray 1", water="kept"),
    steam("11:05", "01", unit="steamer 1"),
    moved("11:05", "02", "paint"),
    soak("11:07", "04", unit="tray 2", acid_ml=60),
    at("11:29", event="added", order={**RUSH, "priority": 1}),
    steam("11:34", "02", unit="steamer 2"),
    moved("11:34", "03", "paint"),
    out("11:57", "01"),
    soak("12:00", "05", unit="tray 1", acid_ml=80),
    moved("12:00", "04", "paint"),
    out("12:26", "02"),
    steam("12:31", "03", unit="steamer 1"),
    steam("12:36", "04", unit="steamer 2"),
    soak("12:40", "06", unit="tray 2", water="kept", acid_ml=60),
    at("12:52", batch="06", reading="ph", value=5.0),
    out("13:21", "03"),
    out("13:26", "04"),
    moved("13:30", "05", "paint"),
    moved("13:50", "05", "fix"),
    burst("13:52", "05", 1),
    moved("13:58", "06", "paint"),
    moved("14:20", "06", "fix"),
    burst("14:21", "05", 2),
    burst("14:31", "06", 1),
    burst("14:38", "06", 2),
    soak("14:47", "07", unit="tray 1", acid_ml=80),
    soak("14:51", "08", unit="tray 2", acid_ml=80),
    soak("14:54", "09", unit="tray 3"),
    at("15:00", batch="07", reading="ph", value=5.5),
    at("15:01", unit="tray 1", acid_ml=60),
    steam("15:57", "05", unit="steamer 1", heat=3),
    steam("16:02", "06", unit="steamer 2", heat=3),
    moved("16:07", "09", "paint", unit="pot 1"),
    at("16:12", event="load", batches=["09"], unit="pot 1", to="fix", water="new", acid_ml=80, pass_=1, run="start"),
    at("16:12", batch="07", reading="ph", value=4.8),
    moved("16:14", "07", "paint"),
    at("16:30", unit="steamer 2", is_="down"),
    moved("16:34", "07", "fix"),
    out("16:37", "05", heat=3),
    steam("16:44", "06", unit="steamer 1", heat=3),
    moved("16:44", "08", "paint"),
    at("16:50", unit="pot 1", acid_ml=75),
    moved("17:06", "08", "fix"),
    out("17:06", "06", heat=3),
    steam("17:13", "07", unit="steamer 1"),
    soak("17:15", "10", unit="tray 3", acid_ml=40),
    soak("17:19", "11", unit="tray 2", acid_ml=80),
    soak("17:24", "12", unit="tray 4", acid_ml=80),
    out("17:33", "09", unit="pot 1"),
    soak("17:44", "13", "15", unit="tray 1", acid_ml=80),
    out("17:53", "07"),
    steam("18:00", "08", unit="steamer 1"),
    moved("18:01", "10", "paint"),
    moved("18:13", "10", "fix"),
    moved("18:13", "13", "paint"),
    moved("18:24", "13", "fix"),
    moved("18:24", "15", "paint"),
    moved("18:33", "15", "fix"),
    moved("18:33", "01", "rinse"),
    looked("18:38", "01", "clear", where="first rinse"),
    out("18:40", "08"),
    moved("18:43", "01", "dry", unit="rack 1"),
    steam("20:05", "10", "15", unit="steamer 1"),
    moved("20:05", "11", "paint"),
    moved("20:25", "11", "fix"),
    moved("20:25", "12", "paint"),
    moved("20:45", "12", "fix"),
    out("20:45", "10"),
    moved("20:47", "07", "paint", layer=2),
    out("20:55", "15"),
    moved("21:01", "07", "fix"),
    steam("21:06", "07", unit="steamer 1"),
    soak("21:10", "14", unit="tray 3"),
    moved("21:10", "02", "rinse"),
    moved("21:17", "02", "dry", unit="rack 1"),
    moved("21:17", "03", "rinse"),
    moved("21:24", "03", "dry", unit="rack 1"),
    moved("21:32", "09", "cool"),
    at("21:35", batch="14", reading="ph", value=5.0),
    moved("21:36", "14", "paint", unit="pot 1", water="kept"),
    at("21:43", event="load", batches=["14"], unit="pot 1", to="fix", water="kept", acid_ml=60, pass_=1, run="start"),
    out("21:46", "07"),
    moved("21:48", "04", "rinse"),
    moved("21:54", "04", "dry", unit="rack 1"),
    at("22:05", batch="14", pass_=1, run="heat"),
    at("22:30", event="hours", stop="23:45"),
    steam("22:40", "13", unit="steamer 1"),
    out("22:50", "14", unit="pot 1"),
    moved("Sat 00:04", "13", "cool", unit="steamer 1"),
    at("Sat 00:06", event="closed"),
]

SATURDAY: list[Line] = [
    moved("Sat 09:02", "13", "cool"),
    steam("Sat 09:07", "11", unit="steamer 1"),
    moved("Sat 09:07", "15", "rinse"),
    moved("Sat 09:11", "15", "dry", unit="rack 1"),
    moved("Sat 09:11", "13", "rinse"),
    moved("Sat 09:15", "13", "dry", unit="rack 1"),
    at("Sat 09:15", batch="10", reading="yarn_c", value=17),
    at("Sat 09:15", batch="10", reading="rinse_c", value=14),
    moved("Sat 09:15", "10", "rinse"),
    moved("Sat 09:19", "10", "dry", unit="rack 1"),
    moved("Sat 09:19", "05", "rinse"),
    moved("Sat 09:27", "05", "dry", unit="rack 1"),
    moved("Sat 09:27", "06", "rinse"),
    moved("Sat 09:35", "06", "dry", unit="rack 1"),
    moved("Sat 09:35", "07", "rinse"),
    moved("Sat 09:43", "07", "dry", unit="rack 1"),
    moved("Sat 09:43", "14", "rinse"),
    moved("Sat 09:54", "14", "dry", unit="rack 1"),
    out("Sat 10:04", "11"),
    steam("Sat 10:09", "12", unit="steamer 1"),
    looked("Sat 10:09", "09", "tinted", where="pot"),
    moved("Sat 10:09", "09", "rinse"),
    moved("Sat 10:19", "09", "dry", unit="rack 1"),
    moved("Sat 10:52", "08", "paint", layer=2),
    moved("Sat 11:04", "08", "fix"),
    out("Sat 11:06", "12"),
    steam("Sat 11:11", "08", unit="steamer 1"),
    moved("Sat 11:15", "11", "rinse"),
    looked("Sat 11:16", "11", "coloured", where="first rinse"),
    looked("Sat 11:20", "11", "clear"),
    moved("Sat 11:23", "11", "dry", unit="rack 1"),
    out("Sat 11:53", "08"),
    moved("Sat 12:10", "12", "rinse"),
    at("Sat 12:12", batch="12", skeins=3, why="one felted"),
    moved("Sat 12:18", "12", "dry", unit="rack 1"),
    moved("Sat 12:53", "08", "rinse"),
    moved("Sat 13:01", "08", "dry", unit="rack 1"),
]
"""Saturday as it is carried, to the last rinse; it is closed after that."""
