"""Still to sort: what was begun at a reservoir and not ended: half pairs, corrections, doses nobody read after."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from rounds.book.undone import AtStation, Begun
from rounds.checklist.still_off import matter_id
from rounds.units import show
from rounds.walk.half_pairs import half_pairs, pair_text
from rounds.walk.session import Session
from rounds.walk.to_sort.model import OpenMatter
from rounds.walk.to_sort.words import age_text, lost_at, name_of

MIXED = timedelta(hours=1)
"""So long after a dose it has mixed nearly everywhere, and is read; before, the walk itself calls back."""
PAIR, BEGUN, UNREAD = "half-pair", "begun", "unread"
_DOES = {
    "top_up": "top up", "drain_off": "drain off", "change_out": "change out", "acid": "pour acid", "base": "pour base",
    "concentrate_a": "pour A", "concentrate_b": "pour B", "concentrate_c": "pour C", "concentrate_d": "pour D",
}  # fmt: skip


def pairs_half_poured(session: Session) -> Iterator[OpenMatter]:
    """A or B that went in alone."""
    for pair in half_pairs(session):
        station = pair.reservoir_id
        yield OpenMatter(
            id=matter_id(PAIR, station), code=PAIR, station=station, what=pair_text(session, pair), since=pair.at,
            loses="2 hours", what_is_lost=lost_at(session, station, "2 hours"),
            closes_by=("step poured", "reason"), closing="the other half poured, or given up with a reason",
            parkable=False, leads="enter", brief=f"pour {pair.missing}",
            could_be="Pour the other half on the page of its correction, or give it up there.",
        )  # fmt: skip


def corrections_begun(session: Session) -> Iterator[OpenMatter]:
    """Corrections and change-outs that were offered, and of which something is still to pour, drain or read."""
    for station, here in session.unsettled().undone.at.items():
        is_open = here.begun is not None and bool(here.begun.done or here.begun.to_measure)
        if here.begun is not None and is_open and station in session.farm.stations:
            yield _begun(session, station, here.begun)


def _begun(session: Session, station: str, begun: Begun) -> OpenMatter:
    last, of = begun.last or begun.at, len(begun.actions)
    following = next((action for n, action in enumerate(begun.actions, 1) if n not in begun.done), "")
    step = next((n for n in range(1, of + 1) if n not in begun.done), of)
    to_do = next((_DOES[action] for action in begun.to_measure if action in _DOES), "")
    what = "the change-out" if begun.changes else "the correction"
    still = f", still to {to_do}" if to_do else ""
    return OpenMatter(
        id=matter_id(BEGUN, station), code=BEGUN, station=station,
        what=f"{'Go on with' if begun.done else 'Do'} {what}: step {step} of {of} is next{still}", since=last,
        loses="2 hours" if begun.changes else "tomorrow",
        what_is_lost=lost_at(session, station, "2 hours"),
        closes_by=("step poured", "reason") if begun.changes else ("step poured", "read again", "reason"),
        closing="its steps done" + ("" if begun.changes else ", pH or EC read again") + ", or a reason",
        cause=f"water:{station}", leads="enter", brief=f"{to_do or following.replace('_', ' ')} still to do",
        seen=(f"{len(begun.done)} of {of} steps done, {age_text(last, session.now(), session.zone)}",),
        could_be="Read pH and EC again: the rest is worked out anew from what is there now.",
    )  # fmt: skip


def poured_and_not_read(session: Session) -> Iterator[OpenMatter]:
    """What went in and was not read since, once it has mixed; where a half of it is missing, that comes first."""
    known = session.unsettled()
    for station, here in known.undone.at.items():
        has_mixed = here.poured is not None and session.now() - here.poured.at >= MIXED
        if (
            has_mixed
            and here.begun is None
            and known.pairs.open_since(station) is None
            and station in session.farm.stations
        ):
            yield _unread(session, station, here)


def _unread(session: Session, station: str, here: AtStation) -> OpenMatter:
    poured = here.poured
    assert poured is not None
    product = session.farm.shelf.get(poured.item)
    amount = show(poured.amount, poured.unit or "mL") if poured.amount is not None else "something"
    told = f"{amount} of {product.name if product is not None else poured.item or poured.action}"
    return OpenMatter(
        id=matter_id(UNREAD, station), code=UNREAD, station=station,
        what=f"Read pH and EC again: {told} went in and nothing was read since", since=poured.at,
        loses="tomorrow", what_is_lost=lost_at(session, station, "tomorrow"),
        closes_by=("read again", "reason"), closing="pH or EC read, or a reason", cause=f"water:{station}",
        items=("ph", "ec"), brief="dosed, not read since",
        seen=(f"{told} into {name_of(session, station)} {age_text(poured.at, session.now(), session.zone)}",),
        could_be="A dose that nobody read after may have gone too far, or not arrived.",
    )  # fmt: skip
