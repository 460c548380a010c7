"""An import is first written down as a whole, so that a crash in its midst can neither halve nor lose it."""

from collections.abc import Iterator
from pathlib import Path

import msgspec

from rounds.history.disk import Disk
from rounds.history.journal import checksum, opened
from rounds.history.record import Record, record_of


class Part(msgspec.Struct, frozen=True):
    """Sealed journal lines for one month of one device."""

    device: str
    month: str
    lines: bytes

    def records(self) -> Iterator[tuple[Record, bytes]]:
        for line in self.lines.split(b"\n"):
            body = opened(line)
            record = record_of(msgspec.json.decode(body)) if body is not None else None
            if record is not None:
                yield record, line + b"\n"


def staged_bytes(parts: object) -> bytes:
    body = msgspec.msgpack.encode(parts)
    return checksum(body) + body


def read_staged(path: Path, disk: Disk) -> list[Part] | None:
    """Give the parts of an import that was broken off, or None where it was not even written down as a whole."""
    data = disk.read(path)
    if data[:16] != checksum(data[16:]):
        return None
    return msgspec.msgpack.decode(data[16:], type=list[Part])


def staged_files(own: Path) -> list[Path]:
    return sorted(own.glob("*.staged"))
