"""The notes that may name a day to come, as long as they are not settled: a fold over the notes.

Which day is meant hangs on the farm's zone and on how days are read, so it is worked out where it is told.
"""

from __future__ import annotations

import re
from datetime import datetime

import msgspec

from rounds.book.doings import Settled
from rounds.book.entries import Note, entry_of
from rounds.book.entry import RecordLike

CODE = "note"
"""So begins the id under which such a note is settled: `note:hens:ID`."""
_MAY_NAME_A_DAY = re.compile(
    r"\btomorrow\b|\btonight\b|\bin \w+ (?:day|week)s?\b|(?:mon|tue|wed|thu|fri|sat|sun)|\d{4}-\d{2}-\d{2}"
    r"|\d(?:st|nd|rd|th|\.)?,? ?(?:of )?(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)"
    r"|(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.? \d",
    re.IGNORECASE,
)


class Noted(msgspec.Struct):
    """A note that may name a day."""

    at: datetime
    station: str
    text: str


class DatedNotes(msgspec.Struct):
    """By the id of their record."""

    of: dict[str, Noted] = {}


class Dating:
    """The fold that remembers them."""

    name, version = "dated-notes", "1"
    kinds = frozenset({Note.kind, Settled.kind})

    def empty(self) -> DatedNotes:
        """Nothing was noted yet."""
        return DatedNotes()

    def step(self, state: DatedNotes, record: RecordLike) -> DatedNotes:
        """Take in a note, or that one was settled."""
        entry = entry_of(record)
        if isinstance(entry, Settled) and entry.is_closed:
            code, _, rest = entry.item.partition(":")
            if code == CODE:
                state.of.pop(rest.rpartition(":")[2], None)
        elif isinstance(entry, Note) and _MAY_NAME_A_DAY.search(entry.note):
            state.of[entry.id] = Noted(entry.measured_at, entry.station, entry.note)
        return state
