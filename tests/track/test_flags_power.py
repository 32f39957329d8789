"""Flags about current, tanks and the microwave. Limits are common practice unless a source is named.

Currents by definition, amps = watts / volts; a UK lead with a 13 A plug and a 32 A ring are the usual limits.
"""

from __future__ import annotations

import pytest

from dyeday.craft.yarn.heat_into_yarn import microwave_min, tank_lasts_min
from dyeday.plan.model import Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.serialize import to_plain
from dyeday.terms import FlagId
from dyeday.track.day.progress import at_heat_min
from dyeday.track.flags import flags_of_batch
from dyeday.track.timers.timers import tank_timers
from dyeday.track.timestamp import length_text
from tests.track.days import PLAN, Line, at, day_of, flags, heated, instant, now, soaked

SCORCH, LOAD, DRY = FlagId.SCORCH_RISK, FlagId.OVERLOADED_CIRCUIT, FlagId.BOIL_DRY


def plan_of(old: str = "", new: str = "", rules: str = "", more: str = "") -> Plan:
    """Return the tests' plan with one text in it changed, rules and tables added."""
    assert old in PLAN
    return read_plan(f"{PLAN.replace(old, new) if old else PLAN}\n[rules]\n{rules}\n{more}\n")


USUAL = plan_of()
ONE_POT = plan_of('kind = "microwave"\nholds = 2', 'kind = "microwave"\nholds = 4')


def burst(since: str, until: str, heat_no: int = 1, batch: str = "04", unit: str = "oven 1") -> list[Line]:
    return [
        at(since, batch, heat_no=heat_no, run="start", unit=unit),
        at(until, batch, heat_no=heat_no, run="end"),
    ]


def in_oven(*lines: Line, batch: str = "04") -> list[Line]:
    return [at("10:00", batch, to="paint"), at("10:30", batch, to="fix"), *lines]


def scorched(lines: list[Line], plan: Plan = ONE_POT) -> list[str]:
    return [flag.why for flag in flags(lines, SCORCH, "20:00", batch="04", plan=plan)]


@pytest.mark.parametrize(("until", "raised"), [("10:34", False), ("10:34:01", False), ("10:34:02", True)])
def test_a_burst_of_twice_its_minutes_is_the_longest_that_raises_nothing(until: str, raised: bool) -> None:
    """Two minutes planned, four are the limit: met to the second it is met."""
    assert bool(scorched(in_oven(*burst("10:30", until)))) is raised


@pytest.mark.parametrize(("until", "raised"), [("10:33", False), ("10:33:02", True)])
def test_the_scorch_factor_is_set_in_the_rules(until: str, raised: bool) -> None:
    """[rules] scorch_factor = 1.5 allows three minutes."""
    plan = plan_of('kind = "microwave"\nholds = 2', 'kind = "microwave"\nholds = 4', "scorch_factor = 1.5")
    assert bool(scorched(in_oven(*burst("10:30", until)), plan)) is raised


def test_a_long_burst_says_its_minutes_and_what_the_load_needs() -> None:
    """Five minutes where two are needed, since the fourth was over."""
    (flag,) = flags(in_oven(*burst("10:30", "10:35")), SCORCH, "20:00", batch="04", plan=ONE_POT)
    assert flag.why == "5 min in the microwave, the load needs 2 min"
    assert flag.since == instant("10:34")
    assert "feel for dry or browned strands" in flag.remedy


def test_a_burst_of_more_than_a_hundred_minutes_is_said_in_hours() -> None:
    (flag,) = flags(in_oven(*burst("10:30", "12:10:30")), SCORCH, "20:00", batch="04", plan=ONE_POT)
    assert flag.why.startswith(f"{length_text(100.5)} in the microwave, the load")


