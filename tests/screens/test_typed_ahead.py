"""Keys that come faster than the screens change: never half a number, never a command for what nobody saw."""

from __future__ import annotations

import asyncio
from math import inf
from pathlib import Path
from typing import Any

import pytest
from textual.events import Key, Paste
from textual.widgets import Input

from rounds.errors import NotSaved
from rounds.widgets.typed_ahead import PAUSE_S, TypedAhead

Driver = Any
KEYS = {" ": "space", ".": "full_stop", "+": "plus", "/": "slash", "*": "asterisk", "\r": "enter", "\f": "f9"}
TURNS = (0, 1, 2, 3, 5, 8, 13, 21, 34, 55, 89)
"""Turns of the event loop between two keys: from one read of the terminal to one key every few milliseconds."""


async def burst(walker: Any, text: str, turns: int = 0, *, apart_s: float = 0.0, since: float | None = None) -> float:
    """Type as a terminal does, without waiting for what becomes of it; `apart_s` is a slow hand before a slow disk.

    A burst has no pause in it, even where a busy machine stands still between two keys.
    """
    last = inf
    for number, character in enumerate(text):
        key = Key(KEYS.get(character, character), character if character.isprintable() else None)
        if since is not None:
            key.time = since + number * apart_s
        elif apart_s:
            key.time += number * apart_s
        else:
            key.time = last = min(key.time, last + PAUSE_S / 2)
        key.set_sender(walker.app)
        walker.app._driver.send_message(key)
        for _ in range(turns):
            await asyncio.sleep(0)
    return key.time


def line(walker: Any) -> str:
    return str(walker.app.screen.query_one("#quick", Input).value)


def readings(walker: Any) -> list[tuple[str, str, object]]:
    return [(r.station, r.item, r.value) for r in walker.app.session.history.records(kind="reading")]


@pytest.mark.parametrize("turns", TURNS)
async def test_numbers_typed_while_the_next_station_opens_land_whole(
    driven: Driver, farm_folder: Path, turns: int
) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter")
        await burst(walker, "+5.85 1.72", turns)
        await walker.until(lambda: "Reservoir one" in walker.text)
        await walker.settle()
        assert line(walker) == "5.85 1.72"
        assert readings(walker) == []


@pytest.mark.parametrize("turns", TURNS)
async def test_an_enter_typed_while_the_next_station_opens_confirms_nothing(
    driven: Driver, farm_folder: Path, turns: int
) -> None:
    """What follows the Enter goes with it, since it would be stuck to the numbers before."""
    async with driven(farm_folder) as walker:
        await walker.press("enter")
        await burst(walker, "+5.85 1.72\r6.1", turns)
        await walker.until(lambda: "Reservoir one" in walker.text)
        await walker.settle()
        assert (line(walker), readings(walker)) in (
            ("5.85 1.72", []),
            ("6.1", [("res-1", "ph", 5.85), ("res-1", "ec", 1.72)]),  # so slow that it was typed at the open station
        )


@pytest.mark.parametrize("turns", TURNS)
async def test_a_reason_typed_at_once_is_taken_whole_and_the_way_on_takes_the_numbers_along(
    driven: Driver, farm_folder: Path, turns: int
) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter")
        await burst(walker, "-gale", turns)
        await walker.until(lambda: line(walker) == "-gale" and walker.app.keys_are_through)
        await burst(walker, "\r5.85 1.72", turns)
        await walker.until(lambda: "Reservoir one" in walker.text and walker.app.keys_are_through)
        assert line(walker) == "5.85 1.72"
        assert [r.note for r in walker.app.session.history.records(kind="skip")] == ["gale"]
        assert readings(walker) == []


@pytest.mark.parametrize("turns", TURNS[:6])
async def test_no_key_typed_before_a_correction_was_seen_says_that_it_was_done(
    driven: Driver, farm_folder: Path, turns: int
) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus")
        await walker.type("6.8 1.7 21 31", "enter")
        await burst(walker, "\f\ry\r\rp", turns)
        await walker.until(lambda: walker.screen == "CorrectionScreen" and walker.app.keys_are_through)
        kinds = {record.kind for record in walker.app.session.history.records()}
        assert not kinds & {"dose", "step", "put-off"}
        await walker.until(lambda: "left out" in walker.words)


async def test_a_pasted_line_waits_its_turn_too(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter")
        await burst(walker, "+")
        walker.app._driver.send_message(Paste("5.85 1.72"))
        await burst(walker, " 21")
        await walker.until(lambda: "Reservoir one" in walker.text and walker.app.keys_are_through)
        assert line(walker) == "5.85 1.72 21"


async def test_a_key_held_down_says_all_well_once(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter")
        await burst(walker, "+++++++")
        await walker.until(lambda: "Reservoir one" in walker.text and walker.app.keys_are_through)
        assert [r.station for r in walker.app.session.history.records(item="all-well")] == [""]
        assert "Keys typed before this stood here are left out" in walker.words


@pytest.mark.parametrize("apart_s", [0.0, 2 * PAUSE_S])
async def test_where_the_way_on_cannot_be_gone_nothing_lands_at_the_station_that_was_left(
    driven: Driver, farm_folder: Path, monkeypatch: pytest.MonkeyPatch, apart_s: float
) -> None:
    def no_room(after: str, *, read: bool) -> None:
        raise NotSaved("The disk is full.", "Make room.")

    async with driven(farm_folder) as walker:
        await walker.press("enter")
        monkeypatch.setattr(walker.app.guide, "walk_on", no_room)
        await burst(walker, "+5.85", apart_s=apart_s)
        await walker.until(lambda: "disk is full" in walker.words and walker.app.keys_are_through)
        assert "alive and running" in walker.text
        assert line(walker) == ""
        monkeypatch.undo()
        await asyncio.sleep(PAUSE_S)
        await walker.press("enter")
        assert "Reservoir one" in walker.text


async def test_the_rest_of_a_burst_that_comes_after_the_refusal_is_not_for_the_station_that_stays(
    driven: Driver, farm_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_room(after: str, *, read: bool) -> None:
        raise NotSaved("The disk is full.", "Make room.")

    async with driven(farm_folder) as walker:
        await walker.press("enter")
        monkeypatch.setattr(walker.app.guide, "walk_on", no_room)
        typed_at = await burst(walker, "+")
        await walker.until(lambda: "disk is full" in walker.words and walker.app.keys_are_through)
        await burst(walker, "5.85", since=typed_at + PAUSE_S / 2, apart_s=PAUSE_S / 2)
        await walker.until(lambda: "left out" in walker.words)
        assert line(walker) == ""


def test_a_command_typed_too_early_takes_the_rest_of_its_burst_with_it() -> None:
    ahead = TypedAhead(seen_at=10.0)
    assert ahead.lets_through(9.0, is_text=True)
    assert not ahead.lets_through(9.1, is_text=False)
    at = 9.1
    while at < 11.0:
        at += PAUSE_S * 0.9
        assert not ahead.lets_through(at, is_text=True)
    assert ahead.lets_through(at + PAUSE_S, is_text=True)
    assert ahead.lets_through(at + PAUSE_S, is_text=False)


def test_before_a_screen_was_seen_every_pause_still_keeps_commands_out() -> None:
    ahead = TypedAhead(seen_at=inf)
    assert not ahead.lets_through(1.0, is_text=False)
    assert ahead.lets_through(2.0, is_text=True)
    assert not ahead.lets_through(3.0, is_text=False)
