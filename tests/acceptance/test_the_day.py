"""The acceptance day of `day.md` played through the shell: its flags, its heats, its forecasts, its page."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from dyeday.ahead.advising.advice import advice
from dyeday.ahead.advising.next_step import next_step
from dyeday.ahead.advising.next_up import next_up
from dyeday.bench.prompts.offer_lines import lines_to_know
from dyeday.bench.prompts.offers import Offer
from dyeday.cli import main
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.store import clock
from dyeday.store.sessions import Sessions
from dyeday.studio.carry_over import unfinished_lines
from dyeday.studio.lots.lot_making import lots_of_day
from dyeday.terms import ReadingKind, State, Water
from dyeday.track.day.bath_contents import acid_offer
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import at_heat_min, units_on
from dyeday.track.events.event_json import read_event
from dyeday.track.folding.fold import fold
from dyeday.track.reading_meaning import meaning
from dyeday.track.timers.alarm_states import standing
from dyeday.track.timers.timers import timer_of
from dyeday.track.timestamp import Moment
from tests.acceptance.played import FRIDAY, SATURDAY, Line, instant, moved, out, soak, steam
from tests.paper.browser import CHROMIUM, page_sizes, printed_to_pdf

PLAN = Path(__file__).with_name("day.toml")
OUT = (instant("15:05"), instant("15:40"))
USABLE_MIN = 60
GARAGE_A = 13.0
GARAGE_AMPS = {"steamer 1": 1400 / 230, "steamer 2": 1400 / 230, "microwave 1": 1250 / 230}
ASKED = ("10:00", "11:30", "12:00", "14:10", "14:42", "16:35", "17:50", "20:00", "22:30")


class Played:
    """The day in a data folder of its own, asked through the commands."""

    def __init__(self, data: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
        self.data, self.capsys, self.monkeypatch = data, capsys, monkeypatch

    def run(self, *args: str) -> str:
        self.capsys.readouterr()
        status = main([args[0], "--data", str(self.data), *args[1:]])
        said, wrong = self.capsys.readouterr()
        assert status == 0, (args, wrong)
        return said

    def begin(self, lines: Sequence[Line]) -> Played:
        self.now("Thu 22:39")
        self.run("begin", str(PLAN))
        self.now("Sat 14:00")
        self.add(lines)
        return self

    def now(self, time: str) -> None:
        self.monkeypatch.setattr(clock, "now", lambda: Moment(instant(time)))

    def add(self, lines: Sequence[Line]) -> None:
        file = self.data.parent / "lines.jsonl"
        file.write_text("\n".join(json.dumps(line) for line in lines) + "\n")
        self.run("mark", "--from", str(file))

    def flags(self, time: str) -> list[tuple[list[str], str]]:
        asked = json.loads(self.run("flags", "--json", "--as-of", instant(time).isoformat()))
        return [(flag["batches"], flag["rule"]) for flag in asked]

    def ahead(self, time: str) -> dict[str, Any]:
        found: dict[str, Any] = json.loads(
            self.run("ahead", "--evaluations", "300", "--json", "--as-of", instant(time).isoformat())
        )
        return found

    @property
    def day(self) -> Day:
        file = Sessions(self.data).newest(unfinished=False)
        assert file is not None
        return fold(file.plan, file.events)


@pytest.fixture
def played(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Played:
    return Played(tmp_path / "data", capsys, monkeypatch)


@pytest.fixture
def friday(played: Played) -> Played:
    return played.begin(FRIDAY)


WEAK, DRY = (["03"], "weak-acid"), (["13"], "boil-dry")


@pytest.mark.parametrize(
    ("time", "found"),
    [("11:30", []), ("11:40", [WEAK]), ("23:35", [WEAK]), ("Sat 00:04", [WEAK, DRY]), ("Sat 00:06", [WEAK, DRY])],
)
def test_the_day_has_its_two_flags_at_their_times(friday: Played, time: str, found: list[Any]) -> None:
    assert friday.flags(time) == found


@pytest.mark.parametrize(("batch", "minutes"), [("06", 30), ("10", 30), ("15", 40), ("14", 45)])
def test_minutes_at_heat_add_up_over_units_and_a_breakdown(friday: Played, batch: str, minutes: float) -> None:
    """06 had 18 in the steamer that tripped and 12 in the other, beside its bursts."""
    late = Moment(instant("Sat 00:06"))
    runs = [run for run in friday.day.batches[batch].heats if run.unit != "microwave 1"]
    assert sum(at_heat_min(run, late) for run in runs) == pytest.approx(minutes)


def test_a_batch_from_soak_to_rack_takes_six_entries() -> None:
    """Soak, paint, a burst each, into the steam, out of it."""
    mine = [line for line in FRIDAY if "05" in (line.get("batch"), *line.get("batches", ()))]
    steps = [line for line in mine if line.get("to") != "fix" or line.get("event") == "load"]
    assert len(steps) == 6


def _time(text: str) -> datetime:
    return datetime.fromisoformat(text)


def heats(steps: Iterable[dict[str, Any]]) -> list[tuple[str, datetime, datetime]]:
    """Return (unit, since, until) of each heat once, however many batches share it."""
    found = {(s["unit"], _time(s["start"]), _time(s["end"])) for s in steps if s["kind"] == "heat"}
    return sorted(found, key=lambda heat: heat[1])


def _together(spans: Iterable[tuple[datetime, datetime]]) -> timedelta:
    """Return the time in which at least one of ``spans`` was on."""
    total, end = timedelta(), datetime.min.replace(tzinfo=UTC)
    for start, stop in sorted(spans):
        total += max(timedelta(), stop - max(start, end))
        end = max(end, stop)
    return total


@pytest.mark.parametrize("time", ASKED)
def test_every_forecast_of_the_day_keeps_heat_off_while_you_are_out_and_tanks_full(friday: Played, time: str) -> None:
    """No heat over the school run, no tank beyond its minutes, never more than the lead carries."""
    steps = friday.ahead(time)["steps"]
    on = heats(steps)
    assert not [heat for heat in on if heat[1] < OUT[1] and heat[2] > OUT[0] and instant(time) < OUT[0]]
    for unit in ("steamer 1", "steamer 2"):
        fills = sorted(_time(s["end"]) for s in steps if s["kind"] == "fill" and s["unit"] == unit)
        mine = [heat for heat in on if heat[0] == unit]
        for since, until in zip([instant(time), *fills], [*fills, instant("Sat 23:59")], strict=True):
            # Batches of one load share its heat.
            ran = _together((max(h[1], since), min(h[2], until)) for h in mine if h[1] < until and h[2] > since)
            assert ran <= timedelta(minutes=USABLE_MIN), (unit, since)
    for moment in {heat[1] for heat in on}:
        amps = sum(GARAGE_AMPS.get(unit, 0.0) for unit in {h[0] for h in on if h[1] <= moment < h[2]})
        assert amps <= GARAGE_A
    if instant(time) >= instant("16:34"):
        assert "steamer 2" not in {step["unit"] for step in steps}
    for speck in (s for s in steps if s["kind"] == "paint" and s["batch"] in ("07", "08") and s["step"] != "paint"):
        into = [h for h in steps if h["kind"] == "heat" and speck["batch"] in h["batches"]
                and _time(h["start"]) >= _time(speck["end"])]  # fmt: skip
        assert not into or _time(into[0]["start"]) - _time(speck["end"]) <= timedelta(minutes=60)


def test_the_log_goes_back_in_with_the_same_flags_and_page(friday: Played, tmp_path: Path) -> None:
    log = friday.run("log", "--json")
    again = Played(tmp_path / "again" / "data", friday.capsys, friday.monkeypatch)
    again.data.parent.mkdir()
    again.begin([json.loads(line) for line in log.splitlines()])
    assert again.flags("Sat 00:06") == friday.flags("Sat 00:06")
    page = friday.run("summary")
    assert again.run("summary") == page


def printed_pages(played: Played) -> int:
    """Return how many sides a browser prints of the day's page."""
    html = played.data.parent / "page.html"
    played.run("summary", "--html", str(html))
    return len(page_sizes(printed_to_pdf({"page": html.read_text(encoding="utf-8")})["page"]))


