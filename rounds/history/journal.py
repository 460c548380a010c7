"""Lines of the journal: one record each, with a checksum over its exact bytes."""

from hashlib import blake2b

_HEAD = b'{"sum":"'
_MIDDLE = b'","rec":'
_TAIL = b"}"
_SUM_DIGITS = 16
_BODY = len(_HEAD) + _SUM_DIGITS + len(_MIDDLE)


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
    return b"".join((_HEAD, checksum(body), _MIDDLE, body, _TAIL, b"\n"))


def opened(line: bytes) -> bytes | None:
    """Give the JSON of a line (without its line feed), or None where a single bit of it has changed."""
    body = line[_BODY:-1]
    sound = line[:_BODY] == _HEAD + checksum(body) + _MIDDLE and line[-1:] == _TAIL
    return body if sound else None
