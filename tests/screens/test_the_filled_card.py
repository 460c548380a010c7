"""A filled walk card typed in: what was crossed as off goes in beside the readings."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from rounds.history.record import Draft

Driver = Any


def answers(walker: Any, station: str) -> dict[str, object]:
    return {r.item: r.value for r in walker.app.session.history.records(station=station) if r.kind == "check"}


async def to_the_checks_of(walker: Any, name: str) -> None:
    rows = list(walker.app.screen.query("OffRow"))
    (wanted,) = [row for row in rows if row.visit.stop.station.name == name]
    for _ in range(40):
        if walker.app.focused.parent is wanted:
            return
        await walker.press("down")
    raise AssertionError(walker.text)


async def test_what_was_crossed_is_typed_by_its_name_and_the_rest_is_well(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("i")
        await walker.type("0555", "enter")
        await to_the_checks_of(walker, "Channel one")
        await walker.type("wilt roots brown", "enter")
        await walker.press("f2")
        checks = answers(walker, "ch-1")
        assert checks["wilt"] is False
        assert checks["roots"] == "brown"
        (well,) = walker.app.session.history.records(station="ch-1", item="all-well")
        assert {"wilt", "roots"}.isdisjoint(well.data["covers"])
        assert well.measured_at.strftime("%H:%M") == "05:55"


async def test_what_was_crossed_counts_after_all_well_too(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("i", "f2")
        await to_the_checks_of(walker, "Channel one")
        await walker.type("wilt", "enter")
        assert walker.app.session.history.latest("ch-1", "wilt").value is False


async def test_a_number_without_a_name_is_no_answer_to_a_check(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("i")
        await to_the_checks_of(walker, "Reservoir one")
        await walker.type("6.0", "enter")
        assert not walker.app.session.history.records(kind="reading")
        assert "from “6.0” on" in walker.words, "the sentence can be read in full"
        await walker.type("surface 1", "enter")
        assert answers(walker, "res-1") == {"look": "clear"}


async def test_the_card_says_how_it_goes_on_and_which_words_it_takes(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("i")
        assert "Enter next" in walker.words
        await to_the_checks_of(walker, "Channel one")
        assert "outlet, roots" in walker.words
        assert "A name alone: not well." in walker.words


async def test_with_nothing_due_the_card_says_so(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        session = walker.app.session
        session.save(*(skipped(session, station) for station in session.farm.stations))
        assert session.due("morning") == []
        await walker.press("i")
        assert "Nothing is due on this round" in walker.text


def skipped(session: Any, station: str) -> Draft:
    return Draft(kind="skip", measured_at=session.now(), station=station, note="away")
