"""Dips become litres and litres dips."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rounds.errors import OutOfRange
from rounds.farm.stations import Box, LyingCylinder, Tank, UprightCylinder
from rounds.farm.volumes import dip_to_litres, highest_dip_cm, litres_to_dip

LYING = Tank(
    id="lying", name="Lying drum", water="w", full_volume_l=157.0, shape=LyingCylinder(diameter_cm=50.0, length_cm=80.0)
)
DRUM = Tank(id="drum", name="Drum", water="w", full_volume_l=200.0, shape=UprightCylinder(diameter_cm=57.0))
BOX = Tank(id="box", name="Box", water="w", full_volume_l=300.0, shape=Box(length_cm=100.0, width_cm=60.0))
ROWS = ((5.0, 10.0), (10.0, 30.0), (20.0, 90.0))
TABLE = Tank(id="table", name="Odd one", water="w", full_volume_l=90.0, dip_table=ROWS)
ALL = (LYING, DRUM, BOX, TABLE)


def test_a_lying_cylinder_dipped_to_16_percent_holds_10_3_percent():
    """Engineering handbook, table of partly filled lying cylinders (as listed in the project's check values)."""
    whole = math.pi * 25.0**2 * 80.0 / 1000.0
    assert dip_to_litres(LYING, 0.16 * 50.0)[0] / whole == pytest.approx(0.103, abs=0.0005)


def test_a_lying_cylinder_is_half_full_at_half_its_diameter():
    assert dip_to_litres(LYING, 25.0)[0] == pytest.approx(math.pi * 25.0**2 * 80.0 / 2000.0)


def test_upright_forms_are_floor_times_height():
    assert dip_to_litres(BOX, 31.0)[0] == pytest.approx(186.0)
    assert dip_to_litres(DRUM, 10.0)[0] == pytest.approx(25.52, abs=0.01)


def test_a_dip_table_is_straight_between_its_rows_and_starts_empty():
    assert dip_to_litres(TABLE, 15.0)[0] == pytest.approx(60.0)
    assert dip_to_litres(TABLE, 2.5)[0] == pytest.approx(5.0)


def test_the_error_of_a_dip_is_the_litres_of_half_a_centimetre():
    assert dip_to_litres(BOX, 20.0)[1] == pytest.approx(3.0)


@given(share=st.floats(0.01, 0.99), which=st.sampled_from(ALL))
def test_litres_and_dip_are_each_others_way_back(share, which):
    dip = share * highest_dip_cm(which)
    assert litres_to_dip(which, dip_to_litres(which, dip)[0]) == pytest.approx(dip, abs=1e-6)


@pytest.mark.parametrize("dip", [-1.0, math.nan, math.inf, 500.0])
@pytest.mark.parametrize("vessel", ALL, ids=lambda v: v.id)
def test_an_impossible_dip_is_refused_in_a_sentence(vessel, dip):
    with pytest.raises(OutOfRange, match="cannot be dipped"):
        dip_to_litres(vessel, dip)


@pytest.mark.parametrize("litres", [-1.0, math.nan, 1e6])
def test_more_than_it_holds_has_no_dip(litres):
    with pytest.raises(OutOfRange, match="cannot hold"):
        litres_to_dip(BOX, litres)


@pytest.mark.parametrize("vessel", ALL, ids=lambda v: v.id)
def test_a_stick_wet_a_hair_past_the_brim_is_full_and_more_is_refused(vessel):
    brim = highest_dip_cm(vessel)
    assert dip_to_litres(vessel, brim * 1.0009)[0] == pytest.approx(dip_to_litres(vessel, brim)[0], rel=1e-12)
    with pytest.raises(OutOfRange, match="cannot be dipped"):
        dip_to_litres(vessel, brim * 1.002)


def test_at_the_brim_and_on_the_floor_the_error_is_that_of_the_centimetre_that_is_there():
    """A lying drum is narrow at both ends: the last half centimetre holds 157.08 - 156.66 L, by the segment."""
    whole, below = (dip_to_litres(LYING, dip)[0] for dip in (50.0, 49.5))
    assert dip_to_litres(LYING, 50.0)[1] == pytest.approx(whole - below)
    assert dip_to_litres(LYING, 0.0)[1] == pytest.approx(dip_to_litres(LYING, 0.5)[0])
    assert dip_to_litres(BOX, 50.0)[1] == pytest.approx(3.0)


def test_the_mark_of_a_brimful_reservoir_can_be_found_on_the_stick():
    for vessel in ALL:
        brim = highest_dip_cm(vessel)
        assert litres_to_dip(vessel, dip_to_litres(vessel, brim)[0]) == pytest.approx(brim, abs=1e-6)
        with pytest.raises(OutOfRange, match="cannot hold"):
            litres_to_dip(vessel, dip_to_litres(vessel, brim)[0] * 1.001)
