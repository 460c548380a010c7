"""Names of files, monthly files, summaries, imports and quarantine against ones made by hand."""

import errno
import os
from hashlib import blake2b

import msgspec
import pytest
from hand_made import RECORD, flipped
from history_tools import FailingDisk

from rounds.errors import NotFound
from rounds.history.disk import Disk
from rounds.history.files import list_months
from rounds.history.journal import sealed
from rounds.history.month import DamagedMonth, read_table, write_table
from rounds.history.places import check_folder, history_folder
from rounds.history.quarantine import put_aside, quarantined
from rounds.history.reading import Damage
from rounds.history.staging import Arrivals, read_staged, staged_files, staged_pieces
from rounds.history.summary import DerivedSummary, MonthHead, read_summary, write_summary


def test_which_files_are_months_and_which_are_not(tmp_path):
    names = {
        "bench/2026/2026-05.jsonl": "journal", "bench/2026/2026-05.json": "beside its journal",
        "bench/2026/2026-05.json.bak": "the former one", "bench/2026/2026-05 (copy).jsonl": "a copy",
        "bench/2026/2026-06.json": "stands alone", "bench/2026/2026-07.json.tmp": "unfinished",
        "bench/2026/2026-13.jsonl": "no month", "bench/2026/2025-05.jsonl": "another year",
        "bench/2026/2026-055.jsonl": "no month", "bench/26/2026-05.jsonl": "no year", "bench/latest.summary": "none",
        "Bench/2026/2026-05.jsonl": "no device", "-a/2026/2026-05.jsonl": "no device",
        "stick/2025/2025-12.jsonl": "another device", f"{'d' * 41}/2026/2026-05.jsonl": "too long a name",
    }  # fmt: skip
    for name in names:
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(b"x" * len(name))
    found = list_months(tmp_path)
    assert sorted(found) == [("bench", "2026-05"), ("bench", "2026-06"), ("stick", "2025-12")]
    may = found["bench", "2026-05"]
    year = tmp_path / "bench" / "2026"
    assert [(name, size) for name, size, _ in may.stamps] == [
        (name, len(f"bench/2026/{name}")) for name in ("2026-05 (copy).jsonl", "2026-05.jsonl")
    ]
    assert all(at == (year / name).stat().st_mtime_ns for name, _, at in may.stamps)
    assert may.copies == [year / "2026-05 (copy).jsonl"]
    assert (may.journal, may.table, may.older) == tuple(year / f"2026-05.json{end}" for end in ("l", "", ".bak"))
    assert [name for name, _, _ in found["bench", "2026-06"].stamps] == ["2026-06.json"]
    assert found["bench", "2026-06"].copies == []
    assert list_months(tmp_path / "not there") == {}


def test_which_folder_is_meant(tmp_path):
    farm, other = tmp_path / "farm", tmp_path / "other"
    (farm / "history").mkdir(parents=True)
    other.mkdir()
    assert history_folder(farm) == farm / "history"
    assert history_folder(farm / "history") == farm / "history"
    assert history_folder(other) == other
    (other / "farm.toml").write_text("")
    assert history_folder(other) == other / "history"
    (other / "history").write_text("")
    for place in (other, tmp_path / "nowhere", other / "farm.toml"):
        with pytest.raises(NotFound):
            history_folder(place)
    check_folder(farm / "history")
    check_folder(farm / "not yet")
    (farm / "link").symlink_to(farm / "history")
    check_folder(farm / "link")
    (farm / "gone").symlink_to(farm / "nothing")
    with pytest.raises(NotFound, match="leads nowhere"):
        check_folder(farm / "gone")


def test_a_monthly_file_comes_back_with_what_it_covers_and_the_one_before_stays(tmp_path):
    path = tmp_path / "2026-05.json"
    assert read_table(path, Disk()) is None
    write_table(path, Disk(), [{"id": "1", "x": [1, {"a": None}]}], 77)
    assert read_table(path, Disk()) == ([{"id": "1", "x": [1, {"a": None}]}], 77)
    assert not path.with_name("2026-05.json.bak").exists()
    write_table(path, Disk(), [{"id": "1"}, {"id": "2"}], 99)
    assert read_table(path, Disk()) == ([{"id": "1"}, {"id": "2"}], 99)
    assert read_table(path.with_name("2026-05.json.bak"), Disk())[1] == 77
    assert sorted(each.name for each in tmp_path.iterdir()) == ["2026-05.json", "2026-05.json.bak"]
    path.write_bytes(path.read_bytes().replace(b"99", b"98"))
    with pytest.raises(DamagedMonth) as damaged:
        read_table(path, Disk())
    assert (damaged.value.path, damaged.value.data, damaged.value.newer) == (path, path.read_bytes(), False)
    write_table(path, Disk(), [], 0)
    assert read_table(path.with_name("2026-05.json.bak"), Disk())[1] == 77, "a damaged one becomes no former one"
    assert read_table(path, Disk()) == ([], 0)


