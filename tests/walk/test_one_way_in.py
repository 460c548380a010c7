"""There is one way into the record: whoever writes passes the gate, and a helper's limits hold on every way to it."""

from __future__ import annotations

import ast
import sys
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

import rounds
from rounds.book.gate import Gate
from rounds.cli import main
from rounds.cli.paper import take_in
from rounds.errors import BadInput, OutOfRange, Refused
from rounds.history.record import Draft, Record
from rounds.record_kinds import KINDS, WRITES_ANY
from rounds.relief.taking_back import ask_helper
from rounds.relief.typed_in import pour
from rounds.walk.answering import take_back
from rounds.walk.asked_first import answer_asked
from rounds.walk.at_station import AtStation
from rounds.walk.carrying_out import dip_in_buffer, put_off, record_step
from rounds.walk.half_pairs import give_up, half_pair_at
from rounds.walk.helper import beyond_limit
from rounds.walk.measuring.at_measurement import AtMeasurement
from rounds.walk.measuring.kinds import kind_named, subject_of
from rounds.walk.offering import offer
from rounds.walk.open_corrections import OpenCorrection, open_correction_of
from rounds.walk.permission import BEYOND
from rounds.walk.putting_right import put_right
from rounds.walk.round import close_round, start_round
from rounds.walk.session import Session
from rounds.walk.slow_change.gather import all_series
from rounds.walk.slow_change.watch import mark_put_right, mark_seen
from rounds.walk.stock import count_product
from rounds.walk.stops import stop_at
from rounds.walk.visit import Visit

HOUSE = Path(rounds.__file__).parent
WRITING = frozenset({"save", "replace", "void", "add_bulk", "writing", "enter"})
JAR_STEP = {"action": "jar_test", "product": "nitric-8", "amount": 0.5, "unit": "mL/L"}
MAPPING = """
time = ["Date"]
time_format = "%Y-%m-%d"
[[columns]]
heading = "What"
station = "{station}"
item = "{item}"
kind = "{kind}"
is_text = {text}
{more}
"""


