"""What a millilitre of concentrate really brings here: learned from the conductivity before and after each feeding."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

from rounds.advice.ledger import Event, Ledger
from rounds.science.conductivity import ec25_ms_cm
from rounds.science.solution import TOTALS

PRIOR_SD = 0.12
"""Spread of the logarithm before anything was seen: drum, cylinder and circulating volume together. Practice."""
METER_MS_CM = 0.03
LATEST = 4
_WITHIN = timedelta(hours=6)
_LEAST_RISE_MS_CM = 0.06
_OTHER_SD = 0.06
_BELIEVABLE = (0.4, 2.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Strength:
    """EC per mL of the concentrates against the book's."""

    times: float = 1.0
    sd: float = PRIOR_SD
    """Spread of its logarithm. [-]"""
    from_feedings: int = 0

    def in_words(self) -> str:
        """One sentence for the grower."""
        if self.from_feedings == 0:
            return "No feeding was read before and after yet: the book's EC per mL is used."
        count = "1 feeding" if self.from_feedings == 1 else f"{self.from_feedings} feedings"
        return f"A millilitre of A and B brings {self.times:.2f} times the EC of the book, from {count}."


def strength_seen(ledger: Ledger, concentrates: Sequence[str]) -> Strength:
    """The strength of the concentrates here, from the latest feedings.

    Parameters
    ----------
    ledger : Ledger
        With conductivities read and liquids poured, oldest first.
    concentrates : sequence of str
        Ids of A and B.
    """
    mean, precision, count = 0.0, 1.0 / PRIOR_SD**2, 0
    for before, after in _feedings(ledger.events, set(concentrates))[-LATEST:]:
        ratio, sd = _ratio(before, after)
        if ratio is None or not _BELIEVABLE[0] <= ratio <= _BELIEVABLE[1]:
            continue
        weight = 1.0 / (sd * sd)
        mean = (mean * precision + math.log(ratio) * weight) / (precision + weight)
        precision += weight
        count += 1
    return Strength(times=math.exp(mean), sd=1.0 / math.sqrt(precision), from_feedings=count)


def _feedings(events: Sequence[Event], concentrates: set[str]) -> list[tuple[Event, Event]]:
    """Pairs of conductivities with concentrates, and nothing that renews, between them."""
    pairs = []
    before: Event | None = None
    fed = False
    for event in events:
        if event.what == "renewed":
            before, fed = None, False
        elif event.what == "water" and event.item in concentrates:
            fed = True
        elif event.what == "ec":
            if before is not None and fed and event.at - before.at <= _WITHIN:
                pairs.append((before, event))
            before, fed = event, False
    return pairs


def _foreseen(before: Event, after: Event) -> float:
    """The conductivity the book foresees, its composition first brought to the one read before. [mS/cm]"""
    by_book = max(ec25_ms_cm(before.solution, 6.0), 1e-6)
    factor = min(max(before.value / by_book, 0.05), 5.0)
    start = before.solution.scaled(factor)
    fed = {
        name: max(0.0, getattr(start, name) + getattr(after.solution, name) - getattr(before.solution, name))
        for name in TOTALS
    }
    now = replace(start, **fed)
    return before.value * ec25_ms_cm(now, 6.0) / max(ec25_ms_cm(start, 6.0), 1e-6)


def _ratio(before: Event, after: Event) -> tuple[float | None, float]:
    book = _foreseen(before, after)
    foreseen, seen = book - before.value, after.value - before.value
    if foreseen < _LEAST_RISE_MS_CM or seen <= 0.0:
        return None, 1.0
    return seen / foreseen, math.hypot(METER_MS_CM * math.sqrt(2.0) / foreseen, _OTHER_SD)
