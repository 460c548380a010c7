"""One writer at a time between windows, and a counter by which each sees that another one wrote."""

import os
import platform
import sys
import time
from pathlib import Path

from rounds.errors import NotSaved
from rounds.history.disk import Disk
from rounds.text import clean_line

SHORT_S = 1.5
"""So long a save waits for another window; then somebody at a reservoir wants to know. [s]"""
PATIENT_S = 60.0
"""So long a merge, a backup or a repair waits for its turn. [s]"""
_COUNTER, _HOLDER = 8, 120
"""Lengths of what stands in the lock file: the counter, and who raised it last. [bytes]"""

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

    def __init__(self, path: Path, disk: Disk) -> None:
        self._path = path
        self._disk = disk
        self._fd = -1
        self._depth = 0

    def take(self, wait_s: float = SHORT_S) -> None:
        """Take the lock; one holder may take it several times.

        Raises
        ------
        NotSaved
            Where another window holds it for longer than `wait_s`; the sentence says who.
        OSError
            Where the lock file cannot be made.
        """
        if self._depth == 0:
            self._wait(wait_s)
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
        return int.from_bytes(os.read(self._fd, _COUNTER), "big")

    def raise_generation(self) -> int:
        """Say that something is about to be written, and by whom."""
        now = self.generation() + 1
        os.lseek(self._fd, 0, os.SEEK_SET)
        self._disk.write(self._fd, now.to_bytes(_COUNTER, "big") + _who().encode()[:_HOLDER].ljust(_HOLDER, b"\0"))
        return now

    def holder(self) -> str:
        """Tell who raised the counter last: where the lock is held, its holder."""
        try:
            text = self._disk.read(self._path)[_COUNTER : _COUNTER + _HOLDER].rstrip(b"\0")
        except OSError:
            return ""
        return clean_line(text.decode(errors="replace"), _HOLDER)

    def close(self) -> None:
        if self._fd >= 0:
            self._disk.close(self._fd)
            self._fd = -1

    def _generation_unlocked(self) -> int:
        try:
            return int.from_bytes(self._disk.read(self._path)[:_COUNTER], "big")
        except OSError:
            return 0

    def _open(self) -> None:
        self._fd = self._disk.open(self._path, os.O_RDWR | os.O_CREAT)

    def _wait(self, wait_s: float) -> None:
        if self._fd < 0:
            self._open()
        deadline = time.monotonic() + wait_s
        while True:
            try:
                _try_lock(self._fd)
            except (BlockingIOError, PermissionError) as error:
                if time.monotonic() > deadline:
                    holder = f" ({held})" if (held := self.holder()) else ""
                    raise NotSaved(
                        f"Another window is holding the history{holder}, so nothing was saved.",
                        "Close it or wait for it, then save again.",
                    ) from error
                time.sleep(0.002)
            else:
                return


def _who() -> str:
    """This process, as somebody at another window would look for it."""
    what = " ".join([Path(sys.argv[0] or "python").name, *sys.argv[1:2]])
    return f"process {os.getpid()} on {platform.node()}, {what}"
