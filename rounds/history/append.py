"""Adding lines to journals so that they are there after a power cut, or not at all."""

import errno
import os
from collections.abc import Sequence
from pathlib import Path

from rounds.errors import NotSaved
from rounds.history.disk import Disk, make_folder, write_all

RESERVE_BYTES = 1 << 20
FULL = {errno.ENOSPC, errno.EDQUOT}
FORBIDDEN = {errno.EACCES, errno.EPERM, errno.EROFS}


class NotConfirmed(NotSaved):
    """Neither writing nor taking back worked: the record may be there or not, and the same one is written again."""


class Reserve:
    """A megabyte kept for the day the disk is full, so that some thousand readings can still be written then."""

    def __init__(self, path: Path, disk: Disk) -> None:
        self.path = path
        self.used = False
        self._disk = disk

    def provide(self) -> None:
        """Set the reserve aside where there is room for it; never an error."""
        try:
            if self.path.exists() and self.path.stat().st_size >= RESERVE_BYTES:
                return
            if not self.path.parent.is_dir() or _free_bytes(self.path.parent) < 3 * RESERVE_BYTES:
                return
            self._fill()
        except OSError:
            return
        self.used = False

    def release(self) -> bool:
        """Give the room free; tell whether there was any."""
        try:
            self._disk.unlink(self.path)
        except OSError:
            return False
        self.used = True
        return True

    def _fill(self) -> None:
        fd = self._disk.open(self.path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        try:
            write_all(self._disk, fd, os.urandom(RESERVE_BYTES))
        finally:
            self._disk.close(fd)


class Appender:
    """Appends to journals: every byte written and synced, or everything taken back."""

    def __init__(self, root: Path, disk: Disk, reserve: Reserve) -> None:
        self._root = root
        self._disk = disk
        self._reserve = reserve
        self._anchored: set[Path] = set()

    def append(self, parts: Sequence[tuple[Path, bytes]]) -> None:
        """Append to one or several journals: all of it is durable on return.

        Raises
        ------
        NotSaved
            Where nothing was saved.
        NotConfirmed
            Where it could not even be taken back.
        """
        try:
            self._try(parts)
        except OSError as error:
            if isinstance(error, NotSaved):
                raise
            if error.errno not in FULL or not self._reserve.release():
                raise not_saved(error) from error
            self._again(parts)

    def cut(self, path: Path, size: int) -> None:
        """Take an unfinished end off a journal."""
        fd = self._disk.open(path, os.O_WRONLY)
        try:
            self._disk.ftruncate(fd, size)
            self._disk.fsync(fd)
        finally:
            self._disk.close(fd)

    def _again(self, parts: Sequence[tuple[Path, bytes]]) -> None:
        try:
            self._try(parts)
        except OSError as error:
            raise error if isinstance(error, NotSaved) else not_saved(error) from error

    def _try(self, parts: Sequence[tuple[Path, bytes]]) -> None:
        done: list[tuple[Path, int]] = []
        try:
            self._anchor([path for path, _ in parts if path not in self._anchored])
            for path, data in parts:
                self._one(path, data, done)
        except OSError as error:
            self._anchored.clear()
            self._take_back(done, error)
            raise

    def _one(self, path: Path, data: bytes, done: list[tuple[Path, int]]) -> None:
        fd = self._open(path)
        try:
            done.append((path, os.fstat(fd).st_size))
            write_all(self._disk, fd, data)
            self._disk.fsync(fd)
        finally:
            self._disk.close(fd)

    def _anchor(self, paths: Sequence[Path]) -> None:
        """Make files, their names and those of the folders above them durable before anything is written: once.

        Also where somebody else made them, who may have died before syncing their folder.
        """
        for path in paths:
            make_folder(self._disk, path.parent)
            self._disk.close(self._open(path))
        fresh = {each for path in paths for each in (path, *path.parents) if self._is_inside(each)} - self._anchored
        for folder in sorted({each.parent for each in fresh}, reverse=True):
            self._disk.sync_folder(folder)
        self._anchored |= fresh

    def _open(self, path: Path) -> int:
        return self._disk.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND | getattr(os, "O_NOFOLLOW", 0))

    def _is_inside(self, path: Path) -> bool:
        return path == self._root or self._root in path.parents

    def _take_back(self, done: list[tuple[Path, int]], error: OSError) -> None:
        stuck = False
        for path, size in done:
            try:
                self.cut(path, size)
            except OSError:
                stuck = True
        if stuck:
            raise NotConfirmed(
                f"It is not confirmed that this was saved: {error.strerror or error}.",
                "What was typed is still here: save it again; it will not be written twice.",
            ) from error


def _free_bytes(folder: Path) -> int:
    status = os.statvfs(folder) if hasattr(os, "statvfs") else None
    return status.f_bavail * status.f_frsize if status else 1 << 40


def not_saved(error: OSError) -> NotSaved:
    if error.errno in FULL:
        return NotSaved("The disk is full, so nothing was saved.", "Make room on it and save again.")
    if error.errno in FORBIDDEN:
        return NotSaved(
            "The farm folder can only be read, so nothing was saved.", "Allow writing to it and save again."
        )
    if error.errno == errno.ELOOP:
        return NotSaved(
            "A file of the history is a link to another place, so nothing was saved.", "A real file is expected."
        )
    return NotSaved(f"Nothing was saved: {error.strerror or error}.", "What was typed is still here: save it again.")
