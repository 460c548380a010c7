"""An installed copy has everything that a checkout has: checklists, the sample farm and its generator."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

TOP = Path(__file__).parent.parent


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The unpacked wheel, away from the checkout."""
    folder = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)]
    subprocess.run(build, cwd=TOP, check=True, capture_output=True, timeout=120)
    (wheel,) = folder.glob("*.whl")
    with zipfile.ZipFile(wheel) as packed:
        packed.extractall(folder / "site")
    return folder / "site"


def run(installed: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """Run the command from the unpacked wheel."""
    program = f"import sys; sys.path.insert(0, {str(installed)!r}); from rounds.cli import main; sys.exit(main())"
    command = [sys.executable, "-c", program, *words]
    return subprocess.run(command, cwd=installed, capture_output=True, text=True, timeout=120, check=False)


def test_the_sample_opens_from_an_installed_wheel(installed: Path) -> None:
    done = run(installed, "--sample")
    assert done.returncode == 0, done.stderr
    assert "due at" in done.stdout
    assert "!" not in done.stdout


def test_the_wheel_finds_its_own_checklists_and_not_those_of_the_checkout(installed: Path) -> None:
    found = "from rounds.resources import checklists_folder as f; print(f())"
    program = f"import sys; sys.path.insert(0, {str(installed)!r}); {found}"
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True, cwd=installed)
    assert Path(done.stdout.strip()).is_relative_to(installed)


def test_every_stylesheet_lies_beside_its_screen(installed: Path) -> None:
    for sheet in (TOP / "rounds" / "screens").glob("*.tcss"):
        assert (installed / "rounds" / "screens" / sheet.name).exists()


def test_the_papers_of_the_rooms_stay_in_the_checkout(installed: Path) -> None:
    assert list((TOP / "rounds").rglob("README.md"))
    assert [str(paper.relative_to(installed)) for paper in installed.rglob("README.md")] == []
