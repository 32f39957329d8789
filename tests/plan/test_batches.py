"""Orders become lots and lots become numbered batches; a split by hand is kept."""

from __future__ import annotations

from datetime import date
from math import ceil

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dyeday.plan.batches import batch_no, batch_sizes, lots_of, shares_of
from dyeday.plan.model import Order, Plan, dishes_of
from tests.plan.plans import plan, plan_text, problems_of, the_problem


def order(item: str, skeins: int, more: str = "", colourway: str = "Bog", base: str = "Sock") -> str:
    """Return one more order as TOML."""
    names = f'item = "{item}"\ncolourway = "{colourway}"\nbase = "{base}"'
    return f"\n[[order]]\n{names}\nskeins = {skeins}\n{more}\n"


def kit(name: str, kind: str, holds: str) -> str:
    """Return one more kit as TOML."""
    return f'\n[[kit]]\nname = "{name}"\nkind = "{kind}"\nholds = {holds}\n'


def colourway(name: str, keys: str = 'fix = ["steam 40 min"]') -> str:
    """Return one more colourway as TOML."""
    return f'\n[[colourway]]\nname = "{name}"\nsections = [{{ dyes = {{ "Peat" = 1 }} }}]\n{keys}\n'


def numbered(read: Plan) -> list[tuple[str, str, int]]:
    """Return number, colourway and size of every batch."""
    return [(batch.no, batch.colourway, batch.skeins) for batch in read.batches]


@given(st.integers(0, 5000), st.integers(1, 400))
def test_a_lot_is_split_into_as_few_batches_as_hold_it_as_even_as_can_be(skeins: int, holds: int) -> None:
    """⌈n / holds⌉ batches, no skein lost, none above what the kit holds, one apart at most, larger first."""
    split = batch_sizes(skeins, holds)

    assert sum(split) == skeins
    assert len(split) == ceil(skeins / holds)
    assert all(0 < size <= holds for size in split)
    assert max(split, default=0) - min(split, default=0) <= 1
    assert list(split) == sorted(split, reverse=True)


@given(
    st.lists(st.tuples(st.integers(1, 30), st.integers(0, 5)), min_size=1, max_size=6),
    st.integers(1, 12),
)
def test_every_skein_of_a_batch_is_for_an_order_and_every_order_gets_its_skeins(
    wanted: list[tuple[int, int]], holds: int
) -> None:
    """Shares fill the batches exactly and give every order its skeins and spares."""
    orders = [Order(f"order {n}", "Bog", "Sock", skeins, spare=spare) for n, (skeins, spare) in enumerate(wanted)]
    counts = batch_sizes(sum(skeins + spare for skeins, spare in wanted), holds)

    shares = shares_of(orders, counts)

    assert [sum(taken for _, taken in share) for share in shares] == list(counts)
    for one in orders:
        assert sum(n for share in shares for item, n in share if item == one.item) == one.skeins + one.spare


def test_orders_of_one_colourway_and_base_are_one_lot() -> None:
    """They are dyed from one mix; another base is another lot."""
    orders = [
        Order("a", "Bog", "Sock", 3),
        Order("b", "Bog", "DK", 2),
        Order("c", "Bog", "Sock", 4, spare=1),
    ]

    lots = lots_of(orders)

    assert [(lot.base, lot.skeins, [o.item for o in lot.orders]) for lot in lots] == [
        ("Sock", 8, ["a", "c"]),
        ("DK", 2, ["b"]),
    ]


def test_lots_go_by_due_date_and_then_by_the_plan() -> None:
    """The earliest due of a lot's orders counts; what is not due comes last, in the order it was written."""
    orders = [
        Order("a", "A", "Sock", 1),
        Order("b", "B", "Sock", 1, due=date(2026, 5, 1)),
        Order("c", "C", "Sock", 1, due=date(2026, 4, 1)),
        Order("d", "D", "Sock", 1),
        Order("e", "B", "Sock", 1, due=date(2026, 3, 1)),
        Order("f", "F", "Sock", 1, due=date(2026, 4, 1)),
    ]

    assert [lot.colourway for lot in lots_of(orders)] == ["B", "C", "F", "A", "D"]


