"""Flags about quality and safety: every rule in one table, and the flags they raise on a day.

A rule is one small function of the day, one batch and now. A flag, once raised, closes only by being resolved
with a reason; work done since is shown beside it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

from dyeday.quick_dataclass import dataclass
from dyeday.terms import FlagId, ReadingKind, State
from dyeday.track.day.batch_record import BatchRecord, Resolved
from dyeday.track.day.day_state import Day
from dyeday.track.flags import (
    drying,
    exhausting,
    heating,
    holding,
    power,
    rinsing,
    soaking,
    sour,
    standing,
    stock,
    strength,
)
from dyeday.track.flags.rule import Finder, Flag, RaisedFlag
from dyeday.track.timestamp import Now

__all__ = [
    "DAY_RULES",
    "RULES",
    "USUAL_REASONS",
    "Flag",
    "Rule",
    "flags_of",
    "flags_of_batch",
    "flags_of_day",
    "one_for_each_cause",
    "open_flags",
]


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule's id, the words of the screen for it, and its function."""

    id: FlagId
    short: str
    find: Finder


RULES: dict[FlagId, Rule] = {
    rule.id: rule
    for rule in (
        Rule(FlagId.MISSED_ACID_SOAK, "no acid soak", soaking.missed_acid_soak),
        Rule(FlagId.NO_ACID, "no acid", soaking.no_acid),
        Rule(FlagId.WEAK_ACID, "weak acid", strength.weak_acid),
        Rule(FlagId.SOUR_BATH, "sour bath", sour.sour_bath),
        Rule(FlagId.SHORT_SOAK, "short soak", soaking.short_soak),
        Rule(FlagId.DRIED_OUT, "dried out", heating.dried_out),
        Rule(FlagId.SHORT_FIX, "short fix", heating.short_fix),
        Rule(FlagId.SCORCH_RISK, "may scorch", power.scorch_risk),
        Rule(FlagId.UNDER_EXHAUSTED, "colour left", exhausting.under_exhausted),
        Rule(FlagId.NO_BATH_READING, "no bath look", exhausting.no_bath_reading),
        Rule(FlagId.RINSED_HOT, "rinsed hot", rinsing.rinsed_hot),
        Rule(FlagId.FELTING_RISK, "may felt", rinsing.felting_risk),
        Rule(FlagId.BLEEDING, "bleeds", rinsing.bleeding),
        Rule(FlagId.NOT_DRY, "not dry", drying.not_dry),
        Rule(FlagId.OVER_FULL, "over full", holding.over_full),
        Rule(FlagId.CROWDED_RACK, "rack crowded", holding.crowded_rack),
        Rule(FlagId.OVERLOADED_CIRCUIT, "overload", power.overloaded_circuit),
        Rule(FlagId.BOIL_DRY, "ran low", power.boil_dry),
        Rule(FlagId.MIXED_LOT, "two mixes", holding.mixed_lot),
        Rule(FlagId.OVERDUE, "alarm not answered", standing.overdue),
    )
}

DAY_RULES: dict[FlagId, tuple[str, Callable[[Day, Now], Iterable[RaisedFlag]]]] = {
    FlagId.SHORT_STOCK: ("short stock", stock.short_stock),
}
"""Rules about the whole day: id to the screen's words and the function; their flags name no batch."""


def flag_words(rule: str) -> str:
    """Return the words of a flag's id that people read: "no acid soak"; an id of another version as it stands."""
    found = next((each for each in FlagId if each.value == rule), None)
    if found is None:
        return rule
    return RULES[found].short if found in RULES else DAY_RULES[found][0]


BEYOND = (
    FlagId.WEAK_ACID, FlagId.OVER_FULL, FlagId.CROWDED_RACK, FlagId.OVERLOADED_CIRCUIT, FlagId.BOIL_DRY,
    FlagId.MIXED_LOT, FlagId.OVERDUE,
)  # fmt: skip
"""Rules that look beyond the batch, at baths, units, others and alarms: of an earlier session they cannot be asked
again, so a batch that came over brings what they raised."""

USUAL_REASONS = (
    "put right and checked",
    "checked by hand, it is good",
    "recorded late, it was done",
    "accepted as it is",
    "sold as second or one-off",
)
"""What a digit picks when a flag is resolved; a text of one's own may be added."""


