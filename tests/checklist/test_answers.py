"""What an answer means: bands and what is off."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from rounds.checklist.answers import band_of, exact_count, is_off
from rounds.checklist.model import Item
from rounds.farm.farm import Farm
from rounds.farm.load import load_farm
from rounds.farm.model import Place
from rounds.farm.stations import Channel, StationBase
from rounds.farm.stations.bed import Bed
from rounds.farm.stations.hens import Flock

FARM = Farm(folder=Path("nowhere"), name="Nowhere", place=Place(latitude=0, longitude=0))
BED = Bed(id="bed", name="Bed", crop="leeks")
HENS = Flock(id="hens", name="Hens", birds=23)


def reading(band: Any = None) -> Item:
    return Item(id="ph", type="reading", label="pH", names=("ph",), limits=(0, 14), band=band)


@pytest.mark.parametrize(("value", "off"), [(5.6, False), (6.2, False), (5.59, True), (6.21, True), (math.nan, True)])
def test_a_reading_is_off_outside_its_band_and_well_on_its_edge(value: float, off: bool) -> None:
    assert is_off(reading((5.6, 6.2)), value, FARM, BED) is off


def test_a_reading_without_a_band_is_never_off() -> None:
    assert band_of(reading(), FARM, BED) is None
    assert not is_off(reading(), 13.9, FARM, BED)


def test_a_stations_own_band_comes_before_that_of_the_checklist() -> None:
    own = Bed(id="bed", name="Bed", crop="leeks", bands={"ph": (4.0, 5.0)})
    assert band_of(reading((5.6, 6.2)), FARM, own) == (4.0, 5.0)


def test_the_bands_of_a_reservoir_are_those_of_its_growth_stage(farm_folder: Path) -> None:
    farm = load_farm(farm_folder)
    reservoir = farm.stations["res-1"]
    assert band_of(reading("stage.ph"), farm, reservoir) == (5.6, 6.2)
    assert band_of(reading("stage.ec"), farm, reservoir) == (1.5, 1.9)
    assert band_of(reading("stage.ph"), farm, HENS) is None


def test_a_stream_may_differ_from_the_wanted_one_by_a_little() -> None:
    channel = Channel(id="c", name="C", reservoir="r", crop="lettuce", sites=10, flow_l_min=2.0)
    low, high = band_of(reading("station.flow"), FARM, channel) or (0.0, 0.0)
    assert low < 2.0 < high
    assert is_off(reading("station.flow"), 1.4, FARM, channel)
    assert not is_off(reading("station.flow"), 1.9, FARM, channel)
    assert band_of(reading("station.flow"), FARM, BED) is None


@pytest.mark.parametrize(
    ("item", "value", "off"),
    [
        ({"type": "yes_no", "well": True}, True, False),
        ({"type": "yes_no", "well": True}, False, True),
        ({"type": "yes_no", "well": False}, False, False),
        ({"type": "choice", "choices": ("a", "b", "c"), "well": ("a", "b")}, "b", False),
        ({"type": "choice", "choices": ("a", "b", "c"), "well": ("a", "b")}, "c", True),
        ({"type": "count", "well": 2}, 2, False),
        ({"type": "count", "well": 2}, 3, True),
        ({"type": "count", "well": "station.birds"}, 23, False),
        ({"type": "count", "well": "station.birds"}, 22, True),
        ({"type": "count", "well": "station.birds"}, 24, True),
        ({"type": "note"}, "anything", False),
        ({"type": "yes_no", "well": True}, None, False),
    ],
)
def test_what_is_well_decides_what_is_off(item: dict[str, Any], value: Any, off: bool) -> None:
    made = Item(id="x", label="X", **item)
    assert is_off(made, value, FARM, HENS) is off


def test_an_exact_count_is_known_only_where_the_station_says_it() -> None:
    perch = Item(id="perch", type="count", label="Perch", well="station.birds")
    planted = Item(id="plants", type="count", label="Plants", well="station.planted")
    channel = Channel(id="c", name="C", reservoir="r", crop="lettuce", sites=10, planted=9, flow_l_min=2.0)
    stations: list[StationBase] = [HENS, channel, BED]
    assert [exact_count(perch, station) for station in stations] == [23, None, None]
    assert [exact_count(planted, station) for station in stations] == [None, 9, None]
