"""What goes wrong on a real morning: the tool stops or names the cause, and the true pH stays where roots live."""

from __future__ import annotations

from datetime import timedelta

import pytest
from light_farm import BASE, MORNING, Note, a_farm, buffer_dip, rain_water
from simulated_reservoir import Grower, random_grower

from rounds.advice.correction import Readings, correct
from rounds.advice.rechecks import close_recheck

SAFE = (4.5, 7.5)
SEEDS = range(9000, 9008)


def growers():
    return [random_grower(seed, fresh_share=0.0) for seed in SEEDS]


def stays_safe(grower: Grower) -> bool:
    return SAFE[0] <= grower.truth.lowest and grower.truth.highest <= SAFE[1]


def with_acid(grower: Grower) -> bool:
    return any(r.kind == "dose" and r.item == "acid" and r.data.get("correction") for r in grower.records)


@pytest.mark.parametrize("off", [0.3, -0.3])
def test_a_probe_off_by_0_3_that_buffer_does_not_show_stays_safe(off):
    for grower in growers():
        grower.meter_off = off
        grower.bring_into_band()
        assert stays_safe(grower)


def test_a_probe_off_by_0_3_in_buffer_is_named_before_anything_is_poured():
    for grower in growers():
        grower.meter_off = 0.3
        grower.buffer = lambda g=grower: g.note(  # type: ignore[method-assign]
            "reading", "buffer", 7.32, station="", data={"buffer": 7.0, "temperature_c": 20.0}
        )
        grower.bring_into_band()
        assert not any(r.kind == "dose" and r.item in ("acid", "base") and r.data.get("step") for r in grower.records)
        assert "buffer-off" in grower.named or not with_acid(grower)
        assert stays_safe(grower)


def test_water_instead_of_acid_is_named_within_two_rechecks_nearly_always():
    seen = []
    for grower in growers():
        grower.pour_times = 0.0
        grower.bring_into_band(most=2)
        if with_acid(grower):
            seen.append(bool(grower.named & {"no-effect", "bottle-doubtful", "surprise"}))
        assert stays_safe(grower)
    assert seen and sum(seen) >= 0.75 * len(seen)


def test_swapped_bottles_are_stopped_within_two_rechecks():
    for grower in growers():
        grower.swapped = BASE
        grower.bring_into_band()
        if with_acid(grower):
            assert grower.named & {"bottle-doubtful", "no-effect", "surprise"}
            assert grower.rechecks <= 3
        assert stays_safe(grower)


def test_twice_the_acid_stays_safe():
    for grower in growers():
        grower.pour_times = 2.0
        grower.bring_into_band()
        assert stays_safe(grower)


def test_a_dead_corner_stays_safe():
    """Four tenths of the water do not move, and everything poured goes into the rest."""
    for grower in growers():
        grower.truth.volume_l *= 0.6
        grower.bring_into_band()
        assert stays_safe(grower)


def test_a_dip_with_the_pump_off_stays_safe():
    """Film and pipes have run back, so that the stick shows more than circulates."""
    for grower in growers():
        grower.inside_l = 320.0
        grower.bring_into_band()
        assert stays_safe(grower)


def test_a_cl_read_as_ml_is_stopped_at_the_first_recheck():
    """Ten times the dose is down before the tool sees anything: it can only stop and name it."""
    stopped = 0
    for grower in growers():
        grower.pour_times = 10.0
        grower.bring_into_band(most=2)
        if with_acid(grower):
            named = bool(grower.named & {"surprise", "base-after-acid", "bottle-doubtful"})
            assert named or stays_safe(grower)
            stopped += named
    assert stopped


def test_roots_that_acidify_are_looked_at_before_any_base():
    farm = a_farm(waters=(rain_water(),), full_volume_l=301.0)
    records = [
        Note(kind="reading", item="ph", value=ph, measured_at=MORNING - timedelta(days=d), id=f"p{d}")
        for d, ph in ((3, 5.95), (2, 5.9), (1, 5.8))
    ]
    readings = Readings(at=MORNING, ph=5.3, ec_ms_cm=1.8, temperature_c=20.0, volume_l=300.0)
    found = correct(farm, [*records, buffer_dip()], "r", readings, MORNING)
    assert "ph-falls" in {f.code for f in found.findings}
    actions = [s.action for s in found.steps]
    assert actions[0] == "look" and "base" not in actions[: actions.index("look")]


def test_a_poured_twice_shows_in_the_conductivity_and_stops_the_next_feeding():
    farm = a_farm(waters=(rain_water(),), full_volume_l=301.0)
    readings = Readings(at=MORNING, ph=5.8, ec_ms_cm=1.15, temperature_c=20.0, volume_l=300.0)
    offered = correct(farm, [buffer_dip()], "r", readings, MORNING)
    poured = [s for s in offered.steps if s.action.startswith("concentrate")]
    records = [
        buffer_dip(),
        Note(kind="correction", measured_at=MORNING, id="k",
             data={"prediction": offered.prediction, **offered.to_json()}),
        *(
            Note(kind="dose", item=s.product, value=s.amount, unit="mL", measured_at=MORNING + timedelta(minutes=5 * i),
                 data={"action": s.action, "correction": "k"}, id=f"s{i}")
            for i, s in enumerate(poured)
        ),
    ]  # fmt: skip
    at = MORNING + timedelta(hours=2)
    rise = offered.prediction["mixed"]["ec_ms_cm"]["value"] - 1.15
    again = Readings(at=at, ph=5.8, ec_ms_cm=round(1.15 + 1.75 * rise, 2), temperature_c=20.0, volume_l=300.0)
    found = correct(farm, records, "r", again, at)
    (finding,) = [f for f in found.findings if f.code == "surprise-ec"]
    assert finding.severity == "stop" and "poured twice" in finding.text
    assert not any(s.action.startswith("concentrate") for s in found.steps)
    half = Readings(at=at, ph=5.8, ec_ms_cm=round(1.15 + 0.4 * rise, 2), temperature_c=20.0, volume_l=300.0)
    (weak,) = [f for f in correct(farm, records, "r", half, at).findings if f.code == "surprise-ec"]
    assert "shake the drum" in weak.text


def test_a_recheck_says_whether_it_held():
    prediction = {
        "mixed": {"ph": {"value": 6.0, "low": 5.8, "high": 6.2}, "ec_ms_cm": {"value": 1.8, "low": 1.7, "high": 1.9}}
    }
    assert close_recheck(prediction, "mixed", 6.1, 1.8).held
    off = close_recheck(prediction, "mixed", 6.6, 1.8)
    assert not off.held and off.far_outside and "5.80 to 6.20" in off.text
    assert close_recheck({}, "mixed", 6.6, None).text == ""
