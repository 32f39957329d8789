"""Flags about quality and safety: every rule in one table, and the flags they raise on a day."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from itertools import chain

from dyeday.grouping import grouped, joined
from dyeday.quick_dataclass import dataclass
from dyeday.terms import FLAGS_OF_DAY, FlagId, ReadingKind, State
from dyeday.text import ordinal
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.flags import acid_and_soak, circuits, exhausting, heating, rinsing, room_and_stock
from dyeday.track.flags.rule import Flag as Flag
from dyeday.track.flags.rule import RaisedFlag, clears
from dyeday.track.timestamp import Moment


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule: its flag's name on screen, its function, and what `dyeday help flags` says of it."""

    id: FlagId
    short: str
    find: Callable[..., Iterable[RaisedFlag]]
    """of (day, batch, now); of (day, now) for a flag of `FLAGS_OF_DAY`"""
    meaning: str
    thresholds: tuple[str, ...] = ()
    """keys of ``[rules]`` that the help names with it"""
    beyond_record: bool = False
    """whether it asks about what the record of a carried batch lacks: other batches, units, alarms"""
    before_dye: bool = False
    """whether it also applies to yarn neither dyed nor read"""
    before_rinse: bool = False
    """whether its remedy comes too late after the rinse: the advice names it before"""
    of_yarn: bool = True
    """whether it puts the yarn in question: a lot and a parcel then show it while it is open"""
    settled: Callable[[Day, BatchRecord, datetime, Moment], bool] | None = None
    """whether a later reading settles a carried flag that was raised at that time"""
    of_reading: bool = False
    """whether it is about a reading of one batch: batches do not share such a flag"""


# fmt: off
RULES: dict[FlagId, Rule] = {
    rule.id: rule
    for rule in (
        Rule(FlagId.MISSED_ACID_SOAK, "no acid soak", acid_and_soak.missed_acid_soak,
             "Dye went on yarn that needs acid in its soak, with no soak or no acid on record.",
             ("ph_limit",), before_rinse=True),
        Rule(FlagId.NO_ACID, "no acid", acid_and_soak.no_acid,
             "A batch left its heat with no acid on record and none left in a kept bath.",
             ("ph_limit",), before_rinse=True),
        Rule(FlagId.WEAK_ACID, "weak acid", acid_and_soak.weak_acid,
             "The last pH of soak or bath, or one after the heat, is too high, or too little acid is left.",
             ("ph_limit", "acid_share"), beyond_record=True, before_rinse=True, settled=acid_and_soak.acid_put_right),
        Rule(FlagId.SOUR_BATH, "sour bath", acid_and_soak.sour_bath,
             "The bath of an immersed layer is far more acidic than its dyes need.", ("ph_low",), of_reading=True),
        Rule(FlagId.SHORT_SOAK, "short soak", acid_and_soak.short_soak,
             "Dye went on before the yarn had soaked as long as its base needs.", ("soak",)),
        Rule(FlagId.DRIED_OUT, "dried out", heating.dried_out,
             "Painted yarn waited for heat longer than its cover allows.", ("open", "lidded", "wrapped")),
        Rule(FlagId.SHORT_FIX, "short fix", heating.short_fix,
             "A batch left its heat before it had enough minutes at full heat.", ("fix_share",),
             before_rinse=True),
        Rule(FlagId.SCORCH_RISK, "may scorch", heating.scorch_risk,
             "A microwave burst was much longer than the load needs, or came without its rest.", ("scorch_factor",)),
        Rule(FlagId.UNDER_EXHAUSTED, "colour left", exhausting.under_exhausted,
             "The bath kept more colour than its dyes should leave.", ("exhaustion",), of_reading=True,
             before_rinse=True),
        Rule(FlagId.NO_BATH_READING, "no bath look", exhausting.no_bath_reading,
             "A batch was rinsed without a look at what was left in its bath.", ("look",),
             beyond_record=True, of_reading=True),
        Rule(FlagId.RINSED_HOT, "rinsed hot", rinsing.rinsed_hot,
             "Yarn met rinse water much colder or warmer than itself, or could felt and had not cooled.", ("shock",)),
        Rule(FlagId.FELTING_RISK, "may felt", rinsing.felting_risk,
             "Yarn was hotter in a bath than its fibre can take, or went cold into a hot bath.", ("felting",)),
        Rule(FlagId.BLEEDING, "bleeds", rinsing.bleeding,
             f"A white cloth still took up colour after a rinse; {rinsing.CLOTH_RULE}.", ("cloth",), of_reading=True),
        Rule(FlagId.NOT_DRY, "not dry", rinsing.not_dry,
             "A finished batch weighs more than dry yarn does, or its weight still changes.", ("dry",),
             of_reading=True),
        Rule(FlagId.OVER_FULL, "over full", room_and_stock.over_full,
             "A unit holds more than it has room for.", beyond_record=True, before_dye=True),
        Rule(FlagId.CROWDED_RACK, "rack crowded", room_and_stock.crowded_rack,
             "A rack holds more skeins than it has room for: they dry more slowly.",
             beyond_record=True, before_dye=True, of_yarn=False),
        Rule(FlagId.OVERLOADED_CIRCUIT, "overload", circuits.overloaded_circuit,
             "Units running together draw more than their circuit or lead allows.",
             beyond_record=True, of_yarn=False),
        Rule(FlagId.BOIL_DRY, "ran low", heating.boil_dry,
             "A unit ran so long on one fill that its tank is near empty.", ("reserve",), beyond_record=True),
        Rule(FlagId.LEFT_ALONE, "heat unattended", heating.left_alone,
             "Heat was on while you were out of the house.", beyond_record=True),
        Rule(FlagId.MIXED_LOT, "two mixes", room_and_stock.mixed_lot,
             "Skeins that must match were dyed from two mixes.", beyond_record=True),
        Rule(FlagId.OVERDUE, "alarm not answered", heating.overdue,
             "The alarm of a heat that was over was not answered.", ("overdue",), beyond_record=True),
        Rule(FlagId.SHORT_STOCK, "short stock", room_and_stock.short_stock,
             "The day needs more dye, acid, yarn or extras than you have."),
    )
}
# fmt: on


