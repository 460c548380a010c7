"""Making both copies of every month whole again. Nothing is discarded: what is replaced is put aside first."""

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from hashlib import blake2b
from pathlib import Path

import msgspec

from rounds.history.disk import Disk, make_folder, write_new
from rounds.history.examine import examine
from rounds.history.files import MonthFiles, Survey, survey
from rounds.history.gaps import Gap, read_known_gaps, write_known_gaps
from rounds.history.journal import sealed
from rounds.history.lock import PATIENT_S
from rounds.history.month import Doc, write_table
from rounds.history.places import history_folder
from rounds.history.quarantine import FOLDER
from rounds.history.reading import MonthContent
from rounds.history.store import History
from rounds.history.tally import Tally

_MOST_PASSES = 50
"""After each, what was in the way is gone and more may be seen: copies beyond those that are read at once."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Repaired:
    """What was put right."""

    months: int
    sentences: tuple[str, ...]


def repair(place: Path, *, disk: Disk | None = None) -> Repaired:
    """Write journal and monthly file anew wherever they are damaged or differ; what cannot be is said.

    What is in the way and is no file, or cannot be read, goes to the quarantine as it is. What is missing afterwards is
    kept as known: a check names it, and calls the record sound.

    Raises
    ------
    NotSaved
        Where nothing may be written, or another window holds the history.
    """
    folder, disk = history_folder(place), disk or Disk()
    with History.open(folder, disk=disk) as history, history.writing(wait_s=PATIENT_S):
        work = _Repair(folder, disk)
        work.run()
        told = [*work.told, *_note_gaps(folder, folder / history.device, disk)]
    return Repaired(months=len(work.months), sentences=tuple(dict.fromkeys(told)))


class _Repair:
    """Goes over a history until nothing is left that can be put right."""

    def __init__(self, folder: Path, disk: Disk) -> None:
        self.told: list[str] = []
        self.months: set[Path] = set()
        self._folder = folder
        self._disk = disk

    def run(self) -> None:
        for _ in range(_MOST_PASSES):
            seen = survey(self._folder, self._disk)
            before = len(self.told)
            self._clear_the_way(seen)
            for files in seen.months.values():
                self._renew_where_needed(files, has_too_many=files.copies != [] and bool(seen.told))
            if len(self.told) == before:
                return

    def _clear_the_way(self, seen: Survey) -> None:
        for path in seen.odd:
            if self._moved(path):
                self.told.append(
                    f"{path.name} of {path.parent.parent.name} is no file: it was moved to the quarantine."
                )

    def _renew_where_needed(self, files: MonthFiles, *, has_too_many: bool) -> None:
        content, found = examine(self._disk, files)
        if content.newer or not (found or has_too_many):
            return
        try:
            self._renew(files, content)
        except OSError as error:
            why = error.strerror or error
            self.told += [*found, f"{files.month} of {files.device} could not be written anew: {why}."]
            return
        self.told += found
        self.told.append(
            f"{files.month} of {files.device}: {len(content.docs)} records were written anew; the old files are kept."
        )
        self.months.add(files.journal)

    def _renew(self, files: MonthFiles, content: MonthContent) -> None:
        """Keep the old files under other names, then write both copies; records of copies stand in the new journal."""
        docs = dict(_as_lines(content.docs))
        for path in (files.journal, files.table, files.older):
            self._keep(path)
        data = b"".join(sealed(each) for each in (*docs, *content.strange))
        write_new(self._disk, files.journal, data)
        write_table(files.table, self._disk, docs.values(), len(data))
        for path in files.copies:
            self._moved(path)

    def _keep(self, path: Path) -> None:
        """Give a file a second name in the quarantine; where that cannot be, move it there."""
        if path.is_symlink() or path.exists():
            place = self._place(path)
            try:
                self._disk.link(path, place)
                self._disk.read(place)
            except OSError:
                with suppress(OSError):
                    self._disk.unlink(place)
                self._moved(path)

    def _moved(self, path: Path) -> bool:
        try:
            self._disk.replace(path, self._place(path))
            self._disk.sync_folder(path.parent)
        except OSError:
            return False
        return True

    def _place(self, path: Path) -> Path:
        """A free name in the quarantine, made of what is known of a file without reading it."""
        make_folder(self._disk, self._folder / FOLDER)
        status = path.lstat()
        mark = blake2b(f"{status.st_ino} {status.st_size} {status.st_mtime_ns}".encode(), digest_size=6).hexdigest()
        stem = f"{path.parent.parent.name}-{path.name}-{mark}"
        names = (self._folder / FOLDER / f"{stem}{more}.damaged" for more in ("", *(f"-{n}" for n in range(2, 999))))
        return next(name for name in names if not name.is_symlink() and not name.exists())


def _as_lines(docs: list[Doc]) -> Iterator[tuple[bytes, Doc]]:
    """Documents with their JSON, without those of a foreign monthly file that no line could hold."""
    for doc in docs:
        with suppress(UnicodeEncodeError, OverflowError, RecursionError):
            yield msgspec.json.encode(doc), doc


def _note_gaps(folder: Path, own: Path, disk: Disk) -> list[str]:
    """Keep what is missing as known, and say what was not known before."""
    tally = Tally()
    for files in survey(folder, disk).months.values():
        tally.take(disk, files)
    gaps, known = tally.gaps(), read_known_gaps(folder, disk)
    fresh = [gap for gap in gaps if not gap.lies_in(known)]
    if fresh:
        write_known_gaps(own, disk, gaps)
    return [_looked_for(gap) for gap in fresh]


def _looked_for(gap: Gap) -> str:
    return f"{gap.sentence[:-1]}, and no copy here has it: from now on that is no fault of this record."
