"""The record of one batch: frozen values that each event replaces."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any, ClassVar

from dyeday.plan.model import PUTTING_DYE_ON, Acid, Base, Colourway, FixStep, Layer, OrderKey
from dyeday.quick_dataclass import dataclass
from dyeday.terms import Cover, FlagId, Outcome, ReadingKind, State
from dyeday.track.day.carried import Carried
from dyeday.track.timestamp import Moment


@dataclass(frozen=True)
class Stay:
    """One stretch in one state of a layer; ``until`` is None while it lasts."""

    state: State
    layer: int
    since: Moment
    until: Moment | None = None


@dataclass(frozen=True)
class Placement:
    """One stretch in one unit."""

    unit: str
    since: Moment
    until: Moment | None = None

    def holds(self, moment: datetime) -> bool:
        """Return whether the batch is in the unit at ``moment``; at the end of the stretch it is not."""
        return self.since.utc <= moment and (self.until is None or self.until.utc > moment)

    def meets(self, since: Moment, until: Moment | None) -> bool:
        """Return whether the batch is in the unit at any time from ``since`` to ``until``."""
        return (until is None or self.since.utc < until.utc) and (self.until is None or self.until.utc > since.utc)


@dataclass(frozen=True)
class Heat:
    """One stretch of heat ``heat_no`` of a layer. Dishes entered one by one, or minutes made up later, are others."""

    STORED_AS: ClassVar[Mapping[str, str]] = {
        "heat_no": "pass_no",
        "heat_recorded_at": "heat",
        "timed_out": "by_itself",
    }

    layer: int
    heat_no: int
    unit: str | None
    start: Moment
    warm_up_min: float = 0.0
    heat_recorded_at: Moment | None = None
    """when the unit was at heat, where that was recorded"""
    own_end_min: float | None = None
    """minutes at heat after which its unit switches itself off; None where it does not"""
    timed_out: bool = False
    """whether ``end`` is when the unit switched itself off; no entry gives an end"""
    end: Moment | None = None

    @property
    def at_heat_since(self) -> Moment:
        """When the unit is at heat ("full heat" on the screen): as recorded, else the start plus its warm-up."""
        return self.heat_recorded_at if self.heat_recorded_at is not None else self.start.later(self.warm_up_min * 60)

    @property
    def own_end(self) -> Moment | None:
        """When its unit switches itself off; None where it does not."""
        return None if self.own_end_min is None else self.at_heat_since.later(self.own_end_min * 60)

    def ended(self, now: Moment) -> Moment | None:
        """Return the end on record, else by ``now`` its `own_end`; None while it is on."""
        if self.end is not None or self.own_end is None or now.utc < self.own_end.utc:
            return self.end
        return self.own_end

    def is_on(self, now: Moment) -> bool:
        """Return whether neither an entry nor, by ``now``, its `own_end` has ended it."""
        return self.ended(now) is None


@dataclass(frozen=True)
class AcidIn:
    """Acid put into a bath or for a batch."""

    at: Moment
    amount_ml: float
    amount_g: float
    layer: int = 1
    kept: bool = False
    """whether it is what kept water had left of earlier loads when the batch came into it"""
    shared: bool = False
    """whether it is a share of what several batches, or the parts of one, had together"""

    @property
    def is_some(self) -> bool:
        """Whether there was any."""
        return self.amount_ml > 0 or self.amount_g > 0

    def part(self, fraction: float) -> AcidIn:
        """Return what ``fraction``, 0 to 1, of the yarn had of it."""
        if fraction == 1:
            return self
        return replace(self, amount_ml=self.amount_ml * fraction, amount_g=self.amount_g * fraction, shared=True)

    def amount_of(self, acid: Acid) -> float:
        """Return its mL or g, as ``acid`` is measured, whichever acid it was; 0 if it was measured in the other."""
        return self.amount_ml if acid.is_liquid else self.amount_g


@dataclass(frozen=True, slots=True)
class Reading:
    """One measurement or look, as the event has it."""

    at: Moment
    name: ReadingKind
    value: Any
    where: str | None
    state: State
    layer: int
    event_id: str

    @property
    def is_clear(self) -> bool:
        """Whether it is a look that found the bath clear."""
        return self.name is ReadingKind.EYE and self.value == "clear"


@dataclass(frozen=True, slots=True)
class Painted:
    """Dye put on a layer, from ``since`` on."""

    layer: int
    since: Moment
    mix: str
    """the mix it came from: as entered, else the planned one"""
    wof_g: float | None = None
    """weight of fibre; None in older records"""


@dataclass(frozen=True, slots=True)
class ClearedFlag:
    """A flag that was cleared, and why."""

    rule: FlagId
    why: str
    at: datetime


@dataclass(frozen=True)
class BatchRecord:
    """One batch and its past.

    ``layer`` counts from 1. Yarn overdyed while its layer has dye on is in layer 0 until it is soaked or dyed; yarn
    overdyed before that is in layer 1.
    """

    STORED_AS: ClassVar[Mapping[str, str]] = {
        "planned_mix": "mix",
        "heats": "runs",
        "cleared": "resolved",
        "earlier_nos": "was",
    }

    no: str
    colourway: Colourway
    base: Base
    skeins: int
    tag: str = ""
    shares: tuple[tuple[str, int], ...] = ()
    """(item of an order, its skeins in the batch)"""
    planned_mix: str = ""
    """the mix it is to be dyed from; batches that go with one mix share it"""
    lot: str = ""
    """the number of its lot, where that was begun in an earlier session"""
    parent: str | None = None
    """the number of the batch that it was split from"""
    earlier_nos: tuple[tuple[Moment, str], ...] = ()
    """(until, number) of the batches it was part of, before each was split"""
    state: State = State.WAITING
    layer: int = 1
    stays: tuple[Stay, ...] = ()
    placements: tuple[Placement, ...] = ()
    heats: tuple[Heat, ...] = ()
    acids: tuple[AcidIn, ...] = ()
    readings: tuple[Reading, ...] = ()
    covers: tuple[tuple[Moment, Cover], ...] = ()
    """(since, cover): the recipe's as it is painted, each recorded, the present one again at a chore after paint"""
    painted: tuple[Painted, ...] = ()
    used_ml: tuple[tuple[str, float], ...] = ()
    """(dye, solution poured), as recorded"""
    powder_g: tuple[tuple[str, float], ...] = ()
    """(dye, g put on dry), as recorded, less what was left over"""
    left_over_ml: tuple[tuple[str, float], ...] = ()
    extras: tuple[tuple[str, float], ...] = ()
    """(soap, wetting agent or salt; mL or g as the plan has it), less what was left over"""
    recorded_layer: int = 0
    """the layer of its present recipe up to which dye was recorded; 0 for none of them"""
    notes: tuple[tuple[Moment, str], ...] = ()
    """(when, text)"""
    cleared: tuple[ClearedFlag, ...] = ()
    outcome: Outcome | None = None
    """as named when it was done, a first where none was; None before"""
    overdyed_from: tuple[str, ...] = ()
    """names of the colourways it was to have before each overdye, in order"""
    beneath: tuple[tuple[str, int, int], ...] = ()
    """(colourway overdyed, how many of ``painted`` are its own, up to which layer its dye was recorded)"""
    recipes_beneath: tuple[tuple[Layer, ...], ...] = ()
    """the layers put on before each overdye, in order, without overdyes of undyed yarn; the last one is number 0"""
    split_into: tuple[str, ...] = ()
    """numbers of its parts"""
    held_from: State | None = None
    """the state a batch was set aside from"""
    last_id: str | None = None
    """id of its latest event, chores apart; None for a batch as planned"""
    weighed_wof_g: float | None = None
    """dry weight, if it was weighed before it was wetted; where the plan has the humidity, as in standard air"""
    carried: Carried | None = None
    lost: int = 0
    """skeins missing at a count after dye was on: felted, scrapped, sold apart; below 0: found"""

    @property
    def cover(self) -> Cover | None:
        """The cover recorded last, or its recipe's as it was painted; None before."""
        return self.covers[-1][1] if self.covers else None

    @property
    def current_layer(self) -> Layer:
        """The recipe of its present layer, as `layer_of`."""
        return self.layer_of(self.layer)

    def recipe_place(self, number: int) -> tuple[tuple[Layer, ...], int]:
        """Return the recipe that a layer belongs to, and its number there, from 1."""
        recipe = self.colourway.layers
        for beneath in reversed(self.recipes_beneath):
            if number > 0:
                break
            recipe, number = beneath, number + len(beneath)
        return recipe, min(max(number, 1), len(recipe))

    def layer_no(self, number: int) -> int:
        """Return the number of a layer in its own recipe, from 1."""
        return self.recipe_place(number)[1]

    def layer_of(self, number: int) -> Layer:
        """Return layer ``number``, 0 or less for what was overdyed; the nearest if there is no such layer."""
        recipe, of_recipe = self.recipe_place(number)
        return recipe[of_recipe - 1]

    def planned_heat(self, heat: Heat) -> FixStep:
        """Return the heat of its recipe that a stretch is part of."""
        return self.layer_of(heat.layer).heat_of(heat.heat_no)

    def is_of_session(self, moment: datetime) -> bool:
        """Return whether ``moment`` is in this session for it: not before it was carried in."""
        return self.carried is None or moment >= self.carried.at.utc

    def stay_at(self, moment: datetime) -> Stay | None:
        """Return the stay it was in at ``moment``; None where it had not left the first state."""
        return next((stay for stay in reversed(self.stays) if stay.since.utc <= moment), None)

    def stay_after(self, n: int) -> Stay | None:
        """Return the stay after stay ``n`` (from 0), time set aside left out; None where there is none."""
        return next((stay for stay in self.stays[n + 1 :] if stay.state is not State.SET_ASIDE), None)

    def no_at(self, moment: datetime) -> str:
        """Return its number at ``moment``: before a split, that of the whole batch."""
        return next((no for until, no in self.earlier_nos if moment < until.utc), self.no)

    def order_key(self, item: str) -> OrderKey:
        """Return what identifies the order that its share for ``item`` fills: by the colourway it is dyed in now."""
        return item, self.colourway.name, self.base.name

    @property
    def order_keys(self) -> set[OrderKey]:
        """What identifies the orders that its shares fill; the plan may lack some."""
        return {self.order_key(item) for item, _ in self.shares}

    @property
    def colours(self) -> tuple[str, ...]:
        """The colourway it is now, then those it was overdyed from."""
        return (self.colourway.name, *self.overdyed_from)

    @property
    def is_last_layer(self) -> bool:
        """Whether its present layer is the recipe's last."""
        return self.layer >= len(self.colourway.layers)

    @property
    def only_dries(self) -> bool:
        """Whether it hangs to dry with its last layer on, not between two."""
        return self.state is State.DRY and self.is_last_layer

    @property
    def after_cooling(self) -> tuple[State, str]:
        """The state it goes into once cool, and the word for it: rinse, or the next layer's soak or dye.

        Rinsed or dried before its last layer, it goes on with the next one too, from the rack with a soak.
        """
        if self.is_last_layer:
            return State.RINSE, "rinse"
        following = self.layer_of(self.layer + 1)
        soaks = following.own_acid_soak or self.state is State.DRY
        return (State.SOAK, "soak") if soaks else (State.PAINT, PUTTING_DYE_ON[following.how])

    @property
    def working_state(self) -> State:
        """Its state; of one set aside, the state that it goes back to."""
        return self.held_from or self.state

    @property
    def is_unfinished(self) -> bool:
        """Whether it still needs work."""
        return self.state not in (State.DONE, State.SCRAPPED, State.SPLIT)

    @property
    def wof_g(self) -> float:
        """Weight of fibre: as weighed before it was wetted, else of its skeins by their label."""
        return self.skeins * self.base.skein_g if self.weighed_wof_g is None else self.weighed_wof_g

    @property
    def painted_since_overdye(self) -> tuple[Painted, ...]:
        """The times that dye of its present colourway was put on."""
        return self.painted[sum(times for _, times, _ in self.beneath) :]

    @property
    def dyed_skeins(self) -> int:
        """Its skeins, with those that had dye on and are lost."""
        return self.skeins + max(0, self.lost)

    @property
    def dyed_g(self) -> float:
        """Weight of fibre, with the skeins that had dye on and are lost."""
        return self.wof_g * self.dyed_skeins / self.skeins

    @property
    def unit(self) -> str | None:
        """The unit it is in, if any."""
        last = self.placements[-1] if self.placements else None
        return last.unit if last is not None and last.until is None else None

    @property
    def open_heat(self) -> Heat | None:
        """The stretch of heat with no end on record, if any; its `own_end` may have passed (`heat_on`)."""
        last = self.heats[-1] if self.heats else None
        return last if last is not None and last.end is None else None

    def heat_on(self, now: Moment) -> Heat | None:
        """Return the stretch of heat that is on at ``now``, if any."""
        heat = self.open_heat
        return heat if heat is not None and heat.is_on(now) else None

    @property
    def state_since(self) -> Moment | None:
        """When its present stay began; None before it left the first state."""
        return self.stays[-1].since if self.stays else None

    @property
    def cloth_was_read(self) -> bool:
        """Whether a cloth was looked at in its present stay; a rinse after that is a new one."""
        since = self.state_since
        return since is not None and any(
            read.name is ReadingKind.CLOTH and read.at.utc >= since.utc for read in self.readings
        )
