"""A week through the commands alone: orders in, five days, each carried into the next, orders out.

Day one's lot is dyed again on day five, and everything exported comes back unchanged into an empty folder.

The amounts in the assertions are worked out by hand from the example's recipes beside each.
"""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from dyeday.store import clock
from tests.cli.test_commands import Shell
from tests.fakes import ROOT, SHORT_DAY, FakeClock

MONDAY = datetime(2026, 3, 16, tzinfo=UTC)
DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday")
ORDERS = ROOT / "examples" / "orders.csv"


class Week:
    """A shell whose clock is set, and the folder with the week's plans. ``day`` counts from 0, Monday."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
        self.folder = folder
        self.clock = FakeClock()
        monkeypatch.setattr(clock, "now", self.clock)
        self.shell = Shell(folder / "data", capsys)
        self.day = -1

    def run(self, *words: str) -> str:
        assert self.shell(*words) == 0, self.shell.err
        return self.shell.out

    def data(self, *words: str) -> Any:
        return json.loads(self.run(*words, "--json"))

    def plan(self, day: int) -> Path:
        return self.folder / f"{DAYS[day]}.toml"

    def session(self, day: int) -> str:
        return f"{(MONDAY + timedelta(days=day)).date()}-1"

    def go_to(self, time: str) -> None:
        """Let the clock come to a time of the day."""
        hour, minute = (int(part) for part in time.split(":"))
        then = MONDAY + timedelta(days=self.day, hours=hour, minutes=minute)
        self.clock.on(minutes=(then - self.clock.utc).total_seconds() / 60)

    def morning(self) -> str:
        """Begin the next day's plan and return what was printed about the night."""
        self.day += 1
        self.go_to("09:00")
        assert self.run("begin", str(self.plan(self.day))).strip() == self.session(self.day)
        return self.shell.err

    def evening(self) -> None:
        """Close the day, and carry what stays into the next day's plan."""
        self.go_to("18:00")
        self.run("close")
        if self.day < 4:
            date = (MONDAY + timedelta(days=self.day + 1)).date().isoformat()
            self.run("carry", str(self.plan(self.day + 1)), "--date", date)

    def mark(self, *rows: tuple[str, str, dict[str, Any]]) -> None:
        """Put on record what happened at a time of the day to a batch."""
        date = (MONDAY + timedelta(days=self.day)).date()
        lines = [json.dumps({"at": f"{date}T{time}:00Z", "batch": no, **keys}) for time, no, keys in rows]
        file = self.folder / f"{DAYS[self.day]}.jsonl"
        file.write_text("\n".join(lines) + "\n", encoding="utf-8")
        self.go_to(max(time for time, _, _ in rows))
        self.run("mark", "--from", str(file))


def painted(no: str, hour: int, used: dict[str, float], passes: tuple[tuple[int, str, int], ...]) -> list[Any]:
    """Return an acid soak, paint, and heats (number, unit, minutes from the hour after) up to cooling."""
    rows: list[Any] = [
        (f"{hour:02d}:00", no, {"to": "soak", "unit": "tray 1"}),
        (f"{hour:02d}:00", no, {"event": "acid put in", "acid_ml": 40}),
        (f"{hour:02d}:30", no, {"to": "paint"}),
        (f"{hour:02d}:40", no, {"used": used}),
        (f"{hour:02d}:50", no, {"to": "fix"}),
    ]
    for number, unit, minute in passes:
        length = 2 if unit == "microwave 1" else 55
        start, end = minute, minute + length
        rows.append(
            (f"{hour + 1 + start // 60:02d}:{start % 60:02d}", no, {"pass": number, "run": "start", "unit": unit})
        )
        rows.append((f"{hour + 1 + end // 60:02d}:{end % 60:02d}", no, {"pass": number, "run": "end"}))
    return rows


KELP = {"Lamp Yellow": 65.0, "Slate Blue": 65.0}


