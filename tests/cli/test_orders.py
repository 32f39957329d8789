"""Orders in, and the studio's library, through the door."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from dyeday.plan.reading.plan_reader import read_plan
from tests.cli.test_commands import Shell
from tests.fakes import SHORT_DAY

ORDERS = SHORT_DAY.parent / "orders.csv"


@pytest.fixture
def shell(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Shell:
    (tmp_path / "day.toml").write_bytes(SHORT_DAY.read_bytes())
    return Shell(tmp_path / "data", capsys)


@pytest.fixture
def day(tmp_path: Path) -> Path:
    return tmp_path / "day.toml"


def test_the_example_goes_from_a_table_to_parcels(shell: Shell, day: Path) -> None:
    """Orders in, begun, dyed: the two lines of one customer wait for each other in one parcel."""
    before = day.read_text(encoding="utf-8")
    assert shell("orders", str(ORDERS), "--into", str(day)) == 0
    assert shell.lines[0] == f"{day}: 5 orders imported, 9 pieces in 4 lots for 4 parcels"
    assert day.read_text(encoding="utf-8").startswith(before)
    assert (day.parent / "orders.columns.toml").exists()
    assert shell("check", str(day)) == 0
    assert shell("begin", str(day)) == 0
    assert shell("parcels", "--json") == 0
    parcels = {parcel["parcel"]: parcel for parcel in json.loads(shell.out)["parcels"]}
    assert [o["colourway"] for o in parcels["1042 Ida Moss"]["orders"]] == ["Kelp Light", "Ember Walk"]
    kelp = [b for b in read_plan(day.read_text(encoding="utf-8")).batches if b.colourway == "Kelp Light"]
    shares = [share for batch in kelp for share in batch.shares]
    assert ("1043 Kelp Light / Plain Sock", 1) in shares
    assert sum(count for item, count in shares if item.startswith("104")) == 3


def test_a_plan_that_is_not_there_or_none_at_all_is_refused_with_what_to_do(shell: Shell, tmp_path: Path) -> None:
    """A table goes into a plan that was made first; a page of text is not a plan."""
    assert shell("orders", str(ORDERS), "--into", str(tmp_path / "new.toml")) == 1
    assert shell.err == f"{tmp_path / 'new.toml'} is not there; make the plan first: `dyeday`, then n\n"
    assert not (tmp_path / "new.toml").exists()
    for command in (("check", str(ORDERS)), ("orders", str(ORDERS), "--into", str(ORDERS))):
        assert shell(*command) == 1
        assert shell.err == f"{ORDERS} is not a plan; name a plan's .toml file\n"


def test_the_same_table_again_changes_nothing_and_says_so(shell: Shell, day: Path) -> None:
    shell("orders", str(ORDERS), "--into", str(day))
    once = day.read_bytes()
    assert shell("orders", str(ORDERS), "--into", str(day)) == 0
    assert "5 exist already, skipped" in shell.lines
    assert day.read_bytes() == once


def test_orders_in_another_plan_beside_are_noticed(shell: Shell, day: Path) -> None:
    shell("orders", str(ORDERS), "--into", str(day))
    other = day.with_name("next.toml")
    other.write_bytes(SHORT_DAY.read_bytes())
    assert shell("orders", str(ORDERS), "--into", str(other)) == 0
    assert other.read_bytes() == SHORT_DAY.read_bytes()
    assert f"is in {day}, not imported; --again imports it" in shell.err
    assert shell("orders", str(ORDERS), "--into", str(other), "--again") == 0
    assert shell.lines[0].startswith(f"{other}: 5 orders imported")


def test_everything_wrong_is_reported_with_its_line_and_nothing_is_taken(
    shell: Shell, day: Path, tmp_path: Path
) -> None:
    table = tmp_path / "bad.csv"
    table.write_text(
        "order;colour;yarn;qty\n1;Kelp Lite;Plain Sock;2\n2;Ember Walk;Plain Sok;x\n3;Kelp Light;Hill DK;1\n"
    )
    before = day.read_bytes()
    assert shell("orders", str(table), "--into", str(day)) == 1
    lines = shell.err.splitlines()
    assert [line.removeprefix(f"{table}:").split(":")[0] for line in lines[:3]] == ["2", "3", "3"]
    assert "did you mean 'Kelp Light'?" in shell.err
    assert "did you mean 'Plain Sock'?" in shell.err
    assert day.read_bytes() == before


def test_the_columns_file_is_gone_by_once_it_is_there(shell: Shell, day: Path, tmp_path: Path) -> None:
    table = tmp_path / "t.csv"
    table.write_bytes("Gibt es\tWas\tWie viele\nGrün\tPlain Sock\t2,0\n".encode("utf-16"))
    (tmp_path / "orders.columns.toml").write_text(
        '[columns]\ncolourway = "Gibt es"\nbase = "Was"\nskeins = "Wie viele"\n[colourways]\n"Grün" = "Kelp Light"\n',
        encoding="utf-8",
    )
    assert shell("orders", str(table), "--into", str(day), "--json") == 0
    said = json.loads(shell.out)
    assert (said["encoding"], said["separator"]) == ("utf-16-le", "\t")
    assert [(o["item"], o["skeins"]) for o in said["taken"]] == [("stock Kelp Light / Plain Sock", 2)]


def test_an_order_that_is_in_the_plan_by_hand_is_taken_and_reported(shell: Shell, day: Path, tmp_path: Path) -> None:
    """For the same person, as many of the same; not for another person, and no other count."""
    table = tmp_path / "shop.csv"
    rows = "March parcels,Kelp Light,Plain Sock,6\nIda,Kelp Light,Plain Sock,6\n"
    table.write_text(f"customer,colour,yarn,qty\n{rows}", encoding="utf-8")
    assert shell("orders", str(table), "--into", str(day)) == 0
    (message,) = [line for line in shell.err.splitlines() if "take one out" in line]
    assert message.startswith(
        f"{table}:2: 'March parcels Kelp Light / Plain Sock' is imported, and {day} has as many"
    )
    assert shell.lines[0].startswith(f"{day}: 2 orders imported")


def test_a_dry_run_writes_nothing(shell: Shell, day: Path) -> None:
    assert shell("orders", str(ORDERS), "--into", str(day), "--dry-run") == 0
    assert "5 orders would be imported" in shell.out
    assert day.read_bytes() == SHORT_DAY.read_bytes()
    assert not day.with_name("orders.columns.toml").exists()


def test_line_ends_and_mark_of_a_plan_survive(shell: Shell, day: Path) -> None:
    before = b"\xef\xbb\xbf" + SHORT_DAY.read_bytes().replace(b"\n", b"\r\n")
    day.write_bytes(before)
    assert shell("orders", str(ORDERS), "--into", str(day)) == 0
    after = day.read_bytes()
    assert after.startswith(before)
    assert after.count(b"\n") == after.count(b"\r\n")


@pytest.mark.parametrize("table", ["", "a;b\n1;2\n", 'order;colour;yarn;qty\n1;"open;Plain Sock;2\n'])
def test_what_is_not_a_table_of_orders_is_refused_with_its_place(shell: Shell, day: Path, table: str) -> None:
    path = day.with_name("odd.csv")
    path.write_text(table)
    assert shell("orders", str(path), "--into", str(day)) == 1
    assert shell.err.startswith(f"{path}:")
    assert day.read_bytes() == SHORT_DAY.read_bytes()


def test_a_plan_of_names_goes_by_the_library(shell: Shell, day: Path) -> None:
    """Taken from one plan, used by another that only names; its own definition wins and says so."""
    assert shell("library", "--take", str(day)) == 0
    assert "colourway 'Kelp Light' is new" in shell.lines
    names = day.with_name("names.toml")
    names.write_text('[session]\nname = "Sunday"\ndate = 2026-03-15\nstart = "09:00"\nstop = "17:00"\n')
    assert shell("orders", str(ORDERS), "--into", str(names)) == 0
    assert shell("check", str(names)) == 0
    assert shell("begin", str(names)) == 0
    own = day.with_name("own.toml")
    text = day.read_text(encoding="utf-8").replace(
        '"steam 40 min"]\nsteps = ["Green on', '"steam 44 min"]\nsteps = ["Green on'
    )
    own.write_text(text, encoding="utf-8")
    assert shell("check", str(own)) == 0
    assert "library: colourway 'Kelp Light' is the plan's own, the library's differs in fix" in shell.lines
    assert shell("library", "--take", str(own), "--only-new") == 0
    assert shell.lines == ["the library already has all of it"]
    assert shell("library", "--take", str(own)) == 0
    assert "colourway 'Kelp Light' changed in fix" in shell.lines


def test_closing_a_day_keeps_what_it_defined_and_the_next_plan_only_names_it(shell: Shell, day: Path) -> None:
    assert shell("begin", str(day)) == 0
    assert shell("close", "--yes") == 0
    assert shell("library", "--json") == 0
    assert json.loads(shell.out)["colourways"][0]["name"] == "Kelp Light"
    assert shell("library") == 0
    assert "  pot: 1 pot, holds 400 g" in shell.lines


def test_a_library_that_is_damaged_stops_no_day_that_needs_none(shell: Shell, day: Path, tmp_path: Path) -> None:
    (tmp_path / "data").mkdir()
    (tmp_path / "data" / "library.json").write_text("{")
    assert shell("check", str(day)) == 0
    assert "library.json is damaged" in shell.err
    assert shell("library") == 1


def test_what_steers_a_terminal_or_ends_a_text_comes_into_no_plan(shell: Shell, day: Path) -> None:
    """Escapes are shown, quotes and brackets are text."""
    table = day.with_name("odd.csv")
    name = '\x1b[31m"]\n[[order]]\u202e\\'
    quoted = name.replace('"', '""')
    table.write_text(f'order,customer,colour,yarn,qty\n1,"{quoted}",Kelp Light,Plain Sock,1\n', encoding="utf-8")
    assert shell("orders", str(table), "--into", str(day)) == 0
    text = day.read_text(encoding="utf-8")
    assert read_plan(text).orders[-1].parcel == '1 \\x1b[31m"] [[order]]\\u202e\\'
    assert "\x1b" not in text


def test_without_a_table_and_without_a_terminal_it_says_what_to_do(shell: Shell, day: Path) -> None:
    assert shell("orders", "--into", str(day)) == 1
    assert "needs a terminal" in shell.err
