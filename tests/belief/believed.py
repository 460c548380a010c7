"""What several tests of this room make by hand."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from typing import Any

from rounds.belief import state as b
from rounds.belief.curve import Curve
from rounds.belief.gaussian import Gaussian, independent
from rounds.belief.response import Response, followed
from rounds.book.ledger import Ledger, LedgerEvent
from rounds.book.parcel import Parcel
from rounds.science.solution import Solution

NOON = datetime(2026, 6, 10, 12, 0, tzinfo=UTC)


FEED = Solution(ca=3.0, mg=1.0, k=5.0, no3=10.0, so4=1.0, po4=1.0, carbonate=0.3, na=0.5, cl=0.5)


AIR_ATM = 0.00042


ACID = Parcel(alkalinity_meq_l=-0.2)


def begun(ph: float = 6.5, **other: Any) -> Gaussian:
    usual = {"ph_sd": 0.05, "phosphate": 1.0, "phosphate_sd": 0.2, "pressure_atm": None, "pressure_sd": 0.15}
    return b.begun(ph=ph, habits=b.habits(), **{**usual, **other})


def sure(ph: float = 6.5, times_air: float = 3.0, arrives: float = 1.0, leaving: float = 0.25, plants: float = 0.0):
    """A belief without any doubt."""
    mean = (
        ph,
        0.0,
        math.log(times_air * AIR_ATM),
        math.log(3.0 * AIR_ATM),
        math.log(leaving),
        math.log(arrives),
        plants,
    )
    return independent(mean, (1e-6,) * 7)


def event(what: str, hours: float, value: float = 0.0, **other: Any) -> LedgerEvent:
    usual = {"record_id": f"{what}{hours}", "solution": FEED, "volume_l": 300.0}
    return LedgerEvent(at=NOON + timedelta(hours=hours), what=what, value=value, **{**usual, **other})  # type: ignore[arg-type]


def ledger(*events: LedgerEvent, since: datetime | None = None) -> Ledger:
    return Ledger(solution=FEED, volume_l=300.0, since=since, drunk_share=0.0, events=events)


ACID_EVENT = {"parcel": ACID, "item": "acid"}


SD = {None: 0.05, "pen": 0.03}


def lived(curve: Curve, *events: LedgerEvent) -> Response:
    return followed(ledger(*events), curve, SD, b.habits())


def offer(kept_belief: dict[str, Any], station: str = "r", hours: float = 5.0) -> Any:
    data = {"prediction": {"belief": kept_belief}}
    return SimpleNamespace(id=f"k{hours}", kind="correction", station=station, item="", value=None, unit=None,
                           measured_at=NOON + timedelta(hours=hours), meter=None, note=None, data=data)  # fmt: skip