def writes_past_the_gate(source: str) -> list[int]:
    """Lines that call what writes on a history, or take a whole import in, by whatever name."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in WRITING:
            of = node.func.value
            name = of.attr if isinstance(of, ast.Attribute) else of.id if isinstance(of, ast.Name) else ""
            found += [node.lineno] if name.strip("_") == "history" else []
        if isinstance(node, ast.ImportFrom) and node.module in ("rounds.history.merge", "rounds.history.paper_log"):
            found += [node.lineno] if "apply" in [each.name for each in node.names] else []
    return found


@pytest.mark.parametrize(
    "path",
    [p for p in sorted(HOUSE.rglob("*.py")) if p.relative_to(HOUSE).parts[0] != "history" and p.name != "gate.py"],
    ids=lambda path: str(path.relative_to(HOUSE)),
)
def test_nobody_writes_past_the_gate(path: Path) -> None:
    assert writes_past_the_gate(path.read_text(encoding="utf-8")) == []


def test_writing_past_the_gate_is_noticed() -> None:
    assert writes_past_the_gate("session.history.save(draft)") == [1]
    assert writes_past_the_gate("history.replace(old, draft)\nself._history.void(old)") == [1, 2]
    assert writes_past_the_gate("from rounds.history.merge import apply, preview") == [1]
    assert writes_past_the_gate("session.save(draft)\ntext.replace('a', 'b')") == []


# What each function that the table names writes, driven as a screen or a verb drives it.


def read(session: Session, ph: float = 7.1, ec: float = 1.2) -> None:
    for item, value in (("ph", ph), ("ec", ec), ("t", 20.0), ("dip", 36.0)):
        session.save(Draft(kind="reading", station="res-1", item=item, value=value, measured_at=session.now()))


def offered(session: Session) -> OpenCorrection:
    read(session)
    found = offer(session, session.farm.reservoir("res-1"), None)
    assert found is not None
    return found


def all_steps(session: Session, clock: Any) -> None:
    found = offered(session)
    while found.next_step is not None and not found.next_step.action.startswith("read"):
        clock.go_on(minutes=1)
        found = record_step(session, found, found.next_step, None, None)


def visit(session: Session, station: str) -> Visit:
    return Visit(session=session, stop=stop_at(session, "morning", station, everything=True))


def answers(session: Session, _: Any) -> None:
    assert visit(session, "res-1").take_line("ph 6.0 t 20").saved
    assert visit(session, "ch-1").take_line("wilt").saved


def answers_a_question(session: Session, _: Any) -> None:
    session.save(Draft(kind="correction", station="res-1", measured_at=session.now(), data={"steps": [JAR_STEP]}))
    found = open_correction_of(session, "res-1")
    assert found is not None
    answer_asked(session, found, found.steps[0], "5.8", None)


def gives_up(session: Session, clock: Any) -> None:
    session.save(
        Draft(kind="dose", station="res-1", item="leaf-a", value=300.0, unit="mL", measured_at=session.now(),
              data={"action": "concentrate_a"})
    )  # fmt: skip
    clock.go_on(hours=1)
    pair = half_pair_at(session, "res-1")
    assert pair is not None
    give_up(session, pair, "no B left", "0", None)


def slow(mark: Callable[..., Any], *words: str) -> Callable[[Session, Any], None]:
    def drive(session: Session, _: Any) -> None:
        read(session)
        mark(session, all_series(session)[0], *words)

    return drive


def from_paper(session: Session, kind: str, item: str, cell: str, station: str = "res-1", more: str = "") -> None:
    folder = session.history.folder.parent
    is_text = str(not cell[0].isdigit()).lower()
    text = MAPPING.format(kind=kind, item=item, station=station, text=is_text, more=more)
    (folder / "map.toml").write_text(text, encoding="utf-8")
    (folder / "old.csv").write_text(f"Date,What\n2026-11-25,{cell}\n", encoding="utf-8")
    take_in(session, folder / "old.csv", folder / "map.toml", confirmed=True, as_json=True)


def begins_to_measure(session: Session, _: Any) -> AtMeasurement:
    kind = kind_named("titration")
    dialogue = AtMeasurement(session, kind, subject_of(session.farm, kind))
    for line in ("4.01", "1", "7.5", "3.5 4.5"):
        assert dialogue.answer(line).accepted
    return dialogue


def measures(session: Session, _: Any) -> None:
    assert begins_to_measure(session, _).answer("").accepted


def closes(session: Session, _: Any) -> None:
    close_round(session, start_round(session, "morning"), {})


def does(station: str, line: str) -> Callable[[Session, Any], None]:
    def drive(session: Session, _: Any) -> None:
        dialogue = AtStation(visit(session, station))
        dialogue.answer(line)
        assert dialogue.answer("").message.startswith("Saved")

    return drive


def settles(line: str) -> Callable[[Session, Any], None]:
    def drive(session: Session, _: Any) -> None:
        at = session.now() - timedelta(hours=20)
        session.save(Draft(kind="check", measured_at=at, station="ch-1", item="stream", value="weaker"))
        does("ch-1", line)(session, _)

    return drive


DRIVERS: dict[str, Callable[[Session, Any], Any]] = {
    "rounds.walk.answering:draft_of": answers,
    "rounds.walk.answering:all_well_draft": lambda s, _: visit(s, "hens").all_well(),
    "rounds.walk.answering:skip_draft": lambda s, _: visit(s, "hens").skip("no time"),
    "rounds.walk.answering:note_draft": lambda s, _: visit(s, "hens").note("a note"),
    "rounds.walk.carrying_out:record_step": all_steps,
    "rounds.walk.carrying_out:dip_in_buffer": lambda s, _: dip_in_buffer(s, offered(s), "7.02", None),
    "rounds.walk.asked_first:answer_asked": answers_a_question,
    "rounds.walk.carrying_out:put_off": lambda s, _: put_off(s, offered(s), "later", None),
    "rounds.walk.offering:offer": lambda s, _: offered(s),
    "rounds.walk.stock:count_product": lambda s, _: count_product(s, s.farm.shelf["leaf-a"], "7"),
    "rounds.walk.half_pairs:give_up": gives_up,
    "rounds.walk.round:start_round": lambda s, _: start_round(s, "morning"),
    "rounds.walk.round:close_round": closes,
    "rounds.walk.slow_change.watch:mark_seen": slow(mark_seen),
    "rounds.walk.slow_change.watch:mark_put_right": slow(mark_put_right, "cleaned"),
    "rounds.walk.doings.weather:read_storm": does("res-1", "storm"),
    "rounds.walk.doings.weather:read_outage": does("res-1", "outage 20 min"),
    "rounds.walk.doings.model:doing": does("hens", "dead 1"),
    "rounds.walk.doings.water:dose": does("res-1", "topped 20"),
    "rounds.walk.to_sort.settle:closing": settles("fixed inlet cleaned"),
    "rounds.walk.to_sort.settle:parking": settles("later 3"),
    "rounds.relief.typed_in:pour": lambda s, _: pour(s, s.farm.reservoir("res-1"), "10 50 50", s.now()),
    "rounds.relief.taking_back:ask_helper": lambda s, _: ask_helper(s, "hens", "How many?"),
    "rounds.walk.measuring.keeping:keep_answers": begins_to_measure,
    "rounds.walk.measuring.keeping:keep_outcome": measures,
    "rounds.cli.paper:take_in": lambda s, _: from_paper(s, "event", "storm", "a storm"),
}
PAIRS = [(kind, writer) for kind, row in KINDS.items() for writer in row.written_by]


@pytest.mark.parametrize(("kind", "writer"), PAIRS)
def test_every_kind_is_written_by_the_functions_that_the_table_names(
    farm_folder: Path, clock: Any, monkeypatch: pytest.MonkeyPatch, kind: str, writer: str
) -> None:
    session = Session.open(farm_folder, clock=clock)
    written: set[str] = set()
    session.gate.subscribe(lambda kinds, _stations, _touches: written.update(kinds))
    called: set[str] = set()

    def note(frame: Any, event: str, _: Any) -> None:
        if event == "call":
            called.add(f"{frame.f_globals.get('__name__')}:{frame.f_code.co_qualname}")

    sys.setprofile(note)
    try:
        DRIVERS[writer](session, clock)
    finally:
        sys.setprofile(None)
    assert kind in written and writer in called
    assert kind in {record.kind for record in session.history.records()}


# A helper who may pour nothing.


def limits(folder: Path, products: str) -> None:
    path = folder / "farm.toml"
    told = f"\n[limits.helper]\nproducts = [{products}]\nstep_ml = 100\nday_ml = 150\n\n[[people]]"
    path.write_text(path.read_text(encoding="utf-8").replace("\n[[people]]", told, 1), encoding="utf-8")


@pytest.fixture
def helper(farm_folder: Path, clock: Any) -> Session:
    """Ben, who may pour nothing, beside a dose and an undone dose of the grower's."""
    limits(farm_folder, "")
    grower = Session.open(farm_folder, clock=clock)
    with grower.history:
        at = {"station": "res-1", "unit": "mL", "measured_at": grower.now() - timedelta(hours=2), "person": "ada"}
        grower.save(Draft(kind="dose", item="leaf-a", value=40.0, data={"action": "concentrate_a"}, **at))
    return Session.open(farm_folder, person_id="ben", clock=clock)


