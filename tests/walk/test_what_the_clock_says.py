"""What on a walk hangs on the clock, just inside its limit and just outside: fresh, waiting, called, carried, held."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from rounds.book.entries import Dose, entry_of
from rounds.book.offered import Offer
from rounds.history.record import Draft, Record
from rounds.walk.carried import Carried, carried_over
from rounds.walk.fresh import fresh_records, readings_of
from rounds.walk.half_pairs import give_up, half_pair_at, half_pairs, pair_records, pair_text
from rounds.walk.held import held_line, held_of
from rounds.walk.left_open import close_left_open
from rounds.walk.offering import readings_for
from rounds.walk.open_corrections import is_near, open_correction_of, open_corrections, uncorrected, wants_offer
from rounds.walk.rechecks import Call, calls, waits
from rounds.walk.round import close_round, closed_today, current_round, left_open, open_round, start_round
from rounds.walk.safekeeping import backup_text
from rounds.walk.session import Session
from rounds.walk.station_signs import signs_today, standing_alarms
from rounds.walk.stock import count_product, read_amount, shelf_lines, strength_text
from rounds.walk.stops import round_start
from rounds.walk.summary import summarise
from rounds.walk.waits import Wait, mixing_waits
from rounds.walk.wording import when

SECOND = 1.0 / 3600.0
STEPS = [
    {"action": "acid", "product": "nitric-8", "amount": 30.0, "unit": "mL", "wait_min": 25.0},
    {"action": "circulate", "wait_min": 40.0}, {"action": "read_again"},
    {"action": "acid", "amount": 10.0, "unit": "mL"},
]  # fmt: skip


@pytest.fixture
def session(farm_folder: Path, clock: Any) -> Session:
    return Session.open(farm_folder, clock=clock)


def put(session: Session, kind: str, ago_h: float = 0.0, station: str = "res-1", **fields: Any) -> Record:
    """Write one record, measured so many hours ago."""
    at = session.now() - timedelta(seconds=round(ago_h * 3600.0))
    return session.save(Draft(kind=kind, measured_at=at, station=station, **fields))[0]


def read(session: Session, item: str, value: float, ago_h: float = 0.0, **fields: Any) -> Record:
    return put(session, "reading", ago_h, item=item, value=value, **fields)


def dosed(session: Session, ago_h: float, item: str = "nitric-8", amount: float = 30.0, **data: Any) -> Record:
    data = {"action": "acid", **data}
    unit = "L" if data["action"] in ("top_up", "drain_off", "change_out") else "mL"
    return put(session, "dose", ago_h, item=item, value=amount, unit=unit, data=data)


def offered(session: Session, ago_h: float = 0.0, steps: list[dict[str, Any]] = STEPS, **data: Any) -> Record:
    return put(session, "correction", ago_h, data={"steps": steps, **data})


# ------------------------------------------------------------------------------------------------------------- fresh


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


# ------------------------------------------------------------------------------------------------------- corrections


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


# ------------------------------------------------------------------------------------------------------------- waits


def step_done(session: Session, record: Record, number: int, ago_h: float) -> None:
    steps = Offer(record).steps
    step = steps[number - 1]
    data = {"action": step.action, "correction": record.id, "step": number}
    kind, amount = ("dose", step.amount) if step.is_measured else ("step", None)
    put(session, kind, ago_h, item=step.product or step.action, value=amount, unit=step.unit or None, data=data)


def test_what_mixes_waits_as_long_as_its_step_says(session: Session) -> None:
    record = offered(session, 1.0)
    assert mixing_waits(session) == []
    step_done(session, record, 1, 0.5)
    at = session.now() - timedelta(minutes=30)
    assert mixing_waits(session) == [
        Wait(station_id="res-1", until=at + timedelta(minutes=25), what="then the next step")
    ]
    step_done(session, record, 2, 0.25)
    (wait,) = mixing_waits(session)
    assert (wait.what, wait.until) == ("then read it again", session.now() + timedelta(minutes=25))
    assert (wait.seconds_left(session.now()), wait.seconds_left(wait.until + timedelta(seconds=9))) == (1500.0, -9.0)
    put(session, "put-off", 0.1, data={"correction": record.id})
    assert mixing_waits(session) == []


@pytest.mark.parametrize(("number", "ago_h", "waits_"), [
    (1, 5.9, True), (1, 6.0, True), (1, 6.0 + SECOND, False), (3, 1.0, False), (4, 1.0, False),
])  # fmt: skip
def test_no_wait_is_looked_for_that_began_more_than_six_hours_ago(
    session: Session, number: int, ago_h: float, waits_: bool
) -> None:
    record = offered(session, 7.0)
    step_done(session, record, number, ago_h)
    assert (len(mixing_waits(session)) == 1) is waits_


def test_a_dose_without_a_correction_or_of_another_place_waits_for_nothing(session: Session) -> None:
    record = offered(session, 1.0)
    dosed(session, 0.5)
    dosed(session, 0.4, correction="unknown", step=1)
    put(session, "dose", 0.3, station="gone", item="x", value=1.0, data={"correction": record.id, "step": 1})
    assert mixing_waits(session) == []


def test_a_reservoir_calls_back_when_it_has_mixed_for_its_next_step(session: Session, clock: Any) -> None:
    record = offered(session, 1.0)
    assert calls(session) == []
    step_done(session, record, 1, 50 / 60)
    step_done(session, record, 2, 39 / 60)
    begun = session.now() - timedelta(minutes=39)
    assert calls(session) == [] and len(waits(session)) == 1
    clock.go_on(minutes=1)
    assert calls(session) == [Call(station_id="res-1", since=begun, what="next step")]


def test_a_reservoir_calls_back_to_be_read_when_it_has_turned_over_three_times(session: Session, clock: Any) -> None:
    """180 L at work, two channels of 4 L with 2 L of roots, 6 L of pipes: 198 L, by 20 L/min."""
    minutes = round(3.0 * (180.0 + 2 * (4.0 + 2.0) + 6.0) / 20.0)
    record = offered(session, 2.0, steps=[STEPS[0]])
    dosed(session, 0.0, correction=record.id, step=1)
    due = session.now() + timedelta(minutes=minutes)
    assert waits(session) == [Wait(station_id="res-1", until=due, what="then read it again")]
    clock.go_on(minutes=minutes, seconds=-1)
    assert calls(session) == []
    clock.go_on(seconds=1)
    assert calls(session) == [Call(station_id="res-1", since=due, what="read again")]
    put(session, "skip", 0.0)
    assert calls(session) == [] and waits(session) == []


@pytest.mark.parametrize(("ago_h", "called"), [(19.9, True), (20.1, False)])
def test_what_was_poured_more_than_twenty_hours_ago_calls_nobody(session: Session, ago_h: float, called: bool) -> None:
    record = offered(session, ago_h, steps=[STEPS[0]])
    dosed(session, ago_h, correction=record.id, step=1)
    assert (len(calls(session)) == 1) is called


# -------------------------------------------------------------------------------------------------------------- held

FORESEEN = {
    "mixed": {"ph": {"value": 5.8, "low": 5.6, "high": 6.0}},
    "next_morning": {"ph": {"value": 6.0, "low": 5.7, "high": 6.2}},
}  # fmt: skip


@pytest.mark.parametrize(("after_min", "ph", "told"), [
    (9, 5.8, ""), (10, 5.8, "pH 5.80 expected, 5.80 read"), (10, 5.6, "pH 5.80 expected, 5.60 read"),
    (10, 5.59, "pH 5.80 expected, 5.59 read, outside 5.60 to 6.00"), (10, 6.0, "pH 5.80 expected, 6.00 read"),
    (10, 6.01, "pH 5.80 expected, 6.01 read, outside 5.60 to 6.00"), 
    (599, 6.1, "pH 5.80 expected, 6.10 read, outside 5.60 to 6.00"),
    (600, 6.1, "pH 6.00 expected, 6.10 read"),
])  # fmt: skip
def test_a_correction_is_held_against_what_was_foreseen_for_then(
    session: Session, after_min: int, ph: float, told: str
) -> None:
    record = offered(session, 12.0, prediction=FORESEEN)
    dosed(session, 11.0, correction=record.id, step=1)
    read(session, "ph", ph, 11.0 - after_min / 60.0)
    assert held_of(session, Offer(record)) == told


@pytest.mark.parametrize(("day_h", "whose"), [(0.5, "Today's"), (12.0, "Yesterday's"), (50.0, "Monday's")])
@pytest.mark.parametrize(("action", "what"), [
    ("acid", "acid"), ("base", "base"), ("concentrate_a", "A and B"), ("concentrate_b", "A and B"), ("top_up", "water"),
    ("drain_off", "water"), ("change_out", "fill"), ("", "dose"),
])  # fmt: skip
def test_the_line_says_whose_it_was(session: Session, day_h: float, whose: str, action: str, what: str) -> None:
    """It is six on a Wednesday morning."""
    record = offered(session, day_h, prediction=FORESEEN)
    dosed(session, day_h, amount=10.0, action=action, correction=record.id, step=1)
    read(session, "ph", 5.9)
    expected = "5.80" if day_h < 10.0 else "6.00"
    assert held_line(session, "res-1") == f"{whose} {what}: pH {expected} expected, 5.90 read"


def test_nothing_is_told_of_a_correction_sixty_hours_old_or_of_which_nothing_was_poured(session: Session) -> None:
    record = offered(session, 60.1, prediction=FORESEEN)
    dosed(session, 59.0, correction=record.id, step=1)
    read(session, "ph", 5.9)
    assert held_line(session, "res-1") == ""
    bare = offered(session, 5.0, prediction=FORESEEN)
    assert held_of(session, Offer(bare)) == "" and held_line(session, "res-1") == ""


# ----------------------------------------------------------------------------------------------------------- carried


@pytest.mark.parametrize(("ago_h", "there"), [(7 * 24.0, True), (7 * 24.0 + SECOND, False), (1.0, True)])
def test_what_was_left_open_is_carried_over_for_a_week(session: Session, ago_h: float, there: bool) -> None:
    since = session.now() - timedelta(seconds=round(ago_h * 3600.0))
    put(session, "put-off", ago_h, note="guests")
    put(session, "skip", ago_h, station="hens", note="asleep")
    found = [
        Carried(station_id="res-1", what="correction put off (guests)", brief="put off (guests)", since=since),
        Carried(station_id="hens", what="left out: asleep", since=since),
    ]
    assert sorted(carried_over(session), key=lambda c: c.what) == (found if there else [])


@pytest.mark.parametrize(("kind", "item"), [("dose", "x"), ("correction", ""), ("reading", "ph"), ("reading", "ec")])
def test_a_correction_that_was_put_off_is_done_by_what_came_after_it(session: Session, kind: str, item: str) -> None:
    put(session, kind, 5.0, item=item, value=1.0 if item else None)
    put(session, "put-off", 4.0)
    assert [each.what for each in carried_over(session)] == ["correction put off"]
    put(session, kind, 3.0, item=item, value=1.0 if item else None)
    assert carried_over(session) == []


def test_a_station_that_was_left_out_is_carried_until_it_is_looked_at(session: Session) -> None:
    put(session, "skip", 4.0, station="hens")
    put(session, "skip", 4.0, station="ch-1", item="flow", note="no jug")
    put(session, "note", 3.0, station="hens", note="x")
    assert [(each.station_id, each.what) for each in carried_over(session)] == [("hens", "left out: no reason")]
    put(session, "check", 2.0, station="hens", item="eggs", value=3)
    assert carried_over(session) == []


def test_stations_that_the_last_round_did_not_reach_are_carried_oldest_first(session: Session) -> None:
    put(session, "round", 20.0, station="", item="dusk", value="closed", data={"open": ["hens", "ch-1", "gone"]})
    put(session, "check", 10.0, station="ch-1", item="roots", value=True)
    put(session, "put-off", 30.0)
    assert [(each.station_id, each.what, each.brief) for each in carried_over(session)] == [
        ("res-1", "correction put off", "put off"), ("hens", "not reached on the last round", ""),
    ]  # fmt: skip
    put(session, "round", 1.0, station="", item="morning", value="started")
    assert [each.station_id for each in carried_over(session)] == ["res-1"]


# ------------------------------------------------------------------------------------------------------------ rounds


def test_a_round_is_written_down_whole_at_both_ends(session: Session, clock: Any) -> None:
    walk = start_round(session, "morning")
    assert (walk.id, walk.name, walk.started_at, walk.person, walk.day) == (
        "2026-11-25-morning", "morning", clock(), "ada", date(2026, 11, 25),
    )  # fmt: skip
    assert start_round(session, "morning") == walk == open_round(session, "morning")
    assert (current_round(session), closed_today(session, "morning")) == ("morning", False)
    clock.go_on(hours=1)
    closed = close_round(session, walk, {"open": ["hens"]})
    begun, _ = session.history.records(kind="round")
    for record, at, value, data in (
        (begun, walk.started_at, "started", {}),
        (closed, clock(), "closed", {"open": ["hens"]}),
    ):
        assert (record.kind, record.station, record.item, record.value) == ("round", "", "morning", value)
        assert (record.measured_at, record.person, record.round_id, record.data) == (at, "ada", walk.id, data)
    assert open_round(session, "morning") is None and closed_today(session, "morning")
    assert start_round(session, "morning").id == "2026-11-25-morning-2"
    assert start_round(session, "dusk").id == "2026-11-25-dusk"


@pytest.mark.parametrize(("hour", "minute", "name"), [
    (0, 0, "morning"), (10, 59, "morning"), (11, 0, "midday"), (14, 59, "midday"), (15, 0, "dusk"), (23, 59, "dusk"),
])  # fmt: skip
def test_the_round_of_a_time_of_day(session: Session, hour: int, minute: int, name: str) -> None:
    assert session.round_name(datetime(2026, 11, 25, hour, minute, tzinfo=UTC)) == name


def test_a_round_counts_from_its_hour_on_its_own_day(session: Session) -> None:
    assert round_start(session, "midday") == datetime(2026, 11, 25, 11, tzinfo=UTC)
    assert round_start(session, "dusk", date(2026, 11, 3)) == datetime(2026, 11, 3, 15, tzinfo=UTC)


def test_rounds_of_earlier_days_are_closed_oldest_first_with_what_they_did_not_reach(
    session: Session, clock: Any
) -> None:
    start_round(session, "dusk")
    clock.go_on(days=1)
    start_round(session, "morning")
    clock.go_on(days=1)
    start_round(session, "midday")
    assert [(walk.name, walk.day.day) for walk in left_open(session)] == [("dusk", 25), ("morning", 26)]
    told = close_left_open(session)
    assert [each.split(" was left")[0] for each in told] == [
        "The dusk round of 25 November", "The morning round of 26 November",
    ]  # fmt: skip
    assert all("stations were not reached" in each for each in told)
    assert left_open(session) == [] and close_left_open(session) == []
    last = session.history.latest("", "dusk")
    assert last is not None and last.data["left_open"] is True and "hens" in last.data["open"]


def test_a_summary_counts_what_one_round_came_to(session: Session, clock: Any) -> None:
    put(session, "reading", 0.0, item="ph", value=6.0, round_id="before")
    walk = start_round(session, "morning")
    clock.go_on(minutes=1)
    for fields in (
        {"kind": "reading", "item": "ph", "value": 7.0}, {"kind": "reading", "item": "ph", "value": 6.5},
        {"kind": "reading", "item": "ec", "value": 1.7},
        {"kind": "check", "item": "all-well", "value": True, "data": {"covers": ["look", "pump"]}},
        {"kind": "check", "item": "strainer", "value": False},
        {"kind": "dose", "item": "nitric-8", "value": 30.0, "unit": "mL", "data": {"action": "acid"}},
        {"kind": "dose", "item": "gone", "value": 2.0, "unit": "L", "data": {"action": "top_up"}},
        {"kind": "dose", "item": "gone", "data": {}}, {"kind": "note", "note": "a drip"},
        {"kind": "skip", "station": "hens", "note": "asleep"},
    ):  # fmt: skip
        clock.go_on(seconds=1)
        session.save(Draft(**{"measured_at": clock(), "station": "res-1", "round_id": walk.id, **fields}))
    found = summarise(session, walk)
    assert (found.readings, found.checks) == (3, 3)
    assert found.doses == (
        "Reservoir one: Working nitric acid 30 mL",
        "Reservoir one: top up 2 L",
        "Reservoir one: gone",
    )
    assert found.notes == ("Reservoir one: a drip",) and found.skipped == ("Hen house: asleep",)
    assert len(found.off) == 2 and "pH ▲ 0.30 above" in found.off[0], found.off
    assert "“" in found.off[1] and found.slow == ()
    assert found.stations_done + len(set(found.stations_open) & {"res-1"}) == 1
    assert found.to_data() == {
        "open": list(found.stations_open), "done": found.stations_done, "readings": 3, "checks": 3,
        "off": list(found.off),
    }  # fmt: skip


# ---------------------------------------------------------------------------------------------------- signs and words


def test_a_sign_says_how_each_station_was_found_today(session: Session) -> None:
    assert signs_today(session) == {}
    put(session, "check", 6.0, station="hens", item="eggs", value=3)
    put(session, "check", 6.0 + SECOND, station="ch-2", item="roots", value=True)
    put(session, "reading", 1.0, item="ph", value=5.9)
    put(session, "skip", 1.0, station="ch-1", note="x")
    assert signs_today(session) == {"hens": "✓", "res-1": "✓", "ch-1": "–"}
    put(session, "reading", 0.5, item="ec", value=3.0)
    put(session, "check", 0.5, station="", item="roots", value=False)
    assert signs_today(session) == {"hens": "✓", "res-1": "!", "ch-1": "–"}


def test_an_alarm_stands_until_it_is_answered_or_the_day_is_over(session: Session, clock: Any) -> None:
    assert standing_alarms(session) == []
    alive = session.checklists.of("alive")
    assert alive is not None
    item = next(each for each in alive.items if each.type != "reading")
    put(session, "check", 1.0, station="", item=item.id, value=False)
    assert standing_alarms(session) == [f"{item.label}: NO. {item.off}"]
    put(session, "check", 1.0, station="hens", item="eggs", value=False)
    assert len(standing_alarms(session)) == 1
    clock.go_on(days=1)
    assert standing_alarms(session) == []
    put(session, "check", 1.0, station="", item=item.id, value=False)
    put(session, "check", 0.5, station="", item=item.id, value=True)
    assert standing_alarms(session) == []


@pytest.mark.parametrize(("moment", "words"), [
    (datetime(2026, 11, 25, 5, 30, tzinfo=UTC), "05:30"), (datetime(2026, 11, 25, 0, 0, tzinfo=UTC), "00:00"),
    (datetime(2026, 11, 24, 23, 59, tzinfo=UTC), "yest. 23:59"), 
    (datetime(2026, 11, 23, 7, 0, tzinfo=UTC), "Mon 07:00"),
    (datetime(2026, 11, 19, 7, 0, tzinfo=UTC), "Thu 07:00"), (datetime(2026, 11, 18, 7, 0, tzinfo=UTC), "18 Nov"),
    (datetime(2025, 12, 31, 7, 0, tzinfo=UTC), "31 Dec 2025"), (datetime(2026, 1, 1, 7, 0, tzinfo=UTC), "1 Jan"),
    (datetime(2026, 11, 26, 7, 0, tzinfo=UTC), "26 Nov"),
])  # fmt: skip
def test_a_time_is_said_as_people_say_it(moment: datetime, words: str) -> None:
    assert when(moment, datetime(2026, 11, 25, 6, 0, tzinfo=UTC), UTC) == words


def test_days_are_those_of_the_farm() -> None:
    there = ZoneInfo("Pacific/Auckland")
    assert when(datetime(2026, 11, 24, 23, tzinfo=UTC), datetime(2026, 11, 25, 6, tzinfo=UTC), there) == "12:00"


@pytest.mark.parametrize(("hours", "words"), [
    (0, "today"), (23.9, "today"), (24, "yesterday"), (47.9, "yesterday"), (48, "2 days ago"), (24 * 30, "30 days ago"),
])  # fmt: skip
def test_how_long_ago_a_backup_was_made(session: Session, hours: float, words: str) -> None:
    at = (session.now() - timedelta(hours=hours)).isoformat()
    own = session.farm.folder / "history" / "bench"
    own.mkdir(parents=True)
    (own / "last-backup").write_text(f'{{"at":"{at}","to":"/stick","files":1}}')
    assert backup_text(session) == f"The last good backup was made {words}."


# --------------------------------------------------------------------------------------------------------- the shelf


def test_a_count_is_written_down_whole(session: Session, clock: Any) -> None:
    product = session.farm.shelf["leaf-a"]
    record = count_product(session, product, "7,5")
    assert (record.kind, record.station, record.item, record.value, record.unit) == ("stock", "", "leaf-a", 7.5, "L")
    assert (record.typed, record.person, record.data, record.measured_at) == ("7,5", "ada", {"why": "counted"}, clock())
    assert read_amount(session, product, "500 mL") == 0.5
    assert read_amount(session, product, "1000000") == 1_000_000 and read_amount(session, product, "0") == 0
    for text in ("1000001", "-1"):
        with pytest.raises(Exception, match="cannot be on the shelf"):
            read_amount(session, product, text)


def with_shelf(folder: Path, clock: Any, old: str, new: str) -> Session:
    shelf = folder / "shelf.toml"
    text = shelf.read_text(encoding="utf-8")
    assert old in text
    shelf.write_text(text.replace(old, new, 1), encoding="utf-8")
    return Session.open(folder, clock=clock)


@pytest.mark.parametrize(("new", "concern"), [
    ("amount = 2\nreorder_at = 2\n", ""), ("amount = 1.9\nreorder_at = 2\n", "below 2 L: reorder"),
    ("amount = 0\nreorder_at = 2\n", "none left"), ("amount = 2\nuse_by = 2026-11-25\n", ""),
    ("amount = 0\nuse_by = 2026-11-24\n", "past its date, 2026-11-24"),
])  # fmt: skip
def test_what_wants_attention_comes_first(farm_folder: Path, clock: Any, new: str, concern: str) -> None:
    session = with_shelf(farm_folder, clock, "amount = 2\n", new)
    lines = shelf_lines(session)
    (acid,) = [line for line in lines if line.product.id == "nitric-8"]
    assert acid.concern == concern
    assert lines[0].product.id == ("nitric-8" if concern else "leaf-a")
    assert acid.per_week == 0.0


def test_how_strong_a_product_is_said_to_be(farm_folder: Path, clock: Any) -> None:
    shelf = Session.open(farm_folder, clock=clock).farm.shelf
    assert [strength_text(shelf[each]) for each in ("leaf-a", "nitric-8")] == ["part A", "8 % working"]
    bare = with_shelf(farm_folder, clock, "percent = 8\ndensity_kg_l = 1.043\nworking = true\n", "working = true\n")
    assert strength_text(bare.farm.shelf["nitric-8"]) == "strength unknown"
    (line,) = [each for each in shelf_lines(bare) if each.concern]
    assert line.concern == "strength unknown: it is never dosed"
    molar = with_shelf(farm_folder, clock, "working = true\n", "molarity_mol_l = 1.3\n")
    assert strength_text(molar.farm.shelf["nitric-8"]) == "1.3 mol/L"


# -------------------------------------------------------------------------------------------------------- half a pair


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
