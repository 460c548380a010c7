"""An import is first written down as a whole, so that a crash in its midst can neither halve nor lose it."""

from collections.abc import Iterator, Sequence
from pathlib import Path

import msgspec

from rounds.history.disk import Disk
from rounds.history.door import record_of
from rounds.history.files import Key
from rounds.history.journal import checksum, opened
from rounds.history.record import Record


class Arrivals(msgspec.Struct, frozen=True, kw_only=True):
    """Records that come into one month of one device, each with its sealed line."""

    key: Key
    records: tuple[tuple[Record, bytes], ...]


def staged_bytes(arrivals: Sequence[Arrivals]) -> bytes:
    """Write an import as one sealed piece."""
    rows = [(each.key, b"".join(line for _, line in each.records)) for each in arrivals]
    body = msgspec.msgpack.encode(rows)
    return checksum(body) + body


def read_staged(path: Path, disk: Disk) -> list[Arrivals] | None:
    """Give an import that was broken off, or None where it was not even written down as a whole."""
    data = disk.read(path)
    if data[:16] != checksum(data[16:]):
        return None
    rows = msgspec.msgpack.decode(data[16:], type=list[tuple[Key, bytes]])
    return [Arrivals(key=key, records=tuple(_records(lines))) for key, lines in rows]


def staged_files(own: Path) -> list[Path]:
    return sorted(own.glob("*.staged"))


def _records(lines: bytes) -> Iterator[tuple[Record, bytes]]:
    for line in lines.split(b"\n"):
        body = opened(line)
        record = record_of(msgspec.json.decode(body)) if body is not None else None
        if record is not None:
            yield record, line + b"\n"
