"""Rounds that are started, broken off, taken up and closed; and what they leave to the next."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from rounds.errors import BadInput, NotFound
from rounds.history.record import Draft
from rounds.walk.carried import carried_over
from rounds.walk.carrying_out import record_step
from rounds.walk.fresh import readings_of
from rounds.walk.open_corrections import open_corrections
from rounds.walk.rechecks import calls, waits
from rounds.walk.round import close_round, current_round, open_round, start_round
from rounds.walk.session import Session
from rounds.walk.station_signs import signs_today, standing_alarms
from rounds.walk.stock import count_product, shelf_lines
from rounds.walk.stops import alive_stop, stop_at
from rounds.walk.summary import summarise
from rounds.walk.visit import Visit

STEPS = [
    {"action": "top_up", "product": "well", "amount": 20.0, "unit": "L", "text": "Add 20 L."},
    {"action": "circulate", "wait_min": 10, "text": "Let the pump run."},
    {"action": "acid", "product": "nitric-8", "amount": 30.0, "unit": "mL", "text": "Pour 30 mL."},
    {"action": "recheck", "text": "Read again."},
]


def offered(session: Session) -> Any:
    data = {"steps": STEPS, "assumed": {"volume_l": 180.0}}
    session.save(Draft(kind="correction", measured_at=session.now(), station="res-1", data=data))
    (correction,) = open_corrections(session)
    return correction


def test_a_round_is_taken_up_again_until_it_is_closed(session: Session, clock: Any) -> None:
    first = start_round(session, "morning")
    clock.go_on(hours=2)
    assert start_round(session, "morning") == first
    close_round(session, first, {"open": []})
    assert open_round(session, "morning") is None
    assert start_round(session, "morning").id != first.id


def test_yesterdays_round_is_not_taken_up_today(session: Session, clock: Any) -> None:
    start_round(session, "morning")
    clock.go_on(days=1)
    assert open_round(session, "morning") is None


def test_the_morning_stays_until_it_is_closed(session: Session, clock: Any) -> None:
    clock.go_on(hours=11)
    assert current_round(session) == "morning"
    close_round(session, start_round(session, "morning"), {"open": []})
    assert current_round(session) == "dusk"


def test_stations_that_were_not_reached_are_carried_over_until_they_are_looked_at(session: Session, clock: Any) -> None:
    walk = start_round(session, "morning")
    close_round(session, walk, summarise(session, walk).to_data())
    clock.go_on(days=1)
    assert {each.station_id for each in carried_over(session)} == {"res-1", "ch-1", "ch-2", "hens"}
    Visit(session=session, stop=stop_at(session, "morning", "ch-1")).all_well()
    assert "ch-1" not in {each.station_id for each in carried_over(session)}


def test_a_pump_that_runs_begins_its_wait_by_itself_after_the_dose(session: Session, clock: Any) -> None:
    correction = offered(session)
    after = record_step(session, correction, correction.steps[0], None, None)
    assert after.next_step is not None
    assert after.next_step.number == 3
    (wait,) = waits(session)
    assert wait.seconds_left(session.now()) == 600
    assert calls(session) == []
    clock.go_on(minutes=10)
    (call,) = calls(session)
    assert (call.station_id, call.what) == ("res-1", "next step")


def test_after_the_last_dose_the_reservoir_calls_to_be_read_again(session: Session, clock: Any) -> None:
    correction = offered(session)
    correction = record_step(session, correction, correction.steps[0], None, None)
    clock.go_on(minutes=11)
    record_step(session, correction, correction.steps[2], 28.0, None)
    assert open_corrections(session) == []
    (wait,) = waits(session)
    # Three turnovers of 180 L at 20 L/min mix to 95 %: 27 min. Perfectly mixed flow, 1 - exp(-3) = 0.95.
    assert wait.seconds_left(session.now()) / 60 == pytest.approx(27, abs=1)
    clock.go_on(minutes=28)
    assert [call.what for call in calls(session)] == ["read again"]
    Visit(session=session, stop=stop_at(session, "morning", "res-1")).take_line("ph 5.9 ec 1.7")
    assert calls(session) == []


@pytest.mark.parametrize("amount", [-1.0, 2e6, float("nan")])
def test_an_amount_that_cannot_have_been_poured_is_refused(session: Session, amount: float) -> None:
    correction = offered(session)
    with pytest.raises(BadInput):
        record_step(session, correction, correction.steps[0], amount, None)
    assert session.history.records(kind="dose") == []


def test_what_was_poured_is_taken_off_the_shelf_and_a_count_sets_it(session: Session, clock: Any) -> None:
    correction = offered(session)
    record_step(session, correction, correction.steps[2], 30.0, None)
    acid = next(line for line in shelf_lines(session) if line.product.id == "nitric-8")
    assert acid.amount == pytest.approx(1.97)
    clock.go_on(minutes=5)
    count_product(session, acid.product, "750 mL")
    assert next(x.amount for x in shelf_lines(session) if x.product.id == "nitric-8") == pytest.approx(0.75)


def test_nobody_unknown_walks_the_farm(farm_folder: Path) -> None:
    with pytest.raises(NotFound, match="ada"):
        Session.open(farm_folder, person_id="zoe")
    assert Session.open(farm_folder, person_id="Ben").is_helper


def test_an_alarm_stands_until_it_is_said_to_be_well(session: Session, clock: Any) -> None:
    walk = start_round(session, "morning")
    visit = Visit(session=session, stop=alive_stop(session, "morning"), round_id=walk.id)
    visit.take_line("pumps")
    (alarm,) = standing_alarms(session)
    assert alarm.startswith("All pumps heard: NO.")
    assert any("All pumps heard" in text for text in summarise(session, walk).off)
    clock.go_on(minutes=5)
    visit.take_line("pumps y")
    assert standing_alarms(session) == []


def test_a_station_with_something_off_or_left_out_has_its_sign(session: Session, clock: Any) -> None:
    Visit(session=session, stop=stop_at(session, "morning", "ch-1")).take_line("wilt")
    Visit(session=session, stop=stop_at(session, "morning", "ch-2")).skip("dark")
    Visit(session=session, stop=stop_at(session, "morning", "hens")).all_well()
    assert signs_today(session) == {"ch-1": "!", "ch-2": "–", "hens": "✓"}


def test_a_reading_of_the_future_never_steers_a_dose(session: Session, clock: Any) -> None:
    at = session.now() + timedelta(days=3)
    Visit(session=session, stop=stop_at(session, "morning", "res-1"), at=at).take_line("ph 5.0")
    Visit(session=session, stop=stop_at(session, "morning", "res-1")).take_line("ph 6.5 ec 1.7")
    readings = readings_of(session, "res-1")
    assert readings is not None
    assert readings.ph == 6.5


def test_a_dip_from_before_a_dose_is_carried_on_by_what_was_poured(session: Session, clock: Any) -> None:
    Visit(session=session, stop=stop_at(session, "morning", "res-1")).take_line("6.6 1.3 21 30")
    clock.go_on(minutes=1)
    session.save(Draft(kind="dose", station="res-1", item="well", value=25.0, unit="L", measured_at=session.now(),
                       data={"action": "top_up"}))  # fmt: skip
    assert readings_of(session, "res-1") is None, "pH and EC of before the dose are nobody's readings now"
    clock.go_on(minutes=40)
    Visit(session=session, stop=stop_at(session, "morning", "res-1")).take_line("ph 6.9 ec 1.2")
    readings = readings_of(session, "res-1")
    assert readings is not None
    # The dip table of the test farm is 5 L per cm: 30 cm are 150 L, and 25 L were poured on top.
    assert (readings.dip_cm, readings.volume_l) == (None, 175.0)


def test_an_offer_of_hours_ago_does_not_hold_any_more(session: Session, clock: Any) -> None:
    offered(session)
    clock.go_on(hours=4)
    assert open_corrections(session) == []


def test_a_dose_outside_a_correction_ends_it(session: Session, clock: Any) -> None:
    offered(session)
    clock.go_on(minutes=5)
    session.save(Draft(kind="dose", station="res-1", item="leaf-a", value=300.0, unit="mL", measured_at=session.now(),
                       data={"action": "concentrate_a"}))  # fmt: skip
    assert open_corrections(session) == []


def test_a_dose_far_from_the_advice_ends_it_even_when_killed_at_once(session: Session, clock: Any) -> None:
    correction = offered(session)
    data = {"action": "top_up", "correction": correction.id, "step": 1, "advised": 20.0}
    clock.go_on(minutes=1)
    session.save(
        Draft(kind="dose", station="res-1", item="well", value=200.0, unit="L", measured_at=session.now(), data=data)
    )
    assert open_corrections(session) == []


def test_a_helper_does_not_take_up_what_was_offered_to_the_grower(farm_folder: Path, clock: Any) -> None:
    offered(Session.open(farm_folder, clock=clock))
    helper = Session.open(farm_folder, person_id="ben", clock=clock)
    assert helper.is_helper
    assert open_corrections(helper) == []


def test_a_farm_of_helpers_alone_is_opened_as_a_helper(farm_folder: Path) -> None:
    farm = (farm_folder / "farm.toml").read_text(encoding="utf-8")
    (farm_folder / "farm.toml").write_text(
        farm.replace('name = "Ada"', 'name = "Ada"\nrole = "helper"'), encoding="utf-8"
    )
    assert Session.open(farm_folder).is_helper


def test_a_band_of_nothing_is_a_mistake_and_a_reservoirs_own_band_counts_for_its_dose(farm_folder: Path) -> None:
    farm = (farm_folder / "farm.toml").read_text(encoding="utf-8")
    own = farm.replace('id = "res-1"', 'id = "res-1"\nbands = { ph = [6.4, 6.8], pH = [1, 2] }', 1)
    (farm_folder / "farm.toml").write_text(own, encoding="utf-8")
    session = Session.open(farm_folder)
    (mistake,) = session.mistakes
    assert (mistake.key, mistake.found) == ("stations.res-1.bands", "pH")
    assert session.farm.stage_of(session.farm.reservoir("res-1")).ph == (6.4, 6.8)
    assert session.farm.stage_of(session.farm.reservoir("res-1")).ec == (1.5, 1.9)


def test_the_summary_names_what_is_off_by_its_newest_reading(session: Session, clock: Any) -> None:
    walk = start_round(session, "morning")
    for line in ("ph 6.9 ec 1.2", "ph 6.5 ec 1.7"):
        visit = Visit(session=session, stop=stop_at(session, "morning", "res-1"), round_id=walk.id)
        visit.take_line(line)
        clock.go_on(minutes=30)
    (off,) = summarise(session, walk).off
    assert off.startswith("Reservoir one: pH")
    assert "0.30 above" in off, "6.5 is 0.3 above the band of 5.6 to 6.2"


def test_a_station_that_is_no_longer_in_the_files_is_named_by_its_id(session: Session) -> None:
    walk = start_round(session, "morning")
    note = Draft(kind="note", measured_at=session.now(), station="gone-1", note="leaks", round_id=walk.id)
    session.save(note)
    assert summarise(session, walk).notes == ("gone-1: leaks",)
