"""The same stories typed into the app: what must stand there is read from its own list."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path

import pytest

from rounds.app import RoundsApp
from rounds.walk.session import Session
from tests.once import style_sheets_are_parsed_once  # noqa: F401  # this is a fixture
from tests.screens.conftest import Walker
from tests.stories.story import STORIES, Happening, Scene, Story, read_story
from tests.stories.walking import Hands, laid_out

SIZE = (140, 60)
IN_EVERY_RUN = "a_probe_that_lied"
NAMES = {"esc": "escape", "+": "plus"}


async def type_scene(walker: Walker, session: Session, scene: Scene, clock: Hands) -> None:
    """Go to each place by its name, type its lines, and come back to the first screen."""
    for typed in scene.typed:
        await walker.press("slash")
        await walker.type(session.farm.stations[typed.place].name, "enter")
        for line in typed.lines:
            clock.go_on(seconds=30)
            if line in NAMES or not line:
                await walker.press(NAMES.get(line, "enter"))
            else:
                await walker.type(line, "enter")
        for _ in range(4):
            if walker.screen == "WalkScreen":
                break
            await walker.press("escape")
        assert walker.screen == "WalkScreen", walker.text


async def listed(walker: Walker) -> str:
    """The whole list of what is still to sort, each with what is known of it, as one text."""
    await walker.press("j")
    await walker.until(lambda: walker.screen == "ToSortScreen")
    told = walker.words.casefold()
    await walker.press("escape")
    await walker.until(lambda: walker.screen == "WalkScreen")
    return told


def missing(happenings: Sequence[Happening], told: str) -> list[str]:
    return [each.name for each in happenings if not all(word.casefold() in told for word in each.words)]


@pytest.mark.parametrize(
    "path",
    [pytest.param(each, marks=() if each.stem == IN_EVERY_RUN else pytest.mark.long) for each in STORIES],
    ids=lambda path: path.stem,
)
async def test_the_app_tells_what_happened_until_it_is_settled(path: Path, tmp_path: Path) -> None:
    story, clock = read_story(path), Hands()
    farm = laid_out(tmp_path / "farm")
    for scene in story.scenes:
        clock.at = scene.at
        await one_look_round(story, scene, farm, clock)
    clock.at += timedelta(hours=15)


async def one_look_round(story: Story, scene: Scene, farm: Path, clock: Hands) -> None:
    app = RoundsApp(farm, clock=clock)
    async with app.run_test(size=SIZE, notifications=True):
        walker = Walker(app)
        await walker.until(lambda: walker.screen == "WalkScreen")
        await walker.settle()
        assert missing(list(story.open_before(scene.name)), await listed(walker)) == [], walker.text
        await type_scene(walker, app.session, scene, clock)
