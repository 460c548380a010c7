"""PHREEQC as the outside truth for water chemistry, and random waters and feeds to hold against it.

Traps of the engine, met here once for all: ammonium is `Amm` (database Amm.dat), so that it cannot react with nitrate
to N2; nitrate and whatever else is inert are elements of their own with nitrate's activity and diffusion; a wanted pH
is a `Fix_H+` phase fed with the acid or base, water of the bottle included; every run's warnings are read.
"""

from __future__ import annotations

import math
import random

import pytest

phreeqc = pytest.importorskip("phreeqc")

from rounds.science.acids_bases import Agent  # noqa: E402
from rounds.science.solution import Solution  # noqa: E402

_MORE = """
SOLUTION_MASTER_SPECIES
    Nit  Nit-   0 62.0049 62.0049
    Ine  Ine+   0 1.0 1.0
    Cit  Cit-3  2 189.1 189.1
SOLUTION_SPECIES
    Nit- = Nit-
        -gamma 3 0
        -Vm 6.32 6.78 0 -3.06 0.346 0 0.93 0 -0.012 1
        -viscosity 8.37e-2 -0.458 1.54e-2 0.34 1.79e-2 5.02e-2 0.7381
        -dw 1.9e-9 104 1.11
    Ine+ = Ine+
        -gamma 3 0
        -dw 1.5e-9
    Cit-3 = Cit-3
        -dw 0.6e-9
    Cit-3 + H+ = HCit-2
        -log_k 6.396
        -delta_h 3.3472 kJ
    Cit-3 + 2 H+ = H2Cit-
        -log_k 11.157
        -delta_h 1.297 kJ
    Cit-3 + 3 H+ = H3Cit
        -log_k 14.285
        -delta_h -2.7614 kJ
    Ca+2 + Cit-3 = CaCit-
        -log_k 4.87
        -delta_h -8.368 kJ
    Ca+2 + Cit-3 + H+ = CaHCit
        -log_k 9.26
        -delta_h -0.8368 kJ
    Ca+2 + Cit-3 + 2 H+ = CaH2Cit+
        -log_k 12.257
    Mg+2 + Cit-3 = MgCit-
        -log_k 4.89
        -delta_h 8.368 kJ
    Mg+2 + Cit-3 + H+ = MgHCit
        -log_k 8.91
        -delta_h 3.3472 kJ
    Mg+2 + Cit-3 + 2 H+ = MgH2Cit+
        -log_k 12.2
    K+ + Cit-3 = KCit-2
        -log_k 1.1
        -delta_h 5.4392 kJ
    Na+ + Cit-3 = NaCit-2
        -log_k 1.03
        -delta_h -2.8033 kJ
PHASES
    Fix_H+
        H+ = H+
        log_k 0
    Brushite
        CaHPO4:2H2O = Ca+2 + H+ + PO4-3 + 2 H2O
        log_k -18.995
        delta_h 23 kJ
SELECTED_OUTPUT 1
    -reset false
    -high_precision true
USER_PUNCH 1
    -headings ph sc_us_cm left si_gypsum si_calcite si_brushite log_pco2 dic ionic
    10 PUNCH -LA("H+"), SC, EQUI("Fix_H+"), SI("Gypsum"), SI("Calcite"), SI("Brushite"), SI("CO2(g)"), TOT("C(4)"), MU
END
"""

_ELEMENT = {"ca": "Ca", "mg": "Mg", "k": "K", "na": "Na", "nh4": "Amm", "no3": "Nit", "po4": "P", "so4": "S(6)",
            "cl": "Cl", "carbonate": "C(4)", "citrate": "Cit"}  # fmt: skip

_FORMULA = {"nitric": "HNit", "phosphoric": "H3PO4", "sulfuric": "H2SO4", "hydrochloric": "HCl", "citric": "H3Cit",
            "potassium_hydroxide": "KOH", "potassium_carbonate": "K2CO3",
            "potassium_hydrogen_carbonate": "KHCO3"}  # fmt: skip

WATER_MOL_PER_KG = 55.50837


