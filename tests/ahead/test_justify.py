"""Work that has time to spare goes behind work that has not."""

from __future__ import annotations

from dyeday.ahead.kernel.compile_problem import tabulate
from dyeday.ahead.kernel.decode import decode
from dyeday.ahead.kernel.moves import justified
from dyeday.ahead.kernel.partial_schedule import beginning
from dyeday.ahead.kernel.problem import Batch, Hold, Problem, Step, Unit

STEAMED = Batch(
    "a",
    (Step("paint", 10), Step("load", 2), Step("heat", 60, attended=False, draws=True), Step("unload", 2)),
    (Hold("steamer", 1, 3, to_end=False),),
    skeins=1,
)
WOUND = Batch("b", (Step("wind", 60),))


def test_an_hour_of_winding_goes_into_the_hour_of_heat() -> None:
    """By hand: wound first, the day takes 134 min; the heat begun first, 74."""
    tables = tabulate(Problem(540, ((540, None),), 1080, (Unit("steamer 1", "steamer"),), (STEAMED, WOUND)))
    wound_first = decode(tables, [1, 0, 0, 0], beginning(tables))
    assert wound_first is not None
    assert wound_first.state.now == 540 + 134
    order = justified(tables, [1, 0, 0, 0], wound_first.state)
    assert order == [0, 0, 1, 0]
    again = decode(tables, order, beginning(tables))
    assert again is not None
    assert again.state.now == 540 + 74
    assert justified(tables, order, again.state) == order
