"""A slow change in one sentence: what, from what to what since when, and where it leads."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, tzinfo

from rounds.farm.farm import Farm
from rounds.farm.stations import Channel
from rounds.units import show
from rounds.walk.slow_change.finding import Finding
from rounds.walk.slow_change.series import Series

SIGNS = {"falling": "↘", "rising": "↗"}
WEEKS_FROM_D = 10.0
"""From here on a time is told in weeks. [d]"""


def sentence(finding: Finding, zone: tzinfo) -> str:
    """All of it, for a list of the whole farm."""
    return f"{finding.series.place}: {brief(finding, zone)}{_leads(finding)}."


def brief(finding: Finding, zone: tzinfo) -> str:
    """The same at the station itself: without its name and where it leads."""
    series = finding.series
    start, end = number(series, finding.start), show(finding.end, series.unit, series.decimals)
    verb = "falls" if finding.direction == "falling" else "rises"
    return f"{label_within(series.label)} {verb} slowly, {start} to {end} since {day_text(finding.since, zone)}"


def whole(finding: Finding, zone: tzinfo) -> str:
    """What the station's own screen says of it."""
    text = f"{brief(finding, zone)}{_leads(finding)}."
    return f"{text[0].upper()}{text[1:]}" if not text.startswith("pH") else text


def label_within(label: str) -> str:
    """A label in the middle of a sentence: "Eggs" becomes small, "EC" and "pH" stay.

    Examples
    --------
    >>> label_within("Eggs collected"), label_within("EC of the water")
    ('eggs collected', 'EC of the water')
    """
    return label[:1].lower() + label[1:] if label[1:2].islower() else label


def number(series: Series, value: float) -> str:
    """A value as the series is read."""
    return show(value, "", series.decimals)


def day_text(moment: datetime, zone: tzinfo) -> str:
    """A day without its year."""
    local = moment.astimezone(zone)
    return f"{local.day} {local:%b}"


def time_text(days: float) -> str:
    """A time to come as people say it.

    Examples
    --------
    >>> time_text(4.2), time_text(17.0), time_text(0.4)
    ('about 4 days', 'about 2 weeks', 'a day')
    """
    if days < WEEKS_FROM_D:
        return f"about {round(days)} days" if days >= 1.5 else "a day"
    return f"about {round(days / 7.0)} weeks" if days >= WEEKS_FROM_D + 0.5 else "about 10 days"


def companions(finding: Finding, others: Sequence[Finding], farm: Farm) -> str:
    """Where other channels of the same reservoir go the same way: then it is not the channel."""
    station = farm.stations.get(finding.series.station_id)
    if not isinstance(station, Channel):
        return ""
    fed = {channel.id for channel in farm.channels_of(station.reservoir)} - {station.id}
    same = [
        each.series.place
        for each in others
        if each.series.station_id in fed
        and (each.series.item.id, each.direction) == (finding.series.item.id, finding.direction)
    ]
    if not same:
        return ""
    reservoir = farm.stations.get(station.reservoir)
    name = reservoir.name if reservoir else station.reservoir
    does = "does" if len(same) == 1 else "do"
    return f"So {does} {' and '.join(same)}: the pump or strainer of {name} first."


def _leads(finding: Finding) -> str:
    series = finding.series
    if finding.edge is None:
        return "" if finding.goes_on else ", and holds there now"
    side = "below" if finding.direction == "falling" else "above"
    edge = number(series, finding.edge)
    if finding.days_left is None:
        return "; it stays in its band for months at this pace" if finding.goes_on else ", and holds there now"
    if finding.days_left <= 0.0:
        return f"; {side} {edge} already"
    return f"; {side} {edge} in {time_text(finding.days_left)}"
