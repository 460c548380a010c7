"""A plugin for pytest: it runs the tests that were chosen, in that order, and can note which functions each enters.

What to do stands in a JSON file that `MUTANTS_TASK` names: `watch` (write the notes to this file) or `chosen` (pairs of
a test's id and the seconds it may take: one that takes longer has failed).
"""

from __future__ import annotations

import json
import os
import signal
import sys
import threading
from collections.abc import Iterator
from pathlib import Path
from types import CodeType, FrameType
from typing import Any

import pytest


class Chosen:
    """Runs only the tests that were chosen, each with its own limit of time."""

    def __init__(self, chosen: list[tuple[str, float]]) -> None:
        self._places = {test: place for place, (test, _) in enumerate(chosen)}
        self._limits = dict(chosen)

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = [item for item in items if item.nodeid in self._places]
        items.sort(key=lambda item: self._places[item.nodeid])

    @pytest.hookimpl(hookwrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        signal.signal(signal.SIGALRM, _took_too_long)
        signal.setitimer(signal.ITIMER_REAL, self._limits[item.nodeid])
        yield
        signal.setitimer(signal.ITIMER_REAL, 0)


def _took_too_long(*_: object) -> None:
    pytest.fail("took too long")


class Watcher:
    """Notes the functions that each test enters, those of its shared fixtures with them."""

    def __init__(self, notes: Path, package: Path) -> None:
        self._notes, self._package = notes, f"{package}{os.sep}"
        self._entered: dict[int, CodeType] = {}
        self._of_fixture: dict[str, set[str]] = {}
        self._found: dict[str, dict[str, Any]] = {}

    @pytest.hookimpl(hookwrapper=True)
    def pytest_fixture_setup(self, fixturedef: Any) -> Iterator[None]:
        before, self._entered = self._entered, {}
        yield
        self._of_fixture[fixturedef.argname] = self._names()
        self._entered |= before

    @pytest.hookimpl(hookwrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        self._entered = {}
        threading.settrace(self._enter)
        sys.settrace(self._enter)
        yield
        sys.settrace(None)
        threading.settrace(None)  # type: ignore[arg-type]
        shared = (self._of_fixture.get(name, set()) for name in getattr(item, "fixturenames", ()))
        note = self._found.setdefault(item.nodeid, {"passed": False, "seconds": 0.0})
        note["entered"] = sorted(self._names().union(*shared))

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        note = self._found.setdefault(report.nodeid, {"passed": False, "seconds": 0.0})
        note["seconds"] += report.duration
        if report.when == "call":
            note["passed"] = report.passed

    def pytest_sessionfinish(self) -> None:
        self._notes.write_text(json.dumps(self._found), encoding="utf-8")

    def _enter(self, frame: FrameType, event: str, arg: object) -> None:
        code = frame.f_code
        self._entered[id(code)] = code

    def _names(self) -> set[str]:
        entered = list(self._entered.values())  # taken out first: looking at them enters more
        codes = (code for code in entered if code.co_filename.startswith(self._package))
        return {f"{code.co_filename[len(self._package) :]}:{code.co_firstlineno}" for code in codes}


def pytest_configure(config: pytest.Config) -> None:
    task = json.loads(Path(os.environ["MUTANTS_TASK"]).read_text(encoding="utf-8"))
    if "watch" in task:
        config.pluginmanager.register(Watcher(Path(task["watch"]), config.rootpath))
    else:
        config.pluginmanager.register(Chosen(task["chosen"]))
