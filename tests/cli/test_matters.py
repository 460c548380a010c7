"""`rounds matters`: lists what is still to sort, settles it by its id; `rounds due` tells it, too."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from rounds.cli import main

KEYS = {"id", "code", "station", "stations", "what", "since", "loses", "lost", "closes_by", "closing", "can_wait", "of"}


def asked(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    capsys.readouterr()
    code = main(list(words))
    out, err = capsys.readouterr()
    return code, out, err


def matters(capsys: pytest.CaptureFixture[str], farm: Path, *more: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(asked(capsys, "matters", str(farm), "--json", *more)[1])
    return found


@pytest.fixture
def wilting(farm_folder: Path) -> Path:
    for station in ("ch-1", "ch-2"):
        assert main(["enter", str(farm_folder), station, "wilt"]) == 0
    return farm_folder


def test_it_is_listed_for_people_and_for_programs(wilting: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (found,) = matters(capsys, wilting)["matters"]
    assert found.keys() == KEYS
    assert found["what"].startswith("Look again: wilting seen in Channel one and Channel two (since today ")
    assert (found["stations"], found["loses"], found["can_wait"]) == (["ch-1", "ch-2"], "2 hours", True)
    assert found["closes_by"] == ["check well", "reason"]
    code, out, _ = asked(capsys, "matters", str(wilting))
    assert code == 0 and out.splitlines()[0] == "Test farm: 1 still to sort"
    assert "lost: the lettuce of Channel one, within 2 hours. Closes by" in out


def test_due_tells_it_in_both_forms(wilting: Path, capsys: pytest.CaptureFixture[str]) -> None:
    form = json.loads(asked(capsys, "due", str(wilting), "--json")[1])
    assert [each["code"] for each in form["matters"]] == ["off"]
    assert "still to sort: ch-1: Look again: wilting seen" in asked(capsys, "due", str(wilting))[1]


def test_one_is_closed_by_its_id_with_a_reason(wilting: Path, capsys: pytest.CaptureFixture[str]) -> None:
    form = matters(capsys, wilting, "--settle", "off:ch-1:wilt", "--reason", "watered")
    assert len(form["saved"]) == 1
    assert [each["id"] for each in form["matters"]] == ["off:ch-2:wilt"]


def test_all_that_is_joined_is_left_for_a_day(wilting: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (found,) = matters(capsys, wilting)["matters"]
    form = matters(capsys, wilting, "--settle", found["id"], "--later", "3")
    assert form["matters"] == [] and len(form["saved"]) == 2
    assert {each["id"] for each in form["later"]} == {found["id"]}


@pytest.mark.parametrize(("words", "told"), [
    (("--settle", "off:ch-9:wilt", "--reason", "x"), "Nothing that is still to sort is called"),
    (("--settle", "off:ch-1:wilt"), "It is not settled without a reason."),
    (("--settle", "off:ch-1:wilt", "--later", "soon"), "“soon” is no day."),
    (("--settle", "off:ch-1:wilt", "--later", "0"), "not today"),
    (("--reason", "x"), "--reason and --later belong to something that is still to sort."),
])  # fmt: skip
def test_what_cannot_be_settled_is_one_sentence_and_nothing_is_written(
    wilting: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], told: str
) -> None:
    code, out, err = asked(capsys, "matters", str(wilting), *words)
    assert code == 1 and told in err and out == ""
    assert len(matters(capsys, wilting)["matters"]) == 1


def test_animals_do_not_wait(farm_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["enter", str(farm_folder), "hens", "perch 11"]) == 0
    code, _, err = asked(capsys, "matters", str(farm_folder), "--settle", "off:hens:perch", "--later", "2")
    assert code == 1 and "People and animals do not wait" in err


def test_a_line_of_enter_closes_it_too(wilting: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert asked(capsys, "enter", str(wilting), "ch-1", "fixed wilt watered")[0] == 0
    assert asked(capsys, "enter", str(wilting), "ch-2", "later thu")[0] == 0
    form = matters(capsys, wilting)
    assert form["matters"] == [] and [each["id"] for each in form["later"]] == ["off:ch-2:wilt"]


def test_nothing_to_sort_says_so(farm_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert asked(capsys, "matters", str(farm_folder))[1] == "Test farm: nothing to sort\n"
