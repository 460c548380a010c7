"""Days as people name them; what is no day, could be two, or has not come yet is refused."""

from __future__ import annotations

from datetime import date

import pytest

from rounds.errors import BadInput
from rounds.walk.daybook.days import read_day

WEDNESDAY = date(2026, 11, 25)


@pytest.mark.parametrize(("text", "day"), [
    ("today", WEDNESDAY), ("Yesterday", date(2026, 11, 24)), ("last week", date(2026, 11, 18)),
    ("wed", WEDNESDAY), ("last wed", date(2026, 11, 18)), ("tue", date(2026, 11, 24)),
    ("last  Tuesday", date(2026, 11, 24)), ("thu", date(2026, 11, 19)), ("on monday", date(2026, 11, 23)),
    ("2 oct", date(2026, 10, 2)), ("Oct 2", date(2026, 10, 2)), ("2nd october", date(2026, 10, 2)),
    ("26 nov", date(2025, 11, 26)), ("25 nov", WEDNESDAY), ("2 oct 2024", date(2024, 10, 2)),
    ("29 feb", date(2024, 2, 29)), ("-10", date(2026, 11, 15)), ("10 days ago", date(2026, 11, 15)),
    ("1 day ago", date(2026, 11, 24)), ("2026-10-02", date(2026, 10, 2)), ("-0", WEDNESDAY),
])  # fmt: skip
def test_a_day_in_words(text: str, day: date) -> None:
    assert read_day(text, WEDNESDAY) == day


@pytest.mark.parametrize(
    "text", ["", "31 feb", "32 oct", "2/10", "10", "t", "ju", "3 ju", "nonsense", "2026-13-01", "-99999999", "-99999"]
)
def test_what_is_no_day_or_could_be_two_is_refused(text: str) -> None:
    with pytest.raises(BadInput, match=r"is no day\. Such as"):
        read_day(text, WEDNESDAY)


@pytest.mark.parametrize("text", ["tomorrow", "2026-11-26", "1 jan 2027", "25 dec 2026"])
def test_a_day_that_has_not_come_is_refused(text: str) -> None:
    with pytest.raises(BadInput, match="has not come yet"):
        read_day(text, WEDNESDAY)
