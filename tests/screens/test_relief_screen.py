"""Handing the rounds over and taking them back, by keyboard."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

from rounds.relief.bundle import write_back
from rounds.relief.opening import open_bundle
from rounds.relief.taking_back import QUESTION
from rounds.walk.session import Session
from tests import keyboard

Driver = Any


async def retyped(walker: Any, field: str, text: str) -> None:
    walker.app.screen.query_one(f"#{field}").focus()
    walker.app.screen.query_one(f"#{field}").value = ""
    await walker.type(text)


async def pasted(walker: Any, path: str) -> None:
    walker.app.screen.query_one("#answer").value = path
    await walker.press("enter")


@keyboard.at_both_sizes
async def test_the_screen_says_what_can_be_done_and_fits(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("r")
        assert walker.screen == "ReliefScreen"
        for part in ("ben", "2026-11-26", "2026-12-02", "Ctrl+R the relief sheet", "F3 write a question"):
            assert part in walker.words
        for widget in walker.app.screen.focus_chain:
            assert walker.app.screen.region.contains_region(widget.region)


async def test_the_sheet_is_written_into_the_farm_folder(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("r", "ctrl+r")
        await walker.until(lambda: "The sheet is in" in walker.words)
    written = sorted(path.name for path in (farm_folder / "relief").iterdir())
    assert written == ["sheet-ben-2026-11-26.html", "sheet-ben-2026-11-26.pdf"]


async def test_dates_the_wrong_way_round_stay_on_the_screen_with_a_sentence(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("r")
        await retyped(walker, "last", "2026-11-01")
        await walker.press("ctrl+r")
        assert "wrong way round" in walker.words
        assert walker.app.screen.query_one("#last").value == "2026-11-01"
        await retyped(walker, "first", "tomorrow")
        await walker.press("ctrl+l")
        assert "“tomorrow” is not a day" in walker.words
        await retyped(walker, "name", "zoe")
        assert not (farm_folder / "relief").exists()


async def test_the_plan_shows_change_out_and_bottles(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("r", "ctrl+l")
        await walker.until(lambda: "What can be prepared" in walker.words)
        text = str(walker.app.screen.query_one("#text").content)
        assert "Change-out of Reservoir one" in text
        assert "Acid into water" in text


async def test_a_bundle_goes_out_and_comes_back_with_a_preview(driven: Driver, farm_folder: Path, clock: Any) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("r", "ctrl+g")
        await walker.until(lambda: "files are in" in walker.words)
        bundle = next((farm_folder / "relief").glob("*.zip"))
        back = _walked_elsewhere(bundle, farm_folder.parent, clock)
        clock.go_on(days=2)
        await walker.press("f12")
        await pasted(walker, str(back))
        await walker.until(lambda: "Take in 1 new records?" in walker.words)
        assert not walker.app.session.history.records(item="ph"), "only looked at so far"
        await walker.type("n", "enter")
        assert "Nothing was taken in" in walker.words
        await walker.press("f12")
        await pasted(walker, str(back))
        await walker.until(lambda: "Take in 1 new records?" in walker.words)
        await walker.type("y", "enter")
        await walker.until(lambda: "1 records were taken in" in walker.words)
        (taken,) = walker.app.session.history.records(item="ph")
        assert taken.person == "ben"


def _walked_elsewhere(bundle: Path, folder: Path, clock: Any) -> Path:
    open_bundle(bundle, folder / "theirs")
    later = clock() + timedelta(days=1)
    theirs = Session.open(folder / "theirs", person_id="ben", clock=lambda: later)
    from rounds.history.record import Draft

    with theirs.history:
        theirs.save(Draft(kind="reading", station="res-1", item="ph", value=7.4, measured_at=later, person="ben"))
        write_back(theirs, folder / "b.zip")
    return folder / "b.zip"


async def test_what_is_no_bundle_is_a_sentence(driven: Driver, farm_folder: Path, tmp_path: Path) -> None:
    (tmp_path / "no.zip").write_bytes(b"PK no")
    async with driven(farm_folder) as walker:
        await walker.press("r", "f12")
        await pasted(walker, str(tmp_path / "no.zip"))
        await walker.until(lambda: "not a sound zip" in walker.words)
        await walker.press("f12")
        await walker.type("nowhere", "enter")
        await walker.until(lambda: "✗" in walker.words)


async def test_the_time_away_and_a_question_to_the_helper(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("r", "f3")
        await walker.type("Was it dry", "enter")
        assert "question to the helper" in walker.words
        (note,) = [r for r in walker.app.session.history.records(kind="note") if QUESTION in r.marks]
        assert note.note == "Was it dry"
        await walker.press("ctrl+t")
        await walker.until(lambda: "have not come yet" in walker.words)
        await retyped(walker, "first", "2026-11-24")
        await retyped(walker, "last", "2026-11-25")
        await walker.press("ctrl+t")
        await walker.until(lambda: "The time away, 2026-11-24 to 2026-11-25" in walker.words)
        text = str(walker.app.screen.query_one("#text").content)
        assert "Was it dry" in text
        assert "Reservoir one:" in text


async def test_a_filled_sheet_is_typed_in_with_numbers_and_enter(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("r")
        await retyped(walker, "first", "2026-11-23")
        await retyped(walker, "last", "2026-11-24")
        await walker.press("ctrl+n")
        assert walker.screen == "PaperDaysScreen"
        assert "Mon 23 Nov" in walker.text
        assert "filled in by ben" in walker.words
        before = walker.keys
        await walker.type("0710", "enter")
        for value in ("6.0", "1,7", "21", "36"):
            await walker.type(value, "enter")
        assert walker.keys - before <= 22, "a day's reservoir in a few keys"
        await walker.press("f2")
        assert "All well at" in walker.words
        await walker.press("f7")
        assert "Tue 24 Nov" in walker.text
        assert walker.app.screen.query_one("#time").value == "07:10", "the time is asked once"
        await walker.type("", "enter")
        await walker.type("6.1", "enter")
    from rounds.history.store import History

    history = History.open(farm_folder / "history", read_only=True)
    read = [(r.item, r.value, f"{r.measured_at:%d %H:%M}", r.person) for r in history.records(kind="reading")]
    assert read == [
        ("ph", 6.0, "23 07:10", "ben"), ("ec", 1.7, "23 07:10", "ben"), ("t", 21.0, "23 07:10", "ben"),
        ("dip", 36.0, "23 07:10", "ben"), ("ph", 6.1, "24 07:10", "ben"),
    ]  # fmt: skip
    assert history.records(item="all-well")


async def test_what_cannot_be_read_from_paper_stays_in_its_field(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("r")
        await retyped(walker, "first", "2026-11-23")
        await walker.press("ctrl+n", "enter")
        await walker.type("6,4,2", "enter")
        focused = walker.app.screen.focused
        assert focused is not None
        assert focused.value == "6,4,2"
        assert "✗" in walker.text
        await walker.press("f5")
        assert "There is no other day" in walker.words
        await walker.press("escape")
        assert walker.screen == "ReliefScreen"
        await walker.press("escape")
        assert walker.screen == "WalkScreen"
