"""What leaves the studio: complete orders and parcels, what others wait for, and what is in no parcel.

Computed from one session, or several that continue each other (`dyeday carry`), oldest first. An overdyed batch
fills orders of its present colourway. Only firsts fill an order: what became seconds or one-offs must be dyed again.
`carry` plans that, and so does a changed plan once it is applied (`with_plan`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field, replace
from datetime import date as Date  # noqa: N812 - the field is called date
from itertools import chain

from dyeday.grouping import grouped
from dyeday.plan.model import Order, OrderKey
from dyeday.quick_dataclass import dataclass
from dyeday.studio.lots.lot_numbers import lot_numbers
from dyeday.terms import FlagId, Outcome, State
from dyeday.text import batches_text
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import whereabouts
from dyeday.track.flags import RULES, flags_of_batch
from dyeday.track.timers.timers import doing_text


@dataclass(frozen=True, slots=True)
class FinishedPieces:
    """Pieces of one batch that are done."""

    session: str
    lot: str
    batch: str
    colourway: str
    base: str
    skeins: int
    outcome: Outcome = Outcome.FIRST
    flags: tuple[FlagId, ...] = ()
    """rules whose flags are still open on the batch and put its yarn in question (`Rule.of_yarn`)"""


@dataclass(frozen=True, slots=True)
class OrderWait:
    """What an order waits for: pieces of ``batch`` under way, or (None) pieces still to be dyed."""

    skeins: int
    what: str
    batch: str | None = None


@dataclass(frozen=True, slots=True)
class OrderStatus:
    """One order: ``wanted`` pieces, those that are ready for it, and what the rest waits for."""

    order: Order
    wanted: int
    pieces: tuple[FinishedPieces, ...]
    waits: tuple[OrderWait, ...]

    @property
    def ready(self) -> int:
        """Pieces that are ready for it."""
        return sum(one.skeins for one in self.pieces)

    @property
    def is_complete(self) -> bool:
        """Whether all ``wanted`` pieces are ready."""
        return self.ready >= self.wanted

    @property
    def lots(self) -> tuple[str, ...]:
        """The lots of its pieces, each once."""
        return tuple(dict.fromkeys(one.lot for one in self.pieces))

    @property
    def batches(self) -> tuple[str, ...]:
        """The batches of its pieces, by number, each once."""
        return tuple(dict.fromkeys(one.batch for one in self.pieces))

    @property
    def alternate(self) -> bool:
        """Whether its pieces are of several lots: to be knitted in alternate rows."""
        return len(self.lots) > 1


@dataclass(frozen=True, slots=True)
class Parcel:
    """What goes out together: one packing list."""

    name: str
    orders: tuple[OrderStatus, ...]

    @property
    def is_complete(self) -> bool:
        return all(order.is_complete for order in self.orders)

    @property
    def due(self) -> Date | None:
        """The earliest due date of its orders; None where none has one."""
        return min((status.order.due for status in self.orders if status.order.due is not None), default=None)

    @property
    def flags(self) -> dict[str, tuple[FlagId, ...]]:
        """The open flags of its pieces, by batch number, each once."""
        flagged = grouped((one.batch, one.flags) for order in self.orders for one in order.pieces if one.flags)
        return {no: tuple(dict.fromkeys(chain.from_iterable(flags))) for no, flags in flagged.items()}

    @property
    def checks(self) -> list[str]:
        """What to check before it is packed: each batch, "04, short soak, bleeds", then what must match."""
        pieces = (one for order in self.orders for one in order.pieces if one.flags)
        flagged = {(one.session, one.batch): one.flags for one in pieces}
        checks = [f"{no}, {', '.join(RULES[rule].short for rule in rules)}" for (_, no), rules in flagged.items()]
        for order in (status for status in self.orders if status.order.match and len(status.batches) > 1):
            yarn = f"{order.order.colourway} on {order.order.base}"
            checks.append(f"{batches_text(order.batches)} side by side, {yarn} must match")
        return checks


@dataclass(frozen=True, slots=True)
class Outgoing:
    """All that leaves the studio, parcels by due date."""

    parcels: tuple[Parcel, ...]
    samples: tuple[OrderStatus, ...]
    spares: tuple[FinishedPieces, ...]
    """firsts that no order asked for"""
    seconds: tuple[FinishedPieces, ...]
    one_offs: tuple[FinishedPieces, ...]

    @property
    def orders(self) -> tuple[OrderStatus, ...]:
        """The orders, parcel by parcel, then the samples."""
        return (*(order for parcel in self.parcels for order in parcel.orders), *self.samples)


@dataclass()
class _Sums:
    """One order's pieces over the days; orders of one key are one, with the earliest due date."""

    order: Order
    wanted: int = 0
    firsts: list[FinishedPieces] = field(default_factory=list)
    waits: list[OrderWait] = field(default_factory=list)

    @property
    def expected(self) -> int:
        """Pieces that are ready or under way."""
        return sum(one.skeins for one in self.firsts) + sum(wait.skeins for wait in self.waits)


