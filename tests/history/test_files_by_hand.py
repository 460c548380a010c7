"""The files of the record against hand-made ones: lines, names, summaries, numbers, sentences, what is left out."""

import errno
import os
import stat
import zipfile
from datetime import UTC, datetime, timedelta, timezone
from hashlib import blake2b

import msgspec
import pytest
from history_tools import NOON, FailingDisk, ids_in, opened, reading

from rounds.errors import BadInput, NotFound, NotSaved
from rounds.history import History, merge, paper_log
from rounds.history.append import RESERVE_BYTES, Appender, Reserve, not_saved
from rounds.history.backup import backup, last_backup
from rounds.history.check import Gap, check, gaps_in
from rounds.history.device import Known, new_name, recall, remember
from rounds.history.disk import Disk, make_folder, write_all, write_folder, write_new
from rounds.history.export import COLUMNS, safe_cell, to_csv
from rounds.history.files import list_months
from rounds.history.incoming import SizeLimits, read_zip
from rounds.history.journal import mended, parse, salvaged, sealed
from rounds.history.journal import opened as open_line
from rounds.history.lock import FolderLock
from rounds.history.month import DamagedMonth, read_table, write_table
from rounds.history.places import check_folder, history_folder
from rounds.history.quarantine import put_aside, quarantined
from rounds.history.reading import Damage, finished
from rounds.history.record import Record
from rounds.history.repair import repair
from rounds.history.staging import Arrivals, read_staged, staged_bytes, staged_files
from rounds.history.summary import DerivedSummary, MonthHead, read_summary, write_summary

DAY = 24 * 60


def line(number, size=0):
    return sealed(b'{"id":"%d","x":"%s"}' % (number, b"x" * size))


def body(number, size=0):
    return open_line(line(number, size)[:-1])


# --- journal ---


def test_a_line_is_the_sum_of_its_bytes_and_the_bytes():
    """The sum is the first 64 bits of BLAKE2b, in hexadecimal digits."""
    inner = b'{"id":"1"}'
    digits = blake2b(inner, digest_size=8).hexdigest().encode()
    assert sealed(inner) == b'{"sum":"' + digits + b'","rec":' + inner + b"}\n"
    assert len(digits) == 16


def test_what_lies_between_sound_lines_is_one_damaged_piece_with_its_place():
    first, second = line(1), line(2)
    data = first + b"scribble\nmore\n" + second + b"\n" + b"last\n" + line(3)[:-5]
    found = parse(data)
    assert found.bodies == [body(1), body(2)]
    assert [(each.start, each.raw, each.rescued) for each in found.damaged] == [
        (len(first), b"scribble\nmore", ()), (len(first) + 14 + len(second) + 1, b"last", ()),
    ]  # fmt: skip
    assert found.unfinished == line(3)[:-5]
    assert parse(b"").bodies == [] and parse(b"\n\n").damaged == []


def test_a_line_that_lost_its_line_feed_to_another_byte_is_whole():
    assert finished(line(1)[:-1]) == body(1)
    assert finished(line(1)[:-1] + b"x") == body(1)
    assert finished(line(1)[:-2]) is None and finished(b"") is None


def test_records_are_found_among_bytes_of_any_kind():
    assert salvaged(b"zz" + line(1) + b"\0" + line(2)[:-1] + b"}}" + line(3)[:-4]) == [body(1), body(2)]
    assert salvaged(line(1)[:-1] + b"}" * 7) == [body(1)]
    assert salvaged(line(1)[:-1] + b"}" * 8) == []
    assert salvaged(b"") == []


def flipped(data, place, bit=0):
    found = bytearray(data)
    found[place] ^= 1 << bit
    return bytes(found)


@pytest.mark.parametrize("place", [0, 7, 8, 20, 31, 40, -1])
@pytest.mark.parametrize("bit", [0, 7])
def test_a_single_bit_that_turned_round_is_turned_back(place, bit):
    whole = line(1)[:-1]
    assert mended(flipped(whole, place, bit)) == (body(1),)
    assert mended(flipped(flipped(whole, place, bit), 25)) == ()


def test_lines_up_to_4096_bytes_are_mended_and_twenty_of_them():
    room = 4_096 - (len(line(1)) - 1)
    fits, longer = (flipped(line(1, room + more)[:-1], 60) for more in (0, 1))
    assert (len(fits), len(longer)) == (4_096, 4_097)
    assert mended(fits) == (body(1, room),) and mended(longer) == ()
    many = b"".join(flipped(line(n), 45) + line(100 + n) for n in range(22))
    assert [bool(each.rescued) for each in parse(many).damaged] == [True] * 20 + [False] * 2


# --- disk ---


class Slow(Disk):
    """Writes three bytes at a time, and in the end nothing."""

    def __init__(self, most):
        self.written, self.most = b"", most

    def write(self, fd, data):
        part = data[: min(3, self.most - len(self.written))]
        self.written += part
        return len(part)


def test_short_writes_go_on_and_a_write_of_nothing_is_an_error():
    disk = Slow(100)
    write_all(disk, 0, b"ten bytes!")
    assert disk.written == b"ten bytes!"
    with pytest.raises(OSError, match="nothing was written") as told:
        write_all(Slow(4), 0, b"ten bytes!")
    assert told.value.errno == errno.EIO


