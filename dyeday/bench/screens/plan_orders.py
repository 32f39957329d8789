"""The orders of a plan on the screen: added, changed, sorted, removed, with the forecast of the day they make."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from datetime import date
from typing import Any

from rich.text import Text
from textual.app import ComposeResult
from textual.events import Key
from textual.widgets import Static
from textual.worker import Worker

from dyeday.ahead.advising.hindrances import cannot_be_finished
from dyeday.ahead.foreseen_steps import Forecast, Foresee
from dyeday.bench.plain_app import Drawn, put_questions
from dyeday.bench.prompts.prompts import ask_value, pick
from dyeday.bench.screens.plan_desk import PlanDesk
from dyeday.bench.view.bench_layout import WIDE
from dyeday.bench.view.bench_view import fit_text
from dyeday.bench.view.order_lines import order_detail, order_list
from dyeday.bench.widgets.board import keys_line, side_by_side
from dyeday.bench.widgets.one_line import Message
from dyeday.plan.model import MOST_PIECES, Order
from dyeday.plan.orders.order_editor import DraftError, PlanDraft, count_of, due_forms, due_of, due_words, parcel_of
from dyeday.text import LONGEST_NAME, counted, dash_as_empty, pad
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import local

KEYS = (
    ("a", "add"), ("c", "count"), ("d", "due"), ("w", "save"), ("?", "keys"), ("escape", "back")
)  # fmt: skip
ALL_KEYS = (
    ("a", "add"), ("+ -", "one more, one fewer"), ("c", "count"), ("d", "due"), ("p", "for whom"), ("t", "sample"),
    ("e", "earlier"), ("l", "later"), ("x", "remove"), ("z", "undo"), ("w", "save"), ("escape", "back")
)  # fmt: skip


class PlanScreen(Drawn[None]):
    """A plan's orders and the day they make; ``left`` is called at the end; ``begin``, if given, begins that day."""

    AUTO_FOCUS = ""

    def __init__(
        self,
        desk: PlanDesk,
        foresee: Foresee | None,
        left: Callable[[], None] = lambda: None,
        begin: Callable[[], None] | None = None,
    ) -> None:
        super().__init__()
        self.desk = desk
        self.foresee = foresee
        self.left = left
        self.begin = begin
        self.chosen = 0
        self.message, self.wrong = desk.notice, bool(desk.notice)
        self.foreseen: tuple[str, Day, Forecast] | None = None
        """a draft's text, the day it makes and its forecast"""
        self.fit = ""
        self.wanted: PlanDraft | None = None
        """the draft the forecast is asked about next; newer ones take its place"""
        self.leaving = False

    def compose(self) -> ComposeResult:
        yield Static(id="plan-top", classes="heading")
        yield Static(id="plan-rows")
        yield Message()
        yield Static(id="plan-keys", classes="heading")

    def on_mount(self) -> None:
        self.look_ahead(self.desk.draft)

    @property
    def draft(self) -> PlanDraft:
        """The plan as it is on the desk."""
        return self.desk.draft

    def show(self) -> None:
        if not self.query("#plan-rows"):
            return
        width, height = self.size
        changed = ", not saved" if self.desk.is_changed else ""
        pieces = sum(order.skeins + order.spare for order in self.draft.orders)
        orders = counted(len(self.draft.orders), "order")
        head = f"{self.desk.path.name}{changed}: {orders}, {counted(pieces, 'piece')}"
        fit = f"  {self.fit}" if self.fit else ""
        room = width - 2 - len(fit)
        top = pad(head, room) + fit if room >= 10 else pad(self.fit or head, width - 2)
        self.query_one("#plan-top", Static).update(Text(f" {top}", style="bold"))
        self.chosen = max(0, min(self.chosen, len(self.draft.orders) - 1))
        self.query_one("#plan-rows", Static).update(self._rows(width, max(1, height - 6)))
        self.query_one(Message).say(self.message, style=self.look.flag_style if self.wrong else "")
        keys = KEYS if self.begin is None else (*KEYS[:4], ("b", "begin the day"), *KEYS[4:])
        self.query_one("#plan-keys", Static).update(keys_line(keys, width))

    def _rows(self, width: int, room: int) -> Text:
        """Return the orders, and where there is room the chosen one in full beside them."""
        plan, orders = self.draft.plan, self.draft.orders
        if plan is None or width < WIDE:
            return Text("\n").join(order_list(orders, self.chosen, width, room, self.look))
        left = width * 3 // 5
        rows = order_list(orders, self.chosen, left, room, self.look)
        foreseen = self.foreseen[1:] if self.foreseen is not None and self.foreseen[0] == self.draft.text else None
        side = order_detail(plan, orders[self.chosen], foreseen, width - left - 3)
        return side_by_side(rows, side, left, room + 1, self.look)

    def say(self, text: str, *, wrong: bool = False) -> None:
        """Show ``text`` on the message line, as an error if ``wrong``."""
        self.message, self.wrong = text, wrong
        self.show()

    def look_ahead(self, draft: PlanDraft) -> None:
        """Ask for the forecast of a draft: one at a time, the newest next."""
        if self.foresee is None or draft.plan is None:
            return
        self.wanted = draft
        if any(worker.group == "plan" and not worker.is_finished for worker in self.workers):
            return
        self.run_worker(self._forecast, thread=True, group="plan", exit_on_error=False)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Ask again for a draft that came just as the one before was done with."""
        if event.worker.group == "plan" and event.worker.is_finished and self.wanted is not None:
            self.look_ahead(self.wanted)

    def _forecast(self) -> None:
        while (draft := self.wanted) is not None:
            self.wanted = None
            made = self.desk.day_of(draft)
            if made is None or self.foresee is None:
                continue
            try:
                forecast = self.foresee(made[0], made[1], None)
            except Exception:  # orders can be changed and saved without a forecast
                self.app.call_from_thread(self._failed)
                continue
            self.app.call_from_thread(self._foreseen, draft, made[0], forecast)

    def _failed(self) -> None:
        self.fit = "Forecast failed; the plan can be saved. Your next change tries again."
        self.show()

    def _foreseen(self, draft: PlanDraft, day: Day, forecast: Forecast) -> None:
        self.foreseen = draft.text, day, forecast
        with_this = "" if draft.text == self.draft.text else "with this: "
        self.fit = with_this + fit_text(forecast, day.plan.session.zone)
        if forecast.nothing_ends and not with_this:
            self.message, self.wrong = ". ".join(text for _, text in cannot_be_finished(forecast)), True
        self.show()

    def on_key(self, event: Key) -> None:
        pressed = {"up": "up", "down": "down", "escape": "escape"}.get(event.key, event.character or "")
        act = {
            "up": lambda: self._choose(-1),
            "down": lambda: self._choose(1),
            "a": lambda: self._ask(self._add()),
            "+": lambda: self._more(1),
            "-": lambda: self._more(-1),
            "c": lambda: self._ask(self._count()),
            "d": lambda: self._ask(self._due()),
            "p": lambda: self._ask(self._parcel()),
            "t": self._sample,
            "e": lambda: self._move(-1),
            "l": lambda: self._move(1),
            "x": self._remove,
            "z": self._undo,
            "w": self._save,
            "b": self._begin,
            "?": lambda: self.say(", ".join(f"{'Esc' if key == 'escape' else key} {word}" for key, word in ALL_KEYS)),
            "q": self._leave,
            "escape": self._leave,
        }.get(pressed)
        if act is None:
            return
        event.stop()
        event.prevent_default()
        leaving, self.leaving = self.leaving, pressed in ("q", "escape")
        if leaving and self.leaving:
            self._gone()
        elif pressed not in ("a", "w", "z", "?", "q", "escape") and not self.draft.orders:
            self.say("there is no order yet; a adds one", wrong=True)
        else:
            act()

    def _choose(self, step: int) -> None:
        self.chosen += step
        self.say("")

    def _try(self, change: Callable[[], PlanDraft], message: str) -> bool:
        try:
            self.desk.change(change())
        except DraftError as error:
            self.say(str(error), wrong=True)
            return False
        self.look_ahead(self.draft)
        self.say(message)
        return True

    def _keys(self, message: str, **changes: Any) -> None:
        n = self.chosen
        self._try(lambda: self.draft.with_keys(n, changes), message)

    def _more(self, by: int) -> None:
        order = self.draft.orders[self.chosen]
        if not 1 <= order.skeins + by <= MOST_PIECES:
            self.say("at least 1; x removes the order", wrong=True)
        else:
            self._keys(counted(order.skeins + by, "piece"), skeins=order.skeins + by)

    def _ask(self, asking: Coroutine[Any, Any, None]) -> None:
        def left() -> None:
            self.look_ahead(self.draft)
            self.say("cancelled, nothing saved")

        put_questions(self.app, asking, left)

    async def _count(self) -> None:
        order, n = self.draft.orders[self.chosen], self.chosen
        label = f"{order.colourway} on {order.base}: how many"
        skeins = await self._skeins(label, lambda skeins: self.draft.with_keys(n, {"skeins": skeins}), order.skeins)
        self._keys(f"{skeins} pieces", skeins=skeins)

    async def _skeins(self, label: str, change: Callable[[int], PlanDraft], offered: int | None = None) -> int:
        """Ask how many, and forecast the draft that ``change`` makes of each count as it is typed."""

        def words(skeins: int) -> str:
            self.look_ahead(change(skeins))
            return counted(skeins, "piece")

        return await ask_value(label, count_of, words, offered="" if offered is None else str(offered))

    async def _due(self) -> None:
        order = self.draft.orders[self.chosen]
        due = await self._due_date(f"When is {order.item} due", order.due.isoformat() if order.due else "")
        self._keys(due_words(due), due=due)

    async def _due_date(self, label: str, offered: str) -> date | None:
        plan = self.draft.plan
        day = plan.session.date if plan is not None else local(self.desk.clock().utc, None).date()
        return await ask_value(
            f"{label}: {due_forms(day)}", lambda text: due_of(text, day), due_words, offered=offered
        )

    async def _parcel(self) -> None:
        order = self.draft.orders[self.chosen]
        label = f"{order.item}: for whom (the name on its parcel, - for none)"
        parcel = await ask_value(label, parcel_of, str, offered=order.parcel)
        self._keys(f"for {parcel}", parcel=dash_as_empty(parcel) or None)

    def _sample(self) -> None:
        order = self.draft.orders[self.chosen]
        words = "to be sold" if order.sample else "a sample, dyed and not sold"
        self._keys(words, sample=None if order.sample else True)

    def _move(self, step: int) -> None:
        n, to = self.chosen, self.chosen + step
        if not 0 <= to < len(self.draft.orders):
            self.say("already first" if step < 0 else "already last")
        elif self._try(lambda: self.draft.moved(n, to), "moved; batches are numbered by due date, then as listed"):
            self.chosen = to
            self.show()

    def _remove(self) -> None:
        order, n = self.draft.orders[self.chosen], self.chosen
        self._try(lambda: self.draft.without(n), f"removed {order.item}; z brings it back")

    def _undo(self) -> None:
        back = self.desk.undo()
        self.look_ahead(self.draft)
        self.say("undone" if back else "nothing to undo", wrong=not back)

    def _save(self) -> None:
        try:
            message = self.desk.save() if self.desk.is_changed or self.desk.saved is None else "nothing has changed"
        except DraftError as error:
            self.say(str(error), wrong=True)
        else:
            self.say(message)

    def _begin(self) -> None:
        if self.begin is None:
            self.say("w saves; a day begins with `dyeday open`", wrong=True)
            return
        if self.desk.is_changed or self.desk.saved is None:
            self._save()
        if self.desk.saved is not None and not self.desk.is_changed:
            self.begin()

    def _leave(self) -> None:
        if self.desk.is_changed:
            self.say("not saved: w saves, Esc again discards the changes", wrong=True)
        else:
            self._gone()

    def _gone(self) -> None:
        self.wanted = None
        self.left()
        self.dismiss(None)

    async def _add(self) -> None:
        draft = self.draft
        if not draft.colourways or not draft.bases:
            self.say("nothing to choose from yet: `dyeday setup` adds bases and colourways", wrong=True)
            return
        way = await pick("Which colourway", draft.colourways)
        base = await pick(f"{way} on which base", draft.bases)

        def order(skeins: int, due: date | None = None) -> Order:
            return Order(f"{way} / {base}"[:LONGEST_NAME], way, base, skeins, due)

        skeins = await self._skeins(f"{way} on {base}: how many", lambda skeins: draft.with_order(order(skeins)))
        due = await self._due_date(f"{skeins} {way} on {base}, due", "-")
        full = order(skeins, due)
        if self._try(lambda: self.draft.with_order(full), f"added {full.skeins} {full.item}"):
            self.chosen = len(self.draft.orders) - 1
            self.show()