def orders_out(days: Sequence[tuple[str, Day]]) -> Outgoing:
    """Return what leaves the studio from ``days``: (session id, day), oldest first."""
    sums: dict[OrderKey, _Sums] = {}
    apart: dict[Outcome, list[FinishedPieces]] = {outcome: [] for outcome in Outcome}
    later = continued(days)
    for n, (session, day) in enumerate(days):
        _add_wanted(sums, day, days[:n], later)
        lots, now = lot_numbers(day, session), day.latest_moment
        for batch in (batch for batch in day.unsplit if (session, batch.no) not in later):
            flags = flags_of_batch(day, batch, now) if now is not None and batch.state is State.DONE else []
            rules = tuple(flag.rule for flag in flags if not flag.cleared and RULES[flag.rule].of_yarn)
            for item, count in batch.shares:
                order_sums, outcome = sums.get(batch.order_key(item)), batch.outcome or Outcome.FIRST
                if order_sums is None and len({*batch.colours}) > 1 and outcome is Outcome.FIRST:
                    outcome = Outcome.ONE_OFF
                if batch.state is State.DONE:
                    names = batch.no, batch.colourway.name, batch.base.name
                    pieces = FinishedPieces(session, lots[batch.no], *names, count, outcome, rules)
                    fills = order_sums.firsts if order_sums is not None and outcome is Outcome.FIRST else None
                    (apart[outcome] if fills is None else fills).append(pieces)
                elif batch.state is not State.SCRAPPED and order_sums is not None:
                    where = doing_text(day, batch, now) if now is not None else whereabouts(batch)
                    order_sums.waits.append(OrderWait(count, f"{batch.no} {where}", batch.no))
    statuses = [_status(each) for each in sums.values()]
    sold = ((status.order, status) for status, _ in statuses if not status.order.sample)
    together = grouped((order.parcel or order.item, status) for order, status in sold)
    parcels = (Parcel(name, tuple(own)) for name, own in together.items())
    return Outgoing(
        parcels=tuple(sorted(parcels, key=lambda parcel: parcel.due or Date.max)),
        samples=tuple(status for status, _ in statuses if status.order.sample),
        spares=(*apart[Outcome.FIRST], *(piece for _, extra in statuses for piece in extra)),
        seconds=tuple(apart[Outcome.SECOND]),
        one_offs=tuple(apart[Outcome.ONE_OFF]),
    )


def to_dye_again(session: str, day: Day) -> list[tuple[Order, int]]:
    """Return (order, pieces) for the pieces of one day's orders that none of its batches brings."""
    orders = orders_out([(session, day)]).orders
    return [(status.order, wait.skeins) for status in orders for wait in status.waits if wait.batch is None]


def _add_wanted(
    sums: dict[OrderKey, _Sums],
    day: Day,
    before: Sequence[tuple[str, Day]],
    later: Mapping[tuple[str, str], int],
) -> None:
    """Add the pieces that a day's orders want, less those that the days ``before`` have counted.

    These are the pieces of batches carried from them, and new ones of an order that lacked some: dyed again. What a
    day after this one continues (``later``, by `continued`) is not lacking.
    """
    carried, days = Counter[OrderKey](), dict(before)
    for (session, no), record in came_in(day).items():
        if record.carried is not None and session in days:
            as_it_came = days[session].batches.get(no, record)
            for item, count in record.carried.shares:
                carried[as_it_came.order_key(item)] += count
    coming = carried.copy()
    for session, earlier in before:
        for batch in (batch for batch in earlier.unsplit if later.get((session, batch.no), 0) > len(before)):
            for item, count in batch.shares:
                coming[batch.order_key(item)] += count
    lacking = {key: each.wanted - each.expected - coming[key] for key, each in sums.items()}
    for order in day.plan.orders:
        own = sums.setdefault(order.key, _Sums(order))
        due = min((date for date in (own.order.due, order.due) if date is not None), default=None)
        own.order = replace(own.order, due=due)
        of_it = min(carried[order.key], order.skeins + order.spare)
        carried[order.key] -= of_it
        new = max(0, order.skeins - of_it)  # its last pieces are its spares, which were not wanted
        again = max(0, min(new, lacking.get(order.key, 0)))
        lacking[order.key] = lacking.get(order.key, 0) - again
        own.wanted += new - again


def continued(days: Iterable[tuple[str, Day]]) -> dict[tuple[str, str], int]:
    """Return the place in ``days`` of the one that continues a batch, and counts it, by session and number."""
    return {came: n for n, (_, day) in enumerate(days) for came in came_in(day)}


def came_in(day: Day) -> dict[tuple[str, str], BatchRecord]:
    """Return the batches a day continues, by their session and number there; of a split batch, one record."""
    return {(b.carried.session, b.carried.no_there): b for b in day.batches.values() if b.carried is not None}


def _status(sums: _Sums) -> tuple[OrderStatus, list[FinishedPieces]]:
    """Return an order's status, and the firsts beyond it."""
    pieces, extra = list[FinishedPieces](), list[FinishedPieces]()
    left = wanted = max(0, sums.wanted)
    # The largest lot first, so that few orders get skeins of two lots.
    sizes = Counter[str]()
    for one in sums.firsts:
        sizes[one.lot] += one.skeins
    for one in sorted(sums.firsts, key=lambda p: (-sizes[p.lot], p.lot, p.batch)):
        for_it = min(left, one.skeins)
        left -= for_it
        if for_it:
            pieces.append(replace(one, skeins=for_it))
        if one.skeins > for_it:
            extra.append(replace(one, skeins=one.skeins - for_it))
    waits = []
    for wait in sums.waits:
        if left > 0:
            waits.append(replace(wait, skeins=min(wait.skeins, left)))
            left -= wait.skeins
    if left > 0:
        waits.append(OrderWait(left, "to be dyed again"))
    return OrderStatus(sums.order, wanted, tuple(pieces), tuple(waits)), extra
