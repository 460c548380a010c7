"""A doing typed whole in one line, where nobody can be asked: saved at once, or refused with what is missing."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from rounds.book.entries import Doing, Dose, entries_of
from rounds.book.entry import Entry
from rounds.book.gate import entry_of_draft
from rounds.errors import BadInput, Refused
from rounds.history.record import Draft, Record
from rounds.walk.doings.error_texts import in_words
from rounds.walk.doings.in_hand import told
from rounds.walk.doings.model import Ask, Place, Understood
from rounds.walk.doings.text import doing_text
from rounds.walk.doings.understanding import verb_of, way_of

_SOON = timedelta(minutes=10)
"""The same said again so soon is more likely the last line of the shell sent again than done twice."""


def understood_at_once(place: Place, line: str) -> Understood | None:
    """What a line with a verb first means; None where it has none.

    Raises
    ------
    BadInput
        Where something that the line does not say would be asked.
    """
    verb = verb_of(place, line)
    if verb is None:
        return None
    way = way_of(place, verb, line)
    try:
        asked: Ask = next(way)
    except StopIteration as end:
        understood: Understood = end.value
        return understood
    raise in_words(BadInput, "asks", question=asked.text, inline=asked.inline)


def save_at_once(place: Place, understood: Understood, *, sure: bool) -> tuple[tuple[Record, ...], str]:
    """Write it down; give the records and the sentence.

    Parameters
    ----------
    sure : bool
        Whether somebody has said that it is so: however hard to believe, and though the same was just saved.

    Raises
    ------
    Refused
        Where it is hard to believe, or was saved a moment ago, and nobody has said so.
    """
    if understood.lead is not None:
        raise in_words(Refused, "led-only")
    sentence = told(place, understood)
    if understood.beyond and not sure:
        raise in_words(Refused, "beyond", why=understood.beyond)
    if not sure:
        _refuse_a_second_time(place, understood.drafts)
    return place.session.save(*understood.drafts), sentence


def _refuse_a_second_time(place: Place, drafts: Sequence[Draft]) -> None:
    session = place.session
    since = session.now() - _SOON
    lately = entries_of(session.history.records(since=since - timedelta(days=31), station=place.station_id))
    first = entry_of_draft(drafts[0])
    for each in lately:
        is_new = getattr(each.record, "entered_at", each.measured_at) >= since
        if isinstance(each, Doing | Dose) and is_new and _same(each, first):
            at = each.measured_at.astimezone(session.zone)
            raise in_words(Refused, "twice", at=f"{at:%H:%M}", what=doing_text(session, each))


def _same(one: Entry, other: Entry) -> bool:
    return (one.kind, one.item, one.value, one.unit, one.note) == (
        other.kind, other.item, other.value, other.unit, other.note,
    )  # fmt: skip
