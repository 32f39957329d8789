"""Warnings while they help: the flag rules asked about what is foreseen, deadlines, what the day waits for."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from dyeday.ahead.advising.advice import advice, most_urgent
from dyeday.ahead.advising.next_up import at_batch
from dyeday.ahead.deadlines import deadlines
from dyeday.ahead.forecast import forecast
from dyeday.ahead.foreseen_steps import Forecast, Planned, Warned
from dyeday.ahead.problem_parts.fill_steps import with_fills
from dyeday.ahead.warnings import foreseen, warnings
from dyeday.ahead.what_if import Change, bottleneck, gains, with_units
from dyeday.paper.sheets.forecast_lines import table_lines
from dyeday.plan.model import Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.recipe import planned_dyes
from dyeday.quick_dataclass import altered
from dyeday.terms import FlagId, KitKind, State, StepKind, WarningKind
from dyeday.track.day.carried import Carried
from dyeday.track.day.progress import FILL_MIN
from dyeday.track.flags import RULES
from dyeday.track.flags.room_and_stock import short_mixes
from dyeday.track.folding.fold import begin
from dyeday.track.timestamp import Moment
from tests.fakes import HEAVY_DAY
from tests.track.days import PLAN, Line, at, day_of, heated, instant, now, plan_with, soaked

HEAVY = read_plan(HEAVY_DAY.read_text(encoding="utf-8"))
MINUTES_DECIDE = (
    FlagId.SHORT_SOAK, FlagId.DRIED_OUT, FlagId.SHORT_FIX, FlagId.RINSED_HOT, FlagId.OVERLOADED_CIRCUIT,
)  # fmt: skip
"""rules whose breach depends on when things are done, not on what is put in or read"""


def ahead(lines: Sequence[Line] = (), time: str = "09:00", plan: Plan | None = None, **how: Any) -> Forecast:
    return forecast(day_of(list(lines), plan or plan_with()), now(time), evaluations=30, **how)


def of_kind(found: Forecast, kind: WarningKind) -> list[Warned]:
    return [warned for warned in found.warned if warned.kind == kind]


def test_a_day_done_as_foreseen_raises_no_flag_that_minutes_decide() -> None:
    """Asked of the rules themselves: every soak, rest, heat and cooling of the schedule is long enough."""
    day, start = begin(HEAVY), now("09:00")
    begun = Moment(start.utc.replace(month=5, day=9))
    found = forecast(day, begun, evaluations=40)
    after = foreseen(day, found.steps, begun.utc)
    end = Moment(max(step.end for step in found.steps))
    assert all(batch.state == State.DRY for batch in after.unsplit)
    raised = [
        (rule, batch.no, one.why)
        for rule in MINUTES_DECIDE
        for batch in after.unsplit
        for one in RULES[rule].find(after, batch, end)
    ]
    assert raised == []


def later(found: Forecast, batch: str, kind: StepKind, minutes: int) -> Forecast:
    """Return the forecast with a batch's steps, from the first of a kind on, that much later."""
    first = next(step.start for step in found.steps if step.batch == batch and step.kind is kind)

    def moved(step: Planned) -> Planned:
        if step.batch != batch or step.start < first:
            return step
        by = timedelta(minutes=minutes)
        return replace(step, start=step.start + by, end=step.end + by)

    steps = tuple(sorted((moved(step) for step in found.steps), key=lambda step: step.start))
    return replace(found, steps=steps)


def test_a_soak_a_day_and_more_before_its_dye_is_not_advised_yet() -> None:
    """01 goes into its soak at 09:00; were its paint 34 h later, the soak could wait."""
    found, day = ahead(), day_of([])
    far = later(found, "01", StepKind.PAINT, 34 * 60)
    soaks = [[i.about for i in advice(day, now("09:00"), 20, each) if "soak" in i.do] for each in (found, far)]
    assert "01" in soaks[0]
    assert soaks[1]
    assert "01" not in soaks[1]


