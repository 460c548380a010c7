"""The level is one: what the walk carries on from a dip and what the book of the advice says."""

from datetime import timedelta

import pytest

from rounds.book.composition import feed_known
from rounds.book.ledger import ledger_of
from rounds.history.record import Draft
from rounds.walk.fresh import readings_of
from rounds.walk.session import Session

DOSES = [
    ("drain_off", "", 40.0, "L"), ("change_out", "well", 190.0, "L"), ("acid", "nitric-8", 300.0, "mL"),
    ("concentrate_a", "leaf-a", 800.0, "mL"), ("concentrate_b", "leaf-b", 800.0, "mL"),
]  # fmt: skip


@pytest.mark.parametrize("done", range(1, len(DOSES) + 1))
def test_the_walk_and_the_book_agree_on_the_level_at_every_step_of_a_change_out(farm_folder, clock, done):
    session = Session.open(farm_folder, clock=clock)
    session.save(Draft(kind="reading", measured_at=clock(), station="res-1", item="dip", value=36.0, unit="cm"))
    for action, item, value, unit in DOSES[:done]:
        clock.go_on(minutes=10)
        session.save(
            Draft(kind="dose", measured_at=clock(), station="res-1", item=item, value=value, unit=unit,
                  data={"action": action})
        )  # fmt: skip
    clock.go_on(minutes=10)
    session.save(Draft(kind="reading", measured_at=clock(), station="res-1", item="ph", value=6.0))
    farm, reservoir = session.farm, session.farm.reservoir("res-1")
    records = session.history.records(since=clock() - timedelta(days=1))
    book = ledger_of(farm, reservoir, feed_known(farm, farm.feeds["leaf"]), records, clock())
    read = readings_of(session, "res-1")
    assert read is not None
    assert read.volume_l == pytest.approx(book.inside_l)
    outside_l = farm.outside_volume_l(reservoir)
    expected = 140.0 if done == 1 else 190.0 - outside_l + sum(ml / 1000.0 for _, _, ml, unit in DOSES[2:done])
    assert read.volume_l == pytest.approx(expected)
