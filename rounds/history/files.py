"""Where the files of a history lie, and what tells that one of them has changed."""

import os
import re
from dataclasses import dataclass
from pathlib import Path

from rounds.history.device import DEVICE_PATTERN

Key = tuple[str, str]
"""Device and month."""
Stamp = tuple[str, int, int]
"""Name, size in bytes and time of the last change in nanoseconds."""
_YEAR = re.compile(r"[0-9]{4}\Z")
_MONTH_FILE = re.compile(r"([0-9]{4}-(?:0[1-9]|1[0-2]))(?![0-9]).*\.json", re.DOTALL)
_UNFINISHED = (".tmp",)


@dataclass(frozen=True, slots=True)
class MonthFiles:
    """The files of one month of one device."""

    folder: Path
    device: str
    month: str
    stamps: tuple[Stamp, ...] = ()
    """What must be read: the journal, copies left by a sync tool, the monthly file only where there is no journal."""

    @property
    def key(self) -> Key:
        return self.device, self.month

    @property
    def journal(self) -> Path:
        return self.folder / f"{self.month}.jsonl"

    @property
    def table(self) -> Path:
        return self.folder / f"{self.month}.json"

    @property
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
                found[device.name, month] = MonthFiles(year, device.name, month, _relevant(month, stamps))
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


def _month_stamps(year: Path) -> dict[str, list[Stamp]]:
    months: dict[str, list[Stamp]] = {}
    with os.scandir(year) as entries:
        for entry in entries:
            match = _MONTH_FILE.match(entry.name)
            if match and match[1][:4] == year.name and not entry.name.endswith(_UNFINISHED):
                status = entry.stat()
                months.setdefault(match[1], []).append((entry.name, status.st_size, status.st_mtime_ns))
    return months


def _relevant(month: str, stamps: list[Stamp]) -> tuple[Stamp, ...]:
    names = {name for name, _, _ in stamps}
    passed_over = {f"{month}.json.bak"} | ({f"{month}.json"} if f"{month}.jsonl" in names else set())
    return tuple(sorted(each for each in stamps if each[0] not in passed_over))
