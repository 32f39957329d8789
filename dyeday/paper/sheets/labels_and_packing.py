"""Labels and packing slips, to cut apart: one slip a parcel, four to a page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from dyeday.grouping import grouped
from dyeday.paper.layout.sheet import BOX, Block, Card, Cards, Column, Paragraph, Part, Sheet, Table, tick
from dyeday.studio.labels import Label
from dyeday.studio.parcels import FinishedPieces, OrderStatus, Outgoing, Parcel
from dyeday.text import counted
from dyeday.units import M_PER_YARD

MOST_LABELS = 2000
_PACKED = (Column("", 3), Column("pieces", 8, right=True), Column("what"), Column("lot", 16, whole=True))


def labels_sheet(name: str, about: str, labels: Sequence[Label], studio: str = "") -> Sheet:
    """Return a label for each piece, headed by the ``studio``'s name if it has one."""
    cards = [card for label in labels for card in [card_of(label, studio)] * label.count][:MOST_LABELS]
    if not cards:
        return Sheet("labels", f"LABELS  {name}", about, (Block((Paragraph("Nothing is finished yet."),)),))
    # A row of cards is a block, so that no page end cuts a card.
    blocks = tuple(Block((Cards(tuple(cards[n : n + 2])),)) for n in range(0, len(cards), 2))
    return Sheet("labels", f"LABELS  {name}", f"{about}, {counted(len(cards), 'label')}", blocks)


def card_of(label: Label, studio: str) -> Card:
    """Return a label: the studio, colourway and lot in bold, then the yarn."""
    length = f"{label.length_m:g} m / {label.length_m / M_PER_YARD:.0f} yd, " if label.length_m else ""
    head = (studio,) if studio else ()
    lines = (
        *head, label.colourway, f"lot {label.lot}", label.base, label.fibre, f"{length}{label.weight_g:g} g",
        label.care, *([label.note] if label.note else []),
    )  # fmt: skip
    return Card(lines, (len(head), len(head) + 1), label.swatches)


def packing_sheet(name: str, about: str, out: Outgoing, studio: str = "") -> Sheet:
    """Return what to check; a slip for each parcel with pieces, complete ones first; those that wait, and spares.

    A slip goes to the customer and has no flags; what to check is cut off above it.
    """
    packed = [parcel for parcel in out.parcels if any(order.ready for order in parcel.orders)]
    checks = tuple(tick(f"{parcel.name}: {check}") for parcel in packed for check in parcel.checks)
    blocks = [Block(checks, "CHECK BEFORE YOU PACK (for you: cut it off)", slip=True)] if checks else []
    for parcel in sorted(packed, key=lambda parcel: not parcel.is_complete):
        parts = (*([Paragraph(studio)] if studio else []), *_parcel(parcel))
        blocks.append(Block(parts, apart=True, slip=True))
    rest = [Block(tuple(_parcel(parcel)), "NOTHING TO PACK YET") for parcel in out.parcels if parcel not in packed]
    if apart := tuple(_apart(out)):
        rest.append(Block(apart, "SPARES, IN NO PARCEL"))
    if rest:
        blocks += [replace(rest[0], new_page=bool(blocks)), *rest[1:]]
    if not blocks:
        blocks.append(Block((Paragraph("No orders to pack."),)))
    return Sheet("packing", f"PACKING LIST  {name}", about, tuple(blocks))


def _parcel(parcel: Parcel) -> Iterator[Part]:
    due = f", due {parcel.due:%a %d %b}" if parcel.due else ""
    state = "complete" if parcel.is_complete else "NOT COMPLETE"
    yield Paragraph(f"{parcel.name}: {state}{due}", strong=True)
    if rows := [row for status in parcel.orders for row in _order(status, parcel.name)]:
        yield Table(_PACKED, tuple(rows))
    for status in parcel.orders:
        if status.alternate:
            text = f"{_yarn(status)} is of {len(status.lots)} lots: knit alternate skeins"
            yield Paragraph(text + (", but the order must match" if status.order.match else ""))
    for status in parcel.orders:
        texts = (f"{wait.skeins} of {status.wanted} {_yarn(status)}: {wait.what}" for wait in status.waits)
        yield from (Paragraph(text, lead="waits for") for text in texts)
    ready = sum(status.ready for status in parcel.orders)
    yield Paragraph(f"{ready} of {sum(status.wanted for status in parcel.orders)} ready")


def _yarn(status: OrderStatus) -> str:
    return f"{status.order.colourway} on {status.order.base}"


def _order(status: OrderStatus, parcel: str) -> Iterator[tuple[str, ...]]:
    item = "" if status.order.item == parcel else f"{status.order.item}: "
    for lot, counts in grouped((one.lot, one.skeins) for one in status.pieces).items():
        yield BOX, str(sum(counts)), f"{item}{_yarn(status)}", lot


def _apart(out: Outgoing) -> Iterator[Part]:
    for word, pieces in (("spare", out.spares), ("second", out.seconds), ("one-off", out.one_offs)):
        yield from (Paragraph(_lying(one), lead=f"{word}:") for one in pieces)
    for order in out.samples:
        yield from (Paragraph(_lying(one), lead="sample:") for one in order.pieces)


def _lying(one: FinishedPieces) -> str:
    return f"{one.skeins} {one.colourway} on {one.base}, batch {one.batch}, lot {one.lot}"
