"""The one way in which the app does something slow: in a thread, and what came of it is handed back on the loop."""

from __future__ import annotations

from asyncio import wrap_future
from collections.abc import Callable
from typing import Any, TypeVar

from textual.app import App
from textual.dom import DOMNode

from rounds.walk.background import failure_text, in_thread

T = TypeVar("T")


def in_background(
    node: DOMNode,
    name: str,
    work: Callable[[], T],
    then: Callable[[T], object] | None = None,
    *,
    failed: Callable[[str], object] | None = None,
) -> None:
    """Do some work beside the screen. The app never waits for it when it ends.

    Parameters
    ----------
    node : DOMNode
        Whoever asks for it; a screen that is left meanwhile stops nothing.
    name : str
        What is done, in a few words.
    work : callable
        Runs in a thread: it computes, and changes no widget.
    then : callable, optional
        Gets what came of it, on the loop of the app; it posts a message.
    failed : callable, optional
        Gets a sentence where the work raised; without it, the app notifies.
    """
    app: App[Any] = node.app

    async def run() -> None:
        try:
            found = await wrap_future(in_thread(name, work))
        except Exception as error:  # noqa: BLE001  # told, whatever it is
            tell = failed or (lambda text: app.notify(f"✗ {text}", severity="error", timeout=20, markup=False))
            tell(failure_text(name, error))
        else:
            if then is not None:
                then(found)

    app.run_worker(run(), name=name, group="background")
