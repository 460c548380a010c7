"""Everything one correction is worked out from, gathered once: readings checked, volume, book, belief."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from rounds.advice.files_sound import check_files
from rounds.advice.meter_seen import between_two, in_buffer
from rounds.belief.curve import Curve, curve_of
from rounds.belief.gaussian import Gaussian
from rounds.belief.memory import resumed
from rounds.belief.meter_error import learned_sd
from rounds.belief.response import Response, after_event
from rounds.book.composition import KnownFeed, KnownWater, feed_known, share_at_ec, water_known
from rounds.book.entries import entries_of
from rounds.book.entry import Entry, RecordLike
from rounds.book.ledger import Ledger, LedgerEvent, ledger_of, newest
from rounds.book.offer import Readings
from rounds.errors import BadInput, OutOfRange
from rounds.farm.farm import Farm
from rounds.farm.feeds import Stage
from rounds.farm.stations import Channel, Reservoir
from rounds.farm.volumes import dip_to_litres
from rounds.science.conductivity import ec25_ms_cm
from rounds.science.solution import Solution

USUAL_TEMPERATURE_C = 20.0
USUAL_PH_TOLERANCE, USUAL_EC_TOLERANCE = 0.1, 0.05
"""Half widths where the meter does not say. [-, mS/cm]"""
MISTAKEN_METERS = 2.0
"""So many times as far off a meter is taken to be where a mistake in farm.toml left it out. [-]"""
LEAST_PH_SD = 0.03
FURTHEST_H = 48.0
"""Further ahead than this nothing is foreseen, however late the next round is. [h]"""
EC_MODEL_DOUBT = 0.02
MIXING_TURNOVERS = 3.0
"""Three turnovers mix to 95 % (1 - e^-3), taking reservoir and channels as one stirred vessel."""
_NOT_ON_RECORD = "now"
_PH_RANGE, _EC_RANGE, _T_RANGE = (2.0, 11.0), (0.0, 12.0), (0.5, 40.0)
_BAND_RANGE = (4.0, 8.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """What is known of a reservoir at the moment it is corrected."""

    farm: Farm
    reservoir: Reservoir
    stage: Stage
    feed: KnownFeed
    waters: tuple[KnownWater, ...]
    channels: tuple[Channel, ...]
    readings: Readings
    entries: Sequence[Entry]
    now: datetime
    inside_l: float
    inside_error_l: float
    """Half width of the dip. [L]"""
    was_dipped: bool
    outside_l: float
    temperature_c: float
    ledger: Ledger
    solution: Solution
    """The book's composition, brought to the conductivity read. [mmol/L]"""
    strength: float
    """The conductivity read over that of the book. [-]"""
    curve: Curve
    answer: Response
    before: Response
    """The answer as it was before today's reading."""
    seen: tuple[LedgerEvent, ...]
    """The events on record that the answer has taken in; none where the reading is not on record yet."""
    ph_sd: float
    ec_sd: float

    @property
    def here(self) -> list[Entry]:
        """The entries of this reservoir, oldest first."""
        return [entry for entry in self.entries if entry.station == self.reservoir.id]

    @property
    def next_round_h(self) -> float:
        """Hours until the grower comes again, as far as anything is foreseen. [h]"""
        return min(self.farm.limits.next_round_h, FURTHEST_H)

    @property
    def volume_l(self) -> float:
        """Circulating volume. [L]"""
        return self.inside_l + self.outside_l

    @property
    def volume_sd_l(self) -> float:
        """Standard deviation of the circulating volume. [L]"""
        return math.hypot(self.inside_error_l / 1.645, self.farm.outside_sd_l(self.reservoir))

    @property
    def turnover_min(self) -> float:
        """Minutes in which the pump moves the circulating volume once. [min]"""
        return self.volume_l / self.reservoir.pump_l_min

    @property
    def state(self) -> Gaussian | None:
        """What is believed of the pH now; None where it was not read."""
        return self.answer.gaussian if self.readings.ph is not None else None


