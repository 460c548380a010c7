"""What will have left its band by the next round is put right now, where that is worth it, and not sooner."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from light_farm import MORNING, TRIED, Note, a_farm, buffer_dip, rain_water

from rounds.advice.correction import Readings, correct
from rounds.farm.farm import Mistake
from rounds.farm.model import Limits

DAY = timedelta(days=1)


def mornings(first: float, per_day: float, days: int = 5, item: str = "ec") -> list[Note]:
    """A reading every morning before today, nothing poured between."""
    return [
        Note(kind="reading", item=item, value=round(first - per_day * n, 2), measured_at=MORNING - n * DAY, id=f"{n}")
        for n in range(days, 0, -1)
    ]


def corrected(records, ec: float, next_round_h: float = 24.0, **farm):
    built = a_farm(
        waters=(rain_water(),), full_volume_l=301.0, limits=Limits(next_round_h=next_round_h), **farm,
    )  # fmt: skip
    readings = Readings(at=MORNING, ph=5.8, ec_ms_cm=ec, temperature_c=20.0, volume_l=300.0)
    return correct(built, [*records, buffer_dip(), *TRIED], "r", readings, MORNING)


def fed(found) -> bool:
    return any(step.action == "concentrate_a" and step.amount > 0.0 for step in found.steps)


def test_a_feed_that_falls_every_day_is_fed_before_it_leaves_its_band():
    falling = corrected(mornings(1.45, -0.1), 1.45)
    assert fed(falling) and "by the next round" in next(s.why for s in falling.steps if s.action == "concentrate_a")
    assert not fed(corrected(mornings(1.45, 0.0), 1.45))
    assert not fed(corrected(mornings(1.9, -0.1), 1.9))


def test_how_far_ahead_hangs_on_when_the_grower_comes_again():
    records = mornings(1.55, -0.1)
    assert not fed(corrected(records, 1.55, next_round_h=12.0))
    assert fed(corrected(records, 1.55, next_round_h=48.0))


def test_two_rounds_are_no_habit_and_a_jump_is_none_either():
    assert not fed(corrected(mornings(1.45, -0.1, days=2), 1.45))
    assert not fed(corrected(mornings(1.45, -0.8, days=5), 1.45))


def test_what_was_poured_between_two_readings_is_no_drift():
    records = mornings(1.45, -0.1)
    poured = [
        Note(kind="dose", item="rain", value=5.0, unit="L", measured_at=MORNING - n * DAY + timedelta(hours=3),
             data={"action": "top_up"}, id=f"w{n}")
        for n in range(1, 6)
    ]  # fmt: skip
    assert not fed(corrected([*records, *poured], 1.45))


def test_a_feed_that_grows_stronger_every_day_is_told_and_not_drained():
    found = corrected(mornings(2.15, 0.1), 2.15)
    assert "ec-rises" in {f.code for f in found.findings}
    assert not any(step.action in ("drain_off", "change_out") for step in found.steps)
    assert "ec-rises" not in {f.code for f in corrected(mornings(2.15, 0.0), 2.15).findings}


@pytest.mark.parametrize("ph", [6.9, 6.5])
def test_meters_that_could_not_be_read_from_the_file_are_trusted_less_and_it_is_said(ph):
    mistake = Mistake(file="farm.toml", key="meters[0].tolerance.ph", found='"none"', expected="a number above 0")
    farm = a_farm(waters=(rain_water(),), full_volume_l=301.0)
    broken = replace(farm, meters={}, mistakes=(mistake,))
    readings = Readings(at=MORNING, ph=ph, ec_ms_cm=1.8, temperature_c=20.0, volume_l=300.0)

    def acid(found) -> float:
        return sum(step.amount for step in found.steps if step.action == "acid")

    sound, unsure = (correct(known, [buffer_dip(), *TRIED], "r", readings, MORNING) for known in (farm, broken))
    assert acid(unsure) < acid(sound)
    (said,) = [f for f in unsure.findings if f.code == "meters-mistaken"]
    assert "meters[0].tolerance.ph" in said.text and said.severity == "act"
    assert "meters-mistaken" not in {f.code for f in sound.findings}
