"""Which bottle is poured from, how far it goes, and why it is not."""

from __future__ import annotations

import math

import msgspec
import pytest
from light_cases import case_of, poured, read, told, with_shelf
from light_farm import ACID, BASE, CONCENTRATES, MORNING, a_farm, buffer_dip, rain_water

from rounds.advice.correction import correct
from rounds.advice.products import chosen, usual_ml
from rounds.belief import state as b
from rounds.book.message import say
from rounds.farm.model import Limits

FULL = a_farm(full_volume_l=301.0, waters=(rain_water(),))
"""No room for water."""


def bottle(direction: str = "acid", fill: bool = False, **changes: dict[str, object]):
    return chosen(case_of(readings=read(ph=6.8), farm=with_shelf(**changes)), direction, fill=fill)  # type: ignore[arg-type]


@pytest.mark.parametrize(("left", "used_up"), [(1.0, False), (0.9, True), (0.0, True), (30.0, False)])
def test_less_than_a_millilitre_is_used_up(left: float, used_up: bool) -> None:
    for direction, product in (("acid", "acid"), ("base", "base")):
        found = bottle(direction, **{product: {"amount": left, "unit": "mL"}})
        assert [refusal.code for refusal in found.refusals] == (["out-of-stock"] if used_up else [])
        assert (found.bottle is None) is used_up
        if found.bottle is not None:
            assert (found.bottle.left_ml, found.bottle.most_ml, found.bottle.held_by) == (left, left, "")
            assert (found.bottle.hard_ml, found.bottle.hard_by) == (left, "")
        else:
            assert found.refusals[0].says == say("bottle-used-up", name=f"Working {product}")


@pytest.mark.parametrize(("strength", "working"), [
    ({"molarity_mol_l": 2.0}, True), ({"molarity_mol_l": 2.1}, False),
    ({"molarity_mol_l": None, "percent": 12.0, "density_kg_l": 1.06}, True),
    ({"molarity_mol_l": None, "percent": 12.1, "density_kg_l": 1.06}, False),
    ({"molarity_mol_l": 9.0, "working": True}, True),
])  # fmt: skip
def test_only_what_is_weak_or_said_to_be_working_is_dosed_from(strength: dict[str, object], working: bool) -> None:
    found = bottle(acid={"working": False, **strength})
    assert (found.bottle is not None) is working
    assert [refusal.code for refusal in found.refusals] == ([] if working else ["stock-acid"])
    lye = strength | {"density_kg_l": 1.11} if "percent" in strength else strength
    base = bottle("base", base={"working": False, **lye})
    assert [refusal.code for refusal in base.refusals] == ([] if working else ["stock-base"])


def test_three_times_the_usual_holds_a_bottle_but_not_hard() -> None:
    records = [poured("acid", 5.0, 24.0 * day) for day in (3, 2, 1)]
    found = chosen(case_of(records, read(ph=6.8), FULL), "acid").bottle
    assert found is not None
    assert usual_ml(case_of(records), ["acid"]) == 5.0
    assert (found.most_ml, found.held_by) == (15.0, "usual")
    assert (found.hard_ml, found.hard_by) == (pytest.approx(4985.0), "")


def test_the_working_bottle_is_taken_for_a_trim_and_the_strong_one_for_a_large_fill() -> None:
    strong = msgspec.structs.replace(ACID, id="strong", molarity_mol_l=8.0, working=False)
    for limit, taken in ((300.0, "strong"), (301.0, "acid")):
        farm = a_farm(
            waters=(rain_water(),), products=(*CONCENTRATES, strong, ACID, BASE), limits=Limits(stock_acid_from_l=limit)
        )
        case = case_of(readings=read(ph=6.8), farm=farm)
        trim, fill = chosen(case, "acid").bottle, chosen(case, "acid", fill=True).bottle
        assert trim is not None and trim.product.id == "acid"
        assert fill is not None and fill.product.id == taken


def test_an_empty_shelf_is_named() -> None:
    for direction in ("acid", "base"):
        found = chosen(case_of(farm=a_farm(products=CONCENTRATES)), direction)  # type: ignore[arg-type]
        assert [refusal.code for refusal in found.refusals] == ["nothing-on-shelf"]
        assert f"no {direction} on the shelf" in told(found.refusals[0])


def test_a_bottle_beside_the_one_of_unknown_strength_is_poured_and_the_other_named() -> None:
    bare = msgspec.structs.replace(ACID, id="bare", molarity_mol_l=None)
    farm = a_farm(waters=(rain_water(),), full_volume_l=301.0, products=(*CONCENTRATES, bare, ACID, BASE))
    found = correct(farm, [buffer_dip()], "r", read(ph=6.8), MORNING)
    assert [step.product for step in found.steps if step.action == "acid"] == ["acid"]
    assert "strength-unknown" in {finding.code for finding in found.findings}


@pytest.mark.parametrize("value", [6.8, None])
def test_phosphoric_acid_has_room_up_to_the_recipe(value: float | None) -> None:
    """The recipe's full strength, 1.5 mmol/L, less what is believed there; none where nothing was read."""
    shelf = (*CONCENTRATES, msgspec.structs.replace(ACID, agent="phosphoric"), BASE)
    case = case_of(readings=read(ph=value), farm=a_farm(waters=(rain_water(),), products=shelf))
    believed = 1.5 if case.state is None else math.exp(case.state.mean[b.PHOSPHATE])
    if value is not None:
        assert 0.0 < believed == pytest.approx(case.solution.po4 * math.exp(-0.62), rel=0.02)
    found = chosen(case, "acid").bottle
    assert found is not None
    room_ml = (1.5 - believed) * 320.0 / 1.3
    assert found.most_ml == found.hard_ml == pytest.approx(room_ml, abs=0.5)
    assert (found.held_by, found.hard_by, found.left_ml) == ("recipe", "recipe", 5000.0)