def gathered(
    farm: Farm, records: Sequence[RecordLike | Entry], reservoir_id: str, readings: Readings, now: datetime
) -> Case:
    """Gather a case.

    Raises
    ------
    NotFound
        Where there is no such reservoir.
    OutOfRange, BadInput
        Where a reading, the volume, the band or what stands in the files cannot be: there is no dose then.
    """
    reservoir = farm.reservoir(reservoir_id)
    stage = farm.stage_of(reservoir)
    entries = entries_of(records)
    check_files(farm, reservoir, entries, now)
    _check_readings(readings)
    _check_bands(stage)
    feed = feed_known(farm, farm.feeds[reservoir.feed])
    ledger = ledger_of(farm, reservoir, feed, entries, now)
    inside_l, error_l, dipped = _volume_of(reservoir, readings, ledger)
    temperature_c = USUAL_TEMPERATURE_C if readings.temperature_c is None else readings.temperature_c
    solution, strength = _brought_to_ec(ledger.solution, readings, exact=feed.is_labelled)
    curve = curve_of(solution, temperature_c)
    told_sd = _tolerance(farm, readings.ph_meter, "ph", USUAL_PH_TOLERANCE) / 2.0
    ph_sd = max(LEAST_PH_SD, told_sd, learned_sd(told_sd, in_buffer(entries, readings), between_two(ledger)))
    before, now_answer, seen = _believed(farm, reservoir, ledger, curve, entries, readings, ph_sd, strength)
    return Case(
        farm=farm, reservoir=reservoir, stage=stage, feed=feed,
        waters=tuple(water_known(farm, water, now.date()) for water in reservoir.waters),
        channels=farm.channels_of(reservoir.id), readings=readings, entries=entries, now=now,
        inside_l=inside_l, inside_error_l=error_l, was_dipped=dipped,
        outside_l=farm.outside_volume_l(reservoir), temperature_c=temperature_c, ledger=ledger,
        solution=solution, strength=strength, curve=curve, answer=now_answer, before=before, seen=seen, ph_sd=ph_sd,
        ec_sd=_tolerance(farm, readings.ec_meter, "ec", USUAL_EC_TOLERANCE) / 2.0,
    )  # fmt: skip


def _check_readings(readings: Readings) -> None:
    for name, value, (low, high), unit in (
        ("pH", readings.ph, _PH_RANGE, ""),
        ("second meter's pH", readings.second_meter_ph, _PH_RANGE, ""),
        ("EC", readings.ec_ms_cm, _EC_RANGE, " mS/cm"),
        ("water temperature", readings.temperature_c, _T_RANGE, " °C"),
    ):
        if value is not None and not low <= value <= high:
            raise OutOfRange(
                f"A {name} of {value:g}{unit} is not that of a reservoir, so there is no dose.",
                f"Expected {low:g} to {high:g}{unit}: read again, and look at probe and decimal point.",
                code="reading-out-of-range",
                values={"reading": name, "value": value, "low": low, "high": high},
            )


def _check_bands(stage: Stage) -> None:
    low, high = stage.ph
    if not (_BAND_RANGE[0] <= low < high <= _BAND_RANGE[1]):
        raise OutOfRange(
            f"The pH band {low:g} to {high:g} of the stage {stage.id} is not one to grow at, so there is no dose.",
            f"Expected both ends between {_BAND_RANGE[0]:g} and {_BAND_RANGE[1]:g} in feeds.toml.",
        )
    if not 0.0 <= stage.ec[0] < stage.ec[1] <= 8.0:
        raise OutOfRange(
            f"The EC band {stage.ec[0]:g} to {stage.ec[1]:g} mS/cm of the stage {stage.id} cannot be.",
            "Expected 0 to 8 mS/cm in feeds.toml.",
        )


