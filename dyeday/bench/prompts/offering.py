"""The next step offered, and the entries of an offer that was taken: the movement and what belongs to it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from dyeday.ahead.advising.next_step import in_unit_if_as_good, next_step, shared_step
from dyeday.ahead.advising.still_to_do import to_do
from dyeday.bench.live_session import EventDraft, LiveSession
from dyeday.bench.main_screen import BenchScreen
from dyeday.bench.plain_app import ask
from dyeday.bench.prompts.offer_prompt import OfferPrompt
from dyeday.bench.prompts.offers import Offer, OfferTaken
from dyeday.grouping import grouped
from dyeday.terms import DyeMethod, HeatEdge, ReadingKind, State, UnitEvent
from dyeday.text import batches_text
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import state_word
from dyeday.track.events.measured import Measured
from dyeday.track.events.movements import AcidPutIn, ChoreFinished, Heated, Load, Moved
from dyeday.track.reading_meaning import meaning
from dyeday.track.timestamp import length_text


async def offer_step(screen: BenchScreen, batches: Sequence[BatchRecord], unit: str | None = None) -> None:
    """Offer the next step of a load in the advised ``unit``, by default the one in the list, else the forecast's."""
    if not batches:
        return
    live, numbers = screen.live, [batch.no for batch in batches]
    if unit is None:
        lines = (item for item in screen.view_cache.items if numbers[0] in item.abouts and not item.is_chore)
        unit = next((item.unit for item in lines), None) or _foreseen_unit(screen, batches[0])

    def offered() -> Offer:
        then, day = live.entry_at(), live.day_at_entry(numbers)
        there = tuple(day.batches[no] for no in numbers)
        if (step := shared_step(day, there, then)) is None:
            state = state_word(there[0])
            raise ValueError(f"{numbers[0]} is {state}: there is no next step; m moves it to another state")
        return Offer(day, there, in_unit_if_as_good(day, there, step, unit, then), then)

    try:
        prompt = OfferPrompt(offered, lambda: _earlier(live, numbers))
    except ValueError as error:
        screen.say(str(error), wrong=True)
        return
    answer, offer, look = await ask(prompt), prompt.offer, ""
    if answer.look:
        look = meaning(*live.at_entry(offer.batch), ReadingKind.EYE, answer.look, live.entry_at(), rinses=True)
    if drafts := drafts_for(offer, answer):
        screen.record(*drafts, then=look)
    elif (kind := offer.step.unit_kind) is not None:
        screen.say(f"nothing recorded: no {kind.value} has room for {batches_text(numbers)}")


def _foreseen_unit(screen: BenchScreen, batch: BatchRecord) -> str | None:
    """Return the unit of a batch's next step in the forecast, for which an entry of another batch hides its line.

    None where that would move it between two units of one kind: it was put where it is since.
    """
    forecast, day = screen.bench_app.outlook.forecast, screen.live.day
    steps = forecast.next_steps if forecast is not None else ()
    unit = next((step.unit for step in steps if step.batch == batch.no and step.unit and to_do(step, day)), None)
    return unit if day.plan.kit_of(unit) is not day.plan.kit_of(batch.unit) else None


def _earlier(live: LiveSession, numbers: Sequence[str]) -> str:
    """Return the backdated time of the next entry, and what came after it; empty if it counts as now."""
    if not live.minutes_ago:
        return ""
    then = live.entry_at().utc
    batches = (live.day.batches[no] for no in numbers)
    stays = ((batch, stay) for batch in batches for stay in batch.stays if stay.since.utc > then)
    since = ""
    if (first := next(stays, None)) is not None:
        batch, stay = first
        word = state_word(batch, stay.state, stay.layer)
        since = f"; since then: {live.time_text(stay.since.utc)} to {word} (l corrects it)"
    return f"{live.earlier_text}, {length_text(live.minutes_ago)} ago{since}"


def drafts_for(offer: Offer, taken: OfferTaken) -> list[EventDraft]:
    """Return the entries of an accepted offer: what is put in before it, the move, and the chores with it."""
    offer = offer.put_off() if taken.waits else offer
    chores = (
        EventDraft(ChoreFinished(chore=step.chore, when=step.when, layer=step.layer or None), batch.no)
        for batch, step in offer.chores
    )
    return [*_before(offer, taken), *_movement(offer, taken), *chores]


