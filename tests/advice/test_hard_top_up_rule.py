"""The acid of a hard top-up is under the one rule too: a bottle is tried in a jar first, a believed fault stops it."""

from __future__ import annotations

from typing import Any

from light_cases import note, ph, read
from light_farm import MORNING, TRIED, Note, a_farm, buffer_dip, hard_water

from rounds.advice.correction import Correction, correct

FARM = a_farm(waters=(hard_water(),), full_volume_l=360.0)


def topped(*records: Note, **readings: Any) -> Correction:
    """At pH 6.2 with 70 L missing, all of it hard water."""
    usual = {"ph": 6.2, "volume_l": 230.0}
    return correct(FARM, [ph(6.2, 0.02), buffer_dip(), *records], "r", read(**{**usual, **readings}), MORNING)


def acid_ml(found: Correction) -> float:
    return sum(step.amount for step in found.steps if step.action == "acid")


def test_an_untried_bottle_is_tried_before_the_water_goes_in_and_a_tried_one_pours_more() -> None:
    untried = topped()
    assert untried.steps[0].action == "jar_test" and untried.steps[0].product == "acid"
    asked = next(each for each in untried.questions if each.code == "jar")
    jar = note("reading", "jar", 5.75, 0.0, data={"product": asked.product, "ml_per_l": asked.ml_per_l})
    tried = topped(*TRIED, jar)
    assert "jar_test" not in [step.action for step in tried.steps]
    assert acid_ml(tried) > 1.5 * acid_ml(untried) > 0.0


def test_a_jar_that_shows_far_too_strong_a_bottle_stops_the_acid_and_asks_for_one_more_jar() -> None:
    asked = next(each for each in topped().questions if each.code == "jar")
    data = {"product": asked.product, "ml_per_l": asked.ml_per_l}
    found = topped(note("reading", "jar", 2.6, 0.0, data=data))
    assert [each.code[: len("likely-bottle")] for each in found.refusals] == ["likely-bottle"]
    assert acid_ml(found) == 0.0
    assert [step.action for step in found.steps].count("jar_test") == 1
