"""What is carried round on paper, and what the shelf says about its bottles."""

from __future__ import annotations

from typing import Any

import pytest

from rounds.history.record import Draft
from rounds.walk.card import walk_card
from rounds.walk.session import Session
from rounds.walk.stock import shelf_lines


def test_the_card_marks_the_sick_channel_and_no_other_station(session: Session) -> None:
    titles = [line for line in walk_card(session, "morning").splitlines() if line.endswith(")") or "SICK" in line]
    assert [line for line in titles if "SICK" in line] == ["Channel two (ch-2)  SICK: last, wash hands"]
    assert "Channel one (ch-1)" in titles


def test_the_card_has_the_last_value_beside_the_band_and_says_what_is_overdue(session: Session, clock: Any) -> None:
    session.save(
        Draft(kind="reading", station="res-1", item="ph", value=5.94, measured_at=clock()),
        Draft(kind="check", station="res-1", item="strainer", value=True, measured_at=clock()),
    )
    clock.go_on(days=9)
    card = walk_card(session, "morning")
    (ph,) = (line for line in card.splitlines() if line.startswith("  pH  "))
    assert ph.endswith("last 5.94     5.60 to 6.20")
    (strainer,) = (line for line in card.splitlines() if "Strainer clean" in line)
    assert strainer.endswith("(overdue by 2 d)")


@pytest.mark.parametrize("days", [9, 30, 200])
def test_the_card_stays_within_its_78_columns_where_a_check_is_overdue(session: Session, clock: Any, days: int) -> None:
    session.save(Draft(kind="check", station="res-1", item="strainer", value=True, measured_at=clock()))
    clock.go_on(days=days)
    lines = walk_card(session, "morning").splitlines()
    assert max(map(len, lines)) <= 78
    (strainer,) = (line for line in lines if "Strainer clean" in line)
    assert strainer.endswith(f"_______  (overdue by {days - 7} d)")


def test_the_shelf_tells_what_the_last_four_weeks_used_and_not_what_was_poured_before(
    session: Session, clock: Any
) -> None:
    """Counted on the 1st: 8 L. Then 1 L, and six weeks later 0.4 L: that is 0.1 L a week."""
    for hours, amount_ml in ((0, 1000.0), (24 * 42, 400.0)):
        clock.go_on(hours=hours)
        session.save(
            Draft(kind="dose", measured_at=clock(), station="res-1", item="leaf-a", value=amount_ml, unit="mL",
                  data={"action": "concentrate_a"})
        )  # fmt: skip
    clock.go_on(hours=1)
    line = next(line for line in shelf_lines(session) if line.product.id == "leaf-a")
    assert line.amount == pytest.approx(6.6)
    assert line.per_week == pytest.approx(0.1)
