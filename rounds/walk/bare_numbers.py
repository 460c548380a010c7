"""Which readings the bare numbers of a line are: what is asked for here first, never what has long been answered."""

from __future__ import annotations

from collections.abc import Container

from rounds.errors import BadInput
from rounds.farm.stations import Reservoir
from rounds.units import parse_number
from rounds.walk.fresh import fresh_records
from rounds.walk.open_corrections import open_correction_of
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
    due = _due(session, stop, shown)
    still_open = [item for item in due if item not in answered]
    whole = [line.item.id for line in shown]
    return [order for order in (asked_again(session, stop), still_open, due, whole) if order] or [[]]


def asked_again(session: Session, stop: Stop) -> list[str]:
    """The readings that the open correction of a reservoir wants read again now."""
    if not isinstance(stop.station, Reservoir):
        return []
    correction = open_correction_of(session, stop.station_id)
    step = correction.next_step if correction is not None else None
    if step is None or step.action != "read_again":
        return []
    named = {word.strip(".,:;").casefold() for word in step.text.partition(" again")[0].split()}
    return [item for item in AFTER_A_DOSE if item in named]


def is_bare_number(text: str) -> bool:
    """Whether a line is one number and nothing else."""
    try:
        parse_number(text)
    except BadInput:
        return False
    return True


def _due(session: Session, stop: Stop, shown: list[ItemLine]) -> list[str]:
    """What was due when the visit began, or is out of date by now."""
    fresh = _fresh(session, stop)
    return [line.item.id for line in shown if line.due is not None or _is_out_of_date(line, fresh)]


def _fresh(session: Session, stop: Stop) -> Container[str]:
    return fresh_records(session, stop.station_id) if isinstance(stop.station, Reservoir) else AFTER_A_DOSE


def _is_out_of_date(line: ItemLine, fresh: Container[str]) -> bool:
    return line.answered and line.item.id in AFTER_A_DOSE and line.item.id not in fresh
