"""Water by PHREEQC (USGS): the pH, the CO2 and the conductivity that belong to what is dissolved.

What is dissolved is kept as totals of elements; acids and bases are nothing but the ions they bring, and the pH is
what makes the charges balance. Nitrate is an element of its own, with nitrate's activity and diffusion, so that it
cannot react with ammonium.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import phreeqc

ELEMENTS = ("Ca", "Mg", "K", "Na", "Amm", "Nit", "P", "S(6)", "Cl", "C(4)")
_LEAST_MMOL_L = 1e-7
_MORE = """
SOLUTION_MASTER_SPECIES
    Nit  Nit-   0 62.0049 62.0049
SOLUTION_SPECIES
    Nit- = Nit-
        -gamma 3 0
        -Vm 6.32 6.78 0 -3.06 0.346 0 0.93 0 -0.012 1
        -viscosity 8.37e-2 -0.458 1.54e-2 0.34 1.79e-2 5.02e-2 0.7381
        -dw 1.9e-9 104 1.11
SELECTED_OUTPUT 1
    -reset false
    -high_precision true
USER_PUNCH 1
    -headings ph co2 log_pco2 sc_us_cm nit carbonate
    10 PUNCH -LA("H+"), MOL("CO2"), SI("CO2(g)"), SC, TOT("Nit"), TOT("C(4)")
END
"""

Totals = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Found:
    """What the engine says of a water."""

    ph: float
    co2_mmol_l: float
    """Dissolved CO2 itself, not its bicarbonate."""
    co2_atm: float
    """The pressure that CO2 would be at rest with."""
    ec_ms_cm: float
    """At the temperature of the water; an EC meter shows that of 25 degC."""


class NoWater(ValueError):
    """The engine finds no such water."""


@cache
def _engine() -> phreeqc.Phreeqc:
    engine = phreeqc.Phreeqc()
    if engine.LoadBuiltInDatabase("Amm.dat") != 0 or engine.RunString(_MORE) != 0:
        raise NoWater(engine.GetErrorString())
    return engine


def _run(text: str) -> dict[str, float]:
    engine = _engine()
    if engine.RunString(text) != 0:
        raise NoWater(engine.GetErrorString())
    return {name: float(values[-1]) for name, values in engine.GetSelectedOutput().items()}


def _lines(totals: Totals, temperature_c: float, ph: str, without: tuple[str, ...] = ()) -> list[str]:
    lines = ["SOLUTION 1", f" temp {temperature_c!r}", " units mmol/kgw", f" pH {ph}"]
    return lines + [f" {e} {totals[e]!r}" for e in ELEMENTS if e not in without and totals.get(e, 0.0) > _LEAST_MMOL_L]


def speciated(totals: Totals, temperature_c: float) -> Found:
    """What these totals make of a litre: a closed water whose charges balance.

    Parameters
    ----------
    totals : mapping of float
        By element; a litre is taken as a kilogram of water. [mmol/L]
    temperature_c : float
        0 to 40. [degC]

    Raises
    ------
    NoWater
        Where no pH balances the charges.
    """
    found = _run("\n".join([*_lines(totals, temperature_c, "7 charge"), "END\n"]))
    return Found(found["ph"], 1000.0 * found["co2"], 10.0 ** found["log_pco2"], found["sc_us_cm"] / 1000.0)


def ec25(totals: Totals) -> float:
    """The conductivity at 25 degC. [mS/cm]"""
    return speciated(totals, 25.0).ec_ms_cm


def brought_to(totals: Totals, temperature_c: float, ph: float, co2_atm: float) -> dict[str, float]:
    """The same water with so much nitrate and CO2 as makes this pH under this pressure of CO2. [mmol/L]"""
    lines = _lines(totals, temperature_c, repr(ph), without=("Nit", "C(4)"))
    lines += [f" Nit {max(totals.get('Nit', 0.0), 0.1)!r} charge", f" C(4) 1 CO2(g) {math.log10(co2_atm)!r}", "END\n"]
    found = _run("\n".join(lines))
    if found["nit"] <= 0.0:
        raise NoWater(f"there is no nitrate left at pH {ph}")
    return {**totals, "Nit": 1000.0 * found["nit"], "C(4)": 1000.0 * found["carbonate"]}


def added(*parts: tuple[Totals, float]) -> dict[str, float]:
    """The sum of some totals, each times a factor."""
    return {e: sum(totals.get(e, 0.0) * times for totals, times in parts) for e in ELEMENTS}
