"""A form without its widgets: rows to type into, what is wrong with them, and saving."""

from __future__ import annotations

from dataclasses import dataclass, replace

from dyeday.bench.setup import colourway_form
from dyeday.bench.setup.desk import SetupDesk, SetupError
from dyeday.bench.setup.form_toml import CheckedForm, Values, judged_table, typed_of
from dyeday.bench.setup.steps import COLOURWAYS, KIT, Field, SetupStep
from dyeday.bench.setup.typed_words import word_of
from dyeday.bench.setup.usual import HEATS, PALETTE
from dyeday.plan.library import by_name
from dyeday.terms import DyeMethod, KitKind


@dataclass
class TableForm:
    """One table of a step; ``name`` is what it is kept under, "" where it is new or the studio's own."""

    desk: SetupDesk
    step: SetupStep
    name: str = ""

    def __post_init__(self) -> None:
        self.saved, self.rest = self._typed()
        draft = self.desk.draft(self.step, self.name)
        if draft is not None and self._is_kept(draft):
            self.desk.keep_draft(self.step, self.name, None)
            draft = None
        self.half_typed = draft is not None
        self.values: Values = dict(draft if draft is not None else self.saved)

    def _typed(self) -> tuple[Values, dict[str, str]]:
        return typed_of(self.step, self.desk.library, self.name)

    def _is_kept(self, draft: Values) -> bool:
        """Return whether a draft was saved already: setup was killed before it could be forgotten."""
        name = draft.get("name", "").strip()
        kept = [thing for thing in getattr(self.desk.library, self.step.library_key or "kit") if thing.name == name]
        if not self.step.library_key or not kept:
            return False
        self.values = draft
        return bool(self.judge(instead_of=name).thing == kept[0])

    @property
    def title(self) -> str:
        """What the form is headed by: the step, and the name of what is changed or "new"."""
        return f"{self.step.title}: {self.name or 'new'}" if self.step.library_key else self.step.title

    def rows(self) -> list[Field]:
        """Return the fields in their order; what a kind of kit cannot have only where it is typed already."""
        word = word_of(self.values.get("kind", ""), tuple(each.value for each in KitKind))
        kinds = {each for each in KitKind if each.value == word} or set(KitKind)
        asked = [each for each in self.step.fields if self.values.get(each.key) or kinds & each.kinds]
        circuits = tuple(circuit.name for circuit in self.desk.library.circuits)
        return [
            replace(each, words=circuits) if (self.step, each.key) == (KIT, "circuit") else each for each in asked
        ]

    def in_words(self) -> str:
        """Return what is kept, without its name, in a few words."""
        return ", ".join(
            typed if field.words or field.form == "mix" else f"{field.label.split(',')[0]} {typed}"
            for field in self.step.fields
            if field.key != "name" and (typed := self.saved.get(field.key))
        )

    def type(self, key: str, typed: str) -> None:
        """Put what is typed into a field, and keep it as a draft."""
        self.fill({**self.values, key: typed})

    def fill(self, values: Values) -> None:
        """Take other values, and keep them as a draft where they are not what is kept."""
        self.values = dict(values)
        stripped = {key: typed for key, typed in self.values.items() if typed}
        changed = stripped != {key: typed for key, typed in self.saved.items() if typed}
        self.desk.keep_draft(self.step, self.name, stripped if changed else None)

    def judge(self, instead_of: str | None = None) -> CheckedForm:
        """Return what the reader of plans says of the values, in place of the definition they change."""
        name = self.name if instead_of is None else instead_of
        return judged_table(self.step, self.values, self.rest, self.desk.library, name)

    def throw_away(self) -> None:
        """Forget what is typed and was not saved."""
        self.values = dict(self.saved)
        self.desk.keep_draft(self.step, self.name, None)

    def save(self) -> str:
        """Keep what is typed; return what to say. Raises SetupError with what is wrong."""
        judged = self.judge()
        if judged.problems:
            raise SetupError(next(iter(judged.problems.values())))
        self.desk.put(self.step, judged.thing, self.name)
        self.desk.keep_draft(self.step, self.name, None)
        return f"{judged.thing.name if self.step.library_key else self.step.title} saved"


