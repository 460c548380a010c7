"""Numbers over years, from the columns of closed months; what these lack is read from the records."""

from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

from rounds.errors import RoundsError
from rounds.history.columns import (
    NUMBER_KINDS,
    SUFFIX,
    MonthColumns,
    Number,
    month_columns,
    number_of,
    read_columns,
    write_columns,
)
from rounds.history.disk import Disk
from rounds.history.files import Key, Stamp
from rounds.history.library import Library
from rounds.history.query import OfKinds
from rounds.history.record import Record


class YearOfColumns:
    """The columns of one year of all devices.

    Parameters
    ----------
    folder : Path
        Where the files of columns lie.
    open_from : str
        The month from which on records are still coming in: no columns are made of it.
    may_keep : bool
        Whether what is made may be written.
    """

    def __init__(
        self, library: Library, disk: Disk, folder: Path, year: str, *, open_from: str, may_keep: bool
    ) -> None:
        self._library = library
        self._disk = disk
        self._path = folder / f"{year}{SUFFIX}"
        self._open_from = open_from
        self._may_keep = may_keep
        self._months = {each.key: each for each in read_columns(self._path, disk)}
        self.is_unsaved = False

    def numbers(self, key: Key, station: str | None, item: str | None) -> list[Number]:
        """Give what stands of a month of a station and item, or of all of them."""
        stamps = self._library.stamps(key)
        kept = self._months.get(key)
        if kept is None or not stamps or kept.stamps != stamps:
            kept = self._made(key, stamps)
        found = kept.numbers(station, item) if kept else self._read(key, station, item)
        stands = self._library.replacements.stands
        return [each for each in found if stands(each.id)]

    def keep(self) -> None:
        """Write what was made; where that fails, it is made again."""
        with suppress(OSError, RoundsError):
            write_columns(self._path, self._disk, list(self._months.values()))
            self.is_unsaved = False

    def _made(self, key: Key, stamps: tuple[Stamp, ...]) -> MonthColumns | None:
        if not (self._may_keep and stamps and key[1] < self._open_from):
            return None
        records = self._library.read_whole(key, OfKinds(NUMBER_KINDS))
        if records is None:
            return None
        made = self._months[key] = month_columns(key, stamps, _numbers(records))
        self.is_unsaved = True
        return made

    def _read(self, key: Key, station: str | None, item: str | None) -> list[Number]:
        wanted = OfKinds(NUMBER_KINDS, station=station, item=item)
        is_open = key[1] >= self._open_from
        records = self._library.month(key).values() if is_open else self._library.scan(key, wanted)
        return _numbers(each for each in records if wanted.accepts(each))


def _numbers(records: Iterable[Record]) -> list[Number]:
    return [number for each in records if (number := number_of(each)) is not None]
