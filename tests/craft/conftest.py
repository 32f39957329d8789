"""PHREEQC as the outside reference: its engine and carbonate system, with published acids added."""

from __future__ import annotations

import warnings
from collections.abc import Callable
from math import exp, log
from typing import Any

import pytest

ACIDS = {
    # pK at 25 °C: CRC and Goldberg 2002; ΔH in J/mol and ΔCp in J/K mol: Goldberg 2002, from memory.
    "acetic": [(4.756, -410, -142)],
    "citric": [(3.128, 4070, -131), (4.761, 2230, -178), (6.396, -3380, -254)],
}
CALCIUM = {
    # log K and ΔH in J/mol: NIST 46 as carried by USGS minteq.v4.dat.
    "Ca+2 + Acetate- = CaAcetate+": (1.18, 4000),
    "Ca+2 + Citrate-3 = CaCitrate-": (4.87, -8368),
    "Ca+2 + Citrate-3 + H+ = CaHCitrate": (9.26, -836.8),
    "Ca+2 + Citrate-3 + 2 H+ = CaH2Citrate+": (12.257, 0),
}
WATER_MOL_PER_ACETIC_MOL = 60.052 / 0.05 / 18.0153
"""5 % w/v vinegar: 1.2 L of water come with each mole."""


def log_k(pk: float, enthalpy: float, capacity: float, celsius: float) -> float:
    """Move a pK from 25 °C, typed again from Clarke and Glew, to check dyeday's."""
    t, theta = celsius + 273.15, 298.15
    ln_shift = enthalpy / 8.314462618 * (1 / theta - 1 / t) + capacity / 8.314462618 * (
        theta / t - 1 + log(t / theta)
    )
    return -pk + ln_shift / log(10)


class Phreeqc:
    """One loaded PHREEQC at one temperature."""

    def __init__(self, celsius: float) -> None:
        """Load the bundled phreeqc.dat and add acetate and citrate."""
        from phreeqpython import PhreeqPython

        self.celsius = celsius
        self.engine: Any = PhreeqPython(database="phreeqc.dat")
        acetic = -log_k(*ACIDS["acetic"][0], celsius)
        citric = [-log_k(*proton, celsius) for proton in ACIDS["citric"]]
        lines = [
            "SOLUTION_MASTER_SPECIES",
            "Acetate Acetate- 1.0 59.045 59.045",
            "Citrate Citrate-3 2.0 189.102 189.102",
            "SOLUTION_SPECIES",
            "Acetate- = Acetate-\n log_k 0",
            "Citrate-3 = Citrate-3\n log_k 0",
            f"H+ + Acetate- = HAcetate\n log_k {acetic}",
            f"H+ + Citrate-3 = HCitrate-2\n log_k {citric[2]}",
            f"2 H+ + Citrate-3 = H2Citrate-\n log_k {citric[2] + citric[1]}",
            f"3 H+ + Citrate-3 = H3Citrate\n log_k {sum(citric)}",
        ]
        for reaction, (pair_log_k, enthalpy) in CALCIUM.items():
            lines.append(f"{reaction}\n log_k {log_k(-pair_log_k, enthalpy, 0, celsius)}")
        self.engine.ip.run_string("\n".join([*lines, "END"]))

    def water(self, alkalinity_mg_l: float, calcium_mg_l: float = 0.0, ph: float = 7.8) -> Any:
        """Raw water; sodium balances what calcium does not."""
        alkalinity = 2 * alkalinity_mg_l / 100.087
        parts = {"units": "mmol/kgw", "temp": self.celsius, "pH": ph, "Alkalinity": alkalinity}
        parts["Na"] = f"{max(alkalinity - 2 * calcium_mg_l / 100.087, 1e-6)} charge"
        if calcium_mg_l:
            parts["Ca"] = calcium_mg_l / 100.087
        return self.engine.add_solution(parts)

    def ph_after(self, water: Any, acid: str, mol: float) -> float:
        """The pH when so many moles are in a kilogram of that water."""
        added = {"HAcetate": mol, "H2O": mol * WATER_MOL_PER_ACETIC_MOL} if acid == "acetic" else {"H3Citrate": mol}
        after = self.engine.change_solution(water.number, added, create_new=True)
        ph = float(after.pH)
        after.forget()
        return ph

    def mol_for(self, water: Any, acid: str, target_ph: float) -> float:
        """The moles that bring a kilogram of that water to a pH, by a bracketed secant on log moles."""
        low, high = log(1e-7), log(2.0)
        low_gap = self.ph_after(water, acid, exp(low)) - target_ph
        high_gap = self.ph_after(water, acid, exp(high)) - target_ph
        for _ in range(60):
            middle = high - high_gap * (high - low) / (high_gap - low_gap)
            gap = self.ph_after(water, acid, exp(middle)) - target_ph
            if abs(gap) < 1e-6:
                return exp(middle)
            if gap * high_gap < 0:
                low, low_gap = high, high_gap
            else:
                low_gap /= 2
            high, high_gap = middle, gap
        raise AssertionError("PHREEQC's search did not settle")


@pytest.fixture(scope="session")
def phreeqc() -> Callable[[float], Phreeqc]:
    """A loaded PHREEQC for a temperature, kept for the whole run."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        pytest.importorskip("phreeqpython")
    loaded: dict[float, Phreeqc] = {}

    def at(celsius: float) -> Phreeqc:
        if celsius not in loaded:
            loaded[celsius] = Phreeqc(celsius)
        return loaded[celsius]

    return at


__all__ = ["Phreeqc", "log_k", "phreeqc"]
