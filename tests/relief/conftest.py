"""The sample farm with its history for relief, opened as grower or helper, its clock standing still."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from rounds.resources import sample_generator
from rounds.walk.session import Session

MORNING = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)


@pytest.fixture(scope="session")
def laid_out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample farm as it opens on a morning; never written to."""
    folder = tmp_path_factory.mktemp("sample") / "farm"
    sample_generator().lay_out(folder, until=date(2026, 11, 25))
    return folder


@pytest.fixture
def sample(laid_out: Path, tmp_path: Path) -> Path:
    """A copy of it to write to."""
    folder = tmp_path / "sample"
    shutil.copytree(laid_out, folder)
    return folder


Opener = Callable[..., Session]


@pytest.fixture
def opened() -> Opener:
    """Open a farm folder as somebody at a moment."""

    def open_session(folder: Path, person: str | None = None, at: datetime = MORNING) -> Session:
        return Session.open(folder, person_id=person, clock=lambda: at)

    return open_session


def allow(folder: Path, products: str, step_ml: int = 300, day_ml: int = 600) -> None:
    """Set the helper's limits of the small farm."""
    path = folder / "farm.toml"
    text = path.read_text(encoding="utf-8").replace(
        "\n[[people]]",
        f"\n[limits.helper]\nproducts = [{products}]\nstep_ml = {step_ml}\nday_ml = {day_ml}\n\n[[people]]",
        1,
    )
    path.write_text(text, encoding="utf-8")


@pytest.fixture(name="allow")
def allow_fixture() -> Callable[..., None]:
    return allow
