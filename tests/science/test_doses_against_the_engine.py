"""Doses, pH and conductivity against PHREEQC (USGS, public domain), on random waters, feeds and temperatures.

The engine shares its constants with ours (both are those of Amm.dat), so that this checks the solver, the ion pairs,
the activities and the dilution by the bottle's water; the published rows in `test_published_acid_rows.py` check the
rest.
Left out are only targets closer than 0.05 pH to where the solution is, and what would take more than a tenth of the
volume of a weak bottle, which is refused.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import pytest

from rounds.errors import Refused
from rounds.science.acids_bases import KINDS, agent_by_molarity
from rounds.science.conductivity import ec25_ms_cm
from rounds.science.dosing import dose_for_ph
from rounds.science.solution import Solution
from rounds.science.speciation import aired, pco2_atm, ph_closed, ph_open

CLOSEST_PH = 0.05


@dataclass(frozen=True)
class Compared:
    ours: float
    engine: float
    case: str

    @property
    def off(self) -> float:
        return abs(self.ours / self.engine - 1.0)


def quantile(values: list[float], share: float) -> float:
    return sorted(values)[min(len(values) - 1, int(share * len(values)))]


def compared_doses(engine, source, count: int) -> list[Compared]:
    found: list[Compared] = []
    for number in range(100 * count):
        if len(found) == count:
            break
        one = _one_dose(engine, source, list(KINDS)[number % len(KINDS)])
        if one is not None:
            found.append(one)
    assert len(found) == count
    return found


def _one_dose(engine, source, kind: str) -> Compared | None:
    """One random reservoir, CO2 between once and ten times the air's or whatever is dissolved, brought to a target."""
    solution, temperature_c = source.reservoir(), source.temperature_c()
    if source.between(0.0, 1.0) < 0.5:
        solution = aired(solution, temperature_c, 4.2e-4 * 10.0 ** source.between(0.0, 1.0))
    agent = agent_by_molarity(kind, source.between(0.3, 2.0))
    start = engine.state(solution, temperature_c)["ph"]
    low, high = (4.0, min(8.0, start - CLOSEST_PH)) if agent.kind.is_acid else (max(4.0, start + CLOSEST_PH), 8.0)
    if low >= high:
        return None
    target = source.between(low, high)
    in_open_air = source.between(0.0, 1.0) < 0.2 and agent.kind.is_acid
    pressure = 4.2e-4 * 10.0 ** source.between(0.0, 1.0) if in_open_air else None
    try:
        ours = dose_for_ph(solution, target, agent, temperature_c, 1.0, pressure) * agent.mol_per_l
    except Refused:
        return None
    engines = engine.dose_mmol_l(solution, agent, target, temperature_c, pressure)
    return Compared(ours, engines, f"{kind} {start:.2f} to {target:.2f} at {temperature_c:.1f}, {pressure}, {solution}")


def report(found: list[Compared]) -> str:
    off = [100.0 * c.off for c in found]
    worst = max(found, key=lambda c: c.off)
    return (
        f"n {len(found)}: median {quantile(off, 0.5):.3f} %, 95th {quantile(off, 0.95):.3f} %, "
        f"worst {max(off):.3f} % ({worst.case})"
    )


def check_doses(found: list[Compared]) -> None:
    off = [c.off for c in found]
    print(report(found))
    assert quantile(off, 0.95) < 0.01, report(found)
    assert max(off) < 0.025, report(found)


def test_sixty_doses_agree_with_the_engine_within_a_percent(engine, waters):
    check_doses(compared_doses(engine, waters(20261), 64))


@pytest.mark.long
def test_a_thousand_doses_agree_with_the_engine_within_a_percent(engine, waters):
    found = compared_doses(engine, waters(7), 1000)
    for kind in KINDS:
        print(kind, report([c for c in found if c.case.startswith(f"{kind} ")]))
    check_doses(found)


