"""Driving the app with keys, and reading its screen as plain text."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

from rounds.app import RoundsApp
from rounds.screens.correction import CorrectionScreen
from rounds.screens.measure import MeasureScreen
from rounds.screens.station import StationScreen
from tests import keyboard
from tests.once import style_sheets_are_parsed_once  # noqa: F401  # this is a fixture


@dataclass
class Walker:
    """Somebody at the keyboard; every key is counted."""

    app: RoundsApp
    keys: int = 0

    async def press(self, *keys: str) -> None:
        """Press named keys, each when what the one before led to can be seen."""
        for key in keys:
            await self._send(key)

    async def type(self, text: str, *then: str) -> None:
        """Type a text without a pause, then press keys."""
        await self._send(*text)
        await self.press(*then)

    async def settle(self) -> None:
        """Wait for threads and for the screen."""
        await keyboard.until_still(self.app)

    async def until(self, condition: Callable[[], bool]) -> None:
        """Wait for a condition, however slow the machine is."""
        await keyboard.until(self.app, condition)

    async def resize(self, width: int, height: int) -> None:
        """Make the window another size."""
        await keyboard.resize(self.app, width, height)

    @property
    def screen(self) -> str:
        """The name of the screen in front."""
        return type(self.app.screen).__name__

    @property
    def text(self) -> str:
        """The screen as plain text."""
        return keyboard.shown(self.app)

    @property
    def words(self) -> str:
        """The same, as if it stood on one line."""
        return " ".join(self.text.split())

    async def _send(self, *keys: str) -> None:
        self.keys += len(keys)
        keyboard.type_at_once(self.app, *keys)
        await self.until(lambda: self.app.keys_are_through)


Driver = Callable[..., AbstractAsyncContextManager[Walker]]


@pytest.fixture
def size() -> tuple[int, int]:
    """The smaller of the two sizes; what is about room and looks takes `at_both_sizes`, or sizes of its own."""
    return 80, 24


@pytest.fixture
def driven(size: tuple[int, int], clock: Callable[[], object], monkeypatch: pytest.MonkeyPatch) -> Driver:
    """Open the app on a farm folder; keys may follow each other at once."""
    monkeypatch.setattr(CorrectionScreen, "settle_s", 0.0)
    monkeypatch.setattr(MeasureScreen, "settle_s", 0.0)
    monkeypatch.setattr(StationScreen, "settle_s", 0.0)

    @asynccontextmanager
    async def drive(folder: Path, **options: object) -> AsyncIterator[Walker]:
        app = RoundsApp(folder, clock=clock, **options)  # type: ignore[arg-type]
        async with app.run_test(size=size, notifications=True):
            walker = Walker(app)
            await walker.until(lambda: walker.screen == "WalkScreen")
            await walker.settle()
            yield walker

    return drive
