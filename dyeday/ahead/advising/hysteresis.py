"""Advice that stays: another sequence only if it is worth the change, or the present one has become impossible."""

from __future__ import annotations

from collections.abc import Sequence

from dyeday.ahead.followed_rows import followed
from dyeday.ahead.kernel.problem import Problem, Row, Solution
from dyeday.ahead.kernel.search import END
from dyeday.quick_dataclass import dataclass
from dyeday.text import counted
from dyeday.track.timestamp import length_text

WORTH_MIN = 5
"""minutes that another sequence must gain before it is advised"""


@dataclass(frozen=True, slots=True)
class Advised:
    """The sequence to follow, and ``why`` it changed, in words; empty if it did not."""

    solution: Solution
    why: str = ""


def advised(problem: Problem, objective: int, solution: Solution, before: Sequence[Row]) -> Advised:
    """Return ``solution`` if it gains enough over the rows advised ``before``, else those rows, updated.

    Both are solutions of ``problem`` for ``objective``, the kernel's `END` or `COUNT`.
    """
    if not before or not solution.rows:
        return Advised(solution)
    # As early as its order allows: if every step kept its foreseen minute, time saved would never be used.
    ways = (followed(problem, objective, before, sooner=sooner) for sooner in (True, False))
    old = min((way for way in ways if way is not None), key=lambda way: way.value.key, default=None)
    if old is None or set(old.left_out) != set(solution.left_out):
        return Advised(solution, "the earlier timetable is no longer possible")
    if old.value.late > solution.value.late:
        return Advised(solution, "otherwise heat would stay on, or yarn wait, too long")
    if (more := old.value.missed - solution.value.missed) > 0:
        return Advised(solution, f"{counted(more, 'batch', 'batches')} more by stop")
    gain = old.value.end - solution.value.end
    if solution.value.key < old.value.key and gain >= WORTH_MIN:
        ends = "you finish" if objective == END else "what is left over is rinsed"
        return Advised(solution, f"{ends} {length_text(gain)} sooner")
    wait = _first(old.rows) - _first(solution.rows)
    if wait >= WORTH_MIN and solution.value.key <= old.value.key:
        return Advised(solution, f"otherwise you would wait {length_text(wait)}")
    return Advised(old)


def _first(rows: Sequence[Row]) -> int:
    return min((row.start for row in rows if row.attended), default=0)
