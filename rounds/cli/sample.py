"""A scratch copy of the sample farm, with a history that ends yesterday."""

from __future__ import annotations

import importlib.util
import shutil
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
    spec = importlib.util.spec_from_file_location("rounds_sample_history", source / "generate_history.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
