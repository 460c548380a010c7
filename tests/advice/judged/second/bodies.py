"""Waters that stand apart and mix with a lag: the tank, the channels and, at times, a corner that hardly moves.

What is dissolved is kept in millimoles, so that whatever flows to and fro, nothing is lost. CO2 leaves each water by
a transfer coefficient over its depth.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from tests.advice.judged.second.chemistry import ELEMENTS, Found, Totals, added, speciated

MIXED = 1e-3
"""Waters whose difference has fallen to this share of what it was are one. [-]"""


@dataclass
class Body:
    """One water: how much of it, what is in it, how quickly CO2 comes and goes."""

    litres: float
    mmol: dict[str, float]
    co2_per_h: float
    """k_L over depth. [1/h]"""

    @property
    def totals(self) -> dict[str, float]:
        """[mmol/L]"""
        return {e: self.mmol[e] / self.litres for e in ELEMENTS}

    def set_totals(self, totals: Totals) -> None:
        self.mmol = {e: totals.get(e, 0.0) * self.litres for e in ELEMENTS}

    def take(self, litres: float, totals: Totals) -> None:
        """So much of another water comes in."""
        self.litres += litres
        self.mmol = added((self.mmol, 1.0), (totals, litres))

    def lose(self, litres: float) -> None:
        """So much of it runs off."""
        self.mmol = added((self.mmol, 1.0 - litres / self.litres))
        self.litres -= litres


def co2_step(totals: Totals, found: Found, per_h: float, rest_atm: float, hours: float) -> dict[str, float]:
    """dC/dt = k_L/depth (C_sat - C) over some hours, C the dissolved CO2; C_sat by the engine's own Henry constant.

    Exact where all carbonate is CO2; elsewhere right for steps that are short against the half life.
    """
    saturated = found.co2_mmol_l * rest_atm / found.co2_atm if found.co2_atm > 0.0 else 0.0
    gained = (saturated - found.co2_mmol_l) * (1.0 - math.exp(-per_h * hours))
    return {**totals, "C(4)": max(totals["C(4)"] + gained, 1e-5)}


def exchange(one: Body, other: Body, l_per_min: float, minutes: float) -> float:
    """Two stirred waters between which a flow goes to and fro; the share of their difference that is left. [-]"""
    whole = one.litres + other.litres
    left = math.exp(-l_per_min * minutes * (1.0 / one.litres + 1.0 / other.litres))
    mixed = added((one.mmol, 1.0 / whole), (other.mmol, 1.0 / whole))
    for body in (one, other):
        body.set_totals(added((mixed, 1.0 - left), (body.totals, left)))
    return left


@dataclass
class Circuit:
    """Tank and channels that the pump keeps in exchange, and a dead corner where there is one."""

    tank: Body
    channels: Body
    l_per_min: float
    temperature_c: float
    rest_atm: float
    dead: Body | None = None
    dead_l_per_min: float = 0.0
    apart: float = 0.0
    """What is left of the difference between tank and channels. [-]"""

    @property
    def litres(self) -> float:
        """What circulates. [L]"""
        return self.tank.litres + self.channels.litres

    def mixed(self) -> dict[str, float]:
        """What circulates, as it is once it has mixed. [mmol/L]"""
        return added((self.tank.mmol, 1.0 / self.litres), (self.channels.mmol, 1.0 / self.litres))

    def pour(self, litres: float, totals: Totals) -> None:
        """Into the tank."""
        self.tank.take(litres, totals)
        self.apart = 1.0

    @property
    def co2_per_h(self) -> float:
        """Of the whole, once it has mixed. [1/h]"""
        share = self.tank.litres / self.litres
        return share * self.tank.co2_per_h + (1.0 - share) * self.channels.co2_per_h

    @property
    def step_min(self) -> float:
        """How long a step may be: short while it mixes, and against the half life of CO2. [min]"""
        quiet = min(60.0, 60.0 * 0.25 / self.co2_per_h)
        return min(4.0, quiet) if self.apart > 0.0 else quiet

    def advance(self, minutes: float) -> float:
        """One step on; the pH of the mixed water at its beginning."""
        hours = minutes / 60.0
        mixed = self.mixed()
        found = speciated(mixed, self.temperature_c)
        if self.apart == 0.0:
            self._make_one(co2_step(mixed, found, self.co2_per_h, self.rest_atm, hours))
        else:
            for body in (self.tank, self.channels):
                there = speciated(body.totals, self.temperature_c)
                body.set_totals(co2_step(body.totals, there, body.co2_per_h, self.rest_atm, hours))
            self.apart *= exchange(self.tank, self.channels, self.l_per_min, minutes)
            if self.apart < MIXED:
                self._make_one(self.mixed())
        if self.dead is not None:
            exchange(self.tank, self.dead, self.dead_l_per_min, minutes)
        return found.ph

    def _make_one(self, totals: Totals) -> None:
        self.apart = 0.0
        self.tank.set_totals(totals)
        self.channels.set_totals(totals)