def test_a_new_file_or_folder_is_for_its_owner_and_holds_every_byte(tmp_path):
    disk = Disk()
    make_folder(disk, tmp_path / "a" / "b")
    make_folder(disk, tmp_path / "a" / "b")
    write_new(disk, tmp_path / "a" / "b" / "file", b"one")
    write_new(disk, tmp_path / "a" / "b" / "file", b"two")
    write_folder(disk, tmp_path / "tree", {"x": b"1", "in/y": b"2", "in/deeper/z": b"3"})
    assert {str(each.relative_to(tmp_path)): each.read_bytes() for each in tmp_path.rglob("*") if each.is_file()} == {
        "a/b/file": b"two", "tree/x": b"1", "tree/in/y": b"2", "tree/in/deeper/z": b"3",
    }  # fmt: skip
    modes = {(each.is_dir(), stat.S_IMODE(each.stat().st_mode)) for each in tmp_path.rglob("*")}
    assert modes == {(True, 0o700), (False, 0o600)}
    assert disk.read(tmp_path / "tree" / "in" / "y") == b"2" and disk.read(tmp_path / "a" / "b" / "file", 1) == b"wo"
    with pytest.raises(FileExistsError):
        write_folder(disk, tmp_path / "tree", {})


@pytest.mark.parametrize(("number", "words"), [
    (errno.ENOSPC, "disk is full"), (errno.EDQUOT, "disk is full"), (errno.EACCES, "can only be read"),
    (errno.EPERM, "can only be read"), (errno.EROFS, "can only be read"), (errno.ELOOP, "link to another place"),
    (errno.EIO, "Input/output error"),
])  # fmt: skip
def test_why_nothing_was_saved_is_said(number, words):
    found = not_saved(OSError(number, os.strerror(number)))
    assert isinstance(found, NotSaved) and words in found.sentence and found.hint


def test_a_reserve_is_a_megabyte_that_is_given_free_once(tmp_path):
    reserve = Reserve(tmp_path / "reserve", Disk())
    assert not reserve.release() and not reserve.used
    reserve.provide()
    assert (tmp_path / "reserve").stat().st_size == RESERVE_BYTES == 1_048_576
    before = (tmp_path / "reserve").read_bytes()
    reserve.provide()
    assert (tmp_path / "reserve").read_bytes() == before, "there already"
    assert reserve.release() and reserve.used and not (tmp_path / "reserve").exists()
    (tmp_path / "reserve").write_bytes(bytes(RESERVE_BYTES - 1))
    reserve.provide()
    assert not reserve.used and (tmp_path / "reserve").stat().st_size == RESERVE_BYTES
    Reserve(tmp_path / "not there" / "reserve", Disk()).provide()
    assert not (tmp_path / "not there").exists()


def test_a_full_disk_takes_the_reserve_and_tries_once_more(tmp_path):
    class Full(Disk):
        left = 1

        def write(self, fd, data):
            if self.left and len(data) < 100:
                self.left -= 1
                raise OSError(errno.ENOSPC, "full")
            return super().write(fd, data)

    disk = Full()
    reserve = Reserve(tmp_path / "reserve", disk)
    reserve.provide()
    appender = Appender(tmp_path, disk, reserve)
    appender.append([(tmp_path / "journal", b"a line\n")])
    assert (tmp_path / "journal").read_bytes() == b"a line\n" and reserve.used
    disk.left = 1
    with pytest.raises(NotSaved, match="disk is full"):
        appender.append([(tmp_path / "journal", b"another\n")])
    assert (tmp_path / "journal").read_bytes() == b"a line\n"
    appender.cut(tmp_path / "journal", 2)
    assert (tmp_path / "journal").read_bytes() == b"a "


def test_the_lock_counts_who_was_about_to_write_and_waits_only_so_long(tmp_path):
    one = FolderLock(tmp_path / "lock", Disk(), wait_s=0.01)
    assert (one.is_open(), one.generation()) == (False, 0)
    one.take()
    one.take()
    assert (one.is_open(), one.generation(), one.raise_generation(), one.raise_generation()) == (True, 0, 1, 2)
    other = FolderLock(tmp_path / "lock", Disk(), wait_s=0.01)
    assert other.generation() == 2
    with pytest.raises(NotSaved, match="Another window"):
        other.take()
    one.release()
    with pytest.raises(NotSaved):
        other.take()
    one.release()
    other.take()
    assert other.raise_generation() == 3 == one.generation()
    other.release()
    for lock in (one, other):
        lock.close()
        lock.close()
        assert not lock.is_open()
    assert one.generation() == 3
    assert int.from_bytes((tmp_path / "lock").read_bytes(), "big") == 3


# --- names of files ---


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


# --- monthly file, summary, staging, quarantine ---


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


RECORD = Record(
    id="1", format=1, device="bench", seq=1, lamport=2, kind="reading", measured_at=NOON, entered_at=NOON, value=6.4
)


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
    records = [msgspec.structs.replace(RECORD, id=str(n)) for n in range(3)]
    arrivals = [
        Arrivals(key=("bench", "2026-05"), records=((records[0], lines[0]), (records[1], lines[1]))),
        Arrivals(key=("stick", "2026-06"), records=((records[2], lines[2]),)),
    ]
    path = tmp_path / "a.staged"
    path.write_bytes(staged_bytes(arrivals))
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


# --- what a check says ---


@pytest.mark.parametrize(("numbers", "gaps"), [
    ((1, 2, 3), []), ((2, 3), [(1, 1)]), ((1, 4), [(2, 3)]), ((5,), [(1, 4)]), ((3, 1), [(2, 2)]),
    ((1, 3, 6), [(2, 2), (4, 5)]), ((0, -1, "x", None, 1), []), ((1, 2**41 + 1), []), ((), []),
])  # fmt: skip
def test_gaps_are_the_numbers_missing_from_1_on(numbers, gaps):
    docs = [{"device": "bench", "seq": number} for number in numbers]
    assert gaps_in(docs) == [Gap(device="bench", first=first, last=last) for first, last in gaps]


def test_a_gap_of_one_and_of_several_have_their_own_words():
    assert Gap(device="a", first=3, last=3).sentence == "Record 3 of a has not arrived."
    assert Gap(device="a", first=3, last=4).sentence == "Records 3-4 of a have not arrived."


@pytest.fixture
def farm(tmp_path):
    (tmp_path / "farm").mkdir()
    (tmp_path / "farm" / "farm.toml").write_text("name = 'x'\n")
    with opened(tmp_path / "farm" / "history") as history:
        history.save(reading(), reading(minutes=1, kind="check", value=True))
    return tmp_path / "farm"


