"""A jar test against the exact titration of what is in it, and what a meter has shown of its own error."""

from __future__ import annotations

import math

import pytest
from believed import FEED, begun, event, ledger, sure

from rounds.belief import state as b
from rounds.belief.curve import HIGHEST_PH, LOWEST_PH, Curve
from rounds.belief.gaussian import Gaussian, independent
from rounds.belief.jar import JAR_SD, after_jar, within_curve
from rounds.belief.meter_error import learned_sd
from rounds.belief.response import Response, after_event
from rounds.book.parcel import parcel_of
from rounds.science.acids_bases import agent_by_molarity
from rounds.science.dosing import after_dose
from rounds.science.speciation import ph_closed

NITRIC, POTASH = agent_by_molarity("nitric", 1.3), agent_by_molarity("potassium_hydroxide", 1.0)

LITTLE = parcel_of(NITRIC.per_ml.scaled(0.2))


def known(curve: Curve) -> Gaussian:
    """The feed without any doubt, its carbonate as CO2 in it."""
    ph = ph_closed(FEED, 20.0)
    mean = list(sure(ph).mean)
    mean[b.PHOSPHATE] = math.log(FEED.po4)
    mean[b.PRESSURE] = math.log(FEED.carbonate / curve.parts(ph)[3])
    return independent(tuple(mean), (1e-6,) * 7)


@pytest.mark.parametrize(("agent", "ml_per_l"), [
    (NITRIC, 0.05), (NITRIC, 0.2), (NITRIC, 0.5), (POTASH, 0.1), (POTASH, 0.4),
])  # fmt: skip
def test_a_jar_of_a_feed_of_which_all_is_known_shows_its_titration(curve: Curve, agent, ml_per_l: float) -> None:  # type: ignore[no-untyped-def]
    """By the formulas that are held against PHREEQC: the jar is closed, its CO2 stays in."""
    exact = ph_closed(after_dose(FEED, agent, ml_per_l, 1.0), 20.0)
    _, expected, spread = after_jar(known(curve), curve, parcel_of(agent.per_ml.scaled(ml_per_l)), exact, 0.03)
    assert expected == pytest.approx(exact, abs=0.06)
    more, less = (ph_closed(after_dose(FEED, agent, ml_per_l * math.exp(z * JAR_SD), 1.0), 20.0) for z in (1.0, -1.0))
    assert spread == pytest.approx(math.hypot(abs(more - less) / 2.0, 0.03), rel=0.2), "the syringe is good to 12 %"


def test_a_jar_tells_of_the_buffer_and_not_of_how_much_of_a_dose_arrives(curve: Curve) -> None:
    """Where the jar goes further down than thought there is less phosphate; no volume is dipped for a jar."""
    start = begun(6.5, phosphate_sd=0.45)
    parcel = parcel_of(NITRIC.per_ml.scaled(0.2))
    _, expected, spread = after_jar(start, curve, parcel, 6.0, 0.03)
    weak, _, _ = after_jar(start, curve, parcel, expected - spread, 0.03)
    strong, _, _ = after_jar(start, curve, parcel, expected + spread, 0.03)
    assert weak.mean[b.PHOSPHATE] < start.mean[b.PHOSPHATE] < strong.mean[b.PHOSPHATE]
    for found in (weak, strong):
        assert found.sd(b.PHOSPHATE) < 0.9 * start.sd(b.PHOSPHATE)
        assert found.mean[b.ARRIVING] == pytest.approx(start.mean[b.ARRIVING], abs=0.02)
        assert found.sd(b.ARRIVING) == pytest.approx(start.sd(b.ARRIVING), rel=0.01)
        assert found.mean[b.PH] == pytest.approx(start.mean[b.PH], abs=0.05), "the reservoir itself was not touched"


@pytest.mark.parametrize(("shown", "held"), [(1.0, LOWEST_PH), (13.0, HIGHEST_PH), (6.2, 6.2)])
def test_a_ph_beyond_the_curve_is_told_from_no_other(shown: float, held: float) -> None:
    assert within_curve(shown) == held


def test_a_meter_that_showed_nothing_is_as_good_as_told() -> None:
    assert learned_sd(0.05, [], []) == pytest.approx(0.05)


@pytest.mark.parametrize(("in_buffer", "between_two", "sd"), [
    ([0.1], [], math.sqrt((3.0 * 0.0025 + 0.01) / 4.0)),
    ([0.0] * 9, [], math.sqrt(3.0 * 0.0025 / 12.0)),
    ([], [0.2], math.sqrt((3.0 * 0.0025 + 0.02) / 4.0)),
    ([0.1, -0.1], [0.1], math.sqrt((3.0 * 0.0025 + 0.01 + 0.01 + 0.005) / 6.0)),
])  # fmt: skip
def test_what_is_told_counts_as_three_dips_and_two_readings_share_their_difference(
    in_buffer: list[float], between_two: list[float], sd: float
) -> None:
    assert learned_sd(0.05, in_buffer, between_two) == pytest.approx(sd)


def test_further_off_than_0_3_is_a_slip_and_counts_no_more() -> None:
    assert learned_sd(0.05, [3.0], []) == learned_sd(0.05, [-0.3], []) == learned_sd(0.05, [0.3], [])


def after_an_odd_jar(curve: Curve, spreads: float) -> tuple[Gaussian, Gaussian, float, float]:
    """The belief before and after a jar so many spreads below what was expected; that, and what was shown."""
    start = begun(6.5, phosphate_sd=0.2)
    _, expected, spread = after_jar(start, curve, LITTLE, 6.0, 0.03)
    shown = expected - spreads * spread
    jar = event("jar", 0.0, shown, parcel=LITTLE, item="acid")
    before = Response(gaussian=start, at=jar.at, habits=b.habits())
    found = after_event(before, jar, ledger(jar), curve, {None: 0.03})
    assert found.gaussian is not None
    return start, found.gaussian, expected, shown


def test_a_jar_that_goes_much_further_than_thought_makes_the_water_less_buffered(curve: Curve) -> None:
    """What the jar shows, the reservoir will do: after it, so much of the same is foreseen to bring the same pH."""
    start, found, expected, shown = after_an_odd_jar(curve, 5.0)
    _, again, _ = after_jar(found, curve, LITTLE, shown, 0.03)
    assert abs(again - shown) < 0.5 * abs(expected - shown)
    assert found.mean[b.PHOSPHATE] < start.mean[b.PHOSPHATE]


def test_a_jar_that_hardly_moves_does_not_make_the_water_more_buffered(curve: Curve) -> None:
    """It would allow a larger dose, and the bottle may be weak: that is left to the faults."""
    start, found, _, _ = after_an_odd_jar(curve, -5.0)
    assert found.mean == start.mean
