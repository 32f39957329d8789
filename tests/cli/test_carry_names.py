"""`carry` with orders that share their names, with long tags, and with names of any kind."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dyeday.plan.model import Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.reading.problems import PlanError
from dyeday.plan.writing.plan_text import plan_text
from dyeday.studio.carry_over import plan_after
from dyeday.text import LONGEST_NAME, LONGEST_NOTE, LONGEST_TAG, no_longer_than
from dyeday.track.day.day_state import Body
from dyeday.track.event_keys import EventError
from dyeday.track.events.batch_changes import Tagged
from dyeday.track.events.remarks import Noted
from dyeday.track.folding.fold import fold
from tests.cli.test_commands import Shell
from tests.fakes import SHORT_DAY

TEXT = SHORT_DAY.read_text(encoding="utf-8").replace('start = "09:00"', 'start = "09:00"\nzone = "UTC"')
PLAN = read_plan(TEXT)


def named_alike(plan: Plan) -> Plan:
    return replace(plan, orders=tuple(replace(order, item="shop") for order in plan.orders))


def carried_text(plan: Plan) -> str:
    """Return the plan of the next day for all of ``plan``, nothing of it begun, after it was read from its text."""
    read = read_plan(plan_text(plan))
    return plan_text(*plan_after(fold(read, ()), "2026-03-14-1", date(2026, 3, 15)))


@pytest.fixture
def shell(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Shell:
    return Shell(tmp_path / "data", capsys)


def test_orders_that_share_a_name_are_carried_each_with_its_pieces(shell: Shell, tmp_path: Path) -> None:
    plan, new = tmp_path / "day.toml", tmp_path / "next.toml"
    alike = named_alike(PLAN)
    plan.write_text(plan_text(replace(alike, batches=())), encoding="utf-8")
    assert shell("begin", str(plan)) == 0, shell.err
    assert shell("close") == 0, shell.err
    assert shell("carry", str(new)) == 0, shell.err
    after = read_plan(new.read_text(encoding="utf-8"))
    assert [(o.key, o.skeins, o.spare) for o in after.orders] == [(o.key, o.skeins, o.spare) for o in alike.orders]
    assert shell("begin", str(new)) == 0, shell.err


def test_orders_alike_in_name_colourway_and_base_are_carried_too(shell: Shell, tmp_path: Path) -> None:
    plan, new = tmp_path / "day.toml", tmp_path / "next.toml"
    twice = replace(PLAN, orders=(PLAN.orders[0], *PLAN.orders))
    plan.write_text(plan_text(replace(twice, batches=())), encoding="utf-8")
    assert shell("begin", str(plan)) == 0, shell.err
    assert shell("close") == 0, shell.err
    assert shell("carry", str(new)) == 0, shell.err
    after = read_plan(new.read_text(encoding="utf-8"))
    assert [o.key for o in after.orders] == [o.key for o in twice.orders]


def test_the_longest_tag_an_event_may_give_is_carried(shell: Shell, tmp_path: Path) -> None:
    plan, events, new = tmp_path / "day.toml", tmp_path / "tag.jsonl", tmp_path / "next.toml"
    tag = "t" * LONGEST_TAG
    plan.write_text(TEXT, encoding="utf-8")
    events.write_text(json.dumps({"at": "2026-03-14T09:00:00Z", "batch": "01", "tag": tag}) + "\n", encoding="utf-8")
    assert shell("begin", str(plan)) == 0, shell.err
    assert shell("mark", "--from", str(events)) == 0, shell.err
    assert shell("close") == 0, shell.err
    assert shell("carry", str(new)) == 0, shell.err
    assert read_plan(new.read_text(encoding="utf-8")).batches[0].tag == tag


def test_an_event_takes_a_tag_and_a_note_as_long_as_the_limits_and_no_longer() -> None:
    kinds: tuple[tuple[type[Body], str, int], ...] = ((Tagged, "tag", LONGEST_TAG), (Noted, "note", LONGEST_NOTE))
    for kind, key, longest in kinds:
        assert kind.read({key: "x" * longest}).to_json() == {key: "x" * longest}
        with pytest.raises(EventError, match=f"at most {longest} characters"):
            kind.read({key: "x" * (longest + 1)})
        assert no_longer_than(longest)("x" * longest) == "x" * longest
        with pytest.raises(ValueError, match=f"shorten it to {longest} characters"):
            no_longer_than(longest)("x" * (longest + 1))


def test_a_rush_order_with_a_name_longer_than_a_plan_allows_is_refused(shell: Shell, tmp_path: Path) -> None:
    plan, events = tmp_path / "day.toml", tmp_path / "rush.jsonl"
    plan.write_text(TEXT, encoding="utf-8")
    order = {"item": "n" * (LONGEST_NAME + 1), "colourway": PLAN.orders[0].colourway, "base": PLAN.orders[0].base}
    event = {"at": "2026-03-14T09:00:00Z", "order": order | {"skeins": 2}}
    events.write_text(json.dumps(event) + "\n", encoding="utf-8")
    assert shell("begin", str(plan)) == 0, shell.err
    assert shell("mark", "--from", str(events)) == 1
    assert f"at most {LONGEST_NAME} characters" in shell.err


def test_a_batch_by_hand_says_which_of_several_orders_it_is_for() -> None:
    orders = named_alike(PLAN).orders
    one = next(order for order in orders if order.key != orders[0].key)
    text = plan_text(replace(PLAN, orders=orders, batches=()))
    with pytest.raises(PlanError, match="add the order's colourway and base"):
        read_plan(text + '\n[[batch]]\nno = "09"\norder = "shop"\nskeins = 1\n')
    keys = f"colourway = {json.dumps(one.colourway)}\nbase = {json.dumps(one.base)}\n"
    read = read_plan(text + f'\n[[batch]]\nno = "09"\norder = "shop"\nskeins = 1\n{keys}')
    assert [(b.colourway, b.base) for b in read.batches if b.no == "09"] == [(one.colourway, one.base)]


NAMES = st.text(min_size=1, max_size=LONGEST_NAME).filter(str.strip)


@settings(max_examples=60, deadline=None)
@given(
    session=NAMES,
    items=st.lists(NAMES, min_size=len(PLAN.orders), max_size=len(PLAN.orders)) | NAMES.map(lambda n: [n] * 9),
    parcel=st.text(max_size=LONGEST_NAME),
)
def test_what_is_carried_of_any_sound_plan_is_sound(session: str, items: list[str], parcel: str) -> None:
    orders = tuple(replace(o, item=item, parcel=parcel) for o, item in zip(PLAN.orders, items, strict=False))
    plan = replace(PLAN, session=replace(PLAN.session, name=session), orders=orders, batches=())
    try:
        read_plan(plan_text(plan))
        text = carried_text(plan)
    except PlanError:
        return  # a name of characters that cannot be shown: no sound plan
    after = read_plan(text)
    assert sum(o.skeins + o.spare for o in after.orders) == sum(o.skeins + o.spare for o in orders)


def test_a_name_that_is_too_long_as_it_is_shown_is_refused_from_the_start() -> None:
    r"""A control character is shown as \x1f, four characters."""
    long = replace(
        PLAN, orders=tuple(replace(order, item="0" * 49 + "\x1f" * 8) for order in PLAN.orders), batches=()
    )
    with pytest.raises(PlanError, match=f"81 characters are too long; shorten it to {LONGEST_NAME}"):
        read_plan(plan_text(long))
