"""Which farm this is: an id that its record is given at the first writing, and that every copy of it keeps.

It stands among the statements, not in farm.toml, which is copied to begin another farm with. It is worked out from the
oldest record and the farm's name of that day, so that two laptops that carry the same old record agree on it.
"""

import os
from collections.abc import Iterable
from hashlib import blake2b
from pathlib import Path

import msgspec

from rounds.history.statements import first_statements


class FarmId(msgspec.Struct, frozen=True, tag_field="say", tag="farm"):
    """The statement that a record is that of a farm; several say that they are the same farm."""

    id: str


def id_from(oldest: str, name: str) -> str:
    """Work out the id of a farm from the id of its oldest record and its name; by chance where it has no record.

    Examples
    --------
    >>> id_from("0197e2a0-0000-7000-8000-0000000000aa", "Hollow Lane")
    'f-d00a43d2560b3c0e12'
    """
    what = f"{oldest} {name}".encode() if oldest else os.urandom(16)
    return f"f-{blake2b(what, digest_size=9).hexdigest()}"


def id_line(id: str) -> bytes:
    """Write the statement of an id."""
    return msgspec.json.encode(FarmId(id))


def farm_ids(statements: Iterable[bytes]) -> frozenset[str]:
    """Give every id that is stated."""
    return frozenset(id for id in map(_id_in, statements) if id)


def first_ids(history: Path) -> frozenset[str]:
    """Give the ids with which devices began to state anything: a look at one line of each."""
    return farm_ids(first_statements(history))


def _id_in(body: bytes) -> str:
    if not body.startswith(b'{"say":"farm"'):
        return ""
    try:
        return msgspec.json.decode(body, type=FarmId).id[:40]
    except (msgspec.MsgspecError, UnicodeDecodeError):
        return ""
