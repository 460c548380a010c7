"""The command line, over the same functions as the screens: answers, JSON forms, exit codes."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from rounds.cli import due, main
from rounds.history.record import Draft
from rounds.history.store import History
from rounds.walk.left_open import close_left_open
from rounds.walk.round import start_round
from rounds.walk.session import Session

ROUNDS = [sys.executable, "-m", "rounds"]


def asked(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, dict[str, Any]]:
    """Run one command and read its JSON."""
    code = main([str(word) for word in words])
    return code, json.loads(capsys.readouterr().out)


def test_due_names_each_station_with_what_is_due(capsys: pytest.CaptureFixture[str], farm_folder: Path) -> None:
    code, form = asked(capsys, "due", farm_folder, "--round", "morning", "--json")
    assert code == 0
    assert form["format"] == 1
    assert [station["id"] for station in form["stations"]] == ["res-1", "ch-1", "hens", "ch-2"]
    assert {"id", "kind", "name", "due"} <= form["stations"][0].keys()
    assert "ph" in [due["item"] for due in form["stations"][0]["due"]]


def test_due_counts_the_round_it_names_as_the_first_screen_does(farm_folder: Path) -> None:
    evening = datetime(2026, 11, 25, 19, 0, tzinfo=UTC)
    session = Session.open(farm_folder, clock=lambda: evening, read_only=True)
    form = due.what_is_due(session)
    morning = [line for line in due.lines_of(form) if "morning round:" in line]
    here = session.due("morning")
    known = {(each.station_id, item.item.id) for each in here for item in each.items}
    later = {
        (each.station_id, item.item.id)
        for name in ("midday", "dusk")
        for each in session.due(name)
        for item in each.items
    } - known
    assert ("hens", "perch") in later
    assert f"{len(known)} due at {len(here)} stations" in morning[0]
    more = [int(part.split()[0]) for part in morning[0].split(", ") if " more of the " in part]
    assert sum(more) == len(later)
    perch = next(line for line in due.lines_of(form) if "Counted on the perch" in line)
    assert "dusk round" in perch


def test_due_names_a_round_of_an_earlier_day_that_nobody_closed(
    capsys: pytest.CaptureFixture[str], farm_folder: Path
) -> None:
    before = datetime.now(UTC) - timedelta(days=2)
    session = Session.open(farm_folder, clock=lambda: before)
    start_round(session, "dusk")
    session.history.close()
    _, form = asked(capsys, "due", farm_folder, "--json")
    assert form["left_open"] == [{"round": "dusk", "day": before.date().isoformat()}]
    session = Session.open(farm_folder)
    close_left_open(session)
    session.history.close()
    _, form = asked(capsys, "due", farm_folder, "--json")
    assert form["left_open"] == []
    assert "not reached on the last round" in {each["what"] for each in form["carried_over"]}


def test_enter_prints_the_ids_that_the_history_has_afterwards(
    capsys: pytest.CaptureFixture[str], farm_folder: Path
) -> None:
    code, form = asked(capsys, "enter", farm_folder, "res-1", "ph 6,4 ec 1.9 t 21 dip 31cm", "--json")
    assert code == 0
    ids = {saved["id"] for saved in form["saved"]}
    assert len(ids) == 4
    _, history = asked(capsys, "history", farm_folder, "--station", "res-1", "--json")
    assert ids == {record["id"] for record in history["records"]}


@pytest.mark.parametrize(
    ("line", "word"),
    [
        ("ph 56", "expected 0.00 to 14.00"),
        ("ec abc", "is not a number"),
        ("t -80", "cannot be"),
        ("ph 6,4,2", "is not a number"),
        ("ph 6.4 ph 6.5", "twice"),
        ("ph ٦", "is not a number"),
        ("ph \x1b[31m6", "not"),
        ("colour 3", "nothing has that name here"),
        ("", "Nothing was typed"),
    ],
)
def test_what_cannot_be_read_is_a_sentence_and_saves_nothing(
    capsys: pytest.CaptureFixture[str], farm_folder: Path, line: str, word: str
) -> None:
    assert main(["enter", str(farm_folder), "res-1", line]) == 1
    told = capsys.readouterr()
    assert word in told.err
    assert "\x1b" not in told.err
    assert told.out == ""


def test_the_good_part_of_a_line_is_saved_beside_the_bad_one(
    capsys: pytest.CaptureFixture[str], farm_folder: Path
) -> None:
    code, form = asked(capsys, "enter", farm_folder, "res-1", "ph 6.4 ec abc", "--json")
    assert code == 1
    assert [saved["item"] for saved in form["saved"]] == ["ph"]
    assert "“abc”" in form["problems"][0]


def test_a_gallon_is_refused_before_the_farm_has_said_which(
    capsys: pytest.CaptureFixture[str], farm_folder: Path
) -> None:
    assert main(["enter", str(farm_folder), "hens", "water 5 gal"]) == 1
    assert "has not said which" in capsys.readouterr().err


def test_correct_has_the_documented_form(capsys: pytest.CaptureFixture[str], farm_folder: Path) -> None:
    code, form = asked(capsys, "correct", farm_folder, "res-1", "ph 6.6 ec 1.3 t 21 dip 31", "--json")
    assert code == 0
    assert {"volume_l", "ph", "ec_ms_cm", "temperature_c", "alkalinity_meq_l"} == form["assumed"].keys()
    assert {"assumed", "steps", "findings", "refusals"} <= form.keys()
    for step in form["steps"]:
        assert {"action", "product", "amount", "unit", "wait_min", "cautions", "after"} <= step.keys()
        for interval in step["after"].values():
            assert interval["low"] <= interval["value"] <= interval["high"]
        assert step["after"]["ph"]["low"] >= 5.0


def test_a_step_without_a_wait_tells_none(capsys: pytest.CaptureFixture[str], farm_folder: Path) -> None:
    main(["correct", str(farm_folder), "res-1", "ph 6.6 ec 1.3 t 21 dip 31"])
    told = capsys.readouterr().out
    assert "; wait " in told
    assert "wait 0 min" not in told


def test_correct_writes_nothing_down(capsys: pytest.CaptureFixture[str], farm_folder: Path) -> None:
    main(["correct", str(farm_folder), "res-1", "ph 6.6 ec 1.3 t 21 dip 31"])
    capsys.readouterr()
    _, history = asked(capsys, "history", farm_folder, "--json")
    assert history["records"] == []


def test_the_working_shows_with_explain(capsys: pytest.CaptureFixture[str], farm_folder: Path) -> None:
    main(["correct", str(farm_folder), "res-1", "ph 6.6 ec 1.3 t 21 dip 31", "--explain"])
    assert "Circulating volume" in capsys.readouterr().out


@pytest.mark.parametrize(
    "words",
    [
        ["due", "{nowhere}"],
        ["enter", "{farm}", "res-9", "ph 6"],
        ["correct", "{farm}", "hens"],
        ["correct", "{farm}", "res-1"],
        ["history", "{farm}", "--station", "nothing"],
        ["history", "{farm}", "--since", "yesterday"],
        ["schema", "barn.toml"],
        ["{nowhere}"],
        ["{empty}"],
        ["{file}"],
        ["merge", "{farm}", "{empty}"],
        ["{farm}", "--as", "nobody"],
    ],
)
def test_refused_or_not_found_is_1_with_a_sentence(
    capsys: pytest.CaptureFixture[str], farm_folder: Path, tmp_path: Path, words: list[str]
) -> None:
    (tmp_path / "empty").mkdir()
    places = {
        "nowhere": tmp_path / "no",
        "farm": farm_folder,
        "empty": tmp_path / "empty",
        "file": farm_folder / "farm.toml",
    }
    assert main([word.format(**places) for word in words]) == 1
    assert capsys.readouterr().err.strip().endswith((".", "!"))


@pytest.mark.parametrize("at", ["2126-01-01T10:00", "2020-01-01T10:00", "tomorrow"])
def test_a_reading_is_entered_after_it_was_taken_and_not_years_later(
    capsys: pytest.CaptureFixture[str], farm_folder: Path, at: str
) -> None:
    assert main(["enter", str(farm_folder), "res-1", "ph 6.0", "--at", at]) == 1
    assert "--at" in capsys.readouterr().err
    _, history = asked(capsys, "history", farm_folder, "--since", "2019-01-01", "--json")
    assert history["records"] == []


def test_mistakes_in_the_farm_are_told_beside_every_answer(
    capsys: pytest.CaptureFixture[str], farm_folder: Path
) -> None:
    with (farm_folder / "farm.toml").open("a", encoding="utf-8") as farm:
        farm.write("\n[[stations]]\nkind = 'bed'\nid = 'b'\nname = 3\n")
    for verb in ("due", "card", "history"):
        main([verb, str(farm_folder)])
        assert "name: found 3" in capsys.readouterr().err


@pytest.mark.parametrize("words", [["due"], ["enter", "x"], ["--bogus"], ["due", "x", "--round", "tea"]])
def test_wrong_usage_is_2(capsys: pytest.CaptureFixture[str], words: list[str]) -> None:
    assert main(words) == 2
    assert "usage" in capsys.readouterr().err


def test_errors_come_as_json_where_json_was_asked_for(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    code, form = asked(capsys, "due", tmp_path, "--json")
    assert code == 1
    assert "no farm.toml" in form["error"]["sentence"]


def test_without_a_terminal_the_bare_command_says_what_is_due(farm_folder: Path) -> None:
    done = subprocess.run([*ROUNDS, str(farm_folder)], capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0
    assert "Test farm" in done.stdout


def test_the_card_has_every_reading_with_room_to_write(capsys: pytest.CaptureFixture[str], farm_folder: Path) -> None:
    assert main(["card", str(farm_folder), "--round", "morning"]) == 0
    card = capsys.readouterr().out
    assert "pH" in card
    assert "____" in card
    assert max(map(len, card.splitlines())) <= 80
    assert card.index("Reservoir one") < card.index("Channel one") < card.index("Channel two")


def test_check_counts_the_record_and_names_the_mistakes(capsys: pytest.CaptureFixture[str], farm_folder: Path) -> None:
    main(["enter", str(farm_folder), "res-1", "ph 6.0"])
    capsys.readouterr()
    code, form = asked(capsys, "check", farm_folder, "--json")
    assert (code, form["records"], form["verified"], form["mistakes"]) == (0, 1, True, [])
    with (farm_folder / "farm.toml").open("a", encoding="utf-8") as farm:
        farm.write("\n[[stations]]\nkind = 'bed'\nid = 'b'\nname = 3\n")
    code, form = asked(capsys, "check", farm_folder, "--json")
    assert code == 1
    assert any("name: found 3" in mistake for mistake in form["mistakes"])


def test_a_backup_can_be_merged_back_and_brings_nothing_new(
    capsys: pytest.CaptureFixture[str], farm_folder: Path, tmp_path: Path
) -> None:
    main(["enter", str(farm_folder), "res-1", "ph 6.0"])
    capsys.readouterr()
    code, made = asked(capsys, "backup", farm_folder, tmp_path / "stick", "--json")
    assert (code, made["records"]) == (0, 1)
    code, merged = asked(capsys, "merge", farm_folder, made["folder"], "--yes", "--json")
    assert (code, merged["new"], merged["known"], merged["taken"]) == (0, 0, 1, 0)


def test_csv_cells_cannot_run_as_formulas(capsys: pytest.CaptureFixture[str], farm_folder: Path) -> None:
    with History.open(farm_folder / "history") as history:
        history.save(Draft(kind="note", measured_at=datetime.now(UTC), note="=1+1"))
    main(["history", str(farm_folder), "--csv"])
    assert ",'=1+1," in capsys.readouterr().out


@pytest.mark.skipif(os.geteuid() == 0, reason="root writes everywhere")
def test_a_read_only_farm_opens_for_reading(capsys: pytest.CaptureFixture[str], farm_folder: Path) -> None:
    farm_folder.chmod(0o500)
    assert main(["due", str(farm_folder)]) == 0
    assert main(["enter", str(farm_folder), "res-1", "ph 6.0"]) == 1
    assert "reading only" in capsys.readouterr().err
    farm_folder.chmod(0o700)


@pytest.mark.parametrize("words", [("--until", "9999-12-31"), ("--since", "0001-01-01"), ("--since", "9999-12-31")])
def test_the_history_reaches_to_the_ends_of_the_calendar(
    capsys: pytest.CaptureFixture[str], farm_folder: Path, words: tuple[str, str]
) -> None:
    assert main(["enter", str(farm_folder), "res-1", "ph 6.0"]) == 0
    capsys.readouterr()
    code, form = asked(capsys, "history", farm_folder, *words, "--json")
    assert code == 0
    assert len(form["records"]) == (0 if words == ("--since", "9999-12-31") else 1)


def test_a_day_that_no_clock_can_show_is_told_in_a_sentence(
    capsys: pytest.CaptureFixture[str], farm_folder: Path
) -> None:
    farm = farm_folder / "farm.toml"
    farm.write_text(farm.read_text(encoding="utf-8").replace('"UTC"', '"Pacific/Auckland"'), encoding="utf-8")
    assert main(["history", str(farm_folder), "--since", "0001-01-01"]) != 0
    assert "beyond the calendar" in capsys.readouterr().err


@pytest.mark.parametrize("words", [("due",), ("enter", "res-1", "ph 6.0"), ("check",), ("check", "--repair"), ()])
def test_a_file_in_the_place_of_the_history_is_told_in_a_sentence(
    capsys: pytest.CaptureFixture[str], farm_folder: Path, words: tuple[str, ...]
) -> None:
    (farm_folder / "history").write_text("x", encoding="utf-8")
    arguments = [*words[:1], str(farm_folder), *words[1:]]
    assert main(arguments) != 0
    assert "is a file, not a folder" in capsys.readouterr().err
    assert (farm_folder / "history").read_text(encoding="utf-8") == "x"


@pytest.mark.parametrize("day", ["2026-11-25", "20261125"])
def test_a_reading_is_not_entered_at_a_day_without_a_time(
    capsys: pytest.CaptureFixture[str], farm_folder: Path, day: str
) -> None:
    assert main(["enter", str(farm_folder), "res-1", "ph 6.0", "--at", day]) != 0
    assert "is a day without a time. A time such as 2026-11-25T07:10" in capsys.readouterr().err
    _, form = asked(capsys, "history", farm_folder, "--json")
    assert form["records"] == []


def test_enter_names_the_value_that_it_doubts(capsys: pytest.CaptureFixture[str], farm_folder: Path) -> None:
    main(["enter", str(farm_folder), "res-1", "ph 6.0"])
    capsys.readouterr()
    assert main(["enter", str(farm_folder), "res-1", "ph 7.4"]) == 1
    assert "not saved: pH 7.40 is" in capsys.readouterr().err


def test_a_correction_is_printed_with_what_it_asks_and_what_goes_into_the_jar(
    capsys: pytest.CaptureFixture[str], farm_folder: Path
) -> None:
    assert main(["correct", str(farm_folder), "res-1", "ph 6.9 ec 1.7 t 21 dip 36"]) == 0
    lines = capsys.readouterr().out.splitlines()
    jar = next(n for n, line in enumerate(lines) if "Jar test: stir" in line)
    assert "mL of Working nitric acid into" in lines[jar] and "L of the reservoir's own water" in lines[jar]
    below = [line.strip() for line in lines[jar + 1 :]]
    below = below[: next(n for n, line in enumerate(below) if line[:1].isdigit())]
    assert not any(line.startswith("afterwards") for line in below), "a question changes nothing in the reservoir"
    assert below[0].startswith("Held down in case of a bottle ten times as strong")
    assert any("poured away, not into the reservoir" in line for line in below)


def test_a_jar_test_typed_from_the_desk_belongs_to_a_correction(
    capsys: pytest.CaptureFixture[str], farm_folder: Path
) -> None:
    code, form = asked(capsys, "enter", farm_folder, "res-1", "jar 5.8 ec 1.7", "--json")
    assert code == 1 and [each["item"] for each in form["saved"]] == ["ec"]
    assert form["problems"][0].startswith("A jar test belongs to a correction")


def test_a_jar_test_that_correct_told_of_is_entered_with_what_it_told(
    capsys: pytest.CaptureFixture[str], farm_folder: Path
) -> None:
    asked(capsys, "enter", farm_folder, "res-1", "ph 6.9 ec 1.7 t 21 dip 36 buffer 7.02", "--json")
    _, told = asked(capsys, "correct", farm_folder, "res-1", "--json")
    (question,) = told["questions"]
    code, form = asked(capsys, "enter", farm_folder, "res-1", f"{question['code']} 6.1", "--json")
    assert code == 0 and [each["item"] for each in form["saved"]] == ["jar"]
    _, told = asked(capsys, "history", farm_folder, "--json")
    jar = next(record for record in told["records"] if record["item"] == "jar")
    assert jar["data"] == {"product": question["product"], "ml_per_l": question["ml_per_l"]}
    _, told = asked(capsys, "correct", farm_folder, "res-1", "--json")
    assert "jar" not in [each["code"] for each in told["questions"]]


@pytest.mark.parametrize(("line", "item", "value"), [
    ("strip 6.0", "strip", 6.0), ("buffer-4 4.05", "buffer-4", 4.05), ("calibrated y", "calibrated", True),
    ("bottles y", "bottles", True),
])  # fmt: skip
def test_what_a_correction_asks_is_typed_from_the_desk_by_its_name(
    capsys: pytest.CaptureFixture[str], farm_folder: Path, line: str, item: str, value: object
) -> None:
    code, form = asked(capsys, "enter", farm_folder, "res-1", line, "--json")
    assert code == 0 and [(each["item"], each["value"]) for each in form["saved"]] == [(item, value)]


def test_what_is_tried_on_the_line_of_a_correction_is_no_jar_test(
    capsys: pytest.CaptureFixture[str], farm_folder: Path
) -> None:
    assert main(["correct", str(farm_folder), "res-1", "ph 6.9 ec 1.7 t 21 dip 36 jar 5.8"]) != 0
    assert "rounds enter" in capsys.readouterr().err
