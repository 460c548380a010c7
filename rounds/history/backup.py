"""A copy of the farm folder, synced, read back and compared before it is called good."""

import errno
import glob
import os
from collections.abc import Iterator
from contextlib import ExitStack, suppress
from dataclasses import dataclass
from datetime import datetime
from hashlib import blake2b
from pathlib import Path

from rounds.errors import NotSaved, Refused
from rounds.history.beside import beside
from rounds.history.check import check
from rounds.history.columns import SUFFIX
from rounds.history.disk import Disk, make_folder, remove_folder, write_new
from rounds.history.farm_id import farm_ids
from rounds.history.last_backup import MARKER, LastBackup, mark_backup
from rounds.history.lock import PATIENT_S
from rounds.history.places import check_folder
from rounds.history.statements import read_statements
from rounds.history.store import History

_PASSED_OVER = {"lock", "reserve", "latest.summary", MARKER}


@dataclass(frozen=True, slots=True, kw_only=True)
class Backup:
    """A backup that was read back and found equal."""

    folder: Path
    files: int
    bytes: int
    records: int
    sentences: tuple[str, ...]


def backup(farm_folder: Path, to: Path, *, now: datetime | None = None, disk: Disk | None = None) -> Backup:
    """Copy a farm folder into a new folder below `to`, and verify the copy.

    Raises
    ------
    Refused
        Where `to` lies inside the farm folder, or holds backups of another farm whose folder has the same name.
    NotFound
        Where something that is no folder lies in the place of the history.
    NotSaved
        Where the copy could not be made, or is not equal.
    """
    moment = now or datetime.now().astimezone()
    source = farm_folder.resolve()
    if to.resolve().is_relative_to(source):
        raise Refused(f"{to} lies inside the farm folder.", "A backup belongs on another disk or stick.")
    check_folder(source / "history")
    _refuse_beside_another_farms(source, to)
    disk, unfinished = disk or Disk(), None
    try:
        target, unfinished = _begun(disk, to, f"{source.name}-{moment:%Y-%m-%dT%H%M%S}")
        disk.sync_folder(to)
        copied, size = _copy(source, unfinished, disk)
        disk.replace(unfinished, target)
        disk.sync_folder(to)
    except OSError as error:
        with suppress(OSError):
            if unfinished is not None:
                remove_folder(disk, unfinished)
        raise NotSaved(f"The backup could not be made: {error.strerror or error}.", "The farm is unchanged.") from error
    records = _verified(target, copied)
    _mark(source, LastBackup(at=moment, to=str(target), files=len(copied)), disk)
    sentence = f"{len(copied)} files with {records} records were copied to {target}, read back, and are equal."
    return Backup(folder=target, files=len(copied), bytes=size, records=records, sentences=(sentence,))


def _refuse_beside_another_farms(source: Path, to: Path) -> None:
    """Two farms whose folders have one name would be told apart by nothing but the hour of their backups."""
    own = farm_ids(read_statements(source / "history"))
    for former in sorted(to.glob(f"{glob.escape(source.name)}-2*"), reverse=True)[:1] if own else ():
        theirs = beside(former)
        there = farm_ids(theirs.statements)
        if there and not own & there:
            here = beside(source).farm_name or "this one"
            raise Refused(
                f"{to} holds backups of another farm, “{theirs.farm_name or 'without a name'}”; this is “{here}”.",
                "Name another folder for the backups of this farm.",
                code="another-farm",
            )


def _copy(source: Path, target: Path, disk: Disk) -> tuple[dict[Path, bytes], int]:
    """Copy under the lock of the history; give the digest of every file as it was read."""
    digests, size = {}, 0
    with ExitStack() as held:
        _hold_still(source, held, disk)
        for path in _files(source):
            data = disk.read_any(path)
            copy = target / path.relative_to(source)
            make_folder(disk, copy.parent)
            write_new(disk, copy, data)
            digests[path.relative_to(source)] = blake2b(data).digest()
            size += len(data)
    return digests, size


def _hold_still(source: Path, held: ExitStack, disk: Disk) -> None:
    if (source / "history").is_dir():
        history = held.enter_context(History.open(source / "history", disk=disk))
        if not history.read_only:
            held.enter_context(history.writing(wait_s=PATIENT_S))


def _files(source: Path) -> Iterator[Path]:
    for path in sorted(source.rglob("*")):
        inside = path.relative_to(source).parts
        hidden = any(part.startswith(".") for part in inside)
        if path.is_file() and not hidden and path.suffix not in (".tmp", SUFFIX) and path.name not in _PASSED_OVER:
            yield path


def _verified(target: Path, digests: dict[Path, bytes]) -> int:
    for name, digest in digests.items():
        if blake2b(_read_from_disk(target / name)).digest() != digest:
            raise NotSaved(f"The backup of {name} is not equal to its original.", "Use another disk or stick.")
    return check(target).records if (target / "history").is_dir() else 0


def _read_from_disk(path: Path) -> bytes:
    with path.open("rb") as file:
        if hasattr(os, "posix_fadvise"):
            os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)
        return file.read()


def _mark(source: Path, made: LastBackup, disk: Disk) -> None:
    if (source / "history").is_dir():
        with History.open(source / "history", read_only=True, disk=disk) as history:
            mark_backup(history.folder / history.device, made, disk)


def _begun(disk: Disk, to: Path, stem: str) -> tuple[Path, Path]:
    """Begin a folder of a name that no other backup has; of several in one second each gets its own."""
    make_folder(disk, to)
    for mark in ("", *(f"-{number}" for number in range(2, 1000))):
        target, unfinished = to / f"{stem}{mark}", to / f"{stem}{mark}.unfinished"
        if not target.exists():
            try:
                disk.mkdir(unfinished)
            except FileExistsError:
                continue
            return target, unfinished
    raise OSError(errno.EEXIST, "there are a thousand backups of this second")
