"""`rounds history` answers what is asked of the daybook: a day, a station, a person, words, what was found."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from rounds.cli import main
from rounds.history.record import Draft
from rounds.history.store import History


@pytest.fixture
def farm(farm_folder: Path) -> Path:
    """Two days of a small farm, and something of two years ago."""
    now = datetime.now(UTC).replace(hour=8, minute=0, second=0, microsecond=0)
    yesterday = now - timedelta(days=1)
    with History.open(farm_folder / "history") as history:
        history.save(
            Draft(kind="note", measured_at=now - timedelta(days=730), station="ch-1", note="an old drip"),
            Draft(kind="reading", measured_at=yesterday, station="res-1", item="ec", value=0.4, unit="mS/cm"),
            Draft(kind="check", measured_at=yesterday, station="ch-1", item="wilt", value=False, person="ben"),
            Draft(kind="check", measured_at=yesterday, station="ch-1", item="all-well", value=True, person="ada",
                  data={"covers": ["light"]}),
        )  # fmt: skip
    return farm_folder


def test_a_day_is_a_page_by_stations(farm: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["history", str(farm), "--day", "yesterday"]) == 0
    title, summary, *lines = capsys.readouterr().out.splitlines()
    day = datetime.now(UTC) - timedelta(days=1)
    assert title == f"{day:%A} {day.day} {day:%B %Y}"
    assert summary == "3 things, 2 off"
    assert [line[:71].rstrip() for line in lines] == [
        " Reservoir one              ▼ EC 0.40 mS/cm, 1.10 below its band",
        " Channel one                ! Wilting seen",
        f"{'':28}✓ all well (1 check)",
    ]
    assert all(len(line) == 79 for line in lines)


@pytest.mark.parametrize(("asked", "items"), [
    (["--day", "yesterday"], ["ec", "wilt", "all-well"]),
    (["--day", "-1", "--station", "Channel one"], ["wilt", "all-well"]),
    (["--findings"], ["ec", "wilt"]), (["--kind", "readings"], ["ec"]), (["--person", "Ben"], ["wilt"]),
    (["--find", "DRIP"], [""]), (["--find", "drip", "--day", "today"], []), (["--corrections"], []), (["--doings"], []),
])  # fmt: skip
def test_what_is_asked_for_is_answered(
    farm: Path, capsys: pytest.CaptureFixture[str], asked: list[str], items: list[str]
) -> None:
    assert main(["history", str(farm), *asked, "--json"]) == 0
    assert [record.get("item", "") for record in json.loads(capsys.readouterr().out)["records"]] == items


@pytest.mark.parametrize(("asked", "said"), [
    (["--day", "31 feb"], "“31 feb” is no day."), (["--day", "tomorrow"], "“tomorrow” has not come yet."),
    (["--station", "ch-9"], "Meant is perhaps ch-2, ch-1."), (["--kind", "redings"], "Expected: reading,"),
    (["--person", "cy"], "There are: ada, ben."),
    (["--day", "today", "--since", "2026-01-01"], "--day stands for itself."),
])  # fmt: skip
def test_what_cannot_be_asked_is_refused_in_a_sentence(
    farm: Path, capsys: pytest.CaptureFixture[str], asked: list[str], said: str
) -> None:
    assert main(["history", str(farm), *asked]) == 1
    assert said in capsys.readouterr().err
