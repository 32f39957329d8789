"""The help screen: every key, the signs of the screen, and the pages of `dyeday help` by a digit; the cautions."""

from __future__ import annotations

from rich.text import Text
from textual.events import Key as Pressed

from dyeday.bench.input.bench_keys import DIGITS_SENTENCE, KEYS
from dyeday.bench.prompts.prompts import DIGITS
from dyeday.bench.screens.text_screens import Reader, lines_text
from dyeday.paper.help_pages import PAGES, help_lines
from dyeday.paper.layout.text_page import wrap
from dyeday.paper.sheets.cautions import CAUTIONS


class HelpScreen(Reader):
    """The keys and signs; a digit opens a page of `dyeday help`."""

    def __init__(self) -> None:
        super().__init__("Keys of the bench", help_text())

    def foot(self) -> list[tuple[str, str]]:
        return [(f"1-{len(PAGES)}", "more help")]

    def on_key(self, event: Pressed) -> None:
        pressed = event.character or ""
        if pressed and pressed in DIGITS[: len(PAGES)]:
            event.stop()
            topic = list(PAGES)[DIGITS.index(pressed)]
            self.app.push_screen(Reader(PAGES[topic][0].capitalize(), lines_text(help_lines(topic))))


def help_text() -> Text:
    """Return the live keys of the main screen with a sentence each."""
    text = Text()
    for key in KEYS:
        text.append(f" {key.shown_as or key.key:>7} ", style="bold")
        text.append(f" {key.sentence}\n")
    text.append(f"  {DIGITS_SENTENCE}\n")
    text.append("\n Signs\n", style="underline")
    for word, means in WORDS:
        text.append(f" {word:>12}  ", style="bold")
        text.append(f"{means}\n")
    text.append("\n On other screens\n", style="underline")
    for keys, means in ELSEWHERE:
        text.append(f" {keys:>12}  ", style="bold")
        text.append(f"{means}\n")
    text.append("\n More help\n", style="underline")
    for digit, (about, _) in zip(DIGITS, PAGES.values(), strict=False):
        text.append(f" {digit:>12}  ", style="bold")
        text.append(f"{about}\n")
    return text


WORDS = (
    ("•", "ready: its time has come, and waiting does no harm"),
    ("!", "over: past its time, and coming to harm"),
    ("⚑2", "two flags are open; f shows them"),
    ("12 min left", "until its time"),
    ("ready 20 min", "its time came 20 min ago; waiting does no harm"),
    ("9 min over", "past its time, and coming to harm"),
    ("for 20 min", "how long it has been so, where no time is set"),
    ("warming", "switched on, not at heat yet"),
    ("resting", "between two heats"),
    ("painted", "dye is on, no heat yet: it must not dry out"),
    ("fixed", "all its heats are done"),
    ("YYBB", "colours where none can be shown; N brown, K black, E grey"),
    ("09:36+2", "a time of day, two days on; -1 is the day before"),
    ("micro", "its next step is a microwave burst"),
)


ELSEWHERE = (
    ("escape", "leaves any question and any screen; q leaves a screen too"),
    ("return", "takes what is offered"),
    ("← →", "move along time in the rest of the day; what is on then stands below"),
    ("t l w", "there: the timetable, the latest starts, what if; again to go back"),
    ("up down", "move by a line, page up and page down by a page; space as well"),
)


def cautions_text() -> Text:
    """Return every caution, its word in front."""
    text = Text()
    for one in CAUTIONS:
        text.append(f" {one.head:13}", style="bold")
        lines = wrap(one.whole, 62)
        text.append(f"{lines[0]}\n")
        for line in lines[1:]:
            text.append(f"{'':14}{line}\n")
    return text
