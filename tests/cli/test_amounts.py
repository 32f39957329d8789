"""`dyeday acid` and `dyeday weigh` through their door.

Doses are held against values recorded from USGS PHREEQC (minteq.v4.dat through phreeqpython 1.6.2), units against
their definitions.
"""

from __future__ import annotations

import json
import re
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dyeday.craft.dye.measuring import figure
from tests.cli.test_commands import Shell
from tests.fakes import SHORT_DAY
from tests.plan.plans import plan_text

PURE = ("--hardness", "0", "--temperature", "20")


@pytest.fixture
def shell(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Shell:
    return Shell(tmp_path / "data", capsys)


def asked(shell: Shell, *args: str) -> dict[str, Any]:
    """Return what `acid --json` answers; fails where it refuses."""
    assert shell("acid", "--json", *args) == 0, shell.err
    found: dict[str, Any] = json.loads(shell.out)
    return found


def acid_ml(shell: Shell, *args: str) -> float:
    return float(asked(shell, *args)["acid_ml"])


ACID_KEYS = {"acid_ml", "acid_g", "ph", "water_l", "alkalinity_mg_l", "fibre_share", "notes"}


@pytest.mark.parametrize(
    ("alkalinity", "kind", "hardness", "key", "amount", "tolerance"),
    [
        ("100", "vinegar", "0", "acid_ml", 6.53, 0.015),
        ("200", "vinegar", "0", "acid_ml", 12.79, 0.015),
        ("200", "citric", "0", "acid_g", 0.5487, 0.015),
        ("200", "citric", "200", "acid_g", 0.4274, 0.03),
    ],
)
def test_a_dose_for_a_litre_is_phreeqcs(
    shell: Shell, alkalinity: str, kind: str, hardness: str, key: str, amount: float, tolerance: float
) -> None:
    """To pH 4.5 at 20 °C, and all the keys of the answer are there."""
    args = ("--alkalinity", alkalinity, "--hardness", hardness, "--temperature", "20", "--kind", kind)
    found = asked(shell, *args)
    assert found.keys() >= ACID_KEYS
    assert found[key] == pytest.approx(amount, rel=tolerance)
    assert found["acid_g" if key == "acid_ml" else "acid_ml"] is None
    assert found["ph"] == pytest.approx(4.5)
    assert (found["water_l"], found["alkalinity_mg_l"]) == (1, float(alkalinity))
    assert found["fibre_share"] == 0


def test_the_text_says_amount_acid_water_ph_and_the_caution(shell: Shell) -> None:
    """One line to pour by, and acid into water, never with bleach."""
    assert shell("acid", "--water", "4 L", "--alkalinity", "200", *PURE) == 0
    assert shell.lines[0].startswith("add 51.")
    assert shell.lines[0].endswith(" mL of vinegar 5 % to 4 L with 200 mg/L of alkalinity: pH 4.5")
    assert "Acid into water" in shell.out
    assert "Never with bleach" in " ".join(shell.out.split())


def test_a_powder_is_said_in_grams_without_a_strength(shell: Shell) -> None:
    """`--kind citric` is anhydrous."""
    assert shell("acid", "--water", "4 L", "--alkalinity", "200", "--kind", "citric", *PURE) == 0
    assert shell.lines[0].startswith("add 2.")
    assert " g of citric acid to 4 L" in shell.lines[0]


ALKALINITIES = {
    "10 dH": 10 * 100.087 / 56.077 * 10,
    "10 °dH": 10 * 100.087 / 56.077 * 10,
    "178,48 ppm": 178.48,
    "200 mg/L": 200.0,
    "4 meq/L": 4 * 100.087 / 2,
    "3,6 meq/L": 3.6 * 100.087 / 2,
    "20 fH": 200.0,
    "10 gpg": 10 * 64.79891 / 3.785411784,
    "5.2 mmol/L": 5.2 * 100.087 / 2,
}


@pytest.mark.parametrize("said", ALKALINITIES)
def test_alkalinity_is_read_in_the_units_of_kits_and_water_companies(shell: Shell, said: str) -> None:
    """By the definitions of the degrees; mmol/L of H+ as ISO 9963-1 gives acid capacity, CaCO3 of 100.087 g/mol."""
    assert asked(shell, "--alkalinity", said)["alkalinity_mg_l"] == pytest.approx(ALKALINITIES[said], rel=1e-4)


@pytest.mark.parametrize(
    ("said", "litres"),
    [("1 gal", 3.785411784), ("0,5 L", 0.5), ("500 mL", 0.5), ("2", 2.0), ("1.5 gal", 5.678117676)],
)
def test_water_is_read_in_litres_and_gallons(shell: Shell, said: str, litres: float) -> None:
    """A US gallon is 3.785411784 L exactly; the dose grows with the water."""
    found = asked(shell, "--water", said, "--alkalinity", "200", *PURE)
    assert found["water_l"] == pytest.approx(litres)
    assert found["acid_ml"] == pytest.approx(12.79 * litres, rel=0.015)


def test_a_decimal_comma_is_read_in_every_option(shell: Shell) -> None:
    """4,6 is 4.6 wherever it stands."""
    comma = asked(
        shell, "--water", "2,5 L", "--alkalinity", "150,5", "--target-ph", "4,6", "--strength", "5,5 %",
        "--temperature", "12,5 °C", "--fibre", "250,5 g",
    )  # fmt: skip
    point = asked(
        shell, "--water", "2.5 L", "--alkalinity", "150.5", "--target-ph", "4.6", "--strength", "5.5 %",
        "--temperature", "12.5 °C", "--fibre", "250.5 g",
    )  # fmt: skip
    assert comma == point
    assert comma["ph"] == pytest.approx(4.6)


@pytest.mark.parametrize(("ph", "ml"), [("4.0", 31.00), ("4.5", 12.79), ("5.0", 7.05)])
def test_the_target_is_what_is_asked(shell: Shell, ph: str, ml: float) -> None:
    """PHREEQC's vinegar for 200 mg/L at three targets."""
    assert acid_ml(shell, "--alkalinity", "200", "--target-ph", ph, *PURE) == pytest.approx(ml, rel=0.015)


def test_a_stronger_vinegar_takes_less(shell: Shell) -> None:
    """10 % instead of 5 %: about half."""
    args = ("--alkalinity", "200", *PURE)
    assert acid_ml(shell, *args, "--strength", "10 %") == pytest.approx(acid_ml(shell, *args) / 2, rel=0.02)


def test_monohydrate_and_solution_are_kinds_of_their_own(shell: Shell) -> None:
    """Monohydrate weighs 1.0938 times the anhydrous; a solution is poured and needs its strength."""
    args = ("--alkalinity", "200", *PURE)
    dry = asked(shell, *args, "--kind", "citric")["acid_g"]
    assert asked(shell, *args, "--kind", "citric monohydrate")["acid_g"] == pytest.approx(1.0938 * dry, rel=1e-4)
    poured = asked(shell, *args, "--kind", "citric solution", "--strength", "50 %")
    assert poured["acid_ml"] == pytest.approx(2 * dry, rel=0.005)
    assert shell("acid", *args, "--kind", "citric solution") == 1
    assert "--strength: a citric solution needs one" in shell.err


def test_the_temperature_moves_the_dose_a_little(shell: Shell) -> None:
    """From 10 to 40 °C by at most 2.2 %, and not by nothing."""
    args = ("--alkalinity", "200", "--hardness", "0", "--temperature")
    cold, warm = acid_ml(shell, *args, "10 °C"), acid_ml(shell, *args, "40 °C")
    assert cold != warm
    assert cold == pytest.approx(warm, rel=0.04)
    assert acid_ml(shell, *args, "59 °F") == pytest.approx(acid_ml(shell, *args, "15 °C"))


def test_only_hardness_known_is_said_to_be_an_upper_guess(shell: Shell) -> None:
    """It stands in for alkalinity, in text and in JSON, for a dose and for a reading."""
    found = asked(shell, "--hardness", "200", "--temperature", "20")
    assert found["alkalinity_mg_l"] == 200
    assert any("stands in for alkalinity" in note for note in found["notes"])
    assert shell("acid", "--hardness", "200") == 0
    assert "stands in for alkalinity" in shell.out
    assert any(
        "stands in for alkalinity" in note for note in asked(shell, "--hardness", "200", "--reached", "5.5")["notes"]
    )
    assert any(
        "stands in for alkalinity" in note for note in asked(shell, "--hardness", "200", "--dose", "10")["notes"]
    )
    assert not any("stands in for alkalinity" in note for note in asked(shell, "--alkalinity", "200")["notes"])


def test_water_of_which_nothing_is_known_is_refused(shell: Shell) -> None:
    """Exit 1, and what is wanted."""
    assert shell("acid", "--water", "4 L") == 1
    assert shell.out == ""
    assert "the water is unknown; give --alkalinity" in shell.err
    assert "go by weight: 20 mL of 5 % vinegar" in shell.err


def test_alkalinity_of_zero_is_known(shell: Shell) -> None:
    """Rain water takes a little acid."""
    found = asked(shell, "--alkalinity", "0")
    assert found["alkalinity_mg_l"] == 0
    assert 0 < found["acid_ml"] < 0.5


def test_fibre_adds_a_share_beside_the_dose(shell: Shell) -> None:
    """The dose stays the water's; without --fibre there is no share."""
    args = ("--water", "4 L", "--alkalinity", "200", *PURE)
    alone, with_yarn = asked(shell, *args), asked(shell, *args, "--fibre", "400 g")
    assert with_yarn["acid_ml"] == pytest.approx(alone["acid_ml"])
    assert alone["fibre_share"] == 0
    assert with_yarn["fibre_share"] > 0
    none = asked(shell, *args, "--fibre", "400 g", "--fibre-takes", "0")
    assert none["fibre_share"] == 0
    assert shell("acid", *args, "--fibre", "400 g") == 0
    assert "400 g of fibre may take up to" in shell.out
    assert "read the pH" in shell.out


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (["--target-ph", "9"], "any pH below"),
        (["--target-ph", "2"], "at most it reaches pH"),
        (["--target-ph", "0"], "at most it reaches pH"),
        (["--target-ph", "1", "--kind", "citric"], "at most it reaches pH"),
    ],
)
def test_a_target_out_of_reach_is_refused_with_what_can_be_reached(shell: Shell, args: list[str], says: str) -> None:
    """Exit 1 on stderr, nothing on stdout."""
    assert shell("acid", "--alkalinity", "200", *args) == 1
    assert shell.out == ""
    assert says in shell.err


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (["--water", "4 kg"], "--water"),
        (["--water", "0 L"], "--water"),
        (["--alkalinity", "-5"], "--alkalinity"),
        (["--alkalinity", "lots"], "--alkalinity"),
        (["--hardness", "9000"], "--hardness"),
        (["--target-ph", "15"], "--target-ph"),
        (["--target-ph", "sour"], "--target-ph"),
        (["--reached", "-1"], "--reached"),
        (["--strength", "0 %"], "--strength"),
        (["--temperature", "120 °C"], "--temperature"),
        (["--fibre", "-3 g"], "--fibre"),
        (["--dose", "-3 mL"], "--dose"),
        (["--dose", "3 g"], "--dose"),
    ],
)
def test_an_option_that_cannot_be_is_refused_by_its_name(shell: Shell, args: list[str], says: str) -> None:
    """Exit 1, one line, naming the option."""
    name, value = args
    assert shell("acid", "--alkalinity", "200", f"{name}={value}") == 1
    assert says in shell.err
    assert len(shell.err.splitlines()) == 1


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=40)
@given(
    st.floats(3.8, 5.6),
    st.floats(20, 350),
    st.floats(0.5, 30),
    st.sampled_from(["vinegar", "citric", "citric monohydrate"]),
)
def test_the_dose_and_the_ph_it_reaches_invert_each_other(
    shell: Shell, target: float, alkalinity: float, litres: float, kind: str
) -> None:
    """Given back as --dose, a dose reaches its target within a hundredth."""
    args = ("--water", f"{litres:.3f} L", "--alkalinity", f"{alkalinity:.3f}", "--kind", kind)
    found = asked(shell, *args, "--target-ph", f"{target:.3f}")
    dose = found["acid_ml"] if kind == "vinegar" else found["acid_g"]
    back = asked(shell, *args, "--dose", f"{dose:.6f}")
    assert back["ph"] == pytest.approx(target, abs=0.01)


