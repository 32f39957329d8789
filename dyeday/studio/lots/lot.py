"""One finished lot, worked out from its sessions: plain frozen values that `serialize` turns into JSON and back.

A lot is the done batches dyed from the same mixes, one for each layer. Its number has the date of its day and its
first batch, "260314-03"; on the second session of one date "260314.2-03" (`lot_numbers`). Instants are aware UTC.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from datetime import date as Date  # noqa: N812 - the field is called date
from datetime import datetime
from typing import Any, ClassVar

from dyeday.plan.batches import split_no
from dyeday.plan.model import Acid, Base, Colourway, Dye, Order, Water
from dyeday.quick_dataclass import dataclass
from dyeday.terms import HeatKind, Outcome, ReadingKind, State, Term
from dyeday.track.day.carried import EntryChange
from dyeday.track.flags import NOT_OF_YARN


@dataclass(frozen=True, slots=True)
class LotDye:
    """One dye of one batch: by the recipe, and as recorded; None if nothing was."""

    dye: str
    recipe_g: float
    """powder, whether or not it went on as solution"""
    recipe_ml: float
    """solution; 0 if it went on as powder"""
    used_ml: float | None = None
    """less what was left over, plus the recipe's for layers put on since it was recorded"""
    used_g: float | None = None


@dataclass(frozen=True, slots=True)
class LotAcid:
    """Acid that one batch had."""

    at: datetime
    acid_ml: float
    acid_g: float
    bath: bool = False
    """put into the bath of a unit"""
    kept: bool = False
    """what earlier loads left in kept water"""
    shared: bool = False
    """``bath``: other lots were in it too; else: the amounts are this batch's fraction by weight"""
    of: str = ""
    """the unit whose bath it was put into, else the batch; "" in lots of older versions"""


@dataclass(frozen=True, slots=True)
class LotStay:
    """One stretch in one state; ``until`` is None for the last."""

    state: State
    layer: int
    since: datetime
    until: datetime | None
    minutes: float
    """by the boot clock where that was known; 0 for the last"""
    units: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LotHeat:
    """One stretch of heat: its ``minutes`` at heat, and those that the recipe says, of one dish in a microwave."""

    STORED_AS: ClassVar[Mapping[str, str]] = {"heat_no": "pass_no"}

    layer: int
    heat_no: int
    how: HeatKind
    unit: str | None
    start: datetime
    end: datetime | None
    minutes: float
    planned_min: float


@dataclass(frozen=True, slots=True)
class LotReading:
    """One reading; ``value`` is a number or a word, as its kind has it."""

    at: datetime
    name: ReadingKind
    value: Any
    where: str | None
    state: State
    layer: int
    exhausted_pct: tuple[float, float] | None = None
    """(low, high) if it is a look at the bath, not taken hot"""
    expected_pct: float | None = None


@dataclass(frozen=True, slots=True)
class LotFlag:
    """One flag; ``cleared_at`` is None while it is open."""

    STORED_AS: ClassVar[Mapping[str, str]] = {"cleared_at": "resolved_at", "cleared_why": "resolved_why"}

    rule: str
    """id of the rule, a `FlagId` or one that another version had"""
    why: str
    remedy: str
    since: datetime
    cleared_at: datetime | None = None
    cleared_why: str = ""


@dataclass(frozen=True, slots=True)
class LotChange:
    """An entry corrected, made void or recorded late, or with an approximate time."""

    at: datetime
    """when it happened, as corrected"""
    recorded_at: datetime
    what: EntryChange
    text: str


@dataclass(frozen=True, slots=True)
class LotNote:
    at: datetime
    text: str


@dataclass(frozen=True, slots=True)
class LotBatch:
    """One batch of the lot; ``session`` is the day it was done on."""

    session: str
    no: str
    skeins: int
    wof_g: float
    done_at: datetime
    tag: str = ""
    weighed: bool = False
    """whether ``wof_g`` was weighed; else it is counted"""
    outcome: Outcome = Outcome.FIRST
    overdyed_from: tuple[str, ...] = ()
    mixes: tuple[str, ...] = ()
    """which mix each layer was dyed from"""
    shares: tuple[tuple[str, int], ...] = ()
    """(order's item, skeins)"""
    dyes: tuple[LotDye, ...] = ()
    acids: tuple[LotAcid, ...] = ()
    stays: tuple[LotStay, ...] = ()
    heats: tuple[LotHeat, ...] = ()
    readings: tuple[LotReading, ...] = ()
    flags: tuple[LotFlag, ...] = ()
    notes: tuple[LotNote, ...] = ()
    changes: tuple[LotChange, ...] = ()

    @property
    def went_back(self) -> bool:
        """Whether it was fixed again after rinsing or cooling, with no dye put on between."""
        seen: set[tuple[State, int]] = set()
        for stay in self.stays:
            if stay.state == State.FIX and {(State.COOL, stay.layer), (State.RINSE, stay.layer)} & seen:
                return True
            if stay.state in (State.PAINT, State.WAITING):
                seen.clear()
            seen.add((stay.state, stay.layer))
        return False

    @property
    def open_flags(self) -> tuple[LotFlag, ...]:
        """The open flags that put its yarn in question (`Rule.of_yarn`)."""
        return tuple(flag for flag in self.flags if flag.cleared_at is None and flag.rule not in NOT_OF_YARN)


