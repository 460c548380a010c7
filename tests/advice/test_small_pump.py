"""A pump that needs longer for three turnovers than any wait is a finding, not a correction that dies on its way."""

import pytest
from light_farm import MORNING, a_farm, buffer_dip, hard_water

from rounds.advice.correction import Readings, correct


@pytest.mark.parametrize(("l_min", "too_small"), [(4.0, False), (2.5, True), (20.0, False)])
def test_a_pump_that_takes_more_than_six_hours_is_named(l_min, too_small):
    """320 L three times over at 2.5 L/min: 384 minutes; at 4 L/min 240: arithmetic."""
    farm = a_farm(waters=(hard_water(),), pump_l_min=l_min)
    readings = Readings(at=MORNING, ph=6.4, ec_ms_cm=1.8, temperature_c=20.0, volume_l=300.0)
    found = correct(farm, [buffer_dip()], "r", readings, MORNING)
    assert ("pump-too-small" in {f.code for f in found.findings}) is too_small