@pytest.mark.parametrize(("dose", "ph"), [("10 mL", 4.68), ("15 mL", 4.40), ("30 mL", 4.02)])
def test_the_ph_a_dose_reaches_is_phreeqcs(shell: Shell, dose: str, ph: float) -> None:
    """5 % vinegar into a litre of 200 mg/L, 20 °C, no calcium."""
    found = asked(shell, "--alkalinity", "200", "--dose", dose, *PURE)
    assert found["ph"] == pytest.approx(ph, abs=0.02)
    assert found["acid_ml"] == pytest.approx(float(dose.split()[0]))


@pytest.mark.parametrize(("hardness", "ph"), [("0", 3.58), ("200", 3.51)])
def test_a_gram_of_citric_reaches_what_phreeqc_says(shell: Shell, hardness: str, ph: float) -> None:
    """Into a litre of 200 mg/L at 20 °C, without calcium and with."""
    args = ("--alkalinity", "200", "--hardness", hardness, "--temperature", "20", "--kind", "citric")
    assert asked(shell, *args, "--dose", "1 g")["ph"] == pytest.approx(ph, abs=0.03)


def test_no_acid_at_all_leaves_the_water_at_its_own_ph(shell: Shell) -> None:
    """--dose 0 is a dose of nothing."""
    assert asked(shell, "--alkalinity", "200", "--dose", "0")["ph"] == pytest.approx(7.8, abs=0.01)


