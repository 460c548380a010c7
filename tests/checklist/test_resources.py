"""Shipped files are found from a checkout and from an installed package."""

from __future__ import annotations

from pathlib import Path

from rounds.resources import checklists_folder, sample_farm_folder


def test_in_a_checkout_they_lie_beside_the_package(tmp_path: Path) -> None:
    (tmp_path / "rounds").mkdir()
    assert checklists_folder(tmp_path / "rounds") == tmp_path / "checklists"
    assert sample_farm_folder(tmp_path / "rounds") == tmp_path / "sample_farm"


def test_installed_they_lie_inside_it(tmp_path: Path) -> None:
    for name in ("checklists", "sample_farm"):
        (tmp_path / "rounds" / "shipped" / name).mkdir(parents=True)
    assert checklists_folder(tmp_path / "rounds") == tmp_path / "rounds" / "shipped" / "checklists"
    assert sample_farm_folder(tmp_path / "rounds") == tmp_path / "rounds" / "shipped" / "sample_farm"


def test_here_they_are_found() -> None:
    assert (checklists_folder() / "reservoir.toml").is_file()
    assert (sample_farm_folder() / "farm.toml").is_file()
