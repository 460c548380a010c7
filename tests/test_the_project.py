"""The project's own promises: its top level, and one test command for people and for CI."""

from __future__ import annotations

import re
from pathlib import Path

TOP = Path(__file__).parent.parent
CARD = {"README.md", "DEVELOPERS.md", "pyproject.toml", "rounds", "checklists", "tests", "sample_farm"}


def test_nothing_else_stands_visible_at_the_top_level() -> None:
    there = {path.name for path in TOP.iterdir() if not path.name.startswith((".", "__"))}
    assert {name for name in there if not name.endswith(".egg-info")} - {"dist", "build"} == CARD


def test_the_readme_opens_with_one_paragraph_and_has_two_commands() -> None:
    readme = (TOP / "README.md").read_text(encoding="utf-8")
    commands = re.findall(r"```sh\n(.*?)\n```", readme, re.DOTALL)
    assert len(commands) == 2
    assert commands[0].endswith("rounds --sample")
    assert readme.splitlines()[2].startswith("`rounds` walks")


def test_ci_runs_the_very_test_command_of_the_readme() -> None:
    readme = (TOP / "README.md").read_text(encoding="utf-8")
    command = re.findall(r"```sh\n(.*?)\n```", readme, re.DOTALL)[1]
    lines = (TOP / ".ci" / "run").read_text(encoding="utf-8").splitlines()
    assert command in lines
    assert lines[-1] == command, "the test runner's closing lines come last"
