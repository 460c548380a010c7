"""The door through which every stored record comes out of the history: what it promises holds, or it is passed over.

What lies on the disk stays byte for byte as it was written: a document is never rewritten to suit a reader.
"""

from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

import msgspec

from rounds.errors import BadInput, OutOfRange
from rounds.history.record import FORMAT, Record, check_time, clean_json
from rounds.history.shapes import (
    USUAL,
    are_usual,
    counts_without_value,
    is_deep,
    odd_keys,
    odd_value,
    without,
)  # fmt: skip
from rounds.history.strict import STORED, strict_doc
from rounds.text import TEXT_LIMIT, clean_line, is_clean

JSON = Any
_FIELDS = frozenset(Record.__struct_fields__) - {"extra"}
_MAY_BE_ABSENT = ("person", "meter", "typed", "value", "unit", "note", "round_id", "data", "marks")
"""Fields without which a record still says what happened, where and when."""
_NO_RECORD = "it does not have the form of a record"
MOST_LOOKED_AT = 2_000
"""So many odd records of a month are looked at for what can be kept of them."""
_PASSED_OVER, _PART = "it is passed over", "that part is passed over"


def record_of(doc: Mapping[str, JSON]) -> Record | None:
    """Make a record of a stored document, its texts harmless, fields unknown here kept; None where it is no record."""
    return let_through(doc)[0]


def let_through(doc: Mapping[str, JSON], *, salvage: bool = True) -> tuple[Record | None, str]:
    """Make a record of a stored document, and say what is odd about it: that part is left out, or all of it.

    Parameters
    ----------
    salvage : bool
        Whether a record of which a field has the wrong form is kept without that field.
    """
    if _FIELDS.issuperset(doc):
        try:
            record, text = msgspec.convert(doc, Record), msgspec.json.encode(doc)
        except (msgspec.ValidationError, RecursionError, OverflowError, UnicodeEncodeError):
            return _looked_at(doc, salvage=salvage)
        if _is_usual(record) and _is_plain(text):
            return record, ""
    return _looked_at(doc, salvage=salvage)


class Line(NamedTuple):
    """What a line holds."""

    record: Record | None
    odd: str = ""
    """What is odd about it, so that it is passed over in whole or in part."""
    is_newer: bool = False
    """Whether a newer version of the program wrote it: it is passed over, and that is no fault of it."""
    is_strange: bool = False
    """Whether nothing in it could be a record."""


def line_let_through(body: bytes) -> Line:
    """Make a record of the JSON of a line, and say what is odd about it.

    What comes out as a record and goes back to the same bytes holds nothing else: most lines need no second look.
    """
    record = usual_record(body)
    if record is not None:
        return Line(record)
    doc = doc_of(body)
    if doc is None:
        return Line(None, is_strange=True)
    record, odd = let_through(doc)
    newer = (record is None or record.format > FORMAT) and is_newer(doc)
    return Line(None, is_newer=True) if newer else Line(record, odd)


def usual_record(body: bytes) -> Record | None:
    """Make a record of the JSON of a line where a quick look finds nothing odd about it; None where it cannot tell."""
    try:
        record = msgspec.json.decode(body, type=Record)
        sure = record.format <= FORMAT and _is_usual(record) and _is_plain(body)
        return record if sure and msgspec.json.encode(record) == body else None
    except (ValueError, RecursionError, OverflowError):
        return None


def doc_of(body: bytes) -> dict[str, JSON] | None:
    """Give the document in a line, by the strict rules for files of others; None where it breaks one or has no id."""
    try:
        doc = strict_doc(body, STORED)
    except BadInput:
        return None
    return doc if isinstance(doc.get("id"), str) else None


def _looked_at(doc: Mapping[str, JSON], *, salvage: bool) -> tuple[Record | None, str]:
    """Do the same for a record about which a first look could not tell."""
    unknown = doc.keys() - _FIELDS
    known = {name: value for name, value in doc.items() if name in _FIELDS} if unknown else doc
    try:
        text = msgspec.json.encode(doc)
        if is_deep(text):
            return None, _sentence(doc, "it is nested too deep", _PASSED_OVER)
        record, odd = _converted(known, salvage=salvage)
    except (RecursionError, OverflowError, UnicodeEncodeError):
        return None, _sentence(doc, "it is nested too deep, or holds what cannot be kept", _PASSED_OVER)
    if record is None:
        return None, _sentence(doc, odd, _PASSED_OVER)
    if unknown:
        record = msgspec.structs.replace(record, extra={name: doc[name] for name in sorted(unknown)})
    if not (_is_plain(text) or _is_harmless(record)):
        record = _made_harmless(record)
    return _as_promised(record, odd)


def _at_once(doc: Mapping[str, JSON]) -> tuple[Record | None, str]:
    """Let a usual record through, and nothing else: where thousands are odd, nobody made them by mistake."""
    try:
        record = usual_record(msgspec.json.encode(doc))
    except (RecursionError, OverflowError, UnicodeEncodeError):
        record = None
    return record, "" if record is not None else _PASSED_OVER


