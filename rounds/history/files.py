"""Where the files of a history lie, and what tells that one of them has changed."""

import os
import re
import stat
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

import msgspec

from rounds.history.device import DEVICE_PATTERN
from rounds.history.disk import Disk
from rounds.text import clean_line

Key = tuple[str, str]
"""Device and month."""
Stamp = tuple[str, int, int]
"""Name, size in bytes and time of the last change in nanoseconds."""
_YEAR = re.compile(r"[0-9]{4}\Z")
_MONTH_FILE = re.compile(r"([0-9]{4}-(?:0[1-9]|1[0-2]))(?![0-9]).*\.json", re.DOTALL)
_UNFINISHED = (".tmp",)
MOST_COPIES = 100
"""So many copies that a sync tool left of one month are read; nobody's tool leaves more."""


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


@dataclass(slots=True)
class Survey:
    """What lies in a history folder, without anything being opened."""

    months: dict[Key, MonthFiles] = field(default_factory=dict)
    told: list[str] = field(default_factory=list)
    """What is there and cannot be read, a sentence each."""
    odd: list[Path] = field(default_factory=list)
    """What bears the name of a month and is no file: a pipe, a link, a folder."""
    blocked: list[str] = field(default_factory=list)
    """Folders that cannot be looked into: of a device, of its year (`device/2026`), or "" for the whole history."""

    def hides(self, key: Key) -> bool:
        """Tell whether a month may well be there, where nobody can look."""
        device, month = key
        return any(each in ("", device, f"{device}/{month[:4]}") for each in self.blocked)


def list_months(history: Path) -> dict[Key, MonthFiles]:
    """Find every month of every device, with what tells whether it has changed; nothing is opened."""
    return survey(history).months


def survey(history: Path, disk: Disk | None = None) -> Survey:
    """Find every month of every device, and what is in the way; nothing is opened, and nothing fails."""
    found, disk = Survey(), disk or Disk()
    for device in _folders(disk, history, DEVICE_PATTERN, found, ""):
        for year in _folders(disk, device, _YEAR, found, device.name):
            for month, stamps in _month_stamps(disk, device.name, year, found).items():
                found.months[device.name, month] = MonthFiles(year, device.name, month, stamps)
    return found


def stamp_of(path: Path) -> Stamp:
    status = path.stat()
    return path.name, status.st_size, status.st_mtime_ns


def _folders(disk: Disk, parent: Path, pattern: re.Pattern[str], found: Survey, name: str) -> list[Path]:
    return [Path(each.path) for each in _inside(disk, parent, found, name) if pattern.match(each.name) and _leads(each)]


def _inside(disk: Disk, folder: Path, found: Survey, name: str) -> list[os.DirEntry[str]]:
    try:
        return disk.scan(folder)
    except FileNotFoundError:
        return []
    except OSError as error:
        found.blocked.append(name)
        found.told.append(f"The folder {folder} cannot be read: {error.strerror or error}.")
        return []


def _leads(entry: os.DirEntry[str]) -> bool:
    """Whether it is a folder, or a link that leads to one."""
    try:
        return entry.is_dir()
    except OSError:
        return False


def _month_stamps(disk: Disk, device: str, year: Path, found: Survey) -> dict[str, tuple[Stamp, ...]]:
    months: dict[str, dict[str, Stamp]] = {}
    for entry in _inside(disk, year, found, f"{device}/{year.name}"):
        if _MONTH_FILE.match(entry.name) and entry.name[:4] == year.name and not entry.name.endswith(_UNFINISHED):
            stamp = _stamp(entry, device, found)
            if stamp is not None:
                months.setdefault(entry.name[:7], {})[entry.name] = stamp
    relevant = {month: _relevant(month, device, named, found) for month, named in months.items()}
    return {month: stamps for month, stamps in relevant.items() if stamps}


def _stamp(entry: os.DirEntry[str], device: str, found: Survey) -> Stamp | None:
    """As what a file is known; None where it went away meanwhile, or is no file."""
    try:
        status = entry.stat(follow_symlinks=False)
    except FileNotFoundError:
        return None
    except OSError as error:
        found.told.append(f"The file {_shown(entry, device)} cannot be read: {error.strerror or error}.")
        return None
    if not stat.S_ISREG(status.st_mode):
        found.odd.append(Path(entry.path))
        found.told.append(f"{_shown(entry, device)} is no file but {_what(status.st_mode)}: it is passed over.")
        return None
    return entry.name, status.st_size, status.st_mtime_ns


def _shown(entry: os.DirEntry[str], device: str) -> str:
    return f"{clean_line(entry.name, 60)} of {device}"


def _what(mode: int) -> str:
    kinds = (stat.S_ISLNK, "a link to another place"), (stat.S_ISDIR, "a folder"), (stat.S_ISFIFO, "a pipe")
    return next((name for is_one, name in kinds if is_one(mode)), "a device or socket")


def _relevant(month: str, device: str, named: dict[str, Stamp], found: Survey) -> tuple[Stamp, ...]:
    named.pop(f"{month}.json.bak", None)
    if f"{month}.jsonl" in named:
        named.pop(f"{month}.json", None)
    own = {f"{month}.jsonl", f"{month}.json"}
    chosen = sorted(named, key=lambda name: (name not in own, name))
    if len(chosen) > MOST_COPIES:
        found.told.append(f"There are {len(chosen)} copies of {month} of {device}: only {MOST_COPIES} are read.")
    return tuple(named[name] for name in sorted(chosen[:MOST_COPIES]))
