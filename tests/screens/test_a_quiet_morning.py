"""A quiet morning of the sample farm, from the first screen to the closed round, with every key counted."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from rounds.checklist.answers import band_of
from rounds.checklist.model import Item
from rounds.farm.stations import Reservoir
from rounds.farm.volumes import dip_to_litres, litres_to_dip
from rounds.history.record import Draft
from rounds.resources import sample_farm_folder
from rounds.units import show
from rounds.walk.expected import level_now
from rounds.walk.session import Session

Driver = Any
MOST_KEYS = 130
YESTERDAY_EVENING = datetime(2026, 11, 24, 17, 30, tzinfo=UTC)


@pytest.fixture
def sample(tmp_path: Path) -> Path:
    """The sample farm as it is kept, with its four months of history."""
    folder = tmp_path / "farm"
    shutil.copytree(sample_farm_folder(), folder, ignore=shutil.ignore_patterns("*.py", "__pycache__"))
    session = Session.open(folder, clock=lambda: YESTERDAY_EVENING)
    with session.history:
        for reservoir in session.farm.stations.values():
            if isinstance(reservoir, Reservoir):
                fill_up(session, reservoir)
    return folder


def fill_up(session: Session, reservoir: Reservoir) -> None:
    """Last evening it was topped up to its working level, which is why the morning is quiet."""
    dip = session.history.latest(reservoir.id, "dip", before=session.now())
    assert dip is not None
    level_cm = level_now(session, reservoir, dip)
    level_cm = float(dip.value) if level_cm is None else level_cm
    missing = reservoir.working_volume_l - dip_to_litres(reservoir, level_cm)[0]
    if missing > 0:
        session.save(
            Draft(kind="dose", station=reservoir.id, item=reservoir.waters[0], value=round(missing, 1), unit="L",
                  measured_at=session.now(), person=session.person_name(), data={"action": "top_up"})
        )  # fmt: skip


def quiet_value(walker: Any, item: Item, last: Any) -> str:
    """What is read on a quiet morning: the last value, or the nearest inside the band."""
    station = walker.app.screen.visit.stop.station
    band = band_of(item, walker.app.session.farm, station)
    value = float(last.value) if last is not None and isinstance(last.value, int | float) else None
    if item.id == "dip" and isinstance(station, Reservoir):
        value = round(2 * litres_to_dip(station, station.working_volume_l)) / 2  # a stick is read to half a centimetre
    if band is not None:
        margin = (band[1] - band[0]) / 4
        value = min(max(value if value is not None else band[0], band[0] + margin), band[1] - margin)
    if value is None:
        value = 7.0 if item.id == "buffer" else 1.0
    return show(value, "", item.decimals).removesuffix(".0")


def well_answer(item: Item) -> str:
    """The answer that is well, in as few keys as there are."""
    if item.type == "yes_no":
        return "1" if item.well else "0"
    if item.type == "choice":
        assert isinstance(item.well, tuple)
        return str(item.choices.index(item.well[0]) + 1)
    return "0"


async def walk_one_station(walker: Any) -> None:
    """Answer whatever this station asks, as a grower would on a quiet morning."""
    visit = walker.app.screen.visit
    bare = [line for line in visit.stop.asked if line.item.quick]
    if bare:
        await walker.type(" ".join(quiet_value(walker, line.item, line.last) for line in bare), "enter")
    for _ in range(20):
        if walker.screen != "StationScreen" or walker.app.screen.visit is not visit:
            return
        asked = walker.app.screen.conversation.questions.asked
        if asked is not None:
            line = next(line for line in visit.stop.lines if line.item.id == asked.id)
            text = quiet_value(walker, asked, line.last) if asked.type == "reading" else well_answer(asked)
            await walker.type(text, *(() if asked.type == "yes_no" else ("enter",)))
        elif any(line.item.id not in visit.answers for line in visit.stop.covered):
            await walker.press("plus")
        else:
            await walker.press("enter")
    raise AssertionError(f"this station never ends:\n{walker.text}")


async def test_a_quiet_morning_takes_at_most_130_keys(
    driven: Driver, sample: Path, clock: Any, record_property: Any
) -> None:
    clock.at = datetime(2026, 11, 25, 6, 5, tzinfo=UTC)
    async with driven(sample) as walker:
        await walker.press("enter")
        for _ in range(40):
            if walker.screen != "StationScreen":
                break
            await walk_one_station(walker)
            clock.go_on(minutes=1)
        assert walker.screen == "SummaryScreen", walker.text
        await walker.press("enter")
        assert "round is closed" in walker.words
        record_property("keys", walker.keys)
        print(f"keys: {walker.keys}")
        assert walker.keys <= MOST_KEYS
        history = walker.app.session.history
        (closed,) = history.records(kind="round", since=clock.at.replace(hour=0))[-1:]
        assert closed.value == "closed"
        assert closed.data["open"] == []
        read = history.records(kind="reading", since=clock.at.replace(hour=6, minute=0))
        assert {"reservoir-1", "reservoir-2", "reservoir-3"} <= {record.station for record in read}
