"""After a change-out: its A and B are no raise of the day, and the level is one wherever it is asked."""

from datetime import timedelta

import pytest
from light_farm import MORNING, Note, a_farm, buffer_dip, hard_water

from rounds.advice.correction import Readings, correct
from rounds.book.composition import feed_known
from rounds.book.entries import Dose
from rounds.book.ledger import ledger_of
from rounds.book.level import inside_after

FARM = a_farm(waters=(hard_water(),))
OUTSIDE_L = 20.0
"""6 L in pipes, 10 L in the channel, 4 L in roots."""


def dose(action: str, item: str, value: float, unit: str | None, minutes_ago: float, correction: str | None = "fill"):
    at = MORNING - timedelta(minutes=minutes_ago)
    data = {"action": action} | ({"correction": correction} if correction else {})
    return Note(kind="dose", item=item, value=value, unit=unit, measured_at=at, id=f"{action}{minutes_ago}", data=data)


def read(item: str, value: float, minutes_ago: float) -> Note:
    at = MORNING - timedelta(minutes=minutes_ago)
    return Note(kind="reading", item=item, value=value, measured_at=at, id=f"{item}{minutes_ago}")


OLD = [read("ec", 1.6, 26 * 60), read("ph", 5.9, 26 * 60), read("ec", 0.5, 300.0), read("ph", 6.3, 300.0)]
"""An old feed, the newest reading of it so thin that a fill would count as a raise."""
FILL = [dose("change_out", "well", 320.0, "L", 240.0), dose("acid", "acid", 700.0, "mL", 220.0)]
FED = [dose("concentrate_a", "a", 2000.0, "mL", 180.0), dose("concentrate_b", "b", 2000.0, "mL", 160.0)]


def corrected(records, ec):
    readings = Readings(at=MORNING, ph=5.8, ec_ms_cm=ec, temperature_c=20.0, volume_l=300.0)
    return correct(FARM, [*records, buffer_dip()], "r", readings, MORNING)


@pytest.mark.parametrize("read_between", [False, True])
@pytest.mark.parametrize("linked", [True, False])
def test_a_fill_that_came_out_thin_is_fed_on_the_same_day(linked, read_between):
    records = [*OLD, *FILL, *FED]
    if not linked:
        records = [*OLD, *(dose(r.data["action"], r.item, r.value, r.unit, (MORNING - r.measured_at).seconds / 60, None)
                           for r in (*FILL, *FED))]  # fmt: skip
    elif read_between:
        records = [*OLD, *FILL, read("ec", 0.6, 200.0), *FED]
    found = corrected(records, 1.25)
    assert "day-limit-ec" not in {r.code for r in found.refusals}
    assert [s.action for s in found.steps if s.amount][:2] == ["concentrate_a", "concentrate_b"]


def test_what_is_fed_after_the_fill_was_read_does_count():
    more = [
        dose("concentrate_a", "a", 900.0, "mL", 80.0, "later"),
        dose("concentrate_b", "b", 900.0, "mL", 70.0, "later"),
    ]
    found = corrected([*FILL, *FED, read("ec", 0.7, 100.0), read("ph", 5.9, 100.0), *more], 1.25)
    assert "day-limit-ec" in {r.code for r in found.refusals}


def test_the_feed_before_the_fill_is_no_raise_of_the_new_one():
    before = [read("ec", 0.4, 600.0), dose("concentrate_a", "a", 900.0, "mL", 500.0, "old")]
    found = corrected([*before, *FILL, *FED, read("ph", 5.9, 100.0), read("ec", 1.2, 100.0)], 1.25)
    assert "day-limit-ec" not in {r.code for r in found.refusals}


def test_the_level_after_a_change_out_leaves_out_what_stands_in_channels_and_pipes():
    """320 L were filled in, 20 of them run outside the reservoir, 4.7 L of acid, A and B came in: arithmetic."""
    book = ledger_of(FARM, FARM.reservoir("r"), feed_known(FARM, FARM.feeds["feed"]), [*OLD, *FILL, *FED], MORNING)
    assert book.inside_l == pytest.approx(300.0 + 4.7)
    assert book.volume_l == pytest.approx(320.0 + 4.7)


@pytest.mark.parametrize(
    ("action", "value", "unit", "litres"),
    [
        ("top_up", 20.0, None, 20.0), ("top_up", 20.0, "L", 20.0), ("drain_off", 5.0, None, 5.0),
        ("acid", 40.0, None, 0.04), ("acid", 40.0, "mL", 0.04), ("concentrate_b", 1.5, "L", 1.5),
        ("top_up", "much", "L", 0.0), ("acid", 3.0, "kg", 0.0),
    ],
)  # fmt: skip
def test_a_dose_is_so_many_litres_whoever_asks(action, value, unit, litres):
    assert Dose(dose(action, "x", value, unit, 1.0)).litres == litres


def test_what_is_drained_leaves_and_what_is_topped_up_stays():
    assert inside_after(200.0, Dose(dose("drain_off", "", 50.0, "L", 1.0)), OUTSIDE_L) == 150.0
    assert inside_after(200.0, Dose(dose("top_up", "well", 50.0, "L", 1.0)), OUTSIDE_L) == 250.0
    assert inside_after(200.0, Dose(dose("change_out", "well", 320.0, "L", 1.0)), OUTSIDE_L) == 300.0
    assert inside_after(10.0, Dose(dose("drain_off", "", 50.0, "L", 1.0)), OUTSIDE_L) == 0.0