def journal(farm):
    return farm / "history" / "bench" / "2026" / "2026-05.jsonl"


@pytest.mark.parametrize(("hours", "words"), [
    (0.0, "today"), (23.9, "today"), (24.0, "1 days ago"), (60.0, "2 days ago"), (61.0, "3 days ago"),
])  # fmt: skip
def test_how_long_ago_the_last_backup_was_is_said(farm, tmp_path, hours, words):
    made = backup(farm, tmp_path / "stick", now=NOON)
    report = check(farm, now=NOON + timedelta(hours=hours))
    told = f"The last good backup was made {words} (2026-05-31 12:00), into {made.folder}."
    assert report.sentences == ("2 records in 1 months were read.", told)
    assert report.backup_age_days(NOON + timedelta(hours=hours)) == pytest.approx(hours / 24.0)


def test_what_a_check_counts_and_names(farm):
    found = check(farm)
    assert (found.records, found.readings, found.months, found.gaps, found.damaged) == (2, 1, 1, (), ())
    assert (found.odd, found.quarantine, found.verified, found.last_backup, found.sound) == ((), (), True, None, True)
    assert found.backup_age_days(NOON) is None
    assert found.sentences == ("2 records in 1 months were read.", "There has been no backup yet.")


def odd_lines(first, count):
    for number in range(first, first + count):
        record = msgspec.structs.replace(RECORD, id=f"odd{number}", device="stick", seq=number)
        yield sealed(msgspec.json.encode(record).replace(b"6.4", b'"x"'))


@pytest.mark.parametrize(("count", "told", "last"), [
    (20, 20, "Record 20 of"), (21, 21, "Record 21 of"), (22, 21, "2 more are passed over"), (1, 1, "Record 1 of"),
])  # fmt: skip
def test_twenty_odd_records_are_named_and_the_others_counted(farm, count, told, last):
    other = farm / "history" / "stick" / "2026"
    other.mkdir(parents=True)
    (other / "2026-05.jsonl").write_bytes(b"".join(odd_lines(1, count)))
    found = check(farm)
    assert len(found.odd) == count and found.sound
    named = [each for each in found.sentences if "passed over" in each]
    assert len(named) == told and named[-1].startswith(last)


def test_what_differs_between_the_copies_is_named(farm):
    whole = journal(farm).read_bytes()
    first, second = whole.splitlines(keepends=True)
    journal(farm).write_bytes(first)
    found = check(farm)
    assert "1 records of 2026-05 of bench stand only in the monthly file." in found.damaged and not found.sound
    changed = sealed(open_line(second[:-1]).replace(b'"value":true', b'"value":false'))
    journal(farm).write_bytes(first + changed)
    assert check(farm).damaged == ("1 records of 2026-05 of bench differ between journal and monthly file.",)
    journal(farm).write_bytes(whole + whole[:9])
    assert check(farm).damaged == ("The journal 2026-05.jsonl of bench is not complete yet.",)
    journal(farm).write_bytes(first + b"scribble\n" + second)
    assert any("is damaged" in each or "damaged line" in each for each in check(farm).damaged)
    journal(farm).write_bytes(whole)
    assert check(farm).damaged == ()
    former = journal(farm).with_name("2026-05.json.bak")
    former.write_bytes(b"scribble")
    assert check(farm).damaged == ("The former generation 2026-05.json.bak of bench is damaged.",)


def test_lines_that_hold_no_record_and_newer_ones_are_counted(farm):
    newer = msgspec.json.encode(msgspec.structs.replace(RECORD, id="n", device="stick", format=2))
    other = farm / "history" / "stick" / "2026"
    other.mkdir(parents=True)
    (other / "2026-05.jsonl").write_bytes(sealed(b"[]") + sealed(b'{"id":7}') + sealed(newer))
    assert check(farm).odd == (
        "From a newer version of this program, and passed over: 1 of 2026-05 of stick.",
        "Sealed lines that hold no record, and are passed over: 2 of 2026-05 of stick.",
    )


def test_a_repair_says_what_it_wrote_anew(farm):
    assert repair(farm).sentences == ()
    journal(farm).write_bytes(journal(farm).read_bytes().splitlines(keepends=True)[0])
    done = repair(farm)
    assert done.months == 1
    assert done.sentences[-1] == "2026-05 of bench: 2 records were written anew; the old files are kept."
    assert check(farm).sound
    assert sorted(each.name.split("-")[0] for each in quarantined(farm / "history"))[0] == "bench"


# --- backups ---


def test_a_backup_tells_what_it_copied_and_leaves_out_what_can_be_rebuilt(farm, tmp_path):
    for name in (".hidden", "a.tmp", "history/bench/lock", "history/bench/reserve", "history/bench/latest.summary"):
        (farm / name).write_bytes(b"x")
    (farm / ".git").mkdir()
    (farm / ".git" / "config").write_bytes(b"x")
    made = backup(farm, tmp_path / "stick", now=NOON)
    names = {"farm.toml", "history/bench/2026/2026-05.json", "history/bench/2026/2026-05.jsonl"}
    there = {str(each.relative_to(made.folder)) for each in made.folder.rglob("*") if each.is_file()}
    assert there == names
    size = sum((farm / name).stat().st_size for name in names)
    sentence = f"3 files with 2 records were copied to {made.folder}, read back, and are equal."
    assert (made.files, made.bytes, made.records, made.sentences) == (3, size, 2, (sentence,))
    assert made.folder == tmp_path / "stick" / "farm-2026-05-31T120000"
    marked = last_backup(farm)
    assert (marked.at, marked.to, marked.files) == (NOON, str(made.folder), 3)
    again = backup(farm, tmp_path / "stick", now=NOON)
    third = backup(farm, tmp_path / "stick", now=NOON)
    assert (again.folder.name, third.folder.name) == ("farm-2026-05-31T120000-2", "farm-2026-05-31T120000-3")
    assert sorted(each.name for each in (tmp_path / "stick").iterdir()) == [
        made.folder.name, again.folder.name, third.folder.name,
    ]  # fmt: skip


