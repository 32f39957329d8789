"""Rows become orders: names met, parcels kept together, everything wrong at once."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dyeday.plan.orders.csv_table import (
    Columns,
    SetPart,
    column_places,
    columns_text,
    guessed_columns,
    read_columns,
    read_table,
)
from dyeday.plan.orders.order_import import (
    Read,
    count_of,
    day_of,
    is_yes,
    money_of,
    not_yet,
    orders_there,
    read_orders,
)
from dyeday.plan.reading.problems import PlanError, Problem
from dyeday.text import HintedError

WAYS = ["Kelp Light", "Tin Roof Rain", "Ember"]
BASES = ["Plain Sock", "Hill DK"]


def read(text: str, columns: Columns | None = None) -> Read:
    table = read_table(text.encode())
    return read_orders(table.rows, columns or Columns(guessed_columns(table.rows[0].cells)), WAYS, BASES)


def wrong(text: str, columns: Columns | None = None) -> tuple[Problem, ...]:
    with pytest.raises(PlanError) as caught:
        read(text, columns)
    return caught.value.problems


def test_rows_of_one_number_are_one_parcel_though_only_the_first_says_whose() -> None:
    got = read(
        "Order,Name,Colour,Yarn,Qty\n7,Ida,Kelp Light,Plain Sock,2\n7,,Ember,Hill DK,1\n8,Runa,Ember,Hill DK,1\n"
    )
    assert [(o.order.parcel, o.order.item, o.order.skeins) for o in got.orders] == [
        ("7 Ida", "7 Kelp Light / Plain Sock", 2),
        ("7 Ida", "7 Ember / Hill DK", 1),
        ("8 Runa", "8 Ember / Hill DK", 1),
    ]


def test_names_are_found_in_a_title_and_by_the_shops_own_words() -> None:
    text = "no,product,variant,qty\n1,Sea grass sock yarn,4ply,1\n2,Hill DK in tin roof rain,,2\n"
    columns = Columns(guessed_columns(["no", "product", "variant", "qty"]), colourways={"Sea Grass": "Kelp Light"},
                      bases={"4ply": "Plain Sock"})  # fmt: skip
    got = [(o.order.colourway, o.order.base) for o in read(text, columns).orders]
    assert got == [("Kelp Light", "Plain Sock"), ("Tin Roof Rain", "Hill DK")]


def test_everything_unknown_is_listed_at_once_each_with_its_line_and_a_near_match() -> None:
    found = wrong("no,colour,yarn,qty\n1,Kelp Lite,Plain Sock,1\n2,Embr,Plane Sock,1\n3,Kelp Lite,Hill DK,1\n")
    assert [p.line for p in found] == [2, 3, 3]
    by_name = {p.what.split("'")[1]: p for p in found}
    assert "did you mean 'Kelp Light'?" in by_name["Kelp Lite"].hint
    assert "and in 1 more" in by_name["Kelp Lite"].what
    assert "did you mean 'Plain Sock'?" in by_name["Plane Sock"].hint
    assert "under [colourways]" in by_name["Embr"].hint


def test_wrong_cells_are_reported_together_with_wrong_names() -> None:
    found = wrong("no,colour,yarn,qty,due,price\n1,Embr,Hill DK,two,31.02.2026,1.000\n2,Ember,Hill DK,,,\n")
    assert [p.line for p in found] == [2, 2, 2, 2, 3]
    assert {p.what.split(" ")[0] for p in found} == {"skeins", "due", "price", "no", "this"}


def test_a_set_is_its_colourways_in_one_parcel_and_shares_its_price() -> None:
    columns = Columns(
        guessed_columns(["no", "who", "item", "yarn", "qty", "price"]),
        sets={"Two greys": (SetPart("Tin Roof Rain", ""), SetPart("Ember", "Hill DK", 2))},
    )
    got = read("no,who,item,yarn,qty,price\n9,Ida,two greys,Plain Sock,2,60\n", columns).orders
    assert [(o.order.colourway, o.order.base, o.order.skeins, o.order.price) for o in got] == [
        ("Tin Roof Rain", "Plain Sock", 2, 20.0),
        ("Ember", "Hill DK", 4, 20.0),
    ]
    assert {o.order.parcel for o in got} == {"9 Ida"}


@pytest.mark.parametrize(
    "rows",
    [
        "1,S,Hill DK,50,",
        "1,Ember,Hill DK,5001,",
        "1,Ember,Hill DK,1,501",
        "1,Ember,Hill DK,3000,\n1,Ember,Hill DK,2001,",
    ],
)
def test_more_pieces_than_an_order_takes_are_refused_also_where_a_set_or_two_rows_make_them(rows: str) -> None:
    columns = Columns(
        guessed_columns(["no", "item", "yarn", "qty", "spare"]), sets={"S": (SetPart("Ember", "Hill DK", 101),)}
    )
    (problem,) = wrong(f"no,item,yarn,qty,spare\n{rows}\n", columns)
    assert "out of range" in problem.what
    assert problem.line == 1 + len(rows.splitlines())


def test_samples_and_spares_are_dyed_and_a_sample_has_no_price() -> None:
    got = read("colour,yarn,qty,spare,sample,price\nEmber,Hill DK,1,2,,9\nEmber,Hill DK,1,,yes,9\n").orders
    assert [(o.order.spare, o.order.sample, o.order.price) for o in got] == [(2, False, 9.0), (0, True, None)]
    assert got[0].order.item != got[1].order.item


def test_a_row_twice_is_taken_once_and_rows_of_one_order_and_yarn_go_together() -> None:
    got = read("no,colour,yarn,qty,note\n1,Ember,Hill DK,1,a\n1,Ember,Hill DK,1,a\n1,Ember,Hill DK,2,b\n")
    assert [(o.line, o.order.skeins) for o in got.orders] == [(2, 3)]
    assert (got.repeated, len(got.skipped)) == (1, 2)


def test_what_is_in_the_plan_already_is_noticed() -> None:
    got = read("no,colour,yarn,qty\n1,Ember,Hill DK,1\n2,Ember,Hill DK,1\n").orders
    tables = [
        {
            "item": "1 EMBER / hill dk",
            "colourway": "Ember",
            "base": "Hill DK",
            "skeins": 4,
        }
    ]
    fresh, known = not_yet(got, orders_there(tables, "plan"))
    assert [o.order.item for o in fresh] == ["2 Ember / Hill DK"]
    assert [(skeins, where) for _, skeins, where in known] == [(4, "plan")]
    changed = [{"item": "1 Ember / Hill DK", "colourway": "Kelp Light", "base": "Plain Sock", "skeins": 1}]
    assert len(not_yet(got, orders_there(changed, "plan"))[0]) == 1


def test_dates_of_a_column_tell_which_number_is_the_month() -> None:
    got = read("no,colour,yarn,qty,due\n1,Ember,Hill DK,1,03/04/2026\n2,Ember,Hill DK,1,13/04/2026\n").orders
    assert [o.order.due for o in got] == [date(2026, 4, 3), date(2026, 4, 13)]
    (problem,) = wrong("no,colour,yarn,qty,due\n1,Ember,Hill DK,1,03/04/2026\n")
    assert "day first or month first" in problem.what


def test_an_order_without_a_due_date_is_due_so_many_days_after_it_came() -> None:
    columns = Columns(guessed_columns(["no", "colour", "yarn", "qty", "created at"]), due_days=10)
    got = read("no,colour,yarn,qty,created at\n1,Ember,Hill DK,1,2026-03-01 14:05:11 +0100\n", columns).orders
    assert got[0].order.due == date(2026, 3, 11)


@pytest.mark.parametrize(
    ("text", "count"),
    [("3", 3), ("3,0", 3), ("3.00", 3), ("2 skeins", 2), ("1.000", None), ("2,5", None), ("-1", None)],
)
def test_counts_are_whole_or_refused(text: str, count: int | None) -> None:
    if count is None:
        with pytest.raises(HintedError):
            count_of(text)
    else:
        assert count_of(text) == count


@pytest.mark.parametrize(
    ("text", "money"),
    [("24.50", 24.5), ("24,50", 24.5), ("€ 1.234,50", 1234.5), ("1,234.50 EUR", 1234.5), ("12", 12.0),
     ("1.234.567", 1234567.0), ("24,-", 24.0), ("1 234,50", 1234.5), ("1'234.50", 1234.5), ("USD 24.50 each", 24.5),
     ("1,234", None), ("", None), ("about 3-4", None), ("2 for 30", None), ("24.50 (2)", None), ("3 30", None),
     ("-5", None), ("€ -5", None), ("free", None), (".50", None), ("$.99", None), (",50", None), ("Rs.500", 500.0)],
)  # fmt: skip
def test_money_is_read_with_either_decimal_sign_or_refused(text: str, money: float | None) -> None:
    """A sign before the first digit would make 50 of .50; behind letters it ends an abbreviation."""
    if money is None:
        with pytest.raises(HintedError):
            money_of(text)
    else:
        assert money_of(text) == money


@given(st.dates(date(2000, 1, 1), date(2099, 12, 31)))
def test_every_way_to_write_a_day_reads_back(day: date) -> None:
    for text, order in (
        (day.isoformat(), ""),
        (f"{day:%d.%m.%Y}", ""),
        (f"{day:%d.%m.%y}", ""),
        (f"{day:%d/%m/%Y}", "day first"),
        (f"{day:%m/%d/%Y} 14:05", "month first"),
    ):
        assert day_of(text, order) == day


def test_yes_and_no_are_understood_and_perhaps_is_not() -> None:
    assert [is_yes(text) for text in ("Yes", "x", "", "no")] == [True, True, False, False]
    with pytest.raises(HintedError):
        is_yes("perhaps")


def test_columns_are_guessed_by_usual_words_each_once() -> None:
    assert guessed_columns(["Order No.", "Buyer Name", "Colour", "Yarn base", "Qty", "Ship by", "Foo"]) == {
        "number": "Order No.",
        "customer": "Buyer Name",
        "colourway": "Colour",
        "base": "Yarn base",
        "skeins": "Qty",
        "due": "Ship by",
    }


def test_the_columns_file_reads_back_what_was_written() -> None:
    columns = Columns({"number": 'No "x"', "skeins": "Qty"}, encoding="cp1252", separator="\t")
    assert read_columns(columns_text(columns, "orders.csv")) == columns


def test_a_column_that_is_not_there_is_reported_with_a_near_one() -> None:
    with pytest.raises(PlanError) as caught:
        column_places(
            Columns({"skeins": "Quantty", "colourway": "Colour", "base": "Yarn"}), ["Quantity", "Colour", "Yarn"], 1
        )
    assert [str(p) for p in caught.value.problems] == [
        "1: no column is called 'Quantty' (skeins); did you mean 'Quantity'?"
    ]
