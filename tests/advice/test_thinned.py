"""A dose too small to measure is poured from the bottle thinned a hundred times: the same dose in more millilitres."""

from __future__ import annotations

import re

import msgspec
import pytest
from light_cases import read
from light_farm import ACID, BASE, CONCENTRATES, MORNING, TRIED, a_farm, buffer_dip, rain_water

from rounds.advice.correction import correct
from rounds.book.measures import THINNED, thinned_down
from rounds.book.offer import Step
from rounds.farm.model import Limits


def acid_step(mol_l: float, step_ph: float) -> tuple[Step, ...]:
    strong = msgspec.structs.replace(ACID, molarity_mol_l=mol_l)
    farm = a_farm(full_volume_l=301.0, waters=(rain_water(),), products=(*CONCENTRATES, strong, BASE),
                  limits=Limits(step_ph=step_ph))  # fmt: skip
    found = correct(farm, [buffer_dip(), *TRIED], "r", read(ph=6.5), MORNING)
    return tuple(step for step in found.steps if step.action == "acid")


@pytest.mark.parametrize(("ml", "thinned"), [(0.38, 38.0), (0.4999, 49.0), (0.049, 4.9), (0.005, 0.5), (0.0049, 0.0)])
def test_a_hundredth_of_what_is_poured_of_it_is_never_more_than_the_dose(ml: float, thinned: float) -> None:
    found = thinned_down(ml)
    assert (found.amount, found.unit) == (thinned, "mL")
    assert found.amount / THINNED <= ml


@pytest.mark.parametrize("step_ph", [0.02, 0.01, 0.004])
def test_the_millilitres_poured_of_the_thinned_bottle_hold_the_dose(step_ph: float) -> None:
    """10 mL of it in a litre is a hundredth: 38 mL of that are 0.38 mL of the bottle, which is what is booked."""
    (step,) = acid_step(13.0, step_ph)
    assert 0.0 < step.amount < 0.5 and "stir 10 mL of it into a litre" in step.text
    poured = float(re.search(r"pour (\d+(?:\.\d+)?) mL of that", step.text)[1])  # type: ignore[index]
    assert poured / 100.0 == pytest.approx(step.amount)
    assert f"{step.amount:g} mL of Working acid" in step.text
    (weak,) = acid_step(1.3, step_ph * 4.0)
    assert weak.amount >= 0.5 and "stir" not in weak.text.split("litre")[0][:20]


def test_the_thinned_bottle_brings_the_ph_as_far_as_the_bottle_itself() -> None:
    """The same step of a bottle a tenth as strong can be measured: it ends at the same pH."""
    (strong,), (weak,) = acid_step(13.0, 0.02), acid_step(1.3, 0.02)
    assert strong.amount < 0.5 <= weak.amount
    assert strong.amount * 10.0 == pytest.approx(weak.amount, rel=0.1)
    assert strong.after is not None and weak.after is not None
    assert strong.after.ph.value == pytest.approx(weak.after.ph.value, abs=0.005)


def test_what_not_even_thinned_can_be_measured_is_not_poured() -> None:
    assert acid_step(13.0, 1e-5) == ()
