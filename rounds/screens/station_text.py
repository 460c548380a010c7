"""A station in words: its heading, its rows, and how an item is looked at."""

from __future__ import annotations

from rounds.book.entries import Check, Reading, entry_of
from rounds.checklist.answers import band_of
from rounds.checklist.check_words import answers_of
from rounds.checklist.judgement import judge_as_it_is
from rounds.farm.stations import Channel, Reservoir
from rounds.farm.volumes import litres_to_dip
from rounds.units import show
from rounds.walk.held import held_line
from rounds.walk.session import Session
from rounds.walk.stops import ItemLine, Stop
from rounds.walk.visit import Visit
from rounds.walk.wording import answer_text, when
from rounds.widgets.item_row import ItemRow

TODO, COVERED = "•", "◦"
"""Signs before an item that is still open: asked by itself, or answered by "all well"."""


def title_of(stop: Stop) -> str:
    """The station's name, with what to beware of."""
    return stop.station.name + (" · sick: wash hands and tools after it" if stop.station.sick else "")


def subtitle_of(session: Session, stop: Stop) -> str:
    """What one should know before looking: the feed and the level of a reservoir, the crop of a channel, a note."""
    parts = [_about(session, stop), stop.station.note]
    lines = [" · ".join(part for part in parts if part)]
    if isinstance(stop.station, Reservoir):
        lines.append(held_line(session, stop.station_id))
    return "\n".join(line for line in lines if line)


def row_of(session: Session, stop: Stop, line: ItemLine) -> ItemRow:
    """The row of one item: judged where it has been answered on this round, else with what is wanted."""
    item, last = line.item, line.last
    before = f"{answer_text(item, last)}  {when(last.measured_at, session.now(), session.zone)}" if last else "–"
    overdue = line.due.overdue_days if line.due else 0
    sign, said = sign_of(line), f"overdue by {overdue} d" if overdue else _wanted(session, stop, line)
    if line.due is None and line.answered and last is not None and isinstance(entry_of(last), Reading | Check):
        judgement = judge_as_it_is(last.value, item, session.farm, stop.station)
        covered = last.item == "all-well"
        sign, said = ("✓", "well") if covered else (judgement.sign, judgement.brief)
    elif line.due is None and line.answered:
        sign, said = "–", "left out"
    expects = item.unit if item.type == "reading" else _short(answers_of(item))
    return ItemRow(item.id, item.label, expects, before, sign=sign, said=said)


def sign_of(line: ItemLine) -> str:
    """Whether an open item is asked by itself or answered by "all well"."""
    if line.due is None:
        return " "
    return TODO if line.asked_outright else COVERED


def order_of(visit: Visit) -> str:
    """What the line takes: the numbers in their order, or names."""
    names = {item.id: item.names[0] for item in visit.items if item.names}
    if asked := [names[item] for item in visit.orders[0] if item in names]:
        return "in this order: " + " ".join(asked) + ", or by name"
    return "+ all well, or what is off by its name"


def how_and_why(line: ItemLine | None) -> str:
    """The whole label of an item, how it is looked at, and why."""
    if line is None:
        return ""
    item = line.item
    answers = f"Answers: {answers_of(item)}." if item.type == "choice" else ""
    unit = f" ({item.unit})" if item.unit else ""
    typed = f"Typed as {item.names[0] if item.names else item.id}."
    return " ".join(part for part in (f"{item.label}{unit}.", item.how, item.why, answers, typed) if part)


def _about(session: Session, stop: Stop) -> str:
    station = stop.station
    if isinstance(station, Reservoir):
        dip = litres_to_dip(station, station.working_volume_l)
        feed = session.farm.feeds.get(station.feed)
        name = feed.name if feed else station.feed
        if any(mistake.unreadable for mistake in session.farm.mistakes):
            name = f"no doses, see the walk · {name}"
        return f"{name} · working level {dip:.0f} cm, {station.working_volume_l:.0f} L"
    if isinstance(station, Channel):
        since = f", set {station.planted_on:%d %b}" if station.planted_on else ""
        return f"{station.crop}, {station.planted} plants on {station.sites} sites{since}"
    return ""


def _wanted(session: Session, stop: Stop, line: ItemLine) -> str:
    band = band_of(line.item, session.farm, stop.station)
    if line.item.type != "reading" or band is None:
        return ""
    return f"{show(band[0], '', line.item.decimals)} to {show(band[1], '', line.item.decimals)}"


def _short(text: str) -> str:
    return text if len(text) <= 11 else text[:10] + "…"
