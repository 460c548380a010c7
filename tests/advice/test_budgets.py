"""The largest dose within its budgets, worked out again from two-point clouds and the bell curve."""

from __future__ import annotations

import math
from statistics import NormalDist

import pytest

from rounds.advice.budgets import FAULT_MARGIN_PH, FAULTS_RISK, HARM_RISK, harmless, largest, reach_of
from rounds.belief import state as b
from rounds.belief.bank import Account, Bank
from rounds.belief.curve import Curve, curve_of
from rounds.belief.gaussian import Gaussian, independent
from rounds.belief.hypotheses import FAULTS, SOUND, Hypothesis
from rounds.book.parcel import Parcel
from rounds.science.solution import Solution

BELL = NormalDist()
SOUR = 4.5 + FAULT_MARGIN_PH
"""No fault may take it below this."""
FEED = Solution(ca=3.0, mg=1.0, k=5.0, no3=10.0, so4=1.0, po4=1.0, carbonate=0.3, na=0.5, cl=0.5)
A_TENTH = Parcel(alkalinity_meq_l=-0.1)
"""What a unit of the acid of these tests takes from a litre. [meq/L]"""


@pytest.fixture(scope="module")
def curve() -> Curve:
    return curve_of(FEED, 20.0)


def test_two_reservoirs_that_both_need_some_are_told_by_the_logarithm() -> None:
    """Of 1 and e² the logarithms are 0 and 2: 1 in the middle, off by 1."""
    reach = reach_of([1.0, math.exp(2.0)])
    assert (reach.mean, reach.sd, reach.in_logs) == pytest.approx((1.0, 1.0, True))
    for dose in (0.5, 1.0, math.e, 10.0):
        assert reach.share(dose) == pytest.approx(BELL.cdf(math.log(dose) - 1.0))
        assert reach.added(dose) == pytest.approx(reach.share(dose))
    assert reach.share(0.0) == reach.share(-1.0) == reach.added(0.0) == 0.0


def test_a_reservoir_that_is_past_it_already_is_no_fault_of_the_dose() -> None:
    """Of -1 and 3 the middle is 1, off by 2: what reaches it anyway, at -0.5 sd, is taken off."""
    reach = reach_of([-1.0, 3.0])
    assert (reach.mean, reach.sd, reach.in_logs) == (1.0, 2.0, False)
    assert reach.share(0.0) == pytest.approx(BELL.cdf(-0.5))
    assert reach.added(3.0) == pytest.approx(BELL.cdf(1.0) - BELL.cdf(-0.5))
    assert reach.added(-1.0) == 0.0


@pytest.mark.parametrize("risk", [0.02, 1e-3, 3e-5])
def test_the_largest_dose_is_the_quantile_of_what_is_needed(risk: float) -> None:
    reach = reach_of([1.0, math.exp(2.0)])
    found = largest(reach.added, risk, 100.0)
    assert found == pytest.approx(math.exp(1.0 + BELL.inv_cdf(risk)), rel=1e-4)
    assert reach.added(found) <= risk, "never above the budget"
    assert largest(reach.added, risk, 1e-4) == 1e-4, "no more than all else allows"


def sure(ph: float, ph_sd: float = 1e-3) -> Gaussian:
    mean = (ph, 0.0, math.log(0.0013), math.log(0.0013), math.log(0.25), 0.0, 0.0)
    return independent(mean, (ph_sd, *(1e-6,) * 6))


def bank_with(*faults: tuple[Hypothesis, Gaussian, float], state: Gaussian) -> Bank:
    left = 1.0 - math.fsum(weight for _, _, weight in faults)
    return Bank(accounts=(
        Account(hypothesis=SOUND, state=state, weight=left),
        *(Account(hypothesis=each, state=of, weight=weight) for each, of, weight in faults),
    ))  # fmt: skip


def fault(code: str) -> Hypothesis:
    return next(each for each in FAULTS if each.code == code)


def to_reach(curve: Curve, ph: float, start: float = 6.5) -> float:
    """Units of the acid that bring a reservoir of which all is known to a pH: by its titration, its CO2 kept in."""
    (needed,) = b.demand([list(sure(start).mean)], curve, ph, A_TENTH)
    return needed


