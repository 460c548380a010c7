"""Where an acid or base goes: what each buffer of a solution takes up between two pH."""

from __future__ import annotations

from rounds.science.constants import FORMED
from rounds.science.solution import Solution
from rounds.science.speciation import Speciation, speciate

PARTS = ("carbonate", "phosphate", "ammonia", "sulfate", "citrate", "water")
_PART_OF = {"carbonate": "carbonate", "po4": "phosphate", "so4": "sulfate", "citrate": "citrate"}


def demand_parts_meq_l(solution: Solution, from_ph: float, to_ph: float, temperature_c: float) -> dict[str, float]:
    """Strong acid that each buffer takes up on the way from one pH to another, all CO2 kept in.

    Parameters
    ----------
    solution : Solution
        Totals. [mmol/L]
    from_ph, to_ph : float
        pH, 1-12.5. [-]
    temperature_c : float
        Temperature, 0-50. [degC]

    Returns
    -------
    dict of str to float
        Acid by PARTS, below 0 where base is needed; `water` is the free H+ and OH-. Together they are the whole
        demand, since every hydrogen ion that comes in is bound by one of them. [meq/L]

    Raises
    ------
    OutOfRange
        Where pH or temperature is outside the range.

    Examples
    --------
    >>> parts = demand_parts_meq_l(Solution(na=2.0, carbonate=2.13), 7.5, 5.8, 25.0)
    >>> round(parts["carbonate"], 2), round(parts["phosphate"], 2)
    (1.52, 0.0)
    """
    before = _bound(speciate(solution, from_ph, temperature_c))
    after = _bound(speciate(solution, to_ph, temperature_c))
    return {part: after[part] - before[part] for part in PARTS}


def _bound(found: Speciation) -> dict[str, float]:
    """Hydrogen ions held by each buffer, OH- and NH3 counting as one given away. [mmol/L]"""
    held = dict.fromkeys(PARTS, 0.0)
    held["water"] = found.species_mmol_l["H+"]
    for species in FORMED:
        part = "ammonia" if species.name == "NH3" else _PART_OF.get(species.anion or "", "water")
        held[part] += species.protons * found.species_mmol_l.get(species.name, 0.0)
    return held