@pytest.mark.skipif(CHROMIUM is None, reason="needs a browser to print with")
def test_fridays_page_is_one_side(friday: Played) -> None:
    assert printed_pages(friday) == 1


def replaced(lines: Sequence[Line], time: str, *new: Line, batch: str | None = None) -> list[Line]:
    """Return lines with those at a time (of one batch) replaced."""
    when = instant(time).isoformat()
    mine = [n for n, line in enumerate(lines) if line["at"] == when
            and (batch is None or batch in (line.get("batch"), *line.get("batches", ())))]  # fmt: skip
    assert mine
    kept = [line for n, line in enumerate(lines) if n not in mine]
    return [*kept[: mine[0]], *new, *kept[mine[0] :]]


def test_topped_up_as_offered_the_third_soak_is_not_flagged(played: Played) -> None:
    lines = replaced(FRIDAY, "10:24", soak("10:24", "03", unit="tray 1", water="kept", acid_ml=60))
    assert played.begin(lines).flags("23:35") == []


def test_enough_acid_for_two_and_a_good_reading_raise_nothing(played: Played) -> None:
    """160 mL instead of 80 for 01, then 03 in what is left with none added and pH 4.6."""
    lines = replaced(FRIDAY, "Thu 22:40", soak("Thu 22:40", "01", unit="tray 1", acid_ml=160), batch="01")
    ph = {"at": instant("11:30").isoformat(), "batch": "03", "reading": "ph", "value": 4.6}
    assert played.begin([*lines, ph]).flags("23:35") == []


