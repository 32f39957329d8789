"""Sheets on the bench: chosen, previewed, then printed or saved; the keys never wait for a printer."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, cast

from rich.text import Text
from textual.binding import Binding

from dyeday.bench.plain_app import ask
from dyeday.bench.prompts.prompts import Choose, numbered
from dyeday.bench.screens.text_screens import Reader
from dyeday.files.durable import StoreError, reason
from dyeday.paper.layout.sheet import Sheet
from dyeday.paper.layout.sheet_text import text_pages
from dyeday.paper.printing.sending import PagesOf, print_sheet, save_sheet, usual_paper
from dyeday.paper.sheets.reorder_list import to_reorder
from dyeday.paper.sheets.sheet_kinds import KINDS, SheetSource, lot_of_batch, make_sheet
from dyeday.store.sessions import Sessions, days_until
from dyeday.text import counted, harmless

if TYPE_CHECKING:
    from dyeday.ahead.foreseen_steps import Forecast
    from dyeday.bench.main_screen import BenchScreen


class SheetPage(Reader):
    """A sheet as it will be printed. ``print_it`` and ``save_it`` say how it went; they run beside the keys."""

    BINDINGS = [Binding("p", "print", "print it"), Binding("s", "save", "save as files")]  # noqa: RUF012

    def __init__(
        self,
        words: str,
        sheet: Sheet,
        print_it: Callable[[], str],
        save_it: Callable[[], str],
        tell: Callable[[str], None],
    ) -> None:
        pages = text_pages(sheet)
        super().__init__(f"{words}: {counted(len(pages), 'page')}", Text("\n".join(pages)))
        self.print_it = print_it
        self.save_it = save_it
        self.tell = tell
        self.busy: threading.Thread | None = None

    def foot(self) -> list[tuple[str, str]]:
        return [("p", "print it"), ("s", "save as files")]

    def action_print(self) -> None:
        self._beside("on its way to the printer …", self.print_it)

    def action_save(self) -> None:
        self._beside("being saved …", self.save_it)

    def _beside(self, meanwhile: str, do: Callable[[], str]) -> None:
        """Do something slow in a thread; one at a time, to its end even when the screen is left."""
        if self.busy is not None and self.busy.is_alive():
            return
        self.head(meanwhile)
        app = self.app

        def run() -> None:
            try:
                message = do()
            except StoreError as error:
                message = str(error)
            except OSError as error:
                message = f"the page could not be saved: {reason(error)}"
            try:
                app.call_from_thread(self._done, message)
            except RuntimeError:  # the bench was left meanwhile
                return

        # Not a worker: one of those would keep the bench from being left while a printer does not answer.
        self.busy = threading.Thread(target=run, daemon=True)
        self.busy.start()

    def _done(self, message: str) -> None:
        if self.is_attached:
            self.head(harmless(message))
        self.tell(message)


async def choose_sheet(screen: BenchScreen) -> None:
    """Ask which sheet, and show it."""
    kind, words = await ask(Choose("Which sheet", numbered(KINDS, lambda kind: kind[1]), enter_accepts=True))
    live, batch_no = screen.live, screen.chosen
    outlook = screen.bench_app.outlook
    forecast = outlook.forecast
    if kind == "day" and forecast is None:
        screen.say(outlook.none_words, wrong=outlook.has_failed)
        return
    data, session_id = live.file.data_folder, live.file.about.id
    now = live.now()
    of = SheetSource(
        day=live.day.read_at(None),
        session_id=session_id,
        now=now,
        days=lambda: days_until(Sessions(data), session_id, live.day),
        foresee=lambda: cast("Forecast", forecast),
        reorder=lambda: to_reorder(data, now.utc),
    )
    try:
        sheet = lot_of_batch(of, batch_no or "") if kind == "lot" else make_sheet(kind, of)
    except (StoreError, OSError) as error:
        screen.say(str(error), wrong=True)
        return
    if sheet is None:
        none_done = f"no batch of the lot of {batch_no or 'none'} is done yet"
        screen.say(f"{none_done}; its sheet can be printed when the first one is")
        return
    plan = live.day.plan
    pages = PagesOf(data, session_id, plan.session.zone)
    page = SheetPage(
        words.capitalize(),
        sheet,
        lambda: print_sheet(pages, sheet, now.utc).text,
        lambda: save_sheet(pages, sheet, usual_paper(plan)),
        screen.say,
    )
    screen.app.push_screen(page)
