"""The studio's library: plans name what it keeps, their own definitions win, nothing is overwritten unasked."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from dyeday.plan.library import Library, change_text, overridden_definitions, with_definitions
from dyeday.plan.model import Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.reading.problems import PlanError
from tests.plan.plans import plan, plan_text, problems_of

WHOLE = plan({"dye.on_hand": '"40 g"', "base.on_hand": "12", "kit.circuit": '"worktop"'})
LIBRARY = with_definitions(Library(), WHOLE)[0]
NAMES_ONLY = """
[session]
name = "Sunday"
date = 2026-03-15
start = "09:00"
stop = "17:00"

[[order]]
item = "Shop"
colourway = "Bog"
base = "Sock"
skeins = 4
"""


def named() -> Plan:
    return read_plan(NAMES_ONLY, LIBRARY)


def test_a_plan_needs_only_names() -> None:
    made = named()
    assert (made.colourways, made.kit, made.circuits) == (WHOLE.colourways, WHOLE.kit, WHOLE.circuits)
    assert [batch.skeins for batch in made.batches] == [4]


def test_what_is_on_hand_is_of_a_day_and_not_of_the_library() -> None:
    made = named()
    assert made.bases == (replace(WHOLE.bases[0], on_hand=None),)
    assert made.dyes == (replace(WHOLE.dyes[0], on_hand_g=None),)


def test_only_what_is_used_comes_in() -> None:
    more = with_definitions(LIBRARY, plan({"colourway.name": '"Fen"', "order.colourway": '"Fen"'}))[0]
    assert [c.name for c in read_plan(NAMES_ONLY, more).colourways] == ["Bog"]


def test_a_table_of_a_name_only_is_the_librarys() -> None:
    text = NAMES_ONLY + '[[kit]]\nname = "tray"\n[[base]]\nname = "Sock"\n'
    assert read_plan(text, LIBRARY).kit == WHOLE.kit


def test_a_plans_own_definition_wins_and_says_in_what_it_differs() -> None:
    own = plan_text({"colourway.fix": '["steam 50 min"]', "base.skein": '"50 g"', "dye.on_hand": "3"})
    made = read_plan(own, LIBRARY)
    assert made.colourways[0].layers[0].fix[0].minutes == 50
    assert overridden_definitions(made, LIBRARY) == [
        "kit 'tray' is the plan's own, the library's differs in circuit",
        "base 'Sock' is the plan's own, the library's differs in skein",
        "colourway 'Bog' is the plan's own, the library's differs in fix",
    ]


def test_what_a_plan_took_from_the_library_is_not_its_own() -> None:
    assert overridden_definitions(named(), LIBRARY) == []


def test_taking_says_what_is_new_and_what_changed_and_takes_nothing_out() -> None:
    changed = plan({"colourway.fix": '["steam 50 min"]', "dye.name": '"Peat"', "kit.circuit": '"worktop"'},
                   '[[dye]]\nname = "Navy"\n')  # fmt: skip
    after, changes = with_definitions(LIBRARY, changed)
    assert [change_text(change) for change in changes] == ["dye 'Navy' is new", "colourway 'Bog' changed in fix"]
    assert after.colourways[0].layers[0].fix[0].minutes == 50
    again, none = with_definitions(after, named())
    assert {d.name for d in again.dyes} == {"Peat", "Navy"}
    assert [change.name for change in none] == ["Bog"]


def test_taking_only_what_is_new_leaves_what_the_library_has() -> None:
    changed = plan({"colourway.fix": '["steam 50 min"]', "kit.circuit": '"worktop"'}, '[[dye]]\nname = "Navy"\n')
    after, changes = with_definitions(LIBRARY, changed, only_new=True)
    assert [change.name for change in changes] == ["Navy"]
    assert after.colourways == LIBRARY.colourways


def test_without_a_library_a_name_alone_is_a_problem_as_ever() -> None:
    assert any(re.search("no \\[\\[colourway\\]\\] is called 'Bog'", p.what) for p in problems_of(NAMES_ONLY))


def test_a_name_close_to_one_of_the_librarys_is_offered() -> None:
    text = plan_text({"order.colourway": '"Fenn"'})
    library = with_definitions(Library(), plan({"colourway.name": '"Fen"', "order.colourway": '"Fen"'}))[0]
    with pytest.raises(PlanError, match=re.escape("did you mean 'Fen'?")):
        read_plan(text, library)
