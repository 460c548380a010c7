"""What an entry is, in one sign: well, off and to which side, doubted, left for later, or simply noted.

Readings are judged by the bands that the farm's files have now, whatever they were then.
"""

from __future__ import annotations

from dataclasses import dataclass

from rounds.book.entries import Check, GivenUp, PutOff, Reading, Skip, entry_of
from rounds.book.last_answers import ALL_WELL, KEPT
from rounds.checklist.judgement import Judgement, judge_as_it_is
from rounds.history.record import DOUBTED, Record
from rounds.walk.daybook.sentences import item_of, sentence
from rounds.walk.session import Session
from rounds.walk.stops import ALIVE_STATION

WELL, NOTED, LEFT, OFF, DOUBT = "✓", "-", "»", "!", "?"
_FOUND = frozenset({"▲", "▼", OFF, DOUBT})


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """One entry with its sign."""

    sign: str
    text: str

    @property
    def is_off(self) -> bool:
        """Whether something was found."""
        return self.sign in _FOUND


def told(session: Session, record: Record) -> Told:
    """An entry with its sign and its sentence."""
    text, judgement = sentence(session, record), _judged(session, record)
    by = f", {judgement.brief} its band" if judgement is not None and judgement.verdict in ("low", "high") else ""
    label, aside, rest = text.partition(" (")
    return Told(sign=_sign(record, judgement), text=f"{label}{by}{aside}{rest}" if by else text)


def is_finding(session: Session, record: Record) -> bool:
    """Whether an entry says that something was off, or hard to believe."""
    return _sign(record, _judged(session, record)) in _FOUND


def _sign(record: Record, judgement: Judgement | None) -> str:
    entry = entry_of(record)
    if isinstance(entry, Skip | PutOff):
        return LEFT
    if isinstance(entry, GivenUp):
        return OFF
    if {KEPT, DOUBTED} & set(record.marks) and not record.void:
        return DOUBT
    if judgement is None:
        return WELL if isinstance(entry, Check) and record.item == ALL_WELL and not record.void else NOTED
    return NOTED if judgement.verdict == "unjudged" else judgement.sign


def _judged(session: Session, record: Record) -> Judgement | None:
    entry = entry_of(record)
    item = item_of(session, record) if isinstance(entry, Reading | Check) and not record.void else None
    station = session.farm.stations.get(record.station) if record.station else ALIVE_STATION
    if item is None or station is None:
        return None
    return judge_as_it_is(record.value, item, session.farm, station)
