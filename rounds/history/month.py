"""The monthly TinyDB file: readable, queryable, sealed as a whole and record by record, and always rebuildable."""

import errno
import os
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any, Generic, NoReturn, TypeVar

import msgspec
from tinydb import TinyDB
from tinydb.storages import Storage
from tinydb.table import Table

from rounds.errors import BadInput, Refused
from rounds.history.disk import Disk, size_of, write_new
from rounds.history.journal import HEAD, checksum, sealed

Doc = Mapping[str, Any]
Texts = list[tuple[str, bytes]]
"""Documents as JSON, each with its key."""
Likely = Callable[[Texts], Texts]
"""Leaves out documents that a query cannot want, told by their JSON before they are made."""
TABLE = "records"
MONTH_FORMAT = 1
_NO_LINKS_HERE = {errno.EPERM, errno.ENOTSUP, errno.ENOSYS, errno.EMLINK, errno.EOPNOTSUPP}
R = TypeVar("R")
_NO_JSON = (ValueError, OverflowError, RecursionError)
_SUM_END = len(HEAD) + 16 + 2


class DamagedMonth(BadInput):
    """A monthly file whose checksum does not hold, or whose form is not known here."""

    def __init__(self, path: Path, data: bytes, newer: bool = False) -> None:
        super().__init__(f"{path.name} is damaged.")
        self.path = path
        self.data = data
        self.newer = newer


class _Sealed(msgspec.Struct, Generic[R], gc=False):
    rec: R


class _MonthForm(msgspec.Struct, Generic[R]):
    format: int
    covers: int
    tables: dict[str, dict[str, _Sealed[R]]]


class MonthStorage(Storage):
    """TinyDB storage that swaps the whole file atomically, keeps the generation before, and refuses a damaged file.

    `covers` is the length of the journal that the file holds. [bytes]
    With `likely`, only the documents that it lets through are read: most of a search is not making the others.
    """

    def __init__(
        self, path: Path, disk: Disk, covers: int = 0, fresh: bool = False, likely: Likely | None = None
    ) -> None:
        self.path = path
        self.covers = covers
        self._disk = disk
        self._fresh = fresh
        self._likely = likely

    def read(self) -> dict[str, dict[str, Any]] | None:
        if self._fresh:
            return None
        try:
            data = self._disk.read(self.path)
        except FileNotFoundError:
            return None
        covers, tables = _read_form(self.path, data, self._likely)
        self.covers = max(self.covers, covers)
        return tables

    def write(self, data: dict[str, dict[str, Any]]) -> None:
        if self._likely is not None:
            raise Refused("A part of a month is never written as the whole.")
        _keep_previous(self._disk, self.path)
        write_new(self._disk, self.path, _as_bytes(data, self.covers))
        self._fresh = False


class RecordTable(Table):
    """A table that only grows: records are immutable, so they are given as the storage read them, not copied."""

    def all(self) -> list[Any]:
        return list(self._read_table().values())

    def search(self, cond: Any) -> list[Any]:
        return [doc for doc in self._read_table().values() if cond(doc)]

    def _refuse(self, *_: Any, **__: Any) -> NoReturn:
        raise Refused("A record is never changed or removed.", "Write a new one that replaces it.")

    update = update_multiple = upsert = remove = truncate = _refuse


class MonthTable(TinyDB):
    """One month of one device as a TinyDB."""

    table_class = RecordTable
    default_table_name = TABLE

    def drop_table(self, name: str) -> NoReturn:
        raise Refused("A table of the history is never dropped.")

    def drop_tables(self) -> NoReturn:
        raise Refused("A table of the history is never dropped.")


def read_table(path: Path, disk: Disk, wanted: Any = None) -> tuple[list[Doc], int] | None:
    """Give the documents of a month (those a query wants) and the journal length it covers; None without a file.

    Raises
    ------
    DamagedMonth
        Where the checksum does not hold.
    """
    if size_of(path) is None:
        return None
    likely = getattr(wanted, "likely", None)
    with MonthTable(path, disk, likely=likely, storage=MonthStorage) as database:
        table = database.table(TABLE)
        docs: list[Doc] = table.all() if wanted is None else table.search(wanted)
        return docs, database.storage.covers


