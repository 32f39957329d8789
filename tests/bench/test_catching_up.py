"""Catching up after a gap: what is proposed, in which order and when, and how it stands on record."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dyeday.ahead.forecast import forecast
from dyeday.bench.live_session import LiveSession
from dyeday.bench.prompts.proposals import Proposal, last_entry_at, proposals
from dyeday.paper.layout.sheet_text import sheet_text
from dyeday.paper.sheets.lot_sheet import lot_sheet
from dyeday.plan.model import Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.serialize import from_plain, to_plain
from dyeday.store.sessions import Sessions
from dyeday.studio.lots.lot import Lot
from dyeday.studio.lots.lot_making import lots_of_day
from dyeday.terms import HeatEdge, State, StepKind, UnitEvent
from dyeday.track.day.carried import EntryChange
from dyeday.track.events.event_json import read_event
from dyeday.track.events.measured import Measured
from dyeday.track.events.movements import AcidPutIn, Load
from dyeday.track.timers.timers import doing_text
from tests.bench.driving import Bench, drive
from tests.bench.test_offers import HARD
from tests.fakes import ROOT, FakeClock, Ids
from tests.track.days import MIDNIGHT, PLAN, THE_PLAN, Line, at, day_of, now, soaked
from tests.typed_events import draft, make

RECORD: list[Line] = [
    *soaked("01", "09:00", "09:30"),
    at("09:40", batches=["01"], to="fix", unit="steamer 1", heat_no=1, run="start"),
    at("09:45", "04", to="soak", unit="tray 2"),
    at("09:50", "05", to="soak", unit="tray 3"),
]


def proposed(record: list[Line], time: str, *left_out: str, plan: Plan = HARD) -> list[Proposal]:
    day = day_of(record, plan)
    since = last_entry_at(day)
    assert since is not None
    return proposals(day, since, now(time), left_out)


def test_ends_of_heat_come_first_and_each_has_the_time_its_clock_suggests() -> None:
    """Steam of 40 min after 10 of warm-up from 9:40; soaks of 20 min, then one pair of hands."""
    found = proposed(RECORD, "10:45")
    assert [one.batch for one in found[:2]] == ["01", "04"]
    assert "05" in [one.batch for one in found]
    assert found[0].at.utc == now("10:30").utc
    assert found[0].text == "heat off steamer 1, out to cool"
    assert found[1].at.utc == now("10:05").utc
    assert found[2].at.utc >= found[1].at.utc


NIGHT = read_plan(
    (ROOT / "examples" / "late-night.toml").read_text(encoding="utf-8").replace("2026-10-16", f"{MIDNIGHT:%Y-%m-%d}")
)
EVENING: list[Line] = [
    *soaked("07", "17:00", "18:00"),
    *soaked("08", "17:00", "18:20"),
    *soaked("09", "17:00", "18:50"),
    *(at("20:00", no, to="soak", unit=f"tray {n}") for n, no in enumerate(("11", "12", "13"), 2)),
    at("20:16", batches=["08"], to="fix", unit="steamer 2", heat_no=1, run="start", tank="filled"),
    at("20:26", event="unit", unit="steamer 1", is_="down"),
    at("20:46", "14", to="soak", unit="tray 1"),
]
"""one steamer is left and 08 is in it until 20:56; 07 is painted, 11, 12 and 13 are soaked; then no entry"""


LIFTED = at("20:58", batches=["08"], to="cool", unit="steamer 2", heat_no=1, run="end")


def in_turn(found: list[Proposal]) -> list[str]:
    """Return what is proposed by its time: when, of which batch, and the first words."""
    return sorted(f"{one.at.utc:%H:%M} {one.batch} {' '.join(one.text.split(' ')[:2])}" for one in found)


def test_what_is_proposed_could_all_have_happened() -> None:
    """One pair of hands paints 12 min for each batch, longer by each heat it sees to meanwhile, 2 min.

    The one steamer takes 07 once 08 is out of it, 40 min after its start; a rest of a batch between bursts is 3 min.
    """
    found = proposed(EVENING, "21:41", plan=NIGHT)
    assert in_turn(found) == [
        "20:46 09 start microwave",
        "20:48 11 paint",
        "20:56 08 heat off",
        "20:58 07 start steam",
        "21:03 09 start microwave",
        "21:09 11 start microwave",
        "21:11 12 paint",
        "21:23 12 start microwave",
        "21:25 11 start microwave",
    ]


def test_the_heat_that_has_been_on_for_too_long_stands_first() -> None:
    """What was painted may have waited, and what was never begun is not over."""
    assert proposed(EVENING, "21:41", plan=NIGHT)[0].text == "heat off steamer 2, out to cool"


def test_what_is_on_record_keeps_its_time_its_unit_and_its_hands() -> None:
    """08 lifted out later than its clock said, and 13 painted in the gap: nothing is proposed into their time."""
    record = [*EVENING, LIFTED, at("21:10", "13", to="paint")]
    found = proposals(day_of(record, NIGHT), now("20:46"), now("21:41"))
    assert "20:48 11 paint" in in_turn(found)
    assert "21:00 07 start steam" in in_turn(found)
    assert not {"08", "13"} & {one.batch for one in found if one.at.utc < now("20:58").utc}
    hands_free = [one.at.utc for one in found if one.step.to is State.PAINT]
    assert hands_free[0] == now("20:48").utc
    assert all(moment >= now("21:22").utc for moment in hands_free[1:])


def test_painting_that_would_run_into_the_painting_on_record_is_not_proposed() -> None:
    record = [*EVENING, LIFTED, at("20:55", "13", to="paint")]
    found = proposals(day_of(record, NIGHT), now("20:46"), now("21:41"))
    painted = [one.at.utc for one in found if one.step.to is State.PAINT]
    assert painted
    assert all(moment > now("21:05").utc for moment in painted)


def test_a_heat_that_the_tank_would_not_last_for_is_proposed_with_a_fill() -> None:
    """Filled at 20:16 and on for 40 min; a fill lasts 70 min, of which a fifth is kept in reserve."""
    start = next(one for one in proposed(EVENING, "21:41", plan=NIGHT) if one.batch == "07")
    assert start.text == "start steam 30 min in steamer 2, tank filled"
    (body,) = (draft.body for draft in start.drafts)
    assert isinstance(body, Load)
    assert body.tank is UnitEvent.FILLED
    (body,) = (draft.body for draft in replace(start, is_tank_filled=False).drafts)
    assert isinstance(body, Load)
    assert body.tank is None


def test_no_heat_is_put_on_in_a_break_or_over_an_absence() -> None:
    """Home again at 21:20: no heat is proposed that would have run while the house was empty.

    Both dishes of 09 at 20:58 would have: 11, whose dishes are next in the microwave, goes on before 07.
    """
    plan = replace(NIGHT, session=replace(NIGHT.session, out=((21 * 60, 21 * 60 + 20),)))
    starts = [one for one in proposed(EVENING, "21:41", plan=plan) if one.step.edge is HeatEdge.START]
    assert {one.at.utc for one in starts if one.batch == "07"} == {now("21:22").utc}
    assert not [one for one in starts if now("20:57") < one.at < now("21:20")]


def test_nothing_is_proposed_that_is_not_over_yet_nor_of_a_batch_left_out() -> None:
    assert [one.batch for one in proposed(RECORD, "10:15")][:1] == ["04"]
    assert "04" not in [one.batch for one in proposed(RECORD, "10:45", "04")]


@pytest.mark.parametrize(
    ("away", "time"),
    [({}, "10:05"), ({"break": "10:00-10:40"}, "10:40"), ({"out": "10:00-10:40"}, "10:40"),
     ({"break": "09:55-10:20", "out": "10:20-10:40"}, "10:40")],
)  # fmt: skip
def test_hands_do_nothing_in_a_break_or_out_of_the_house(away: dict[str, str], time: str) -> None:
    """04 has soaked by 10:05; the steam of 01 is over at 10:30 in any case."""
    hours = [at("09:52", event="hours", **{key: span}) for key, span in away.items()]
    found = {one.batch: one.at.utc for one in reversed(proposed([*RECORD, *hours], "11:30"))}
    assert found["04"] == now(time).utc
    assert found["01"] == now("10:30").utc


def test_painting_left_half_done_goes_on_after_you_were_out_of_the_house() -> None:
    """18 min of painting from 10:00, out from 10:05 to 11:00: 13 min are left, and no yarn waits for its heat yet."""
    lines = [*soaked(), at("10:05", event="hours", out="10:05-11:00")]
    assert proposed(lines, "11:03") == []
    day = day_of(lines, HARD)
    assert doing_text(day, day.batches["01"], now("11:03")) == "painting"
    steps = forecast(day, now("11:03"), evaluations=1).steps
    heat = next(step for step in steps if step.batch == "01" and step.kind is StepKind.LOAD)
    assert f"{heat.start:%H:%M}" >= "11:13"
    (late,) = proposed(lines, "11:20")
    assert (late.text, f"{late.at.utc:%H:%M}") == ("start steam 40 min in steamer 1", "11:13")


def test_acid_readings_and_looks_are_never_proposed() -> None:
    """Two hours in which a batch went through its paint, its pot, its rinse."""
    record = [*RECORD, at("09:55", "03", to="soak", unit="tray 4")]
    bodies = [draft.body for one in proposed(record, "18:00") for draft in one.drafts]
    assert bodies
    assert not any(isinstance(body, (AcidPutIn, Measured)) for body in bodies)
    assert not any(isinstance(body, Load) and (body.acid_ml, body.acid_g) != (None, None) for body in bodies)


def test_return_takes_a_line_digits_change_its_time_and_space_leaves_it_out(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        for no in ("04", "05"):
            await bench.press(*no, "m", "2", "space", "enter")
        before = len(bench.session.events)
        await bench.on(100)
        await bench.press("B")
        assert "Did you do these?" in bench.screen
        await bench.press("enter")
        first = bench.session.events[before]
        assert first.is_approximate
        ago_min = (bench.clock().utc - first.at).total_seconds() / 60
        assert ago_min == {"04": 50, "05": 60}[first.batches[0]]
        await bench.type("20")
        await bench.press("enter")
        second = bench.session.events[-1]
        assert not second.is_approximate
        assert (bench.clock().utc - second.at).total_seconds() == 20 * 60
        batches = bench.app.live.day.batches
        assert [batches[no].state for no in ("04", "05")] == [State.COOL, State.COOL]

    drive(tmp_path, script)


def test_space_leaves_a_line_out_and_escape_ends(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "2", "space", "enter")
        before = len(bench.session.events)
        await bench.on(100)
        await bench.press("B", "space")
        assert bench.app.screen is bench.app.bench
        assert len(bench.session.events) == before
        await bench.press("B", "escape")
        assert bench.app.screen is bench.app.bench
        assert len(bench.session.events) == before

    drive(tmp_path, script)


def test_a_time_taken_as_suggested_is_shown_as_about_and_comes_back_from_json(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "2", "space", "enter")
        await bench.on(100)
        await bench.press("B", "enter")
        event = bench.session.events[-1]
        assert event.text().endswith("time about")
        assert read_event(json.loads(json.dumps(event.to_json())), bench.clock()) == event
        assert not event.corrected({"at": "2026-03-14T09:30:00Z"}).is_approximate

    drive(tmp_path, script)


def test_a_time_that_is_about_is_marked_in_the_lot_book(tmp_path: Path) -> None:
    """The end of the heat, as it was taken; its beginning, which was typed, has no mark."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "2", "space", "enter")
        await bench.on(100)
        await bench.press("B", "enter", "escape")
        await bench.press("0", "4", "m", "7", "enter")
        (lot,) = lots_of_day(bench.app.live.day, "2026-03-14-1", bench.clock())
        kinds = {change.what for change in lot.batches[0].changes}
        assert kinds == {EntryChange.APPROXIMATE}
        assert from_plain(Lot, to_plain(lot)) == lot
        text = sheet_text(lot_sheet(lot))
        assert "09:50≈" in text
        assert "09:00≈" not in text
        assert "≈ time about" in text

    drive(tmp_path, script)


