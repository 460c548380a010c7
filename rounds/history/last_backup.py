"""When a good backup was last made: kept in the folder of the device that made it."""

from contextlib import suppress
from datetime import datetime
from pathlib import Path

import msgspec

from rounds.history.disk import Disk, make_folder, write_new
from rounds.history.places import history_folder

MARKER = "last-backup"


class LastBackup(msgspec.Struct, frozen=True):
    """When a good backup was last made, and where."""

    at: datetime
    to: str
    files: int


def last_backup(place: Path) -> LastBackup | None:
    """Tell of the last good backup of a farm, made by any of its devices."""
    found = []
    for marker in history_folder(place).glob(f"*/{MARKER}") if place.is_dir() else ():
        try:
            found.append(msgspec.json.decode(marker.read_bytes(), type=LastBackup))
        except (OSError, msgspec.MsgspecError):
            continue
    return max(found, key=lambda each: each.at, default=None)


def mark_backup(own: Path, made: LastBackup, disk: Disk) -> None:
    """Remember a good backup in the folder of a device, where that can be written."""
    with suppress(OSError):
        make_folder(disk, own)
        write_new(disk, own / MARKER, msgspec.json.encode(made))
