"""One of the many reservoirs that are believable: what is true of it, and what its grower was told."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

MOLAR_G = {"nitric": 63.01, "phosphoric": 98.00, "sulfuric": 98.08, "potassium_hydroxide": 56.11,
           "potassium_carbonate": 138.21, "potassium_hydrogen_carbonate": 100.12}  # fmt: skip
BROUGHT = {"nitric": {"Nit": 1.0}, "phosphoric": {"P": 1.0}, "sulfuric": {"S(6)": 1.0},
           "potassium_hydroxide": {"K": 1.0}, "potassium_carbonate": {"K": 2.0, "C(4)": 1.0},
           "potassium_hydrogen_carbonate": {"K": 1.0, "C(4)": 1.0}}  # fmt: skip
LABELS = {"nitric": ((5.0, 1.026), (8.0, 1.043), (10.0, 1.054)), "phosphoric": ((8.0, 1.042), (10.0, 1.053)),
          "sulfuric": ((5.0, 1.032), (8.0, 1.052)), "potassium_hydroxide": ((5.0, 1.044), (8.0, 1.072)),
          "potassium_carbonate": ((5.0, 1.044), (10.0, 1.090)),
          "potassium_hydrogen_carbonate": ((8.0, 1.052), (10.0, 1.065))}  # fmt: skip
"""Per cent by mass and density at 20 degC, as handbooks print them. [%, kg/L]"""
ACIDS = ("nitric", "nitric", "phosphoric", "sulfuric")
BASES = ("potassium_hydroxide", "potassium_carbonate", "potassium_hydrogen_carbonate")
SALTS_A = {"calcium_nitrate_double_salt": 75.0, "potassium_nitrate": 20.0}
SALTS_B = {"potassium_nitrate": 30.0, "potassium_dihydrogen_phosphate": 20.4, "magnesium_sulfate_heptahydrate": 37.0}
"""Of the two concentrates, 10 mL of each to a litre. [g/L]"""
_SALT = {
    "calcium_nitrate_double_salt": (1080.7, {"Ca": 5.0, "Nit": 11.0, "Amm": 1.0}),
    "potassium_nitrate": (101.10, {"K": 1.0, "Nit": 1.0}),
    "potassium_dihydrogen_phosphate": (136.09, {"K": 1.0, "P": 1.0}),
    "magnesium_sulfate_heptahydrate": (246.47, {"Mg": 1.0, "S(6)": 1.0}),
}
AIR_ATM = 4.2e-4
BAND = (5.5, 6.1)
FACTOR = 2.0
"""The true alkalinity lies within so many times of the told. [-]"""


def concentrate(salts_g_l: dict[str, float]) -> dict[str, float]:
    """Totals of a litre of concentrate. [mmol/L]"""
    found: dict[str, float] = {}
    for name, grams in salts_g_l.items():
        mass, ions = _SALT[name]
        for element, number in ions.items():
            found[element] = found.get(element, 0.0) + number * 1000.0 * grams / mass
    return found


@dataclass(frozen=True, kw_only=True)
class Analysis:
    """A water as an analysis prints it: charges balance, hardness goes with alkalinity."""

    alkalinity_meq_l: float
    ph: float = 7.4
    chloride: float = 0.6
    sulfate: float = 0.4
    sodium: float = 0.5
    nitrate: float = 0.2

    @property
    def totals(self) -> dict[str, float]:
        """[mmol/L]"""
        hard = self.alkalinity_meq_l + self.chloride + 2.0 * self.sulfate + self.nitrate - self.sodium
        carbonate = self.alkalinity_meq_l * (1.0 + 10.0 ** (6.4 - self.ph))
        return {"Ca": 0.78 * hard / 2.0, "Mg": 0.22 * hard / 2.0, "Na": self.sodium, "Cl": self.chloride,
                "S(6)": self.sulfate, "Nit": self.nitrate, "C(4)": carbonate}  # fmt: skip


SOFT = Analysis(alkalinity_meq_l=0.1, ph=6.6, chloride=0.06, sulfate=0.02, sodium=0.06, nitrate=0.01)


@dataclass(frozen=True, kw_only=True)
class Bottle:
    """An acid or a base: what the label says, and what is in it."""

    agent: str
    percent: float
    density_kg_l: float
    times: float
    """True strength over that of the label. [-]"""
    by_molarity: bool
    """Whether the grower entered mol/L, and no per cent and density."""
    entered_times: float = 1.0
    """What was entered over what the label says: a slip. [-]"""

    @property
    def label_mol_l(self) -> float:
        """[mol/L]"""
        return 10.0 * self.percent * self.density_kg_l / MOLAR_G[self.agent]

    @property
    def litre(self) -> dict[str, float]:
        """What a litre really brings. [mmol]"""
        return {e: 1000.0 * n * self.label_mol_l * self.times for e, n in BROUGHT[self.agent].items()}


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """All of it. What ends in `_told` stands in the files."""

    rng: random.Random
    told_water: Analysis
    true_water: Analysis
    acid: Bottle
    base: Bottle
    working_l_told: float
    area_dm2_told: float
    area_times: float
    """True floor of the tank over the told one: the dip is out by as much. [-]"""
    channels_l_told: float
    channels_times: float
    pump_told: float
    exchange_l_min: float
    """What really goes to and fro between tank and channels. [L/min]"""
    feed_times: float
    temperature_c: float
    aerated: bool
    tank_cm_h: float
    """k_L of the tank. [cm/h]"""
    channels_cm_h: float
    rest_atm: float
    alkalinity_per_day: float
    eaten: float
    drunk: float
    tolerance_told: float
    meter_noise: float
    meter_offset: float
    meter_slope: float
    fresh: bool
    start_off: float
    """How far the pH is off its band; below 0 under it, 0 in it. [-]"""
    missing: float
    """Share of the working level. [-]"""
    ec_off: float
    """How far the conductivity is off its band. [mS/cm]"""
    dead_share: float = 0.0


def drawn(seed: int) -> Drawn:
    """A healthy one."""
    rng = random.Random(f"second make {seed}")
    told = Analysis(alkalinity_meq_l=math.exp(rng.uniform(math.log(0.3), math.log(5.0))))
    working = math.exp(rng.uniform(math.log(80.0), math.log(800.0)))
    depth_cm = rng.uniform(30.0, 55.0)
    channels = working * rng.uniform(0.06, 0.25)
    pump = (working + channels) / rng.uniform(8.0, 22.0)
    tolerance = rng.choice((0.05, 0.1, 0.1, 0.2))
    aerated = rng.random() < 0.6
    fresh = rng.random() < 0.3
    return Drawn(
        rng=rng, told_water=told,
        true_water=Analysis(alkalinity_meq_l=told.alkalinity_meq_l * FACTOR ** rng.uniform(-1.0, 1.0)),
        acid=_bottle(rng, rng.choice(ACIDS)), base=_bottle(rng, rng.choice(BASES)),
        working_l_told=round(working), area_dm2_told=10.0 * working / depth_cm, area_times=rng.uniform(0.87, 1.15),
        channels_l_told=round(channels, 1), channels_times=rng.uniform(0.75, 1.25), pump_told=round(pump, 1),
        exchange_l_min=pump * rng.uniform(0.3, 1.0), feed_times=rng.uniform(0.95, 1.05),
        temperature_c=rng.uniform(14.0, 26.0), aerated=aerated,
        tank_cm_h=math.exp(rng.uniform(*((math.log(5.0), math.log(20.0)) if aerated else (0.0, math.log(4.0))))),
        channels_cm_h=rng.uniform(1.0, 3.0), rest_atm=AIR_ATM * math.exp(rng.uniform(0.0, math.log(6.0))),
        alkalinity_per_day=_plants(rng), eaten=rng.uniform(0.01, 0.06), drunk=rng.uniform(0.01, 0.06),
        tolerance_told=tolerance, meter_noise=0.5 * tolerance * rng.uniform(0.6, 1.5),
        meter_offset=min(max(rng.gauss(0.0, 0.4 * tolerance), -tolerance), tolerance),
        meter_slope=rng.uniform(0.96, 1.0), fresh=fresh, start_off=_start(rng),
        missing=0.0 if fresh or rng.random() < 0.6 else rng.uniform(0.03, 0.25), ec_off=_ec_off(rng),
    )  # fmt: skip


def _bottle(rng: random.Random, agent: str) -> Bottle:
    percent, density = rng.choice(LABELS[agent])
    return Bottle(agent=agent, percent=percent, density_kg_l=density, times=rng.uniform(0.9, 1.1),
                  by_molarity=rng.random() < 0.5)  # fmt: skip


def _plants(rng: random.Random) -> float:
    """Three in four give off alkalinity, as plants on nitrate do. [meq/L/d]"""
    return rng.choice((1.0, 1.0, 1.0, -1.0)) * math.exp(rng.uniform(math.log(0.01), math.log(0.25)))


def _start(rng: random.Random) -> float:
    kind, off = rng.random(), rng.uniform(0.05, 0.9)
    return off if kind < 0.65 else -0.7 * off if kind < 0.9 else 0.0


def _ec_off(rng: random.Random) -> float:
    kind, off = rng.random(), rng.uniform(0.05, 0.5)
    return -off if kind < 0.25 else off if kind < 0.4 else 0.0
