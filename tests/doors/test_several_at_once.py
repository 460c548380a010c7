"""Several windows begin, merge and back up at the same moment; each waits its turn, and says who holds the lock."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest
from history_tools import opened, reading

from rounds.cli import main
from rounds.history.check import check
from rounds.history.disk import Disk
from rounds.history.lock import FolderLock


def at_once(folder: Path, *commands: Sequence[object]) -> list[str]:
    """Run verbs side by side, on a farm that does not lie where temporary files do; what they said."""
    away = folder.parent / "elsewhere"
    away.mkdir(exist_ok=True)
    code = "import sys; input(); from rounds.cli import main; sys.exit(main(sys.argv[1:]))"
    running = [
        subprocess.Popen(
            [sys.executable, "-c", code, *map(str, words)],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
            env={**os.environ, "TMPDIR": str(away)},
        )
        for words in commands
    ]  # fmt: skip
    for each in running:
        assert each.stdin is not None
        each.stdin.write("\n")
        each.stdin.flush()
    told = [each.communicate()[0] for each in running]
    assert [each.returncode for each in running] == [0] * len(running), told
    return told


def devices(farm: Path) -> list[str]:
    return [path.name for path in (farm / "history").iterdir() if path.is_dir() and path.name != "quarantine"]


def test_eight_first_entries_at_once_agree_on_one_device(farm_folder: Path) -> None:
    at_once(farm_folder, *(["enter", farm_folder, "ch-1", f"flow 1.2{number}"] for number in range(8)))
    assert len(devices(farm_folder)) == 1
    found = check(farm_folder)
    assert (found.readings, found.sound) == (8, True), found.sentences


def test_where_the_lock_is_held_an_entry_says_by_whom(farm: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = devices(farm)
    assert main(["enter", str(farm), "ch-1", "flow 1.2"]) == 0
    (device,) = set(devices(farm)) - set(before)
    lock = FolderLock(farm / "history" / device / "lock", Disk())
    lock.take()
    lock.raise_generation()
    try:
        assert main(["enter", str(farm), "ch-1", "flow 1.1"]) == 1
    finally:
        lock.release()
        lock.close()
    told = capsys.readouterr().err
    assert f"process {os.getpid()} on" in told and "nothing was saved" in told
    assert main(["enter", str(farm), "ch-1", "flow 1.1"]) == 0


def test_of_three_merges_at_once_each_record_is_taken_in_by_one(farm: Path) -> None:
    with opened(farm.parent / "stick" / "history", device="stick") as other:
        other.save(*(reading(minutes=minutes) for minutes in range(40)))
    before = check(farm).records
    told = at_once(farm, *(["merge", farm, farm.parent / "stick", "--yes"] for _ in range(3)))
    taken = [int(each.split(" records were taken in")[0].split()[-1]) for each in told]
    assert sum(taken) == 40 and check(farm).records == before + 40 and check(farm).sound


def test_three_backups_at_once_are_three_whole_backups(farm: Path) -> None:
    records = check(farm).records
    told = at_once(farm, *(["backup", farm, farm.parent / "stick"] for _ in range(3)))
    assert all("and are equal" in each for each in told)
    made = sorted((farm.parent / "stick").iterdir())
    assert len(made) == 3
    assert [(check(each).records, check(each).sound) for each in made] == [(records, True)] * 3