def test_batches_are_numbered_by_due_date() -> None:
    """The lot that is due first has the first numbers, larger batches first."""
    more = colourway("Moor") + order("Rush", 7, "due = 2026-03-15", colourway="Moor")

    assert numbered(plan(more=more)) == [("01", "Moor", 4), ("02", "Moor", 3), ("03", "Bog", 4)]


def test_batches_of_one_lot_share_its_mix() -> None:
    """What must match has one mix."""
    mixes = {batch.mix for batch in plan({"order.skeins": "9"}).batches}

    assert len(mixes) == 1


def test_spare_skeins_are_dyed_with_their_order() -> None:
    """An order of 3 and a spare is four skeins, all of that order."""
    (batch,) = plan({"order.skeins": "3", "order.spare": "1"}).batches

    assert (batch.skeins, batch.shares) == (4, (("Shop", 4),))


def test_a_batch_may_be_for_two_orders() -> None:
    """Skeins of one lot fill the batches order after order."""
    read = plan({"order.skeins": "3"}, order("Other", 5))

    assert [batch.shares for batch in read.batches] == [(("Shop", 3), ("Other", 1)), (("Other", 4),)]


def test_the_smallest_of_tray_pot_and_steamer_on_the_way_limits_a_batch() -> None:
    """A steamer of three limits a steamed colourway, a pot of two an immersed one."""
    more = (
        kit("steamer", "steamer", "3")
        + kit("pot", "pot", "2")
        + colourway("Deep", 'how = "immersed"\nfix = ["simmer 45 min"]')
        + order("Jumper", 6, colourway="Deep")
    )

    assert numbered(plan({"order.skeins": "6"}, more)) == [
        ("01", "Bog", 3),
        ("02", "Bog", 3),
        ("03", "Deep", 2),
        ("04", "Deep", 2),
        ("05", "Deep", 2),
    ]


def test_yarn_that_is_immersed_afterwards_soaks_in_several_trays_and_is_one_batch() -> None:
    """Five skeins, trays for four, a pot for six: one batch; painted they are two."""
    trays = {"order.skeins": "5", "kit.holds": "4"}
    more = kit("pot", "pot", "6") + kit("steamer", "steamer", "6")
    immersed = plan({**trays, "colourway.fix": '["simmer 30 min"]', "colourway.how": '"immersed"'}, more)
    assert [batch.skeins for batch in immersed.batches] == [5]
    assert [batch.skeins for batch in plan({**trays}, more).batches] == [3, 2]


def test_a_microwave_does_not_limit_a_batch_for_pots_go_in_turn() -> None:
    """Four skeins through a microwave of two are one batch and two pot-fuls."""
    more = kit("microwave", "microwave", "2")
    read = plan({"colourway.fix": '["microwave 2 min", "rest 3 min", "microwave 2 min"]'}, more)

    assert numbered(read) == [("01", "Bog", 4)]
    assert dishes_of(read.kit[1], 4, 100) == 2
    assert dishes_of(read.kit[1], 5, 100) == 3
    assert dishes_of(None, 5, 100) == 1


def test_what_holds_grams_holds_more_minis_than_skeins() -> None:
    """600 g is six skeins of 100 g and thirty minis of 20 g."""
    mini = '\n[[base]]\nname = "Mini"\nfibre = { wool = 100 }\nskein = "20 g"\nform = "mini"\n'
    read = plan({"kit.holds": '"600 g"', "order.skeins": "7"}, mini + order("Sets", 31, base="Mini"))

    assert [(batch.base, batch.skeins) for batch in read.batches] == [
        ("Sock", 4),
        ("Sock", 3),
        ("Mini", 16),
        ("Mini", 15),
    ]


def test_a_unit_holds_whole_skeins_only() -> None:
    """A pot of 250 g holds two skeins of 100 g; three of 0.1 kg are exactly 300 g."""
    assert plan({"kit.holds": '"250 g"'}).kit[0].skeins_of(100) == 2
    assert plan({"kit.holds": '"0.3 kg"'}).kit[0].skeins_of(100) == 3


def test_without_a_limit_a_lot_is_one_batch() -> None:
    """Where no tray, pot or steamer is among the kit, nothing splits a lot."""
    assert numbered(plan({"kit.kind": '"pegs"', "order.skeins": "40"})) == [("01", "Bog", 40)]


