"""Where the files of a history lie, and what tells that one of them has changed."""

import os
import re
from functools import cached_property
from pathlib import Path

import msgspec

from rounds.history.device import DEVICE_PATTERN

Key = tuple[str, str]
"""Device and month."""
Stamp = tuple[str, int, int]
"""Name, size in bytes and time of the last change in nanoseconds."""
_YEAR = re.compile(r"[0-9]{4}\Z")
_MONTH_FILE = re.compile(r"([0-9]{4}-(?:0[1-9]|1[0-2]))(?![0-9]).*\.json", re.DOTALL)
_UNFINISHED = (".tmp",)


class MonthFiles(msgspec.Struct, frozen=True, dict=True):
    """The files of one month of one device."""

    folder: Path
    device: str
    month: str
    stamps: tuple[Stamp, ...] = ()
    """What must be read: the journal, copies left by a sync tool, the monthly file only where there is no journal."""

    @cached_property
    def key(self) -> Key:
        return self.device, self.month

    @cached_property
    def journal(self) -> Path:
        return self.folder / f"{self.month}.jsonl"

    @cached_property
    def table(self) -> Path:
        return self.folder / f"{self.month}.json"

    @cached_property
    def older(self) -> Path:
        return self.folder / f"{self.month}.json.bak"

    @property
    def copies(self) -> list[Path]:
        own = {self.journal.name, self.table.name}
        return [self.folder / name for name, _, _ in self.stamps if name not in own]


def month_files(history: Path, device: str, month: str, stamps: tuple[Stamp, ...] = ()) -> MonthFiles:
    return MonthFiles(history / device / month[:4], device, month, stamps)


def list_months(history: Path) -> dict[Key, MonthFiles]:
    """Find every month of every device, with what tells whether it has changed; nothing is opened."""
    found: dict[Key, MonthFiles] = {}
    for device in _folders(history, DEVICE_PATTERN):
        for year in _folders(device, _YEAR):
            for month, stamps in _month_stamps(year).items():
                found[device.name, month] = MonthFiles(year, device.name, month, stamps)
    return found


def stamp_of(path: Path) -> Stamp:
    status = path.stat()
    return path.name, status.st_size, status.st_mtime_ns


def _folders(parent: Path, pattern: re.Pattern[str]) -> list[Path]:
    try:
        with os.scandir(parent) as entries:
            return sorted(Path(each.path) for each in entries if pattern.match(each.name) and each.is_dir())
    except FileNotFoundError:
        return []


def _month_stamps(year: Path) -> dict[str, tuple[Stamp, ...]]:
    months: dict[str, dict[str, os.DirEntry[str]]] = {}
    with os.scandir(year) as entries:
        for entry in entries:
            if _MONTH_FILE.match(entry.name) and entry.name[:4] == year.name and not entry.name.endswith(_UNFINISHED):
                months.setdefault(entry.name[:7], {})[entry.name] = entry
    return {month: _relevant(month, named) for month, named in months.items()}


def _relevant(month: str, named: dict[str, os.DirEntry[str]]) -> tuple[Stamp, ...]:
    named.pop(f"{month}.json.bak", None)
    if f"{month}.jsonl" in named:
        named.pop(f"{month}.json", None)
    statuses = [(name, entry.stat()) for name, entry in sorted(named.items())]
    return tuple((name, status.st_size, status.st_mtime_ns) for name, status in statuses)
