"""The farm that others put things into: laid out once, copied for each test; what a verb costs."""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from rounds.walk.session import system_clock
from tests.once import style_sheets_are_parsed_once  # noqa: F401  # this is a fixture

TESTS = Path(__file__).parent.parent
sys.path[:0] = [str(TESTS / room / "support") for room in ("doors", "odd", "history")]

import odd_records  # noqa: E402


@pytest.fixture(autouse=True)
def names_of_devices(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep the names that this machine remembers out of the home of whoever runs the tests."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))


@pytest.fixture(scope="session")
def laid_out(tmp_path_factory: pytest.TempPathFactory, lay_out_farm: Callable[[Path], Path]) -> Path:
    """A farm with some days of true records of every kind."""
    folder = lay_out_farm(tmp_path_factory.mktemp("doors") / "farm")
    odd_records.lay_out(folder, system_clock())
    return folder


@pytest.fixture
def farm(laid_out: Path, tmp_path: Path) -> Path:
    """A copy of that farm."""
    return Path(shutil.copytree(laid_out, tmp_path / "farm"))


class Cost(NamedTuple):
    """What a command took, and what it said."""

    code: int
    seconds: float
    """Processor seconds beyond those of a command that has nothing to do."""
    megabytes: float
    said: str


CHILD = """
import resource, sys
from rounds.cli import main
code = main(sys.argv[1:])
used = resource.getrusage(resource.RUSAGE_SELF)
peak = next(line.split()[1] for line in open("/proc/self/status") if line.startswith("VmHWM"))
print(f"\\n{code} {used.ru_utime + used.ru_stime} {int(peak) / 1024}")
"""


@pytest.fixture
def cost() -> Callable[..., Cost]:
    """Run a verb in a process of its own."""
    if sys.platform != "linux":
        pytest.skip("elsewhere the peak of the memory is told in another way")

    def run(*words: object) -> Cost:
        done = subprocess.run(
            [sys.executable, "-c", CHILD, *map(str, words)], capture_output=True, text=True, timeout=60, check=False
        )
        assert done.returncode == 0, done.stderr
        *said, last = done.stdout.splitlines()
        code, seconds, megabytes = last.split()
        return Cost(int(code), float(seconds), float(megabytes), "\n".join(said) + done.stderr)

    return run
