"""Which readings the bare numbers of a line are: what is asked for here first, never what has long been answered."""

from __future__ import annotations

from collections.abc import Container

from rounds.farm.stations import Reservoir
from rounds.walk.fresh import fresh_records
from rounds.walk.session import Session
from rounds.walk.stops import ItemLine, Stop

AFTER_A_DOSE = ("ph", "ec")
"""What a dose makes out of date."""


def orders(session: Session, stop: Stop, answered: Container[str]) -> list[list[str]]:
    """The orders in which bare numbers may be meant, as ids of items.

    Parameters
    ----------
    answered : container of str
        The items that were written down on this visit.

    Returns
    -------
    list of list of str
        The first is what any bare numbers are taken for: what is still open, else what was due when the visit began,
        else all that is shown. The others hold for a line that has exactly as many numbers.
    """
    shown = [line for line in stop.lines if line.item.quick]
    fresh = _fresh(session, stop)
    due = [line.item.id for line in shown if line.due is not None or _is_out_of_date(line, fresh)]
    still_open = [item for item in due if item not in answered]
    whole = [line.item.id for line in shown]
    return [order for order in (still_open, due, whole) if order] or [[]]


def _fresh(session: Session, stop: Stop) -> Container[str]:
    return fresh_records(session, stop.station_id) if isinstance(stop.station, Reservoir) else AFTER_A_DOSE


def _is_out_of_date(line: ItemLine, fresh: Container[str]) -> bool:
    return line.answered and line.item.id in AFTER_A_DOSE and line.item.id not in fresh
