"""One fault put into a copy of the checkout, and the tests that should notice it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from tests.mutants.covering import Test
from tests.mutants.faults import Fault
from tests.mutants.trees import Tree

_START_S = 90.0
"""What a process may need before its first test, on a busy machine. [s]"""
_SLOWER = 8.0
"""A test may take so many times as long as it did without a fault (and watched, which slows it already). [-]"""
_LEAST_S = 20.0
_FAILED = re.compile(r"^(?:FAILED|ERROR) (\S+)", re.MULTILINE)
_NOTHING_FAILED, _NOTHING_RAN = 0, 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What became of a fault."""

    fault: Fault
    caught_by: str
    """The test that failed, or what else showed it; empty where it lived."""
    tests: int
    """How many tests were to notice it."""

    def __str__(self) -> str:
        end = f"caught by {self.caught_by}" if self.caught_by else f"LIVED (tests: {self.tests})"
        within = f" in {self.fault.within}" if self.fault.within else ""
        return f"{self.fault.path}:{self.fault.line}: {self.fault.old} -> {self.fault.new}{within}: {end}"


def verdict(tree: Tree, fault: Fault, tests: Sequence[Test]) -> Verdict:
    """Put a fault in, run the tests up to the first that fails, and take the fault out again."""
    if not tests:
        return Verdict(fault=fault, caught_by="", tests=0)
    path = tree.place / fault.path
    sound = path.read_text(encoding="utf-8")
    limits = [(test.id, max(_LEAST_S, _SLOWER * test.seconds)) for test in tests]
    files = list(dict.fromkeys(test.id.partition("::")[0] for test in tests))
    path.write_text(fault.source, encoding="utf-8")
    try:
        code, output = tree.pytest({"chosen": limits}, ["-x", *files], _START_S + sum(limit for _, limit in limits))
    finally:
        path.write_text(sound, encoding="utf-8")
    return Verdict(fault=fault, caught_by=_caught_by(code, output), tests=len(tests))


def _caught_by(code: int | None, output: str) -> str:
    if code is None:
        return "taking too long"
    if code == _NOTHING_FAILED:
        return ""
    failed = _FAILED.search(output)
    if failed:
        return failed[1]
    return "running no test" if code == _NOTHING_RAN else "not even starting"