@pytest.mark.parametrize(("number", "kept"), [
    (errno.EPERM, True), (errno.ENOTSUP, True), (errno.ENOSYS, True), (errno.EMLINK, True), (errno.EIO, False),
    (errno.ENOSPC, False),
])  # fmt: skip
def test_where_there_are_no_links_the_one_before_is_kept_by_another_name(tmp_path, number, kept):
    class NoLinks(Disk):
        def link(self, source, target):
            raise OSError(number, os.strerror(number))

    path = tmp_path / "2026-05.json"
    write_table(path, Disk(), [{"id": "1"}], 77)
    if kept:
        write_table(path, NoLinks(), [{"id": "2"}], 99)
        assert read_table(path.with_name("2026-05.json.bak"), Disk())[1] == 77
        assert read_table(path, Disk())[1] == 99
    else:
        with pytest.raises(OSError, match=os.strerror(number)):
            write_table(path, NoLinks(), [{"id": "2"}], 99)
        assert read_table(path, Disk())[1] == 77


def test_a_spare_that_was_left_behind_is_in_nobodys_way(tmp_path):
    path = tmp_path / "2026-05.json"
    write_table(path, Disk(), [{"id": "1"}], 77)
    path.with_name("2026-05.json.bak.tmp").write_bytes(b"left behind")
    write_table(path, Disk(), [{"id": "2"}], 99)
    assert read_table(path.with_name("2026-05.json.bak"), Disk())[1] == 77


def test_a_summary_comes_back_field_by_field_or_not_at_all(tmp_path):
    path = tmp_path / "latest.summary"
    head = MonthHead(device="bench", month="2026-05", stamps=(("2026-05.jsonl", 9, 8),), read_to=7, seq=6, lamport=5,
                     entered_s=4.5, newer=3, odd=2)  # fmt: skip
    whole = DerivedSummary(months=[head], replacements=[("2", "1", 3, "bench")], latest=[RECORD])
    write_summary(path, Disk(), whole)
    assert read_summary(path, Disk()) == whole
    assert [each.name for each in tmp_path.iterdir()] == ["latest.summary"]
    for data in (b"", path.read_bytes()[:-1], flipped(path.read_bytes(), 60), flipped(path.read_bytes(), 10)):
        path.write_bytes(data)
        assert read_summary(path, Disk()) == DerivedSummary()
    assert read_summary(tmp_path / "none", Disk()) == DerivedSummary()


@pytest.mark.parametrize(("name", "size", "unfinished"), [
    ("2026-05.jsonl", 10, False), ("2026-05.jsonl", 11, True), ("2026-05 (copy).jsonl", 11, False),
])  # fmt: skip
def test_a_journal_longer_than_what_was_read_is_unfinished(name, size, unfinished):
    assert MonthHead("bench", "2026-05", ((name, size, 0),), 10).is_unfinished() is unfinished
    assert not MonthHead("bench", "2026-05").is_unfinished()


def test_an_import_is_written_down_as_a_whole_or_it_is_none(tmp_path):
    lines = [sealed(msgspec.json.encode(msgspec.structs.replace(RECORD, id=str(n)))) for n in range(3)]
    arrivals = [
        Arrivals(key=("bench", "2026-05"), lines=lines[:2]),
        Arrivals(key=("stick", "2026-06"), lines=lines[2:]),
    ]
    path = tmp_path / "a.staged"
    path.write_bytes(b"".join(staged_pieces(arrivals)))
    rows = [[list(each.key), b"".join(each.lines)] for each in arrivals]
    assert msgspec.msgpack.decode(path.read_bytes()[16:]) == rows
    assert read_staged(path, Disk()) == arrivals
    whole = path.read_bytes()
    for data in (b"", whole[:-1], whole[:16], whole + b"x", flipped(whole, 3)):
        path.write_bytes(data)
        assert read_staged(path, Disk()) is None
    (tmp_path / "b.staged").write_bytes(b"")
    (tmp_path / "c.json").write_bytes(b"")
    assert staged_files(tmp_path) == [tmp_path / "a.staged", tmp_path / "b.staged"]


def test_damaged_bytes_are_kept_once_under_a_name_made_of_them(tmp_path):
    damage = Damage(path=tmp_path / "2026-05.jsonl", device="bench", month="2026-05", raw=b"bytes", sentence="s")
    assert quarantined(tmp_path) == []
    kept = put_aside(tmp_path, Disk(), damage)
    digits = blake2b(b"bytes", digest_size=6).hexdigest()
    assert kept == tmp_path / "quarantine" / f"bench-2026-05.jsonl-{digits}.damaged"
    assert kept.read_bytes() == b"bytes" and quarantined(tmp_path) == [kept]
    disk = FailingDisk()
    assert put_aside(tmp_path, disk, damage) == kept and disk.calls == 0
    kept.write_bytes(b"byt")
    assert put_aside(tmp_path, Disk(), damage) == kept and kept.read_bytes() == b"bytes"
