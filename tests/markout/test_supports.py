"""Packers by plain geometry, over random ground, with tape and string as wrong as they are on a farm."""

import math
from itertools import pairwise

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from rounds.markout.cautions import warnings_of
from rounds.markout.plan import plan
from rounds.markout.supports import beam_of, packers_mm
from rounds.markout.typed import read

BASE = {"section": "120x60mm", "spacing": "250mm", "hole": "50mm", "flow": "1"}


def codes(worked_out):
    return {warning.code for warning in warnings_of(worked_out)}


def test_one_in_forty_over_three_metres_falls_75_mm():
    # Arithmetic; 1:40 is common practice for short home-built runs.
    worked_out = plan(read(BASE | {"length": "3m", "slope": "1:40", "supports": "4"}))
    assert worked_out.fall_mm == 75
    assert [(s.at_mm, s.packer_mm) for s in worked_out.bearing.supports] == [(0, 75), (1000, 50), (2000, 25), (3000, 0)]


@pytest.mark.parametrize(("slope", "fall"), [("1:40", 75), ("2.5%", 75), ("75mm", 75), ("1 in 40", 75), ("1:100", 30)])
def test_a_slope_may_be_typed_in_any_of_its_forms(slope, fall):
    assert plan(read(BASE | {"length": "3m", "slope": slope})).fall_mm == pytest.approx(fall)


ground = st.lists(st.integers(-60, 60), min_size=2, max_size=8)


@given(ground, st.integers(20, 120), st.integers(0, 80))
def test_on_any_ground_the_floor_lies_on_one_straight_line(levels, run, lowest):
    places = [4000 * i / (len(levels) - 1) for i in range(len(levels))]
    packers = packers_mm(places, levels, 4000, run, lowest)
    floors = [level + packer for level, packer in zip(levels, packers, strict=True)]
    assert min(packers) == lowest
    for at, floor in zip(places, floors, strict=True):
        assert floor - floors[0] == pytest.approx(-at / run, abs=1.0 + 1e-6)


def test_a_string_is_read_downwards():
    from_heights = plan(read(BASE | {"length": "3m", "slope": "1:40", "supports": "4", "ground": "0,12,-5,8mm"}))
    from_string = plan(read(BASE | {"length": "3m", "slope": "1:40", "supports": "4", "string": "300,288,305,292mm"}))
    assert [s.packer_mm for s in from_string.bearing.supports] == [s.packer_mm for s in from_heights.bearing.supports]


def _built_pond(worked_out, string_errors, tape_errors, ground):
    """Build the channel with wrong readings and fill it with water; our own geometry, 5 mm steps."""
    inputs = worked_out.inputs
    wrong = plan(read(BASE | {
        "length": f"{inputs.length_mm:g}mm", "slope": f"1:{inputs.run_per_rise:g}",
        "supports": ",".join(f"{s.at_mm}" for s in worked_out.bearing.supports) + "mm",
        "ground": ",".join(f"{level + off}" for level, off in zip(ground, string_errors, strict=True)) + "mm",
    }))  # fmt: skip
    planned_places = [s.at_mm for s in worked_out.bearing.supports]
    last = inputs.length_mm
    places = [min(max(at + off, 0), last) for at, off in zip(planned_places, tape_errors, strict=True)]
    floors = [level + s.packer_mm for level, s in zip(ground, wrong.bearing.supports, strict=True)]
    stretches = [a - b for a, b in pairwise(floors)]
    beam = beam_of(inputs, places)
    heights = []
    for step in range(math.ceil(last / 5) + 1):
        at = min(step * 5.0, last)
        k = max(i for i in range(len(places) - 1) if places[i] <= at or i == 0)
        share = (at - places[k]) / (places[k + 1] - places[k])
        heights.append(floors[k] + (floors[k + 1] - floors[k]) * share - beam.sag_m(at / 1000) * 1000)
    deepest = 0.0
    for i, height in enumerate(heights):
        deepest = max(deepest, max(heights[i:]) - height)
    return stretches, deepest


@settings(max_examples=60, deadline=None)
@given(data=st.data(), count=st.integers(3, 7), run=st.integers(30, 100), span=st.integers(400, 1200))
def test_with_errors_of_3_mm_no_stretch_rises_and_no_pond_is_deeper_than_3_mm(data, count, run, span):
    """Wherever the plan does not warn; and steeper than 1:45 it may not warn at all."""
    level = st.lists(st.integers(-50, 50), min_size=count, max_size=count)
    errors = st.lists(st.sampled_from([-3, -2, 0, 2, 3]), min_size=count, max_size=count)
    ground = data.draw(level)
    worked_out = plan(read(BASE | {
        "length": f"{span * (count - 1)}mm", "slope": f"1:{run}", "supports": str(count),
        "ground": ",".join(map(str, ground)) + "mm",
    }))  # fmt: skip
    warned = codes(worked_out) & {"fall_not_sure", "pond"}
    assert not warned or run > 45, "an ordinary slope must be safe without a warning"
    assume(not warned)
    stretches, pond = _built_pond(worked_out, data.draw(errors), data.draw(errors), ground)
    assert min(stretches) > 0
    assert pond <= 3.0


@pytest.mark.parametrize("span", [400, 700, 1000, 1200])
def test_an_ordinary_run_gets_no_warning_about_its_fall(span):
    worked_out = plan(read(BASE | {"length": f"{span * 4}mm", "slope": "1:40", "supports": "5"}))
    assert not codes(worked_out) & {"fall_not_sure", "pond", "sag"}


def test_a_fall_that_the_supports_cannot_give_is_warned_of():
    worked_out = plan(read(BASE | {"length": "3m", "slope": "1:150", "supports": "7"}))
    assert "fall_not_sure" in codes(worked_out)


def test_a_soft_pipe_on_few_supports_sags_and_ponds():
    worked_out = plan(
        read(BASE | {"length": "4m", "slope": "1:100", "supports": "2", "material": "pe", "section": "80mm"})
    )
    assert {"sag", "pond", "supports_far"} <= codes(worked_out)
    assert worked_out.bearing.pond_mm > 3


def test_more_supports_never_sag_more():
    sags = [
        max(
            s.sag_mm for s in plan(read(BASE | {"length": "4m", "slope": "1:40", "supports": str(n)})).bearing.stretches
        )
        for n in range(2, 9)
    ]
    assert sags == sorted(sags, reverse=True)
