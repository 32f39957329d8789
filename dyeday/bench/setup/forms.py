"""A form without its widgets: rows to type into, what is wrong with them, and saving."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from dyeday.bench.setup.desk import SetupDesk, SetupError
from dyeday.bench.setup.form_toml import (
    DAY,
    CheckedForm,
    Values,
    dyes_of,
    judge,
    judged_table,
    kept_table,
    plain_toml,
    shares_toml,
    twin,
    typed_of,
    word_of,
)
from dyeday.bench.setup.steps import ACID, COLOURWAYS, HEATS, KIT, PALETTE, USUAL_HEATS, Field, FieldForm, SetupStep
from dyeday.craft.water.acids import AcidKind
from dyeday.grouping import grouped
from dyeday.plan.library import Library, by_name
from dyeday.plan.lint import advice
from dyeday.plan.recipe import layer_dyes
from dyeday.plan.weigh_out import layer_liquor, no_room_in
from dyeday.plan.writing.toml_values import number, text, toml
from dyeday.terms import CoolWhere, DyeMethod, KitKind

HOWS = tuple(how.value for how in DyeMethod)
COOLS = tuple(where.value for where in CoolWhere)
MOST_LAYERS, MOST_SECTIONS = 9, 40
SKEIN_G = 100.0
SHOWN = ("how", "fix", "powder", "sections")
"""keys of a layer that the form shows"""


def layers_of(values: Values) -> int:
    """Return how many layers a colourway's form has, 1 or more."""
    return max(1, int(values.get("layers", "1")))


def sections_of(values: Values, layer: int) -> int:
    """Return how many sections layer ``layer`` (from 1) of a colourway's form has, 1 or more."""
    return max(1, int(values.get(f"{layer}.sections", "1")))


def shares_of(typed: Sequence[str]) -> list[float | None]:
    """Return the shares in %, adding to 100, for what is typed of each; None where that is not a share.

    Empty ones have what the others leave, in equal parts. Where that is nothing, or nothing is left open, all are
    made larger or smaller alike. Where one is None, the others are as typed.
    """
    if len(typed) == 1:
        return [100.0]  # what was typed while there were several is not asked any more
    given = [_share(each) for each in typed]
    wrong = [share is None and bool(share_text.strip()) for share, share_text in zip(given, typed, strict=True)]
    total, empty = sum(share or 0.0 for share in given), given.count(None)
    if any(wrong):
        return [None if bad else share or 1.0 for share, bad in zip(given, wrong, strict=True)]
    if empty and total < 100:
        return [share or round((100 - total) / empty, 2) for share in given]
    even = total / max(1, len(given) - empty)
    total += empty * even
    return [round(100 * (share or even) / total, 2) for share in given]


def _share(typed: str) -> float | None:
    number_text = typed.strip().rstrip("%").strip().replace(",", ".")
    if fraction := re.fullmatch(r"(\d{1,2})/([1-9]\d?)", number_text):
        number_text = f"{100 * int(fraction[1]) / int(fraction[2]):.2f}"
    return (float(number_text) or None) if re.fullmatch(r"\d{1,6}(\.\d{1,6})?", number_text) else None


def colourway_toml(values: Values, rest: Mapping[str, str], library: Library) -> str:
    """Return the ``[[colourway]]`` table with its layers; ``rest`` has keys not shown, a layer's as "2.cool"."""
    known = [dye.name for dye in library.dyes]
    lines = ["[[colourway]]"]
    if values.get("name", "").strip():
        lines.append(f"name = {text(values['name'].strip())}")
    steps = values.get("steps", "").strip()
    heads = {**rest, "steps": plain_toml(steps, FieldForm.LIST)} if steps else rest
    lines += [f"{key} = {value}" for key, value in heads.items() if "." not in key]
    for n in range(1, layers_of(values) + 1):
        how = word_of(values.get(f"{n}.how", "").strip() or DyeMethod.PAINTED.value, HOWS)
        lines += ["[[colourway.layer]]", f"how = {text(how)}"]
        lines += [f"{key[2:]} = {value}" for key, value in rest.items() if key.startswith(f"{n}.")]
        fix = values.get(f"{n}.fix", "").strip()
        lines.append(f"fix = {plain_toml(fix or 'steam 45 min', FieldForm.LIST)}")
        if how == DyeMethod.SPECKLED.value and (powder := values.get(f"{n}.powder", "").strip()):
            lines.append(f"powder = {plain_toml(powder, FieldForm.VALUE)}")
        if how == DyeMethod.IMMERSED.value and (cools := values.get(f"{n}.cool_where", "").strip()):
            lines.append(f"cool_where = {text(word_of(cools, COOLS))}")
        places = range(1, sections_of(values, n) + 1)
        lines.append("sections = [")
        shares = shares_of([values.get(f"{n}.{m}.share", "") for m in places])
        for m, share in zip(places, shares, strict=True):
            colour = values.get(f"{n}.{m}.colour", "").strip()
            typed = values.get(f"{n}.{m}.share", "").strip()
            share_toml = text(typed) if share is None else number(share)
            swatch = f" swatch = {text(PALETTE.get(colour.casefold(), colour))}," if colour else ""
            dyes = shares_toml(dyes_of(values.get(f"{n}.{m}.dyes", ""), known))
            lines.append(f"{{ share = {share_toml},{swatch} dyes = {dyes} }},")
        lines.append("]")
    return "\n".join(lines) + "\n"


