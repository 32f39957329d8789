"""The day after, through the commands: what stays is said, carried into tomorrow's plan, and goes on in its state."""

from __future__ import annotations

import json
import os
import re
from argparse import Namespace
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from typing import Any

import pytest

from dyeday.bench.plain_app import ScreenApp
from dyeday.cli import main
from dyeday.commands.screens.start_screens import start
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.reading.problems import PlanError
from dyeday.store.sessions import Sessions
from dyeday.track.event_keys import EventError
from dyeday.track.events.event_json import read_event
from dyeday.track.folding.fold import begin, fold, take
from dyeday.track.timers.timers import tank_min
from dyeday.track.timestamp import Moment
from tests.bench.driving import Bench, drive
from tests.cli.test_commands import Shell
from tests.fakes import SHORT_DAY, FakeClock

SATURDAY, SUNDAY = "2026-03-14", "2026-03-15"


def lines_of(date: str, *rows: tuple[str, str | None, dict[str, Any]]) -> str:
    out = []
    for time, batch, keys in rows:
        event: dict[str, Any] = {"at": f"{date}T{time}:00Z", **keys}
        if batch:
            event["batch"] = batch
        out.append(json.dumps(event) + "\n")
    return "".join(out)


EVENING = lines_of(
    SATURDAY,
    # 01: done and hung up
    ("09:00", "01", {"to": "soak", "unit": "tray 1"}),
    ("09:00", None, {"event": "acid put in", "unit": "tray 1", "acid_ml": 60}),
    ("10:00", "01", {"to": "paint"}),
    ("10:30", "01", {"used": {"Slate Blue": 30, "Lamp Yellow": 60}}),
    ("10:40", "01", {"to": "fix"}),
    ("10:40", "01", {"pass": 2, "run": "start", "unit": "steamer 1"}),
    ("12:00", "01", {"pass": 2, "run": "end"}),
    ("12:02", "01", {"to": "cool"}),
    ("13:40", "01", {"reading": "eye", "value": "coloured", "where": "first rinse"}),
    ("13:40", "01", {"to": "rinse", "unit": "sink 1"}),
    ("13:55", "01", {"to": "dry", "unit": "pegs 1"}),
    # 02: cools in its steamer
    ("10:05", "02", {"to": "soak", "unit": "tray 1"}),
    ("16:00", "02", {"to": "paint"}),
    ("16:30", "02", {"to": "fix"}),
    ("16:31", "02", {"pass": 2, "run": "start", "unit": "steamer 2"}),
    ("17:25", "02", {"pass": 2, "run": "end"}),
    ("17:26", "02", {"to": "cool", "unit": "steamer 2"}),
    # 04: done for good
    ("11:00", "04", {"to": "soak"}),
    ("18:00", "04", {"to": "done"}),
)


