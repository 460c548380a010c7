"""What a helper is told where nothing may be poured."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from rounds.book.offer import Correction, Finding, Readings, Refusal
from rounds.walk.helper import helpers_view
from rounds.walk.session import Session


def held(farm_folder: Path, clock: Any, found: Correction, monkeypatch: pytest.MonkeyPatch) -> Correction:
    session = Session.open(farm_folder, clock=clock)
    monkeypatch.setattr("rounds.advice.correction.correct", lambda *_: found)
    return helpers_view(session.farm, [], "res-1", session.now()).correction(Readings(at=session.now()))


def a_correction(*refusals: Refusal, findings: tuple[Finding, ...] = ()) -> Correction:
    from rounds.book.offer import Assumed

    assumed = Assumed(volume_l=None, ph=None, ec_ms_cm=None, temperature_c=None, alkalinity_meq_l=None)
    return Correction(reservoir_id="res-1", assumed=assumed, refusals=refusals, findings=findings)


@pytest.mark.parametrize(("code", "moves_ph", "text"), [
    ("out-of-stock", True, "The pH should be 5.6 to 6.2, and there is nothing you may pour for it."),
    ("out-of-stock", False, "The feed is weak, and there is nothing more you may pour for it today."),
    ("nothing-on-shelf", False, "The pH should be 5.6 to 6.2, and there is nothing you may pour for it."),
    ("stock-acid", False, "The pH should be 5.6 to 6.2, and there is nothing you may pour for it."),
    ("buffer-off", False, "as it was"),
])  # fmt: skip
def test_a_helper_is_told_to_call_where_there_is_nothing_to_pour(
    farm_folder: Path, clock: Any, monkeypatch: pytest.MonkeyPatch, code: str, moves_ph: bool, text: str
) -> None:
    asked = a_correction(Refusal(code=code, text="as it was", instead="so", moves_ph=moves_ph))
    (refusal,) = held(farm_folder, clock, asked, monkeypatch).refusals
    assert refusal.text == text
    assert refusal.code == ("call" if text != "as it was" else code)
    assert (refusal.instead == "Pour nothing for it. Call the grower: F8 shows the numbers.") is (
        refusal.code == "call"
    )


def test_a_helper_is_told_their_limits_instead_of_a_short_shelf(
    farm_folder: Path, clock: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = tuple(Finding(code=code, text="x") for code in ("short-stock", "stock-acid", "warm", "out-of-stock"))
    found = held(farm_folder, clock, a_correction(findings=said), monkeypatch).findings
    assert [each.code for each in found] == ["warm", "helper-limit"]
    assert found[1].text == "Held to what is yours to pour: 100 mL of one thing, 200 mL a day in all."
    calm = held(farm_folder, clock, a_correction(findings=said[2:3]), monkeypatch)
    assert [each.code for each in calm.findings] == ["warm"]
    short = a_correction(findings=(Finding(code="half-pair", text="x"), Finding(code="half-pair-short", text="y")))
    owed = held(farm_folder, clock, short, monkeypatch)
    assert [each.code for each in owed.findings] == ["half-pair"] and owed.refusals[0].code == "call"
