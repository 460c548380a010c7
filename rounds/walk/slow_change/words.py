"""A slow change in one sentence: what, from what to what since when, and where it leads."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, tzinfo

from rounds.farm.farm import Farm
from rounds.farm.stations import Channel
from rounds.units import show
from rounds.walk.session import Session
from rounds.walk.slow_change.finding import SlowChange
from rounds.walk.slow_change.series import Series
from rounds.walk.slow_change.watch import was_seen

SIGNS = {"falling": "↘", "rising": "↗"}
NOT_WATCHED = {
    "value": "Only drawn: the checklist names nothing that a slow change of it would mean.",
    "drift": "Each dose moves it, so its drift between doses is watched instead.",
    "drunk": "Each filling moves it, so what is drunk between two dips is watched instead.",
}
SHORT = 16
"""A label of so many characters still fits a line beside all else."""
WEEKS_FROM_D = 10.0
"""From here on a time is told in weeks. [d]"""


def sentence(finding: SlowChange, zone: tzinfo) -> str:
    """All of it, for a list of the whole farm."""
    return f"{finding.series.place}: {_what(finding, label_within(finding.series.label), zone)}{_leads(finding)}."


def at_station(finding: SlowChange, zone: tzinfo) -> str:
    """The same in one short line, for the station itself."""
    return f"{SIGNS[finding.direction]} slowly: {_in_short(finding, zone)}"


def first_screen(finding: SlowChange, zone: tzinfo) -> str:
    """The same in one short line that names the station."""
    return f"{SIGNS[finding.direction]} {finding.series.place}: {_in_short(finding, zone)}"


def where_it_leads(finding: SlowChange) -> str:
    """Only that: "below 0.85 in about 2 weeks"."""
    return _leads(finding).lstrip(";, ")


def how_sure(finding: SlowChange) -> str:
    """From how many readings, and how often chance alone would make them fall or rise so."""
    odds = 1.0 / max(finding.p, 1e-4)
    told = "ten thousand" if odds >= 9_999.0 else f"{odds:.0f}" if odds < 1000.0 else f"{odds:,.0f}"
    return f"{finding.readings} readings; chance alone does this less than once in {told} times."


def short_label(series: Series) -> str:
    """The label where it is short, else the word of the item."""
    return label_within(series.label) if len(series.label) <= SHORT else series.item.id


def about(series: Series, findings: Sequence[SlowChange], session: Session) -> str:
    """What is known of one series: the finding with what to look at, or how much there is to go by."""
    finding = next((each for each in findings if each.series.key == series.key), None)
    if finding is None:
        return _quiet(series)
    others = [each for each in findings if each is not finding]
    parts = [sentence(finding, session.zone), companions(finding, others, session.farm), finding.look_at]
    return " ".join(part for part in [*parts, f"({how_sure(finding)})"] if part)


def row_text(series: Series, finding: SlowChange | None, now: datetime, zone: tzinfo) -> str:
    """One line of a list: place and label, then where it leads, or the last value."""
    sign = SIGNS[finding.direction] if finding else " "
    name = f"{series.place}: {label_within(series.label)}"
    last = series.points[-1]
    if finding is None:
        return f"{sign} {name:<46.46} {number(series, last.value):>8} {series.unit:<8.8} {day_text(last.at, zone):>6}"
    change = f"{number(series, finding.start)} to {number(series, finding.end)}"
    seen = "seen " + day_text(series.seen_at, zone) if series.seen_at and was_seen(finding, now) else ""
    return f"{sign} {name:<33.33} {change:<14} {seen or where_it_leads(finding)}"


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


def companions(finding: SlowChange, others: Sequence[SlowChange], farm: Farm) -> str:
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


def _in_short(finding: SlowChange, zone: tzinfo) -> str:
    series = finding.series
    change = f"{number(series, finding.start)} to {number(series, finding.end)} since {day_text(finding.since, zone)}"
    return f"{short_label(series)} {change}{_leads(finding)}"


def _quiet(series: Series) -> str:
    count = len(series.compared)
    label = f"{series.place}: {label_within(series.label)}."
    if not series.is_watched:
        followed = series.item.slow.figure if series.item.slow else "value"
        return f"{label} {NOT_WATCHED[followed]}"
    return f"{label} No slow change that matters in {count} readings." if count else label


def _what(finding: SlowChange, label: str, zone: tzinfo) -> str:
    series = finding.series
    way = "down" if finding.direction == "falling" else "up"
    end = show(finding.end, series.unit, series.decimals)
    return f"{label} slowly {way}, {number(series, finding.start)} to {end} since {day_text(finding.since, zone)}"


def _leads(finding: SlowChange) -> str:
    series = finding.series
    if finding.edge is None:
        return "" if finding.goes_on else ", and holds there now"
    side = "below" if finding.direction == "falling" else "above"
    edge = number(series, finding.edge)
    if finding.days_left is None:
        return "; in its band for months yet" if finding.goes_on else ", and holds there now"
    if finding.days_left <= 0.0:
        return f"; {side} {edge} already"
    return f"; {side} {edge} in {time_text(finding.days_left)}"
