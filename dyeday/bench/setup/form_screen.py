"""A form on the screen: a line for each field, what is wrong beside it, why it is asked; a list to choose from."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, VerticalScroll
from textual.events import DescendantFocus, Key
from textual.widgets import Input, OptionList, Static
from textual.widgets.input import Selection
from textual.widgets.option_list import Option

from dyeday.bench.plain_app import Drawn
from dyeday.bench.prompts.prompts import CHOICE_KEYS, Question, Strip
from dyeday.bench.setup.desk import Place, SetupError
from dyeday.bench.setup.form_toml import CheckedForm
from dyeday.bench.setup.forms import ColourwayForm, TableForm
from dyeday.bench.setup.steps import PALETTE, Field, FieldForm
from dyeday.bench.widgets.one_line import ChoiceList, Foot, Message
from dyeday.files.durable import StoreError
from dyeday.text import clip, harmless, pad

FOOT = (
    ("ctrl+s", "save"), ("f2", "choose"), ("f8", "discard"), ("type", "replaces"),
    ("escape", "back, stays half typed"),
)  # fmt: skip
PARTS = "ctrl+n section  ctrl+l layer  ctrl+r remove "
"""the keys of a colourway's parts, beside its heading"""
SKEIN_CELLS = 60
FIELD_PARTS = 3
"""widgets of a field"""


class FormBox(Input):
    """What a field has: entered, typing replaces it all, and arrows or Backspace begin to change it."""

    def enter(self) -> None:
        """Give it the focus at once, for the key that comes next too, with all its text chosen."""
        self.screen.set_focus(self)
        self.select_all()

    def action_delete_left(self) -> None:
        if self.selection == Selection(0, len(self.value)):
            self.selection = Selection.cursor(len(self.value))
        super().action_delete_left()


class FormField(Horizontal):
    """The label, the box and what stands beside it."""

    def __init__(self, row: Field, typed: str, *, begins: bool) -> None:
        super().__init__(classes="field")
        self.row, self.typed, self.begins = row, typed, begins

    def compose(self) -> ComposeResult:
        yield Static(Text(self.row.label), classes="field-label")
        name = "begin" if self.begins else None
        yield FormBox(self.typed, placeholder=self.row.usual, select_on_focus=False, classes="field-box", id=name)
        yield Static(classes="field-beside")


