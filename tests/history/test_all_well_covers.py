"""One "all well" answers every item it covers, now, after reopening, and after it was taken back."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from rounds.history.record import Draft
from rounds.history.store import History

NOW = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)


def all_well(days_ago: float, *items: str) -> Draft:
    at = NOW - timedelta(days=days_ago)
    return Draft(
        kind="check", station="ch-1", item="all-well", value=True, measured_at=at, data={"covers": list(items)}
    )


def answers(history: History) -> dict[str, str]:
    return {item: record.id for (_, item), record in history.latest_by_item().items()}


def test_a_weekly_item_is_still_answered_by_last_weeks_all_well_when_todays_did_not_cover_it(tmp_path: Path) -> None:
    with History.open(tmp_path / "history", now=lambda: NOW) as history:
        (older,) = history.save(all_well(3, "wilt", "supports"))
        (newer,) = history.save(all_well(0, "wilt"))
        expected = {"all-well": newer.id, "wilt": newer.id, "supports": older.id}
        assert answers(history) == expected
    with History.open(tmp_path / "history", now=lambda: NOW) as history:
        assert answers(history) == expected
        history.void(newer.id, person="ada")
        assert answers(history) == {"all-well": older.id, "wilt": older.id, "supports": older.id}


def test_an_answer_typed_by_itself_stands_over_an_earlier_all_well(tmp_path: Path) -> None:
    with History.open(tmp_path / "history", now=lambda: NOW) as history:
        history.save(all_well(1, "wilt"))
        (typed,) = history.save(Draft(kind="check", station="ch-1", item="wilt", value=False, measured_at=NOW))
        assert answers(history)["wilt"] == typed.id
