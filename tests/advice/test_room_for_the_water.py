"""What a reservoir still takes: when the pump stops, the water of pipes and channels runs back into it."""

from __future__ import annotations

import pytest
from light_farm import MORNING, a_farm, buffer_dip

from rounds.advice.correction import correct
from rounds.book.offer import Readings


def poured_l(dip_cm: float, ec: float, **farm: float) -> tuple[float, float]:
    """Litres drained off and filled in by the correction of the light farm (6 L a centimetre, full at 60 cm)."""
    readings = Readings(at=MORNING, ph=5.8, ec_ms_cm=ec, temperature_c=20.0, dip_cm=dip_cm, ph_meter="pen",
                        ec_meter="stick")  # fmt: skip
    found = correct(a_farm(**farm), [buffer_dip()], "r", readings, MORNING)
    drained = sum(step.amount for step in found.steps if step.action == "drain_off")
    return drained, sum(step.amount for step in found.steps if step.action == "top_up")


@pytest.mark.parametrize("pipes_l", [6.0, 30.0])
def test_a_feed_that_is_thinned_never_overflows_when_the_pump_stops(pipes_l: float) -> None:
    """360 L hold all: 10 L come back from the channel, and what stands in the pipes."""
    most_in, drained_in = 0.0, 0.0
    for dip in (50.0, 51.0, 52.0):
        for hundredths in range(225, 290, 5):
            drained, filled = poured_l(dip, hundredths / 100, pipes_l=pipes_l)
            stands = 6.0 * dip - drained + filled
            assert stands + pipes_l + 10.0 <= 360.0 + 0.5, (dip, hundredths)
            most_in, drained_in = max(most_in, stands), max(drained_in, drained)
    assert most_in > 0.9 * (350.0 - pipes_l), "the room that there is was used"
    assert drained_in, "and what did not fit was drained off first"
