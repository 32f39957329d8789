"""Batches typed on the bench, without the screen: 4, 04, 04b, and several for one load: 1-4, or 1,3,6."""

from __future__ import annotations

from dyeday.quick_dataclass import dataclass
from dyeday.text import batches_text
from dyeday.track.day.day_state import Day

_LETTERS = "abcdefghijklmnopqrstuvwxyz"
JOINS = ",-"
"""typed behind a batch: this one and the next, or all up to the next"""


@dataclass(frozen=True, slots=True)
class BatchChoice:
    """What a key chose: the batch, or None so far; and a message."""

    batch: str | None
    words: str
    wrong: bool = False


@dataclass()
class BatchTyping:
    """``text`` is typed so far, ``short`` a digit that may have a second, ``marked`` the load that they name."""

    text: str = ""
    just: str = ""
    """the batch that the last digits chose: a comma or a dash behind it begins a load"""
    short: str = ""
    marked: tuple[str, ...] = ()
    wrong: str = ""
    """until another number, an arrow or escape: no key takes the batch that was chosen before"""

    @property
    def is_list(self) -> bool:
        """Whether several batches are being typed."""
        return any(join in self.text for join in JOINS)

    def join(self, day: Day, chosen: str | None, sign: str) -> BatchChoice | None:
        """Go on with another batch of the load, behind the typed one, else behind the ``chosen`` one."""
        before = self.text or self.just or chosen
        if not before or before[-1] in JOINS:
            return None
        self.text, self.just = before + sign, ""
        return self._listed(day)

    def end(self, day: Day) -> BatchChoice | None:
        """Take what was typed so far as all of it; None if nothing is left to be chosen."""
        typed = self.whole(day)
        if typed is None and self.text and not self.wrong and not _parts(day, self.text):
            typed = self._listed(day, is_all=True) if self.is_list else self._none(f"there is no batch {self.text}")
        self.text = self.just = self.short = ""
        return typed

    def digit(self, day: Day, digit: str) -> BatchChoice:
        """Take a digit. Two (three from batch 100 on) choose a batch; one that can mean only one chooses it."""
        before, self.short, self.just = self.short, "", ""
        if self.is_list:
            self.text += digit
            return self._listed(day)
        self.marked, self.wrong = (), ""
        self.text = typed = ("" if _parts(day, self.text) else self.text) + digit
        begun = [batch.no for batch in day.unsplit if batch.no.startswith(typed)]
        if parts := _parts(day, typed):
            return BatchChoice(parts[0], f"batch {parts[0]} chosen; a letter chooses another of {', '.join(parts)}")
        if typed in begun or len(begun) == 1:
            return self._chosen(typed if typed in begun else begun[0])
        if begun:
            return BatchChoice(None, f"batch {typed}_")
        self.short, choice = typed, self.whole(day) or self._none(f"there is no batch {typed}")
        both = f"there is no batch {before}{digit}: " if before and choice.batch else ""
        return BatchChoice(choice.batch, f"{both}{choice.words}", choice.wrong)

    def letter(self, day: Day, letter: str) -> BatchChoice | None:
        """Choose the part "b" of "04b" where the digits typed so far, with this letter, name one; else None."""
        if not self.text or not letter.isalpha():
            return None
        if self.is_list:
            last = self.text.replace("-", ",").rpartition(",")[2]
            if not last.isdigit() or day.find(last + letter) not in day.unsplit:
                return None
            self.text += letter
            return self._listed(day)
        batch = day.find(self.text + letter)
        return self._chosen(batch.no) if batch is not None and batch in day.unsplit else None

    def whole(self, day: Day) -> BatchChoice | None:
        """Take the digits typed so far as a whole number, 9 for 09; None if there is no such batch."""
        batch = day.find(self.text) if self.text and not self.is_list else None
        return self._chosen(batch.no) if batch is not None and batch in day.unsplit else None

    def _chosen(self, batch_no: str) -> BatchChoice:
        self.text, self.just = "", batch_no
        return BatchChoice(batch_no, f"batch {batch_no} chosen")

    def _none(self, why: str) -> BatchChoice:
        self.marked, self.wrong = (), why
        return BatchChoice(None, f"{why}; Esc, then type again", wrong=True)

    def _listed(self, day: Day, *, is_all: bool = False) -> BatchChoice:
        from dyeday.track.typed_entries import typed_batches  # knows units, which the first frame does not need

        try:
            numbers = [batch.no for batch in typed_batches(day, self.text.rstrip(JOINS))]
        except ValueError as error:
            begun = self.text.replace("-", ",").rpartition(",")[2]
            if not is_all and any(no.startswith(begun) and no != begun for no in (batch.no for batch in day.unsplit)):
                return BatchChoice(None, f"batches {self.text}_")
            return self._none(str(error))
        self.marked, self.wrong = tuple(numbers), ""
        open_end = "_" if self.text[-1] in JOINS else ": space moves them on together"
        return BatchChoice(numbers[-1], f"batches {batches_text(numbers)}{open_end}")


def _parts(day: Day, digits: str) -> list[str]:
    """Return the live parts of the split batch with this number; a letter after it chooses among them."""
    live = [batch.no for batch in day.unsplit]
    whole = day.find(digits) if digits else None
    if whole is None or whole.no in live or (digits != whole.no and any(no.startswith(digits) for no in live)):
        return []
    return [no for no in live if no.rstrip(_LETTERS) == whole.no]
