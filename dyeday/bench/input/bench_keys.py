"""Every key of the main screen in one table: its action, its word in the footer, and a sentence for the help."""

from __future__ import annotations

from enum import Enum

from dyeday.quick_dataclass import dataclass
from dyeday.track.day.day_state import MOST_SNOOZE_MIN

Do = Enum(
    "Do",
    "ADVISED GO_ON READING MOVE HEAT ACID UNIT COVER KIT EDIT ORDER PLAN_ORDERS TAKE_PLAN NOTE BACK_DATE CATCH_UP "
    "LEAVING HOURS LOG UNDO REDO SILENCE SNOOZE FLAGS ALL_FLAGS AHEAD CHORE_DONE NOT_NOW INSTEAD FAR WATCH "
    "LOCK_KEYS OTHER_LOOK SOUND PAGE CAUTIONS CLOSE_DAY PALETTE HELP LEAVE SUSPEND UP DOWN UNMARK",
)
"""what a key of the main screen does"""
MOVES = (Do.UP, Do.DOWN, Do.UNMARK, Do.SUSPEND, Do.PALETTE)
"""what the palette does not offer"""
WORD = "skein"
"""typed, then Enter: unlocks the keys"""
SMEAR_S = 0.08
"""two neighbouring keys within this are one finger"""
READ_ONLY = "read-only: open in another window"
"""the message when a key would record on a read-only bench"""
DIGITS_SENTENCE = "0 to 9: type a batch's number to choose it; 1-4 or 1,3,6 a load that moves together."
HARMLESS_KEYS = {"up", "down", "left", "right", "pageup", "pagedown", "home", "end", "comma", "minus", *"0123456789"}
"""keys that choose or turn pages; they record nothing on any screen"""
UNSHIFTED_DIGITS = dict(zip("&é\"'(-è_çà", "1234567890", strict=True)) | {"§": "6", "!": "8"}
"""the unshifted row of French keyboards, and where the Belgian one differs; German rows type digits themselves"""


@dataclass(frozen=True, slots=True)
class BenchKey:
    """One key of the main screen."""

    key: str
    action: Do
    word: str
    sentence: str
    records: bool = False
    """whether it puts something on record, which a read-only bench must not"""
    shown_as: str = ""

    @property
    def in_palette(self) -> bool:
        """Whether the palette offers it: each action once."""
        return self.action not in MOVES and self.key != "ctrl+q"


KEYS = (
    BenchKey("enter", Do.ADVISED, "do it", "Do the first thing on the list of what is next.", True),
    BenchKey("space", Do.GO_ON, "go on", "Move the chosen batch to its next step.", True),
    BenchKey("r", Do.READING, "reading", "Record bath, pH, °C, weight, cloth or kept sample.", True),
    BenchKey("m", Do.MOVE, "move", "Move it to any state: skip, go back, set aside, scrap.", True),
    BenchKey("h", Do.HEAT, "at heat", "Steamer or pot at full heat: start timing.", True),
    BenchKey("i", Do.ACID, "acid in", "Record acid, for the batch or in its bath.", True),
    BenchKey("u", Do.UNIT, "unit", "Move it to another tray, pot or steamer.", True),
    BenchKey("w", Do.COVER, "cover", "How painted yarn waits: open, lidded, wrapped.", True),
    BenchKey("k", Do.KIT, "kit", "A unit was filled or emptied, broke or works again.", True),
    BenchKey("e", Do.EDIT, "edit", "Tag, count, split, overdye it; dye used or left over.", True),
    BenchKey("o", Do.ORDER, "new order", "An order that came in today, early or in its turn.", True),
    BenchKey("O", Do.PLAN_ORDERS, "the plan", "The plan's orders: add, change or remove any.", True),
    BenchKey("P", Do.TAKE_PLAN, "apply the plan", "Apply the plan file that you changed.", True),
    BenchKey("n", Do.NOTE, "note", "Write a note on the chosen batch.", True),
    BenchKey("b", Do.BACK_DATE, "earlier", "Backdate the next entry.", True),
    BenchKey("B", Do.CATCH_UP, "catch up", "Confirm what you probably did since the last entry.", True),
    BenchKey("L", Do.LEAVING, "leaving", "Leaving now: what is still on, and when you are back.", True),
    BenchKey("D", Do.HOURS, "change the day", "Change stop, breaks, time out, hands, kit or aim.", True),
    BenchKey("l", Do.LOG, "log", "Every entry: void, redo or correct any of them."),
    BenchKey("z", Do.UNDO, "undo", "Undo the last entry; the log keeps it.", True),
    BenchKey("Z", Do.REDO, "redo", "Redo the entry that was undone last.", True),
    BenchKey("a", Do.SILENCE, "silence", "Silence an alarm; nothing else changes.", True),
    BenchKey("s", Do.SNOOZE, "snooze", f"Snooze an alarm for 5 to {MOST_SNOOZE_MIN:g} min.", True),
    BenchKey("f", Do.FLAGS, "flags", "The chosen batch: its flags, remedies and history."),
    BenchKey("d", Do.ALL_FLAGS, "all flags", "Every open flag of the day."),
    BenchKey("y", Do.AHEAD, "ahead", "The rest of the day: finish, warnings, chart."),
    BenchKey("C", Do.CHORE_DONE, "chore done", "Mark the first chore on the list as done or begun.", True),
    BenchKey("N", Do.NOT_NOW, "not now", "Put off by 30 min the first thing that can wait.", True),
    BenchKey("I", Do.INSTEAD, "instead", "Put the chosen batch first.", True),
    BenchKey("v", Do.FAR, "far view", "What is next, readable from across the room."),
    BenchKey("W", Do.WATCH, "page for phones", "What is next, on a page for phones and tablets."),
    BenchKey("g", Do.LOCK_KEYS, "key lock", "Lock the keys; a typed word unlocks them."),
    BenchKey("t", Do.OTHER_LOOK, "bright/dark", "Switch between dark and bright."),
    BenchKey("j", Do.SOUND, "sound", "Test the sound, or mute it for some minutes."),
    BenchKey("p", Do.PAGE, "sheets", "Show, print or save a sheet."),
    BenchKey("c", Do.CAUTIONS, "cautions", "The cautions, all together."),
    BenchKey("x", Do.CLOSE_DAY, "close day", "Close the day, once every heat is off.", True),
    BenchKey("ctrl+p", Do.PALETTE, "palette", "Every action by its plain name."),
    BenchKey("question_mark", Do.HELP, "keys", "This list.", shown_as="?"),
    BenchKey("q", Do.LEAVE, "leave", "Leave the bench; everything is saved."),
    BenchKey("ctrl+q", Do.LEAVE, "leave", "The same."),
    BenchKey("ctrl+z", Do.SUSPEND, "suspend", "To the terminal's prompt; type fg to come back."),
    BenchKey("up", Do.UP, "up", "Choose the batch above."),
    BenchKey("down", Do.DOWN, "down", "Choose the batch below."),
    BenchKey("escape", Do.UNMARK, "unmark", "Forget the number or the load typed so far."),
)


COMMAND_KEYS = {key.key for key in KEYS if len(key.key) == 1 or key.key in ("space", "enter", "question_mark")}
"""keys whose bounces and smears must not act; arrows and digits may come at any speed"""
RECORDING_KEYS = {key.key for key in KEYS if key.records}
"""keys that can put something on record; only these count as mashing"""
DONE_BY = {key.key: key.action for key in KEYS}
"""what each key does; digits choose a batch"""
RECORDING = {key.action for key in KEYS if key.records}
"""what a read-only bench does not do"""