def test_the_newest_backup_of_any_device_is_the_last_one(farm, tmp_path):
    backup(farm, tmp_path / "stick", now=NOON)
    for name, at in (("phone", "2026-06-02T12:00:00Z"), ("stick", "2026-06-01T12:00:00Z")):
        (farm / "history" / name).mkdir()
        (farm / "history" / name / "last-backup").write_text(f'{{"at":"{at}","to":"/{name}","files":1}}')
    (farm / "history" / "broken").mkdir()
    (farm / "history" / "broken" / "last-backup").write_text("{")
    assert last_backup(farm).to == "/phone"
    assert last_backup(tmp_path / "nowhere") is None


def test_a_folder_without_a_record_or_with_nothing_in_it_is_backed_up_too(tmp_path):
    (tmp_path / "empty").mkdir()
    made = backup(tmp_path / "empty", tmp_path / "stick", now=NOON)
    assert (made.files, made.bytes, made.records) == (0, 0, 0) and list(made.folder.iterdir()) == []
    assert list((tmp_path / "empty").iterdir()) == []


@pytest.mark.parametrize("fail_at", range(0, 30, 3))
def test_a_backup_that_fails_leaves_nothing_half_done(farm, tmp_path, fail_at):
    (tmp_path / "stick").mkdir()
    disk = FailingDisk(fail_at)
    try:
        backup(farm, tmp_path / "stick", now=NOON, disk=disk)
    except NotSaved as error:
        assert "could not be made" in error.sentence
        assert list((tmp_path / "stick").glob("*.unfinished")) == []
        assert last_backup(farm) is None
    else:
        assert disk.calls <= fail_at


# --- export, paper ---


def test_a_row_holds_every_field_in_its_column():
    record = Record(
        id="i", format=1, device="bench", seq=7, lamport=9, kind="reading", station="north", item="ph",
        measured_at=datetime(2026, 5, 31, 14, 0, 0, 900_000, tzinfo=timezone(timedelta(hours=2))),
        entered_at=NOON, person="Kim", meter="pen", typed="6,4", value=6.4, unit="mS/cm", note="n", round_id="r",
        replaces="p", void=True, marks=("one", "two"),
    )  # fmt: skip
    assert to_csv([record]).split("\r\n") == [
        ",".join(COLUMNS),
        '2026-05-31T14:00:00+02:00,north,ph,reading,6.4,mS/cm,"6,4",pen,Kim,n,one; two,2026-05-31T12:00:00+00:00,'
        "r,p,yes,i,bench,7",
        "",
    ]
    assert to_csv([record], ",", header=False).count("\r\n") == 1
    assert ";6,4;mS/cm;" in to_csv([record], ",") and ";no;" not in to_csv([record], ",")
    assert to_csv([]) == ",".join(COLUMNS) + "\r\n"


@pytest.mark.parametrize("first", ["=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"])
def test_a_cell_that_a_spreadsheet_would_run_gets_an_apostrophe(first):
    assert safe_cell(f"{first}1").startswith("'")
    assert safe_cell(f"a{first}1")[0] == "a"


PAPER = paper_log.Mapping(
    time=("Day",), time_format="%d.%m.%Y", zone=UTC, person_heading="Who", note_heading="Remark",
    columns=(paper_log.Column(heading="pH", station="north", item="ph"),
             paper_log.Column(heading="Hens", station="hens", item="mood", kind="check", is_text=True)),
)  # fmt: skip


def test_a_row_of_paper_becomes_whole_drafts(tmp_path):
    with opened(tmp_path / "history") as history:
        missing = "04.05.2026,–,n/a,Kim,\n05.05.2026,?,-,,\n"
        text = f"\ufeffDay,pH,Hens,Who,Remark\n03.05.2026, 6.1 ,calm, Kim ,windy\n,,,,\n{missing}"
        found = paper_log.preview(history, text, PAPER)
    first = reading(6.1, measured_at=datetime(2026, 5, 3, tzinfo=UTC), typed="6.1", person="Kim", note="windy",
                    marks=("from a paper log",))  # fmt: skip
    words = msgspec.structs.replace(first, kind="check", station="hens", item="mood", typed="calm", value="calm")
    assert found.drafts == (first, words)
    assert (found.known, found.refused) == (0, ())
    assert found.sentences == ("2 readings are new, 0 were taken in before.", "They are from 2026-05-03 to 2026-05-03.")


def test_what_is_refused_of_a_paper_log_is_said_with_its_row(tmp_path):
    with opened(tmp_path / "history") as history:
        text = "Day,pH,Hens,Who,Remark\n03.05.2026,x,,Kim,\nsoon,6.1,,Kim,\n04.05.2026,6.2,,Kim,\n"
        found = paper_log.preview(history, text, PAPER)
        assert [(each.row, each.heading) for each in found.refused] == [(2, "pH"), (3, "Day")]
        assert found.sentences[-1].startswith("2 cells are refused, the first in row 2, pH: ")
        assert paper_log.apply(history, found) == 1
        again = paper_log.preview(history, text, PAPER)
        assert (again.drafts, again.known) == ((), 1)
        assert again.sentences[0] == "0 readings are new, 1 were taken in before." and len(again.sentences) == 2


# --- zips and merges ---


NAME = "history/stick/2026/2026-05.jsonl"


def zipped(path, files, packed=zipfile.ZIP_STORED):
    with zipfile.ZipFile(path, "w", packed) as archive:
        for name, data in files:
            archive.writestr(name, data)
    return path


