"""The one who writes: into the journals of this laptop's own folder, under the lock, numbered without a gap."""

import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

import msgspec

from rounds.errors import NotSaved, RoundsError
from rounds.history.append import Appender, NotConfirmed, Reserve, not_saved
from rounds.history.device import Known, claim, new_name, remember
from rounds.history.disk import Disk, make_folder
from rounds.history.files import Key, MonthFiles
from rounds.history.ids import IdSource
from rounds.history.importing import Importer
from rounds.history.journal import sealed
from rounds.history.library import Library
from rounds.history.lock import SHORT_S, FolderLock
from rounds.history.month import write_table
from rounds.history.numbering import EnteredSource, Numbering
from rounds.history.open_saves import numbers_on_disk, where_it_begins
from rounds.history.quarantine import put_aside
from rounds.history.reading import Damage, read_month
from rounds.history.record import Draft, Record, month_of
from rounds.history.recovery import heal, tidy
from rounds.history.staging import staged_files
from rounds.history.stating import Stating

MUCH_READ_MONTHS = 2


class Writer:
    """Writes for one device; every method but `may_write` is called by one thread at a time."""

    def __init__(
        self,
        folder: Path,
        known: Known,
        library: Library,
        disk: Disk,
        ids: IdSource,
        state: Path | None,
        farm_name: str = "",
    ) -> None:
        self.folder = folder
        self.warnings: list[str] = []
        self._known = known
        self._library = library
        self.disk = disk
        self.numbering = Numbering(library, ids)
        self._state = state
        self._dirty: set[Key] = set()
        self._summary_due = False
        self._generation = 0
        self._unsure = False
        """Whether something may stand on the disk that was not confirmed."""
        self._farm_name = farm_name
        self._settle(known.device)

    def _settle(self, device: str) -> None:
        self.device = device
        self._own = self.folder / device
        self._lock = FolderLock(self._own / "lock", self.disk)
        self._reserve = Reserve(self._own / "reserve", self.disk)
        self._appender = Appender(self.folder, self.disk, self._reserve)
        self.stating = Stating(self._own, self._library, self.disk, self._appender, self._farm_name)
        self.importer = Importer(self._own, self._library, self.disk, self._appender, self.tidy, self._written)

    @property
    def has_folder(self) -> bool:
        """Whether anything was ever written here."""
        return self._own.is_dir()

    @property
    def columns(self) -> Path:
        """Where derived columns of numbers are kept."""
        return self._own / "columns"

    def may_write(self) -> bool:
        """Tell whether the system would let anything be written here."""
        place = self._own
        while not place.exists() and place != place.parent:
            place = place.parent
        return os.access(place, os.W_OK | os.X_OK)

    def load(self) -> None:
        """Take over what was known at the last close."""
        self._library.load_summary(self._own / "latest.summary")
        self._generation = self._lock.generation()

    def recover(self, damage: Sequence[Damage]) -> list[str]:
        """Put right what a cut or a crash left behind; never fails, but warns."""
        told = [each.sentence for each in damage]
        if self._known.seq > self._library.counters.seq(self.device):
            told += self._take_new_name()
        elif self._own_is_out_of_reach():
            told += self._take_another_name()
        try:
            told += self._put_aside(damage)
            if self._own.is_dir() and self._has_left_something():
                with self.locked():
                    told += self._recover_own()
        except (OSError, RoundsError) as error:
            self.warn(f"What was left from the last time could not be put right yet: {_reason(error)}.")
        return told

    @contextmanager
    def locked(self, *, writing: bool = True, wait_s: float = SHORT_S) -> Iterator[None]:
        """Hold the lock of the own folder, having read what others wrote.

        Raises
        ------
        NotSaved
            Where the lock cannot be had.
        """
        try:
            if not self._lock.is_open():
                self._move_in()
            self._lock.take(wait_s)
        except NotSaved:
            raise
        except OSError as error:
            raise not_saved(error) from error
        try:
            self._catch_up(writing)
            yield
        finally:
            self._lock.release()

    def append(
        self, drafts: Sequence[Draft], entered: EnteredSource | None, now: Callable[[], datetime]
    ) -> Sequence[Record]:
        """Number drafts and write them down, all or none; the lock is held."""
        records = self.numbering.records(self.device, drafts, entered, now())
        months = _by_month(records)
        parts = [(self._library.files(key), some, _lines(some)) for key, some in months.items()]
        try:
            for files, _, _ in parts:
                self.tidy(files)
            self._appender.append([(files.journal, data) for files, _, data in parts])
        except NotConfirmed:
            self.numbering.keep_unconfirmed(drafts, records)
            self._library.distrust([files.key for files, _, _ in parts])
            self._unsure = True
            raise
        except NotSaved:
            raise
        except OSError as error:
            raise not_saved(error) from error
        self._written([(files, some) for files, some, _ in parts])
        return records

    def tidy(self, files: MonthFiles) -> str | None:
        """Close an unfinished last line of a journal; say what was found."""
        head = self._library.heads.get(files.key)
        if head is None:
            return None
        sentence = tidy(self.folder, self.disk, self._appender, files, head.read_to)
        if sentence is not None:
            self._library.distrust([files.key])
            self._library.look()
        return sentence

    def rewrite_next(self) -> bool:
        """Rewrite one monthly file that is due, or else the summary; tell whether more is due."""
        try:
            if self._reserve.used:
                self._reserve.provide()
            if self._dirty and not self._reserve.used:
                with self.locked(writing=False):
                    self._rewrite_month(max(self._dirty, key=lambda key: key[1]))
                return True
            if self.stating.is_due() and not self._reserve.used:
                with self.locked(writing=False):
                    self.stating.identify()
            if self._summary_due or (self._library.folds.are_unsaved() and self.has_folder):
                with self.locked(writing=False):
                    self._save_summary()
        except (OSError, RoundsError) as error:
            self.warn(f"A monthly file could not be rewritten yet: {_reason(error)}. The journal holds everything.")
        return False

    def close(self) -> None:
        self._lock.close()

    def note_much_read(self, months: int) -> None:
        """Have the summary written where the start had to read much."""
        self._summary_due = self._summary_due or months > MUCH_READ_MONTHS

    def _move_in(self) -> None:
        """Make the own folder, and remember that it is this laptop's; of several windows the first gives the name."""
        if self._own.is_dir():
            return
        if not self._known.fixed:
            name = claim(self.folder, self._known, self._state)
            if name != self.device:
                self._known = Known(device=name, path="")
                self._settle(name)
                self._unsure = True
        make_folder(self.disk, self._own)
        self._remember()

    def _catch_up(self, writing: bool) -> None:
        try:
            self._read_others(writing)
        except OSError as error:
            raise error if isinstance(error, NotSaved) else not_saved(error) from error

    def _read_others(self, writing: bool) -> None:
        if self._unsure or self._lock.generation() != self._generation:
            self._library.look()
            if self._library.is_unsure():  # a second look, since without it a number might be given twice
                self._library.look()
            self._unsure = self._library.is_unsure()
        if writing and self._unsure and self._library.cannot_count(self.device):
            raise NotSaved(
                "What this laptop wrote before cannot be read now, so nothing was saved.",
                "`rounds check FARM` names what cannot be read.",
            )
        if writing:
            self._generation = self._lock.raise_generation()
        else:
            self._generation = self._lock.generation()

    def _written(self, parts: Iterable[tuple[MonthFiles, Sequence[Record]]]) -> None:
        for files, records in parts:
            self._library.take_in(files, records)
            self._dirty.add(files.key)
        self._summary_due = True
        self.stating.note_written()
        if self._reserve.used:
            self.warn("The disk is full: the reserve is in use, and some thousand readings can still be written.")

    def _has_left_something(self) -> bool:
        """Tell without the lock whether there is anything to put right."""
        mine = [key for key in self._library.heads if key[0] == self.device]
        cut = any(self._library.heads[key].is_unfinished() or key in self._library.to_heal for key in mine)
        return cut or bool(staged_files(self._own)) or bool(self._library.broken_off(self.device))

    def _recover_own(self) -> list[str]:
        self._library.look()
        told = self.importer.finish()
        for key, head in list(self._library.heads.items()):
            if key[0] == self.device and head.is_unfinished():
                told.append(self.tidy(self._library.files(key)) or "")
        self._heal_own()
        told += [self._take_back(span) for span in self._library.broken_off(self.device)]
        return [each for each in told if each]

    def _take_back(self, span: tuple[int, int]) -> str:
        """Take off the ends of the journals what a power cut left of several records that were saved as one."""
        keys = [key for key, head in self._library.heads.items() if key[0] == self.device and head.seq >= span[0]]
        months = [self._library.files(key) for key in keys]
        there = {number for files in months for number in numbers_on_disk(self.disk, files, span)}
        cuts = [(files, where_it_begins(self.disk, files, span)) for files in months]
        if len(there) > span[1] - span[0] or any(begin is None for _, begin in cuts):
            return ""
        for files, begin in cuts:
            rest = self.disk.read(files.journal, begin or 0)
            left = Damage(path=files.journal, device=files.device, month=files.month, raw=rest, sentence="broken off")
            put_aside(self.folder, self.disk, left)
            self._appender.cut(files.journal, begin or 0)
        self._library.forget(keys)
        self._library.look()
        return "Values that were being saved as one when the power went are not complete: they are in quarantine."

    def _heal_own(self) -> None:
        lacking = [each for each in self._library.to_heal if each[0] == self.device]
        for key in lacking:
            heal(self._appender, self._library.files(key), self._library.to_heal.pop(key))
            self._library.distrust([key])
            self._dirty.add(key)
        if lacking:
            self._library.look()

    def _put_aside(self, damage: Sequence[Damage]) -> list[str]:
        kept = [put_aside(self.folder, self.disk, each) for each in damage if each.raw]
        return [f"What was damaged is kept in {kept[0].parent}."] if kept else []

    def _take_new_name(self) -> list[str]:
        last = self._library.counters.seq(self.device)
        sentence = (
            f"This folder ends at record {last} of this laptop, which has written {self._known.seq}: it was set back. "
            "What is written now is kept under a new name of this laptop; merge the newer copy to have the rest."
        )
        self._rename()
        return [sentence]

    def _own_is_out_of_reach(self) -> bool:
        """Tell whether something of this device's own cannot be read, also at a second look."""
        if self._library.cannot_count(self.device):
            self._library.look()
        self._unsure = self._library.is_unsure()
        return self._library.cannot_count(self.device) and "" not in self._library.seen.blocked

    def _take_another_name(self) -> list[str]:
        """So that no number is given twice, and what is written now is safe from what is wrong there."""
        self._rename()
        return [
            "Something that this laptop wrote cannot be read now. What is written meanwhile is kept under a new name "
            "of this laptop; `rounds check FARM` names what it is, and `--repair` puts right what can be."
        ]

    def _rename(self) -> None:
        self._known = Known(device=new_name(), path="", instead_of=self._known.device)
        self._settle(self._known.device)

    def _rewrite_month(self, key: Key) -> None:
        files = self._library.files(key)
        content = read_month(self.disk, files)
        if not content.newer:
            write_table(files.table, self.disk, content.docs, content.read_to)
        self._dirty.discard(key)

    def _save_summary(self) -> None:
        self._library.save_summary(self._own / "latest.summary")
        self._summary_due = False
        self._reserve.provide()
        self._remember()

    def _remember(self) -> None:
        if not self._known.fixed:
            remember(self.folder, self.device, self._library.counters.seq(self.device), self._state)

    def warn(self, sentence: str) -> None:
        """Have a sentence told, once."""
        if sentence not in self.warnings:
            self.warnings.append(sentence)


def _by_month(records: Sequence[Record]) -> dict[Key, list[Record]]:
    months: dict[Key, list[Record]] = {}
    for record in records:
        months.setdefault((record.device, month_of(record.measured_at)), []).append(record)
    return months


def _lines(records: Sequence[Record]) -> bytes:
    return b"".join(sealed(msgspec.json.encode(record)) for record in records)


def _reason(error: Exception) -> str:
    if isinstance(error, RoundsError):
        return error.sentence.rstrip(".")
    return getattr(error, "strerror", None) or str(error)
