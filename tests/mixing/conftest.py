"""PHREEQC fed with what is weighed and poured, so that tanks and change-outs are checked from outside."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

import pytest

phreeqc = pytest.importorskip("phreeqc")

from rounds.farm.farm import Farm  # noqa: E402
from rounds.farm.load import load_farm  # noqa: E402

NITRATE = """
SOLUTION_MASTER_SPECIES
    Nit  Nit-   0 62.0049 62.0049
SOLUTION_SPECIES
    Nit- = Nit-
        -gamma 3 0
        -dw 1.9e-9 104 1.11
SELECTED_OUTPUT 1
    -reset false
    -high_precision true
USER_PUNCH 1
    -headings ph sc
    10 PUNCH -LA("H+"), SC
END
"""
WELL = {"Ca": 70 / 40.078, "Mg": 14 / 24.305, "Na": 10 / 22.990, "Cl": 12 / 35.45, "S(6)": 20 / 96.06}
"""The well of the test farm. [mmol/L]"""
WELL_ALKALINITY, WELL_PH = 4.0, 7.5


class Tank:
    """A litre of the test farm's well water with salts and acid in it, as PHREEQC sees it."""

    def __init__(self) -> None:
        self._engine = phreeqc.Phreeqc()
        assert self._engine.LoadBuiltInDatabase("Amm.dat") == 0
        assert self._engine.RunString(NITRATE) == 0

    def state(
        self, added_mmol_l: Mapping[str, float], *, open_to_air: bool, temperature_c: float = 15.0,
        times_the_air: float = 1.0,
    ) -> dict[str, float]:  # fmt: skip
        """pH and conductivity [mS/cm at 25 °C] once everything is mixed in; CO2 of so many times outdoor air above."""
        ions = "\n".join(f" {name} {value!r}" for name, value in WELL.items())
        salts = "\n".join(f" {formula} {mmol / 1000.0!r}" for formula, mmol in added_mmol_l.items())
        text = (
            f"SOLUTION 1\n temp {temperature_c}\n units mmol/kgw\n pH {WELL_PH}\n"
            f" Alkalinity {WELL_ALKALINITY}\n{ions}\n"
            f"REACTION 1\n{salts}\n 1\n"
        )
        if open_to_air:
            text += f"EQUILIBRIUM_PHASES 1\n CO2(g) {-3.3768 + math.log10(times_the_air)!r} 10\n"
        errors = self._engine.RunString(text + "END\n")
        assert errors == 0, self._engine.GetErrorString()
        found = self._engine.GetSelectedOutput()
        at_25 = 1.0 + 0.0191 * (temperature_c - 25.0)
        return {"ph": found["ph"][-1], "ec_ms_cm": found["sc"][-1] / 1000.0 / at_25}


@pytest.fixture(scope="session")
def tank() -> Tank:
    return Tank()


@pytest.fixture
def farm(farm_folder: Path) -> Farm:
    return load_farm(farm_folder)


@pytest.fixture
def now() -> datetime:
    return datetime(2026, 11, 25, 7, 0, tzinfo=UTC)
