"""The effect of a change in words: which batches it moves, what stays for tomorrow, the finish."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime, timedelta

from dyeday.ahead.foreseen_steps import Forecast
from dyeday.terms import StepKind
from dyeday.text import batches_text, counted

WORTH_SAYING = timedelta(minutes=5)
MOST_NAMED = 2
Ends = dict[str, datetime]


def brought_text(before: Forecast, after: Forecast, when: Callable[[datetime], str]) -> str:
    """Return "batch 13 through heat 23:30; 11, 12 stay for tomorrow; finish 23:35", or "nothing changes"."""
    word = after.counted_as
    was, will = _ends(before), _ends(after)
    won = [no for no in before.not_by_stop if no not in after.not_by_stop and no in will]
    lost = [no for no in after.not_by_stop if no not in before.not_by_stop]
    parts = [f"batch {no} {word} {when(will[no])}" for no in won[:MOST_NAMED]]
    if len(won) > MOST_NAMED:
        parts.append(f"{batches_text(won[MOST_NAMED:])} too")
    if not won:
        parts += _most_moved(was, will, lost, word, when)
    if lost:
        parts.append(f"{batches_text(lost)} not by the stop")
    stay = [no for no in after.not_by_stop if no not in lost]
    if stay and (won or lost):
        parts.append(f"{batches_text(stay)} {'stays' if len(stay) == 1 else 'stay'} for tomorrow")
    if more := more_rinsed(before, after):
        parts.append(f"{counted(abs(more), 'batch', 'batches')} {'more' if more > 0 else 'fewer'} rinsed by stop")
    if after.finish != before.finish:
        parts.append(f"finish {when(after.finish)} (was {when(before.finish)})")
    morrow, was_until = after.tomorrow_finish, before.tomorrow_finish
    if morrow != was_until:
        since = f"was {when(was_until)}" if was_until else "was nothing"
        parts.append(f"tomorrow's work until {when(morrow)} ({since})" if morrow else "no work for tomorrow")
    return "; ".join(parts) or "nothing changes"


def more_rinsed(before: Forecast, after: Forecast) -> int:
    """Return how many more are rinsed by the stop (negative: fewer), if batches count once through their heat."""
    return after.rinses_by_stop - before.rinses_by_stop if after.counts_heat else 0


def _ends(forecast: Forecast) -> Ends:
    """Return when each batch is through its last heat, if that counts, else rinsed."""
    kind = StepKind.HEAT if forecast.counts_heat else StepKind.RINSE
    ends: Ends = {}
    for step in forecast.steps:
        if step.kind is kind and step.batch:
            ends[step.batch] = max(step.end, ends.get(step.batch, step.end))
    return ends


def _most_moved(was: Ends, will: Ends, but: Iterable[str], word: str, when: Callable[[datetime], str]) -> list[str]:
    """Return the batch that a change moves most, if by enough to mention."""
    both = [no for no in will if no in was and no not in but and abs(will[no] - was[no]) >= WORTH_SAYING]
    if not both:
        return []
    no = max(both, key=lambda no: abs(will[no] - was[no]))
    return [f"batch {no} {word} {when(will[no])} (was {when(was[no])})"]
