"""The table of keys: no key has two meanings, and every page keeps to it."""

from __future__ import annotations

import importlib
import pkgutil
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from textual.binding import Binding
from textual.screen import Screen

import rounds.screens
from rounds.app import RoundsApp
from rounds.walk.at_correction import BESIDE
from rounds.walk.at_station import CHOICES
from rounds.walk.dialogue import EVERYWHERE_CHOICES
from rounds.walk.key_table import ANSWERS, EVERYWHERE, MEANINGS, PAGES, key_of, told_of
from rounds.walk.step_line import COMMANDS
from rounds.widgets.bound_keys import NAMES

Driver = Any
AS_TYPED = {textual: key for key, textual in NAMES.items()}
MOVING = frozenset({"up", "down", "tab", "shift+tab", "pageup", "pagedown", "enter", "ctrl+q", "ctrl+c", *"123456789"})
"""Keys that move about, end the program, or choose one of the reasons that are offered: no commands of a page."""


def screens() -> list[type[Screen[Any]]]:
    """Every screen that has its place in the table."""
    found = []
    for each in pkgutil.iter_modules(rounds.screens.__path__):
        module = importlib.import_module(f"rounds.screens.{each.name}")
        found += [
            cls for cls in vars(module).values()
            if isinstance(cls, type) and issubclass(cls, Screen) and cls.__module__ == module.__name__
            and hasattr(cls, "PAGE")
        ]  # fmt: skip
    return found


def bound(bindings: Any) -> list[tuple[str, str]]:
    """Each key of some bindings with the command that its id names."""
    return [
        (key, (each.id or "").partition(".")[2])
        for each in bindings
        if isinstance(each, Binding)
        for key in each.key.split(",")
        if key not in MOVING
    ]


def test_no_key_has_two_meanings() -> None:
    keys = [*MEANINGS, *(other for meaning in MEANINGS.values() for other in meaning.also)]
    assert [key for key, count in Counter(keys).items() if count > 1] == []
    commands = Counter(meaning.command for meaning in MEANINGS.values())
    assert [command for command, count in commands.items() if count > 1] == []


def test_every_page_has_only_keys_of_the_table() -> None:
    assert {key for page in PAGES.values() for key in page.words} <= MEANINGS.keys()


def test_every_page_of_the_table_is_a_screen_and_the_other_way_round() -> None:
    assert {each.PAGE for each in screens()} == PAGES.keys()


@pytest.mark.parametrize("screen", screens(), ids=lambda each: each.__name__)
def test_what_a_screen_binds_is_what_the_table_says(screen: Any) -> None:
    page = PAGES[screen.PAGE]
    for key, command in bound(screen.BINDINGS):
        meaning = MEANINGS[key_of(AS_TYPED.get(key, key))]
        assert command in (meaning.command, "take"), f"{key} is bound to {command}"
        assert key_of(AS_TYPED.get(key, key)) in page.words
        is_text = len(AS_TYPED.get(key, key)) == 1
        assert not (is_text and page.keyboard == "form"), f"{key} is text on a form"
        assert not (key.isalpha() and len(key) == 1 and page.keyboard == "line"), f"{key} is text on a line"


def test_what_is_bound_everywhere_is_what_the_table_says() -> None:
    for key, command in bound(RoundsApp.BINDINGS):
        assert MEANINGS[key_of(AS_TYPED.get(key, key))].command == command


def test_the_dialogues_have_the_keys_of_the_table_as_choices() -> None:
    assert [each.key for each in CHOICES] == list(PAGES["station"].listed)
    assert {each.key for each in BESIDE} <= PAGES["correction"].words.keys()
    assert set(COMMANDS) <= PAGES["correction"].words.keys()
    assert tuple(each.key for each in EVERYWHERE_CHOICES) == EVERYWHERE


def test_an_answer_to_a_question_is_no_command() -> None:
    assert all(answer not in page.listed for page in PAGES.values() for answer in ANSWERS)


@pytest.mark.parametrize("page", PAGES)
def test_the_help_of_a_page_tells_its_keys_and_those_of_every_page(page: str) -> None:
    told = [sentence for _, _, sentence in told_of(page)]
    assert told == [MEANINGS[key].told for key in (*PAGES[page].words, *EVERYWHERE)]


