"""What one answer means the moment it is entered."""

from __future__ import annotations

import pytest

from rounds.checklist.judgement import judge_reading, likely_meant
from rounds.checklist.model import Item

PH = Item(id="ph", type="reading", label="pH", names=("ph",), limits=(0, 14), jump=0.8, decimals=2)
EC = Item(id="ec", type="reading", label="EC", names=("ec",), unit="mS/cm", limits=(0, 20), jump=0.6, decimals=2)
BAND = (5.6, 6.2)


@pytest.mark.parametrize(
    ("value", "verdict", "word"),
    [(5.6, "well", "in band"), (6.2, "well", "in band"), (6.5, "high", "0.30 above"), (5.4, "low", "0.20 below")],
)
def test_in_or_out_of_band_and_by_how_much(value: float, verdict: str, word: str) -> None:
    judgement = judge_reading(value, PH, BAND, 6.0)
    assert judgement.verdict == verdict
    assert word in judgement.text


@pytest.mark.parametrize(("typed", "meant"), [(64.0, 6.4), (640.0, 6.4), (0.64, 6.4), (62.0, 6.2)])
def test_a_slipped_point_is_guessed_from_the_last_value(typed: float, meant: float) -> None:
    assert likely_meant(typed, PH, BAND, 6.3) == pytest.approx(meant)


def test_what_cannot_be_is_refused_and_what_was_meant_offered() -> None:
    judgement = judge_reading(56.0, PH, BAND, None)
    assert judgement.verdict == "impossible"
    assert judgement.likely == pytest.approx(5.6)
    assert "0.00 to 14.00" in judgement.text


def test_a_jump_is_hard_to_believe_even_inside_the_limits() -> None:
    judgement = judge_reading(7.4, PH, BAND, 6.0)
    assert judgement.verdict == "doubtful"
    assert judgement.likely is None
    assert "6.00 last time" in judgement.text


def test_the_very_first_reading_is_doubted_where_a_slipped_point_would_bring_it_into_band() -> None:
    assert judge_reading(19.0, EC, (1.5, 2.0), None).likely == pytest.approx(1.9)
    assert judge_reading(2.3, EC, (1.5, 2.0), None).verdict == "high"


def test_a_reading_without_a_band_is_noted() -> None:
    assert judge_reading(6.0, PH, None, None).verdict == "unjudged"


def test_every_verdict_has_a_sign_of_its_own() -> None:
    signs = {judge_reading(v, PH, BAND, 6.0).sign for v in (5.9, 6.5, 5.3, 7.4, 99.0)}
    assert len(signs) == 5
