"""Loading the checklists: the shipped ones, and the farm's own in place of those of the same file name."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import msgspec

from rounds.checklist.model import STATION, Checklist, Item
from rounds.farm.cross_checks import one_of
from rounds.farm.farm import Mistake
from rounds.farm.naming_places import named
from rounds.farm.reading_files import MistakeList, read_part, read_toml
from rounds.farm.station_base import StationBase
from rounds.farm.station_kinds import STATION_KINDS
from rounds.resources import checklists_folder

ALIVE = "alive"
"""The kind of the one checklist that belongs to no station: is everything alive and running?"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Checklists:
    """All checklists of a farm by kind of station. Items with mistakes are left out; the mistakes say so."""

    by_kind: Mapping[str, Checklist] = field(default_factory=dict)
    mistakes: tuple[Mistake, ...] = ()

    def of(self, kind: str) -> Checklist | None:
        """The checklist of a kind of station, if there is one."""
        return self.by_kind.get(kind)

    def item(self, kind: str, item_id: str) -> Item | None:
        """One item of the checklist of a kind."""
        checklist = self.by_kind.get(kind)
        return checklist.item(item_id) if checklist else None


def load_checklists(farm_folder: Path | None, *, shipped: Path | None = None) -> Checklists:
    """Read every checklist that applies to a farm.

    Parameters
    ----------
    farm_folder : Path or None
        A file in its `checklists/` replaces the shipped one of the same name, or adds a kind.
    shipped : Path, optional
        Where the shipped ones lie, if not in their usual place.

    Returns
    -------
    Checklists
        With a `Mistake` for everything in the files that cannot be used.
    """
    mistakes = MistakeList()
    by_kind: dict[str, Checklist] = {}
    for shown, path in _files(farm_folder, shipped or checklists_folder()).items():
        checklist = _read(path, shown, mistakes)
        if checklist is None:
            continue
        if by_kind.setdefault(checklist.kind, checklist) is not checklist:
            mistakes.note(shown, "kind", checklist.kind, "a kind that no other checklist has")
    return Checklists(by_kind=by_kind, mistakes=tuple(mistakes))


def _files(farm_folder: Path | None, shipped: Path) -> dict[str, Path]:
    found = {path.name: path for path in sorted(shipped.glob("*.toml"))}
    if farm_folder is not None:
        found |= {path.name: path for path in sorted((farm_folder / "checklists").glob("*.toml"))}
    return {f"checklists/{name}": path for name, path in found.items()}


def _read(path: Path, shown: str, mistakes: MistakeList) -> Checklist | None:
    before, own = len(mistakes), MistakeList()
    raw = read_toml(path, own)
    mistakes += [replace(each, file=shown) for each in own]
    if not raw and not own:
        mistakes.unreadable(shown, "is empty", "give it format, kind, title, rank and items")
    if not raw:
        return None
    head = read_part({key: value for key, value in raw.items() if key != "items"}, Checklist, shown, "", mistakes)
    items = _sound_items(_rows(raw, shown, mistakes), shown, mistakes)
    items = _of_the_station(items, head.kind, shown, mistakes) if head else items
    mistakes[before:] = named(mistakes[before:], {shown: raw})
    return msgspec.structs.replace(head, items=items) if head else None


def _rows(raw: dict[str, Any], file: str, mistakes: MistakeList) -> list[Any]:
    rows = raw.get("items", [])
    if isinstance(rows, list):
        return rows
    mistakes.note(file, "items", rows, "a list of tables, each headed [[items]]")
    return []


def _sound_items(rows: list[Any], file: str, mistakes: MistakeList) -> tuple[Item, ...]:
    sound: list[Item] = []
    ids: set[str] = set()
    names: set[str] = set()
    for number, row in enumerate(rows):
        at = f"items[{number}]"
        item = read_part(row, Item, file, at, mistakes)
        if item is None:
            continue
        if item.id in ids:
            mistakes.note(file, f"{at}.id", item.id, "an id that no other item here has")
            continue
        taken = [name for name in item.names if name in names]
        if taken:
            mistakes.note(file, f"{at}.names", taken[0], "a name that no other item here has")
            continue
        ids.add(item.id)
        names.update(item.names)
        sound.append(item)
    return tuple(item for item in sound if _follows_one(item, ids, file, mistakes))


def _of_the_station(items: tuple[Item, ...], kind: str, file: str, mistakes: MistakeList) -> tuple[Item, ...]:
    """The items whose band or count, where it is that of the station, is one that this kind of station has."""
    station, sound = STATION_KINDS.get(kind, StationBase), []
    for item in items:
        named = [("band", item.band, station.NAMED_BANDS), ("well", item.well, station.__struct_fields__)]
        wrong = [
            (key, name, known)
            for key, name, known in named
            if isinstance(name, str) and name.startswith(STATION) and name.removeprefix(STATION) not in known
        ]
        for key, name, known in wrong:
            expected = one_of(name, dict.fromkeys(STATION + each for each in known))
            mistakes.note(file, f"items.{item.id}.{key}", name, expected)
        if not wrong:
            sound.append(item)
    return tuple(sound)


def _follows_one(item: Item, ids: set[str], file: str, mistakes: MistakeList) -> bool:
    if item.follows is None or (item.follows in ids and item.follows != item.id):
        return True
    mistakes.note(file, f"items.{item.id}.follows", item.follows, "the id of another item here")
    return False
