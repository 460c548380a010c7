"""Titration, jug and clock, bucket: worked by hand, held against published end points and the engine."""

from __future__ import annotations

import math
from typing import Any

import pytest

from rounds.errors import BadInput, OutOfRange
from rounds.science.acids_bases import agent_by_percent
from rounds.science.bucket_test import litres_by_rise, rise_by_bucket
from rounds.science.densities import table_density_kg_l
from rounds.science.repeated import flow_by_jug_l_min, furthest_off, mean_of
from rounds.science.solution import Solution
from rounds.science.titration import acid_needed_ml, alkalinity_titrated


@pytest.mark.parametrize(("caco3_mg_l", "end_ph"), [(30.0, 4.9), (150.0, 4.6), (500.0, 4.3)])
def test_the_end_points_of_the_standard_are_where_poured_acid_is_the_alkalinity(
    caco3_mg_l: float, end_ph: float
) -> None:
    """Standard Methods for the Examination of Water and Wastewater, 2320 B (from memory)."""
    meq_l = caco3_mg_l / 50.04
    found = alkalinity_titrated(meq_l / 1.324, 1.324, "nitric", 1.0, end_ph)
    assert found.meq_l == pytest.approx(meq_l, rel=0.01)


def test_a_well_of_4_6_takes_three_and_a_half_millilitres_of_nitric_8_percent() -> None:
    """0.08 x 1043 g/L / 63.01 g/mol = 1.324 mol/L; 4.6 / 1.324 = 3.47 mL. Density: the handbook's for 8 %."""
    density = table_density_kg_l("nitric", 8.0)
    mol_l = 80.0 * density / 63.013
    assert mol_l == pytest.approx(1.324, rel=0.002)
    assert agent_by_percent("nitric", 8.0, 1.043).mol_per_l == pytest.approx(mol_l, rel=0.002)
    assert acid_needed_ml(4.6, mol_l, "nitric", 1.0) == pytest.approx(3.5, abs=0.05)
    found = alkalinity_titrated(3.5, mol_l, "nitric", 1.0, 4.5)
    assert abs(found.meq_l - 4.6) < 0.05 and 0.1 < found.sd_meq_l < 0.25


@pytest.mark.parametrize("alkalinity", [0.5, 2.0, 4.6, 8.0])
@pytest.mark.parametrize("in_air", [False, True])
@pytest.mark.parametrize("kind", ["nitric", "phosphoric", "sulfuric"])
def test_the_engine_titrates_to_the_same_whether_the_co2_stays_or_goes(
    engine: Any, alkalinity: float, in_air: bool, kind: str
) -> None:
    water = Solution(ca=alkalinity / 2, carbonate=1.06 * alkalinity)
    agent = agent_by_percent(kind, 8.0, table_density_kg_l(kind, 8.0))
    mmol = engine.dose_mmol_l(water, agent, 4.5, 20.0, 4.2e-4 if in_air else None)
    found = alkalinity_titrated(mmol / agent.mol_per_l, agent.mol_per_l, kind, 1.0, 4.5, 0.0)
    assert found.meq_l == pytest.approx(alkalinity, rel=0.012, abs=0.01)
    assert abs(found.meq_l - alkalinity) < found.sd_meq_l


def test_a_reading_further_down_counts_the_acid_that_is_left_over() -> None:
    """10^-4 mol/L of hydrogen ions at an activity coefficient of 0.93 are 0.108 meq/L."""
    over = alkalinity_titrated(1.0, 1.0, "nitric", 1.0, 4.0)
    assert over.meq_l == pytest.approx(1.0 - 0.108, abs=0.005)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"acid_ml": 0.0}, "0 mL"), ({"acid_ml": -1.0}, "-1 mL"), ({"acid_ml": 101.0}, "101 mL"),
        ({"acid_ml": math.nan}, "nan"), ({"acid_mol_l": 15.2}, "15.2 mol/L"), ({"water_l": 0.0}, "0 L"),
        ({"ph": 6.0}, "6 pH"), ({"ph": 3.0}, "3 pH"), ({"kind": "citric"}, "citric"), ({"ph_sd": math.inf}, "inf"),
    ],
)  # fmt: skip
def test_what_is_no_titration_is_refused(change: dict[str, Any], said: str) -> None:
    usual = {"acid_ml": 3.5, "acid_mol_l": 1.32, "kind": "nitric", "water_l": 1.0, "ph": 4.5}
    with pytest.raises(BadInput, match=said):
        alkalinity_titrated(**usual | change)


def test_ten_litres_in_thirty_seconds_are_twenty_a_minute_and_three_make_a_spread() -> None:
    """20, 19 and 21: mean 20, sample deviation 1, of the mean 0.577, times 1.32 for so few; 2 % that all share."""
    assert flow_by_jug_l_min(10.0, 30.0) == 20.0
    found = mean_of([20.0, 19.0, 21.0])
    assert found.value == 20.0
    assert found.sd == pytest.approx(math.hypot(1.32 / math.sqrt(3.0), 0.4))


@pytest.mark.parametrize(
    "values", [[], [20.0], [20.0, 21.0], [20.0, 0.0, 21.0], [20.0, -1.0, 21.0], [20.0, math.nan, 21.0]]
)
def test_two_are_no_spread_nor_is_nothing(values: list[float]) -> None:
    with pytest.raises(BadInput):
        mean_of(values)


@pytest.mark.parametrize(
    ("values", "place"), [([20.0, 20.5, 31.0], 2), ([9.0, 20.0, 20.0], 0), ([18.0, 20.0, 22.0], None)]
)
def test_the_one_that_is_off_is_named(values: list[float], place: int | None) -> None:
    assert furthest_off(values) == place


@pytest.mark.parametrize(("litres", "seconds"), [(0.0, 30.0), (10.0, 0.0), (10.0, -3.0), (500.0, 10.0), (10.0, 5000.0)])
def test_no_such_jug(litres: float, seconds: float) -> None:
    with pytest.raises(OutOfRange):
        flow_by_jug_l_min(litres, seconds)


def test_two_millilitres_to_the_litre_that_raise_the_ec_by_0_8() -> None:
    """20 mL in 10 L are 2 mL/L: 0.8 / 2 = 0.4 mS/cm per mL/L."""
    found = rise_by_bucket(20.0, 10.0, 0.6, 1.4, 0.0)
    assert found.per_ml_l == pytest.approx(0.4)
    assert found.sd == pytest.approx(0.4 * math.hypot(0.015, 0.015))
    assert litres_by_rise(100.0, 0.4, 1.0, 1.4) == pytest.approx(100.0), "100 mL that raise it by 0.4 went into 100 L"


@pytest.mark.parametrize(("before", "after"), [(1.0, 1.0), (1.4, 1.0), (1.0, math.nan)])
def test_an_ec_that_does_not_rise_tells_no_litres(before: float, after: float) -> None:
    with pytest.raises(OutOfRange):
        litres_by_rise(100.0, 0.4, before, after)
