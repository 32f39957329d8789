"""Advice that stays unless another sequence is worth the change."""

from __future__ import annotations

from collections.abc import Sequence

from dyeday.ahead.followed_rows import followed
from dyeday.ahead.kernel.problem import Problem, Row, Solution
from dyeday.ahead.kernel.search import END
from dyeday.text import counted
from dyeday.track.timestamp import length_text

WORTH_MIN = 5
"""minutes by which another sequence must end, or let hands begin, earlier to be worth the change for that alone"""


def advised(
    problem: Problem, objective: int, solution: Solution, before: Sequence[Row], missed: int | None = None
) -> tuple[Solution, str]:
    """Return ``solution`` if it is worth a change from ``before``, else those rows, updated; and why, or "".

    It is worth it if those rows are not possible, leave out other batches, leave heat on or yarn waiting longer, or
    miss more batches by the stop; else by `WORTH_MIN`. Both solve ``problem`` for ``objective``, the kernel's `END`
    or `COUNT`. ``missed`` is how many batches missed the stop in the forecast before.
    """
    if not before or not solution.rows:
        return solution, ""
    # As early as its order allows: if every step kept its foreseen minute, time saved would never be used.
    ways = (followed(problem, objective, before, sooner=sooner) for sooner in (True, False))
    old = min((way for way in ways if way is not None), key=lambda way: way.value.key, default=None)
    if old is None or set(old.left_out) != set(solution.left_out):
        return solution, "the earlier timetable is no longer possible"
    if old.value.late > solution.value.late:
        return solution, "otherwise heat would stay on, or yarn wait, too long"
    if (more := old.value.missed - solution.value.missed) > 0:
        as_before = missed is not None and solution.value.missed >= missed
        fewer = f"otherwise {counted(more, 'batch', 'batches')} fewer by stop"
        return solution, "to keep as many batches by stop" if as_before else fewer
    gain = old.value.end - solution.value.end
    if solution.value.key < old.value.key and gain >= WORTH_MIN:
        ends = "you would finish" if objective == END else "what is left over would be rinsed"
        return solution, f"otherwise {ends} {length_text(gain)} later"
    wait = _first(old.rows) - _first(solution.rows)
    if wait >= WORTH_MIN and solution.value.key <= old.value.key:
        return solution, f"otherwise you would wait {length_text(wait)}"
    return old, ""


def _first(rows: Sequence[Row]) -> int:
    return min((row.start for row in rows if row.attended), default=0)
