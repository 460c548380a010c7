"""A whole round by keyboard, read back from the history."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from rounds.history.record import Draft
from rounds.history.store import History
from rounds.walk.overview import state
from rounds.walk.round import start_round
from rounds.walk.session import Session
from rounds.widgets.keys_in_turn import TypedTooEarly
from tests import keyboard

Driver = Any


def read(folder: Path) -> History:
    return History.open(folder / "history", read_only=True)


async def test_the_first_screen_says_what_is_due_and_how_to_begin(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        assert "Test farm" in walker.text
        assert "Enter starts the morning round" in walker.text
        assert "Channel two (sick: last)" in walker.text.splitlines()[-2] or "Channel two (sick" in walker.text


async def test_enter_starts_with_everything_alive_and_plus_goes_on(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter")
        assert "Is everything alive and running?" in walker.text
        await walker.press("plus")
        assert "Reservoir one" in walker.text
        (all_well,) = walker.app.session.history.records(item="all-well")
        assert "pumps" in all_well.data["covers"]
        (started,) = walker.app.session.history.records(kind="round")
        assert started.value == "started"


async def test_one_line_takes_all_readings_and_judges_each(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus")
        await walker.type("6,0 1.7 21 31cm", "enter")
        values = {r.item: r.value for r in walker.app.session.history.records(kind="reading")}
        assert values == {"ph": 6.0, "ec": 1.7, "t": 21.0, "dip": 31.0}
        assert "Nothing is off" in walker.text
        typed = {r.item: r.typed for r in walker.app.session.history.records(kind="reading")}
        assert typed["ph"] == "6,0"


async def test_a_slipped_point_is_asked_about_and_enter_takes_what_was_meant(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus")
        await walker.type("ph 60 ec 1.7", "enter")
        assert "6.00 was meant" in walker.text
        assert not walker.app.session.history.records(item="ph")
        assert walker.app.session.history.records(item="ec"), "the good part of the line is kept"
        await walker.press("enter")
        (reading,) = walker.app.session.history.records(item="ph")
        assert reading.value == 6.0
        assert reading.typed == "ph 60"


async def test_what_cannot_be_read_stays_on_the_line_with_a_sentence(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus")
        await walker.type("ec abc", "enter")
        assert "“abc” is not a number" in walker.text
        assert walker.app.screen.query_one("#quick").value == "ec abc"
        assert not walker.app.session.history.records(kind="reading")


async def test_typing_an_item_again_replaces_it_and_undo_takes_it_back(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        history = walker.app.session.history
        await walker.press("enter", "plus")
        await walker.type("ph 6.1", "enter")
        await walker.type("ph 6.0", "enter")
        assert [r.value for r in history.records(item="ph")] == [6.0]
        assert len(history.records(item="ph", replaced=True)) == 2
        await walker.press("f6")
        assert "Taken back" in walker.text
        assert 6.0 not in [r.value for r in history.records(item="ph")]


async def test_a_station_left_out_wants_a_reason_and_is_carried_over(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus", "f4")
        await walker.press("enter")
        assert "A few words are expected" in walker.text
        await walker.type("door stuck", "enter")
        assert "Channel one" in walker.text
        (skip,) = walker.app.session.history.records(kind="skip")
        assert skip.note == "door stuck"


async def test_a_note_may_hold_markup_and_shows_as_typed(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus", "asterisk")
        await walker.type("[/b]", "enter")
        await walker.press("escape", "d")
        assert "[/b]" in walker.text


async def test_killed_in_the_middle_the_round_goes_on_where_it_was(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus")
        await walker.type("6.0 1.7 21 31", "enter")
    async with driven(farm_folder) as walker:
        assert "Enter takes it up again" in walker.words
        await walker.press("enter")
        assert "Reservoir one" in walker.text
        assert "6.00" in walker.text


@keyboard.at_both_sizes
async def test_everything_that_can_be_focused_is_on_the_screen(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus")
        count = len(list(walker.app.screen.focus_chain))
        assert count > 5
        for _ in range(count):
            await walker.press("down")
            focused = walker.app.focused
            assert focused is not None
            assert walker.app.screen.region.contains_region(focused.region), focused


async def test_keys_typed_ahead_never_land_at_the_station_that_was_just_left(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter")
        keyboard.type_at_once(walker.app, *"+++")
        await walker.until(lambda: "Reservoir one" in walker.text)
        well = walker.app.session.history.records(item="all-well")
        assert [record.station for record in well if record.station == ""] == [""]


async def test_leaving_with_a_doubtful_reading_warns_once_that_it_is_not_written_down(
    driven: Driver, farm_folder: Path
) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus")
        await walker.type("ph 60", "enter")
        await walker.press("escape")
        assert "is not written down yet" in walker.words
        await walker.type("ec 1.7", "enter")
        assert "6.00 was meant" in walker.words, "another reading does not make the question go away"
        await walker.press("escape")
        assert walker.screen == "WalkScreen"


async def test_a_grid_filled_by_number_pad_takes_one_time_for_all(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("i")
        await walker.type("0555", "enter")
        await walker.type("6.0", "enter")
        await walker.type("1.7", "enter")
        await walker.press("enter")
        await walker.type("31", "enter")
        read = walker.app.session.history.records(kind="reading")
        assert {r.item: r.value for r in read} == {"ph": 6.0, "ec": 1.7, "dip": 31.0}
        assert {r.measured_at.strftime("%H:%M") for r in read} == {"05:55"}


async def test_another_round_of_the_day_is_one_key_away(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("a", "a")
        assert "starts the dusk round" in walker.words
        await walker.press("enter")
        (started,) = walker.app.session.history.records(kind="round")
        assert started.item == "dusk"


async def test_a_channel_half_typed_is_not_left_without_asking(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("l")
        await walker.type("4.2m", "escape")
        assert walker.screen == "MarkoutScreen"
        assert "Esc once" in walker.words
        await walker.press("escape")
        assert walker.screen == "WalkScreen"


async def test_what_another_window_writes_is_seen_here(driven: Driver, farm_folder: Path, clock: Any) -> None:
    async with driven(farm_folder) as walker:
        before = walker.words
        with History.open(farm_folder / "history", now=clock) as other:
            other.save(Draft(kind="reading", station="res-1", item="ph", value=6.0, measured_at=clock()))
        walker.app.look_around()
        await walker.until(lambda: walker.words != before)
        assert walker.app.session.history.latest("res-1", "ph").value == 6.0


async def test_what_is_written_while_the_walk_shows_is_seen_at_once(
    driven: Driver, farm_folder: Path, clock: Any
) -> None:
    async with driven(farm_folder) as walker:
        before = walker.words
        walker.app.session.save(Draft(kind="reading", station="res-1", item="ph", value=6.0, measured_at=clock()))
        await walker.until(lambda: walker.words != before)


async def test_a_station_that_was_left_is_told_no_more_of_what_is_written(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        told = walker.app.session.gate._told
        before = len(told)
        await walker.press("enter")
        await walker.until(lambda: walker.screen == "StationScreen")
        assert len(told) == before + 1, "its line of slow changes"
        await walker.press("escape")
        await walker.until(lambda: walker.screen == "WalkScreen")
        await walker.until(lambda: len(told) == before)


async def test_enter_never_overtakes_the_digits_typed_before_it(driven: Driver, farm_folder: Path) -> None:
    """A burst, as from a slow machine that catches up: half a number would be a wrong reading."""
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus")
        keyboard.type_at_once(walker.app, *"6.05 1.75 21.5 31.5", "enter")
        await walker.until(lambda: bool(walker.app.session.history.records(kind="reading")))
        values = {r.item: r.value for r in walker.app.session.history.records(kind="reading")}
        assert values == {"ph": 6.05, "ec": 1.75, "t": 21.5, "dip": 31.5}


async def test_an_arrow_never_overtakes_what_was_typed_into_a_field(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus", "down")
        keyboard.type_at_once(walker.app, *"6.05", "down")
        await walker.until(lambda: bool(walker.app.session.history.records(kind="reading")))
        assert [r.value for r in walker.app.session.history.records(kind="reading")] == [6.05]


async def test_a_plus_behind_the_numbers_says_that_the_rest_is_well(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus")
        await walker.type("6.0 1.7 21 31 +", "enter")
        history = walker.app.session.history
        assert {r.item for r in history.records(kind="reading")} == {"ph", "ec", "t", "dip"}
        assert "pump" in history.latest("res-1", "all-well").data["covers"]


async def test_a_plus_behind_what_cannot_be_read_answers_nothing(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus")
        await walker.type("6.0 1.7 frog 31 +", "enter")
        assert walker.app.session.history.latest("res-1", "all-well") is None
        assert "frog" in walker.words


async def test_the_list_of_keys_has_enter_and_nothing_of_a_mouse(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        for keys, told in (((), "Enter walk"), (("enter",), "Enter take what is typed")):
            await walker.press(*keys, "f1")
            assert told in walker.words
            assert "Copy selected text" not in walker.words
            await walker.press("escape")


async def test_several_keys_too_early_are_told_once(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        for _ in range(3):
            walker.app.screen.post_message(TypedTooEarly())
            await walker.settle()
        assert walker.text.count("Keys typed before this") == 1


def test_a_round_with_nothing_due_says_so_in_words(farm_folder: Path, clock: Any) -> None:
    session = Session.open(farm_folder, clock=clock)
    assert state(session, "midday", [], width=80).startswith("Nothing is due. Enter starts the midday round.")
    start_round(session, "midday")
    assert "Nothing more is due. Enter goes on." in state(session, "midday", [], width=80)
