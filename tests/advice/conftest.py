"""Lets the tests of this room share the simulated reservoir beside them."""

import importlib.util
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))


@pytest.fixture(scope="session")
def engine():
    pytest.importorskip("phreeqc")
    place = Path(__file__).parents[1] / "science" / "conftest.py"
    spec = importlib.util.spec_from_file_location("engine_of_the_science_room", place)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.Engine()
