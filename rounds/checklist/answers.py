"""What an answer means: the band it should lie in, and whether it is off."""

from __future__ import annotations

from rounds.checklist.model import STATION, Item
from rounds.farm.farm import Farm
from rounds.farm.field_types import Band
from rounds.farm.stations import Reservoir, StationBase

Value = float | int | str | bool | None


def band_of(item: Item, farm: Farm, station: StationBase) -> Band | None:
    """The wanted range of a reading at a station: the station's own, else what the checklist says.

    Returns
    -------
    (float, float) or None
        In the item's unit; None where the item has no band.
    """
    if item.id in station.bands:
        return station.bands[item.id]
    if not isinstance(item.band, str):
        return item.band
    if item.band.startswith(STATION):
        return station.named_band(item.band.removeprefix(STATION))
    return _stage_band(item.band, farm, station)


def is_off(item: Item, value: Value, farm: Farm, station: StationBase) -> bool:
    """Say whether an answer is off. No answer, and a note, are never off."""
    if value is None or item.type == "note":
        return False
    if item.type == "reading":
        band = band_of(item, farm, station)
        return band is not None and isinstance(value, int | float) and not band[0] <= value <= band[1]
    if isinstance(item.well, tuple):
        return value not in item.well
    if isinstance(item.well, bool):
        return value is not item.well
    return _count_is_off(item, value, station)


def exact_count(item: Item, station: StationBase) -> int | None:
    """The exact number a count should come to, where the station says it: the birds, the plants set."""
    return station.count_of(item.well.removeprefix(STATION)) if isinstance(item.well, str) else None


def seen_text(item: Item, value: bool) -> str:
    """What was seen where a yes or no was answered, without a double negative.

    Parameters
    ----------
    item : Item
        A yes or no. Its label says what is well; `seen` what is there where it is not. Where it has no `seen`, the
        label is turned round, or quoted where it cannot be.
    value : bool
        The answer.

    Examples
    --------
    >>> wilt = Item(id="wilt", type="yes_no", label="No plant wilts, no spots", well=True)
    >>> seen_text(wilt, True), seen_text(wilt, False)
    ('No plant wilts, no spots', 'Seen: plant wilts or spots')
    """
    if value is item.well:
        return item.label if value else f"{item.label}: no"
    if item.seen or value:
        return item.seen or item.label
    parts = [part.strip() for part in item.label.split(",")]
    if all(part.casefold().startswith("no ") for part in parts):
        return f"Seen: {' or '.join(part[3:] for part in parts)}"
    return f"Found otherwise: “{item.label}”"


def _count_is_off(item: Item, value: Value, station: StationBase) -> bool:
    if not isinstance(value, int | float):
        return True
    if isinstance(item.well, int):
        return not value <= item.well
    exact = exact_count(item, station)
    return exact is not None and value != exact


def _stage_band(which: str, farm: Farm, station: StationBase) -> Band | None:
    if not isinstance(station, Reservoir) or station.feed not in farm.feeds:
        return None
    stage = farm.feeds[station.feed].stage(station.stage)
    if stage is None:
        return None
    return stage.ph if which == "stage.ph" else stage.ec
