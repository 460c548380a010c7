"""How long a reading is fresh and a correction holds, just inside the limit and just outside."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from rounds.book.entries import Dose, entry_of
from rounds.book.offered import Offer
from rounds.walk.fresh import fresh_records, readings_of
from rounds.walk.half_pairs import give_up, half_pair_at, half_pairs, pair_records, pair_text
from rounds.walk.offering import readings_for
from rounds.walk.open_corrections import is_near, open_correction_of, open_corrections, uncorrected, wants_offer
from rounds.walk.session import Session
from tests.walk.written import SECOND, STEPS, dosed, offered, put, read


@pytest.mark.parametrize(("ago_h", "fresh"), [
    (0.0, True), (3.0, True), (3.0 + SECOND, False), (-SECOND, False), (-2 * SECOND, False),
])  # fmt: skip
def test_readings_are_corrected_for_three_hours(session: Session, ago_h: float, fresh: bool) -> None:
    for item in ("ph", "ec", "t", "dip"):
        read(session, item, 6.0, ago_h)
    assert set(fresh_records(session, "res-1")) == ({"ph", "ec", "t", "dip"} if fresh else set())
    assert (readings_of(session, "res-1") is not None) is fresh


@pytest.mark.parametrize(("dose_ago_h", "left"), [
    (2.0, {"ph", "ec", "t", "dip"}), (1.0, {"ph", "ec", "t", "dip"}), (0.5, {"t", "dip"}), (0.0, {"t", "dip"}),
])  # fmt: skip
def test_a_dose_makes_ph_and_ec_from_before_it_nobodys(session: Session, dose_ago_h: float, left: set[str]) -> None:
    for item in ("ph", "ec", "t", "dip"):
        read(session, item, 6.0, 1.0)
    dosed(session, dose_ago_h)
    assert set(fresh_records(session, "res-1")) == left


def test_what_was_read_is_gathered_field_by_field(session: Session) -> None:
    read(session, "ph", 6.1, 1.0, meter="pen-1")
    read(session, "ec", 1.7, 0.5, meter="other")
    read(session, "t", 19.0, 2.0)
    read(session, "dip", 30.0, 2.5)
    found = readings_of(session, "res-1")
    assert found is not None
    assert found.at == session.now() - timedelta(minutes=30)
    assert (found.ph, found.ec_ms_cm, found.temperature_c, found.dip_cm, found.volume_l) == (6.1, 1.7, 19.0, 30.0, None)
    assert (found.ph_meter, found.ec_meter, found.second_meter_ph) == ("pen-1", "other", None)


def test_one_of_ph_and_ec_is_enough_and_a_dip_alone_is_not(session: Session) -> None:
    read(session, "dip", 30.0)
    read(session, "t", 19.0)
    assert readings_of(session, "res-1") is None and readings_for(session, "res-1") is None
    read(session, "ec", 1.7)
    found = readings_of(session, "res-1")
    assert found is not None and found.ph is None and found.ph_meter is None and found.ec_ms_cm == 1.7


@pytest.mark.parametrize(("amount", "action", "litres"), [
    (30.0, "top_up", 180.0), (30.0, "drain_off", 120.0), (500.0, "acid", 150.5), (90.0, "top_up", 220.0),
    (200.0, "drain_off", 0.0),
])  # fmt: skip
def test_a_dip_from_before_is_carried_on_by_what_was_poured(
    session: Session, amount: float, action: str, litres: float
) -> None:
    """30 cm are 150 L by the dip table of 5 L/cm; the reservoir holds 220 L."""
    read(session, "dip", 30.0, 2.0)
    dosed(session, 2.5, amount=5_000.0)
    dosed(session, 1.0, "well" if action == "top_up" else "nitric-8", amount, action=action)
    dosed(session, -0.1, amount=5_000.0)
    read(session, "ph", 6.0)
    found = readings_of(session, "res-1")
    assert found is not None
    assert (found.dip_cm, found.volume_l) == (None, pytest.approx(litres))


@pytest.mark.parametrize(("amount", "near"), [
    (15.0, True), (14.9, False), (45.0, True), (45.1, False), (30.0, True), (0.0, False), (None, True), ("much", True),
])  # fmt: skip
def test_near_the_advice_is_from_a_half_to_half_as_much_again(session: Session, amount: object, near: bool) -> None:
    step = Offer(offered(session)).steps[0]
    assert is_near(step, amount) is near


@pytest.mark.parametrize("days", [2.99, 3.0])
def test_an_offer_is_not_looked_at_after_three_days(session: Session, days: float) -> None:
    """Its own wait, of four days, would keep it alive."""
    slow = [STEPS[0] | {"wait_min": 4 * 24 * 60.0}, STEPS[1]]
    record = offered(session, days * 24.0, steps=slow)
    dosed(session, days * 24.0, correction=record.id, step=1)
    assert (open_correction_of(session, "res-1") is not None) is (days <= 3.0)


def test_an_offer_older_than_three_days_is_gone(session: Session) -> None:
    record = offered(session, 72.0 + SECOND, steps=[STEPS[0] | {"wait_min": 4 * 24 * 60.0}, STEPS[1]])
    dosed(session, 72.0, correction=record.id, step=1)
    assert open_corrections(session) == []


@pytest.mark.parametrize("ending", ["put-off", "overtaken", "given-up", "note"])
def test_what_ends_a_correction_names_it(session: Session, ending: str) -> None:
    record = offered(session, 1.0)
    put(session, ending, 0.5, data={"correction": "another"})
    assert open_correction_of(session, "res-1") is not None
    put(session, ending, 0.4, data={"correction": record.id})
    assert (open_correction_of(session, "res-1") is None) is (ending != "note")


@pytest.mark.parametrize(("other", "ends"), [
    ({"action": "acid"}, True), ({"action": "acid", "correction": "another"}, True), ({"action": "top_up"}, True),
])  # fmt: skip
def test_whatever_else_is_poured_ends_it(session: Session, other: dict[str, Any], ends: bool) -> None:
    offered(session, 1.0)
    dosed(session, 1.5, "well", 20.0, **other)
    assert open_correction_of(session, "res-1") is not None, "poured before it was offered"
    dosed(session, 0.5, "well", 20.0, **other)
    assert (open_correction_of(session, "res-1") is None) is ends


@pytest.mark.parametrize("item", ["ph", "ec", "dip"])
def test_a_newer_reading_ends_it_where_the_offer_hangs_on_readings(session: Session, item: str) -> None:
    used = {each: read(session, each, 6.0, 1.5).id for each in ("ph", "ec", "dip")}
    offered(session, 1.0, input={"records": used})
    read(session, "t", 20.0, 0.5)
    assert open_correction_of(session, "res-1") is not None
    read(session, item, 6.0, 0.4)
    assert open_correction_of(session, "res-1") is None
    assert wants_offer(session, "res-1")


def test_an_offer_of_a_reading_that_was_taken_back_is_none(session: Session) -> None:
    used = {"ph": read(session, "ph", 6.0, 1.5).id}
    offered(session, 1.0, input={"records": used})
    session.history.void(used["ph"], person="ada")
    assert open_correction_of(session, "res-1") is None


def test_readings_that_nothing_was_worked_out_from_want_an_offer(session: Session) -> None:
    assert not wants_offer(session, "res-1") and uncorrected(session) == []
    read(session, "dip", 30.0, 1.0)
    assert not wants_offer(session, "res-1")
    first = read(session, "ph", 6.0, 1.0)
    assert wants_offer(session, "res-1")
    assert [each.id for each in uncorrected(session)] == ["res-1"]
    offered(session, 0.9, input={"records": {"ph": first.id}})
    assert not wants_offer(session, "res-1") and uncorrected(session) == []
    put(session, "put-off", 0.5, data={"correction": "x"})
    assert not wants_offer(session, "res-1")
    read(session, "ec", 1.7, 0.5)
    assert not wants_offer(session, "res-1"), "read when it was put off, not after"
    read(session, "ec", 1.7, 0.4)
    assert wants_offer(session, "res-1")


def test_a_helper_goes_on_with_no_offer_of_the_growers(session: Session, farm_folder: Path, clock: Any) -> None:
    used = {"ph": read(session, "ph", 6.0, 1.0).id}
    put(session, "correction", 0.9, person="ada", data={"steps": STEPS, "input": {"records": used}})
    assert open_correction_of(session, "res-1") is not None and not wants_offer(session, "res-1")
    session.history.close()
    helper = Session.open(farm_folder, person_id="ben", clock=clock)
    assert helper.is_helper and not session.is_helper
    assert open_correction_of(helper, "res-1") is None and wants_offer(helper, "res-1")
    put(helper, "correction", 0.8, person="ben", data={"steps": STEPS, "input": {"records": used}})
    assert open_correction_of(helper, "res-1") is not None and not wants_offer(helper, "res-1")


def test_half_a_pair_is_told_given_up_and_then_gone(session: Session, clock: Any) -> None:
    assert half_pairs(session) == [] and half_pair_at(session, "hens") is None
    dose = dosed(session, 2.0, "leaf-a", 300.0, action="concentrate_a")
    (pair,) = half_pairs(session)
    assert half_pair_at(session, "res-1") == pair
    assert (pair.reservoir_id, pair.missing, pair.product, pair.owed_ml) == (
        "res-1",
        "B",
        "leaf-b",
        pytest.approx(300.0),
    )
    assert pair_text(session, pair).startswith("Pour 300 mL of B into Reservoir one: ")
    found = readings_for(session, "res-1")
    assert found is not None and (found.at, found.ph, found.ec_ms_cm) == (clock(), None, None)
    with pytest.raises(Exception, match="without a reason"):
        give_up(session, pair, "  ", "k1", None)
    record = give_up(session, pair, " spilt ", "k1", "r1")
    assert (record.kind, record.station, record.item, record.note) == ("given-up", "res-1", "leaf-b", "spilt")
    assert (record.person, record.round_id, record.measured_at) == ("ada", "r1", clock())
    assert record.data == {"correction": "k1", "doses": [dose.id], "part": "B", "owed_ml": pair.owed_ml}
    assert half_pairs(session) == []


def test_half_a_pair_from_before_what_the_advice_looks_at_brings_its_records(session: Session) -> None:
    record = offered(session, 2001.0)
    dose = dosed(session, 2000.0, "leaf-a", 300.0, action="concentrate_a", correction=record.id, step=1)
    before, after = dose.measured_at, dose.measured_at + timedelta(seconds=1)
    assert pair_records(session, "res-1", before) == []
    assert pair_records(session, "res-1", after) == [record, dose]
    assert isinstance(entry_of(dose), Dose)
    dosed(session, 1000.0, "well", 180.0, action="change_out")
    assert half_pairs(session) == [] and pair_records(session, "res-1", after) == []
