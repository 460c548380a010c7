"""The record: what was measured, done and seen, kept so that none of it can be lost."""

from rounds.history.ids import seeded_ids
from rounds.history.record import Draft, Record
from rounds.history.store import History

__all__ = ["Draft", "History", "Record", "seeded_ids"]