@pytest.mark.parametrize(("sizes", "limits", "fits"), [
    ([10, 10], {"entries": 2}, True), ([10, 10], {"entries": 1}, False), ([10], {"entry_bytes": 10}, True),
    ([11], {"entry_bytes": 10}, False), ([500, 500], {"total_bytes": 2_000}, True),
    ([1_000, 1_001], {"total_bytes": 2_000}, False),
])  # fmt: skip
def test_a_zip_is_taken_in_up_to_its_limits(tmp_path, sizes, limits, fits):
    import re

    files = [(f"f{n}", os.urandom(size)) for n, size in enumerate(sizes)]
    path = zipped(tmp_path / "a.zip", files)
    if fits:
        assert read_zip(path, [re.compile("f[0-9]")], SizeLimits(**limits)) == dict(files)
    else:
        with pytest.raises(BadInput):
            read_zip(path, [re.compile("f[0-9]")], SizeLimits(**limits))


def test_a_zip_larger_than_any_bundle_or_not_there_is_not_read(tmp_path):
    import re

    path = zipped(tmp_path / "a.zip", [("f", bytes(1_000))], zipfile.ZIP_DEFLATED)
    size = path.stat().st_size
    assert read_zip(path, [re.compile("f")], SizeLimits(total_bytes=1_000, ratio=1_000)) == {"f": bytes(1_000)}
    with pytest.raises(BadInput, match="larger than any bundle"):
        read_zip(path, [re.compile("f")], SizeLimits(total_bytes=size - 1))
    with pytest.raises(BadInput, match="too large"):
        read_zip(path, [re.compile("f")], SizeLimits(ratio=2))
    with pytest.raises(NotFound):
        read_zip(tmp_path / "none.zip", [])
    with pytest.raises(BadInput, match="same name"), pytest.warns(UserWarning, match="Duplicate"):
        read_zip(zipped(tmp_path / "b.zip", [("f", b"1"), ("f", b"2")]), [re.compile("f")])
    with pytest.raises(BadInput, match="packed in a way"):
        read_zip(zipped(tmp_path / "c.zip", [("f", b"1")], zipfile.ZIP_BZIP2), [re.compile("f")])


def test_what_a_merge_would_do_is_said_line_by_line(tmp_path):
    with opened(tmp_path / "b" / "history", device="stick") as other:
        first, second = other.save(reading(), reading(minutes=1))
    with opened(tmp_path / "a") as history:
        assert merge.preview(history, tmp_path / "b").sentences == ("2 records are new, 0 are known already.",)
        merge.apply(history, merge.preview(history, tmp_path / "b"))
        history.replace(first.id, reading(6.5))
    with opened(tmp_path / "b" / "history", device="stick") as other:
        other.replace(first.id, reading(6.6))
        other.void(second.id, person="Kim")
    with opened(tmp_path / "a") as history:
        found = merge.preview(history, tmp_path / "b")
        assert (len(found.new), found.known, len(found.replaced), found.conflicts) == (2, 2, 2, (first.id,))
        assert found.sentences == (
            "2 records are new, 2 are known already.", "2 of the new ones replace a record or take one back.",
            "1 records were replaced on both sides: the later replacement stands.",
        )  # fmt: skip
        assert merge.apply(history, found) == 2 and merge.apply(history, merge.preview(history, tmp_path / "b")) == 0


def test_a_bundle_is_checked_line_by_line():
    record = msgspec.structs.replace(RECORD, id="019e7de7-be00-7000-8000-000000000000", device="stick")
    good = sealed(msgspec.json.encode(record))
    assert merge.checked_files({NAME: good * 2}) == 2 and merge.checked_files({}) == 0
    odd = sealed(msgspec.json.encode(record).replace(b'"seq":1', b'"seq":0'))
    for name, data in ((NAME, good + b"x\n"), (NAME, good[:-1]), ("elsewhere/a.jsonl", good),
                       (NAME.replace("stick", "phone"), good), (NAME, odd), (NAME, sealed(b"[]"))):  # fmt: skip
        with pytest.raises(BadInput):
            merge.checked_files({name: data})
    assert merge.sound_lines("stick", good + b"x\n" + odd + sealed(b'{"a":1,"a":2}') + good) == good + good
    assert merge.sound_lines("phone", good) == b""


# --- asking, numbering, names ---


@pytest.fixture
def asked(tmp_path):
    with opened(tmp_path / "history") as history:
        yield history


def test_since_is_included_and_until_is_not(asked):
    saved = asked.save(*(reading(minutes=each) for each in range(4)))
    one, three = NOON + timedelta(minutes=1), NOON + timedelta(minutes=3)
    assert asked.records(since=one, until=three) == list(saved[1:3])
    assert asked.records(since=one) == list(saved[1:]) and asked.records(until=three) == list(saved[:3])


@pytest.mark.parametrize("minutes", [0, 400 * DAY - 1, 400 * DAY, 400 * DAY + 1, 430 * DAY])
@pytest.mark.parametrize("days", [400, 30, 500])
def test_the_latest_is_asked_for_within_so_many_days(asked, minutes, days):
    (saved,) = asked.save(reading(minutes=-minutes))
    expected = saved if minutes <= days * DAY else None
    assert asked.latest("north", "ph", within_days=days) == expected
    assert asked.latest_by_item(within_days=days) == ({("north", "ph"): saved} if expected else {})


def test_the_latest_before_a_moment_of_a_kind(asked):
    first, second, third = asked.save(
        reading(6.1, minutes=-3), reading(6.2, minutes=-2), reading(True, minutes=-1, kind="check")
    )
    assert asked.latest("north", "ph") == third
    assert asked.latest("north", "ph", kind="reading") == second
    assert asked.latest("north", "ph", before=third.measured_at) == second
    assert asked.latest("north", "ph", before=second.measured_at) == first
    assert asked.latest("north", "ph", before=first.measured_at) is None
    assert asked.latest("north", "ph", kind="dose") is None
    assert asked.latest("south", "ph") is None and asked.latest("north", "ec") is None
    old = asked.latest("north", "ph", before=first.measured_at + timedelta(days=400), within_days=400)
    assert old == third


