"""A new kind of station is one new module and one checklist file: here in a copy of the house, nothing else edited."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

TOP = Path(__file__).parent.parent.parent
MODULE = '''"""Logs that mushrooms grow on."""

from datetime import date

from rounds.farm.field_types import Count, Line
from rounds.farm.station_base import Answers, StationBase


class MushroomLogs(StationBase, frozen=True, kw_only=True, tag_field="kind", tag="mushroom-log"):
    """A stack of logs."""

    ANSWERS_DAYS = 30
    NAMED_BANDS = ("picked",)

    logs: Count
    species: Line
    soaked_on: date | None = None

    @property
    def about(self) -> str:
        return f"{self.logs} logs of {self.species}"

    def named_band(self, name):
        return (50.0 * self.logs, 200.0 * self.logs) if name == "picked" else None

    def figures(self, answers: Answers) -> tuple[str, ...]:
        return tuple(f"{each.number / self.logs:.0f} g a log" for each in answers.get("picked", ())[-1:])

    def findings(self, answers: Answers) -> tuple[str, ...]:
        picked = [each.number for each in answers.get("picked", ())]
        fell = len(picked) > 1 and picked[-1] < 0.5 * picked[-2]
        return ("The flush halved: soak the logs",) if fell else ()
'''
CHECKLIST = """
format = 1
kind = "mushroom-log"
title = "Mushroom logs"
rank = 95

[[items]]
id = "picked"
type = "reading"
label = "Mushrooms picked"
names = ["picked"]
unit = "g"
decimals = 0
limits = [0, 10000]
band = "station.picked"
ask = "always"
quick = true

[[items]]
id = "standing"
type = "count"
label = "Logs that stand"
names = ["logs"]
decimals = 0
well = "station.logs"
off = "Set up what fell."
ask = "always"

[[items]]
id = "moist"
type = "yes_no"
label = "Bark moist"
well = true
due = [{ after = "soaked", from_days = 0, every_days = 1 }]
"""
FARM = """
format = 1
name = "Log farm"

[place]
latitude = 47
longitude = 8

[[people]]
id = "ada"
name = "Ada"

[[stations]]
kind = "mushroom-log"
id = "stack"
name = "The stack"
logs = 4
species = "oyster"
soaked_on = 2026-01-02
"""
TOLD = """
import json
from pathlib import Path
from rounds.walk.station_text import subtitle_of
from rounds.walk.round import start_round
from rounds.walk.session import Session
from rounds.walk.slow_change.notices import station_lines
from rounds.walk.stops import stop_at
from rounds.walk.summary import summarise
from rounds.walk.visit import Visit

session = Session.open(Path("farm"))
with session.history:
    walk = start_round(session, "morning")
    stop = stop_at(session, "morning", "stack", everything=True)
    Visit(session=session, stop=stop, round_id=walk.id).take_line("picked 210 logs 3")
    summary = summarise(session, walk)
    lines = station_lines(session, "stack")
    print(json.dumps([subtitle_of(session, stop), lines, summary.findings, summary.off]))
