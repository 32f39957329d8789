"""`dyeday parcels` through its door."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tests.cli.test_commands import Shell
from tests.fakes import SHORT_DAY

PRICED = (
    ("on_hand = 40\n", 'on_hand = 40\nprice = 1.5\nsells = 7\ncare = "=hand wash"\n'),
    ("[water]\n", '[money]\ncurrency = "EUR"\nhands = 15\n\n[water]\n'),
)


@pytest.fixture
def shell(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Shell:
    shell = Shell(tmp_path / "data", capsys)
    text = SHORT_DAY.read_text(encoding="utf-8")
    for old, new in PRICED:
        assert old in text
        text = text.replace(old, new, 1)
    plan = tmp_path / "day.toml"
    plan.write_text(text, encoding="utf-8")
    assert shell("begin", str(plan)) == 0
    for state in ("soak", "paint", "fix", "cool", "rinse", "dry", "done"):
        assert shell("mark", "04", state) == 0
    return shell


def test_parcels_say_what_is_complete_and_what_waits_for_what(shell: Shell) -> None:
    """Tin Roof Rain is the fourth lot of the example, four minis; everything else waits."""
    assert shell("parcels") == 0
    assert shell.lines[0] == "Parcels: 1 of 4 complete"
    assert "Shop, rain: COMPLETE" in shell.lines
    assert "  4 of 4 Tin Roof Rain on Sock Mini, lot 260314-04" in shell.lines
    assert "March parcels, due Fri 20 Mar: waits" in shell.lines
    assert shell("parcels", "--strict") == 1


def test_a_batch_between_two_microwave_bursts_rests_where_it_is(shell: Shell) -> None:
    """Three skeins in a microwave for two take two potfuls; the words are those of the bench."""
    burst = ("--unit", "microwave 1", "--heat", "1", "start")
    done = (("soak",), ("paint",), ("fix",), burst, burst)
    for words, ago_min in zip(done, (90, 30, 10, 9, 5), strict=True):
        at = (datetime.now(UTC) - timedelta(minutes=ago_min)).isoformat()
        assert shell("mark", "01", *words, "--at", at, "--again") == 0, shell.err
    for command in ("parcels", "summary"):
        assert shell(command) == 0
        assert "01 resting in microwave 1" in " ".join(shell.out.split())


def test_labels_and_costs_are_reported_on_asking(shell: Shell) -> None:
    """By hand: four minis at 1.50, to be sold at 7."""
    assert shell("parcels", "--labels", "--cost") == 0
    care = "=hand wash, lot 260314-04"
    assert (
        f"  4 labels: Tin Roof Rain / Sock Mini, 20 g, 84 m, 75 % superwash wool, 25 % nylon, {care}" in shell.lines
    )
    cost = next(line for line in shell.lines if line.startswith("  Shop, rain: "))
    assert cost == "  Shop, rain: 4 pieces cost 6.00 EUR, brings 28.00 EUR, leaves 22.00 EUR"
    assert any("no price known for" in line for line in shell.lines)


def test_scripts_get_the_same_as_data(shell: Shell) -> None:
    """Parcels, labels, lots and orders, all in one object."""
    assert shell("parcels", "--json") == 0
    said = json.loads(shell.out)
    rain = next(p for p in said["parcels"] if p["parcel"] == "Shop, rain")
    assert (rain["complete"], rain["orders"][0]["ready"]) == (True, 4)
    assert said["labels"][0]["count"] == 4
    assert said["lots"][0]["lines"][0]["money"] == pytest.approx(6.0)
    (order,) = [o for o in said["orders"] if o["item"] == "Shop, rain"]
    assert order["margin"] == pytest.approx(28 - said["lots"][0]["cost"])
