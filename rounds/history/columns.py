"""The numbers of a closed month in columns: what a series needs of them, and nothing else.

Derived from the records and never the truth: a file that is missing, damaged, of another form, or of a month that has
changed since is made anew.
"""

import os
import sys
from array import array
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import msgspec

from rounds.history.disk import Disk, make_folder, write_all
from rounds.history.files import Key, Stamp
from rounds.history.journal import checksum
from rounds.history.query import order
from rounds.history.record import DOUBTED, Record

COLUMNS_FORMAT = 1
SUFFIX = ".columns"
NUMBER_KINDS = frozenset({"reading", "check"})
"""Kinds of record that hold a number of an item."""
_SUM = 16
_EPOCH, _US = datetime(1970, 1, 1, tzinfo=UTC), timedelta(microseconds=1)
_ID = 16
"""Length of an id in a column. [bytes]"""


class Number(msgspec.Struct, frozen=True, gc=False):
    """A number that was read or counted, as far as a series needs it: a record without what was written beside it."""

    measured_at: datetime
    value: float
    unit: str | None
    kind: str
    station: str
    item: str
    lamport: int
    device: str
    id: str

    @property
    def rank(self) -> tuple[int, str, str]:
        """As that of its record."""
        return self.lamport, self.device, self.id

    @property
    def meter(self) -> None:
        """Not kept here."""
        return

    note = meter

    @property
    def data(self) -> Mapping[str, Any]:
        """Not kept here."""
        return {}


def number_of(record: Record) -> Number | None:
    """Give the number of a record; None where it holds none."""
    value = record.value
    if record.kind not in NUMBER_KINDS or record.void or isinstance(value, bool) or not isinstance(value, int | float):
        return None
    if DOUBTED in record.marks:
        return None
    return Number(
        record.measured_at, float(value), record.unit, record.kind, record.station, record.item, record.lamport,
        record.device, record.id,
    )  # fmt: skip


class _Column(msgspec.Struct, array_like=True):
    """The numbers of one kind, station and item in a month, in order of time."""

    at_us: bytes
    """Microseconds since 1970, eight bytes each, as are the next two."""
    values: bytes
    lamports: bytes
    ids: bytes | list[str]
    """Sixteen bytes each, or as texts where one of them is no UUID."""
    units: list[str | None]
    unit_of: list[int]
    """Which of the units each has; empty where there is but one."""


class MonthColumns(msgspec.Struct, array_like=True):
    """One month of one device."""

    device: str
    month: str
    stamps: tuple[Stamp, ...]
    """Its files as they were when the columns were made."""
    kinds: dict[str, dict[str, dict[str, bytes]]]
    """By kind, station and item, a column each."""

    @property
    def key(self) -> Key:
        """Device and month."""
        return self.device, self.month

    def numbers(self, station: str | None, item: str | None) -> list[Number]:
        """Give the numbers of a station and item, or of all of them."""
        found: list[Number] = []
        for kind, stations in self.kinds.items():
            for place in stations if station is None else stations.keys() & {station}:
                items = stations[place]
                for each in items if item is None else items.keys() & {item}:
                    found += _read(items[each], kind, place, each, self.device)
        return found


class _Year(msgspec.Struct, array_like=True):
    format: int
    months: list[MonthColumns]


def month_columns(key: Key, stamps: tuple[Stamp, ...], numbers: Iterable[Number]) -> MonthColumns:
    """Make the columns of a month."""
    sorted_out: dict[tuple[str, str, str], list[Number]] = {}
    for each in numbers:
        sorted_out.setdefault((each.kind, each.station, each.item), []).append(each)
    kinds: dict[str, dict[str, dict[str, bytes]]] = {}
    for (kind, station, item), some in sorted_out.items():
        kinds.setdefault(kind, {}).setdefault(station, {})[item] = _column(sorted(some, key=order))
    return MonthColumns(*key, stamps, kinds)


def read_columns(path: Path, disk: Disk) -> list[MonthColumns]:
    """Give the months of a file of columns; none where there is none that holds."""
    try:
        data = disk.read(path)
        if data[:_SUM] != checksum(data[_SUM:]):
            return []
        year = msgspec.msgpack.decode(data[_SUM:], type=_Year)
    except (OSError, msgspec.MsgspecError, UnicodeDecodeError):
        return []
    return year.months if year.format == COLUMNS_FORMAT else []


def write_columns(path: Path, disk: Disk, months: Sequence[MonthColumns]) -> None:
    """Swap a file of columns; not synced, since a lost one is made anew and a damaged one is seen."""
    body = msgspec.msgpack.encode(_Year(COLUMNS_FORMAT, list(months)))
    make_folder(disk, path.parent)
    temporary = path.with_name(path.name + ".tmp")
    fd = disk.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    try:
        write_all(disk, fd, checksum(body) + body)
    finally:
        disk.close(fd)
    disk.replace(temporary, path)


def _column(numbers: Sequence[Number]) -> bytes:
    units = list(dict.fromkeys(each.unit for each in numbers))
    place = {unit: number for number, unit in enumerate(units)}
    return msgspec.msgpack.encode(
        _Column(
            at_us=_bytes("q", [(each.measured_at - _EPOCH) // _US for each in numbers]),
            values=_bytes("d", [each.value for each in numbers]),
            lamports=_bytes("q", [each.lamport for each in numbers]),
            ids=_packed([each.id for each in numbers]),
            units=units,
            unit_of=[place[each.unit] for each in numbers] if len(units) > 1 else [],
        )
    )


def _read(column: bytes, kind: str, station: str, item: str, device: str) -> list[Number]:
    kept = msgspec.msgpack.decode(column, type=_Column)
    ids = _unpacked(kept.ids) if isinstance(kept.ids, bytes) else kept.ids
    units = [kept.units[each] for each in kept.unit_of] or kept.units * len(ids)
    rows = zip(_array("q", kept.at_us), _array("d", kept.values), units, _array("q", kept.lamports), ids, strict=True)
    return [
        Number(_EPOCH + timedelta(microseconds=at), value, unit, kind, station, item, lamport, device, id)
        for at, value, unit, lamport, id in rows
    ]


def _bytes(code: str, values: Sequence[float]) -> bytes:
    column = array(code, values)
    if sys.byteorder == "big":
        column.byteswap()
    return column.tobytes()


def _array(code: str, data: bytes) -> "array[Any]":
    column = array(code, data)
    if sys.byteorder == "big":
        column.byteswap()
    return column


def _packed(ids: Sequence[str]) -> bytes | list[str]:
    try:
        packed = bytes.fromhex("".join(ids).replace("-", ""))
    except ValueError:
        return list(ids)
    return packed if _unpacked(packed) == list(ids) else list(ids)


def _unpacked(ids: bytes) -> list[str]:
    text = ids.hex()
    ends = range(0, len(text), 2 * _ID)
    return [f"{text[n : n + 8]}-{text[n + 8 : n + 12]}-{text[n + 12 : n + 16]}-{text[n + 16 : n + 20]}-"
            f"{text[n + 20 : n + 32]}" for n in ends]  # fmt: skip
