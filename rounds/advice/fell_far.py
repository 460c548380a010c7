"""A conductivity that fell by far more than plants and top-ups explain: the litres are in doubt, not only the strength.

It is read again first. Then a quarter of the dose goes in and is read: how far that lifts the EC measures the volume.
"""

from __future__ import annotations

import math
from datetime import timedelta

from rounds.advice.case import Case
from rounds.book.ledger import LedgerEvent

LOOK_BACK = timedelta(days=10)
YOUNGEST = timedelta(hours=6)
FELL_SHARE, FELL_MS_CM = 0.4, 0.5
"""By more than this share, and by more than that, no feed falls in some days by itself. Practice. [-, mS/cm]"""
QUARTER = 0.25
"""Of the dose, that goes in first. [-]"""


def fell_from(case: Case) -> float | None:
    """The conductivity before, by its top-ups brought to now, where it fell too far since with nothing fed; else None.

    [mS/cm]
    """
    now = case.readings.ec_ms_cm
    events = [event for event in case.ledger.events if event.at <= case.readings.at - YOUNGEST]
    before = next((n for n in range(len(events) - 1, -1, -1) if events[n].what == "ec"), None)
    if now is None or before is None or case.readings.at - events[before].at > LOOK_BACK:
        return None
    since = [event for event in case.ledger.events if event.at > events[before].at]
    if any(event.what == "renewed" or _feeds(case, event) for event in since):
        return None
    thinned = math.prod(1.0 - event.share for event in since if event.what == "water")
    then = events[before].value * thinned
    fell = then - now
    return events[before].value if fell > FELL_MS_CM and fell > FELL_SHARE * then else None


def _feeds(case: Case, event: LedgerEvent) -> bool:
    return event.item in case.feed.ids
