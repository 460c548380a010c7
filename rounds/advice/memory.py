"""Taking up a belief where the last correction left it, so that weeks of history need not be gone through each time."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from rounds.advice.curve import Curve
from rounds.advice.gaussian import Gaussian
from rounds.advice.ledger import Event, Ledger
from rounds.advice.pooling import pooled_habits
from rounds.advice.response import Answer, Rival, Surprise, after_event, followed
from rounds.advice.steps import RecordLike

FORMAT = 1
QUIET_READINGS = 6
MOST_EVENTS = 20
"""Where no correction can be taken up, no more events than these are gone through again."""
REMEMBERED = 12
"""How many events before a correction must still be on record as they were for it to be taken up."""


def resumed(
    ledger: Ledger, curve: Curve, meter_sd: dict[str | None, float], reservoir_id: str, aerated: bool,
    records: Iterable[RecordLike], events: Sequence[Event],
) -> Answer:  # fmt: skip
    """The belief after the given events, taken up from the newest correction that still fits them.

    A correction fits where the events it had seen are still exactly those on record: an entry that was put right
    later makes the past be gone through again.
    """
    corrections = [r for r in records if r.kind == "correction"]
    for record in reversed([r for r in corrections if r.station == reservoir_id]):
        kept = record.data.get("prediction", {}).get("belief")
        answer, seen = _taken_up(kept, events)
        if answer is not None:
            return _carried(answer, thinned(events[seen:]), ledger, curve, meter_sd)
    habits = pooled_habits(corrections, reservoir_id, aerated)
    return followed(replace(ledger, events=thinned(events)), curve, meter_sd, habits)


def thinned(events: Sequence[Event]) -> tuple[Event, ...]:
    """Without the readings of quiet stretches: those beside something poured teach, the last tell where it stands."""
    kept_last = {id(e) for e in [e for e in events if e.what == "ph"][-QUIET_READINGS:]}
    chosen = []
    for i, event in enumerate(events):
        beside = any(near.what in ("dose", "water", "renewed") for near in events[max(0, i - 2) : i + 3])
        if event.what not in ("ph", "ec") or id(event) in kept_last or (event.what == "ph" and beside):
            chosen.append(event)
    return tuple(chosen[-MOST_EVENTS:])


def kept(answer: Answer, seen: Sequence[Event]) -> dict[str, Any]:
    """The belief as it is stored with a correction."""

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
        "at": answer.at.isoformat() if answer.at else None,
        "closed": answer.closed,
        "dosed": answer.dosed_since_reading,
        "last_item": answer.last_item,
        "surprises": [
            [s.at.isoformat(), s.read, s.expected, s.sd, s.after_dose, s.rival, s.item] for s in answer.surprises
        ],
        "rivals": [[r.name, r.ph, r.sd, r.evidence] for r in answer.rivals],
        "last": seen[-1].record_id if seen else None,
        "digest": digest(seen),
    }


def digest(events: Iterable[Event]) -> str:
    """A short fingerprint of the last of some events: what, when, how much."""
    text = "|".join(f"{e.record_id} {e.at.isoformat()} {e.what} {e.value:.6g}" for e in [*events][-REMEMBERED:])
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def _taken_up(kept: Any, events: Sequence[Event]) -> tuple[Answer | None, int]:
    if not isinstance(kept, Mapping) or kept.get("format") != FORMAT or not kept.get("habits"):
        return None, 0
    places = [i for i, event in enumerate(events) if event.record_id == kept.get("last")]
    if not places or digest(events[: places[-1] + 1]) != kept.get("digest"):
        return None, 0
    seen = places[-1] + 1
    return (
        Answer(
            gaussian=_gaussian(kept["state"]) if kept.get("state") else None,
            at=datetime.fromisoformat(kept["at"]) if kept.get("at") else None,
            habits=_gaussian(kept["habits"]),
            closed=int(kept.get("closed", 0)),
            dosed_since_reading=bool(kept.get("dosed", False)),
            last_item=str(kept.get("last_item", "")),
            surprises=tuple(_surprise(row) for row in kept.get("surprises", ())),
            rivals=tuple(
                Rival(name=str(n), ph=float(p), sd=float(s), evidence=float(e)) for n, p, s, e in kept["rivals"]
            ),
        ),
        seen,
    )


def _surprise(row: Sequence[Any]) -> Surprise:
    at, read, expected, sd, after_dose, rival, item = row
    return Surprise(
        at=datetime.fromisoformat(at), read=float(read), expected=float(expected), sd=float(sd),
        after_dose=bool(after_dose), rival=str(rival), item=str(item),
    )  # fmt: skip


def _gaussian(numbers: Mapping[str, Any]) -> Gaussian:
    rows = numbers["covariance"]
    n = len(rows)
    full = tuple(tuple(float(rows[max(i, j)][min(i, j)]) for j in range(n)) for i in range(n))
    return Gaussian(tuple(float(v) for v in numbers["mean"]), full)


def _carried(
    answer: Answer, events: Sequence[Event], ledger: Ledger, curve: Curve, meter_sd: dict[str | None, float]
) -> Answer:
    for event in events:
        answer = after_event(answer, event, ledger, curve, meter_sd)
    return answer
