"""What went wrong is there next morning, until it is settled: some days of a farm, walked and asked for.

The stories are our own. What must stand there was written down before any of it was built.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from rounds.cli import main
from tests.stories.story import STORIES, Story, read_story
from tests.stories.walking import (
    Hands,
    laid_out,
    matters_of,
    stands,
    type_in_plain_lines,
    verbs_tell_the_time_of,
)


@pytest.mark.parametrize("path", STORIES, ids=lambda path: path.stem)
def test_what_happened_is_told_until_it_is_settled(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    story, clock = read_story(path), Hands()
    farm = laid_out(tmp_path / "farm")
    verbs_tell_the_time_of(clock, monkeypatch)
    faults: list[str] = []
    for scene in story.scenes:
        clock.at = scene.at
        faults += wrong_before(story, scene.name, matters_of(farm, capsys))
        said = type_in_plain_lines(farm, scene, clock)
        faults += [f"{scene.name}: {line}" for line in said.splitlines() if line.startswith("✗")]
    clock.at += timedelta(hours=15)
    faults += wrong_before(story, "the end", matters_of(farm, capsys))
    assert not faults, "\n".join(faults)


def wrong_before(story: Story, scene: str, matters: list[dict[str, object]]) -> list[str]:
    """What is forgotten when a scene begins, and what stands there although it was settled."""
    told = "\n".join(f"        {each['station']}: {each['what']}" for each in matters)
    gone = [each.name for each in story.open_before(scene) if not stands(each, matters)]
    left = [each.name for each in story.settled_before(scene) if stands(each, matters)]
    return [f"{scene}: forgotten: {name}\n{told}" for name in gone] + [
        f"{scene}: still there: {name}\n{told}" for name in left
    ]


def test_there_are_five_stories_with_twenty_happenings() -> None:
    stories = [read_story(path) for path in STORIES]
    assert len(stories) >= 5 and sum(len(story.happenings) for story in stories) >= 20


def test_birds_that_were_counted_before_the_fox_came_are_not_missing_or_too_many_now(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """23 were on the perch yesterday, and 2 are gone: that yesterday's count is not 21 is nothing to sort."""
    clock = Hands(datetime(2026, 11, 26, 16, 0, tzinfo=UTC))
    farm = laid_out(tmp_path / "farm")
    verbs_tell_the_time_of(clock, monkeypatch)
    for line in ("perch 23", "fox 2"):
        assert main(["enter", str(farm), "hens", line]) == 0
        clock.go_on(hours=15)
    told = [each["what"] for each in matters_of(farm, capsys) if each["station"] == "hens"]
    assert len(told) == 1 and "fox" in told[0], told
    assert main(["enter", str(farm), "hens", "perch 20"]) == 0
    clock.go_on(hours=1)
    assert any("1 bird missing" in each["what"] for each in matters_of(farm, capsys))
