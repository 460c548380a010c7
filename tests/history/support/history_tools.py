"""Drafts, clocks and a disk that fails on command."""

import errno
import os
from datetime import UTC, datetime, timedelta

from rounds.history import Draft, History
from rounds.history.disk import Disk

NOON = datetime(2026, 5, 31, 12, 0, tzinfo=UTC)


def reading(value=6.4, *, minutes=0, station="north", item="ph", **more):
    moment = more.pop("measured_at", NOON + timedelta(minutes=minutes))
    return Draft(kind=more.pop("kind", "reading"), station=station, item=item, value=value, measured_at=moment, **more)


def opened(folder, **more):
    more.setdefault("device", "bench")
    more.setdefault("now", lambda: NOON)
    return History.open(folder, **more)


def ids_in(folder):
    """Every id a fresh start reads, superseded ones too."""
    with opened(folder, read_only=True) as history:
        return {each.id for each in history.records(replaced=True)}


class FailingDisk(Disk):
    """Counts the calls and fails the chosen one and those that follow: `times` of them, or all from then on."""

    def __init__(self, fail_at=None, error=errno.EIO, forever=False, short=False, times=1):
        self.calls = 0
        self.names = []
        self._fail_at = fail_at
        self._error = error
        self._forever = forever
        self._short = short
        self._times = times

    def _step(self, name):
        number = self.calls
        self.calls += 1
        self.names.append(name)
        if self._fail_at is None:
            return False
        return number >= self._fail_at and (self._forever or number < self._fail_at + self._times)

    def _maybe_fail(self, name):
        if self._step(name):
            raise OSError(self._error, os.strerror(self._error))

    def heal(self):
        self._fail_at = None

    def open(self, path, flags):
        self._maybe_fail("open")
        return super().open(path, flags)

    def write(self, fd, data):
        if self._step("write"):
            if self._short and len(data) > 1:
                return super().write(fd, data[: len(data) // 2])
            if self._error == errno.ENOSPC and len(data) > 1:
                super().write(fd, data[: len(data) // 3])
            raise OSError(self._error, os.strerror(self._error))
        return super().write(fd, data)

    def fsync(self, fd):
        self._maybe_fail("fsync")
        super().fsync(fd)

    def ftruncate(self, fd, size):
        self._maybe_fail("ftruncate")
        super().ftruncate(fd, size)

    def replace(self, source, target):
        self._maybe_fail("replace")
        super().replace(source, target)

    def link(self, source, target):
        self._maybe_fail("link")
        super().link(source, target)

    def unlink(self, path):
        self._maybe_fail("unlink")
        super().unlink(path)

    def rmdir(self, path):
        self._maybe_fail("rmdir")
        super().rmdir(path)

    def mkdir(self, path):
        self._maybe_fail("mkdir")
        super().mkdir(path)

    def sync_folder(self, path):
        self._maybe_fail("sync_folder")
        super().sync_folder(path)

    def scan(self, path):
        self._maybe_fail("scan")
        return super().scan(path)

    def read(self, path, start=0):
        self._maybe_fail("read")
        return super().read(path, start)
