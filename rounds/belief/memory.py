"""Taking up a belief where the last correction left it, so that weeks of history need not be gone through each time."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from rounds.belief.curve import Curve
from rounds.belief.gaussian import Gaussian
from rounds.belief.pooling import pooled_habits
from rounds.belief.response import Response, Rival, Surprise, after_event, followed
from rounds.belief.state import RESTING
from rounds.belief.stored import BELIEVABLE, gaussian_of
from rounds.book.amounts import number
from rounds.book.entries import only
from rounds.book.entry import Entry
from rounds.book.ledger import Ledger, LedgerEvent
from rounds.book.offered import Offer

FORMAT = 3
QUIET_READINGS = 6
MOST_EVENTS = 20
"""Where no correction can be taken up, no more events than these are gone through again."""
REMEMBERED = 12
"""Where the record does not reach back as far as it did, so many events before a correction must be as they were."""


def resumed(
    ledger: Ledger, curve: Curve, meter_sd: dict[str | None, float], reservoir_id: str, aerated: bool,
    entries: Iterable[Entry], events: Sequence[LedgerEvent],
) -> Response:  # fmt: skip
    """The belief after the given events, taken up from the newest correction that still fits them.

    A correction fits where the events it had seen are still exactly those on record: an entry that was put right
    later makes the past be gone through again. Conductivities are passed over: no belief hangs on them.
    """
    events = that_teach(events)
    offers = only(Offer, entries)
    for offer in reversed(only(Offer, offers, reservoir_id)):
        answer, seen = _taken_up(offer.belief, events)
        if answer is not None:
            return _carried(answer, thinned(events[seen:]), ledger, curve, meter_sd)
    habits = pooled_habits(offers, reservoir_id, aerated)
    return followed(replace(ledger, events=thinned(events)), curve, meter_sd, habits)


def that_teach(events: Iterable[LedgerEvent]) -> tuple[LedgerEvent, ...]:
    """The events that a belief about the pH hangs on."""
    return tuple(event for event in events if event.what != "ec")


def thinned(events: Sequence[LedgerEvent]) -> tuple[LedgerEvent, ...]:
    """Without the readings of quiet stretches: those beside something poured teach, the last tell where it stands."""
    kept_last = {id(e) for e in [e for e in events if e.what == "ph"][-QUIET_READINGS:]}
    chosen = []
    for i, event in enumerate(events):
        beside = any(near.what in ("dose", "water", "renewed") for near in events[max(0, i - 2) : i + 3])
        if event.what != "ph" or id(event) in kept_last or beside:
            chosen.append(event)
    return tuple(chosen[-MOST_EVENTS:])


def kept(answer: Response, seen: Sequence[LedgerEvent]) -> dict[str, Any]:
    """The belief as it is stored with a correction."""

    taught = that_teach(seen)

    def numbers(gaussian: Gaussian | None) -> Any:
        if gaussian is None:
            return None
        return {
            "mean": [round(v, 6) for v in gaussian.mean],
            "covariance": [[round(v, 8) for v in row[: i + 1]] for i, row in enumerate(gaussian.covariance)],
        }

    return {
        "format": FORMAT,
        "state": numbers(answer.gaussian),
        "habits": numbers(answer.habits),
        "passed_over": numbers(answer.passed_over),
        "contested": answer.contested,
        "at": answer.at.isoformat() if answer.at else None,
        "closed": answer.closed,
        "proven": answer.proven,
        "tried": answer.tried,
        "dosed": answer.dosed_since_reading,
        "last_item": answer.last_item,
        "surprises": [
            [s.at.isoformat(), s.read, s.expected, s.sd, s.after_dose, s.rival, s.item] for s in answer.surprises
        ],
        "rivals": [[r.name, r.ph, r.sd, r.evidence] for r in answer.rivals],
        "last": taught[-1].record_id if taught else None,
        "digest": digest(taught[-REMEMBERED:]),
        "whole": [len(taught), digest(taught)],
    }


def digest(events: Iterable[LedgerEvent]) -> str:
    """A short fingerprint of some events: what, when, how much."""
    text = "|".join(f"{e.record_id} {e.at.isoformat()} {e.what} {e.value:.6g}" for e in events)
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def _taken_up(kept: Mapping[str, Any], events: Sequence[LedgerEvent]) -> tuple[Response | None, int]:
    if kept.get("format") != FORMAT or not kept.get("habits"):
        return None, 0
    seen = max((i for i, event in enumerate(events, 1) if event.record_id == kept.get("last")), default=0)
    if not seen or not _as_they_were(kept, events[:seen]):
        return None, 0
    answer = _response(kept)
    return (None, 0) if answer is None else (answer, seen)


def _response(kept: Mapping[str, Any]) -> Response | None:
    """The stored answer; None where nobody could have believed its numbers."""
    state = gaussian_of(kept["state"], BELIEVABLE) if kept.get("state") else None
    habits = gaussian_of(kept["habits"], BELIEVABLE[RESTING:])
    if habits is None or (state is None and kept.get("state")):
        return None
    return Response(
        gaussian=state,
        at=datetime.fromisoformat(kept["at"]) if kept.get("at") else None,
        habits=habits,
        passed_over=gaussian_of(kept["passed_over"], BELIEVABLE) if kept.get("passed_over") else None,
        contested=number(kept.get("contested")),
        closed=int(kept.get("closed", 0)),
        proven=int(kept.get("proven", 0)),
        tried=bool(kept.get("tried", False)),
        dosed_since_reading=bool(kept.get("dosed", False)),
        last_item=str(kept.get("last_item", "")),
        surprises=tuple(_surprise(row) for row in kept.get("surprises", ())),
        rivals=tuple(
            Rival(name=str(n), ph=float(p), sd=float(s), evidence=float(e)) for n, p, s, e in kept.get("rivals", ())
        ),
    )


def _as_they_were(kept: Mapping[str, Any], events: Sequence[LedgerEvent]) -> bool:
    """Whether the events a belief was made from still stand; where the record was opened less far back, the last."""
    count, whole = kept.get("whole", (0, ""))
    if len(events) >= count > 0:
        return bool(digest(events[-count:]) == whole)
    return bool(digest(events[-REMEMBERED:]) == kept.get("digest"))


def _surprise(row: Sequence[Any]) -> Surprise:
    at, read, expected, sd, after_dose, rival, item = row
    return Surprise(
        at=datetime.fromisoformat(at), read=float(read), expected=float(expected), sd=float(sd),
        after_dose=bool(after_dose), rival=str(rival), item=str(item),
    )  # fmt: skip


def _carried(
    answer: Response, events: Sequence[LedgerEvent], ledger: Ledger, curve: Curve, meter_sd: dict[str | None, float]
) -> Response:
    for event in events:
        answer = after_event(answer, event, ledger, curve, meter_sd)
    return answer