class LotFactKind(Term):
    """What is known of a lot beside its day's record; values are stored, shown and searched."""

    LOOK = "look"
    MILL_LOT = "mill lot"
    POWDER_LOT = "powder lot"
    SOLUTION_MADE = "solution made"
    NOTE = "note"
    PHOTO = "photo"


@dataclass(frozen=True, slots=True)
class LotFact:
    """Something known of a lot beside its day's record; of a photo, ``text`` is the path of its file."""

    at: datetime
    what: LotFactKind
    text: str
    of: str = ""
    """the dye that a powder lot or a solution is of; "" for the whole lot: all its dyes"""


@dataclass(frozen=True, slots=True)
class Lot:
    """One lot. Recipe and base are as dyed; dyes, acid and water are those of its day's plan at the close."""

    STORED_AS: ClassVar[Mapping[str, str]] = {"planned_mix": "mix", "added": "kept"}
    number: str
    session: str
    session_name: str
    date: Date
    planned_mix: str
    """that of its batches; what was put on is in their ``mixes``"""
    colourway: Colourway
    base: Base
    dyes: tuple[Dye, ...]
    """those of the recipe that the plan has"""
    acid: Acid
    water: Water
    zone: str | None
    """of the day, for showing its times"""
    batches: tuple[LotBatch, ...]
    orders: tuple[Order, ...] = ()
    """orders that got some of it, as that day's plan has them"""
    shelf: tuple[LotFact, ...] = ()
    """mill lot, powder lots and days of the solutions, as the shelf had them when the day was closed"""
    added: tuple[LotFact, ...] = ()
    """what was noted of it afterwards"""
    withdrawn: str = ""
    """why it is withdrawn, as after an entry made void since the close; its values stay"""

    @property
    def skeins(self) -> int:
        """Skeins, minis or blanks in all its batches."""
        return sum(batch.skeins for batch in self.batches)

    @property
    def wof_g(self) -> float:
        """Weight of fibre of all its batches."""
        return sum(batch.wof_g for batch in self.batches)

    @property
    def shares(self) -> tuple[tuple[str, int], ...]:
        """(order's item, skeins) over all its batches."""
        sums: dict[str, int] = {}
        for batch in self.batches:
            for item, count in batch.shares:
                sums[item] = sums.get(item, 0) + count
        return tuple(sums.items())

    @property
    def outcomes(self) -> tuple[Outcome, ...]:
        """Each outcome of its batches once, in their order."""
        return tuple(dict.fromkeys(batch.outcome for batch in self.batches))

    @property
    def beside_sample(self) -> tuple[str, ...]:
        """How it compared with the kept sample, in order of time."""
        readings = (reading for batch in self.batches for reading in batch.readings)
        read = [(reading.at, str(reading.value)) for reading in readings if reading.name == ReadingKind.SWATCH]
        read += [(fact.at, fact.text) for fact in self.added if fact.what is LotFactKind.LOOK]
        return tuple(look for _, look in sorted(read))

    def facts_of(self, what: LotFactKind) -> tuple[LotFact, ...]:
        """Return the facts of one kind: the shelf's, then those added."""
        return tuple(fact for fact in (*self.shelf, *self.added) if fact.what is what)

    @property
    def acids_put_in(self) -> tuple[LotAcid, ...]:
        """Each dose of acid once: one of a bath is in the records of several batches."""
        doses = Counter[LotAcid]()
        for batch in self.batches:
            no = split_no(batch.no)[0]  # of lots of older versions, in which each part has all of the whole batch's
            own = (put for put in batch.acids if not put.kept)
            doses |= Counter(replace(put, of=put.of or ("" if put.bath else no)) for put in own)
        return tuple(doses.elements())

    @property
    def mill_lot(self) -> str:
        """The mill lot named last; "" if none was."""
        mill_lots = self.facts_of(LotFactKind.MILL_LOT)
        return mill_lots[-1].text if mill_lots else ""

    @property
    def powder_lots(self) -> dict[str, str]:
        """The powder lot named last, by dye; under "" that of dyes not listed."""
        lots: dict[str, str] = {}
        for fact in self.facts_of(LotFactKind.POWDER_LOT):
            lots = {**(lots if fact.of else {}), fact.of: fact.text}
        return lots

    def powder_lot_of(self, dye: str) -> str:
        """Return the powder lot named last for one dye; "" if none was."""
        return self.powder_lots.get(dye, self.powder_lots.get("", ""))

    @property
    def solutions_made(self) -> dict[str, str]:
        """By dye, when the bottles that it last came from were made: "2026-03-01 + 2026-03-08"."""
        return {fact.of: fact.text for fact in self.facts_of(LotFactKind.SOLUTION_MADE)}