def read_texts(path: Path, disk: Disk) -> tuple[list[bytes], int] | None:
    """Give the JSON of the documents of a month and the journal length it covers; None without a file.

    Raises
    ------
    DamagedMonth
        Where the checksum does not hold.
    """
    if size_of(path) is None:
        return None
    raw = _month_form(path, disk.read(path), _MonthForm[msgspec.Raw])
    return [bytes(each.rec) for each in raw.tables.get(TABLE, {}).values()], raw.covers


def is_damaged(path: Path, disk: Disk) -> bool:
    """Tell whether there is a monthly file whose checksum does not hold."""
    return size_of(path) is not None and not _is_sound(disk, path)


def write_table(path: Path, disk: Disk, docs: Iterable[Doc], covers: int) -> None:
    """Write a month's file anew and state how much of the journal it covers; the former one is kept beside it."""
    with MonthTable(path, disk, covers, True, storage=MonthStorage) as database:
        database.table(TABLE).insert_multiple([dict(doc) for doc in docs])


def _keep_previous(disk: Disk, path: Path) -> None:
    if not _is_sound(disk, path):
        return
    older = path.with_name(path.name + ".bak")
    spare = path.with_name(path.name + ".bak.tmp")
    if os.path.lexists(spare):
        disk.unlink(spare)
    try:
        disk.link(path, spare)
    except OSError as error:
        if error.errno not in _NO_LINKS_HERE:
            raise
        disk.replace(path, older)
    else:
        disk.replace(spare, older)


def _is_sound(disk: Disk, path: Path) -> bool:
    try:
        data = disk.read(path)
    except OSError:
        return False  # nothing to keep, or nothing that anybody could read
    return data[:_SUM_END] == HEAD + checksum(data[_SUM_END:]) + b'",'


def _as_bytes(data: Mapping[str, Mapping[Any, Doc]], covers: int) -> bytes:
    tables = []
    for name, table in data.items():
        lines = (b'"%s":%s' % (str(key).encode(), sealed(msgspec.json.encode(doc))[:-1]) for key, doc in table.items())
        tables.append(msgspec.json.encode(name) + b":{\n" + b",\n".join(lines) + b"\n}")
    rest = b'"format":%d,"covers":%d,"tables":{%s}}\n' % (MONTH_FORMAT, covers, b",".join(tables))
    return HEAD + checksum(rest) + b'",' + rest


def _read_form(path: Path, data: bytes, likely: Likely | None) -> tuple[int, dict[str, dict[str, Any]]]:
    if likely is None:
        whole = _month_form(path, data, _MonthForm[dict[str, Any]])
        return whole.covers, {
            name: {key: each.rec for key, each in table.items()} for name, table in whole.tables.items()
        }
    raw = _month_form(path, data, _MonthForm[msgspec.Raw])
    try:
        return raw.covers, {name: _likely_docs(table, likely) for name, table in raw.tables.items()}
    except _NO_JSON as error:
        raise DamagedMonth(path, data, newer=True) from error


def _month_form(path: Path, data: bytes, form: type[_MonthForm[R]]) -> _MonthForm[R]:
    rest = data[_SUM_END:]
    if data[:_SUM_END] != HEAD + checksum(rest) + b'",':
        raise DamagedMonth(path, data)
    try:
        found = msgspec.json.decode(b"{" + rest, type=form)
    except _NO_JSON as error:
        raise DamagedMonth(path, data, newer=True) from error
    if found.format > MONTH_FORMAT:
        raise DamagedMonth(path, data, newer=True)
    return found


def _likely_docs(table: Mapping[str, _Sealed[msgspec.Raw]], likely: Likely) -> dict[str, dict[str, Any]]:
    texts = likely([(key, bytes(each.rec)) for key, each in table.items()])
    return {key: msgspec.json.decode(text, type=dict[str, Any]) for key, text in texts}
