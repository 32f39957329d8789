"""The next step of one batch, as the bench offers it: where it goes, or which heat starts or ends."""

from __future__ import annotations

from dataclasses import dataclass

from dyeday.plan.model import Kit, pots_of
from dyeday.terms import KIT_OF_HEAT, KIT_TRAITS, How, KitKind, RunEdge, State
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.bath_contents import part_due
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import at_heat_min, runs_of
from dyeday.track.flags.holding import too_much
from dyeday.track.timers.clocks import next_pass
from dyeday.track.timestamp import Now


@dataclass(frozen=True, slots=True)
class Step:
    """A step on offer: a move ``to`` a state, a heat that starts or ends, or acid. ``unit_kind`` it wants, if any."""

    batch: str
    to: State | None = None
    pass_no: int | None = None
    run: RunEdge | None = None
    layer: int | None = None
    unit_kind: KitKind | None = None
    unit: str | None = None
    text: str = ""
    acid: float = 0.0
    """mL or g: the next part of a pot's acid, where that is the step"""


def next_step(day: Day, batch: BatchRecord, now: Now) -> Step | None:
    """Return what comes next for a batch, with a unit that has room where one is wanted; None when it is over."""
    state = batch.state
    if state == State.WAITING:
        return _move(day, batch, State.SOAK, KitKind.TRAY, "into the soak")
    if state == State.SOAK:
        word = batch.the_layer.word
        kind = KitKind.POT if batch.the_layer.how == How.IMMERSED else None
        return _move(day, batch, State.PAINT, kind, word)
    if state == State.PAINT:
        return _first_heat(day, batch)
    if state == State.FIX:
        return _fix_step(day, batch, now)
    if state == State.COOL:
        if batch.is_last_layer:
            return _move(day, batch, State.RINSE, KitKind.SINK, "rinse")
        following = batch.colourway.layers[batch.layer]
        if following.new_soak:
            return _move(day, batch, State.SOAK, KitKind.TRAY, f"soak for layer {batch.layer + 1}", batch.layer + 1)
        return _move(day, batch, State.PAINT, None, f"{following.word}, layer {batch.layer + 1}", batch.layer + 1)
    if state == State.RINSE:
        return _move(day, batch, State.DRY, KitKind.PEGS, "hang up to dry")
    if state == State.DRY:
        return _move(day, batch, State.DONE, None, "take down, it is done")
    if state == State.SET_ASIDE:
        back = batch.held_from or State.WAITING
        return _move(day, batch, back, None, f"back to {back.value}")
    return None


def _move(day: Day, batch: BatchRecord, to: State, kind: KitKind | None, text: str, layer: int | None = None) -> Step:
    return Step(batch.no, to=to, layer=layer, unit_kind=kind, unit=roomy_unit(day, batch, kind), text=text)


def _first_heat(day: Day, batch: BatchRecord) -> Step:
    if batch.the_layer.how == How.IMMERSED and batch.unit is not None:
        # The pot it was dyed in is the pot it is heated in.
        return Step(batch.no, to=State.FIX, unit=batch.unit, unit_kind=KitKind.POT, text="fix")
    return Step(batch.no, to=State.FIX, text="fix")


def _fix_step(day: Day, batch: BatchRecord, now: Now) -> Step:
    run = batch.open_run
    heats = batch.the_layer.heats
    if run is not None:
        part = part_due(day, batch, now)
        if part and at_heat_min(run, now) < batch.layer_of(run.layer).heat_of(run.pass_no).minutes:
            return Step(
                batch.no,
                unit=run.unit,
                text=f"{round(part, 3):g} {day.plan.acid.unit} of acid into {run.unit}",
                acid=part,
            )
        return Step(
            batch.no, pass_no=run.pass_no, run=RunEdge.END, unit=run.unit, text=f"heat off {run.unit or ''}".rstrip()
        )
    following = next_pass(day, batch, now)
    if following is None:
        return _move(day, batch, State.COOL, None, "cool")
    heat = heats[following - 1]
    kind = KIT_OF_HEAT[heat.how]
    unit = roomy_unit(day, batch, kind)
    pots = pots_of(day.plan.kit_of(unit) if unit else None, batch.skeins, batch.base.skein_g)
    done = len(runs_of(batch, batch.layer, following))
    pot = f", pot {min(done + 1, pots)} of {pots}" if KIT_TRAITS[kind].in_turn and pots > 1 else ""
    text = f"start {heat.how.value} {heat.minutes:g} min{pot}"
    return Step(batch.no, pass_no=following, run=RunEdge.START, unit_kind=kind, unit=unit, text=text)


def roomy_unit(day: Day, batch: BatchRecord, kind: KitKind | None) -> str | None:
    """Return the unit a batch would go into: the one it is in, else an empty one that holds it, else one with room.

    None where no kind is wanted, the plan has none, or all are full or down.
    """
    if kind is None:
        return None
    units = day.plan.units_of(kind)
    if batch.unit in units and not day.units[batch.unit].is_down:
        return batch.unit
    shared = []
    for unit in units:
        kit = day.plan.kit_of(unit)
        inside = [other for other in day.in_unit(unit) if not _rests(other, kit)]
        if inside:
            shared.append((len(inside), unit, kit, inside))
        elif kit is not None and not day.units[unit].is_down and not too_much(kit, [batch]):
            return unit
    shared.sort(key=lambda item: item[0])
    for _, unit, kit, inside in shared:
        if kit is not None and not day.units[unit].is_down and not too_much(kit, [*inside, batch]):
            return unit
    return None


def _rests(batch: BatchRecord, kit: Kit | None) -> bool:
    """Tell whether a batch that takes turns in its unit has had its burst there: what rests lets the next one in."""
    return kit is not None and KIT_TRAITS[kit.kind].in_turn and batch.open_run is None and bool(batch.runs)
