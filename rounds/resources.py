"""Where the shipped checklists and the sample farm lie: in the checkout, or inside the installed package."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def checklists_folder(package: Path = _PACKAGE) -> Path:
    """The folder of the shipped checklists."""
    return _shipped("checklists", package)


def sample_farm_folder(package: Path = _PACKAGE) -> Path:
    """The folder of the sample farm. It may be read only: copy it before anything is written."""
    return _shipped("sample_farm", package)


def _shipped(name: str, package: Path) -> Path:
    installed = package / "shipped" / name
    return installed if installed.is_dir() else package.parent / name
