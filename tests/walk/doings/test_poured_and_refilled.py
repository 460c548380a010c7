"""What was poured out of a bottle unasked, and change-outs: led, or as they were done."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from rounds.book.composition import concentrate_solution, feed_known, water_known
from rounds.book.ledger import Ledger, ledger_of
from rounds.farm.shelf import Concentrate
from rounds.walk.dialogue import Onward, Reply, ToStation
from rounds.walk.doings.water import litres_now
from rounds.walk.offering import offer
from rounds.walk.open_corrections import open_correction_of
from rounds.walk.permission import BEYOND
from rounds.walk.session import Session

Does = Callable[..., Reply]


def book(session: Session) -> Ledger:
    farm, reservoir = session.farm, session.farm.reservoir("res-1")
    return ledger_of(
        farm, reservoir, feed_known(farm, farm.feeds[reservoir.feed]), session.history.records(), session.now()
    )


def doses(session: Session) -> list[tuple[str, Any, str | None, Any]]:
    return [(r.item, r.value, r.unit, r.data["action"]) for r in session.history.records(kind="dose")]


@pytest.mark.parametrize(("line", "dose"), [
    ("poured 20 ml ph-down", ("nitric-8", 20.0, "mL", "acid")),
    ("poured 20 acid", ("nitric-8", 20.0, "mL", "acid")),
    ("poured ph-up 5 ml", ("koh-5", 5.0, "mL", "base")),
    ("poured 0,3 l a", ("leaf-a", 300.0, "mL", "concentrate_a")),
    ("poured 300 ml leaf b", ("leaf-b", 300.0, "mL", "concentrate_b")),
])  # fmt: skip
def test_a_bottle_is_named_by_what_it_is_called(session: Session, does: Does, line: str, dose: Any) -> None:
    does(session, "res-1", line, "")
    assert doses(session) == [dose]


def test_acid_takes_up_its_charge(session: Session, does: Does) -> None:
    """8 % nitric acid of 1.043 kg/L is 1.324 mol/L; 20 mL in 168 L take up 0.158 meq/L."""
    does(session, "res-1", "dip 30")
    before = book(session).solution.alkalinity_meq_l
    does(session, "res-1", "poured 20 ml acid", "")
    assert before - book(session).solution.alkalinity_meq_l == pytest.approx(20 * 1.324 / 168, rel=1e-3)


def test_a_part_of_the_feed_that_went_in_alone_is_half_a_pair(session: Session, does: Does) -> None:
    from rounds.walk.half_pairs import half_pair_at

    does(session, "res-1", "poured 300 ml a", "")
    pair = half_pair_at(session, "res-1")
    assert pair is not None and pair.product == "leaf-b"


def test_which_bottle_is_asked(session: Session, does: Does) -> None:
    asked = does(session, "res-1", "poured 20 leaf").message
    assert asked == "? Out of which bottle? 1 Leaf A · 2 Leaf B"
    does(session, "res-1", "poured 20 leaf", "2", "")
    assert doses(session) == [("leaf-b", 20.0, "mL", "concentrate_b")]


def test_far_beyond_the_book_must_be_typed_twice_and_what_to_do_is_said(session: Session, does: Does) -> None:
    """198 L circulate; water of 4 meq/L and one beside are 990 meq, so 748 mL of 1.324 mol/L."""
    said = does(session, "res-1", "poured 800 acid")
    assert said.message.startswith("! 800 mL of Working nitric acid is far more than 198 L would ever be given")
    assert "at most about 748 mL" in said.message and "do not" in said.message
    assert not does(session, "res-1", "poured 800 acid", "").accepted
    assert doses(session) == []
    assert "TOO MUCH ACID" in does(session, "res-1", "poured 800 acid", "800").message
    assert doses(session) == [("nitric-8", 800.0, "mL", "acid")]
    assert "understood" in does(session, "res-1", "poured 740 acid").message


@pytest.mark.parametrize(("line", "sentence"), [
    ("poured 20 ml soup", "✗ “soup” is nothing on the shelf."),
    ("poured -2 acid", "✗ -2 mL cannot be."),
    ("poured 20 kg acid", "✗ 20 kg: in which unit?"),
    ("refilled 4000", "✗ 4000 L cannot be."),
    ("refilled 170 rain", "✗ “rain” is no water at Reservoir one."),
])  # fmt: skip
def test_what_cannot_be_is_one_sentence(session: Session, does: Does, line: str, sentence: str) -> None:
    said = does(session, "res-1", line)
    assert said.message.startswith(sentence) and not said.accepted
    assert doses(session) == []


def test_a_change_out_that_is_done_already(session: Session, does: Does) -> None:
    """170 L of well water with 850 mL of each part; 18 L of them stand in pipes and channels."""
    said = does(session, "res-1", "refilled 170 a 850 b 850 acid 20", "")
    assert said.message.startswith("Saved: Changed out, filled with 170 L of Well water; 850 mL of Leaf A")
    assert doses(session) == [
        ("well", 170.0, "L", "change_out"), ("leaf-a", 850.0, "mL", "concentrate_a"),
        ("leaf-b", 850.0, "mL", "concentrate_b"), ("nitric-8", 20.0, "mL", "acid"),
    ]  # fmt: skip
    part = session.farm.shelf["leaf-a"]
    assert isinstance(part, Concentrate)
    calcium = (170 * water_known(session.farm, "well", session.now().date()).solution.ca
               + 0.85 * concentrate_solution(part).ca) / 171.7  # fmt: skip
    assert book(session).solution.ca == pytest.approx(calcium, rel=1e-3)
    assert book(session).since == session.history.records(kind="dose")[0].measured_at


def test_a_change_out_asks_what_it_does_not_say(two_waters: Session, does: Does) -> None:
    lines = ["refilled", "170", "2", "850", "850", "0", ""]
    asked = [does(two_waters, "res-1", *lines[:n]).message for n in range(1, 7)]
    assert [each.split("?")[1].strip() for each in asked[:5]] == [
        "Done already",
        "Which water",
        "How many mL of Leaf A",
        "How many mL of Leaf B",
        "How many mL of acid, or of base",
    ]
    does(two_waters, "res-1", *lines)
    assert [dose[0] for dose in doses(two_waters)] == ["rain", "leaf-a", "leaf-b"]


def test_taking_a_change_out_back_takes_all_of_it_back(session: Session, does: Does) -> None:
    does(session, "res-1", "dip 30", "refilled 170 a 850 b 850 acid 0", "", "f6")
    assert doses(session) == [] and litres_now(session, session.farm.reservoir("res-1")) == 150.0


def measured_steps(session: Session) -> list[str]:
    correction = open_correction_of(session, "res-1")
    assert correction is not None
    return [step.action for step in correction.steps if step.is_measured]


def test_a_change_out_is_led_step_by_step(session: Session, does: Does) -> None:
    said = does(session, "res-1", "refilled steps")
    assert said.way == Onward("res-1", read=True)
    assert measured_steps(session)[0] == "change_out"
    assert "acid" in measured_steps(session)


def test_a_change_out_led_from_fresh_readings_holds(session: Session, does: Does) -> None:
    does(session, "res-1", "ph 6.0 ec 1.7 t 20 dip 36")
    assert does(session, "res-1", "refilled", "steps").way == Onward("res-1", read=True)
    assert measured_steps(session)[0] == "change_out"


# On the page of a correction.


def test_a_doing_on_the_page_of_a_correction_ends_it(session: Session, does: Does, clock: Any) -> None:
    from rounds.walk.at_correction import AtCorrection

    does(session, "res-1", "ph 6.9 ec 1.2 t 20 dip 30")
    correction = offer(session, session.farm.reservoir("res-1"), None)
    assert correction is not None
    page = AtCorrection(session, correction, None)
    clock.go_on(minutes=1)
    assert page.answer("topped 20").message.startswith("understood: 20 L of Well water topped up")
    assert not page.is_of_next_step("") and not page.is_confirmed_by_enter()
    said = page.answer("")
    assert said.way == ToStation("res-1") and "no longer holds" in said.alarm
    assert doses(session) == [("well", 20.0, "L", "top_up")]
    assert open_correction_of(session, "res-1") is None


def test_a_doing_that_pours_nothing_leaves_the_correction(session: Session, does: Does, clock: Any) -> None:
    from rounds.walk.at_correction import AtCorrection

    does(session, "res-1", "ph 6.9 ec 1.2 t 20 dip 30")
    correction = offer(session, session.farm.reservoir("res-1"), None)
    assert correction is not None
    page = AtCorrection(session, correction, None)
    clock.go_on(minutes=1)
    page.answer("cleaned strainer")
    assert page.answer("").way is None
    assert doses(session) == [] and open_correction_of(session, "res-1") is not None


@pytest.mark.parametrize(("line", "amount"), [("poured 5", 5.0), ("poured 5 ml", 5.0), ("5", 5.0)])
def test_poured_at_a_step_that_pours_is_the_amount_of_the_step(session: Session, line: str, amount: float) -> None:
    from rounds.history.record import Draft
    from rounds.walk.at_correction import AtCorrection

    step = {"action": "acid", "product": "nitric-8", "amount": 5.0, "unit": "mL", "text": "Pour 5 mL of working acid."}
    session.save(Draft(kind="correction", measured_at=session.now(), station="res-1", data={"steps": [step]}))
    correction = open_correction_of(session, "res-1")
    assert correction is not None
    page = AtCorrection(session, correction, None)
    assert page.is_of_next_step(line)
    page.answer(line)
    (dose,) = session.history.records(kind="dose")
    assert (dose.value, dose.data["correction"], dose.data.get("own")) == (amount, correction.id, None)


def test_what_else_is_poured_there_is_a_doing(session: Session) -> None:
    from rounds.history.record import Draft
    from rounds.walk.at_correction import AtCorrection

    step = {"action": "acid", "product": "nitric-8", "amount": 5.0, "unit": "mL", "text": "Pour 5 mL of working acid."}
    session.save(Draft(kind="correction", measured_at=session.now(), station="res-1", data={"steps": [step]}))
    correction = open_correction_of(session, "res-1")
    assert correction is not None
    page = AtCorrection(session, correction, None)
    for line in ("poured 5 ml a", "topped 20"):
        assert not page.is_of_next_step(line)
        assert page.answer(line).message.startswith("understood")
        page.press("esc")


# Helpers.

LIMITS = "\n[limits.helper]\nproducts = []\nstep_ml = 100\nday_ml = 150\n\n[[people]]"


@pytest.fixture
def helper(farm_folder: Path, clock: Any) -> Session:
    """Ben, who may pour nothing."""
    path = farm_folder / "farm.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("\n[[people]]", LIMITS, 1), encoding="utf-8")
    return Session.open(farm_folder, person_id="ben", clock=clock)


def test_what_a_helper_poured_is_never_kept_back_and_is_marked(helper: Session, does: Does) -> None:
    said = does(helper, "res-1", "poured 20 ml acid")
    assert "more than your limit: Working nitric acid is not among what the grower allows" in said.message
    does(helper, "res-1", "poured 20 ml acid", "", "topped 20", "", "drained 5", "")
    marked = [any(mark.startswith(BEYOND) for mark in r.marks) for r in helper.history.records(kind="dose")]
    assert marked == [True, False, False]


def test_a_helper_tells_of_deaths_but_buys_and_sells_nothing(helper: Session, does: Does) -> None:
    assert "flock 11 now" in does(helper, "hens", "dead 1", "").message
    for line in ("bought 5", "sold 2", "bought 5 l nitric"):
        said = does(helper, "hens", line)
        assert "is the grower's to say" in said.message and not said.accepted


def test_a_helper_is_led_through_no_change_out(helper: Session, does: Does) -> None:
    assert "A change-out is the grower's work" in does(helper, "res-1", "refilled steps").message
    does(helper, "res-1", "refilled 170 a 850 b 850 acid 0", "")
    assert [dose[3] for dose in doses(helper)] == ["change_out", "concentrate_a", "concentrate_b"]