def test_the_timetable_says_from_when_a_soak_may_begin_that_is_planned_a_day_and_more_before_its_dye() -> None:
    """01 goes into its soak at 09:00, and is dyed 34 h later than foreseen."""
    far = later(ahead(), "01", StepKind.PAINT, 34 * 60)
    dyed = next(step.start for step in far.steps if step.batch == "01" and step.kind is StepKind.PAINT)
    text = " ".join("\n".join(table_lines(far, day_of([]))).split())
    assert f"01 into the soak, not before {dyed:%H:%M}" in text


def test_a_chore_before_a_soak_that_can_wait_says_so() -> None:
    """Tied now, 01 is to be painted only 34 h later."""
    plan = read_plan(f'{PLAN}\n[[chore]]\nname = "tie"\nminutes = 5\nper = "batch"\nwhen = "before soak"\n')
    far = later(ahead(plan=plan), "01", StepKind.PAINT, 34 * 60)
    why = next(i.why for i in advice(day_of([], plan), now("09:00"), 20, far) if (i.about, i.do) == ("01", "tie"))
    assert ": not into the soak before " in why


def test_heat_that_fits_only_after_the_stop_is_advised_for_then_and_not_as_ready() -> None:
    """04 has rested since 10:14: its second burst is ready, unless it comes on Sunday at 09:20."""
    burst = [at("10:05", "04", heat_no=1, run="start", unit="oven 1"), at("10:09", "04", heat_no=1, run="end")]
    lines = [*soaked("04"), at("10:00", "04", to="fix"), *burst]
    found = ahead(lines, "10:20")
    for minutes, mark in ((0, "*"), (23 * 60, "")):
        shown = advice(day_of(lines), now("10:20"), 20, later(found, "04", StepKind.LOAD, minutes))
        (item,) = (item for item in shown if item.about == "04")
        assert (item.do, item.mark) == ("heat on in oven 1", mark)
        assert (item.begin is not None and item.begin > found.stop) is (not mark)


def test_yarn_that_would_dry_out_is_warned_of_before_it_does() -> None:
    """Painted, open for an hour, and in heat an hour and a half after."""
    plan = plan_with(rules='wrapped = "60 min"')
    day = day_of([], plan)
    found = ahead(plan=plan)
    assert of_kind(found, WarningKind.DRIED_OUT) == []
    dried = [w for w in warnings(later(found, "01", StepKind.LOAD, 90), day) if w.kind == WarningKind.DRIED_OUT]
    assert [warned.about for warned in dried] == ["01"]
    painted = max(step.end for step in found.steps if step.batch == "01" and step.state is State.PAINT)
    assert dried[0].at == painted + timedelta(minutes=60)
    assert "wrap it" in dried[0].do


def test_each_batch_that_would_dry_out_is_warned_of_where_several_do_at_one_time() -> None:
    """01 and 02 left open at one moment, with no steamer that works."""
    lines = [line for batch in ("01", "02") for line in soaked(batch)]
    lines += [at("10:00", batch, **keys) for batch in ("01", "02") for keys in ({"to": "fix"}, OPEN)]
    plan = plan_with()
    kit = tuple(replace(kit, down=kit.unit_names) if kit.kind is KitKind.STEAMER else kit for kit in plan.kit)
    dried = of_kind(ahead(lines, "10:03", replace(plan, kit=kit)), WarningKind.DRIED_OUT)
    assert [warned.about for warned in dried] == ["01", "02"]


OPEN = {"event": "covered", "cover": "open"}


def test_a_tank_that_two_heats_run_low_is_filled_with_each_load_as_a_step_of_the_hands() -> None:
    """80 of 100 min less the reserve, heats of 40 and 10 to warm up: filled then, the foreseen day raises nothing."""
    day = day_of([])
    found = ahead()
    assert not of_kind(found, WarningKind.BOIL_DRY)
    steps = with_fills(day.plan, found.steps)
    fills = [(step.end, step.unit or "") for step in steps if step.kind is StepKind.FILL]
    loads = [(step.start, step.unit or "") for step in steps if step.kind is StepKind.LOAD]
    assert fills
    assert set(fills) <= set(loads)
    assert all(step.minutes == FILL_MIN for step in steps if step.kind is StepKind.FILL)
    end = Moment(max(step.end for step in found.steps))
    bare, filled = (foreseen(day, found.steps, found.at.utc, f) for f in ((), fills))
    raised = [[b.no for b in d.unsplit if list(RULES[FlagId.BOIL_DRY].find(d, b, end))] for d in (bare, filled)]
    assert raised[0]
    assert raised[1] == []