class FormScreen(Drawn[str]):
    """Dismissed with a message that it is saved, or "" if it was only left."""

    AUTO_FOCUS = "#begin"
    BINDINGS = [  # noqa: RUF012
        Binding("ctrl+s", "save", "save", priority=True),
        Binding("enter", "done", "next", priority=True),
        Binding("down,tab", "next(1)", "next", priority=True),
        Binding("up,shift+tab", "next(-1)", "back", priority=True),
        Binding("f2", "choose", "choose", priority=True),
        Binding("f8", "throw_away", "discard", priority=True),
        Binding("ctrl+n", "change('more')", "section", priority=True),
        Binding("ctrl+r", "change('fewer')", "remove it", priority=True),
        Binding("ctrl+l", "change('layer')", "layer", priority=True),
        Binding("escape", "leave", "back", priority=True),
    ]

    def __init__(self, form: TableForm) -> None:
        super().__init__()
        self.form = form
        self.judged = CheckedForm()
        self.touched = form.half_typed
        self.message = ""
        self.throwing = self.laying_out = False
        self.typed_ahead = ""
        self.place = Place(form.step, form.name, form.rows()[0].key)
        before = form.desk.was_open()
        if before is not None and before[:2] == self.place[:2] and before.field in [row.key for row in form.rows()]:
            self.place = before

    def compose(self) -> ComposeResult:
        yield Static(id="form-top", classes="heading")
        yield Static(id="form-skein")
        yield VerticalScroll(*self._fields(), id="form-rows")
        yield Message(4)
        yield Foot(FOOT)

    def _fields(self) -> list[FormField]:
        rows, begin = self.form.rows(), self.place.field
        return [FormField(row, self.form.values.get(row.key, ""), begins=row.key == begin) for row in rows]

    def on_mount(self) -> None:
        self.query_one("#form-rows").can_focus = False
        self.form.desk.opened(self.place)
        if not self.form.half_typed:
            self.query_one("#begin", FormBox).select_all()
        self.call_after_refresh(self.show)

    @property
    def boxes(self) -> list[FormField]:
        """The fields that are there with all that belongs to them."""
        return [field for field in self.query(FormField) if len(field.children) == FIELD_PARTS]

    @property
    def at(self) -> int:
        """The place of the field that has the focus, the first where none has."""
        here = self.focused.parent if self.focused is not None else None
        return next((n for n, field in enumerate(self.boxes) if field is here), 0)

    def on_key(self, event: Key) -> None:
        """Take keys that were typed before a box had the focus."""
        if event.is_printable and event.character and not isinstance(self.focused, Input):
            event.stop()
            self.typed_ahead += event.character
            if not self.laying_out:
                self._type_into(self.query("#begin").results(Input))

    def _type_into(self, boxes: Iterable[Input]) -> None:
        """Give the focus to the first of ``boxes``, and what was typed before it had it."""
        for box in boxes:
            typed, self.typed_ahead = self.typed_ahead, ""
            box.focus().insert_text_at_cursor(typed)
            break

    def on_input_changed(self, event: Input.Changed) -> None:
        field = event.input.parent
        assert isinstance(field, FormField)  # noqa: S101 - no other box is on this screen
        if self.form.values.get(field.row.key, "") == event.value:
            return
        self.touched, self.message, self.throwing = True, "", False
        self.form.type(field.row.key, event.value)
        if [f.row.key for f in self.boxes] != [row.key for row in self.form.rows()]:
            self._lay_out(field.row.key)
        self.show()

    def on_descendant_focus(self, _event: DescendantFocus) -> None:
        self.message, self.throwing = "", False
        if self.boxes:
            self.place = self.place._replace(field=self.boxes[self.at].row.key)
            self.form.desk.opened(self.place)
        self.show()

    def _lay_out(self, key: str) -> None:
        place, self.laying_out = self.at, True
        self.set_focus(None)
        self.run_worker(self._again(key, place), exclusive=True)

    async def _again(self, key: str, place: int) -> None:
        """Lay the rows out again, the focus on the field ``key`` or the nearest there is."""
        rows = self.query_one("#form-rows", VerticalScroll)
        await rows.remove_children()
        await rows.mount(*self._fields())
        if not (fields := self.boxes):
            return
        again = next((field for field in fields if field.row.key == key), fields[min(place, len(fields) - 1)])
        self.laying_out = False
        self._type_into(again.query(Input))
        self.show()

    def show(self) -> None:
        """Check what is typed, and show each problem beside its field."""
        if not self.boxes:
            return
        self.judged = judged = self.form.judge()
        state = "" if not self.touched else " - not complete" if judged.problems else " - not saved"
        parts = PARTS if isinstance(self.form, ColourwayForm) else ""
        room = max(0, self.size.width - len(parts) - 1)
        top = Text(pad(f" {clip(harmless(self.form.title), room - len(state) - 1)}{state}", room + 1), style="bold")
        top.append(parts, style=self.look.quiet)
        self.query_one("#form-top", Static).update(top)
        self._show_skein()
        rows = {row.key: row for row in self.form.rows()}
        for field in self.boxes:
            field.row = rows.get(field.row.key, field.row)
            field.query_one(Input).placeholder = field.row.usual
            wrong = field.row.key in judged.problems and bool(self.form.values.get(field.row.key, "").strip())
            beside = Text("!" if wrong else "", style=self.look.flag_style)
            if swatch := judged.swatches.get(field.row.key):
                beside.append("██", style=swatch)
            beside.append(judged.beside.get(field.row.key, ""), style=self.look.quiet)
            field.query_one(".field-beside", Static).update(beside)
        self._show_message()

    def _show_skein(self) -> None:
        way = self.judged.thing if isinstance(self.form, ColourwayForm) else None
        lines = Text()
        for layer in way.layers if way is not None else ():
            lines.append(" ")
            for section in layer.sections:
                cells = max(1, round(section.share_pct * SKEIN_CELLS / 100))
                lines.append(("█" if section.swatch else "░") * cells, style=section.swatch or self.look.quiet)
            lines.append("\n")
        lines.rstrip()
        self.query_one("#form-skein", Static).update(lines)

    def _show_message(self) -> None:
        row, problems = self.boxes[self.at].row, self.judged.problems
        own = problems.get(row.key, "") if self.touched else ""
        others = [what for key, what in problems.items() if key != row.key] if self.touched else []
        wrong = self.message or own
        lines = [wrong or f"{row.label.strip()}: {row.why}"]
        if self.judged.advice and not wrong:
            lines.append(f"check says: {self.judged.advice[0]}")
        elif others and not wrong and self.form.values.get("name", "").strip():
            lines.append(f"still: {others[0]}")
        self.query_one(Message).say(*lines, style=self.look.flag_style if wrong else "")

    def action_next(self, step: int) -> None:
        place, fields = self.at + step, self.boxes
        if 0 <= place < len(fields):
            fields[place].query_one(FormBox).enter()

    def action_done(self) -> None:
        """Go on to the next field, from the last one save."""
        if self.at + 1 < len(self.boxes):
            self.action_next(1)
        elif not self.laying_out:
            self.action_save()

    def action_save(self) -> None:
        try:
            message = self.form.save()
        except (SetupError, StoreError) as error:
            self.touched, self.message = True, ""
            for field in self.boxes:
                if field.row.key in self.judged.problems:
                    field.query_one(Input).focus()
                    break
            else:
                self.message = str(error)
            self.show()
            return
        self._left(message)

    def action_choose(self) -> None:
        if self.laying_out:
            return
        field = self.boxes[self.at]
        row, box = field.row, field.query_one(Input)
        if not row.words:
            self.message = "there is nothing to choose from here: type it"
            self.show()
            return

        def chosen(place: int | None) -> None:
            if place is None:
                return
            before = box.value.strip().rstrip(",")
            # A share goes before the name of its fibre.
            joint = " " if row.form is FieldForm.MIX and before[-1:].isdigit() else ", "
            box.value = f"{before}{joint}{row.words[place]} " if row.many and before else row.words[place]
            if row.many:
                box.value = box.value.rstrip() + " "
            box.cursor_position = len(box.value)

        swatches = [PALETTE[word] for word in row.words] if row.key.endswith(".colour") else []
        self.app.push_screen(PickScreen(row.label.strip(), row.words, swatches), chosen)

    def action_change(self, what: str) -> None:
        """Add a section or a layer, or take a section out, and go to what is new."""
        if not isinstance(self.form, ColourwayForm) or self.laying_out:
            return
        key = self.boxes[self.at].row.key
        before = {row.key for row in self.form.rows()}
        if what == "layer":
            self.form.layer()
        else:
            (self.form.more if what == "more" else self.form.fewer)(key)
        self.touched = True
        new = [row.key for row in self.form.rows() if row.key not in before]
        begins = [each for each in new if each.endswith((".colour", ".how"))]
        self._lay_out(begins[0] if begins else key)

    def action_throw_away(self) -> None:
        if not self.throwing:
            self.throwing = True
            self.message = "f8 again discards what is not saved"
            self.show()
            return
        self.form.throw_away()
        self._left("discarded; what was saved stays")

    def action_leave(self) -> None:
        self._left("it stays half typed; ctrl+s in its form saves it" if self.form.is_half_typed() else "")

    def _left(self, message: str) -> None:
        self.form.desk.opened(Place(self.form.step) if self.form.step.library_key else None)
        self.dismiss(message)


