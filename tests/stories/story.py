"""Stories: some days of a farm, what is typed at each look round, and what must stand there until it is settled.

A story is a table (`*.toml` beside this module). It has scenes in order of time; in each, lines are typed at stations.
Its happenings say in which scene something happened, and in which it is settled; in between it must be on the list of
what is still to sort at the beginning of each scene, and afterwards it must be gone.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
KEYS = ("+", "-", "*", "esc", "f6", "enter")
"""Lines that are keys."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Typed:
    """What is typed at one place."""

    place: str
    """Id of a station; "correction:" before it for the page of its correction; "farm" for the first screen."""
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """One look round."""

    name: str
    at: datetime
    closes: bool
    """Whether the round is closed at its end."""
    typed: tuple[Typed, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Happening:
    """Something that must not be forgotten."""

    name: str
    happens: str
    settled: str
    """The scene in which it is settled; empty where it is open at the end."""
    station: str
    words: tuple[str, ...]
    """Each stands in its sentence, whatever the case."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Story:
    """Some days."""

    title: str
    scenes: tuple[Scene, ...]
    happenings: tuple[Happening, ...]

    def open_before(self, scene: str) -> Iterator[Happening]:
        """What must stand there when a scene begins; a name that is none of theirs is after the last one."""
        place = self._places().get(scene, len(self.scenes))
        for each in self.happenings:
            ends = self._places()[each.settled] if each.settled else len(self.scenes)
            if self._places()[each.happens] < place <= ends:
                yield each

    def settled_before(self, scene: str) -> Iterator[Happening]:
        """What must be gone when a scene begins."""
        place = self._places().get(scene, len(self.scenes))
        return (each for each in self.happenings if each.settled and self._places()[each.settled] < place)

    def _places(self) -> dict[str, int]:
        return {scene.name: place for place, scene in enumerate(self.scenes)}


def read_story(path: Path) -> Story:
    """Read a story; a happening that names no scene of it is a mistake."""
    table = tomllib.loads(path.read_text(encoding="utf-8"))
    scenes = tuple(_scene(each) for each in table["scenes"])
    happenings = tuple(
        Happening(
            name=each["name"], happens=each["happens"], settled=each.get("settled", ""),
            station=each.get("station", ""), words=tuple(each["words"]),
        )
        for each in table["happenings"]
    )  # fmt: skip
    names = {scene.name for scene in scenes}
    assert all({each.happens, each.settled or each.happens} <= names for each in happenings), path.name
    return Story(title=table["title"], scenes=scenes, happenings=happenings)


def _scene(table: dict[str, Any]) -> Scene:
    typed = tuple(Typed(place=place, lines=tuple(lines)) for place, *lines in table.get("typed", []))
    return Scene(name=table["name"], at=table["at"], closes=table.get("closes", False), typed=typed)


STORIES = sorted(HERE.glob("*.toml"))
