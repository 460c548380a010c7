"""A grower and a helper who share no laptop: each has a state folder of their own, and the farm in a folder."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from rounds.cli import main
from rounds.history.merge import MergePreview
from rounds.history.record import Draft, Record
from rounds.relief.bundle import write_back, write_bundle
from rounds.relief.handed_over import looked_at
from rounds.relief.opening import open_bundle
from rounds.relief.sheet import relief_for
from rounds.walk.session import Session

MORNING = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
FIRST, LAST = date(2026, 11, 26), date(2026, 11, 28)
AWAY = MORNING + timedelta(days=1)
HOME = MORNING + timedelta(days=4)


def reading(value: float, at: datetime = MORNING, **more: Any) -> Draft:
    return Draft(kind="reading", station="res-1", item="ph", value=value, measured_at=at, **more)


@dataclass(frozen=True)
class Laptop:
    """Somebody's laptop, with what belongs in no farm's folder."""

    state: Path

    @contextmanager
    def used(self) -> Iterator[None]:
        """Everything in between happens on this laptop."""
        before = os.environ["XDG_STATE_HOME"]
        os.environ["XDG_STATE_HOME"] = str(self.state)
        try:
            yield
        finally:
            os.environ["XDG_STATE_HOME"] = before

    @contextmanager
    def at(self, farm: Path, moment: datetime = MORNING, person: str | None = None) -> Iterator[Session]:
        """The farm, opened on this laptop."""
        with self.used():
            session = Session.open(farm, person_id=person, clock=lambda: moment)
            with session.history:
                yield session

    def save(self, farm: Path, *drafts: Draft, at: datetime = MORNING) -> tuple[Record, ...]:
        """Write drafts down past all rules, as somebody would who changed the program."""
        with self.at(farm, at) as session:
            return session.history.save(*drafts)

    def says(self, *words: object) -> int:
        """A command on this laptop; its exit code."""
        with self.used():
            return main([str(word) for word in words])

    def bundled(self, farm: Path, to: Path, first: date = FIRST, last: date = LAST) -> Path:
        """A bundle for ben."""
        with self.at(farm) as session:
            write_bundle(session, relief_for(session, "ben", first, last), to)
        return to

    def opens(self, bundle: Path, to: Path) -> Path:
        """A bundle, opened."""
        with self.used():
            open_bundle(bundle, to)
        return to

    def hands_back(self, farm: Path, to: Path, at: datetime = AWAY) -> Path:
        """What was written here, bundled."""
        with self.at(farm, at) as session:
            write_back(session, to)
        return to

    def looks_at(self, farm: Path, other: Path, at: datetime = HOME, **said: Any) -> MergePreview:
        """A preview of what somebody brings."""
        with self.at(farm, at) as session:
            return looked_at(session, other, **said)

    def takes_in(self, farm: Path, other: Path, at: datetime = HOME, **said: Any) -> MergePreview:
        """What somebody brings, taken in as far as it may be."""
        with self.at(farm, at) as session:
            found = looked_at(session, other, **said)
            session.gate.merge(found)
            return found

    def standing(self, farm: Path) -> list[Record]:
        """What counts on a farm."""
        with self.at(farm, HOME) as session:
            return session.history.records()

    def keys(self, farm: Path, capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
        """What the verb says of keys."""
        capsys.readouterr()
        assert self.says("keys", farm, "--json") == 0
        found: dict[str, Any] = json.loads(capsys.readouterr().out)
        return found


@pytest.fixture
def grower(tmp_path: Path) -> Laptop:
    return Laptop(tmp_path / "state" / "grower")


@pytest.fixture
def helper(tmp_path: Path) -> Laptop:
    return Laptop(tmp_path / "state" / "helper")


@pytest.fixture
def second(tmp_path: Path) -> Laptop:
    return Laptop(tmp_path / "state" / "second")


@pytest.fixture
def farm(farm_folder: Path, grower: Laptop) -> Path:
    """The small farm, with three readings of the grower's."""
    grower.save(farm_folder, *(reading(6.0 + n / 10, MORNING - timedelta(days=n), person="ada") for n in range(3)))
    return farm_folder


@pytest.fixture
def theirs(farm: Path, grower: Laptop, helper: Laptop, tmp_path: Path) -> Path:
    """The farm as ben has it, opened from a bundle for three days."""
    return helper.opens(grower.bundled(farm, tmp_path / "bundle.zip"), tmp_path / "theirs")


Printed = Callable[[], Any]
