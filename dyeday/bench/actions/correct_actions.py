"""Rarer keys: tags, counts, splits, overdyeing, dye used, rush orders, and corrections of entries."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import timedelta
from functools import partial
from typing import Any, NamedTuple

from dyeday import units
from dyeday.bench.actions import of_chosen
from dyeday.bench.actions.effect_actions import EffectActions
from dyeday.bench.live_session import EventDraft
from dyeday.bench.plain_app import LeftError, ask
from dyeday.bench.prompts.prompts import AskText, Choose, KeyChoice, ask_value, numbered, pick
from dyeday.plan.model import Order
from dyeday.plan.orders.order_editor import count_of, due_forms, due_of, due_words
from dyeday.text import LONGEST_NAME, LONGEST_TAG, counted, dash_as_empty, no_longer_than
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Event
from dyeday.track.day.progress import state_word
from dyeday.track.events.batch_changes import Counted, DyeUsed, Overdyed, Split, Tagged, wanted_and_has
from dyeday.track.events.measured import Measured
from dyeday.track.events.movements import AcidPutIn, Heated, Load, Moved, Placed, UnitChanged
from dyeday.track.events.reading_text import READING_WORDS
from dyeday.track.events.rewriting import Corrected, Redone, Undone
from dyeday.track.events.session_events import OrderAdded
from dyeday.track.folding.fold import MAY_BE_ANOTHERS, current, dependents, keys_for
from dyeday.track.timestamp import Moment, local
from dyeday.track.typed_entries import parts_of, typed_batches, typed_reading

FIRST, USUAL = 1, 5
"""priorities of an order that goes first, and of one in its turn"""
WITH_A_UNIT = (Load, Moved, Placed, Heated, UnitChanged)
"""events whose unit can be corrected"""


class Change(NamedTuple):
    """A correction of the entry ``event_id``: its right keys, and its right batch if it was recorded with another."""

    event_id: str
    keys: Mapping[str, Any] | None = None
    batch: str | None = None


class CorrectActions(EffectActions):
    """The rarer questions of the bench."""

    @of_chosen
    async def edit(self, batch: BatchRecord) -> None:
        """Ask which value of a batch changes: its tag, count, parts, colourway or dye."""
        left = partial(self._dye, "solution left", "mL", lambda of: DyeUsed(left_over=of))
        powder = partial(self._dye, "powder used", "g", lambda of: DyeUsed(used={"powder": of}))
        choices: list[KeyChoice[Callable[[BatchRecord], Awaitable[None]]]] = [
            KeyChoice("t", self._tag, "tag"),
            KeyChoice("c", self._count, "recount"),
            KeyChoice("s", self._split, "split"),
            KeyChoice("o", self._overdye, "overdye"),
            KeyChoice("u", partial(self._dye, "solution used", "mL", lambda of: DyeUsed(used=of)), "solution used"),
            KeyChoice("l", left, "solution left"),
            KeyChoice("p", powder, "powder used"),
        ]
        change = await ask(Choose(f"{batch.no} {batch.colourway.name}", choices))
        await change(batch)

    async def _tag(self, batch: BatchRecord) -> None:
        text = await ask(AskText(f"Tag of {batch.no}, or - if it was lost", batch.tag, no_longer_than(LONGEST_TAG)))
        self.screen.record(EventDraft(Tagged(tag=dash_as_empty(text)), batch.no))

    async def _count(self, batch: BatchRecord) -> None:
        skeins = await self._skeins(f"{batch.no}: how many", batch.base.form.value, str(batch.skeins))
        if self.screen.record(EventDraft(Counted(skeins=skeins), batch.no)) and batch.painted:
            await self.dye_again(batch, self.live.day.batches[batch.no].lost)

    async def _skeins(self, label: str, form: str, offered: str = "") -> int:
        return await ask_value(f"{label} {form}s", count_of, lambda skeins: counted(skeins, form), offered=offered)

    async def dye_again(self, batch: BatchRecord, skeins: int) -> None:
        """Ask whether ``skeins`` lost of a batch, as it was, are dyed again for the orders that lack them."""
        orders = {order.key: order for order in self.live.day.plan.orders}
        for item, _ in reversed(batch.shares):
            keys = [(item, name, batch.base.name) for name in batch.colours]
            if (order := next((orders[key] for key in keys if key in orders), None)) is None:
                continue
            wanted, has = wanted_and_has(self.live.day, order.key)
            if (number := min(skeins, wanted - has)) <= 0:
                continue
            skeins -= number
            choices = [KeyChoice("n", False, "no"), KeyChoice("y", True, "yes, as a new batch")]
            label = f"Dye {number} {order.colourway} again for {item}?"
            with suppress(LeftError):  # the loss is saved by then
                if await ask(Choose(label, choices, enter_accepts=True)):
                    due = {"due": order.due.isoformat()} if order.due is not None else {}
                    # Nothing more is wanted than before: they are dyed as spares of the order.
                    yarn = {"item": item, "colourway": order.colourway, "base": order.base}
                    self.screen.record(EventDraft(OrderAdded(order={**yarn, "skeins": 0, "spare": number, **due})))

    async def _split(self, batch: BatchRecord) -> None:
        whole = f"{batch.no} ({counted(batch.skeins, batch.base.form.value)})"
        into = await ask_value(
            f"Split {whole} into parts, such as 1 {max(1, batch.skeins - 1)}, or 1 for one and the rest",
            lambda text: parts_of(text, batch),
            lambda parts: ", ".join(f"{no} with {skeins}" for no, skeins in parts.items()),
        )
        if self.screen.record(EventDraft(Split(into=into), batch.no)):
            for no in into:
                await self._tag_part(no)

    async def _tag_part(self, no: str) -> None:
        """Ask for the tag of a part: wet, undyed skeins look alike."""
        if (part := self.live.day.batches.get(no)) is None:
            return  # another shell undid the split meanwhile
        label = f"Tag of {no} (Enter: {part.tag or 'none'})"
        try:
            tag = dash_as_empty(await ask(AskText(label, understand=no_longer_than(LONGEST_TAG))))
        except LeftError:
            return
        if tag and tag != part.tag:
            self.screen.record(EventDraft(Tagged(tag=tag), no))

    async def _overdye(self, batch: BatchRecord) -> None:
        names = [colourway.name for colourway in self.live.day.plan.colourways]
        colourway = await pick(f"Overdye {batch.no}: which colourway", names)
        self.screen.record(EventDraft(Overdyed(colourway=colourway), batch.no))

    async def _dye(
        self, words: str, unit: str, body: Callable[[dict[str, float]], DyeUsed], batch: BatchRecord
    ) -> None:
        own = [name for layer in batch.colourway.layers for name in layer.dyes]
        if not (dyes := list(dict.fromkeys([*own, *(dye.name for dye in self.live.day.plan.dyes)]))):
            self.screen.say("the plan has no dye", wrong=True)
            return
        kind = units.MASS_G if unit == "g" else units.VOLUME_ML
        name = await pick(f"{batch.no} {words}", dyes)
        amount = await ask_value(
            f"{batch.no} {name} {words}, {unit}",
            lambda text: units.read(text, kind, low=0, high=1e5),
            lambda amount: f"{amount:g} {unit}",
        )
        self.screen.record(EventDraft(body({name: amount}), batch.no))

    async def order(self) -> None:
        """Ask for a new order; offer it in its turn, without a due date, with its effect and what can be changed."""
        plan, like = self.live.day.plan, self.screen.chosen_batch()
        names, bases = [c.name for c in plan.colourways], [b.name for b in plan.bases]
        colourway = await pick("New order: which colourway", names, like.colourway.name if like else "")
        base = next((one.base for one in reversed(plan.orders) if one.colourway == colourway), bases[0])
        if len(bases) > 1:
            base = await pick(f"New order: {colourway} on which base", bases, base)
        skeins = await self._skeins(f"{colourway} on {base}: how many", plan.base(base).form.value)
        items = {order.item for order in plan.orders}
        item = next(f"new {n}" for n in range(1, 10_000) if f"new {n}" not in items)
        self._offer(Order(item, colourway, base, skeins, priority=USUAL))

    def _offer(self, order: Order) -> None:
        turns = {FIRST: "as early as the day allows", USUAL: "in its turn"}
        turn = next(priority for priority in turns if priority != order.priority)
        others: list[KeyChoice[Callable[[], object]]] = [
            KeyChoice("t", lambda: self._offer(replace(order, priority=turn)), turns[turn]),
            KeyChoice("w", lambda: self.screen.put_questions(self._changed(order, self._for_whom)), "for whom"),
            KeyChoice("d", lambda: self.screen.put_questions(self._changed(order, self._due_when)), "when it is due"),
        ]
        due = order.due
        # It must be dry the day before it goes out.
        posted = "no due date" if due is None else f"dry by {due - timedelta(days=1):%a} to go out {due:%a}"
        words = f"{order.skeins} {order.colourway} for {order.item}, {posted}, {turns[order.priority]}"
        data = {"item": order.item, "colourway": order.colourway, "base": order.base, "skeins": order.skeins}
        when = {"due": due.isoformat()} if due is not None else {}
        first = {"priority": FIRST} if order.priority == FIRST else {}
        self.confirm_with_effect(OrderAdded(order={**data, **when, **first}), words, others=others)

    async def _changed(self, order: Order, change: Callable[[Order], Awaitable[Order]]) -> None:
        """Ask for a change of a new order and offer it again, unchanged where the question was left."""
        with suppress(LeftError):
            order = await change(order)
        self._offer(order)

    async def _for_whom(self, order: Order) -> Order:
        item = await ask_value("For whom", no_longer_than(LONGEST_NAME), str, offered=order.item)
        return replace(order, item=item.strip())

    async def _due_when(self, order: Order) -> Order:
        day, offered = self.live.day.plan.session.date, order.due.isoformat() if order.due is not None else "-"
        label = f"Due ({due_forms(day)})"
        due = await ask_value(label, lambda text: due_of(text, day), due_words, offered=offered)
        return replace(order, due=due, priority=USUAL if due is None else FIRST)

    async def void(self, event: Event) -> None:
        """Mark an entry as void, or redo it."""
        dead = event.id in self.live.day.void_ids
        verb = "redo" if dead else "void"
        label = f"{verb.capitalize()}: {event.whose}{event.text(self.live.day)}"
        await ask(Choose(label, [KeyChoice("z", "yes", f"{verb} it")], enter_accepts=True))
        self.screen.record(EventDraft(Redone(target_id=event.id) if dead else Undone(target_id=event.id)))

    async def correct(self, event: Event) -> None:
        """Correct an entry's time or its value; both the old and the new stay readable."""
        choices = [KeyChoice("t", self._time, "its time")]
        if label := self._value_label(event):
            choices.append(KeyChoice("v", self._value, label))
        if event.batches and isinstance(event.body, MAY_BE_ANOTHERS):
            choices.append(KeyChoice("b", self._batch, "the batch"))
        change = await ask(Choose(f"Correct: {event.text(self.live.day)}", choices))
        await change(event)

    async def _batch(self, event: Event) -> None:
        """Ask which other batch the entry was about, and whether later entries that depend on it move with it."""
        day = self.live.day
        event = current(day, event)
        was = event.batches[0] if len(event.batches) == 1 else await pick("Which batch is wrong", event.batches)

        def another(text: str) -> BatchRecord:
            found = typed_batches(day, text)[0]
            if found.no in event.batches:
                raise ValueError(f"it is on record for {found.no} already")
            return found

        is_now = await ask_value(
            f"{event.text(day)}: not {was}, but which batch",
            another,
            lambda batch: f"{batch.no} {batch.colourway.name}, now {state_word(batch)}",
        )
        moved = [event]
        if others := dependents(day, event, was):
            followers = "; ".join(other.text(day) for other in others)
            choices = [
                KeyChoice("1", [event, *others], f"with the entries that depend on it: {followers}"),
                KeyChoice("2", [event], "this entry alone"),
            ]
            moved = await ask(Choose(f"{event.text(day)} was {is_now.no}", choices, enter_accepts=True))
        await self._because([Change(one.id, *keys_for(one, was, is_now.no)) for one in moved])

    async def _time(self, event: Event) -> None:
        zone = self.live.day.plan.session.zone
        label = "When did it happen: a time, or how many minutes ago"
        moved_to = await ask_value(label, self.live.typed_moment, lambda then: f"{local(then.utc, zone):%a %H:%M}")
        await self._because([Change(event.id)], moved_to)

    def _value_label(self, event: Event) -> str:
        if isinstance(event.body, WITH_A_UNIT):
            return "the unit" if self.live.day.plan.unit_names else ""
        labels = {Measured: "the value", AcidPutIn: "the amount", Counted: "the count"}
        return next((label for kind, label in labels.items() if isinstance(event.body, kind)), "")

    async def _value(self, event: Event) -> None:
        if isinstance(event.body, WITH_A_UNIT):
            keys: Mapping[str, Any] = {"unit": await pick("Right unit", self.live.day.plan.unit_names)}
        else:
            read, label = self._reader(event)
            keys = await ask_value(label, read, lambda keys: event.corrected(keys).text(self.live.day))
        await self._because([Change(event.id, keys)])

    def _reader(self, event: Event) -> tuple[Callable[[str], Mapping[str, Any]], str]:
        if isinstance(event.body, Measured):
            name = event.body.reading
            return (lambda text: {"value": typed_reading(name, text)}), f"Right {READING_WORDS[name]}"
        if isinstance(event.body, Counted):
            return (lambda text: {"skeins": count_of(text)}), "Right count"
        in_g = isinstance(event.body, AcidPutIn) and event.body.acid_ml is None
        key, kind = ("acid_g", units.MASS_G) if in_g else ("acid_ml", units.VOLUME_ML)
        return (lambda text: {key: units.read(text, kind, low=0, high=1e6)}), f"Right acid, {'g' if in_g else 'mL'}"

    async def _because(self, changes: Sequence[Change], moved_to: Moment | None = None) -> None:
        """Ask why, then record; ``moved_to`` is the time that a change without keys and batch gives its entry."""
        reasons = ("misread", "mistyped", "recorded late")
        reasons = reasons if moved_to is None else reasons[::-1]
        why = await ask(Choose("Corrected because it was", numbered(reasons), enter_accepts=True))
        drafts = (EventDraft(Corrected(target_id=c.event_id, why=why, keys=c.keys or None), c.batch) for c in changes)
        self.screen.record(*drafts, at=moved_to)