def test_a_burst_whose_end_has_no_entry_ended_when_the_oven_switched_itself_off() -> None:
    """It counts for the minutes that were set, for its amps too; an entry of its end goes before that."""
    on = in_oven(*burst("10:30", "10:40"))[:-1]
    assert not flags(on, SCORCH, "10:45", batch="04", plan=ONE_POT)
    later = [*on, at("10:50", "04", heat_no=2, run="start", unit="oven 1")]
    for lines, time in ((on, "10:45"), (later, "10:51")):
        run = day_of(lines, ONE_POT).batches["04"].heats[0]
        assert at_heat_min(run, now(time)) == 2
        assert not run.is_on(now("10:32"))
    timed_out = day_of(later, ONE_POT).batches["04"].heats[0]
    assert timed_out.timed_out
    assert to_plain(timed_out)["by_itself"]  # its name in what a batch carries over
    assert scorched(in_oven(*burst("10:30", "10:35")), ONE_POT)


def test_one_entry_for_a_burst_is_all_its_pots_one_after_the_other() -> None:
    """Three skeins in an oven for two are two pots of two minutes."""
    (run,) = day_of(in_oven(*burst("10:30", "10:40"))[:-1]).batches["04"].heats
    assert at_heat_min(run, now("11:00")) == 4
    assert not flags([*in_oven(*burst("10:30", "10:40"))[:-1], at("11:00", "04", heat_no=2, run="start"),
                      at("11:20", "04", to="cool")], FlagId.SHORT_FIX, "12:00", batch="04")  # fmt: skip


def test_dishes_in_turn_under_one_entry_are_not_a_long_burst() -> None:
    """Three dishes of two minutes each are six on record; ten are more than twice what they need."""
    three = plan_of('kind = "microwave"\nholds = 2', 'kind = "microwave"\nholds = 1')
    assert not scorched(in_oven(*burst("10:30", "10:40")[:1]), three)
    assert scorched(in_oven(*burst("10:30", "10:43")), three) == ["13 min in the microwave, the load needs 6 min"]


def test_the_rest_of_the_last_dish_in_turn_is_not_a_second_burst() -> None:
    """Two minutes, one and a half, and the half that the second dish lacked."""
    broken_off = [*burst("10:30", "10:32"), *burst("10:33", "10:34:30")]
    assert not scorched(in_oven(*broken_off, *burst("10:35", "10:35:30")), USUAL)
    again = [*burst("10:30", "10:32"), *burst("10:33", "10:35"), *burst("10:36", "10:38")]
    assert scorched(in_oven(*again), USUAL) == ["microwaved again after a rest of 4 of 5 min"]


def test_a_unit_that_breaks_down_lengthens_no_heat_that_its_timer_had_ended() -> None:
    lines = [
        *soaked("04"),
        at("10:30", "04", to="fix"),
        at("10:30", "04", heat_no=1, run="start", unit="oven 1"),
        at("11:00", unit="oven 1", is_="down"),
    ]
    (heat,) = day_of(lines).batches["04"].heats
    assert heat.end is not None
    assert heat.end.utc == instant("10:34")
    assert not flags(lines, FlagId.SCORCH_RISK, "12:00", batch="04")


def test_a_unit_that_breaks_down_ends_the_heat_in_it() -> None:
    """Eighteen minutes of thirty; what it had counts on in another unit."""
    lines = [*soaked(), *heated(until="12:00")[:2], at("10:58", unit="steamer 1", is_="down")]
    batch = day_of(lines).batches["01"]
    assert batch.open_heat is None
    assert at_heat_min(batch.heats[0], now("11:30")) == 18
    again = [*lines, *heated("01", "11:10", "11:32", unit="steamer 2")]
    assert not flags(again, FlagId.SHORT_FIX, "12:00")


def test_each_of_several_pots_needs_what_one_pot_needs() -> None:
    """Three skeins in an oven for two, of 2000 W: 200 g, as much water and 180 mL of liquor at 60 %, twice.

    The four minutes that are offered for both raise nothing.
    """
    strong = plan_of(
        'kind = "microwave"\nholds = 2',
        'kind = "microwave"\nholds = 2\npower = 3000\noutput = 2000',
    )
    needs = microwave_min(200, 380, 2000)
    assert needs < 1.95
    assert not scorched(in_oven(*burst("10:30", "10:34")), strong)
    (why,) = scorched(in_oven(*burst("10:30", "10:38")), strong)
    assert why.endswith(f"the load needs {int(20 * needs) / 10} min")


