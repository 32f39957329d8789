"""The studio being set up: the library, and half-typed values, which survive a closed terminal."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, NamedTuple

from dyeday.bench.input.half_typed import HalfTyped
from dyeday.bench.setup.form_toml import Values, typed_of
from dyeday.bench.setup.steps import STEPS, SetupStep
from dyeday.files.durable import make_folder
from dyeday.plan.library import Library
from dyeday.store.records.library import LibraryRecords
from dyeday.text import brief, harmless

OPEN = "open"
"""the text that says what is open: a `Place`"""
ADD = "+"
"""the field of a `Place` where the list asks what to begin a new thing from"""


class Place(NamedTuple):
    """What is on the screen: the list of ``step``, or its form of ``name`` with the focus on ``field``."""

    step: SetupStep
    name: str | None = None
    field: str = ""


class SetupError(ValueError):
    """A message and a hint in one line."""


class SetupDesk:
    """The library of a data folder with what is half typed. Raises StoreError where it cannot be read."""

    def __init__(self, data: Path) -> None:
        self.records = LibraryRecords(data)
        make_folder(data)  # half-typed texts are kept before anything is
        self.typed = HalfTyped(data / "setup.json")
        self.library: Library = self.records.library()

    def put(self, step: SetupStep, thing: Any, instead_of: str = "") -> None:
        """Save what a step made. Raises SetupError or StoreError; then nothing was changed."""
        if step.library_key:
            if instead_of and thing.name != instead_of:
                self._must_be_free(step, instead_of)
            self.records.put(step.library_key, thing, instead_of)
        else:
            self.records.put_studio(thing)
        self.library = self.records.library()

    def remove(self, step: SetupStep, name: str) -> None:
        """Take a definition out. Raises SetupError where another one names it, or StoreError."""
        self._must_be_free(step, name)
        self.records.remove(step.library_key, name)
        self.library = self.records.library()
        self.keep_draft(step, name, None)

    def _must_be_free(self, step: SetupStep, name: str) -> None:
        users: list[str] = []
        if step.library_key == "dyes":
            users = [c.name for c in self.library.colourways if any(name in layer.dyes for layer in c.layers)]
        elif step.library_key == "circuits":
            users = [kit.name for kit in self.library.kit if kit.circuit == name]
        if users:
            raise SetupError(f"{brief(name)} is used by {brief(users[0])}; change that first")

    def draft(self, step: SetupStep, name: str) -> Values | None:
        """Return what was typed into a form that was left before it was saved."""
        try:
            raw = json.loads(self.typed.get(f"{step.table}/{name}") or "null")
        except ValueError:
            return None
        return {str(key): str(typed) for key, typed in raw.items()} if isinstance(raw, dict) else None

    def keep_draft(self, step: SetupStep, name: str, values: Values | None) -> None:
        """Keep what is typed into a form, or drop it for None or no values."""
        self.typed.keep(f"{step.table}/{name}", json.dumps(values, ensure_ascii=False) if values else "")

    def opened(self, place: Place | None) -> None:
        """Remember what is open, None for the steps."""
        self.typed.keep(OPEN, json.dumps([place.step.table, place.name, place.field]) if place is not None else "")

    def was_open(self) -> Place | None:
        """Return what was open when setup ended without being left."""
        try:
            table, name, field = json.loads(self.typed.get(OPEN))
        except (ValueError, TypeError):
            return None
        step = next((step for step in STEPS if step.table == table), None)
        return Place(step, name if name is None else str(name), str(field)) if step is not None else None

    def half_typed(self, step: SetupStep) -> list[str]:
        """Return the names of a step's forms that were left half typed, "" for a new one."""
        head = f"{step.table}/"
        return [key[len(head) :] for key in self.typed.texts if key.startswith(head)]

    def summary(self, step: SetupStep) -> str:
        """Return what is known of a step, in a few words."""
        if step.library_key:
            names = [harmless(thing.name) for thing in getattr(self.library, step.library_key)]
            text = f"{len(names)}: {', '.join(names)}" if names else "none yet"
        elif self.library.studio is None:
            text = "not set up yet"
        else:
            values, _ = typed_of(step, self.library, "")
            text = ", ".join(
                f"{field.label} {value}" for field in step.fields if (value := values.get(field.key))
            ) or ("not known yet" if step.table == "water" else f"usual: {step.without}")
        typed = ((name, self.draft(step, name) or {}) for name in self.half_typed(step))
        unsaved = [harmless(name or draft.get("name", "") or "a new one") for name, draft in typed]
        if not unsaved:
            return text
        return f"{text}; half typed: {', '.join(unsaved)}" if step.library_key else f"{text} (half typed)"
