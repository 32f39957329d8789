"""Quick frozen dataclasses behave as the standard ones, which are the reference here."""

from __future__ import annotations

import dataclasses
from typing import Any

import pytest

from dyeday.quick_dataclass import dataclass


def _classes(decorator: Any, slots: bool) -> Any:
    @decorator(frozen=True, slots=slots)
    class Skein:
        """Yarn."""

        base: str
        weight_g: float = 100.0
        marks: list[str] = dataclasses.field(default_factory=list)

    @decorator(frozen=True, slots=slots)
    class Mini(Skein):
        """Less yarn."""

        of: str = "sock"

    return Skein, Mini


@pytest.mark.parametrize("slots", [True, False])
def test_a_quick_class_makes_compares_and_shows_values_as_the_standard_one(slots: bool) -> None:
    """With and without slots, also where it has a base class."""
    for ours, standard in zip(_classes(dataclass, slots), _classes(dataclasses.dataclass, slots), strict=True):
        for args in (("dk",), ("dk", 50.0), ("dk", 50.0, ["a"])):
            mine, theirs = ours(*args), standard(*args)
            assert dataclasses.asdict(mine) == dataclasses.asdict(theirs)
            assert repr(mine) == repr(theirs)
            assert mine == ours(*args)
            assert dataclasses.replace(mine, base="lace") == ours("lace", *args[1:])
            assert dataclasses.replace(mine, base="lace") != mine
        assert hasattr(ours("dk"), "__dict__") is not slots
        assert ours("dk").marks is not ours("dk").marks
        assert ours.__match_args__ == standard.__match_args__
        with pytest.raises(TypeError):
            ours()


def test_a_quick_value_cannot_change_and_has_a_hash_of_its_values() -> None:
    """Of one class only: a mini of the same values is no skein."""
    ours, mini = _classes(dataclass, slots=True)
    value = ours("dk", 50.0, ("a",))
    assert hash(value) == hash(ours("dk", 50.0, ("a",)))
    assert value != mini("dk", 50.0, ("a",))
    with pytest.raises(dataclasses.FrozenInstanceError):
        value.base = "lace"
    with pytest.raises(dataclasses.FrozenInstanceError):
        del value.base


def test_what_a_quick_class_defines_itself_stands() -> None:
    """An equality of its own, and text."""

    @dataclass(frozen=True)
    class Loose:
        """Equal to everything."""

        name: str

        def __eq__(self, other: object) -> bool:
            return True

        def __repr__(self) -> str:
            return "loose"

    assert Loose("a") == Loose("b")
    assert repr(Loose("a")) == "loose"
