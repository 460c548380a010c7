"""What a helper is told where nothing may be poured."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from rounds.book.message import Message
from rounds.book.offer import After, Assumed, Correction, Finding, Interval, Readings, Refusal, Step
from rounds.walk.helper import helpers_view
from rounds.walk.session import Session


def held(farm_folder: Path, clock: Any, found: Correction, monkeypatch: pytest.MonkeyPatch) -> Correction:
    session = Session.open(farm_folder, clock=clock)
    monkeypatch.setattr("rounds.advice.correction.correct", lambda *_: found)
    return helpers_view(session.farm, [], "res-1", session.now()).correction(Readings(at=session.now()))


def a_correction(*refusals: Refusal, findings: tuple[Finding, ...] = (), steps: tuple[Step, ...] = ()) -> Correction:
    assumed = Assumed(volume_l=None, ph=None, ec_ms_cm=None, temperature_c=None, alkalinity_meq_l=None)
    return Correction(reservoir_id="res-1", assumed=assumed, steps=steps, refusals=refusals, findings=findings)


@pytest.mark.parametrize(("says", "code", "text"), [
    ("bottle-used-up", "out-of-stock", "The pH should be 5.6 to 6.2, and there is nothing you may pour for it."),
    ("concentrates-out", "out-of-stock", "The feed is weak, and there is nothing more you may pour for it today."),
    ("nothing-on-shelf", "nothing-on-shelf", "The pH should be 5.6 to 6.2, and there is nothing you may pour for it."),
    ("stock-acid", "stock-acid", "The pH should be 5.6 to 6.2, and there is nothing you may pour for it."),
    ("buffer-off", "buffer-off", "as it was"),
])  # fmt: skip
def test_a_helper_is_told_to_call_where_there_is_nothing_to_pour(
    farm_folder: Path, clock: Any, monkeypatch: pytest.MonkeyPatch, says: str, code: str, text: str
) -> None:
    asked = a_correction(Refusal(code=code, text="as it was", instead="so", says=Message(says)))
    (refusal,) = held(farm_folder, clock, asked, monkeypatch).refusals
    assert refusal.text == text
    assert refusal.code == ("call" if text != "as it was" else code)
    assert (refusal.instead == "Pour nothing for it. Call the grower: F8 shows the numbers.") is (
        refusal.code == "call"
    )


def test_a_helper_is_told_their_limits_instead_of_a_short_shelf(
    farm_folder: Path, clock: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = tuple(Finding(code=code, text="x") for code in ("short-stock", "stock-acid", "warm", "out-of-stock"))
    found = held(farm_folder, clock, a_correction(findings=said), monkeypatch).findings
    assert [each.code for each in found] == ["warm", "helper-limit"]
    assert found[1].text == "Held to what is yours to pour: 100 mL of one thing, 200 mL a day in all."
    calm = held(farm_folder, clock, a_correction(findings=said[2:3]), monkeypatch)
    assert [each.code for each in calm.findings] == ["warm"]
    short = a_correction(findings=(Finding(code="half-pair", text="x"), Finding(code="half-pair-short", text="y")))
    owed = held(farm_folder, clock, short, monkeypatch)
    assert [each.code for each in owed.findings] == ["half-pair"] and owed.refusals[0].code == "call"


def a_step(action: str, amount: float = 0.0, product: str | None = None, volume_l: float = 200.0) -> Step:
    span = Interval(value=volume_l, low=volume_l, high=volume_l)
    unit = "L" if action in ("top_up", "change_out") else "mL"
    return Step(action=action, amount=amount, unit=unit, product=product, text=action,  # type: ignore[arg-type]
                after=After(volume_l=span, ph=span, ec_ms_cm=span))  # fmt: skip


A_TRIM = (
    a_step("top_up", 15.0, "well"), a_step("concentrate_a", 90.0, "leaf-a"), a_step("circulate"),
    a_step("concentrate_b", 90.0, "leaf-b"), a_step("read_again"), a_step("acid", 20.0, "nitric-8"), a_step("recheck"),
)  # fmt: skip


@pytest.mark.parametrize(("poured_ml", "left"), [
    (0.0, 7), (0.1, 4), (20.0, 4), (20.1, 1), (110.0, 1), (200.0, 1),
])  # fmt: skip
def test_a_helper_gets_the_steps_that_stay_within_the_day_and_never_a_without_b(
    farm_folder: Path, clock: Any, monkeypatch: pytest.MonkeyPatch, poured_ml: float, left: int
) -> None:
    """200 mL a day: A, B and acid are 90, 180 and 200; what only led to a step that is left out goes with it."""
    session = Session.open(farm_folder, clock=clock)
    whole = a_correction(steps=A_TRIM)
    monkeypatch.setattr("rounds.advice.correction.correct", lambda *_: whole)
    view = helpers_view(session.farm, [], "res-1", session.now(), poured_today_ml=poured_ml)
    found = view.correction(Readings(at=session.now()))
    assert found.steps == A_TRIM[:left]
    told = [each.text for each in found.refusals]
    assert told == ([] if left == 7 else ["More would have to be poured than is yours to pour."])


@pytest.mark.parametrize(("litres", "acid", "left"), [(21.0, False, 1), (20.0, False, 4), (21.0, True, 5)])
def test_after_much_hard_water_nothing_more_is_poured_where_no_acid_follows(
    farm_folder: Path, clock: Any, monkeypatch: pytest.MonkeyPatch, litres: float, acid: bool, left: int
) -> None:
    """A tenth of 200 L; the well has 4 meq/L."""
    feed = (a_step("concentrate_a", 10.0, "leaf-a"), a_step("circulate"), a_step("concentrate_b", 10.0, "leaf-b"))
    steps = (a_step("top_up", litres, "well"), *((a_step("acid", 10.0, "nitric-8"),) if acid else ()), *feed)
    found = held(farm_folder, clock, a_correction(steps=steps), monkeypatch)
    assert found.steps == steps[:left]
    assert bool(found.refusals) is (left < len(steps))


def test_a_change_out_is_not_a_helpers_to_do(farm_folder: Path, clock: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    renewed = a_step("change_out", 180.0, "well")
    asked = a_correction(findings=(Finding(code="warm", text="x"),), steps=(renewed,))
    found = held(farm_folder, clock, asked, monkeypatch)
    assert (found.steps, found.findings) == ((), ())
    assert [each.text for each in found.refusals] == ["This wants a change-out, which is not yours to do."]


@pytest.mark.parametrize(("products", "left"), [
    ('"nitric-8"', ["jar_test", "acid"]), ('"koh-5"', ["acid"]), ("", ["acid"]),
])  # fmt: skip
def test_a_jar_test_is_a_helpers_only_with_what_they_may_pour_by_hand(
    farm_folder: Path, clock: Any, monkeypatch: pytest.MonkeyPatch, products: str, left: list[str]
) -> None:
    path = farm_folder / "farm.toml"
    limits = f"[limits.helper]\nproducts = [{products}]\n\n[[people]]"
    path.write_text(path.read_text(encoding="utf-8").replace("[[people]]", limits, 1), encoding="utf-8")
    jar = Step(action="jar_test", number=1, product="nitric-8", amount=0.2, unit="mL/L", text="Jar test.")
    acid = Step(action="acid", number=2, product="nitric-8", amount=5.0, unit="mL")
    found = held(farm_folder, clock, a_correction(steps=(jar, acid)), monkeypatch)
    assert [(step.number, step.action) for step in found.steps] == list(enumerate(left, 1))
    assert [each.code for each in found.questions] == ["jar"][: len(left) - 1]
    assert found.refusals == (), "the dose behind it is safe without an answer"


@pytest.mark.parametrize("action", ["strip", "buffer_4", "buffer_dip"])
def test_a_helper_may_answer_what_needs_no_acid(
    farm_folder: Path, clock: Any, monkeypatch: pytest.MonkeyPatch, action: str
) -> None:
    steps = (Step(action=action, number=1, text="Dip."), Step(action="acid", number=2, product="nitric-8", amount=5.0))
    found = held(farm_folder, clock, a_correction(steps=steps), monkeypatch)
    assert found.steps == steps and [each.step for each in found.questions] == [1]


def test_a_question_is_not_asked_where_the_dose_behind_it_is_not_a_helpers(
    farm_folder: Path, clock: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    steps = (Step(action="strip", number=1, text="Strip."), Step(action="acid", number=2, product="nitric-8",
                                                                   amount=900.0))  # fmt: skip
    found = held(farm_folder, clock, a_correction(steps=steps), monkeypatch)
    assert found.steps == () and found.questions == ()
    assert [refusal.code for refusal in found.refusals] == ["call"]
