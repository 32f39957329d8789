"""Fibres: what takes acid dye, what felts, what holds water."""

from __future__ import annotations

import pytest

from dyeday.craft.errors import RefusedError
from dyeday.craft.yarn import fibres


def test_protein_fibres_and_nylon_take_acid_dye_and_plant_and_plastic_do_not() -> None:
    taking = {name for name, fibre in fibres.FIBRES.items() if fibre.dyeable}

    assert {"wool", "superwash wool", "nylon", "silk", "alpaca", "mohair", "cashmere"} <= taking
    assert not {"cotton", "linen", "polyester", "acrylic", "bamboo"} & taking


def test_the_dyeable_share_counts_only_what_takes_dye() -> None:
    assert fibres.dyeable_share({"superwash wool": 75, "nylon": 25}) == pytest.approx(1)
    assert fibres.dyeable_share({"wool": 60, "linen": 40}) == pytest.approx(0.6)


def test_any_felting_fibre_makes_a_yarn_felt_and_superwash_does_not() -> None:
    assert fibres.felts({"superwash wool": 90, "alpaca": 10})
    assert not fibres.felts({"superwash wool": 75, "nylon": 25})
    assert not fibres.felts({"superwash wool": 100, "wool": 0})


def test_every_fibre_goes_by_its_own_name_and_holds_no_more_water_than_wool() -> None:
    assert all(fibres.FIBRES[name].name == name for name in fibres.FIBRES)
    assert all(0 <= fibre.regain_pct <= 13.6 for fibre in fibres.FIBRES.values())


def test_usual_other_names_are_understood() -> None:
    assert fibres.find("Polyamide") is fibres.FIBRES["nylon"]
    assert fibres.find(" superwash-wool ") is fibres.FIBRES["superwash wool"]


def test_an_unknown_fibre_is_none_and_a_mix_with_it_is_refused() -> None:
    assert fibres.find("cashmeer") is None
    with pytest.raises(RefusedError, match="cashmeer"):
        fibres.felts({"cashmeer": 100.0})


@pytest.mark.parametrize("mix", [{}, {"wool": 80.0}, {"wool": 0.75, "nylon": 0.25}, {"wool": 70, "nylon": 40}])
def test_a_mix_that_does_not_add_to_100_is_refused(mix: dict[str, float]) -> None:
    with pytest.raises(RefusedError, match="add up to"):
        fibres.dyeable_share(mix)


def test_a_negative_share_is_refused() -> None:
    with pytest.raises(RefusedError):
        fibres.dyeable_share({"wool": 110, "nylon": -10})


def test_the_regain_of_a_mix_goes_by_share() -> None:
    assert fibres.regain_pct({"wool": 75, "nylon": 25}) == pytest.approx(0.75 * 13.6 + 0.25 * 4.5)


@pytest.mark.parametrize(
    ("mix", "limit"),
    # Common practice, no source; published dyeing instructions say 82 to 93 °C for wool and 85 °C for silk.
    [
        ({"wool": 100}, (95.0, "wool")),
        ({"merino": 50, "silk": 50}, (88.0, "silk")),
        ({"wool": 70, "mohair": 30}, (90.0, "mohair")),
        ({"superwash merino": 60, "alpaca": 40}, (90.0, "alpaca")),
        ({"superwash wool": 75, "nylon": 25}, None),
        ({"superwash wool": 100, "silk": 0}, None),
    ],
)
def test_the_tenderest_fibre_sets_the_limit_of_a_bath(mix: dict[str, float], limit: tuple[float, str] | None) -> None:
    assert fibres.bath_limit_c(mix) == limit


def test_every_fibre_that_felts_has_a_limit_and_superwash_and_nylon_have_none() -> None:
    limited = {name for name, fibre in fibres.FIBRES.items() if fibre.bath_limit_c is not None}

    assert limited == {name for name, fibre in fibres.FIBRES.items() if fibre.felts} | {"silk"}


WOOLS = {"wool", "merino", "alpaca", "mohair", "cashmere", "angora", "camel", "yak", "llama"}


def test_protein_and_nylon_take_acid_dye_and_of_those_only_hair_with_its_scales_felts() -> None:
    # As every handbook of dyeing has it; common practice, no source.
    known = fibres.FIBRES.values()

    assert {f.name for f in known if f.felts} == WOOLS
    assert {f.name for f in known if f.dyeable} == WOOLS | {"superwash wool", "superwash merino", "nylon", "silk"}


@pytest.mark.parametrize(
    ("fibre", "regain_pct"),
    # ASTM D1909, commercial regain, from memory; hair as wool, being the same protein.
    [
        *((name, 13.6) for name in sorted(WOOLS)),
        ("superwash wool", 13.6), ("superwash merino", 13.6), ("silk", 11.0), ("nylon", 4.5), ("cotton", 8.5),
        ("linen", 12.0), ("hemp", 12.0), ("ramie", 7.6), ("viscose", 11.0), ("modal", 11.0), ("bamboo", 11.0),
        ("lyocell", 11.0), ("polyester", 0.4), ("acrylic", 1.5), ("elastane", 1.3), ("metallic", 0.0),
    ],
)  # fmt: skip
def test_a_fibre_holds_the_water_that_the_standard_gives_it(fibre: str, regain_pct: float) -> None:
    assert fibres.regain_pct({fibre: 100}) == pytest.approx(regain_pct)
