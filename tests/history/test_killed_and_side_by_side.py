"""Processes that are killed at random moments, and two windows that save at the same time."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from history_tools import ids_in, opened

from rounds.history.check import check

CHILD = Path(__file__).parent / "support" / "history_child.py"


def run(*words):
    return [sys.executable, str(CHILD), *map(str, words)]


def killed(folder, rounds, longest_s):
    done = subprocess.run(run("kill", folder, rounds, longest_s), capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_every_id_that_was_printed_survives_thirty_kills(quick):
    seen = killed(quick / "history", 30, 0.03)
    assert seen["printed"] >= seen["awaited"] > 90
    assert seen["lost"] == 0
    report = check(quick / "history")
    assert report.sound, report.sentences
    assert report.records >= seen["printed"]


@pytest.mark.long
@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_every_id_that_was_printed_survives_a_thousand_kills(tmp_path):
    seen = killed(tmp_path / "history", 1_000, 0.15)
    print(seen)
    assert seen["printed"] >= seen["awaited"] > 1_000
    assert seen["lost"] == 0
    assert check(tmp_path / "history").sound


def test_two_processes_with_500_saves_each_lose_none_and_number_without_a_gap(quick):
    folder = quick / "history"
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True}
    both = [subprocess.Popen(run("save", folder, 500, name), **pipes) for name in "ab"]
    assert [each.stdout.readline() for each in both] == ["ready\n", "ready\n"]
    for each in both:
        each.stdin.write("go\n")
        each.stdin.flush()
    printed = [set(each.communicate()[0].split()) for each in both]
    assert [each.returncode for each in both] == [0, 0]
    assert [len(each) for each in printed] == [500, 500]
    assert ids_in(folder) == printed[0] | printed[1]
    with opened(folder, read_only=True) as history:
        assert sorted(each.seq for each in history.records()) == list(range(1, 1001))
        assert len({each.lamport for each in history.records()}) == 1000
    assert check(folder).sound
