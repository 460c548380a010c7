"""Holds the suite to its seconds: each room of tests to a committed table, and each test to a row of two seconds.

What counts is the processor's time in this process, its threads and the processes it waited for, so that a busy machine
does not fail; and it is held against a yardstick, a small loop that runs now and then between the tests, so that a slow
machine does not fail either. Where others use the machine too, the same work takes more of the processor, as it comes
back to cold caches and timers run out meanwhile: then limits are wider. A test that only waits costs nothing here: what
was waited is printed beside it.

`README.md` beside this file says how the table is written anew.
"""

from __future__ import annotations

import json
import os
import statistics
import time
import tomllib
from collections import defaultdict
from collections.abc import Generator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

MOST_TIMES = 1.5
"""So many times its row a room may take: machines and runs differ by that much."""
TEST_TIMES = 3.0
"""So many times its row a single test may take: what slows a machine for a second evens out over a room, not here."""
FLOOR_S = 3.0
"""So much more than its row any room may take: what is loaded once counts for the room that comes first. [s]"""
MOST_S = 2.0
"""The row of a test that is neither marked long nor named in the table. [s]"""
BUSY = 2.0
"""From so many processes for each processor on, others use the machine too: the tests themselves are one for each."""
BUSY_TIMES = 1.5
"""So many times as wide are the limits then."""
EVERY_S = 4.0
"""Processor time between two looks at the yardstick. [s]"""
HEAD = "# Processor seconds, held by tests/seconds.py; `python -m pytest --write-seconds` writes them anew.\n"
CHOOSING = ("keyword", "lf", "deselect", "ignore", "ignore_glob", "stepwise", "collectonly")
"""Options that leave tests out."""


@dataclass
class Seconds:
    """What was measured in one run."""

    rooms: dict[str, float] = field(default_factory=lambda: defaultdict(float))
    """Processor time of each room. [s]"""
    waited: dict[str, float] = field(default_factory=lambda: defaultdict(float))
    """What passed on the clock meanwhile and was not the processor's. [s]"""
    tests: dict[str, float] = field(default_factory=dict)
    """Processor time of each test that is not marked long, without what was laid out for it. [s]"""
    yardsticks: list[float] = field(default_factory=list)
    """How long the yardstick took, now and then. [s]"""
    loads: list[float] = field(default_factory=list)
    """Processes that wanted a processor meanwhile, for each that there is."""

    @property
    def yardstick_s(self) -> float:
        """How fast this machine was. [s]"""
        return statistics.median(self.yardsticks)

    @property
    def was_busy(self) -> bool:
        """Whether others used the machine too."""
        return statistics.median(self.loads) > BUSY


@dataclass(frozen=True)
class Table:
    """What the rooms took when it was written, and the few tests that may take more than others."""

    yardstick_s: float
    rooms: Mapping[str, float]
    tests: Mapping[str, float] = field(default_factory=dict)

    @classmethod
    def read(cls, path: Path) -> Table:
        """Read it from a file."""
        table = tomllib.loads(path.read_text(encoding="utf-8"))
        return cls(table["yardstick_s"], table["rooms"], table.get("tests", {}))

    def anew(self, run: Seconds) -> Table:
        """Give what was measured as what may be expected, for the same tests by name."""
        tests = {nodeid: run.tests[nodeid] for nodeid in self.tests if nodeid in run.tests}
        return Table(run.yardstick_s, dict(sorted(run.rooms.items())), tests)

    def __str__(self) -> str:
        rooms = [f"{room} = {taken:.1f}" for room, taken in self.rooms.items()]
        tests = [f"{json.dumps(nodeid)} = {taken:.1f}" for nodeid, taken in self.tests.items()]
        return "\n".join([f"{HEAD}yardstick_s = {self.yardstick_s:.6f}\n\n[rooms]", *rooms, "\n[tests]", *tests, ""])


def room_of(nodeid: str) -> str:
    """The first folder under `tests`; what lies in `tests` itself is a room too."""
    first, *rest = Path(nodeid.partition("::")[0]).parts
    return rest[0] if len(rest) > 1 else first


def yardstick() -> float:
    """Time a loop of the sort of work that tests do: objects, texts, numbers. [s]"""
    began = time.process_time()
    words: dict[str, float] = {}
    for number in range(12_000):
        name = f"{number % 97}:{number % 89}"
        words[name] = words.get(name, 0.0) * 0.5 + len(name)
    sorted(words.values())
    return time.process_time() - began


def faults(run: Seconds, table: Table) -> list[str]:
    """Sentences about what took too long, by the speed of the machine on which the table was written."""
    speed = table.yardstick_s / run.yardstick_s
    wider = BUSY_TIMES if run.was_busy else 1.0
    told = []
    for room, taken in sorted(run.rooms.items()):
        row = table.rooms.get(room, 0.0)
        most = max(row * MOST_TIMES, row + FLOOR_S) * wider
        if taken * speed > most:
            told.append(
                f"The room {room} took {taken * speed:.1f} s; its row says {row:.1f} s, so at most {most:.1f} s."
            )
    for nodeid, taken in sorted(run.tests.items()):
        most = max(MOST_S, table.tests.get(nodeid, 0.0)) * TEST_TIMES * wider
        if taken * speed > most:
            told.append(
                f"{nodeid} took {taken * speed:.1f} s, at most {most:.1f} s: smaller, and the whole marked long."
            )
    return told