def test_one_heat_longer_than_a_tank_is_reported_once_and_not_filled_for_ever() -> None:
    """No fill before it helps, so none is asked for."""
    plan = plan_with()
    kit = tuple(replace(k, lasts_min=30.0) if k.kind == KitKind.STEAMER else k for k in plan.kit)
    low = of_kind(ahead(plan=replace(plan, kit=kit)), WarningKind.BOIL_DRY)
    assert len(low) == 1
    assert "one fill does not last" in low[0].text


def test_what_stays_for_tomorrow_and_what_holds_yarn_over_night_is_reported() -> None:
    """A pot that cools in place till morning is named with its batch."""
    plan = plan_with()
    plan = replace(plan, session=replace(plan.session, stop_min=12 * 60))
    found = ahead([at("09:00", "03", to="soak", unit="tray 1")], "09:05", plan)
    fit = of_kind(found, WarningKind.WILL_NOT_FIT)
    assert [warned.about for warned in fit] == [", ".join(found.not_by_stop)]
    down = [at("11:00", "08", to="soak", unit="tray 2")]
    night = of_kind(ahead(down, "11:55", plan), WarningKind.OVERNIGHT)
    assert any(warned.about == "tray 2" and "08" in warned.text for warned in night)


@pytest.mark.parametrize("day", [0, 1])
def test_yarn_that_cools_in_its_pot_over_a_later_night_is_reported_too(day: int) -> None:
    """03 simmers from 16:02 and cools for ten hours, on the session's first day or its second."""
    plan = read_plan(PLAN.replace('cool_where = "out"\ncool = 300', "cool = 600"))
    h = 16 + 24 * day
    lines = [
        at("09:00", "02", to="soak"),
        at(f"{h}:00", "03", to="paint", unit="pot 1"),
        at(f"{h}:02", "03", to="fix"),
    ]
    lines.append(at(f"{h}:02", "03", heat_no=1, run="start", unit="pot 1"))
    (night,) = (w for w in of_kind(ahead(lines, f"{h}:10", plan), WarningKind.OVERNIGHT) if w.about == "pot 1")
    assert night.at == instant(f"{33 + 24 * day}:00")


@pytest.mark.parametrize(
    ("holds", "said"),
    [(4, ["no room on pegs 1: lift 02 out once cool, wet yarn may wait in a bucket"]), (40, [])],
)
def test_yarn_that_cools_in_its_pot_is_to_be_lifted_out_where_the_rack_is_full(holds: int, said: list[str]) -> None:
    """One pot, two batches of four skeins that cool in place, a rack for four or for all."""
    text = PLAN.partition("[[order]]")[0].replace("holds = 40", f"holds = {holds}")
    text = text.replace('cool_where = "out"\ncool = 300', "cool = 60").replace(
        'units = 2\nholds = "600 g"', 'holds = "400 g"'
    )
    order = '[[order]]\nitem = "{}"\ncolourway = "Peat"\nbase = "Wool"\nskeins = 4\n'
    found = ahead(plan=read_plan(text + order.format("one") + order.format("two")))
    night = of_kind(found, WarningKind.OVERNIGHT)
    assert [warned.do for warned in night] == said
    rinsed = {
        day_of([]).time_text(step.start) for step in found.steps if (step.batch, step.kind) == ("02", StepKind.RINSE)
    }
    assert {warned.text for warned in night} <= {f"02 stays in pot 1 overnight, until {at}" for at in rinsed}


def test_a_full_circuit_is_warned_of_while_yarn_waits_for_it() -> None:
    """Two steamers on a circuit for one: until one goes off, not until hands are there for the load."""
    plan = plan_with(more='[[circuit]]\nname = "hut"\nvolts = 230\namps = 10\n')
    kit = tuple(replace(k, circuit="hut", power_w=1800.0) if k.kind == KitKind.STEAMER else k for k in plan.kit)
    found = ahead(plan=replace(plan, kit=kit))
    full_ones = of_kind(found, WarningKind.CIRCUIT_FULL)
    assert full_ones
    off = {day_of([]).time_text(step.end) for step in found.steps if step.kind is StepKind.HEAT}
    assert {warned.text.split()[-1] for warned in full_ones} <= off
    assert all("circuit hut is full with steamer" in warned.text for warned in full_ones)


