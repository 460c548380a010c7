"""`rounds enter` with a verb first: saved at once, refused with what is missing, never twice by accident."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from rounds.cli import main
from rounds.history.store import History


def kinds(farm: Path) -> list[tuple[str, str, Any]]:
    with History.open(farm / "history", read_only=True) as history:
        return [(r.kind, r.item, r.value) for r in history.records()]


def enter(farm: Path, station: str, line: str, *more: str) -> int:
    return main(["enter", str(farm), station, line, *more])


def test_a_doing_is_saved_at_once_and_says_what_was_understood(farm_folder: Path, capsys: Any) -> None:
    assert enter(farm_folder, "hens", "dead 1") == 0
    assert capsys.readouterr().out.strip().endswith("1 bird dead; flock 11 now")
    assert kinds(farm_folder) == [("doing", "dead", 1)]


def test_its_json(farm_folder: Path, capsys: Any) -> None:
    assert enter(farm_folder, "res-1", "topped 20", "--json") == 0
    (saved,) = json.loads(capsys.readouterr().out)["saved"]
    assert (saved["item"], saved["value"], saved["unit"], saved["verdict"]) == ("well", 20.0, "L", "done")


def test_the_same_line_again_is_refused_until_it_is_meant(farm_folder: Path, capsys: Any) -> None:
    assert enter(farm_folder, "res-1", "topped 20") == 0
    assert enter(farm_folder, "res-1", "topped 20") == 1
    assert "The same was saved at" in capsys.readouterr().err
    assert enter(farm_folder, "res-1", "topped 21") == 0
    assert enter(farm_folder, "res-1", "topped 20", "--yes") == 0
    assert [value for _, _, value in kinds(farm_folder)] == [20.0, 21.0, 20.0]


@pytest.mark.parametrize(("station", "line", "sentence"), [
    ("hens", "dead", "How many died? Type it behind the verb, such as: dead 1."),
    ("res-1", "calibrated 7.00", "before 7.12, or before unknown"),
    ("ch-1", "cut 4", "cut 4 regrows, or cut 4 gone"),
    ("hens", "dead 40", "There are only 12 birds, not 40."),
    ("res-1", "dead 1", "makes no sense at Reservoir one"),
    ("res-1", "poured 2 l acid", "`--yes` saves it as it is."),
    ("res-1", "refilled steps", "Steps are led through on the walk."),
    ("farm", "ph 6", "is nothing that is done on the farm as a whole"),
    ("farm", "dead 1", "`dead` makes no sense at The farm. It is typed at Hen house."),
])  # fmt: skip
def test_what_is_missing_or_cannot_be_is_one_sentence(
    farm_folder: Path, capsys: Any, station: str, line: str, sentence: str
) -> None:
    assert enter(farm_folder, station, line) == 1
    assert sentence in capsys.readouterr().err
    assert kinds(farm_folder) == []


def test_the_farm_as_a_whole(farm_folder: Path) -> None:
    assert enter(farm_folder, "farm", "storm two panes gone") == 0
    assert enter(farm_folder, "farm", "outage 20 min") == 0
    assert kinds(farm_folder) == [("event", "storm", None), ("event", "outage", 20.0)]


def test_readings_are_entered_as_before(farm_folder: Path) -> None:
    assert enter(farm_folder, "res-1", "ph 6.0 ec 1.7") == 0
    assert kinds(farm_folder) == [("reading", "ph", 6.0), ("reading", "ec", 1.7)]
