"""What really is in a reservoir of the sample farm; the grower in the story sees only the readings.

A small chemistry of its own, on purpose: the project's chemistry must not be judged by a story that it wrote itself,
and the story must not change whenever that chemistry gets better. One carbonate and one phosphate constant, fixed
conductivities with one correction, chosen so that doses come out within some percent of the full chemistry.

References
----------
Constants for about 20 degC and the strength of a feed, and the limiting conductivities of the ions: CRC Handbook, from
memory, rounded.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from rounds.farm.farm import Farm
from rounds.farm.model import Water
from rounds.farm.shelf import Acid, Base, Concentrate
from rounds.farm.stations import Reservoir

Ions = dict[str, float]
"""mmol/L by ion; carbonate is kept apart."""

CHARGES = {"no3": -1, "nh4": 1, "po4": -1, "so4": -2, "k": 1, "ca": 2, "mg": 2, "na": 1, "cl": -1}
PER_CHARGE = {
    "no3": 71.4, "nh4": 73.5, "po4": 34.0, "so4": 80.0, "k": 73.5, "ca": 59.5, "mg": 53.0, "na": 50.1, "cl": 76.3,
}  # fmt: skip
HYDROGEN_CARBONATE = 44.5
MASSES = {"ca": 40.078, "mg": 24.305, "na": 22.990, "k": 39.098, "cl": 35.45, "so4": 96.06, "no3": 62.004}
SALTS: Mapping[str, tuple[float, Ions]] = {
    "calcium_nitrate_double_salt": (1080.62, {"ca": 5, "nh4": 1, "no3": 11}),
    "potassium_nitrate": (101.10, {"k": 1, "no3": 1}),
    "potassium_dihydrogen_phosphate": (136.09, {"k": 1, "po4": 1}),
    "magnesium_sulfate_heptahydrate": (246.47, {"mg": 1, "so4": 1}),
    "potassium_sulfate": (174.26, {"k": 2, "so4": 1}),
}
AGENTS: Mapping[str, tuple[float, str]] = {
    "nitric": (63.01, "no3"), "phosphoric": (97.99, "po4"), "potassium_hydrogen_carbonate": (100.11, "k"),
}  # fmt: skip
CO2_M = 3.0 * 1.6e-5
"""Dissolved CO2, three times what the outdoor air holds up. [mol/L]"""
CARBONATE_K, PHOSPHATE_K = 10**-6.33, 10**-6.78
STRENGTH_OFF = 1.05
WANT = {"nh4": 1.25, "po4": 1.0, "k": 0.95, "ca": 0.6, "mg": 0.6, "so4": 0.5}
"""What the plants take of each ion against the feed: ammonium and phosphate first."""


def ions_of_water(water: Water) -> Ions:
    """The ions of an analysis. [mmol/L]"""
    return {ion: (getattr(water, f"{ion}_mg_l") or 0.0) / mass for ion, mass in MASSES.items()}


def ions_of_concentrate(product: Concentrate) -> Ions:
    """The ions of a concentrate, its traces aside. [mmol/L]"""
    found: Ions = {}
    for salt, grams in product.salts_g_l.items():
        mass, brings = SALTS.get(salt, (1.0, {}))
        for ion, count in brings.items():
            found[ion] = found.get(ion, 0.0) + 1000.0 * grams / mass * count
    return found


class Basin:
    """One reservoir with its channels: litres, ions, pH."""

    def __init__(self, farm: Farm, reservoir: Reservoir, acid: str) -> None:
        feed = farm.feeds[reservoir.feed]
        self.farm, self.reservoir, self.acid = farm, reservoir, acid
        self.water = farm.waters[reservoir.waters[0]]
        self.parts = {"a": feed.part_a, "b": feed.part_b}
        self.per_l = {"a": feed.a_ml_per_l, "b": feed.b_ml_per_l}
        self.outside_l = farm.outside_volume_l(reservoir)
        self.inside_l = reservoir.working_volume_l
        self.ions: Ions = dict.fromkeys(CHARGES, 0.0)
        self.ph = 7.0

    @property
    def whole_l(self) -> float:
        return self.inside_l + self.outside_l

    @property
    def alkalinity(self) -> float:
        """[meq/L]"""
        return sum(CHARGES[ion] * amount for ion, amount in self.ions.items())

    @property
    def water_alkalinity(self) -> float:
        """Of its usual water. [meq/L]"""
        return self.water.alkalinity_meq_l or 0.0

    def ec(self) -> float:
        """Conductivity at 25 °C. [mS/cm]"""
        carriers = {ion: abs(CHARGES[ion]) * amount for ion, amount in self.ions.items()}
        free = sum(PER_CHARGE[ion] * amount for ion, amount in carriers.items())
        carbonate = HYDROGEN_CARBONATE * CARBONATE_K * CO2_M * 1000.0 * 10**self.ph
        strength = sum(abs(CHARGES[ion]) * amount for ion, amount in carriers.items()) / 2000.0
        return (free + carbonate) / 1000.0 * (1.0 - STRENGTH_OFF * math.sqrt(strength))

    # ---------------------------------------------------------------------------------------- what is done to it

    def renew(self, ph: float) -> dict[str, float]:
        """Empty it, fill and feed it; the litres of water and millilitres of the rest."""
        self.inside_l = self.reservoir.working_volume_l
        doses = {"water": round(self.whole_l), **{part: round(self.per_l[part] * self.whole_l, -1) for part in "ab"}}
        self.ions = dict.fromkeys(CHARGES, 0.0) | ions_of_water(self.water)
        self._pour_parts(doses)
        doses["acid"] = self.acid_for(ph)
        self.pour_agent(self.acid, doses["acid"])
        self.rest()
        return doses

    def top_up(self, share: float = 1.0) -> dict[str, float]:
        """Fill it up to a share of its working volume with fed water, with acid where the water is hard."""
        litres = float(round(share * self.reservoir.working_volume_l - self.inside_l))
        strength = self.reservoir.top_up_strength * litres
        doses = {"water": litres, **{part: round(self.per_l[part] * strength, -1) for part in "ab"}}
        self._mix_in(ions_of_water(self.water), litres)
        self.inside_l += litres
        self._pour_parts(doses)
        neutralised = 0.9 * self.water_alkalinity * litres / self.strength(self.acid)
        doses["acid"] = measured(neutralised) if self.water_alkalinity > 0.5 else 0.0
        self.pour_agent(self.acid, doses["acid"])
        return doses

    def feed(self, ec_missing: float) -> dict[str, float]:
        """Bring the conductivity up with both concentrates."""
        share = min(ec_missing, 0.3) / 1.6
        doses = {part: round(self.per_l[part] * share * self.whole_l, -1) for part in "ab"}
        self._pour_parts(doses)
        return doses

    def pour_agent(self, product_id: str, ml: float) -> None:
        """Pour a working acid or base."""
        ion = AGENTS[self._agent(product_id).agent][1]
        self.ions[ion] += self.strength(product_id) * ml / self.whole_l

    def acid_for(self, ph: float) -> float:
        """Millilitres of its acid to a pH at rest, as a cylinder measures them."""
        return measured(max(0.0, self.alkalinity - self._alkalinity_at(ph)) * self.whole_l / self.strength(self.acid))

    def base_for(self, ph: float, product_id: str) -> float:
        """Millilitres of a base to a pH at rest."""
        need = max(0.0, self._alkalinity_at(ph) - self.alkalinity)
        return measured(need * self.whole_l / self.strength(product_id))

    def drink(self, litres: float, ph: float) -> None:
        """A day of the plants: water, ions, and as much nitrate as moves the pH where it goes."""
        before, self.inside_l = self.whole_l, self.inside_l - litres
        full = {ion: sum(self._part(p).get(ion, 0.0) * self.per_l[p] for p in "ab") / 1000.0 for ion in WANT}
        for ion, amount in self.ions.items():
            taken = min(0.88 * amount * before, 0.8 * litres * WANT.get(ion, 0.0) * full.get(ion, 0.0))
            self.ions[ion] = (amount * before - taken) / self.whole_l
        self.ions["no3"] = max(0.3, self.ions["no3"] + self.alkalinity - self._alkalinity_at(ph))
        self.ph = ph

    # --------------------------------------------------------------------------------------------- how it answers

    def rest(self) -> None:
        """Take the pH it has once its CO2 is as usual."""
        self.ph = _root(lambda ph: self._alkalinity_at(ph) - self.alkalinity)

    def ph_an_hour_after(self, alkalinity_before: float, ph_before: float) -> float:
        """The pH when half of the CO2 that a dose set free has left."""
        carbonate = (CO2_M + CARBONATE_K * CO2_M * 10**ph_before) * 1000.0 + self.water_alkalinity * 0.05
        closed = _root(lambda ph: carbonate * _share(ph, CARBONATE_K) + self._phosphate_at(ph) - self.alkalinity)
        at_rest = _root(lambda ph: self._alkalinity_at(ph) - self.alkalinity)
        return min(at_rest, (closed + at_rest) / 2) if self.alkalinity < alkalinity_before else at_rest

    def strength(self, product_id: str) -> float:
        """Of a working acid or base. [mol/L]"""
        product = self._agent(product_id)
        return (product.percent or 0.0) * 10.0 * (product.density_kg_l or 1.0) / AGENTS[product.agent][0]

    def _alkalinity_at(self, ph: float) -> float:
        return CARBONATE_K * CO2_M * 10**ph * 1000.0 + self._phosphate_at(ph)

    def _phosphate_at(self, ph: float) -> float:
        return self.ions["po4"] * _share(ph, PHOSPHATE_K)

    def _pour_parts(self, doses: Mapping[str, float]) -> None:
        for part in "ab":
            self._mix_in(self._part(part), doses[part] / 1000.0)

    def _mix_in(self, ions: Ions, litres: float) -> None:
        whole = self.whole_l + litres
        self.ions = {i: (c * self.whole_l + ions.get(i, 0.0) * litres) / whole for i, c in self.ions.items()}

    def _part(self, part: str) -> Ions:
        product = self.farm.shelf[self.parts[part]]
        assert isinstance(product, Concentrate)
        return ions_of_concentrate(product)

    def _agent(self, product_id: str) -> Acid | Base:
        product = self.farm.shelf[product_id]
        assert isinstance(product, Acid | Base)
        return product


def measured(ml: float) -> float:
    """An amount as a measuring cylinder shows it. [mL]"""
    return float(round(ml / 5) * 5 if ml < 250 else round(ml, -1))


def _share(ph: float, constant: float) -> float:
    return constant / (constant + 10**-ph)


def _root(rising: Callable[[float], float]) -> float:
    low, high = 3.0, 9.5
    for _ in range(30):
        middle = (low + high) / 2
        low, high = (middle, high) if rising(middle) < 0 else (low, middle)
    return (low + high) / 2
