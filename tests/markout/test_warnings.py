"""Each warning comes when it should, carries a reason, and stays away from a plan that follows the practice."""

import pytest

from rounds.markout.cautions import warnings_of

GOOD = {"supports": "5", "length": "4m", "crop": "lettuce"}


def codes(worked_out):
    return {warning.code for warning in warnings_of(worked_out)}


def test_a_run_by_the_practice_of_the_trade_has_no_warning(planned):
    assert codes(planned(**GOOD)) == set()


@pytest.mark.parametrize(("changes", "code"), [
    ({"slope": "1:120"}, "too_flat"),
    ({"slope": "1:20"}, "too_steep"),
    ({"length": "12m", "supports": "13"}, "too_long"),
    ({"crop": "tomato"}, "sites_close"),
    ({"spacing": "65mm", "crop": ""}, "bridge_thin"),
    ({"outlet": "25mm"}, "roots_at_outlet"),
    ({"plant_last_site": "yes"}, "last_site_planted"),
    ({"slope": "1:99", "supports": "9"}, "fall_not_sure"),
    ({"supports": "3"}, "supports_far"),
    ({"supports": "100,1300mm"}, "overhang"),
    ({"supports": "0,1000,2000,3000,3960mm"}, "support_at_outlet"),
    ({"material": "galvanised"}, "metal_on_feed"),
    ({"parts": "brass tap, nylon ties"}, "metal_on_feed"),
    ({"flow": "30L/min"}, "film_deep"),
    ({"flow": "3L/min"}, "flow_high"),
    ({"flow": "0.2L/min"}, "flow_low"),
    ({"reservoir_full": "20L", "reservoir_working": "15L"}, "reservoir_small"),
    ({"room": "2m", "channels": "20"}, "room_narrow"),
    ({"row_spacing": "100mm"}, "rows_close"),
])  # fmt: skip
def test_what_is_not_wise_is_warned_of_with_its_reason(planned, changes, code):
    found = [warning for warning in warnings_of(planned(**GOOD | changes)) if warning.code == code]
    assert len(found) >= 1
    assert all(len(warning.sentence) > 15 and len(warning.reason) > 15 for warning in found)


@pytest.mark.parametrize("parts", ["stainless screws", "nylon", "polythene clips"])
def test_harmless_parts_are_not_warned_of(planned, parts):
    assert "metal_on_feed" not in codes(planned(**GOOD, parts=parts))


def test_the_limits_of_slope_themselves_are_still_good(planned):
    # 1:100 to 1:30 is in use (NFT texts).
    assert not codes(planned(**GOOD | {"slope": "1:100"})) & {"too_flat", "too_steep"}
    assert not codes(planned(**GOOD | {"slope": "1:30"})) & {"too_flat", "too_steep"}
