"""Timers: what runs, what is left, what is due. Every moment is put in; nothing here waits or reads a clock.

The minutes a soak, a heat, a cooling or a cover asks for are common practice, not a published standard.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from dyeday.ahead.advising.next_step import next_step
from dyeday.ahead.advising.next_up import pressing_timer
from dyeday.quick_dataclass import altered
from dyeday.studio.carry_over import overnight
from dyeday.terms import State, TimerKind
from dyeday.track.day.carried import Carried
from dyeday.track.timers.timers import (
    Timer,
    all_timers,
    doing_text,
    due,
    next_heat_no,
    tank_fills,
    tank_timers,
    timer_of,
    timers_of,
)
from dyeday.track.timestamp import Moment, elapsed_s, length_text, signed_s
from tests.track.days import BOOT, Line, at, booted, by_boot, day_of, heated, instant, now, plan_with, soaked

STEAM = [*soaked(), *heated()[:2]]


def timer(lines: list[Line], moment: Moment, batch: str = "01") -> Timer:
    """Return the timer that matters most for a batch."""
    day = day_of(lines)
    found = timer_of(day, day.batches[batch], moment)
    assert found is not None
    return found


def timer_called(what: TimerKind, lines: list[Line], moment: Moment, batch: str = "01") -> Timer:
    day = day_of(lines)
    (found,) = [c for c in timers_of(day, day.batches[batch], moment) if c.kind == what]
    return found


def test_a_batch_that_waits_has_no_timer() -> None:
    """Nothing runs before the first move."""
    day = day_of([])
    assert timer_of(day, day.batches["01"], now("12:00")) is None


@pytest.mark.parametrize("to", ["done", "scrapped"])
def test_a_batch_that_is_over_has_no_timer(to: str) -> None:
    """Hands are done with it."""
    day = day_of([*soaked(), at("10:10", "01", to=to)])
    assert timer_of(day, day.batches["01"], now("12:00")) is None


def test_a_soak_counts_down_from_what_its_base_needs() -> None:
    """Five of twenty minutes in, fifteen are left."""
    soak = timer(soaked()[:2], now("09:05"))
    assert (soak.kind, soak.elapsed_s, soak.left_s, soak.unit) == (TimerKind.SOAK, 300, 900, "tray 1")
    assert soak.due_at(now("09:05")) == instant("09:20")


def test_a_soak_taken_up_again_has_its_first_minutes_behind_it() -> None:
    """Twelve minutes before being set aside leave eight."""
    lines = [*soaked()[:2], at("09:12", "01", to="set-aside"), at("09:30", "01", to="soak")]
    assert timer(lines, now("09:31")).left_s == pytest.approx(7 * 60)


@pytest.mark.parametrize(("lines", "what"), [(soaked(), "paint"), ([at("09:00", "01", to="rinse")], "rinse")])
def test_painting_and_rinsing_only_show_how_long_they_have_taken(lines: list[Line], what: str) -> None:
    """No time left and never due."""
    day = day_of(lines)
    shown = timer(lines, now("10:30"))
    assert shown.left_s is None
    assert not shown.is_due
    assert shown.id.startswith(what)
    assert due(day, now("23:00")) == []


def test_yarn_left_in_paint_counts_down_its_cover_like_painted_yarn() -> None:
    """From the moment its cover is recorded: 60 min open from 10:36."""
    lines = [*soaked(), at("10:00", "01", to="paint"), at("10:36", "01", cover="open")]
    assert timer(lines[:-1], now("10:34")).left_s is None
    left = timer(lines, now("11:30"))
    assert left.kind is TimerKind.WAIT
    assert left.left_s == pytest.approx(6 * 60)
    assert [each.text for each in due(day_of(lines), now("11:37"))] == [
        "painted yarn is drying out: heat or cover it"
    ]


def test_a_heat_warms_up_before_its_minutes_begin() -> None:
    """Ten minutes to heat, then forty: fifty are left at the start."""
    start = timer(STEAM, now("10:30"))
    assert (start.kind, start.elapsed_s, start.left_s) == (TimerKind.WARM_UP, 0, 50 * 60)
    almost = timer(STEAM, now("10:39:59"))
    assert (almost.kind, almost.left_s) == (TimerKind.WARM_UP, 40 * 60 + 1)
    hot = timer(STEAM, now("10:40"))
    assert (hot.kind, hot.left_s) == (TimerKind.HEAT, 40 * 60)


def test_real_heat_recorded_restarts_the_minutes_there() -> None:
    """Steam that came five minutes late or early counts from when it came."""
    late = [*STEAM, at("10:45", "01", heat_no=1, run="heat")]
    assert timer(late, now("10:50")).left_s == 35 * 60
    early = [*STEAM, at("10:35", "01", heat_no=1, run="heat")]
    assert (timer(early, now("10:35")).kind, timer(early, now("10:50")).left_s) == (TimerKind.HEAT, 25 * 60)


def test_heat_over_its_time_shows_a_negative_rest() -> None:
    """Three minutes over."""
    over = timer(STEAM, now("11:23"))
    assert (over.kind, over.left_s, over.is_due) == (TimerKind.HEAT, -180, True)


def test_how_long_ago_a_burst_was_over_grows_though_its_unit_switched_itself_off() -> None:
    burst: list[Line] = [at("10:30", "04", heat_no=1, run="start", unit="microwave 1")]
    for time, left_s in (("10:31", 60), ("10:32", 0), ("10:40", -8 * 60)):
        day = day_of(burst)
        found = next(timers_of(day, day.batches["04"], now(time)))
        assert (found.left_s, found.ends_itself) == (left_s, True)
        assert found.due_at(now(time)) == instant("10:32")


def test_yarn_whose_burst_was_ended_by_its_timer_rests_from_then_on_in_every_view() -> None:
    """Its 5 min of rest count from 10:34, not from the next entry."""
    day = day_of([*soaked("04"), at("10:30", "04", heat_no=1, run="start", unit="oven 1")])
    batch = day.batches["04"]
    for found in (timer_of(day, batch, now("10:36")), pressing_timer(day, batch, now("10:36"))):
        assert found is not None
        assert (found.kind, found.left_s) == (TimerKind.REST, 180)


def test_a_prompt_comes_at_its_time_and_not_a_second_before() -> None:
    """The soak is due at exactly twenty minutes."""
    day = day_of(soaked()[:2])
    assert due(day, now("09:19:59")) == []
    (prompt,) = due(day, now("09:20"))
    assert (prompt.batch, prompt.kind, prompt.text) == ("01", TimerKind.SOAK, "soaked: paint")


def test_prompts_come_longest_due_first() -> None:
    """09:20 before 09:30."""
    lines = [at("09:10", "05", to="soak"), at("09:00", "01", to="soak"), at("09:20", "06", to="soak")]
    assert [prompt.batch for prompt in due(day_of(lines), now("09:35"))] == ["01", "05"]


def test_a_rest_lies_between_two_bursts_once_every_pot_has_had_its_own() -> None:
    """Three skeins in an oven for two: after the first pot the next heat is still the 1st, without a rest."""
    first_pot = [
        *soaked("04"),
        at("11:00", "04", to="fix"),
        at("11:00", "04", heat_no=1, run="start", unit="oven 1"),
        at("11:02", "04", heat_no=1, run="end"),
    ]
    day = day_of(first_pot)
    assert next_heat_no(day, day.batches["04"], now("11:02")) == 1
    assert TimerKind.REST not in [c.kind for c in timers_of(day, day.batches["04"], now("11:02"))]
    both = [
        *first_pot,
        at("11:03", "04", heat_no=1, run="start", unit="oven 1"),
        at("11:05", "04", heat_no=1, run="end"),
    ]
    day = day_of(both)
    assert next_heat_no(day, day.batches["04"], now("11:06")) == 2
    rest = timer(both, now("11:06"), "04")
    assert (rest.kind, rest.elapsed_s, rest.left_s) == (TimerKind.REST, 60, 240)
    assert rest.text == "rested: microwave 2 min"


def test_one_entry_for_all_pots_in_turn_has_the_minutes_of_them_all() -> None:
    """Two pots of two minutes each, switched on as one heat."""
    lines = [*soaked("04"), at("11:00", "04", to="fix"), at("11:00", "04", heat_no=1, run="start", unit="oven 1")]
    assert timer(lines, now("11:01"), "04").left_s == 180


@pytest.mark.parametrize(("heat_no", "doing"), [(1, "resting in oven 1"), (2, "fixed in oven 1")])
def test_yarn_whose_burst_was_ended_by_its_timer_is_not_said_to_be_in_heat(heat_no: int, doing: str) -> None:
    """Neither on screens and paper nor on the day it is carried into."""
    bursts = [at(f"11:{n}0", "04", heat_no=n, run="start", unit="oven 1") for n in range(1, heat_no + 1)]
    day = day_of([*soaked("04"), at("11:00", "04", to="fix"), *bursts])
    assert doing_text(day, day.batches["04"], now("11:50")) == doing
    came = altered(day.batches["04"], carried=Carried(now("11:50"), "yesterday", "04"))
    carried = altered(day, batches={**day.batches, "04": came})
    assert not [line for line in overnight(carried, now("11:50"), {}) if "heat on" in line or "heating" in line]


def test_each_pot_has_its_own_two_minutes() -> None:
    """The second pot's timer starts again."""
    lines = [
        *soaked("04"),
        at("11:00", "04", to="fix"),
        at("11:00", "04", heat_no=1, run="start", unit="oven 1"),
        at("11:02", "04", heat_no=1, run="end"),
        at("11:03", "04", heat_no=1, run="start", unit="oven 1"),
    ]
    assert timer(lines, now("11:04"), "04").left_s == 60


