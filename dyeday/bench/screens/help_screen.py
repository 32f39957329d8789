"""What there is to read up on: every key with a sentence, the words and signs of the screen, the cautions."""

from __future__ import annotations

from rich.text import Text

from dyeday.bench.input.bench_keys import DIGITS_SENTENCE, KEYS
from dyeday.paper.layout.text_page import wrap
from dyeday.paper.sheets.cautions import CAUTIONS


def help_text() -> Text:
    """Return the live keys of the main screen with a sentence each."""
    text = Text()
    for key in KEYS:
        text.append(f" {key.shown_as or key.key:>7} ", style="bold")
        text.append(f" {key.sentence}\n")
    text.append(f"  {DIGITS_SENTENCE}\n")
    text.append("\n Words and signs\n", style="underline")
    for word, means in WORDS:
        text.append(f" {word:>10}  ", style="bold")
        text.append(f"{means}\n")
    text.append("\n On other screens\n", style="underline")
    for keys, means in ELSEWHERE:
        text.append(f" {keys:>10}  ", style="bold")
        text.append(f"{means}\n")
    return text


WORDS = (
    ("soak", "wetting the yarn, with the acid in it or not"),
    ("fix", "heat that makes the dye stay: steam, microwave or simmer"),
    ("pass", "one stretch of heat; a microwave takes pot after pot"),
    ("cool", "as warm as the room before it meets cold water"),
    ("bath", "what the yarn lies in; clear when the dye has gone into it"),
    ("doubt", "something about quality or safety nobody has settled yet"),
    ("*", "its time has come: a prompt"),
    ("!", "an alarm: past its time and it can do harm"),
    ("? 2", "two doubts are open; f tells them"),
    ("left 12", "minutes until its time; left 40s in the last minute"),
    ("over 3", "minutes past its time; 2h05 is hours, 1d3h a day and 3 hours"),
    ("for 20", "minutes it has been so, where no time is set"),
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