def test_a_small_load_in_a_strong_oven_needs_less_than_its_recipe() -> None:
    """One skein, its own weight of water and 90 mL of liquor at 60 % of 1000 W are hot in under two minutes."""
    strong = plan_of(
        'kind = "microwave"\nholds = 2',
        'kind = "microwave"\nholds = 4\npower = 1500\noutput = 1000',
    )
    needs = microwave_min(100, 190, 1000)
    assert needs < 2
    one = at("09:00", "04", skeins=1)
    limit_s = round(needs * 2 * 60)
    inside, outside = (f"10:{30 + s // 60}:{s % 60:02d}" for s in (limit_s, limit_s + 3))
    assert not scorched([one, *in_oven(*burst("10:30", inside))], strong)
    (why,) = scorched([one, *in_oven(*burst("10:30", outside))], strong)
    assert why.endswith(f"the load needs {needs:.1f} min")


def test_a_weak_oven_calls_for_no_longer_burst_than_was_planned() -> None:
    """By its 300 W the load would need many minutes; the recipe's two stay the measure."""
    weak = plan_of('kind = "microwave"\nholds = 2', 'kind = "microwave"\nholds = 4\npower = 600\noutput = 300')
    assert microwave_min(300, 570, 300) > 4
    assert scorched(in_oven(*burst("10:30", "10:35")), weak)


def test_a_steam_however_long_scorches_nothing_by_this_rule() -> None:
    """Only a microwave's heat is judged."""
    lines = [at("10:00", "01", to="paint"), *burst("10:30", "13:00", batch="01", unit="steamer 1")]
    assert not flags(lines, SCORCH, "20:00", plan=USUAL)


@pytest.mark.parametrize(("second", "raised"), [("10:37", False), ("10:36:01", False), ("10:36", True)])
def test_the_second_burst_waits_for_its_rest(second: str, raised: bool) -> None:
    """Five minutes from the end of the first burst; short by less than the minute that is typed, it is met."""
    assert bool(scorched(in_oven(*burst("10:30", "10:32"), *burst(second, "10:38", 2)))) is raised


def test_a_short_rest_says_its_minutes() -> None:
    """Two of five minutes, since the second burst began."""
    (flag,) = flags(
        in_oven(*burst("10:30", "10:32"), *burst("10:34", "10:36", 2)), SCORCH, "20:00", batch="04", plan=ONE_POT
    )
    assert flag.why == "microwaved again after a rest of 2 of 5 min"
    assert flag.since == instant("10:34")


def test_pots_in_turn_rest_while_the_others_are_in_the_oven() -> None:
    """Three skeins are two pots in an oven for two: each rests from its own first burst, not from the last."""
    first = [*burst("10:30", "10:32"), *burst("10:34", "10:36")]
    rested = in_oven(*first, *burst("10:37", "10:39", 2), *burst("10:41", "10:43", 2))
    assert not scorched(rested, USUAL)
    hasty = in_oven(*first, *burst("10:37", "10:39", 2), *burst("10:40", "10:42", 2))
    assert scorched(hasty, USUAL) == ["microwaved again after a rest of 4 of 5 min"]


def test_the_same_burst_once_more_without_its_rest_is_flagged() -> None:
    """One pot, burst one twice with a minute between; with the five minutes between it is not."""
    assert scorched(in_oven(*burst("10:30", "10:32"), *burst("10:33", "10:35"))) == [
        "microwaved again after a rest of 1 of 5 min"
    ]
    assert not scorched(in_oven(*burst("10:30", "10:32"), *burst("10:37", "10:39")))


def test_the_last_burst_once_more_without_its_rest_is_flagged() -> None:
    """Burst two twice: the second time rests from the first time, not from burst one."""
    twice = [*burst("10:30", "10:32"), *burst("10:40", "10:42", 2), *burst("10:43", "10:45", 2)]
    assert scorched(in_oven(*twice)) == ["microwaved again after a rest of 1 of 5 min"]


def test_the_rest_of_a_burst_that_was_broken_off_is_not_a_second_burst() -> None:
    """One of two minutes, the door opened, then the other."""
    assert not scorched(in_oven(*burst("10:30", "10:31"), *burst("10:31:10", "10:32:10")))


TWO_STEAMERS = 'name = "steamer"\nkind = "steamer"\nunits = 2'
OVEN = 'name = "oven"\nkind = "microwave"'


