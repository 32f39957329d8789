"""Every key of the main screen in one table: its action, its word in the footer, and a sentence for the help."""

from __future__ import annotations

from dataclasses import dataclass

from textual.binding import Binding


@dataclass(frozen=True, slots=True)
class Key:
    """One key of the main screen."""

    key: str
    action: str
    word: str
    sentence: str
    records: bool = False
    """whether it puts something on record, which a bench that only watches must not"""
    shown_as: str = ""

    @property
    def in_palette(self) -> bool:
        """Whether the palette offers it: an action without arguments that the palette does not have itself."""
        return self.action.isidentifier() and self.key not in ("ctrl+q", "ctrl+p")


KEYS = (
    Key("enter", "advised", "do it", "Do the first thing on the list of what is next.", True),
    Key("space", "go_on", "go on", "Move the chosen batch to its next step.", True),
    Key("r", "reading", "reading", "Record a reading: bath, pH, °C, weight, cloth, swatch.", True),
    Key("m", "move", "move", "Move it to any state: skip, go back, set aside, scrap.", True),
    Key("h", "heat", "at heat", "At full heat: start timing.", True),
    Key("i", "acid", "acid in", "Record acid, for the batch or in its bath.", True),
    Key("u", "unit", "unit", "Move it to another tray, pot or steamer.", True),
    Key("w", "cover", "cover", "How painted yarn waits: open, lidded, wrapped.", True),
    Key("k", "kit", "kit", "A unit was filled or emptied, broke or works again.", True),
    Key("e", "edit", "edit", "Tag, count, split, overdye it; dye used or left over.", True),
    Key("o", "order", "rush order", "An order that came in during the day.", True),
    Key("O", "plan_orders", "the plan", "The plan's orders: add, change or remove any.", True),
    Key("n", "note", "note", "Write a note on the chosen batch.", True),
    Key("b", "back_date", "earlier", "Backdate the next entry.", True),
    Key("B", "catch_up", "catch up", "What has probably happened since the last entry.", True),
    Key("L", "leaving", "leaving", "Leaving now: what is still on, and when you are back.", True),
    Key("D", "hours", "the day's hours", "Change stop, breaks, absence, hands or aim.", True),
    Key("l", "log", "log", "Every entry: undo, redo or correct any of them."),
    Key("z", "undo", "undo", "Undo the last entry; the log keeps it.", True),
    Key("Z", "redo", "redo", "Redo the entry that was undone last.", True),
    Key("a", "acknowledge", "silence", "Silence an alarm; nothing else changes.", True),
    Key("s", "shelve", "snooze", "Snooze an alarm for 5 to 15 min.", True),
    Key("f", "flags", "flags", "The chosen batch: its flags, remedies and history."),
    Key("d", "all_flags", "all flags", "Every open flag of the day."),
    Key("y", "ahead", "ahead", "The rest of the day: finish, warnings, chart."),
    Key("C", "chore_done", "chore done", "Mark the first chore on the list as done.", True),
    Key("N", "not_now", "not now", "Not the first thing on the list, for 30 min.", True),
    Key("I", "instead", "instead", "Put the chosen batch first.", True),
    Key("v", "far", "far view", "What is next, readable from across the room."),
    Key("W", "watch", "page for phones", "What is next, on a page for phones and tablets."),
    Key("g", "lock_keys", "key lock", "Lock the keys; a typed word unlocks them."),
    Key("t", "other_look", "bright/dark", "Switch between dark and bright."),
    Key("j", "sound", "sound", "Test the sound, or mute it for some minutes."),
    Key("p", "page", "sheets", "Show, print or save a sheet."),
    Key("c", "cautions", "cautions", "The cautions, all together."),
    Key("x", "close_day", "close day", "Close the day, once every heat is off.", True),
    Key("ctrl+p", "palette", "palette", "Every action by its plain name."),
    Key("question_mark", "help", "keys", "This list.", shown_as="?"),
    Key("q", "leave", "leave", "Leave the bench; everything is saved."),
    Key("ctrl+q", "leave", "leave", "The same."),
    Key("ctrl+z", "app.suspend_process", "suspend", "To the shell; fg comes back."),
    Key("up", "choose(-1)", "up", "Choose the batch above."),
    Key("down", "choose(1)", "down", "Choose the batch below."),
    Key("escape", "unmark", "unmark", "Forget the batches typed for a load."),
)
WATCHING = "read-only: open in another window"
"""what is said to a key that records, on a bench that only watches"""
DIGITS_SENTENCE = "0 to 9: type a batch's number to choose it; 1-4 or 1,3,6 a load that moves together."


COMMAND_KEYS = {key.key for key in KEYS if len(key.key) == 1 or key.key in ("space", "enter", "question_mark")}
"""keys of which a bounce or a smear must not act; arrows and digits may come as quick as they like"""
RECORDING_KEYS = {key.key for key in KEYS if key.records}
"""keys that can put something on record; only these count as mashing"""
HARMLESS_KEYS = {"up", "down", "left", "right", "pageup", "pagedown", "home", "end", *"0123456789"}
"""keys that choose or turn pages and record nothing, on no screen"""
UNSHIFTED_DIGITS = dict(zip("&é\"'(-è_çà", "1234567890", strict=True)) | {"§": "6", "!": "8"}
"""the unshifted row of French keyboards, and where the Belgian one differs; German rows type digits themselves"""
ACTIONS = {key.key: key.action for key in KEYS} | {str(n): f"digit('{n}')" for n in range(10)}
"""what each key does, as an action of the screen"""


def bindings() -> list[Binding]:
    """Return Textual's bindings for all keys and for the digits 0 to 9."""
    made = [Binding(k.key, k.action, k.word, show=False, tooltip=k.sentence) for k in KEYS]
    digits = [Binding(str(n), f"digit('{n}')", f"batch {n}", show=False) for n in range(10)]
    return [*made, *digits]