def the_dose(session: Session) -> Record:
    (dose,) = session.history.records(kind="dose")
    return dose


def a_step_that_is_no_longer_theirs(session: Session, _: Any) -> None:
    """A step that was offered while it was the helper's to pour, done "as advised" after that had ended."""
    read(session)
    step = {"action": "acid", "product": "nitric-8", "amount": 5.0, "unit": "mL", "text": "Pour 5 mL."}
    session.save(
        Draft(kind="correction", station="res-1", measured_at=session.now(), person="ben", data={"steps": [step]})
    )
    from rounds.walk.open_corrections import open_correction_of

    found = open_correction_of(session, "res-1")
    assert found is not None and found.next_step is not None
    record_step(session, found, found.next_step, None, None)


A_DOSE = 'unit = "mL"'
HELPERS_WAYS: dict[str, list[Callable[[Session, Any], Any]]] = {
    "rounds.walk.carrying_out:record_step": [a_step_that_is_no_longer_theirs],
    "rounds.walk.putting_right:put_right": [lambda s, _: put_right(s, the_dose(s), "400")],
    "rounds.walk.answering:take_back": [lambda s, _: take_back(s, the_dose(s))],
    "rounds.cli.paper:take_in": [lambda s, _: from_paper(s, "dose", "nitric-8", "50", more=A_DOSE)],
}
"""By writer of a dose. What the sheet of a helper says is typed in by somebody who knows that it was poured: below.
What somebody poured unasked is said by who did: `tests/walk/doings`."""
SAID_TO_BE_POURED = {"rounds.relief.typed_in:pour", "rounds.walk.doings.water:dose"}


@pytest.mark.parametrize("writer", sorted({*KINDS["dose"].written_by, *WRITES_ANY} - SAID_TO_BE_POURED))
def test_a_helper_who_may_pour_nothing_writes_no_dose_on_any_way(helper: Session, clock: Any, writer: str) -> None:
    for way in HELPERS_WAYS[writer]:
        with pytest.raises(Refused):
            way(helper, clock)
    assert [record.value for record in helper.history.records(kind="dose", replaced=True)] == [40.0]