def wired(circuit: str, oven_w: int = 1250) -> Plan:
    """Return the plan with two steamers of 1500 W and an oven on one circuit."""
    text = PLAN.replace(TWO_STEAMERS, f'{TWO_STEAMERS}\npower = 1500\ncircuit = "worktop"')
    text = text.replace(OVEN, f'{OVEN}\npower = {oven_w}\ncircuit = "worktop"')
    return read_plan(f'{text}\n[[circuit]]\nname = "worktop"\n{circuit}\n')


LEAD = wired("volts = 230\namps = 32\nlead_amps = 13")
RING = wired("volts = 230\namps = 32")


def running(*units: tuple[str, str], since: str = "10:30", until: str = "11:20") -> list[Line]:
    """Return each batch's heat in its unit, all at the same time."""
    return [
        line
        for batch, unit in units
        for line in (at("10:00", batch, to="paint"), *burst(since, until, batch=batch, unit=unit))
    ]


ALL_ON = running(("01", "steamer 1"), ("02", "steamer 2"), ("04", "oven 1"))


def loaded(lines: list[Line], plan: Plan, batch: str = "01") -> list[str]:
    return [flag.why for flag in flags(lines, LOAD, "20:00", batch=batch, plan=plan)]


@pytest.mark.parametrize("batch", ["01", "02", "04"])
def test_two_steamers_and_a_microwave_are_more_than_a_lead_of_13_amps(batch: str) -> None:
    """2 × 1500 + 1250 W = 4250 W, 18.48 A at 230 V; every batch in them is named."""
    (why,) = loaded(ALL_ON, LEAD, batch)
    assert "oven 1 + steamer 1 + steamer 2" in why
    assert "18.5 A (4250 W)" in why
    assert "13 A, the lead" in why


@pytest.mark.parametrize("batch", ["01", "02", "04"])
def test_the_same_load_is_within_a_ring_of_32_amps(batch: str) -> None:
    """18.48 A of 32 A."""
    assert not loaded(ALL_ON, RING, batch)


@pytest.mark.parametrize(("amps", "raised"), [(18.48, False), (18.47, True)])
def test_a_circuit_is_overloaded_from_just_above_its_amps(amps: float, raised: bool) -> None:
    """4250 W at 230 V are 18.478 A."""
    assert bool(loaded(ALL_ON, wired(f"volts = 230\namps = {amps}"))) is raised


def test_exactly_the_amps_of_a_circuit_are_not_an_overload() -> None:
    """3680 W at 230 V are 16 A to the digit; one watt more is too much."""
    both = running(("01", "steamer 1"), ("04", "oven 1"))
    assert not loaded(both, wired("volts = 230\namps = 16", 2180))
    assert loaded(both, wired("volts = 230\namps = 16", 2181))


@pytest.mark.parametrize(("share", "raised"), [(0.8, True), (1.0, False)])
def test_a_continuous_share_lowers_what_a_circuit_may_carry(share: float, raised: bool) -> None:
    """18.48 A is within 20 A, and counts as 23.1 A where heaters run for hours (NFPA 70, 2011 edition, 210.20(A))."""
    whys = loaded(ALL_ON, wired(f"volts = 230\namps = 20\ncontinuous_share = {share}"))
    assert bool(whys) is raised
    assert not raised or "counted as 23.1 A (125 %) for 3 h or more, is more than 20 A" in whys[0]


def test_a_steamer_and_a_microwave_are_more_than_an_american_circuit() -> None:
    """1500 + 1250 W at 120 V are 22.9 A, over 20 A."""
    (why,) = loaded(running(("01", "steamer 1"), ("04", "oven 1")), wired("volts = 120\namps = 20"))
    assert "22.9 A" in why


def test_units_that_run_in_turn_do_not_add_up() -> None:
    """One off as the next goes on; a second earlier they run together."""
    first = running(("01", "steamer 1"), since="10:30", until="11:20")
    assert not loaded([*first, *running(("02", "steamer 2"), since="11:20", until="12:10")], LEAD)
    assert loaded([*first, *running(("02", "steamer 2"), since="11:19:59", until="12:10")], LEAD)


