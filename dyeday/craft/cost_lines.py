"""What a lot costs, line by line: yarn, dye, acid, energy, hands."""

from __future__ import annotations

from dyeday.craft.errors import not_negative, positive
from dyeday.quick_dataclass import dataclass


@dataclass(frozen=True)
class Line:
    """One line of the sum."""

    what: str
    amount: float
    unit: str
    price: float
    """Money for one unit."""

    @property
    def money(self) -> float:
        """Amount times price."""
        return self.amount * self.price


@dataclass(frozen=True)
class LotCost:
    """A lot's cost with every line it is made of."""

    lines: tuple[Line, ...]
    skeins: int

    @property
    def lot(self) -> float:
        """Money for the whole lot."""
        return sum(line.money for line in self.lines)

    @property
    def skein(self) -> float:
        """Money for one skein."""
        return self.lot / self.skeins


def line(what: str, amount: float, unit: str, price: float) -> Line:
    """Return one line.

    Raises:
        RefusedError: the amount or the price is negative.
    """
    return Line(what, not_negative(amount, f"{what} in {unit}"), unit, not_negative(price, f"the price of {what}"))


def lot_cost(
    skeins: int,
    *,
    yarn_price_per_skein: float = 0.0,
    dyes: dict[str, tuple[float, float]] | None = None,
    acid_amount: float = 0.0,
    acid_unit: str = "mL",
    acid_price: float = 0.0,
    energy_kwh: float = 0.0,
    energy_price_per_kwh: float = 0.0,
    hands_h: float = 0.0,
    hands_price_per_h: float = 0.0,
) -> LotCost:
    """Return the cost of a lot; a line whose price is not known is left at 0 and still shown.

    Args:
        skeins: in the lot, 1 or more.
        yarn_price_per_skein: money for one undyed skein.
        dyes: dye to its (powder g, money per g).
        acid_amount: acid, in `acid_unit`, at `acid_price` a unit.
        acid_unit: "mL" or "g".
        acid_price: money per mL or g.
        energy_kwh: at `energy_price_per_kwh`.
        energy_price_per_kwh: money.
        hands_h: attended hours, at `hands_price_per_h`.
        hands_price_per_h: money.

    Raises:
        RefusedError: there are no skeins, or an amount or price is negative.
    """
    positive(skeins, "the number of skeins")
    lines = [line("yarn", skeins, "skein", yarn_price_per_skein)]
    lines += [line(dye, grams, "g", price) for dye, (grams, price) in (dyes or {}).items()]
    lines.append(line("acid", acid_amount, acid_unit, acid_price))
    lines.append(line("energy", energy_kwh, "kWh", energy_price_per_kwh))
    lines.append(line("hands", hands_h, "h", hands_price_per_h))
    return LotCost(tuple(lines), skeins)
