"""Names of records: UUIDv7, ordered by time with a random tail (RFC 9562, section 5.7)."""

import os
import re
from collections.abc import Callable
from datetime import UTC, datetime

IdSource = Callable[[datetime], str]
ID_PATTERN = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}\Z")


def uuid7(moment: datetime, tail: bytes | None = None) -> str:
    """Name a record after the millisecond of `moment` and 74 random bits.

    Parameters
    ----------
    moment : datetime
        With a zone, from 1970 on.
    tail : bytes, optional
        Ten bytes to use in place of random ones.

    Examples
    --------
    >>> from datetime import UTC
    >>> uuid7(datetime(2022, 2, 22, 19, 22, 22, tzinfo=UTC), bytes(10))
    '017f22e2-79b0-7000-8000-000000000000'
    """
    milliseconds = max(int(moment.timestamp() * 1000), 0) & 0xFFFFFFFFFFFF
    rest = int.from_bytes(tail or os.urandom(10), "big")
    number = milliseconds << 80 | 7 << 76 | (rest >> 62 & 0xFFF) << 64 | 2 << 62 | rest & (1 << 62) - 1
    digits = f"{number:032x}"
    return f"{digits[:8]}-{digits[8:12]}-{digits[12:16]}-{digits[16:20]}-{digits[20:]}"


def month_of_id(id: str) -> str:
    """Give the UTC month in which an id was made.

    Examples
    --------
    >>> month_of_id("017f22e2-79b0-7000-8000-000000000000")
    '2022-02'
    """
    try:
        milliseconds = int(id[:8] + id[9:13], 16)
        return datetime.fromtimestamp(min(milliseconds / 1000, 7_258_118_399), UTC).strftime("%Y-%m")
    except ValueError:
        return "1970-01"


def seeded_ids(seed: int) -> IdSource:
    """Give a source of ids that repeats itself: for a reproducible generator, never for a farm at work."""
    import random

    numbers = random.Random(seed)
    return lambda moment: uuid7(moment, numbers.randbytes(10))
