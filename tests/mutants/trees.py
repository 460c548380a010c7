"""Copies of the checkout: deliberate faults are put into these, never into the checkout itself."""

from __future__ import annotations

import compileall
import json
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from py_compile import PycInvalidationMode
from typing import Any

PYTEST = ("-q", "-p", "no:cacheprovider", "-n", "0", "-p", "tests.mutants.watching", "--no-header", "--tb=no", "-rf")
TOOL = Path(__file__).parent
_LEFT_BEHIND = shutil.ignore_patterns(".*", "__pycache__", "*.egg-info", "dist", "build")


class Tree:
    """One copy of the checkout, its package compiled so that each fresh process starts quickly."""

    def __init__(self, top: Path, place: Path) -> None:
        shutil.copytree(top, place, ignore=_LEFT_BEHIND)
        if not (place / "tests" / "mutants").exists():
            shutil.copytree(TOOL, place / "tests" / "mutants", ignore=_LEFT_BEHIND)
        self.place = place
        # By the hash of the source: a fault of the same length within the same second would else not be seen.
        compileall.compile_dir(place / "rounds", quiet=2, invalidation_mode=PycInvalidationMode.CHECKED_HASH)

    def pytest(self, task: Mapping[str, Any], arguments: Sequence[str], limit_s: float) -> tuple[int | None, str]:
        """Run pytest here in a fresh process.

        Parameters
        ----------
        task : mapping
            What the plugin in `watching` is to do.
        limit_s : float
            After so long the process is ended, with all that it started. [s]

        Returns
        -------
        (code, output) : tuple
            None for the code where it took too long.
        """
        note = self.place / ".mutants-task.json"
        note.write_text(json.dumps(task), encoding="utf-8")
        more = {"PYTHONPATH": str(self.place), "PYTHONDONTWRITEBYTECODE": "1", "MUTANTS_TASK": str(note)}
        child = subprocess.Popen(
            [sys.executable, "-m", "pytest", *PYTEST, *arguments], cwd=self.place, env=os.environ | more, text=True,
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, start_new_session=True,
        )  # fmt: skip
        try:
            output, _ = child.communicate(timeout=limit_s)
        except subprocess.TimeoutExpired:
            os.killpg(child.pid, signal.SIGKILL)
            child.communicate()
            return None, ""
        return child.returncode, output
