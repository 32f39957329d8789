"""How a bath's contents divide at one pH: carbonate, acids and calcium, with Davies activities."""

from __future__ import annotations

from typing import NamedTuple

from dyeday.craft.water.dissociation import Constants, activities

CLOSE_ENOUGH = 1e-11
"""Step, relative to all calcium, at which the free calcium is found."""
MOST_STEPS = 60
"""Steps the search for free calcium may take; usual baths need fewer than six."""


class Speciation(NamedTuple):
    """How a bath's contents divide at one pH; mol/L."""

    free_charge: float
    """Hydroxide less protons."""
    carbonate_charge: float
    per_acetic: float
    """Protons given off per mole of acetic acid, those displaced by calcium included."""
    per_citric: float
    ionic_mol_l: float


def speciate(
    ph: float,
    ionic_mol_l: float,
    k: Constants,
    carbon: float,
    calcium: float,
    base: float,
    acetic: float = 0.0,
    citric: float = 0.0,
) -> Speciation:
    """Return how a bath divides at a pH, in mol/L, base in eq/L; 4 and 9 are charges squared, by definition."""
    h = 10**-ph
    one, two, three = activities(ionic_mol_l, k.debye_hueckel)
    protons, hydroxide = h / one, k.water / (h * one)

    first = k.carbonic_1 / one * h
    second = k.carbonic_1 * k.carbonic_2 / two
    bicarbonate = carbon * first / (h * h + first + second)
    carbonate = carbon * second / (h * h + first + second)

    acetate = k.acetic / (k.acetic + h * one)
    c1 = k.citric_1 / one
    c2 = c1 * k.citric_2 * one / two
    c3 = c2 * k.citric_3 * two / three
    whole = h * h * h + c1 * h * h + c2 * h + c3
    cit1, cit2, cit3 = c1 * h * h / whole, c2 * h / whole, c3 / whole
    # Calcium bound by citrate with 0, 1 and 2 protons, per free calcium; `pull` is all of it.
    ca0 = k.ca_citrate * two * three / one * cit3
    ca1 = k.ca_h_citrate * two * three * h * cit3
    ca2 = k.ca_h2_citrate * two * three * h * h / one * cit3
    pull, acetate_pull = ca0 + ca1 + ca2, k.ca_acetate * two * acetate
    free_ca = _free_calcium(calcium, citric, pull, acetic, acetate_pull)
    citric_bound, acetic_bound = 1 + free_ca * pull, 1 + free_ca * acetate_pull
    per_acetic = (acetate + free_ca * acetate_pull) / acetic_bound
    citric_squares = (cit1 + 4 * cit2 + 9 * cit3 + free_ca * (ca0 + ca2)) / citric_bound

    squares = 4 * free_ca + abs(base - 2 * calcium) + protons + hydroxide + bicarbonate + 4 * carbonate
    return Speciation(
        free_charge=hydroxide - protons,
        carbonate_charge=bicarbonate + 2 * carbonate,
        per_acetic=per_acetic,
        per_citric=(cit1 + 2 * cit2 + 3 * cit3 + free_ca * (3 * ca0 + 2 * ca1 + ca2)) / citric_bound,
        ionic_mol_l=(squares + citric * citric_squares + acetic * per_acetic) / 2,
    )


def _free_calcium(calcium: float, citric: float, pull: float, acetic: float, acetate_pull: float) -> float:
    """Solve free + bound = calcium by Newton from below; bound is concave in free, so no step overshoots."""
    if not (citric or acetic):
        return calcium
    free = 0.0
    for _ in range(MOST_STEPS):
        by_citric, by_acetic = 1 + free * pull, 1 + free * acetate_pull
        total = free + citric * pull * free / by_citric + acetic * acetate_pull * free / by_acetic
        slope = 1 + citric * pull / by_citric**2 + acetic * acetate_pull / by_acetic**2
        step = (calcium - total) / slope
        free += step
        if step <= CLOSE_ENOUGH * calcium:
            break
    return free