def test_with_nothing_missing_it_says_so(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("B")
        assert "no entries yet, so nothing to catch up with" in bench.screen
        await bench.press("0", "1", "space", "enter", "B")
        assert "no entry is missing since the last one" in bench.screen

    drive(tmp_path, script)


def test_what_enter_records_is_what_stood_on_top_as_its_time_was_typed(tmp_path: Path) -> None:
    """The heat of another comes due while a hand types: it joins below, and the line that was chosen stays."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "space", "enter", "0", "4", "m", "2", "space", "enter")
        await bench.on(49)
        await bench.press("B")
        assert "> about 09:20    01 paint" in bench.screen
        await bench.on(2)
        await bench.type("930")
        await bench.press("backspace", "backspace", "backspace")
        await bench.type("0930")
        assert "> 0930_ = 09:30  01 paint" in bench.screen
        assert "04 heat off" in bench.screen
        await bench.press("enter")
        last = bench.session.events[-1]
        assert (last.batch, last.body.NAME, f"{last.at:%H:%M}") == ("01", "moved", "09:30")

    drive(tmp_path, script)


def test_f_says_whether_the_tank_was_filled_for_a_heat_that_is_proposed(tmp_path: Path) -> None:
    """Painted, waiting for its steam: the tank is full, so no fill is offered, but it may have been topped up."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "space", "enter")
        await bench.on(30)
        await bench.press("0", "1", "space", "enter")
        await bench.on(60)
        await bench.press("B")
        assert "> about 09:42    01 start steam 30 min in steamer 1\n" in bench.screen
        await bench.press("f")
        await bench.type("0950")
        assert "> 0950_ = 09:50  01 start steam 30 min in steamer 1, tank filled" in bench.screen
        await bench.press("enter")
        body = bench.session.events[-1].body
        assert isinstance(body, Load)
        assert body.tank is UnitEvent.FILLED

    drive(tmp_path, script, plan=ROOT / "examples" / "late-night.toml")


def test_a_heat_recorded_from_the_list_does_not_bring_its_end_to_the_top(tmp_path: Path) -> None:
    """Each line that is recorded makes room for the one below it; the end waits for its turn by time."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "space", "enter", "0", "2", "space", "enter")
        await bench.on(30)
        await bench.press("0", "1", "space", "enter")
        await bench.on(120)
        await bench.press("B")

        def listed() -> list[str]:
            found = [line.strip(" >│") for line in bench.screen.splitlines() if "about " in line]
            return [line.split(maxsplit=2)[2] for line in found]

        while "start steam" not in listed()[0]:
            await bench.press("enter")
        before = listed()
        await bench.press("enter")
        assert listed()[: len(before) - 1] == before[1:]

    drive(tmp_path, script, plan=ROOT / "examples" / "late-night.toml")


def test_a_heat_begun_from_the_list_raises_no_alarm_before_its_end_was_asked_about(tmp_path: Path) -> None:
    """Painted at 09:00, steamed from 09:42: at 10:30 its time is up, which the next line asks about."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "space", "enter")
        await bench.on(30)
        await bench.press("0", "1", "space", "enter")
        await bench.on(60)
        rung = bench.ring.times
        await bench.press("B", "enter")
        assert "> about 10:" in bench.screen
        assert "01 heat off" in bench.screen
        await bench.on(0.1)
        assert bench.app.bench.shown is not None
        assert (bench.app.bench.shown.lasting_alarms, bench.ring.times) == ((), rung)
        await bench.press("escape")
        await bench.on(0.1)
        assert bench.app.bench.shown.lasting_alarms
        assert bench.ring.times > rung

    drive(tmp_path, script, plan=ROOT / "examples" / "late-night.toml")


def test_a_line_that_is_left_out_brings_no_new_one_above_those_shown() -> None:
    """Without 05 hands would be free for 06, which was not on the list, before the last burst of 04."""
    record = [*RECORD, at("09:52", "06", to="soak", unit="tray 4")]
    before = proposed(record, "10:45")
    shown = [one.key for one in before]
    day = day_of(record, HARD)
    after = proposals(day, now("09:52"), now("10:45"), ["05"], None, shown)
    fresh = [one.key not in shown for one in after]
    assert any(fresh)
    assert fresh == sorted(fresh)
    plain = [one.key not in shown for one in proposals(day, now("09:52"), now("10:45"), ["05"])]
    assert plain != sorted(plain)


def test_the_time_shown_for_what_is_typed_is_the_time_recorded(tmp_path: Path) -> None:
    """Three digits typed in a hurry are minutes, which the line says; no later second moves them."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "2", "space", "enter")
        await bench.on(240)
        await bench.press("B")
        await bench.type("102")
        shown = bench.clock().earlier(102 * 60)
        assert f"> 102_ = {shown.utc:%H:%M}" in bench.screen
        bench.clock.on(0.5)
        await bench.press("enter")
        assert bench.session.events[-1].at == shown.utc

    drive(tmp_path, script)


def test_a_time_that_cannot_be_read_is_shown_and_nothing_is_recorded(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "2", "space", "enter")
        await bench.on(100)
        before = len(bench.session.events)
        await bench.press("B")
        await bench.type("9:7")
        assert "> 9:7_  " in bench.screen
        await bench.press("enter")
        assert len(bench.session.events) == before
        assert "> 9:7_  " in bench.screen
        assert "Enter: yes" not in bench.screen

    drive(tmp_path, script)


def test_a_line_that_another_shell_recorded_meanwhile_is_not_recorded_twice(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "space", "enter", "0", "2", "space", "enter")
        await bench.on(60)
        await bench.press("B")
        bench.second_shell().add([make("moved", bench.clock(), lambda: "another", batch="01", to="paint")])
        bench.app.tick()
        await bench.press("enter")
        assert [event.id for event in bench.session.events if event.batch == "01"][1:] == ["another"]
        assert "not recorded" in bench.screen

    drive(tmp_path, script)


def test_a_backdated_entry_counts_as_the_time_that_was_typed_however_late_it_is_made(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.on(60)
        await bench.press("b")
        await bench.type("09:02")
        await bench.press("enter")
        await bench.on(3)
        await bench.press("0", "1", "m", "1")
        assert f"{bench.session.events[-1].at:%H:%M}" == "09:02"

    drive(tmp_path, script)


@pytest.mark.parametrize(
    ("typed", "at"), [("1 h", "09:00"), ("20 min", "09:40"), ("09.41", "09:41"), ("0942a", "09:42")]
)
def test_a_time_is_typed_as_for_any_late_entry(tmp_path: Path, typed: str, at: str) -> None:
    """Behind a digit a blank is part of the time: it skips nothing."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "space", "enter")
        await bench.on(60)
        await bench.press("B")
        await bench.type(typed)
        assert f"{typed}_ = {at}" in bench.screen
        await bench.press("enter")
        assert f"{bench.session.events[-1].at:%H:%M}" == at

    drive(tmp_path, script)


@settings(max_examples=40, deadline=None)
@given(
    ago_min=st.integers(0, 700),
    into_min_us=st.integers(0, 59_999_999),
    wait_us=st.integers(0, 600_000_000),
    drift_us=st.integers(-1_900_000, 1_900_000),
)
def test_a_typed_minute_is_stored_to_the_microsecond_though_wall_and_boot_clock_drift(
    ago_min: int, into_min_us: int, wait_us: int, drift_us: int
) -> None:
    """Drift is less than `STEP_S`; a step beyond it moves the typed moment, as the day's clock has it."""
    noon = datetime(2026, 3, 14, 21, tzinfo=UTC)
    clock = FakeClock(noon + timedelta(microseconds=into_min_us))
    typed = noon - timedelta(minutes=ago_min)
    with TemporaryDirectory() as folder:
        session = Sessions(Path(folder), clock).begin(THE_PLAN, Path("plan.toml"), PLAN, clock())
        live = LiveSession(session, clock, Ids())
        live.earlier = live.typed_moment(f"{typed:%H:%M}")
        clock.on(seconds=wait_us / 1e6)
        clock.utc += timedelta(microseconds=drift_us)
        (event,) = live.record(draft("note", "01", {"note": "x"}))
        assert event.at == typed == session.events[-1].at
