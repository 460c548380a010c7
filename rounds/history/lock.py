"""One writer at a time between windows, and a counter by which each sees that another one wrote."""

import os
import sys
import time
from pathlib import Path

from rounds.errors import NotSaved
from rounds.history.disk import Disk

if sys.platform == "win32":
    import msvcrt

    def _try_lock(fd: int) -> None:
        os.lseek(fd, 1024, os.SEEK_SET)
        msvcrt.locking(fd, msvcrt.LK_NBLCK, 1)

    def _unlock(fd: int) -> None:
        os.lseek(fd, 1024, os.SEEK_SET)
        msvcrt.locking(fd, msvcrt.LK_UNLCK, 1)
else:
    import fcntl

    def _try_lock(fd: int) -> None:
        fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)

    def _unlock(fd: int) -> None:
        fcntl.flock(fd, fcntl.LOCK_UN)


class FolderLock:
    """A lock file. It holds a counter that every writer raises before it appends, so that a killed one is seen too."""

    def __init__(self, path: Path, disk: Disk, wait_s: float = 10.0) -> None:
        self._path = path
        self._disk = disk
        self._wait_s = wait_s
        self._fd = -1
        self._depth = 0

    def take(self) -> None:
        """Take the lock; one holder may take it several times.

        Raises
        ------
        NotSaved
            Where another window holds it for longer than ten seconds.
        OSError
            Where the lock file cannot be made.
        """
        if self._depth == 0:
            self._wait()
        self._depth += 1

    def release(self) -> None:
        """Let go as often as it was taken."""
        self._depth -= 1
        if self._depth == 0:
            _unlock(self._fd)

    def is_open(self) -> bool:
        return self._fd >= 0

    def generation(self) -> int:
        """Tell how often anybody was about to write here."""
        if self._fd < 0:
            return self._generation_unlocked()
        os.lseek(self._fd, 0, os.SEEK_SET)
        return int.from_bytes(os.read(self._fd, 8), "big")

    def raise_generation(self) -> int:
        """Say that something is about to be written."""
        now = self.generation() + 1
        os.lseek(self._fd, 0, os.SEEK_SET)
        self._disk.write(self._fd, now.to_bytes(8, "big"))
        return now

    def close(self) -> None:
        if self._fd >= 0:
            self._disk.close(self._fd)
            self._fd = -1

    def _generation_unlocked(self) -> int:
        try:
            return int.from_bytes(self._disk.read(self._path)[:8], "big")
        except OSError:
            return 0

    def _open(self) -> None:
        self._fd = self._disk.open(self._path, os.O_RDWR | os.O_CREAT)

    def _wait(self) -> None:
        if self._fd < 0:
            self._open()
        deadline = time.monotonic() + self._wait_s
        while True:
            try:
                _try_lock(self._fd)
            except (BlockingIOError, PermissionError) as error:
                if time.monotonic() > deadline:
                    raise NotSaved(
                        "Another window is holding the history, so nothing was saved.",
                        "Close it or wait for it, then save again.",
                    ) from error
                time.sleep(0.002)
            else:
                return
