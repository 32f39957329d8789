"""How much faster a dose is found than by the same search in PHREEQC: `python -m tests.speed.acid`.

Both sides go from alkalinity, temperature and target pH to an amount of acid, in one run on one machine; PHREEQC is
loaded before its clock starts.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable
from statistics import median
from time import perf_counter

from dyeday.craft.water.acid_dose import dose_for
from dyeday.craft.water.acids import AcidKind, acid
from dyeday.craft.water.alkalinity import raw_water
from tests.craft.conftest import Phreeqc

CASES = [(alkalinity, ph) for alkalinity in (20.0, 100.0, 200.0, 300.0, 400.0) for ph in (3.8, 4.5, 5.5)]
ROUNDS = 15
CELSIUS = 20.0


def seconds(work: Callable[[], object]) -> float:
    """The median time of some rounds."""
    times = []
    for _ in range(ROUNDS):
        start = perf_counter()
        work()
        times.append(perf_counter() - start)
    return median(times)


def main() -> None:
    """Print one line for each acid, with and without calcium."""
    warnings.simplefilter("ignore")
    engine = Phreeqc(CELSIUS)
    for name, kind in (("acetic", AcidKind.VINEGAR), ("citric", AcidKind.CITRIC)):
        for calcium_share in (0.0, 1.0):
            bottle = acid(kind)

            def ours(bottle=bottle, share=calcium_share) -> None:  # type: ignore[no-untyped-def]
                for alkalinity, ph in CASES:
                    dose_for(1.0, raw_water(alkalinity, share * alkalinity, temperature_c=CELSIUS), ph, bottle)

            def theirs(name=name, share=calcium_share) -> None:  # type: ignore[no-untyped-def]
                for alkalinity, ph in CASES:
                    engine.mol_for(engine.water(alkalinity, share * alkalinity), name, ph)

            own, other = seconds(ours) / len(CASES), seconds(theirs) / len(CASES)
            water = "hard" if calcium_share else "soft"
            print(
                f"{kind} in {water} water: {1e6 * own:.0f} µs a dose, PHREEQC {1e6 * other:.0f} µs, "
                f"{other / own:.0f} times as long"
            )


if __name__ == "__main__":
    main()