def test_after_its_last_heat_a_batch_is_fixed_and_nothing_is_left_to_heat() -> None:
    """No next heat, no rest, no wait."""
    day = day_of([*soaked(), *heated()[:-1]])
    batch = day.batches["01"]
    assert next_heat_no(day, batch, now("11:25")) is None
    (only,) = timers_of(day, batch, now("11:25"))
    assert (only.kind, only.text) == (TimerKind.SINCE, "fixed: cool it")


def test_cooling_counts_from_the_end_of_the_last_heat() -> None:
    """Off at 11:20, moved to cool at 11:40: at 11:50 half of the hour is over."""
    lines = [*soaked(), *heated()[:-1], at("11:40", "01", to="cool")]
    cooling = timer(lines, now("11:50"))
    assert (cooling.kind, cooling.elapsed_s, cooling.left_s) == (TimerKind.COOL, 30 * 60, 30 * 60)
    assert cooling.text == "cool: rinse"


def test_cooling_between_layers_leads_to_the_next_one() -> None:
    """A wash cools for its speckle."""
    assert timer([*soaked("05"), *heated("05")], now("11:30"), "05").text == "cool: speckle"


def test_a_cooled_batch_is_soaked_again_where_its_next_layer_has_its_own_acid_soak() -> None:
    """The timer and the offered step say the same."""
    day = day_of([*soaked("05"), *heated("05")])
    cooled = day.batches["05"]
    wash, speckle = cooled.colourway.layers
    layers = (wash, replace(speckle, own_acid_soak=True))
    batch = replace(cooled, colourway=replace(cooled.colourway, layers=layers))
    step = next_step(day, batch, now("12:30"))
    assert [timer.text for timer in timers_of(day, batch, now("12:30"))] == ["cool: soak"]
    assert step is not None
    assert (step.to, step.text, step.layer) == (State.SOAK, "soak for layer 2", 2)


