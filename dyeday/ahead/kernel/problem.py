"""A day's remaining work as plain integers: batches, their steps, the units and the hands.

All times are whole minutes from one origin of the caller's choice; weights of yarn are whole milligrams.
"""

from __future__ import annotations

from collections.abc import Hashable

from dyeday.quick_dataclass import dataclass

Id = Hashable
"""what the caller calls a batch or a step by: compared here, never read"""
Window = tuple[int, int | None]
"""(from, to) in minutes, in which the hands are there; only the last may be open (None)"""


@dataclass(frozen=True, slots=True)
class Unit:
    """One piece of kit. ``kind`` is what a hold asks for."""

    name: str
    kind: str
    holds: int | None = None
    """skeins; None for any number"""
    holds_mg: int | None = None
    """milligrams; None for any weight"""
    shared: bool = False
    """several batches at once, as far as they fit; False for one at a time"""
    join_within: int | None = None
    """shared only: minutes after the first batch went in during which more may join; None for at any time"""
    milliamps: int = 0
    """drawn while a step that draws runs in it, once however many batches are in it"""
    circuit: str | None = None
    free_at: int | None = 0
    """minute from which it can be had at all; None when it is down"""


@dataclass(frozen=True, slots=True)
class Circuit:
    """What may be drawn at once by the units on it."""

    name: str
    milliamps: int


@dataclass(frozen=True, slots=True)
class Lag:
    """Minutes between the end of an earlier step of the same batch and the start of this one."""

    after: int
    """number of the earlier step, from 0"""
    least: int = 0
    most: int | None = None
    """None for no limit; a limit that cannot be kept is broken by as little as possible and counted in ``late``"""
    weight: int = 1
    """what a minute beyond ``most`` counts in ``late``"""
    soft_most: int | None = None
    """among schedules equally good, one that keeps to this; None where it does not matter"""


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a batch. It starts at the end of the one before at the earliest; unattended, exactly then."""

    id: Id
    minutes: int
    attended: bool = True
    exact: bool = True
    """unattended only: False where it lasts ``minutes`` at least and until the next step starts"""
    by_hand: bool = False
    """whether it ends when hands end it, who must be there: it does not end between two windows"""
    draws: bool = False
    """whether the unit it is in draws its amps for its minutes: heat is switched off in time, though emptied later"""
    lags: tuple[Lag, ...] = ()
    goes_on: bool = False
    """attended only: the next step is the same work, put down in between for nothing but what is ``brief``"""
    brief: bool = False
    """attended only: may be done between two steps of other work that goes on"""


@dataclass(frozen=True, slots=True)
class Hold:
    """A unit of ``kind`` is taken from the start of step ``first`` until the start or end of step ``last``."""

    kind: str
    first: int
    last: int
    to_end: bool = True
    """True until the end of ``last``, False until its start"""
    whole: bool = False
    """takes the unit alone whatever its size: a batch that goes through it dish by dish"""
    unit: str | None = None
    """the very unit: must be given where the hold has begun, may be given to tie it to one"""
    alike: int = 0
    """in a unit that takes several batches, only those of one number lie together"""
    skeins: int | None = None
    """the room it takes in a unit that counts skeins; None for as many as the batch has"""

    def room_of(self, batch: Batch) -> int:
        """Return the skeins it takes the room of."""
        return batch.skeins if self.skeins is None else self.skeins


@dataclass(frozen=True, slots=True)
class Batch:
    """Skeins that move together, or a chore of the day or of a lot (no skeins, ``counts`` False)."""

    id: Id
    steps: tuple[Step, ...]
    holds: tuple[Hold, ...] = ()
    skeins: int = 0
    weight_mg: int = 0
    release: int = 0
    """nothing of it starts before this minute"""
    past: tuple[tuple[int, int], ...] = ()
    """(start, end) of the first steps, as far as begun; the last one's end may lie ahead while it runs"""
    goal: int | None = None
    """the step whose end makes it count as rinsed; None for the last attended one"""
    counts: bool = True
    weight: int = 5
    """among schedules equally good, earlier for the heavier: from priority and due date"""
    shade: int = 0
    """among schedules equally good, batches of one shade paint in a row, and a lower one before a higher"""
    shade_step: int | None = None
    """the step in which ``shade`` matters; None for nowhere"""


@dataclass(frozen=True, slots=True)
class Link:
    """Step ``to_step`` of batch ``to`` starts ``least`` minutes or more after step ``of_step`` of ``of`` ends."""

    of: Id
    of_step: int
    to: Id
    to_step: int
    least: int = 0


@dataclass(frozen=True, slots=True)
class Near:
    """Among schedules equally good, one in which these steps of several batches start soon after each other."""

    steps: tuple[tuple[Id, int], ...]
    """(batch, step)"""
    room: int
    """how many of them kit allows at once: the others come after"""
    within: int
    """minutes from the first to the last of those"""


@dataclass(frozen=True, slots=True)
class Problem:
    """Everything a schedule depends on."""

    now: int
    """no step starts before this minute"""
    windows: tuple[Window, ...]
    """in order. When the last is closed, an open one follows a day (1440 min) after its start"""
    stop: int
    """minute by which objective 2 counts batches"""
    units: tuple[Unit, ...]
    batches: tuple[Batch, ...]
    circuits: tuple[Circuit, ...] = ()
    links: tuple[Link, ...] = ()
    near: tuple[Near, ...] = ()
    closed: tuple[tuple[int, int], ...] = ()
    """(from, to) in which no step that draws may run: the house is empty"""
    heat_ends: tuple[Window, ...] = ()
    """minutes outside the windows in which hands come to end heat that is on"""

    @property
    def next_day(self) -> int:
        """The minute at which the first window after ``stop`` opens; ``stop`` itself if none does."""
        return next((start for start, _ in self.windows if start >= self.stop), self.stop)


@dataclass(frozen=True, slots=True)
class Row:
    """One step as scheduled. A step that lasts "at least" ends when the next one starts."""

    batch: Id
    step: Id
    unit: str | None
    start: int
    end: int
    attended: bool


@dataclass(frozen=True, slots=True)
class Value:
    """What a schedule is worth; smaller is better, field by field in this order."""

    late: int
    """minutes by which longest waits are exceeded, in sum, each as often as its `Lag.weight` says"""
    missed: int
    """objective 2: batches not rinsed by the stop; 0 for objective 1"""
    end: int
    """objective 1: end of the last attended step, in minutes; objective 2: its minutes after the next day opens, at
    least 0"""
    senseless: int = 0
    """what is done later than wished, or apart, in minutes of the end"""

    @property
    def key(self) -> tuple[int, int, int]:
        """(minutes late, batches missed, end with what makes no sense), by which a smaller value is better."""
        return (self.late, self.missed, self.end + self.senseless)


@dataclass(frozen=True, slots=True)
class Solution:
    """Rows of every step not begun, in order of start, and what they are worth."""

    rows: tuple[Row, ...]
    value: Value
    evaluations: int
    left_out: tuple[tuple[Id, str], ...] = ()
    """(batch, why) of batches that cannot be finished on this kit; what they hold stays held"""
