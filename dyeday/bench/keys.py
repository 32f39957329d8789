"""Every key of the main screen in one table: its action, its word in the footer, and a sentence for the help."""

from __future__ import annotations

from dataclasses import dataclass

from textual.binding import Binding


@dataclass(frozen=True, slots=True)
class Key:
    key: str
    action: str
    word: str
    sentence: str
    footer: bool = False
    records: bool = False
    """whether it puts something on record, which a bench that only watches must not"""
    shown_as: str = ""


KEYS = (
    Key(
        "space",
        "go_on",
        "go on",
        "Move the chosen batch on by its next step; return takes what is offered.",
        True,
        True,
    ),
    Key(
        "r",
        "reading",
        "reading",
        "Record a reading: bath look, pH, temperatures, weights, jar match, cloth.",
        True,
        True,
    ),
    Key("m", "move", "move", "Move the chosen batch to any state: skip, go back, set aside, scrap.", False, True),
    Key("h", "heat", "at heat", "The running pass has reached real heat: its minutes count from now.", False, True),
    Key("i", "acid", "acid in", "Record acid put in for the chosen batch, or into the bath it is in.", False, True),
    Key("u", "unit", "unit", "Put the chosen batch into another unit; its state stays.", False, True),
    Key("w", "cover", "cover", "Say how painted yarn waits: open, lidded, wrapped.", False, True),
    Key("k", "kit", "kit", "A unit was filled, emptied, broke down, or works again.", False, True),
    Key("n", "note", "note", "Write a note on the chosen batch.", False, True),
    Key("b", "back_date", "earlier", "The next entry happened some minutes ago.", False, True),
    Key("z", "strike", "strike", "Strike the last entry; it stays readable in the log.", True, True),
    Key("Z", "unstrike", "unstrike", "Take back the last striking.", False, True),
    Key(
        "a",
        "acknowledge",
        "acknowledge",
        "Acknowledge the alarm in the banner: its sound stops, nothing else.",
        False,
        True,
    ),
    Key(
        "s", "shelve", "shelve", "Shelve the alarm in the banner for 5 minutes; it comes back by itself.", False, True
    ),
    Key("f", "flags", "doubts", "The chosen batch: its doubts with numbers and remedies, and its story.", True),
    Key("p", "page", "page", "The end-of-day page: see it, print it.", True),
    Key("c", "cautions", "cautions", "The cautions, all together.", False),
    Key("x", "close_day", "close day", "Close the day, once every heat is off.", False, True),
    Key("question_mark", "help", "keys", "The live keys of this screen.", True, shown_as="?"),
    Key("q", "leave", "leave", "Leave the bench; asks once, loses nothing.", False),
    Key("ctrl+q", "leave", "leave", "The same.", False),
    Key("up", "choose(-1)", "up", "Choose the batch above.", False, shown_as="↑"),
    Key("down", "choose(1)", "down", "Choose the batch below.", False, shown_as="↓"),
)
DIGITS_SENTENCE = "0 to 9: type a batch's number to choose it."


def bindings() -> list[Binding]:
    made = [
        Binding(k.key, k.action, k.word, show=k.footer, tooltip=k.sentence, key_display=k.shown_as or None)
        for k in KEYS
    ]
    digits = [Binding(str(n), f"digit('{n}')", f"batch {n}", show=False) for n in range(10)]
    return [*made, *digits]
