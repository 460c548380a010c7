"""What is written down: immutable records, and the drafts they are made from."""

import math
import re
from datetime import UTC, datetime
from functools import lru_cache
from typing import Annotated, Any

import msgspec

from rounds.errors import BadInput, OutOfRange
from rounds.history.shapes import odd_keys, odd_value
from rounds.record_kinds import KINDS
from rounds.text import TEXT_LIMIT, clean, clean_line

FORMAT = 1
"""Version of the record's meaning. Fields may be added without raising it; a reader keeps those it does not know."""

JSON = Any
Moment = Annotated[datetime, msgspec.Meta(tz=True)]
HIGHEST_COUNT = 2**40
"""No farm counts as far; twice as much can still be read, so that one led there by a forged counter goes on."""
Count = Annotated[int, msgspec.Meta(ge=1, le=2 * HIGHEST_COUNT)]
Value = float | int | str | bool | None
WORD = re.compile(r"[a-z][a-z0-9_-]{0,39}\Z")
LARGEST_WHOLE_NUMBER = 2**53
DATA_LIMIT_BYTES = 65_536
_LINE_LIMITS = {"station": 100, "item": 100, "person": 100, "meter": 100, "unit": 40, "round_id": 100, "replaces": 36}


class Draft(msgspec.Struct, frozen=True, kw_only=True):
    """What somebody wants to have written down; the history adds who wrote it, in which order, and when."""

    kind: str
    """One lower-case word: a name of `rounds.record_kinds.KINDS`, or one of a newer version."""
    measured_at: datetime
    station: str = ""
    """Station id; empty for the farm as a whole."""
    item: str = ""
    person: str = ""
    meter: str | None = None
    typed: str | None = None
    """The text as it was typed: a wrong unit can be put right later without loss."""
    value: Value = None
    unit: str | None = None
    note: str | None = None
    round_id: str | None = None
    replaces: str | None = None
    void: bool = False
    data: dict[str, JSON] = {}
    marks: tuple[str, ...] = ()


class Record(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True, gc=False):
    """One line of the history. It never changes: a correction is a new record that names what it replaces."""

    id: str
    format: int
    device: str
    seq: Count
    """Gapless number of this device's records, from 1."""
    lamport: Count
    """Counter that orders records of several devices; clocks do not."""
    kind: str
    station: str = ""
    item: str = ""
    measured_at: Moment
    entered_at: Moment
    person: str = ""
    meter: str | None = None
    typed: str | None = None
    value: Value = None
    unit: str | None = None
    note: str | None = None
    round_id: str | None = None
    replaces: str | None = None
    void: bool = False
    data: dict[str, JSON] = {}
    marks: tuple[str, ...] = ()
    saved_with: tuple[Count, Count] | None = None
    """First and last number of the records that were saved in one go with it, where it was not alone."""
    extra: dict[str, JSON] = {}
    """Fields written by a newer version: kept, not understood."""

    @property
    def rank(self) -> tuple[int, str, str]:
        """Order between records that replace the same one: the same on every device."""
        return self.lamport, self.device, self.id


def month_of(moment: datetime) -> str:
    """Name the UTC month a record is filed under.

    Examples
    --------
    >>> month_of(datetime.fromisoformat("2026-06-01T00:30:00+02:00"))
    '2026-05'
    """
    there = moment if moment.tzinfo is UTC else moment.astimezone(UTC)
    return _month_name(there.year, there.month)


@lru_cache(maxsize=2_400)
def _month_name(year: int, month: int) -> str:
    return f"{year:04d}-{month:02d}"


def checked(draft: Draft) -> Draft:
    """Return the draft with its texts made clean, or refuse it.

    Raises
    ------
    BadInput
        Where the kind is not a word, a time has no zone, or a text is too long.
    OutOfRange
        Where a number is not finite or cannot be kept exactly, or a time lies outside 1970-2199.
    """
    if not WORD.match(draft.kind):
        raise BadInput(f"The kind of a record is {clean_line(draft.kind)!r}.", "It is one lower-case word.")
    check_time(draft.measured_at)
    _check_json(draft.value, "value")
    _check_data(draft.data)
    _check_promise(draft)
    texts = {name: _line(name, getattr(draft, name), limit) for name, limit in _LINE_LIMITS.items()}
    return msgspec.structs.replace(
        draft,
        **texts,
        typed=_text("typed", draft.typed),
        note=_text("note", draft.note),
        value=_text("value", draft.value) if isinstance(draft.value, str) else draft.value,
        data=clean_json(draft.data),
        marks=tuple(clean_line(mark) for mark in draft.marks),
    )


