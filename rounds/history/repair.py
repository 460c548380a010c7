"""Making both copies of every month whole again. Nothing is discarded: what is replaced is put aside first."""

from dataclasses import dataclass
from pathlib import Path

import msgspec

from rounds.history.check import examine
from rounds.history.disk import Disk, write_new
from rounds.history.files import MonthFiles, list_months
from rounds.history.journal import sealed
from rounds.history.month import write_table
from rounds.history.places import history_folder
from rounds.history.quarantine import put_aside
from rounds.history.reading import Damage, MonthContent
from rounds.history.store import History


@dataclass(frozen=True, slots=True, kw_only=True)
class Repaired:
    """What was put right."""

    months: int
    sentences: tuple[str, ...]


def repair(place: Path, *, disk: Disk | None = None) -> Repaired:
    """Write journal and monthly file anew wherever they are damaged or differ.

    Raises
    ------
    NotSaved
        Where nothing may be written, or another window holds the history.
    """
    folder, disk = history_folder(place), disk or Disk()
    told: list[str] = []
    months = 0
    with History.open(folder, disk=disk) as history, history.writing():
        for files in list_months(folder).values():
            content, found = examine(disk, files)
            if found and not content.newer:
                told += [*found, *_renew(folder, disk, files, content)]
                months += 1
    return Repaired(months=months, sentences=tuple(dict.fromkeys(told)))


def _renew(folder: Path, disk: Disk, files: MonthFiles, content: MonthContent) -> list[str]:
    for path in (files.journal, files.table, files.older):
        if path.exists():
            put_aside(folder, disk, _whole(disk, files, path))
    data = b"".join(sealed(each) for each in (*map(msgspec.json.encode, content.docs), *content.strange))
    write_new(disk, files.journal, data)
    write_table(files.table, disk, content.docs, len(data))
    return [f"{files.month} of {files.device}: {len(content.docs)} records were written anew; the old files are kept."]


def _whole(disk: Disk, files: MonthFiles, path: Path) -> Damage:
    raw = disk.read(path)
    return Damage(path=path, device=files.device, month=files.month, raw=raw, sentence="kept before it was renewed")
