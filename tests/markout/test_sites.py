"""Holes to the millimetre, by arithmetic that is done here in whole numbers or fractions."""

from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from rounds.markout.mistakes import SeveralMistakes
from rounds.markout.plan import plan
from rounds.markout.typed import read

SHORT = {"length": "4.2m", "section": "120x60mm", "slope": "1:40", "spacing": "250mm", "hole": "50mm",
         "first_site": "150mm", "outlet_clearance": "80mm", "flow": "1.2L/min", "supports": "4"}  # fmt: skip


def test_the_short_form_gives_sixteen_sites_and_leaves_the_last_one_empty(planned):
    sites = planned().sites
    assert sites.sites_mm == tuple(range(150, 3901, 250))
    assert sites.empty_mm == (3900,)
    assert sites.planted == 15


def test_the_close_planted_bean_run_of_the_trade():
    # Common practice: sites at 200 mm, the first at 130 mm, outlet and inspection opening 65 mm from the other end.
    typed = {"length": "3m", "section": "100x50mm", "slope": "1:40", "crop": "bean", "pot": "50mm", "flow": "1",
             "outlet_clearance": "65mm", "inspection": "65mm", "outlet_from_end": "65mm", "outlet": "25mm"}  # fmt: skip
    worked_out = plan(read(typed))
    assert worked_out.inputs.hole_mm == 45
    assert worked_out.sites.sites_mm == tuple(range(130, 2731, 200))
    assert worked_out.outlet_at_mm == 2935
    assert [hole.at_mm for hole in worked_out.sites.holes if hole.what == "inspection opening"] == [2935]


@given(spacing=st.fractions(min_value=30, max_value=700, max_denominator=100), first=st.integers(30, 400))
def test_no_rounding_ever_adds_up(spacing, first):
    """Each mark lies within half a millimetre of its exact place, the last as well as the first."""
    spacing = Fraction(round(float(spacing), 2)).limit_denominator(100)
    worked_out = plan(read(SHORT | {"length": "20m", "hole": "20mm", "first_site": f"{first}mm",
                                    "spacing": f"{float(spacing):.2f}mm"}))  # fmt: skip
    for number, at in enumerate(worked_out.sites.sites_mm):
        assert abs(at - (first + number * spacing)) <= Fraction(1, 2) + Fraction(1, 10**6)


def test_sites_ten_inches_apart_stay_exact_over_the_whole_length():
    inches = {"length": "20ft", "section": "4x2in", "spacing": "10in", "hole": "2in", "first_site": "5in",
              "outlet_clearance": "3in", "wall": "0.08in"}  # fmt: skip
    worked_out = plan(read(inches | {"slope": "1:40", "flow": "1"}))
    # One inch is 25.4 mm exactly (1959 agreement).
    assert worked_out.sites.sites_mm == tuple(int(25.4 * (5 + 10 * i) + 0.5) for i in range(24))


@given(length=st.integers(800, 9000), spacing=st.integers(60, 600), clearance=st.integers(0, 300))
def test_every_hole_keeps_its_distance_from_both_ends(length, spacing, clearance):
    assume(length > 150 + clearance + 25)
    sites = plan(read(SHORT | {"length": f"{length}mm", "spacing": f"{spacing}mm", "supports": "",
                               "outlet_clearance": f"{clearance}mm"})).sites.sites_mm  # fmt: skip
    assert sites[0] == 150
    assert sites[-1] + 25 <= length - clearance
    assert sites[-1] + spacing + 25 > length - clearance


def test_a_site_that_would_meet_the_inspection_opening_is_left_out_and_named(planned):
    worked_out = planned(inspection="800mm", inspection_hole="60mm")
    assert worked_out.sites.left_out_mm == (3400,)
    assert 3400 not in worked_out.sites.sites_mm


def test_the_inspection_opening_keeps_its_clearance(planned):
    # Opening 60 mm wide in the middle at 3400 mm, holes 50 mm: the next hole's edge at 3625 is 195 mm from its rim.
    at_3400 = {"inspection": "800mm", "inspection_hole": "60mm"}
    assert planned(**at_3400, inspection_clearance="194mm").sites.left_out_mm == (3400,)
    assert planned(**at_3400, inspection_clearance="196mm").sites.left_out_mm == (3150, 3400, 3650)


def test_the_last_site_is_planted_only_when_asked(planned):
    assert planned(plant_last_site="yes").sites.empty_mm == ()
    assert planned(plant_last_site="yes").sites.planted == 16


def test_the_drill_list_runs_from_the_inlet_and_holds_every_hole_once(planned):
    holes = planned(inspection="65mm").sites.holes
    assert [hole.at_mm for hole in holes] == sorted(hole.at_mm for hole in holes)
    assert [hole.face for hole in holes].count("floor") == 1
    assert len(holes) == 16 + 2


def test_an_open_end_needs_no_hole_for_the_outlet(planned):
    assert all(hole.face == "top" for hole in planned(outlet="open").sites.holes)


def test_a_channel_without_room_for_a_site_is_refused(planned):
    with pytest.raises(SeveralMistakes, match="does not fit"):
        planned(length="0.25m", supports="2")
