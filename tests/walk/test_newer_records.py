"""A record of a kind that this version does not know is kept; where it may have changed a reservoir, none is dosed."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from rounds.app import RoundsApp
from rounds.book.actions import MEASURED
from rounds.book.newer import CODE
from rounds.book.offer import Correction, Readings
from rounds.cli import main
from rounds.errors import Refused
from rounds.history.record import Draft, Record
from rounds.history.store import History
from rounds.relief.easier import easier
from rounds.relief.sheet import relief_for, sheet_tables
from rounds.walk.answering import take_back
from rounds.walk.carrying_out import record_step
from rounds.walk.newer_records import newer_lines, refuse_what_is_not_known
from rounds.walk.offering import offer, work_out
from rounds.walk.open_corrections import open_correction_of
from rounds.walk.overview import first_lines
from rounds.walk.session import Session

SHARP, TOO_STRONG = {"ph": 7.1, "ec": 1.2}, {"ph": 6.0, "ec": 6.0}


def newer(session: Session, station: str = "res-1", data: dict[str, Any] | None = None, **ago: float) -> Record:
    """A record of a kind that a newer version writes, as it comes in from its device."""
    at = session.now() - timedelta(**ago or {"hours": 1})
    draft = Draft(kind="leaf-spray", station=station, measured_at=at, data={} if data is None else data, person="ada")
    with History.open(session.history.folder, device="d-newer") as theirs:
        (record,) = theirs.save(draft)
    session.history.refresh()
    return record


def worked_out(session: Session, ph: float, ec: float) -> Correction:
    readings = Readings(at=session.now(), ph=ph, ec_ms_cm=ec, temperature_c=20.0, dip_cm=36.0)
    return work_out(session, "res-1", readings)


def is_held(session: Session) -> bool:
    found = worked_out(session, **SHARP)
    held = CODE in [refusal.code for refusal in found.refusals]
    assert held != any(step.action in MEASURED for step in found.steps), "held back whole, or not at all"
    return held


@pytest.mark.parametrize(
    ("station", "data", "held"),
    [
        ("res-1", {"touches": ["composition"]}, True),
        ("res-1", {"touches": ["stock", "level"]}, True),
        ("res-1", {}, True),
        ("res-1", {"touches": ["roots"]}, True),
        ("res-1", {"touches": []}, False),
        ("res-1", {"touches": ["stock"]}, False),
        ("ch-1", {"touches": ["composition"]}, True),
        ("ch-1", {}, True),
        ("ch-1", {"touches": []}, False),
        ("", {"touches": ["level"]}, True),
        ("", {}, False),
        ("", {"touches": ["weather"]}, False),
        ("hens", {}, False),
        ("hens", {"touches": ["flock"]}, False),
    ],
)
def test_nothing_is_poured_where_it_may_have_changed_what_is_in_there(
    session: Session, station: str, data: dict[str, Any], held: bool
) -> None:
    assert not is_held(session)
    newer(session, station, data)
    assert is_held(session) is held
    assert bool(newer_lines(session)) is held


def test_it_is_told_with_a_way_on(session: Session) -> None:
    newer(session)
    (refusal, *_) = worked_out(session, **SHARP).refusals
    assert "“leaf spray” of 25 November, 05:00" in refusal.text and "nothing is poured" in refusal.text
    assert "up to date" in refusal.instead and "take it back" in refusal.instead


def test_it_holds_however_long_ago_it_was(session: Session) -> None:
    newer(session, days=200)
    assert is_held(session)


def test_a_newer_one_that_touches_nothing_hides_none_before_it(session: Session) -> None:
    newer(session, data={"touches": ["level"]}, days=100)
    newer(session, data={"touches": []}, days=90)
    assert is_held(session)


def test_one_from_a_clock_that_is_ahead_holds_too(session: Session) -> None:
    newer(session, hours=-5)
    assert is_held(session)


def test_taking_it_back_ends_it(session: Session) -> None:
    take_back(session, newer(session))
    assert not is_held(session) and newer_lines(session) == []


@pytest.mark.parametrize(("litres", "hours", "held"), [(190.0, 0.5, False), (190.0, 2.0, True), (0.0, 0.5, True)])
def test_a_change_out_after_it_ends_it(session: Session, litres: float, hours: float, held: bool) -> None:
    newer(session)
    at = session.now() - timedelta(hours=hours)
    session.save(
        Draft(kind="dose", station="res-1", item="well", value=litres, unit="L", measured_at=at,
              data={"action": "change_out"})
    )  # fmt: skip
    assert bool(newer_lines(session)) is held
    assert (CODE in [refusal.code for refusal in worked_out(session, **SHARP).refusals]) is held


def test_a_change_out_that_the_readings_ask_for_is_offered_and_ends_it(session: Session, clock: Any) -> None:
    newer(session)
    found = worked_out(session, **TOO_STRONG)
    assert next(step for step in found.steps if step.action in MEASURED).action == "change_out"
    assert CODE in [finding.code for finding in found.findings]
    session.save(
        *(Draft(kind="reading", station="res-1", item=item, value=value, measured_at=session.now())
          for item, value in {**TOO_STRONG, "t": 20.0, "dip": 36.0}.items())
    )  # fmt: skip
    correction = offer(session, session.farm.reservoir("res-1"), None)
    assert correction is not None and open_correction_of(session, "res-1") is not None
    clock.go_on(minutes=2)
    while correction.next_step is not None and correction.next_step.action != "change_out":
        correction = record_step(session, correction, correction.next_step, None, None)
    assert correction.next_step is not None
    record_step(session, correction, correction.next_step, None, None)
    assert newer_lines(session) == []


def test_a_correction_that_is_open_is_poured_no_further(session: Session) -> None:
    session.save(
        *(Draft(kind="reading", station="res-1", item=item, value=value, measured_at=session.now())
          for item, value in {**SHARP, "t": 20.0, "dip": 36.0}.items())
    )  # fmt: skip
    correction = offer(session, session.farm.reservoir("res-1"), None)
    assert correction is not None and correction.next_step is not None
    newer(session)
    with pytest.raises(Refused, match="no longer holds"):
        record_step(session, correction, correction.next_step, None, None)
    assert session.history.records(kind="dose") == []


def test_a_helper_is_told_to_call(farm_folder: Path, clock: Any) -> None:
    text = (farm_folder / "farm.toml").read_text(encoding="utf-8")
    limits = '\n[limits.helper]\nproducts = ["leaf-a", "leaf-b"]\nstep_ml = 300\nday_ml = 600\n\n[[people]]'
    (farm_folder / "farm.toml").write_text(text.replace("\n[[people]]", limits, 1), encoding="utf-8")
    session = Session.open(farm_folder, person_id="ben", clock=clock)
    newer(session)
    found = worked_out(session, **SHARP)
    assert not found.steps and [r.instead for r in found.refusals if r.code == CODE and "Call the grower" in r.instead]


def test_a_helper_does_not_take_it_back(farm_folder: Path, clock: Any) -> None:
    session = Session.open(farm_folder, person_id="ben", clock=clock)
    record = newer(session)
    with pytest.raises(Refused, match="grower's to take back"):
        take_back(session, record)
    assert newer_lines(session)


def test_no_table_tank_or_bottle_is_made_for_it(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    for days in (1, 2, 3):
        session.save(
            Draft(kind="reading", station="res-1", item="dip", value=36.0 - days,
                  measured_at=session.now() - timedelta(days=4 - days))
        )  # fmt: skip
    relief = relief_for(session, "ben", date(2026, 11, 26), date(2026, 11, 28))
    newer(session)
    (table,) = sheet_tables(session, relief)
    assert isinstance(table, Refused) and "newer version" in table.sentence
    (plan,) = easier(session, relief)
    assert plan.tank is None and plan.bottles is None and any("newer version" in text for text in plan.said)
    assert plan.change_out is not None, "a change-out makes what was in there nobody's care"
    with pytest.raises(Refused, match="newer version"):
        refuse_what_is_not_known(session, "res-1")
    folder = str(session.history.folder.parent)
    assert main(["mix", folder, "top-up", "res-1", "--litres-per-day", "3"]) == 1
    assert "newer version" in capsys.readouterr().err
    assert main(["mix", folder, "change-out", "res-1"]) == 0


def test_every_verb_and_the_app_say_so(session: Session, capsys: pytest.CaptureFixture[str]) -> None:
    newer(session)
    folder = str(session.history.folder.parent)
    main(["due", folder])
    assert "! Reservoir one: “leaf spray” of 25 November" in capsys.readouterr().out
    assert main(["correct", folder, "res-1", "ph 7.1 ec 1.2 t 20 dip 36"]) == 1
    out = capsys.readouterr().out
    assert "newer version" in out and "Pour" not in out
    main(["history", folder, "--since", "2026-11-01"])
    assert "leaf spray" in capsys.readouterr().out
    assert first_lines(session)[0].startswith("! Reservoir one: “leaf spray”")


async def test_the_first_screen_says_so(farm_folder: Path, session: Session, clock: Any) -> None:
    newer(session)
    app = RoundsApp(farm_folder, clock=clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert any("leaf spray" in line for line in app.walk._first)