def test_drying_counts_from_being_hung_up() -> None:
    """24 h, one gone."""
    drying = timer([*soaked(), *heated(), at("12:30", "01", to="dry")], now("13:30"))
    assert (drying.kind, drying.left_s) == (TimerKind.DRY, 23 * 3600)


def waiting(cover: str) -> list[Line]:
    return [*soaked(), at("10:20", "01", cover=cover), at("10:20", "01", to="fix")]


@pytest.mark.parametrize(("cover", "left_min"), [("open", 50), ("lidded", 230), ("wrapped", 1430)])
def test_painted_yarn_waits_under_its_cover(cover: str, left_min: float) -> None:
    """Ten minutes out of 60, 240 or 1440."""
    assert timer_called(TimerKind.WAIT, waiting(cover), now("10:30")).left_s == pytest.approx(left_min * 60)


def test_covering_it_gives_the_yarn_the_rest_of_its_new_cover() -> None:
    """Half of an hour open leaves half of four hours under a lid."""
    lines = [*waiting("open"), at("10:50", "01", cover="lidded")]
    assert timer_called(TimerKind.WAIT, lines, now("10:50")).left_s == pytest.approx(120 * 60)
    assert timer_called(TimerKind.WAIT, lines, now("11:20")).left_s == pytest.approx(90 * 60)


