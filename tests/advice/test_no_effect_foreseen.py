"""What is foreseen to do nothing is not poured, nor is anything of which nothing is known."""

from dataclasses import replace

import msgspec
import pytest
from light_farm import ACID, BASE, CONCENTRATES, MORNING, a_farm, buffer_dip, hard_water

from rounds.advice.correction import Readings, correct
from rounds.advice.dosing_ph import LEAST_EFFECT

POURED = ("concentrate_a", "concentrate_b")


def with_salts(a: dict[str, float], b: dict[str, float]):
    first, second = (
        msgspec.structs.replace(part, salts_g_l=salts) for part, salts in zip(CONCENTRATES, (a, b), strict=True)
    )
    return a_farm(waters=(hard_water(),), products=(first, second, ACID, BASE))


def corrected(farm, ec: float = 0.8, ph: float = 5.8, litres: float = 300.0):
    readings = Readings(at=MORNING, ph=ph, ec_ms_cm=ec, temperature_c=20.0, volume_l=litres)
    return correct(farm, [buffer_dip()], "r", readings, MORNING)


KNOWN_A, KNOWN_B = (part.salts_g_l for part in CONCENTRATES)


@pytest.mark.parametrize(
    ("a", "b", "unknown"),
    [({}, {}, "Concentrate A and Concentrate B"), (KNOWN_A, {}, "Concentrate B"), ({}, KNOWN_B, "Concentrate A")],
)
def test_a_feed_without_salts_is_not_poured_and_the_grower_is_told_what_to_enter(a, b, unknown):
    found = corrected(with_salts(a, b))
    assert not any(step.action in POURED for step in found.steps)
    (said,) = [r for r in found.refusals if r.code == "feed-unknown"]
    assert unknown in said.text
    assert "shelf.toml" in said.instead


@pytest.mark.parametrize("times", [0.001, 0.01])
def test_a_feed_whose_salts_would_hardly_move_the_conductivity_is_not_poured(times):
    a, b = ({salt: grams * times for salt, grams in salts.items()} for salts in (KNOWN_A, KNOWN_B))
    found = corrected(with_salts(a, b))
    assert not any(step.action in POURED for step in found.steps)
    assert "no-effect-foreseen" in {r.code for r in found.refusals}


@pytest.mark.parametrize("litres", [280.0, 300.0])
@pytest.mark.parametrize("ec", [0.4, 0.8, 1.2])
def test_every_pair_that_is_poured_is_foreseen_to_raise_what_it_is_poured_for(ec, litres):
    farm = a_farm(waters=(hard_water(),))
    found = corrected(farm, ec=ec, litres=litres)
    before = next(step for step in found.steps if step.action == "concentrate_a")
    after = next(step for step in found.steps if step.action == "concentrate_b")
    start = found.steps[found.steps.index(before) - 1].after.ec_ms_cm.value if found.steps.index(before) else ec
    low, high = farm.stage_of(farm.reservoir("r")).ec
    assert after.after.ec_ms_cm.value - start >= LEAST_EFFECT * min(low + 0.6 * (high - low) - start, 0.3)


def test_a_change_out_with_a_feed_of_which_nothing_is_known_says_so_and_pours_no_concentrate():
    found = corrected(with_salts({}, {}), ec=6.5)
    assert found.steps[0].action == "change_out"
    assert not any(step.action in POURED for step in found.steps)
    assert "feed-unknown" in {r.code for r in found.refusals}


def test_a_dose_of_an_unknown_concentrate_on_record_is_named_and_not_reckoned_with():
    from datetime import timedelta

    from light_farm import Note

    poured = Note(kind="dose", item="a", value=500.0, unit="mL", measured_at=MORNING - timedelta(days=1), id="x",
                  data={"action": "concentrate_a"})  # fmt: skip
    readings = Readings(at=MORNING, ph=5.8, ec_ms_cm=1.8, temperature_c=20.0, volume_l=300.0)
    found = correct(with_salts({}, KNOWN_B), [poured, buffer_dip()], "r", readings, MORNING)
    assert "unknown-poured" in {f.code for f in found.findings}


def test_acid_that_would_do_next_to_nothing_is_refused():
    from rounds.advice import dosing_ph
    from rounds.advice.case import gathered
    from rounds.advice.projection import as_read
    from rounds.book.composition import agent_of
    from rounds.book.measures import Measured

    farm = a_farm(waters=(hard_water(),))
    readings = Readings(at=MORNING, ph=6.6, ec_ms_cm=1.8, temperature_c=20.0, volume_l=300.0)
    projected = as_read(gathered(farm, [buffer_dip()], "r", readings, MORNING))
    assert not dosing_ph.hardly_moves(projected, agent_of(ACID), Measured(20.0, "mL"))
    stuck = replace(projected, state=projected.state.replaced(0, 3.2, 0.001), ph_range=(3.2, 3.2, 3.2))
    assert dosing_ph.hardly_moves(stuck, agent_of(ACID), Measured(4000.0, "mL"))
