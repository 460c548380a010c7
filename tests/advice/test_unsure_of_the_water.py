"""What is not known for sure: the error of the stick, and a pH that may be lower than it was read."""

from __future__ import annotations

import pytest
from light_farm import MORNING, TRIED, a_farm, buffer_dip

from rounds.advice.correction import correct
from rounds.book.offer import Correction, Readings
from rounds.farm.model import Limits


def advice(*, ph: float = 5.8, ec: float = 1.8, dip_cm: float = 50.0, **farm: object) -> Correction:
    readings = Readings(at=MORNING, ph=ph, ec_ms_cm=ec, temperature_c=20.0, dip_cm=dip_cm, ph_meter="pen",
                        ec_meter="stick")  # fmt: skip
    return correct(a_farm(**farm), [buffer_dip(), *TRIED], "r", readings, MORNING)  # type: ignore[arg-type]


def test_the_litres_that_are_foreseen_hold_for_a_stick_read_half_a_centimetre_wrong() -> None:
    """50 cm of 6 L each and 20 L outside: half a centimetre is 3 L."""
    found = advice(ph=6.9)
    step = next(step for step in found.steps if step.action == "acid")
    volume = step.after.volume_l
    assert volume.value == pytest.approx(320.0, abs=1.0)
    assert volume.low <= 317.0
    assert volume.high >= 323.0
    coarse = advice(ph=6.9, dip_error_cm=2.0)
    wider = next(step for step in coarse.steps if step.action == "acid").after.volume_l
    assert wider.high - wider.low >= 24.0


@pytest.mark.parametrize("lowest_ph", [6.6, 6.75, 6.79])
def test_where_even_a_little_acid_could_end_below_the_lowest_ph_none_is_poured(lowest_ph: float) -> None:
    """Read as 6.8 by a pen that is 0.1 off: it may be at the lowest pH already."""
    assert "acid" in {step.action for step in advice(ph=6.8).steps}, "with the usual lowest pH it is poured"
    found = advice(ph=6.8, limits=Limits(lowest_ph=lowest_ph))
    poured = [step for step in found.steps if step.action == "acid"]
    assert all(step.after.ph.low >= lowest_ph for step in poured)
