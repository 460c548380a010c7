"""A or B that went in alone, on the walk: it comes before everything else until it is ended or given up."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from rounds.book.entries import Dose, entries_of, only
from rounds.book.open_pairs import OpenPairs
from rounds.errors import BadInput
from rounds.farm.stations import Reservoir
from rounds.history.record import Draft, Record
from rounds.walk.error_texts import in_words
from rounds.walk.session import Session

if TYPE_CHECKING:
    from rounds.book.half_pair import HalfPair


def half_pairs(session: Session) -> list[HalfPair]:
    """Every reservoir into which one concentrate went alone, the longest ago first."""
    reservoirs = (s for s in session.farm.stations.values() if isinstance(s, Reservoir))
    found = (half_pair_at(session, reservoir.id) for reservoir in reservoirs)
    return sorted((pair for pair in found if pair is not None), key=lambda pair: pair.at)


def are_known(session: Session) -> bool:
    """Whether it is known without opening months where anything waits."""
    return session.history.is_folded(OpenPairs(session.farm))


def half_pair_at(session: Session, station_id: str) -> HalfPair | None:
    """What stands half poured at a station; None where nothing does."""
    reservoir = session.farm.stations.get(station_id)
    doses = _doses(session, station_id) if isinstance(reservoir, Reservoir) else []
    if not doses or not isinstance(reservoir, Reservoir):
        return None
    from rounds.book.half_pair import half_pair  # not needed before the first paint where nothing waits

    soon = session.now() + timedelta(seconds=1)
    return half_pair(session.farm, reservoir, [*_offers(session, doses), *doses], soon)


def pair_records(session: Session, station_id: str, before: datetime) -> list[Record]:
    """What half a pair hangs on and the advice does not look back to; empty where nothing that old is open."""
    pair = half_pair_at(session, station_id)
    if pair is None or pair.at >= before:
        return []
    doses = _doses(session, station_id)
    return [record for record in [*_offers(session, doses), *doses] if record.measured_at < before]


def pair_text(session: Session, pair: HalfPair) -> str:
    """What is to be poured and why, in one sentence without its point."""
    name = session.farm.reservoir(pair.reservoir_id).name
    return f"Pour {pair.owed} of {pair.missing} into {name}: {pair.when(session.now())}"


def give_up(session: Session, pair: HalfPair, reason: str, correction_id: str, round_id: str | None) -> Record:
    """Write down that the other half will not be poured, and why.

    Raises
    ------
    BadInput
        Where no reason is given.
    """
    return session.save(given_up_draft(session, pair, reason, correction_id, round_id))[0]


def given_up_draft(session: Session, pair: HalfPair, reason: str, correction_id: str, round_id: str | None) -> Draft:
    """What is written down where the other half is given up. Raises `BadInput` where no reason is given."""
    if not reason.strip():
        raise in_words(BadInput, "no-reason", product=pair.missing)
    return Draft(
        kind="given-up",
        measured_at=session.now(),
        station=pair.reservoir_id,
        item=pair.product,
        person=session.person_name(),
        note=reason.strip(),
        round_id=round_id,
        data={"correction": correction_id, "doses": list(pair.doses), "part": pair.missing, "owed_ml": pair.owed_ml},
    )


def _doses(session: Session, station_id: str) -> list[Record]:
    """What was poured since nothing waited there, and what was given up; no month is opened where nothing waits."""
    since = session.history.folded(OpenPairs(session.farm)).open_since(station_id)
    if since is None:
        return []
    kinds = ("dose", "given-up")
    return [r for kind in kinds for r in session.history.records(station=station_id, kind=kind, since=since)]


def _offers(session: Session, doses: list[Record]) -> list[Record]:
    """The corrections that doses belong to: they say what was advised of the other half."""
    ids = dict.fromkeys(dose.correction_id for dose in only(Dose, entries_of(doses)) if dose.correction_id)
    return [offer for offer in map(session.history.get, ids) if offer is not None]
