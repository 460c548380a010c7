"""A small derived file that spares the start from reading years: rebuilt when it is missing, damaged or out of date."""

from pathlib import Path
from typing import Annotated

import msgspec

from rounds.history.disk import Disk, open_new, write_all
from rounds.history.files import MonthFiles, Stamp
from rounds.history.folds import FoldRow
from rounds.history.journal import HEAD, checksum
from rounds.history.record import Record

SUMMARY_FORMAT = 4
_SUM_END = len(HEAD) + 16 + 2


class MonthHead(msgspec.Struct, array_like=True):
    """What must be known of a month without opening it."""

    device: str
    month: str
    stamps: tuple[Stamp, ...] = ()
    """Its files as they were when they were last read."""
    read_to: int = 0
    seq: int = 0
    lamport: int = 0
    entered_s: float = 0.0
    """Latest time of entry, in seconds since 1970."""
    newer: int = 0
    """How much in it was written by a newer version of the program. [records or files]"""
    odd: int = 0
    """How many records in it are passed over, in whole or in part."""

    def has_only_grown(self, files: MonthFiles) -> bool:
        """Tell whether nothing has happened to a month's files but that its journal became longer."""
        before, now = ({stamp[0]: stamp for stamp in stamps} for stamps in (self.stamps, files.stamps))
        old, new = before.pop(files.journal.name, None), now.pop(files.journal.name, None)
        return old is not None and new is not None and before == now and new[1] > old[1] >= self.read_to

    def is_unfinished(self) -> bool:
        """Tell whether the journal has something behind its last whole line."""
        return any(name == f"{self.month}.jsonl" and size > self.read_to for name, size, _ in self.stamps)


class DerivedSummary(msgspec.Struct):
    """Heads of all months, every replacement, the newest standing record of each station and item, and all folds."""

    format: Annotated[int, msgspec.Meta(ge=SUMMARY_FORMAT, le=SUMMARY_FORMAT)] = SUMMARY_FORMAT
    months: list[MonthHead] = []
    replacements: list[tuple[str, str, int, str]] = []
    latest: list[Record] = []
    folds: list[FoldRow] = []


def read_summary(path: Path, disk: Disk) -> DerivedSummary:
    """Give the summary, or an empty one where there is none that holds."""
    try:
        data = disk.read(path)
        rest = data[_SUM_END:]
        if data[:_SUM_END] == HEAD + checksum(rest) + b'",':
            return msgspec.json.decode(b"{" + rest, type=DerivedSummary)
    except (OSError, msgspec.MsgspecError, UnicodeDecodeError):
        pass
    return DerivedSummary()


def write_summary(path: Path, disk: Disk, summary: DerivedSummary) -> None:
    """Swap the summary; not synced, since a lost one is rebuilt and a damaged one is seen."""
    rest = msgspec.json.encode(summary)[1:]
    temporary = path.with_name(path.name + ".tmp")
    fd = open_new(disk, temporary)
    try:
        write_all(disk, fd, HEAD + checksum(rest) + b'",' + rest)
    finally:
        disk.close(fd)
    disk.replace(temporary, path)