def test_the_latest_start_counts_back_from_the_stop_along_the_batchs_own_way() -> None:
    """Three skeins: soak 20, paint 18, fill 3, heat 10 + 40, cool 60, rinse 6; loading 2 and 2; hands till 18:00."""
    found = ahead()
    mine = {d.step.text: d.at for d in deadlines(found) if d.batch == "01"}
    assert mine["load 1.1"] == instant("18:00") - timedelta(minutes=6 + 60 + 50 + 2 + FILL_MIN)
    assert mine["soak load 1"] == mine["load 1.1"] - timedelta(minutes=18 + 20 + 2)


def test_no_step_is_foreseen_after_its_deadline() -> None:
    """Of batches that the forecast has rinsed by the stop."""
    found = ahead()
    missed = [d for d in deadlines(found) if d.foreseen is not None]
    assert missed
    assert all((d.slack_min or 0) >= 0 for d in missed)


@pytest.mark.parametrize("asked", ["08:00", "09:00"])
def test_a_day_too_short_for_a_batch_has_no_last_chance_for_it(asked: str) -> None:
    """An hour of work, asked before it opens and as it does."""
    session = replace(plan_with().session, start_min=9 * 60, stop_min=10 * 60, breaks=())
    assert not deadlines(ahead(plan=replace(plan_with(), session=session), time=asked))


def test_a_last_chance_names_its_time_and_the_planned_one_by_the_clock() -> None:
    """Minutes to spare would leave open from when they count. A load's time is when its heat is on."""
    found = ahead()
    stop = found.finish + timedelta(minutes=5)
    session = replace(plan_with().session, stop_min=stop.hour * 60 + stop.minute)
    tight = ahead(plan=replace(plan_with(), session=session))
    lasts = {(deadline.batch, deadline.at): deadline for deadline in deadlines(tight)}
    late = of_kind(tight, WarningKind.LATEST_START)
    assert late
    loads_min = {step.key: step.minutes for step in tight.steps if step.kind is StepKind.LOAD}
    for warned in late:
        last = lasts[warned.about, warned.at]
        assert last.foreseen is not None
        by = warned.at + timedelta(minutes=loads_min.get((last.batch, last.step), 0))
        assert re.match(r"\d\d: (?:into the soak|(?:layer 2 )?1st heat on) by ", warned.text)
        assert warned.text.endswith(f" by {by:%H:%M}, to be rinsed by {stop:%H:%M}")


ONE_POT = PLAN.partition("[[order]]")[0].replace('units = 2\nholds = "600 g"', 'holds = "400 g"')
SIMMERED = '[[order]]\nitem = "{}"\ncolourway = "Peat"\nbase = "Wool"\nskeins = 4\n'


@pytest.mark.parametrize(("cool", "stop"), [("", "18:00"), ('cool_where = "out"\n', "18:00"), ("", "22:00")])
def test_one_pot_for_many_simmered_batches_is_what_the_day_waits_for(cool: str, stop: str) -> None:
    """Also while yarn cools in it; another pot ends the day earlier."""
    text = ONE_POT.replace('cool_where = "out"\ncool = 300', f"{cool}cool = 60").replace("18:00", stop)
    day = begin(read_plan(text + "".join(SIMMERED.format(n) for n in range(5))))
    found = forecast(day, now("09:00"), evaluations=30)
    neck = bottleneck(found, day)
    assert neck is not None
    assert neck.name == "pot 1"
    assert neck.busy_share > 0.7
    (pot,) = gains(day, found.at, found, evaluations=30, asked=[Change("pot +1", with_units(day, "pot", 1))])
    assert pot.minutes > 0


