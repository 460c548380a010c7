"""A fault that is believed stops a bottle until it was looked into; then what is poured is safe even if it is there.

What does too much is told by the definition of each fault: a bottle three times as strong brings three times as much.
"""

from __future__ import annotations

from typing import Any

import pytest
from light_cases import check, ec, note, ph, read
from light_farm import MORNING, TRIED, Note, a_farm, buffer_dip, hard_water, rain_water

from rounds.advice.correction import Correction, correct
from rounds.book.composition import water_known
from rounds.science.acids_bases import agent_by_molarity
from rounds.science.dosing import after_dose
from rounds.science.solution import Solution
from rounds.science.speciation import ph_closed

RAIN = a_farm(waters=(rain_water(),), full_volume_l=301.0)
READ = [ph(6.9, 0.3), buffer_dip()]


def found_with(*records: Note, **readings: Any) -> Correction:
    return correct(RAIN, [*READ, *records], "r", read(**{"ph": 6.9, **readings}), MORNING)


def acid_ml(found: Correction) -> float:
    return sum(step.amount for step in found.steps if step.action == "acid")


def jars(*shown: float) -> list[Note]:
    """Jars made as the first correction asks for them, one after the other."""
    asked = next(each for each in found_with().questions if each.code == "jar")
    data = {"product": asked.product, "ml_per_l": asked.ml_per_l}
    return [note("reading", "jar", each, 0.2 - 0.05 * place, data=data) for place, each in enumerate(shown)]


def codes(found: Correction) -> set[str]:
    return {each.code for each in (*found.refusals, *found.findings)}


STRONG = (3.3, 3.3)
"""What a bottle far too strong shows, twice."""


def test_a_bottle_that_seems_too_strong_is_looked_at_before_any_of_it_is_poured() -> None:
    found = found_with(*jars(*STRONG))
    assert acid_ml(found) == 0.0
    assert any(code.startswith("likely-bottle") for code in codes(found)), codes(found)


def test_once_it_was_looked_at_so_little_is_poured_that_even_ten_times_as_much_would_not_harm() -> None:
    """Ten times the dose, poured from a bottle that is as told, is what a bottle ten times as strong would do."""
    sound = acid_ml(found_with(*jars(6.2)))
    found = found_with(*jars(*STRONG), check("bottles", True, 0.02))
    assert "with-care" in codes(found) and not found.refusals
    assert 0.0 < acid_ml(found) < sound / 3.0
    (acid,) = [step for step in found.steps if step.action == "acid"]
    assert acid.after.ph.low > 5.0


@pytest.mark.parametrize(("item", "value", "ago_h"), [
    ("bottles", False, 0.02), ("calibrated", True, 0.02), ("bottles", True, 15.0),
])  # fmt: skip
def test_another_look_or_one_of_yesterday_opens_nothing(item: str, value: bool, ago_h: float) -> None:
    assert acid_ml(found_with(*jars(*STRONG), check(item, value, ago_h))) == 0.0


def test_nothing_is_sent_after_what_did_not_arrive() -> None:
    """Two jars that stand where the reservoir stands: water in the bottle. A look at it does not make it acid."""
    found = found_with(*jars(6.9, 6.9), check("bottles", True, 0.02))
    assert acid_ml(found) == 0.0 or "with-care" not in codes(found)


def test_a_jar_that_went_the_wrong_way_opens_nothing_however_often_it_is_made() -> None:
    """Acid that lifts the pH is no acid."""
    found = found_with(*jars(7.9, 7.9, 7.9))
    assert acid_ml(found) == 0.0 and found.refusals


HARD = a_farm(waters=(hard_water(4.6),), full_volume_l=301.0, ec=(0.9, 1.3))
FILL_L = 320.0
"""300 L at work and 20 L outside."""


def rain_water_solution(alkalinity: float) -> Solution:
    """The hard water as it would be with so much less of all of it. [meq/L]"""
    return water_known(HARD, "well", MORNING.date()).solution.scaled(alkalinity / 4.6)


def fill_of(*records: Note) -> Correction:
    """All is renewed with a hard water, since the feed is far too strong."""
    was_read = [ph(6.2, 0.3), ec(3.2, 0.3), ec(3.2, 24.0), buffer_dip()]
    return correct(HARD, [*was_read, *records], "r", read(ph=6.2, ec_ms_cm=3.2), MORNING)


def jar_of(water: str, shown: float, found: Correction) -> Note:
    asked = next(each for each in found.questions if each.code == "jar")
    return note(
        "reading", "jar", shown, 0.02, data={"product": asked.product, "ml_per_l": asked.ml_per_l, "water": water}
    )


def test_a_fill_asks_for_a_jar_of_its_water_and_without_it_pours_what_even_rain_would_bear() -> None:
    """A tank that was filled from another tap: rain with 0.1 meq/L, by the formulas that are held against PHREEQC."""
    found = fill_of()
    jar = next(step for step in found.steps if step.action == "jar_test")
    assert jar.of_water == "well"
    first = next(step for step in found.steps if step.action == "acid")
    rain = rain_water_solution(0.1 * 4.6)
    assert ph_closed(after_dose(rain, agent_by_molarity("nitric", 1.3), first.amount, FILL_L), 18.0) > 4.5


def test_a_jar_of_the_old_feed_says_nothing_of_the_new_water_and_a_jar_of_it_does() -> None:
    before = fill_of()
    of_old, of_new = (fill_of(jar_of(water, shown, before)) for water, shown in (("", 5.9), ("well", 6.9)))
    assert acid_ml(of_old) < 2.0 * acid_ml(before)
    assert any(step.action == "jar_test" for step in of_old.steps)
    assert acid_ml(of_new) > 3.0 * acid_ml(before)
    assert not any(step.action == "jar_test" for step in of_new.steps)


def test_a_meter_that_seems_to_read_high_is_calibrated_first_and_then_acid_is_small() -> None:
    strips = [note("reading", "strip", 5.9, 0.1), note("reading", "strip", 6.0, 0.05)]
    stopped = found_with(*TRIED, *strips)
    assert any(code.startswith("likely-meter") for code in codes(stopped)) and acid_ml(stopped) == 0.0
    found = found_with(*TRIED, *strips, check("calibrated", True, 0.02))
    assert acid_ml(found) < 0.3 * acid_ml(found_with(*TRIED))
