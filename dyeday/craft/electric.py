"""What units running together draw from one circuit, by the watts on their nameplates."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from dyeday.craft.refusal import between, not_negative, positive

DEFER = (
    "This sum knows neither the wiring nor the rules where you are: "
    "local codes and a licensed electrician have the last word."
)
"""Said with every result."""


@dataclass(frozen=True)
class CircuitLoad:
    """What a circuit carries, and what that exceeds."""

    watts: float
    amps: float
    share: float
    """Of the circuit's rated amps; 1 is full."""
    exceeds: tuple[str, ...]
    """One line for each limit passed, with its numbers; empty when all hold."""
    defer: str = DEFER


def circuit_load(
    watts_by_unit: Mapping[str, float],
    volts: float,
    amps: float,
    *,
    lead_amps: float | None = None,
    continuous_share: float | None = None,
) -> CircuitLoad:
    """Give the load of units running at the same time on one circuit: amps = watts / volts.

    Args:
        watts_by_unit: unit to its nameplate input, W; a microwave's input, not its output.
        volts: of the circuit.
        amps: the circuit's rating.
        lead_amps: rating of the extension lead or plug all of them hang on, if any.
        continuous_share: share of the rating that may be drawn for long, where local rules have one: 0.8 of a 15
            or 20 A circuit for loads of 3 h and more (NEC 210.19 and 210.20), and for one plugged appliance where
            there are several outlets (NEC 210.23(A)(1), as quoted in EC&M Code Q&A, 2012).

    Raises:
        RefusedError: a watt figure is negative, volts or amps are not above 0, or a share is outside 0-1.
    """
    watts = sum(not_negative(value, f"the power of {unit} in W") for unit, value in watts_by_unit.items())
    drawn = watts / positive(volts, "the circuit's volts")
    limits = [("the circuit", positive(amps, "the circuit's amps"))]
    if lead_amps is not None:
        limits.append(("the lead", positive(lead_amps, "the lead's amps")))
    if continuous_share is not None:
        share = between(continuous_share, 0, 1, "the continuous share")
        limits.append((f"{100 * share:g} % of the circuit for long loads", amps * share))
    exceeds = tuple(
        f"{drawn:.1f} A ({watts:.0f} W) is more than {limit:g} A, {name}"
        for name, limit in limits
        if drawn > limit * (1 + 1e-9)
    )
    return CircuitLoad(watts, drawn, drawn / amps, exceeds)
