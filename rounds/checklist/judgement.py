"""What an answer means as soon as it is entered: well, out of band and by how much, or unlikely and why."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from rounds.checklist.answers import Value, band_of, exact_count, is_off
from rounds.checklist.model import Item
from rounds.farm.farm import Farm
from rounds.farm.field_types import Band
from rounds.farm.stations import StationBase
from rounds.units import show

Verdict = Literal["well", "low", "high", "off", "doubtful", "impossible", "unjudged"]
SIGNS: dict[Verdict, str] = {
    "well": "✓", "low": "▼", "high": "▲", "off": "!", "doubtful": "?", "impossible": "✗", "unjudged": "·",
}  # fmt: skip
"""A sign for each verdict, so that nothing needs colour."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """A verdict in words."""

    verdict: Verdict
    text: str
    brief: str = ""
    """The same in a few characters, for a narrow column."""
    likely: float | None = None
    """What was probably meant, where the value is hard to believe."""

    @property
    def sign(self) -> str:
        """One character that tells the verdict without colour."""
        return SIGNS[self.verdict]

    @property
    def is_off(self) -> bool:
        """Whether something has to be done about it."""
        return self.verdict in ("low", "high", "off")


def judge_reading(value: float, item: Item, band: Band | None, last: float | None) -> Judgement:
    """Judge a measured value.

    Parameters
    ----------
    value : float
        In the item's unit.
    item : Item
        With its physical limits and the jump that is hard to believe.
    band : (low, high) or None
        The wanted range.
    last : float or None
        The last value at this station, where there is one.
    """
    likely = likely_meant(value, item, band, last)
    if item.limits is not None and not _possible(value, item):
        low, high = (show(end, item.unit, item.decimals) for end in item.limits)
        text = f"cannot be {show(value, item.unit)}: expected {low} to {high}"
        return Judgement(verdict="impossible", text=text, brief="cannot be", likely=likely)
    in_band = _in_band(value, item, band)
    if last is not None and _jumped(value, last, item):
        text = f"hard to believe after {show(last, item.unit, item.decimals)} last time; {in_band.text}"
    elif last is None and in_band.is_off and likely is not None:
        text = f"hard to believe: {in_band.text}"
    else:
        return in_band
    return Judgement(verdict="doubtful", text=text, brief="believe it?", likely=likely)


def _jumped(value: float, last: float, item: Item) -> bool:
    return item.jump is not None and not abs(value - last) <= item.jump


def likely_meant(value: float, item: Item, band: Band | None, last: float | None) -> float | None:
    """The value that was probably meant where a decimal point slipped: `64` for `6.4`.

    Returns
    -------
    float or None
        A candidate that lies in the band or close by it; where there is no band, close to the last value. None where
        none does: a guess that is not likely is worse than none, since one key takes it.
    """
    candidates = [c for c in (value / 10, value / 100, value * 10, value / 1000, value * 100) if _possible(c, item)]
    found = [c for c in candidates if _is_likely(c, item, band, last)]
    middle = last if last is not None else sum(band) / 2 if band is not None else 0.0
    return min(found, key=lambda c: abs(c - middle), default=None)


def _is_likely(value: float, item: Item, band: Band | None, last: float | None) -> bool:
    if band is not None:
        near = (band[1] - band[0]) / 2
        return band[0] - near <= value <= band[1] + near
    return last is not None and item.jump is not None and abs(value - last) <= item.jump / 2


def judge_as_it_is(value: Value, item: Item, farm: Farm, station: StationBase) -> Judgement:
    """Judge an answer by its band alone, as when it was kept although it was hard to believe."""
    if item.type != "reading" or isinstance(value, str | bool) or value is None:
        return judge_answer(value, item, farm, station)
    return _in_band(float(value), item, band_of(item, farm, station))


def judge_answer(value: Value, item: Item, farm: Farm, station: StationBase) -> Judgement:
    """Judge a thing that was looked at: yes or no, a choice, a count, a note."""
    if value is None or item.type == "note":
        return Judgement(verdict="unjudged", text="noted", brief="noted")
    if not is_off(item, value, farm, station):
        return Judgement(verdict="well", text="well", brief="well")
    exact = exact_count(item, station)
    told = f"{value} of {exact}. {item.off}" if exact is not None else item.off
    return Judgement(verdict="off", text=told or "off", brief="not well")


def judge(value: Value, item: Item, farm: Farm, station: StationBase, last: Value) -> Judgement:
    """Judge any answer at a station against its band and the last one."""
    if item.type != "reading" or isinstance(value, str | bool) or value is None:
        return judge_answer(value, item, farm, station)
    before = float(last) if isinstance(last, int | float) else None
    return judge_reading(float(value), item, band_of(item, farm, station), before)


def _in_band(value: float, item: Item, band: Band | None) -> Judgement:
    if band is None:
        return Judgement(verdict="unjudged", text="noted", brief="noted")
    low, high = (show(end, "", item.decimals) for end in band)
    if value < band[0]:
        by = _by(band[0] - value, item)
        return Judgement(verdict="low", text=f"{by} below {low} to {high}", brief=f"{_brief(by)} below")
    if value > band[1]:
        by = _by(value - band[1], item)
        return Judgement(verdict="high", text=f"{by} above {low} to {high}", brief=f"{_brief(by)} above")
    return Judgement(verdict="well", text=f"in band, {low} to {high}", brief=f"{low} to {high}")


def _brief(amount: str) -> str:
    return amount.partition(" ")[0]


def _by(distance: float, item: Item) -> str:
    return show(max(distance, 10.0**-item.decimals), item.unit, item.decimals)


def _possible(value: float, item: Item) -> bool:
    return item.limits is None or item.limits[0] <= value <= item.limits[1]
