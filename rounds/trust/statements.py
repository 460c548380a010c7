"""What is stated beside the records, typed: which keys are whose, which are over, which lines a key stands for."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from typing import Annotated, TypeVar

import msgspec

from rounds.history.farm_id import FarmId
from rounds.text import clean_line
from rounds.trust.keys import KEY_DIGITS, KeyPair, is_signed

Key = Annotated[str, msgspec.Meta(pattern=rf"^[0-9a-f]{{{KEY_DIGITS}}}$")]
Word = Annotated[str, msgspec.Meta(max_length=100)]
Digest = Annotated[str, msgspec.Meta(pattern=r"^[0-9a-f]{64}$")]
Signature = Annotated[str, msgspec.Meta(pattern=r"^(?:[0-9a-f]{128})?$")]
Moment = Annotated[datetime, msgspec.Meta(tz=True)]
Number = Annotated[int, msgspec.Meta(ge=1, le=2**41)]


class Mine(msgspec.Struct, frozen=True, kw_only=True, tag_field="say", tag="mine"):
    """The word of whoever has the folder: this key is the grower's. Unsigned, and of no weight outside the folder."""

    key: Key
    at: Moment


class Opened(msgspec.Struct, frozen=True, kw_only=True, tag_field="say", tag="opened"):
    """This folder was opened from a bundle: what is written in it is signed with the bundle's key. Unsigned too."""

    key: Key


class Introduced(msgspec.Struct, frozen=True, kw_only=True, tag_field="say", tag="introduced"):
    """Another key of the grower's, introduced with one that is known."""

    farm: Word
    key: Key
    name: Word = ""
    by: Key
    at: Moment
    signature: Signature = ""


class Revoked(msgspec.Struct, frozen=True, kw_only=True, tag_field="say", tag="revoked"):
    """A key that is lost or over: nothing more comes in under it."""

    farm: Word
    key: Key
    by: Key
    at: Moment
    signature: Signature = ""


class Granted(msgspec.Struct, frozen=True, kw_only=True, tag_field="say", tag="granted"):
    """A key that the grower made for a helper, for the days of an absence: to add to the record, in one name."""

    farm: Word
    key: Key
    person: Word
    first: date
    last: date
    by: Key
    at: Moment
    signature: Signature = ""


class Block(msgspec.Struct, frozen=True, kw_only=True, tag_field="say", tag="block"):
    """A key stands for the lines of one month of a device, from its first number in it to its last by then."""

    farm: Word
    device: Word
    month: Word
    first: Number
    last: Number
    count: Number
    digest: Digest
    """SHA-256 over the JSON of each line in order of number, a line feed after each."""
    by: Key
    at: Moment
    signature: Signature = ""


class Taken(msgspec.Struct, frozen=True, kw_only=True, tag_field="say", tag="taken"):
    """A record that the grower took in although it was not for whoever wrote it to write: good on other laptops too."""

    farm: Word
    record: Word
    digest: Digest
    """SHA-256 over the JSON of its line."""
    by: Key
    at: Moment
    signature: Signature = ""


Signed = Introduced | Revoked | Granted | Block | Taken
Statement = FarmId | Mine | Opened | Introduced | Revoked | Granted | Block | Taken
S = TypeVar("S", Introduced, Revoked, Granted, Block, Taken)
_DECODER = msgspec.json.Decoder(Statement)


def read(bodies: Iterable[bytes]) -> list[Statement]:
    """Read statements; what a newer version states, or nobody can read, states nothing."""
    found: list[Statement] = []
    for body in bodies:
        try:
            found.append(_DECODER.decode(body))
        except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError, OverflowError):
            continue
    return found


def written(statement: Statement) -> bytes:
    """Write a statement as the JSON of its line."""
    return msgspec.json.encode(statement)


def signed(statement: S, pair: KeyPair) -> S:
    """Give a statement with the signature of the key that makes it."""
    return msgspec.structs.replace(statement, signature=pair.sign(_unsigned(statement)))


def is_sound(statement: Signed) -> bool:
    """Tell whether the key that a statement names has signed it."""
    return is_signed(_unsigned(statement), statement.signature, statement.by)


def clean_name(text: str) -> str:
    """A name or id out of a statement, harmless on a screen."""
    return clean_line(text, 40)


def _unsigned(statement: Signed) -> bytes:
    return msgspec.json.encode(msgspec.structs.replace(statement, signature=""))
