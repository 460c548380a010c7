"""Amounts as syringes, cylinders, jugs and cans show them: the marks of the trade, on either side of each change."""

from __future__ import annotations

import math

import pytest

from rounds.book.amounts import litres_per, number
from rounds.book.measures import litres_near, millilitres_down, vessel_for

USUAL = (5.0, 10.0, 20.0, 50.0, 100.0, 250.0, 500.0, 1000.0)


@pytest.mark.parametrize(
    ("ml", "shown"),
    [
        (0.49, "0 mL"), (0.5, "0.5 mL"), (0.59, "0.5 mL"), (0.3 + 0.3, "0.6 mL"), (4.99, "4.9 mL"), (5.0, "5 mL"),
        (5.4, "5 mL"), (5.6, "5.5 mL"), (19.9, "19.5 mL"), (20.0, "20 mL"), (20.9, "20 mL"), (99.9, "99 mL"),
        (100.0, "100 mL"), (104.9, "100 mL"), (105.0, "105 mL"), (499.0, "495 mL"), (500.0, "500 mL"),
        (509.0, "500 mL"), (510.0, "510 mL"), (12_345.0, "12340 mL"), (-5.0, "0 mL"), (math.inf, "0 mL"),
        (math.nan, "0 mL"),
    ],
)  # fmt: skip
def test_millilitres_are_rounded_down_to_the_next_mark(ml: float, shown: str) -> None:
    assert str(millilitres_down(ml)) == shown


@pytest.mark.parametrize(
    ("litres", "shown"),
    [
        (0.04, "0 L"), (0.06, "0.1 L"), (4.94, "4.9 L"), (5.0, "5 L"), (5.2, "5 L"), (5.3, "5.5 L"), (19.8, "20 L"),
        (20.0, "20 L"), (20.4, "20 L"), (20.6, "21 L"), (312.4, "312 L"), (0.0, "0 L"), (-1.0, "0 L"),
        (math.inf, "0 L"), (math.nan, "0 L"),
    ],
)  # fmt: skip
def test_litres_are_rounded_to_the_nearest_mark(litres: float, shown: str) -> None:
    assert str(litres_near(litres)) == shown


@pytest.mark.parametrize(
    ("ml", "sizes", "told"),
    [
        (3.0, USUAL, "5 mL syringe, to its 3 mL mark"), (5.0, USUAL, "5 mL syringe, to its 5 mL mark"),
        (5.5, USUAL, "10 mL syringe, to its 5.5 mL mark"), (20.0, USUAL, "20 mL syringe, to its 20 mL mark"),
        (21.0, USUAL, "50 mL cylinder, to its 21 mL mark"), (500.0, USUAL, "500 mL cylinder, to its 500 mL mark"),
        (510.0, USUAL, "1000 mL jug, to its 510 mL mark"), (1000.0, USUAL, "1000 mL jug, to its 1000 mL mark"),
        (1010.0, USUAL, "1000 mL jug: 1 x full, then to 10 mL"),
        (3000.0, USUAL, "1000 mL jug: 2 x full, then to 1000 mL"),
        (40.0, (20.0,), "20 mL syringe: 1 x full, then to 20 mL"),
        (120.0, (20.0,), "20 mL syringe: 5 x full, then to 20 mL"),
        (121.0, (20.0,), "250 mL cylinder, none of yours fits, to its 121 mL mark"),
        (10.0, (100.0,), "100 mL cylinder, to its 10 mL mark"),
        (9.9, (100.0,), "10 mL syringe, none of yours fits, to its 9.9 mL mark"),
        (150.0, (20.0, 1000.0), "1000 mL jug, to its 150 mL mark"),
        (90.0, (20.0, 1000.0), "100 mL cylinder, none of yours fits, to its 90 mL mark"),
        (4.2, (0.7,), "0.7 mL syringe: 5 x full, then to 0.7 mL"),
        (0.3, (0.1,), "0.1 mL syringe: 2 x full, then to 0.1 mL"),
    ],
)  # fmt: skip
def test_an_amount_is_measured_with_the_smallest_vessel_that_holds_it(
    ml: float, sizes: tuple[float, ...], told: str
) -> None:
    """No vessel more than ten times as large as the amount, and none that is filled more than six times."""
    assert str(vessel_for(ml, sizes)) == told


@pytest.mark.parametrize(("ml", "fills", "last"), [(240.0, 3, 40.0), (200.0, 2, 100.0), (99.9, 1, 99.9)])
def test_fills_and_the_last_one_are_the_whole_amount(ml: float, fills: int, last: float) -> None:
    found = vessel_for(ml, (100.0,))
    assert (found.size_ml, found.fills, found.last_ml, found.at_hand) == (100.0, fills, last, True)
    assert (found.fills - 1) * found.size_ml + found.last_ml == ml


@pytest.mark.parametrize(("unit", "litres"), [("L", 1.0), ("mL", 0.001), ("kg", 0.0), ("", 0.0)])
def test_a_unit_of_volume_is_so_many_litres(unit: str, litres: float) -> None:
    assert litres_per(unit) == litres


@pytest.mark.parametrize(
    ("value", "found"),
    [(1, 1.0), (1.5, 1.5), (0, 0.0), (True, None), (False, None), ("1", None), (None, None), (math.nan, None),
     (math.inf, None), (-math.inf, None)],
)  # fmt: skip
def test_a_number_is_a_finite_one_and_no_yes_or_no(value: object, found: float | None) -> None:
    assert number(value) == found
    assert isinstance(number(value), float) or number(value) is None
