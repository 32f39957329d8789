"""Screens to read: a text, what happened meanwhile, a batch with its flags, all flags."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from datetime import datetime

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.events import Key
from textual.widgets import Static

from dyeday.bench.live_session import LiveSession
from dyeday.bench.looks.swatches import colour_words
from dyeday.bench.looks.themes import LookStyles
from dyeday.bench.plain_app import DrawnEachSecond, TypedAhead
from dyeday.bench.prompts.prompts import DIGITS
from dyeday.bench.view.batch_pane import counts_for, history_before, history_of
from dyeday.bench.widgets.board import side_by_side
from dyeday.bench.widgets.one_line import Foot
from dyeday.quick_dataclass import dataclass
from dyeday.text import batches_text, counted, harmless, wrap
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import whereabouts
from dyeday.track.flags import Flag, flag_title, flag_words
from dyeday.track.timers.alarm_states import standing
from dyeday.track.timers.timers import due
from dyeday.track.timestamp import Moment, length_text, time_text, time_text_near

WIDE = 110
"""cells from which a batch's history stands beside its flags"""
FLAG_CELLS = 30
"""of the column of flags, where their reasons and remedies stand beside them"""
MOST_CELLS = 100
"""columns of a text at most: longer lines are hard to follow"""


class Reader(TypedAhead[None]):
    """A heading and a text to scroll through, Esc goes back; while there is more below, the foot says so."""

    BINDINGS = [  # noqa: RUF012
        Binding("up", "scroll(-1)", "up", show=False),
        Binding("down", "scroll(1)", "more"),
        Binding("pageup", "scroll(-15)", "page up", show=False),
        Binding("pagedown,space", "scroll(15)", "page down", show=False),
        Binding("escape,q", "back", "back"),
    ]

    def __init__(self, heading: str = "", text: Text | None = None) -> None:
        super().__init__()
        self.heading = harmless(heading)
        self.text = text or Text("")

    def compose(self) -> ComposeResult:
        yield Static(Text(f" {self.heading}", style="bold"), classes="heading")
        with VerticalScroll(id="reader", can_focus=False):
            yield Static(self.text, id="reader-text")
        yield Foot()

    def on_mount(self) -> None:
        for what in ("scroll_y", "virtual_size", "container_size"):
            self.watch(self.query_one("#reader"), what, self._was_scrolled, init=False)
        self.show_foot()

    def _was_scrolled(self) -> None:
        self.call_after_refresh(self.show_foot)

    def head(self, words: str = "") -> None:
        """Show ``words`` as the heading, by default the screen's own; nothing once the screen is taken down."""
        for shown in [*self.query(".heading").results(Static)][:1]:
            shown.update(Text(f" {words or self.heading}", style="bold"))

    def put(self, heading: str, text: Text) -> None:
        """Show another text under a ``heading``, see `head`."""
        for shown in self.query("#reader-text").results(Static):
            shown.update(text)
        self.head(heading)
        self.show_foot()

    def foot(self) -> list[tuple[str, str]]:
        """Return the keys of this screen, beside those that scroll it and the one that closes it."""
        return []

    def show_foot(self) -> None:
        """Show the keys; "more" only where there is more below."""
        for foot in self.query(Foot):
            more = any(reader.scroll_offset.y < reader.max_scroll_y for reader in self.query("#reader"))
            foot.show([*([("down", "more")] if more else []), *self.foot(), ("escape", "back")])

    def action_scroll(self, lines: int) -> None:
        self.query_one("#reader", VerticalScroll).scroll_relative(y=lines, animate=False)


class Meanwhile(DrawnEachSecond[None], Reader):
    """What happened meanwhile, as it stands each second; any key closes it."""

    def __init__(self) -> None:
        super().__init__()
        self.parts: dict[str, Callable[[], Sequence[str]]] = {}
        """lines by heading"""
        self.since: Moment | None = None
        """the moment from which the part `since_heading` lists what came due"""
        self.since_heading = ""
        self.closed_by = ""

    @property
    def uses_a(self) -> bool:
        return True

    def tell(self, heading: str, lines: Callable[[], Sequence[str]], since: Moment | None = None) -> None:
        """Add a part at the end; one with ``since`` replaces the earlier one that has it."""
        if since is not None:
            self.parts.pop(self.since_heading, None)
            self.since, self.since_heading = since, heading
        self.parts[heading] = lines
        self.show()

    def show(self) -> None:
        text = Text()
        for n, (heading, lines) in enumerate(self.parts.items()):
            if n:
                text.append(f"\n\n {harmless(heading)}\n", style="bold")
            text.append_text(lines_text(lines()))
        self.put(f"{harmless(next(iter(self.parts)))} (any key closes this)", text)

    def on_key(self, event: Key) -> None:
        event.stop()
        event.prevent_default()
        self.closed_by = event.character or ""
        self.dismiss(None)


