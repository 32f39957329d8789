"""The most frequent question: the next step of a load, its unit, its water and acid; one Enter."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from rich.text import Text
from textual.app import ComposeResult
from textual.events import Key
from textual.widgets import Input, Static

from dyeday.bench.prompts.offer_lines import lines_to_know, warnings
from dyeday.bench.prompts.offers import LOOK_KEYS, Offer, OfferTaken, look_places
from dyeday.bench.prompts.prompts import DIGITS, Question, Strip
from dyeday.bench.widgets.one_line import Field
from dyeday.terms import State, Water
from dyeday.text import harmless, wrap


class OfferPrompt(Question[OfferTaken]):
    """The next step of a load: Enter accepts all that is shown; a key each changes a part of it."""

    def __init__(self, offered: Callable[[], Offer], earlier: Callable[[], str]) -> None:
        """``offered`` makes the offer or raises ValueError; ``earlier`` is when the step was, if backdated."""
        super().__init__()
        self.offered, self.earlier = offered, earlier
        offer = self.offer = offered()
        self.is_tank_filled = False
        self.warned: set[str] = set()
        self.seen_once: set[str] = set()
        """warnings that an Enter has shown: the next one accepts them"""
        self.where = look_places(offer.batch)[0]
        self.typing = False
        self._into(offer.unit)
        # Yarn between two heats is where it was: where no unit has room for it, there is nothing else to take.
        if offer.unit is None and offer.step.to is None and offer.may_wait:
            self.waits = True

    def _into(self, unit: str | None) -> None:
        # Yarn is dyed for minutes before its pot is switched on.
        self.waits, self.lifts = self.offer.step.to is State.PAINT and self.offer.may_wait, False
        self.is_tank_filled = self.is_tank_filled and unit == self.offer.unit
        self.typed_figure: str | None = None
        """an amount typed instead of the one that goes with the unit and its water"""
        self.offer = self.offer.into(unit, self.offer.into(unit).latest_water)

    @property
    def amount_figure(self) -> str:
        """The amount as typed, else as offered, mL or g as digits."""
        return self.offer.acid_figure if self.typed_figure is None else self.typed_figure

    @property
    def uses_a(self) -> bool:
        """Whether `a` types acid here and so silences no alarm."""
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
        keys = ["Enter: new water", "n: water kept"] if unsaid else ["Enter: accept"]
        keys += ["digit: unit"] if len(offer.units) > 1 else []
        keys += [f"{offer.amount_key}: {'weight' if offer.weighs else 'another amount'}"] if offer.amount_key else []
        keys += ["c t o: accept with that look", "w: where you looked"] if offer.looks else []
        keys = ["Enter: accept this amount", "Esc: back"] if self.typing else [*keys, "Esc: cancel"]
        line = f"{wrong}   {keys[-1]}" if wrong else ", ".join(keys)
        style = self.look.flag_style if wrong else self.look.quiet
        self.query_one("#go-on-keys", Static).update(Text(line, style=style))

    def woken(self) -> bool:
        """Update the offer; what was chosen and typed stays if the step is the same."""
        self.seen_once.clear()
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
            _part(f"{n} {unit}{inside}", chosen=unit == self.offer.unit)
            for n, (unit, inside) in zip(DIGITS, self.offer.units, strict=False)
        ]
        if self.offer.may_wait:
            dyes = self.offer.step.to is State.PAINT
            when = f"heat on {'later' if self.waits else 'now'}" if dyes else "no heat yet: it waits"
            parts.append(_part(f"0 {when}", chosen=self.waits or dyes))
        if offer.may_keep_water:
            asked = {None: "n water kept or new?", Water.NEW: "n new water", Water.KEPT: "n water kept"}
            parts.append(_part(asked[offer.water], chosen=offer.water is not None))
        if offer.tank is not None:
            parts.append(_part("f tank filled", chosen=self.is_tank_filled))
        if offer.to_lift:
            parts.append(_part(f"x {'+'.join(offer.to_lift)} lifted out", chosen=self.lifts))
        if offer.amount_label:
            amount = "" if self.typing else f" {harmless(self.amount_figure) or 'none'}"
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
        if self.offer.may_keep_water and self.offer.water is None:
            # The foot says so, and the amount beside it is that of new water.
            self.offer = self.offer.into(self.offer.step.unit, Water.NEW)
            self.warned = warnings(self.offer, is_tank_filled=self.is_tank_filled)
        offer, unit = self.offer, self.offer.step.unit
        if offer.units and unit is None and not self.waits:
            self.show(offer.full_words())
        elif self.waits:
            # Painted yarn lies where it is; immersed yarn is in its pot, which is not on yet.
            in_pot = unit if offer.step.to is State.PAINT else None
            self.dismiss(OfferTaken(in_pot, self.amount_figure if in_pot else "", water=offer.water, waits=True))
        elif fresh := self.warned - self.seen_once:
            self.seen_once |= fresh
            self.show(f"{'; '.join(sorted(fresh))}; Enter again starts it anyway")
        else:
            lifted = offer.to_lift if self.lifts else ()
            tank = self.is_tank_filled and offer.tank is not None
            self.dismiss(OfferTaken(unit, self.amount_figure, look, self.where, offer.water, tank, lifted=lifted))

    def _type(self) -> None:
        self.typing = True
        box = self.query_one("#go-on-amount", Input)
        box.remove_class("hidden")
        box.value = self.amount_figure
        box.focus()
        self.show()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        event.stop()
        try:
            self.typed_figure = self.offer.read_amount(event.value) if event.value.strip() else ""
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