def test_after_a_reading_only_what_lacks_is_added(shell: Shell) -> None:
    """Half the dose is in, its own pH is read: the other half is added, and the text says to read again half-way."""
    args = ("--water", "4 L", "--alkalinity", "200", *PURE)
    whole = acid_ml(shell, *args)
    half = f"{whole / 2:.5f} mL"
    ph = asked(shell, *args, "--dose", half)["ph"]
    more = asked(shell, *args, "--dose", half, "--reached", f"{ph:.6f}")
    assert more["acid_ml"] == pytest.approx(whole / 2, rel=0.01)
    assert more["ph"] == pytest.approx(4.5)
    assert shell("acid", *args, "--dose", half, "--reached", f"{ph:.6f}") == 0
    said = " ".join(shell.lines)
    assert said.startswith(
        f"add {figure(whole / 4, 3)} mL more of vinegar 5 % to 4 L with 200 mg/L of alkalinity, wait"
    )
    assert f"read again; {figure(whole / 2, 3)} mL more in all bring it to pH 4.5" in said


def test_a_reading_without_a_dose_is_after_the_computed_dose(shell: Shell) -> None:
    """The same as giving that dose outright."""
    args = ("--water", "4 L", "--alkalinity", "200", *PURE)
    whole = acid_ml(shell, *args)
    given_outright = asked(shell, *args, "--dose", f"{whole:.9f}", "--reached", "5.1")["acid_ml"]
    assert acid_ml(shell, *args, "--reached", "5.1") == pytest.approx(given_outright, rel=1e-5)
    assert given_outright > 0


