"""What a kind of station makes of its answers: figures and findings."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from rounds.farm.station_base import Answer
from rounds.farm.stations.ferment import Ferment
from rounds.farm.stations.hens import Flock

START = datetime(2026, 11, 1, 7, 0, tzinfo=UTC)
HENS = Flock(id="hens", name="Hens", birds=20)
CASK = Ferment(id="cask", name="Cask", what="cider", volume_l=60, original_gravity=1.050)
USUAL_WATER = [5.0, 5.2, 4.9, 5.1, 5.0, 5.0]


def daily(amounts: list[float | None], hours: tuple[float, ...] = (0.0,)) -> list[Answer]:
    """One answer a day, some hours earlier or later in turn; none where there is no amount."""
    return [
        Answer(START + timedelta(days=day, hours=hours[day % len(hours)]), amount)
        for day, amount in enumerate(amounts)
        if amount is not None
    ]


def test_hens_are_told_by_what_each_lays_drinks_and_eats() -> None:
    answers = {"eggs": daily([15, 18]), "water": daily([4.0, 5.0]), "feed": daily([2.0, 2.4])}
    assert HENS.figures(answers) == ("lay 90 %", "250 mL water a hen", "120 g ration a hen")


def test_a_reading_an_hour_earlier_than_yesterday_is_still_of_one_day() -> None:
    assert HENS.figures({"eggs": daily([15, 18], hours=(0.0, -1.0))}) == ("lay 90 %",)


def test_what_was_read_after_a_missed_day_is_of_more_than_a_day_and_makes_no_figure() -> None:
    assert HENS.figures({"eggs": daily([15, 16, None, 36])}) == ()


def test_an_empty_house_has_no_figures() -> None:
    assert Flock(id="hens", name="Hens", birds=0).figures({"eggs": daily([1, 1])}) == ()


@pytest.mark.parametrize(
    ("last", "told"),
    [
        ([3.5, 3.8], "Water drunk: 24 % below the usual for two days: ask the vet"),
        ([6.5, 6.2], "Water drunk: 24 % above the usual for two days: ask the vet"),
    ],
)
def test_water_a_fifth_off_for_two_days_the_same_way_means_the_vet(last: list[float], told: str) -> None:
    assert HENS.findings({"water": daily([*USUAL_WATER, *last])}) == (told,)


@pytest.mark.parametrize(
    "amounts",
    [
        [*USUAL_WATER, 5.0, 3.5],  # one day only
        [*USUAL_WATER, 6.5, 3.5],  # not the same way
        [*USUAL_WATER, 3.5, 4.1],  # the second day less than a fifth
        [*USUAL_WATER, 3.5, None, 3.5],  # a gap between: the last one is of two days
        [*USUAL_WATER, 3.5, None, 7.0, 3.5],  # the two days do not follow each other
        [5.0, 5.0, 5.0, 3.5, 3.5],  # too few days to call anything usual
        [0.0] * 8,  # the drinker is not what they drink from
        [],
    ],
)
def test_less_than_that_is_no_finding(amounts: list[float | None]) -> None:
    assert HENS.findings({"water": daily(amounts)}) == ()


def test_ration_is_watched_as_water_is() -> None:
    (told,) = HENS.findings({"feed": daily([2.4, 2.4, 2.4, 2.4, 2.4, 2.4, 1.2, 1.2])})
    assert told.startswith("Ration eaten: 50 % below")


def test_a_cask_tells_its_alcohol_from_the_gravity_read_last() -> None:
    assert CASK.figures({"gravity": daily([1.030, 1.010])}) == ("about 5.3 % alcohol",)


@pytest.mark.parametrize("gravity", [[], [1.060]])
def test_a_cask_that_was_not_read_or_reads_above_its_start_tells_none(gravity: list[float]) -> None:
    assert CASK.figures({"gravity": daily(list(gravity))}) == ()


def test_a_cask_whose_start_nobody_wrote_down_tells_none() -> None:
    plain = Ferment(id="cask", name="Cask", what="cider", volume_l=60)
    assert plain.figures({"gravity": daily([1.030])}) == ()
