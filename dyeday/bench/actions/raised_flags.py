"""The flags that an entry raises, said at once."""

from __future__ import annotations

from collections.abc import Sequence

from dyeday.bench.live_session import LiveSession
from dyeday.terms import FlagId
from dyeday.track.flags import Flag, flag_words, one_for_each_cause

Known = tuple[str | None, FlagId]
"""the batch of a flag, None for the whole day, and its rule"""


def all_flags(keeper: LiveSession) -> list[Flag]:
    """Return every flag of the day as it is now, cleared ones too."""
    by_batch = keeper.flags(keeper.now())
    return one_for_each_cause(flag for flags in by_batch.values() for flag in flags)


def known_flags(keeper: LiveSession) -> set[Known]:
    """Return what `raised` needs to know of the flags before an entry."""
    return {(flag.batch, flag.rule) for flag in all_flags(keeper)}


def raised(keeper: LiveSession, before: set[Known], acted: Sequence[str]) -> str:
    """Return what to say of open flags that were not there ``before``, one of the batches ``acted`` on first."""
    fresh = [flag for flag in all_flags(keeper) if flag.resolved is None and not _stood(keeper, flag, before)]
    if not fresh:
        return ""
    first = min(fresh, key=lambda flag: flag.batch not in acted)
    more = f" (+{len(fresh) - 1} more)" if len(fresh) > 1 else ""
    return f"{first.about or 'the day'} {flag_words(first.rule.value)}{more}: {first.why}. Do: {first.remedy}"


def _stood(keeper: LiveSession, flag: Flag, before: set[Known]) -> bool:
    """Tell whether a flag stood before, under this number or that of the batch it was split from."""
    record = keeper.day.batches.get(flag.batch or "")
    parent = record.parent if record is not None else None
    return (flag.batch, flag.rule) in before or (parent is not None and (parent, flag.rule) in before)