def flag_words(rule: str) -> str:
    """Return the plain name of a flag's id, such as "no acid soak"; an id of another version unchanged."""
    return next((each.short for each in RULES.values() if each.id.value == rule), rule)


def flag_title(flag: Flag) -> str:
    """Return a flag's plain name, and that an earlier session raised it: "ran low, carried over"."""
    return flag_words(flag.rule.value) + (", carried over" if flag.is_carried else "")


USUAL_REASONS = (
    "put right and checked",
    "checked by hand, it is good",
    "recorded late, it was done",
    "accepted as it is",
    "sold as second or one-off",
)
"""Reasons for clearing a flag, picked by a digit; the dyer may add words."""


FLAGS_OF_BATCH = tuple(rule for rule in RULES if rule not in FLAGS_OF_DAY)
BEFORE_RINSE = tuple(rule.id for rule in RULES.values() if rule.before_rinse)
NOT_OF_YARN = frozenset(rule.id.value for rule in RULES.values() if not rule.of_yarn)
_UNDYED = (State.WAITING, State.SOAK, State.SET_ASIDE)


def flags_of_batch(day: Day, batch: BatchRecord, now: Moment, rules: Iterable[FlagId] = FLAGS_OF_BATCH) -> list[Flag]:
    """Return a batch's flags in the order of ``rules``: of each, one for each clearing, then one that is open."""
    now = day.on_day_clock(now)
    undyed = not batch.readings and all(stay.state in _UNDYED for stay in batch.stays)
    flags: list[Flag] = []
    for rule in rules:
        if RULES[rule].before_dye or not undyed:
            flags += _flags(day, rule, _raised(RULES[rule], day, batch, now), now, batch)
    return flags


