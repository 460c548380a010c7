"""Channels across a room, by hand count."""

import pytest


@pytest.mark.parametrize(("room", "fits"), [
    ("1.8m", 6),    # 600 + aisle 600 + 600: three of 200 mm on each side
    ("1.2m", 3),    # aisle along a wall, 600 on one side
    ("0.7m", 0),    # 100 mm beside the aisle
    ("3.6m", 12),   # twice the first
    ("2.2m", 6),    # one aisle still, an arm reaches 600
])  # fmt: skip
def test_channels_are_counted_as_an_arm_reaches_them(planned, room, fits):
    assert planned(room=room, row_spacing="200mm", aisle="600mm", reach="600mm").across.fits == fits


def test_a_wider_room_never_holds_fewer(planned):
    fits = [planned(room=f"{width}mm", row_spacing="180mm").across.fits for width in range(600, 9000, 150)]
    assert fits == sorted(fits)


def test_neighbours_stand_as_far_apart_as_the_crop_wants(planned):
    assert planned(crop="tomato", spacing="450mm").across.pitch_mm == 450
    assert planned(section="300x60mm", crop="lettuce").across.pitch_mm == 304
