"""The history of a farm: what was written down stays, and is durable before `save` returns."""

import time
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Self

import msgspec

from rounds.errors import NotFound, NotSaved
from rounds.history.append import not_saved
from rounds.history.device import Known, recall
from rounds.history.disk import Disk
from rounds.history.ids import IdSource, uuid7
from rounds.history.library import Library
from rounds.history.lock import SHORT_S
from rounds.history.lookups import Lookups
from rounds.history.numbering import EnteredSource
from rounds.history.passed_over import passed_over
from rounds.history.places import check_folder
from rounds.history.record import Draft, Record, checked, month_of
from rounds.history.rewriter import Afterwards, Rewriter
from rounds.history.statements import read_statements
from rounds.history.writer import Writer

if TYPE_CHECKING:
    from rounds.history.series import YearOfColumns

NEWER_HERE = "A newer version of this program has written here under this laptop's name"


def _now() -> datetime:
    return datetime.now(UTC).astimezone()


class History(Lookups):
    """Everything written down on one farm, read from all its devices and written into the folder of one.

    Open it with `History.open`. All methods may be called from any thread.
    """

    def __init__(self, library: Library, writer: Writer, now: Callable[[], datetime], read_only: bool) -> None:
        super().__init__(library, now, self._columns_of)
        self._writer = writer
        self._asked_read_only = read_only
        self._recovered: list[str] = []
        self._told = 0
        self._afterwards = Afterwards()
        self._rewriter = Rewriter(self._tidy_up)
        with self._lock:
            self._begin()

    @classmethod
    def open(
        cls,
        folder: Path,
        *,
        device: str | None = None,
        now: Callable[[], datetime] = _now,
        read_only: bool = False,
        ids: IdSource = uuid7,
        state: Path | None = None,
        disk: Disk | None = None,
        farm_name: str = "",
    ) -> Self:
        """Open the history of a farm.

        Parameters
        ----------
        folder : Path
            `FARM/history`; it need not be there yet.
        device : str, optional
            Name of the writing device; this laptop's own for this folder where not given.
        now : callable
            The clock.
        read_only : bool
            Whether nothing at all may be written.
        ids : callable
            Where ids come from: `seeded_ids(7)` makes a generator reproducible.
        state : Path, optional
            Where this laptop keeps its names; its usual place where not given.
        disk : Disk, optional
            The calls of the operating system.
        farm_name : str
            A farm of this name is given an id at its next writing, where it has none; none is given without a name.

        Raises
        ------
        NotFound
            Where a file lies in the place of the folder.
        """
        check_folder(folder)
        disk = disk or Disk()
        known = Known(device=device, path="", fixed=True) if device else recall(folder, state)
        library = Library(folder, disk)
        writer = Writer(folder, known, library, disk, ids, state, farm_name)
        return cls(library, writer, now, read_only)

    @property
    def folder(self) -> Path:
        return self._library.folder

    @property
    def device(self) -> str:
        """Name under which this laptop writes here."""
        return self._writer.device

    @property
    def library(self) -> Library:
        """The records on the disk, for merging and checking."""
        return self._library

    @property
    def read_only(self) -> bool:
        """Whether saving is refused: asked for, forbidden by the disk, or because a newer version wrote here."""
        return self._asked_read_only or self._is_newer or not self._may_write

    @property
    def recovered(self) -> tuple[str, ...]:
        """What was put right at opening, a sentence each."""
        return tuple(self._recovered)

    @property
    def out_of_reach(self) -> tuple[str, ...]:
        """What of the record cannot be read now, a sentence each: nobody knows what stands there."""
        return tuple(self._library.out_of_reach())

    @property
    def warnings(self) -> tuple[str, ...]:
        """What the grower should know of the state of the record, a sentence each."""
        found = [*self._library.seen.told, *(each.sentence for each in self._library.damage[self._told :])]
        if self._is_newer:
            found.append(f"{NEWER_HERE}: it can be read, but not added to. Bring this laptop up to date.")
        elif not self._asked_read_only and not self._may_write:
            found.append("The farm folder can only be read: nothing can be saved here.")
        missing = sorted({f"{month} of {device}" for device, month in self._library.gone})
        found += [f"The records of {each} were here and are gone: look into the last backup." for each in missing]
        found += passed_over(self._library.heads.values(), self.device)
        return tuple(dict.fromkeys([*found, *self._writer.warnings]))

    def save(self, *drafts: Draft) -> tuple[Record, ...]:
        """Write drafts down, all in one; they are durable when this returns.

        Raises
        ------
        BadInput
            Where a draft cannot be kept as it is.
        NotSaved
            Where nothing was saved; the sentence says why.
        """
        return tuple(self._save([checked(draft) for draft in drafts], None))

    def add_bulk(self, drafts: Iterable[Draft], *, entered: EnteredSource | None = None) -> int:
        """Write many drafts down, all or nothing, with one sync for each month; give how many.

        Parameters
        ----------
        drafts : iterable of Draft
            In any order.
        entered : callable, optional
            Gives the time of entry of a draft: `lambda draft: draft.measured_at` for a generator.
        """
        return len(self._save([checked(draft) for draft in drafts], entered))

    def replace(self, old_id: str, draft: Draft) -> Record:
        """Write a record down that replaces another, which stays in the chain."""
        if self.get(old_id) is None:
            raise NotFound(f"There is no record {old_id} to replace.")
        return self.save(msgspec.structs.replace(draft, replaces=old_id))[0]

    def void(self, old_id: str, *, person: str, note: str | None = None) -> Record:
        """Take a record back: it counts no longer, and stays in the chain."""
        old = self.get(old_id)
        if old is None:
            raise NotFound(f"There is no record {old_id} to take back.")
        draft = Draft(
            kind=old.kind,
            station=old.station,
            item=old.item,
            measured_at=old.measured_at,
            round_id=old.round_id,
            person=person,
            note=note,
            void=True,
        )
        return self.replace(old_id, draft)

    def refresh(self) -> bool:
        """Read what another window, process or device has added; tell whether there was anything."""
        with self._lock:
            return bool(self._library.look())

    def clock_concern(self) -> str | None:
        """Say what is odd about the clock, compared with the last record; to be asked once."""
        concern = self._writer.numbering.clock_concern(self.device, self._now())
        return concern[1] if concern else None

    def statements(self) -> list[bytes]:
        """What all devices have stated beside their records, each once."""
        return read_statements(self.folder)

    def state(self, bodies: Sequence[bytes], without: Collection[bytes] = ()) -> None:
        """Add to what this device states beside its records, durably; leave out what is stated no more.

        Raises
        ------
        NotSaved
            Where it could not be written.
        """
        with self.writing() as writer:
            try:
                writer.stating.state(bodies, without)
            except NotSaved:
                raise
            except OSError as error:
                raise not_saved(error) from error

    def farm_ids(self) -> frozenset[str]:
        """Give the ids of the farm; where none is written, the one that its oldest record would give it."""
        with self._lock:
            return self._writer.stating.farm_ids()

    def identify(self) -> frozenset[str]:
        """Give the ids of the farm, after writing one down where it has a name and no id."""
        if not self.read_only and self._writer.stating.farm_name:
            with self.writing() as writer, suppress(OSError):
                writer.stating.identify()
        return self.farm_ids()

    def warn(self, sentence: str) -> None:
        """Have the grower told something of the state of the record."""
        self._writer.warn(sentence)

    def afterwards(self, work: Callable[[], None]) -> None:
        """Have something done beside everything else, about a second after the last save, or when this is closed."""
        self._afterwards.add(work)
        self._rewriter.wake()

    def flush(self) -> None:
        """Rewrite now what is due; called by itself a second after the last save, and by `close`."""
        self._tidy_up()

    def close(self) -> None:
        """Rewrite what is due and let go of the folder."""
        self._rewriter.stop()
        if not self.read_only:
            self._tidy_up()
        with self._lock:
            self._writer.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @contextmanager
    def writing(self, *, wait_s: float = SHORT_S) -> Iterator[Writer]:
        """Hold everything still while something writes; where another window does, wait for it."""
        with self._lock:
            if self.read_only:
                why = NEWER_HERE if self._is_newer else "The history is open for reading only"
                raise NotSaved(f"{why}, so nothing was saved.")
            with self._writer.locked(wait_s=wait_s):
                yield self._writer
            self._rewriter.wake()

    def _columns_of(self, year: str) -> "YearOfColumns":
        from rounds.history.series import YearOfColumns  # not needed before the first screen

        may_keep, now = not self.read_only and self._writer.has_folder, month_of(self._now())
        return YearOfColumns(
            self._library, self._writer.disk, self._writer.columns, year, open_from=now, may_keep=may_keep
        )

    @property
    def _is_newer(self) -> bool:
        return self.device in self._library.newer

    def _begin(self) -> None:
        self._may_write = self._writer.may_write()
        self._writer.load()
        before = set(self._library.heads)
        self._library.look()
        self._writer.note_much_read(len(self._library.heads.keys() - before))
        self._told = len(self._library.damage)
        damage = list(self._library.damage)
        if not self.read_only:
            self._recovered += self._writer.recover(damage)
        else:
            self._recovered += [each.sentence for each in damage]
            self._library.pass_over_broken_off(self.device)

    def _save(self, drafts: Sequence[Draft], entered: EnteredSource | None) -> Sequence[Record]:
        if not drafts:
            return ()
        with self.writing() as writer:
            return writer.append(drafts, entered, self._now)

    def _tidy_up(self) -> None:
        for failed in self._afterwards.done():
            self.warn(failed)
        more = True
        while more:
            with self._lock:
                more = self._writer.rewrite_next()
            time.sleep(0)
