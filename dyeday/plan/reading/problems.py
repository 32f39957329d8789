"""The problems of a text, and the known word that a typed one may mean."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from difflib import SequenceMatcher, get_close_matches

from dyeday.quick_dataclass import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One problem: its line (from 1), message and hint."""

    line: int
    what: str
    hint: str

    def __str__(self) -> str:
        return f"{self.line}: {self.what}; {self.hint}"


class PlanError(ValueError):
    """A plan that cannot be used; ``problems`` holds every reason, in the order of their lines."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(sorted(problems, key=lambda p: p.line))
        super().__init__("\n".join(str(problem) for problem in self.problems))


def closest(word: str, known: Iterable[str]) -> str | None:
    """Return the known word that ``word`` means or is closest to in its letters, or None where none is close."""
    words = list(known)
    if (other := synonym(word, words)) is not None:
        return other
    close = get_close_matches(word[:80].casefold(), [item.casefold() for item in words], n=1, cutoff=0.55)
    return next(w for w in words if w.casefold() == close[0]) if close else None


def undefined(name: str, known: Collection[str]) -> bool:
    """Return whether ``name`` is not defined.

    An empty name among the ``known`` could not be read; a name close to no other may be that one.
    """
    return name not in known and ("" not in known or closest(name, known) is not None)


MOST_MEANT, MOST_KNOWN = 4, 12


def _likeness(typed: str, known: str) -> float:
    return SequenceMatcher(None, known.casefold(), typed).ratio()


def similar(word: str, known: Iterable[str]) -> str:
    """Return the known words closest to ``word`` as a suggestion, several if as close as each other; else all."""
    words = list(dict.fromkeys(item for item in known if item))
    if (right := closest(word, words)) is not None:
        spelt = word[:80].casefold()
        best = _likeness(spelt, right)
        by_letters = right != synonym(word, words)
        alike = [item for item in words if item == right or (by_letters and _likeness(spelt, item) == best)]
        *most, last = (repr(item) for item in alike[:MOST_MEANT])
        return f"did you mean {', '.join(most)} or {last}?" if most else f"did you mean {last}?"
    if not words:
        return "none is defined"
    shown = ", ".join(words[:MOST_KNOWN]) + (", …" if len(words) > MOST_KNOWN else "")
    return f"known are {shown}"


_MEANT = {
    "item": ("name", "title", "customer", "for"), "name": ("title", "label", "item", "called"),
    "skeins": ("quantity", "qty", "count", "number", "amount", "pieces", "how_many"),
    "units": ("quantity", "qty", "count", "number", "how_many"),
    "colourway": ("color", "colour", "colorway", "recipe", "colours", "colors"),
    "sections": ("colors", "colours", "parts", "stripes"), "swatch": ("color", "colour", "hex", "rgb"),
    "dyes": ("dye", "colors", "colours"), "share": ("percent", "part", "pct"),
    "fix": ("heat", "heats", "heating", "steam", "set", "heat_set", "steaming", "simmer", "microwave"),
    "how": ("method", "technique", "style", "way"), "base": ("yarn", "wool"),
    "fibre": ("fiber", "content", "composition", "blend", "material", "yarn"),
    "skein": ("hank", "weight", "grams", "mass", "size"),
    "length": ("yardage", "meterage", "metres", "meters", "yards"), "holds": ("capacity", "size", "fits", "room"),
    "kind": ("type", "sort", "what"), "kit": ("equipment", "tools", "gear"), "power": ("watts", "wattage"),
    "tank": ("reservoir", "volume"), "warm_up": ("preheat", "heat_up", "warmup"),
    "stop": ("end", "finish", "until", "to"), "start": ("begin", "from", "begins"),
    "breaks": ("lunch", "pause", "pauses"), "due": ("deadline", "by", "wanted"),
    "alkalinity": ("kh", "dkh", "carbonate_hardness", "ta"), "hardness": ("gh", "dh", "dgh", "total_hardness"),
    "solution": ("strength", "stock", "concentration"), "strength": ("concentration", "percent"),
    "pot": ("stockpot", "stock pot", "dyepot", "dye pot", "slow cooker", "crock", "crock pot", "crockpot", "urn",
            "kettle", "jam kettle", "jam pan", "pan", "saucepan", "boiler", "tea urn", "hob", "stove", "roaster",
            "electric roaster", "rice cooker"),
    "steamer": ("vegetable steamer", "bamboo steamer", "steam pot", "steam box"),
    "pegs": ("rack", "drying rack", "line", "washing line", "clothes line", "airer", "clothes horse", "hangers",
             "hooks"),
    "tray": ("tub", "basin", "bucket", "bowl", "bath", "soaking tub", "roasting tin", "pan for soaking", "dishpan",
             "washing up bowl"),
    "spinner": ("spin dryer", "salad spinner", "washing machine", "centrifuge"), "microwave": ("microwave oven",),
    "sink": ("tap", "wash basin"), "nylon": ("polyamid",),
    "vinegar": ("white vinegar", "spirit vinegar", "distilled vinegar", "acetic acid", "vinegar essence",
                "essence"),
    "citric": ("citric acid", "citric acid powder"),
    "strip": ("paper", "ph paper", "ph strip", "test strip", "indicator strip"),
    "meter": ("ph meter", "pen", "probe"), "mini": ("mini skein",), "blank": ("sock blank", "knitted blank"),
    "painted": ("hand painted", "handpainted", "paint"), "speckled": ("speckle", "sprinkled", "powder"),
    "immersed": ("kettle dyed", "immersion", "dip", "dipped", "dip dyed", "pot dyed", "glaze", "glazed"),
    "order": ("orders",), "soak": ("soaking", "presoak", "wet"), "paint": ("dye", "dyeing", "painting", "speckle"),
    "cool": ("cooling",), "rinse": ("wash", "washing", "rinsing"), "dry": ("hang", "drying"),
    "done": ("finished", "finish", "complete"), "set-aside": ("aside", "hold", "set aside"),
    "scrapped": ("scrap", "felted", "ruined"),
}  # fmt: skip


def synonym(word: str, known: Collection[str]) -> str | None:
    """Return the known word that ``word`` is another word for, or None."""
    spelt = " ".join(word[:80].casefold().replace("-", " ").split())
    forms = {spelt, spelt.replace(" ", "_"), spelt.replace("_", " "), spelt.removesuffix("s")}
    return next((right for right, others in _MEANT.items() if right in known and forms & set(others)), None)