DOUBTED = "doubted when it was taken in"
"""The mark of a reading out of a table that is hard to believe after the one before it: it is kept, and nothing is
expected or believed by it."""
_PLAIN_VALUES = (float, bool, type(None))


def is_keepable(record: Record) -> bool:
    """Tell quickly that `checked` would find nothing wrong with what was read; where it cannot tell, say no."""
    return (
        type(record.value) in _PLAIN_VALUES
        and not record.data
        and not record.marks
        and (record.kind in KINDS or WORD.match(record.kind) is not None)
        and is_of_our_time(record)
        and _is_short(record)
    )


def is_of_our_time(record: Record) -> bool:
    """Tell quickly that `check_time` would find nothing wrong; where it cannot tell, say no."""
    return 1970 < record.measured_at.year < 2199 and 1970 < record.entered_at.year < 2199


def _is_short(record: Record) -> bool:
    named = len(record.station) + len(record.item) + len(record.person)
    return (
        named + len(record.meter or "") + len(record.round_id or "") <= 100
        and len(record.unit or "") <= 40
        and len(record.replaces or "") <= 36
        and len(record.typed or "") + len(record.note or "") <= TEXT_LIMIT
    )


def _check_promise(draft: Draft) -> None:
    """Refuse what could not be read again as what it is."""
    odd = "" if draft.void else odd_value(draft.kind, draft.value, draft.unit)
    keys = odd_keys(draft.data) if draft.data else []
    if odd or keys:
        raise BadInput(f"A {draft.kind} cannot be kept: {odd or f'its {keys[0]} is not what belongs there'}.")


def check_time(moment: datetime) -> None:
    if moment.tzinfo is None or moment.utcoffset() is None:
        raise BadInput(f"The time {moment} has no zone.", "A record needs a time with its zone.")
    if not 1970 <= moment.astimezone(UTC).year < 2200:
        raise OutOfRange(f"The time {moment} is outside the years 1970 to 2199.")


def _check_data(data: dict[str, JSON]) -> None:
    _check_json(data, "data")
    size = len(msgspec.json.encode(clean_json(data)))
    if not size <= DATA_LIMIT_BYTES:
        raise OutOfRange(f"The data of a record are {size} bytes long.", f"At most {DATA_LIMIT_BYTES} are kept.")


def _check_json(value: JSON, where: str, depth: int = 0) -> None:
    if depth > 16:
        raise OutOfRange(f"The field {where} is nested more than 16 deep.")
    if isinstance(value, dict):
        for key, inner in value.items():
            if not isinstance(key, str):
                raise BadInput(f"The field {where} has a key that is not a text.")
            _check_json(inner, f"{where}.{clean_line(key, 40)}", depth + 1)
    elif isinstance(value, list | tuple):
        for inner in value:
            _check_json(inner, where, depth + 1)
    else:
        _check_plain(value, where)


def _check_plain(value: JSON, where: str) -> None:
    if isinstance(value, float) and not math.isfinite(value):
        raise OutOfRange(f"The field {where} is {value}.", "A finite number is expected.")
    if isinstance(value, int) and not -LARGEST_WHOLE_NUMBER <= value <= LARGEST_WHOLE_NUMBER:
        raise OutOfRange(f"The field {where} is a whole number too large to be kept exactly.")
    if not isinstance(value, str | int | float | bool | None):
        raise BadInput(f"The field {where} holds a {type(value).__name__}.", "Plain JSON is expected.")


def _line(name: str, text: str | None, limit: int) -> str | None:
    if text is not None and len(text) > limit:
        raise OutOfRange(f"The field {name} is {len(text)} characters long.", f"At most {limit} are kept.")
    return None if text is None else clean_line(text, limit)


def _text(name: str, text: str | None) -> str | None:
    if text is not None and len(text) > TEXT_LIMIT:
        raise OutOfRange(f"The field {name} is {len(text)} characters long.", f"At most {TEXT_LIMIT} are kept.")
    return None if text is None else clean(text)


def clean_json(value: JSON) -> JSON:
    if isinstance(value, str):
        return value if value.isprintable() else clean(value, DATA_LIMIT_BYTES)
    if isinstance(value, dict):
        return {clean_line(key): clean_json(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [clean_json(inner) for inner in value]
    return value
