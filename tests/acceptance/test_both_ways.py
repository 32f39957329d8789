"""What is true of a dye house, point by point, with the tests that hold it: as it should be, and the other way.

A row names the point, a test of the thing said or done, and a test of it left unsaid or refused.
"""

from __future__ import annotations

from pathlib import Path

import pytest

TESTS = Path(__file__).parent.parent
POINTS = {
    "acid is used up by the load that soaks in it": (
        "test_kept_water_has_less_acid_for_the_next_load_and_says_what_lacks",
        "test_twice_the_dose_for_the_first_load_is_enough_for_the_second_in_kept_water",
    ),
    "what is offered and taken raises nothing": (
        "test_every_kind_of_colourway_dyed_as_offered_raises_nothing_with_any_jug",
        "test_what_is_offered_and_not_poured_is_a_flag_of_each_kind",
    ),
    "no heat in an empty house": (
        "test_a_day_at_home_followed_as_advised_has_no_heat_while_out_and_no_tank_run_low",
        "test_a_steamer_left_on_while_out_is_a_flag_and_a_warning_before",
    ),
    "leaving names what is on": (
        "test_what_is_on_is_named_before_the_house_is_left",
        "test_leaving_answers_with_every_unit_that_is_on_or_that_nothing_is",
    ),
    "a tank is filled before a heat that it would not last through": (
        "test_a_tank_is_to_be_filled_before_the_load_it_would_not_last_through",
        "test_a_tank_may_run_down_to_its_reserve",
    ),
    "a night ends with its last heat, and the yarn stays where it is safe": (
        "test_closing_names_where_everything_stays",
        "test_saturday_morning_tells_one_truth_of_each_batch",
    ),
    "a change of the day is shown before it is taken": (
        "test_the_break_is_moved_in_three_keys_and_digits_with_what_it_brings_shown",
        "test_without_the_break_moved_heat_that_would_be_up_in_it_says_so",
    ),
    "a changed plan file is taken when asked, and hours changed by hand stay": (
        "test_hours_changed_by_an_entry_outlive_a_changed_plan_that_says_nothing_of_them",
        "test_a_file_that_went_away_is_not_a_change",
    ),
    "two batches in one unit have two ends": (
        "test_one_batch_of_two_is_lifted_out_and_its_steamer_left_on",
        "test_another_batch_shares_a_steamer_and_its_tank_runs_once",
    ),
    "minutes at heat add up over a breakdown": (
        "test_a_heat_that_broke_off_is_offered_with_the_minutes_it_lacks",
        "test_minutes_at_heat_add_up_over_units_and_a_breakdown",
    ),
    "a unit that switches itself off is turned off by no hand": (
        "test_a_burst_before_its_rest_is_over_is_offered_with_the_time_from_when",
        "test_a_long_burst_says_its_minutes_and_what_the_load_needs",
    ),
    "yarn in a unit that died waits until another is free": (
        "test_a_unit_that_breaks_down_asks_for_its_yarn_to_be_moved_and_is_not_offered",
        "test_yarn_in_a_steamer_that_died_waits_there_until_another_is_free",
    ),
    "the acid key offers what a reading asks for": (
        "test_what_a_ph_reading_says_to_add_is_what_the_acid_key_offers",
        "test_a_ph_within_the_limit_is_good",
    ),
    "heat off comes first once its minute has come": (
        "test_heat_whose_minute_has_come_is_taken_off_before_anything_else",
        "test_yarn_that_was_rinsed_long_enough_is_to_be_hung_up_before_anything_planned",
    ),
    "what happened in a gap did not happen while no hands were there": (
        "test_hands_do_nothing_in_a_break_or_out_of_the_house",
        "test_ends_of_heat_come_first_and_each_has_the_time_its_clock_suggests",
    ),
    "one cause is one flag": (
        "test_batches_over_one_low_fill_have_one_flag_that_names_both",
        "test_a_cleared_flag_of_a_low_fill_does_not_clear_it_for_a_batch_that_came_later",
    ),
    "what broke stays broken in the morning": (
        "test_a_unit_that_broke_stays_broken_in_the_plan_that_goes_on",
        "test_a_tank_that_nothing_ran_on_begins_full",
    ),
    "a rush order goes first where that is asked": (
        "test_a_rush_order_asks_for_whom_by_when_and_says_what_it_pushes_out",
        "test_an_order_without_a_due_date_waits_its_turn_unless_t_puts_it_first",
    ),
    "a lost skein leaves its order short": (
        "test_a_felted_skein_tells_the_short_order_at_once_and_what_was_dyed_was_used",
        "test_spares_fill_in_for_what_went_wrong_and_lie_apart_where_nothing_did",
    ),
    "a lot that must match is told of a short jar": (
        "test_a_lot_that_must_match_is_warned_of_a_short_jar_before_its_second_mix",
        "test_a_lot_that_need_not_match_has_no_warning_of_a_jar",
    ),
    "batches are what units hold": (
        "test_yarn_that_is_immersed_afterwards_soaks_in_several_trays_and_is_one_batch",
        "test_the_smallest_of_tray_pot_and_steamer_on_the_way_limits_a_batch",
    ),
    "a crowded rack harms no batch": (
        "test_a_crowded_rack_is_one_flag_on_the_batch_that_came_last_and_asks_for_no_heat",
        "test_a_crowded_rack_does_not_flag_a_lot",
    ),
    "a parcel says which of its batches have open flags": (
        "test_a_parcel_says_which_of_its_batches_have_open_flags",
        "test_an_order_is_complete_when_all_its_pieces_are_firsts_and_done",
    ),
}


@pytest.fixture(scope="module")
def defined() -> str:
    return "\n".join(path.read_text(encoding="utf-8") for path in TESTS.rglob("test_*.py"))


@pytest.mark.parametrize("point", POINTS)
def test_each_point_is_held_both_ways(defined: str, point: str) -> None:
    assert [name for name in POINTS[point] if f"def {name}(" not in defined] == []
