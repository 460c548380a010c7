"""What a correction asks: each step, refusal and finding gives its question once, in its words."""

from __future__ import annotations

from typing import Any

import pytest
from light_cases import note, ph, poured, read
from light_farm import MORNING, TRIED, a_farm, buffer_dip, rain_water

from rounds.advice.correction import correct
from rounds.advice.inquiries import asked_in
from rounds.book.message import Message
from rounds.book.offer import Assumed, Correction, Finding, Inquiry, Refusal, Step

FULL = a_farm(full_volume_l=301.0, waters=(rain_water(),))


def correction(**said: Any) -> Correction:
    return Correction(reservoir_id="r", assumed=Assumed(), **said)


def step(action: str, number: int = 1, **other: Any) -> Step:
    return Step(action=action, number=number, text=f"do {action}", **other)  # type: ignore[arg-type]


def refusal(code: str) -> Refusal:
    return Refusal(code=code, says=Message(code, {}), text="Not now.", instead="Look.")


@pytest.mark.parametrize(("action", "code", "answers", "buffer"), [
    ("buffer_dip", "buffer", ("a pH",), 7.0), ("buffer_4", "buffer-4", ("a pH",), 4.01),
    ("jar_test", "jar", ("a pH",), None), ("strip", "strip", ("a pH",), None), ("look", "look", ("yes", "no"), None),
])  # fmt: skip
def test_a_step_that_asks_is_one_question(
    action: str, code: str, answers: tuple[str, ...], buffer: float | None
) -> None:
    (asked,) = asked_in(correction(steps=(step(action, 3), step("acid", 4))))
    assert (asked.code, asked.answers, asked.buffer, asked.step, asked.text) == (
        code,
        answers,
        buffer,
        3,
        f"do {action}",
    )


def test_a_jar_says_what_goes_into_which_water() -> None:
    jar = step("jar_test", 1, product="acid", amount=0.05, unit="mL/L", of_water="well")
    assert asked_in(correction(steps=(jar,))) == (
        Inquiry(code="jar", text="do jar_test", answers=("a pH",), step=1, product="acid", ml_per_l=0.05,
                of_water="well"),
    )  # fmt: skip


@pytest.mark.parametrize(("code", "asks"), [
    ("buffer-off", ["calibrated"]), ("bottle-doubtful", ["bottles"]), ("likely-bottle", ["bottles"]),
    ("likely-water", ["bottles"]), ("likely-stuck", ["calibrated"]), ("likely-meter", ["strip", "calibrated"]),
    ("too-small", ["second-meter"]), ("reading-too-high", ["second-meter"]), ("base-after-acid", []), ("chlorine", []),
])  # fmt: skip
def test_a_refusal_asks_for_what_opens_it(code: str, asks: list[str]) -> None:
    found = asked_in(correction(refusals=(refusal(code),)))
    assert [each.code for each in found] == asks
    for each in found:
        assert each.answers == (("a pH",) if each.code in ("strip", "second-meter") else ("yes", "no"))
        assert each.step == 0 and each.text.startswith("Not now.")


def test_what_is_asked_twice_is_one_question_and_the_first_stands() -> None:
    found = asked_in(correction(
        steps=(step("look", 1), step("buffer_dip", 2), step("buffer_dip", 5)),
        refusals=(refusal("likely-bottle"), refusal("bottle-doubtful")),
    ))  # fmt: skip
    assert [(each.code, each.step) for each in found] == [("look", 1), ("buffer", 2), ("bottles", 0)]


def test_a_fresh_fill_asks_how_it_was_filled() -> None:
    found = asked_in(correction(findings=(Finding(code="fresh-fill", text="How?"),)))
    assert [(each.code, each.answers) for each in found] == [("filled-how", ("still", "splashed", "aired"))]
    records = [poured("rain", 320.0, 2.0, "change_out"), buffer_dip(), *TRIED]
    asked = [each.code for each in correct(FULL, records, "r", read(ph=5.8), MORNING).questions]
    assert asked.count("filled-how") == 1


def test_nothing_is_asked_where_nothing_hangs_on_it() -> None:
    assert correct(FULL, [buffer_dip()], "r", read(ph=5.8), MORNING).questions == ()


@pytest.mark.parametrize("value", [5.0, 6.3, 6.9, 7.6])
def test_every_question_of_a_correction_comes_before_what_is_poured_on_it(value: float) -> None:
    """And none is asked that was answered already."""
    for records in ([], [buffer_dip()], [buffer_dip(), *TRIED]):
        found = correct(FULL, records, "r", read(ph=value), MORNING)
        asked, codes = [each.step for each in found.questions if each.step], [each.code for each in found.questions]
        pours = [s.number for s in found.steps if s.action in ("acid", "base")]
        assert len(set(codes)) == len(codes)
        assert all(step < min(pours) for step in asked) or not pours
        assert ("buffer" in codes) is (records == [] and bool(pours))


@pytest.mark.parametrize("value", [5.0, 6.9, 7.6])
def test_a_jar_of_a_water_is_asked_for_once_and_allows_more(value: float) -> None:
    """It shows what was aimed at: then nothing is asked of it again, and more may go in."""
    before = [buffer_dip(), *TRIED]
    found = correct(FULL, before, "r", read(ph=value), MORNING)
    (jar,) = (each for each in found.questions if each.code == "jar")
    about = {"product": jar.product, "ml_per_l": jar.ml_per_l}
    answered = correct(FULL, [ph(value, 0.0), *before, note("reading", "jar", 5.8, 0.0, data=about)], "r",
                       read(ph=value), MORNING)  # fmt: skip
    assert "jar" not in [each.code for each in answered.questions]
    first, then = (sum(s.amount for s in each.steps if s.action in ("acid", "base")) for each in (found, answered))
    assert then >= first > 0.0
    assert then > 1.2 * first or value < 5.5, "a base is held by the CO2 that will leave, and no jar tells of that"
