"""However long the record is, what is still to sort and what is due open none of its months."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from rounds.history.library import Library
from rounds.walk.session import Session
from rounds.walk.to_sort.listing import open_matters
from tests.walk.written import put, read


def lived_long(session: Session, clock: Any, months: int) -> None:
    """Wilting that nobody answered, then months of ordinary days."""
    put(session, "check", 0.0, "ch-1", item="wilt", value=False)
    for _ in range(months):
        clock.go_on(days=30)
        for item, value in (("ph", 5.9), ("ec", 1.7), ("dip", 36.0)):
            read(session, item, value)
        put(session, "check", 0.0, "hens", item="perch", value=12)


def test_none_is_opened_once_it_was_read(farm_folder: Path, clock: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    session = Session.open(farm_folder, clock=clock)
    with session.history:
        lived_long(session, clock, 30)
        session.read_all()
    opened: list[Any] = []
    for name in ("month", "scan", "_standing", "search"):
        real = getattr(Library, name)
        monkeypatch.setattr(
            Library, name, lambda self, *a, _real=real, **k: opened.append((self, a)) or _real(self, *a, **k)
        )
    session = Session.open(farm_folder, clock=clock)
    with session.history:
        assert session.unsettled().is_known
        (matter,) = open_matters(session)
        assert matter.id == "off:ch-1:wilt"
        assert session.now() - matter.since == timedelta(days=900)
        assert "ch-1" in {each.station_id for each in session.due("morning")}
        # what a thread of an earlier test still reads of its own farm is none of this one's
        assert [months for library, months in opened if library is session.history.library] == []


def test_a_record_that_comes_after_all_others_is_one_step(farm_folder: Path, clock: Any) -> None:
    session = Session.open(farm_folder, clock=clock)
    with session.history:
        lived_long(session, clock, 3)
        session.read_all()
        put(session, "check", 0.0, "ch-1", item="wilt", value=True)
        assert session.unsettled().is_known
        assert open_matters(session) == []
