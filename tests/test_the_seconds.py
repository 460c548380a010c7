"""The law of the seconds: what is too slow is told, and a slow or busy machine is not."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.seconds import FLOOR_S, Seconds, Table, faults, lines, room_of

TOP = Path(__file__).parent.parent
TABLE = Table(0.004, {"walk": 10.0, "units": 0.3}, {"tests/walk/test_a.py::test_whole": 4.0})
BURNING = """
import time

def test_that_works():
    began = time.process_time()
    while time.process_time() - began < 0.4:
        pass

def test_that_waits():
    time.sleep(0.4)
"""
PLAIN = """
import tests.seconds as law

law.FLOOR_S, law.MOST_S = {floor}, {most}
"""


def ran(yardstick_s: float = 0.004, load: float = 1.0, **more: dict[str, float]) -> Seconds:
    run = Seconds(yardsticks=[yardstick_s], loads=[load])
    for name, values in more.items():
        getattr(run, name).update(values)
    return run


@pytest.mark.parametrize(("taken", "told"), [(14.9, False), (15.1, True)])
def test_a_room_may_take_half_as_much_again_as_its_row(taken: float, told: bool) -> None:
    found = faults(ran(rooms={"walk": taken}), TABLE)
    assert found == ["The room walk took 15.1 s; its row says 10.0 s, so at most 15.0 s."] * told


@pytest.mark.parametrize("room", ["units", "a room without a row"])
def test_a_small_room_does_not_fail_by_noise(room: str) -> None:
    assert not faults(ran(rooms={room: FLOOR_S}), TABLE)
    assert faults(ran(rooms={room: FLOOR_S + 0.4}), TABLE)


def test_a_machine_of_half_the_speed_may_take_twice_as_long_and_a_fast_one_less() -> None:
    taken = {"rooms": {"walk": 20.0}, "tests": {"tests/walk/test_a.py::test_one": 6.5}}
    assert not faults(ran(0.008, **taken), TABLE)
    assert len(faults(ran(0.004, **taken), TABLE)) == 2
    assert faults(ran(0.002, rooms={"walk": 9.0}), TABLE)


def test_where_others_use_the_machine_too_limits_are_wider_and_that_is_told() -> None:
    taken = {"rooms": {"walk": 20.0}, "tests": {"tests/walk/test_a.py::test_one": 6.9}}
    assert len(faults(ran(load=1.5, **taken), TABLE)) == 2
    assert not faults(ran(load=4.0, **taken), TABLE)
    assert any("Others used the machine" in line for line in lines(ran(load=4.0, **taken), TABLE))
    assert len(faults(ran(load=4.0, rooms={"walk": 23.0}), TABLE)) == 1


def test_a_test_has_two_seconds_or_its_row_in_the_table_and_fails_at_three_times_as_much() -> None:
    some, whole = "tests/walk/test_a.py::test_some", "tests/walk/test_a.py::test_whole"
    assert not faults(ran(tests={some: 5.9, whole: 11.9}), TABLE)
    assert [each.split()[0] for each in faults(ran(tests={some: 6.1, whole: 12.1}), TABLE)] == [some, whole]


def test_a_table_that_was_written_reads_back_and_keeps_the_tests_that_stand_in_it_by_name(tmp_path: Path) -> None:
    nodeid = 'tests/walk/test_a.py::test_whole["x"]'
    old = Table(0.004, {"gone": 1.0}, {nodeid: 4.0, "tests/gone.py::test": 3.0})
    run = ran(0.005, rooms={"walk": 12.0}, tests={nodeid: 5.0, "tests/walk/test_a.py::test_some": 1.0})
    path = tmp_path / "seconds.toml"
    path.write_text(str(old.anew(run)), encoding="utf-8")
    assert Table.read(path) == Table(0.005, {"walk": 12.0}, {nodeid: 5.0})


def test_a_room_is_the_first_folder_and_the_tests_beside_the_folders_are_one_too() -> None:
    assert room_of("tests/walk/test_a.py::test_b[c/d]") == "walk"
    assert room_of("tests/walk/inner/test_a.py::test_b") == "walk"
    assert room_of("tests/test_the_papers.py::test_b[rounds/walk]") == "tests"


def test_what_is_printed_is_in_the_seconds_of_the_tables_machine() -> None:
    printed = lines(ran(0.008, rooms={"walk": 20.0}, waited={"walk": 7.0}), TABLE)
    assert printed[1].split() == ["walk", "10.0", "10.0", "7.0"]
    assert "2.00 times as long" in printed[-1]


def run_the_toy(folder: Path, *options: str, floor: float = 100.0, most: float = 100.0) -> tuple[int, str]:
    """Run a suite of one room that works for 0.4 s and waits for as long, in processes of its own."""
    room = folder / "tests" / "room"
    room.mkdir(parents=True, exist_ok=True)
    (room / "test_toy.py").write_text(BURNING, encoding="utf-8")
    (folder / "tests" / "conftest.py").write_text(PLAIN.format(floor=floor, most=most), encoding="utf-8")
    (folder / "pyproject.toml").write_text(
        "[tool.pytest.ini_options]\ntestpaths = ['tests']\naddopts = '--import-mode=importlib'\n", encoding="utf-8"
    )
    words = [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", "-p", "tests.seconds", *options]
    environ = {**os.environ, "PYTHONPATH": str(TOP)}
    done = subprocess.run(words, cwd=folder, env=environ, capture_output=True, text=True, check=False)
    return done.returncode, done.stdout


def test_under_xdist_too_a_slow_room_and_a_slow_test_fail_the_run_and_the_runners_closing_line_is_last(
    tmp_path: Path,
) -> None:
    code, said = run_the_toy(tmp_path, "-n", "1", floor=0.2, most=0.05)  # also where a busy machine widens limits
    told = [line for line in said.splitlines() if line.startswith("TOO SLOW")]
    assert code == 1
    assert ["The room room took" in told[0], "test_toy.py::test_that_works" in told[1]] == [True, True]
    assert len(told) == 2, "who waits is not slow"
    assert "2 passed" in said.splitlines()[-1]


def test_of_a_part_of_the_suite_nothing_is_said(tmp_path: Path) -> None:
    code, said = run_the_toy(tmp_path, "-k", "works", floor=0.2, most=0.1)
    assert (code, "TOO SLOW" in said, "processor seconds" in said) == (0, False, False)


def test_a_table_is_written_when_that_is_asked_for_and_the_next_run_holds_to_it(tmp_path: Path) -> None:
    code, said = run_the_toy(tmp_path, "--write-seconds")
    table = Table.read(tmp_path / "tests" / "seconds.toml")
    assert (code, list(table.rooms)) == (0, ["room"]), said
    assert table.rooms["room"] >= 0.4
