"""Checks of one part of the farm's files against another: feeds against products, stations against feeds and waters."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Literal

from msgspec.structs import replace

from rounds.errors import BadInput
from rounds.farm.farm import Unread
from rounds.farm.feeds import Feed
from rounds.farm.labels import Label
from rounds.farm.model import Water
from rounds.farm.reading_files import MistakeList
from rounds.farm.shelf import Acid, Base, Concentrate, Product
from rounds.farm.station_base import StationBase
from rounds.farm.stations import Reservoir
from rounds.science.densities import check_label, table_density_kg_l
from rounds.science.water_told import exceeds, what_does_not_add_up

PRINT_ELEMENTS = frozenset({"AU", "NZ", "ZA", "NO", "SE", "DK", "FI"})
"""Countries whose labels print P and K as elements; all others print P2O5 and K2O. From memory."""


def sound_feeds(
    feeds: Mapping[str, Feed], shelf: Mapping[str, Product], file: str, mistakes: MistakeList
) -> dict[str, Feed]:
    """All feeds. A part that is not a concentrate of that letter on the shelf is noted as a mistake; the feed stays."""
    for feed in feeds.values():
        for part in feed.parts:
            product = shelf.get(part.product)
            if not isinstance(product, Concentrate) or product.part != part.letter:
                key = f"feeds.{feed.id}.part_{part.letter.lower()}"
                mistakes.note(file, key, part.product, f"a concentrate {part.letter} of shelf.toml")
    return dict(feeds)


def with_read_labels(
    shelf: Mapping[str, Product], feeds: Mapping[str, Feed], country: str | None
) -> dict[str, Product]:
    """The shelf, each label with what the other files say of it.

    A bottle that is the only one of its feed is a whole feed; P and K are what its country prints, where the label
    does not say.
    """
    alone = {feed.part_a for feed in feeds.values() if len(feed.parts) == 1}
    found = dict(shelf)
    for product in shelf.values():
        if isinstance(product, Concentrate) and product.label is not None:
            label = product.label
            whole, habit = label.whole or product.id in alone, label.p_and_k or _habit_of(country)
            found[product.id] = replace(product, label=replace(label, whole=whole, p_and_k=habit))
    return found


def _habit_of(country: str | None) -> Literal["oxides", "elements"] | None:
    if country is None:
        return None
    return "elements" if country in PRINT_ELEMENTS else "oxides"


def check_labels(shelf: Mapping[str, Product], file: str, mistakes: MistakeList) -> None:
    """Note each acid or base whose percent and density contradict each other, and each nutrient whose label cannot be.

    It stays on the shelf, and is never dosed.
    """
    for product in shelf.values():
        if isinstance(product, Concentrate) and product.label is not None:
            _check_nutrient(product.id, product.label, file, mistakes)
        if not isinstance(product, Acid | Base) or product.percent is None:
            continue
        try:
            density = product.density_kg_l or table_density_kg_l(product.agent, product.percent)
            check_label(product.agent, product.percent, density)
        except BadInput as error:
            weighed = "" if product.density_kg_l is None else f" with {product.density_kg_l:g} kg/L"
            found = f"{product.percent:g} %{weighed}"
            mistakes.note(file, f"products.{product.id}.percent", found, f"what belongs together: {error}".rstrip("."))


def _check_nutrient(product_id: str, label: Label, file: str, mistakes: MistakeList) -> None:
    try:
        label.printed()
    except BadInput as error:
        mistakes.note(file, f"products.{product_id}.label", error.sentence.rstrip("."), error.hint.rstrip("."))


def sound_waters(waters: Mapping[str, Water], file: str, mistakes: MistakeList) -> dict[str, Water]:
    """The waters that are sound. A blend must be made of other waters, in shares that add up to 1."""
    sound = {}
    for water in waters.values():
        unknown = [part for part in water.blend if part not in waters or part == water.id]
        if unknown:
            mistakes.note(file, f"waters.{water.id}.blend", unknown[0], one_of(unknown[0], waters))
        elif water.blend and abs(sum(water.blend.values()) - 1) > 0.005:
            mistakes.note(file, f"waters.{water.id}.blend", f"{sum(water.blend.values()):g}", "shares that add up to 1")
        else:
            _check_charges(water, file, mistakes)
            sound[water.id] = water
    return sound


def _check_charges(water: Water, file: str, mistakes: MistakeList) -> None:
    """Note what cannot all be right of a water. It stays at hand, and nothing is dosed on it until it is put right."""
    if water.ec_ms_cm is None:
        return
    cations = 2.0 * (water.ca_mg_l / 40.08 + water.mg_mg_l / 24.3) + water.na_mg_l / 22.99 + water.k_mg_l / 39.1
    if exceeds(cations, water.ec_ms_cm):
        ions = {"ca_mg_l": water.ca_mg_l, "mg_mg_l": water.mg_mg_l, "na_mg_l": water.na_mg_l, "k_mg_l": water.k_mg_l}
        most = max(ions, key=lambda name: ions[name])
        needed = f"an EC of {cations / 10.0:.1f} mS/cm or more beside it, and {water.ec_ms_cm:g} is entered"
        mistakes.note(
            file, f"waters.{water.id}.{most}", ions[most], f"{needed}: look at the decimal point and the unit"
        )
    for said in what_does_not_add_up(water.told()):
        mistakes.note(file, f"waters.{water.id}.ec_ms_cm", water.ec_ms_cm, f"what adds up: {said}")


def sound_stations(
    stations: Mapping[str, StationBase],
    feeds: Mapping[str, Feed],
    waters: Mapping[str, Water],
    file: str,
    mistakes: MistakeList,
    *,
    written_down: Collection[tuple[str, str]] = (),
) -> dict[str, StationBase]:
    """The stations whose references are all to something that exists.

    Parameters
    ----------
    written_down : collection of (what, id)
        What stands in the files, sound or not: "feeds", "waters" and "reservoirs".
    """
    reservoirs = {s.id: s for s in stations.values() if isinstance(s, Reservoir)}
    sound: dict[str, StationBase] = {}
    for station in stations.values():
        wrong = _wrong_references(station, feeds, {"waters": waters, "reservoirs": reservoirs}, written_down)
        for key, found, expected in wrong:
            what = station.REFERENCES.get(key, f"{key}s")
            if (what, found) in written_down:
                expected = f"a {what[:-1]} without mistakes: {found} has one and is left out, see above"
            mistakes.note(file, f"stations.{station.id}.{key}", found, expected)
        if not wrong:
            sound[station.id] = station
    return sound


def check_zone(name: str, file: str, mistakes: MistakeList) -> None:
    """Note an unknown time zone. On a machine without time zones, note only what cannot be the name of one."""
    fault = _zone_fault(name)
    if fault is None or (fault == "unknown" and _zone_fault("Etc/UTC") is not None):
        return
    mistakes.note(file, "place.timezone", name, f"the name of a time zone, such as UTC or Etc/GMT-1{_near_zone(name)}")


def _zone_fault(name: str) -> Literal["unknown", "malformed"] | None:
    """Why a name is not a time zone: unknown on this machine, or no name that a zone could have."""
    from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

    try:
        ZoneInfo(name)
    except ZoneInfoNotFoundError:
        return "unknown"
    except (ValueError, OSError):
        return "malformed"
    return None


def _near_zone(name: str) -> str:
    from difflib import get_close_matches
    from zoneinfo import available_timezones

    near = get_close_matches(name, available_timezones(), n=1)
    return f"; did you mean {near[0]}?" if near else ""


def _wrong_references(
    station: StationBase,
    feeds: Mapping[str, Feed],
    there: Mapping[str, Mapping[str, object]],
    written_down: Collection[tuple[str, str]],
) -> list[tuple[str, str, str]]:
    wrong = _wrong_feed(station, feeds, written_down) if isinstance(station, Reservoir) else []
    for key, what in station.REFERENCES.items():
        named = getattr(station, key)
        ids = (named,) if isinstance(named, str) else named or ()
        wrong += [(key, each, one_of(each, there[what])) for each in ids if each not in there[what]]
    return wrong


def _wrong_feed(
    station: Reservoir, feeds: Mapping[str, Feed], written_down: Collection[tuple[str, str]]
) -> list[tuple[str, str, str]]:
    if isinstance(feeds, Unread) or (station.feed not in feeds and ("feeds", station.feed) in written_down):
        return []  # its feed cannot be read, or has a mistake: the station is walked, and not dosed
    feed = feeds.get(station.feed)
    if feed is None:
        return [("feed", station.feed, one_of(station.feed, feeds))]
    if feed.stage(station.stage) is None:
        return [("stage", station.stage, one_of(station.stage, {s.id: s for s in feed.stages}))]
    return []


def one_of(found: str, there: Mapping[str, object]) -> str:
    """What is expected instead of a name that is not there: those that are, and the likely one."""
    from difflib import get_close_matches

    near = get_close_matches(found, there, n=1)
    listed = "one of " + ", ".join(sorted(there)) if there else "an id that is there (there is none)"
    return f"{listed}; did you mean {near[0]}?" if near else listed