def let_all_through(docs: Iterable[Mapping[str, JSON]]) -> tuple[list[Record], int, int]:
    """Give the records of documents, how many are odd, and how many a newer version wrote."""
    records, odd, newer = list[Record](), 0, 0
    for doc in docs:
        record, told = let_through(doc) if odd < MOST_LOOKED_AT else _at_once(doc)
        if (record is None or record.format > FORMAT) and is_newer(doc):
            newer += 1
            continue
        odd += told != ""
        if record is not None:
            records.append(record)
    return records, odd, newer


def is_newer(doc: Mapping[str, JSON]) -> bool:
    """Tell whether a document was written by a newer version of the program."""
    version = doc.get("format", 0)
    return isinstance(version, int) and version > FORMAT


_USUAL_ANSWERS = frozenset({float, bool, type(None)})
_CANNOT_TELL = 1.0, 0.0, None


def _is_usual(record: Record) -> bool:
    """Tell quickly that a record holds what its kind promises; where it cannot tell, say no."""
    value, ends = record.value, USUAL.get(record.kind, _CANNOT_TELL)
    if ends is None:
        fits = type(value) in _USUAL_ANSWERS
    else:
        low, high, units = ends
        fits = type(value) is float and low <= value <= high and (units is None or record.unit in units)
    return (
        fits
        and 1970 < record.measured_at.year < 2199
        and 1970 < record.entered_at.year < 2199
        and (not record.data or are_usual(record.data))
    )


def _as_promised(record: Record, odd: str) -> tuple[Record | None, str]:
    """Hold a record to what its kind promises."""
    try:
        check_time(record.measured_at)
        check_time(record.entered_at)
    except (BadInput, OutOfRange, OverflowError):
        return None, _told(record, "its time is outside the years 1970 to 2199", _PASSED_OVER)
    told = [odd] if odd else []
    wrong = "" if record.void else odd_value(record.kind, record.value, record.unit)
    if wrong and not counts_without_value(record.kind):
        return None, _told(record, wrong, _PASSED_OVER)
    if wrong:
        told.append(wrong)
        record = msgspec.structs.replace(record, value=None, unit=None)
    keys = odd_keys(record.data) if record.data else []
    if keys:
        told.append(f"its {', '.join(clean_line(key, 40) for key in keys)} cannot be understood")
        record = msgspec.structs.replace(record, data=without(record.data, keys))
    return record, _told(record, "; ".join(told), _PART) if told else ""


def _converted(doc: Mapping[str, JSON], *, salvage: bool) -> tuple[Record | None, str]:
    try:
        return msgspec.convert(doc, Record), ""
    except msgspec.ValidationError:
        return _salvaged(doc) if salvage else (None, _NO_RECORD)


def _salvaged(doc: Mapping[str, JSON]) -> tuple[Record | None, str]:
    """Make a record without those fields that do not hold what they should, where it can be one without them."""
    kept, odd = dict(doc), list[str]()
    while True:
        try:
            record = msgspec.convert(kept, Record)
        except msgspec.ValidationError as error:
            wrong = _odd_field(kept, str(error))
            if wrong is None:
                return None, _NO_RECORD
            odd.append(wrong)
            for name in ("unit", "value") if wrong == "unit" else (wrong,):
                kept.pop(name, None)  # an amount without its unit may be a thousand times another
        else:
            return record, f"its {', '.join(odd)} cannot be understood"


def _odd_field(doc: Mapping[str, JSON], told: str) -> str | None:
    return next((name for name in _MAY_BE_ABSENT if name in doc and f"`$.{name}" in told), None)


def _sentence(doc: Mapping[str, JSON], reason: str, consequence: str) -> str:
    named = [each if isinstance(each := doc.get(name), str | int) else "?" for name in ("seq", "device")]
    number, device = (clean_line(str(each), 40) for each in named)
    return f"Record {number} of {device}: {reason}; {consequence}."


def _told(record: Record, reason: str, consequence: str) -> str:
    kind = f"{clean_line(record.kind, 40)} of {record.measured_at:%Y-%m-%d}"
    return f"Record {record.seq} of {clean_line(record.device, 40)} ({kind}): {reason}; {consequence}."


def _is_plain(text: bytes) -> bool:
    """Tell quickly that nothing in a document can be harmful: every character prints, and none was escaped."""
    if len(text) >= TEXT_LIMIT or b"\\" in text:
        return False
    return (text.isascii() and b"\x7f" not in text) or text.decode().isprintable()


def _is_harmless(record: Record) -> bool:
    texts = (record.station, record.item, record.person, record.kind, record.typed, record.unit, record.note)
    plain = all(text is None or text.isprintable() or is_clean(text) for text in texts)
    rare = record.meter, record.round_id, record.value, record.data, record.marks, record.extra
    return plain and all(clean_json(each) == each for each in rare[:4]) and rare[4:] == ((), {})


def _made_harmless(record: Record) -> Record:
    changes = {
        name: clean_json(value)
        for name, value in msgspec.structs.asdict(record).items()
        if isinstance(value, str | dict)
    }
    return msgspec.structs.replace(record, **changes, marks=tuple(clean_line(mark) for mark in record.marks))