def test_of_a_reservoir_of_which_all_is_known_what_brings_it_to_4_5_is_the_limit(curve: Curve) -> None:
    whole = to_reach(curve, 4.5)
    bank = bank_with((fault("bottle-ten-times"), sure(6.5), 0.01), state=sure(6.5))
    found = harmless(bank, curve, -1.0, A_TENTH, 100.0)
    assert found.as_told == pytest.approx(whole, rel=0.01)
    assert found.in_spite_of_faults == pytest.approx(to_reach(curve, SOUR) / 10.0, rel=0.01)
    assert found.worst.code == "bottle-ten-times"


def test_what_is_likelier_than_its_budget_holds_a_dose_and_what_is_not_does_not(curve: Curve) -> None:
    whole = to_reach(curve, SOUR)
    for weight, holds in ((2.0 * FAULTS_RISK, True), (0.5 * FAULTS_RISK, False)):
        bank = bank_with((fault("bottle-three-times"), sure(6.5), weight), state=sure(6.5))
        found = harmless(bank, curve, -1.0, A_TENTH, 2.0 * whole).in_spite_of_faults
        assert found == pytest.approx(whole / 3.0 if holds else 2.0 * whole, rel=0.01)


def test_a_meter_that_reads_high_leaves_less_and_water_that_half_circulates_holds_nothing(curve: Curve) -> None:
    high = bank_with((fault("meter-high"), sure(6.0), 0.01), state=sure(6.5))
    assert harmless(high, curve, -1.0, A_TENTH, 100.0).in_spite_of_faults == pytest.approx(
        to_reach(curve, SOUR, 6.0), rel=0.01
    )
    both = bank_with(
        (fault("meter-high"), sure(6.0), 0.01), (fault("half-circulates"), sure(6.0), 0.3), state=sure(6.5)
    )
    assert harmless(both, curve, -1.0, A_TENTH, 100.0) == harmless(high, curve, -1.0, A_TENTH, 100.0)


def test_where_acid_and_base_changed_places_what_brings_it_to_8_5_is_the_limit(curve: Curve) -> None:
    bank = bank_with((fault("bottles-swapped"), sure(6.5), 0.01), state=sure(6.5))
    (up,) = b.demand([list(sure(6.5).mean)], curve, 8.5 - FAULT_MARGIN_PH, Parcel(alkalinity_meq_l=0.1))
    assert harmless(bank, curve, -1.0, A_TENTH, 100.0).in_spite_of_faults == pytest.approx(up, rel=0.01)


def test_a_weak_bottle_holds_no_dose(curve: Curve) -> None:
    weak = [(fault(code), sure(6.5), 0.2) for code in ("bottle-tenth", "nothing-arrives")]
    strong = (fault("bottle-ten-times"), sure(6.5), 1e-7)
    found = harmless(bank_with(*weak, strong, state=sure(6.5)), curve, -1.0, A_TENTH, 5.0)
    assert found.in_spite_of_faults == 5.0


def test_what_a_reservoir_is_believed_to_be_is_spread_and_the_budget_is_a_quantile_of_it(curve: Curve) -> None:
    """The pH known to 0.1: what brings it to 4.5 with a likelihood of a thousandth is 3.09 sd less than half need."""
    wide = sure(6.5, ph_sd=0.1)
    needed = b.demand(wide.cloud(b.POINTS), curve, 4.5, A_TENTH)
    logs = [math.log(each) for each in needed]
    mean = math.fsum(logs) / len(logs)
    sd = math.sqrt(math.fsum((each - mean) ** 2 for each in logs) / len(logs))
    bank = bank_with((fault("bottle-tenth"), wide, 1e-3), (fault("bottle-ten-times"), wide, 1e-9), state=wide)
    found = harmless(bank, curve, -1.0, A_TENTH, 100.0)
    assert found.as_told == pytest.approx(math.exp(mean + BELL.inv_cdf(HARM_RISK) * sd), rel=1e-4)