def judged_colourway(values: Values, rest: Mapping[str, str], library: Library, instead_of: str) -> CheckedForm:
    """Return the colourway as the reader of plans reads it, with grams for its sections and what `check` says."""
    before = DAY + twin(COLOURWAYS, values.get("name", "").strip(), library, instead_of)
    named = {**values, "name": values.get("name", "").strip() or " "}
    plan, problems = judge(before, colourway_toml(named, rest, library), library, "colourway")
    swatches = _swatches(values)
    if plan is None:
        messages = {_field(path, what): _labelled(what) for path, what in problems.items()}
        return CheckedForm(problems=messages, swatches=swatches)
    made = plan.colourways[0]
    base = library.bases[0] if library.bases else None
    skein_g = base.skein_g if base is not None else SKEIN_G
    beside: dict[str, str] = {}
    misfits: list[str] = []
    for n, layer in enumerate(made.layers, 1):
        needs = layer_dyes(plan.solution_pct, layer, n, skein_g)
        if base is not None:
            solutions_ml = sum(need.solution_ml or 0.0 for need in needs)
            liquor = layer_liquor(plan, base, layer, n, skein_g, solutions_ml)
            misfits += ["; ".join(no_room_in(liquor, plan.session.units) or ())]
        grams = grouped((each.section, f"{each.dye} {each.powder_g:.3g} g") for each in needs)
        for m, section in enumerate(layer.sections, 1):
            beside[f"{n}.{m}.dyes"] = ", ".join(grams.get(m, [])) or "undyed"
            beside[f"{n}.{m}.share"] = f"{section.share_pct:g} %"
    warnings = [str(each) for each in advice(replace(plan, colourways=(made,))) if repr(made.name) in each.what]
    return CheckedForm(made, beside=beside, swatches=swatches, advice=(*filter(None, misfits), *warnings))


def _swatches(values: Values) -> dict[str, str]:
    out = {}
    for key, typed in values.items():
        colour = PALETTE.get(typed.strip().casefold(), typed.strip()) if key.endswith(".colour") else ""
        if re.fullmatch(r"#[0-9A-Fa-f]{6}", colour):
            out[key] = colour
    return out


def _field(path: str, what: str) -> str:
    """Return the form's field for the reader's path "layer.0.sections.1" and what it says there."""
    if (match := re.match(r"layer\.(\d+)(?:\.sections\.(\d+)|\.(\w+))?", path)) is None:
        return path
    n = int(match[1]) + 1
    if match[2] is None:
        return f"{n}.{match[3] or 'how'}"
    key = "colour" if what.startswith("swatch") else "share" if what.startswith("share") else "dyes"
    return f"{n}.{int(match[2]) + 1}.{key}"


def _labelled(what: str) -> str:
    """Return what the reader says with the form's labels in place of the plan's keys."""
    for key, label in (("fix: ", "heats: "), ("swatch: ", "screen colour: "), ("cool_where: ", "cools: ")):
        if what.startswith(key):
            return label + what.removeprefix(key)
    return what