def test_uncovering_it_shortens_what_is_left() -> None:
    """A quarter of four hours lidded leaves three quarters of an hour open."""
    lines = [*waiting("lidded"), at("11:20", "01", cover="open")]
    assert timer_called(TimerKind.WAIT, lines, now("11:20")).left_s == pytest.approx(45 * 60)


def test_a_batch_set_aside_with_paint_on_shows_both_since_when_and_its_wait() -> None:
    """It goes on drying."""
    lines = [*soaked(), at("10:20", "01", cover="open"), at("10:20", "01", to="set-aside")]
    day = day_of(lines)
    assert [c.kind for c in timers_of(day, day.batches["01"], now("10:30"))] == [TimerKind.WAIT, TimerKind.SINCE]
    assert timer_called(TimerKind.WAIT, lines, now("10:30")).left_s == pytest.approx(50 * 60)


def test_a_tank_counts_only_while_its_unit_runs_and_from_its_last_fill() -> None:
    """100 min less a fifth in reserve, from the start and again from the filling."""
    day = day_of(STEAM)
    (tank,) = tank_timers(day, now("11:00"))
    assert (tank.unit, tank.elapsed_s, tank.left_s) == ("steamer 1", 30 * 60, 50 * 60)
    (filled,) = tank_timers(day_of([*STEAM, at("10:50", unit="steamer 1", is_="filled")]), now("11:00"))
    assert (filled.elapsed_s, filled.left_s) == (10 * 60, 70 * 60)
    assert filled.id != tank.id
    assert list(tank_timers(day_of([*soaked(), *heated()]), now("12:00"))) == []


def test_two_batches_in_one_steamer_use_its_tank_once() -> None:
    """Ten minutes apart in the same steam: forty minutes since the first began."""
    lines = [*STEAM, *soaked("05"), *heated("05", "10:40")[:2]]
    (tank,) = tank_timers(day_of(lines), now("11:10"))
    assert tank.elapsed_s == 40 * 60


def test_a_split_batch_that_leaves_its_steamer_leaves_its_tank_too() -> None:
    """The parts end the heat the whole began; nothing goes on running in its name."""
    lines = [
        *STEAM,
        at("10:50", "01", into={"01a": 2, "01b": 1}),
        at("11:20", "01a", heat_no=1, run="end"),
        at("11:20", "01b", heat_no=1, run="end"),
    ]
    assert list(tank_timers(day_of(lines), now("12:00"))) == []


SCENES = {
    "soak": (soaked()[:2], "09:05", "01"),
    "warm-up": (STEAM, "10:35", "01"),
    "heat": (STEAM, "10:55", "01"),
    "rest": (
        [
            *soaked("04"),
            at("11:00", "04", to="fix"),
            *(at(t, "04", heat_no=1, run=r, unit="oven 1") for t, r in (
                ("11:00", "start"), ("11:02", "end"), ("11:03", "start"), ("11:05", "end"))),
        ],
        "11:06",
        "04",
    ),
    "wait": (waiting("open"), "10:30", "01"),
    "wait under a second cover": ([*waiting("open"), at("10:50", "01", cover="lidded")], "11:20", "01"),
    "cool": ([*soaked(), *heated()], "11:50", "01"),
    "dry": ([at("12:30", "01", to="dry")], "13:30", "01"),
    "paint": (soaked(), "10:10", "01"),
    "set aside": ([*soaked(), at("10:20", "01", to="set-aside")], "10:40", "01"),
}  # fmt: skip