def test_heat_off_within_the_tanks_minutes_raises_nothing(played: Played) -> None:
    lines = replaced(FRIDAY, "Sat 00:04", out("23:38", "13", unit="steamer 1"))
    assert played.begin(lines).flags("Sat 00:06") == [WEAK]


@pytest.fixture
def saturday(friday: Played, tmp_path: Path) -> Played:
    """Friday closed and carried into Saturday, which has begun and in which nothing has happened yet."""
    friday.now("Sat 08:55")
    friday.run("carry", str(tmp_path / "saturday.toml"), "--date", "2026-06-06")
    friday.now("Sat 09:00")
    friday.run("begin", str(tmp_path / "saturday.toml"))
    return friday


def test_saturdays_plan_knows_what_friday_left(friday: Played, tmp_path: Path) -> None:
    """Steamer 2 is broken still, the school run was of Friday, and each batch is shown as it is."""
    friday.now("Sat 08:55")
    said = friday.run("carry", str(tmp_path / "saturday.toml"), "--date", "2026-06-06")
    plan = tomllib.loads((tmp_path / "saturday.toml").read_text())
    assert {kit["name"]: kit.get("down") for kit in plan["kit"]}["steamer"] == ["steamer 2"]
    assert "out" not in plan["session"]
    assert (plan["session"]["start"], plan["session"]["stop"]) == ("09:00", "15:00")
    assert "13 Tide Wrack: cooling in steamer 1" in said
    assert "14 Ink Well: cooling in pot 1" in said


def test_saturday_morning_tells_one_truth_of_each_batch(saturday: Played) -> None:
    """Painted and wrapped is not heat; nothing is worked before nine, and nothing in the broken steamer."""
    assert saturday.flags("Sat 09:00") == [WEAK, DRY]
    found = saturday.ahead("Sat 09:00")
    assert "steamer 2" not in {step["unit"] for step in found["steps"]}
    now = instant("Sat 09:00")
    assert not [s for s in found["steps"] if s["attended"] and _time(s["start"]) < now < _time(s["end"])]
    mine = {no: [s for s in found["steps"] if s["batch"] == no and _time(s["end"]) > now] for no in ("11", "13")}
    assert [step["kind"] for step in mine["11"]][:2] in (["fill", "load"], ["load", "heat"])
    assert not [step for step in mine["13"] if step["kind"] == "heat"]
    assert "heat on for" not in saturday.run("ahead")


@pytest.fixture
def lived(saturday: Played) -> Played:
    saturday.now("Sat 13:02")
    saturday.add(SATURDAY)
    return saturday


def test_saturday_adds_no_flag_of_its_own(lived: Played) -> None:
    """Three degrees apart is not rinsed hot, tinted is not under-exhausted, a first rinse of 2.8 % is loose dye."""
    for time in ("Sat 09:20", "Sat 10:20", "Sat 11:18", "Sat 13:01"):
        assert lived.flags(time) == [WEAK, DRY]