def _before(offer: Offer, taken: OfferTaken) -> Iterator[EventDraft]:
    """Yield what goes before the movement: the look before the water runs, the old load lifted out."""
    for batch in offer.batches:
        if taken.look:
            look = Measured(reading=ReadingKind.EYE, value=taken.look, where=taken.where)
            yield EventDraft(look, batch.no)
        if offer.weighs and taken.amount_figure:
            yield EventDraft(Measured(reading=ReadingKind.WEIGHT_G, value=float(taken.amount_figure)), batch.no)
    if taken.lifted:
        yield from _lifted(offer, taken)


def _lifted(offer: Offer, taken: OfferTaken) -> Iterator[EventDraft]:
    """Yield the end of the heat of those that have it on, and their way out to cool unless a burst is to come."""
    batches = [offer.day.batches[no] for no in taken.lifted]
    heats = {batch.no: heat.heat_no for batch in batches if (heat := batch.heat_on(offer.now)) is not None}
    ways = (((one.no in heats, None if offer.has_burst_to_come(one) else State.COOL), one.no) for one in batches)
    for (is_on, to), numbers in grouped(ways).items():
        if is_on:
            heat_no = _one_or_each({no: heats[no] for no in numbers})
            off = Load(batches=tuple(numbers), unit=taken.unit, to=to, heat_no=heat_no, edge=HeatEdge.END)
            yield EventDraft(off)
        elif to is not None:
            cooled = Load(batches=tuple(numbers), to=to)
            yield EventDraft(cooled) if len(numbers) > 1 else EventDraft(Moved(to=to), numbers[0])


def _movement(offer: Offer, taken: OfferTaken) -> Iterator[EventDraft]:
    step = offer.step
    amount = 0.0 if offer.weighs or not taken.amount_figure else float(taken.amount_figure)
    in_bath = amount and taken.unit is not None and (step.to is State.SOAK or offer.layer.how is DyeMethod.IMMERSED)
    if step.acid:
        if amount:
            yield acid_draft(offer.day, offer.batches[0], amount, step.unit)
        return
    numbers = tuple(batch.no for batch in offer.batches)
    edge = step.edge
    if step.to is None and edge is None:
        return
    ends = edge is HeatEdge.END
    heats = {batch.no: _heat_no(offer, batch) for batch in offer.batches} if edge is not None else {}
    units = {batch.unit for batch in offer.batches} if ends else {taken.unit}
    unit = units.pop() if len(units) == 1 else None
    acid_ml, acid_g = _ml_or_g(offer.day, amount) if in_bath else (None, None)
    alone = len(numbers) == 1
    tank = UnitEvent.FILLED if taken.is_tank_filled and unit is not None else None
    if alone and step.to is not None and edge is None and not in_bath:
        yield EventDraft(Moved(to=step.to, layer=step.layer, unit=unit, water=taken.water), numbers[0])
    elif alone and step.to is None and edge is not None and tank is None:
        yield EventDraft(Heated(heat_no=heats[numbers[0]], edge=edge, unit=None if ends else unit), numbers[0])
    else:
        yield EventDraft(
            Load(
                batches=numbers,
                to=step.to,
                unit=unit,
                layer=step.layer,
                water=taken.water,
                tank=tank,
                heat_no=_one_or_each(heats) if heats else None,
                edge=edge,
                acid_ml=acid_ml,
                acid_g=acid_g,
            )
        )
    if amount and not in_bath:
        whole_g = sum(batch.wof_g for batch in offer.batches)
        for batch in offer.batches:
            yield acid_draft(offer.day, batch, round(amount * batch.wof_g / whole_g, 3), None)


def _heat_no(offer: Offer, batch: BatchRecord) -> int:
    step = next_step(offer.day, batch, offer.now)
    return (step.heat_no if step is not None else None) or offer.step.heat_no or 1


def _one_or_each(heats: dict[str, int]) -> int | dict[str, int]:
    numbers = {*heats.values()}
    return numbers.pop() if len(numbers) == 1 else heats


def _ml_or_g(day: Day, amount: float) -> tuple[float | None, float | None]:
    return (amount, None) if day.plan.acid.is_liquid else (None, amount)


def acid_draft(day: Day, batch: BatchRecord, amount: float, unit: str | None) -> EventDraft:
    """Return the event of acid put in: into the bath of ``unit`` where there is one, else with the batch."""
    acid_ml, acid_g = _ml_or_g(day, amount)
    return EventDraft(AcidPutIn(unit=unit, acid_ml=acid_ml, acid_g=acid_g), batch.no)
