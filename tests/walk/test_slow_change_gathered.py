"""What lies between readings, which of them are compared, and how they are drawn, by hand."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import pytest

from rounds.checklist.load import load_checklists
from rounds.checklist.model import Item
from rounds.farm.stations import Box, Reservoir
from rounds.history.record import Draft
from rounds.walk.session import Session
from rounds.walk.slow_change.derived import drift_points, drunk_between_dips, drunk_points
from rounds.walk.slow_change.gather import all_series
from rounds.walk.slow_change.plot import draw
from rounds.walk.slow_change.point import Point
from rounds.walk.slow_change.series import Series
from rounds.walk.slow_change.watch import look_over, mark_put_right, mark_seen

NOW = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)


FLOW = load_checklists(None).item("channel", "flow")


def flow() -> Item:
    assert FLOW is not None and FLOW.slow is not None
    return FLOW


def series(values: list[float], *, every_days: float = 7.0, ago: timedelta = timedelta(), **more: Any) -> Series:
    points = [
        Point(at=NOW - ago - timedelta(days=every_days * (len(values) - 1 - n)), value=value)
        for n, value in enumerate(values)
    ]
    usual = {"station_id": "c", "place": "Channel", "item": flow(), "figure": "value", "label": "Flow by jug",
             "unit": "L/min", "decimals": 2, "band": (0.85, 1.15), "tolerance": 0.0, "points": tuple(points),
             "as_of": NOW}  # fmt: skip
    return Series(**{**usual, **more})


def note(kind: str, item: str, value: float | None, hours: float, **data: Any) -> Any:
    litres = data.get("action") in ("top_up", "drain_off", "change_out")
    return SimpleNamespace(
        id=f"{kind}{hours}", kind=kind, station="r", item=item, value=value, meter=None, note=None,
        unit=None if kind != "dose" else "L" if litres else "mL", measured_at=NOW + timedelta(hours=hours), data=data,
    )  # fmt: skip


def ph(value: float, hours: float) -> Any:
    return note("reading", "ph", value, hours)


def dip(value: float, hours: float) -> Any:
    return note("reading", "dip", value, hours)


def dose(action: str, amount: float, hours: float) -> Any:
    return note("dose", "x", amount, hours, action=action)


@pytest.mark.parametrize(("records", "drifts"), [
    ([ph(6.0, 0), ph(6.1, 12)], [0.2]),
    ([ph(6.0, 0), ph(6.1, 11.9)], []),
    ([ph(6.0, 0), ph(5.5, 60)], [-0.2]),
    ([ph(6.0, 0), ph(5.5, 60.1)], []),
    ([ph(6.0, 0), ph(6.4, 6), ph(6.1, 24)], [0.1]),
    ([ph(6.0, 0), dose("acid", 5, 1), ph(6.1, 24)], []),
    ([dose("acid", 5, -12), ph(6.0, 0), ph(6.1, 24)], [0.1]),
    ([dose("acid", 5, -11.9), ph(6.0, 0), ph(6.1, 24)], []),
    ([dose("change_out", 9, -47.9), ph(6.0, 0), ph(6.1, 24)], []),
    ([dose("change_out", 9, -48), ph(6.0, 0), ph(6.1, 24)], [0.1]),
    ([note("reading", "ec", 6.0, 0), ph(6.1, 24)], []),
])  # fmt: skip
def test_the_drift_between_doses(records: list[Any], drifts: list[float]) -> None:
    """Of a day; from 12 to 60 hours apart, 12 hours after a dose, 48 after a change-out."""
    assert [point.value for point in drift_points("ph", records)] == [pytest.approx(each) for each in drifts]


TANK = Reservoir(id="r", name="R", full_volume_l=360.0, working_volume_l=300.0, feed="f", stage="s", waters=("w",),
                 pump_l_min=20.0, shape=Box(length_cm=100.0, width_cm=60.0))  # fmt: skip
"""6 L/cm."""


@pytest.mark.parametrize(("records", "drunk"), [
    ([dip(50, 0), dip(48, 24)], [12.0]),
    ([dip(50, 0), dip(48, 12)], [24.0]),
    ([dip(50, 0), dip(48, 11)], []),
    ([dip(50, 0), dip(45, 60)], [12.0]),
    ([dip(50, 0), dose("top_up", 30, 1), dip(50, 24)], [30.0]),
    ([dip(50, 0), dose("drain_off", 6, 1), dip(48, 24)], [6.0]),
    ([dip(50, 0), dose("change_out", 320, 1), dip(48, 24)], []),
    ([dip(50, 0), dose("change_out", 320, 1), dose("top_up", 30, 2), dip(48, 24)], []),
    ([dose("change_out", 320, -1), dip(50, 0), dip(48, 24)], [12.0]),
    ([dose("top_up", 30, -1), dip(50, 0), dip(48, 24)], [12.0]),
    ([dip(50, 0), dose("top_up", 30, 1), dose("drain_off", 6, 2), dip(50, 24)], [24.0]),
    ([dip(50, -24), dose("top_up", 30, -23), dip(50, 0), dip(48, 24)], [30.0, 12.0]),
    ([dip(50, 0), dip(52.4, 24)], [-14.4]),
    ([dip(50, 0), dip(52.5, 24)], []),
    ([dip(50, 0), dip(99, 12), dip(48, 24)], [12.0]),
])  # fmt: skip
def test_litres_drunk_between_two_dips(records: list[Any], drunk: list[float]) -> None:
    """By day; a gain of 5 % of 300 L by itself was topped up unwritten."""
    assert [point.value for point in drunk_points(TANK, records)] == [pytest.approx(each) for each in drunk]
    for until, litres, hours in drunk_between_dips(TANK, records):
        assert until == NOW + timedelta(hours=24) or hours in (11, 12, 60, 24)
        assert abs(litres) <= 30.0


def read(session: Session, value: float, days_ago: float, hour: float = 0.0, item: str = "flow", **more: Any) -> None:
    at = session.now() - timedelta(days=days_ago) + timedelta(hours=hour)
    fields = {"kind": "reading", "station": "ch-1", "item": item, "value": value, "measured_at": at, "unit": "L/min"}
    session.save(Draft(**{**fields, **more}))


def of_flow(session: Session) -> Series:
    (found,) = [each for each in all_series(session, station_id="ch-1") if each.item.id == "flow"]
    return found


@pytest.mark.parametrize(("hour", "counts"), [(4.5, True), (4.6, False), (-4.5, True), (-4.6, False)])
def test_a_reading_far_from_its_usual_hour_is_drawn_and_not_compared(
    session: Session, hour: float, counts: bool
) -> None:
    for days in (28, 21, 14):
        read(session, 1.1, days)
    read(session, 1.0, 7, hour)
    assert [point.counts for point in of_flow(session).points] == [True, True, True, counts]


def test_of_several_on_a_day_the_last_one_counts(session: Session) -> None:
    read(session, 1.1, 7)
    read(session, 1.2, 7, 1.0)
    read(session, 1.0, 1)
    assert [(point.value, point.counts) for point in of_flow(session).points] == [
        (1.1, False),
        (1.2, True),
        (1.0, True),
    ]


def test_what_was_seen_or_put_right_is_written_down_whole(session: Session, clock: Any) -> None:
    for days in range(7):
        read(session, 1.1, 7.0 * days)
    of = of_flow(session)
    assert (of.station_id, of.place, of.figure, of.unit, of.decimals) == ("ch-1", "Channel one", "value", "L/min", 2)
    seen = mark_seen(session, of)
    clock.go_on(minutes=1)
    right = mark_put_right(session, of, "jug rinsed")
    for record, what in ((seen, None), (right, "jug rinsed")):
        assert (record.kind, record.station, record.item, record.note) == ("seen", "ch-1", "slow:flow", what)
        assert (record.person, record.data) == ("ada", {"put_right": what is not None, "figure": "value"})
    assert right.measured_at == clock()
    again = of_flow(session)
    assert again.seen_at == seen.measured_at and not any(point.counts for point in again.points)
    clock.go_on(days=1)
    read(session, 1.2, 0.0)
    assert [point.value for point in of_flow(session).points if point.counts] == [1.2]
    assert look_over(session).findings == ()


def test_put_right_twice_only_what_was_read_since_the_last_time_is_compared(session: Session) -> None:
    for days in (28, 14, 7):
        read(session, 1.0 + days / 100.0, days)
    for days in (20, 10):
        at, data = session.now() - timedelta(days=days), {"put_right": True, "figure": "value"}
        session.save(Draft(kind="seen", station="ch-1", item="slow:flow", note="jug", measured_at=at, data=data))
    assert [point.value for point in of_flow(session).points if point.counts] == [1.07]


@pytest.mark.parametrize(("flows", "at_rest", "first"), [
    (((1.36, 1.14), (1.36, 1.08)), 0, "ch-2"), (((1.36, 1.08), (1.36, 1.14)), 0, "ch-1"),
    (((1.36, 1.08), (1.20, 1.05)), 0, "ch-2"), (((1.36, 1.14), (1.36, 1.10)), 5, "ch-2"),
    (((1.62, 1.33), (1.36, 1.10)), 5, "ch-2"),
])  # fmt: skip
def test_what_leaves_its_band_soonest_comes_first_then_what_changed_most_for_its_size(
    session: Session, flows: tuple[tuple[float, float], ...], at_rest: int, first: str
) -> None:
    """In six weeks, with the edge at 1.02: 0.03 at 0.15 in 42 days are left sooner than 0.06 at 0.28.

    What has come to rest has no day on which it would leave; 0.26 of 1.36 are more than 0.29 of 1.62.
    """
    for station, (start, end) in zip(("ch-1", "ch-2"), flows, strict=True):
        values = [*(start - (start - end) * n / 6 for n in range(7)), *[end] * at_rest]
        for n, value in enumerate(values):
            read(session, value, 7.0 * (len(values) - 1 - n), station=station)
    found = look_over(session).findings
    assert [each.days_left is None for each in found] == [bool(at_rest)] * 2
    assert found[0].series.station_id == first


def test_200_days_are_looked_back_and_nothing_to_come(session: Session) -> None:
    for days in (200.01, 199.9, 10.0, 0.0, -1.0):
        read(session, 1.1, days)
    assert len(of_flow(session).points) == 3


def test_a_picture_shows_each_edge_value_and_date_in_its_place() -> None:
    """Ten rows from 1.15 down to 0.85: 0.0333 each; 1.05 is three below the top, 0.95 six."""
    lines = draw(series([1.05, 0.95], every_days=14.0), None, width=60, height=13, zone=UTC)
    assert len(lines) == 13 and max(map(len, lines)) == 60
    assert lines[0].startswith("1.15 │┄") and lines[9].startswith("0.85 │┄")
    assert {n: line.index("●") for n, line in enumerate(lines[:10]) if "●" in line} == {3: 6, 6: 59}
    assert lines[11].split()[:2] == ["11", "Nov"] and lines[11].split()[-2:] == ["25", "Nov"]
    assert lines[12] == "● read  ┄ band 0.85 to 1.15  (L/min)"
    assert draw(series([]), None, width=60, height=13, zone=UTC) == ["Nothing was read here yet."]
    small = draw(series([1.05, 0.95]), None, width=5, height=2, zone=UTC)
    assert len(small) == 5 and max(map(len, small[:-1])) == 30


def test_a_level_line_stands_in_the_middle_of_four_of_its_last_places() -> None:
    """0.98 to 1.02 in ten rows; the band is far off."""
    lines = draw(series([1.0, 1.0]), None, width=60, height=13, zone=UTC)
    assert lines[0].startswith("1.02 │") and lines[9].startswith("0.98 │")
    assert [n for n, line in enumerate(lines[:10]) if "●" in line] in ([4], [5])
    assert lines[12] == "● read  band 0.85 to 1.15  (L/min)"


def test_a_reading_stands_at_its_share_of_the_days_that_are_shown() -> None:
    """Five of them in 54 columns, the first in the first and the last in the last: 53/4 apart."""
    lines = draw(series([1.05, 1.03, 1.0, 0.97, 0.95]), None, width=60, height=13, zone=UTC)
    places = sorted(n - 6 for line in lines[:10] for n, sign in enumerate(line) if sign == "●")
    assert [places[n] for n in (0, 1, 3, 4)] == [0, 13, 40, 53]


def test_an_edge_of_the_band_is_drawn_where_it_lies_within_one_and_a_half_times_the_picture() -> None:
    """Two readings of 1.00 fill a picture of 0.04: an edge 0.05 below is near, one 0.08 above is not."""
    lines = draw(series([1.0, 1.0], band=(0.95, 1.08)), None, width=60, height=13, zone=UTC)
    assert any(line.startswith("0.95 │┄") for line in lines)
    assert not any("1.08 │" in line for line in lines)


def test_what_is_far_off_stands_at_the_rim_and_is_named() -> None:
    values = [1.0, 1.01, 1.02, 1.0, 1.01, 1.02, 9.0, 0.1]
    lines = draw(series(values), None, width=70, height=13, zone=UTC)
    assert "▲" in lines[0] and "▼" in lines[9] and "▲▼ far off" in lines[-1]
    assert not any(sign in line for line in lines[1:9] for sign in "▲▼")


def test_a_series_knows_the_error_of_the_meter_it_was_read_with_where_that_is_entered(session: Session) -> None:
    """The pen reads pH and EC to 0.05; nobody has said how well it reads the temperature, nor a jug the flow."""
    for station, item, value in (
        ("res-1", "ph", 6.0),
        ("res-1", "ec", 1.7),
        ("res-1", "t", 18.0),
        ("ch-1", "flow", 1.2),
    ):
        session.save(Draft(kind="reading", station=station, item=item, value=value, measured_at=session.now()))
    found = {each.item.id: each.tolerance for each in all_series(session) if each.figure == "value" and each.points}
    assert {item: found[item] for item in ("ph", "ec", "t", "flow")} == {"ph": 0.05, "ec": 0.05, "t": 0.0, "flow": 0.0}
