"""A station in words: its heading, its rows, and how an item is looked at."""

from __future__ import annotations

from dataclasses import dataclass

from rounds.book.entries import Check, Reading, entry_of
from rounds.checklist.answers import band_of
from rounds.checklist.check_words import answers_of, word_for
from rounds.checklist.judgement import judge_as_it_is
from rounds.checklist.model import Item
from rounds.farm.stations import Reservoir
from rounds.farm.volumes import litres_to_dip
from rounds.history.record import Record
from rounds.units import show
from rounds.walk.expected import level_now
from rounds.walk.held import held_line
from rounds.walk.session import Session
from rounds.walk.station_findings import figures_at
from rounds.walk.stops import ItemLine, Stop
from rounds.walk.to_sort.sick import same_water_line
from rounds.walk.to_sort.telling import told_at
from rounds.walk.to_sort.words import age_text
from rounds.walk.visit import Visit
from rounds.walk.wording import answer_text, when

MOST_TOLD = 2
"""So many of what is still to sort at a station, beside what is asked of its items, are told above them."""
_FIELD = 11
"""Characters of a field."""
TODO, COVERED, STILL = "•", "◦", "!"
"""Signs before an item that is still open: asked by itself, answered by "all well", off on an earlier round."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RowText:
    """One item of a station in words."""

    item_id: str
    label: str
    expects: str
    """The unit, or what may be answered."""
    before: str
    """The last answer, and when."""
    sign: str
    said: str
    """How it was judged, or what is wanted."""

    @property
    def expects_briefly(self) -> str:
        """The same with no more room than a field has."""
        return self.expects if len(self.expects) <= _FIELD else self.expects[: _FIELD - 1] + "…"

    @property
    def line(self) -> str:
        """All of it on one line."""
        wanted = f" ({self.expects})" if self.expects else ""
        before = "" if self.before == "–" else f"  last {' '.join(self.before.split())}"
        return f"{self.sign} {self.label}{wanted}{f'  {self.said}' if self.said else ''}{before}"


def title_of(stop: Stop) -> str:
    """The station's name, with what to beware of."""
    return stop.station.name + (" · sick: wash hands and tools after it" if stop.station.sick else "")


def subtitle_of(session: Session, stop: Stop) -> str:
    """What one should know before looking: the feed and the level of a reservoir, the crop of a channel, a note."""
    parts = [_about(session, stop), *figures_at(session, stop.station), stop.station.note]
    lines = [" · ".join(part for part in parts if part)]
    if isinstance(stop.station, Reservoir):
        lines.append(held_line(session, stop.station_id))
    lines += told_at(session, stop.station_id)[:MOST_TOLD]
    lines.append(same_water_line(session, stop.station_id))
    return "\n".join(line for line in lines if line)


def row_of(session: Session, stop: Stop, line: ItemLine) -> RowText:
    """The row of one item: judged where it has been answered on this round, else with what is wanted."""
    item, last = line.item, line.last
    before = _before(session, stop, item, last)
    sign, said = _answered(session, stop, line) if line.due is None and line.answered else _open(session, stop, line)
    expects = item.unit if item.type == "reading" else answers_of(item)
    return RowText(item_id=item.id, label=item.label, expects=expects, before=before, sign=sign, said=said)


def _before(session: Session, stop: Stop, item: Item, last: Record | None) -> str:
    """The last answer, and when; of a dip that something was poured on or drained from, the level now."""
    if last is None:
        return "–"
    level = level_now(session, stop.station, last) if item.id == "dip" else None
    if level is not None:
        return f"{show(level, '', item.decimals)}  by now"
    return f"{answer_text(item, last)}  {when(last.measured_at, session.now(), session.zone)}"


def _open(session: Session, stop: Stop, line: ItemLine) -> tuple[str, str]:
    """Sign and words of an item that was not answered on this round."""
    overdue = line.due.overdue_days if line.due else 0
    if line.still is not None:
        return STILL, f"still to sort, {age_text(line.still.since, session.now(), session.zone)}"
    return sign_of(line), f"overdue by {overdue} d" if overdue else _wanted(session, stop, line)


def _answered(session: Session, stop: Stop, line: ItemLine) -> tuple[str, str]:
    """Sign and words of the answer of this round."""
    last = line.last
    if last is None or not isinstance(entry_of(last), Reading | Check):
        return "–", "left out"
    if last.item == "all-well":
        return "✓", "well"
    judgement = judge_as_it_is(last.value, line.item, session.farm, stop.station)
    return judgement.sign, judgement.brief


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


def help_with(session: Session, stop: Stop, line: ItemLine | None) -> tuple[str, ...]:
    """One item in full: what is measured, in which band, how, why, and what to do when it is off."""
    if line is None:
        return ()
    item, wanted = line.item, _wanted(session, stop, line)
    unit = f" ({item.unit})" if item.unit else ""
    name = item.names[0] if item.names else word_for(item, _items(session, stop))
    parts = [
        f"{item.label}{unit}" + (f", wanted {wanted}" if wanted else ""),
        f"How: {item.how}" if item.how else "",
        f"Why: {item.why}" if item.why else "",
        f"When it is off: {item.off}" if item.off else "",
        f"Answers: {answers_of(item)}. Typed as {name}.",
    ]
    return tuple(part for part in parts if part)


def _items(session: Session, stop: Stop) -> tuple[Item, ...]:
    return session.items(stop.station) or tuple(line.item for line in stop.lines)


def _about(session: Session, stop: Stop) -> str:
    station = stop.station
    if isinstance(station, Reservoir):
        dip = litres_to_dip(station, station.working_volume_l)
        feed = session.farm.feeds.get(station.feed)
        name = feed.name if feed else station.feed
        if any(mistake.unreadable for mistake in session.farm.mistakes):
            name = f"no doses, see the walk · {name}"
        return f"{name} · working level {dip:.0f} cm, {station.working_volume_l:.0f} L"
    return station.about


def _wanted(session: Session, stop: Stop, line: ItemLine) -> str:
    band = band_of(line.item, session.farm, stop.station)
    if line.item.type != "reading" or band is None:
        return ""
    return f"{show(band[0], '', line.item.decimals)} to {show(band[1], '', line.item.decimals)}"