@pytest.mark.parametrize(("units", "name"), [(1, "steamer 1"), (4, "hands")])
def test_what_the_day_waits_for_is_the_busiest(units: int, name: str) -> None:
    """One steamer for eight batches, or more of them than hands can fill."""
    plan = plan_with()
    kit = tuple(replace(k, units=units) if k.kind == KitKind.STEAMER else k for k in plan.kit)
    session = replace(plan.session, stop_min=23 * 60)
    plan = replace(plan, kit=kit, session=session)
    neck = bottleneck(ahead(plan=plan), begin(plan))
    assert neck is not None
    assert neck.name == name
    assert 0 < neck.busy_share <= 1
    assert neck.idle_min >= 0


def test_the_most_urgent_warning_stands_among_the_next_lines() -> None:
    """The last of them, and only for the coming hour."""
    found = ahead()
    day = day_of([])
    soon = Warned(
        WarningKind.BOIL_DRY, "steamer 1", instant("09:30"), "steamer 1 runs low at 09:50", "fill it at 09:30"
    )
    late = replace(soon, at=instant("12:00"))
    assert most_urgent([late, soon], instant("09:00")) == soon
    assert most_urgent([late], instant("09:00")) is None
    lines = advice(day, now("09:00"), 3, replace(found, warned=(soon,)))
    assert (lines[-1].about, lines[-1].do) == ("steamer 1", "fill it at 09:30")
    assert len(lines) == 3


def dyed_of_the_jumper(used_ml: float) -> list[Line]:
    """Return the first of two batches that must match, painted with so much Lagoon; its recipe takes 20 mL."""
    return [
        at("09:00", "08", to="soak", unit="tray 1"),
        at("09:50", "08", to="paint"),
        at("10:20", "08", used={DYE_OF_JUMPER: used_ml}),
    ]


DYE_OF_JUMPER = planned_dyes(plan_with().solution_pct, plan_with().colourway("Harbour"), 400)[0].dye
TAKES_ML = planned_dyes(plan_with().solution_pct, plan_with().colourway("Harbour"), 400)[0].solution_ml or 0.0


@pytest.mark.parametrize(("more_pct", "is_short"), [(9, False), (12, True)])
def test_a_lot_that_must_match_is_warned_of_a_short_jar_before_its_second_mix(
    more_pct: float, is_short: bool
) -> None:
    """The lot's mix is 5 % more than it takes: the first of two alike may take 10 % more of it."""
    found = ahead(dyed_of_the_jumper(TAKES_ML * (1 + more_pct / 100)), "10:30")
    short = of_kind(found, WarningKind.SHORT_MIX)
    assert bool(short) is is_short
    if is_short:
        assert short[0].about == "09"
        assert DYE_OF_JUMPER in short[0].text
        second = [*dyed_of_the_jumper(TAKES_ML * 1.2), at("10:30", "09", to="paint", mix="second")]
        assert not of_kind(ahead(second, "10:31"), WarningKind.SHORT_MIX)


@pytest.mark.parametrize("scrapped", [False, True])
def test_a_short_jar_is_still_short_once_the_batch_that_took_too_much_is_split(scrapped: bool) -> None:
    """What was recorded before counts for the parts by their skeins, also where one of them is lost."""
    split = [*dyed_of_the_jumper(TAKES_ML * 1.25), at("10:25", "08", into={"08a": 2, "08b": 2})]
    lines = [*split, at("10:26", "08b", to="scrapped")] if scrapped else split
    (short,) = of_kind(ahead(lines, "10:30"), WarningKind.SHORT_MIX)
    assert short.about == "09"


def test_a_jar_of_which_too_much_went_the_day_before_is_short() -> None:
    """A mix of 840 mL, of which the batch carried over had 500: 340 are left, and 400 are needed."""
    day = day_of(dyed_of_the_jumper(500))
    came = Carried(now("10:25"), "2026-04-17-1", "08", used_ml=day.batches["08"].used_ml)
    carried = altered(day.batches["08"], carried=came)
    (short,) = short_mixes(altered(day, batches={**day.batches, "08": carried}))
    assert (round(short.left_ml), round(short.wants_ml), short.batches) == (340, 400, ("09",))