@pytest.mark.parametrize(("skeins", "first", "last"), [(9, "01", "09"), (99, "01", "99"), (100, "001", "100")])
def test_numbers_have_two_digits_and_three_from_a_hundred_batches(skeins: int, first: str, last: str) -> None:
    """All numbers of a day are written alike and stand in their order."""
    read = plan({"kit.holds": "1", "order.skeins": str(skeins)})

    numbers = [batch.no for batch in read.batches]
    assert (numbers[0], numbers[-1], len(numbers)) == (first, last, skeins)
    assert numbers == sorted(numbers)
    assert batch_no(3, skeins) == first[:-1] + "3"


def test_a_day_has_at_most_999_batches() -> None:
    """Three digits tell no more apart."""
    assert len(plan({"kit.holds": "1", "order.skeins": "999"}).batches) == 999
    assert "more than 999" in the_problem({"kit.holds": "1", "order.skeins": "1000"}).what


def test_a_tag_goes_to_the_batch_of_that_number() -> None:
    """``no`` and ``tag`` alone tag a batch of the automatic split."""
    read = plan({"order.skeins": "8", "batch.no": '"02"', "batch.tag": '"red x2"'})

    assert [batch.tag for batch in read.batches] == ["", "red x2"]
    assert [batch.tag for batch in plan({"batch.no": "1", "batch.tag": '"red"'}).batches] == ["red"]


def test_a_tag_keeps_its_batch_on_a_day_of_a_hundred() -> None:
    """ "02" is batch 002 where numbers have three digits."""
    read = plan({"kit.holds": "1", "order.skeins": "120", "batch.no": '"02"', "batch.tag": '"red"'})

    assert [batch.no for batch in read.batches if batch.tag == "red"] == ["002"]


def test_a_batch_by_hand_is_kept_and_the_rest_is_split() -> None:
    """Two skeins apart by hand leave six for the automatic split."""
    by_hand: dict[str, str | None] = {"batch.order": '"Shop"', "batch.skeins": "2", "batch.tag": '"blue"'}

    read = plan({"order.skeins": "8", **by_hand})

    assert [(batch.no, batch.skeins, batch.tag) for batch in read.batches] == [
        ("01", 2, "blue"),
        ("02", 3, ""),
        ("03", 3, ""),
    ]


def test_a_number_given_by_hand_is_not_given_twice() -> None:
    """The automatic numbers go round it."""
    read = plan({"order.skeins": "8", "batch.no": '"02"', "batch.order": '"Shop"', "batch.skeins": "1"})

    assert [(batch.no, batch.skeins) for batch in read.batches] == [("01", 4), ("02", 1), ("03", 3)]


def test_a_batch_by_hand_is_for_the_order_it_names() -> None:
    """Also where another order of the lot comes first."""
    more = order("Other", 2) + '\n[[batch]]\norder = "Other"\nskeins = 2\n'

    read = plan(more=more)

    assert [batch.shares for batch in read.batches] == [(("Other", 2),), (("Shop", 4),)]


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ('order = "Shop"\nskeins = 5', "hold 5 skeins"),
        ('order = "Shup"\nskeins = 2', "did you mean 'Shop'?"),
        ('order = "Shop"', "no skeins"),
        ("skeins = 2", "no order"),
        ('tag = "red"', "neither a number nor an order"),
        ('no = "1"', "not a batch number"),
        ('no = "07"\ntag = "red"', "no batch has the number 07"),
        ('no = "01"\ntag = "red"\n[[batch]]\nno = "01"\ntag = "blue"', "appears twice"),
        ('no = "01"\ntag = "red"\n[[batch]]\nno = "001"\ntag = "blue"', "appears twice"),
        ('no = "01"\ncarried = "2026-03-14-1/03"', "carried over and has no order"),
    ],
)
def test_a_batch_by_hand_that_cannot_be_is_a_problem_at_its_table(keys: str, said: str) -> None:
    """No batch is dropped and no skein made up without a word."""
    more = f"\n[[batch]]\n{keys}\n"

    problem = the_problem(more=more)

    assert said in f"{problem.what}; {problem.hint}"
    assert problem.line > len(plan_text().splitlines())


def test_a_batch_by_hand_is_not_blamed_for_an_order_that_could_not_be_read() -> None:
    """How many skeins the order has is not known, so its batch may be right."""
    text = plan_text({"order.skeins": '"many"', "batch.order": '"Shop"', "batch.skeins": "9"})

    assert ["order.skeins" in problem.what for problem in problems_of(text)] == [True]
