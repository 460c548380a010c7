"""A scratch copy of the sample farm, with a history that ends yesterday."""

from __future__ import annotations

import importlib
import shutil
import sys
import tempfile
from datetime import date
from pathlib import Path
from types import ModuleType

from rounds.resources import sample_farm_folder

FILES = ("farm.toml", "feeds.toml", "shelf.toml")


def scratch_sample(today: date | None = None) -> Path:
    """Copy the sample farm into a new folder and write its four months of history up to yesterday.

    Returns
    -------
    Path
        The folder of the scratch farm.
    """
    source = sample_farm_folder()
    farm = Path(tempfile.mkdtemp(prefix="rounds-sample-")) / "farm"
    farm.mkdir()
    for name in FILES:
        shutil.copyfile(source / name, farm / name)
    if (source / "checklists").is_dir():
        shutil.copytree(source / "checklists", farm / "checklists")
    _generator(source).generate(farm, until=today or date.today())
    return farm


def _generator(source: Path) -> ModuleType:
    """The generator lies with the farm that it belongs to, in a few files of its own."""
    sys.path.insert(0, str(source))
    try:
        return importlib.import_module("generate_history")
    finally:
        sys.path.remove(str(source))
