"""A concentrate that went in without its other half: found from the records alone, however long ago it was.

A and B only work together: A alone leaves the plants without sulfate and phosphate, B alone without calcium. What one
of them owes of the other follows from what was really poured. It is ended by the other one, by a change-out, or where
the grower gives it up with a reason; no reading, no put-off and no passing of time ends it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from rounds.book.entries import Dose, GivenUp, entries_of, only
from rounds.book.entry import Entry, RecordLike
from rounds.book.lots import ACTIONS, OTHER, Action, Lot, Part, advised_ml, feed_of, lots_after
from rounds.book.measures import Measured, millilitres_down
from rounds.book.offered import Offer
from rounds.farm.farm import Farm
from rounds.farm.stations import Reservoir

SHORT = "half-pair-short"
"""Code of what is said where there is less of the other half than is owed, or less that may be poured."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HalfPair:
    """What went into a reservoir alone, and how much of the other half is owed."""

    reservoir_id: str
    poured: Part
    product: str
    """Id of the concentrate that is missing; empty where the farm's files do not say."""
    owed_ml: float
    at: datetime
    """When the first of it went in."""
    doses: tuple[str, ...]
    """Ids of the records of what went in alone."""

    @property
    def missing(self) -> Part:
        """The half that is owed."""
        return OTHER[self.poured]

    @property
    def action(self) -> Action:
        """What a step that pours it is called."""
        return ACTIONS[self.missing]

    @property
    def owed(self) -> Measured:
        """What is owed, as it can be measured out."""
        return millilitres_down(self.owed_ml)

    def when(self, now: datetime) -> str:
        """When it went in, for somebody who reads it now.

        Parameters
        ----------
        now : datetime
            In the farm's own zone.
        """
        at = self.at.astimezone(now.tzinfo)
        day = "" if at.date() == now.date() else f"on {at.day} {at:%B}{'' if at.year == now.year else f' {at.year}'} "
        return f"{self.poured} went in alone {day}at {at:%H:%M}"


def half_pair(
    farm: Farm, reservoir: Reservoir, records: Iterable[RecordLike | Entry], now: datetime
) -> HalfPair | None:
    """What stands half poured in a reservoir; None where A and B went in together.

    Parameters
    ----------
    records : iterable of record
        Effective records; those of other stations are passed over. The corrections among them say what was advised.
    now : datetime
        Records after this moment are passed over.
    """
    mine = [e for e in entries_of(records) if e.station == reservoir.id and e.measured_at <= now]
    given_up = {dose for each in only(GivenUp, mine) for dose in each.doses}
    advised = {offer.id: advised_ml(offer) for offer in only(Offer, mine)}
    lots: list[Lot] = []
    for dose in sorted(only(Dose, mine), key=lambda dose: dose.measured_at):
        lots = lots_after(farm, reservoir, lots, dose, advised)
    lots = [lot for lot in lots if lot.dose not in given_up]
    return _half_of(farm, reservoir, lots) if lots else None


def _half_of(farm: Farm, reservoir: Reservoir, lots: list[Lot]) -> HalfPair:
    first = lots[0]
    feed = feed_of(farm, reservoir, first.product)
    product = "" if feed is None else (feed.part_b or "") if first.part == "A" else feed.part_a
    return HalfPair(
        reservoir_id=reservoir.id, poured=first.part, product=product, owed_ml=sum(lot.left_ml for lot in lots),
        at=first.at, doses=tuple(lot.dose for lot in lots),
    )  # fmt: skip
