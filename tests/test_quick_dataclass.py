"""Quick dataclasses behave as the standard ones, which are the reference here."""

from __future__ import annotations

import dataclasses
from typing import Any, ClassVar

import pytest

from dyeday.quick_dataclass import FEW, dataclass


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
    """Of one class only: a mini of the same values is not a skein."""
    ours, mini = _classes(dataclass, slots=True)
    value = ours("dk", 50.0, ("a",))
    assert hash(value) == hash(ours("dk", 50.0, ("a",)))
    assert value != mini("dk", 50.0, ("a",))
    with pytest.raises(dataclasses.FrozenInstanceError):
        value.base = "lace"
    with pytest.raises(dataclasses.FrozenInstanceError):
        del value.base


def test_the_first_values_and_later_ones_are_made_and_refused_alike() -> None:
    """The first are made without compiling anything."""
    ours, _ = _classes(dataclass, slots=True)
    for _value in range(3 * FEW):
        assert ours("dk", marks=["a"]) == ours(base="dk", weight_g=100.0, marks=["a"])
        assert ours("dk").marks == []
        for args, kwargs in (((), {}), (("dk", 1.0, [], 2), {}), (("dk",), {"base": "dk"}), (("dk",), {"ply": 2})):
            with pytest.raises(TypeError):
                ours(*args, **kwargs)


def test_the_types_of_a_quick_class_are_known() -> None:
    """As text, of its own fields and of its base's; a class variable is not a field."""
    for ours, standard in zip(_classes(dataclass, True), _classes(dataclasses.dataclass, True), strict=True):
        kinds = [[(field.name, field.type) for field in dataclasses.fields(cls)] for cls in (ours, standard)]
        assert kinds[0] == kinds[1]
        assert ours.__annotations__ == standard.__annotations__

    @dataclass(frozen=True)
    class Reskeined:
        """Yarn."""

        STORED_AS: ClassVar[str] = "kept"
        base: str

    assert [field.name for field in dataclasses.fields(Reskeined)] == ["base"]
    assert Reskeined("dk").STORED_AS == "kept"


def test_a_quick_value_that_is_not_frozen_changes_and_has_no_hash() -> None:
    """With a list of its own each."""

    @dataclass(slots=True)
    class Pot:
        """Dye liquor."""

        litres: float = 5.0
        inside: list[str] = dataclasses.field(default_factory=list)

    one, other = Pot(), Pot()
    assert one == other
    one.litres = 4.0
    one.inside.append("01")
    assert (one.litres, one.inside, other.inside) == (4.0, ["01"], [])
    assert one != other
    with pytest.raises(TypeError):
        hash(one)


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
