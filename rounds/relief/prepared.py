"""What the grower may have prepared for a reservoir, to be ticked on the sheet: a top-up tank and pairs of bottles."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from rounds.book.entry import RecordLike
from rounds.book.stock import stock_now
from rounds.errors import RoundsError
from rounds.farm.farm import Farm
from rounds.farm.stations import Reservoir
from rounds.mixing.bottles import bottles_for
from rounds.mixing.drinking import drinking_rate
from rounds.mixing.top_up import top_up_tank


def prepared_line(farm: Farm, records: Sequence[RecordLike], reservoir: Reservoir, days: int, now: datetime) -> str:
    """A line with boxes to tick; empty where nothing can be prepared."""
    parts = [
        part for part in (_tank(farm, records, reservoir, days, now), _bottles(farm, reservoir, days, now)) if part
    ]
    return f"Prepared, if the grower has ticked it: {' '.join(parts)}" if parts else ""


def _tank(farm: Farm, records: Sequence[RecordLike], reservoir: Reservoir, days: int, now: datetime) -> str:
    try:
        drinking = drinking_rate(farm, records, reservoir.id, now)
        tank = top_up_tank(farm, reservoir.id, days, drinking, stock_now(farm, records), now.date())
    except RoundsError:
        return ""
    return (
        f"[  ] Top-up tank of {tank.litres:g} L (pH {tank.target_ph:.1f}, EC {tank.ec_ms_cm:.1f}): top up to the mark "
        "with it, and pour nothing else."
    )


def _bottles(farm: Farm, reservoir: Reservoir, days: int, now: datetime) -> str:
    feed, limits = farm.feeds[reservoir.feed], farm.limits.helper
    if not set(feed.products) <= set(limits.products):
        return ""
    found = bottles_for(farm, reservoir.id, days, now.date(), limits.step_ml, limits.day_ml)
    if found is None:
        return ""
    return (
        f"[  ] {found.pairs} numbered pairs of bottles, {found.a_ml:g} mL A and {found.b_ml:g} mL B: one pair instead "
        f"of the amounts below, where EC is under {found.below_ms_cm:.2f} at the mark."
    )
