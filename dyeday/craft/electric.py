"""What units running together draw from one circuit, by the watts on their nameplates."""

from __future__ import annotations

from collections.abc import Mapping

from dyeday.craft.errors import above, between, not_negative, positive
from dyeday.quick_dataclass import dataclass

WIRING_CAUTION = (
    "This sum does not know your wiring or your local rules: "
    "local codes and a licensed electrician have the last word."
)
"""Said with every result."""
ONE_APPLIANCE = "NFPA 70, 2011 edition, 210.23(A)(1)"
"""One appliance on a plug: at most 80 % of a 15 or 20 A circuit that has other outlets. As quoted in EC&M Code Q&A,
2012; later editions number it otherwise."""
CONTINUOUS = "NFPA 70, 2011 edition, 210.20(A)"
"""All together: other loads and 125 % of the continuous ones (3 h and more) are at most the circuit's rating. As
quoted by electricians; the 3 h from the same place."""


@dataclass(frozen=True)
class CircuitLoad:
    """What a circuit carries, and what that exceeds."""

    watts: float
    amps: float
    share: float
    """Of the circuit's rated amps; 1 is full."""
    exceeds: tuple[str, ...]
    """One line for each limit passed, with its numbers; empty when all hold."""


def circuit_load(
    watts_by_unit: Mapping[str, float],
    volts: float,
    amps: float,
    *,
    lead_amps: float | None = None,
    continuous_share: float | None = None,
) -> CircuitLoad:
    """Return the load of units running at the same time on one circuit: amps = watts / volts.

    Watts are the input on each nameplate; ``lead_amps`` is the rating of the extension lead or plug they share. With
    a ``continuous_share``, 0.8 where local rules have one, each unit draws at most this share of the circuit's rating
    (`ONE_APPLIANCE`), and all together, counted as continuous at 1/0.8 = 125 %, at most the rating (`CONTINUOUS`):
    one heat of 45 min is not continuous by the 3 h of that rule, a day of heats one after the other is.
    Raises RefusedError where a watt figure is negative, volts or amps are not above 0, or a share is outside 0-1.
    """
    volts = positive(volts, "the circuit's volts")
    drawn = {unit: not_negative(watts, f"the power of {unit} in W") / volts for unit, watts in watts_by_unit.items()}
    total, rated = sum(drawn.values()), positive(amps, "the circuit's amps")
    watts = sum(watts_by_unit.values())
    limits = [("the circuit", rated)]
    if lead_amps is not None:
        limits.append(("the lead", positive(lead_amps, "the lead's amps")))
    sums = f"{total:.1f} A ({watts:.0f} W)"
    exceeds = [f"{sums} is more than {limit:g} A, {name}" for name, limit in limits if above(total, limit)]
    if continuous_share is not None:
        share = between(positive(continuous_share, "the continuous share"), 0, 1, "the continuous share")
        exceeds += [
            f"{one:.1f} A of {unit} alone is more than {rated * share:g} A, {100 * share:g} % of the circuit for one "
            f"appliance ({ONE_APPLIANCE})"
            for unit, one in drawn.items()
            if above(one, rated * share)
        ]
        if above(total, rated * share):
            exceeds.append(
                f"{sums}, counted as {total / share:.1f} A ({100 / share:.0f} %) for 3 h or more, is more than "
                f"{rated:g} A, the circuit ({CONTINUOUS})"
            )
    return CircuitLoad(watts, total, total / rated, tuple(exceeds))
