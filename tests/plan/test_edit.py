"""A plan changed in one place keeps every other byte, and says what it should."""

from __future__ import annotations

import tomllib
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dyeday.plan.model import Order
from dyeday.plan.orders.order_editor import new_plan_text
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.writing.plan_text import order_table
from dyeday.plan.writing.text_edit import EditError, add_orders, change_order, move_order, remove_order
from dyeday.plan.writing.toml_values import Value, toml
from tests.plan.plans import plan, plan_text

HAND = '''# my plan
session = { name = "x" }   # inline, odd
[[order]]
item="a"      # no spaces here
skeins =  2
# due = 2026-03-20

# the second, for the fair
[[order]]
'item' = """
several
lines"""
skeins = 0x10

[ water ] # hard
alkalinity = 3

# split by hand
[[batch]]
no = "01"
'''

NAMES = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\r"), max_size=20)
TABLES = st.dictionaries(st.sampled_from(["item", "parcel", "base"]), NAMES, min_size=1) | st.just(
    {"item": "x", "skeins": 3, "due": date(2026, 3, 1), "match": True, "price": 24.5}
)
TEXTS = st.sampled_from([HAND, HAND.replace("\n", "\r\n"), HAND.rstrip("\n"), "", "a = 1", "# only this"])


def orders(text: str) -> list[dict[str, Any]]:
    return list(tomllib.loads(text).get("order", []))


@given(TEXTS, st.lists(TABLES, min_size=1, max_size=3))
def test_adding_only_inserts(text: str, tables: list[dict[str, Value]]) -> None:
    """What was there is a beginning and an end of what is there now."""
    made = add_orders(text, tables)
    more = len(made) - len(text)
    assert any(made[:n] == text[:n] and made[n + more :] == text[n:] for n in range(len(text) + 1))
    assert orders(made) == [*orders(text), *tables]


def test_an_added_order_goes_behind_the_last_one_and_its_comments() -> None:
    made = add_orders(HAND, [{"item": "b"}])
    assert made.index('item = "b"') < made.index("[ water ]")
    text = '[[order]]\nitem = "a"\n# a word on it\n\n# kit\n[[kit]]\n'
    assert add_orders(text, [{"item": "b"}]) == (
        '[[order]]\nitem = "a"\n# a word on it\n\n[[order]]\nitem = "b"\n\n# kit\n[[kit]]\n'
    )


@given(st.sampled_from([HAND, HAND.replace("\n", "\r\n")]), st.integers(0, 1), st.integers(1, 5000))
def test_a_changed_number_changes_only_its_digits(text: str, n: int, skeins: int) -> None:
    made = change_order(text, n, {"skeins": skeins})
    was = ("2", "0x10")[n]
    at = [at for at in range(len(text)) if text.startswith(was, at)]
    assert any(text[:a] + str(skeins) + text[a + len(was) :] == made for a in at)


def test_a_key_is_put_in_and_taken_out_as_a_line_of_its_own() -> None:
    made = change_order(HAND, 0, {"due": date(2026, 4, 1)})
    assert made == HAND.replace("skeins =  2\n", "skeins =  2\ndue = 2026-04-01\n")
    assert change_order(made, 0, {"due": None}) == HAND


def test_moving_takes_the_comment_above_with_it_and_leaves_what_lies_between() -> None:
    made = move_order(HAND, 1, 0)
    assert [order["skeins"] for order in orders(made)] == [16, 2]
    assert made.index("# the second, for the fair") < made.index('item="a"')
    assert sorted(made) == sorted(HAND)
    assert move_order(made, 1, 0) == HAND


@given(st.permutations(range(4)), st.integers(0, 3), st.integers(0, 3))
def test_moving_there_and_back_is_nothing(items: list[int], n: int, to: int) -> None:
    text = "\n\n".join(f'# {item}\n[[order]]\nitem = "{item}"' for item in items)
    assert move_order(move_order(text, n, to), to, n) == text


def test_removing_takes_out_the_table_and_nothing_a_person_wrote_above() -> None:
    made = remove_order(HAND, 1)
    assert "# the second, for the fair" in made
    assert len(orders(made)) == 1
    assert [line for line in made.split("\n") if line not in HAND.split("\n")] == []


@given(NAMES)
def test_any_text_is_written_so_that_it_reads_back(text: str) -> None:
    assert tomllib.loads(f"k = {toml(text)}")["k"] == text


def test_orders_in_a_list_are_refused_and_not_broken() -> None:
    with pytest.raises(EditError, match=r"\[\[order\]\]"):
        add_orders('order = [{ item = "a" }]\n', [{"item": "b"}])


def test_what_was_added_is_what_reading_the_plan_gives() -> None:
    order = Order(
        "204 Bog", "Bog", "Sock", 3, due=date(2026, 3, 9), parcel="204 Ida", sample=True, spare=1, price=7.5
    )
    assert read_plan(add_orders(plan_text(), [order_table(order)])).orders[-1] == order


def test_a_new_plan_begins_with_the_hours_of_the_one_before_breaks_and_absences_too() -> None:
    """No heat is planned while the house is empty: a school run is every day's, and who stays deletes a line."""
    hours: dict[str, str | None] = {"session.breaks": '["13:00-13:30"]', "session.out": '["15:05-15:40"]'}
    lines = new_plan_text(date(2026, 4, 25), plan(hours)).splitlines()
    assert [line for line in lines if line.startswith(("breaks", "out"))] == [
        'breaks = ["13:00-13:30"]',
        'out = ["15:05-15:40"]',
    ]