def _raised(rule: Rule, day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    if batch.carried is None or not rule.beyond_record:
        yield from rule.find(day, batch, now)
        return
    carried = batch.carried
    for flag in (flag for flag in carried.flags if flag.rule == rule.id):
        if rule.settled is not None and rule.settled(day, batch, flag.since, now):
            continue
        # A fill or a circuit of today is another cause than yesterday's of the same name.
        for cause in [f"{carried.session} {cause}" for cause in flag.causes] or [""]:
            yield RaisedFlag(flag.since, flag.why, flag.remedy, cause=cause)
    yield from (raised for raised in rule.find(day, batch, now) if batch.is_of_session(raised.since))


def flags_of_day(day: Day, now: Moment) -> list[Flag]:
    """Return the flags about the whole day, open and cleared."""
    now = day.on_day_clock(now)
    return [flag for rule in FLAGS_OF_DAY for flag in _flags(day, rule, RULES[rule].find(day, now), now, None)]


def flags_by_batch(day: Day, now: Moment) -> dict[str, list[Flag]]:
    """Return the flags of each batch but split ones, by its number; those about the whole day under ""."""
    return {"": flags_of_day(day, now)} | {batch.no: flags_of_batch(day, batch, now) for batch in day.unsplit}


def _flags(
    day: Day, rule: FlagId, raised: Iterable[RaisedFlag], now: Moment, batch: BatchRecord | None
) -> Iterator[Flag]:
    """Yield one flag for each clearing that had an effect, then an open one for the rest."""
    rest = sorted((r for r in raised if r.since <= now.utc), key=lambda r: r.since)
    for clearing in (c for c in (day if batch is None else batch).cleared if c.rule == rule):
        cleared = [r for r in rest if clears(day, batch, clearing, r.since)]
        rest = [r for r in rest if r not in cleared]
        if cleared:
            yield replace(_flag(batch, rule, cleared), cleared=clearing)
    if rest:
        yield _flag(batch, rule, rest)


def _flag(batch: BatchRecord | None, rule: FlagId, raised: list[RaisedFlag]) -> Flag:
    """Return one flag for all of ``raised``: since the first, with the remedy of the last."""
    first, last = raised[0], raised[-1]
    if batch is None:
        return Flag(None, rule, last.why, last.remedy, first.since)
    whys = "; ".join(list(dict.fromkeys(r.why for r in raised))[:3])
    causes = frozenset(r.cause or f"{r.since} {r.why}" for r in raised if not RULES[rule].of_reading)
    evidence, came = _evidence(batch, last), batch.carried
    is_carried = came is not None and first.since < came.at.utc
    return Flag(batch.no, rule, whys, last.remedy, first.since, None, evidence, (batch.no,), causes, is_carried)


def one_for_each_cause(flags: Iterable[Flag]) -> list[Flag]:
    """Return flags with those that share a cause joined, at the place of the first."""
    return [_as_one(group) for group in joined(([flag] for flag in flags), _is_one_cause, list.__add__)]


def _is_one_cause(group: list[Flag], alone: list[Flag]) -> bool:
    (flag,), first = alone, group[0]
    same = flag.rule is first.rule and (flag.cleared is None) == (first.cleared is None)
    return same and any(flag.causes & one.causes for one in group)


def _as_one(flags: Sequence[Flag]) -> Flag:
    return replace(
        flags[0],
        since=min(flag.since for flag in flags),
        why=_of_each((flag.about, flag.why) for flag in flags),
        remedy=_of_each((flag.about, flag.remedy) for flag in flags),
        evidence=_of_each((flag.about, flag.evidence) for flag in flags),
        batches=tuple(no for flag in flags for no in flag.batches),
        causes=frozenset().union(*(flag.causes for flag in flags)),
    )


def _of_each(said: Iterable[tuple[str, str]]) -> str:
    """Return a text that all share, else each with its batches: "01: heated; 02+03: rinsed"."""
    about = grouped((text, no) for no, text in said)
    if len(about) == 1:
        return next(iter(about))
    return "; ".join(f"{'+'.join(numbers)}: {text}" for text, numbers in about.items() if text)


DONE_SINCE = {State.SOAK: "soaked", State.RINSE: "rinsed"}
"""states whose repetition is shown beside a flag"""
READ_SINCE = {
    ReadingKind.EYE: "bath", ReadingKind.CLOTH: "cloth", ReadingKind.PH: "pH",
    ReadingKind.SWATCH: "beside the kept sample",
}  # fmt: skip
"""readings that are shown beside a flag"""


def _evidence(batch: BatchRecord, raised: RaisedFlag) -> str:
    """Return the soaks, rinses, readings, and heats now over, since a flag was raised."""
    did = [(stay.since, DONE_SINCE[stay.state]) for stay in batch.stays if stay.state in DONE_SINCE]
    over = ((heat, batch.layer_no(heat.layer)) for heat in batch.heats if heat.end is not None)
    did += [(h.start, f"{ordinal(h.heat_no)} heat{f' of layer {layer}' if layer > 1 else ''}") for h, layer in over]
    done = [what for at, what in sorted(did) if at.utc > raised.since]
    since = (reading for reading in batch.readings if reading.at.utc > raised.since)
    read = [f"{READ_SINCE[one.name]} {one.value}" for one in since if one.name in READ_SINCE]
    return ", ".join([*dict.fromkeys(done), *read])


def flags_of(day: Day, now: Moment) -> list[Flag]:
    """Return all flags, open and cleared: those about the whole day, then batch by batch, a shared one once."""
    return one_for_each_cause(chain.from_iterable(flags_by_batch(day, now).values()))


def open_flags(day: Day, now: Moment) -> list[Flag]:
    """Return the flags that are still open, in the order of `flags_of`."""
    return [flag for flag in flags_of(day, now) if flag.cleared is None]


def to_check(day: Day, now: Moment) -> str:
    """Return the open flags by batch and name, "09 weak acid; 03+04 over full"; "" where none is open."""
    return "; ".join(f"{flag.about or 'the day'} {flag_title(flag)}" for flag in open_flags(day, now))