@pytest.mark.parametrize(
    "draft",
    [
        Draft(kind="dose", item="nitric-8", value=1.0, unit="mL", data={"action": "acid"}, measured_at=...),  # type: ignore[arg-type]
        Draft(kind="dose", item="nitric-8", value=0.001, unit="L", measured_at=...),  # type: ignore[arg-type]
        Draft(kind="stock", item="leaf-a", value=3.0, unit="L", measured_at=...),  # type: ignore[arg-type]
        Draft(kind="given-up", item="leaf-b", note="no", measured_at=...),  # type: ignore[arg-type]
        Draft(kind="measured", item="measured:pump", value=9.0, unit="L/min", measured_at=...),  # type: ignore[arg-type]
    ],
)
def test_nor_anything_that_is_the_growers(helper: Session, draft: Draft) -> None:
    import msgspec

    whole = msgspec.structs.replace(draft, station="res-1", person="ben", measured_at=helper.now())
    with pytest.raises(Refused):
        helper.save(whole)
    with pytest.raises(Refused):
        helper.gate.write_many([whole], by=helper.person)
    grower = Session.open(helper.history.folder.parent, person_id="ada", clock=helper.clock)
    assert grower.save(whole)


def test_what_was_poured_all_the_same_is_kept_with_a_mark_that_the_grower_sees(helper: Session) -> None:
    pour(helper, helper.farm.reservoir("res-1"), "10 50 50", helper.now())
    doses = [record for record in helper.history.records(kind="dose") if record.person == "ben"]
    marked = {record.item: any(mark.startswith(BEYOND) for mark in record.marks) for record in doses}
    assert marked == {"well": False, "leaf-a": True, "leaf-b": True}


def test_a_and_b_of_one_sheet_count_together(farm_folder: Path, clock: Any) -> None:
    limits(farm_folder, '"leaf-a", "leaf-b"')
    session = Session.open(farm_folder, person_id="ben", clock=clock)
    pour(session, session.farm.reservoir("res-1"), "- 90 90", session.now())
    first, second = session.history.records(kind="dose")
    assert not first.marks and "180 mL in one day" in second.marks[0]


def test_the_day_of_a_sheet_is_the_day_it_was_poured(farm_folder: Path, clock: Any) -> None:
    limits(farm_folder, '"leaf-a", "leaf-b"')
    session = Session.open(farm_folder, person_id="ben", clock=clock)
    for days in (3, 2, 1):
        pour(session, session.farm.reservoir("res-1"), "- 70 70", session.now() - timedelta(days=days))
    assert not [mark for record in session.history.records(kind="dose") for mark in record.marks]
    pour(session, session.farm.reservoir("res-1"), "- 70", session.now() - timedelta(days=2, hours=-4))
    assert [r for r in session.history.records(kind="dose") if any("210 mL in one day" in m for m in r.marks)]


# What is told, and what is judged.


def told_of(session: Session) -> list[tuple[set[str], set[str], set[str]]]:
    told: list[tuple[set[str], set[str], set[str]]] = []
    session.gate.subscribe(lambda *changed: told.append((set(changed[0]), set(changed[1]), set(changed[2]))))
    return told


def test_whoever_asked_is_told_what_changed_once_for_each_writing(farm_folder: Path, clock: Any) -> None:
    session = Session.open(farm_folder, clock=clock)
    told = told_of(session)
    session.save(
        Draft(kind="note", station="hens", note="a note", measured_at=session.now()),
        Draft(kind="dose", station="res-1", item="well", value=10.0, unit="L", measured_at=session.now()),
    )
    (dose,) = session.history.records(kind="dose")
    take_back(session, dose)
    assert told == [
        ({"note", "dose"}, {"hens", "res-1"}, {"level", "composition", "stock"}),
        ({"dose"}, {"res-1"}, {"level", "composition", "stock"}),
    ]


def test_nobody_is_told_of_what_was_refused_and_nobody_after_the_end(farm_folder: Path, clock: Any) -> None:
    session = Session.open(farm_folder, clock=clock)
    told: list[Any] = []
    end = session.gate.subscribe(lambda *changed: told.append(changed))
    with pytest.raises(BadInput, match="no record of the kind"):
        session.save(Draft(kind="moon-phase", measured_at=session.now()))
    assert told == []
    session.save(Draft(kind="note", note="a", measured_at=session.now()))
    end()
    session.save(Draft(kind="note", note="b", measured_at=session.now()))
    assert len(told) == 1