def test_an_overload_after_a_batch_was_done_is_not_about_it() -> None:
    """01 was out at 11:20; the two that went on at noon are too much for the lead."""
    lines = [
        *running(("01", "steamer 1")),
        *running(("02", "steamer 2"), ("05", "steamer 1"), since="12:00", until="12:40"),
    ]
    assert loaded(lines, LEAD, "05")
    assert not loaded(lines, LEAD, "01")


def test_two_batches_in_one_unit_draw_its_power_once() -> None:
    """6.5 A, not 13.04 A, on a lead of 13 A."""
    assert not loaded(running(("05", "steamer 1"), ("06", "steamer 1")), LEAD, "05")
    assert loaded(running(("05", "steamer 1"), ("06", "steamer 2")), LEAD, "05")


def test_units_on_another_circuit_are_not_counted() -> None:
    """The pots are on none of the plan's circuits."""
    lines = running(("01", "steamer 1"), ("03", "pot 1"))
    assert not loaded(lines, LEAD)
    assert not loaded(lines, LEAD, "03")


def test_a_unit_is_held_to_the_circuit_it_is_on() -> None:
    """Both steamers are on the second circuit, of 10 A; alone on the first, of 32 A, the oven is not too much."""
    second = PLAN.replace(TWO_STEAMERS, f'{TWO_STEAMERS}\npower = 1500\ncircuit = "cellar"')
    second = second.replace(OVEN, f'{OVEN}\npower = 1250\ncircuit = "worktop"')
    circuits = "".join(
        f'[[circuit]]\nname = "{name}"\nvolts = 230\namps = {amps}\n'
        for name, amps in (("worktop", 32), ("cellar", 10))
    )
    plan = read_plan(f"{second}\n{circuits}")

    (why,) = loaded(ALL_ON, plan)
    assert why.startswith("cellar: steamer 1 + steamer 2 draw 13.0 A")
    assert not loaded(ALL_ON, plan, "04")


def test_a_heat_that_has_not_been_ended_still_draws() -> None:
    """Two steamers of 6.52 A on a lead of 13 A, neither switched off on the record."""
    on = [line for line in running(("01", "steamer 1"), ("02", "steamer 2")) if line.get("run") != "end"]

    assert loaded(on, LEAD)
    assert not loaded(on[:2], LEAD)


def test_an_overload_is_since_the_unit_too_many_went_on_and_defers_to_an_electrician() -> None:
    """The second steamer at 10:40 is what made it too much; the first steamer's batch is named as well."""
    lines = [*running(("01", "steamer 1")), *running(("02", "steamer 2"), since="10:40")]
    on = [line for line in lines if line.get("run") != "end"]
    for batch in ("01", "02"):
        for time, do in (("10:50", "switch one off"), ("20:00", "check that plug, socket and lead stayed cool")):
            (flag,) = flags(lines if time == "20:00" else on, LOAD, time, batch=batch, plan=LEAD)
            assert flag.since == instant("10:40")
            assert flag.remedy.startswith(f"{do}")
            assert "licensed electrician" in flag.remedy


def test_an_overload_that_begins_as_a_heat_ends_does_not_flag_its_batch() -> None:
    """Two steamers are 13.04 A of 13 A from the minute at which the oven goes off."""
    lines = [
        *running(("01", "oven 1"), until="11:20"),
        *running(("02", "steamer 1"), since="10:40", until="12:00"),
        *running(("05", "steamer 2"), since="11:20", until="12:00"),
    ]
    assert [bool(loaded(lines, LEAD, batch)) for batch in ("01", "02", "05")] == [False, True, True]


def test_one_more_unit_on_an_overloaded_circuit_raises_a_flag_again() -> None:
    """Two steamers accepted on a lead for 13 A (13.04 A); the oven on top is not."""
    two = [*running(("01", "steamer 1")), *running(("02", "steamer 2"), since="10:40")]
    lines = [*two, at("10:50", "01", event="resolved", rule=LOAD.value, why="the lead is cold")]
    assert [flag.cleared is None for flag in flags(lines, LOAD, "20:00", plan=LEAD)] == [False]
    found = flags([*lines, *running(("04", "oven 1"), since="11:00")], LOAD, "20:00", plan=LEAD)
    assert [flag.cleared is None for flag in found] == [False, True]
    assert "oven 1 + steamer 1 + steamer 2" in found[1].why


