"""Measurements after building, compared with the plan by hand."""

import pytest

from rounds.markout.as_built import Built, compare, jug_flow_l_min
from rounds.markout.mistakes import SeveralMistakes


def test_built_as_planned_finds_nothing(planned):
    found = compare(planned(), Built(packers_mm=(105, 70, 35, 0), levels_mm=(905, 870, 835, 800), flows_l_min=(1.2,)))
    assert found.as_planned
    assert (found.fall_mm, found.pond_mm, found.spread_percent) == (105, 0, 0)


def test_a_wrong_packer_is_named_with_what_was_planned(planned):
    found = compare(planned(), Built(packers_mm=(105, 70, 41, 0)))
    assert found.packers_off_mm == (0, 0, 6, 0)
    assert any("2800 mm is 6 mm too high: 35 mm was planned" in text for text in found.findings)


def test_three_millimetres_of_tape_are_no_finding(planned):
    assert compare(planned(), Built(packers_mm=(108, 67, 38, 0))).as_planned


def test_a_stretch_that_rises_is_named_with_its_pond(planned):
    found = compare(planned(), Built(levels_mm=(905, 830, 836, 800)))
    assert any("From 1400 to 2800 mm the channel rises by 6 mm" in text for text in found.findings)
    assert found.pond_mm == 6
    assert any("pond of 6 mm" in text for text in found.findings)


def test_flows_by_jug_may_differ_by_fifteen_percent_and_not_more(planned):
    six = {"channels": "3"}
    even = compare(planned(**six), Built(flows_l_min=(1.28, 1.2, 1.12)))
    uneven = compare(planned(**six), Built(flows_l_min=(1.32, 1.2, 1.08)))
    assert even.spread_percent == pytest.approx(13.33, abs=0.01)
    assert even.as_planned
    assert uneven.spread_percent == pytest.approx(20)
    assert any("20 %" in text for text in uneven.findings)


def test_a_channel_far_from_its_flow_is_named(planned):
    assert any("Channel 1 gets 0.60" in text for text in compare(planned(), Built(flows_l_min=(0.6,))).findings)


def test_a_jug_filled_in_fifty_seconds():
    assert jug_flow_l_min(1, 50) == pytest.approx(1.2)


@pytest.mark.parametrize("built", [
    Built(packers_mm=(1, 2)), Built(levels_mm=(1, 2, 3, float("nan"))), Built(flows_l_min=(1, 1)),
    Built(flows_l_min=(float("inf"),)),
])  # fmt: skip
def test_measurements_that_cannot_be_are_refused(planned, built):
    with pytest.raises(SeveralMistakes):
        compare(planned(), built)


@pytest.mark.parametrize(("litres", "seconds"), [(0, 50), (1, 0), (1, -5), (float("nan"), 10)])
def test_a_jug_that_cannot_be_is_refused(litres, seconds):
    with pytest.raises(SeveralMistakes):
        jug_flow_l_min(litres, seconds)
