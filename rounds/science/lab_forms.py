"""What laboratories print, turned into ions: NO3 or NO3-N, P2O5, K2O, CaCO3, HCO3, degrees of hardness."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from rounds.errors import BadInput, OutOfRange
from rounds.science.atoms import molar_mass_g
from rounds.science.solution import Solution
from rounds.science.speciation import AnalysedWater, water_from_analysis

ALKALINITY = "alkalinity_meq_l"
HARDNESS = "hardness_mmol_l"
"""Calcium and magnesium together. [mmol/L]"""


@dataclass(frozen=True, slots=True)
class Form:
    """One way to print a quantity: what it stands for, and how much of that one mg/L (or one degree) is."""

    quantity: str
    per_unit: float
    """[mmol/L or meq/L, per mg/L or degree]"""


def _mg(quantity: str, formula: str, atoms: int = 1) -> Form:
    return Form(quantity, atoms / molar_mass_g(formula))


_CACO3 = molar_mass_g("CaCO3")
_GERMAN, _FRENCH, _ENGLISH, _US_GRAIN = 10.0 / molar_mass_g("CaO"), 10.0 / _CACO3, 14.254 / _CACO3, 17.118 / _CACO3

FORMS: Mapping[str, Form] = MappingProxyType({
    "NO3": _mg("no3", "NO3"), "NO3-N": _mg("no3", "N"),
    "NH4": _mg("nh4", "NH4"), "NH4-N": _mg("nh4", "N"),
    "PO4": _mg("po4", "PO4"), "P": _mg("po4", "P"), "P2O5": _mg("po4", "P2O5", 2),
    "SO4": _mg("so4", "SO4"), "S": _mg("so4", "S"),
    "K": _mg("k", "K"), "K2O": _mg("k", "K2O", 2),
    "Ca": _mg("ca", "Ca"), "CaO": _mg("ca", "CaO"),
    "Mg": _mg("mg", "Mg"), "MgO": _mg("mg", "MgO"),
    "Na": _mg("na", "Na"), "Cl": _mg("cl", "Cl"),
    "HCO3": _mg(ALKALINITY, "HCO3"), "alkalinity as CaCO3": _mg(ALKALINITY, "CaCO3", 2),
    "alkalinity in degrees KH": Form(ALKALINITY, 2.0 * _GERMAN), "alkalinity in meq/L": Form(ALKALINITY, 1.0),
    "hardness as CaCO3": Form(HARDNESS, 1.0 / _CACO3), "hardness in German degrees": Form(HARDNESS, _GERMAN),
    "hardness in French degrees": Form(HARDNESS, _FRENCH), "hardness in English degrees": Form(HARDNESS, _ENGLISH),
    "hardness in US grains": Form(HARDNESS, _US_GRAIN), "hardness in mmol/L": Form(HARDNESS, 1.0),
})  # fmt: skip
"""mg/L unless the name says otherwise. 1 German degree is 10 mg/L CaO, 1 French degree 10 mg/L CaCO3, 1 English
degree (Clark) 1 grain per imperial gallon, 14.254 mg/L, 1 US grain per gallon 17.118 mg/L CaCO3: definitions, from
memory.
"""

TWINS: Mapping[str, str] = MappingProxyType({
    "HCO3": "alkalinity as CaCO3", "alkalinity as CaCO3": "HCO3", "NO3": "NO3-N", "NO3-N": "NO3",
    "SO4": "S", "S": "SO4",
    "NH4": "NH4-N", "NH4-N": "NH4", "PO4": "P", "P": "PO4",
})  # fmt: skip
"""Forms that are taken for each other."""

MOST_PER_UNIT = 5000.0
WORST_BALANCE_PERCENT = 5.0


def from_lab(value: float, form: str) -> tuple[str, float]:
    """The quantity a printed value stands for, in this project's units.

    Parameters
    ----------
    value : float
        As printed, 0-5000. [mg/L unless the form says otherwise]
    form : str
        A name from FORMS.

    Returns
    -------
    tuple of str and float
        Name of the quantity (a total of `Solution`, ALKALINITY or HARDNESS) and its value. [mmol/L or meq/L]

    Raises
    ------
    BadInput
        Where the form is not known.
    OutOfRange
        Where the value is negative, absurd or not a number.

    Examples
    --------
    >>> name, value = from_lab(50.0, "alkalinity as CaCO3")
    >>> name, round(value, 2)
    ('alkalinity_meq_l', 1.0)
    """
    if form not in FORMS:
        raise BadInput(f"'{form}' is no laboratory form known here.", f"Expected one of {', '.join(FORMS)}.")
    if not 0.0 <= value <= MOST_PER_UNIT:
        raise OutOfRange(f"{form} of {value} is not believable.", f"Expected 0 to {MOST_PER_UNIT:g}.")
    return FORMS[form].quantity, value * FORMS[form].per_unit


def to_lab(value: float, form: str) -> float:
    """The reverse of `from_lab`: a quantity in mmol/L or meq/L as a laboratory prints it in that form.

    Examples
    --------
    >>> round(to_lab(1.0, "NO3-N"), 1)
    14.0
    """
    from_lab(0.0, form)
    return value / FORMS[form].per_unit


def water_from_lab(printed: Mapping[str, float], ph: float, temperature_c: float = 20.0) -> AnalysedWater:
    """A laboratory's sheet as a consistent solution, with the imbalance of its charges.

    Parameters
    ----------
    printed : mapping
        Value by form, as `{"Ca": 80.0, "HCO3": 244.0}`; alkalinity in one form must be among them.
    ph : float
        pH, 4-9.5. [-]
    temperature_c : float
        Temperature of the pH, 0-50. [degC]

    Raises
    ------
    BadInput
        Where a form is unknown, a quantity is given twice, alkalinity is missing, or hardness contradicts calcium and
        magnesium.

    Examples
    --------
    >>> water = water_from_lab({"Ca": 80.2, "HCO3": 244.1}, 7.5)
    >>> round(water.solution.ca, 2), round(water.solution.alkalinity_meq_l, 2)
    (2.0, 4.0)
    """
    totals = _totals(printed)
    if ALKALINITY not in totals:
        raise BadInput("The analysis has no alkalinity.", "Give HCO3, alkalinity as CaCO3, degrees KH or meq/L.")
    alkalinity, hardness = totals.pop(ALKALINITY), totals.pop(HARDNESS, None)
    if hardness is not None:
        _fit_hardness(totals, hardness)
    return water_from_analysis(Solution(**totals), alkalinity, ph, temperature_c)


def mixed_up_forms(printed: Mapping[str, float], ph: float) -> list[str]:
    """Sentences naming the form that was probably meant, where the charges do not balance and would with its twin.

    Examples
    --------
    >>> mixed_up_forms({"Ca": 80.2, "HCO3": 200.0}, 7.5)[0]
    'HCO3 of 200 looks like alkalinity as CaCO3: the charges would balance within 0 % instead of 20 %.'
    """
    now = abs(water_from_lab(printed, ph).imbalance_percent)
    if now <= WORST_BALANCE_PERCENT:
        return []
    found: list[str] = []
    for form in printed:
        other = _balance_with_twin(printed, form, ph)
        if other is not None and other <= WORST_BALANCE_PERCENT and other < now / 2.0:
            found.append(
                f"{form} of {printed[form]:g} looks like {TWINS[form]}: the charges would balance within "
                f"{other:.0f} % instead of {now:.0f} %."
            )
    return found


def _balance_with_twin(printed: Mapping[str, float], form: str, ph: float) -> float | None:
    twin = TWINS.get(form)
    if twin is None or twin in printed:
        return None
    swapped = {twin if name == form else name: value for name, value in printed.items()}
    try:
        return abs(water_from_lab(swapped, ph).imbalance_percent)
    except BadInput:
        return None


def _totals(printed: Mapping[str, float]) -> dict[str, float]:
    totals: dict[str, float] = {}
    for form, value in printed.items():
        quantity, amount = from_lab(value, form)
        if quantity in totals:
            raise BadInput(f"{form} gives {quantity} a second time.", "Keep one form of each.")
        totals[quantity] = amount
    return totals


def _fit_hardness(totals: dict[str, float], hardness_mmol_l: float) -> None:
    """Hardness fills in calcium or magnesium where one is missing, and is checked where both are there."""
    known = {name for name in ("ca", "mg") if name in totals}
    rest = hardness_mmol_l - sum(totals[name] for name in known)
    if known == {"ca", "mg"} or rest < -0.05 * hardness_mmol_l:
        if not abs(rest) <= 0.1 * hardness_mmol_l + 0.05:
            raise BadInput(
                f"Hardness of {hardness_mmol_l:.2f} mmol/L does not fit calcium and magnesium, "
                f"{hardness_mmol_l - rest:.2f} mmol/L.",
                "Check which degrees the laboratory prints, and whether calcium is given as Ca or CaCO3.",
            )
    elif known:
        totals["mg" if "ca" in known else "ca"] = max(0.0, rest)
    else:
        totals["ca"], totals["mg"] = 0.8 * hardness_mmol_l, 0.2 * hardness_mmol_l
