"""A keyboard for tests: typed text reaches the app in one burst, and then a fact is waited for: that nothing stirs.

Textual's own pilot sleeps after each key until the process is idle. Here nothing sleeps: an app is still when

- its event loop has nothing left to run, so that every task waits for a thread, a timer or a key,
- no worker is under way,
- what is to be painted has been painted, and what waits for the paint has been called.

Timers count as still, since a grower waits for them too: a test that means one waits for what it brings (`until`).
What is private to Textual or asyncio is used in this file alone; written for Textual 8.2 and CPython 3.11 to 3.14.
"""

from __future__ import annotations

import asyncio
import unicodedata
from collections.abc import Callable
from typing import Any

import pytest
from textual.app import App
from textual.events import Key, Resize
from textual.geometry import Size
from textual.keys import REPLACED_KEYS, _character_to_key, _get_unicode_name_from_key
from textual.screen import Screen

at_both_sizes = pytest.mark.parametrize("size", [(80, 24), (140, 40)], ids=["80x24", "140x40"])
"""For tests of what is seen where: looks, and whatever has to be on the screen."""
GIVE_UP_S = 60
"""No machine is that slow: so long after, waiting is a fault of the app or of the test. [s]"""
LOOK_AGAIN_S = 0.005
"""Between two looks for what only a thread or a timer can bring. [s]"""


def type_at_once(app: App[Any], *keys: str) -> None:
    """Send keys as a terminal does, none waiting for another; a single character is itself, the others have names."""
    assert app._driver is not None
    for key in keys:
        event = _event(key)
        event.set_sender(app)
        app._driver.send_message(event)


async def until_still(app: App[Any]) -> None:
    """Wait until nothing stirs in an app."""
    try:
        async with asyncio.timeout(GIVE_UP_S):
            while await _stirred(app):
                pass
    except TimeoutError:
        raise AssertionError(f"it never came to rest; the screen shows:\n{shown(app)}") from None


async def until(app: App[Any], condition: Callable[[], bool]) -> None:
    """Wait for a condition, however slow the machine is."""
    try:
        async with asyncio.timeout(GIVE_UP_S):
            await until_still(app)
            while not condition():
                await asyncio.sleep(LOOK_AGAIN_S)
                await until_still(app)
    except TimeoutError:
        raise AssertionError(f"it never came to that; the screen shows:\n{shown(app)}") from None


async def resize(app: App[Any], width: int, height: int) -> None:
    """Make the terminal another size."""
    size = Size(width, height)
    app._driver._size = size  # type: ignore[union-attr]
    app.post_message(Resize(size, size))
    await until(app, lambda: app.size == size and app._resize_event is None)


def shown(app: App[Any]) -> str:
    """The screen in front as plain text."""
    lines = app.screen._compositor.render_strips()
    return "\n".join("".join(segment.text for segment in strip).rstrip() for strip in lines)


def _event(key: str) -> Key:
    if len(key) == 1:
        return Key(_character_to_key(key), key)
    try:
        character = unicodedata.lookup(_get_unicode_name_from_key(REPLACED_KEYS.get(key, key)))
    except KeyError:
        character = None
    return Key(key, character)


async def _stirred(app: App[Any]) -> bool:
    """Let everything run that can, and tell whether something did that may have brought more."""
    await _nothing_ready()
    if not app.is_running or app._exception is not None:
        return False
    working = [worker for worker in app.workers if not worker.is_finished]
    if working:
        await app.workers.wait_for_complete(working)
        return True
    if app.animator._animations or app.animator._scheduled:
        await app.animator.wait_until_complete()
        return True
    if _wants_paint(app.screen):
        app.screen._on_timer_update()
        return True
    return False


async def _nothing_ready() -> None:
    loop = asyncio.get_running_loop()
    while True:
        await asyncio.sleep(0)
        if not loop._ready:  # type: ignore[attr-defined]
            return


def _wants_paint(screen: Screen[Any]) -> bool:
    return bool(
        screen._layout_required
        or screen._scroll_required
        or screen._repaint_required
        or screen._recompose_required
        or screen._dirty_widgets
        or screen._callbacks
    )
