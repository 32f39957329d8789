"""Two amounts that a flag names side by side have as many figures as tell them apart."""

from __future__ import annotations

import pytest

from dyeday.track.flags.rule import amounts, distinct_numbers


@pytest.mark.parametrize(
    ("one", "other", "said"),
    [
        (9.99, 12.34, ["9.99", "12.34"]),
        (10, 12.34, ["10", "12.3"]),
        (99.9, 112.34, ["99.9", "112.3"]),
        (100, 112.34, ["100", "112"]),
        (100, 100.04, ["100", "100.04"]),
        (1000, 1000.001, ["1000", "1000.001"]),
        (1_000_000, 1_234_567, ["1000000", "1234567"]),
    ],
)
def test_amounts_have_three_figures_and_more_where_they_would_look_alike(
    one: float, other: float, said: list[str]
) -> None:
    assert amounts(one, other) == said


def test_four_decimals_are_the_most_and_what_differs_less_is_said_alike() -> None:
    assert distinct_numbers(1, 1.0002) == ["1.0000", "1.0002"]
    assert distinct_numbers(1, 1.00002) == ["1.0000", "1.0000"]
