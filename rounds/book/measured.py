"""The farm as it was measured: the one place where a measurement goes before what the farm's files guess.

Whoever asks the session for the farm gets it with these numbers in their usual places, and `Farm.measured` says where
each came from. The newest standing measurement of a thing counts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import datetime, tzinfo
from functools import partial
from itertools import pairwise

import msgspec

from rounds.book.measurements import PUMP, PUMP_OFF, TITRATION, TUB, Measured
from rounds.errors import RoundsError
from rounds.farm.farm import Farm
from rounds.farm.known_by import KnownBy
from rounds.farm.model import ReadWater
from rounds.farm.vessel import Vessel
from rounds.farm.volumes import highest_dip_cm, litres_to_dip
from rounds.history.record import Record
from rounds.history.store import History

_TOP_SHARE = 1e-6
MOST_L_MIN, MOST_L, MOST_MEQ_L = 10_000.0, 100_000.0, 100.0
"""A record may come from anywhere: beyond these a flow, a volume or an alkalinity is passed over. [L/min, L, meq/L]"""


class Kept(msgspec.Struct, kw_only=True):
    """One measurement, as far as the farm hangs on it."""

    what: str
    subject: str
    value: float
    sd: float = 0.0
    unit: str = ""
    at: datetime
    how: str = ""
    record_id: str = ""
    rows: list[tuple[float, ...]] = []
    parts: dict[str, tuple[float, float]] = {}


class AllMeasured(msgspec.Struct):
    """The newest measurement of each thing, by what and of what."""

    newest: dict[str, Kept] = {}


class Measurements:
    """The fold that says what was measured, whenever that was."""

    name, version = "measured", "1"
    kinds = frozenset({Measured.kind})

    def empty(self) -> AllMeasured:
        """Nothing was measured yet."""
        return AllMeasured()

    def step(self, state: AllMeasured, record: Record) -> AllMeasured:
        """Take in a measurement."""
        kept = kept_of(Measured(record))
        if kept is not None:
            state.newest[f"{kept.what} {kept.subject}"] = kept
        return state


def kept_of(entry: Measured) -> Kept | None:
    """What a record says, as far as the farm hangs on it; None where it says no number."""
    if entry.number is None or not entry.what or not entry.subject:
        return None
    return Kept(
        what=entry.what, subject=entry.subject, value=entry.number, sd=entry.sd, unit=entry.unit or "",
        at=entry.measured_at, how=entry.how, record_id=entry.id, rows=list(entry.rows), parts=dict(entry.parts),
    )  # fmt: skip


class AsMeasured:
    """The farm of its files with what the record has measured, worked out anew where that changes."""

    def __init__(self, history: History, zone: tzinfo) -> None:
        self._history, self._zone, self._fold = history, zone, Measurements()
        self._of: Farm | None = None
        self._farm: Farm | None = None
        self._has_read_all = False

    def of(self, filed: Farm) -> Farm:
        """The farm with every number that was measured in place of what its files guess."""
        if self._farm is None or self._of is not filed:
            self._of, self._farm = filed, as_measured(filed, self.standing(), self._zone)
        return self._farm

    def standing(self) -> list[Kept]:
        """The newest measurement of each thing; of the last 400 days alone where the months behind are not read yet."""
        if self._has_read_all or self._history.is_folded(self._fold):
            return list(self._history.folded(self._fold).newest.values())
        latest = self._history.latest_marks().values()
        found = {each.id: each for each in latest if each.kind == Measured.kind}
        return [kept for kept in map(kept_of, map(Measured, found.values())) if kept is not None]

    def read_all(self) -> None:
        """Read the record as far back as it goes; the next start finds it read."""
        self._history.folded(self._fold)
        self._has_read_all, self._farm = True, None

    def follow(self, kinds: frozenset[str], _stations: frozenset[str], _touches: frozenset[str]) -> None:
        """Something was written."""
        if Measured.kind in kinds:
            self._farm = None


def as_measured(filed: Farm, found: Iterable[Kept], zone: tzinfo) -> Farm:
    """A farm with measured numbers in their places; what does not fit it any more is passed over."""
    farm, known = filed, dict[tuple[str, str], KnownBy]()
    for kept in sorted(found, key=lambda each: each.at):
        at = kept.at.astimezone(zone)
        put = _PUT.get(kept.what)
        try:
            farm = farm if put is None else put(farm, kept, at)
        except (RoundsError, ValueError, TypeError):
            continue
        known[kept.subject, kept.what] = KnownBy(
            value=kept.value, sd=kept.sd, unit=kept.unit, at=at, how=kept.how, record_id=kept.record_id
        )
    return farm.knowing(known) if known else filed


def _with_pump(farm: Farm, kept: Kept, _at: datetime) -> Farm:
    if not 0.0 < kept.value <= MOST_L_MIN:
        raise ValueError
    return farm.with_station(msgspec.structs.replace(farm.reservoir(kept.subject), pump_l_min=kept.value))


def _with_dip_table(farm: Farm, kept: Kept, _at: datetime) -> Farm:
    vessel = farm.station(kept.subject)
    if not isinstance(vessel, Vessel):
        raise TypeError
    table = whole_table(vessel, kept.rows)
    full_l = max(vessel.full_volume_l, table[-1][1])
    return farm.with_station(msgspec.structs.replace(vessel, dip_table=table, full_volume_l=full_l))


def _with_run_back(farm: Farm, kept: Kept, _at: datetime) -> Farm:
    """What runs back is in pipes and channels; it is shared out among them as the file guesses."""
    reservoir, channels = farm.reservoir(kept.subject), farm.channels_of(kept.subject)
    guessed = reservoir.pipes_l + sum(channel.holds_l for channel in channels)
    if not 0.0 <= kept.value <= MOST_L:
        raise ValueError
    if guessed <= 0.0:
        return farm.with_station(msgspec.structs.replace(reservoir, pipes_l=kept.value))
    times = kept.value / guessed
    farm = farm.with_station(msgspec.structs.replace(reservoir, pipes_l=reservoir.pipes_l * times))
    for channel in channels:
        farm = farm.with_station(msgspec.structs.replace(channel, holds_l=channel.holds_l * times))
    return farm


def _with_alkalinity(farm: Farm, kept: Kept, at: datetime) -> Farm:
    water = farm.waters.get(kept.subject)
    if water is None or not 0.0 <= kept.value <= MOST_MEQ_L:
        raise ValueError
    newer = water.analysed_on is not None and water.analysed_on > at.date()
    if newer or water.blend:
        raise ValueError
    if not water.is_analysed:
        read = ReadWater(value=kept.value, unit="meq_l", by="laboratory")
        return farm.with_water(msgspec.structs.replace(water, alkalinity=read))
    none = {"alkalinity_mg_l_caco3": None, "hco3_mg_l": None}
    return farm.with_water(msgspec.structs.replace(water, alkalinity_meq_l=kept.value, **none))


_PUT: Mapping[str, Callable[[Farm, Kept, datetime], Farm]] = {
    PUMP: _with_pump, TUB: _with_dip_table, PUMP_OFF: _with_run_back, TITRATION: _with_alkalinity,
}  # fmt: skip


def whole_table(vessel: Vessel, rows: Iterable[Iterable[float]]) -> tuple[tuple[float, float], ...]:
    """Measured dips and litres as a dip table that reaches to the brim: above the last dip it goes on as before.

    Raises
    ------
    ValueError
        For fewer than two rows, or where they do not rise.
    """
    table = [(float(cm), float(litres)) for cm, litres in rows]
    if len(table) < 2 or any(not (a[0] < b[0] and a[1] < b[1]) for a, b in pairwise(table)):
        raise ValueError
    missing = vessel.full_volume_l - table[-1][1]
    if missing > _TOP_SHARE * vessel.full_volume_l:
        table.append((round(table[-1][0] + missing * _cm_per_litre(vessel, table), 1), vessel.full_volume_l))
    return tuple(table)


def _cm_per_litre(vessel: Vessel, table: list[tuple[float, float]]) -> float:
    """How much higher a litre stands near the top: as its form says, else as the last pours rose."""
    (below_cm, below_l), (top_cm, top_l) = table[max(0, len(table) - 4)], table[-1]
    measured = (top_cm - below_cm) / (top_l - below_l)
    if vessel.shape is None:
        return measured
    bare = msgspec.structs.replace(vessel, dip_table=())
    if not below_l < top_l < vessel.full_volume_l:
        return measured
    by_form = partial(litres_to_dip, bare)
    here = (by_form(top_l) - by_form(below_l)) / (top_l - below_l)
    above = (highest_dip_cm(bare) - by_form(top_l)) / (vessel.full_volume_l - top_l)
    return measured * above / here if here > 0.0 and above > 0.0 else measured
