"""A screen counts as seen when it was painted itself, not when an earlier one could have been."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from textual.screen import Screen

from rounds.widgets.keys_in_turn import KeysInTurn


class NeverPainted(Screen[None]):
    """Stands for a screen that a slow machine has not painted yet."""

    def call_after_refresh(self, callback: Callable[..., Any], *args: Any, **kwargs: Any) -> bool:
        return True


class Timed(KeysInTurn):
    """Its timers run out when the test says so."""

    def __init__(self) -> None:
        super().__init__()
        self.run_out: list[Callable[[], Any]] = []

    def set_timer(self, delay: float, callback: Any = None, **options: Any) -> Any:  # type: ignore[override]
        self.run_out.append(callback)


async def test_the_timer_of_a_screen_that_is_gone_does_not_say_that_the_next_one_was_seen() -> None:
    app = Timed()
    async with app.run_test():
        await app.push_screen(NeverPainted())
        app._wait_until_seen()
        of_the_first = app.run_out.pop()
        await app.push_screen(NeverPainted())
        app._wait_until_seen()
        of_the_second = app.run_out.pop()
        of_the_first()
        assert not app.keys_are_through
        of_the_second()
        assert app.keys_are_through


async def test_a_screen_that_came_without_a_key_is_waited_for_as_well() -> None:
    app = Timed()
    async with app.run_test():
        await app.push_screen(NeverPainted())
        app._wait_until_seen()
        of_the_first = app.run_out.pop()
        await app.push_screen(NeverPainted())
        of_the_first()
        assert not app.keys_are_through
        app.run_out.pop()()
        assert app.keys_are_through


async def test_an_app_that_has_ended_waits_for_no_screen() -> None:
    app = Timed()
    async with app.run_test():
        await app.push_screen(NeverPainted())
        app._wait_until_seen()
        of_the_screen = app.run_out.pop()
    assert app.screen_stack == []
    of_the_screen()
    assert not app.keys_are_through