def test_a_reading_at_the_target_or_below_asks_for_nothing(shell: Shell) -> None:
    """Add nothing, in words."""
    for read in ("4.5", "4,2"):
        found = asked(shell, "--alkalinity", "200", "--reached", read)
        assert found["acid_ml"] == 0
        assert any("add nothing" in note for note in found["notes"])


def test_an_unknown_acid_is_wrong_usage(shell: Shell) -> None:
    """Exit 2, as for any wrong option."""
    with pytest.raises(SystemExit) as left:
        shell("acid", "--alkalinity", "200", "--kind", "lemon")
    assert left.value.code == 2


WATER: dict[str, str | None] = {"water.alkalinity": "200", "water.hardness": "0", "water.temperature": "20"}


def written(folder: Path, changes: dict[str, str | None] | None = None, more: str = "") -> str:
    path = folder / "plan.toml"
    known = {key: value for key, value in {**WATER, **(changes or {})}.items() if value is not None}
    path.write_text(plan_text(known, more), encoding="utf-8")
    return str(path)


def weighed(shell: Shell, *args: str) -> Any:
    assert shell("weigh", "--json", *args) == 0, shell.err
    return json.loads(shell.out)


def test_weigh_answers_with_the_keys_that_scripts_rely_on(shell: Shell) -> None:
    """Batches with dyes, soak and liquor; totals by dye and of acid."""
    data = weighed(shell, str(SHORT_DAY))
    assert data.keys() >= {"batches", "totals"}
    assert len(data["batches"]) == 5
    for batch in data["batches"]:
        assert batch.keys() >= {"batch", "colourway", "base", "skeins", "wof_g", "dyes", "soak", "liquor_ml"}
        assert batch["soak"].keys() >= {"water_l", "acid_ml", "acid_g"}
        for dye in batch["dyes"]:
            assert dye.keys() >= {"dye", "layer", "section", "powder_g", "solution_ml"}
    assert data["totals"].keys() >= {"dyes", "acid_ml", "acid_g"}
    assert set(data["totals"]["dyes"]) == {"Lamp Yellow", "Rosehip", "Slate Blue", "Peat"}
    for total in data["totals"]["dyes"].values():
        assert total.keys() >= {"powder_g", "solution_ml", "on_hand_g", "short_g"}