def meanwhile_lines(day: Day, since: datetime, now: Moment, own: Collection[str]) -> list[str]:
    """Return a line for each thing that came due, began to alarm or was recorded by another shell after ``since``.

    Alarms that still stand come first, then what came due, then records; ``own`` are the ids of events this bench
    recorded. Where anything is new, what already did harm before ``since`` is listed too.
    """
    zone = day.plan.session.zone
    alarms = [alarm for alarm in standing(day, now) if alarm.lasts]
    alarmed = {each for alarm in alarms for each in alarm.ids}
    lines = [f"! {alarm.text}, since {time_text(alarm.since, zone)}" for alarm in alarms]
    is_new = [alarm.since > since for alarm in alarms]
    for timer in due(day, now):
        due_at = timer.due_at(now) if timer.calls_hands and timer.id not in alarmed else None
        if due_at is not None and (timer.harms or due_at > since):
            what = f"{timer.batch or timer.unit or ''} {timer.text or timer.kind.value}"
            lines.append(f"* {what}, {length_text(-(timer.left_s or 0.0) / 60)} ago")
            is_new.append(due_at > since)
    for event in day.shown_events:
        if event.recorded_at > since and event.id not in own:
            lines.append(f"  {time_text(event.at, zone)} another terminal: {event.whose}{event.text(day)}")
            is_new.append(True)
    return lines if any(is_new) else []


def lines_text(lines: Sequence[str]) -> Text:
    """Return lines made harmless, one below the other."""
    return Text("\n".join(f" {harmless(line)}" for line in lines))


class ClearingPage(DrawnEachSecond[None], Reader):
    """Flags of a batch or the day; a digit clears one with ``clear_flag``, but not on a read-only bench."""

    def __init__(
        self, live: LiveSession, clear_flag: Callable[[ClearingPage, Flag], None], batch_no: str = ""
    ) -> None:
        super().__init__()
        self.live, self.clear_flag, self.batch_no = live, clear_flag, batch_no
        self.open_flags: list[Flag] = []

    def foot(self) -> list[tuple[str, str]]:
        many = min(9, len(self.open_flags))
        return [("1" if many == 1 else f"1-{many}", "clear")] if many and not self.live.read_only else []

    def on_key(self, event: Key) -> None:
        char = event.character or ""
        if not self.live.read_only and char and char in DIGITS[: len(self.open_flags)]:
            event.stop()
            self.clear_flag(self, self.open_flags[DIGITS.index(char)])


@dataclass(frozen=True, slots=True)
class BatchSeen:
    """A batch at a moment, with its flags."""

    day: Day
    batch: BatchRecord
    flags: Sequence[Flag]
    now: Moment

    def time_text(self, moment: datetime) -> str:
        """Return a moment as "14:20", with its weekday where that is another."""
        return time_text_near(moment, self.day.plan.session.zone, self.now.utc)


class BatchPage(ClearingPage):
    """One batch: what is flagged and what to do, then its history."""

    BINDINGS = [Binding("f", "back", "back")]  # noqa: RUF012

    def show(self) -> None:
        day, now = self.live.day, self.live.now()
        if (batch := day.batches.get(self.batch_no)) is None:
            self.open_flags = []
            self.put("this batch was undone", Text(""))
            return
        seen = BatchSeen(day, batch, self.live.flags(now).get(batch.no, []), now)
        self.open_flags = [flag for flag in seen.flags if flag.cleared is None]
        pieces = counted(batch.skeins, batch.base.form.value)
        heading = f"{batch.no} {batch.colourway.name} on {batch.base.name}, {pieces}: {whereabouts(batch)}"
        lines = wrap(heading, self.app.size.width - 2, "   ", "")
        width = self.app.size.width - 4
        width = width if width >= WIDE else min(width, MOST_CELLS)
        text = batch_text(seen, width, self.look, digits=not self.live.read_only)
        self.put("\n".join(lines), text)


class FlagsPage(ClearingPage):
    """Every open flag of the day. Those about the whole day are cleared here, a batch's on its own page."""

    BINDINGS = [Binding("d", "back", "back")]  # noqa: RUF012

    def show(self) -> None:
        flags = [flag for flag in self.live.all_flags() if flag.cleared is None]
        self.open_flags = [flag for flag in flags if flag.batch is None]
        text = flags_text(flags, self.app.size.width - 4, self.look, digits=not self.live.read_only)
        self.put(f"Flags of the day: {len(flags) or 'none'}", text)


def batch_text(seen: BatchSeen, width: int, look: LookStyles, *, digits: bool = True) -> Text:
    """Return a batch's flags and every event of it, newest last; ``digits`` is whether a digit clears a flag."""
    if width < WIDE:
        return Text("\n").join([_checks(seen, width, look, digits), _history(seen, width)])
    half = width // 2 - 2
    checks, history = (list(text.split("\n")) for text in (_checks(seen, half, look, digits), _history(seen, half)))
    return side_by_side(checks, history, half + 2, max(len(checks), len(history)), look)


