"""Lines of the journal: one record each, with a checksum over its exact bytes."""

from hashlib import blake2b

import msgspec

HEAD = b'{"sum":"'
_MIDDLE = b'","rec":'
_TAIL = b"}"
_SUM_DIGITS = 16
_BODY = len(HEAD) + _SUM_DIGITS + len(_MIDDLE)
_LONGEST_MENDED = 4_096
_MOST_MENDED = 20
_MOST_BRACES = 8


def checksum(body: bytes) -> bytes:
    """Give the first 64 bits of BLAKE2b (RFC 7693) as 16 lower-case hexadecimal digits."""
    return blake2b(body, digest_size=_SUM_DIGITS // 2).hexdigest().encode()


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
    """What follows the last line feed: being written just now, or cut off."""


def parse(data: bytes) -> Parsed:
    """Read lines; a run of unsound ones becomes one damaged piece, from which whole records are rescued."""
    parsed = Parsed()
    *lines, parsed.unfinished = data.split(b"\n")
    position, run = 0, list[bytes]()
    for line in lines:
        body = opened(line) if line else None
        if body is not None:
            _close_run(parsed, run, position)
            parsed.bodies.append(body)
        elif line or run:
            run.append(line)
        position += len(line) + 1
    _close_run(parsed, run, position)
    return parsed


def _close_run(parsed: Parsed, run: list[bytes], end: int) -> None:
    if not run:
        return
    raw = b"\n".join(run)
    may_mend = len(parsed.damaged) < _MOST_MENDED
    rescued = tuple(salvaged(raw)) or (mended(raw) if may_mend else ())
    parsed.bodies.extend(rescued)
    parsed.damaged.append(Damaged(start=end - len(raw) - 1, raw=raw, rescued=rescued))
    run.clear()


def salvaged(data: bytes) -> list[bytes]:
    """Find every record whose seal holds, in bytes of any kind: a damaged journal, month file or copy."""
    pieces = (HEAD + piece for piece in data.split(HEAD)[1:])
    return [body for piece in pieces if (body := _first_sound(piece)) is not None]


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