class PickScreen(Question[int]):
    """Dismissed with the place of the line chosen, from 0; a line begins with a block of its ``swatches`` colour."""

    AUTO_FOCUS = "OptionList"

    def __init__(self, label: str, lines: Sequence[str], swatches: Sequence[str] = ()) -> None:
        super().__init__()
        self.label, self.lines, self.swatches = label, lines, swatches

    def compose(self) -> ComposeResult:
        with Strip():
            yield Static(Text(self.label, style="bold"))
            yield ChoiceList(*(Option(self._line(n)) for n in range(len(self.lines))), id="pick")
            yield Static(Text("Enter or the key chooses, Esc cancels", style=self.look.quiet))

    def _line(self, n: int) -> Text:
        key = f"{CHOICE_KEYS[n]} " if n < len(CHOICE_KEYS) else "  "
        line = Text(key, style="bold", no_wrap=True, overflow="ellipsis")
        if self.swatches:
            line.append("██ ", style=self.swatches[n])
        line.append(harmless(self.lines[n]), style="not bold")
        return line

    def on_key(self, event: Key) -> None:
        place = CHOICE_KEYS.find(event.character or " ")
        if 0 <= place < len(self.lines):
            event.stop()
            self.dismiss(place)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        self.dismiss(event.option_index)
