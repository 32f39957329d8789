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
    """Return "batch 13 through heat 23:30; 11, 12 stay for tomorrow; finish 23:35", or "nothing changes".

    Where the advice gets another aim, return the end of the advised steps and how many batches make it by the stop.
    """
    word, is_heat = after.counted_as, after.counts_heat
    was, will = _ends(before, is_heat=is_heat), _ends(after, is_heat=is_heat)
    if before.for_end is not after.for_end and before.stop == after.stop and before.next_steps and after.next_steps:
        old_end, end = (max(step.end for step in forecast.next_steps) for forecast in (before, after))
        count = f"{_by_stop(after, will)} of {after.of} batches {word} by {when(after.stop)}"
        return f"finish {when(end)} (was {when(old_end)}); {count} (was {_by_stop(before, was)})"
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
    """Return how many more are rinsed by the stop, negative if fewer; 0 unless batches count once through heat."""
    return after.rinses_by_stop - before.rinses_by_stop if after.counts_heat else 0


def _by_stop(forecast: Forecast, ends: Ends) -> int:
    """Return how many batches reach their ``ends`` by the stop, those with nothing to come included."""
    late = {no for no, end in ends.items() if end > forecast.stop}
    return forecast.of - len(late | {str(of) for of, _ in forecast.left_out})


def _ends(forecast: Forecast, *, is_heat: bool) -> Ends:
    """Return when each batch is through its last heat to come (``is_heat``), or is rinsed."""
    kind = StepKind.HEAT if is_heat else StepKind.RINSE
    ends: Ends = {}
    for step in forecast.steps:
        if step.kind is kind and step.batch:
            ends[step.batch] = max(step.end, ends.get(step.batch, step.end))
    return ends


def _most_moved(was: Ends, will: Ends, but: Iterable[str], word: str, when: Callable[[datetime], str]) -> list[str]:
    """Return the batch that a change moves most, in words; nothing if by less than `WORTH_SAYING`."""
    both = [no for no in will if no in was and no not in but and abs(will[no] - was[no]) >= WORTH_SAYING]
    if not both:
        return []
    no = max(both, key=lambda no: abs(will[no] - was[no]))
    return [f"batch {no} {word} {when(will[no])} (was {when(was[no])})"]
