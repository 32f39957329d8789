"""What is wrong with a text a person wrote: one value for every problem, wherever it was found."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong: its line (from 1), what it is, and what would be right."""

    line: int
    what: str
    would_be_right: str

    def __str__(self) -> str:
        return f"{self.line}: {self.what}; {self.would_be_right}"


class PlanError(ValueError):
    """A plan that cannot be used; ``problems`` holds every reason, in the order of their lines."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(sorted(problems, key=lambda p: p.line))
        super().__init__("\n".join(str(problem) for problem in self.problems))


def near(word: str, known: Iterable[str]) -> str:
    """Return the known word closest to ``word`` as a suggestion, or the known words."""
    words = [str(item) for item in known]
    close = get_close_matches(word.casefold(), [item.casefold() for item in words], n=1, cutoff=0.55)
    if close:
        return f"did you mean {next(w for w in words if w.casefold() == close[0])!r}?"
    if not words:
        return "none is defined"
    shown = ", ".join(words[:8]) + (", …" if len(words) > 8 else "")
    return f"known are {shown}"
