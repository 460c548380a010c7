"""Driving the app with keys, and reading its screen as plain text."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
from textual.pilot import Pilot

from rounds.app import RoundsApp
from rounds.screens.correction import CorrectionScreen

NAMES = {
    " ": "space", ".": "full_stop", ",": "comma", "-": "minus", "/": "slash", "+": "plus", "*": "asterisk",
    "=": "equals_sign", ":": "colon",
}  # fmt: skip


@dataclass
class Walker:
    """Somebody at the keyboard; every key is counted."""

    app: RoundsApp
    pilot: Pilot[None]
    keys: int = 0

    async def press(self, *keys: str) -> None:
        """Press named keys, each when what the one before led to can be seen."""
        for key in keys:
            self.keys += 1
            await self.pilot.press(key)
            await self.until(lambda: self.app.keys_are_through)
        await self.settle()

    async def type(self, text: str, *then: str) -> None:
        """Type a text, then press keys."""
        await self.press(*[NAMES.get(c, c) for c in text], *then)

    async def settle(self) -> None:
        """Wait for threads and for the screen."""
        await asyncio.wait_for(self.app.workers.wait_for_complete(), timeout=60)
        await self.pilot.pause()

    async def until(self, condition: Callable[[], bool]) -> None:
        """Wait for a condition, however slow the machine is; a minute is only where waiting is given up."""
        try:
            async with asyncio.timeout(60):
                while not condition():
                    await self.pilot.pause()
        except TimeoutError:
            raise AssertionError(f"it never came to that; the screen shows:\n{self.text}") from None

    @property
    def screen(self) -> str:
        """The name of the screen in front."""
        return type(self.app.screen).__name__

    @property
    def text(self) -> str:
        """The screen as plain text."""
        lines = self.app.screen._compositor.render_strips()
        return "\n".join("".join(segment.text for segment in strip).rstrip() for strip in lines)

    @property
    def words(self) -> str:
        """The same, as if it stood on one line."""
        return " ".join(self.text.split())


Driver = Callable[..., AbstractAsyncContextManager[Walker]]


@pytest.fixture(params=[(80, 24), (140, 40)], ids=["80x24", "140x40"])
def size(request: pytest.FixtureRequest) -> tuple[int, int]:
    """The two sizes every screen is tried at."""
    width, height = request.param
    return width, height


@pytest.fixture
def driven(size: tuple[int, int], clock: Callable[[], object], monkeypatch: pytest.MonkeyPatch) -> Driver:
    """Open the app on a farm folder; keys may follow each other at once."""
    monkeypatch.setattr(CorrectionScreen, "settle_s", 0.0)

    @asynccontextmanager
    async def drive(folder: Path, **options: object) -> AsyncIterator[Walker]:
        app = RoundsApp(folder, clock=clock, **options)  # type: ignore[arg-type]
        async with app.run_test(size=size, notifications=True) as pilot:
            walker = Walker(app, pilot)
            await walker.until(lambda: walker.screen == "WalkScreen")
            await walker.settle()
            yield walker

    return drive