"""


@pytest.fixture
def house(tmp_path: Path) -> Path:
    """A copy of the house with one more kind, and a farm that has a station of it."""
    shutil.copytree(TOP / "rounds", tmp_path / "rounds", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copytree(TOP / "checklists", tmp_path / "checklists")
    (tmp_path / "rounds/farm/stations/mushroom_log.py").write_text(MODULE, encoding="utf-8")
    (tmp_path / "checklists/mushroom-log.toml").write_text(CHECKLIST, encoding="utf-8")
    (tmp_path / "farm").mkdir()
    (tmp_path / "farm/farm.toml").write_text(FARM, encoding="utf-8")
    return tmp_path


def python(house: Path, program: str, *words: str) -> subprocess.CompletedProcess[str]:
    head = f"import sys; sys.path.insert(0, {str(house)!r})\n"
    command = [sys.executable, "-c", head + program, *words]
    return subprocess.run(command, cwd=house, capture_output=True, text=True, timeout=120, check=False)


def rounds(house: Path, *words: str) -> subprocess.CompletedProcess[str]:
    return python(house, "from rounds.cli import main; sys.exit(main())", *words)


def test_its_farm_file_is_read_its_checks_are_asked_and_its_readings_saved_and_shown(house: Path) -> None:
    assert rounds(house, "check", "farm").returncode == 0

    due = json.loads(rounds(house, "due", "farm", "--json", "--round", "morning").stdout)
    (station,) = due["stations"]
    assert (station["id"], station["kind"]) == ("stack", "mushroom-log")
    assert [each["item"] for each in station["due"]] == ["picked", "standing", "moist"]

    entered = json.loads(rounds(house, "enter", "farm", "stack", "picked 500 logs 3", "--json").stdout)
    saved = {(each["item"], each["value"], each["verdict"]) for each in entered["saved"]}
    assert saved == {("picked", 500.0, "well"), ("standing", 3, "off")}
    assert "Mushrooms picked 500 g" in rounds(house, "history", "farm").stdout


def test_its_figures_and_findings_are_told_at_the_station_and_at_the_end_of_the_round(house: Path) -> None:
    rounds(house, "enter", "farm", "stack", "picked 500")
    told = python(house, TOLD)
    assert told.returncode == 0, told.stderr
    under_the_name, at_the_station, at_the_end, off = json.loads(told.stdout)
    assert under_the_name == "4 logs of oyster · 52 g a log"
    assert at_the_station == ["! The flush halved: soak the logs"]
    assert at_the_end == ["The stack: The flush halved: soak the logs"]
    assert any("3 of 4" in each for each in off)


def test_the_schema_for_editors_names_its_keys(house: Path) -> None:
    schema = json.loads(rounds(house, "schema", "farm.toml").stdout)
    assert {"logs", "species", "soaked_on", "bands"} <= schema["$defs"]["MushroomLogs"]["properties"].keys()
    assert schema["$defs"]["MushroomLogs"]["properties"]["kind"] == {"enum": ["mushroom-log"]}


def test_a_mistake_in_its_keys_is_told_as_for_any_other_kind(house: Path) -> None:
    (house / "farm/farm.toml").write_text(FARM.replace("logs = 4", "logs = -4\nspecie = 3"), encoding="utf-8")
    told = rounds(house, "check", "farm")
    text = told.stdout + told.stderr
    assert told.returncode == 1
    assert "farm.toml, station stack, logs: found -4, expected a whole number, 0 or more" in text
    assert "farm.toml, station stack, specie: found 3, expected no such key" in text
    assert "did you mean species?" in text


def test_a_slip_in_its_lines_is_told_by_line_and_column(house: Path) -> None:
    (house / "farm/farm.toml").write_text(FARM.replace("logs = 4", "logs = 4,5"), encoding="utf-8")
    line = FARM.splitlines().index("logs = 4") + 1
    told = rounds(house, "check", "farm")
    assert f"farm.toml, line {line}, column 9 can't be read: write 4.5, not 4,5" in told.stdout + told.stderr


def test_a_band_or_count_that_its_module_does_not_have_is_a_mistake_of_the_checklist(house: Path) -> None:
    wrong = CHECKLIST.replace('"station.picked"', '"station.piked"').replace('"station.logs"', '"station.lgos"')
    (house / "checklists/mushroom-log.toml").write_text(wrong, encoding="utf-8")
    told = rounds(house, "check", "farm")
    text = told.stdout + told.stderr
    assert (
        "item picked, band: found station.piked, expected one of station.picked; did you mean station.picked?" in text
    )
    assert "item standing, well: found station.lgos" in text
    assert "did you mean station.logs?" in text


def test_a_kind_that_there_is_not_is_told_with_those_that_there_are(house: Path) -> None:
    (house / "farm/farm.toml").write_text(FARM.replace("mushroom-log", "mushroom-lok"), encoding="utf-8")
    told = rounds(house, "check", "farm")
    text = told.stdout + told.stderr
    assert "station stack, kind: found mushroom-lok, expected one of air, bed, channel, ferment, hens" in text
    assert "did you mean mushroom-log?" in text
