"""Waters known by drops, strips and a pen. Units by hand from their definitions; a full analysis is the truth."""

from __future__ import annotations

import pytest

from rounds.errors import OutOfRange
from rounds.science.water_told import (
    ToldWater,
    WaterTest,
    believed_water,
    exceeds,
    sodium_mg_l,
    what_does_not_add_up,
)


@pytest.mark.parametrize(
    ("unit", "meq_l"), [("dH", 0.357), ("fH", 0.200), ("eH", 0.285), ("gpg", 0.342), ("mg_l_caco3", 0.01998)]
)
def test_a_drop_is_worth_what_its_unit_says(unit, meq_l):
    # Definitions: 10 mg/L CaO, 10 mg/L CaCO3, 14.254 mg/L CaCO3, 17.118 mg/L CaCO3, all as two charges a mmol.
    assert WaterTest(value=1.0, unit=unit).meq_l == pytest.approx(meq_l, abs=0.0006 if unit != "mg_l_caco3" else 1e-5)


def test_a_strip_is_one_pad_off_and_its_lower_pad_is_the_lowest_believed():
    strip = WaterTest(value=10.0, unit="dH", by="strip", pad=4.0)
    assert strip.lowest_meq_l == pytest.approx(6.0 * 0.3566, rel=1e-3)
    assert strip.doubt > 3.0 * WaterTest(value=10.0, unit="dH").doubt


def test_a_hard_well_by_drops_and_a_pen_is_near_its_analysis():
    # An invented analysis whose charges balance: Ca 92, Mg 16, Na 14 mg/L, alkalinity 4.6 meq/L, EC 0.63 mS/cm.
    told = ToldWater(
        hardness=WaterTest(value=16.6, unit="dH"), alkalinity=WaterTest(value=12.9, unit="dH"), ec_ms_cm=0.63
    )
    found = believed_water(told)
    assert found.alkalinity_meq_l == pytest.approx(4.6, rel=0.02)
    assert found.ions.ca == pytest.approx(92 / 40.08, rel=0.1)
    assert found.ions.mg == pytest.approx(16 / 24.3, rel=0.15)
    assert found.ions.na == pytest.approx(14 / 22.99, abs=0.3)


def test_what_was_not_read_is_in_doubt_and_the_more_so_the_less_was_read():
    hard = WaterTest(value=15.0, unit="dH")
    told = [
        ToldWater(alkalinity=hard, ec_ms_cm=0.6), ToldWater(hardness=hard, ec_ms_cm=0.6), ToldWater(ec_ms_cm=0.6),
        ToldWater(),
    ]  # fmt: skip
    doubts = [believed_water(each).doubt for each in told]
    assert doubts == sorted(doubts) and doubts[0] < 0.1 < doubts[1]


def test_a_softened_line_is_taken_in_with_its_sodium():
    told = ToldWater(
        hardness=WaterTest(value=1.0, unit="dH"), alkalinity=WaterTest(value=12.0, unit="dH"), softener=True
    )
    # By hand: 4.28 meq/L of alkalinity less 0.36 of hardness leave 3.9 meq/L of sodium or more, 90 mg/L.
    assert 90.0 < sodium_mg_l(told) < 110.0
    assert believed_water(told).alkalinity_meq_l == pytest.approx(4.28, rel=0.01)


def test_charges_balance_in_what_is_believed():
    for told in (ToldWater(), ToldWater(ec_ms_cm=0.02), ToldWater(hardness=WaterTest(value=20.0, unit="fH"))):
        found = believed_water(told)
        assert found.ions.alkalinity_meq_l == pytest.approx(found.alkalinity_meq_l, abs=0.02)


def test_numbers_that_cannot_all_be_right_are_named():
    # The issue of a decimal point: 850 mg/L of calcium are 42 meq/L, and 0.55 mS/cm come from five or six.
    assert exceeds(850 / 20.04, 0.55) and not exceeds(85 / 20.04 + 1.3, 0.55)
    told = ToldWater(alkalinity=WaterTest(value=300.0, unit="mg_l_caco3"), ec_ms_cm=0.1)
    assert len(what_does_not_add_up(told)) == 1
    assert what_does_not_add_up(ToldWater(alkalinity=WaterTest(value=12.0, unit="dH"), ec_ms_cm=0.5)) == []


@pytest.mark.parametrize("value", [-1.0, 200.0, float("nan")])
def test_a_hardness_that_cannot_be_is_refused(value):
    with pytest.raises(OutOfRange, match="look at the unit"):
        WaterTest(value=value, unit="dH")