@pytest.mark.parametrize("scene", SCENES)
@pytest.mark.parametrize("stepped_h", [-2.0, 2.0, -0.25, 30.0])
def test_a_wall_clock_stepped_within_one_boot_moves_no_timer(scene: str, stepped_h: float) -> None:
    """Every timer of the day, the tanks' too, has run and has left what it had: the boot clock says so."""
    lines, time, _ = SCENES[scene]
    day = day_of(by_boot(lines))

    def shown(moment: Moment) -> list[tuple[str, TimerKind, float, float | None]]:
        return [
            (c.id, c.kind, round(c.elapsed_s, 3), c.left_s and round(c.left_s, 3)) for c in all_timers(day, moment)
        ]

    true = shown(booted(time))
    assert true
    assert shown(booted(time, stepped_h=stepped_h)) == true


@pytest.mark.parametrize("stepped_h", [-2.0, 2.0])
def test_a_wall_clock_stepped_within_one_boot_changes_no_next_heat(stepped_h: float) -> None:
    """The first burst is behind it, whatever the wall says."""
    lines, time, batch = SCENES["rest"]
    day = day_of(by_boot(lines))
    assert next_heat_no(day, day.batches[batch], booted(time, stepped_h=stepped_h)) == 2


def test_what_is_due_is_reported_by_the_wall_clock_as_it_stands_now() -> None:
    """Stepped two hours on, a soak with fifteen minutes left is due two hours and fifteen minutes by the wall."""
    day = day_of(by_boot(soaked()[:2]))
    moment = booted("09:05", stepped_h=2)
    soak = timer_of(day, day.batches["01"], moment)
    assert soak is not None
    assert soak.due_at(moment) == instant("11:20")


def test_after_another_boot_the_wall_clock_is_all_there_is() -> None:
    """The boot clock of another boot says nothing."""
    lines = by_boot(soaked()[:2])
    restarted = Moment(instant("09:05"), 12.0, "boot-two")
    assert timer(lines, restarted).left_s == 15 * 60
    stepped = Moment(instant("11:05"), 12.0, "boot-two")
    assert timer(lines, stepped).left_s == (15 - 120) * 60


def test_without_a_boot_clock_on_either_side_the_wall_decides() -> None:
    """A typed event has none."""
    assert timer(soaked()[:2], booted("09:05")).left_s == 15 * 60
    assert timer(by_boot(soaked()[:2]), now("09:05")).left_s == 15 * 60


def test_the_boot_clock_that_two_moments_share_says_which_is_the_earlier() -> None:
    assert signed_s(now("12:00"), now("10:00")) == -7200
    assert signed_s(booted("12:00"), booted("12:10", stepped_h=-2)) == 600


def test_time_never_runs_backwards() -> None:
    """The wall set back over a restart gives no time gone rather than less than none."""
    later, sooner = now("12:00"), now("10:00")
    assert elapsed_s(later, sooner) == 0
    assert elapsed_s(booted("12:00"), Moment(instant("10:00"), 5.0, "boot-two")) == 0
    assert elapsed_s(booted("12:00"), Moment(instant("10:00"), 43210.0, BOOT)) == 10


def test_how_long_a_soak_takes_is_the_plans_to_set() -> None:
    """[rules] soak = 30: twenty-five left after five."""
    day = day_of(soaked()[:2], plan_with("soak = 30"))
    found = timer_of(day, day.batches["01"], now("09:05"))
    assert found is not None
    assert found.left_s == 25 * 60


@pytest.mark.parametrize(
    ("seconds", "said"),
    [
        (0, "0 min"),
        (-40.9, "40 s"),
        (40.9, "40 s"),
        (60, "1 min"),
        (59 * 60 + 59, "59 min"),
        (60 * 60, "1 h"),
        (85 * 60, "1 h 25"),
        (9 * 3600 + 59 * 60, "9 h 59"),
        (47 * 3600 + 59 * 60, "47 h 59"),
        (48 * 3600, "2 d"),
        (51 * 3600, "2 d 3 h"),
    ],
)
def test_a_length_of_time_is_spelt_one_way(seconds: float, said: str) -> None:
    """Rounded down, as all lengths are."""
    assert length_text(seconds / 60) == said


