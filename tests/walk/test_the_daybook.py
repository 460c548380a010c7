"""How each kind of entry is told, and answers and waits in a few characters."""

from __future__ import annotations

from typing import Any

import pytest

from rounds.history.record import Draft
from rounds.walk.daybook.sentences import record_text
from rounds.walk.session import Session
from rounds.walk.wording import answer_text, as_many_as_fit, minutes_text
from tests.walk.written import put

STEPS = [
    {"action": "buffer_dip"},
    {"action": "acid", "product": "nitric-8", "amount": 30.0, "unit": "mL", "wait_min": 25.0},
    {"action": "circulate", "wait_min": 40.0}, {"action": "look"},
    {"action": "top_up", "product": "well", "amount": 20.0, "unit": "L"}, {"action": "recheck"},
]  # fmt: skip


@pytest.mark.parametrize(("fields", "text"), [
    ({"kind": "reading", "item": "ph", "value": 6.0}, "Reservoir one: pH 6.00"),
    ({"kind": "reading", "item": "ec", "value": 1.7, "unit": "mS/cm"}, "Reservoir one: EC 1.70 mS/cm"),
    ({"kind": "reading", "item": "gone", "value": 1.25}, "Reservoir one: gone 1.25"),
    ({"kind": "check", "item": "all-well", "value": True, "data": {"covers": ["a", "b"]}},
     "Reservoir one: all well (2 checks)"),
    ({"kind": "check", "item": "x", "value": True}, "Reservoir one: x: yes"),
    ({"kind": "check", "item": "x", "value": False}, "Reservoir one: x: no"),
    ({"kind": "check", "item": "x", "value": "white"}, "Reservoir one: x: white"),
    ({"kind": "check", "item": "x", "note": "seen"}, "Reservoir one: x (seen)"),
    ({"kind": "dose", "item": "nitric-8", "value": 30.0, "unit": "mL", "data": {"action": "acid"}},
     "Reservoir one: acid: Working nitric acid 30 mL"),
    ({"kind": "dose", "item": "leaf-a", "value": 0.5, "unit": "L", "data": {"action": "concentrate_a"}},
     "Reservoir one: A: Leaf A 0.5 L"),
    ({"kind": "dose", "item": "well", "value": 20.0, "unit": "L", "data": {"action": "top_up"}},
     "Reservoir one: top up: Well water 20 L"),
    ({"kind": "dose", "item": "gone", "data": {}}, "Reservoir one: added: gone "),
    ({"kind": "step", "item": "circulate"}, "Reservoir one: the pump runs to mix"),
    ({"kind": "step", "item": "recheck"}, "Reservoir one: to be read again when it has mixed"),
    ({"kind": "step", "item": "buffer_dip"}, "Reservoir one: the probe was dipped in buffer"),
    ({"kind": "step", "item": "looked"}, "Reservoir one: looked where the correction said"),
    ({"kind": "step", "item": "read_again"}, "Reservoir one: read again done"),
    ({"kind": "correction", "data": {"steps": STEPS}}, "Reservoir one: correction worked out, 6 steps"),
    ({"kind": "put-off", "note": "guests"}, "Reservoir one: correction put off (guests)"),
    ({"kind": "given-up", "item": "leaf-b"}, "Reservoir one: Leaf B given up, its other half went in alone"),
    ({"kind": "skip", "note": "dark"}, "Reservoir one: station left out (dark)"),
    ({"kind": "skip", "item": "ph"}, "Reservoir one: ph left out"),
    ({"kind": "stock", "station": "", "item": "leaf-a", "value": 7.5, "unit": "L"}, "Leaf A in stock: 7.5 L"),
    ({"kind": "round", "station": "", "item": "dusk", "value": "closed"}, "dusk round closed"),
    ({"kind": "note", "note": "a drip", "marks": ("one", "two")}, "Reservoir one: note (a drip; one; two)"),
    ({"kind": "seen", "item": "slow:ph"}, "Reservoir one: slow change of pH: seen"),
    ({"kind": "seen", "item": "slow:gone", "data": {"put_right": True}},
     "Reservoir one: slow change of gone: put right"),
    ({"kind": "event", "station": "gone"}, "gone: event"),
])  # fmt: skip
def test_how_each_kind_of_entry_is_told(session: Session, fields: dict[str, Any], text: str) -> None:
    record = put(session, **fields)
    assert record_text(session, record).rstrip() == text.rstrip()


def test_what_replaces_another_says_so(session: Session) -> None:
    record = put(session, "reading", item="ph", value=6.0)
    draft = Draft(kind="reading", measured_at=session.now(), station="res-1", item="ph", value=6.1)
    assert record_text(session, session.history.replace(record.id, draft)) == (
        "Reservoir one: pH 6.10 (replaces an earlier entry)"
    )


def test_an_answer_in_a_few_characters(session: Session) -> None:
    ph = session.item(session.farm.station("res-1"), "ph")
    yes = next(i for i in session.items(session.farm.station("res-1")) if i.well is True)
    told = [
        (None, None, ""), (ph, put(session, "reading", item="ph", value=6.0), "6.00"),
        (None, put(session, "reading", item="x", value=6.25), "6.25"),
        (yes, put(session, "check", item=yes.id, value=True), "well"),
        (yes, put(session, "check", item=yes.id, value=False), "no"),
        (None, put(session, "check", item="x", value=True), "yes"),
        (None, put(session, "check", item="all-well", value=True), "well"),
        (None, put(session, "skip", item="x"), "skipped"), (None, put(session, "check", item="x", value="red"), "red"),
        (None, put(session, "check", item="x", note="seen"), "seen"), (None, put(session, "check", item="x"), "noted"),
    ]  # fmt: skip
    assert [answer_text(item, record) for item, record, _ in told] == [text for _, _, text in told]


@pytest.mark.parametrize(("words", "room", "text"), [
    (["a", "b"], 4, "a, b"), (["a", "b"], 3, "a, …"), (["abcdef"], 3, "abcdef"), ([], 3, ""),
    (["aa", "bb", "cc"], 6, "aa, bb, …"), (["aa", "bb", "cc"], 10, "aa, bb, cc"),
])  # fmt: skip
def test_as_many_words_as_fit(words: list[str], room: int, text: str) -> None:
    assert as_many_as_fit(words, room) == text


@pytest.mark.parametrize(
    ("seconds", "text"), [(0, "0:00"), (-5, "0:00"), (59.6, "1:00"), (61, "1:01"), (3600, "60:00")]
)
def test_a_wait_in_minutes(seconds: float, text: str) -> None:
    assert minutes_text(seconds) == text