def test_a_lot_that_need_not_match_has_no_warning_of_a_jar() -> None:
    """Another mix is then as good."""
    loose = replace(plan_with(), orders=tuple(replace(order, match=False) for order in plan_with().orders))
    assert not of_kind(ahead(dyed_of_the_jumper(TAKES_ML * 1.5), "10:30", loose), WarningKind.SHORT_MIX)


@pytest.mark.parametrize("room", [6, 10])
def test_a_rack_that_is_full_by_the_stop_is_named_with_until_when_and_what_to_do(room: int) -> None:
    """Six skeins hang until Sunday; 03 cools in its pot, and four more want room for four more."""
    plan = plan_with()
    kit = tuple(replace(k, holds_skeins=room) if k.kind is KitKind.PEGS else k for k in plan.kit)
    plan = replace(plan, kit=kit, batches=plan.batches[:3])
    lines = []
    for no, steamer in (("01", "steamer 1"), ("02", "steamer 2")):
        lines += [*soaked(no), *heated(no, unit=steamer), at("13:00", no, to="rinse", unit="sink 1")]
        lines += [at("13:20", no, to="dry", unit="pegs 1")]
    lines += [at("09:00", "03", to="soak", unit="tray 3"), at("11:40", "03", to="paint", unit="pot 1")]
    lines += [at("11:50", "03", to="fix"), at("11:50", "03", heat_no=1, run="start", unit="pot 1")]
    lines += [at("12:35", "03", heat_no=1, run="end"), at("12:35", "03", to="cool", unit="pot 1")]
    found = ahead(lines, "17:45", plan)
    texts = [*map(str, of_kind(found, WarningKind.WILL_NOT_FIT)), *map(str, of_kind(found, WarningKind.OVERNIGHT))]
    first = advice(day_of(lines, plan), now("17:45"), 2, found)[0]
    if room == 10:
        assert texts == []
        assert first.do == "rinse"
        return
    assert texts == [
        "03 is not rinsed by 18:00 (no room on pegs 1 for 03 until Sun 13:20, so hang some elsewhere): "
        "rinsed by Sun 13:20",
        "03 stays in pot 1 overnight, until Sun 13:12: no room on pegs 1: lift 03 out once cool, "
        "wet yarn may wait in a bucket",
    ]
    assert first.do == "the day can end: x closes it"
    assert first.why.endswith("lift 03 out once cool, wet yarn may wait in a bucket")


ONE_STEAMER = 'kind = "steamer"\nunits = 1'


@pytest.mark.parametrize(
    ("lasts", "filled", "rows"),
    [
        ('lasts = "100 min"', False, [("steamer 1", "fill tank to 2 L"), ("01", "heat on in steamer 1")]),
        ('lasts = "100 min"', True, [("01", "heat on in steamer 1")]),
        ('lasts = "200 min"', False, [("01", "heat on in steamer 1")]),
        (None, False, [("01", "heat on in steamer 1")]),
    ],
)
def test_filling_a_tank_is_a_row_before_the_load_that_it_would_not_last_through(
    lasts: str | None, *, filled: bool, rows: list[tuple[str, str]]
) -> None:
    """05 ran 50 of the 80 min to the reserve, and 01 needs 50: 30 are short. A tank that is not known has no row."""
    text = PLAN.replace('kind = "steamer"\nunits = 2', ONE_STEAMER)
    text = text.replace('tank = "2 L"\nlasts = "100 min"', f'tank = "2 L"\n{lasts}' if lasts else "")
    lines = [*soaked("05"), at("10:10", "05", heat_no=1, run="start", unit="steamer 1")]
    lines += [at("11:00", "05", heat_no=1, run="end"), at("11:00", "05", to="cool")]
    lines += [*soaked(), at("10:30", "01", to="fix")]
    lines += [at("11:01", unit="steamer 1", event="unit", **{"is": "filled"})] if filled else []
    plan = read_plan(text)
    day, found = day_of(lines, plan), ahead(lines, "11:02", plan)
    items = advice(day, now("11:02"), 9, found)
    first = next(n for n, item in enumerate(items) if item.about in ("01", "steamer 1"))
    rows_seen = [(item.about, item.do) for item in items]
    assert rows_seen[first : first + len(rows)] == rows
    assert sum(item.about == "steamer 1" for item in items) == (len(rows) > 1)
    if len(rows) > 1:
        assert items[first].why.endswith("boiling water; has 30 min, needs 50")
        on = [*lines, at("11:02", "01", heat_no=1, run="start", unit="steamer 1")]
        assert not [item for item in advice(day_of(on, plan), now("11:03"), 9, found) if item.about == "steamer 1"]


