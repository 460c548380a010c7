"""Taking in records of other devices, all or nothing, over failures and over a crash."""

from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import NoReturn, overload

from rounds.errors import NotSaved
from rounds.history.append import Appender, NotConfirmed, not_saved
from rounds.history.arriving import Lines
from rounds.history.disk import Disk, write_new
from rounds.history.files import MonthFiles
from rounds.history.library import Library
from rounds.history.record import Record
from rounds.history.staging import Arrivals, read_staged, staged_files, staged_pieces

Tidy = Callable[[MonthFiles], str | None]
Written = Callable[[Iterable[tuple[MonthFiles, Sequence[Record]]]], None]


class Importer:
    """Writes an import down as a whole first, then spreads it over the months, then forgets the first copy."""

    def __init__(
        self, own: Path, library: Library, disk: Disk, appender: Appender, tidy: Tidy, written: Written
    ) -> None:
        self._own = own
        self._library = library
        self._disk = disk
        self._appender = appender
        self._tidy = tidy
        self._written = written

    def take_over(self, name: str, arrivals: Sequence[Arrivals]) -> int:
        """Write records into the folders of their devices; the lock is held. Give how many were not there yet.

        Raises
        ------
        NotSaved
            Where nothing was taken in.
        NotConfirmed
            Where that is not certain.
        """
        stage = self._own / f"{name}.staged"
        try:
            write_new(self._disk, stage, staged_pieces(arrivals))
            count = self._spread(arrivals)
        except OSError as error:
            self._give_up(stage, error)
        with suppress(OSError):  # what stays here is seen to be done at the next start
            self._drop(stage)
        return count

    def finish(self) -> list[str]:
        """Bring imports to their end that a crash broke off; say so."""
        told = []
        for stage in staged_files(self._own):
            arrivals = read_staged(stage, self._disk)
            if arrivals is not None:
                self._spread(arrivals)
                told.append("An import that was broken off has been completed.")
            self._drop(stage)
        return told

    def _spread(self, arrivals: Sequence[Arrivals]) -> int:
        lacking = [(self._library.files(each.key), Lines(self._not_here(each), usual=each.usual)) for each in arrivals]
        chosen = [(files, lines) for files, lines in lacking if lines]
        for files, _ in chosen:
            self._tidy(files)
        self._appender.append(_Joined([(files, some.lines) for files, some in chosen]))
        self._written((files, list(some)) for files, some in chosen)
        return sum(len(some) for _, some in chosen)

    def _not_here(self, some: Arrivals) -> Sequence[bytes]:
        if some.key not in self._library.heads:
            return some.lines
        known = self._library.month(some.key)
        records = Lines(some.lines, usual=some.usual)
        return [line for line, record in zip(some.lines, records, strict=True) if record.id not in known]

    def _give_up(self, stage: Path, error: OSError) -> NoReturn:
        """Make sure that an import which failed is not completed at the next start, unless it stands there half."""
        if isinstance(error, NotConfirmed):
            raise error
        try:
            if stage.exists():
                self._drop(stage)
        except OSError:
            raise NotConfirmed(
                "It is not confirmed that the import was left out.", "At the next start it may be completed."
            ) from error
        raise error if isinstance(error, NotSaved) else not_saved(error) from error

    def _drop(self, stage: Path) -> None:
        self._disk.unlink(stage)
        self._disk.sync_folder(stage.parent)


class _Joined(Sequence[tuple[Path, bytes]]):
    """What each journal gets, put together when it is written."""

    def __init__(self, chosen: Sequence[tuple[MonthFiles, Sequence[bytes]]]) -> None:
        self._chosen = chosen

    def __len__(self) -> int:
        return len(self._chosen)

    @overload
    def __getitem__(self, place: int) -> tuple[Path, bytes]: ...
    @overload
    def __getitem__(self, place: slice) -> "_Joined": ...
    def __getitem__(self, place: int | slice) -> "tuple[Path, bytes] | _Joined":
        if isinstance(place, slice):
            return _Joined(self._chosen[place])
        files, lines = self._chosen[place]
        return files.journal, b"".join(lines)