def test_weigh_totals_are_the_sums_of_its_batches(shell: Shell) -> None:
    """Dye and acid of the example day."""
    data = weighed(shell, str(SHORT_DAY))
    for name, total in data["totals"]["dyes"].items():
        mine = [dye for batch in data["batches"] for dye in batch["dyes"] if dye["dye"] == name]
        assert total["powder_g"] == pytest.approx(sum(dye["powder_g"] for dye in mine))
        assert total["solution_ml"] == pytest.approx(sum(dye["solution_ml"] or 0 for dye in mine))
    acid = [b["soak"]["acid_ml"] or 0 for b in data["batches"]]
    acid += [layer["acid_ml"] or 0 for b in data["batches"] for layer in b["layers"]]
    assert data["totals"]["acid_ml"] == pytest.approx(sum(acid))
    assert data["totals"]["acid_g"] is None


def test_weigh_worked_by_hand_through_the_command(shell: Shell, tmp_path: Path) -> None:
    """450 g at 1.5 % from 2 % solution: 6.75 g, 337.5 mL; 4.5 L of soak with PHREEQC's 57.6 mL and 40 for
    the fibre (`tests/plan/test_doses.py`); 405 mL of liquor.
    """
    plan = written(
        tmp_path,
        {
            "base.skein": "150",
            "order.skeins": "3",
            "dye.solution": "2",
            "colourway.sections": '[{ dyes = { "Peat" = 1.5 } }]',
        },
    )
    data = weighed(shell, plan)
    (batch,) = data["batches"]
    assert (batch["batch"], batch["colourway"], batch["base"], batch["skeins"]) == ("01", "Bog", "Sock", 3)
    assert (batch["wof_g"], batch["liquor_ml"]) == pytest.approx((450, 405))
    (dye,) = batch["dyes"]
    assert (dye["dye"], dye["layer"], dye["section"]) == ("Peat", 1, 1)
    assert (dye["powder_g"], dye["solution_ml"]) == pytest.approx((6.75, 337.5))
    assert batch["soak"]["water_l"] == pytest.approx(4.5)
    assert batch["soak"]["water_share"] == pytest.approx(4.5 * 12.79, rel=0.015)
    assert batch["soak"]["acid_ml"] == pytest.approx(4.5 * 12.79 + 450 * 0.177 / 2, rel=0.025)
    assert batch["soak"]["fibre_share"] == pytest.approx(batch["soak"]["acid_ml"] - batch["soak"]["water_share"])
    assert batch["soak"]["pour_ml"] == 100
    assert batch["soak"]["acid_g"] is None
    assert data["totals"]["dyes"]["Peat"]["on_hand_g"] is None
    assert data["totals"]["dyes"]["Peat"]["short_g"] is None