@pytest.fixture
def week(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Week:
    week = Week(tmp_path, capsys, monkeypatch)
    text = SHORT_DAY.read_text(encoding="utf-8").replace("2026-03-14", "2026-03-16")
    text = text.replace('start = "09:00"', 'start = "09:00"\nzone = "UTC"').replace(
        'tomorrow = ["10:00-13:00"]\n', ""
    )
    # The week's orders come from the table, and what is on hand from the shelf.
    text = "\n".join(line for line in text[: text.index("[[order]]")].splitlines() if "on_hand" not in line)
    week.plan(0).write_text(text + "\n", encoding="utf-8")
    return week


def the_week(week: Week) -> None:
    week.go_to("20:00")  # Sunday evening
    week.run(
        "shelf",
        "--received",
        "Plain Sock",
        "--amount",
        "20 skeins",
        "--received",
        "Sock Mini",
        "--amount",
        "10 minis",
        "--as",
        "yarn",
    )
    week.run("shelf", "--received", "Hill DK", "--amount", "4 skeins", "--as", "yarn")
    for dye in ("Lamp Yellow", "Rosehip", "Slate Blue", "Peat"):
        week.run("shelf", "--received", f"{dye}", "--amount", "50 g", "--as", "dye", "--lot", f"P-{dye[:2]}")
    week.run("shelf", "--received", "vinegar 5 %", "--amount", "2 L", "--as", "acid")
    week.run("orders", str(ORDERS), "--into", str(week.plan(0)))
    week.run("check", str(week.plan(0)))

    week.morning()
    # 01: Kelp Light, three skeins of two orders, up to the pegs. 02: Ember Walk, its first layer.
    week.mark(
        *painted("01", 9, KELP, ((1, "microwave 1", 0), (2, "steamer 1", 10))),
        ("11:06", "01", {"to": "cool"}),
        ("12:40", "01", {"reading": "eye", "value": "clear", "where": "puddle"}),
        ("12:40", "01", {"to": "rinse", "unit": "sink 1"}),
        ("12:55", "01", {"to": "dry", "unit": "pegs 1"}),
        *painted("02", 13, {"Rosehip": 30, "Lamp Yellow": 45}, ((1, "steamer 1", 0),)),
        ("14:56", "02", {"to": "cool", "unit": "steamer 1"}),
    )
    week.evening()

    night = week.morning()
    assert "01 Kelp Light: hung 20 h 05" in night
    assert "02 Ember Walk: cooled 18 h 05 in steamer 1, cool: speckle, layer 2" in night
    week.mark(
        ("12:55", "01", {"to": "done"}),
        ("13:00", "02", {"to": "paint"}),
        ("13:05", "02", {"used": {"powder": {"Peat": 0.11, "Rosehip": 0.04}}}),
        ("13:10", "02", {"pass": 1, "run": "start", "unit": "steamer 1"}),
        ("14:10", "02", {"pass": 1, "run": "end"}),
        ("14:10", "02", {"to": "cool"}),
        ("15:30", "02", {"reading": "eye", "value": "clear"}),
        ("15:30", "02", {"to": "rinse"}),
        ("15:40", "02", {"to": "dry", "unit": "pegs 1"}),
    )
    week.evening()

    week.morning()
    # The ember came out streaky: a second. 03: Tin Roof Rain on four minis.
    week.mark(
        *painted("03", 10, {"Slate Blue": 16, "Peat": 3}, ((1, "steamer 1", 0),)),
        ("11:56", "03", {"to": "cool"}),
        ("15:45", "02", {"to": "done", "outcome": "second"}),
    )
    week.evening()

    week.morning()
    week.mark(
        ("09:10", "03", {"reading": "eye", "value": "clear"}),
        ("09:10", "03", {"to": "rinse"}),
        ("09:15", "03", {"to": "dry", "unit": "pegs 1"}),
        ("10:00", "04", {"to": "soak", "unit": "tray 2"}),
        ("11:00", "04", {"to": "paint", "unit": "pot 1"}),
        ("11:00", "04", {"event": "acid put in", "acid_ml": 25}),
        ("11:10", "04", {"pass": 1, "run": "start", "unit": "pot 1"}),
        ("12:30", "04", {"pass": 1, "run": "end"}),
        ("12:30", "04", {"to": "cool", "unit": "pot 1"}),
    )
    week.evening()

    # Day one's lot again: its lines go at the end of Friday's plan, in which 01 is the ember again.
    week.go_to("20:00")
    again = week.run("lots", "260316-01", "--again", "--plan", str(week.plan(4)))
    with week.plan(4).open("a", encoding="utf-8") as file:
        file.write("\n" + again)
    week.morning()
    week.mark(
        *painted("02", 9, KELP, ((1, "microwave 1", 0), (2, "steamer 1", 10))),
        ("11:06", "02", {"to": "cool"}),
        ("13:00", "02", {"reading": "eye", "value": "clear"}),
        ("13:00", "02", {"to": "rinse"}),
        ("13:10", "02", {"to": "dry"}),
        ("09:20", "03", {"to": "done"}),
        ("09:30", "04", {"reading": "eye", "value": "clear"}),
        ("09:30", "04", {"to": "rinse"}),
        ("09:40", "04", {"to": "dry"}),
        ("17:00", "04", {"to": "done"}),
        ("17:30", "02", {"to": "done"}),
    )
    week.evening()


def test_a_week_from_orders_in_to_parcels_out(week: Week) -> None:
    """Five days, four carry-overs, one repeat; and nothing has to be remembered."""
    the_week(week)

    # Orders out: the ember is a second and planned again, so its parcel waits; all others are complete.
    out = week.data("parcels")
    parcels = {parcel["parcel"]: parcel for parcel in out["parcels"]}
    assert [name for name, parcel in parcels.items() if not parcel["complete"]] == ["1042 Ida Moss"]
    assert set(parcels) >= {"1042 Ida Moss", "1043 Runa Feld", "1044 Market stall"}
    ember = next(o for o in parcels["1042 Ida Moss"]["orders"] if o["colourway"] == "Ember Walk")
    assert ember["waits"] == [{"skeins": 1, "what": "01 not started", "batch": "01"}]
    assert [(each["colourway"], each["skeins"]) for each in out["seconds"]] == [("Ember Walk", 1)]
    assert [(order["item"], order["ready"]) for order in out["samples"]] == [
        ("1045 sample Old Gate Green / Hill DK", 1)
    ]
    # 24.50 a skein, and the repeat brings nothing, for it is not ordered yet
    ida = next(o for o in out["orders"] if o["item"].startswith("1042 Kelp"))
    assert ida["brings"] == 49

    # The lot book: each lot once, also those that took two days, and the repeat beside its first.
    lots = {lot["number"]: lot for lot in week.data("lots", "--all")}
    assert {"260316-01", "260316-02", "260318-03", "260319-04", "260320-02"} == set(lots)
    kelp, repeat = lots["260316-01"], lots["260320-02"]
    assert kelp["colourway"] == repeat["colourway"]
    assert [sum(batch["skeins"] for batch in lot["batches"]) for lot in (kelp, repeat)] == [3, 3]

    # The shelf: 65 mL of 2 % are 1.3 g, twice; the ember 45 mL, 0.9 g.
    shelf = {each["name"]: each["amount"] for each in week.data("shelf")["things"]}
    assert shelf["Lamp Yellow"] == pytest.approx(50 - 2 * 1.3 - 0.9 - 0.7)
    assert shelf["Rosehip"] == pytest.approx(50 - 0.6 - 0.04)
    assert shelf["Plain Sock"] == 20 - 3 - 1 - 3
    assert shelf["Sock Mini"] == 10 - 4
    assert shelf["Hill DK"] == 4 - 1
    # four soaks of 40 mL and 25 mL in the pot
    assert shelf["vinegar 5 %"] == pytest.approx(2000 - 4 * 40 - 25)

    # What paint took: twenty minutes each of Kelp Light, twice, the ember and the rain.
    painted_ones = next(each for each in week.data("times")["times"] if each["kind"] == "painted")
    assert (painted_ones["seen"], painted_ones["actual_min"]) == (4, 20)


def test_everything_exported_from_that_week_comes_back_unchanged(week: Week, tmp_path: Path) -> None:
    """Logs, movements of the shelf and lots, into a folder that knows nothing; once more, nothing is added."""
    the_week(week)

    def same(other: Shell, *words: str) -> None:
        assert other(*words) == 0, other.err
        printed = other.out
        assert week.run(*words) == printed, words

    def fresh(name: str) -> Shell:
        return Shell(tmp_path / name, week.shell.capsys)

    logs = {}
    for day in range(5):
        logs[day] = tmp_path / f"log{day}.jsonl"
        logs[day].write_text(week.run("log", "--session", week.session(day), "--json"), encoding="utf-8")
    for name, words in {"moves": ("shelf", "--moves", "--json"), "lots": ("lots", "--all", "--json")}.items():
        (tmp_path / f"{name}.json").write_text(week.run(*words), encoding="utf-8")

    # The books by themselves.
    books = fresh("books")
    for _ in range(2):
        assert books("shelf", "--from", str(tmp_path / "moves.json")) == 0, books.err
        assert books("lots", "--from", str(tmp_path / "lots.json")) == 0, books.err
    same(books, "shelf", "--moves", "--json")
    same(books, "lots", "--all", "--json")

    # Each day by itself: its log brings what came over from days that are not there.
    for day in range(5):
        alone = fresh(DAYS[day])
        assert alone("begin", str(week.plan(day))) == 0, alone.err
        for _ in range(2):
            assert alone("mark", "--session", week.session(day), "--from", str(logs[day])) == 0, alone.err
        same(alone, "log", "--session", week.session(day), "--json")
        same(alone, "flags", "--session", week.session(day), "--all", "--json")
        same(alone, "times", "--day", "--session", week.session(day), "--json")

    # All of them in a row: each begins from the one before, and its log adds no second coming over.
    row = fresh("row")
    for day in range(5):
        assert row("begin", str(week.plan(day))) == 0, row.err
        assert row("mark", "--session", week.session(day), "--from", str(logs[day])) == 0, row.err
    same(row, "parcels", "--session", week.session(4), "--json")
