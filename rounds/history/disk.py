"""The one seam to the file system: every call that can fail, so that tests can count, fail and record them."""

import errno
import os
import stat
import sys
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import BinaryIO

if sys.platform == "darwin":
    import fcntl

FILE_MODE = 0o600
FOLDER_MODE = 0o700
LARGEST_FILE = 64 << 20
"""No file of a history is larger: what is beyond is not read, so that nobody can fill the memory. [bytes]"""
_QUIETLY = getattr(os, "O_BINARY", 0) | getattr(os, "O_CLOEXEC", 0)
_ITSELF = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
"""Neither through a link that somebody put there, nor waiting for the other end of a pipe."""


class Disk:
    """The calls of the operating system that the history uses, one method each."""

    def open(self, path: Path, flags: int) -> int:
        return _regular(os.open(path, flags | _QUIETLY | _ITSELF, FILE_MODE))

    def close(self, fd: int) -> None:
        os.close(fd)

    def write(self, fd: int, data: bytes) -> int:
        return os.write(fd, data)

    def fsync(self, fd: int) -> None:
        if sys.platform == "darwin":
            fcntl.fcntl(fd, fcntl.F_FULLFSYNC)  # there a plain fsync stops at the cache of the disk
        else:
            os.fsync(fd)

    def ftruncate(self, fd: int, size: int) -> None:
        os.ftruncate(fd, size)

    def replace(self, source: Path, target: Path) -> None:
        os.replace(source, target)  # noqa: PTH105

    def link(self, source: Path, target: Path) -> None:
        os.link(source, target)

    def unlink(self, path: Path) -> None:
        os.unlink(path)  # noqa: PTH108

    def mkdir(self, path: Path) -> None:
        os.mkdir(path, FOLDER_MODE)  # noqa: PTH102

    def rmdir(self, path: Path) -> None:
        os.rmdir(path)  # noqa: PTH106

    def sync_folder(self, path: Path) -> None:
        """Make names durable that were added to or taken from a folder (Windows keeps them by itself)."""
        if os.name == "nt":
            return
        fd = os.open(path, os.O_RDONLY)
        try:
            os.fsync(fd)
        finally:
            os.close(fd)

    def read(self, path: Path, start: int = 0) -> bytes:
        """Read a regular file of a history to its end; a link, a pipe or one that is too large is an error."""
        fd = _regular(os.open(path, os.O_RDONLY | _QUIETLY | _ITSELF))
        with os.fdopen(fd, "rb", buffering=0) as file:
            if os.fstat(file.fileno()).st_size > LARGEST_FILE:
                raise OSError(errno.EFBIG, f"it is larger than {LARGEST_FILE >> 20} MB")
            file.seek(start)
            return file.read()

    def read_any(self, path: Path, most: int | None = None) -> bytes:
        """Read a regular file of the grower's own choice, through links too; one larger than `most` is an error."""
        with self.open_any(path) as file:
            size = os.fstat(file.fileno()).st_size
            if most is not None and size > most:
                raise OSError(errno.EFBIG, f"it is larger than {most >> 20} MB")
            return file.read() if most is None else file.read(most + 1)

    def open_any(self, path: Path) -> BinaryIO:
        """Open a regular file of the grower's own choice for reading, through links too."""
        return os.fdopen(_regular(os.open(path, os.O_RDONLY | _QUIETLY | getattr(os, "O_NONBLOCK", 0))), "rb")

    def scan(self, path: Path) -> list[os.DirEntry[str]]:
        """List what lies in a folder, in order of names."""
        with os.scandir(path) as entries:
            return sorted(entries, key=lambda each: each.name)


def _regular(fd: int) -> int:
    """Give an open file back where it is one; close anything else."""
    if stat.S_ISREG(os.fstat(fd).st_mode):
        return fd
    os.close(fd)
    raise OSError(errno.EINVAL, "it is not a regular file")


def size_of(path: Path) -> int | None:
    """Give the size of a regular file; None where there is none, nor anything else of that name. [bytes]

    Raises
    ------
    OSError
        Where that cannot be told, or it is something else.
    """
    try:
        status = os.lstat(path)
    except FileNotFoundError:
        return None
    if not stat.S_ISREG(status.st_mode):
        raise OSError(errno.EINVAL, "it is not a regular file")
    return status.st_size


def write_all(disk: Disk, fd: int, data: bytes) -> None:
    """Write every byte, however short the single writes are."""
    rest = memoryview(data)
    while rest:
        written = disk.write(fd, bytes(rest))
        if written <= 0:
            raise OSError(5, "nothing was written")
        rest = rest[written:]


def make_folder(disk: Disk, path: Path) -> None:
    """Make a folder and those above it, each durable in its parent."""
    if path.is_dir():
        return
    make_folder(disk, path.parent)
    try:
        disk.mkdir(path)
    except FileExistsError:
        return
    disk.sync_folder(path.parent)


def remove_folder(disk: Disk, path: Path) -> None:
    """Remove a folder of one's own with all that is in it; nothing where there is none."""
    for inside in sorted(path.rglob("*"), reverse=True):
        if inside.is_dir() and not inside.is_symlink():
            disk.rmdir(inside)
        else:
            disk.unlink(inside)
    if path.is_dir():
        disk.rmdir(path)


def write_new(disk: Disk, path: Path, data: bytes | Iterable[bytes]) -> None:
    """Write a file that is there completely or not at all, and stays after a power cut; piece by piece where told."""
    temporary = path.with_name(path.name + ".tmp")
    fd = open_new(disk, temporary)
    try:
        for piece in (data,) if isinstance(data, bytes) else data:
            write_all(disk, fd, piece)
        disk.fsync(fd)
    finally:
        disk.close(fd)
    disk.replace(temporary, path)
    disk.sync_folder(path.parent)


def open_new(disk: Disk, path: Path) -> int:
    """Open a file that this process makes; what bears its name already was left by a crash, or put there."""
    try:
        return disk.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL)
    except FileExistsError:
        disk.unlink(path)
        return disk.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL)


def write_folder(disk: Disk, path: Path, files: Mapping[str, bytes]) -> None:
    """Write a new folder with all that is in it, so that it stays after a power cut wherever it is moved to.

    Parameters
    ----------
    files : mapping from name to content
        Names with `/` lie in folders of their own, which are made too.
    """
    disk.mkdir(path)
    folders = [path]
    for name, data in files.items():
        file = path.joinpath(*name.split("/"))
        for folder in reversed([each for each in file.parents if each.is_relative_to(path)]):
            if folder not in folders:
                disk.mkdir(folder)
                folders.append(folder)
        fd = disk.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL)
        try:
            write_all(disk, fd, data)
            disk.fsync(fd)
        finally:
            disk.close(fd)
    for folder in reversed(folders):
        disk.sync_folder(folder)
