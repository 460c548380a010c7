"""Tools that the tests of the history share; a quick disk for tests that open thousands of folders."""

import shutil
import sys
import tempfile
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent / "support"))


@pytest.fixture(autouse=True)
def names_of_devices(tmp_path, monkeypatch):
    """Keep the names that this machine remembers out of the home of whoever runs the tests."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))


@pytest.fixture
def quick(request):
    """A scratch folder in memory where there is one: these tests are about states of files, not about the disk."""
    memory = Path("/dev/shm")
    folder = Path(tempfile.mkdtemp(prefix="rounds-", dir=memory if memory.is_dir() else None))
    yield folder
    shutil.rmtree(folder, ignore_errors=True)