def test_marks_and_items_are_told_apart(asked):
    dose, storm = asked.save(
        reading(5.0, kind="dose", item="acid", unit="mL", data={"action": "acid"}),
        reading(False, kind="check", item="storm", station="hens", minutes=1),
    )
    assert asked.latest_by_item() == {("north", "acid"): dose, ("hens", "storm"): storm}
    assert asked.latest_by_item("hens") == {("hens", "storm"): storm}
    assert asked.latest_marks() == {
        ("north", "kind:dose"): dose, ("north", "action:acid"): dose, ("hens", "off:storm"): storm,
    }  # fmt: skip


def test_a_void_keeps_where_it_was_and_says_who_and_why(asked):
    (saved,) = asked.save(reading(station="north", item="ph", round_id="r1", meter="pen", unit="mS/cm", typed="6,4"))
    gone = asked.void(saved.id, person="Kim", note="wrong tank")
    kept = {"kind": "reading", "station": "north", "item": "ph", "measured_at": NOON, "round_id": "r1"}
    added = {"person": "Kim", "note": "wrong tank", "void": True, "replaces": saved.id, "value": None}
    counted = {"device": "bench", "seq": 2, "lamport": 2, "entered_at": NOON, "format": 1}
    assert gone == Record(id=gone.id, **kept, **added, **counted)
    assert asked.records() == [] and asked.records(replaced=True) == [saved, gone]
    assert asked.chain(gone.id) == [saved, gone] == asked.chain(saved.id)


def test_a_saved_record_holds_every_field_and_the_next_numbers(asked):
    asked.save(reading())
    draft = reading(6.4, typed="6,4", person="Kim", meter="pen", unit="mS/cm", note="n", round_id="r", marks=("m",),
                    data={"a": 1})  # fmt: skip
    (saved,) = asked.save(draft)
    given = {name: getattr(draft, name) for name in draft.__struct_fields__}
    assert saved == Record(id=saved.id, format=1, device="bench", seq=2, lamport=2, entered_at=NOON, **given)
    assert asked.get(saved.id) == saved and asked.get("none") is None


@pytest.mark.parametrize(("seconds", "mark"), [
    (0, None), (-3_600, None), (-3_601, "clock stepped back"), (400 * 86_400, None),
    (400 * 86_400 + 1, "clock far ahead"), (-400 * 86_400, "clock stepped back"),
])  # fmt: skip
def test_a_clock_is_odd_an_hour_back_or_four_hundred_days_ahead(tmp_path, seconds, mark):
    at = [NOON]
    with opened(tmp_path / "history", now=lambda: at[0]) as history:
        history.save(reading())
        at[0] += timedelta(seconds=seconds)
        assert (history.clock_concern() is None) is (mark is None)
        (saved,) = history.save(reading(minutes=1))
        assert saved.marks == ((mark,) if mark else ())


def test_a_name_is_kept_by_the_place_with_its_last_number(tmp_path, monkeypatch):
    farm, state = tmp_path / "farm" / "history", tmp_path / "state"
    remember(farm, "d-1", 5, state)
    assert recall(farm, state) == Known(device="d-1", path=os.path.realpath(farm), seq=5, fixed=False)
    other = recall(tmp_path / "other", state)
    assert other.seq == 0 and other.device != "d-1" and other.path == os.path.realpath(tmp_path / "other")
    (kept,) = (state / "rounds" / "devices").iterdir()
    assert kept.suffix == ".json" and stat.S_IMODE(kept.parent.stat().st_mode) == 0o700
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "usual"))
    remember(farm, "d-1", 5)
    assert not (tmp_path / "usual").exists(), "not of a folder among temporary files"
    assert recall(farm).device == recall(farm).device != "d-1", "among temporary files by its place"
    monkeypatch.setattr("tempfile.gettempdir", lambda: str(tmp_path / "elsewhere"))
    remember(farm, "d-2", 6)
    assert recall(farm).device == "d-2"
    assert (tmp_path / "usual" / "rounds" / "devices" / kept.name).exists()
    assert recall(tmp_path / "third").device != recall(tmp_path / "third").device, "a new one until it is remembered"
    assert len(new_name()) == 14 and new_name().startswith("d-")


def test_a_history_under_a_name_that_was_given_remembers_nothing(tmp_path):
    state = tmp_path / "state"
    with History.open(tmp_path / "history", device="given", state=state, now=lambda: NOON) as history:
        history.save(reading())
    assert not state.exists() and len(ids_in(tmp_path / "history")) == 1


# --- what is opened, looked at again, counted ---


def test_what_is_no_folder_is_not_opened(tmp_path):
    (tmp_path / "history").write_text("a file")
    for read_only in (True, False):
        with pytest.raises(NotFound, match="is a file"):
            History.open(tmp_path / "history", device="bench", read_only=read_only)


def test_a_paper_log_of_which_a_part_is_known_brings_the_rest(tmp_path):
    first = "Day,pH,Hens,Who,Remark\n03.05.2026,6.1,,Kim,\n05.05.2026,6.3,,Kim,\n"
    more = first.replace("05.05.2026,6.3", "05.05.2026,6.4") + "04.05.2026,6.2,calm,Kim,\n"
    with opened(tmp_path / "history") as history:
        assert paper_log.apply(history, paper_log.preview(history, first, PAPER)) == 2
        history.save(reading(6.2, measured_at=datetime(2026, 5, 4, tzinfo=UTC), typed="6.2"))
        found = paper_log.preview(history, more, PAPER)
        assert [(each.item, each.typed) for each in found.drafts] == [("ph", "6.4"), ("ph", "6.2"), ("mood", "calm")]
        assert found.known == 1
        assert found.sentences[1] == "They are from 2026-05-04 to 2026-05-05."


