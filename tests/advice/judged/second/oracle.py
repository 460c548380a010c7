"""One who knows the truth: puts a reservoir right for a day in one go."""

from __future__ import annotations

import copy
from typing import TYPE_CHECKING

from tests.advice.judged.second.bodies import Circuit
from tests.advice.judged.second.chemistry import ec25

if TYPE_CHECKING:
    from tests.advice.judged.second.reservoir import Second

_DAY_MIN = 24.0 * 60.0
_AIM_IN_BAND = 0.6
_LEAST_MISSING = 0.03
_HALVINGS = 7
_MOST_MEQ_L = 1.5
_PROTONS = {"nitric": 1.0, "phosphoric": 1.0, "sulfuric": 2.0, "potassium_hydroxide": 1.0,
            "potassium_carbonate": 2.0, "potassium_hydrogen_carbonate": 1.0}  # fmt: skip


def morning(make: Second) -> bool:
    """Water, feed, then acid or base, exactly; whether anything was poured."""
    return any([_water(make), _feed(make), _ph(make)])


def _water(make: Second) -> bool:
    d, tank = make.drawn, make.circuit.tank
    dead = 0.0 if make.circuit.dead is None else make.circuit.dead.litres
    missing = d.working_l_told * d.area_times - tank.litres - dead
    if missing < _LEAST_MISSING * d.working_l_told:
        return False
    make.put_in("tap", missing)
    return True


def _feed(make: Second) -> bool:
    """Feeds where it is too thin now or by tomorrow; drains and thins where it is too strong."""
    low, high = make.ec_band
    aim, ec = low + _AIM_IN_BAND * (high - low), ec25(make.circuit.mixed())
    if ec > high:
        litres = make.circuit.litres * min(0.6, 1.0 - aim / ec)
        make.circuit.tank.lose(min(litres, 0.9 * make.circuit.tank.litres))
        make.put_in("tap", litres)
        return True
    if ec >= low and ec * (1.0 - make.plants.eaten_per_day + make.plants.drunk_per_day) >= low:
        return False
    litres = make.circuit.litres / 100.0 * max(aim - ec, 0.0) / 1.9
    make.put_in("a", litres)
    make.put_in("b", litres)
    return True


def _ph(make: Second) -> bool:
    low, high = make.band
    lowest, highest = _day(make, 0.0)
    if lowest >= low and highest <= high:
        return False
    middle = (low + high) / 2.0
    product = "acid" if (lowest + highest) / 2.0 > middle else "base"
    bottle = make.drawn.acid if product == "acid" else make.drawn.base
    meq = 1000.0 * bottle.label_mol_l * bottle.times * _PROTONS[bottle.agent]
    least, most = 0.0, _MOST_MEQ_L * make.circuit.litres / meq
    for _ in range(_HALVINGS):
        half = (least + most) / 2.0
        after = sum(_day(make, half, product)) / 2.0
        enough = after < middle if product == "acid" else after > middle
        least, most = (least, half) if enough else (half, most)
    make.put_in(product, most)
    return True


def _day(make: Second, litres: float, product: str = "acid") -> tuple[float, float]:
    """Lowest and highest pH of the day that would follow, in another reservoir just like it."""
    circuit: Circuit = make.circuit
    make.circuit = copy.deepcopy(circuit)
    kept = make.minute, make.lowest, make.highest, make.ph
    if litres > 0.0:
        bottle = make.drawn.acid if product == "acid" else make.drawn.base
        make.circuit.pour(litres, bottle.litre)
    make.circuit.apart = 0.0
    mixed = make.circuit.mixed()
    make.circuit.tank.set_totals(mixed)
    make.circuit.channels.set_totals(mixed)
    make.lowest, make.highest = 99.0, -99.0
    make.wait(_DAY_MIN)
    found = make.lowest, make.highest
    make.circuit = circuit
    make.minute, make.lowest, make.highest, make.ph = kept
    return found