def _checks(seen: BatchSeen, width: int, look: LookStyles, digits: bool) -> Text:
    batch, flags = seen.batch, seen.flags
    text = Text()
    opened = [flag for flag in flags if flag.cleared is None]
    text.append(" To check\n" if opened else " No flags.\n", style="underline" if opened else "")
    for n, flag in enumerate(opened, 1):
        text.append(f" {n} ", style="reverse")
        text.append(f" {flag_title(flag)}", style=look.urgent)
        text.append(f"  since {seen.time_text(flag.since)}\n")
        _paragraph(text, flag.why, width)
        for word, remark in flag.remarks:
            _paragraph(text, f"{word} {remark}", width)
    for flag in flags:
        if flag.cleared is not None:
            _paragraph(text, f"cleared {flag_words(flag.rule.value)}: {flag.cleared.why}", width, indent=" ")
    if swatches := [colour for layer in batch.colourway.layers for colour, _ in layer.swatches]:
        _paragraph(text, f"colours: {colour_words(swatches)}", width, indent=" ")
    if steps := batch.colourway.steps:
        text.append("\n How it is painted\n", style="underline")
        for n, step in enumerate(steps, 1):
            _paragraph(text, f"{n}. {step}", width)
    return text


def _history(seen: BatchSeen, width: int) -> Text:
    day, batch = seen.day, seen.batch
    text = Text.assemble((" What happened\n", "underline"), end="")
    if not (entries := history_of(day, batch)):
        text.append("    nothing yet\n")
    for line in history_before(day, batch):
        text.append("\n".join([*wrap(line, width, indent="         ", first=" "), ""]))
    for event, entered in entries:
        struck, is_own = event.id in day.void_ids, counts_for(batch, event)
        line = f"{seen.time_text(event.at):9} {event.text(day)}"
        if event.is_late:
            line += f"  (entered {seen.time_text(event.recorded_at)})"
        if event.batches != entered.batches and not struck:
            other = batches_text((entered if is_own else event).batches)
            line += f"  (corrected, {'was' if is_own else 'is'} of {other})"
        elif event != entered and not struck:
            was = entered.text(day) if event.body != entered.body else seen.time_text(entered.at)
            line += f"  (corrected, was {was})"
        style = "" if is_own and not struck else "strike"
        parts = wrap(line + ("  (void)" if struck else ""), width, indent="         ", first=" ")
        text.append("".join(f"{part}\n" for part in parts), style=style)
    return text


def flags_text(flags: Sequence[Flag], width: int, look: LookStyles, *, digits: bool = True) -> Text:
    """Return open flags with reasons and remedies; ``digits`` is whether a digit clears one of the whole day."""
    text = Text()
    wide = width >= WIDE
    if not flags:
        text.append(" No flags.\n")
    elif wide:
        text.append_text(_row([Text.assemble((" Flag", "underline"))], "Why", "What to do", width, look, "underline"))
    whole = 0
    for flag in flags:
        about = Text(f" {flag.about or 'the day'} ", style="bold", end="")
        if flag.batch is None:
            whole += 1
            about = Text.assemble((f" {whole} ", "reverse"), about)
        name = Text(flag_title(flag), style=look.urgent)
        if wide:
            fits = about.cell_len + name.cell_len < FLAG_CELLS
            head = [Text.assemble(about, name)] if fits else [about, Text.assemble("    ", name)]
            since = f"\ndone since then: {flag.evidence}" if flag.evidence else ""
            text.append_text(_row(head, flag.why + since, flag.remedy, width, look))
        else:
            text.append_text(Text.assemble(about, name, "\n"))
            _paragraph(text, flag.why, width)
            for word, remark in flag.remarks:
                _paragraph(text, f"{word} {remark}", width)
    if whole < len(flags) and digits:
        text.append(" to clear a batch's flag: its number, then f\n", style=look.quiet)
    return text


def _row(head: list[Text], why: str, remedy: str, width: int, look: LookStyles, style: str = "") -> Text:
    """Return a flag with its reason and its remedy side by side, as many lines as the longest of them."""
    reason_cells = (width - FLAG_CELLS) * 2 // 5
    remedy_cells = width - FLAG_CELLS - reason_cells - 4
    reasons, remedies = (
        [Text.assemble((line, style)) for part in text.split("\n") for line in wrap(part, cells)]
        for text, cells in ((why, reason_cells - 1), (remedy, remedy_cells))
    )
    heads = [Text.assemble(line) for line in head]
    for line in heads:
        line.truncate(FLAG_CELLS - 1, overflow="ellipsis")
    room = max(len(heads), len(reasons), len(remedies))
    beside_reasons = side_by_side(reasons, remedies, reason_cells, room, look).split("\n", allow_blank=False)
    return side_by_side(heads, list(beside_reasons), FLAG_CELLS, room, look)


def _paragraph(text: Text, words: str, width: int, indent: str = "    ") -> None:
    text.append("".join(f"{line}\n" for line in wrap(words, width, indent=indent)))
