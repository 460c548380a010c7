"""Several records that were saved as one are there together or not at all: what a power cut left of them goes.

Each record of such a save carries the first and the last number of it. Where numbers are missing and none follows, the
save never came to its end, and nobody was told that anything was saved.
"""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

import msgspec

from rounds.history.disk import Disk
from rounds.history.files import MonthFiles
from rounds.history.journal import opened
from rounds.history.month import DamagedMonth, read_texts
from rounds.history.record import Record

Span = tuple[int, int]


class OpenSaves:
    """Saves of which not every record has been seen."""

    def __init__(self) -> None:
        self._seen: dict[tuple[str, Span], dict[int, str]] = {}

    def add(self, device: str, records: Iterable[Record]) -> None:
        """Take in what was read of a device, and forget what is complete."""
        for record in records:
            if record.saved_with is not None and record.device == device:
                self._seen.setdefault((device, record.saved_with), {})[record.seq] = record.id
        whole = [key for key, seen in self._seen.items() if len(seen) > key[1][1] - key[1][0]]
        for key in whole:
            del self._seen[key]

    def of(self, device: str, last: int) -> dict[Span, set[str]]:
        """Give those at the end of a device's numbers, each with the ids of what is there of it.

        Parameters
        ----------
        last : int
            The highest number of the device.
        """
        return {
            span: set(seen.values()) for (name, span), seen in self._seen.items() if name == device and span[1] >= last
        }

    def clear(self) -> None:
        """Forget all of them."""
        self._seen.clear()


class _Line(msgspec.Struct):
    """As much of a record as tells to which save it belongs."""

    seq: int
    saved_with: Span | None = None


class _Piece(NamedTuple):
    start: int
    raw: bytes
    line: _Line | None


def numbers_on_disk(disk: Disk, files: MonthFiles, span: Span) -> set[int]:
    """Give the numbers of a save that stand in a journal at this moment."""
    lines = (each.line for each in _pieces(disk.read(files.journal)))
    return {line.seq for line in lines if line is not None and span[0] <= line.seq <= span[1]}


def where_it_begins(disk: Disk, files: MonthFiles, span: Span) -> int | None:
    """Tell where in a journal a save begins that did not come to its end.

    Returns
    -------
    int or None
        None where it is not certain that a power cut left it so: its monthly file holds some of it, other records
        stand behind it, or what is damaged there does not look like bytes that never arrived. [bytes]
    """
    data = disk.read(files.journal)
    begin = next((each.start for each in _pieces(data) if not _is_before(each, span)), None)
    if begin is None or begin < _covered(disk, files):
        return None
    rest = [each for each in _pieces(data) if each.start >= begin]
    return begin if all(_may_be_left(each, span, len(data)) for each in rest) else None


def _pieces(data: bytes) -> Iterator[_Piece]:
    position = 0
    while position < len(data):
        end = data.find(b"\n", position)
        end = len(data) if end < 0 else end
        raw = data[position:end]
        yield _Piece(position, raw, _line(raw))
        position = end + 1


def _line(raw: bytes) -> _Line | None:
    body = opened(raw)
    try:
        return None if body is None else msgspec.json.decode(body, type=_Line)
    except (msgspec.MsgspecError, UnicodeDecodeError):
        return None


def _is_before(piece: _Piece, span: Span) -> bool:
    return not piece.raw or (piece.line is not None and piece.line.saved_with != span)


def _may_be_left(piece: _Piece, span: Span, end: int) -> bool:
    if piece.line is not None:
        return piece.line.saved_with == span
    return not piece.raw or b"\0" in piece.raw or piece.start + len(piece.raw) == end


def _covered(disk: Disk, files: MonthFiles) -> int:
    try:
        table = read_texts(files.table, disk)
    except (DamagedMonth, OSError):
        return 0
    return table[1] if table is not None else 0
