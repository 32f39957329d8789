"""The most frequent question: the next step of a load, its unit, its water and acid; one Enter.

`drafts_for` makes the entries of its answer: one for the movement and what belongs to it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from rich.text import Text
from textual.app import ComposeResult
from textual.events import Key
from textual.widgets import Input, Static

from dyeday.ahead.advising.next_step import next_step
from dyeday.bench.live_session import EventDraft
from dyeday.bench.prompts.offer_lines import lines_to_know, warnings
from dyeday.bench.prompts.offers import LOOK_KEYS, Offer, OfferTaken, chore_step, look_places
from dyeday.bench.prompts.prompts import DIGITS, Question, Strip
from dyeday.bench.widgets.one_line import Field
from dyeday.grouping import grouped
from dyeday.terms import DyeMethod, HeatEdge, ReadingKind, State, UnitEvent, Water
from dyeday.text import harmless, wrap
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.events.measured import Measured
from dyeday.track.events.movements import AcidPutIn, Heated, Load, Moved
from dyeday.track.events.remarks import ChoreFinished


def drafts_for(offer: Offer, taken: OfferTaken) -> list[EventDraft]:
    """Return the entries of an offer that was taken, in the order they happen."""
    offer = offer.put_off() if taken.waits else offer
    return [*_before(offer, taken), *_movement(offer, taken), *_chores(offer)]


def _before(offer: Offer, taken: OfferTaken) -> Iterator[EventDraft]:
    """Yield what goes before the movement: the look before the water runs, the old load lifted out."""
    for batch in offer.batches:
        if taken.look:
            look = Measured(reading=ReadingKind.EYE, value=taken.look, where=taken.where)
            yield EventDraft(look, batch.no)
        if offer.weighs and taken.amount:
            yield EventDraft(Measured(reading=ReadingKind.WEIGHT_G, value=float(taken.amount)), batch.no)
    if taken.lifted:
        yield from _lifted(offer, taken)


def _chores(offer: Offer) -> Iterator[EventDraft]:
    for batch, chore in offer.chores:
        step = chore_step(batch, chore, offer.step.layer)
        yield EventDraft(ChoreFinished(chore=chore.name, when=chore.when, layer=step.layer or None), batch.no)


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
    amount = 0.0 if offer.weighs or not taken.amount else float(taken.amount)
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
    unit = _unit_left(offer) if ends else taken.unit
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
            share = round(amount * batch.wof_g / whole_g, 3)
            yield acid_draft(offer.day, batch, share, None)


def _heat_no(offer: Offer, batch: BatchRecord) -> int:
    step = next_step(offer.day, batch, offer.now)
    return (step.heat_no if step is not None else None) or offer.step.heat_no or 1


def _unit_left(offer: Offer) -> str | None:
    """Return the unit that a load leaves; None where its batches are in several."""
    units = {batch.unit for batch in offer.batches}
    return units.pop() if len(units) == 1 else None


def _one_or_each(heats: dict[str, int]) -> int | dict[str, int]:
    numbers = {*heats.values()}
    return numbers.pop() if len(numbers) == 1 else heats


def _ml_or_g(day: Day, amount: float) -> tuple[float | None, float | None]:
    return (amount, None) if day.plan.acid.is_liquid else (None, amount)


def acid_draft(day: Day, batch: BatchRecord, amount: float, unit: str | None) -> EventDraft:
    """Return the event of acid put in: into the bath of ``unit`` where there is one, else with the batch."""
    acid_ml, acid_g = _ml_or_g(day, amount)
    return EventDraft(AcidPutIn(unit=unit, acid_ml=acid_ml, acid_g=acid_g), batch.no)


class OfferPrompt(Question[OfferTaken]):
    """The next step of a load: Enter accepts all that is shown; a key each changes a part of it."""

    def __init__(self, offered: Callable[[], Offer], earlier: Callable[[], str]) -> None:
        """``offered`` makes the present offer; ``earlier`` is when the step happened, if it is backdated.

        Raises what ``offered`` raises: ValueError where there is nothing to offer.
        """
        super().__init__()
        self.offered, self.earlier = offered, earlier
        offer = self.offer = offered()
        self.is_tank_filled = False
        self.warned: set[str] = set()
        self.accepted: set[str] = set()
        """warnings on which Enter was pressed: the second one accepts them"""
        self.where = look_places(offer.batch)[0]
        self.typing = False
        self._into(offer.unit)
        # Yarn between two heats is where it was: where no unit has room for it, there is nothing else to take.
        self.waits = offer.unit is None and offer.step.to is None and offer.may_wait

    def _into(self, unit: str | None) -> None:
        self.waits = self.lifts = False
        self.typed_amount: str | None = None
        """an amount typed instead of the one that goes with the unit and its water"""
        self.offer = self.offer.into(unit, self.offer.into(unit).latest_water)

    @property
    def amount(self) -> str:
        """The amount as typed, else as offered."""
        return self.offer.acid_amount if self.typed_amount is None else self.typed_amount

    @property
    def means_a(self) -> bool:
        return self.typing or self.offer.amount_key == "a"

    def compose(self) -> ComposeResult:
        with Strip():
            yield Static(id="go-on-title")
            yield Static(id="go-on-lines")
            yield Static(id="go-on-offer")
            yield Field(id="go-on-amount", classes="hidden", select_on_focus=True)
            yield Static(id="go-on-keys")

    def show(self, wrong: str = "") -> None:
        offer = self.offer.put_off() if self.waits else self.offer
        self.note("")
        title = f"{offer.title} {self.earlier()}".rstrip()
        self.query_one("#go-on-title", Static).update(Text(harmless(title), style="bold"))
        width = max(20, self.app.size.width - 2)
        lines = lines_to_know(offer, is_tank_filled=self.is_tank_filled)
        self.warned = warnings(self.offer, is_tank_filled=self.is_tank_filled)
        wrapped = [part for line in lines for part in wrap(line, width, "    ", "  ")]
        above = self.query_one("#go-on-lines", Static)
        above.update(Text("\n".join(wrapped)))
        above.display = bool(wrapped)
        parts = self._parts(offer)
        shown = self.query_one("#go-on-offer", Static)
        shown.update(_flowing(parts, width))
        shown.display = bool(parts)
        unsaid = offer.may_keep_water and offer.water is None
        keys = ["n: water kept", "n again: new"] if unsaid else ["Enter: accept"]
        keys += ["digit: unit"] if len(offer.units) > 1 else []
        keys += [f"{offer.amount_key}: {'weight' if offer.weighs else 'another amount'}"] if offer.amount_key else []
        keys += ["c t o: accept with that look", "w: where you looked"] if offer.looks else []
        keys = ["Enter: accept this amount", "Esc: back"] if self.typing else [*keys, "Esc: cancel"]
        line = f"{wrong}   {keys[-1]}" if wrong else ", ".join(keys)
        self.query_one("#go-on-keys", Static).update(
            Text(line, style=self.look.flag_style if wrong else self.look.quiet)
        )

    def woken(self) -> bool:
        """Update the offer; what was chosen and typed stays if the step is the same."""
        self.accepted.clear()
        if self.typing:
            return False
        before = self.offer
        try:
            fresh = self.offered()
        except ValueError:
            self.dismiss(None)
            return True
        if fresh.into(None).step == before.into(None).step:
            may_keep = fresh.into(before.unit).may_keep_water
            self.offer = fresh.into(before.unit, before.water if may_keep else None)
        else:
            self._into(fresh.unit)
        self.show()
        return super().woken()

    def _parts(self, offer: Offer) -> list[Text]:
        """Return the choices, each with its key if it has one; the present one is in reverse."""
        parts = [
            _part(f"{n} {unit}{inside}", chosen=unit == offer.unit)
            for n, (unit, inside) in zip(DIGITS, offer.units, strict=False)
        ]
        parts += [_part("0 not yet: it waits", chosen=self.waits)] if self.offer.may_wait else []
        if offer.may_keep_water:
            asked = {None: "n water kept or new?", Water.NEW: "n new water", Water.KEPT: "n water kept"}
            parts.append(_part(asked[offer.water], chosen=offer.water is not None))
        if offer.tank is not None:
            parts.append(_part("f tank filled", chosen=self.is_tank_filled))
        if offer.to_lift:
            parts.append(_part(f"x {'+'.join(offer.to_lift)} lifted out", chosen=self.lifts))
        if offer.amount_label:
            amount = "" if self.typing else f" {harmless(self.amount) or 'none'}"
            parts.append(Text(f"{harmless(offer.amount_label)}:{amount}"))
        if offer.looks:
            parts += [Text(f"{key} {word}") for key, word in LOOK_KEYS.items()]
            parts.append(Text(f"w looked in the {self.where}"))
        return parts

    def on_key(self, event: Key) -> None:
        if self.typing:
            return
        char = event.character or ""
        if event.key == "enter":
            event.stop()
            self._take(None)
        elif self.offer.looks and char in LOOK_KEYS:
            event.stop()
            self._take(LOOK_KEYS[char])
        elif char and char == self.offer.amount_key:
            event.stop()
            event.prevent_default()
            self._type()
        elif self._changed(char):
            event.stop()
            self.show()

    def _changed(self, char: str) -> bool:
        """Change the part of the offer whose key was pressed; return whether there is one."""
        offer = self.offer
        if char and char in DIGITS[: len(offer.units)]:
            self._into(offer.units[DIGITS.index(char)][0])
        elif char == "0" and offer.may_wait:
            self.waits = not self.waits
        elif char == "n" and offer.may_keep_water:
            self.offer = offer.into(offer.unit, Water.NEW if offer.water is Water.KEPT else Water.KEPT)
        elif char == "f" and offer.tank is not None:
            self.is_tank_filled = not self.is_tank_filled
        elif char == "x" and offer.to_lift:
            self.lifts = not self.lifts
        elif char == "w" and offer.looks:
            places = look_places(offer.batch)
            self.where = places[(places.index(self.where) + 1) % len(places)]
        else:
            return False
        return True

    def _take(self, look: str | None) -> None:
        offer = self.offer
        if offer.units and offer.unit is None and not self.waits:
            self.show(offer.full_words())
        elif offer.may_keep_water and offer.water is None:
            self.show("n: keep the water of the load before; n again: it is new")
        elif self.waits:
            # Painted yarn lies where it is; immersed yarn is in its pot, which is not on yet.
            in_pot = offer.unit if offer.step.to is State.PAINT else None
            self.dismiss(OfferTaken(in_pot, self.amount if in_pot else "", water=offer.water, waits=True))
        elif fresh := self.warned - self.accepted:
            self.accepted |= fresh
            self.show(f"{'; '.join(sorted(fresh))}; Enter again starts it anyway")
        else:
            lifted = offer.to_lift if self.lifts else ()
            tank = self.is_tank_filled and offer.tank is not None
            self.dismiss(OfferTaken(offer.unit, self.amount, look, self.where, offer.water, tank, lifted=lifted))

    def _type(self) -> None:
        self.typing = True
        box = self.query_one("#go-on-amount", Input)
        box.remove_class("hidden")
        box.value = self.amount
        box.focus()
        self.show()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        event.stop()
        try:
            self.typed_amount = self.offer.read_amount(event.value) if event.value.strip() else ""
        except ValueError as error:
            self.show(harmless(error))
            return
        self._typed()

    def _typed(self) -> None:
        self.typing = False
        self.query_one("#go-on-amount", Input).add_class("hidden")
        self.set_focus(None)
        self.show()

    def action_back(self) -> None:
        if self.typing:
            self._typed()
        else:
            self.dismiss(None)


def _part(words: str, *, chosen: bool) -> Text:
    return Text(harmless(words), style="bold reverse" if chosen else "")


def _flowing(parts: Sequence[Text], width: int) -> Text:
    """Return parts side by side, none of them broken where it would fit on a line of its own."""
    text, used = Text(), 0
    for part in parts:
        if used and used + 3 + part.cell_len > width:
            text.append("\n")
            used = 0
        elif used:
            text.append("   ")
            used += 3
        text.append_text(part)
        used += part.cell_len
    return text
