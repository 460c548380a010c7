"""The one seam to the file system: every call that can fail, so that tests can count, fail and record them."""

import os
import sys
from collections.abc import Mapping
from pathlib import Path

if sys.platform == "darwin":
    import fcntl

FILE_MODE = 0o600
FOLDER_MODE = 0o700


class Disk:
    """The calls of the operating system that the history uses, one method each."""

    def open(self, path: Path, flags: int) -> int:
        return os.open(path, flags | getattr(os, "O_BINARY", 0) | getattr(os, "O_CLOEXEC", 0), FILE_MODE)

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
        with path.open("rb") as file:
            file.seek(start)
            return file.read()


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


def write_new(disk: Disk, path: Path, data: bytes) -> None:
    """Write a file that is there completely or not at all, and stays after a power cut."""
    temporary = path.with_name(path.name + ".tmp")
    fd = disk.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    try:
        write_all(disk, fd, data)
        disk.fsync(fd)
    finally:
        disk.close(fd)
    disk.replace(temporary, path)
    disk.sync_folder(path.parent)


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