def _volume_of(reservoir: Reservoir, readings: Readings, ledger: Ledger) -> tuple[float, float, bool]:
    if readings.dip_cm is not None:
        litres, error = dip_to_litres(reservoir, readings.dip_cm)
        return _sound_volume(reservoir, litres), error, True
    if readings.volume_l is not None:
        return _sound_volume(reservoir, readings.volume_l), 0.03 * readings.volume_l, True
    known = reservoir.working_volume_l if ledger.inside_l is None else ledger.inside_l
    litres = min(max(known, 0.05 * reservoir.working_volume_l), reservoir.full_volume_l)
    return litres, 0.15 * litres, False


def _sound_volume(reservoir: Reservoir, litres: float) -> float:
    if not 0.0 < litres <= reservoir.full_volume_l * 1.001:
        raise OutOfRange(
            f"{reservoir.name} cannot hold {litres:g} L, so there is no dose.",
            f"Expected more than 0 and at most {reservoir.full_volume_l:g} L: dip again.",
        )
    return litres


def _brought_to_ec(solution: Solution, readings: Readings, *, exact: bool) -> tuple[Solution, float]:
    """The book scaled to the conductivity read; its carbonate is left out, since pH tells of that."""
    if readings.ec_ms_cm is None:
        return solution, 1.0
    if exact:
        share = share_at_ec(solution, readings.ec_ms_cm, exact=True)
        return solution.scaled(share), share
    book = ec25_ms_cm(solution, 6.0)
    factor = readings.ec_ms_cm / max(book, 1e-6)
    return solution.scaled(min(max(factor, 0.05), 5.0)), factor


def _tolerance(farm: Farm, meter: str | None, item: str, usual: float) -> float:
    named = farm.meters.get(meter) if meter else None
    found = named or farm.meter_for(item)
    if any(mistake.key.startswith("meters") for mistake in farm.mistakes):
        usual *= MISTAKEN_METERS
    tolerance = found.tolerance.get(item, usual) if found else usual
    if not 0.0 < tolerance <= 2.0:
        raise BadInput(
            f"The tolerance of {found.name if found else 'the meter'} is {tolerance:g}.",
            "Expected up to 2 in farm.toml.",
        )
    return tolerance


def _believed(
    farm: Farm, reservoir: Reservoir, ledger: Ledger, curve: Curve, entries: Sequence[Entry],
    readings: Readings, ph_sd: float, strength: float,
) -> tuple[Response, Response, tuple[LedgerEvent, ...]]:  # fmt: skip
    by_meter: dict[str | None, float] = {None: ph_sd}
    for meter in farm.meters.values():
        by_meter[meter.id] = max(LEAST_PH_SD, meter.tolerance.get("ph", USUAL_PH_TOLERANCE) / 2.0)
    if readings.ph_meter is not None:
        by_meter[readings.ph_meter] = ph_sd
    current = _current_reading(ledger, readings, strength)
    if current is None:
        answer = resumed(ledger, curve, by_meter, reservoir.id, reservoir.returns_aerate, entries, ledger.events)
        return answer, answer, ledger.events
    earlier = tuple(e for e in ledger.events if e.record_id != current.record_id and e.at <= current.at)
    answer = resumed(ledger, curve, by_meter, reservoir.id, reservoir.returns_aerate, entries, earlier)
    on_record = current.record_id != _NOT_ON_RECORD
    return answer, after_event(answer, current, ledger, curve, by_meter), (*earlier, current) if on_record else ()


def _current_reading(ledger: Ledger, readings: Readings, strength: float) -> LedgerEvent | None:
    """The pH just read as an event of the book: the one on record where it is there already."""
    if readings.ph is None:
        return None
    last = newest(ledger.events, "ph")
    dosed_after = last is not None and any(e.what in ("dose", "water") and e.at > last.at for e in ledger.events)
    written = last is not None and last.value == readings.ph and not dosed_after
    scaled = ledger.solution.scaled(min(max(strength, 0.05), 5.0))
    if last is not None and written and (readings.at - last.at).total_seconds() < 3 * 3600:
        return replace(last, solution=scaled)
    return LedgerEvent(
        at=readings.at, what="ph", value=readings.ph, meter=readings.ph_meter,
        solution=scaled, volume_l=ledger.volume_l, record_id=_NOT_ON_RECORD,
    )  # fmt: skip
