"""A bottle whose percent has a slipped decimal is not dosed from: `check`, `correct` and `mix` say what contradicts."""

from __future__ import annotations

from pathlib import Path

import pytest

from rounds.cli import main

TOLD = "0.8 % nitric does not weigh 1.043 kg/L: the handbook has 1.003, and 1.043 kg/L is that of 8.0 %"


@pytest.fixture
def slipped(farm_folder: Path) -> Path:
    shelf = farm_folder / "shelf.toml"
    text = shelf.read_text(encoding="utf-8")
    assert "percent = 8\n" in text
    shelf.write_text(text.replace("percent = 8\n", "percent = 0.8\n"), encoding="utf-8")
    return farm_folder


def said_by(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, str]:
    code = main([str(word) for word in words])
    told = capsys.readouterr()
    return code, told.out + told.err


def test_check_names_the_bottle_and_what_each_number_says(capsys: pytest.CaptureFixture[str], slipped: Path) -> None:
    code, told = said_by(capsys, "check", slipped)
    assert code == 1
    assert TOLD in told
    assert "shelf.toml, product nitric-8, percent" in told


def test_correct_pours_none_of_it_and_says_why(capsys: pytest.CaptureFixture[str], slipped: Path) -> None:
    code, told = said_by(capsys, "correct", slipped, "res-1", "ph 6.9 ec 1.7 t 20 dip 36cm")
    assert TOLD in told
    assert "Pour" not in told
    assert code == 1


def test_mix_makes_nothing_of_it_and_says_why(capsys: pytest.CaptureFixture[str], slipped: Path) -> None:
    code, told = said_by(capsys, "mix", slipped, "working", "nitric-8", "--percent", "0.5")
    assert (code, TOLD in told) == (1, True)
    for sheet in ("change-out", "top-up"):
        words = ("--litres-per-day", "5") if sheet == "top-up" else ()
        code, told = said_by(capsys, "mix", slipped, sheet, "res-1", *words)
        assert code == 1
        assert f"Working nitric acid: {TOLD}" in told
