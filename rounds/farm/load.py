"""Loading a farm folder: all mistakes at once, and the sound stations open all the same."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar, cast

from rounds.errors import NotFound
from rounds.farm.cross_checks import (
    check_labels,
    check_zone,
    one_of,
    sound_feeds,
    sound_stations,
    sound_waters,
    with_read_labels,
)
from rounds.farm.farm import Farm, Feeds, Mistake, Unread
from rounds.farm.feeds import Feed, FeedsFile
from rounds.farm.field_types import Id
from rounds.farm.formats import check_format
from rounds.farm.model import Contact, FarmFile, Limits, Meter, Person, Place, Water
from rounds.farm.naming_places import named
from rounds.farm.reading_files import MistakeList, note_unknown, read_part, read_toml
from rounds.farm.shelf import PRODUCT_KINDS, Product, ShelfFile
from rounds.farm.station_base import StationBase
from rounds.farm.station_kinds import STATION_KINDS
from rounds.text import clean_line, is_clean

FARM, FEEDS, SHELF = "farm.toml", "feeds.toml", "shelf.toml"
T = TypeVar("T")


def load_farm(folder: Path, *, is_known: bool = False) -> Farm:
    """Read farm.toml, feeds.toml and shelf.toml of a farm folder.

    Parameters
    ----------
    is_known : bool
        Whether the folder is a farm for sure, so that a missing farm.toml is a mistake like any other.

    Returns
    -------
    Farm
        With every station that is sound, and a `Mistake` for everything that is not.

    Raises
    ------
    NotFound
        Where the folder is no farm: it is missing, no folder, or has no farm.toml.
    """
    _require_farm(folder, is_known=is_known)
    mistakes = MistakeList()
    raw = _farm_tables(folder, mistakes)
    raw_feeds, raw_shelf = (_tables_beside(folder / name, raw, mistakes) for name in (FEEDS, SHELF))
    unread = {mistake.file: mistake for mistake in mistakes if mistake.unreadable}
    for file, tables, whole in ((FARM, raw, FarmFile), (FEEDS, raw_feeds, FeedsFile), (SHELF, raw_shelf, ShelfFile)):
        _check_head(file, tables, whole.__struct_fields__, mistakes)
    shelf = cast(dict[str, Product], _by_id(_kinded(raw_shelf, "products", PRODUCT_KINDS, SHELF, mistakes)))
    check_labels(shelf, SHELF, mistakes)
    feeds = _feeds(raw_feeds, shelf, unread, mistakes)
    waters = sound_waters(_by_id(_rows(raw, "waters", Water, FARM, mistakes)), FARM, mistakes)
    stations = cast(dict[str, StationBase], _by_id(_kinded(raw, "stations", STATION_KINDS, FARM, mistakes)))
    sound = sound_stations(stations, feeds, waters, FARM, mistakes, written_down=_written_down(raw, raw_feeds))
    farm = Farm(
        folder=folder,
        name=_name(raw) or clean_line(folder.resolve().name),
        place=_place(raw, mistakes),
        limits=_table(raw, "limits", Limits, mistakes) or Limits(),
        people=tuple(row for _, row in _rows(raw, "people", Person, FARM, mistakes)),
        contacts=tuple(row for _, row in _rows(raw, "contacts", Contact, FARM, mistakes)),
        where=_where(raw, mistakes),
        meters=_by_id(_rows(raw, "meters", Meter, FARM, mistakes)),
        waters=waters,
        stations=sound,
        left_out=_left_out(raw, sound),
        gone=_gone(raw, mistakes),
        feeds=feeds,
        shelf=shelf if FEEDS in unread else with_read_labels(shelf, feeds, _country(raw)),
        mistakes=tuple(named(mistakes, {FARM: raw, FEEDS: raw_feeds, SHELF: raw_shelf})),
    )
    if isinstance(feeds, Unread):
        return farm
    return replace(farm, feeds=Feeds(feeds, _mistaken_feeds(raw_feeds, feeds, farm.mistakes)))


def _feeds(
    raw: dict[str, Any], shelf: Mapping[str, Product], unread: Mapping[str, Mistake], mistakes: MistakeList
) -> Mapping[str, Feed]:
    feeds = _by_id(_rows(raw, "feeds", Feed, FEEDS, mistakes))
    if SHELF not in unread:
        feeds = sound_feeds(feeds, shelf, FEEDS, mistakes)
    return Unread(unread[FEEDS]) if FEEDS in unread else feeds


def _country(raw: Mapping[str, Any]) -> str | None:
    country = _mapping(raw.get("place")).get("country")
    return country if isinstance(country, str) else None


def _name(raw: dict[str, Any]) -> str:
    name = raw.get("name")
    return name if isinstance(name, str) else ""


def _farm_tables(folder: Path, mistakes: MistakeList) -> dict[str, Any]:
    raw = read_toml(folder / FARM, mistakes)
    if not raw and not mistakes:
        mistakes.unreadable(FARM, "is empty", "`rounds --sample` shows a farm that works")
    return raw


def _tables_beside(path: Path, farm: Mapping[str, Any], mistakes: MistakeList) -> dict[str, Any]:
    """The tables of feeds.toml or shelf.toml, which a farm without a reservoir may do without."""
    own = MistakeList()
    raw = read_toml(path, own)
    if not raw and not own:
        own.unreadable(path.name, "is empty", "the reservoirs need it for their doses")
    needed = any(row.get("kind") == "reservoir" for row in _rows_of(farm, "stations"))
    mistakes += [mistake for mistake in own if needed or mistake.found not in ("is missing", "is empty")]
    return raw


def _where(raw: Mapping[str, Any], mistakes: MistakeList) -> dict[str, str]:
    """Where things are. A station that lost its [[stations]] line would be read as part of this table."""
    rows = _mapping(raw.get("where"))
    for key, text in rows.items():
        if not isinstance(text, str):
            mistakes.note(FARM, f"where.{key}", text, "a text between quotes that says where it is")
    if "kind" in rows and "id" in rows:
        mistakes.note(FARM, "where.id", rows["id"], "[[stations]] above the lines of a station")
    return {str(key): str(text) for key, text in rows.items()}


def _left_out(raw: Mapping[str, Any], sound: Mapping[str, StationBase]) -> tuple[str, ...]:
    rows = raw.get("stations")
    left, found = [], set()
    for number, row in enumerate(rows if isinstance(rows, list) else []):
        named = _mapping(row).get("id")
        if isinstance(named, str) and named in sound and named not in found:
            found.add(named)
        else:
            left.append(named if isinstance(named, str) and is_clean(named) else f"station {number + 1} of the file")
    return tuple(left)


def _gone(raw: Mapping[str, Any], mistakes: MistakeList) -> tuple[str, ...]:
    """The stations that are gone for good."""
    return read_part(raw.get("gone", []), tuple[Id, ...], FARM, "gone", mistakes) or ()


def _mistaken_feeds(
    raw: Mapping[str, Any], sound: Mapping[str, Feed], mistakes: Iterable[Mistake]
) -> dict[str, Mistake]:
    """The first mistake of each feed that is left out, by its id."""
    found: dict[str, Mistake] = {}
    rows = raw.get("feeds")
    for number, row in enumerate(rows if isinstance(rows, list) else []):
        feed_id = _mapping(row).get("id")
        at = f"feeds[{number}]"
        first = next((m for m in mistakes if m.file == FEEDS and m.key.startswith((f"{at}.", f"{at}["))), None)
        if isinstance(feed_id, str) and feed_id not in sound and first is not None:
            found.setdefault(feed_id, first)
    return found


def _written_down(raw: Mapping[str, Any], raw_feeds: Mapping[str, Any]) -> set[tuple[str, str]]:
    """Everything in the files, sound or not, as (what, id): a reference to one of these is not misspelt."""
    rows = [("waters", row) for row in _rows_of(raw, "waters")] + [
        ("feeds", row) for row in _rows_of(raw_feeds, "feeds")
    ]
    rows += [("reservoirs", row) for row in _rows_of(raw, "stations") if row.get("kind") == "reservoir"]
    return {(what, row["id"]) for what, row in rows if isinstance(row.get("id"), str)}


def _rows_of(raw: Mapping[str, Any], key: str) -> list[dict[str, Any]]:
    rows = raw.get(key)
    return [row for row in rows if isinstance(row, dict)] if isinstance(rows, list) else []


def _require_farm(folder: Path, *, is_known: bool) -> None:
    if not folder.exists():
        raise NotFound(f"There is no folder {folder}.", "Give the folder in which farm.toml lies.")
    if not folder.is_dir():
        raise NotFound(f"{folder} is a file.", "Give the folder in which farm.toml lies.")
    if not is_known and not (folder / FARM).exists():
        raise NotFound(
            f"{folder} is not a farm folder: it has no farm.toml.", "`rounds --sample` shows a farm that works."
        )


def _check_head(file: str, raw: Mapping[str, Any], known: Iterable[str], mistakes: MistakeList) -> None:
    if not raw:
        return
    check_format(file, raw, mistakes)
    if file == FARM and not isinstance(raw.get("name"), str):
        mistakes.note(file, "name", raw.get("name", "nothing"), "the farm's name")
    note_unknown(raw, list(known), file, "", mistakes)


def _mapping(value: object) -> Mapping[str, Any]:
    return value if isinstance(value, dict) else {}


def _table(raw: Mapping[str, Any], key: str, kind: type[T], mistakes: MistakeList) -> T | None:
    if key not in raw:
        if key == "place" and raw:
            mistakes.note(FARM, "place", "nothing", "a [place] with latitude and longitude")
        return None
    return read_part(raw[key], kind, FARM, key, mistakes)


def _place(raw: Mapping[str, Any], mistakes: MistakeList) -> Place:
    place = _table(raw, "place", Place, mistakes)
    if place is None:
        return Place(latitude=0.0, longitude=0.0)
    check_zone(place.timezone, FARM, mistakes)
    return place


def _list(raw: Mapping[str, Any], key: str, file: str, mistakes: MistakeList) -> list[Any]:
    rows = raw.get(key, [])
    if isinstance(rows, list):
        return rows
    mistakes.note(file, key, rows, f"a list of tables, each headed [[{key}]]")
    return []


def _rows(raw: Mapping[str, Any], key: str, kind: type[T], file: str, mistakes: MistakeList) -> list[tuple[str, T]]:
    parts = [
        (f"{key}[{n}]", read_part(row, kind, file, f"{key}[{n}]", mistakes))
        for n, row in enumerate(_list(raw, key, file, mistakes))
    ]
    return _unique([(at, part) for at, part in parts if part is not None], file, mistakes)


def _kinded(
    raw: Mapping[str, Any], key: str, kinds: Mapping[str, type[Any]], file: str, mistakes: MistakeList
) -> list[tuple[str, Any]]:
    parts: list[tuple[str, Any]] = []
    for n, row in enumerate(_list(raw, key, file, mistakes)):
        at, kind = f"{key}[{n}]", _mapping(row).get("kind", "nothing")
        if not isinstance(kind, str) or kind not in kinds:
            mistakes.note(file, f"{at}.kind", kind, one_of(str(kind), kinds))
            continue
        part = read_part(row, kinds[kind], file, at, mistakes)
        if part is not None:
            parts.append((at, part))
    return _unique(parts, file, mistakes)


def _unique(parts: list[tuple[str, T]], file: str, mistakes: MistakeList) -> list[tuple[str, T]]:
    seen: set[str] = set()
    kept = []
    for at, part in parts:
        part_id = getattr(part, "id", at)
        if part_id in seen:
            mistakes.note(file, f"{at}.id", part_id, "an id that nothing else has")
            continue
        seen.add(part_id)
        kept.append((at, part))
    return kept


def _by_id(parts: list[tuple[str, T]]) -> dict[str, T]:
    return {getattr(part, "id"): part for _, part in parts}  # noqa: B009
