"""How well each ion carries current in a mixture.

Every ion has a limiting conductivity; in a real solution it is slowed by the cloud of counter-ions around it
(relaxation) and by the water that cloud drags along (electrophoresis).

References
----------
Law: L. Onsager, Phys. Z. 28 (1927) 277, with finite ion sizes as in R. A. Robinson, R. H. Stokes, Electrolyte Solutions
(1959), chapter 7. In a mixture each ion meets one mean counter-ion, weighted by charge.
Limiting values at 25 °C: P. Vanysek in the CRC Handbook (several from memory); of ion pairs: diffusion coefficients
of USGS PHREEQC's `Amm.dat`, or 20 per charge where it has none. Temperature: viscosity of water, and its `-dw`.
Attraction between divalent ions is what the ion pairs of the speciation already stand for: so that it does not count
twice, sulfate is met as if monovalent, the product of charges stops at 2, and sulfate has the 17 ångström of `Amm.dat`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from rounds.science.activity import KELVIN, debye_hueckel, water_density_kg_l, water_permittivity
from rounds.science.running_water import kinematic_viscosity_m2_s

COMMON_SIZE_ANGSTROM = 4.0
MOST_CHARGE_PRODUCT = 2.0


@dataclass(frozen=True, slots=True)
class Ion:
    """One carrier of current."""

    charge: int
    limiting: float
    """Equivalent conductivity at infinite dilution, 25 °C. [S cm²/eq]"""
    warming_k: float = 0.0
    """How it changes with temperature beyond the viscosity: exp(w/T - w/298.15). [K]"""
    size_angstrom: float = COMMON_SIZE_ANGSTROM
    met_charge: float = 0.0
    """Charge with which counter-ions meet it, where that is not its own."""


IONS: Mapping[str, Ion] = {
    "H+": Ion(1, 349.65, 838.0), "OH-": Ion(-1, 198.0, 478.0),
    "K+": Ion(1, 73.48, 254.0), "Na+": Ion(1, 50.08, 75.0), "NH4+": Ion(1, 73.5, 203.0),
    "Ca+2": Ion(2, 59.47, 34.0), "Mg+2": Ion(2, 53.0, -4.0),
    "NO3-": Ion(-1, 71.42, 104.0), "Cl-": Ion(-1, 76.31, 216.0),
    "SO4-2": Ion(-2, 80.0, -114.0, 17.0, 1.0), "HSO4-": Ion(-1, 50.0),
    "HCO3-": Ion(-1, 44.5, -190.0), "CO3-2": Ion(-2, 69.3, -103.0),
    "H2PO4-": Ion(-1, 36.0), "HPO4-2": Ion(-2, 57.0), "PO4-3": Ion(-3, 92.8),
    "KSO4-": Ion(-1, 33.8, 63.0), "NaSO4-": Ion(-1, 42.4), "NH4SO4-": Ion(-1, 33.8, 100.0),
    "CaHCO3+": Ion(1, 19.0), "MgHCO3+": Ion(1, 18.0), "CaH2PO4+": Ion(1, 20.0), "MgH2PO4+": Ion(1, 20.0),
    "CaPO4-": Ion(-1, 20.0), "MgPO4-": Ion(-1, 20.0), "KHPO4-": Ion(-1, 20.0), "NaHPO4-": Ion(-1, 20.0),
    "Cit-3": Ion(-3, 70.2), "HCit-2": Ion(-2, 45.0), "H2Cit-": Ion(-1, 30.0),
    "CaCit-": Ion(-1, 20.0), "MgCit-": Ion(-1, 20.0), "CaH2Cit+": Ion(1, 20.0), "MgH2Cit+": Ion(1, 20.0),
    "KCit-2": Ion(-2, 20.0), "NaCit-2": Ion(-2, 20.0),
    "inert+": Ion(1, 50.0), "inert-": Ion(-1, 50.0),
}  # fmt: skip


def water_viscosity_mpa_s(temperature_c: float) -> float:
    """Viscosity of water, 0-50 degC. [mPa s]

    Examples
    --------
    >>> round(water_viscosity_mpa_s(25.0), 3)
    0.89
    """
    litre_g = 1000.0 * water_density_kg_l(temperature_c)
    return 1000.0 * kinematic_viscosity_m2_s(temperature_c) * litre_g


@dataclass(frozen=True, slots=True)
class _Medium:
    """What the water and all ions together do to each one, at one temperature and ionic strength."""

    relaxation: float
    drag: float
    root_strength: float
    per_angstrom: float


def conductivity_ms_cm(amounts_m: Mapping[str, float], ionic_strength_m: float, temperature_c: float) -> float:
    """Conductivity of a mixture of ions at its own temperature.

    Parameters
    ----------
    amounts_m : mapping
        Concentration by species name, names as in IONS; others are taken as uncharged. [mol/L]
    ionic_strength_m : float
        Ionic strength, 0-0.1. [mol/L]
    temperature_c : float
        Temperature, 0-50. [degC]

    Returns
    -------
    float
        Conductivity. [mS/cm]

    Examples
    --------
    >>> round(conductivity_ms_cm({"K+": 0.01, "Cl-": 0.01}, 0.01, 25.0), 3)
    1.414
    """
    medium = _medium(ionic_strength_m, temperature_c)
    carriers = [
        (amount * abs(ion.charge), ion, ion.limiting * _warmed(ion, temperature_c))
        for name, amount in amounts_m.items()
        if amount > 0.0 and (ion := IONS.get(name)) is not None
    ]
    met = {sign: _mean_met([c for c in carriers if c[1].charge * sign > 0]) for sign in (1, -1)}
    return sum(eq * _slowed(ion, free, met[-1 if ion.charge > 0 else 1], medium) for eq, ion, free in carriers)


def _medium(ionic_strength_m: float, temperature_c: float) -> _Medium:
    permittivity_kelvin = water_permittivity(temperature_c) * (temperature_c + KELVIN)
    poise = water_viscosity_mpa_s(temperature_c) / 100.0
    return _Medium(
        relaxation=2.801e6 / permittivity_kelvin**1.5,
        drag=41.25 / (poise * math.sqrt(permittivity_kelvin)),
        root_strength=math.sqrt(ionic_strength_m),
        per_angstrom=debye_hueckel(temperature_c)[1],
    )


def _warmed(ion: Ion, temperature_c: float) -> float:
    thinner = water_viscosity_mpa_s(25.0) / water_viscosity_mpa_s(temperature_c)
    return thinner * math.exp(ion.warming_k * (1.0 / (temperature_c + KELVIN) - 1.0 / 298.15))


def _mean_met(carriers: list[tuple[float, Ion, float]]) -> tuple[float, float]:
    """Mean charge and mean limiting conductivity of the ions of one sign, weighted by charge."""
    total = sum(eq for eq, _, _ in carriers)
    if total <= 0.0:
        return 1.0, 60.0
    charge = sum(eq * (ion.met_charge or abs(ion.charge)) for eq, ion, _ in carriers) / total
    return charge, sum(eq * free for eq, _, free in carriers) / total


def _slowed(ion: Ion, free: float, met: tuple[float, float], medium: _Medium) -> float:
    """Onsager's law for one ion against its mean counter-ion. [S cm²/eq]"""
    own = abs(ion.charge)
    other, other_free = min(met[0], MOST_CHARGE_PRODUCT / own), met[1]
    q = own * other / (own + other) * (free + other_free) / (own * other_free + other * free)
    relaxation = medium.relaxation * own * other * q / (1.0 + math.sqrt(q)) * free
    spread = medium.root_strength / (1.0 + medium.per_angstrom * ion.size_angstrom * medium.root_strength)
    return max(0.0, free - (relaxation + medium.drag * own) * spread)
