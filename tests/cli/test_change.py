"""`rounds change`: the same findings as on the screens, in words and as JSON."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from rounds.cli import main
from rounds.history.record import Draft
from rounds.history.store import History

FALLING = [1.20, 1.21, 1.17, 1.16, 1.13, 1.12, 1.09, 1.07]


@pytest.fixture
def fallen(farm_folder: Path) -> Path:
    last = datetime.now(UTC) - timedelta(days=1)
    with History.open(farm_folder / "history") as history:
        for station, values in (("ch-1", FALLING), ("ch-2", [1.2] * 8)):
            history.add_bulk(
                Draft(kind="reading", station=station, item="flow", value=value, measured_at=last - timedelta(weeks=n))
                for n, value in enumerate(reversed(values))
            )
    return farm_folder


def asked(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, dict[str, Any]]:
    code = main([str(word) for word in words])
    return code, json.loads(capsys.readouterr().out)


def test_it_says_what_changes_from_what_to_what_and_where_it_leads(
    capsys: pytest.CaptureFixture[str], fallen: Path
) -> None:
    assert main(["change", str(fallen)]) == 0
    told = capsys.readouterr().out
    assert told.startswith("Channel one: flow by timed jug slowly down, 1.21 to 1.07 L/min since ")
    assert "; below 1.02 in about 2 weeks. Roots or slime" in told
    assert "Channel two" not in told


def test_the_json_has_the_figures_behind_the_words(capsys: pytest.CaptureFixture[str], fallen: Path) -> None:
    code, form = asked(capsys, "change", fallen, "--json")
    assert (code, form["format"], form["farm"]) == (0, 1, "Test farm")
    (finding,) = form["findings"]
    assert {key: finding[key] for key in ("station", "item", "figure", "unit", "direction", "readings", "seen")} == {
        "station": "ch-1", "item": "flow", "figure": "value", "unit": "L/min", "direction": "falling", "readings": 8,
        "seen": False,
    }  # fmt: skip
    assert finding["per_week_low"] <= finding["per_week"] == pytest.approx(-0.02, abs=0.003)
    assert finding["per_week"] <= finding["per_week_high"] < 0
    assert finding["days_left_soonest"] < finding["days_left"] < finding["days_left_latest"]
    assert 0 < finding["chance"] < 0.01
    assert datetime.fromisoformat(finding["since"]) < datetime.fromisoformat(finding["until"])
    assert [(each["station"], each["watched"], each["compared"]) for each in form["series"]] == [
        ("ch-1", True, 8), ("ch-2", True, 8),
    ]  # fmt: skip
    assert "points" not in form["series"][0]


def test_a_station_and_a_reading_can_be_chosen_and_drawn(capsys: pytest.CaptureFixture[str], fallen: Path) -> None:
    code, form = asked(capsys, "change", fallen, "--station", "ch-2", "--item", "flow", "--plot", "--json")
    assert code == 0
    assert form["findings"] == []
    (series,) = form["series"]
    assert [point["value"] for point in series["points"]] == [1.2] * 8
    assert main(["change", str(fallen), "--station", "ch-2", "--plot"]) == 0
    drawn = capsys.readouterr().out
    assert drawn.startswith("Nothing changes slowly")
    assert drawn.count("●") >= 8
    assert max(len(line) for line in drawn.splitlines()[2:]) <= 78


@pytest.mark.parametrize(
    ("words", "sentence"),
    [(["--station", "ch-9"], "There is no station “ch-9”"), (["--item", "fluw"], "Nothing was read here under “fluw”")],
)
def test_what_is_not_there_is_refused_with_what_there_is(
    capsys: pytest.CaptureFixture[str], fallen: Path, words: list[str], sentence: str
) -> None:
    code, form = asked(capsys, "change", fallen, *words, "--json")
    assert code == 1
    assert sentence in form["error"]["sentence"]
    assert "ch-1" in form["error"]["hint"] or "flow" in form["error"]["hint"]


def test_a_new_farm_has_nothing_to_say_and_looking_leaves_no_trace(
    capsys: pytest.CaptureFixture[str], farm_folder: Path
) -> None:
    before = sorted(farm_folder.rglob("*"))
    code, form = asked(capsys, "change", farm_folder, "--json")
    assert (code, form["findings"], form["series"]) == (0, [], [])
    assert sorted(farm_folder.rglob("*")) == before