def test_a_chore_after_painting_ends_it_and_the_yarn_waits_from_then_on() -> None:
    """12 min of painting: without the chore it would wait from 10:24."""
    plan = plan_with(more='[[chore]]\nname = "cover"\nminutes = 3\nper = "batch"\nwhen = "after paint"')
    lines = [*soaked(), at("10:14", "01", event="chore", chore="cover", when="after paint", layer=1)]
    for time in ("10:15", "10:50"):
        day = day_of(lines, plan)
        assert doing_text(day, day.batches["01"], now(time)) == "painted, wrapped, safe until Sun 10:14"
    day = day_of(lines[:-1], plan)
    assert doing_text(day, day.batches["01"], now("10:15")) == "painting"


FILLED = {"unit": "steamer 1", "event": "unit", "is_": "filled"}


@pytest.mark.parametrize(
    "by_hand",
    [
        [at("11:00", unit="steamer 1", is_="topped up")],
        [
            at("11:00", "01", heat_no=1, run="end"),
            at("11:03", **FILLED),
            at("11:03", "01", heat_no=1, run="start", unit="steamer 1"),
        ],
    ],
)
def test_a_tank_filled_in_mid_heat_costs_the_fill_and_two_minutes_however_it_is_recorded(by_hand: list[Line]) -> None:
    """20 of 40 min at heat by 11:00; three to fill it, two until it steams again: the other 20 from 11:05 on."""
    day = day_of([*soaked(), *heated()[:2], *by_hand])
    timer = timer_of(day, day.batches["01"], now("11:10"))
    assert timer is not None
    assert (timer.kind, timer.due_at(now("11:10"))) == (TimerKind.HEAT, instant("11:25"))
    (_, filled) = tank_fills(day, "steamer 1", now("11:10"))
    assert filled.run_min in (7, 10)


def test_a_fill_in_mid_heat_that_took_longer_counts_from_when_it_steams_again() -> None:
    """20 of 40 min at heat when it was switched off at 11:00; h at 11:20: the other 20 until 11:40."""
    filled = at("11:00", unit="steamer 1", event="unit", is_="topped up")
    day = day_of([*soaked(), *heated()[:2], filled, at("11:20", "01", heat_no=1, run="heat")])
    timer = timer_of(day, day.batches["01"], now("11:30"))
    assert timer is not None
    assert (timer.kind, timer.due_at(now("11:30"))) == (TimerKind.HEAT, instant("11:40"))


def test_a_fill_recorded_without_switching_off_leaves_the_heat_as_it_was() -> None:
    """As days of before have it."""
    (heat,) = day_of([*soaked(), *heated()[:2], at("11:00", **FILLED)]).batches["01"].heats
    assert heat.end is None


@pytest.mark.parametrize("on_again", ["11:03", "11:06"])
def test_a_steamer_off_for_more_than_five_minutes_warms_up_from_cold(on_again: str) -> None:
    """Common practice, no source: its steam is gone at once, and its water cools, or is other water."""
    again = at(on_again, "01", heat_no=1, run="start", unit="steamer 1")
    day = day_of([*soaked(), *heated()[:2], at("11:00", "01", heat_no=1, run="end"), again])
    assert day.batches["01"].heats[-1].warm_up_min == (2 if on_again == "11:03" else 10)


@pytest.mark.parametrize(("unit", "time"), [("steamer 1", "10:35"), ("steamer 1", "11:19"), ("pot 1", "11:00")])
def test_a_fill_leaves_heat_on_that_warms_up_or_has_its_minutes_or_has_no_tank(unit: str, time: str) -> None:
    """At heat from 10:40 for 40 min: none yet, 39, or 20 in a pot."""
    lines = [*soaked(), *heated(unit=unit)[:2], at(time, unit=unit, event="unit", is_="topped up")]
    (heat,) = day_of(lines).batches["01"].heats
    assert heat.end is None