def lines(run: Seconds, table: Table) -> list[str]:
    """The table as it is printed."""
    speed = table.yardstick_s / run.yardstick_s
    rows = [f"{'room':<12} {'table':>7} {'now':>7} {'waited':>7}"]
    for room, taken in sorted(run.rooms.items(), key=lambda each: -each[1]):
        rows.append(f"{room:<12} {table.rooms.get(room, 0.0):7.1f} {taken * speed:7.1f} {run.waited[room]:7.1f}")
    rows.append(f"{'all':<12} {sum(table.rooms.values()):7.1f} {sum(run.rooms.values()) * speed:7.1f}")
    if run.was_busy:
        rows.append(f"Others used the machine too: limits are {BUSY_TIMES:g} times as wide.")
    return [*rows, f"Now: by the speed of the table's machine; this one took {1 / speed:.2f} times as long."]


class Measuring:
    """Runs where the tests run: puts on each report what the processor did."""

    def __init__(self) -> None:
        self._began = self._next_look = 0.0

    @pytest.hookimpl(wrapper=True, tryfirst=True)
    def pytest_runtest_protocol(self) -> Generator[None, object, object]:
        self._began = _now()
        return (yield)

    @pytest.hookimpl(wrapper=True, tryfirst=True)
    def pytest_runtest_makereport(self, item: pytest.Item) -> Generator[None, Any, Any]:
        report = yield
        now = _now()
        report.processor_s, self._began = now - self._began, now
        report.may_be_long = any(item.get_closest_marker(name) for name in ("long", "benchmark"))
        return report

    @pytest.hookimpl(trylast=True)
    def pytest_runtest_teardown(self, item: pytest.Item) -> None:
        began = _now()
        if began >= self._next_look:
            item.user_properties.append(("yardstick_s", min(yardstick() for _ in range(3))))
            item.user_properties.append(("load", os.getloadavg()[0] / (os.cpu_count() or 1)))
            self._next_look = began + EVERY_S
            self._began += _now() - began


class Law:
    """Runs where the reports arrive: adds up, prints, and fails the run where something took too long."""

    def __init__(self, config: pytest.Config) -> None:
        self._path = config.rootpath / "tests" / "seconds.toml"
        self._config = config
        self._run = Seconds()
        self._faults: list[str] = []

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        taken = getattr(report, "processor_s", 0.0)
        room = room_of(report.nodeid)
        self._run.rooms[room] += taken
        self._run.waited[room] += max(0.0, report.duration - taken)
        if report.when == "call" and not getattr(report, "may_be_long", True):
            self._run.tests[report.nodeid] = taken
        if report.when == "teardown":
            self._run.yardsticks += [value for name, value in report.user_properties if name == "yardstick_s"]
            self._run.loads += [value for name, value in report.user_properties if name == "load"]

    @pytest.hookimpl(tryfirst=True)
    def pytest_sessionfinish(self, session: pytest.Session, exitstatus: int) -> None:
        if exitstatus != pytest.ExitCode.OK or not self._all_was_run:
            return
        if self._config.option.write_seconds:
            self._path.write_text(str(self._table.anew(self._run)), encoding="utf-8")
        self._faults = faults(self._run, self._table)
        if self._faults:
            session.exitstatus = pytest.ExitCode.TESTS_FAILED

    def pytest_terminal_summary(self, terminalreporter: Any) -> None:
        if not self._all_was_run:
            return
        terminalreporter.section("processor seconds")
        for line in lines(self._run, self._table):
            terminalreporter.write_line(line)
        for sentence in self._faults:
            terminalreporter.write_line(f"TOO SLOW: {sentence}", red=True, bold=True)

    @property
    def _table(self) -> Table:
        return Table.read(self._path) if self._path.exists() else Table(self._run.yardstick_s, {})

    @property
    def _all_was_run(self) -> bool:
        """Whether all was run that the plain test command runs: of a part nothing can be said."""
        option, usual = self._config.option, self._config.getini("addopts")
        return (
            bool(self._run.yardsticks)
            and self._config.args_source is not pytest.Config.ArgsSource.ARGS
            and option.markexpr == (usual[usual.index("-m") + 1] if "-m" in usual else "")
            and not any(getattr(option, name, None) for name in CHOOSING)
        )


def _now() -> float:
    children = os.times()
    return time.process_time() + children.children_user + children.children_system


def pytest_addoption(parser: pytest.Parser) -> None:
    """Let the table be written anew."""
    parser.addoption("--write-seconds", action="store_true", help="write tests/seconds.toml from this run of all tests")


def pytest_configure(config: pytest.Config) -> None:
    """Measure in each process that runs tests; add up where their reports arrive."""
    config.pluginmanager.register(Measuring(), "seconds-measuring")
    if not hasattr(config, "workerinput"):
        config.pluginmanager.register(Law(config), "seconds-law")
