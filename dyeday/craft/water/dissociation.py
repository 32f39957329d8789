"""How far acids dissociate: equilibrium constants over temperature, and activities.

Every constant is thermodynamic (ionic strength 0); `log` is to base 10, temperatures are kelvin inside.
"""

from __future__ import annotations

from functools import lru_cache
from math import exp, log, log10, sqrt

from dyeday.craft.errors import between
from dyeday.quick_dataclass import dataclass

GAS_J_PER_MOL_K = 8.314462618
"""Molar gas constant, exact by definition (SI, 2019)."""
REFERENCE_K = 298.15
"""25 °C by definition, where the tabulated constants hold."""


@dataclass(frozen=True)
class Equilibrium:
    """A proton given off, or a complex formed (its pK is negative), and how the constant moves with temperature."""

    pk_25c: float
    enthalpy_j_per_mol: float
    heat_capacity_j_per_mol_k: float

    def constant(self, kelvin: float) -> float:
        """Return the equilibrium constant at this temperature, by Clarke and Glew's integrated form.

        ln K = ln K(θ) + ΔH/R · (1/θ − 1/T) + ΔCp/R · (θ/T − 1 + ln(T/θ)), θ = 298.15 K.
        """
        enthalpy = self.enthalpy_j_per_mol * (1 / REFERENCE_K - 1 / kelvin)
        capacity = self.heat_capacity_j_per_mol_k * (REFERENCE_K / kelvin - 1 + log(kelvin / REFERENCE_K))
        return float(10**-self.pk_25c * exp((enthalpy + capacity) / GAS_J_PER_MOL_K))


ACETIC = Equilibrium(4.756, -410.0, -142.0)
"""pK from CRC (LibreTexts table E1); ΔH and ΔCp from Goldberg, Kishore and Lennen, J. Phys. Chem. Ref. Data 31
(2002) 231, from memory (USGS minteq.v4 carries the same 0.41 kJ)."""
CITRIC = (Equilibrium(3.128, 4070.0, -131.0), Equilibrium(4.761, 2230.0, -178.0), Equilibrium(6.396, -3380.0, -254.0))
"""pK within 0.002 of Bénézeth, Palmer and Wesolowski, J. Solution Chem. 26 (1997) 63; ΔH and ΔCp from Goldberg
2002, from memory (Bénézeth has 4.1, 2.2, −3.6 kJ/mol and −162, −192, −231 J/K mol)."""
CALCIUM_CITRATE = (Equilibrium(-4.87, -8368.0, 0.0), Equilibrium(-9.26, -836.8, 0.0), Equilibrium(-12.257, 0.0, 0.0))
"""Formation from Ca²⁺, Cit³⁻ and 0, 1, 2 protons: NIST 46 as carried by USGS minteq.v4.dat."""
CALCIUM_ACETATE = Equilibrium(-1.18, 4000.0, 0.0)
"""Formation of CaAcetate⁺: NIST 46 as carried by USGS minteq.v4.dat."""


@dataclass(frozen=True, slots=True)
class Constants:
    """Every constant a bath needs, at one temperature."""

    water: float
    carbonic_1: float
    carbonic_2: float
    acetic: float
    citric_1: float
    citric_2: float
    citric_3: float
    ca_citrate: float
    ca_h_citrate: float
    ca_h2_citrate: float
    ca_acetate: float
    debye_hueckel: float


@lru_cache(maxsize=256)
def constants(temperature_c: float) -> Constants:
    """Return the constants at 0 to 100 °C, well tested from 5 to 40. Raises RefusedError out of range.

    Water: USGS wateq4f. Carbonic acid: Plummer and Busenberg, Geochim. Cosmochim. Acta 46 (1982) 1011, coefficients
    as in the USGS phreeqc database.
    """
    t = between(temperature_c, 0, 100, "the water's temperature in °C") + 273.15
    values = [
        _analytic(t, -283.971, -0.05069842, 13323.0, 102.24447, -1119669.0),
        _analytic(t, -356.3094, -0.06091964, 21834.37, 126.8339, -1684915.0),
        _analytic(t, -107.8871, -0.03252849, 5151.79, 38.92561, -563713.9),
        *(each.constant(t) for each in (ACETIC, *CITRIC, *CALCIUM_CITRATE, CALCIUM_ACETATE)),
        _debye_hueckel(t),
    ]
    return Constants(*values)


def activities(ionic_mol_l: float, debye_hueckel: float) -> tuple[float, float, float]:
    """Return the activity coefficients of ions of charge 1, 2 and 3, by Davies' equation.

    log γ = −a z² (√I / (1 + √I) − 0.3 I), trustworthy to an ionic strength of about 0.5 mol/L;
    C. W. Davies, Ion Association (1962), from memory.
    """
    root = sqrt(ionic_mol_l)
    one = 10 ** (-debye_hueckel * (root / (1 + root) - 0.3 * ionic_mol_l))
    return one, one**4, one**9


def _analytic(t: float, a: float, b: float, c: float, d: float, e: float) -> float:
    return float(10 ** (a + b * t + c / t + d * log10(t) + e / t**2))


def _debye_hueckel(t: float) -> float:
    """Davies' a: 1.82483e6 √ρ / (ε T)^1.5, ε by Truesdell and Jones (WATEQ, 1974) as in the USGS phreeqc source."""
    dielectric = 2727.586 + 0.6224107 * t - 466.9151 * log(t) - 52000.87 / t
    # Kell's maximum-density parabola; 0.1 % in density is 0.05 % in a, far below Davies' own error.
    density = 1 - (t - 277.13) ** 2 * 4.9e-6
    return float(1.82483e6 * sqrt(density) / (dielectric * t) ** 1.5)