def test_what_another_window_wrote_is_told_as_anything(farm_folder: Path, clock: Any) -> None:
    mine, other = Session.open(farm_folder, clock=clock), Session.open(farm_folder, clock=clock)
    told = told_of(mine)
    other.save(Draft(kind="note", note="theirs", measured_at=other.now()))
    assert mine.gate.refresh() and not mine.gate.refresh()
    assert told == [(set(KINDS), set(), {"level", "composition", "stock", "flock"})]


def test_a_merge_is_told(farm_folder: Path, clock: Any, tmp_path: Path) -> None:
    from rounds.history.merge import preview
    from rounds.history.store import History

    with History.open(tmp_path / "other" / "history", device="d-other", now=clock) as other:
        other.save(Draft(kind="stock", item="leaf-a", value=3.0, unit="L", measured_at=clock()))
    session = Session.open(farm_folder, clock=clock)
    told = told_of(session)
    assert session.gate.merge(preview(session.history, tmp_path / "other")) == 1
    assert told == [({"stock"}, {""}, {"stock"})]


def test_sessions_of_two_people_share_one_gate(farm_folder: Path, clock: Any) -> None:
    from rounds.relief.typed_in import as_person

    session = Session.open(farm_folder, clock=clock)
    told = told_of(session)
    ben = next(person for person in session.farm.people if person.id == "ben")
    as_person(session, ben).save(Draft(kind="note", note="theirs", measured_at=session.now()))
    assert len(told) == 1


def test_a_reading_that_cannot_be_is_written_down_on_no_way(
    farm_folder: Path, clock: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    session = Session.open(farm_folder, clock=clock)
    with pytest.raises(OutOfRange, match="cannot be 64"):
        session.save(Draft(kind="reading", station="res-1", item="ph", value=64.0, measured_at=session.now()))
    assert visit(session, "res-1").take_line("ph 64").saved == ()
    from_paper(session, "reading", "ph", "64")
    assert "1 cells are refused" in capsys.readouterr().out
    assert main(["enter", str(farm_folder), "res-1", "ph 64", "--keep"]) == 1
    assert session.history.records() == []
    assert session.save(Draft(kind="reading", station="gone", item="ph", value=64.0, measured_at=session.now()))


def test_the_gate_of_a_history_without_rules_still_knows_the_kinds(farm_folder: Path, clock: Any) -> None:
    session = Session.open(farm_folder, clock=clock)
    gate = Gate(session.history)
    assert gate.write(Draft(kind="note", note="a", measured_at=clock()), by=None)
    with pytest.raises(BadInput):
        gate.write_many([Draft(kind="moon-phase", measured_at=clock())], by=None)


def test_a_record_of_an_unknown_kind_can_be_taken_back(farm_folder: Path, clock: Any) -> None:
    session = Session.open(farm_folder, clock=clock)
    (record,) = session.history.save(Draft(kind="moon-phase", note="new", measured_at=clock()))
    take_back(session, record)
    assert session.history.records() == []


# The day of a helper.


def test_before_and_after_midnight_a_helper_has_one_day(farm_folder: Path, clock: Any) -> None:
    limits(farm_folder, '"leaf-a", "leaf-b"')
    session = Session.open(farm_folder, person_id="ben", clock=clock)
    clock.go_on(hours=17, minutes=50)  # ten to midnight
    pour(session, session.farm.reservoir("res-1"), "- 70 70", session.now())
    for minutes, told in ((20, True), (6 * 60, True), (9 * 60, True), (60, False)):
        clock.go_on(minutes=minutes)
        assert bool(beyond_limit(session, "leaf-a", 20.0, "mL")) is told, session.now()


@pytest.mark.parametrize("zone", ["Asia/Tokyo", "America/Lima"])
def test_a_helper_whose_laptop_stands_in_another_zone_has_the_farms_day(
    farm_folder: Path, clock: Any, zone: str
) -> None:
    limits(farm_folder, '"leaf-a", "leaf-b"')
    session = Session.open(farm_folder, person_id="ben", clock=lambda: clock().astimezone(ZoneInfo(zone)))
    pour(session, session.farm.reservoir("res-1"), "- 70 70", session.now())
    for hours, told in ((17, True), (4, True), (1.1, False)):
        clock.go_on(hours=hours)
        assert bool(beyond_limit(session, "leaf-a", 20.0, "mL")) is told, session.now()