class Engine:
    """PHREEQC with one of its databases; mmol/L is taken as mmol/kg water, which differs by 0.2-0.3 %."""

    def __init__(self, database: str = "Amm.dat") -> None:
        self._phreeqc = phreeqc.Phreeqc()
        assert self._phreeqc.LoadBuiltInDatabase(database) == 0
        self._run(_MORE)

    def _run(self, text: str) -> dict[str, list[float]]:
        errors = self._phreeqc.RunString(text)
        assert errors == 0, self._phreeqc.GetErrorString()
        assert "not known" not in self._phreeqc.GetWarningString(), self._phreeqc.GetWarningString()
        assert "does not exist" not in self._phreeqc.GetWarningString(), self._phreeqc.GetWarningString()
        return self._phreeqc.GetSelectedOutput()

    @staticmethod
    def _solution(s: Solution, temperature_c: float, ph: float | None = None) -> str:
        lines = [f"SOLUTION 1\n temp {temperature_c!r}\n units mmol/kgw"]
        lines.append(" pH 7 charge" if ph is None else f" pH {ph!r}")
        lines += [f" {element} {getattr(s, name)!r}" for name, element in _ELEMENT.items() if getattr(s, name) > 0.0]
        if s.inert_meq_l > 0.0:
            lines.append(f" Ine {s.inert_meq_l!r}")
        if s.inert_meq_l < 0.0:
            assert s.no3 == 0.0, "put a negative inert charge into no3 for the engine"
            lines.append(f" Nit {-s.inert_meq_l!r}")
        return "\n".join(lines) + "\n"

    def state(self, s: Solution, temperature_c: float, ph: float | None = None) -> dict[str, float]:
        """pH by charge balance (or as given), conductivity, saturation indices, of a closed solution."""
        found = self._run(self._solution(s, temperature_c, ph) + "END\n")
        return {name: values[-1] for name, values in found.items()}

    def ph_open(self, s: Solution, temperature_c: float, pco2_atm: float) -> float:
        text = self._solution(s, temperature_c)
        text += f"EQUILIBRIUM_PHASES 1\n CO2(g) {math.log10(pco2_atm)!r} 10\nEND\n"
        return float(self._run(text)["ph"][-1])

    def dose_mmol_l(
        self, s: Solution, agent: Agent, target_ph: float, temperature_c: float, pco2_atm: float | None = None
    ) -> float:
        """mmol of the acid or base, poured with its own water, that bring a litre to the target."""
        bottle = f"{_FORMULA[agent.kind.name]}(H2O){WATER_MOL_PER_KG / agent.mol_per_l!r}"
        text = self._solution(s, temperature_c)
        text += f"EQUILIBRIUM_PHASES 1\n Fix_H+ {-target_ph!r} {bottle} 1\n"
        if pco2_atm is not None:
            text += f" CO2(g) {math.log10(pco2_atm)!r} 10\n"
        found = self._run(text + "END\n")
        assert abs(found["ph"][-1] - target_ph) < 1e-6
        return (1.0 - float(found["left"][-1])) * 1000.0


@pytest.fixture(scope="session")
def engine() -> Engine:
    return Engine()


@pytest.fixture(scope="session")
def wateq4f() -> Engine:
    """The same engine with the constants of J. W. Ball and D. K. Nordstrom (USGS); it knows no ammonium of our kind."""
    return Engine("wateq4f.dat")


class Waters:
    """Random waters and feeds: alkalinity 0-6 meq/L, feed strength 0-1.5, 10-30 degC, CO2 1-10 times the air's."""

    def __init__(self, seed: int) -> None:
        self._random = random.Random(seed)

    def temperature_c(self) -> float:
        return self._random.uniform(10.0, 30.0)

    def between(self, low: float, high: float) -> float:
        return self._random.uniform(low, high)

    def one_of(self, items: list[str]) -> str:
        return self._random.choice(items)

    def water(self) -> Solution:
        alkalinity = self._random.uniform(0.0, 6.0)
        hard = self._random.uniform(0.3, 1.2) * alkalinity + 0.02
        chloride, sulfate = self._random.uniform(0.01, 2.0), self._random.uniform(0.01, 1.0)
        share = self._random.uniform(0.5, 0.9)
        charge = alkalinity + chloride + 2.0 * sulfate - hard
        return Solution(
            ca=hard * share / 2.0, mg=hard * (1.0 - share) / 2.0, cl=chloride + max(0.0, -charge), so4=sulfate,
            na=max(0.0, charge), carbonate=alkalinity + self._random.uniform(0.01, 0.4),
        )  # fmt: skip

    def feed(self) -> Solution:
        """A recipe around those of check-books of the trade, its ions each varied by a third."""
        vary = lambda value: value * self._random.uniform(0.67, 1.33)  # noqa: E731
        ca, mg, po4, so4, nh4 = vary(4.0), vary(1.7), vary(1.1), vary(1.8), vary(0.9)
        k = max(0.0, vary(6.0))
        no3 = 2.0 * ca + 2.0 * mg + k + nh4 - po4 - 2.0 * so4
        return Solution(ca=ca, mg=mg, k=k, nh4=nh4, po4=po4, so4=so4, no3=no3)

    def reservoir(self) -> Solution:
        return self.water().plus(self.feed().scaled(self._random.uniform(0.0, 1.5)))


@pytest.fixture
def waters() -> type[Waters]:
    return Waters
