"""The small farm, opened by its grower."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest

from rounds.walk.session import Session


@pytest.fixture
def session(farm_folder: Path, clock: Callable[[], datetime]) -> Session:
    """It stands at the time of the clock."""
    return Session.open(farm_folder, clock=clock)
