"""The help screen: every key, the signs of the screen, and the pages of `dyeday help` by a digit; the cautions."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest

from rich.cells import cell_len
from rich.text import Text
from textual.events import Key as Pressed

from dyeday.bench.input.bench_keys import DIGITS_SENTENCE, KEYS, Do
from dyeday.bench.looks.themes import LookStyles
from dyeday.bench.prompts.prompts import DIGITS
from dyeday.bench.screens.text_screens import Reader, lines_text
from dyeday.bench.widgets.board import rule
from dyeday.paper.help_pages import MEANINGS, PAGES, help_lines
from dyeday.paper.sheets.cautions import CAUTIONS
from dyeday.text import wrap

NAMES = {"enter": "Enter", "space": "Space", "escape": "Esc"}
"""keys as sentences name them"""
GROUPS = (
    ("Put right", (Do.UNDO, Do.REDO, Do.LOG, Do.BACK_DATE, Do.EDIT, Do.MOVE)),
    ("Look", (Do.FLAGS, Do.ALL_FLAGS, Do.AHEAD, Do.FAR, Do.WATCH, Do.PAGE, Do.CAUTIONS, Do.OTHER_LOOK, Do.PALETTE,
              Do.HELP)),
    ("Alarms", (Do.SILENCE, Do.SNOOZE, Do.SOUND)),
    ("Leave", (Do.CLOSE_DAY, Do.LEAVE, Do.LOCK_KEYS, Do.SUSPEND)),
)  # fmt: skip
"""titles, and the actions under them; every other one is of every day"""
COLUMNS = 120
"""cells from which the groups stand in two columns"""
WORDS = (
    ("•", f"ready: {MEANINGS['ready']}"),
    ("!", f"over: {MEANINGS['over']}"),
    ("⚑2", "two flags are open; f shows them"),
    ("12 min left", "until its time"),
    ("safe 50 min", "painted: it may dry out under its cover after that"),
    ("ready 14:20", "its time came at 14:20; waiting does no harm"),
    ("9 min over", MEANINGS["over"]),
    ("for 20 min", "how long so far, where no time is set; before that, just begun"),
    ("warming", "switched on, not at heat yet"),
    ("resting", "between two heats"),
    ("painted", "dye is on, no heat yet: it must not dry out"),
    ("unfixed", "its heat broke off, is still to begin in the pot, or another is to come"),
    ("fixed", "all its heats are done"),
    ("YYBB", "yellow and blue, where a screen does not show them well; N brown, K black"),
    ("Sun 09:36", "a time on another day"),
    ("micro", "its next step is a microwave burst"),
)
ELSEWHERE = (
    ("Esc", "closes any question and any screen; q closes a screen too"),
    ("Enter", "accepts what is offered"),
    ("← →", "in the rest of the day: move along the time line"),
    ("t l w", "there: the timetable, the last chances, what if; again to go back"),
    ("s", "there: the day's other aim; asks first"),
    ("up down", "move by a line; page up, page down and Space by a page"),
)


class HelpScreen(Reader):
    """The keys and signs; a digit opens a page of `dyeday help`."""

    def __init__(self) -> None:
        super().__init__("Keys of the bench")

    def on_resize(self) -> None:
        """Lay the groups out for this width."""
        self.put("", help_text(self.app.size.width - 2, self.look))

    def foot(self) -> list[tuple[str, str]]:
        return [(f"1-{len(PAGES)}", "more help")]

    def on_key(self, event: Pressed) -> None:
        pressed = event.character or ""
        if pressed and pressed in DIGITS[: len(PAGES)]:
            event.stop()
            topic = list(PAGES)[DIGITS.index(pressed)]
            self.app.push_screen(Reader(PAGES[topic][0].capitalize(), lines_text(help_lines(topic))))


def help_text(width: int, look: LookStyles) -> Text:
    """Return every key with a sentence, group by group, then the signs and where more help is."""
    grouped = {action for _, actions in GROUPS for action in actions}
    keys: dict[Do, list[tuple[str, str]]] = {key.action: [] for key in KEYS}
    for key in KEYS:
        keys[key.action].append((NAMES.get(key.key, key.shown_as or key.key), key.sentence))
    daily = [pair for action, pairs in keys.items() if action not in grouped for pair in pairs]
    parts = [("Every day", [*daily, ("0 to 9", DIGITS_SENTENCE.removeprefix("0 to 9: ").capitalize())])]
    parts += [(title, [pair for action in actions for pair in keys.get(action, ())]) for title, actions in GROUPS]
    more = [(digit, about) for digit, (about, _) in zip(DIGITS, PAGES.values(), strict=False)]
    parts += [("Signs", list(WORDS)), ("On other screens", list(ELSEWHERE)), ("More help", more)]
    column = width // 2 - 1 if width >= COLUMNS else width
    blocks = [_block(title, pairs, column, look) for title, pairs in parts]
    if width < COLUMNS:
        return Text("\n").join([line for block in blocks for line in block])
    half = (sum(map(len, blocks)) + 1) // 2
    left: list[Text] = []
    while blocks and len(left) + len(blocks[0]) // 2 < half:
        left += blocks.pop(0)
    right = [line for block in blocks for line in block]
    lines = []
    for one, other in zip_longest(left, right, fillvalue=Text("")):
        line = one.copy()
        line.pad_right(max(0, column + 2 - line.cell_len))
        lines.append(line.append_text(other))
    return Text("\n").join(lines)


def _block(title: str, pairs: Sequence[tuple[str, str]], width: int, look: LookStyles) -> list[Text]:
    cells = max(7, *(cell_len(name) for name, _ in pairs))
    lines = [rule(title, width, look)]
    for name, text in pairs:
        first, *rest = wrap(text, width - cells - 4)
        lines.append(Text.assemble(" ", (" " * (cells - cell_len(name)) + name, "bold"), f"  {first}"))
        lines += [Text(" " * (cells + 3) + line) for line in rest]
    return lines


def cautions_text() -> Text:
    """Return every caution, its word in front."""
    text = Text()
    for one in CAUTIONS:
        text.append(f" {one.head:13}", style="bold")
        text.append(f"\n{'':14}".join(wrap(one.whole, 62)) + "\n")
    return text
