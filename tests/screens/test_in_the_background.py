"""What is slow is done beside the screen: its result comes back on the loop, its failure is told, nobody waits."""

from __future__ import annotations

import asyncio
import subprocess
import sys
import threading
from collections.abc import Callable

from textual.app import App

from rounds.errors import BadInput
from rounds.walk.background import in_thread
from rounds.widgets.background import in_background


async def until(condition: Callable[[], bool]) -> None:
    async with asyncio.timeout(60):
        while not condition():
            await asyncio.sleep(0)


def failing() -> None:
    raise ZeroDivisionError("no [b]\nlitres")


async def test_the_work_is_done_in_a_thread_and_its_result_comes_back_on_the_loop() -> None:
    came: list[tuple[int, int]] = []
    app = App[None]()
    async with app.run_test():
        in_background(app, "count", threading.get_ident, lambda where: came.append((where, threading.get_ident())))
        await until(lambda: bool(came))
    ((worked, handed_on),) = came
    assert worked != threading.get_ident() == handed_on


async def test_what_goes_wrong_is_told_and_the_app_goes_on() -> None:
    app = App[None]()
    async with app.run_test(notifications=True):
        in_background(app, "printing", failing)
        await until(lambda: len(app._notifications) == 1)
        (told,) = app._notifications
        assert (told.message, told.markup) == ("✗ Printing failed. ZeroDivisionError: no [b] litres", False)
        came: list[str] = []
        in_background(app, "printing", lambda: "done", came.append)
        await until(lambda: came == ["done"])


async def test_whoever_asked_may_tell_it_in_its_own_place() -> None:
    def refused() -> None:
        raise BadInput("No such day.", "A day such as 2026-11-25 is expected.")

    told: list[str] = []
    app = App[None]()
    async with app.run_test():
        in_background(app, "printing", refused, failed=told.append)
        await until(lambda: bool(told))
    assert told == ["Printing failed. No such day. A day such as 2026-11-25 is expected."]


def test_the_thread_is_one_that_nobody_waits_for() -> None:
    go_on = threading.Event()
    future = in_thread("waiting", lambda: go_on.wait() and threading.current_thread())
    assert not future.done()
    go_on.set()
    thread = future.result(timeout=60)
    assert isinstance(thread, threading.Thread)
    assert (thread.daemon, thread.name) == (True, "waiting")


ENDED_MEANWHILE = """
from threading import Event
from textual.app import App
from rounds.widgets.background import in_background

class Busy(App):
    def on_mount(self):
        begun = Event()
        in_background(self, "for ever", lambda: (begun.set(), Event().wait()))
        self.set_interval(0.01, lambda: begun.is_set() and self.exit())

Busy().run(headless=True)
print("ended")
"""


def test_an_app_that_is_left_does_not_wait_for_what_never_ends() -> None:
    done = subprocess.run([sys.executable, "-c", ENDED_MEANWHILE], capture_output=True, text=True, timeout=60)
    assert (done.returncode, done.stdout.strip().splitlines()[-1:]) == (0, ["ended"]), done.stderr
