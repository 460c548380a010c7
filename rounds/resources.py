"""Where the shipped checklists and the sample farm lie: in the checkout, or inside the installed package."""

from __future__ import annotations

import importlib
import sys
from pathlib import Path
from types import ModuleType

_PACKAGE = Path(__file__).resolve().parent


def checklists_folder(package: Path = _PACKAGE) -> Path:
    """The folder of the shipped checklists."""
    return _shipped("checklists", package)


def sample_farm_folder(package: Path = _PACKAGE) -> Path:
    """The folder of the sample farm. It may be read only: copy it before anything is written."""
    return _shipped("sample_farm", package)


def sample_generator(package: Path = _PACKAGE) -> ModuleType:
    """The generator kept with the sample farm: `lay_out(folder, until=day)` makes a farm that opens on that morning."""
    folder = str(sample_farm_folder(package))
    sys.path.insert(0, folder)
    try:
        return importlib.import_module("generate_history")
    finally:
        sys.path.remove(folder)


def _shipped(name: str, package: Path) -> Path:
    installed = package / "shipped" / name
    return installed if installed.is_dir() else package.parent / name
