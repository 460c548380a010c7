"""The gate: what is asked before anything is written, and who is told of it afterwards."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

import pytest

from rounds.book.entries import Dose, Unknown
from rounds.book.gate import Gate, entry_of_draft
from rounds.errors import BadInput, Refused
from rounds.farm.model import Person
from rounds.history.record import Draft
from rounds.history.store import History
from rounds.record_kinds import KINDS

AT = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
ADA = Person(id="ada", name="Ada")
Told = tuple[frozenset[str], frozenset[str], frozenset[str]]
READING = Draft(kind="reading", station="res-1", item="ph", value=6.0, measured_at=AT)
ACID = Draft(kind="dose", station="res-2", item="acid", value=5.0, unit="mL", measured_at=AT, data={"action": "acid"})


@pytest.fixture
def history(tmp_path: Path) -> History:
    return History.open(tmp_path / "history", now=lambda: AT)


def refuse_doses(drafts: Sequence[Draft], by: Person | None) -> None:
    if any(draft.kind == "dose" for draft in drafts) and by is None:
        raise Refused("Nobody may pour.", "Ask.")


def test_what_is_written_is_on_record_and_told_with_its_kinds_stations_and_what_it_touches(history: History) -> None:
    gate, told = Gate(history), list[Told]()
    end = gate.subscribe(lambda *what: told.append(what))
    records = gate.write(READING, ACID, by=ADA)
    assert [record.item for record in history.records()] == ["ph", "acid"] == [record.item for record in records]
    assert told == [({"reading", "dose"}, {"res-1", "res-2"}, {"level", "composition", "stock"})]
    assert gate.write_many([READING, READING], by=ADA) == 2
    assert told[1:] == [({"reading"}, {"res-1"}, frozenset())]
    gate.write(by=ADA)
    assert len(told) == 2, "of nothing nobody is told"
    end()
    gate.write(READING, by=ADA)
    assert len(told) == 2


def test_what_a_rule_refuses_is_neither_written_nor_told(history: History) -> None:
    gate, told = Gate(history, [refuse_doses]), list[Told]()
    gate.subscribe(lambda *what: told.append(what))
    for write in (lambda: gate.write(READING, ACID, by=None), lambda: gate.write_many([ACID], by=None),
                  lambda: gate.ask(ACID, by=None)):  # fmt: skip
        with pytest.raises(Refused, match="Nobody may pour"):
            write()
    assert (history.records(), told) == ([], [])
    gate.ask(ACID, by=ADA)
    assert history.records() == []


def test_a_kind_that_there_is_not_is_refused_by_name_except_to_take_it_back(history: History) -> None:
    gate = Gate(history)
    with pytest.raises(BadInput, match="kind “moon-phase”"):
        gate.ask(Draft(kind="moon-phase", measured_at=AT), by=ADA)
    gate.ask(Draft(kind="moon-phase", measured_at=AT, void=True, replaces="x"), by=ADA)


def test_what_is_taken_back_counts_no_more_and_what_it_replaced_counts_again(history: History) -> None:
    gate, told = Gate(history, [refuse_doses]), list[Told]()
    gate.subscribe(lambda *what: told.append(what))
    (first,) = gate.write(ACID, by=ADA)
    (second,) = gate.write(
        Draft(**{**{n: getattr(ACID, n) for n in ACID.__struct_fields__}, "value": 50.0, "replaces": first.id}), by=ADA
    )
    with pytest.raises(Refused):
        gate.take_back(second, by=None, why="typo")
    assert [record.value for record in history.records()] == [50.0]
    (again,) = gate.take_back(second, by=ADA, why="typo")
    assert (again.value, again.replaces, again.marks) == (5.0, None, ("counts again",))
    assert [record.value for record in history.records()] == [5.0]
    assert told[-1] == ({"dose"}, {"res-2"}, {"level", "composition", "stock"})
    (void,) = [record for record in history.records(replaced=True) if record.void]
    assert (void.person, void.note) == ("ada", "typo")
    assert gate.take_back(again, by=ADA, why="typo") == ()
    assert history.records() == []


def test_what_another_window_wrote_may_have_changed_everything(history: History, tmp_path: Path) -> None:
    gate, told = Gate(history), list[Told]()
    gate.subscribe(lambda *what: told.append(what))
    assert not gate.refresh()
    assert told == []
    with History.open(tmp_path / "history", now=lambda: AT) as other:
        other.save(READING)
    assert gate.refresh()
    assert told == [(set(KINDS), frozenset(), {"level", "composition", "stock", "flock"})]


def test_a_draft_is_read_as_the_record_that_it_will_be() -> None:
    dose = entry_of_draft(ACID)
    assert isinstance(dose, Dose)
    assert dose.ml == 5.0
    assert isinstance(entry_of_draft(Draft(kind="moon-phase", measured_at=AT)), Unknown)
