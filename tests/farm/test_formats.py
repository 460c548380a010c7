"""Versions of the farm's files: 2 reads 1, what is newer is said in a sentence, and comments outlive a migration."""

from __future__ import annotations

import tomllib
from datetime import UTC, datetime
from pathlib import Path

import pytest

from rounds.advice.correction import Readings, correct
from rounds.cli import main
from rounds.farm.formats import FILES, migrate
from rounds.farm.load import load_farm

LABEL = "label = { npk = [4, 0, 1] }"


@pytest.fixture
def labelled(farm_folder: Path) -> Path:
    """The test farm with a label instead of salts in A, its files still said to be format 1."""
    shelf = farm_folder / "shelf.toml"
    lines = shelf.read_text(encoding="utf-8").splitlines()
    where = next(n for n, line in enumerate(lines) if line.startswith("salts_g_l"))
    lines[where : where + 2] = [LABEL]
    shelf.write_text("\n".join(lines), encoding="utf-8")
    return farm_folder


def test_a_key_of_format_2_in_a_file_of_format_1_is_named_with_the_way_out(labelled: Path) -> None:
    mistakes = [str(mistake) for mistake in load_farm(labelled).mistakes]
    assert any("format = 2" in said and "--migrate" in said and "leaf-a" in said for said in mistakes)


def test_a_migration_keeps_comments_and_order_and_the_farm_is_sound_then(labelled: Path) -> None:
    shelf = labelled / "shelf.toml"
    shelf.write_text("# my shelf, format = 1 of old\n" + shelf.read_text(encoding="utf-8"), encoding="utf-8")
    before = {name: (labelled / name).read_text(encoding="utf-8") for name in FILES}
    assert [each.rewritten for each in migrate(labelled)] == [True, True, True]
    for name, text in before.items():
        after = (labelled / name).read_text(encoding="utf-8")
        assert tomllib.loads(after)["format"] == 2
        changed = [pair for pair in zip(text.splitlines(), after.splitlines(), strict=True) if pair[0] != pair[1]]
        assert changed == [("format = 1", "format = 2")]
    assert load_farm(labelled).mistakes == ()
    assert [each.rewritten for each in migrate(labelled)] == [False, False, False]


def test_check_migrates_where_it_is_asked_to(labelled: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(labelled)]) == 1
    assert main(["check", str(labelled), "--migrate"]) == 0
    assert "shelf.toml is format 2 now" in capsys.readouterr().out


def test_a_file_of_a_newer_format_is_said_to_be_newer_and_nothing_is_dosed(farm_folder: Path) -> None:
    path = farm_folder / "feeds.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("format = 1", "format = 3"), encoding="utf-8")
    farm = load_farm(farm_folder)
    assert any("newer version of this program" in str(mistake) for mistake in farm.mistakes)
    now = datetime(2026, 11, 20, 8, 0, tzinfo=UTC)
    found = correct(farm, [], "res-1", Readings(at=now, ph=6.9, ec_ms_cm=1.2, volume_l=150.0), now)
    assert not found.steps
    assert any("newer version" in refusal.text for refusal in found.refusals)