def test_a_felted_skein_tells_the_short_order_at_once_and_what_was_dyed_was_used(lived: Played) -> None:
    """Seven of eight Plum Soot; the felted skein's yarn was used all the same. The log has the count alone."""
    assert "counted 3 skeins; Fair: 7 of 8 Plum Soot" in lived.run("mark", "12", "--skeins", "3", "--again")
    assert "7 of 8" not in lived.run("log")
    batch = lived.day.batches["12"]
    assert (batch.skeins, batch.lost, batch.dyed_g) == (3, 1, 400)


def test_saturdays_log_goes_back_in_with_the_same_flags_page_and_forecast(lived: Played) -> None:
    """Into the day itself, where nothing is new."""
    page, flags, ahead = lived.run("summary"), lived.flags("Sat 13:01"), lived.ahead("Sat 10:00")
    lived.add([json.loads(line) for line in lived.run("log", "--json").splitlines()])
    assert lived.run("summary") == page
    assert lived.flags("Sat 13:01") == flags
    assert lived.ahead("Sat 10:00")["steps"] == ahead["steps"]


def test_yarn_put_into_steam_before_you_are_out_is_reported_and_not_blocked(played: Played) -> None:
    """05 on at 14:47 would be up at 15:32, with the house empty from 15:05 to 15:40."""
    lines = [line for line in FRIDAY if line["at"] <= instant("14:47").isoformat()]
    played.begin([*lines, steam("14:47", "05", unit="steamer 1", heat=3)])
    played.now("15:00")
    loud = [warned for warned in played.ahead("15:00")["warnings"] if warned["kind"] == "left-alone"]
    assert [(warned["about"], warned["at"]) for warned in loud] == [("steamer 1", "2026-06-05T14:05:00Z")]
    assert "05" in loud[0]["what"]
    assert "15:05 to 15:40" in loud[0]["what"]


def offered(played: Played, batch: str, time: str) -> tuple[str, ...]:
    """Return the lines of the bench's offer for a batch's next step."""
    now, day = Moment(instant(time)), played.day
    step = next_step(day, day.batches[batch], now)
    assert step is not None
    return lines_to_know(Offer(day, (day.batches[batch],), step, now))


def until(played: Played, time: str) -> Played:
    return played.begin([line for line in FRIDAY if datetime.fromisoformat(line["at"]) < instant(time)])


def test_an_offer_of_heat_says_when_it_would_be_up_in_an_empty_house(played: Played) -> None:
    """05 at 14:42: 40 min with the warm-up and the load, and you are out of the house from 15:05 to 15:40."""
    lines = offered(until(played, "14:42"), "05", "14:42")
    assert any("you are out of the house from 15:05 to 15:40: load after 15:40" in line for line in lines)


@pytest.mark.parametrize(("time", "warns"), [("11:57", True), ("12:25", False)])
def test_an_offer_of_heat_says_when_it_would_be_up_at_lunch(played: Played, time: str, warns: bool) -> None:
    """03 at 11:57, with 5 min for filling and loading, would be up at 12:52; from 12:25 on it is up after lunch."""
    day = until(played, "11:58")
    day.add([moved("11:56", "03", "fix")])
    lines = offered(day, "03", time)
    later = "would end at 12:52; your break is from 12:45 to 13:15: load from 12:20"
    assert any(later in line for line in lines) is warns
    assert any("your break is" in line for line in lines) is warns


def test_the_two_waters_of_a_tray_are_offered_with_what_each_wants(played: Played) -> None:
    """03 after 01, with about 3.5 of 4 L left; 06 after 04: what is left is topped up, and a pH read."""
    day = until(played, "10:24")
    lines = offered(day, "03", "10:22")
    assert any("80 mL of vinegar for it and the yarn" in line for line in lines)
    kept = next(line for line in lines if "water kept" in line)
    assert "about 3.5 L left with 45 mL of acid, top up 500 mL" in kept
    assert 15 <= _ml(r"add (\d+) mL", kept) <= 75
    assert kept.endswith("read the pH in 10 min")


