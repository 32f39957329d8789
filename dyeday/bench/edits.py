"""What is wrong, lost or new: tags, counts, splits, overdyeing, dye used, rush orders, and entries corrected."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

from dyeday import units
from dyeday.bench.asks import CHOICE_KEYS, AskText, Choice, Choose
from dyeday.bench.keeper import Draft
from dyeday.paper.when import local
from dyeday.plan.table import clock_min
from dyeday.track.events import Event
from dyeday.track.instant import Now
from dyeday.track.record import BatchRecord
from dyeday.track.told import event_text
from dyeday.track.typed import typed_reading

if TYPE_CHECKING:
    from dyeday.bench.acts import Acts


def minutes_ago(text: str, now: Now, zone: str | None) -> float:
    """Return how long ago "7", "1 h" or "14:05" was, in minutes. Raises ValueError for none of these, or the future.

    A time of day is the latest such time not after now.
    """
    minutes = clock_min(text.strip())
    if minutes is None:
        return units.read(text, units.TIME_MIN, low=0, high=2880)
    here = local(now.utc, zone)
    then = here.replace(hour=minutes // 60 % 24, minute=minutes % 60, second=0, microsecond=0)
    if then > here:
        then = (here - timedelta(days=1)).replace(hour=then.hour, minute=then.minute, second=0, microsecond=0)
    return (now.utc - then.astimezone(UTC)).total_seconds() / 60


def parts(text: str, batch: BatchRecord) -> dict[str, int]:
    """Return the parts of "3 2" as {"03a": 3, "03b": 2}. Raises ValueError where they do not add up."""
    counts = [int(word) for word in re.findall(r"\d+", text)]
    if len(counts) < 2 or sum(counts) != batch.skeins or min(counts) < 1:
        raise ValueError(
            f"{batch.no} has {batch.skeins} pieces; write parts that add to it, such as 2 {batch.skeins - 2}"
        )
    return {f"{batch.no}{letter}": count for letter, count in zip("abcdefghij", counts, strict=False)}


def count(text: str) -> int:
    """Return a count of one or more. Raises ValueError."""
    if not text.strip().isdigit() or not 1 <= int(text) <= 5000:
        raise ValueError("write how many, 1 to 5000")
    return int(text)


WITH_A_UNIT = ("moved", "placed", "pass", "unit")
"""events whose unit may have been another"""


class Edits:
    """The rarer questions of the bench, asked and recorded through `Acts`."""

    def __init__(self, acts: Acts) -> None:
        self.acts = acts
        self.keeper = acts.keeper

    def edit(self, batch: BatchRecord) -> None:
        choices = [
            Choice("t", "tag", "tag"),
            Choice("c", "count", "counted again"),
            Choice("s", "split", "split it"),
            Choice("o", "overdye", "overdye it"),
            Choice("u", "used", "dye used"),
            Choice("l", "left_over", "dye left over"),
            Choice("p", "powder", "powder used"),
        ]
        todo = {"tag": self._tag, "count": self._count, "split": self._split, "overdye": self._overdye}
        ask = Choose(f"{batch.no} {batch.colourway.name}", choices)
        self.acts.ask(ask, lambda what: todo[what](batch) if what in todo else self._dye(batch, what))

    def _tag(self, batch: BatchRecord) -> None:
        ask = AskText(f"{batch.no} is tied with (- where the tag is lost)", batch.tag)
        self.acts.ask(ask, lambda text: self.acts.record(Draft("tagged", batch.no, {"tag": text.strip().strip("-")})))

    def _count(self, batch: BatchRecord) -> None:
        ask = AskText(f"{batch.no} has how many pieces", str(batch.skeins), lambda text: f"{count(text)} pieces")
        self.acts.ask(ask, lambda text: self.acts.record(Draft("counted", batch.no, {"skeins": count(text)})))

    def _split(self, batch: BatchRecord) -> None:
        def said(text: str) -> str:
            return ", ".join(f"{no} with {skeins}" for no, skeins in parts(text, batch).items())

        label = f"{batch.no}: {batch.skeins} pieces into which parts, such as 1 {max(1, batch.skeins - 1)}"

        def split(text: str) -> None:
            into = parts(text, batch)
            if self.acts.record(Draft("split", batch.no, {"into": into})):
                self._tags(list(into))

        self.acts.ask(AskText(label, understand=said), split)

    def _tags(self, numbers: list[str]) -> None:
        """Ask what each part is tied with: wet, undyed skeins look alike."""
        if not numbers:
            return
        no, *others = numbers
        part = self.keeper.day.batches.get(no)
        if part is None:
            return  # another shell struck the split meanwhile
        tag = part.tag

        def tied(text: str | None) -> None:
            said = (text or "").strip().strip("-")
            if said and said != tag:
                self.acts.record(Draft("tagged", no, {"tag": said}))
            self._tags(others)

        label = f"{no} is tied with (return: {tag or 'nothing'})"
        self.acts.screen.app.push_screen(AskText(label), tied)

    def _overdye(self, batch: BatchRecord) -> None:
        names = [c.name for c in self.keeper.day.plan.colourways if c.name != batch.colourway.name]
        choices = [Choice(key, name, name) for key, name in zip(CHOICE_KEYS, names, strict=False)]
        if not choices:
            self.acts.screen.say("the plan has no other colourway", wrong=True)
            return
        ask = Choose(f"{batch.no} goes on as", choices)
        self.acts.ask(ask, lambda name: self.acts.record(Draft("overdyed", batch.no, {"colourway": name})))

    def _dye(self, batch: BatchRecord, what: str) -> None:
        dyes = [d.name for d in self.keeper.day.plan.dyes]
        own = [name for layer in batch.colourway.layers for name in layer.dyes]
        ordered = list(dict.fromkeys([*own, *dyes]))
        choices = [Choice(key, name, name) for key, name in zip(CHOICE_KEYS, ordered, strict=False)]
        kind = units.MASS_G if what == "powder" else units.VOLUME_ML
        unit = "g" if what == "powder" else "mL"
        words = {"used": "used", "left_over": "left over", "powder": "powder used"}[what]

        def amount(name: str) -> None:
            def read(text: str) -> float:
                return units.read(text, kind, low=0, high=1e5)

            def store(text: str) -> None:
                value: Any = {name: read(text)}
                data = {"used": {"powder": value}} if what == "powder" else {what: value}
                self.acts.record(Draft("used", batch.no, data))

            ask = AskText(f"{batch.no} {name} {words}, {unit}", understand=lambda text: f"{read(text):g} {unit}")
            self.acts.ask(ask, store)

        self.acts.ask(Choose(f"{batch.no} {words}", choices), amount)

    def order(self) -> None:
        """A rush order: colourway, base, count; its batches come at the end of the list."""
        plan = self.keeper.day.plan
        ways = [Choice(key, c.name, c.name) for key, c in zip(CHOICE_KEYS, plan.colourways, strict=False)]
        bases = [Choice(key, b.name, b.name) for key, b in zip(CHOICE_KEYS, plan.bases, strict=False)]

        def colourway(way: str) -> None:
            def base(name: str) -> None:
                def skeins(text: str) -> None:
                    items = {order.item for order in plan.orders}
                    number = next(n for n in range(1, 10_000) if f"rush {n}" not in items)
                    order = {"item": f"rush {number}", "colourway": way, "base": name, "skeins": count(text)}
                    self.acts.record(Draft("added", None, {"order": order}))

                ask = AskText(f"{way} on {name}: how many pieces", understand=lambda text: f"{count(text)} pieces")
                self.acts.ask(ask, skeins)

            self.acts.ask(Choose(f"Rush order of {way} on", bases), base)

        self.acts.ask(Choose("Rush order of", ways), colourway)

    def strike(self, event: Event) -> None:
        """Strike an entry, or take its striking back."""
        dead = event.id in self.keeper.day.dead
        batch = f"{event.batch} " if event.batch else ""
        verb = "unstrike" if dead else "strike"
        ask = Choose(
            f"{verb.capitalize()}: {batch}{event_text(event, self.keeper.day)}",
            [Choice("z", "yes", f"{verb} it")],
            return_takes=True,
        )
        kind = "unstruck" if dead else "struck"
        self.acts.ask(ask, lambda _yes: self.acts.record(Draft(kind, None, {"strikes": event.id})))

    def correct(self, event: Event) -> None:
        """Correct an entry's time or its value; both the old and the new stay readable."""
        choices = [Choice("t", "time", "its time")]
        if self._value_label(event):
            choices.append(Choice("v", "value", self._value_label(event)))
        ask = Choose(f"Correct: {event_text(event, self.keeper.day)}", choices)
        self.acts.ask(ask, lambda what: self._time(event) if what == "time" else self._value(event))

    def _time(self, event: Event) -> None:
        zone = self.keeper.day.plan.session.zone

        def when(text: str) -> datetime:
            now = self.keeper.now()
            return now.utc - timedelta(minutes=minutes_ago(text, now, zone))

        ask = AskText(
            "It happened at what time, or how many minutes ago",
            understand=lambda text: f"{local(when(text), zone):%a %H:%M}",
        )
        self.acts.ask(ask, lambda text: self._because(event, {}, moved_to=when(text)))

    def _value_label(self, event: Event) -> str:
        if event.kind in WITH_A_UNIT:
            return "the unit" if self.keeper.day.plan.unit_names else ""
        return {"reading": "the value", "acid put in": "the amount", "counted": "the count"}.get(event.kind, "")

    def _value(self, event: Event) -> None:
        if event.kind in WITH_A_UNIT:
            names = self.keeper.day.plan.unit_names
            units = [Choice(key, name, name) for key, name in zip(CHOICE_KEYS, names, strict=False)]
            self.acts.ask(Choose("The unit was", units), lambda unit: self._because(event, {"unit": unit}))
            return
        read, label = self._reader(event)
        ask = AskText(label, understand=lambda text: ", ".join(f"{k} {v}" for k, v in read(text).items()))
        self.acts.ask(ask, lambda text: self._because(event, read(text)))

    def _reader(self, event: Event) -> tuple[Any, str]:
        if event.kind == "reading":
            name = str(event.data["reading"])
            return (lambda text: {"value": typed_reading(name, text)}), f"{name} was"
        if event.kind == "counted":
            return (lambda text: {"skeins": count(text)}), "pieces were"
        key = "acid_ml" if "acid_ml" in event.data else "acid_g"
        kind = units.VOLUME_ML if key == "acid_ml" else units.MASS_G
        return (lambda text: {key: units.read(text, kind, low=0, high=1e6)}), "acid put in was"

    def _because(self, event: Event, keys: dict[str, Any], moved_to: datetime | None = None) -> None:
        """Ask why, then record. A correction with no key of its own moves the entry to the correction's time."""
        reasons = [
            Choice("1", "misread", "misread"),
            Choice("2", "mistyped", "mistyped"),
            Choice("3", "recorded late", "recorded late"),
        ]

        def record(why: str) -> None:
            if moved_to is not None:
                self.keeper.minutes_ago = (self.keeper.now().utc - moved_to).total_seconds() / 60
            self.acts.record(Draft("corrected", None, {"corrects": event.id, **keys, "why": why}))

        self.acts.ask(Choose("Corrected because it was", reasons, return_takes=True), record)
