"""Lines of the journal: one record each, with a checksum over its exact bytes."""

import re
from hashlib import blake2b

import msgspec

HEAD = b'{"sum":"'
_MIDDLE = b'","rec":'
_TAIL = b"}"
SUM_DIGITS = 16
_BODY = len(HEAD) + SUM_DIGITS + len(_MIDDLE)
_LONGEST_MENDED = 4_096
_MOST_MENDED_BYTES = 12_000
"""So much of a file is mended bit by bit at most: it takes some tenths of a second."""
_MOST_BRACES = 8
_MOST_PIECES = 20_000
"""So many beginnings of lines are tried in a damaged file at most."""
_SEAL = re.compile(rb'\{"sum":"[0-9a-f]{16}","rec":')
_LINE_BEGINS = re.compile(rb"\n(?=" + _SEAL.pattern + rb")")
_NOT_EMPTY = re.compile(rb"[^\n]")
LONGEST_LINE = 256 << 10
"""A longer line holds no record. [bytes]"""
LARGEST_PIECE = 1 << 20
"""A longer stretch of damaged bytes stays where it is, and is not copied. [bytes]"""


def checksum(body: bytes) -> bytes:
    """Give the first 64 bits of BLAKE2b (RFC 7693) as 16 lower-case hexadecimal digits."""
    return blake2b(body, digest_size=SUM_DIGITS // 2).hexdigest().encode()


def sealed(body: bytes) -> bytes:
    """Make a journal line of the JSON of one record, line feed included.

    Examples
    --------
    >>> opened(sealed(b'{"id":"1"}')[:-1])
    b'{"id":"1"}'
    """
    return b"".join((HEAD, checksum(body), _MIDDLE, body, _TAIL, b"\n"))


def opened(line: bytes) -> bytes | None:
    """Give the JSON of a line (without its line feed), or None where a single bit of it has changed."""
    body = line[_BODY:-1]
    sound = line[:_BODY] == HEAD + checksum(body) + _MIDDLE and line[-1:] == _TAIL
    return body if sound else None


def body_of(line: bytes) -> bytes:
    """Give the JSON of a line with its line feed that was sealed here, or found sound before."""
    return line[_BODY:-2]


class Damaged(msgspec.Struct, frozen=True, kw_only=True):
    """Bytes that are no sound line, and what could still be read in them."""

    start: int
    """Offset in what was parsed. [bytes]"""
    raw: bytes
    rescued: tuple[bytes, ...] = ()


class Parsed(msgspec.Struct, kw_only=True):
    """What a stretch of a journal holds."""

    bodies: list[bytes] = []
    damaged: list[Damaged] = []
    unfinished: bytes = b""
    """The beginning of what follows the last line feed: being written just now, or cut off."""
    end: int = 0
    """Where that begins. [bytes]"""


def parse(data: bytes) -> Parsed:
    """Read lines; a run of unsound ones becomes one damaged piece, from which whole records are rescued."""
    parsed, position, begun = Parsed(), 0, -1
    patience = [_MOST_PIECES, _MOST_MENDED_BYTES]
    while (end := data.find(b"\n", position)) >= 0:
        body = opened(data[position:end]) if end - position <= LONGEST_LINE else None
        if body is not None:
            if begun >= 0:
                _close_run(parsed, data, begun, position, patience)
                begun = -1
            parsed.bodies.append(body)
            position = end + 1
        elif end == position and begun < 0:
            position = _behind_empty_lines(data, position)
        else:
            begun = position if begun < 0 else begun
            position = _next_line(data, position, patience)
    if begun >= 0:
        _close_run(parsed, data, begun, position, patience)
    parsed.unfinished, parsed.end = data[position : position + LONGEST_LINE + 2], position
    return parsed


def _behind_empty_lines(data: bytes, position: int) -> int:
    found = _NOT_EMPTY.search(data, position)
    return found.start() if found is not None else len(data)


def _next_line(data: bytes, position: int, patience: list[int]) -> int:
    """Where behind an unsound line something begins that looks like one; the end of the last line if nothing does."""
    patience[0] -= 1
    found = _LINE_BEGINS.search(data, position) if patience[0] > 0 else None
    return found.end() if found is not None else data.rfind(b"\n") + 1


def _close_run(parsed: Parsed, data: bytes, begun: int, end: int, patience: list[int]) -> None:
    raw = data[begun : end - 1]
    rescued = tuple(_salvaged(raw, patience))
    if not rescued and len(raw) <= patience[1]:
        patience[1] -= len(raw)
        rescued = mended(raw)
    parsed.bodies.extend(rescued)
    parsed.damaged.append(Damaged(start=begun, raw=raw if len(raw) <= LARGEST_PIECE else b"", rescued=rescued))


def salvaged(data: bytes) -> list[bytes]:
    """Find every record whose seal holds, in bytes of any kind: a damaged journal, month file or copy."""
    return _salvaged(data, [10 * _MOST_PIECES])


def _salvaged(data: bytes, patience: list[int]) -> list[bytes]:
    found: list[bytes] = []
    for seal in _SEAL.finditer(data):
        if patience[0] <= 0:
            break
        end = data.find(HEAD, seal.end())
        body = _first_sound(data[seal.start() : min(end if end >= 0 else len(data), seal.start() + LONGEST_LINE)])
        found += [body] if body is not None else []
        patience[0] -= body is None
    return found


def _first_sound(piece: bytes) -> bytes | None:
    """Open a line that has other bytes behind it, trying its last closing braces."""
    end = len(piece)
    for _ in range(_MOST_BRACES):
        end = piece.rfind(_TAIL, 0, end)
        if end < 0:
            return None
        body = opened(piece[: end + 1])
        if body is not None:
            return body
    return None


def mended(raw: bytes) -> tuple[bytes, ...]:
    """Turn every single bit of a damaged line round in turn, until its checksum holds."""
    if not _BODY < len(raw) <= _LONGEST_MENDED:
        return ()
    trial = bytearray(raw)
    for place in range(len(trial)):
        for bit in range(8):
            trial[place] ^= 1 << bit
            body = opened(bytes(trial))
            if body is not None:
                return (body,)
            trial[place] ^= 1 << bit
    return ()
