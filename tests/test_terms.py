"""The closed sets are types: a misspelt word does not pass mypy, and adding to one leaves no table short."""

from __future__ import annotations

import pytest

from dyeday.craft.dye import exhaustion
from dyeday.terms import (
    KIT_OF_HEAT,
    KIT_TRAITS,
    STATES,
    FlagId,
    HeatKind,
    KitKind,
    State,
    Term,
)
from dyeday.track.day.day_state import Event
from dyeday.track.events.measured import EYES
from dyeday.track.events.movements import Moved
from dyeday.track.flags import RULES


def is_in_heat(state: State, kind: KitKind) -> bool:
    """Hold no test: mypy must refuse both lines, else it says that an ignore is not needed."""
    misspelt = state == "fxi"  # type: ignore[comparison-overlap]
    spelt = kind in ("steamer", "pot")  # type: ignore[comparison-overlap]
    return misspelt or spelt


def is_in_paint(event: Event) -> bool:
    """Hold no test either: mypy must refuse a misspelt field of an event, a misspelt state and a missing key."""
    Moved(unti="tray 1", to=State.SOAK)  # type: ignore[call-arg]
    Moved(unit="tray 1")  # type: ignore[call-arg]
    body = event.body
    return isinstance(body, Moved) and (body.too is State.PAINT or body.to == "paint")  # type: ignore[attr-defined,comparison-overlap]


def test_a_member_is_not_its_word() -> None:
    """So a comparison with a text is false, never true by chance."""
    assert not is_in_heat(State.FIX, KitKind.STEAMER)


@pytest.mark.parametrize("term", Term.__subclasses__(), ids=lambda term: term.__name__)
def test_each_word_reads_back_as_its_member(term: type[Term]) -> None:
    """What is stored by value is read by value."""
    assert [term(member.value) for member in term] == list(term)
    assert len({hash(member) for member in term}) == len(list(term))


def test_every_kind_of_kit_has_its_traits_and_every_heat_its_kit() -> None:
    """A rest is not a heat; each heat is given by one kind of kit."""
    assert list(KIT_TRAITS) == list(KitKind)
    assert set(KIT_OF_HEAT) == set(HeatKind) - {HeatKind.REST}
    assert all(KIT_TRAITS[kind].heat is heat for heat, kind in KIT_OF_HEAT.items())


def test_the_words_are_those_of_the_rooms_that_compute_with_them() -> None:
    """The trade's arithmetic imports nothing, so it has its own."""
    assert tuple(exhaustion.BY_EYE) == EYES
    assert State.SPLIT not in STATES
    assert set(FlagId) == set(RULES)
