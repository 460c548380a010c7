"""Lines of the journal, and the calls of the disk, against ones made by hand."""

import errno
import os
import stat
from hashlib import blake2b

import pytest
from hand_made import body, flipped, line

from rounds.errors import NotSaved
from rounds.history.append import RESERVE_BYTES, Appender, Reserve, not_saved
from rounds.history.disk import Disk, make_folder, write_all, write_folder, write_new
from rounds.history.journal import mended, parse, salvaged, sealed
from rounds.history.lock import FolderLock
from rounds.history.reading import finished


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


@pytest.mark.parametrize("place", [0, 7, 8, 20, 31, 40, -1])
@pytest.mark.parametrize("bit", [0, 7])
def test_a_single_bit_that_turned_round_is_turned_back(place, bit):
    whole = line(1)[:-1]
    assert mended(flipped(whole, place, bit)) == (body(1),)
    assert mended(flipped(flipped(whole, place, bit), 25)) == ()


def test_lines_up_to_4096_bytes_are_mended_and_12_000_bytes_of_a_file():
    room = 4_096 - (len(line(1)) - 1)
    fits, longer = (flipped(line(1, room + more)[:-1], 60) for more in (0, 1))
    assert (len(fits), len(longer)) == (4_096, 4_097)
    assert mended(fits) == (body(1, room),) and mended(longer) == ()
    many = b"".join(flipped(line(10 + n, 1_400), 45) + line(100 + n) for n in range(10))
    assert [bool(each.rescued) for each in parse(many).damaged] == [True] * 8 + [False] * 2


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
    one = FolderLock(tmp_path / "lock", Disk())
    assert (one.is_open(), one.generation()) == (False, 0)
    one.take()
    one.take()
    assert (one.is_open(), one.generation(), one.raise_generation(), one.raise_generation()) == (True, 0, 1, 2)
    other = FolderLock(tmp_path / "lock", Disk())
    assert other.generation() == 2
    with pytest.raises(NotSaved, match=f"Another window .*process {os.getpid()} on"):
        other.take(0.01)
    one.release()
    with pytest.raises(NotSaved):
        other.take(0.01)
    one.release()
    other.take()
    assert other.raise_generation() == 3 == one.generation()
    other.release()
    for lock in (one, other):
        lock.close()
        lock.close()
        assert not lock.is_open()
    assert one.generation() == 3
    assert int.from_bytes((tmp_path / "lock").read_bytes()[:8], "big") == 3