def flags_of_batch(day: Day, batch: BatchRecord, now: Now) -> list[Flag]:
    """Return a batch's flags, open and resolved, in the order of the rules.

    What one rule raised before a resolution is one resolved flag; what it raised since is one open flag.
    """
    if not batch.stays:
        return []
    now = day.steady(now)
    flags: list[Flag] = []
    for rule in RULES.values():
        found = list(_found(rule, day, batch, now))
        if found:
            flags += _settled(rule.id, found, batch.resolved, now, batch)
    return flags


def _found(rule: Rule, day: Day, batch: BatchRecord, now: Now) -> Iterator[RaisedFlag]:
    if batch.carried is None or rule.id not in BEYOND:
        yield from rule.find(day, batch, now)
        return
    came = batch.carried
    yield from (RaisedFlag(d.since, d.why, d.remedy) for d in came.doubts if d.rule == rule.id)
    yield from (raised for raised in rule.find(day, batch, now) if raised.since >= came.at.utc)


def flags_of_day(day: Day, now: Now) -> list[Flag]:
    """Return the flags about the whole day, open and resolved."""
    now = day.steady(now)
    flags: list[Flag] = []
    for rule, (_, find) in DAY_RULES.items():
        flags += _settled(rule, find(day, now), day.resolved, now, None)
    return flags


def _settled(
    rule: FlagId, found: Iterable[RaisedFlag], resolutions: Iterable[Resolved], now: Now, batch: BatchRecord | None
) -> Iterator[Flag]:
    raised = sorted((r for r in found if r.since <= now.utc), key=lambda r: r.since)
    for resolution in (r for r in resolutions if r.rule == rule):
        settled = [r for r in raised if r.since <= resolution.at]
        raised = [r for r in raised if r.since > resolution.at]
        if settled:
            yield replace(_flag(batch, rule, settled), resolved=resolution)
    if raised:
        yield _flag(batch, rule, raised)


def _flag(batch: BatchRecord | None, rule: FlagId, raised: list[RaisedFlag]) -> Flag:
    first, last = raised[0], raised[-1]
    if batch is None:
        return Flag(None, rule, last.why, last.remedy, first.since)
    whys = "; ".join(list(dict.fromkeys(r.why for r in raised))[:3])
    causes = frozenset(r.cause for r in raised if r.cause)
    evidence = _evidence(batch, last)
    return Flag(batch.no, rule, whys, last.remedy, first.since, None, evidence, (batch.no,), causes)


def one_for_each_cause(flags: Iterable[Flag]) -> list[Flag]:
    """Return flags with those of several batches that have one cause put together, at the place of the first."""
    out: list[Flag] = []
    for flag in flags:
        same = (n for n, other in enumerate(out) if other.rule is flag.rule and other.causes & flag.causes
                and (other.resolved is None) == (flag.resolved is None))  # fmt: skip
        n = next(same, None)
        if n is None:
            out.append(flag)
        else:
            first = out[n]
            out[n] = replace(
                first,
                since=min(first.since, flag.since),
                batches=(*first.batches, *flag.batches),
                causes=first.causes | flag.causes,
            )
    return out


DONE = {State.SOAK: "soaked", State.FIX: "heated", State.RINSE: "rinsed"}
LOOKED = {
    ReadingKind.EYE: "bath", ReadingKind.CLOTH: "cloth", ReadingKind.PH: "pH",
    ReadingKind.SWATCH: "against the swatch",
}  # fmt: skip
"""what is said of a flag's evidence: states gone through again, and readings that are a look"""


def _evidence(batch: BatchRecord, raised: RaisedFlag) -> str:
    """Return what was done after a flag was raised: states gone through again, and cloths and baths looked at."""
    done = [DONE[stay.state] for stay in batch.stays if stay.since.utc > raised.since and stay.state in DONE]
    looks = [
        f"{LOOKED[reading.name]} {reading.value}"
        for reading in batch.readings
        if reading.at.utc > raised.since and reading.name in LOOKED
    ]
    return ", ".join([*(state for state in dict.fromkeys(done)), *looks])


def flags_of(day: Day, now: Now) -> list[Flag]:
    """Return every flag of the day, open and resolved: the day's own, then batch by batch."""
    return one_for_each_cause(
        [*flags_of_day(day, now), *(flag for batch in day.live for flag in flags_of_batch(day, batch, now))]
    )


def open_flags(day: Day, now: Now) -> list[Flag]:
    """Return the flags that are still open, in the order of `flags_of`."""
    return [flag for flag in flags_of(day, now) if flag.resolved is None]