def test_json_keeps_the_digits_that_jug_and_scale_cannot_show(shell: Shell, tmp_path: Path) -> None:
    """A third of a percent on 107 g is 0.356667 g in five digits and more, whatever the scale."""
    plan = written(
        tmp_path,
        {"base.skein": "107", "order.skeins": "1", "colourway.sections": '[{ dyes = { "Peat" = 0.333333 } }]'},
    )
    assert shell("weigh", "--json", plan) == 0
    data = json.loads(shell.out, parse_float=Decimal)
    (dye,) = data["batches"][0]["dyes"]
    soak = data["batches"][0]["soak"]
    assert float(dye["powder_g"]) == pytest.approx(107 * 0.333333 / 100, rel=1e-6)
    assert len(soak["acid_ml"].as_tuple().digits) >= 5
    assert len(dye["solution_ml"].as_tuple().digits) >= 5


def test_text_is_rounded_to_jug_and_scale(shell: Shell, tmp_path: Path) -> None:
    """337.5 mL is 340 mL in a jug of 5 mL, 7.0875 g is 7.1 g on a scale of 0.1 g; acid goes up, 95.5 to 100."""
    changes: dict[str, str | None] = {
        "base.skein": "150",
        "order.skeins": "3",
        "dye.solution": "2",
        "colourway.sections": '[{ dyes = { "Peat" = 1.5 } }]',
    }
    assert shell("weigh", written(tmp_path, changes)) == 0
    assert re.search(r"Peat +7\.1 g", shell.out)
    assert re.search(r"Peat 2 % +340 mL", shell.out)
    assert "337.5" not in shell.out
    assert "100 mL vinegar" in shell.out
    assert shell("weigh", written(tmp_path, {**changes, "jug.resolution": "0.5", "scale.resolution": "0.01"})) == 0
    assert re.search(r"Peat +7\.09 g(.*\n)+.*Peat 2 % +337\.5 mL", shell.out)


def test_text_of_a_layer_in_american_measures(shell: Shell, tmp_path: Path) -> None:
    """units = "US" shows gallons and cups, dye in grams still."""
    assert shell("weigh", written(tmp_path, {"session.units": '"US"', "order.skeins": "4"})) == 0
    assert "1 gal + 1 cup water" in shell.out
    assert "cups" in shell.out
    assert re.search(r"Peat +4\.2 g", shell.out)


def test_what_is_short_is_said_loud(shell: Shell, tmp_path: Path) -> None:
    """4 g and a twentieth are 4.2 g to mix; 3 g are on hand."""
    plan = written(tmp_path, {"dye.on_hand": "3"})
    assert weighed(shell, plan)["totals"]["dyes"]["Peat"]["short_g"] == pytest.approx(1.2)
    assert shell("weigh", plan) == 0
    assert "SHORT by 1.2 g" in shell.out
    assert shell("weigh", written(tmp_path, {"dye.on_hand": "4.2"})) == 0
    assert "SHORT" not in shell.out


def test_the_bottle_is_named_before_powder(shell: Shell, tmp_path: Path) -> None:
    """420 mL to mix from 100 mL of old solution and 3.2 g."""
    plan = written(tmp_path, {"dye.bottle": '{ left = "100 mL", made = 2026-03-01 }'})
    total = weighed(shell, plan)["totals"]["dyes"]["Peat"]
    assert total["from_bottle_ml"] == pytest.approx(100)
    assert total["mix_powder_g"] == pytest.approx(3.2)
    assert shell("weigh", plan) == 0
    assert re.search(r"100 mL from the bottle of +3\.2 g +420 mL", shell.out), shell.out
    assert re.search(r"01 Mar and 3\.2 g powder\)", shell.out)


def test_unknown_water_is_said_and_gives_the_usual_dose(shell: Shell, tmp_path: Path) -> None:
    """20 mL of 5 % vinegar for 100 g, common practice; the missing key in text."""
    plan = written(tmp_path, {"water.alkalinity": None, "water.hardness": None})
    data = weighed(shell, plan)
    assert (data["totals"]["acid_ml"], data["totals"]["acid_g"]) == (80, None)
    assert data["batches"][0]["soak"]["acid_ml"] == 20 * data["batches"][0]["wof_g"] / 100
    assert shell("weigh", plan) == 0
    assert 'write its alkalinity in the plan, [water] alkalinity = "120 mg/L"' in " ".join(shell.out.split())


