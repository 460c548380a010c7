"""The alkalinity of a water by pouring acid to pH 4.5: what was poured, less what the end point itself takes."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rounds.errors import BadInput, OutOfRange
from rounds.science.ranges import within

END_PH = 4.5
"""Where the acid is stopped: nearly all hydrogen carbonate is used up there, and little acid is left over. [-]"""
END_RANGE = (3.6, 4.9)
"""What a reading is worked out from; above, too much of the alkalinity is left, below, too much of it is acid. [-]"""
EQUIVALENTS = {"nitric": 1.0, "hydrochloric": 1.0, "sulfuric": 2.0, "phosphoric": 1.0}
"""Hydrogen ions that a mole gives at pH 4.5: phosphoric its first (pKa 2.15 and 7.2), sulfuric both. Citric acid
gives a share that hangs on the pH, so it is left out. [eq/mol]"""
_FIRST_PKA = 6.35
"""Of carbonic acid at 25 degC: Plummer and Busenberg 1982. [-]"""
_KEPT = 0.5
"""Share of the CO2 set free that is still in the water: with it the end points come out that Standard Methods 2320
gives (4.9, 4.6 and 4.3 for 30, 150 and 500 mg/L as CaCO3; from memory). [-]"""
_ACTIVE = 0.93
"""Activity coefficient of hydrogen ions at 5 mmol/L of ions. [-]"""
ACID_SD, WATER_SD, POURED_SD, POURED_SD_ML = 0.03, 0.015, 0.015, 0.03
"""Errors of the working acid's strength, the measured water, the syringe [shares], and of its mark [mL]: practice."""


@dataclass(frozen=True, slots=True)
class Alkalinity:
    """An alkalinity with its doubt."""

    meq_l: float
    sd_meq_l: float


def alkalinity_titrated(
    acid_ml: float, acid_mol_l: float, kind: str, water_l: float, ph: float, ph_sd: float = 0.05
) -> Alkalinity:
    """Alkalinity of a water that was brought to about pH 4.5 with an acid of known strength.

    Parameters
    ----------
    acid_ml : float
        Acid poured in all, above 0 up to a tenth of the water. [mL]
    acid_mol_l : float
        Its strength, 0.01-4: a working acid. [mol/L]
    kind : str
        A name from EQUIVALENTS.
    water_l : float
        The water that was measured out, 0.1-20. [L]
    ph : float
        What it shows in the end, 3.6-4.9. [-]
    ph_sd : float
        Error of that, 0-0.5. [-]

    Returns
    -------
    Alkalinity
        Never below 0. [meq/L]

    Raises
    ------
    BadInput
        For an acid by which nothing can be titrated.
    OutOfRange
        Outside these ranges.

    Examples
    --------
    >>> found = alkalinity_titrated(3.5, 1.324, "nitric", 1.0, 4.5)
    >>> round(found.meq_l, 2), round(found.sd_meq_l, 1)
    (4.63, 0.2)

    References
    ----------
    End points: Standard Methods for the Examination of Water and Wastewater, 2320 B.
    """
    if kind not in EQUIVALENTS:
        raise BadInput(f"Nothing is titrated with {kind} acid.", f"Use one of {', '.join(EQUIVALENTS)}.")
    within(acid_mol_l, 0.01, 4.0, "A working acid", "mol/L")
    within(water_l, 0.1, 20.0, "A water sample", "L")
    within(ph, *END_RANGE, "An end point", "pH")
    within(ph_sd, 0.0, 0.5, "An error of a pH", "")
    if not 0.0 < acid_ml <= 100.0 * water_l:
        raise OutOfRange(f"{acid_ml:g} mL of acid for {water_l:g} L cannot be.", "Expected above 0, up to a tenth.")
    poured = acid_ml * acid_mol_l * EQUIVALENTS[kind] / water_l
    free = 1000.0 * math.pow(10.0, -ph) / _ACTIVE * (1.0 + acid_ml / (1000.0 * water_l))
    left = _KEPT / (1.0 + math.pow(10.0, _FIRST_PKA - ph))
    found = max(poured - free, 0.0) / (1.0 - left)
    shares = math.hypot(ACID_SD, WATER_SD, POURED_SD, left / math.sqrt(3.0)) * poured
    by_ph = math.log(10.0) * ph_sd * (free + left * found)
    mark = POURED_SD_ML * acid_mol_l * EQUIVALENTS[kind] / water_l
    return Alkalinity(found, math.hypot(shares, by_ph, mark))


def acid_needed_ml(alkalinity_meq_l: float, acid_mol_l: float, kind: str, water_l: float) -> float:
    """About how much acid a titration will take, to say beforehand. [mL]

    Examples
    --------
    >>> round(acid_needed_ml(4.6, 1.324, "nitric", 1.0), 1)
    3.5
    """
    if kind not in EQUIVALENTS:
        raise BadInput(f"Nothing is titrated with {kind} acid.", f"Use one of {', '.join(EQUIVALENTS)}.")
    within(acid_mol_l, 0.01, 20.0, "An acid", "mol/L")
    return within(alkalinity_meq_l, 0.0, 100.0, "An alkalinity", "meq/L") * water_l / (acid_mol_l * EQUIVALENTS[kind])
