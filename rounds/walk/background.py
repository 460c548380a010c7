"""Work done beside everything else, in a thread that nobody waits for at the end: no toolkit is needed for it."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future
from threading import Thread
from typing import TypeVar

from rounds.errors import RoundsError
from rounds.text import clean_line

T = TypeVar("T")


def in_thread(name: str, work: Callable[[], T]) -> Future[T]:
    """Do some work in a thread of its own.

    Whoever leaves does not wait for it: all that it writes must be whole or not there, as it must for a power cut.

    Parameters
    ----------
    name : str
        What is done, in a few words.

    Returns
    -------
    Future
        Holds what came of it, or the exception that it raised.
    """
    future: Future[T] = Future()
    Thread(target=_do, args=(future, work), name=name, daemon=True).start()
    return future


def failure_text(name: str, error: BaseException) -> str:
    """What is told where work could not be done: the sentence of an error for people, else what kind of bug it is."""
    said = str(error) if isinstance(error, RoundsError) else f"{type(error).__name__}: {error}"
    return clean_line(f"{name[:1].upper()}{name[1:]} failed. {said}")


def _do(future: Future[T], work: Callable[[], T]) -> None:
    if not future.set_running_or_notify_cancel():
        return
    try:
        found = work()
    except BaseException as error:  # noqa: BLE001  # it is told by whoever asked for the work
        future.set_exception(error)
    else:
        future.set_result(found)