def test_citric_acid_is_totalled_in_grams(shell: Shell, tmp_path: Path) -> None:
    """4 L without calcium: 4 × 0.5487 g (PHREEQC), and the fibre's half; grams are not poured."""
    data = weighed(shell, written(tmp_path, {"acid.kind": '"citric"'}))
    totals, soak = data["totals"], data["batches"][0]["soak"]
    assert totals["acid_ml"] is None
    assert soak["water_share"] == pytest.approx(4 * 0.5487, rel=0.015)
    assert totals["acid_g"] == pytest.approx(soak["water_share"] + soak["fibre_share"])
    assert soak["pour_ml"] is None


def test_where_hardness_is_not_known_acid_weigh_and_the_sheet_give_a_range_and_ask_for_a_drop_test(
    shell: Shell, tmp_path: Path
) -> None:
    """Citric for 1 L at 200 mg/L alkalinity (PHREEQC): 0.4274 g as hard as alkaline, 0.5487 g softened."""
    args = ("--alkalinity", "200", "--kind", "citric", "--temperature", "20")
    found = asked(shell, *args)
    assert found["acid_g"] == pytest.approx(0.4274, rel=0.015)
    assert found["if_softened"] == pytest.approx(0.5487, rel=0.015)
    plan = written(tmp_path, {"acid.kind": '"citric"', "water.hardness": None})
    for command in (("acid", *args), ("weigh", plan), ("sheet", "weigh", plan), ("check", plan)):
        assert shell(*command) == 0
        said = " ".join(shell.out.split())
        assert "softened" in said
        assert "drop test" in said
    assert asked(shell, *args, "--hardness", "200")["if_softened"] is None
    shell("weigh", written(tmp_path, {"acid.kind": '"citric"', "water.hardness": "200"}))
    assert "softened" not in shell.out


def test_every_soak_with_acid_is_in_the_total(shell: Shell, tmp_path: Path) -> None:
    """Two layers with soaks of their own: one dose beside each batch, two in the total, said in the text."""
    layers = '\n[[colourway]]\nname = "Twice"\n'
    layers += 2 * (
        '[[colourway.layer]]\nacid_in = "soak"\nfix = ["steam 40 min"]\nsections = [{ dyes = { Peat = 1 } }]\n'
    )
    plan = written(tmp_path, {"order.colourway": '"Twice"'}, layers)
    data = weighed(shell, plan)
    soak = data["batches"][0]["soak"]
    assert soak["times"] == 2
    assert data["totals"]["acid_ml"] == pytest.approx(2 * soak["acid_ml"])
    assert shell("weigh", plan) == 0
    assert "in each of 2 soaks" in shell.out


def test_warnings_stand_between_the_cautions_and_the_batches(shell: Shell, tmp_path: Path) -> None:
    """Too little for the scale, and more solution than liquor; above them the cautions, below them the batches."""
    sections = '[{ share = 50, dyes = { "Peat" = 2 } }, { share = 50, dyes = { "Rose" = 0.001 } }]'
    plan = written(tmp_path, {"colourway.sections": sections}, '\n[[dye]]\nname = "Rose"\n')
    assert shell("weigh", plan) == 0
    assert all(len(line) <= 80 for line in shell.lines)
    cautions, rest = shell.out.split("WATCH FOR\n---------\n")
    assert "Powder: Put on a mask, FFP2" in cautions
    notes, _ = (" ".join(text.split()) for text in rest.split("BATCH BY BATCH"))
    assert "section" not in notes
    assert "do not fit into 360 mL of liquor" in notes
    assert "too little for a scale that reads to 0.1 g" in notes
    assert "Use a pipette for less than 50 mL of dye solution" in " ".join(shell.out.split())


