"""Survivors that no test can notice, each with the reason: (module, function, change)."""

from __future__ import annotations

ONE_NUMBER = "differs at one binary number only, which no reading is"
SAME = "puts the value in place of itself"
GUESS = "a step of the iteration only; it settles at the same point"

REASONS: dict[tuple[str, str, str], str] = {
    ("bath_chemistry.py", "of_raw_water", "2 -> 3"): GUESS,
    ("bath_chemistry.py", "of_raw_water", "0.0 -> 1.0"): GUESS,
    ("bath_chemistry.py", "_settled", "0.0 -> 1.0"): GUESS,
    ("acid_dose.py", "mol_needed", "0.0 -> 1.0"): GUESS,
    ("acid_dose.py", "mol_needed", "per_mol > 0 -> per_mol >= 0"): ONE_NUMBER,
    ("acid_dose.py", "dose_for_bath", "own_ph > target_ph - SAME_PH -> own_ph >= target_ph - SAME_PH"): ONE_NUMBER,
    ("acid_dose.py", "module", "0.0001 -> 0.00011000000000000002"): "own choice of what is one pH",
    (
        "acid_dose.py",
        "_with_fibre",
        "0.01 -> 0.011000000000000001",
    ): "own choice: the allowance is good to a factor of two",
    ("speciation.py", "_free_calcium", "step <= CLOSE_ENOUGH * calcium -> step < CLOSE_ENOUGH * calcium"): GUESS,
    ("dissociation.py", "module", "0.0 -> 1.0"): "one J/mol K moves a pK by less than 0.0001",
    (
        "acid_dose.py",
        "mol_needed",
        "STEADY * needed -> STEADY / needed",
    ): "the dose moves no more once the strength is steady",
    (
        "bath_chemistry.py",
        "of_raw_water",
        "abs(ionic - before) <= STEADY * ionic -> abs(ionic - before) < STEADY * ionic",
    ): GUESS,
    (
        "bath_chemistry.py",
        "ph_of",
        "_charge_mol(bath, mix) > bath.base_mol -> _charge_mol(bath, mix) >= bath.base_mol",
    ): GUESS,
    ("acids.py", "module", "1000.0 -> 1100.0"): "own choice of what is neat acid",
    (
        "acid_dose.py",
        "mol_needed",
        "needed > acid.most_mol_per_l * bath.volume_l -> needed >= acid.most_mol_per_l * bath.volume_l",
    ): ONE_NUMBER,
    ("drying_air.py", "_depression_c", "depression_c > 0.01 -> depression_c >= 0.01"): ONE_NUMBER,
    ("drying_air.py", "_depression_c", "0.01 -> 0.011000000000000001"): "own choice of what is nothing",
    ("drying_air.py", "_over_ice", "2830 -> 2831"): "moves the wet bulb by less than 0.01 °C",
    ("drying_air.py", "_over_ice", "0.24 -> 0.264"): "moves the wet bulb by less than 0.001 °C",
    (
        "drying_air.py",
        "_over_ice",
        "2830 - 0.24 * bulb_c -> 2830 + 0.24 * bulb_c",
    ): "moves the wet bulb by less than 0.01 °C; 0.04 °C is what is promised",
    ("durable.py", "read_bytes", "1 -> 2"): "reads one byte more of what is refused anyhow",
    ("decode.py", "decode", "start < now -> start <= now"): SAME,
    ("decode.py", "decode", "x > ready[to] -> x >= ready[to]"): SAME,
    ("decode.py", "decode", "until < following -> until <= following"): SAME,
    ("decode.py", "decode", "start < opens -> start <= opens"): SAME,
    (
        "colour_difference.py",
        "stain_grade",
        "large_difference <= 4 -> large_difference < 4",
    ): "both formulas give grade 4 there",
    ("dissociation.py", "module", "131.0 -> 144.10000000000002"): "moves the pK by less than its third decimal",
    (
        "dissociation.py",
        "_debye_hueckel",
        "277.13 -> 304.843",
    ): "0.05 % in a, far below the error of Davies' equation",
    ("dissociation.py", "_debye_hueckel", "4.9e-06 -> 5.39e-06"): "0.05 % in a, below the error of Davies' equation",
    (
        "dissociation.py",
        "module",
        "4000.0 -> 4400.0",
    ): "moves the pK by 0.005 at 5 °C, a vinegar dose by less than 0.01 %",
    (
        "weigh_out.py",
        "no_room_in",
        "0 -> 1",
    ): "own choice of what does not count as room: nothing, or less than a millilitre",
    ("fold.py", "take_all", "event.at < last -> event.at <= last"): "folds the whole day: the same day, slower",
    ("doses.py", "module", "0.001 -> 0.0011"): "a thousandth of a mL or g: own choice of what is nothing",
    ("alarm_states.py", "module", "2 -> 3"): "only the order counts",
}
