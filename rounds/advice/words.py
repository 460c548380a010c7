"""What a reservoir has taught, in plain words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime

from rounds.belief import state as b
from rounds.belief.curve import Curve, curve_of
from rounds.belief.feeding import strength_seen
from rounds.belief.first_reading import WORN_MEAN
from rounds.belief.gaussian import Gaussian
from rounds.belief.memory import resumed
from rounds.belief.response import Response
from rounds.book.composition import feed_known
from rounds.book.entries import entries_of
from rounds.book.entry import Entry, RecordLike
from rounds.book.ledger import Ledger, ledger_of
from rounds.book.parcel import Parcel
from rounds.farm.farm import Farm
from rounds.science.speciation import AIR_PCO2_ATM

_NEAR = 0.1
_FEWEST = 2
_USUAL_TEMPERATURE_C = 20.0
_USUAL_PH_SD = 0.05


def answer_in_words(farm: Farm, records: Sequence[RecordLike | Entry], reservoir_id: str, now: datetime) -> str:
    """How a reservoir answers, learned from its corrections.

    Parameters
    ----------
    records : sequence of record
        Effective records of this reservoir, oldest first.

    Returns
    -------
    str
        One sentence or a few, such as “takes 1.3 times the acid of the book (1.1 to 1.6), from 7 corrections”.

    Raises
    ------
    NotFound
        Where there is no such reservoir.
    BadInput
        Where its concentrates or waters cannot be read.
    """
    reservoir, entries = farm.reservoir(reservoir_id), entries_of(records)
    feed = feed_known(farm, farm.feeds[reservoir.feed])
    ledger = ledger_of(farm, reservoir, feed, entries, now)
    curve = curve_of(ledger.solution, _USUAL_TEMPERATURE_C)
    answer = resumed(
        ledger, curve, {None: _USUAL_PH_SD}, reservoir_id, reservoir.returns_aerate, entries, ledger.events,
    )  # fmt: skip
    if answer.gaussian is None or answer.closed < _FEWEST:
        return f"{reservoir.name} is not known well yet: {_corrections(answer.closed)} so far, so the book is used."
    low, high = farm.stage_of(reservoir).ph
    ratio = _against_the_book(answer.gaussian, ledger, curve, now, high + 0.4, (low + high) / 2.0)
    fed = strength_seen(ledger, feed.ids, feed=feed).in_words()
    return f"{reservoir.name} {_acid_words(*ratio)}, from {_corrections(answer.closed)}. {_co2_words(answer)} {fed}"


def _against_the_book(
    state: Gaussian, ledger: Ledger, curve: Curve, now: datetime, start_ph: float, target_ph: float
) -> tuple[float, float, float]:
    """Acid for a usual step here against the book's: middle and the range that holds nine in ten. [-]"""
    phosphate = max(ledger.solution.po4, 0.02) * math.exp(WORN_MEAN * ledger.worn(now))
    book = b.begun(
        ph=start_ph, ph_sd=1e-3, phosphate=phosphate, phosphate_sd=1e-3, pressure_atm=math.exp(b.RESTING_MEAN),
        pressure_sd=1e-3, habits=b.habits(),
    ).mean  # fmt: skip
    (by_book,) = b.demand([[*book[:5], 0.0, 0.0]], curve, target_ph, Parcel(alkalinity_meq_l=-1.0))
    cloud = state.cloud(b.POINTS)
    for point in cloud:
        point[b.PH], point[b.PRESSURE] = start_ph, point[b.RESTING]
    ratios = [v / by_book for v in b.demand(cloud, curve, target_ph, Parcel(alkalinity_meq_l=-1.0))]
    from rounds.belief.gaussian import quantile

    return quantile(ratios, 0.5), quantile(ratios, 0.05), quantile(ratios, 0.95)


def _acid_words(middle: float, low: float, high: float) -> str:
    if abs(middle - 1.0) < _NEAR:
        return f"takes the acid of the book ({low:.1f} to {high:.1f} times)"
    return f"takes {middle:.1f} times the acid of the book ({low:.1f} to {high:.1f})"


def _co2_words(answer: Response) -> str:
    state = answer.gaussian
    if state is None:
        return ""
    times = math.exp(state.mean[b.RESTING]) / AIR_PCO2_ATM
    hours = 2.0 / math.exp(state.mean[b.LEAVING])
    return f"Its CO2 rests at about {times:.0f} times the air's, and is mostly gone {hours:.0f} hours after a dose."


def _corrections(count: int) -> str:
    return "1 correction" if count == 1 else f"{count} corrections"
