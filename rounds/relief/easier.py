"""What saves the helper dosing: tanks, change-outs and bottles prepared before the grower leaves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

from rounds.book.entries import Dose, entries_of, only
from rounds.book.newer import standing
from rounds.errors import RoundsError
from rounds.farm.stations import Reservoir
from rounds.history.record import Record
from rounds.mixing.bottles import Bottles, bottles_for
from rounds.mixing.change_out import change_out_sheet
from rounds.mixing.drinking import drinking_rate
from rounds.mixing.sheet import MixSheet
from rounds.mixing.top_up import top_up_sheet, top_up_tank
from rounds.relief.sheet import Relief, records_for_doses
from rounds.walk.newer_records import refuse_what_is_not_known
from rounds.walk.session import Session
from rounds.walk.stock import left_now

FIT_DAYS = 14
"""From this age on, half of what is in a feed is unknown: renew it before leaving. Common practice. [d]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Easier:
    """What can be prepared for one reservoir."""

    reservoir: Reservoir
    tank: MixSheet | None
    change_out: MixSheet | None
    bottles: Bottles | None
    said: tuple[str, ...]
    """Why something is not worked out, and how old the feed will be."""


def easier(session: Session, relief: Relief) -> list[Easier]:
    """Work out tank, change-out and bottles for every reservoir."""
    records = records_for_doses(session)
    return [
        _of(session, relief, station, records)
        for station in session.farm.stations.values()
        if isinstance(station, Reservoir)
    ]


def _of(session: Session, relief: Relief, reservoir: Reservoir, records: Sequence[Record]) -> Easier:
    said: list[str] = []
    farm, today = session.farm, session.now().date()
    limits = farm.limits.helper
    tank = change_out = bottles = None
    unknown = standing(farm, reservoir, records)
    try:
        refuse_what_is_not_known(session, reservoir.id)
        drinking = drinking_rate(farm, records, reservoir.id, session.now())
        stock = left_now(session)
        tank = top_up_sheet(top_up_tank(farm, reservoir.id, len(relief.days), drinking, stock, today))
    except RoundsError as error:
        said.append(f"No top-up tank: {error.sentence} {error.hint}".strip())
    try:
        change_out = change_out_sheet(farm, records, reservoir.id, session.now())
        said.append(_age_text(session, relief, reservoir, records))
    except RoundsError as error:
        said.append(f"No change-out: {error.sentence} {error.hint}".strip())
    feed = farm.feeds[reservoir.feed]
    if set(feed.products) <= set(limits.products) and not unknown:
        bottles = bottles_for(farm, reservoir.id, len(relief.days), today, limits.step_ml, limits.day_ml)
    return Easier(reservoir=reservoir, tank=tank, change_out=change_out, bottles=bottles, said=tuple(said))


def _age_text(session: Session, relief: Relief, reservoir: Reservoir, records: Sequence[Record]) -> str:
    renewed = [
        dose.measured_at.astimezone(session.zone).date()
        for dose in only(Dose, entries_of(records), reservoir.id)
        if dose.renews
    ]
    if not renewed:
        return "No change-out is on record in these weeks: renew it before you leave."
    age = (relief.days[-1] - renewed[-1]) / timedelta(days=1)
    advice = "renew it before you leave" if age > FIT_DAYS else "it will do"
    return f"The feed will be {age:.0f} days old on the last day: {advice}."