def test_a_pot_that_is_dyed_in_again_is_offered_new_and_kept(played: Played) -> None:
    """14 after 09: both by one key, kept wants less than new water's 125 mL, and more than none."""
    day = until(played, "21:33").day
    now = Moment(instant("21:33"))
    step = next_step(day, day.batches["14"], now)
    assert step is not None
    offer = Offer(day, (day.batches["14"],), step, now)
    assert offer.into("pot 1").may_keep_water
    assert (
        0
        < float(offer.into("pot 1", Water.KEPT).acid_figure)
        < float(offer.into("pot 1", Water.NEW).acid_figure)
        <= 125
    )
    assert any("below 50 °C" in line for line in lines_to_know(offer.into("pot 1", Water.KEPT)))
    assert not any("below 50 °C" in line for line in lines_to_know(offer.into("pot 1", Water.NEW)))


def _ml(pattern: str, text: str) -> float:
    found = re.search(pattern, text)
    assert found is not None, text
    return float(found[1])


def test_full_doses_for_new_water_are_within_the_page_s_brackets(played: Played) -> None:
    weighed = json.loads(played.run("weigh", "--json", str(PLAN)))
    doses = {one["batch"]: one["soak"]["pour_ml"] for one in weighed["batches"]}
    for batch in ("01", "02", "03", "05", "06", "07", "08", "11", "12"):
        assert 45 <= doses[batch] <= 110
    assert 35 <= doses["04"] <= 85
    assert 25 <= doses["10"] <= 55
    assert 25 <= doses["13"] <= 55
    assert doses["09"] is None
    assert 115 <= pot_ml(played, "09", "16:07") <= 195
    assert 90 <= pot_ml(played, "14", "15:05") <= 155


def pot_ml(played: Played, batch: str, time: str) -> float:
    """Return the acid a pot of new water is offered for a batch, its first part and what comes later."""
    day = until(played, time).day if not (played.data / "sessions").exists() else played.day
    found = acid_offer(day, day.batches[batch], State.PAINT, "pot 1", Moment(instant(time)))
    return found.amount_now + found.amount_later


def read(played: Played, batch: str, time: str, ph: float) -> str:
    """Return what the bench answers to a pH reading."""
    day = until(played, time).day
    return meaning(day, day.batches[batch], ReadingKind.PH, ph, Moment(instant(time)))


def test_a_ph_too_high_is_answered_with_half_and_the_most(played: Played) -> None:
    """07 at 15:00, 5.5 where 5.2 or less is wanted: half of what brings it to 4.5, then read again."""
    said = read(played, "07", "15:00", 5.5)
    assert "above 5.2" in said
    half = _ml(r"add (\d+) mL", said)
    assert 30 <= half <= 65
    assert half < _ml(r"(\d+) mL at most", said)
    assert "wait 5 min, read again" in said


def test_a_ph_within_the_limit_is_good(played: Played) -> None:
    assert read(played, "06", "12:52", 5.0) == ", good: the target is 4.5"


def standing_at(lines: Sequence[Line], time: str, recorded_by: str) -> list[tuple[str, str]]:
    """Return (unit or batches, what) of the alarms at ``time``, with what was recorded by then."""
    mine = [line for line in lines if datetime.fromisoformat(line["at"]) <= instant(recorded_by)]
    day = fold(read_plan(PLAN.read_text(encoding="utf-8")),
               [read_event(line, Moment(_time(line["at"])), twin=n) for n, line in enumerate(mine)])  # fmt: skip
    return [(alarm.about, alarm.what) for alarm in standing(day, Moment(instant(time)))]


@pytest.mark.parametrize(
    ("time", "recorded_by", "about"),
    [
        ("10:46", "10:24", []),  # two of four skeins painted, open
        ("13:10", "12:52", []),  # lunch: heat goes on
        ("13:22", "12:52", []),  # a prompt
        ("13:32", "12:52", ["steamer 1"]),
        ("13:37", "12:52", ["steamer 1", "steamer 2"]),  # the tanks, in the place of the heats
        ("14:04", "12:52", ["steamer 1", "steamer 2"]),
        ("15:45", "15:01", []),  # back late: nothing can be harmed
        ("17:00", "16:44", []),
        ("19:30", "18:43", []),  # bedtime: nothing is on
        ("20:58", "20:47", []),  # 15's prompt
        ("23:31", "22:50", []),  # 13's prompt
        ("23:41", "22:50", ["steamer 1"]),
        ("Sat 00:03", "22:50", ["steamer 1"]),
    ],
)
def test_one_alarm_a_unit_stands_and_only_where_something_is_harmed(
    time: str, recorded_by: str, about: list[str]
) -> None:
    assert [one for one, _ in standing_at(FRIDAY, time, recorded_by)] == about