# ------------------------------------------------------------------------------------------------------ with the app


async def test_a_sign_acts_at_once_only_while_the_line_is_empty(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus")
        for sign, screen in (("/", "SheetScreen"), (":", "SheetScreen"), ("?", "KeysScreen"), ("!", "CallScreen")):
            await walker.type(sign)
            assert walker.screen == screen
            await walker.press("escape")
            await walker.type("6" + sign)
            assert walker.screen == "StationScreen"
            assert walker.app.focused.value == "6" + sign
            await walker.press("backspace", "backspace")


async def test_find_goes_to_a_station_by_a_part_of_its_name(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        for _ in ("from the first screen", "from a station"):
            await walker.type("/", *"nel t", "enter")
            assert walker.screen == "StationScreen"
            assert "Channel two" in walker.words
            await walker.type("/", *"nel", "down", "up", "enter")
            assert "Channel one" in walker.words
        assert walker.app.session.history.records(kind="skip") == []


async def test_a_hyphen_leaves_out_with_its_reason_and_a_number_stays_one(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus")
        history = walker.app.session.history
        await walker.type("- no time", "enter")
        assert [(r.station, r.note) for r in history.records(kind="skip")] == [("res-1", "no time")]
        await walker.type("-", "enter")
        assert walker.screen == "PromptScreen"
        await walker.type("dark", "enter")
        assert [r.note for r in history.records(kind="skip")] == ["no time", "dark"]
        await walker.type("-2", "enter")
        assert len(history.records(kind="skip")) == 2
        assert walker.screen == "StationScreen"


async def test_a_note_is_written_at_once_from_the_line(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus")
        await walker.type("* pump hums", "enter")
        assert [r.note for r in walker.app.session.history.records(kind="note")] == ["pump hums"]


async def test_a_command_can_be_typed_by_its_name(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("ctrl+p")
        await walker.type("daybook", "enter")
        await walker.until(lambda: walker.screen == "DaybookScreen")


async def test_a_line_typed_on_the_first_screen_is_for_the_station_under_the_bar(
    driven: Driver, farm_folder: Path
) -> None:
    async with driven(farm_folder) as walker:
        await walker.type(":", *"ph 6.1", "enter")
        await walker.until(lambda: walker.screen == "StationScreen")
        assert [(r.station, r.value) for r in walker.app.session.history.records(item="ph")] == [("res-1", 6.1)]


async def test_undo_on_the_first_screen_says_what_it_is_before_it_takes_it_back(
    driven: Driver, farm_folder: Path
) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("u")
        assert "nothing down today" in walker.words
        await walker.press("enter", "plus")
        await walker.type("ph 6.1 ec 1.7", "enter")
        await walker.press("escape", "u")
        assert "Reservoir one: pH 6.10; │" in walker.words
        assert "Reservoir one: EC 1.70 mS/cm │" in walker.words
        history = walker.app.session.history
        await walker.press("escape")
        assert len(history.records(kind="reading")) == 2
        await walker.press("f6", "enter")
        assert history.records(kind="reading") == []
        assert "Taken back" in walker.words


async def test_help_tells_what_is_in_focus_before_the_keys(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus", "down", "down", "f1")
        assert "EC (mS/cm)" in walker.words
        for part in ("How: ", "Why: ", "When it is off: ", "F6 undo"):
            assert part in walker.words


async def test_the_emergency_card_is_everybodys_and_says_what_to_do_first(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.type("!")
        assert walker.screen == "CallScreen"
        assert "in an eye: Rinse with running water" in walker.words


async def test_what_the_app_says_stands_above_the_keys_and_covers_none(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus")
        keys = walker.text.splitlines()[-2:]
        bad = [True]
        walker.app.notify("The probe shows 7.6 in the buffer of 7.", timeout=60, holds=lambda: bad[0])
        await walker.settle()
        assert walker.text.splitlines()[-3:] == [" The probe shows 7.6 in the buffer of 7.", *keys]
        bad[0] = False
        walker.app.tick()
        await walker.settle()
        assert "The probe shows" not in walker.text
        assert walker.text.splitlines()[-2:] == keys
