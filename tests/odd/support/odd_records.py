"""A small farm with some days of true records, and odd ones made of them: one thing replaced in each."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from copy import deepcopy
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import msgspec

from rounds.farm.stations import Reservoir
from rounds.history.ids import uuid7
from rounds.history.journal import opened, sealed
from rounds.history.record import Draft
from rounds.history.shapes import _KEYS
from rounds.record_kinds import KINDS
from rounds.walk.carrying_out import record_step
from rounds.walk.conversation import Conversation
from rounds.walk.guide import Guide
from rounds.walk.offering import offer
from rounds.walk.open_corrections import open_correction_of
from rounds.walk.session import Session
from rounds.walk.stops import alive_stop
from rounds.walk.visit import Visit

STRANGER = "d-odd"
DAYS = 8


def nested(deep: int) -> Any:
    """A list in a list in a list ..."""
    value: Any = []
    for _ in range(deep):
        value = [value]
    return value


ODD: tuple[Any, ...] = (
    None, True, False, 0, 5, -1, 2.5, 14.0, -30.0, 1e-300, 9e3, -9e3, 1e6, -1e6, 1e9, 1e308, -1e308, 2**53, 10**30,
    "", "x", "5", "\x1b[31m[/b]", "9" * 300,
    "0001-01-01T00:00:00Z", "9999-12-31T23:59:59-05:00", "2026-11-25T06:00:00", "2199-06-01T00:00:00+00:00",
    [], [5], [None], [[1]], {}, {"a": 1}, [{}], [{"a": [5]}], {"value": "x"}, nested(30), nested(900),
)  # fmt: skip
GONE = object()


def lay_out(folder: Path, now: datetime) -> None:
    """Walk the farm for some days, so that there are true records of every kind, the last correction half done."""
    moment = [now - timedelta(days=DAYS)]
    with_clock: Callable[[], datetime] = lambda: moment[0]  # noqa: E731
    with _session(folder, with_clock) as session:
        renewed = {"measured_at": now - timedelta(days=DAYS + 1), "person": "ada", "data": {"action": "change_out"}}
        session.save(Draft(kind="dose", station="res-1", item="well", value=150, unit="L", **renewed))
        for day in range(DAYS):
            moment[0] = now - timedelta(days=DAYS - day, hours=0.3)
            _walk(session, moment, ph=6.9 - 0.02 * day)
        moment[0] = now - timedelta(minutes=20)
        _walk(session, moment, ph=6.8, steps=1)
        at = {"measured_at": now - timedelta(minutes=9), "person": "ada"}
        walked = {record.kind for record in session.history.records()}
        session.save(
            *(Draft(kind=kind, **RARE[kind], **at) for kind in KINDS if kind not in walked),
            *(Draft(**more, **at) for more in BESIDES),
        )


RARE: dict[str, dict[str, Any]] = {
    "event": {"item": "storm", "note": "a storm"},
    "put-off": {"station": "ch-1", "note": "later", "data": {"correction": "0"}},
    "skip": {"station": "hens", "note": "no time"},
    "note": {"station": "ch-1", "note": "a note"},
    "stock": {"item": "leaf-a", "value": 7.0, "unit": "L", "data": {"why": "counted"}},
    "seen": {"station": "ch-1", "item": "slow:flow", "data": {"put_right": False, "figure": "value"}},
    "recheck-done": {"station": "res-1", "data": {"correction": "0", "stage": "mixed"}},
    "overtaken": {"station": "res-1", "data": {"correction": "0"}},
    "measuring": {
        "station": "res-1",
        "item": "measuring:pump",
        "data": {"answers": ["10 30"], "answered_at": ["2026-11-25T06:00:00+00:00"], "touches": []},
    },
    "measured": {
        "station": "res-1",
        "item": "measured:tub",
        "value": 220.0,
        "unit": "L",
        "data": {
            "sd": 4.0,
            "how": "by jug",
            "rows": [[0.0, 0.0], [44.0, 220.0]],
            "touches": [],
            "parts": {"leaf-a": {"per_ml_l": 0.1, "sd": 0.01}},
        },
    },
    "doing": {"station": "ch-1", "item": "sick", "note": "brown roots", "data": {"touches": []}},
    "settled": {
        "station": "ch-1",
        "item": "off:ch-1:wilting",
        "value": "later",
        "note": "thu",
        "data": {"until": "2026-11-26", "touches": []},
    },
    "given-up": {"station": "res-1", "item": "leaf-b", "note": "no", "data": {"correction": "0", "doses": ["0"]}},
}
"""A record of each kind that those days do not write; a new kind of the table needs one here, or is walked."""
BESIDES: tuple[dict[str, Any], ...] = (
    {"kind": "reading", "station": "res-1", "item": "buffer", "value": 7.02, "data": {"buffer": 7.0}},
    {"kind": "reading", "station": "res-1", "item": "jar", "value": 5.8,
     "data": {"product": "nitric-8", "ml_per_l": 0.2, "water": "well"}},
    {"kind": "reading", "station": "res-1", "item": "strip", "value": 6.5},
    {"kind": "reading", "station": "res-1", "item": "buffer-4", "value": 4.02, "data": {"buffer": 4.01}},
    {"kind": "step", "station": "res-1", "item": "jar_test", "marks": ("skipped",),
     "data": {"action": "jar_test", "correction": "0", "step": 1}},
    {"kind": "measured", "station": "res-1", "item": "measured:pump", "value": 19.0, "unit": "L/min",
     "data": {"sd": 0.5, "how": "by jug and clock", "touches": []}},
    {"kind": "measured", "station": "res-1", "item": "measured:pump-off", "value": 9.0, "unit": "L",
     "data": {"sd": 1.0, "how": "by dips", "touches": []}},
    {"kind": "measured", "item": "measured:titration:well", "value": 4.2, "unit": "meq/L",
     "data": {"sd": 0.2, "how": "by titration", "touches": []}},
    {"kind": "round", "item": "dusk", "value": "closed", "round_id": "2026-01-01-dusk", "data": {"open": ["hens"]}},
)  # fmt: skip


def _session(folder: Path, clock: Callable[[], datetime]) -> Any:
    from contextlib import contextmanager

    @contextmanager
    def opened_session() -> Iterator[Session]:
        session = Session.open(folder, clock=clock)
        with session.history:
            yield session

    return opened_session()


def _walk(session: Session, moment: list[datetime], ph: float, steps: int = 99) -> None:
    guide = Guide(session, None)
    guide.start("morning")
    Visit(session=session, stop=alive_stop(session, "morning"), round_id=guide.round_id).all_well()
    Conversation(Visit(session=session, stop=guide.go_to("res-1"), round_id=guide.round_id)).line(f"{ph:.2f} 1.5 21 30")
    Visit(session=session, stop=guide.go_to("hens"), round_id=guide.round_id).all_well()
    moment[0] += timedelta(minutes=1)
    reservoir = session.farm.stations["res-1"]
    assert isinstance(reservoir, Reservoir)
    found = offer(session, reservoir, guide.round_id)
    for _ in range(steps):
        if found is None or found.next_step is None:
            break
        record_step(session, found, found.next_step, None, guide.round_id)
        moment[0] += timedelta(seconds=20)
        found = open_correction_of(session, "res-1")


def true_docs(folder: Path) -> list[dict[str, Any]]:
    """The newest true record of each sort, as it stands in the journal."""
    lines = [line for path in sorted(folder.glob("history/*/*/*.jsonl")) for line in path.read_bytes().splitlines()]
    docs = [msgspec.json.decode(opened(line) or b"") for line in lines]
    docs.sort(key=lambda doc: doc["measured_at"])
    sorts = {(d["kind"], d.get("item") if d["kind"] != "dose" else d["data"]["action"]): d for d in docs}
    return list(sorts.values())


def places(doc: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Every place in a document, of a list the first two."""
    if path:
        yield path
    inner = doc.items() if isinstance(doc, dict) else list(enumerate(doc))[:2] if isinstance(doc, list) else ()
    for key, value in inner:
        yield from places(value, (*path, key))