def test_weigh_without_a_plan_is_of_what_still_wants_dye_in_the_session(shell: Shell) -> None:
    """By what was weighed where it was; a batch that is scrapped or painted is not weighed out, as on the sheet."""
    assert shell("weigh") == 1
    assert "dyeday begin" in shell.err
    assert shell("begin", str(SHORT_DAY)) == 0
    before = weighed(shell)
    assert before == weighed(shell, str(SHORT_DAY))
    assert shell("mark", "1", "--reading", "weight_g=280") == 0
    assert shell("mark", "2", "scrapped", "--why", "moths") == 0
    after = weighed(shell)
    assert shell("mark", "4", "paint") == 0
    after = weighed(shell)
    assert [batch["batch"] for batch in after["batches"]] == ["01", "03", "05"]
    assert shell("sheet", "weigh") == 0
    assert [no for no in ("01", "02", "03", "04", "05") if f"\n{no} " in shell.out] == ["01", "03", "05"]
    assert before["batches"][0]["wof_g"] == 300
    assert after["batches"][0]["wof_g"] == pytest.approx(280)
    assert after["batches"][0]["dyes"][0]["powder_g"] == pytest.approx(
        before["batches"][0]["dyes"][0]["powder_g"] * 280 / 300
    )


def test_the_weigh_out_of_a_running_day_leaves_out_soaks_and_layers_that_are_done_and_counts_them(
    shell: Shell,
) -> None:
    """Before anything is begun it is all of the plan, its soaks too."""
    assert shell("begin", str(SHORT_DAY)) == 0
    whole = weighed(shell)
    assert shell("sheet", "weigh") == 0
    assert "5 batches, 17 pieces" in shell.lines[1]
    assert "MAKE UP FOR THE WHOLE DAY" in shell.out
    for batch, *states in (("01", "soak"), ("04", "soak", "paint"), ("05", "soak", "paint", "fix", "cool")):
        for state in states:
            assert shell("mark", batch, state) == 0, shell.err
    assert shell("sheet", "weigh") == 0
    assert "4 of 5 batches to dye" in shell.lines[1]
    assert "MAKE UP FOR THE REST OF THE DAY" in shell.out
    assert "\n05 no acid soak, before its next step: " in shell.out
    by_batch = re.split(r"\n(?=\d\d )", shell.out.partition("\nBATCH BY BATCH\n")[2])[1:]
    first, *_, last = by_batch
    assert first.startswith("01 ") and "dry weight" not in first and "soak:" not in first and "painted:" in first
    assert last.startswith("05 ") and "layer 2, " in last and "layer 1, " not in last
    assert "soak:" in by_batch[1]
    left = weighed(shell)
    assert [dye["layer"] for dye in left["batches"][-1]["dyes"]] == [2] * len(left["batches"][-1]["dyes"])
    assert left["totals"]["acid_ml"] < whole["totals"]["acid_ml"]


def test_a_plan_that_cannot_be_read_is_refused_with_its_line(shell: Shell, tmp_path: Path) -> None:
    """file:line: what is wrong; what would be right."""
    plan = written(tmp_path, {"order.skeins": "0"})
    assert shell("weigh", plan) == 1
    assert shell.out == ""
    assert shell.err.startswith(f"{plan}:")
    assert shell("weigh", str(tmp_path / "none.toml")) == 1


def test_weigh_says_in_which_halves_the_acid_of_a_pot_goes_in(shell: Shell) -> None:
    """Of the 140 mL for the pot of the short day, with its batch and again at the end; a single part goes unsaid."""
    assert shell("weigh", str(SHORT_DAY)) == 0
    assert re.search(r"8 L liquor(\n.*)+vinegar 5 % +140 mL", shell.out)
    said = " ".join(shell.out.split())
    assert said.count("in two parts: 70 mL before the yarn goes in, 70 mL once it simmers") == 1


def test_weigh_says_how_much_acid_is_for_the_water_and_how_much_for_the_fibre(shell: Shell, tmp_path: Path) -> None:
    """4 L at 200 mg/L: 51.2 mL for the water (PHREEQC, minteq.v4.dat)."""
    plan = written(tmp_path)
    dose = weighed(shell, plan)["batches"][0]["soak"]
    assert dose["water_share"] == pytest.approx(4 * 12.79, rel=0.015)
