"""What the operating system is really asked: the other tests of power cuts put a disk of their own in its place."""

import os
import sys

import pytest
from history_tools import opened, reading

from rounds.history import merge
from rounds.history.check import check

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="elsewhere another call makes a file durable")


@pytest.fixture
def synced(monkeypatch):
    """The size that each file or folder had when it was last made durable, by its number on the disk."""
    sizes, fsync = {}, os.fsync

    def noted(fd):
        fsync(fd)
        status = os.fstat(fd)
        sizes[status.st_ino] = status.st_size

    monkeypatch.setattr(os, "fsync", noted)
    return sizes


def not_durable(folder, synced, names="*.jsonl"):
    """Files that were not asked to be durable with all that is in them, and folders that never were."""
    folders = [folder, *(path for path in folder.rglob("*") if path.is_dir())]
    files = [path for path in folder.rglob(names) if path.is_file()]
    found = [path for path in folders if path.stat().st_ino not in synced]
    found += [path for path in files if synced.get(path.stat().st_ino, -1) < path.stat().st_size]
    return [str(path.relative_to(folder)) for path in found]


def test_what_is_saved_is_on_the_disk_itself_before_it_is_told(tmp_path, synced):
    history = opened(tmp_path / "history")
    for minutes in (0, 1, 60 * 24):
        history.save(reading(minutes=minutes))
        assert not_durable(tmp_path / "history", synced) == []
    history.close()
    assert (tmp_path / "history" / "bench" / "2026" / "2026-05.json").exists()
    assert not_durable(tmp_path / "history", synced, "*.json*") == [], "the monthly files too"
    assert check(tmp_path).sound


def test_what_was_merged_is_on_the_disk_itself_and_a_second_time_nothing_is_taken(tmp_path, synced):
    with opened(tmp_path / "stick", device="stick") as other:
        brought = other.save(reading(), reading(minutes=60 * 24))
    with opened(tmp_path / "history") as history:
        history.save(reading(minutes=5))
        assert merge.apply(history, merge.preview(history, tmp_path / "stick")) == len(brought)
        assert not_durable(tmp_path / "history", synced) == []
        assert merge.apply(history, merge.preview(history, tmp_path / "stick")) == 0
