"""The command line where a file of the farm cannot be read: one sentence, exit code 1, and nothing is “not due”."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from rounds.cli import main

VERBS = [
    ["{farm}"],
    ["due", "{farm}"],
    ["card", "{farm}"],
    ["enter", "{farm}", "res-1", "ph 6.0"],
    ["correct", "{farm}", "res-1", "ph 6.6 ec 1.3 t 21 dip 31"],
    ["change", "{farm}"],
    ["history", "{farm}"],
    ["check", "{farm}"],
    ["merge", "{farm}", "{farm}"],
    ["relief", "{farm}", "--plan"],
    ["mix", "{farm}", "change-out", "res-1"],
]
BROKEN: dict[str, bytes] = {
    "comma": b"format = 1\nname = 'F'\n[place]\nlongitude = 8\nlatitude = 47,5\n",
    "empty": b"",
    "no stations": b"format = 1\nname = 'F'\n[place]\nlatitude = 47.0\nlongitude = 8.0\n",
    "utf-16": "format = 1".encode("utf-16"),
}
SAYS = {
    "comma": "farm.toml, line 5, column 14 can't be read: write 47.5, not 47,5.",
    "empty": "farm.toml is empty",
    "no stations": "farm.toml has no station",
    "utf-16": "save it as UTF-8",
}


def told(capsys: pytest.CaptureFixture[str], folder: Path, words: list[str]) -> tuple[int, str]:
    code = main([word.format(farm=folder) for word in words])
    both = capsys.readouterr()
    return code, both.out + both.err


@pytest.mark.parametrize("form", [[], ["--json"]], ids=["text", "json"])
@pytest.mark.parametrize("words", VERBS, ids=lambda words: words[0])
@pytest.mark.parametrize("fault", BROKEN)
def test_a_farm_that_cannot_be_read_is_refused_by_every_verb(
    capsys: pytest.CaptureFixture[str], farm_folder: Path, fault: str, words: list[str], form: list[str]
) -> None:
    (farm_folder / "farm.toml").write_bytes(BROKEN[fault])
    code, text = told(capsys, farm_folder, [*words, *form])
    assert code == 1
    assert SAYS[fault] in text
    assert "0 due" not in text and "Nothing" not in text
    assert (farm_folder / "farm.toml").read_bytes() == BROKEN[fault]


def test_the_line_stands_below_the_sentence_with_a_mark_under_the_spot(
    capsys: pytest.CaptureFixture[str], farm_folder: Path
) -> None:
    (farm_folder / "farm.toml").write_bytes(BROKEN["comma"])
    _, text = told(capsys, farm_folder, ["due", "{farm}"])
    assert "    latitude = 47,5\n                 ^" in text


def test_what_was_written_down_is_copied_even_where_the_farm_cannot_be_read(
    capsys: pytest.CaptureFixture[str], farm_folder: Path, tmp_path: Path
) -> None:
    main(["enter", str(farm_folder), "res-1", "ph 6.0"])
    (farm_folder / "farm.toml").write_bytes(BROKEN["comma"])
    code, text = told(capsys, farm_folder, ["backup", "{farm}", str(tmp_path / "stick")])
    assert code == 0
    assert "1 record" in text and "line 5, column 14" in text


@pytest.mark.parametrize("file", ["feeds.toml", "shelf.toml"])
@pytest.mark.parametrize("text", [None, "", "a = 1,5"], ids=["missing", "empty", "comma"])
def test_without_feeds_or_shelf_the_stations_are_due_and_nothing_is_dosed(
    capsys: pytest.CaptureFixture[str], farm_folder: Path, file: str, text: str | None
) -> None:
    _, before = told(capsys, farm_folder, ["due", "{farm}", "--json"])
    if text is None:
        (farm_folder / file).unlink()
    else:
        (farm_folder / file).write_text(text)
    code, after = told(capsys, farm_folder, ["due", "{farm}", "--json"])
    form = json.loads(after)
    assert code == 1
    assert [each["id"] for each in form["stations"]] == [each["id"] for each in json.loads(before)["stations"]]
    assert main(["due", str(farm_folder)]) == 1
    assert capsys.readouterr().out.splitlines()[0] == f"! {file} can't be used: there are no doses."
    code, refused = told(capsys, farm_folder, ["correct", "{farm}", "res-1", "ph 6.6 ec 1.3 t 21 dip 31"])
    assert code == 1 and file in refused
    code, _ = told(capsys, farm_folder, ["enter", "{farm}", "res-1", "ph 6.0"])
    assert code == 0
    for words in (["check", "{farm}"], ["mix", "{farm}", "change-out", "res-1"], ["mix", "{farm}", "top-up", "res-1"]):
        code, refused = told(capsys, farm_folder, words)
        assert code == 1 and file in refused


def test_due_says_first_how_many_stations_are_left_out(capsys: pytest.CaptureFixture[str], farm_folder: Path) -> None:
    path = farm_folder / "farm.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("= 180", "= 900"), encoding="utf-8")
    assert main(["due", str(farm_folder)]) == 1
    first = capsys.readouterr().out.splitlines()[0]
    assert first == "! 3 stations are left out for mistakes in farm.toml: res-1, ch-1, ch-2."
    _, text = told(capsys, farm_folder, ["due", "{farm}", "--json"])
    assert json.loads(text)["left_out"] == ["res-1", "ch-1", "ch-2"]


def test_a_card_says_what_is_not_on_it(capsys: pytest.CaptureFixture[str], farm_folder: Path) -> None:
    path = farm_folder / "farm.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("birds = 12", "birds = 1,5"), encoding="utf-8")
    assert main(["card", str(farm_folder)]) == 1
    path.write_text(path.read_text(encoding="utf-8").replace("birds = 1,5", "birds = 'x'"), encoding="utf-8")
    capsys.readouterr()
    assert main(["card", str(farm_folder)]) == 1
    card = capsys.readouterr().out
    assert "NOT ON THIS CARD: 1 station is left out for mistakes in farm.toml: hens." in card
    assert max(map(len, card.splitlines())) <= 80


def test_a_sheet_for_a_helper_is_not_printed_without_some_of_the_stations(
    capsys: pytest.CaptureFixture[str], farm_folder: Path, tmp_path: Path
) -> None:
    path = farm_folder / "farm.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("birds = 12", "birds = 'x'"), encoding="utf-8")
    sheet = tmp_path / "sheet.html"
    code, text = told(capsys, farm_folder, ["relief", "{farm}", "--for", "ben", "--html", str(sheet)])
    assert code == 1
    assert "1 station is left out" in text
    assert not sheet.exists()


@pytest.mark.parametrize(("text", "says"), [("a = 1,5", "line 1, column 6"), ("", "is empty")])
def test_a_checklist_of_the_farms_own_that_cannot_be_read_is_said_before_what_is_due(
    capsys: pytest.CaptureFixture[str], farm_folder: Path, text: str, says: str
) -> None:
    (farm_folder / "checklists").mkdir()
    (farm_folder / "checklists" / "hens.toml").write_text(text)
    assert main(["due", str(farm_folder)]) == 1
    both = capsys.readouterr()
    first = both.out.splitlines()[0]
    assert first == "! 1 station is not asked about, since a checklist can't be used: hens."
    assert f"checklists/hens.toml, {says}" in both.err or f"checklists/hens.toml {says}" in both.err
    assert main(["check", str(farm_folder)]) == 1
