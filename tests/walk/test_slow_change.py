"""Slow change on a farm: what is told, what is not, and what a grower writes down about it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import pytest

from rounds.errors import NotFound
from rounds.farm.stations import Box, Reservoir
from rounds.history.record import Draft
from rounds.walk.daybook.sentences import record_text
from rounds.walk.round import start_round
from rounds.walk.session import Session
from rounds.walk.slow_change.derived import drift_points, drunk_points
from rounds.walk.slow_change.finding import SlowChange, finding_of
from rounds.walk.slow_change.gather import all_series
from rounds.walk.slow_change.notices import farm_lines, new_lines, station_lines
from rounds.walk.slow_change.watch import look_over, mark_put_right, mark_seen
from rounds.walk.slow_change.words import companions, sentence
from rounds.walk.summary import summarise

FALLING = [1.20, 1.21, 1.17, 1.16, 1.13, 1.12, 1.09, 1.07]
STEADY = [1.20, 1.21, 1.19, 1.22, 1.20, 1.18, 1.21, 1.19]


def readings(
    session: Session, station: str, item: str, values: Iterable[float], *, every_days: float = 7, ago_days: float = 1,
    hour: float = 0.0, **more: Any,
) -> list[Draft]:  # fmt: skip
    """Readings at six in the morning, the last one some days ago."""
    values = list(values)
    last = session.now() - timedelta(days=ago_days) + timedelta(hours=hour)
    return [
        Draft(kind="reading", station=station, item=item, value=value, measured_at=last - timedelta(days=back), **more)
        for value, back in zip(values, [every_days * n for n in range(len(values) - 1, -1, -1)], strict=True)
    ]


def written(session: Session, drafts: Iterable[Draft]) -> None:
    session.history.add_bulk(drafts)


def found(session: Session) -> list[SlowChange]:
    return list(look_over(session).findings)


# --------------------------------------------------------------------------------------------- what is told, and how


def test_a_jug_that_falls_within_its_band_is_told_with_where_it_leads_and_what_to_look_at(session: Session) -> None:
    written(session, readings(session, "ch-1", "flow", FALLING))
    (finding,) = found(session)
    assert sentence(finding, session.zone) == (
        "Channel one: flow by timed jug slowly down, 1.21 to 1.07 L/min since 6 Oct; below 1.02 in about 2 weeks."
    )
    assert "clogged emitter" in finding.look_at
    # By hand: 0.02 a week, so that from 1.07 yesterday it is at 1.02 in two weeks and a half.
    assert finding.days_left == pytest.approx(16.5, abs=1.5)
    assert finding.days_left_range is not None
    soonest, latest = finding.days_left_range
    assert soonest < finding.days_left < (latest or 1e9)


def test_a_jug_that_holds_is_not_told(session: Session) -> None:
    written(session, readings(session, "ch-1", "flow", STEADY))
    assert found(session) == []


def test_a_fall_too_small_to_matter_is_not_told_however_sure_it_is(session: Session) -> None:
    written(session, readings(session, "ch-1", "flow", [1.20, 1.20, 1.19, 1.19, 1.18, 1.18, 1.17, 1.17, 1.16, 1.16]))
    assert found(session) == []


def test_one_typing_error_neither_makes_nor_hides_it(session: Session) -> None:
    written(session, readings(session, "ch-1", "flow", [*STEADY[:6], 0.12, STEADY[7]]))
    written(session, readings(session, "ch-2", "flow", [*FALLING[:3], 11.6, *FALLING[4:], 1.04]))
    (finding,) = found(session)
    assert finding.series.station_id == "ch-2"
    assert finding.end == pytest.approx(1.05, abs=0.03)


def test_what_moves_the_harmless_way_is_not_told(session: Session) -> None:
    written(session, readings(session, "ch-1", "flow", [1.04, 1.06, 1.09, 1.12, 1.15, 1.18, 1.20, 1.23]))
    assert found(session) == [], "the checklist names nothing for a jug that rises"


def test_what_has_come_back_by_itself_is_not_told(session: Session) -> None:
    written(session, readings(session, "ch-1", "flow", [*FALLING, 1.04, 1.02, 1.20, 1.21, 1.20]))
    assert found(session) == []


def test_three_days_that_are_as_before_take_a_month_of_falling_back(session: Session) -> None:
    month = [round(3.0 - 0.04 * day, 1) for day in range(26)]
    written(session, readings(session, "hens", "water", month, every_days=1, ago_days=4))
    assert len(found(session)) == 1
    written(session, readings(session, "hens", "water", [3.0, 3.1, 3.0], every_days=1))
    assert found(session) == []


def test_what_falls_within_days_is_not_called_slow(session: Session) -> None:
    written(session, readings(session, "hens", "water", [3.0 - 0.1 * day for day in range(13)], every_days=1))
    assert found(session) == []
    written(session, readings(session, "hens", "water", [3.1, 3.1, 3.0], every_days=1, ago_days=14))
    assert len(found(session)) == 1


def test_a_change_that_the_meter_cannot_tell_is_not_told(session: Session) -> None:
    written(session, readings(session, "ch-1", "flow", FALLING))
    (series,) = look_over(session).series
    assert finding_of(replace(series, tolerance=0.13)) is not None
    assert finding_of(replace(series, tolerance=0.15)) is None, "1.21 to 1.07 is 0.14"


def test_what_was_steady_and_then_fell_is_told_from_where_it_fell(session: Session) -> None:
    written(session, readings(session, "ch-1", "flow", [*STEADY[:6], 1.20, 1.17, 1.15, 1.12, 1.10, 1.08, 1.05]))
    (finding,) = found(session)
    assert finding.start == pytest.approx(1.21, abs=0.02)
    assert finding.since >= session.now() - timedelta(days=45)


def test_what_fell_and_came_to_rest_is_told_without_a_date_to_come(session: Session) -> None:
    fell = [1.21, 1.20, 1.17, 1.14, 1.11, 1.09, 1.08, 1.09, 1.08, 1.09, 1.07, 1.08]
    written(session, readings(session, "ch-1", "flow", fell))
    (finding,) = found(session)
    assert not finding.goes_on
    assert finding.days_left is None
    assert sentence(finding, session.zone).endswith("and holds there now.")


def test_past_the_edge_it_says_so(session: Session) -> None:
    written(session, readings(session, "ch-1", "flow", [1.20, 1.16, 1.13, 1.09, 1.05, 1.02, 0.98, 0.95]))
    (finding,) = found(session)
    assert finding.days_left == 0.0
    assert finding.days_left_range == (0.0, 0.0)
    assert "; below 1.02 already." in sentence(finding, session.zone)


def test_what_was_not_read_for_long_is_not_told(session: Session) -> None:
    written(session, readings(session, "ch-1", "flow", FALLING, ago_days=30))
    assert found(session) == []


def test_what_leaves_its_band_soonest_comes_first(session: Session) -> None:
    written(session, readings(session, "ch-1", "flow", [value + 0.01 for value in FALLING]))
    written(session, readings(session, "ch-2", "flow", [value - 0.03 for value in FALLING]))
    assert [finding.series.station_id for finding in found(session)] == ["ch-2", "ch-1"]


def test_where_both_channels_of_a_reservoir_fall_the_pump_is_named_first(session: Session) -> None:
    written(session, readings(session, "ch-1", "flow", FALLING))
    alone = found(session)
    assert companions(alone[0], alone[1:], session.farm) == ""
    written(session, readings(session, "ch-2", "flow", FALLING))
    first, other = found(session)
    assert "pump or strainer of Reservoir one" in companions(first, [other], session.farm)


# ------------------------------------------------------------------------------------------ which readings are compared


def test_noon_is_not_compared_with_dawn(session: Session) -> None:
    """Dissolved oxygen read at dawn for weeks, then at noon as well, when the water is warm."""
    written(session, readings(session, "res-1", "oxygen", [8.2, 8.1, 8.2, 8.0, 8.1, 8.2, 8.1, 8.2], every_days=3))
    written(session, readings(session, "res-1", "oxygen", [7.1, 6.6, 6.4], every_days=3, hour=7))
    (series,) = [each for each in all_series(session) if each.item.id == "oxygen"]
    assert len(series.points) == 11
    assert [point.value for point in series.compared] == [8.2, 8.1, 8.2, 8.0, 8.1, 8.2, 8.1, 8.2]
    assert found(session) == []


def test_a_reading_after_cleaning_starts_the_series_anew(session: Session) -> None:
    written(session, readings(session, "ch-1", "flow", FALLING, ago_days=3))
    assert found(session) != []
    written(session, readings(session, "ch-1", "flow-again", [1.19], ago_days=3, hour=0.25))
    assert found(session) == []
    (series,) = [each for each in all_series(session) if each.item.id == "flow"]
    assert [point.value for point in series.compared] == [1.19]
    assert len(series.points) == 9, "all of them are drawn"


def test_an_entry_that_was_put_right_counts_as_it_was_put_right(session: Session) -> None:
    written(session, readings(session, "ch-1", "flow", FALLING))
    last = session.history.records(station="ch-1", item="flow")[-1]
    session.history.void(last.id, person="ada")
    (series,) = [each for each in all_series(session) if each.item.id == "flow"]
    assert len(series.points) == 7


def test_a_buffer_is_one_series_of_the_meter_wherever_it_was_written_down(session: Session) -> None:
    worn = [7.08, 7.07, 7.05, 7.04, 7.02, 7.01, 6.99, 6.98, 6.96, 6.94]
    drafts = readings(session, "res-1", "buffer", worn, every_days=3)
    written(session, [*drafts[:5], *(Draft(**{**_fields(d), "station": ""}) for d in drafts[5:])])
    (finding,) = found(session)
    assert (finding.series.station_id, finding.readings) == ("", 10)
    assert "probe ages" in finding.look_at


def _fields(draft: Draft) -> dict[str, Any]:
    return {name: getattr(draft, name) for name in Draft.__struct_fields__}


# --------------------------------------------------------------------------------------- what lies between readings


def dose(session: Session, days_ago: float, action: str, value: float = 100.0, unit: str = "mL") -> Draft:
    at = session.now() - timedelta(days=days_ago)
    return Draft(
        kind="dose", station="res-1", item="x", measured_at=at, value=value, unit=unit, data={"action": action}
    )


def test_the_drift_of_the_ph_is_taken_only_between_doses_and_not_before_the_co2_has_left(session: Session) -> None:
    drafts = readings(session, "res-1", "ph", [6.0, 6.1, 6.2, 5.8, 5.9, 6.0], every_days=1, ago_days=0)
    drafts += [dose(session, 3 - 0.01, "acid"), *readings(session, "res-1", "ph", [5.7], ago_days=3 - 0.06)]
    points = drift_points("ph", sorted(drafts, key=lambda d: d.measured_at))  # type: ignore[arg-type]
    assert [round(point.value, 2) for point in points] == [0.1, 0.1, 0.1, 0.1]


def test_after_a_change_out_two_days_of_drift_are_left_out(session: Session) -> None:
    drafts = readings(session, "res-1", "ph", [6.0, 6.1, 6.4, 6.6, 6.7, 6.8], every_days=1, ago_days=0)
    drafts += [dose(session, 4 - 0.01, "change_out")]
    points = drift_points("ph", sorted(drafts, key=lambda d: d.measured_at))  # type: ignore[arg-type]
    assert [round(point.value, 2) for point in points] == [0.1, 0.1]


def test_a_ph_that_falls_a_bit_faster_every_day_is_told_although_each_reading_is_in_its_band(session: Session) -> None:
    value, values = 6.1, []
    drafts: list[Draft] = []
    for day in range(24, -1, -1):
        values.append(value)
        value -= 0.02 + 0.005 * (24 - day)
        if value < 5.7:
            drafts.append(dose(session, day - 0.02, "base"))
            value = 6.15
    written(session, readings(session, "res-1", "ph", [round(v, 2) for v in values], every_days=1, ago_days=0) + drafts)
    (finding,) = found(session)
    assert finding.series.figure == "drift"
    assert finding.end == pytest.approx(-0.13, abs=0.03)
    assert "Roots first" in finding.look_at


def test_a_drift_that_comes_to_rest_is_not_told(session: Session) -> None:
    value, values = 5.2, []
    for day in range(25):
        values.append(round(value, 2))
        value += 0.12 - 0.0045 * day
    written(session, readings(session, "res-1", "ph", values, every_days=1, ago_days=0))
    assert found(session) == []


def test_litres_drunk_are_a_balance_of_dips_and_what_was_poured(session: Session) -> None:
    """A box of 100 by 50 cm holds 5 L a centimetre: 2 cm a day are 10 L; 25 L poured in less 5 L drained off, too."""
    box = Reservoir(
        id="res-1", name="R", full_volume_l=400, working_volume_l=300, feed="leaf", stage="grown", waters=("well",),
        pump_l_min=20, shape=Box(length_cm=100, width_cm=50),
    )  # fmt: skip
    drafts = readings(session, "res-1", "dip", [60, 58, 60, 58, 40, 38], every_days=1, ago_days=0)
    drafts += [dose(session, 3.9, "top_up", 25.0, "L"), dose(session, 3.8, "drain_off", 5000.0, "mL")]
    drafts += [dose(session, 1.9, "change_out", 10.0, "L")]
    points = drunk_points(box, sorted(drafts, key=lambda d: d.measured_at))  # type: ignore[arg-type]
    assert [round(point.value, 1) for point in points] == [10.0, 10.0, 10.0, 10.0]


# --------------------------------------------------------------------------------------- what is written down about it


def test_what_was_seen_is_left_out_of_the_first_screen_for_two_weeks_and_stays_in_the_list(
    session: Session, clock: Any
) -> None:
    written(session, readings(session, "ch-1", "flow", FALLING))
    assert len(farm_lines(session)) == len(station_lines(session, "ch-1")) == 1
    mark_seen(session, found(session)[0].series)
    assert farm_lines(session) == station_lines(session, "ch-1") == []
    assert len(found(session)) == 1
    clock.go_on(days=14)
    written(session, readings(session, "ch-1", "flow", [1.05, 1.03], ago_days=0))
    assert len(farm_lines(session)) == 1


def test_what_was_seen_of_one_reading_says_nothing_of_another(session: Session) -> None:
    for item in ("eggs", "water"):
        written(session, readings(session, "hens", item, [20 - day // 3 for day in range(29)], every_days=1))
    eggs = next(finding for finding in found(session) if finding.series.item.id == "eggs")
    mark_seen(session, eggs.series)
    (told,) = farm_lines(session)
    assert told.startswith("↘ Hen house: water")
    mark_put_right(session, eggs.series, "lamp lit")
    assert [finding.series.item.id for finding in found(session)] == ["water"]


def test_after_it_was_put_right_only_new_readings_are_compared(session: Session, clock: Any) -> None:
    written(session, readings(session, "ch-1", "flow", FALLING))
    mark_put_right(session, found(session)[0].series, "filter rinsed")
    assert found(session) == []
    clock.go_on(days=42)
    written(session, readings(session, "ch-1", "flow", FALLING[2:], ago_days=0))
    (again,) = found(session)
    assert (again.readings, again.since) == (6, session.now() - timedelta(days=35))


def test_saying_that_it_was_seen_answers_nothing_that_is_due(session: Session) -> None:
    written(session, readings(session, "ch-1", "flow", FALLING, ago_days=8))
    before = [(due.station_id, item.item.id) for due in session.due("morning") for item in due.items]
    assert ("ch-1", "flow") in before
    last = session.history.latest("ch-1", "flow")
    mark_seen(session, found(session)[0].series)
    mark_put_right(session, all_series(session)[0], "x")
    after = [(due.station_id, item.item.id) for due in session.due("morning") for item in due.items]
    assert after == before
    assert session.history.latest("ch-1", "flow") == last


def test_taken_back_it_counts_no_longer(session: Session) -> None:
    written(session, readings(session, "ch-1", "flow", FALLING))
    record = mark_put_right(session, found(session)[0].series, "nothing, the wrong key")
    session.history.void(record.id, person="ada")
    assert len(found(session)) == 1


def test_readings_in_a_unit_of_before_are_left_out(session: Session) -> None:
    """A farm that turned its checklist from gallons to litres has not lost three quarters of its stream."""
    written(session, readings(session, "ch-1", "flow", [0.32] * 6, ago_days=30, unit="gal/min"))
    written(session, readings(session, "ch-1", "flow", STEADY[:4], unit="L/min"))
    (series,) = look_over(session).series
    assert len(series.points) == 4


def test_the_daybook_says_it_in_words(session: Session) -> None:
    written(session, readings(session, "ch-1", "flow", FALLING))
    series = found(session)[0].series
    assert record_text(session, mark_seen(session, series)) == ("Channel one: slow change of Flow by timed jug: seen")
    told = record_text(session, mark_put_right(session, series, "filter rinsed"))
    assert told == "Channel one: slow change of Flow by timed jug: put right (filter rinsed)"


def test_the_end_of_a_round_tells_what_its_readings_have_made_a_finding_of(session: Session, clock: Any) -> None:
    written(session, readings(session, "ch-1", "flow", FALLING, ago_days=1))
    written(session, readings(session, "ch-2", "flow", [1.21, 1.20, 1.17, 1.16, 1.13], ago_days=7))
    clock.go_on(minutes=1)
    walk = start_round(session, "morning")
    assert summarise(session, walk).slow == ()
    clock.go_on(minutes=5)
    written(session, readings(session, "ch-2", "flow", [1.10], ago_days=0))
    (told,) = summarise(session, walk).slow
    assert told.startswith("Channel two: flow by timed jug slowly down")
    assert new_lines(session, session.now() - timedelta(minutes=1)) == [told]


def test_the_first_screen_has_two_lines_for_it_at_most(session: Session) -> None:
    written(session, readings(session, "ch-1", "flow", FALLING))
    written(session, readings(session, "ch-2", "flow", FALLING))
    assert len(farm_lines(session)) == 2
    written(session, readings(session, "hens", "eggs", [11 - n // 7 for n in range(35)], every_days=1))
    first, more = farm_lines(session)
    assert "Channel" in first
    assert more == "  and 2 more change slowly: t lists them"


# ---------------------------------------------------------------------------------------------------- the whole farm


def test_every_numeric_reading_has_its_series_and_the_unwatched_are_never_told(session: Session) -> None:
    written(session, readings(session, "res-1", "t", [22 - 0.4 * n for n in range(28)], every_days=1))
    written(session, readings(session, "res-1", "ec", [1.9 - 0.01 * n for n in range(28)], every_days=1))
    written(session, [Draft(kind="check", station="hens", item="perch", value=12, measured_at=session.now())])
    watch = look_over(session)
    assert {(s.station_id, s.item.id) for s in watch.series} == {("res-1", "t"), ("res-1", "ec"), ("hens", "perch")}
    assert watch.findings == ()


def test_one_station_is_looked_at_by_itself(session: Session) -> None:
    written(session, readings(session, "ch-1", "flow", FALLING) + readings(session, "ch-2", "flow", FALLING))
    assert [f.series.station_id for f in look_over(session, station_id="ch-2").findings] == ["ch-2"]
    with pytest.raises(NotFound):
        look_over(session, station_id="ch-9")


def test_a_farm_without_a_record_has_nothing_to_tell(session: Session) -> None:
    assert look_over(session).series == ()
    assert farm_lines(session) == station_lines(session, "ch-1") == station_lines(session, "") == []


def test_the_future_says_nothing(session: Session) -> None:
    """A wrong clock once wrote readings of next year."""
    written(session, readings(session, "ch-1", "flow", FALLING, ago_days=-400))
    assert look_over(session).series == ()


def test_what_is_told_at_a_moment_needs_no_later_reading(session: Session) -> None:
    written(session, readings(session, "ch-1", "flow", FALLING))
    (series,) = look_over(session).series
    then: datetime = series.points[-1].at
    assert [point.at < then for point in series.before(then).points] == [True] * 7