def test_a_paper_log_is_taken_in_up_to_its_limits(tmp_path, monkeypatch):
    text = "Day,pH,Hens,Who,Remark\n03.05.2026,6.1,,Kim,\n05.05.2026,6.3,,Kim,\n"
    with opened(tmp_path / "history") as history:
        monkeypatch.setattr(paper_log, "MOST_BYTES", len(text))
        monkeypatch.setattr(paper_log, "MOST_ROWS", 2)
        assert len(paper_log.preview(history, text, PAPER).drafts) == 2
        with pytest.raises(BadInput, match="characters long"):
            paper_log.preview(history, text + "\n", PAPER)
        monkeypatch.setattr(paper_log, "MOST_BYTES", 10_000)
        with pytest.raises(BadInput, match="3 rows"):
            paper_log.preview(history, text + ",,,,\n", PAPER)


def month_of_another(root, *lines, name="stick", month="2026-05"):
    path = root / "history" / name / month[:4] / f"{month}.jsonl"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(b"".join(lines))
    return path


def record_line(number, **changes):
    fields = {"id": f"019e7de7-be00-7000-8000-{number:012d}", "device": "stick", "seq": number, "lamport": number}
    return sealed(msgspec.json.encode(msgspec.structs.replace(RECORD, **fields, **changes)))


def test_odd_strange_and_newer_lines_are_counted_over_starts_and_refreshes(tmp_path):
    strange = sealed(b"[]")
    odd = sealed(open_line(record_line(1)[:-1]).replace(b'"value":6.4', b'"value":"x"'))
    newer = sealed(open_line(record_line(2)[:-1]).replace(b'"format":1', b'"format":2'))
    path = month_of_another(tmp_path, odd, strange, newer, record_line(3))
    two = [
        "2 records of device stick are odd and passed over: `rounds check FARM` names what is odd.",
        "1 record of device stick is from a newer version of this program and passed over: bring this laptop up to "
        "date.",
    ]
    for _ in range(2):
        with opened(tmp_path / "history") as history:
            assert list(history.warnings) == two
            assert [each.seq for each in history.records() if each.device == "stick"] == [3]
            history.flush()
            history.save(reading())
    with opened(tmp_path / "history") as history:
        other = sealed(open_line(odd[:-1]).replace(b"000000000001", b"000000000009"))
        path.write_bytes(path.read_bytes() + other + sealed(b"7") + record_line(4))
        assert history.refresh() and not history.refresh()
        assert history.warnings[0].startswith("4 records of device stick are odd")


def test_what_a_newer_version_wrote_under_this_name_is_only_read(tmp_path):
    newer = open_line(record_line(2)[:-1]).replace(b'"format":1', b'"format":2').replace(b"stick", b"bench")
    month_of_another(tmp_path, sealed(newer), name="bench")
    with opened(tmp_path / "history") as history:
        assert history.read_only
        assert history.warnings == (
            "A newer version of this program has written here under this laptop's name: it can be read, but not added "
            "to. Bring this laptop up to date.",
        )
        with pytest.raises(NotSaved, match="newer version"):
            history.save(reading())


def test_an_import_that_was_broken_off_is_completed_and_said(tmp_path):
    with opened(tmp_path / "history") as history:
        history.save(reading())
    record = msgspec.structs.replace(RECORD, id="019e7de7-be00-7000-8000-000000000001", device="stick", seq=1)
    arrival = Arrivals(key=("stick", "2026-05"), records=((record, sealed(msgspec.json.encode(record))),))
    own = tmp_path / "history" / "bench"
    (own / "one.staged").write_bytes(staged_bytes([arrival]))
    (own / "two.staged").write_bytes(staged_bytes([arrival])[:-1])
    with opened(tmp_path / "history") as history:
        assert history.recovered == ("An import that was broken off has been completed.",)
        assert record in history.records()
    assert staged_files(own) == []
    with opened(tmp_path / "history") as history:
        assert history.recovered == () and len(history.records()) == 2
    (own / "three.staged").write_bytes(staged_bytes([arrival]))
    with opened(tmp_path / "history") as history:
        assert len(history.records()) == 2, "what is known is not taken in twice"
    assert check(tmp_path / "history").sound


def test_a_journal_that_grew_shrank_or_got_a_copy_is_read_as_it_is_now(tmp_path):
    path = month_of_another(tmp_path, record_line(1), record_line(2))
    with opened(tmp_path / "history") as history:
        numbers = lambda: [each.seq for each in history.records()]  # noqa: E731
        assert numbers() == [1, 2]
        path.write_bytes(path.read_bytes() + record_line(3))
        assert history.refresh() and numbers() == [1, 2, 3]
        path.with_name("2026-05 (copy).jsonl").write_bytes(record_line(2) + record_line(4))
        assert history.refresh() and numbers() == [1, 2, 3, 4]
        path.with_name("2026-05 (copy).jsonl").unlink()
        path.write_bytes(record_line(1))
        assert history.refresh() and numbers() == [1]
        month_of_another(tmp_path, record_line(9, measured_at=NOON - timedelta(days=40)), month="2026-04")
        assert history.refresh() and numbers() == [9, 1]


def test_a_forged_counter_leaves_room_for_the_counting_that_follows(tmp_path):
    month_of_another(tmp_path, record_line(1), sealed(
        open_line(record_line(2)[:-1]).replace(b'"lamport":2', b'"lamport":%d' % 2**41)
    ))  # fmt: skip
    with opened(tmp_path / "history") as history:
        first, second = history.save(reading(), reading(minutes=1))
        assert (first.seq, second.seq, first.lamport, second.lamport) == (1, 2, 2**40 + 1, 2**40 + 2)