def test_the_units_of_an_earlier_overload_on_together_again_raise_no_flag_again() -> None:
    """Also where others were on in between: that they run together was accepted."""
    plan = wired("volts = 230\namps = 32\nlead_amps = 13", oven_w=2000)
    lines = [
        *running(("01", "steamer 1"), until="12:30"),
        *running(("02", "steamer 2"), since="10:40", until="10:50"),
        *running(("04", "oven 1"), since="10:55", until="11:00"),
        at("11:10", "01", event="resolved", rule=LOAD.value, why="the lead is cold"),
        *running(("05", "steamer 2"), since="11:20", until="12:00"),
    ]
    assert [flag.cleared is None for flag in flags(lines, LOAD, "20:00", plan=plan)] == [False]


def steamed(until: str, *more: Line, batch: str = "01") -> list[Line]:
    """Return a steamer on from 10:00, of which a fill lasts 100 min, until a time."""
    return [
        at("09:50", batch, to="paint"),
        at("10:00", batch, heat_no=1, run="start", unit="steamer 1"),
        *more,
        at(until, batch, heat_no=1, run="end"),
    ]


def ran_low(lines: list[Line], plan: Plan = USUAL, batch: str = "01", time: str = "20:00") -> bool:
    return bool(flags(lines, DRY, time, batch=batch, plan=plan))


@pytest.mark.parametrize(("until", "raised"), [("11:20", False), ("11:20:01", False), ("11:20:03", True)])
def test_a_tank_may_run_down_to_its_reserve(until: str, raised: bool) -> None:
    """100 min less 20 % are 80 min; met to the second it is met."""
    assert ran_low(steamed(until)) is raised


@pytest.mark.parametrize(("until", "raised"), [("11:40", False), ("11:40:03", True)])
def test_the_reserve_is_set_in_the_rules(until: str, raised: bool) -> None:
    """[rules] reserve = 0 uses all of it."""
    assert ran_low(steamed(until), plan_of(rules="reserve = 0")) is raised


def test_a_tank_run_low_says_its_minutes_and_to_let_it_cool_before_filling() -> None:
    """90 of 100 min, since the reserve was reached."""
    (flag,) = flags(steamed("11:30"), DRY, "20:00", plan=USUAL)
    assert flag.why == "steamer 1 ran 90 of 100 min that one fill lasts, 20 % of it reserve"
    assert "off at the wall, let it cool before you fill it" in flag.remedy
    assert abs((flag.since - instant("11:20")).total_seconds()) <= 1


def test_batches_over_one_low_fill_have_one_flag_that_names_both() -> None:
    """90 min with 01 in it until 11:30; 05 on again at 15:00 for half an hour: 120 min in all."""
    lines = [
        *steamed("11:30"),
        at("14:50", "05", to="paint"),
        at("15:00", "05", heat_no=1, run="start", unit="steamer 1"),
        at("15:30", "05", heat_no=1, run="end"),
    ]
    (flag,) = flags(lines, DRY, "20:00", plan=USUAL)
    assert flag == flags(lines, DRY, "20:00", batch="05", plan=USUAL)[0]
    assert flag.batches == ("01", "05")
    assert (flag.to_json()["batch"], flag.to_json()["batches"]) == (None, ["01", "05"])
    assert "ran 120 of 100 min" in flag.why


def test_a_cleared_flag_of_a_low_fill_does_not_clear_it_for_a_batch_that_came_later() -> None:
    """01 was looked at and cleared; 05 went into the same steam after that, and is not looked at yet."""
    lines = [
        *steamed("11:30"),
        at("12:00", "01", event="resolved", rule=DRY.value, why="no scorch"),
        at("14:50", "05", to="paint"),
        *burst("15:00", "15:30", batch="05", unit="steamer 1"),
    ]
    (first,), (later,) = (flags(lines, DRY, "20:00", batch=batch, plan=USUAL) for batch in ("01", "05"))
    assert (first.batches, first.cleared is None) == (("01",), False)
    assert (later.batches, later.cleared is None) == (("05",), True)


