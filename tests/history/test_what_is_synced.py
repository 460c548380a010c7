"""What each writer asks of the disk, call by call: every byte synced before its name, every name in its folder."""

import os
from itertools import pairwise

import pytest
from history_explorer import RecordingDisk
from history_tools import NOON, opened, reading

from rounds.history.append import Appender, Reserve
from rounds.history.disk import make_folder, write_folder, write_new
from rounds.history.files import month_files
from rounds.history.month import write_table
from rounds.history.quarantine import put_aside
from rounds.history.reading import Damage
from rounds.history.recovery import heal, tidy
from rounds.history.summary import DerivedSummary, write_summary


@pytest.fixture
def disk(tmp_path):
    return RecordingDisk(tmp_path)


def asked(disk):
    """The calls without what was written, in their order; then the log begins anew."""
    found = [(step[0], *(each for each in step[1:] if isinstance(each, str))) for step in disk.log]
    disk.log.clear()
    return [each for n, each in enumerate(found) if n == 0 or each != found[n - 1]]


def test_a_new_file_is_synced_before_it_gets_its_name_and_the_name_before_it_is_told(tmp_path, disk):
    write_new(disk, tmp_path / "a", b"12345")
    assert asked(disk) == [
        ("create", "a.tmp"), ("write", "a.tmp"), ("fsync", "a.tmp"), ("replace", "a.tmp", "a"), ("sync_folder", "."),
    ]  # fmt: skip


def test_a_folder_is_durable_in_its_parent(tmp_path, disk):
    make_folder(disk, tmp_path / "a" / "b")
    assert asked(disk) == [("mkdir", "a"), ("sync_folder", "."), ("mkdir", "a/b"), ("sync_folder", "a")]
    make_folder(disk, tmp_path / "a" / "b")
    assert asked(disk) == []


def test_a_folder_of_files_is_synced_file_by_file_then_from_the_inside_out(tmp_path, disk):
    write_folder(disk, tmp_path / "a", {"x": b"1", "in/y": b"2"})
    assert asked(disk) == [
        ("mkdir", "a"), ("create", "a/x"), ("write", "a/x"), ("fsync", "a/x"), ("mkdir", "a/in"), ("create", "a/in/y"),
        ("write", "a/in/y"), ("fsync", "a/in/y"), ("sync_folder", "a/in"), ("sync_folder", "a"),
    ]  # fmt: skip


def test_the_first_append_anchors_its_name_up_to_the_root_and_the_next_only_syncs_its_bytes(tmp_path, disk):
    appender = Appender(tmp_path / "history", disk, Reserve(tmp_path / "reserve", disk))
    path = tmp_path / "history" / "bench" / "2026-05.jsonl"
    appender.append([(path, b"one\n")])
    first = asked(disk)
    assert first[-2:] == [("write", "history/bench/2026-05.jsonl"), ("fsync", "history/bench/2026-05.jsonl")]
    anchored = first[first.index(("create", "history/bench/2026-05.jsonl")) + 1 : -2]
    assert anchored == [("sync_folder", "history/bench"), ("sync_folder", "history"), ("sync_folder", ".")]
    appender.append([(path, b"two\n")])
    assert asked(disk) == first[-2:]
    appender.cut(path, 4)
    assert asked(disk) == [("truncate", "history/bench/2026-05.jsonl"), ("fsync", "history/bench/2026-05.jsonl")]
    assert path.read_bytes() == b"one\n"


def test_what_another_process_made_is_anchored_by_this_one_too(tmp_path, disk):
    path = tmp_path / "history" / "bench" / "2026-05.jsonl"
    path.parent.mkdir(parents=True)
    path.write_bytes(b"")
    Appender(tmp_path / "history", disk, Reserve(tmp_path / "reserve", disk)).append([(path, b"one\n")])
    assert asked(disk)[:3] == [("sync_folder", "history/bench"), ("sync_folder", "history"), ("sync_folder", ".")]