def typed_colourway(library: Library, name: str) -> tuple[Values, dict[str, str]]:
    """Return what one would type for a kept colourway, and the TOML values of keys the form does not show."""
    raw = kept_table(COLOURWAYS, library, name)
    if not raw or by_name(library.colourways, name) is None:
        return {}, {}
    head = ("name", "steps", "rinse", "dry")
    layers: list[dict[str, Any]] = raw.get("layer") or [{key: raw[key] for key in raw if key not in head}]
    values: Values = {"name": name, "steps": ", ".join(raw.get("steps", [])), "layers": str(len(layers))}
    rest: dict[str, str] = {key: toml(raw[key]) for key in ("rinse", "dry") if key in raw}
    if any("," in step or ";" in step for step in raw.get("steps", [])):
        rest["steps"] = toml(raw["steps"])  # the form cuts at commas: these are its default
        values["steps"] = ""
    names = {colour: word for word, colour in PALETTE.items()}
    for n, layer in enumerate(layers, 1):
        values[f"{n}.how"] = str(layer.get("how", "painted"))
        values[f"{n}.fix"] = ", ".join(layer.get("fix", []))
        values[f"{n}.powder"] = str(layer.get("powder", ""))
        values[f"{n}.sections"] = str(len(layer["sections"]))
        for m, section in enumerate(layer["sections"], 1):
            swatch = str(section.get("swatch", ""))
            values[f"{n}.{m}.colour"] = names.get(swatch, swatch)
            if len(layer["sections"]) > 1:
                values[f"{n}.{m}.share"] = f"{section.get('share', 100):g}"
            values[f"{n}.{m}.dyes"] = ", ".join(f"{dye} {depth:g}" for dye, depth in section["dyes"].items())
        shown = {*SHOWN}
        if values[f"{n}.how"] == DyeMethod.IMMERSED.value:
            values[f"{n}.cool_where"] = str(layer.get("cool_where", ""))
            shown.add("cool_where")
        rest |= {f"{n}.{key}": toml(value) for key, value in layer.items() if key not in shown}
    return values, rest


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
        self.begun: Values | None = None
        """what a new one began from"""

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
        acid = word_of(self.values.get("kind", "") or AcidKind.VINEGAR.value, tuple(each.value for each in AcidKind))
        strength = {AcidKind.VINEGAR.value: "5", AcidKind.CITRIC_SOLUTION.value: ""}.get(acid, "none")
        own: dict[tuple[SetupStep, str], dict[str, Any]] = {
            (KIT, "circuit"): {"words": circuits},
            (ACID, "strength"): {"usual": strength},
        }
        return [replace(each, **own.get((self.step, each.key), {})) for each in asked]

    def in_words(self) -> str:
        """Return what is kept, without its name, in a few words."""
        return ", ".join(
            typed if field.words else f"{field.label.split(',')[0]} {typed}"
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

    def begin(self, values: Values) -> None:
        """Begin a new one from values, kept as a draft until the form is left as it began."""
        self.begun = dict(values)
        self.fill(values)

    def is_half_typed(self) -> bool:
        """Return whether something was typed that is not saved; what a new one only began from is forgotten."""
        if self.begun is not None and self.values == self.begun:
            self.throw_away()
        return self.half_typed or self.desk.draft(self.step, self.name) is not None

    def judge(self, instead_of: str | None = None) -> CheckedForm:
        """Return what the reader of plans says of the values, in place of the definition they change."""
        name = self.name if instead_of is None else instead_of
        return judged_table(self.step, self.values, self.rest, self.desk.library, name)

    def throw_away(self) -> None:
        """Forget what is typed and was not saved."""
        self.values = dict(self.saved)
        self.desk.keep_draft(self.step, self.name, None)

    def save(self) -> str:
        """Keep what is typed; return what to say. Raises SetupError with what is wrong, or StoreError."""
        judged = self.judge()
        if judged.problems:
            raise SetupError(next(iter(judged.problems.values())))
        self.desk.put(self.step, judged.thing, self.name)
        self.desk.keep_draft(self.step, self.name, None)
        says = f"; check says: {judged.advice[0]}" if judged.advice else ""
        return f"{judged.thing.name if self.step.library_key else self.step.title} saved{says}"


class ColourwayForm(TableForm):
    """A colourway: rows for its layers and their sections, which can be added and taken out."""

    def _typed(self) -> tuple[Values, dict[str, str]]:
        return typed_colourway(self.desk.library, self.name)

    def in_words(self) -> str:
        layers = range(1, layers_of(self.saved) + 1)
        layer_texts = ([self.saved.get(f"{n}.{key}") for key in ("how", "fix")] for n in layers)
        return "; ".join(", ".join(filter(None, each)) for each in layer_texts)

    def rows(self) -> list[Field]:
        dyes = tuple(dye.name for dye in self.desk.library.dyes)
        out = [Field("name", "name", "as you sell it", "")]
        count = layers_of(self.values)
        for n in range(1, count + 1):
            lead = layer_lead = f"layer {n} " if count > 1 else ""
            out.append(Field(f"{n}.how", f"{lead}how", "painted, speckled or immersed; a layer is one time round",
                           "painted", HOWS))  # fmt: skip
            why = "one after another, commas between; deeper than 2 % wants 45 min"
            out.append(Field(f"{n}.fix", f"{lead}heats", why, "steam 45 min", HEATS))
            how = word_of(self.values.get(f"{n}.how", ""), HOWS)
            if how == DyeMethod.SPECKLED.value:
                why = "g of dry powder on 100 g of yarn; depths below are then parts of it"
                out.append(Field(f"{n}.powder", f"{lead}powder, g", why, "by depth"))
            places = sections_of(self.values, n)
            for m in range(1, places + 1):
                lead = f" {n}.{m} " if count > 1 else f" {m} "
                why = "how the screen shows it, not a dye: a name of the palette, or #rrggbb"
                out.append(Field(f"{n}.{m}.colour", f"{lead}screen colour", why, "none", tuple(PALETTE)))
                if places > 1:
                    why = "% of the skein; empty ones share the rest"
                    out.append(Field(f"{n}.{m}.share", f"{lead}share, %", why, "the rest"))
                why = "with depth in % of this section's weight: Ochre 0.5, Navy 0.2; empty is undyed"
                out.append(Field(f"{n}.{m}.dyes", f"{lead}dyes", why, "undyed", dyes, many=True))
            if how == DyeMethod.IMMERSED.value:
                why = "in its pot, or lifted out: hot wet wool scalds you and felts"
                out.append(Field(f"{n}.cool_where", f"{layer_lead}cools", why, "in place", COOLS))
        kept = by_name(self.desk.library.colourways, self.name)
        steps = "; ".join(kept.steps) if kept is not None and "steps" in self.rest else "none"
        out.append(Field("steps", "steps", "how it is painted, shown at the bench: commas between steps", steps))
        return out

    def type(self, key: str, typed: str) -> None:
        """Put what is typed into a field; a layer with the usual heat of another way to dye gets that of its own."""
        layer, _, part = key.partition(".")
        how, fix = word_of(typed, HOWS), self.values.get(f"{layer}.fix", "")
        usual = USUAL_HEATS.get(how, ()) if part == "how" else ()
        if usual and fix not in usual and any(fix in heats for heats in USUAL_HEATS.values()):
            self.values = {**self.values, f"{layer}.fix": usual[0]}
        super().type(key, typed)

    def judge(self, instead_of: str | None = None) -> CheckedForm:
        of = self.name if instead_of is None else instead_of
        return judged_colourway(self.values, self.rest, self.desk.library, of)

    def more(self, key: str) -> None:
        """Add a section at the end of the layer of the field ``key``; shares typed before are left to be shared."""
        layer, _ = self._at(key)
        count = min(MOST_SECTIONS, sections_of(self.values, layer) + 1)
        self.fill({**self.values, f"{layer}.sections": str(count)})

    def fewer(self, key: str) -> None:
        """Take out the section of the field ``key``; with its only one the last layer goes, but not the first."""
        layer, section = self._at(key)
        count = sections_of(self.values, layer)
        kept = {key: typed for key, typed in self.values.items() if not re.match(rf"{layer}\.\d+\.", key)}
        if count == 1 and 1 < layer == layers_of(self.values):
            kept = {key: typed for key, typed in kept.items() if not key.startswith(f"{layer}.")}
            self.fill({**kept, "layers": str(layer - 1)})
        elif count > 1:
            left = [m for m in range(1, count + 1) if m != (section or count)]
            for new, old in enumerate(left, 1):
                for part in ("colour", "share", "dyes"):
                    if f"{layer}.{old}.{part}" in self.values:
                        kept[f"{layer}.{new}.{part}"] = self.values[f"{layer}.{old}.{part}"]
            self.fill({**kept, f"{layer}.sections": str(count - 1)})

    def layer(self) -> None:
        """Add a layer, a pale bath that goes over everything."""
        n = layers_of(self.values) + 1
        if n <= MOST_LAYERS:
            layer = {f"{n}.sections": "1", f"{n}.how": "immersed", f"{n}.fix": "simmer 30 min"}
            self.fill({**self.values, "layers": str(n), **layer})

    def _at(self, key: str) -> tuple[int, int]:
        parts = key.split(".")
        if not parts[0].isdigit():
            return (layers_of(self.values), 0)
        return int(parts[0]), int(parts[1]) if len(parts) == 3 else 0


def form_of(desk: SetupDesk, step: SetupStep, name: str = "") -> TableForm:
    """Return the form of a step for what is kept under ``name``."""
    return ColourwayForm(desk, step, name) if step is COLOURWAYS else TableForm(desk, step, name)