def test_a_batch_twice_in_a_low_steamer_is_reported_since_the_first_time() -> None:
    """The reserve was reached at 11:20; 05 went in at 15:00 and once more at 15:20."""
    lines = [
        *steamed("11:30"),
        at("14:50", "05", to="paint"),
        *burst("15:00", "15:10", batch="05", unit="steamer 1"),
        *burst("15:20", "15:30", batch="05", unit="steamer 1"),
    ]
    day = day_of(lines, USUAL)
    (flag,) = (found for found in flags_of_batch(day, day.batches["05"], now("20:00")) if found.rule == DRY)
    assert flag.since == instant("15:00")


def test_a_fill_in_between_begins_again() -> None:
    """Filled at an hour, two hours in all: no fill ran longer than one."""
    again = at("11:00", unit="steamer 1", is_="filled")
    assert not ran_low(steamed("12:00", again))
    assert ran_low(steamed("12:21", again))


def test_a_fill_of_another_steamer_does_not_help() -> None:
    """Steamer 2 is not steamer 1."""
    assert ran_low(steamed("12:00", at("11:00", unit="steamer 2", is_="filled")))


def test_runs_of_several_batches_add_up_on_one_fill_and_the_later_batch_is_reported() -> None:
    """50 and 50 min on one fill: the second went below the reserve, the first had long left."""
    lines = [
        *steamed("10:50"),
        at("11:00", "05", to="paint"),
        *burst("11:10", "12:00", batch="05", unit="steamer 1"),
    ]
    assert ran_low(lines, batch="05")
    assert not ran_low(lines, batch="01")


@pytest.mark.parametrize(("out", "ran"), [("11:20:01", False), ("11:20:02", True)])
def test_a_batch_lifted_out_as_the_reserve_begins_is_not_reported(out: str, ran: bool) -> None:
    """80 min and the second that is met; the other stays on."""
    assert ran_low([*steamed(out), *steamed("11:30", batch="05")]) is ran


def test_every_batch_that_was_in_it_when_it_ran_low_is_reported() -> None:
    """Two batches steamed together share the flag, and the minutes count once."""
    together = [*steamed("11:30"), *steamed("11:30", batch="05")]
    assert ran_low(together, batch="01")
    assert ran_low(together, batch="05")
    assert not ran_low([*steamed("10:50"), *steamed("10:50", batch="05")], batch="05")


def test_a_steamer_still_on_is_flagged_when_its_reserve_is_reached() -> None:
    """At 11:20 not yet, a little later yes."""
    on = steamed("20:00")[:-1]
    assert not ran_low(on, time="11:20")
    assert ran_low(on, time="11:20:05")


def test_without_a_time_of_its_own_a_tank_lasts_as_long_as_its_power_boils_it() -> None:
    """2 L at 1500 W: 2.39 kg an hour (IAPWS latent heat), 50 min in all, 40 to the reserve."""
    assert tank_lasts_min(2, 1500) == pytest.approx(2 / 2.39 * 60, rel=0.005)
    plan = plan_of('tank = "2 L"\nlasts = "100 min"', 'tank = "2 L"\npower = 1500')
    assert not ran_low(steamed("10:39"), plan)
    assert ran_low(steamed("10:42"), plan)


@pytest.mark.parametrize(("off", "raised"), [("10:53", False), ("10:56:30", False), ("10:56:50", True)])
def test_heat_that_a_full_tank_lasts_through_by_plan_may_come_late_within_half_the_reserve(
    off: str, raised: bool
) -> None:
    """63 min less 20 % are 50.4, 10 and 40 min are 50; steam at 10:13 ends at 10:53, half the reserve is at 56.7."""
    plan = plan_of('lasts = "100 min"', 'lasts = "63 min"')
    late = at("10:13", "01", heat_no=1, run="heat")
    assert ran_low(steamed(off, late), plan) is raised
    (tank,) = tank_timers(day_of([*steamed(off)[:2], late], plan), now("10:50"))
    assert tank.left_s == pytest.approx(6.7 * 60)


def test_heat_that_comes_late_on_a_tank_no_longer_full_has_no_part_of_the_reserve() -> None:
    """5 min ran before it: 50 more were never to fit."""
    plan = plan_of('lasts = "100 min"', 'lasts = "63 min"')
    before = [at("09:40", "05", to="paint"), *burst("09:45", "09:50", batch="05", unit="steamer 1")]
    assert ran_low([*before, *steamed("10:46")], plan)
    assert not ran_low([*before, *steamed("10:45")], plan)