class ColourwayForm(TableForm):
    """A colourway: rows for its layers and their sections, which can be added and taken out."""

    def _typed(self) -> tuple[Values, dict[str, str]]:
        return colourway_form.typed_colourway(self.desk.library, self.name)

    def in_words(self) -> str:
        layers = range(1, colourway_form.layers_of(self.saved) + 1)
        layer_texts = ([self.saved.get(f"{n}.{key}") for key in ("how", "fix")] for n in layers)
        return "; ".join(", ".join(filter(None, each)) for each in layer_texts)

    def rows(self) -> list[Field]:
        dyes = tuple(dye.name for dye in self.desk.library.dyes)
        out = [Field("name", "name", "as you sell it", "")]
        count = colourway_form.layers_of(self.values)
        for n in range(1, count + 1):
            lead = layer_lead = f"layer {n} " if count > 1 else ""
            out.append(Field(f"{n}.how", f"{lead}how", "painted, speckled or immersed; a layer is one time round",
                           "painted", colourway_form.HOWS))  # fmt: skip
            why = "one after another, commas between; deeper than 2 % wants 45 min"
            out.append(Field(f"{n}.fix", f"{lead}heats", why, "steam 45 min", HEATS))
            if word_of(self.values.get(f"{n}.how", ""), colourway_form.HOWS) == DyeMethod.SPECKLED.value:
                why = "g of dry powder on 100 g of yarn; depths below are then parts of it"
                out.append(Field(f"{n}.powder", f"{lead}powder, g", why, "by depth"))
            places = colourway_form.sections_of(self.values, n)
            for m in range(1, places + 1):
                lead = f" {n}.{m} " if count > 1 else f" {m} "
                why = "how the screen shows it, not a dye: a name of the palette, or #rrggbb"
                out.append(Field(f"{n}.{m}.colour", f"{lead}screen colour", why, "none", tuple(PALETTE)))
                if places > 1:
                    why = "% of the skein; empty ones share the rest"
                    out.append(Field(f"{n}.{m}.share", f"{lead}share, %", why, "the rest"))
                why = "with depth in % of this section's weight: Ochre 1.5, Navy 0.2; empty is undyed"
                out.append(Field(f"{n}.{m}.dyes", f"{lead}dyes", why, "undyed", dyes, many=True))
            if word_of(self.values.get(f"{n}.how", ""), colourway_form.HOWS) == DyeMethod.IMMERSED.value:
                why = "in its pot, or lifted out: hot wet wool scalds you and felts"
                out.append(Field(f"{n}.cool_where", f"{layer_lead}cools", why, "in place", colourway_form.COOLS))
        kept = by_name(self.desk.library.colourways, self.name)
        steps = "; ".join(kept.steps) if kept is not None and "steps" in self.rest else "none"
        out.append(Field("steps", "steps", "how it is painted, shown at the bench: commas between steps", steps))
        return out

    def judge(self, instead_of: str | None = None) -> CheckedForm:
        name = self.name if instead_of is None else instead_of
        return colourway_form.judged_colourway(self.values, self.rest, self.desk.library, name)

    def more(self, key: str) -> None:
        """Add a section to the layer of the field ``key``."""
        self.fill(colourway_form.with_section(self.values, self._at(key)[0]))

    def fewer(self, key: str) -> None:
        """Take out the section of the field ``key``, the layer where it is the only one."""
        layer, section = self._at(key)
        section = section or colourway_form.sections_of(self.values, layer)
        self.fill(colourway_form.without_section(self.values, layer, section))

    def layer(self) -> None:
        """Add a layer."""
        self.fill(colourway_form.with_layer(self.values))

    def _at(self, key: str) -> tuple[int, int]:
        parts = key.split(".")
        if not parts[0].isdigit():
            return (colourway_form.layers_of(self.values), 0)
        return int(parts[0]), int(parts[1]) if len(parts) == 3 else 0


def form_of(desk: SetupDesk, step: SetupStep, name: str = "") -> TableForm:
    """Return the form of a step for what is kept under ``name``."""
    return ColourwayForm(desk, step, name) if step is COLOURWAYS else TableForm(desk, step, name)
