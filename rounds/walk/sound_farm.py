"""The farm's files as they were when they were last sound: kept beside the record, and walked by when they are not.

A copy is a folder `history/<device>/sound-farm/<time>` with the three files; each device keeps one, in its own folder.
"""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from rounds.farm.farm import Farm, Lost, Mistake, Unread
from rounds.farm.load import FARM, FEEDS, SHELF, load_farm
from rounds.farm.stations import Channel
from rounds.history.disk import Disk, make_folder, remove_folder, write_folder
from rounds.history.store import History
from rounds.toml_bounds import loads, read_bounded

FOLDER = "sound-farm"
FILES = (FARM, FEEDS, SHELF)
_STAMP = "%Y-%m-%dT%H%M%S.%fZ"


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A copy of the farm's files."""

    folder: Path
    at: datetime

    @property
    def day(self) -> str:
        """When it was made, in words."""
        return f"{self.at.day} {self.at:%b %Y, %H:%M} UTC"

    def bytes_of(self, file: str) -> bytes:
        """What a file held; nothing where there was none, or it cannot be read."""
        with suppress(OSError):
            return read_bounded(self.folder / file)
        return b""


def last_kept(folder: Path) -> Kept | None:
    """The newest copy of a farm's files that any device has kept; None where there is none."""
    found = []
    for path in (folder / "history").glob(f"*/{FOLDER}/*"):
        with suppress(ValueError, OSError):
            found.append(Kept(folder=path, at=datetime.strptime(path.name, _STAMP).replace(tzinfo=UTC)))
    return max((each for each in found if (each.folder / FARM).is_file()), key=lambda each: each.at, default=None)


def farm_of(folder: Path) -> Farm:
    """The farm that a folder's files say; where farm.toml cannot be read or was cut, the one that was sound last.

    Then nothing is dosed by it: what has changed since nobody knows. Its stations are walked, by its clock.

    Raises
    ------
    NotFound
        Where the folder is no farm.
    """
    kept = last_kept(folder)
    farm = load_farm(folder, is_known=kept is not None)
    if kept is None:
        return farm
    cut = [_cut(name, kept) for name in FILES if _is_cut(folder / name, kept.bytes_of(name))]
    farm = _without(farm, cut)
    broken = next((each for each in farm.mistakes if each.file == FARM and each.unreadable), None)
    if broken is not None or not (farm.stations or farm.left_out):
        return _as_it_was(farm, kept, broken)
    return _with_the_place_of(farm, kept)


def with_lost(farm: Farm, history: History) -> Farm:
    """The farm, with what its record knows and farm.toml no longer has, and a mistake that says so."""
    there = {*farm.stations, *farm.left_out, *farm.gone}
    known = {station for station, _ in (*history.latest_by_item(), *history.latest_marks()) if station}
    before = _what_was_else(farm)
    lost = sorted((known | set(before.stations if before else ())) - there)
    if not lost:
        return farm
    told = tuple(Lost(id=each, reservoirs=_touched(each, before)) for each in lost)
    return replace(farm, lost=told, mistakes=(*farm.mistakes, _lost_mistake(lost)))


def _what_was_else(farm: Farm) -> Farm | None:
    """The farm of the copy, where farm.toml has changed since; it is read for that alone."""
    kept = None if farm.as_of else last_kept(farm.folder)
    with suppress(OSError):
        if kept is not None and kept.bytes_of(FARM) != read_bounded(farm.folder / FARM):
            return load_farm(kept.folder)
    return None


def keep(farm: Farm, history: History, now: datetime) -> None:
    """Keep the files of a farm that is wholly sound, where they have changed; a failure of the disk costs the copy."""
    own = history.folder / history.device
    if farm.mistakes or not farm.stations or not own.is_dir() or history.read_only:
        return
    kept, disk = last_kept(farm.folder), Disk()
    with suppress(OSError):
        files = {name: read_bounded(farm.folder / name) for name in FILES if (farm.folder / name).exists()}
        if kept is not None and all(kept.bytes_of(name) == files.get(name, b"") for name in FILES):
            return
        copies = own / FOLDER
        make_folder(disk, copies)
        stamp = now.astimezone(UTC).strftime(_STAMP)
        unfinished = copies / f"{stamp}.unfinished"
        remove_folder(disk, unfinished)
        write_folder(disk, unfinished, files)
        disk.replace(unfinished, copies / stamp)
        disk.sync_folder(copies)
        for older in copies.iterdir():
            if older.name != stamp:
                remove_folder(disk, older)


def _as_it_was(farm: Farm, kept: Kept, broken: Mistake | None) -> Farm:
    before = load_farm(kept.folder)
    if not before.stations:
        return farm
    why = broken or Mistake(file=FARM, key="", found="has no station", expected=_PUT_BACK, unreadable=True)
    others = tuple(each for each in farm.mistakes if each.file != FARM)
    return replace(
        before, folder=farm.folder, shelf=farm.shelf, feeds=Unread(why), mistakes=(why, *others), as_of=kept.day
    )


def _with_the_place_of(farm: Farm, kept: Kept) -> Farm:
    """The farm with the place that was sound last, where its own has a mistake: its clock goes on."""
    if not any(each.file == FARM and (each.key + ".").startswith("place.") for each in farm.mistakes):
        return farm
    return replace(farm, place=load_farm(kept.folder).place)


def _without(farm: Farm, cut: Iterable[Mistake]) -> Farm:
    """The farm, its cut files taken as not to be read."""
    for mistake in cut:
        others = tuple(each for each in farm.mistakes if each.file != mistake.file)
        farm = replace(farm, mistakes=(mistake, *others))
        if mistake.file != FARM:
            farm = replace(farm, feeds=Unread(mistake))
    return farm


def _is_cut(path: Path, before: bytes) -> bool:
    """Whether a file is the beginning of what it was, and says less. What cannot be read is told elsewhere."""
    try:
        now = read_bounded(path)
        is_beginning = now != before and before.rstrip().startswith(now.rstrip())
        return is_beginning and loads(now.decode("utf-8-sig")) != loads(before.decode("utf-8-sig"))
    except (OSError, ValueError):
        return False


_PUT_BACK = "put back what is missing"


def _cut(name: str, kept: Kept) -> Mistake:
    expected = f"{_PUT_BACK}, which {kept.folder / name} has; or add a line “# whole” at its end if it is meant so"
    found = f"is cut short: it is only the beginning of the one of {kept.day}"
    return Mistake(file=name, key="", found=found, expected=expected, unreadable=True)


def _lost_mistake(lost: list[str]) -> Mistake:
    listed = ", ".join(lost)
    quoted = ", ".join(f'"{each}"' for each in lost)
    expected = f"all stations that the record knows; of those that are gone for good, gone = [{quoted}] below its name"
    return Mistake(file=FARM, key="stations", found=f"nothing of {listed}", expected=expected)


def _touched(station_id: str, before: Farm | None) -> tuple[str, ...] | None:
    """The reservoirs whose doses a station changes; None where nobody knows."""
    station = before.stations.get(station_id) if before is not None else None
    if station is None:
        return None
    return (station.reservoir,) if isinstance(station, Channel) else ()
