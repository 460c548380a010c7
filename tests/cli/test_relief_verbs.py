"""`rounds relief`, `rounds open`, `rounds mix`: what they print, what they write, and how they refuse."""

from __future__ import annotations

import json
import zipfile
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from rounds.cli import main

TODAY = date.today()
AWAY = [(TODAY + timedelta(days=n)).isoformat() for n in (1, 2, 3)]
DAYS = ("--for", "ben", "--from", AWAY[0], "--to", AWAY[-1])
Printed = pytest.CaptureFixture[str]


def answer(printed: Printed) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(printed.readouterr().out)
    return found


def test_sheet_page_and_bundle_are_written_in_one_go(farm_folder: Path, tmp_path: Path, capsys: Printed) -> None:
    files = [tmp_path / name for name in ("s.pdf", "s.html", "s.zip")]
    options = [str(part) for pair in zip(("--pdf", "--html", "--bundle"), files, strict=True) for part in pair]
    assert main(["relief", str(farm_folder), *DAYS, *options]) == 0
    assert all(file.stat().st_size > 1000 for file in files)
    assert files[0].read_bytes().startswith(b"%PDF-")
    assert "rounds open" in capsys.readouterr().out


def test_json_names_days_due_and_tables(farm_folder: Path, capsys: Printed) -> None:
    assert main(["relief", str(farm_folder), *DAYS, "--json"]) == 0
    found = answer(capsys)
    assert found["format"] == 1
    assert found["days"] == AWAY
    assert {"station": "res-1", "round": "morning", "item": "ph", "days": found["days"]} in found["due"]
    (table,) = found["tables"]
    assert table["reservoir"] == "res-1"
    assert table["stop"].startswith("Outside this table")
    assert set(table["ec_rows"][0]["cells"][0]) == {"readings", "steps", "call"}


@pytest.mark.parametrize(
    ("options", "expected"),
    [
        (("--for", "ben", "--from", "2026-12-02", "--to", "2026-11-26"), "wrong way round"),
        (("--for", "nobody"), "There are: ada, ben"),
        (("--from", "soon"), "is not a day"),
        (("--for", "ben", "--from", "2026-01-01", "--to", "2027-01-01"), "too long"),
        (("--for", "ben", "--from", "2999-01-01", "--to", "2999-01-02"), "too far ahead"),
    ],
)
def test_what_cannot_be_is_one_sentence_and_writes_nothing(
    farm_folder: Path, tmp_path: Path, capsys: Printed, options: tuple[str, ...], expected: str
) -> None:
    assert main(["relief", str(farm_folder), *options, "--pdf", str(tmp_path / "s.pdf")]) == 1
    assert expected in capsys.readouterr().err
    assert not (tmp_path / "s.pdf").exists()


def test_a_sheet_that_cannot_be_written_says_so(farm_folder: Path, tmp_path: Path, capsys: Printed) -> None:
    assert main(["relief", str(farm_folder), *DAYS, "--html", str(tmp_path / "no" / "s.html")]) == 1
    assert "could not be written" in capsys.readouterr().err


def test_a_bundle_opens_once_and_hands_back(farm_folder: Path, tmp_path: Path, capsys: Printed) -> None:
    bundle, theirs, back = tmp_path / "b.zip", tmp_path / "theirs", tmp_path / "back.zip"
    assert main(["relief", str(farm_folder), *DAYS, "--bundle", str(bundle)]) == 0
    assert main(["open", str(bundle), str(theirs), "--preview", "--json"]) == 0
    assert not theirs.exists()
    capsys.readouterr()
    assert main(["open", str(bundle), str(theirs)]) == 0
    assert "ben walks it" in capsys.readouterr().out
    assert main(["open", str(bundle), str(theirs)]) == 1
    assert "there already" in capsys.readouterr().err
    assert main(["enter", str(theirs), "res-1", "ph 6.1", "--as", "ben"]) == 0
    assert main(["relief", str(theirs), "--back", str(back)]) == 0
    capsys.readouterr()
    assert main(["merge", str(farm_folder), str(back), "--yes", "--json"]) == 0
    assert answer(capsys)["taken"] == 1


def test_merge_refuses_a_bundle_whole_that_was_changed_on_its_way(
    farm_folder: Path, tmp_path: Path, capsys: Printed
) -> None:
    bundle, theirs, back = tmp_path / "b.zip", tmp_path / "theirs", tmp_path / "back.zip"
    assert main(["relief", str(farm_folder), *DAYS, "--bundle", str(bundle)]) == 0
    assert main(["open", str(bundle), str(theirs)]) == 0
    assert main(["enter", str(theirs), "res-1", "ph 6.1 ec 1.7", "--as", "ben"]) == 0
    assert main(["relief", str(theirs), "--back", str(back)]) == 0
    with zipfile.ZipFile(back) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    with zipfile.ZipFile(back, "w") as archive:
        for name, data in files.items():
            archive.writestr(name, data if name == "bundle.json" else data[: data.index(b"\n") + 1])
    capsys.readouterr()
    assert main(["merge", str(farm_folder), str(back), "--yes"]) == 1
    assert "does not match its checksum" in capsys.readouterr().err
    assert main(["history", str(farm_folder)]) == 0
    assert "6.1" not in capsys.readouterr().out


def test_the_plan_says_what_to_prepare_and_what_it_cannot_know(farm_folder: Path, capsys: Printed) -> None:
    assert main(["relief", str(farm_folder), *DAYS, "--plan", "--json"]) == 0
    (plan,) = answer(capsys)["reservoirs"]
    assert plan["top_up"] is None
    assert any("--litres-per-day" in said for said in plan["said"])
    assert plan["change_out"]["kind"] == "change-out"


def test_the_report_of_quiet_days_is_empty_and_says_so(farm_folder: Path, capsys: Printed) -> None:
    options = ("--for", "ben", "--from", "2026-11-20", "--to", "2026-11-21", "--report")
    assert main(["relief", str(farm_folder), *options]) == 0
    out = capsys.readouterr().out
    assert "Poured: none" in out
    assert "Reservoir one: " in out


def test_mix_prints_a_tank_and_a_change_out(farm_folder: Path, capsys: Printed) -> None:
    assert main(["mix", str(farm_folder), "top-up", "res-1", "--days", "5", "--litres-per-day", "8"]) == 0
    out = capsys.readouterr().out
    assert "three quarters of the acid come before A and B" in out
    assert main(["mix", str(farm_folder), "change-out", "res-1", "--json"]) == 0
    assert answer(capsys)["sheets"][0]["kind"] == "change-out"
    assert main(["mix", str(farm_folder), "top-up", "res-1", "--days", "5"]) == 1
    assert "--litres-per-day" in capsys.readouterr().err
    assert main(["mix", str(farm_folder), "top-up", "res-1", "--litres-per-day", "nan"]) == 1
    assert main(["mix", str(farm_folder), "top-up", "ch-1"]) == 1
    assert "not a reservoir" in capsys.readouterr().err
