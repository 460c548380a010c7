"""A story walked: its lines typed into one of the fronts, by the clock of its scenes."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from rounds.cli import main
from rounds.cli.plain import PlainRound
from rounds.resources import sample_farm_folder
from rounds.walk.open_corrections import open_correction_of
from rounds.walk.session import Session
from tests.stories.story import Happening, Scene, Typed

AMOUNT = "{amount}"
"""Stands for what the open step of the correction of that place advises."""


@dataclass
class Hands:
    """A clock that goes on by half a minute with each line."""

    at: datetime = datetime(2026, 1, 1, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.at

    def go_on(self, **much: float) -> None:
        self.at += timedelta(**much)


def laid_out(folder: Path) -> Path:
    """A scratch copy of the sample farm, with its four months of record."""
    shutil.copytree(sample_farm_folder(), folder, ignore=shutil.ignore_patterns("*.py", "__pycache__"))
    return folder


def verbs_tell_the_time_of(clock: Callable[[], datetime], patch: pytest.MonkeyPatch) -> None:
    """Have every verb open the farm by this clock."""
    opened: Any = Session.open.__func__  # type: ignore[attr-defined]

    def opened_by(cls: type[Session], folder: Path, **more: Any) -> Session:
        session: Session = opened(cls, folder, **{**more, "clock": clock})
        return session

    patch.setattr(Session, "open", classmethod(opened_by))


def matters_of(farm: Path, capsys: pytest.CaptureFixture[str]) -> list[dict[str, Any]]:
    """What is still to sort, as `rounds matters FARM --json` tells it."""
    capsys.readouterr()
    main(["matters", str(farm), "--json"])
    found: list[dict[str, Any]] = json.loads(capsys.readouterr().out)["matters"]
    return found


def stands(happening: Happening, matters: list[dict[str, Any]]) -> bool:
    """Whether a happening is told: a matter of its station, or joined with one, has all its words."""
    return any(
        all(word.casefold() in each["what"].casefold() for word in happening.words)
        and (not happening.station or happening.station in _stations_of(each))
        for each in matters
    )


def _stations_of(matter: dict[str, Any]) -> list[str]:
    return [matter["station"], *matter.get("stations", [])]


def type_in_plain_lines(farm: Path, scene: Scene, clock: Hands) -> str:
    """Type a scene into the plain mode; give all that it said."""
    said: list[str] = []
    session = Session.open(farm, clock=clock)
    with session.history:
        lines = _plain_lines(session, scene, clock)
        PlainRound(session, partial(next, lines, None), said.append, settle_s=0.0).run()
    return "".join(said)


def _plain_lines(session: Session, scene: Scene, clock: Hands) -> Iterator[str]:
    for typed in scene.typed:
        if typed.place != "farm":
            yield session.farm.stations[typed.place].name
        for line in typed.lines:
            clock.go_on(seconds=30)
            yield filled_in(session, typed, line)
        if typed.place != "farm":
            yield from () if "esc" in typed.lines else ("esc", "esc")
    if scene.closes:
        yield from ("c", "")
    yield "q"


def filled_in(session: Session, typed: Typed, line: str) -> str:
    """A line with the amount that the open step there advises."""
    if AMOUNT not in line:
        return line
    correction = open_correction_of(session, typed.place)
    assert correction is not None and correction.next_step is not None, f"no step is open at {typed.place}"
    return line.replace(AMOUNT, f"{correction.next_step.amount:g}")