LOW: list[Line] = [
    *soaked("05"),
    at("10:10", "05", heat_no=1, run="start", unit="steamer 1"),
    at("11:00", "05", heat_no=1, run="end"),
    at("11:00", "05", to="cool"),
    *soaked(),
]
"""01 is painted, and of 80 min to its reserve the steamer has 30: a heat wants 50"""


def test_yarn_about_to_dry_out_has_the_fill_that_its_heat_wants_before_it() -> None:
    """With a forecast and before there is one."""
    plan = read_plan(PLAN.replace('kind = "steamer"\nunits = 2', ONE_STEAMER))
    lines = [*LOW, at("10:30", "01", to="fix"), at("10:31", "01", cover="open")]
    day = day_of(lines, plan)
    for found in (None, ahead(lines, "11:10", plan)):
        items = advice(day, now("11:10"), 9, found)
        assert [(item.about, item.do) for item in items][:2] == [
            ("steamer 1", "fill tank to 2 L"),
            ("01", "heat on in steamer 1"),
        ]
        assert items[0].why == "boiling water; has 30 min, needs 50"
        assert items[0].mark == items[1].mark == "*"


def test_a_steamer_that_is_off_is_filled_while_hands_are_free_and_by_the_time_of_its_load() -> None:
    """The heat waits for a break, and 02 cools until 11:25; while 02 is rinsed the fill stands before its load."""
    plan = read_plan(PLAN.replace('kind = "steamer"\nunits = 2', ONE_STEAMER))
    plan = replace(plan, session=replace(plan.session, breaks=((11 * 60 + 50, 12 * 60 + 30),)))
    spare = [batch.no for batch in plan.batches if batch.no not in ("01", "02", "05")]
    lines = [*(at("09:00", no, to="scrapped", why="spare") for no in spare), *LOW, at("10:55", "01", to="fix")]
    lines += [*soaked("02"), at("10:25", "02", to="cool")]
    lines.sort(key=lambda line: line["at"])
    idle = advice(day_of(lines, plan), now("11:10"), 9, ahead(lines, "11:10", plan))
    assert [item.about for item in idle][:2] == ["steamer 1", "02"]
    load = next(item for item in idle if item.about == "01")
    assert load.begin is not None
    assert idle[0].why == f"by {load.begin:%H:%M}: boiling water; has 30 min, needs 50"
    lines.append(at("11:25", "02", to="rinse", unit="sink 1"))
    busy = [item.about for item in advice(day_of(lines, plan), now("11:26"), 9, ahead(lines, "11:26", plan))]
    assert busy.index("steamer 1") + 1 == busy.index("01")


def test_a_load_names_the_unit_that_enter_takes_where_its_tank_lasts_and_the_forecasts_does_not() -> None:
    """Steamer 1 has 30 of 50 min and steamer 2 all its water: no tank is to be filled."""
    ran = [at("10:10", "05", heat_no=1, run="start", unit="steamer 1"), at("11:00", "05", heat_no=1, run="end")]
    lines = [*soaked("05"), *ran, at("11:00", "05", to="cool"), *soaked(), at("10:30", "01", to="fix")]
    day, found = day_of(lines), ahead(lines, "11:02")
    steps = tuple(
        replace(step, unit="steamer 1") if step.batch == "01" and step.kind is StepKind.LOAD else step
        for step in found.steps
    )
    items = advice(day, now("11:02"), 9, replace(found, steps=steps))
    assert "heat on in steamer 2" in [item.do for item in items if item.about == "01"]
    assert "steamer 1" not in [item.about for item in items]