def test_a_pause_before_heat_that_comes_late_takes_nothing_from_its_part_of_the_reserve() -> None:
    """80 min less 20 % are 64; 10 min ran, 10 and 40 more fit; steam six minutes late may run to 66 + 5 min."""
    plan = plan_of('lasts = "100 min"', 'lasts = "80 min"')
    before = [at("08:55", "05", to="paint"), *burst("09:00", "09:10", batch="05", unit="steamer 1")]
    late = at("10:16", "01", heat_no=1, run="heat")
    assert not ran_low([*before, *steamed("10:57", late)], plan)
    assert ran_low([*before, *steamed("11:02", late)], plan)


def test_a_unit_without_a_tank_boils_nothing_dry() -> None:
    """A steamer of which neither tank nor minutes are known is not asked."""
    plan = plan_of('tank = "2 L"\nlasts = "100 min"\n', "")
    assert not ran_low(steamed("19:00"), plan)


def test_the_same_units_on_together_again_hours_later_are_another_overload() -> None:
    """Batches that share units in the morning and others in the afternoon have no flag together."""
    morning = running(("01", "steamer 1"), ("02", "steamer 2"))
    lines = [*morning, *running(("05", "steamer 1"), ("06", "steamer 2"), since="14:30", until="15:20")]
    for batch, about, since in (("01", ("01", "02"), "10:30"), ("05", ("05", "06"), "14:30")):
        (flag,) = flags(lines, LOAD, "20:00", batch=batch, plan=LEAD)
        assert (flag.batches, flag.since) == (about, instant(since))


def test_a_batch_that_joins_a_steamer_on_an_overloaded_circuit_shares_the_flag() -> None:
    two = [*running(("01", "steamer 1")), *running(("02", "steamer 2"), since="10:40")]
    (flag,) = flags([*two, *running(("05", "steamer 1"), since="10:50")], LOAD, "20:00", plan=LEAD)
    assert flag.batches == ("01", "02", "05")


OUT = at("10:50", out="10:50-11:30")
ON_MEANWHILE = "steamer 1 was on for 30 min while you were out, from 10:50"


def alone(lines: list[Line], time: str = "12:00", batch: str = "01") -> list[str]:
    return [flag.why for flag in flags(lines, FlagId.LEFT_ALONE, time, batch=batch)]


@pytest.mark.parametrize(("off", "raised"), [("10:51", []), ("11:20", [ON_MEANWHILE])])
def test_heat_on_for_more_than_a_minute_of_an_absence_raises_a_flag(off: str, raised: list[str]) -> None:
    assert alone([*heated(until=off), OUT]) == raised


def test_heat_that_is_on_as_you_come_back_raises_one_flag_for_its_load() -> None:
    """40 min out; the flag is there as soon as the heat was on for a minute."""
    lines = [*heated()[:2], *heated("02")[:2], OUT]
    (flag,) = flags(lines, FlagId.LEFT_ALONE, "11:40", batch="02")
    assert (flag.about, flag.since) == ("01+02", instant("10:51"))
    assert flag.why == "steamer 1 was on for 40 min while you were out, from 10:50"


def test_heat_that_is_switched_on_in_an_absence_shows_that_you_were_there() -> None:
    assert not alone([OUT, *heated(since="11:00")])


def test_heat_switched_on_in_the_minute_in_which_you_leave_was_on_while_you_were_out() -> None:
    """An absence begins on a whole minute."""
    assert alone([OUT, *heated(since="10:50:30")]) == [ON_MEANWHILE]


@pytest.mark.parametrize(
    ("on", "raised"), [("10:46", []), ("10:48", ["oven 1 was on for 2 min while you were out, from 10:50"])]
)
def test_heat_that_its_own_timer_ends_was_unattended_until_then(on: str, raised: list[str]) -> None:
    """Two dishes of two minutes were set."""
    assert alone(in_oven(at(on, "04", heat_no=1, run="start", unit="oven 1"), OUT), batch="04") == raised
