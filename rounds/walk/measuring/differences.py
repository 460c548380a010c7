"""Where what was measured and what the farm's files say differ by more than both their doubts."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import date

from rounds.book.composition import water_known
from rounds.book.measurements import PUMP, PUMP_OFF, TITRATION, TUB
from rounds.errors import RoundsError
from rounds.farm.farm import OUTSIDE_DOUBT, Farm
from rounds.farm.known_by import KnownBy
from rounds.farm.volumes import dip_to_litres
from rounds.walk.measuring.kinds import KINDS
from rounds.walk.measuring.tub import vessel_of
from rounds.walk.session import Session

PUMP_DOUBT = 0.1
"""How far a pump is from what its file says, by age, height and dirt: practice. [-]"""
_HALF_WIDTH = 1.645
Pair = tuple[float, float, float]
"""What the files say, what was measured, and both half widths together."""


def differences(session: Session) -> Iterator[str]:
    """A sentence for each number of the files that is too far from what was measured."""
    filed, farm, today = session.filed, session.farm, session.now().date()
    for (subject, what), known in farm.measured.items():
        compare = _COMPARED.get(what)
        try:
            found = None if compare is None else compare(filed, farm, subject, known, today)
        except (RoundsError, KeyError):
            continue
        if found is not None and abs(found[1] - found[0]) > found[2]:
            yield _sentence(session, subject, what, known, found)


def _sentence(session: Session, subject: str, what: str, known: KnownBy, found: Pair) -> str:
    named = session.filed.stations.get(subject) or session.filed.waters.get(subject)
    name, unit = named.name if named is not None else subject, known.unit
    said, measured, doubts = (f"{each:.3g} {unit}" for each in found)
    return (
        f"{name}, {KINDS[what].name}: farm.toml says {said}, {measured} were {known.told}; that is further apart than "
        f"both doubts, {doubts}. What was measured counts: put farm.toml right, or measure again."
    )


def _of_pump(filed: Farm, _farm: Farm, subject: str, known: KnownBy, _today: date) -> Pair:
    said = filed.reservoir(subject).pump_l_min
    return said, known.value, _HALF_WIDTH * (known.sd + PUMP_DOUBT * said)


def _of_run_back(filed: Farm, _farm: Farm, subject: str, known: KnownBy, _today: date) -> Pair:
    said = filed.reservoir(subject).pipes_l + sum(channel.holds_l for channel in filed.channels_of(subject))
    return said, known.value, _HALF_WIDTH * (known.sd + OUTSIDE_DOUBT * said)


def _of_alkalinity(filed: Farm, _farm: Farm, subject: str, known: KnownBy, today: date) -> Pair:
    said = water_known(filed, subject, today)
    return said.alkalinity_meq_l, known.value, _HALF_WIDTH * (known.sd + said.doubt * said.alkalinity_meq_l)


def _of_tub(filed: Farm, farm: Farm, subject: str, known: KnownBy, _today: date) -> Pair | None:
    """At the dip at which the two are furthest apart, as far as it was measured."""
    before, now = vessel_of(filed, subject), vessel_of(farm, subject)
    share, found = known.sd / max(known.value, 1e-9), list[Pair]()
    for cm, litres in now.dip_table:
        if 0.0 < litres <= known.value:
            try:
                said, error = dip_to_litres(before, cm)
            except RoundsError:
                continue
            found.append((said, litres, error + _HALF_WIDTH * share * litres))
    return max(found, key=lambda pair: abs(pair[1] - pair[0]) - pair[2], default=None)


_COMPARED: Mapping[str, Callable[[Farm, Farm, str, KnownBy, date], Pair | None]] = {
    PUMP: _of_pump, PUMP_OFF: _of_run_back, TITRATION: _of_alkalinity, TUB: _of_tub,
}  # fmt: skip
