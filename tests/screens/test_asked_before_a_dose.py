"""What a correction asks before acid or base, on its page: what goes into the jar, answered, skipped, refused."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from rounds.walk.open_corrections import open_correction_of
from tests import keyboard

Driver = Any


async def to_the_jar(walker: Any, clock: Any) -> None:
    """Read a reservoir that wants acid, the probe dipped in buffer, and open its correction."""
    await walker.press("enter", "plus")
    await walker.type("6.9 1.7 21 36", "enter")
    await walker.type("7.02", "enter", "f9")
    await walker.until(lambda: walker.screen == "CorrectionScreen")
    clock.go_on(minutes=5)


def next_action(walker: Any) -> str:
    if walker.screen != "CorrectionScreen":
        return ""
    step = walker.app.screen.correction.next_step
    return step.action if step is not None else ""


@keyboard.at_both_sizes
async def test_it_shows_what_goes_into_what_what_to_beware_of_and_that_the_jar_is_thrown_away(
    driven: Driver, farm_folder: Path, clock: Any, size: tuple[int, int]
) -> None:
    async with driven(farm_folder) as walker:
        await to_the_jar(walker, clock)
        told = walker.words
        assert (
            "▶ 1 Jar test: stir" in told and "mL of Working nitric acid into 10 L of the reservoir's own water" in told
        )
        assert "Why: Held down in case of a bottle ten times as strong" in told
        assert "! Acid into water, never water into acid." in told and "! Goggles and gloves" in told
        assert "! What was in the jar is poured away, not into the reservoir" in told
        assert "The pH in the jar, then Enter. s, then Enter: skip" in told
        assert "Enter what it shows s skip" in told and "EMERGENCY" in told


@keyboard.at_both_sizes
async def test_a_ph_typed_there_makes_the_correction_anew_with_a_larger_dose(
    driven: Driver, farm_folder: Path, clock: Any, size: tuple[int, int]
) -> None:
    async with driven(farm_folder) as walker:
        await to_the_jar(walker, clock)
        small = walker.app.screen.correction.steps[1].amount
        await walker.type("6.2", "enter")
        await walker.until(lambda: next_action(walker) not in ("", "jar_test"))
        assert next(s.amount for s in walker.app.screen.correction.steps if s.action == "acid") > 2 * small
        assert "jar test 6.20" in walker.words, "it is seen to be taken: nobody types it again, as a dose"
        (jar,) = walker.app.session.history.records(item="jar")
        assert (jar.value, jar.typed, jar.data["product"]) == (6.2, "6.2", "nitric-8")
        assert walker.app.session.history.records(kind="dose") == []


async def test_a_ph_that_cannot_be_stays_on_the_line_with_a_sentence(
    driven: Driver, farm_folder: Path, clock: Any
) -> None:
    async with driven(farm_folder) as walker:
        await to_the_jar(walker, clock)
        await walker.type("62", "enter")
        assert "A pH of 62 cannot be" in walker.words and "▶ 62" in walker.text
        assert walker.app.session.history.records(item="jar") == []


async def test_enter_alone_asks_and_esc_leaves_the_question(driven: Driver, farm_folder: Path, clock: Any) -> None:
    async with driven(farm_folder) as walker:
        await to_the_jar(walker, clock)
        await walker.press("enter")
        assert walker.screen == "PromptScreen" and "Jar test: stir" in walker.words
        await walker.press("escape")
        assert walker.screen == "CorrectionScreen" and next_action(walker) == "jar_test"
        await walker.press("enter")
        await walker.type("6.2", "enter")
        await walker.until(lambda: next_action(walker) not in ("", "jar_test"))


async def test_s_skips_it_and_the_small_dose_is_next(driven: Driver, farm_folder: Path, clock: Any) -> None:
    async with driven(farm_folder) as walker:
        await to_the_jar(walker, clock)
        small = walker.app.screen.correction.steps[1].amount
        await walker.press("s", "enter")
        assert "Skipped. What follows is safe even so." in walker.words
        assert f"Type the mL you poured, such as {small:g}" in walker.words
        left = open_correction_of(walker.app.session, "res-1")
        assert left is not None and left.next_step is not None and left.next_step.action == "acid"


async def test_another_answer_typed_there_goes_to_the_station_and_comes_back_with_the_correction_made_anew(
    driven: Driver, farm_folder: Path, clock: Any
) -> None:
    async with driven(farm_folder) as walker:
        await to_the_jar(walker, clock)
        before = walker.app.screen.correction.id
        await walker.type("strip 6.8", "enter")
        await walker.until(lambda: walker.screen == "StationScreen")
        clock.go_on(minutes=1)
        await walker.type("jar 6.2", "enter", "f9")
        await walker.until(lambda: walker.screen == "CorrectionScreen")
        assert walker.app.screen.correction.id != before and next_action(walker) == "acid"
        strip, jar = (walker.app.session.history.records(item=item)[0] for item in ("strip", "jar"))
        assert (strip.value, jar.value, jar.data["product"]) == (6.8, 6.2, "nitric-8")
