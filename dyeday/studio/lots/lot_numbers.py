"""Which batches of a day are one lot, and what each lot is called."""

from __future__ import annotations

from collections import Counter

from dyeday.plan.batches import by_number, split_no
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day


def mixes_of(batch: BatchRecord) -> tuple[str, ...]:
    """Return the mix that each layer was last dyed from; of a layer not yet dyed, the planned one."""
    put_on = {painted.layer: painted.mix for painted in batch.painted_since_overdye}
    return tuple(put_on.get(layer, batch.planned_mix) for layer in range(1, len(batch.colourway.layers) + 1))


def lots_head(session_id: str) -> str:
    """Return what the numbers of a session's own lots begin with: "260418-", "260418.2-"."""
    year, month, date, nth = session_id.split("-")
    return f"{year[2:]}{month}{date}" + ("" if nth == "1" else f".{nth}") + "-"


def lot_numbers(day: Day, session_id: str) -> dict[str, str]:
    """Return the lot's number of each batch but split ones, by batch number; ``session_id`` is YYYY-MM-DD-n.

    A mix is numbered by its first batch, even if that left it, overdyed or painted from another mix: labels may have
    the number by then. Batches that left together are numbered by their first, with an x if that number is taken.
    """
    numbers: dict[str, str] = {}
    by_mix: dict[tuple[str, ...], dict[tuple[str, str, tuple[str, ...]], list[str]]] = {}
    for batch in day.unsplit:
        mixes = mixes_of(batch)
        # A batch painted on an earlier day keeps that day's lot, unless a layer since came from another mix.
        if batch.lot and set(mixes) == {batch.planned_mix}:
            numbers[batch.no] = batch.lot
        else:
            groups = by_mix.setdefault(_first_planned_as(batch), {})
            groups.setdefault((batch.colourway.name, batch.planned_mix, mixes), []).append(batch.no)
    head = lots_head(session_id)
    roots = Counter(split_no(no)[0] for no in numbers)
    for groups in by_mix.values():
        roots.update({split_no(no)[0] for nos in groups.values() for no in nos})
    leaving: list[list[str]] = []
    for planned, groups in by_mix.items():
        first = min((no for nos in groups.values() for no in nos), key=by_number)
        root = split_no(first)[0]
        stay, *left = sorted(
            groups.items(), key=lambda group: ({*group[0][2]} != {planned[-1]}, by_number(group[1][0]))
        )
        numbers |= dict.fromkeys(stay[1], head + (root if roots[root] == 1 else first))
        leaving += [nos for _, nos in left]
    for nos in leaving:
        number = head + min(nos, key=by_number)
        numbers |= dict.fromkeys(nos, f"{number}x" if number in numbers.values() else number)
    return numbers


def _first_planned_as(batch: BatchRecord) -> tuple[str, ...]:
    """Return what it was first to be dyed as: colourway, base, "earlier" if dyed on an earlier day, and mix."""
    names = (*batch.overdyed_from, batch.colourway.name)
    mix = batch.planned_mix.removesuffix("".join(f" > {name}" for name in names[1:]))
    is_of_today = not batch.lot and all(batch.is_of_session(put_on.since.utc) for put_on in batch.painted)
    return (names[0], batch.base.name, "" if is_of_today else "earlier", mix)
