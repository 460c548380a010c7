"""A copy of the farm folder, synced, read back and compared before it is called good."""

import os
import shutil
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import datetime
from hashlib import blake2b
from pathlib import Path

import msgspec

from rounds.errors import NotSaved, Refused
from rounds.history.disk import Disk, make_folder, write_new
from rounds.history.places import check_folder, history_folder

MARKER = "last-backup"
_PASSED_OVER = {"lock", "reserve", "latest.summary", MARKER}


class LastBackup(msgspec.Struct, frozen=True):
    """When a good backup was last made, and where."""

    at: datetime
    to: str
    files: int


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
        Where `to` lies inside the farm folder.
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
    target = _free_name(to / f"{source.name}-{moment:%Y-%m-%dT%H%M%S}")
    unfinished, disk = target.with_name(target.name + ".unfinished"), disk or Disk()
    try:
        copied, size = _copy(source, unfinished, disk)
        disk.replace(unfinished, target)
        disk.sync_folder(to)
    except OSError as error:
        shutil.rmtree(unfinished, ignore_errors=True)
        raise NotSaved(f"The backup could not be made: {error.strerror or error}.", "The farm is unchanged.") from error
    records = _verified(target, copied)
    _mark(source, LastBackup(at=moment, to=str(target), files=len(copied)))
    sentence = f"{len(copied)} files with {records} records were copied to {target}, read back, and are equal."
    return Backup(folder=target, files=len(copied), bytes=size, records=records, sentences=(sentence,))


def last_backup(place: Path) -> LastBackup | None:
    """Tell of the last good backup of a farm, made by any of its devices."""
    found = []
    for marker in history_folder(place).glob(f"*/{MARKER}") if place.is_dir() else ():
        try:
            found.append(msgspec.json.decode(marker.read_bytes(), type=LastBackup))
        except (OSError, msgspec.MsgspecError):
            continue
    return max(found, key=lambda each: each.at, default=None)


def _copy(source: Path, target: Path, disk: Disk) -> tuple[dict[Path, bytes], int]:
    """Copy under the lock of the history; give the digest of every file as it was read."""
    digests, size = {}, 0
    make_folder(disk, target)
    with ExitStack() as held:
        _hold_still(source, held)
        for path in _files(source):
            data = path.read_bytes()
            copy = target / path.relative_to(source)
            make_folder(disk, copy.parent)
            write_new(disk, copy, data)
            digests[path.relative_to(source)] = blake2b(data).digest()
            size += len(data)
    return digests, size


def _hold_still(source: Path, held: ExitStack) -> None:
    from rounds.history.store import History

    if (source / "history").is_dir():
        history = held.enter_context(History.open(source / "history"))
        if not history.read_only:
            held.enter_context(history.writing())


def _files(source: Path) -> Iterator[Path]:
    for path in sorted(source.rglob("*")):
        inside = path.relative_to(source).parts
        hidden = any(part.startswith(".") for part in inside)
        if path.is_file() and not hidden and path.suffix != ".tmp" and path.name not in _PASSED_OVER:
            yield path


def _verified(target: Path, digests: dict[Path, bytes]) -> int:
    from rounds.history.check import check

    for name, digest in digests.items():
        if blake2b(_read_from_disk(target / name)).digest() != digest:
            raise NotSaved(f"The backup of {name} is not equal to its original.", "Use another disk or stick.")
    return check(target).records if (target / "history").is_dir() else 0


def _read_from_disk(path: Path) -> bytes:
    with path.open("rb") as file:
        if hasattr(os, "posix_fadvise"):
            os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)
        return file.read()


def _mark(source: Path, made: LastBackup) -> None:
    from rounds.history.store import History

    if not (source / "history").is_dir():
        return
    with History.open(source / "history", read_only=True) as history:
        own = history.folder / history.device
    try:
        own.mkdir(exist_ok=True, mode=0o700)
        write_new(Disk(), own / MARKER, msgspec.json.encode(made))
    except OSError:
        return


def _free_name(wanted: Path) -> Path:
    names = (wanted, *(wanted.with_name(f"{wanted.name}-{number}") for number in range(2, 1000)))
    return next(each for each in names if not each.exists())
