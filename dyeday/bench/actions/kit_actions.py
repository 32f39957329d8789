"""Kit and heat: full heat reached, acid put in, another unit, a cover, and what happened to a unit."""

from __future__ import annotations

from dyeday.bench.actions import Actions, of_chosen
from dyeday.bench.live_session import EventDraft
from dyeday.bench.plain_app import ask
from dyeday.bench.prompts.offering import acid_draft
from dyeday.bench.prompts.offers import acid_missing, read_acid
from dyeday.bench.prompts.prompts import Choose, KeyChoice, ask_value, pick
from dyeday.plan.model import dishes_of
from dyeday.terms import KIT_TRAITS, Cover, HeatEdge, KitKind, State, TimerKind, UnitEvent
from dyeday.text import batches_text
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import heat_due_min, kit_to_heat_in
from dyeday.track.day.transitions import filled_in_mid_heat, placed_in
from dyeday.track.events.movements import Covered, Heated, Placed, UnitChanged
from dyeday.track.reading_meaning import acid_by_ph
from dyeday.track.timers.timers import timer_of

NO_KIT = "the plan lists no kit"


class KitActions(Actions):
    """The questions about kit and heat."""

    @of_chosen
    async def heat(self, batch: BatchRecord) -> None:
        """Record that the unit of the chosen batch is at full heat; ask first where that is on record."""
        day, batch = self.live.at_entry(batch)
        now = self.live.entry_at()
        if (heat := batch.heat_on(now)) is None:
            timers = ((one, timer_of(day, one, now)) for one in day.unsplit)
            warming = [one.no for one, timer in timers if timer is not None and timer.kind is TimerKind.WARM_UP]
            choose = f"; {batches_text(warming)} warming up: choose that first" if warming else ""
            self.screen.say(f"{batch.no} has no heat on{choose}", wrong=True)
            return
        off = self.live.time_text(now.later(heat_due_min(day.plan, batch, heat) * 60).utc)
        if (before := heat.heat_recorded_at) is not None:
            label = f"{batch.no} was at full heat at {self.live.time_text(before.utc)}: count its minutes from now"
            await ask(Choose(label, [KeyChoice("y", "yes", f"heat off at {off}")]))
        draft = EventDraft(Heated(heat_no=heat.heat_no, edge=HeatEdge.AT_HEAT), batch.no)
        self.screen.record(draft, then=f"; heat off at {off}")

    @of_chosen
    async def acid(self, batch: BatchRecord) -> None:
        """Ask how much acid went in, for the chosen batch or into its bath."""
        day, batch = self.live.at_entry(batch)
        kit = day.plan.kit_of(batch.unit) if batch.state in (State.SOAK, State.PAINT, State.FIX) else None
        unit = batch.unit if kit is not None and kit.kind in (KitKind.TRAY, KitKind.POT) else None
        where = f"into {unit}" if unit else f"in for {batch.no}"
        label = f"How much {day.plan.acid.kind.value} went {where}, {day.plan.acid.unit}"
        by_ph, offered = acid_by_ph(day, batch, self.live.entry_at()), ""
        if by_ph is not None and by_ph.now:
            offered = f"{round(by_ph.now, 3):g}"
            label += f"; by its pH add {offered}, at most {round(by_ph.most, 3):g}; read again in 5 min"
        elif by_ph is None and (missing := acid_missing(day, batch, self.live.entry_at())):
            label += f"; the recipe needs another {missing}"
        words = f"{{:g}} {day.plan.acid.unit}".format
        amount = await ask_value(label, lambda text: read_acid(day, text), words, offered=offered)
        self.screen.record(acid_draft(day, batch, amount, unit))

    @of_chosen
    async def unit(self, batch: BatchRecord) -> None:
        """Ask into which unit the chosen batch moves."""
        if not (names := self.live.day.plan.unit_names):
            self.screen.say(NO_KIT, wrong=True)
            return
        day, batch = self.live.at_entry(batch)
        if batch.heat_on(self.live.entry_at()) is not None:
            self.screen.say(f"{batch.no} has heat on: end it first (Space), then move it", wrong=True)
            return
        unit = await pick(f"Move {batch.no} to which unit", names)
        there = placed_in(batch, unit, self.live.entry_at())
        self.screen.record(EventDraft(Placed(unit=unit), batch.no), then=_heat_words(day, there, unit))

    @of_chosen
    async def cover(self, batch: BatchRecord) -> None:
        """Ask how the chosen batch waits."""
        _, batch = self.live.at_entry(batch)
        choices = [KeyChoice(cover.value[0], cover, cover.value) for cover in Cover]
        covered = ", no cover on record"
        if batch.cover is not None:
            is_planned = batch.covers[-1][0] in [put_on.since for put_on in batch.painted]
            covered = f", {batch.cover.value} in its recipe" if is_planned else f", now {batch.cover.value}"
        cover = await ask(Choose(f"How does {batch.no} wait{covered}", choices))
        self.screen.record(EventDraft(Covered(cover=cover), batch.no))

    async def kit(self) -> None:
        """Ask which unit was filled or emptied, broke or works again."""
        if not (names := self.live.day.plan.unit_names):
            self.screen.say(NO_KIT, wrong=True)
        else:
            await self.what_happened(await pick("Which unit", names))

    async def what_happened(self, unit: str) -> None:
        """Ask what happened to a unit; Enter accepts nothing: a tank recorded as filled that was not boils dry."""
        day = self.live.day_at_entry()
        inside = "+".join(b.no for b in day.in_unit(unit))
        held = f"; {inside} is in it" if inside else ""
        kit = day.plan.kit_of(unit)
        words = {UnitEvent.DOWN: "broke down"}
        if day.units[unit].is_down:
            words = {UnitEvent.UP: "works again"}
        if kit is None or kit.kind not in (KitKind.MICROWAVE, KitKind.SPINNER, KitKind.PEGS):
            words = {UnitEvent.FILLED: "filled", UnitEvent.EMPTIED: "emptied (water poured away)", **words}
        choices = [KeyChoice("w" if one is UnitEvent.UP else one.value[0], one, said) for one, said in words.items()]
        what = await ask(Choose(f"{unit}: what happened", choices))
        trips = what is UnitEvent.DOWN and kit is not None and kit.power_w
        if what is UnitEvent.FILLED and (heats := filled_in_mid_heat(day, unit, self.live.entry_at())):
            on = max(heat.warm_up_min for batch in heats.values() for heat in batch.heats[-1:])
            what = UnitEvent.TOPPED_UP
            held = f"; {'+'.join(heats)}: off and on again, minutes at heat go on in {on:g} min"
        gone = ", its water and acid are gone" if what is UnitEvent.EMPTIED and inside else ""
        unplug = ". If it tripped: unplug it with dry hands, do not reset it, have it looked at"
        self.screen.record(EventDraft(UnitChanged(unit=unit, what=what)), then=held + (unplug if trips else gone))


def _heat_words(day: Day, batch: BatchRecord, unit: str) -> str:
    """Return what to know of the heat of the unit a batch is in now: several dishes, or not its recipe's heat."""
    kit = day.plan.kit_of(unit)
    if kit is None or (heat := KIT_TRAITS[kit.kind].heat) is None:
        return ""
    dishes = dishes_of(kit, batch.skeins, batch.base.skein_g) if KIT_TRAITS[kit.kind].in_turn else 1
    full = f"; too full: {dishes} dishes, one after another" if dishes > 1 else ""
    hows = dict.fromkeys(step.how for step in batch.current_layer.heats)
    kinds = [kit_to_heat_in(day.plan, batch, batch.layer, n + 1) for n in range(len(batch.current_layer.heats))]
    other = f"; its recipe has {' and '.join(how.value for how in hows)}, not {heat.value}"
    return full if kit.kind in kinds else full + other
