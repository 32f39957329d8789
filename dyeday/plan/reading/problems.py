"""What is wrong with a text a person wrote: one value for every problem, wherever it was found."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from difflib import SequenceMatcher, get_close_matches

from dyeday.plan.reading.meant import meant
from dyeday.quick_dataclass import dataclass


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


def closest(word: str, known: Iterable[str]) -> str | None:
    """Return the known word that ``word`` means or is closest to in its letters, or None where none is close."""
    words = list(known)
    if (other := meant(word, words)) is not None:
        return other
    close = get_close_matches(word[:80].casefold(), [item.casefold() for item in words], n=1, cutoff=0.55)
    return next(w for w in words if w.casefold() == close[0]) if close else None


def undefined(name: str, known: Collection[str]) -> bool:
    """Tell whether ``name`` is not defined.

    An empty name among the ``known`` is one that could not be read: a name close to no other may be that one, and
    is left until it can be read.
    """
    return name not in known and ("" not in known or closest(name, known) is not None)


MOST_MEANT, MOST_KNOWN = 4, 12


def _likeness(said: str, known: str) -> float:
    return SequenceMatcher(None, known.casefold(), said).ratio()


def near(word: str, known: Iterable[str]) -> str:
    """Return the known words closest to ``word`` as a suggestion, or all the known words.

    Several where they are as close as each other: "tray" may be any of three trays.
    """
    words = list(dict.fromkeys(item for item in known if item))
    right = closest(word, words)
    if right is not None:
        said = word[:80].casefold()
        best = _likeness(said, right)
        by_letters = right != meant(word, words)
        alike = [item for item in words if item == right or (by_letters and _likeness(said, item) == best)]
        *most, last = (repr(item) for item in alike[:MOST_MEANT])
        return f"did you mean {', '.join(most)} or {last}?" if most else f"did you mean {last}?"
    if not words:
        return "none is defined"
    shown = ", ".join(words[:MOST_KNOWN]) + (", …" if len(words) > MOST_KNOWN else "")
    return f"known are {shown}"
