"""What is wrong, lost or new: tags, counts, splits, overdyeing, dye used, rush orders, and entries corrected."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Any

from dyeday import units
from dyeday.bench.actions.hours_actions import HoursActions
from dyeday.bench.actions.recorder import Actions, of_chosen
from dyeday.bench.live_session import EventDraft
from dyeday.bench.prompts.prompts import AskText, Choose, KeyChoice, pick
from dyeday.paper.local_time import local
from dyeday.plan.orders.order_editor import count_of, due_forms, due_of, due_words
from dyeday.text import LONGEST_NAME, LONGEST_TAG, counted, no_longer_than
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Event
from dyeday.track.events.batch_changes import Counted, DyeUsed, Overdyed, Split, Tagged
from dyeday.track.events.event_text import READING_WORDS, event_text, state_word, whose
from dyeday.track.events.kit_events import AcidPutIn, UnitChanged
from dyeday.track.events.measured import Measured
from dyeday.track.events.movements import Heated, Load, Moved, Placed
from dyeday.track.events.rewriting import Corrected, Redone, Undone
from dyeday.track.events.session_events import OrderAdded
from dyeday.track.folding.event_check import OF_A_BATCH, dependents, keys_for
from dyeday.track.folding.fold import current
from dyeday.track.typed_entries import minutes_ago, parts_of, typed_batches, typed_reading

Change = tuple[str, Mapping[str, Any] | None, str | None]
"""the id of an entry, the keys that were wrong, the batch it was about"""
WITH_A_UNIT = (Load, Moved, Placed, Heated, UnitChanged)
"""events whose unit may have been another"""


class CorrectActions(Actions):
    """The rarer questions of the bench, asked and recorded through `Recorder`."""

    @of_chosen
    def edit(self, batch: BatchRecord) -> None:
        """Ask what of a batch changes: its tag, count, parts, colourway or dye."""
        choices = [
            KeyChoice("t", "tag", "tag"),
            KeyChoice("c", "count", "counted again"),
            KeyChoice("s", "split", "split it"),
            KeyChoice("o", "overdye", "overdye it"),
            KeyChoice("u", "used", "dye used"),
            KeyChoice("l", "left_over", "dye left over"),
            KeyChoice("p", "powder", "powder used"),
        ]
        todo = {"tag": self._tag, "count": self._count, "split": self._split, "overdye": self._overdye}
        ask = Choose(f"{batch.no} {batch.colourway.name}", choices)
        self.acts.ask(ask, lambda what: todo[what](batch) if what in todo else self._dye(batch, what))

    def _tag(self, batch: BatchRecord) -> None:
        ask = AskText(f"{batch.no} has which tag (- if it was lost)", batch.tag, no_longer_than(LONGEST_TAG))
        self.acts.ask(ask, lambda text: self.acts.record(EventDraft(Tagged(tag=text.strip().strip("-")), batch.no)))

    def _count(self, batch: BatchRecord) -> None:
        form = batch.base.form.value
        ask = AskText(
            f"{batch.no} has how many {form}s", str(batch.skeins), lambda text: counted(count_of(text), form)
        )

        def counted_again(text: str) -> None:
            lost = batch.skeins - count_of(text)
            if self.acts.record(EventDraft(Counted(skeins=count_of(text)), batch.no)) and lost > 0 and batch.painted:
                self.dye_again(batch, lost)

        self.acts.ask(ask, counted_again)

    def dye_again(self, batch: BatchRecord, skeins: int) -> None:
        """Ask whether dyed skeins that were lost are dyed again, for the order they were for."""
        item = batch.shares[-1][0] if batch.shares else ""
        key = next(iter(batch.order_keys(item)), None)
        orders = [order for order in self.keeper.day.plan.orders if order.key == key]
        if not orders:
            return
        due = {"due": orders[0].due.isoformat()} if orders[0].due is not None else {}
        again = {"item": item, "colourway": orders[0].colourway, "base": orders[0].base, "skeins": skeins, **due}

        def answered(yes: str) -> None:
            if yes:
                self.acts.record(EventDraft(OrderAdded(order=again)))

        label = f"Dye {skeins} {orders[0].colourway} again for {item}?"
        choices = [KeyChoice("n", "", "no"), KeyChoice("y", "yes", "yes, as a new batch")]
        self.acts.ask(Choose(label, choices, return_takes=True), answered)

    def _split(self, batch: BatchRecord) -> None:
        def said(text: str) -> str:
            return ", ".join(f"{no} with {skeins}" for no, skeins in parts_of(text, batch).items())

        whole = f"{batch.no}: {counted(batch.skeins, batch.base.form.value)}"
        label = f"{whole} into which parts, such as 1 {max(1, batch.skeins - 1)}"

        def split(text: str) -> None:
            into = parts_of(text, batch)
            if self.acts.record(EventDraft(Split(into=into), batch.no)):
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
                self.acts.record(EventDraft(Tagged(tag=said), no))
            self._tags(others)

        label = f"{no} has which tag (Enter: {tag or 'nothing'})"
        self.screen.app.push_screen(AskText(label, understand=no_longer_than(LONGEST_TAG)), tied)

    def _overdye(self, batch: BatchRecord) -> None:
        names = [c.name for c in self.keeper.day.plan.colourways if c.name != batch.colourway.name]
        if not names:
            self.screen.say("the plan has no other colourway", wrong=True)
            return
        label = f"{batch.no} becomes which colourway"
        pick(self.acts.ask, label, names, lambda way: self.acts.record(EventDraft(Overdyed(colourway=way), batch.no)))

    def _dye(self, batch: BatchRecord, what: str) -> None:
        dyes = [d.name for d in self.keeper.day.plan.dyes]
        own = [name for layer in batch.colourway.layers for name in layer.dyes]
        ordered = list(dict.fromkeys([*own, *dyes]))
        if not ordered:
            self.screen.say("the plan has no dye", wrong=True)
            return
        kind = units.MASS_G if what == "powder" else units.VOLUME_ML
        unit = "g" if what == "powder" else "mL"
        words = {"used": "used", "left_over": "left over", "powder": "powder used"}[what]

        def amount(name: str) -> None:
            def read(text: str) -> float:
                return units.read(text, kind, low=0, high=1e5)

            def store(text: str) -> None:
                amounts = {name: read(text)}
                left = DyeUsed(left_over=amounts)
                used = DyeUsed(used={"powder": amounts} if what == "powder" else amounts)
                self.acts.record(EventDraft(left if what == "left_over" else used, batch.no))

            ask = AskText(f"{batch.no} {name} {words}, {unit}", understand=lambda text: f"{read(text):g} {unit}")
            self.acts.ask(ask, store)

        pick(self.acts.ask, f"{batch.no} {words}", ordered, amount)

    def order(self) -> None:
        """A rush order: colourway, base, count, for whom, by when, and whether it goes first."""
        plan = self.keeper.day.plan

        def colourway(way: str) -> None:
            pick(
                self.acts.ask,
                f"Rush order: {way} on which base",
                [b.name for b in plan.bases],
                lambda base: count(way, base),
            )

        def count(way: str, base: str) -> None:
            form = next((b.form.value for b in plan.bases if b.name == base), "piece")
            ask = AskText(f"{way} on {base}: how many {form}s", understand=lambda text: counted(count_of(text), form))
            self.acts.ask(ask, lambda text: whom({"colourway": way, "base": base, "skeins": count_of(text)}))

        def whom(order: dict[str, Any]) -> None:
            items = {order.item for order in plan.orders}
            offered = next(f"rush {n}" for n in range(1, 10_000) if f"rush {n}" not in items)

            def name(text: str) -> str:
                # What is typed goes behind the name that is offered.
                return no_longer_than(LONGEST_NAME)(text.strip().removeprefix(offered).strip() or offered)

            self.acts.ask(AskText("For whom", offered, name), lambda text: when({"item": name(text), **order}))

        def when(order: dict[str, Any]) -> None:
            day = plan.session.date

            def due(text: str) -> None:
                due_on = due_of(text, day)
                turn({**order, **({} if due_on is None else {"due": due_on.isoformat()})})

            ask = AskText(f"By when ({due_forms(day)})", "-", lambda text: due_words(due_of(text, day)))
            self.acts.ask(ask, due)

        def turn(order: dict[str, Any]) -> None:
            choices = [KeyChoice("n", "", "in its turn"), KeyChoice("y", "first", "first of all")]
            ask = Choose(f"{order['item']} is dyed", choices, return_takes=True)
            before = {"first": {"priority": 1}, "": {}}
            self.acts.ask(ask, lambda first: added({**order, **before[first]}))

        def added(order: dict[str, Any]) -> None:
            body = OrderAdded(order=order)
            words = f"{order['item']}, {order['skeins']} {order['colourway']}{posted(order)}"
            HoursActions(self.acts).shown_if_known(body, words)

        def posted(order: dict[str, Any]) -> str:
            """Return by when it must be dry, where it has a date: the day before it goes out."""
            if "due" not in order:
                return ""
            due = date.fromisoformat(order["due"])
            return f", dry by {due - timedelta(days=1):%a} to go out {due:%a}"

        pick(self.acts.ask, "Rush order: which colourway", [c.name for c in plan.colourways], colourway)

    def void(self, event: Event) -> None:
        """Mark an entry as void, or redo it."""
        dead = event.id in self.keeper.day.void_ids
        verb = "redo" if dead else "void"
        ask = Choose(
            f"{verb.capitalize()}: {whose(event)}{event_text(event, self.keeper.day)}",
            [KeyChoice("z", "yes", f"{verb} it")],
            return_takes=True,
        )
        rewriting = Redone(target_id=event.id) if dead else Undone(target_id=event.id)
        self.acts.ask(ask, lambda _yes: self.acts.record(EventDraft(rewriting)))

    def correct(self, event: Event) -> None:
        """Correct an entry's time or its value; both the old and the new stay readable."""
        choices = [KeyChoice("t", "time", "its time")]
        if self._value_label(event):
            choices.append(KeyChoice("v", "value", self._value_label(event)))
        if event.batches and isinstance(event.body, OF_A_BATCH):
            choices.append(KeyChoice("b", "batch", "the batch"))
        todo = {"time": self._time, "value": self._value, "batch": self._batch}
        ask = Choose(f"Correct: {event_text(event, self.keeper.day)}", choices)
        self.acts.ask(ask, lambda what: todo[what](event))

    def _batch(self, event: Event) -> None:
        """It was another batch: what depends on the entry goes along, unless it is to go alone."""
        day = self.keeper.day
        event = current(day, event)

        def instead_of(was: str) -> None:
            def another(text: str) -> str:
                instead = typed_batches(day, text)[0]
                if instead.no in event.batches:
                    raise ValueError(f"it is on record for {instead.no} already")
                return instead.no

            def name(text: str) -> str:
                batch = day.batches[another(text)]
                return f"{batch.no} {batch.colourway.name}, now {state_word(batch)}"

            ask = AskText(f"{event_text(event, day)}: it was not {was} but batch", understand=name)
            self.acts.ask(ask, lambda text: along(was, another(text)))

        def along(was: str, batch_no: str) -> None:
            others = dependents(day, event, was)

            def move(events: Sequence[Event]) -> None:
                changes = [(one.id, *keys_for(one, was, batch_no)) for one in events]
                self._because(changes)

            if not others:
                move([event])
                return
            told = "; ".join(event_text(other, day) for other in others)
            choices = [
                KeyChoice("1", "along", f"with the entries that depend on it: {told}"),
                KeyChoice("2", "alone", "this entry alone"),
            ]
            ask = Choose(f"{event_text(event, day)} was {batch_no}", choices, return_takes=True)
            self.acts.ask(ask, lambda what: move([event, *others] if what == "along" else [event]))

        if len(event.batches) == 1:
            instead_of(event.batches[0])
        else:
            pick(self.acts.ask, "Which batch was not in it", event.batches, instead_of)

    def _time(self, event: Event) -> None:
        zone = self.keeper.day.plan.session.zone

        def when(text: str) -> datetime:
            now = self.keeper.now()
            return now.utc - timedelta(minutes=minutes_ago(text, now, zone, self.keeper.day.start_or(now)))

        ask = AskText(
            "When did it happen: a time, or how many minutes ago",
            understand=lambda text: f"{local(when(text), zone):%a %H:%M}",
        )
        self.acts.ask(ask, lambda text: self._because([(event.id, None, None)], moved_to=when(text)))

    def _value_label(self, event: Event) -> str:
        if isinstance(event.body, WITH_A_UNIT):
            return "the unit" if self.keeper.day.plan.unit_names else ""
        labels = {Measured: "the value", AcidPutIn: "the amount", Counted: "the count"}
        return next((label for kind, label in labels.items() if isinstance(event.body, kind)), "")

    def _value(self, event: Event) -> None:
        if isinstance(event.body, WITH_A_UNIT):
            names = self.keeper.day.plan.unit_names
            pick(self.acts.ask, "The unit was", names, lambda unit: self._because([(event.id, {"unit": unit}, None)]))
            return
        read, label = self._reader(event)
        ask = AskText(label, understand=lambda text: event_text(event.corrected(read(text)), self.keeper.day))
        self.acts.ask(ask, lambda text: self._because([(event.id, read(text), None)]))

    def _reader(self, event: Event) -> tuple[Any, str]:
        if isinstance(event.body, Measured):
            name = event.body.reading
            return (lambda text: {"value": typed_reading(name, text)}), f"{READING_WORDS[name]} was"
        if isinstance(event.body, Counted):
            return (lambda text: {"skeins": count_of(text)}), "the count was"
        in_g = isinstance(event.body, AcidPutIn) and event.body.acid_ml is None
        key = "acid_g" if in_g else "acid_ml"
        kind = units.VOLUME_ML if key == "acid_ml" else units.MASS_G
        return (lambda text: {key: units.read(text, kind, low=0, high=1e6)}), "acid put in was"

    def _because(self, changes: Sequence[Change], moved_to: datetime | None = None) -> None:
        """Ask why, then record. A correction with no key of its own moves the entry to the correction's time."""
        reasons = [
            KeyChoice("1", "misread", "misread"),
            KeyChoice("2", "mistyped", "mistyped"),
            KeyChoice("3", "recorded late", "recorded late"),
        ]

        def record(why: str) -> None:
            if moved_to is not None:
                self.keeper.minutes_ago = (self.keeper.now().utc - moved_to).total_seconds() / 60
            self.acts.record(
                *(EventDraft(Corrected(target_id=name, why=why, keys=keys or None), no) for name, keys, no in changes)
            )

        self.acts.ask(Choose("Corrected because it was", reasons, return_takes=True), record)
