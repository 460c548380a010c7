"""`rounds measure` as it is typed: asked in lines, killed in the middle, taken up, listed, refused."""

from __future__ import annotations

import io
import subprocess
import sys
from pathlib import Path

import pytest

from rounds.cli import main
from rounds.history.store import History


def typed(monkeypatch: pytest.MonkeyPatch, farm: Path, *lines: str, what: str = "pump") -> int:
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
    return main(["measure", str(farm), what])


def test_what_was_entered_stands_after_a_kill_and_goes_on_to_the_end(
    farm_folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    command = [sys.executable, "-m", "rounds", "measure", str(farm_folder), "pump"]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdin is not None and process.stdout is not None
        process.stdin.write("10 40\n10 41\n")
        process.stdin.flush()
        for line in process.stdout:
            if "Kept: 10 L in 41 s" in line:
                break
        process.kill()
    assert typed(monkeypatch, farm_folder, "10 39", "") == 0
    told = capsys.readouterr().out
    assert "Taken up where it stood" in told and "10 L in 40 s: 15.0 L/min" in told
    assert "Written down. Reservoir one: 15.0 L/min" in told
    assert main(["measure", str(farm_folder)]) == 0
    assert "pump       Reservoir one: 15 L/min (give or take 0.68), measured" in capsys.readouterr().out


def test_lines_that_end_early_keep_what_there_was(
    farm_folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert typed(monkeypatch, farm_folder, "10 40", "ten") == 0
    assert "✗ “ten” is not a number." in capsys.readouterr().out
    with History.open(farm_folder / "history") as history:
        (kept,) = history.records(kind="measuring")
        assert kept.data["answers"] == ["10 40"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["moon"], "There is nothing to measure called “moon”"),
        (["pump", "res-9"], "is measured of one of these: res-1"),
        (["jar"], "none asks for it now"),
        (["pump", "--as", "ben"], "it is the grower's to measure"),
    ],
)
def test_what_cannot_be_measured_is_said(
    farm_folder: Path, capsys: pytest.CaptureFixture[str], words: list[str], said: str
) -> None:
    assert main(["measure", str(farm_folder), *words]) == 1
    assert said in capsys.readouterr().err