def line_of(played: Played, batch: str, time: str, recorded_by: str = "") -> tuple[int, str, str]:
    """Return the place, the words and the reason of a batch among what hands do next."""
    items = advice(until(played, recorded_by or time).day, Moment(instant(time)), 8, None)
    return next((n, item.do, item.why) for n, item in enumerate(items) if item.about == batch)


def test_yarn_in_a_steamer_that_died_says_what_it_lacks_and_from_when_it_can_have_it(played: Played) -> None:
    """Not first: nothing can be done about it before 16:37. Once steamer 1 is empty it goes before all else."""
    place, do, why = line_of(played, "06", "16:35")
    assert (place, do) == (1, "wait for steamer 1, from 16:37")
    assert "18 min at heat so far, 12 to go" in why
    place, do, why = line_of(played, "06", "16:38")
    assert (place, do) == (0, "move out of steamer 2 to steamer 1")
    assert "18 min at heat so far, 12 to go" in why


def test_a_heat_that_broke_off_is_offered_with_the_minutes_it_lacks(played: Played) -> None:
    """06 into steamer 1 at 16:38: 12 of 30 min and 10 of warm-up are 22 of its tank; its clock and row say 12."""
    day = until(played, "16:38").day
    now = Moment(instant("16:38"))
    step = next_step(day, day.batches["06"], now)
    assert step is not None
    offer = Offer(day, (day.batches["06"],), step, now)
    assert offer.title == "06 Quarry (unfixed): start steam the last 12 of 30 min in steamer 1"
    assert any("22 min needed: switch off" in line for line in lines_to_know(offer))
    played.now("Sat 14:00")
    played.add([steam("16:44", "06", unit="steamer 1", heat=3)])
    later = timer_of(played.day, played.day.batches["06"], Moment(instant("16:54")))
    assert later is not None
    assert later.left_s == 12 * 60


def test_one_batch_of_two_is_lifted_out_and_its_steamer_left_on(played: Played) -> None:
    """10 is up at 20:45 and 15, beside it, at 20:55; when both are up, the heat goes off."""
    assert line_of(played, "10", "20:46", "20:44")[1] == "lift 10 out, leave steamer 1 on (15 until 20:55)"
    day = played.day
    assert next_up(day, Moment(instant("20:56")))[0].do == "heat off steamer 1, out to cool"


@pytest.mark.parametrize(
    ("time", "by"), [("22:30", "23:30"), ("22:35", "23:35"), ("22:41", "23:30"), ("23:10", "23:30")]
)
def test_the_last_heat_of_the_night_is_foreseen_off_in_time(friday: Played, time: str, by: str) -> None:
    """By 23:30, to the minute: 13, 40 min with 10 of warm-up, on at 22:40.

    Only at 22:35, before it went in, is one other batch as good: 11, 45 min, off at 23:35, still 10 min before the
    stop, and Saturday is 5 min shorter for it.
    """
    assert _time(friday.ahead(time)["heat"]["last_off"]) <= instant(by)


def test_acid_on_the_page_is_what_was_put_in_once(friday: Played) -> None:
    put = sum(line.get("acid_ml", 0) for line in FRIDAY)
    assert f"vinegar 5 %: {put:g} mL" in friday.run("summary")


def test_the_page_says_what_was_left_in_a_kept_bath_for_the_load_that_came_later(friday: Played) -> None:
    """03 after 01: of its 80 mL about 42 were left, by the lower estimate; 06 after 04 had about 31 and its own 60.

    The control: 01 and 07, in new water, had what was put in.
    """
    page = " ".join(friday.run("summary").split())
    assert page.count("acid: 42 mL kept") == 1
    assert "acid: 31 mL kept + 60 mL" in page
    assert page.count("mL kept") == 3
    assert "acid: 80 mL" in page
    assert re.search(r"acid: 80 mL\S* \+ 60 mL", page)