def test_a_batch_that_left_colour_is_heated_again_in_the_forecast_before_its_rinse() -> None:
    """Once: the same heat, its cooling time and then the rinse; none where the flag is cleared."""
    plan = plan_with()
    coloured = at("12:30", "01", reading="eye", value="coloured", where="puddle")
    lines = [*soaked(), *heated(), coloured]

    def kinds(lines: Sequence[Line], time: str) -> list[StepKind]:
        return [step.kind for step in ahead(lines, time, plan).next_steps if step.batch == "01"]

    again = [StepKind.LOAD, StepKind.UNLOAD, StepKind.RINSE]
    assert kinds(lines, "12:35") == again
    heat, rinse = (
        next(step for step in ahead(lines, "12:35", plan).steps if step.batch == "01" and step.kind is kind)
        for kind in (StepKind.HEAT, StepKind.RINSE)
    )
    assert rinse.start - heat.end >= timedelta(minutes=day_of(lines).batches["01"].current_layer.cool_min)
    cleared = at("12:33", "01", event="resolved", rule="under-exhausted", why="cloth clean")
    assert kinds([*lines, cleared], "12:35") == [StepKind.RINSE]
    heat_again = heated(since="12:40", until="13:30")
    assert kinds([*lines, *heat_again[:2]], "12:45") == [StepKind.UNLOAD, StepKind.RINSE]
    assert kinds([*lines, *heat_again], "13:35") == [StepKind.RINSE]


def test_the_timetable_says_what_to_see_to_before_the_rinse() -> None:
    """A look where the plan or a batch of the same mix asks for one, also after the heat that its flag asks for."""
    coloured = at("12:30", "08", reading="eye", value="coloured", where="puddle")
    acid = [at("09:05", no, event="acid put in", acid_ml=40) for no in ("08", "09")]
    lines = [
        *acid,
        *soaked("08"),
        *heated("08"),
        *soaked("09", unit="tray 2"),
        *heated("09", until="11:30", unit="steamer 2"),
        coloured,
    ]

    def rows(rules: str) -> list[str]:
        plan = plan_with(rules)
        day, found = day_of(lines, plan), ahead(lines, "13:00", plan)
        text = "\n".join(table_lines(found, day))
        assert re.findall(r" (0\d) +load, heat on again \d\d:\d\d ", text) == ["08"]
        assert re.findall(r" (0\d) +heat off again ", text) == ["08"]
        return re.findall(r"(?:look|see flag), [a-z0-9 ]+?(?=  )", text)

    assert rows('look = "when known to bleed"') == ["see flag, fill the tank", "look, rinse", "look, rinse"]
    assert rows('look = "never"') == ["see flag, fill the tank"]


def test_a_flag_to_see_to_before_the_rinse_is_a_warning_with_its_remedy() -> None:
    """The timetable says rinse; without the warning a dyer who reads only the paper rinses colour out."""
    coloured = at("12:30", "01", reading="eye", value="coloured", where="puddle")
    lines = [*soaked(), *heated(), coloured]
    (first,) = of_kind(ahead(lines, "12:35"), WarningKind.FLAG_FIRST)
    assert (first.about, first.text) == ("01", "01 colour left, before its next step")
    assert "read the pH of a drop squeezed out: above " in first.do

    cleared = [*lines, at("12:33", "01", event="resolved", rule="under-exhausted", why="cloth clean")]
    assert not of_kind(ahead(cleared, "12:35"), WarningKind.FLAG_FIRST)


def test_a_burst_that_ended_is_taken_out_before_its_rinse_is_advised() -> None:
    """The forecast has 04 cooled since its last burst ended by itself: list and Enter say that it goes out first."""
    plan = plan_with()
    plan = replace(plan, batches=tuple(batch for batch in plan.batches if batch.no == "04"))
    bursts = [at("10:30", "04", to="fix")]
    for heat_no, since in ((1, "10:30"), (2, "10:42")):
        bursts.append(at(since, "04", heat_no=heat_no, run="start", unit="microwave 1"))
    lines = [*soaked("04"), *bursts]
    day = day_of(lines, plan)
    items = advice(day, now("11:40"), 9, ahead(lines, "11:40", plan))
    assert [(item.about, item.do, item.why) for item in items] == [("04", "cool", "its heats are done")]
    step = at_batch(day, day.batches["04"], now("11:40")).step
    assert step is not None
    assert step.to is State.COOL
