"""What a reading means and what is likely wrong: the likeliest first, and nothing where all is as it was."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
import simulated_reservoir
from light_farm import MORNING, TRIED, Note, a_farm, buffer_dip
from simulated_reservoir import Grower, random_grower

from rounds.advice.correction import correct
from rounds.book.offer import Correction, Readings


def surprises_of(monkeypatch: pytest.MonkeyPatch, spoil: Callable[[Grower], None]) -> list[str]:
    """The causes named, in their order, on some reservoirs whose doses did not do what they should."""
    told: list[str] = []

    def noted(*given: object) -> Correction:
        found = correct(*given)  # type: ignore[arg-type]
        told.extend(each.text for each in found.refusals if each.code == "surprise")
        told.extend(each.text for each in found.findings if each.code == "surprise")
        return found

    monkeypatch.setattr(simulated_reservoir, "correct", noted)
    for seed in range(9000, 9030):
        grower = random_grower(seed, fresh_share=0.0)
        spoil(grower)
        grower.bring_into_band(most=2)
    causes = [text.partition("in this order: ")[2].removeprefix("not yet mixed; ") for text in told]
    return [each for each in causes if each]


def test_where_water_stood_in_the_bottle_a_weak_bottle_is_among_the_first_two_named(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    found = surprises_of(monkeypatch, lambda grower: setattr(grower, "pour_times", 0.0))
    assert len(found) >= 3
    for each in found:
        assert any(cause.startswith("water or a weak bottle instead of ") for cause in each.split("; ")[:2]), each


def test_where_acid_and_base_were_swapped_that_is_named_first(monkeypatch: pytest.MonkeyPatch) -> None:
    found = surprises_of(monkeypatch, lambda grower: setattr(grower, "swapped", True))
    assert len(found) >= 3
    assert sum(each.startswith("bottles swapped: ") for each in found) >= 0.8 * len(found), found


def codes(records: list[Note], *, ec: float = 1.8, dip_cm: float = 50.0, ph: float = 5.8) -> set[str]:
    readings = Readings(at=MORNING, ph=ph, ec_ms_cm=ec, temperature_c=20.0, dip_cm=dip_cm, ph_meter="pen",
                        ec_meter="stick")  # fmt: skip
    return {
        found.code for found in correct(a_farm(), [*records, buffer_dip(), *TRIED], "r", readings, MORNING).findings
    }


def yesterday(**values: float) -> list[Note]:
    at = MORNING - timedelta(days=1)
    return [Note(kind="reading", item=item, value=value, measured_at=at) for item, value in values.items()]


@pytest.mark.parametrize(
    ("ec", "dip_cm", "meant"),
    [(2.0, 47.0, "thirsty"), (1.65, 47.0, "hungry"), (1.65, 50.0, "raw-water"), (1.8, 50.0, ""), (1.8, 47.0, "")],
)
@pytest.mark.parametrize("last", ["dip", "ph"])
def test_what_ec_and_level_did_since_yesterday_is_told(ec: float, dip_cm: float, meant: str, last: str) -> None:
    """3 cm are 18 L of 300; 0.15 and 0.2 mS/cm are more than 6 % of 1.8."""
    values = {"ec": 1.8, "ph": 5.8, "dip": 50.0} if last == "dip" else {"dip": 50.0, "ec": 1.8, "ph": 5.8}
    assert codes(yesterday(**values), ec=ec, dip_cm=dip_cm) & {"thirsty", "hungry", "raw-water"} == (
        {meant} if meant else set()
    )


@pytest.mark.parametrize(("ec", "told"), [(0.8, True), (1.2, False), (1.9, False), (2.6, False), (3.2, True)])
def test_an_ec_far_from_what_was_poured_since_the_change_out_says_that_something_was_not_entered(
    ec: float, told: bool
) -> None:
    poured = [("change_out", "rain", 320.0, "L"), ("concentrate_a", "a", 3.2, "L"), ("concentrate_b", "b", 3.2, "L")]
    records = [
        Note(kind="dose", item=item, value=value, unit=unit, data={"action": action},
             measured_at=MORNING - timedelta(days=2) + timedelta(hours=hours))
        for hours, (action, item, value, unit) in enumerate(poured)
    ]  # fmt: skip
    assert ("book-off" in codes(records, ec=ec)) is told


@pytest.mark.parametrize(("ph", "asked"), [(6.12, True), (7.2, False), (7.5, False)])
def test_only_where_it_is_not_sure_that_the_ph_is_off_a_second_dip_is_asked_for(ph: float, asked: bool) -> None:
    assert ("dip-twice" in codes([], ph=ph)) is asked
