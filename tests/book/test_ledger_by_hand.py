"""The book of a reservoir, entry by entry: volumes, shares and what is dissolved, worked out by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import msgspec
import pytest

from rounds.book.composition import feed_known, mixed_feed, water_known
from rounds.book.entries import entries_of
from rounds.book.ledger import Ledger, LedgerEvent, ledger_of, litres_inside, newest, read_since_fill
from rounds.book.level import inside_after
from rounds.book.parcel import Parcel, parcel_of
from rounds.farm.farm import Farm
from rounds.farm.load import load_farm
from rounds.science.solution import Solution
from tests.book.line import NOW, Line, ago, dose

OUTSIDE_L = 6.0 + 2 * (4.0 + 2.0)
"""Pipes, and two channels with what they and their roots hold."""
USUAL_L = 180.0 + OUTSIDE_L


@pytest.fixture
def farm(farm_folder: Path) -> Farm:
    return load_farm(farm_folder)


def book(farm: Farm, *records: Line, now: datetime = NOW) -> Ledger:
    return ledger_of(farm, farm.reservoir("res-1"), feed_known(farm, farm.feeds["leaf"]), records, now)


def reading(item: str, value: Any, hours: float = 1.0, **more: Any) -> Line:
    return Line(kind="reading", item=item, value=value, measured_at=ago(hours), **more)


def well(farm: Farm) -> Solution:
    return water_known(farm, "well", NOW.date()).solution


def test_a_reservoir_of_which_nothing_is_known_holds_its_usual_fill_of_full_strength(farm: Farm) -> None:
    found = book(farm)
    assert found.volume_l == USUAL_L
    assert found.solution == mixed_feed(well(farm), feed_known(farm, farm.feeds["leaf"]), 1.0)
    assert (found.since, found.drunk_share, found.events, found.inside_l) == (None, 0.0, (), None)


@pytest.mark.parametrize(
    ("record", "litres"),
    [
        (reading("dip", 30.0), 150.0), (reading("volume", 120.0), 120.0), (reading("volume", 220.0), 220.0),
        (reading("volume", 221.0), None), (reading("volume", 0.0), None), (reading("dip", 45.0), None),
        (reading("dip", "full"), None), (reading("ph", 6.0), None), (reading("dip", 30.0, station="res-2"), None),
        (Line(kind="check", item="dip", value=30.0), None),
    ],
)  # fmt: skip
def test_the_level_is_what_was_read_where_it_can_be(farm: Farm, record: Line, litres: float | None) -> None:
    """5 L to a centimetre, 220 L at the brim."""
    found = book(farm, record)
    assert found.inside_l == litres
    assert found.volume_l == (USUAL_L if litres is None else litres + OUTSIDE_L)
    assert litres_inside(farm.reservoir("res-1"), entries_of([record])) == litres


def test_a_dip_of_nothing_leaves_the_level_as_it_was(farm: Farm) -> None:
    assert book(farm, reading("dip", 20.0, 2.0), reading("dip", 0.0)).inside_l == 100.0


def test_the_last_level_that_was_read_counts(farm: Farm) -> None:
    records = [reading("dip", 20.0, 3.0), reading("dip", 30.0, 2.0), reading("ph", 6.0, 1.0)]
    assert litres_inside(farm.reservoir("res-1"), entries_of(records)) == 150.0
    assert book(farm, *reversed(records)).inside_l == 150.0, "in the order of time, not as they come"


def test_what_was_read_stands_in_it_with_its_meter(farm: Farm) -> None:
    found = book(farm, reading("ph", 6.1, 2.0, meter="pen-1", id="a"), reading("ec", 1.7, id="b"), reading("t", 20.0))
    assert [(e.what, e.value, e.item, e.meter, e.record_id, e.at) for e in found.events] == [
        ("ph", 6.1, "ph", "pen-1", "a", ago(2.0)), ("ec", 1.7, "ec", None, "b", ago(1.0)),
    ]  # fmt: skip
    assert {(e.volume_l, e.solution) for e in found.events} == {(USUAL_L, found.solution)}
    assert book(farm, reading("ph", "sour")).events == ()


def test_a_top_up_thins_by_its_share_and_is_drunk_again(farm: Farm) -> None:
    found = book(farm, reading("dip", 24.0, 3.0), dose("top_up", 62.0, 2.0, item="well"))
    start = mixed_feed(well(farm), feed_known(farm, farm.feeds["leaf"]), 1.0)
    assert found.volume_l == 120.0 + 62.0 + OUTSIDE_L == 200.0
    assert found.solution.no3 == pytest.approx((start.no3 * 138.0 + well(farm).no3 * 62.0) / 200.0)
    assert found.drunk_share == pytest.approx(62.0 / 200.0)
    (event,) = found.events
    assert (event.what, event.value, event.share) == ("water", 62.0, pytest.approx(0.31))
    assert event.parcel == parcel_of(well(farm))
    assert event.doubt == water_known(farm, "well", NOW.date()).doubt
    assert found.inside_l == 180.0


@pytest.mark.parametrize(
    ("dip", "tops", "inside"), [(30.0, (20.0, 50.0), 180.0), (30.0, (20.0,), 170.0), (40.0, (20.0,), 200.0)]
)
def test_top_ups_make_up_for_what_was_drunk_and_do_not_pile_up_above_the_mark(
    farm: Farm, dip: float, tops: tuple[float, ...], inside: float
) -> None:
    found = book(
        farm, reading("dip", dip, 9.0), *(dose("top_up", each, 8.0 - n, item="well") for n, each in enumerate(tops))
    )
    assert found.inside_l == inside


def test_what_is_drained_off_is_gone_and_never_more_than_was_there(farm: Farm) -> None:
    assert book(farm, reading("dip", 30.0, 3.0), dose("drain_off", 40.0, 2.0)).inside_l == 110.0
    emptied = book(farm, reading("dip", 30.0, 3.0), dose("drain_off", 400.0, 2.0))
    assert (emptied.inside_l, emptied.volume_l, emptied.events) == (0.0, OUTSIDE_L, ())
    assert emptied.solution == book(farm).solution


def test_a_change_out_begins_a_new_book(farm: Farm) -> None:
    old = [reading("ph", 6.0, 9.0), dose("top_up", 30.0, 8.0, item="well"), dose("acid", 5.0, 7.0, item="gone")]
    fill = dose("change_out", 198.0, 5.0, item="well")
    found = book(farm, *old, fill)
    assert found.since == ago(5.0)
    assert (found.solution, found.drunk_share, found.unknown) == (well(farm), 0.0, ())
    assert (found.inside_l, found.volume_l) == (180.0, 198.0), "channels and pipes were filled with it"
    (renewed,) = (event for event in found.events if event.what == "renewed")
    assert (renewed.value, renewed.doubt) == (198.0, water_known(farm, "well", NOW.date()).doubt)
    assert book(farm, fill, dose("top_up", 10.0, 4.0, item="well")).drunk_share == pytest.approx(10.0 / 208.0)


def test_a_small_fill_leaves_half_of_it_in_the_reservoir_at_least() -> None:
    (fill, top, drain) = entries_of([dose("change_out", 20.0), dose("top_up", 20.0), dose("drain_off", 20.0)])
    assert [inside_after(100.0, fill, outside) for outside in (4.0, 10.0, 18.0)] == [16.0, 10.0, 10.0]  # type: ignore[arg-type]
    assert inside_after(100.0, top, 18.0) == 120.0  # type: ignore[arg-type]
    assert [inside_after(inside, drain, 18.0) for inside in (100.0, 15.0)] == [80.0, 0.0]  # type: ignore[arg-type]


def test_a_concentrate_brings_its_salts_and_its_own_volume(farm: Farm) -> None:
    """396 mL of 94 g/L of calcium nitrate (236.15 g/mol) into 198 L: 0.796 mmol/L."""
    found = book(farm, reading("dip", 36.0, 3.0), dose("concentrate_a", 396.0, 2.0, item="leaf-a"))
    start = book(farm).solution
    brought = 94 / 236.15 * 1000 * 0.396
    assert found.solution.ca == pytest.approx((start.ca * 198.0 + brought) / 198.396, rel=1e-4)
    (event,) = found.events
    assert (event.what, event.value) == ("water", 396.0)
    assert event.share == pytest.approx(0.396 / 198.396)
    assert found.inside_l == pytest.approx(180.396)
    assert found.unknown == ()


@pytest.mark.parametrize(
    ("item", "action", "sign", "molar"),
    [("nitric-8", "acid", -1, 0.08 * 1043 / 63.01), ("koh-5", "base", 1, 0.05 * 1044 / 56.106)],
)
def test_acid_takes_alkalinity_and_base_brings_it(farm: Farm, item: str, action: str, sign: int, molar: float) -> None:
    found = book(farm, dose(action, 99.0, 2.0, item=item))
    (event,) = found.events
    assert (event.what, event.value, event.doubt) == ("dose", 99.0, 0.0)
    assert event.parcel.alkalinity_meq_l == pytest.approx(sign * 99.0 * molar / 198.0, rel=1e-3)
    assert (event.parcel.phosphate, event.parcel.carbonate) == (0.0, 0.0)
    start = book(farm).solution
    assert found.solution.alkalinity_meq_l == pytest.approx(start.alkalinity_meq_l + event.parcel.alkalinity_meq_l)


@pytest.mark.parametrize(
    "poured",
    [dose("acid", 5.0, item="finished"), dose("acid", None, item="nitric-8"), dose("top_up", 5.0, item="lake"),
     dose("acid", 5.0, item="weak")],
    ids=["not on the shelf", "no amount", "no such water", "no strength"],
)  # fmt: skip
def test_what_is_not_known_of_a_dose_is_doubted_and_named(farm: Farm, poured: Line) -> None:
    weak = msgspec.structs.replace(farm.shelf["nitric-8"], id="weak", percent=None, density_kg_l=None)
    found = book(replace(farm, shelf={**farm.shelf, "weak": weak}), poured, replace(poured, id="again"))
    assert found.unknown == (poured.item,)
    assert [(e.what, e.value, e.doubt) for e in found.events] == [("dose", poured.value or 0.0, 1.0)] * 2


def test_what_comes_later_or_belongs_elsewhere_is_passed_over(farm: Farm) -> None:
    assert book(farm, dose("acid", 5.0, -1.0, item="nitric-8")).events == ()
    assert book(farm, replace(dose("acid", 5.0, item="nitric-8"), station="res-2")).events == ()
    assert len(book(farm, dose("acid", 5.0, 0.0, item="nitric-8")).events) == 1


@pytest.mark.parametrize(("days", "read"), [(42.0, 1), (42.1, 0)])
def test_six_weeks_are_read_back(farm: Farm, days: float, read: int) -> None:
    old = dose("acid", 5.0, 24 * days, item="nitric-8")
    assert len(book(farm, old).events) == read
    fill = dose("change_out", 198.0, 24 * 50.0, item="well")
    assert len(book(farm, fill, old).events) == 2, "or to the change-out, where that is longer ago"
    earlier = [dose("change_out", 198.0, 24 * 60.0, item="well"), dose("acid", 5.0, 24 * 55.0, item="nitric-8")]
    assert len(book(farm, *earlier, fill).events) == 1, "to the last of them"


@pytest.mark.parametrize(
    ("hours", "drunk", "worn"),
    [(0.0, 0.0, 0.0), (-5.0, 0.0, 0.0), (24 * 5.0, 0.0, 1 - math.exp(-1)), (24 * 10.0, 0.0, 1 - math.exp(-2)),
     (24 * 5.0, 0.5, 1 - math.exp(-1)), (24 * 5.0, 2.0, 1 - math.exp(-2))],
)  # fmt: skip
def test_a_feed_wears_by_age_and_by_what_was_drunk_whichever_is_more(hours: float, drunk: float, worn: float) -> None:
    """Two thirds in five days; or once as much was topped up as circulates."""
    made = Ledger(solution=Solution(), volume_l=200.0, since=ago(hours), drunk_share=drunk, events=())
    assert made.worn(NOW) == pytest.approx(worn)
    assert replace(made, since=None).worn(NOW) == 1.0


def test_a_feed_counts_as_read_from_the_first_ph_after_its_fill() -> None:
    def ledger(*what: str) -> Ledger:
        events = tuple(LedgerEvent(at=NOW + timedelta(hours=n), what=each) for n, each in enumerate(what))  # type: ignore[arg-type]
        return Ledger(solution=Solution(), volume_l=200.0, since=None, drunk_share=0.0, events=events)

    assert read_since_fill(ledger("ph", "dose")) is None
    assert read_since_fill(ledger("renewed", "ph", "renewed", "dose", "ph", "ph")) == NOW + timedelta(hours=4)
    unread = read_since_fill(ledger("ph", "renewed", "dose", "ec"))
    assert unread is not None
    assert unread > NOW + timedelta(days=365_000), "never yet"
    found = newest(ledger("ph", "ec", "ph", "dose").events, "ph")
    assert found is not None
    assert found.at == NOW + timedelta(hours=2)
    assert newest((), "ph") is None


def test_a_parcel_is_what_of_a_liquid_moves_the_ph() -> None:
    found = parcel_of(Solution(ca=1.0, po4=0.5, carbonate=2.0, cl=1.0))
    assert (found.phosphate, found.carbonate) == (0.5, 2.0)
    assert found.alkalinity_meq_l == Solution(ca=1.0, po4=0.5, carbonate=2.0, cl=1.0).alkalinity_meq_l
    assert Parcel(1.0, 0.5, 2.0).times(3.0) == Parcel(3.0, 1.5, 6.0)
    assert Parcel() == Parcel(0.0, 0.0, 0.0)


def test_no_volume_is_less_than_a_tenth_of_a_litre_however_much_was_drained_off(farm: Farm) -> None:
    bare = replace(farm, stations={"res-1": msgspec.structs.replace(farm.reservoir("res-1"), pipes_l=0.0)})
    found = book(bare, reading("dip", 1.0, 3.0), dose("drain_off", 5.0, 2.0), dose("top_up", 0.2, 1.0, item="well"))
    assert found.volume_l == pytest.approx(0.2)
    assert found.drunk_share == pytest.approx(1.0)
    assert book(bare, reading("dip", 1.0, 3.0), dose("drain_off", 5.0, 2.0)).volume_l == 0.1
