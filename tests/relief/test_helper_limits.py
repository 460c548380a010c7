"""What a helper may pour: held to products, to a step and to a day, A and B in proportion, the prediction with it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rounds.book.offer import Readings, Step
from rounds.history.record import Draft
from rounds.walk.carrying_out import record_step
from rounds.walk.helper import ML_POURED, beyond_limit
from rounds.walk.offering import offer, work_out
from rounds.walk.open_corrections import OpenCorrection
from rounds.walk.session import Session

AT = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
BOTH = '"leaf-a", "leaf-b"'
Open = Callable[..., Session]


def read(ph: float = 5.9, ec: float = 1.7, dip: float = 36.0) -> Readings:
    return Readings(at=AT, ph=ph, ec_ms_cm=ec, temperature_c=20.0, dip_cm=dip)


def amounts(session: Session, readings: Readings) -> dict[str, float]:
    found = work_out(session, "res-1", readings)
    return {step.action: step.amount for step in found.steps if step.action in ML_POURED}


@pytest.mark.parametrize("ph", [4.6, 5.2, 6.6, 7.2])
def test_by_default_a_helper_gets_no_acid_and_no_base(farm_folder: Path, opened: Open, ph: float) -> None:
    found = work_out(opened(farm_folder, "ben"), "res-1", read(ph=ph))
    assert not {"acid", "base"} & {step.action for step in found.steps}
    assert any(refusal.code == "call" for refusal in found.refusals) or any(s.action == "top_up" for s in found.steps)
    grower = work_out(opened(farm_folder), "res-1", read(ph=7.2))
    assert "acid" in {step.action for step in grower.steps}, "the grower gets it for the same reading"


def test_what_the_grower_poured_is_reckoned_with_though_a_helper_may_not_pour_it(laid_out: Path, opened: Open) -> None:
    helper = opened(laid_out, "helper")
    acid = [r for r in helper.history.records(kind="dose") if r.data.get("action") == "acid"]
    assert acid, "the grower of the sample farm poured acid these weeks"
    for reservoir, ec in (("reservoir-1", 1.7), ("reservoir-2", 1.7), ("reservoir-3", 1.1)):
        readings = Readings(at=AT, ph=7.0, ec_ms_cm=ec, temperature_c=17.0, dip_cm=35.0)
        found = work_out(helper, reservoir, readings)
        told = [each.text for each in (*found.findings, *found.refusals)]
        assert not any("not on the shelf" in text or "used up" in text for text in told), told
        assert any("nothing you may pour for it" in text for text in told), told
        assert not {"acid", "base"} & {step.action for step in found.steps}


def test_a_weak_feed_is_held_to_the_step_with_a_and_b_in_proportion(
    farm_folder: Path, opened: Open, allow: Callable[..., None]
) -> None:
    whole = amounts(opened(farm_folder), read(ec=1.2))
    assert whole["concentrate_a"] > 100
    allow(farm_folder, BOTH, step_ml=100, day_ml=1000)
    assert amounts(opened(farm_folder, "ben"), read(ec=1.2)) == {"concentrate_a": 100.0, "concentrate_b": 100.0}


def test_the_day_counts_everything_together(farm_folder: Path, opened: Open, allow: Callable[..., None]) -> None:
    allow(farm_folder, BOTH, step_ml=300, day_ml=120)
    assert amounts(opened(farm_folder, "ben"), read(ec=1.2)) == {"concentrate_a": 60.0, "concentrate_b": 60.0}


def test_the_day_is_shared_as_the_feed_shares_a_and_b(
    farm_folder: Path, opened: Open, allow: Callable[..., None]
) -> None:
    """6 mL of A to 4 mL of B: of 100 mL a day 60 and 40."""
    feeds = farm_folder / "feeds.toml"
    text = feeds.read_text(encoding="utf-8").replace("a_ml_per_l = 5", "a_ml_per_l = 6")
    feeds.write_text(text.replace("b_ml_per_l = 5", "b_ml_per_l = 4"), encoding="utf-8")
    allow(farm_folder, BOTH, step_ml=300, day_ml=100)
    assert amounts(opened(farm_folder, "ben"), read(ec=1.2)) == {"concentrate_a": 60.0, "concentrate_b": 40.0}


def test_what_was_poured_this_morning_counts(farm_folder: Path, opened: Open, allow: Callable[..., None]) -> None:
    allow(farm_folder, BOTH, step_ml=300, day_ml=120)
    session = opened(farm_folder, "ben")
    session.save(
        Draft(kind="dose", station="res-1", item="leaf-a", value=40.0, unit="mL", person="ben",
              measured_at=AT - timedelta(hours=3), data={"action": "concentrate_a"})
    )  # fmt: skip
    later = work_out(session, "res-1", read(ec=1.2))
    assert sum(step.amount for step in later.steps if step.action in ML_POURED) <= 80.0
    session.save(
        Draft(kind="dose", station="res-1", item="leaf-b", value=80.0, unit="mL", person="ben",
              measured_at=AT - timedelta(hours=2), data={"action": "concentrate_b"})
    )  # fmt: skip
    last = work_out(session, "res-1", read(ec=1.2))
    assert not [step for step in last.steps if step.action in ML_POURED]
    assert any("Call the grower" in refusal.instead for refusal in last.refusals)


def test_the_prediction_is_that_of_the_smaller_dose(
    farm_folder: Path, opened: Open, allow: Callable[..., None]
) -> None:
    grower = work_out(opened(farm_folder), "res-1", read(ec=1.2))
    allow(farm_folder, BOTH, step_ml=50, day_ml=1000)
    helper = work_out(opened(farm_folder, "ben"), "res-1", read(ec=1.2))
    assert helper.prediction["mixed"]["ec_ms_cm"]["value"] < grower.prediction["mixed"]["ec_ms_cm"]["value"] - 0.1
    assert helper.prediction["mixed"]["ec_ms_cm"]["value"] > 1.2


def test_a_concentrate_that_is_not_allowed_is_not_poured_nor_its_partner(
    farm_folder: Path, opened: Open, allow: Callable[..., None]
) -> None:
    allow(farm_folder, '"leaf-a"')
    found = work_out(opened(farm_folder, "ben"), "res-1", read(ec=1.2))
    assert not [step for step in found.steps if step.action in ML_POURED]
    assert any("weak" in refusal.text for refusal in found.refusals)


def test_acid_that_the_grower_allowed_is_held_to_the_step(
    farm_folder: Path, opened: Open, allow: Callable[..., None]
) -> None:
    whole = amounts(opened(farm_folder), read(ph=7.0))["acid"]
    assert whole > 3
    allow(farm_folder, '"nitric-8"', step_ml=3)
    assert amounts(opened(farm_folder, "ben"), read(ph=7.0)) == {"acid": 3.0}


def test_a_change_out_is_not_a_helpers_work(farm_folder: Path, opened: Open, allow: Callable[..., None]) -> None:
    allow(farm_folder, BOTH)
    grower = work_out(opened(farm_folder), "res-1", read(ec=6.0))
    helper = work_out(opened(farm_folder, "ben"), "res-1", read(ec=6.0))
    assert any(step.action == "change_out" for step in grower.steps)
    assert not helper.steps
    assert helper.refusals[0].code == "call"


def test_much_hard_water_without_acid_ends_the_correction(
    farm_folder: Path, opened: Open, allow: Callable[..., None]
) -> None:
    # The well has 4 meq/L: with A and B and no acid calcium phosphate would fall out.
    allow(farm_folder, BOTH)
    found = work_out(opened(farm_folder, "ben"), "res-1", read(ec=1.2, dip=28.0))
    assert [step.action for step in found.steps if step.amount] == ["top_up"]
    assert found.refusals


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    ph=st.floats(4.5, 7.5), ec=st.floats(0.3, 3.5), dip=st.floats(20.0, 43.0), step=st.sampled_from([20, 90, 300]),
    day=st.sampled_from([30, 150, 600]),
)  # fmt: skip
def test_no_reading_makes_the_app_offer_a_helper_more_than_was_allowed(
    farm_folder: Path, opened: Open, allow: Callable[..., None], ph: float, ec: float, dip: float, step: int, day: int
) -> None:
    before = (farm_folder / "farm.toml").read_text(encoding="utf-8")
    allow(farm_folder, '"leaf-a", "leaf-b", "nitric-8"', step_ml=step, day_ml=day)
    try:
        found = work_out(opened(farm_folder, "ben"), "res-1", read(ph=ph, ec=ec, dip=dip))
    finally:
        (farm_folder / "farm.toml").write_text(before, encoding="utf-8")
    poured = [s for s in found.steps if s.action in ML_POURED]
    assert all(s.amount <= step for s in poured)
    assert sum(s.amount for s in poured) <= day * 1.0001
    assert {s.product for s in poured} <= {"leaf-a", "leaf-b", "nitric-8"}
    actions = [s.action for s in poured]
    assert ("concentrate_a" in actions) == ("concentrate_b" in actions)


def offered(session: Session) -> tuple[OpenCorrection, Step]:
    """A correction of a weak feed as the walk offers it, and its first dose."""
    for item, value in (("ph", 5.9), ("ec", 1.2), ("t", 20.0), ("dip", 36.0)):
        session.save(Draft(kind="reading", station="res-1", item=item, value=value, measured_at=AT, person="ben"))
    correction = offer(session, session.farm.reservoir("res-1"), None)
    assert correction is not None
    return correction, next(step for step in correction.steps if step.action == "concentrate_a")


@pytest.mark.parametrize(("amount", "marked"), [(100.0, False), (300.0, False), (301.0, True), (5000.0, True)])
def test_more_than_allowed_is_written_down_with_a_mark_that_stays(
    farm_folder: Path, opened: Open, allow: Callable[..., None], amount: float, marked: bool
) -> None:
    allow(farm_folder, BOTH, step_ml=300, day_ml=600)
    session = opened(farm_folder, "ben")
    correction, step = offered(session)
    after = record_step(session, correction, step, amount, None)
    assert after.done[step.number].value == amount, "what was really poured is never falsified"
    (kept,) = opened(farm_folder).history.records(kind="dose")
    assert any("beyond the helper's limit" in mark for mark in kept.marks) is marked


def test_the_grower_is_never_warned_of_a_helpers_limit(farm_folder: Path, opened: Open) -> None:
    assert beyond_limit(opened(farm_folder), "leaf-a", 5000.0, "mL") == ""
    assert "not among" in beyond_limit(opened(farm_folder, "ben"), "leaf-a", 1.0, "mL")


def test_litres_count_as_millilitres(farm_folder: Path, opened: Open, allow: Callable[..., None]) -> None:
    allow(farm_folder, BOTH)
    session = opened(farm_folder, "ben")
    assert beyond_limit(session, "leaf-a", 0.2, "L") == ""
    assert "500 mL in one step" in beyond_limit(session, "leaf-a", 0.5, "L")
    assert beyond_limit(session, "well", 90.0, "L") == "", "water is not held"


def test_the_limit_of_a_day_counts_all_that_this_helper_has_poured_today_and_nothing_else(
    farm_folder: Path, opened: Open, allow: Callable[..., None]
) -> None:
    allow(farm_folder, BOTH, step_ml=300, day_ml=600)
    session = opened(farm_folder, "ben")
    poured = [("ben", 30.0, 300.0, "mL"), ("ada", 2.0, 300.0, "mL"), ("ben", 3.0, 0.25, "L"), ("ben", 1.0, 250.0, "mL")]
    for person, hours, amount, unit in poured:
        session.save(
            Draft(kind="dose", station="res-1", item="leaf-a", value=amount, unit=unit, person=person,
                  measured_at=AT - timedelta(hours=hours), data={"action": "concentrate_a"})
        )  # fmt: skip
    assert beyond_limit(session, "leaf-b", 100.0, "mL") == "", "250 + 250 + 100 mL is the whole day"
    assert "601 mL in one day" in beyond_limit(session, "leaf-b", 101.0, "mL")


def test_a_dose_past_the_limit_of_the_day_is_written_down_with_a_mark(
    farm_folder: Path, opened: Open, allow: Callable[..., None]
) -> None:
    allow(farm_folder, BOTH, step_ml=300, day_ml=120)
    session = opened(farm_folder, "ben")
    correction, step = offered(session)
    after = record_step(session, correction, step, 60.0, None)
    last = next(each for each in correction.steps if each.action == "concentrate_b")
    record_step(session, after, last, 61.0, None)
    first, second = opened(farm_folder).history.records(kind="dose")
    assert not any("beyond the helper's limit" in mark for mark in first.marks)
    assert any("121 mL in one day" in mark for mark in second.marks)