def test_the_newest_of_fifteen_months_is_kept_ready(tmp_path):
    """A little more than 400 days: of sixteen months with records the oldest is not looked at."""
    with opened(tmp_path / "history") as history:
        history.save(*(reading(item=f"i{n}", minutes=-n * 31 * 1440) for n in range(16)))
        assert len({(each.measured_at.year, each.measured_at.month) for each in history.records()}) == 16
    (tmp_path / "history" / "bench" / "latest.summary").unlink()
    with opened(tmp_path / "history", read_only=True) as history:
        ready = {item for _, item in history.latest_by_item(within_days=10_000)}
        assert ready == {f"i{n}" for n in range(15)}
        assert history.latest("north", "i15", within_days=10_000) is not None


def test_monthly_files_are_rewritten_a_while_after_the_last_wake_and_not_after_the_end():
    import threading
    import time

    from rounds.history.rewriter import Rewriter

    called, moments = threading.Event(), []

    def work():
        moments.append(time.monotonic())
        called.set()

    rewriter = Rewriter(work, quiet_s=0.15)
    rewriter.wake()
    rewriter.wake()
    woken = time.monotonic()
    assert called.wait(30)
    assert moments[0] >= woken + 0.14
    called.clear()
    rewriter.wake()
    assert called.wait(30)
    rewriter.stop()
    rewriter.wake()
    rewriter.stop()
    assert len(moments) == 2


def test_a_record_is_found_by_its_id_whatever_month_it_lies_in(tmp_path):
    with opened(tmp_path / "history") as history:
        saved = history.save(*(reading(minutes=-n * 30 * 1440) for n in range(6)))
        changed = history.replace(saved[5].id, reading(7.0, minutes=-5 * 30 * 1440))
    with opened(tmp_path / "history", read_only=True) as history:
        assert [history.get(each.id) for each in saved] == list(saved)
        assert history.chain(changed.id) == [saved[5], changed]
        ids = history.library.all_ids()
        assert ids[saved[0].id] == ("bench", "2026-05") and len(ids) == 7


def test_what_is_said_of_damaged_lines_and_files(tmp_path):
    first, second = record_line(1), record_line(2)
    turned = flipped(second, 45)
    path = month_of_another(tmp_path, first, turned, b"scribble\n", record_line(3))
    where = f"2026-05.jsonl of stick, byte {len(first)}"
    with opened(tmp_path / "history") as history:
        assert history.recovered[0] == f"A damaged line ({where}) could not be read."
        assert [each.seq for each in history.records()] == [1, 3]
    path.write_bytes(first + turned + record_line(3))
    assert check(tmp_path / "history").damaged == (f"A damaged line ({where}) could be put right: 1 records rescued.",)
    path.write_bytes(first + turned[:-1] + second + record_line(3))
    assert check(tmp_path / "history").damaged == (f"A damaged line ({where}) could be put right: 1 records rescued.",)
    path.with_suffix(".json").write_bytes(b"scribble")
    path.write_bytes(first)
    table = "The monthly file 2026-05.json of stick is damaged; the journal was read in its place."
    assert check(tmp_path / "history").damaged == (table,)
    path.unlink()
    write_table(path.with_suffix(".json"), Disk(), [msgspec.json.decode(open_line(second[:-1]))], 0)
    (told,) = [each for each in check(tmp_path / "history").damaged if "lacked" in each]
    assert told == "The journal of 2026-05 lacked 1 records, which its monthly file still had."


def test_an_unfinished_end_is_put_aside_or_closed_and_said(tmp_path):
    with opened(tmp_path / "history") as history:
        history.save(reading(), reading(minutes=1))
    path = tmp_path / "history" / "bench" / "2026" / "2026-05.jsonl"
    whole = path.read_bytes()
    path.write_bytes(whole[:-1])
    with opened(tmp_path / "history") as history:
        assert history.recovered == (
            "The last record of 2026-05.jsonl was whole, but its line was not closed; it is now.",
        )
    assert path.read_bytes() == whole
    path.write_bytes(whole + whole[:30])
    with opened(tmp_path / "history") as history:
        assert history.recovered == ("The last line of 2026-05.jsonl was cut off after 30 bytes; it is in quarantine.",)
        assert history.save(reading(minutes=2))[0].seq == 3
    assert [each.read_bytes() for each in quarantined(tmp_path / "history")] == [whole[:30]]


def test_an_import_of_which_a_part_is_there_brings_the_rest_once(tmp_path):
    month_of_another(tmp_path / "b", record_line(1), record_line(2))
    with opened(tmp_path / "history") as history:
        assert merge.apply(history, merge.preview(history, tmp_path / "b")) == 2
        month_of_another(tmp_path / "b", *(record_line(n) for n in range(1, 5)))
        found = merge.preview(history, tmp_path / "b")
        assert ([each.seq for each in found.new], found.known) == ([3, 4], 2)
        assert merge.apply(history, found) == 2
        assert merge.apply(history, found) == 2, "the same preview again"
        assert [each.seq for each in history.records()] == [1, 2, 3, 4]
    lines = (tmp_path / "history" / "stick" / "2026" / "2026-05.jsonl").read_bytes()
    assert lines == b"".join(record_line(n) for n in range(1, 5)), "each once"


@pytest.mark.parametrize(("minutes", "there"), [(-400 * DAY, True), (-400 * DAY - 1, False)])
def test_what_is_asked_without_a_limit_reaches_back_400_days(asked, minutes, there):
    (saved,) = asked.save(reading(minutes=minutes))
    assert asked.latest("north", "ph") == (saved if there else None)
    assert asked.latest_by_item() == ({("north", "ph"): saved} if there else {})


def test_what_cannot_be_written_again_is_passed_over():
    from rounds.history.door import let_through

    lone = {"id": "x", "seq": 7, "device": "stick", "note": "\ud800"}
    record, told = let_through(lone)
    assert record is None
    assert told == "Record 7 of stick: it is nested too deep, or holds what cannot be kept; it is passed over."
    record, told = let_through({"id": "x", "seq": {}, "device": None})
    assert told.startswith("Record ? of ?: ")
