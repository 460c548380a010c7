"""Whatever is typed, a matter leaves the list only by what it names itself, or by what is said to settle it."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rounds.book.entries import Check, Dose, Reading, Settled, Skip, entry_of
from rounds.book.last_answers import ALL_WELL
from rounds.history.record import Draft, Record
from rounds.walk.at_station import AtStation
from rounds.walk.session import Session
from rounds.walk.stops import stop_at
from rounds.walk.to_sort.listing import open_matters
from rounds.walk.to_sort.model import Closes, OpenMatter
from rounds.walk.visit import Visit

NOW = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
BEFORE = (
    ("check", "ch-1", "wilt", False), ("check", "ch-1", "roots", "brown"), ("check", "ch-2", "roots", "slimy"),
    ("check", "res-1", "look", "foam"), ("check", "hens", "perch", 11), ("check", "hens", "fence", False),
    ("reading", "res-1", "ec", 3.1), ("reading", "res-1", "buffer", 6.5), ("reading", "ch-1", "flow", 0.6),
    ("skip", "hens", "", None), ("put-off", "res-1", "", None),
)  # fmt: skip
LINES = (
    "+", "", "y", "n", "1", "0", "k", "esc", "wilt", "wilt y", "roots 1", "5.9 1.7 19 36", "ph 6.9 ec 3.2", "ec 1.7 +",
    "perch 12", "perch 10", "fixed it", "fixed wilt watered", "later thu", "later wilt thu", "later perch thu", "thu",
    "- no time", "* a note", "topped 20", "poured acid 10", "flow 1.2", "again 1.2", "buffer 7.02", "cleaned", "[/b]",
)  # fmt: skip
Open = Callable[[], Session]
STATIONS = ("res-1", "ch-1", "ch-2", "hens")


@pytest.fixture(scope="module")
def opened(
    tmp_path_factory: pytest.TempPathFactory, lay_out_farm: Callable[[Path], Path]
) -> Iterator[Callable[[], Session]]:
    """Opens a farm of its own on which much is open, each time."""
    root = tmp_path_factory.mktemp("closing")

    def begin() -> Session:
        session = Session.open(lay_out_farm(Path(tempfile.mkdtemp(dir=root)) / "farm"), clock=lambda: NOW)
        for n, (kind, station, item, value) in enumerate(BEFORE):
            at = NOW - timedelta(hours=20, minutes=n)
            session.save(Draft(kind=kind, station=station, item=item, value=value, measured_at=at))
        return session

    yield begin


def singles(session: Session) -> dict[str, OpenMatter]:
    return {each.id: each for matter in open_matters(session) for each in (matter.of or (matter,))}


def may_close(record: Record, matter: OpenMatter) -> set[Closes]:
    """What a new record can be to a matter."""
    entry = entry_of(record)
    if isinstance(entry, Settled):
        return {"reason"} if entry.item == matter.id else set()
    if record.station != matter.station:
        return set()
    if isinstance(entry, Check | Skip):
        answers = record.item in (*matter.items, "flow-again") and record.item != ALL_WELL
        return {"walked", "check well"} if answers else {"walked"}
    if isinstance(entry, Reading):
        of_it = record.item in (*matter.items, "flow-again")
        return {"walked", "read again", "reading in band"} if of_it else {"walked"}
    return {"step poured"} if isinstance(entry, Dose) else set()


VISITS = st.lists(
    st.tuples(st.sampled_from(STATIONS), st.lists(st.sampled_from(LINES), min_size=1, max_size=5)), max_size=4
)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(VISITS)
def test_a_matter_leaves_only_by_what_it_names_or_by_a_reason(
    opened: Open, visits: list[tuple[str, list[str]]]
) -> None:
    session = opened()
    with session.history:
        known = {record.id for record in session.history.records()}
        before = singles(session)
        assert len(before) >= 9
        for station, lines in visits:
            dialogue = AtStation(Visit(session=session, stop=stop_at(session, "morning", station)))
            for line in lines:
                _ = dialogue.press(line) if line in ("+", "esc") else dialogue.answer(line)
                after = singles(session)
                new = [record for record in session.history.records() if record.id not in known]
                for id in before.keys() - after.keys():
                    closers = {closer for record in new for closer in may_close(record, before[id])}
                    assert closers & {*before[id].closes_by, "reason"}, (id, line)
                known |= {record.id for record in new}
                before = after
