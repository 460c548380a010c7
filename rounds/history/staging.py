"""An import is first written down as a whole, so that a crash in its midst can neither halve nor lose it."""

import hashlib
from collections.abc import Iterator, Sequence
from pathlib import Path

import msgspec

from rounds.history.disk import Disk
from rounds.history.files import Key
from rounds.history.journal import SUM_DIGITS, checksum


class Arrivals(msgspec.Struct, frozen=True, kw_only=True):
    """Records that come into one month of one device, as their sealed lines."""

    key: Key
    lines: Sequence[bytes]
    usual: bool = False
    """Whether each was found to hold a record with nothing odd about it."""


def staged_pieces(arrivals: Sequence[Arrivals]) -> Iterator[bytes]:
    """Write an import as one sealed piece, month by month: its checksum, then keys and lines as MessagePack."""
    body = hashlib.blake2b(digest_size=SUM_DIGITS // 2)
    for piece in _rows(arrivals):
        body.update(piece)
    yield body.hexdigest().encode()
    yield from _rows(arrivals)


def _rows(arrivals: Sequence[Arrivals]) -> Iterator[bytes]:
    yield b"\xdd" + len(arrivals).to_bytes(4, "big")  # a list
    for each in arrivals:
        data = b"".join(each.lines)
        yield b"\x92" + msgspec.msgpack.encode(each.key)  # a list of two
        yield b"\xc6" + len(data).to_bytes(4, "big")  # bytes
        yield data


def read_staged(path: Path, disk: Disk) -> list[Arrivals] | None:
    """Give an import that was broken off, or None where it was not even written down as a whole."""
    data = disk.read_any(path)
    if data[:SUM_DIGITS] != checksum(data[SUM_DIGITS:]):
        return None
    rows = msgspec.msgpack.decode(data[SUM_DIGITS:], type=list[tuple[Key, bytes]])
    return [Arrivals(key=key, lines=[line + b"\n" for line in lines.split(b"\n") if line]) for key, lines in rows]


def staged_files(own: Path) -> list[Path]:
    return sorted(own.glob("*.staged"))