def test_damaged_bytes_are_synced_with_their_name(tmp_path, disk):
    damage = Damage(path=tmp_path / "m.jsonl", device="bench", month="2026-05", raw=b"bytes", sentence="s")
    name = os.path.relpath(put_aside(tmp_path, disk, damage), tmp_path)
    assert asked(disk)[2:] == [("create", name), ("write", name), ("fsync", name), ("sync_folder", "quarantine")]


def test_a_monthly_file_is_swapped_in_whole_and_the_one_before_kept_first(tmp_path, disk):
    path = tmp_path / "m.json"
    write_table(path, disk, [{"id": "1"}], 1)
    swapped = [
        ("create", "m.json.tmp"), ("write", "m.json.tmp"), ("fsync", "m.json.tmp"), ("replace", "m.json.tmp", "m.json"),
        ("sync_folder", "."),
    ]  # fmt: skip
    assert asked(disk) == swapped
    write_table(path, disk, [{"id": "2"}], 2)
    assert asked(disk) == [("link", "m.json", "m.json.bak.tmp"), ("replace", "m.json.bak.tmp", "m.json.bak"), *swapped]


def test_a_summary_is_swapped_and_not_synced_since_it_can_be_made_again(tmp_path, disk):
    write_summary(tmp_path / "s", disk, DerivedSummary())
    assert asked(disk) == [("create", "s.tmp"), ("write", "s.tmp"), ("replace", "s.tmp", "s")]


def test_a_save_is_synced_before_it_returns_and_an_end_that_was_cut_is_put_aside_first(tmp_path, disk):
    with opened(tmp_path / "history", disk=disk) as history:
        history.save(reading())
        disk.log.clear()
        history.save(reading(minutes=1))
        calls = asked(disk)
        assert calls[-1] == ("fsync", "history/bench/2026/2026-05.jsonl")
        assert ("write", "history/bench/lock") in calls[:1]
    files = month_files(tmp_path / "history", "bench", "2026-05")
    whole = files.journal.read_bytes()
    appender = Appender(tmp_path / "history", disk, Reserve(tmp_path / "reserve", disk))
    files.journal.write_bytes(whole + b"half a line")
    disk.log.clear()
    assert "cut off after 11 bytes" in tidy(tmp_path / "history", disk, appender, files, len(whole))
    assert [kind for kind, *_ in asked(disk)][-4:] == ["fsync", "sync_folder", "truncate", "fsync"]
    assert tidy(tmp_path / "history", disk, appender, files, len(whole)) is None
    heal(appender, files, [{"id": "1", "at": NOON}])
    assert asked(disk)[-1] == ("fsync", "history/bench/2026/2026-05.jsonl")
    assert files.journal.read_bytes().startswith(whole) and files.journal.read_bytes().endswith(b"}\n")
    assert all(one != other for one, other in pairwise(calls))


class Counting(RecordingDisk):
    """Knows which files are open."""

    def __init__(self, root):
        super().__init__(root)
        self.open_now = {}

    def open(self, path, flags):
        fd = super().open(path, flags)
        self.open_now[fd] = path.name
        return fd

    def close(self, fd):
        super().close(fd)
        del self.open_now[fd]


def test_no_file_stays_open_but_the_lock_while_a_history_is(tmp_path):
    disk = Counting(tmp_path)
    write_new(disk, tmp_path / "a", b"1")
    write_folder(disk, tmp_path / "folder", {"x": b"1"})
    write_summary(tmp_path / "s", disk, DerivedSummary())
    Reserve(tmp_path / "reserve", disk).provide()
    put_aside(
        tmp_path, disk, Damage(path=tmp_path / "m.jsonl", device="bench", month="2026-05", raw=b"x", sentence="s")
    )
    appender = Appender(tmp_path, disk, Reserve(tmp_path / "reserve", disk))
    appender.append([(tmp_path / "j", b"one\n")])
    appender.cut(tmp_path / "j", 1)
    assert disk.open_now == {}
    with opened(tmp_path / "history", disk=disk) as history:
        history.save(reading())
        history.flush()
        assert set(disk.open_now.values()) == {"lock"}
    assert disk.open_now == {}
