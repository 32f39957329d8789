"""What people type turned into the words and values of a plan: times of day, mixes of fibre, dyes with depths.

What cannot be understood is passed on unchanged, for the reader of plans to refuse.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import combinations, pairwise

from dyeday.craft.yarn import fibres
from dyeday.plan.reading.problems import meant
from dyeday.plan.writing.toml_values import plan_time

_TIME = re.compile(r"(\d{1,2})(?:[:.h ]?(\d\d))?\s*(?:h|uhr|o'clock)?\s*([ap])?\.?(?:m\.?)?\s*(\+1)?", re.IGNORECASE)
_NAMED = {"noon": 720, "midday": 720, "midnight": 1440}
_SHARE = r"(\d{1,6}(?:\.\d{1,6}|,\d(?!\d))?)\s*%?"
_DYE_WITH_DEPTH = (
    r"(?P<dye>.+?)[\s=:]+(?P<depth>\d*[.,]?\d+)\s*%?(?:\s+(?:and\s+)?|$)",
    r"(?P<depth>\d*[.,]?\d+)\s*%?\s+(?:of\s+)?(?P<dye>.+?)(?:\s+and\s+|$)",
)
LONGEST_PART = 200
_SEPARATORS = re.compile(r"[,;/+&]|\band\b")


def word_of(typed: str, words: Sequence[str]) -> str:
    """Return the one of ``words`` that is meant: by its own name, another name people use, or its last word."""
    by_name = {word.casefold(): word for word in words}
    plain = typed.strip().casefold()
    last = plain.split()[-1].removesuffix("s") if plain else ""
    return by_name.get(plain) or meant(plain, words) or by_name.get(last) or typed


def time_of(typed: str) -> str:
    """Return "9", "9 am", "9.30" or "17h30" as "09:00" …; "24:00" and "midnight" are "00:00+1"."""
    plain = typed.strip().casefold()
    if plain in _NAMED:
        return plan_time(_NAMED[plain])
    match = _TIME.fullmatch(plain)
    if match is None:
        return typed
    hour, minute = int(match[1]), int(match[2] or 0)
    if match[3]:
        if not 1 <= hour <= 12:
            return typed
        hour = hour % 12 + (12 if match[3] == "p" else 0)
    if minute > 59 or hour * 60 + minute > 1440:
        return typed
    return plan_time(hour * 60 + minute + (1440 if match[4] else 0))


def stop_of(typed: str, start: str) -> str:
    """Return when a day stops: "1 am" is "01:00+1", as is any hour before 06:00 that is not after ``start``."""
    stop = time_of(typed)
    return f"{stop}+1" if re.fullmatch(r"0[0-5]:\d\d", stop) and stop <= time_of(start) else stop


def span_of(typed: str) -> str:
    """Return "1 pm to 1.30 pm" as "13:00-13:30"."""
    ends = re.split(r"\s*(?:[-–—]|\bto\b|\btill?\b|\buntil\b)\s*", typed.strip())
    return "-".join(map(time_of, ends)) if len(ends) == 2 else typed


def mix_of(typed: str) -> list[tuple[str, str]]:
    """Return "75 superwash merino, 25 nylon", "75/25 SW merino nylon" or "merino" as names with shares in %.

    A name alone has 100, one name without a share the rest; else its share is "?". A name said twice comes twice.
    """
    plain = re.sub(r"\bsw\b", "superwash", typed, flags=re.IGNORECASE)
    pieces = [piece.strip() for piece in re.split(_SHARE, plain)]
    shares = [share.replace(",", ".") for share in pieces[1::2]]
    between = [_names(piece) for piece in pieces[::2]]
    names = [name for each in between for name in each]
    if len(shares) > 1 and sum(map(bool, between)) == 1 and not any(between[1:-1]):  # all shares on one side
        names = names if len(names) == len(shares) else _fibres_in(" ".join(names), len(shares)) or names
        pairs = list(zip(names, shares, strict=False))
        return pairs if len(names) == len(shares) else [*pairs, ("?", "?")]
    behind = bool(between[0])  # "merino 75, nylon 25"
    pairs = []
    for n, own in enumerate(between):
        share = [*shares, ""][n] if behind else ["", *shares][n]
        bearer = len(own) - 1 if behind else 0
        pairs += [(name, share if m == bearer else "") for m, name in enumerate(own)]
        if share and not own:
            pairs.append(("?", share))
    return _with_the_rest(pairs)


def _names(typed: str) -> list[str]:
    return [name for part in _SEPARATORS.split(typed) if (name := " ".join(part.split()))]


def _fibres_in(typed: str, count: int) -> list[str]:
    """Return ``count`` known fibres that the words of ``typed`` are one after another, none where they are not."""
    words = typed.split()
    for cuts in combinations(range(1, min(len(words), 12)), count - 1):
        ends = (0, *cuts, len(words))
        names = [" ".join(words[a:b]) for a, b in pairwise(ends)]
        if all(_is_fibre(name) for name in names):
            return names
    return []


def _is_fibre(name: str) -> bool:
    try:
        return bool(fibres.find(name))
    except fibres.UnknownFibreError:
        return False


def _with_the_rest(pairs: list[tuple[str, str]]) -> list[tuple[str, str]]:
    left = 100 - sum(float(share) for _, share in pairs if share)
    open_ones = [name for name, share in pairs if not share]
    rest = f"{left:g}" if len(open_ones) == 1 and left > 0 else "?"
    return [(name, share or rest) for name, share in pairs]


def dyes_of(typed: str, known: Sequence[str]) -> list[tuple[str, str]]:
    """Return "Ochre 1.5, Navy" or "1.5 % Ochre and Navy" as dyes with depths in %, 1 where none is typed.

    The beginning of a known name is enough.
    """
    out: list[tuple[str, str]] = []
    for part in (part.strip() for part in re.split(r"(?<!\d),|,(?!\d)|[;+&]", typed)):
        if part:
            out += _dyes_in(part, known)
    return out


def _dyes_in(part: str, known: Sequence[str]) -> list[tuple[str, str]]:
    if _dye(part, known) in known or len(part) > LONGEST_PART:
        return [(_dye(part, known), "1")]
    alone = [(part, "1")]
    for way in _DYE_WITH_DEPTH:
        matches = list(re.finditer(way, part))
        dyes = [(_dye(match["dye"].strip(), known), _decimal(match["depth"])) for match in matches]
        if "".join(match[0] for match in matches) != part:
            continue
        if all(name in known for name, _ in dyes):
            return dyes
        alone = dyes if len(dyes) == 1 else alone
    halves = [half.strip() for half in re.split(r"\band\b", part)]
    return [dye for half in halves for dye in _dyes_in(half, known)] if len(halves) > 1 and all(halves) else alone


def _dye(name: str, known: Sequence[str]) -> str:
    begun = [dye for dye in known if dye.casefold().startswith(name.casefold())]
    exact = [dye for dye in begun if dye.casefold() == name.casefold()]
    return exact[0] if exact else begun[0] if len(begun) == 1 else name


def _decimal(depth: str) -> str:
    plain = depth.replace(",", ".")
    return f"0{plain}" if plain.startswith(".") else plain