@pytest.fixture
def shell(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Shell:
    """A Saturday in UTC, marked; not yet closed."""
    shell = Shell(tmp_path / "data", capsys)
    plan = tmp_path / "saturday.toml"
    text = SHORT_DAY.read_text(encoding="utf-8").replace('start = "09:00"', 'start = "09:00"\nzone = "UTC"')
    plan.write_text(text, encoding="utf-8")
    assert shell("begin", str(plan)) == 0
    (tmp_path / "evening.jsonl").write_text(EVENING, encoding="utf-8")
    assert shell("mark", "--from", str(tmp_path / "evening.jsonl")) == 0, shell.err
    return shell


def carried(shell: Shell, folder: Path) -> Path:
    """Close Saturday, carry it into Sunday's plan and begin that."""
    assert shell("close") == 0
    plan = folder / "sunday.toml"
    assert shell("carry", str(plan), "--date", SUNDAY) == 0, shell.err
    assert shell("begin", str(plan)) == 0, shell.err
    return plan


def flags(shell: Shell, session: str) -> list[tuple[str, str, str]]:
    shell("flags", "--session", session, "--all", "--json")
    return [(flag["batch"], flag["rule"], flag["since"]) for flag in json.loads(shell.out) if flag["batch"]]


def test_closing_says_what_stays_where(shell: Shell) -> None:
    """Skeins on pegs in one line without a question, steamers that cool, the rest one by one."""
    assert shell("close") == 0
    assert "to check: 01 colour left; 01 ran low; 02 no acid soak" in shell.lines
    assert "on pegs 1, drying: 01 (3 pieces)" in shell.lines
    assert "in steamer 2, cooling overnight: 02" in shell.lines
    assert any(line.startswith("03 Old Gate Green: not started") for line in shell.lines)
    assert not any(line.startswith("04") for line in shell.lines)


def test_dyeday_alone_says_what_the_last_day_left_until_a_plan_continues_it(
    shell: Shell, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In a pipe and on the start screen, which sees the plans of the folder."""
    seen = list[str]()
    monkeypatch.setattr(ScreenApp, "show", lambda app: seen.append(app.shown.find().left))
    monkeypatch.chdir(tmp_path)
    assert shell("close") == 0
    start(Namespace(data=shell.data))
    assert shell("carry", str(tmp_path / "sunday.toml"), "--date", SUNDAY) == 0
    start(Namespace(data=shell.data))
    assert main(["--data", str(shell.data)]) == 0
    said = (
        "Left on Sat 14 Mar, `dyeday carry NEW.toml` continues it: "
        "on pegs 1, drying: 01 (3 pieces); in steamer 2, cooling overnight: 02; 03 Old Gate Green: not started; …"
    )
    assert seen == [said, ""]
    assert said in shell.capsys.readouterr().out.splitlines()


def test_tomorrows_plan_is_sound_and_has_what_is_unfinished_with_its_numbers(shell: Shell, tmp_path: Path) -> None:
    """Hours are those named for tomorrow; nothing is said of what is on hand; orders want what is left."""
    assert shell("close") == 0
    path = tmp_path / "sunday.toml"
    assert shell("carry", str(path), "--date", SUNDAY) == 0
    text = path.read_text(encoding="utf-8")
    assert "# The acid is vinegar 5 %, to pH 4.5; name another below [acid]." in text
    plan = read_plan(text)
    assert [(b.no, b.skeins) for b in plan.batches] == [("01", 3), ("02", 3), ("03", 4), ("05", 3)]
    assert all(b.carried == f"2026-03-14-1/{b.no}" for b in plan.batches)
    assert (plan.session.start_min, plan.session.stop_min) == (600, 780)
    assert all(dye.on_hand_g is None for dye in plan.dyes)
    assert {order.item: (order.skeins, order.spare) for order in plan.orders}["Shop, ember"] == (2, 1)
    assert shell("check", str(path)) == 0


def test_spares_stay_spares_as_their_order_goes_over(shell: Shell, tmp_path: Path) -> None:
    """Two skeins of Ember Walk were ordered and one is for stock, on Sunday as on Saturday."""
    carried(shell, tmp_path)
    shell("weigh")
    assert "for: Shop, ember (2 and 1 spare)" in shell.out
    shell("parcels")
    assert "0 of 2 Ember Walk on Plain Sock" in shell.out


def test_a_plan_that_is_there_is_never_overwritten(shell: Shell, tmp_path: Path) -> None:
    """Refused, and unchanged."""
    path = tmp_path / "mine.toml"
    path.write_text("# mine\n", encoding="utf-8")
    assert shell("carry", str(path)) == 1
    assert "exists already" in shell.err
    assert path.read_text(encoding="utf-8") == "# mine\n"


def test_batches_go_on_in_their_state_with_their_history_and_flags(shell: Shell, tmp_path: Path) -> None:
    """Also the bath's acid, the heat that ended yesterday, and the flag about the colour left."""
    before = flags(shell, "2026-03-14-1")
    assert any(rule == "under-exhausted" for _, rule, _ in before)
    carried(shell, tmp_path)
    assert ("01", "boil-dry") in [flag[:2] for flag in before]
    assert set(flags(shell, "2026-03-15-1")) == {flag for flag in before if flag[0] in ("01", "02")}
    assert shell("summary", "--session", "2026-03-15-1") == 0
    page = " ".join(shell.out.split())
    assert "steamer 1 from Sat 10:40, 70~ min at heat (40 planned)" in page
    assert "acid: 60 mL~" in page


def test_the_morning_says_what_the_night_did(shell: Shell, tmp_path: Path) -> None:
    """As the day is begun, and until something happens in it."""
    plan = carried(shell, tmp_path)
    *night, past = shell.err.splitlines()
    assert past == "the plan is for Sun 15 Mar 2026, which is past: set its date"
    assert night[0].startswith("01 Kelp Light: hung ")
    assert "check whether it is dry" in night[0]
    assert night[1].startswith("02 Kelp Light: cooled ")
    assert night[1].endswith("in steamer 2, cool: rinse it")
    assert shell("begin", str(plan)) == 0
    assert len(shell.err.splitlines()) == len(night)
    assert shell("mark", "02", "rinse") == 0
    assert shell("begin", str(plan)) == 0
    assert shell.err == ""


def test_painted_yarn_is_reported_alike_on_the_evenings_page_and_in_the_morning(shell: Shell, tmp_path: Path) -> None:
    """Left in the paint state with a recipe that wraps, it is wrapped for both."""
    for no, state, time in (("03", "soak", "17:00"), ("03", "paint", "17:30"), ("03", "fix", "17:45")):
        assert shell("mark", no, state, "--at", f"{SATURDAY}T{time}") == 0, shell.err
    assert shell("mark", "05", "soak", "--at", f"{SATURDAY}T17:00") == 0
    assert shell("mark", "05", "paint", "--at", f"{SATURDAY}T17:10") == 0
    carried(shell, tmp_path)
    (morning,) = [line for line in shell.err.splitlines() if line.startswith("05")]
    assert morning.startswith("05 Ember Walk: painted, wrapped, drying out since")
    assert shell("summary", "--session", f"{SATURDAY}-1") == 0
    assert "05 painted, wrapped, drying out since" in " ".join(shell.out.split())


def test_a_plan_of_a_day_that_is_still_open_says_how_its_batches_count(shell: Shell, tmp_path: Path) -> None:
    """Their states are known only once that day is closed."""
    plan = tmp_path / "sunday.toml"
    assert shell("carry", str(plan)) == 0
    assert shell("check", str(plan)) == 0
    assert "still open" in shell.err
    assert "until then its batches count as not started here" in shell.err


def test_a_lot_that_went_over_is_one_lot_and_one_parcel(shell: Shell, tmp_path: Path) -> None:
    """Both halves of Kelp Light are of Saturday's mix, and the order of six is complete."""
    carried(shell, tmp_path)
    assert shell("mark", "01", "done") == 0
    for state in ("rinse", "dry", "done"):
        assert shell("mark", "02", state) == 0
    assert shell("parcels", "--json") == 0
    said = json.loads(shell.out)
    march = next(p for p in said["parcels"] if p["parcel"] == "March parcels")["orders"][0]
    assert (march["wanted"], march["ready"], march["alternate_skeins"]) == (6, 6, False)
    assert {piece["lot"] for piece in march["pieces"]} == {"260314-01"}
    rain = next(p for p in said["parcels"] if p["parcel"] == "Shop, rain")["orders"][0]
    assert (rain["wanted"], rain["ready"]) == (4, 4)


def with_a_walk(folder: Path, capsys: pytest.CaptureFixture[str], out: str) -> tuple[Shell, Path]:
    """Begin Saturday by a plan with ``out``, and record a walk of that day; return the shell and the plan."""
    shell, plan = Shell(folder / "data", capsys), folder / "school.toml"
    text = SHORT_DAY.read_text(encoding="utf-8").replace('start = "09:00"\n', f'start = "09:00"\n{out}\n')
    plan.write_text(text, encoding="utf-8")
    assert shell("begin", str(plan)) == 0
    walk = json.dumps({"at": f"{SATURDAY}T10:00:00Z", "event": "hours", "out": "11:00-11:20"}) + "\n"
    (folder / "walk.jsonl").write_text(walk, encoding="utf-8")
    assert shell("mark", "--from", str(folder / "walk.jsonl")) == 0, shell.err
    return shell, plan


def test_the_plan_carried_keeps_when_the_house_is_empty_and_drops_a_leave_of_that_day(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A school run of the plan is daily, within the hours of 10:00 to 13:00; a walk recorded at the bench is not."""
    shell, _ = with_a_walk(tmp_path, capsys, 'out = ["12:40-13:20", "15:05-15:40"]')
    assert shell("close") == 0
    assert shell("carry", str(tmp_path / "after.toml"), "--date", SUNDAY) == 0, shell.err
    assert 'out = ["12:40-13:00"]' in (tmp_path / "after.toml").read_text(encoding="utf-8").splitlines()


@pytest.mark.parametrize(
    ("was", "now", "carried_out"),
    [('out = ["12:40-13:20"]\n', "", []), ("skeins = 6\n", "skeins = 7\n", ['out = ["12:40-13:00"]'])],
)
def test_the_plan_carried_has_the_absences_of_the_plan_as_it_was_changed_last(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], was: str, now: str, carried_out: list[str]
) -> None:
    """The school run is taken out of the plan, or stays in it; a walk recorded at the bench before is of that day."""
    shell, plan = with_a_walk(tmp_path, capsys, 'out = ["12:40-13:20"]')
    text = plan.read_text(encoding="utf-8")
    assert was in text
    plan.write_text(text.replace(was, now, 1), encoding="utf-8")
    assert shell("begin", str(plan), "--take-changes") == 0, shell.err
    assert shell("close") == 0
    assert shell("carry", str(tmp_path / "after.toml"), "--date", SUNDAY) == 0, shell.err
    after = (tmp_path / "after.toml").read_text(encoding="utf-8")
    assert [line for line in after.splitlines() if line.startswith("out =")] == carried_out


def test_dye_and_yarn_of_yesterday_are_not_taken_off_the_shelf_again(shell: Shell, tmp_path: Path) -> None:
    """Sunday's close takes only what Sunday used: nothing but the ember's yarn."""
    carried(shell, tmp_path)
    assert shell("mark", "01", "done") == 0
    assert shell("mark", "05", "soak") == 0
    assert shell("close") == 0
    assert shell("shelf", "--moves", "--json") == 0
    sunday = [move for move in json.loads(shell.out) if move.get("session") == "2026-03-15-1"]
    assert [(move["thing"], move["name"], move["amount"]) for move in sunday] == [("yarn", "Plain Sock", 3)]


def test_the_page_of_the_day_after_counts_only_its_own_dye_and_acid(shell: Shell, tmp_path: Path) -> None:
    """Saturday's page has 60 mL of vinegar and 30 mL of Slate Blue; Sunday's has none of either."""
    assert shell("summary", "--json") == 0
    saturday = json.loads(shell.out)
    carried(shell, tmp_path)
    assert shell("summary", "--json") == 0
    sunday = json.loads(shell.out)
    assert (saturday["acid_ml"], sunday["acid_ml"]) == (60, 0)
    assert saturday["dyes"]["Slate Blue"]["used_ml"] == 30
    assert sunday["dyes"] == {}


def test_what_was_used_yesterday_is_not_asked_of_the_shelf_again(shell: Shell, tmp_path: Path) -> None:
    """24 skeins less Saturday's six are 18; Sunday wants three for the ember, and not the six that are dyed."""
    carried(shell, tmp_path)
    assert shell("shelf", "--counted", "Plain Sock", "--amount", "3 pieces", "--why", "moths") == 0
    (tmp_path / "again.toml").write_text((tmp_path / "sunday.toml").read_text(encoding="utf-8"), encoding="utf-8")
    assert shell("check", str(tmp_path / "again.toml")) == 0
    assert not [line for line in shell.lines if line.startswith("short: Plain Sock")]
    assert shell("shelf", "--counted", "Plain Sock", "--amount", "2 pieces", "--why", "moths") == 0
    assert shell("check", str(tmp_path / "again.toml")) == 0
    assert "short: Plain Sock: 3 skeins needed, 2 on hand" in shell.lines


def test_the_log_of_a_day_after_comes_back_unchanged(shell: Shell, tmp_path: Path) -> None:
    """Into another folder where Saturday is not: the same flags and the same page."""
    plan = carried(shell, tmp_path)
    assert shell("mark", "02", "rinse") == 0
    assert shell("log", "--json") == 0
    log = shell.out
    (tmp_path / "log.jsonl").write_text(log, encoding="utf-8")
    assert shell("flags", "--all", "--json") == 0
    printed = shell.out
    other = Shell(tmp_path / "other", shell.capsys)
    assert other("begin", str(plan)) == 0
    assert "its history is not carried" in other.err
    assert other("mark", "--from", str(tmp_path / "log.jsonl")) == 0, other.err
    assert other("log", "--json") == 0
    assert other.out == log
    assert other("flags", "--all", "--json") == 0
    assert other.out == printed


def test_the_forecast_of_the_day_after_begins_where_the_batches_are(shell: Shell, tmp_path: Path) -> None:
    """What hangs needs no hands, what is cool only a rinse; before the day is begun and after."""
    plan = carried(shell, tmp_path)
    for where in ((str(plan),), ()):
        assert shell("ahead", *where, "--evaluations", "20", "--json") == 0
        steps = json.loads(shell.out)["steps"]
        assert not [step for step in steps if step["batch"] == "01"]
        assert [step["step"] for step in steps if step["batch"] == "02" and step["attended"]] == ["rinse"]


@pytest.mark.parametrize("command", ["carry", "begin"])
def test_a_folder_that_cannot_be_listed_once_never_hides_what_is_written(
    shell: Shell, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: str
) -> None:
    """Each listing of the sessions fails in turn: a refusal without "is saved" leaves nothing behind."""
    assert shell("close") == 0
    written = tmp_path / "sunday.toml"
    if command == "begin":
        assert shell("carry", str(written), "--date", SUNDAY) == 0
        written = shell.data / "sessions" / "2026-03-15-1.json"
    argv = (
        ("carry", str(written), "--date", SUNDAY) if command == "carry" else ("begin", str(tmp_path / "sunday.toml"))
    )
    listdir, refused = os.listdir, 0
    for failing in count(1):
        calls = count(1)

        def listing(folder: Any = ".", failing: int = failing, calls: count[int] = calls) -> list[str]:
            if str(folder).endswith("sessions") and next(calls) == failing:
                raise OSError(28, "No space left on device", str(folder))
            return listdir(folder)

        with monkeypatch.context() as broken:
            broken.setattr("os.listdir", listing)
            status = shell(*argv)
        if next(calls) <= failing:
            break
        refused += status
        assert written.exists() == (status == 0 or "is saved" in shell.err), shell.err
        if written.exists():
            break
    assert written.exists()
    assert refused


def test_an_open_day_is_closed_before_its_batches_go_on(shell: Shell, tmp_path: Path) -> None:
    """Refused as the next is begun, and nothing is begun."""
    plan = tmp_path / "sunday.toml"
    assert shell("carry", str(plan), "--date", SUNDAY) == 0
    assert any("still open" in line for line in shell.lines)
    assert shell("begin", str(plan)) == 1
    assert "dyeday close --session 2026-03-14-1" in shell.err
    assert shell("sessions", "--json") == 0
    assert len(json.loads(shell.out)) == 1


def test_a_batch_that_went_over_already_is_reported_where_as_it_is_carried_again(
    shell: Shell, tmp_path: Path
) -> None:
    """As the second plan is written and as it is begun; the day that has it first gets no message."""
    first = carried(shell, tmp_path)
    said = "2026-03-14-1/02 was carried to 2026-03-15-1/02 already; continue it in one of the two"
    assert said not in shell.err
    second = tmp_path / "monday.toml"
    assert shell("carry", str(second), "--date", "2026-03-16", "--session", "2026-03-14-1") == 0
    assert f"02: {said}" in shell.err
    assert shell("begin", str(second)) == 0
    assert [line[:3] for line in shell.err.splitlines() if "was carried to" in line] == ["01:", "02:", "03:", "05:"]
    assert "dyeday carry NEW.toml --session 2026-03-15-1" in shell.err
    assert shell("begin", str(first)) == 0
    assert "was carried to" not in shell.err


def test_the_page_of_a_batch_that_came_over_shows_what_happened_before_with_its_day(
    shell: Shell, tmp_path: Path
) -> None:
    carried(shell, tmp_path)

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "f")
        lines = [" ".join(line.split()) for line in bench.screen.split("\n")]
        for said in ("Sat 09:00 to soak", "Sat 10:40 2nd heat started in steamer 1", "Sat 12:00 2nd heat ended"):
            assert said in lines
        assert "Sat 13:40 first rinse coloured" in lines

    clock = FakeClock(datetime(2026, 3, 15, 10, 5, tzinfo=UTC))
    drive(tmp_path, script, session=Sessions(shell.data, clock).open("2026-03-15-1"), clock=clock, size=(80, 48))


def test_what_happened_before_it_came_over_belongs_to_its_own_session(shell: Shell, tmp_path: Path) -> None:
    """Refused with the session it belongs to."""
    carried(shell, tmp_path)
    late = tmp_path / "late.jsonl"
    late.write_text(lines_of(SATURDAY, ("17:00", "02", {"note": "late"})), encoding="utf-8")
    assert shell("mark", "--from", str(late)) == 1
    assert "record it in session 2026-03-14-1" in shell.err


def test_a_plan_is_not_carried_to_a_day_before(shell: Shell, tmp_path: Path) -> None:
    """Nor to what is not a date; nothing is written."""
    shell("begin", str(SHORT_DAY))
    for date, said in (("2026-03-13", "is before the day it continues"), ("sunday", "is not a date")):
        assert shell("carry", str(tmp_path / "new.toml"), "--date", date) == 1
        assert said in shell.err
    assert not (tmp_path / "new.toml").exists()


def test_a_finished_day_has_nothing_to_carry(shell: Shell, tmp_path: Path) -> None:
    """Exit 1 and no file."""
    for batch in ("01", "02", "03", "05"):
        assert shell("mark", batch, "scrapped") == 0
    assert shell("carry", str(tmp_path / "none.toml")) == 1
    assert not (tmp_path / "none.toml").exists()
    again = "to be dyed again: Shop, ember: 2 Ember Walk on Plain Sock; add an order for it to your next plan"
    assert again in shell.err.splitlines()


def test_skeins_that_must_be_dyed_again_are_in_tomorrows_plan_and_complete_their_order(
    shell: Shell, tmp_path: Path
) -> None:
    """Scrapped ones, and those that are done and lie apart as seconds; they are named too."""
    assert shell("mark", "03", "scrapped") == 0
    assert shell("mark", "04", "done", "--outcome", "second") == 0
    assert shell("carry", str(tmp_path / "named.toml"), "--json") == 0
    named = json.loads(shell.out)["to_dye_again"]
    assert len(named) == 2
    path = carried(shell, tmp_path)
    assert shell("carry", str(tmp_path / "again.toml"), "--session", "2026-03-14-1") == 0
    assert [f"  to be dyed again: {one}" for one in named] == shell.out.splitlines()[-2:]
    new = [b for b in read_plan(path.read_text(encoding="utf-8")).batches if not b.carried]
    assert {f"{b.shares[0][0]}: {b.skeins} {b.colourway} on {b.base}" for b in new} == set(named)
    for batch in new:
        assert shell("mark", batch.no, "done") == 0
    shell("parcels", "--json")
    orders = [one for parcel in json.loads(shell.out)["parcels"] for one in parcel["orders"]]
    again = [one for one in orders if any(each.startswith(f"{one['item']}: ") for each in named)]
    assert [(one["wanted"] - one["ready"], one["waits"]) for one in again] == [(0, []), (0, [])]


def test_a_plan_is_not_carried_into_the_data_folder(shell: Shell) -> None:
    """As no sheet or table is put there."""
    assert shell("close") == 0
    path = shell.data / "sessions" / f"{SUNDAY}-1.json"
    assert shell("carry", str(path), "--date", SUNDAY) == 1
    assert "is in the data folder" in shell.err
    assert not path.exists()


def test_tomorrows_weigh_out_leaves_out_yarn_that_is_dyed_and_mixes_again_for_what_is_dyed_again(
    shell: Shell, tmp_path: Path
) -> None:
    """Before Sunday is begun, by both commands: 01 and 02 have their dye; of 01 one skein is lost.

    It is made up for the whole day until the first yarn is in acid on Sunday itself.
    """
    assert shell("mark", "01", "--skeins", "2", "--why", "felted") == 0
    assert shell("close") == 0
    path = tmp_path / "sunday.toml"
    assert shell("carry", str(path), "--date", SUNDAY) == 0
    sheet = tmp_path / "weigh.txt"
    assert shell("sheet", "weigh", str(path), "--text", str(sheet)) == 0
    assert shell("weigh", str(path), "--json") == 0
    weighed = {one["batch"]: one for one in json.loads(shell.out)["batches"]}
    (again,) = weighed.keys() - {"03", "05"}
    assert weighed[again]["skeins"] == 1
    assert [dye["powder_g"] > 0 for dye in weighed[again]["dyes"]] == [True] * len(weighed[again]["dyes"])
    text = sheet.read_text(encoding="utf-8")
    assert "3 of 5 batches to dye" in text
    assert "the rest of the mix" not in text
    mask = "Make these up before the day starts, mask on."
    assert "MAKE UP FOR THE WHOLE DAY" in text and mask in text
    assert shell("begin", str(path)) == 0, shell.err
    assert shell("weigh") == 0
    assert mask in shell.out
    assert shell("mark", "03", "soak") == 0, shell.err
    assert shell("weigh") == 0
    assert "MAKE UP FOR THE REST OF THE DAY" in shell.out and mask not in shell.out


def test_a_tank_goes_on_with_what_was_left_of_its_last_fill(shell: Shell, tmp_path: Path) -> None:
    """Of 56 min to the reserve steamer 1 ran more and steamer 2 ran 54 on Saturday; filled on Sunday, it is full."""
    carried(shell, tmp_path)
    session = Sessions(shell.data).open(f"{SUNDAY}-1")
    now = Moment(datetime.now(UTC))
    day = fold(session.plan, session.events)
    assert tank_min(day, "steamer 1", now) == (0.0, 56.0)
    assert tank_min(day, "steamer 2", now) == (2.0, 56.0)
    day = take(day, read_event({"at": now.utc.isoformat(), "unit": "steamer 2", "is": "filled"}, now))
    assert tank_min(day, "steamer 2", now) == (56.0, 56.0)


def test_a_tank_that_nothing_ran_on_begins_full(shell: Shell, tmp_path: Path) -> None:
    """What a carried batch says of tanks must be minutes."""
    (tmp_path / "fill.jsonl").write_text(
        lines_of(SATURDAY, *(("18:30", None, {"unit": f"steamer {n}", "is": "filled"}) for n in (1, 2))),
        encoding="utf-8",
    )
    assert shell("mark", "--from", str(tmp_path / "fill.jsonl")) == 0, shell.err
    carried(shell, tmp_path)
    session = Sessions(shell.data).open(f"{SUNDAY}-1")
    day, now = fold(session.plan, session.events), Moment(datetime.now(UTC))
    assert [tank_min(day, f"steamer {n}", now) for n in (1, 2)] == [(56.0, 56.0)] * 2
    shell("log", "--json", "--session", f"{SUNDAY}-1")
    came = next(json.loads(line) for line in shell.lines if '"record"' in line)
    for wrong in ("dry", -1, None, [3], True):
        with pytest.raises(EventError, match="tanks of 'steamer 1' cannot be"):
            read_event({**came, "tanks": {"steamer 1": wrong}}, now)


def test_a_unit_that_broke_stays_broken_in_the_plan_that_goes_on(shell: Shell, tmp_path: Path) -> None:
    """By name; mended, it is no longer in it. Neither a name of no unit nor more than there are can stand there."""
    down = {"at": f"{SATURDAY}T18:30:00Z", "unit": "steamer 2", "is": "down"}
    (tmp_path / "down.jsonl").write_text(json.dumps(down) + "\n", encoding="utf-8")
    assert shell("mark", "--from", str(tmp_path / "down.jsonl")) == 0, shell.err
    text = carried(shell, tmp_path).read_text(encoding="utf-8")
    assert 'down = ["steamer 2"]' in text
    plan = read_plan(text)
    assert [kit.down for kit in plan.kit if kit.down] == [("steamer 2",)]
    day = begin(plan)
    assert day.units["steamer 2"].is_down
    assert not day.units["steamer 1"].is_down
    shell("ahead", "--json")
    assert "steamer 2" not in {step["unit"] for step in json.loads(shell.out)["steps"]}
    for wrong in ('["steamer 9"]', "3", '"steamer 2"'):
        with pytest.raises(PlanError, match="does not name units of this kit"):
            read_plan(text.replace('down = ["steamer 2"]', f"down = {wrong}"))
    counted = read_plan(text.replace('down = ["steamer 2"]', "down = 1"))
    assert [kit.down for kit in counted.kit if kit.down] == [("steamer 2",)]


def test_a_closed_day_whose_yarn_is_wet_has_no_lots_and_says_why(shell: Shell) -> None:
    """Closed already: the message is not to close it, but what the lots wait for."""
    rest = [no for no in ("02", "03", "05") if shell("mark", no, "scrapped") == 0]
    assert rest == ["02", "03", "05"]
    assert shell("mark", "04", "dry") == 0
    assert shell("lots") == 0
    assert "`dyeday close` adds the day's lots" in shell.out
    assert shell("close") == 0
    assert shell("lots") == 0
    assert "2 batches of 2026-03-14-1 still drying; `dyeday carry NEW.toml`" in shell.out
    assert "dyeday close" not in shell.out


def test_no_column_of_a_lot_sheet_breaks_a_time(shell: Shell, tmp_path: Path) -> None:
    """Taken down weeks after: the longest way in which a time is written."""
    carried(shell, tmp_path)
    assert shell("mark", "01", "done") == 0
    assert shell("close") == 0
    assert shell("lots", "--json") == 0
    number = json.loads(shell.out)[0]["number"]
    assert shell("sheet", "lot", number) == 0
    (dry,) = [line for line in shell.lines if line.startswith("dry ")]
    assert re.fullmatch(r"dry +13:55~? +\d\d:\d\d on \d\d \w{3} +\d+ d pegs 1", dry), dry
    (done,) = [line for line in shell.lines if line.startswith("done  ")]
    assert re.fullmatch(r"done +\d\d:\d\d on \d\d \w{3} *", done), done


def test_the_sheet_of_a_lot_finished_on_another_day_is_headed_with_the_day_it_was_dyed(
    shell: Shell, tmp_path: Path
) -> None:
    """Its times without a weekday are of that day."""
    carried(shell, tmp_path)
    assert shell("mark", "01", "done") == 0
    assert shell("close") == 0
    assert shell("sheet", "lot", "260314-01") == 0
    assert shell.lines[1].startswith("dyed Sat 14 Mar 2026, session 2026-03-15-1, 3 skeins, 300 g")


def test_a_carried_flag_of_several_batches_stands_once_with_them_and_says_it_was_carried(
    shell: Shell, tmp_path: Path
) -> None:
    """Page, list and its JSON have one for each cause; a tank that runs low on Sunday is one of its own."""
    together = lines_of(
        SATURDAY,
        ("10:39", "03", {"to": "fix"}),
        ("10:40", "03", {"pass": 1, "run": "start", "unit": "steamer 1"}),
        ("12:00", "03", {"pass": 1, "run": "end"}),
        ("12:02", "03", {"to": "cool"}),
    )
    (tmp_path / "together.jsonl").write_text(together, encoding="utf-8")
    assert shell("mark", "--from", str(tmp_path / "together.jsonl")) == 0, shell.err
    shell("flags", "--json")
    before = json.loads(shell.out)
    assert ["boil-dry", ["01", "03"]] in [[flag["rule"], flag["batches"]] for flag in before]
    assert shell("flags") == 0
    assert "carried over" not in shell.out
    (tmp_path / "closed.jsonl").write_text(lines_of(SATURDAY, ("20:00", None, {"event": "closed"})), encoding="utf-8")
    assert shell("mark", "--from", str(tmp_path / "closed.jsonl")) == 0, shell.err
    assert shell("carry", str(tmp_path / "sunday.toml"), "--date", SUNDAY) == 0, shell.err
    assert shell("begin", str(tmp_path / "sunday.toml")) == 0, shell.err
    shell("flags", "--json")
    keys = ("rule", "batches", "why", "since")
    unfinished = {"01", "02", "03", "05"}
    assert [[flag[key] for key in keys] for flag in json.loads(shell.out)] == [
        [flag[key] for key in keys] for flag in before if unfinished & {*flag["batches"]}
    ]
    assert shell("flags") == 0
    assert any(line.startswith("01+03 ran low, carried over (boil-dry) since ") for line in shell.lines)
    assert shell("summary") == 0
    assert shell.out.count("ran low, carried over: steamer 1 ran 80 of 70 min") == 1
    assert re.search(r"^01 Kelp Light on .*; 03 Old Gate Green on ", shell.out, re.MULTILINE)
    sunday = lines_of(
        SUNDAY,
        ("10:00", "05", {"to": "fix"}),
        ("10:00", "05", {"pass": 1, "run": "start", "unit": "steamer 1"}),
        ("10:20", "05", {"pass": 1, "run": "end"}),
    )
    (tmp_path / "sunday.jsonl").write_text(sunday, encoding="utf-8")
    assert shell("mark", "--from", str(tmp_path / "sunday.jsonl")) == 0, shell.err
    assert shell("flags") == 0
    assert [line[:15] for line in shell.lines if "(boil-dry)" in line] == ["01+03 ran low, ", "05 ran low (boi"]
    assert shell("flags", "--resolve", "03", "boil-dry", "--why", "looked at") == 0, shell.err
    shell("flags", "--json")
    assert [flag["batches"] for flag in json.loads(shell.out) if flag["rule"] == "boil-dry"] == [["05"]]


def test_the_next_page_counts_what_was_dyed_and_rinsed_on_either_day(shell: Shell, tmp_path: Path) -> None:
    """Three of 01 and three of 02 were dyed on Saturday; 02 is rinsed on Sunday. Dye put on on Sunday is its own."""
    carried(shell, tmp_path)
    assert shell("summary") == 0
    assert "SO FAR: of 13 pieces 3 rinsed, 0 done" in shell.lines
    assert "no dye today; 01, 02 had theirs before" in shell.lines
    for state in ("rinse", "dry"):
        assert shell("mark", "02", state) == 0
    assert shell("mark", "01", "done") == 0
    assert shell("summary") == 0
    assert "SO FAR: of 13 pieces 6 rinsed, 3 done" in shell.lines
    shell("summary", "--json")
    page = json.loads(shell.out)
    assert [page[f"skeins{what}"] for what in ("", "_dyed", "_rinsed", "_done")] == [13, 6, 6, 3]
    for state in ("soak", "paint"):
        assert shell("mark", "03", state) == 0
    assert shell("summary") == 0
    assert "SO FAR: of 13 pieces 6 rinsed, 3 done" in shell.lines
    assert not any(line.startswith("no dye") for line in shell.lines)


def test_a_day_without_dye_says_none_was_put_on_yet(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shell = Shell(tmp_path / "new", capsys)
    assert shell("begin", str(SHORT_DAY)) == 0
    assert shell("summary") == 0
    assert "no dye put on yet" in shell.lines


def test_marks_of_late_corrected_and_uncertain_entries_stay_on_the_next_days_page(
    shell: Shell, tmp_path: Path
) -> None:
    """Each beside its time as on Saturday's page, also after one more night; what was entered in time has none."""

    def marked() -> list[str]:
        page = " ".join(shell.out.split()).partition("SO FAR")[2]
        return ["".join(each) for each in re.findall(r"(18:05|18:4\d)(?: on 1\d Mar)?([~*≈]*)", page)]

    live = {**json.loads(lines_of(SATURDAY, ("18:05", "05", {"to": "soak"}))), "recorded_at": f"{SATURDAY}T18:05:10Z"}
    about = {**json.loads(lines_of(SATURDAY, ("18:40", "05", {"to": "paint"}))), "about": True}
    read = json.loads(lines_of(SATURDAY, ("18:41", "05", {"reading": "ph", "value": 4.5})))
    (tmp_path / "more.jsonl").write_text(
        "".join(json.dumps(one) + "\n" for one in (live, about, read)), encoding="utf-8"
    )
    assert shell("mark", "--from", str(tmp_path / "more.jsonl")) == 0, shell.err
    assert shell("summary") == 0
    assert marked() == ["18:05", "18:40≈", "18:41~"]
    carried(shell, tmp_path)
    assert shell("summary") == 0
    assert marked() == ["18:05", "18:40≈", "18:41~"]
    assert "~ recorded later than it happened; ≈ time about" in shell.out
    assert shell("close") == 0
    assert shell("carry", str(tmp_path / "monday.toml"), "--date", "2026-03-16") == 0, shell.err
    assert shell("begin", str(tmp_path / "monday.toml")) == 0, shell.err
    assert shell("summary") == 0
    assert marked() == ["18:05", "18:40≈", "18:41~"]