EXTRA_DATA = tuple(_KEYS)
"""Every key of data that is looked up somewhere."""
EXTRA_FIELDS = ("unit", "note", "typed", "meter", "round_id", "replaces", "void", "data", "marks", "value", "later")


def all_places(docs: list[dict[str, Any]]) -> list[tuple[int, tuple[Any, ...]]]:
    """Every place of every true record, and the fields and keys that it could have besides."""
    found = []
    for number, doc in enumerate(docs):
        mine = {*places(doc), *((name,) for name in EXTRA_FIELDS), *(("data", key) for key in EXTRA_DATA)}
        found += [(number, path) for path in sorted(mine, key=str)]
    return found


def mutant(doc: dict[str, Any], path: tuple[Any, ...], value: Any) -> dict[str, Any]:
    """A record with one thing replaced, or taken out."""
    odd = deepcopy(doc)
    inner: Any = odd
    for key in path[:-1]:
        inner = inner.setdefault(key, {}) if isinstance(inner, dict) else inner[key]
        if not isinstance(inner, dict | list):
            return odd
    if value is GONE:
        if isinstance(inner, dict):
            inner.pop(path[-1], None)
    else:
        inner[path[-1]] = value
    return odd


def write(
    folder: Path, docs: list[dict[str, Any]], now: datetime, *, device: str = STRANGER, keep: bool = False
) -> Path:
    """Write records as the journal of another device, numbered, each just now."""
    lines = []
    for number, doc in enumerate(docs, 1):
        before = now - timedelta(seconds=3 * (len(docs) - number) + 5)
        usual = {"id": uuid7(before), "device": device, "seq": number, "lamport": 10_000 + number}
        usual |= {"measured_at": before.isoformat(), "entered_at": before.isoformat()}
        fresh = {
            name: value for name, value in usual.items() if keep or doc.get(name) == doc.get("_true", {}).get(name)
        }
        lines.append(sealed(_json({**doc, **fresh} | {"_true": None})))
    place = folder / "history" / device / f"{now.astimezone(UTC):%Y}"
    place.mkdir(parents=True, exist_ok=True)
    journal = place / f"{now.astimezone(UTC):%Y-%m}.jsonl"
    journal.write_bytes(b"".join(lines))
    return journal


def _json(doc: dict[str, Any]) -> bytes:
    import json

    return json.dumps({name: value for name, value in doc.items() if name != "_true"}).encode()


def some(docs: list[dict[str, Any]], seed: int, count: int) -> list[dict[str, Any]]:
    """Some odd records by chance."""
    numbers = random.Random(seed)
    chosen = all_places(docs)
    return [
        {**mutant(docs[n], path, numbers.choice((*ODD, GONE))), "_true": docs[n]}
        for n, path in (numbers.choice(chosen) for _ in range(count))
    ]
