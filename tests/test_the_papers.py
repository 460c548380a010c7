"""The papers for whoever carries this on: short, one for each room, and true where they name a place in the code."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

TOP = Path(__file__).parent.parent
HOUSE = TOP / "rounds"
MOST_WORDS = 1800
ROOMS = sorted(init.parent for init in HOUSE.rglob("__init__.py") if init.parent != HOUSE)
NAMES = "|".join(room.name for room in ROOMS if room.parent == HOUSE)
PAPERS = [TOP / "README.md", TOP / "DEVELOPERS.md", *sorted(HOUSE.rglob("README.md"))]

_PATH = re.compile(r"\b(?:rounds|tests|checklists|sample_farm)/(?:[\w.-]+/?)*")
_QUOTED = re.compile(r"`([^`\n]+)`")
_PLACE = re.compile(rf"(?:{NAMES})/[\w/]+(?:\.\w+)*\Z")
_FILE = re.compile(r"\w+\.(?:py|tcss)\Z")


def missing_in(text: str, folder: Path) -> Iterator[str]:
    """What a paper that lies in a folder names and nobody would find."""
    for path in _PATH.findall(text):
        if not (TOP / path.rstrip(".")).exists():
            yield path
    for quoted in _QUOTED.findall(text):
        if _PLACE.match(quoted) and not _is_there(quoted):
            yield quoted
        if _FILE.match(quoted) and not (folder / quoted).exists():
            yield quoted


def _is_there(place: str) -> bool:
    """Whether `room/module`, `room/module.py` or `room/module.name` is to be found."""
    if (HOUSE / place).exists():
        return True
    path, _, name = place.partition(".")
    module = HOUSE / f"{path}.py"
    text = module.read_text(encoding="utf-8") if module.exists() else None
    return text is not None and re.search(rf"\b{name.rpartition('.')[2]}\b", text) is not None


def test_the_page_for_developers_is_read_in_a_few_minutes() -> None:
    words = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8").split()
    assert len(words) <= MOST_WORDS, "what belongs to one room stands in the room's own README.md"


@pytest.mark.parametrize("paper", PAPERS, ids=lambda paper: str(paper.relative_to(TOP)))
def test_every_place_in_the_code_that_a_paper_names_is_there(paper: Path) -> None:
    assert list(missing_in(paper.read_text(encoding="utf-8"), paper.parent)) == []


@pytest.mark.parametrize("room", ROOMS, ids=lambda room: room.name)
def test_every_room_has_a_paper_of_its_own(room: Path) -> None:
    assert (room / "README.md").exists()


def test_a_place_that_has_moved_is_noticed() -> None:
    text = "`advice/steps`, `book/offer`, `book/offer.Gone`, `book/offer.Step`, `levels.py`, rounds/advice/belief.py."
    assert [*missing_in(text, HOUSE / "advice")] == [
        "rounds/advice/belief.py.",
        "advice/steps",
        "book/offer.Gone",
        "levels.py",
    ]
