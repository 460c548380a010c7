"""Two readings of the same water that disagree: one is a slip, and nothing is poured before a third has said which."""

from __future__ import annotations

from light_cases import RAIN, ph, read
from light_farm import MORNING, TRIED, Note, buffer_dip

from rounds.advice.correction import Correction, correct

BEFORE = [ph(6.9, 2.0), ph(6.88, 1.0), *TRIED, buffer_dip()]


def after(*records: Note, ph_now: float) -> Correction:
    return correct(RAIN, [*BEFORE, *records], "r", read(ph=ph_now), MORNING)


def codes(found: Correction) -> list[str]:
    return [each.says.code for each in found.refusals if each.says is not None]


def test_a_reading_as_before_one_that_was_far_off_is_asked_for_a_third_time() -> None:
    found = after(ph(5.6, 0.1), ph_now=6.9)
    assert codes(found) == ["readings-disagree"]
    assert "6.90 after 5.60 in the same water" in found.refusals[0].text
    assert not any(step.action == "acid" for step in found.steps)


def test_a_third_that_agrees_settles_it() -> None:
    found = after(ph(5.6, 0.1), ph(6.9, 0.05), ph_now=6.88)
    assert codes(found) == [] and any(step.action == "acid" for step in found.steps)


def test_a_third_that_speaks_for_the_first_is_no_reason_to_pour_acid() -> None:
    found = after(ph(5.6, 0.1), ph(6.9, 0.05), ph_now=5.62)
    assert not any(step.action == "acid" for step in found.steps)


def test_a_jump_in_the_same_water_is_read_a_third_time_whatever_was_expected() -> None:
    """6.9 a few minutes after 5.8: a pH does not move so far by itself."""
    found = correct(RAIN, [*TRIED, buffer_dip(), ph(5.8, 0.1)], "r", read(ph=6.9), MORNING)
    assert codes(found) == ["readings-disagree"] and "6.90 after 5.80" in found.refusals[0].text
    half_an_hour_ago = correct(RAIN, [*TRIED, buffer_dip(), ph(5.8, 0.6)], "r", read(ph=6.9), MORNING)
    assert "readings-disagree" not in codes(half_an_hour_ago)


def test_a_third_that_agrees_with_either_of_two_is_enough() -> None:
    for third, acid in ((6.88, True), (5.82, False)):
        records = [*TRIED, buffer_dip(), ph(5.8, 0.15), ph(6.9, 0.1)]
        found = correct(RAIN, records, "r", read(ph=third), MORNING)
        assert "readings-disagree" not in codes(found)
        assert any(step.action == "acid" for step in found.steps) is acid
