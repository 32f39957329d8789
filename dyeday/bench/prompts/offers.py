"""What the bench offers for a step, alone or with several batches as one load; nothing of the screen."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property

from dyeday import units
from dyeday.ahead.advising.next_step import NextStep, in_other_unit, roomy_unit, soaks_in_acid
from dyeday.ahead.advising.next_up import at_batch
from dyeday.bench.view.batch_row import state_text
from dyeday.plan.model import Chore, Kit, Layer, Plan
from dyeday.plan.step_ids import StepId
from dyeday.quick_dataclass import altered, dataclass
from dyeday.terms import (
    KIT_TRAITS,
    AcidPlace,
    ChorePer,
    ChoreWhen,
    DyeMethod,
    HeatEdge,
    KitKind,
    ReadingKind,
    State,
    StepKind,
    Water,
)
from dyeday.text import batches_text, counted
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.bath_contents import AcidOffer, acid_offer, left_in
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import load_on_min, state_word, unit_words
from dyeday.track.day.transitions import heat_timed_out
from dyeday.track.events.measured import PLACES, POT, PUDDLE
from dyeday.track.events.movements import Load, Moved, Placed
from dyeday.track.events.reading_text import READING_LABELS
from dyeday.track.flags.room_and_stock import over_room, rests
from dyeday.track.timers.timers import TankMin, next_heat_no, tank_min
from dyeday.track.timestamp import Moment
from dyeday.track.typed_entries import typed_reading

LOOK_KEYS = {"c": "clear", "t": "tinted", "o": "coloured"}
MOST_UNITS = 9
"""that digits choose among; any other is chosen by its name afterwards"""
_BEFORE = {
    State.SOAK: ChoreWhen.BEFORE_SOAK,
    State.PAINT: ChoreWhen.BEFORE_PAINT,
    State.FIX: ChoreWhen.AFTER_PAINT,
    State.RINSE: ChoreWhen.AFTER_COOL,
    State.DRY: ChoreWhen.AFTER_RINSE,
}
"""which chores come before the move into a state"""
_OF_LAYER = (ChoreWhen.BEFORE_PAINT, ChoreWhen.AFTER_PAINT)


@dataclass(frozen=True, slots=True)
class OfferTaken:
    """What was accepted: the unit, the acid or the weight, how the bath looked and where."""

    unit: str | None
    amount_figure: str
    """mL or g as digits, empty where none"""
    look: str | None = None
    where: str = PUDDLE
    water: Water | None = None
    is_tank_filled: bool = False
    waits: bool = False
    """whether the heat is put off"""
    lifted: tuple[str, ...] = ()


@dataclass(frozen=True)
class Offer:
    """The ``step`` that ``batches`` take together; ``water`` is None until new or kept water was chosen."""

    day: Day
    batches: tuple[BatchRecord, ...]
    step: NextStep
    now: Moment
    water: Water | None = None

    @property
    def plan(self) -> Plan:
        """The day's plan."""
        return self.day.plan

    @property
    def batch(self) -> BatchRecord:
        """The first batch; the others may differ in their minutes of heat, not in what is read from it here."""
        return self.batches[0]

    @property
    def unit(self) -> str | None:
        """The unit that the step is offered in, if any."""
        return self.step.unit

    @property
    def wof_g(self) -> float:
        """The dry weight of the whole load, g."""
        return sum(batch.wof_g for batch in self.batches)

    @property
    def layer_no(self) -> int:
        """The number of the layer that the step is of, from 1."""
        return self.step.layer or self.batch.layer

    @property
    def layer(self) -> Layer:
        """The layer that the step is of."""
        return self.batch.layer_of(self.layer_no)

    @cached_property
    def in_layer(self) -> tuple[BatchRecord, ...]:
        """The batches as they are once the layer has begun."""
        return tuple(altered(batch, layer=self.layer_no) for batch in self.batches)

    @property
    def is_immersed(self) -> bool:
        """Whether the layer is dyed in a bath."""
        return self.layer.how is DyeMethod.IMMERSED

    @property
    def kit(self) -> Kit | None:
        """The kit that the unit is one of."""
        return self.plan.kit_of(self.unit)

    @cached_property
    def may_keep_water(self) -> bool:
        """Whether the unit may still have water of the load before, which this step could use."""
        soaks = self.step.to is State.SOAK and self.layer.acid_in is AcidPlace.SOAK
        dyes = self.step.to is State.PAINT and self.is_immersed
        return (soaks or dyes) and left_in(self.day, self.unit, self.now).litres > 0

    @property
    def soaking(self) -> list[BatchRecord]:
        """The other batches in its unit."""
        here = {batch.no for batch in self.batches}
        return [other for other in self.day.in_unit(self.unit) if other.no not in here] if self.unit else []

    @property
    def soaks_otherwise(self) -> str:
        """How others in its tray soak, "with acid" or "without acid", where that differs from this soak; else ""."""
        if self.step.to is not State.SOAK or all(self.acid_goes_in is soaks_in_acid(one) for one in self.soaking):
            return ""
        return "without acid" if self.acid_goes_in else "with acid"

    @property
    def acid_goes_in(self) -> bool:
        """Whether acid goes in with the step."""
        in_soak = self.layer.acid_in is AcidPlace.SOAK
        return bool(self.step.acid) or self.step.to is (State.SOAK if in_soak else State.PAINT)

    def acid_offer(self, water: Water | None = None) -> AcidOffer:
        """Return the acid that the bath needs with ``water``, by default that of the load, else new water."""
        to = self.step.to or self.batch.state
        kept_or_new = water or self.water or Water.NEW
        return acid_offer(self.day, self.batch, to, self.unit, self.now, kept_or_new, self.layer_no, self.batches)

    @cached_property
    def acid_figure(self) -> str:
        """The acid offered, mL or g as digits, less what the bath has; "" where none goes in or none is known."""
        if not self.acid_goes_in:
            return ""
        if self.step.acid:
            amount = self.step.acid
        elif self.unit is None and self.step.to is not State.SOAK:
            alone = (Offer(self.day, (batch,), self.step, self.now, self.water) for batch in self.batches)
            amount = sum(load.acid_offer().amount_now for load in alone)
        else:
            amount = self.acid_offer().amount_now
        return f"{round(amount, 3):g}" if amount else ""

    def into(self, unit: str | None, water: Water | None = None) -> Offer:
        """Return the offer as the load goes into ``unit``, with ``water`` new, kept or not chosen yet."""
        step = in_other_unit(self.day, self.batch, self.step, unit, self.now)
        return Offer(self.day, self.batches, step, self.now, water)

    def put_off(self) -> Offer:
        """Return the offer with its heat left for later: yarn stays where it is, or lies in a pot that is not on."""
        in_pot = self.step.to is State.PAINT
        kind = self.step.unit_kind
        dyeing = state_word(self.batch, State.PAINT, self.layer_no)
        here = self.batch.unit if self.is_immersed and kind is KitKind.POT else None
        waits = f"stay in {here}, heat off" if here else f"wait for a {kind.value}" if kind else dyeing
        text = dyeing if in_pot else waits
        unit = self.unit if in_pot else None
        step = replace(self.step, edge=None, heat_no=None, how=None, unit=unit, text=text)
        return Offer(self.day, self.batches, step, self.now, self.water)

    @property
    def title(self) -> str:
        """The load, where it is now and what is offered."""
        first, step = self.batches[0], self.step
        goes_in = step.edge is not HeatEdge.END and not step.acid
        where = unit_words(step.unit, hangs=step.to == State.DRY) if goes_in else ""
        names = dict.fromkeys(batch.colourway.name for batch in self.batches)
        whose = f"{batches_text([batch.no for batch in self.batches])} {', '.join(names)}"
        return f"{whose} ({state_text(first, at_batch(self.day, first, self.now))}): {step.text}{where}"

    @cached_property
    def units(self) -> tuple[tuple[str, str], ...]:
        """(unit, what is in it): those digits choose among; of more than nine the offered and the empty ones."""
        kind = self.step.unit_kind
        choices = [(unit, self._inside(unit)) for unit in (self.day.plan.units_of(kind) if kind is not None else ())]
        if len(choices) > MOST_UNITS:
            choices.sort(key=lambda choice: (choice[0] != self.step.unit, choice[1] != ""))
        return tuple(choices[:MOST_UNITS])

    @property
    def may_wait(self) -> bool:
        """Whether the yarn may wait for its heat instead: painted and put down, in its pot, or where none is free."""
        starts, goes = self.step.edge is HeatEdge.START, self.step.to is not None
        return starts and (goes or roomy_unit(self.day, self.batches, self.step.unit_kind) is None)

    @cached_property
    def weighs(self) -> bool:
        """Whether the weight of the dry batch is asked for."""
        return self.step.to == State.DONE and len(self.batches) == 1

    @property
    def looks(self) -> bool:
        """Whether the bath is looked at before the step."""
        return self.step.to is State.RINSE and self.batch.state is not State.RINSE

    @property
    def amount_label(self) -> str:
        """What amount is asked for, with its unit; empty where none is."""
        if self.weighs:
            return READING_LABELS[ReadingKind.WEIGHT_G]
        acid = self.day.plan.acid
        return f"acid, {acid.unit} of {acid.kind.value}" if self.acid_goes_in else ""

    @property
    def amount_key(self) -> str:
        """The key that types the amount, for a weight that of its reading; empty where none is asked for."""
        return "g" if self.weighs else "a" if self.acid_goes_in else ""

    def read_amount(self, text: str) -> str:
        """Return a typed amount as it will be recorded. Raises ValueError."""
        if self.weighs:
            return f"{typed_reading(ReadingKind.WEIGHT_G, text):g}"
        return f"{read_acid(self.day, text):g}"

    @property
    def latest_water(self) -> Water | None:
        """Whether the unit's water was last new or kept; None where no entry says."""
        if not self.may_keep_water:
            return None
        alive = (event.body for event in reversed(self.day.events) if event.id not in self.day.void_ids)
        loads = (body for body in alive if isinstance(body, (Load, Moved, Placed)) and body.unit == self.unit)
        return next((body.water for body in loads if body.water is not None), None)

    @cached_property
    def tank(self) -> TankMin | None:
        """The tank of the unit that the step's heat starts in; None without a tank or a heat."""
        if self.unit is None or self.step.edge is not HeatEdge.START:
            return None
        return tank_min(self.day, self.unit, self.now)

    @property
    def wanted_min(self) -> float:
        """The minutes that the step's heat needs of its unit and tank: of the batch that is heated longest."""
        return load_on_min(self.plan, self.in_layer, self.step.heat_no or 1, self.unit, self.now)

    @property
    def is_tank_short(self) -> bool:
        """Whether a fill of the unit's tank would bring this heat further."""
        return self.tank is not None and self.tank.is_short_for(self.wanted_min)

    def full_words(self) -> str:
        """Return why no unit was offered: all are in use, or the load is larger than any holds."""
        skeins = sum(batch.skeins for batch in self.batches)
        kits = [kit for name, _ in self.units if (kit := self.day.plan.kit_of(name)) is not None]
        if self.step.unit_kind is KitKind.SINK:
            return "another colour is rinsed there: press a number to rinse them together"
        if all(over_room(kit, [*self.batches]) for kit in kits):
            whole = counted(skeins, "skein")
            return f"{whole}: too much for one; press a number to use it anyway"
        if any(self.into(name).soaks_otherwise for name, _ in self.units):
            has = "no acid" if self.acid_goes_in else "acid"
            return f"other yarn soaks there with {has}: press a number to use it anyway"
        return "all full: press a number to use one anyway"

    @cached_property
    def to_lift(self) -> tuple[str, ...]:
        """The batches in fix or cooling that may be lifted out first; one resting between bursts is out already."""
        if self.unit is None or self.step.edge is not HeatEdge.START:
            return ()
        here = {batch.no for batch in self.batches}
        others = [batch for batch in self.day.in_unit(self.unit) if batch.no not in here]
        out = [one for one in others if rests(one, self.unit, self.kit, self.now.utc)]
        resting = [one for one in out if self.has_burst_to_come(one)]
        return tuple(one.no for one in others if one.state in (State.FIX, State.COOL) and one not in resting)

    def has_burst_to_come(self, batch: BatchRecord) -> bool:
        """Return whether a batch in fix takes turns in its unit and has not had all its bursts."""
        kit = self.plan.kit_of(batch.unit)
        in_turn = kit is not None and KIT_TRAITS[kit.kind].in_turn and batch.state is State.FIX
        return in_turn and next_heat_no(self.day, heat_timed_out(batch, self.now), self.now) is not None

    @cached_property
    def chores(self) -> list[tuple[BatchRecord, StepId]]:
        """The chores of these batches that taking this step records as done too, as steps of the schedule."""
        whens = _BEFORE.get(self.step.to) if self.step.to is not None else None
        if whens is None or (self.step.to is State.FIX and self.step.edge is None):
            return []
        return [
            (batch, step)
            for batch in self.batches
            for chore in self.day.plan.chores
            if chore.when is whens
            and chore.per in (ChorePer.BATCH, ChorePer.SKEIN)
            and not self.day.has_done(batch.no, step := self._chore_step(batch, chore))
            and not (chore.when is ChoreWhen.BEFORE_SOAK and batch.state is not State.WAITING)
        ]

    def _chore_step(self, batch: BatchRecord, chore: Chore) -> StepId:
        layer = (self.step.layer or batch.layer) if chore.when in _OF_LAYER else 0
        return StepId(StepKind.CHORE, layer, chore=chore.name, when=chore.when)

    def _inside(self, unit: str) -> str:
        if self.day.units[unit].is_down:
            return " (down)"
        here = {batch.no for batch in self.batches}
        kit = self.day.plan.kit_of(unit)
        others = [other for other in self.day.in_unit(unit) if other.no not in here]
        starts = self.step.edge is HeatEdge.START
        resting = [other for other in others if starts and rests(other, unit, kit, self.now.utc)]
        later = [other for other in self.day.arrivals.get(unit, ()) if other.no not in here]
        taken = [*(other for other in others if other not in resting), *later]
        parts = ["+".join(f"{other.no} later" if other in later else other.no for other in taken)] if taken else []
        parts += ["full"] if taken and kit is not None and over_room(kit, [*taken, *self.batches]) else []
        parts += [f"take {'+'.join(other.no for other in resting)} out to rest"] if resting else []
        return f" ({', '.join(parts)})" if parts else ""


def look_places(batch: BatchRecord) -> tuple[str, ...]:
    """Return where a bath may be looked at, the likeliest first: a puddle of painted yarn, else the pot."""
    usual = POT if batch.current_layer.how is DyeMethod.IMMERSED else PUDDLE
    return (usual, *(place for place in PLACES if place != usual))


def acid_missing(day: Day, batch: BatchRecord, now: Moment) -> str:
    """Return what the bath a batch soaks in lacks of its dose, mL or g as digits; "" without a bath or a lack."""
    if batch.state is not State.SOAK or batch.unit is None:
        return ""
    return Offer(day, (batch,), NextStep(batch.no, to=State.SOAK, unit=batch.unit), now).acid_figure


def read_acid(day: Day, text: str) -> float:
    """Return typed acid in mL or g, as the plan's acid is measured. Raises QuantityError."""
    kind = units.VOLUME_ML if day.plan.acid.is_liquid else units.MASS_G
    return units.read(text, kind, low=0, high=1e6)