def acid_lines(page: str) -> dict[str, str]:
    """Return the acid that a page of the day has of each batch, without the marks of late entries."""
    text = " ".join(page.split()).replace("~", "")
    parts = re.split(r"(?<= )(?=\d\d (?:\S+ \S+ on|soak) )", text.partition("SO FAR")[2])
    found = (
        (part[:2], re.search(r"acid: (\d[\d.]* m?[gL](?: kept)?(?: \+ \d[\d.]* m?[gL])*)", part)) for part in parts
    )
    return {no: match[1] for no, match in found if match}


def test_what_a_batch_got_is_the_same_on_the_page_and_the_lot_sheet_of_the_day_it_is_carried_to(
    lived: Played,
) -> None:
    """03 had 42 mL left in kept water, 14 about 107 and its own 60: not all that was ever put into their baths.

    13 and 15 soaked in one bath of 80 mL and are carried with a half of it each.
    """
    friday = lived.run("summary", "--session", "2026-06-05-1")
    saturday = lived.run("summary")
    assert acid_lines(friday)["03"] == "42 mL kept"
    assert acid_lines(saturday) == {**acid_lines(friday), "13": "40 mL", "15": "40 mL"}
    lived.now("Sat 23:59")
    lived.add([moved("Sat 23:58", no, "done") for no in ("01", "02", "03", "04", "14")])
    lived.run("close")
    lots = lots_of_day(lived.day, "2026-06-06-1", Moment(instant("Sat 23:59")))
    ink = next(batch for lot in lots for batch in lot.batches if batch.no == "14")
    assert [(round(acid.acid_ml), acid.kept) for acid in ink.acids] == [(107, True), (60, False)]
    number = next(line.split()[0] for line in lived.run("lots").splitlines() if "Tide Wrack" in line)
    said = lived.run("sheet", "lot", number)
    assert said.count("acid: 42 mL kept\n") == 1
    reminders = json.loads(lived.run("lots", number, "--again", "--json"))["reminders"]
    assert "batch 03 went into kept water with about 42 mL of acid left" in reminders


def test_the_second_part_of_a_pots_acid_is_a_step_of_the_hands_as_it_simmers(friday: Played) -> None:
    """09 is on at 16:12 and simmers at 16:47; a steamer's heat has no such step, nor a pot that had its acid."""
    for time in ("16:00", "16:20"):
        found = friday.ahead(time)["steps"]
        acids = [step for step in found if step["kind"] == "acid"]
        assert {step["batch"] for step in acids} == {"09", "14"}
        assert all(step["attended"] and step["unit"] == "pot 1" for step in acids)
        assert [step["end"] for step in acids] == [
            (_time(step["start"]) + timedelta(minutes=1)).isoformat().replace("+00:00", "Z") for step in acids
        ]
    (mine,) = (step for step in acids if step["batch"] == "09")
    assert instant("16:47") <= _time(mine["start"]) <= instant("17:00")
    said = friday.run("ahead", "--evaluations", "300", "--as-of", instant("16:20").isoformat())
    assert "2nd part of the acid" in said
    assert not [step for step in friday.ahead("16:55")["steps"] if step["kind"] == "acid" and step["batch"] == "09"]


def test_closing_names_where_everything_stays(friday: Played) -> None:
    """The wrapped yarn with how long it is safe; nothing that was begun is waiting."""
    day = friday.day
    said = "\n".join(unfinished_lines(day, Moment(instant("Sat 00:06"))))
    assert "on rack 1, drying: 01, 02, 03, 04 (15 pieces)" in said
    assert "in steamer 1, cooling overnight: 13" in said
    assert "in pot 1, cooling overnight: 14" in said
    assert "11 Plum Soot: painted, wrapped, safe until Sat 20:25" in said
    assert "12 Plum Soot: painted, wrapped, safe until Sat 20:45" in said
    assert "waiting" not in said


@pytest.mark.parametrize(
    ("time", "on"),
    [("11:04", []), ("11:20", [("steamer 1", ("01",))]), ("15:00", []), ("20:10", [("steamer 1", ("10", "15"))])],
)
def test_what_is_on_is_named_before_the_house_is_left(friday: Played, time: str, on: list[Any]) -> None:
    """By unit, with the batches in it; at 15:00 it is nothing."""
    file = Sessions(friday.data).newest(unfinished=False)
    assert file is not None
    day = fold(file.plan, [event for event in file.events if event.at <= instant(time)])
    assert [(one.unit, one.batches) for one in units_on(day, Moment(instant(time)))] == on
