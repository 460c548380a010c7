"""First contact: one reservoir nobody has met before, from the first reading to twelve hours after the last."""

from __future__ import annotations

import math
from dataclasses import dataclass

from tests.advice.judged.grower import METER_OR_BOTTLE, MOVES_PH, Grower, Seen
from tests.advice.judged.make import Make
from tests.advice.judged.tool import Advisor

NEXT_MIN, SOON_MIN = 12.0 * 60.0, 60.0
JARS = ("jar-test",)
MOST_ASKED = 3


@dataclass(frozen=True, kw_only=True)
class Contact:
    """What came of it."""

    seed: int
    story: str
    ended: str
    start_ph: float
    end_ph: float
    rechecks: int
    ph_rechecks: int
    jars: int
    minutes: float
    lowest_ph: float
    """Of all that circulated, until an hour after the end."""
    lowest_ph_12h: float
    highest_ph: float
    past_edge: float
    """How far it went past the far edge until an hour after the end; below 0 where it did not. [-]"""
    past_edge_12h: float
    out_of_band: float
    """How far it was out when it ended; below 0 inside. [-]"""
    seen: tuple[Seen, ...]
    next: Seen | None
    codes: tuple[str, ...]
    without_end: bool
    """Whether meter or bottle were asked about again and again, or it ended with such a question open."""
    poured: bool
    """Whether acid or base was."""

    @property
    def called_in_band(self) -> bool:
        return self.ended == "in band"

    @property
    def in_band(self) -> bool:
        """In truth, when the first day's work ended."""
        return self.out_of_band <= 0.0


def first_contact(make: Make, advisor: type[Advisor], *, refuses: bool = False) -> Contact:
    """Meet a reservoir."""
    start, began = make.truth().ph, make.now
    grower = Grower(make, advisor(make.farm_files(), make.reservoir_id), refuses=refuses)
    ended = grower.put_right()
    minutes = (make.now - began).total_seconds() / 60.0
    end = make.truth().ph
    make.wait(SOON_MIN)
    soon, past = make.truth(), _past_edge(make, start, grower)
    make.wait(NEXT_MIN - SOON_MIN)
    truth, (low, high) = make.truth(), make.band
    return Contact(
        seed=make.seed, story=make.story, ended=ended, start_ph=start, end_ph=end,
        rechecks=grower.rechecks, ph_rechecks=grower.ph_rechecks,
        jars=sum(grower.asked[code] for code in JARS) if not refuses else 0, minutes=minutes,
        lowest_ph=soon.lowest_ph, lowest_ph_12h=truth.lowest_ph, highest_ph=soon.highest_ph, past_edge=past,
        past_edge_12h=_past_edge(make, start, grower), out_of_band=max(low - end, end - high), seen=tuple(grower.seen),
        next=_next(grower), codes=tuple(sorted(grower.codes)), without_end=_without_end(grower),
        poured=any(action in MOVES_PH for action in grower.poured),
    )  # fmt: skip


def _past_edge(make: Make, start: float, grower: Grower) -> float:
    """Past the edge on the other side of the band; where it began inside, past that which the first dose went for."""
    truth, (low, high) = make.truth(), make.band
    below, above = low - truth.lowest_ph, truth.highest_ph - high
    if start > high or start < low:
        return below if start > high else above
    first = next((action for action in grower.poured if action in MOVES_PH), None)
    return below if first == "acid" else above if first == "base" else -math.inf


def _next(grower: Grower) -> Seen | None:
    """Twelve hours on, by the meter, against what was foreseen."""
    foreseen = grower.advice.get("prediction", {}).get("next_morning")
    if foreseen is None or grower.ended not in ("in band", "day over"):
        return None
    return Seen(grower.make.read("ph"), foreseen["ph"]["low"], foreseen["ph"]["high"])


def _without_end(grower: Grower) -> bool:
    repeated = any(grower.asked[code] >= MOST_ASKED for code in METER_OR_BOTTLE)
    refused = {"buffer-off", "bottle-doubtful", "no-effect", "surprise", "reading-unbelievable"}
    return repeated or bool(refused & set(grower.ended.split(","))) or grower.ended.startswith("found:")