def test_doses_agree_with_constants_collected_by_others(wateq4f, waters):
    """Another database, so that here the constants count too: they differ more than the solvers do.

    Measured on 300: median 0.4 %, 95th percentile 1.9 %, worst 3.7 %. With MINTEQ's constants it is 3.4 and 7.4 %, with
    LLNL's 4.1 and 9.7 %: what no calculation of this kind can promise to be below.
    """
    source, off = waters(3), []
    while len(off) < 60:
        solution, temperature_c = dataclasses.replace(source.reservoir(), nh4=0.0), source.temperature_c()
        start = wateq4f.state(solution, temperature_c)["ph"]
        if start > 5.3:
            agent = agent_by_molarity(["nitric", "phosphoric", "sulfuric"][len(off) % 3], 1.0)
            target = source.between(5.0, min(6.8, start - 0.2))
            ours = dose_for_ph(solution, target, agent, temperature_c, 1.0)
            off.append(abs(ours / wateq4f.dose_mmol_l(solution, agent, target, temperature_c) - 1.0))
    print(f"wateq4f: median {quantile(off, 0.5):.4f}, 95th {quantile(off, 0.95):.4f}, worst {max(off):.4f}")
    assert quantile(off, 0.5) < 0.01
    assert quantile(off, 0.95) < 0.025


def check_ph(engine, source, count: int) -> None:
    closed, opened = [], []
    for _ in range(count):
        solution, temperature_c = source.reservoir(), source.temperature_c()
        pressure = 4.2e-4 * 10.0 ** source.between(0.0, 1.0)
        closed.append(abs(ph_closed(solution, temperature_c) - engine.state(solution, temperature_c)["ph"]))
        opened.append(
            abs(ph_open(solution, temperature_c, pressure) - engine.ph_open(solution, temperature_c, pressure))
        )
    print(f"pH closed: worst {max(closed):.4f}; open: worst {max(opened):.4f}")
    assert max(closed) < 0.005
    assert max(opened) < 0.005


def test_ph_closed_and_open_agree_with_the_engine(engine, waters):
    check_ph(engine, waters(3), 40)


@pytest.mark.long
def test_ph_of_five_hundred_reservoirs_agrees_with_the_engine(engine, waters):
    check_ph(engine, waters(4), 500)


def test_the_co2_pressure_of_a_water_agrees_with_the_engine(engine, waters):
    source = waters(5)
    for _ in range(20):
        water, temperature_c = source.water(), source.temperature_c()
        expected = 10.0 ** engine.state(water, temperature_c)["log_pco2"]
        assert pco2_atm(water, temperature_c) == pytest.approx(expected, rel=0.01)


def compared_conductivity(engine, source, count: int) -> list[Compared]:
    found: list[Compared] = []
    while len(found) < count:
        solution = source.reservoir()
        expected = engine.state(solution, 25.0)["sc_us_cm"] / 1000.0
        if 0.3 <= expected <= 4.0:
            found.append(Compared(ec25_ms_cm(solution), expected, f"{solution}"))
    return found


def check_conductivity(found: list[Compared]) -> None:
    print(report(found))
    assert quantile([c.off for c in found], 0.95) < 0.03, report(found)
    assert abs(quantile([c.ours / c.engine - 1.0 for c in found], 0.5)) < 0.01, report(found)


def test_conductivity_agrees_with_the_engine_within_three_percent(engine, waters):
    check_conductivity(compared_conductivity(engine, waters(11), 80))


@pytest.mark.long
def test_conductivity_of_a_thousand_reservoirs_agrees_with_the_engine(engine, waters):
    check_conductivity(compared_conductivity(engine, waters(12), 1000))


def test_ions_in_very_thin_mixtures_carry_what_they_carry_alone(engine):
    """F. Kohlrausch's law of independent migration holds in any thin mixture.

    PHREEQC 3.8.6 breaks it (it puts this mixture more than 3 % above its parts), which is why waters with sulfate and
    hydrogen carbonate differ from it by up to 5 %. Should a later engine keep the law, narrow the bounds above.
    """
    one, other = Solution(na=0.1, carbonate=0.1), Solution(na=0.1, so4=0.05)
    both = Solution(na=0.2, carbonate=0.1, so4=0.05)
    water = ec25_ms_cm(Solution(), 7.5)
    parts = ec25_ms_cm(one, 7.5) + ec25_ms_cm(other, 7.5) - 2.0 * water
    assert ec25_ms_cm(both, 7.5) - water == pytest.approx(parts, rel=0.006)
    engines = [engine.state(s, 25.0, 7.5)["sc_us_cm"] for s in (one, other, both)]
    assert engines[2] > 1.03 * (engines[0] + engines[1])
