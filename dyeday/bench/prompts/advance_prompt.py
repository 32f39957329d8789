"""The question that the commonest move asks: the next step of a batch, its unit, its acid, its look, one return."""

from __future__ import annotations

from collections.abc import Sequence

from rich.text import Text
from textual.app import ComposeResult
from textual.events import Key
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from dyeday.bench.input.key_forwarding import TypedAhead
from dyeday.bench.prompts.offers import Offer, Taken
from dyeday.bench.prompts.prompts import DIGITS, Strip
from dyeday.bench.widgets.field import Field
from dyeday.paper.layout.text_page import wrap
from dyeday.text import harmless
from dyeday.track.events.measured import PLACES

LOOKS = (("c", "clear"), ("t", "tinted"), ("o", "coloured"))


class GoOn(TypedAhead, ModalScreen[Taken | None]):
    """The next step of a batch: digits choose the unit, return takes it all."""

    AUTO_FOCUS = ""
    BINDINGS = [("escape", "leave", "leave it")]  # noqa: RUF012

    def __init__(self, offer: Offer) -> None:
        super().__init__()
        self.offer = offer
        self.unit = offer.unit
        self.amount = offer.amount_for(offer.unit)
        self.bath: str | None = None
        self.where = PLACES[0]
        self.typing = False

    @property
    def means_a(self) -> bool:
        return self.typing or bool(self.offer.amount_label)

    def compose(self) -> ComposeResult:
        with Strip():
            yield Static(Text(harmless(self.offer.title), style="bold"))
            yield Static(id="go-on-lines")
            yield Static(id="go-on-offer")
            yield Field(id="go-on-amount", classes="hidden", select_on_focus=True)
            yield Static(id="go-on-keys")

    def on_mount(self) -> None:
        self._show()

    def on_resize(self) -> None:
        self._show()

    def _show(self, wrong: str = "") -> None:
        offer = self.offer
        width = max(20, self.app.size.width - 2)
        told = [part for line in offer.lines for part in wrap(line, width, "    ", "  ")]
        lines = self.query_one("#go-on-lines", Static)
        lines.update(Text("\n".join(told)))
        lines.display = bool(told)
        parts = self._parts()
        shown = self.query_one("#go-on-offer", Static)
        shown.update(_flowing(parts, width))
        shown.display = bool(parts)
        keys = ["return takes it"]
        keys += ["digit: unit"] if len(offer.units) > 1 else []
        keys += ["a: another amount"] if offer.amount_label else []
        keys += ["c t o: the bath looks", "w: where it was seen"] if offer.looks else []
        keys = ["return takes this amount", "escape goes back"] if self.typing else [*keys, "escape leaves it"]
        line = f"{wrong}   {keys[-1]}" if wrong else ", ".join(keys)
        self.query_one("#go-on-keys", Static).update(Text(line, style=self.look.doubt if wrong else self.look.quiet))

    def _parts(self) -> list[Text]:
        """Return what can be chosen, each with its key where it has one."""
        offer = self.offer
        parts = [
            Text(f"{n} {harmless(unit)}{harmless(inside)}", style="bold reverse" if unit == self.unit else "")
            for n, (unit, inside) in zip(DIGITS, offer.units, strict=False)
        ]
        if offer.amount_label:
            amount = "" if self.typing else f" {harmless(self.amount) or 'none'}"
            parts.append(Text(f"{harmless(offer.amount_label)}:{amount}"))
        if offer.looks:
            parts += [Text(f"{key} {word}", style="bold reverse" if self.bath == word else "") for key, word in LOOKS]
            parts.append(Text(f"w seen in the {self.where}"))
        return parts

    def on_key(self, event: Key) -> None:
        if self.typing:
            return
        said = event.character or ""
        if event.key == "enter" and self.offer.units and self.unit is None:
            event.stop()
            self._show("none of them has room: a digit takes one all the same")
        elif event.key == "enter":
            event.stop()
            self.dismiss(Taken(self.unit, self.amount, self.bath, self.where))
        elif said and said in DIGITS[: len(self.offer.units)]:
            event.stop()
            self.unit = self.offer.units[DIGITS.index(said)][0]
            self.amount = self.offer.amount_for(self.unit)
            self._show()
        elif said == "a" and self.offer.amount_label:
            event.stop()
            event.prevent_default()
            self._type()
        elif self.offer.looks and said in dict(LOOKS):
            event.stop()
            self.bath = dict(LOOKS)[said]
            self._show()
        elif self.offer.looks and said == "w":
            event.stop()
            self.where = PLACES[(PLACES.index(self.where) + 1) % len(PLACES)]
            self._show()

    def _type(self) -> None:
        self.typing = True
        box = self.query_one("#go-on-amount", Input)
        box.remove_class("hidden")
        box.value = self.amount
        box.focus()
        self._show()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        event.stop()
        try:
            read = self.offer.read_amount
            self.amount = read(event.value) if read is not None and event.value.strip() else event.value.strip()
        except ValueError as error:
            self._show(harmless(error))
            return
        self.typing = False
        event.input.add_class("hidden")
        self.set_focus(None)
        self._show()

    def action_leave(self) -> None:
        if self.typing:
            self.typing = False
            self.query_one("#go-on-amount", Input).add_class("hidden")
            self.set_focus(None)
            self._show()
            return
        self.dismiss(None)


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
