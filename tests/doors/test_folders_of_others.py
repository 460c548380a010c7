"""Whatever lies in the folder of another device stops nothing, costs little, is said, and is put right by a repair."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import big_cases
import pytest
from big_cases import CASES, FOLDERS, HANDED_OVER, LARGE, NO_FILES, Lay, journal

from rounds.cli import main
from rounds.history.check import check
from rounds.history.journal import sealed

LONGEST_S, MOST_MB = 2.0, 200.0
READ_TWICE_S = 4.0
"""A check reads what it does not refuse twice: as a record, and for what that says of the farm. [s]"""
LINES = sorted((CASES / "lines").glob("*.json"))
JOURNALS = sorted((CASES / "journals").glob("*.jsonl"))


def said(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, str]:
    capsys.readouterr()
    code = main(list(map(str, words)))
    both = capsys.readouterr()
    return code, both.out + both.err


def goes_on(capsys: pytest.CaptureFixture[str], farm: Path) -> None:
    """The farm is read, written, checked, repaired and then sound; what was written is there."""
    assert said(capsys, "due", farm)[0] == 0
    code, told = said(capsys, "enter", farm, "ch-1", "flow 1.1")
    assert code == 0 and "not saved" not in told
    assert said(capsys, "check", farm)[0] in (0, 1)
    assert said(capsys, "check", farm, "--repair")[0] == 0
    assert check(farm).sound
    assert "1.10 L/min" in said(capsys, "history", farm)[1]


def test_no_line_nor_journal_of_other_devices_stops_anything(farm: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for number, case in enumerate((*LINES, *JOURNALS)):
        data = case.read_bytes()
        journal(farm, sealed(data) if case in LINES else data, device=f"d-{number}")
    goes_on(capsys, farm)


@pytest.mark.long
@pytest.mark.parametrize("case", LINES, ids=lambda path: path.stem)
def test_no_sealed_line_of_another_device_stops_anything(
    farm: Path, capsys: pytest.CaptureFixture[str], case: Path
) -> None:
    journal(farm, sealed(case.read_bytes()))
    goes_on(capsys, farm)
    code, _ = said(capsys, "merge", farm, farm / "history" / "d-x" / "2026" / "2026-11.jsonl", "--yes")
    assert code in (0, 1)


@pytest.mark.long
@pytest.mark.parametrize("case", JOURNALS, ids=lambda path: path.stem)
def test_no_journal_of_another_device_stops_anything(
    farm: Path, capsys: pytest.CaptureFixture[str], case: Path
) -> None:
    journal(farm, case.read_bytes())
    goes_on(capsys, farm)


@pytest.mark.parametrize("lay", NO_FILES.values(), ids=NO_FILES)
def test_what_is_no_file_is_said_and_a_repair_moves_it_away(
    farm: Path, capsys: pytest.CaptureFixture[str], lay: Lay
) -> None:
    lay(farm)
    assert "is no file but" in said(capsys, "due", farm)[1]
    code, told = said(capsys, "check", farm)
    assert code == 1 and "is no file but" in told
    goes_on(capsys, farm)
    assert "is no file but" not in said(capsys, "due", farm)[1]


@pytest.mark.parametrize("lay", FOLDERS.values(), ids=FOLDERS)
def test_odd_folders_are_passed_over(farm: Path, capsys: pytest.CaptureFixture[str], lay: Lay) -> None:
    lay(farm)
    goes_on(capsys, farm)


def test_what_a_link_leads_to_is_copied_nowhere(farm: Path, capsys: pytest.CaptureFixture[str]) -> None:
    secret = farm.parent / "secret"
    secret.write_text("nobody's business")
    year = big_cases.year_of(farm)
    for name in ("2026-10.jsonl", "2026-11.json", "2026-11.json.bak", "2026-11 (copy).jsonl"):
        (year / name).symlink_to(secret)
    journal(farm, sealed(big_cases.GOOD))
    goes_on(capsys, farm)
    kept = [path for path in (farm / "history").rglob("*") if path.is_file() and not path.is_symlink()]
    assert not [path for path in kept if b"business" in path.read_bytes()]


@pytest.mark.parametrize("lay", LARGE.values(), ids=LARGE)
@pytest.mark.parametrize("verb", ["check", pytest.param("due", marks=pytest.mark.long)])
def test_what_is_large_costs_little(farm: Path, cost: Callable[..., object], verb: str, lay: Lay) -> None:
    lay(farm)
    found = cost(verb, farm)
    assert found.seconds < (READ_TWICE_S if verb == "check" else LONGEST_S) and found.megabytes < MOST_MB, found


@pytest.mark.parametrize("name", HANDED_OVER)
@pytest.mark.parametrize("verb", ["merge", "open"])
def test_what_is_handed_over_is_refused_at_once(farm: Path, cost: Callable[..., object], name: str, verb: str) -> None:
    path = farm.parent / ("given.zip" if "zip" in name else "given")
    HANDED_OVER[name](path)
    found = cost("merge", farm, path, "--yes") if verb == "merge" else cost("open", path, farm.parent / "opened")
    assert found.code == 1 and found.said.strip()
    assert found.seconds < LONGEST_S and found.megabytes < MOST_MB, found
