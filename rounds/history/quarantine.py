"""Damaged bytes are put aside, never thrown away."""

from hashlib import blake2b
from pathlib import Path

from rounds.history.disk import Disk, make_folder, open_new, size_of, write_all
from rounds.history.reading import Damage

FOLDER = "quarantine"


def quarantined(history: Path) -> list[Path]:
    """List what was put aside."""
    folder = history / FOLDER
    return sorted(each for each in folder.iterdir() if each.is_file()) if folder.is_dir() else []


def put_aside(history: Path, disk: Disk, damage: Damage) -> Path:
    """Keep damaged bytes under a name made from them, so that the same ones are kept once."""
    name = f"{damage.device}-{damage.path.name}-{blake2b(damage.raw, digest_size=6).hexdigest()}.damaged"
    path = history / FOLDER / name
    if _size(path) == len(damage.raw):
        return path
    make_folder(disk, path.parent)
    fd = open_new(disk, path)
    try:
        write_all(disk, fd, damage.raw)
        disk.fsync(fd)
    finally:
        disk.close(fd)
    disk.sync_folder(path.parent)
    return path


def _size(path: Path) -> int | None:
    try:
        return size_of(path)
    except OSError:
        return None  # something else is in its place, which goes
