"""Working bottles: amounts by mass, acid into water, and nothing from a bottle without strength."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from rounds.errors import BadInput, NotFound, OutOfRange, Refused
from rounds.farm.farm import Farm
from rounds.farm.shelf import Acid, Base, Product, SaltProduct
from rounds.mixing.working import working_sheet

TODAY = date(2026, 11, 25)


def with_product(farm: Farm, product: Product) -> Farm:
    return replace(farm, shelf={**farm.shelf, product.id: product})


def bottle(**fields: object) -> Acid:
    known = {
        "id": "stock",
        "name": "Nitric, as bought",
        "agent": "nitric",
        "amount": 5.0,
        "unit": "L",
        "counted_on": TODAY,
    }
    return Acid(**(known | fields))  # type: ignore[arg-type]


def test_a_litre_of_ten_per_cent_from_68_per_cent_nitric_takes_110_ml(farm: Farm) -> None:
    # By hand from Perry's densities (second-hand): 68 % has 1.4048 kg/L, 10 % has 1.0543 (from memory):
    # 1054.3 g x 0.10 / 0.68 / 1.4048 kg/L = 110.4 mL.
    sheet = working_sheet(with_product(farm, bottle(percent=68.0, density_kg_l=1.4048)), "stock", 10.0, 1.0, TODAY)
    assert sheet.figures["stock_ml"] == pytest.approx(1054.3 * 0.10 / 0.68 / 1.4048, abs=0.3)
    assert sheet.figures["whole_g"] == pytest.approx(1054.3, abs=1.0)


def test_no_caution_of_a_working_acid_speaks_of_another_vessel_than_its_steps(farm: Farm) -> None:
    stock = bottle(percent=38.0, density_kg_l=1.234, working=False)
    sheet = working_sheet(with_product(farm, stock), "stock", 8.0, 1.0, TODAY)
    said = " ".join(sheet.cautions)
    assert "apron" in sheet.cautions[0]
    assert "into the bottle with all of its water in it" in sheet.cautions[0]
    assert not [word for word in ("bucket of", "reservoir", "return") if word in said]
    assert "into the bottle" in sheet.steps[1].text


@pytest.mark.parametrize("percent", [5.0, 8.0, 10.0])
def test_what_goes_in_by_mass_comes_out_and_no_acid_is_lost(farm: Farm, percent: float) -> None:
    sheet = working_sheet(with_product(farm, bottle(percent=38.0, density_kg_l=1.234)), "stock", percent, 2.0, TODAY)
    assert sheet.figures["stock_g"] * 0.38 == pytest.approx(sheet.figures["whole_g"] * percent / 100.0, rel=1e-9)
    water_g = sheet.figures["water_ml"] * 0.9982
    assert water_g + sheet.figures["stock_g"] == pytest.approx(sheet.figures["whole_g"], rel=1e-3)


def test_the_water_is_poured_first_and_the_cautions_stand_before_the_steps(farm: Farm) -> None:
    sheet = working_sheet(with_product(farm, bottle(percent=38.0, density_kg_l=1.234)), "stock", 8.0, 1.0, TODAY)
    order = [step.what for step in sheet.steps if step.amount]
    assert order == ["water", "stock"]
    text = "\n".join(sheet.as_lines())
    assert "Acid into water, never water into acid." in text
    assert "bleach" in text
    assert text.index("Acid into water") < text.index("1. ")
    assert "WORKING ACID" in text.split("On the label:")[1]


@pytest.mark.parametrize("fields", [{}, {"density_kg_l": 1.234}])
def test_without_a_strength_there_is_no_sheet_but_what_to_enter(farm: Farm, fields: dict[str, float]) -> None:
    with pytest.raises(Refused, match="strength"):
        working_sheet(with_product(farm, bottle(**fields)), "stock", 8.0, 1.0, TODAY)


def test_a_label_whose_density_belongs_to_another_strength_is_refused(farm: Farm) -> None:
    with pytest.raises(BadInput, match="does not weigh"):
        working_sheet(with_product(farm, bottle(percent=38.0, density_kg_l=1.42)), "stock", 8.0, 1.0, TODAY)


def test_a_stock_known_by_its_molarity_gives_the_same_as_by_its_label(farm: Farm) -> None:
    # 38 % at 1.233 kg/L (Perry, by table) is 0.38 x 1233 / 63.01 = 7.436 mol/L.
    by_label = working_sheet(with_product(farm, bottle(percent=38.0, density_kg_l=1.233)), "stock", 8.0, 1.0, TODAY)
    by_mol = working_sheet(with_product(farm, bottle(molarity_mol_l=7.436)), "stock", 8.0, 1.0, TODAY)
    assert by_mol.figures["stock_ml"] == pytest.approx(by_label.figures["stock_ml"], rel=0.005)


def test_pellets_of_lye_are_counted_with_their_purity(farm: Farm) -> None:
    pellets = Base(
        id="pellets", name="Potash pellets", agent="potassium_hydroxide", percent=85.0, amount=1.0, unit="kg",
        counted_on=TODAY,
    )  # fmt: skip
    sheet = working_sheet(with_product(farm, pellets), "pellets", 5.0, 1.0, TODAY)
    # 5 % lye has 1.0440 kg/L (Perry, from memory): 1044 g x 0.05 / 0.85.
    assert sheet.figures["stock_g"] == pytest.approx(1044 * 0.05 / 0.85, rel=0.002)
    assert any("aluminium" in caution for caution in sheet.cautions)


@pytest.mark.parametrize(
    ("agent", "said", "not_said"),
    [
        ("potassium_hydroxide", ("worse for eyes than acid", "aluminium", "ammonia", "Corrosive"), ("foams",)),
        ("potassium_carbonate", ("Irritates eyes", "goggles and gloves", "foams"), ("boil", "Corrosive", "Pellets")),
        ("potassium_hydrogen_carbonate", ("eyes", "foams"), ("boil", "Corrosive", "Pellets", "worse", "ammonia")),
    ],
)
def test_each_base_has_its_own_cautions(
    farm: Farm, agent: str, said: tuple[str, ...], not_said: tuple[str, ...]
) -> None:
    """A false alarm dulls a true one. Hydrogen carbonate is baking powder's kin, lye blinds: common knowledge."""
    bag = Base(id="bag", name="Bag", agent=agent, percent=99.0, amount=5.0, unit="kg", counted_on=TODAY)  # type: ignore
    text = "\n".join(working_sheet(with_product(farm, bag), "bag", 8.0, 1.0, TODAY).as_lines())
    assert all(word in text for word in said)
    assert not any(word in text for word in not_said)


def test_what_is_neither_acid_nor_base_is_refused(farm: Farm) -> None:
    with pytest.raises(Refused, match="neither"):
        working_sheet(farm, "leaf-a", 8.0, 1.0, TODAY)
    bag = SaltProduct(id="bag", name="Bag", salt="potassium_nitrate", amount=1.0, unit="kg", counted_on=TODAY)
    with pytest.raises(Refused, match="neither"):
        working_sheet(with_product(farm, bag), "bag", 8.0, 1.0, TODAY)


def test_an_unknown_product_is_named_with_the_likely_ones(farm: Farm) -> None:
    with pytest.raises(NotFound, match="nitric-8"):
        working_sheet(farm, "nitric", 8.0, 1.0, TODAY)


@pytest.mark.parametrize(("percent", "litres"), [(0.0, 1.0), (-5.0, 1.0), (25.0, 1.0), (8.0, 0.0), (8.0, 60.0),
                                                 (float("nan"), 1.0), (8.0, float("nan"))])  # fmt: skip
def test_strengths_and_volumes_that_cannot_be_are_refused(farm: Farm, percent: float, litres: float) -> None:
    with pytest.raises(OutOfRange):
        working_sheet(with_product(farm, bottle(percent=38.0, density_kg_l=1.234)), "stock", percent, litres, TODAY)


def test_a_working_bottle_does_not_make_a_stronger_one(farm: Farm) -> None:
    with pytest.raises(OutOfRange, match="stronger"):
        working_sheet(farm, "nitric-8", 10.0, 1.0, TODAY)


def test_the_command_prints_it_and_refuses_with_one(farm_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from rounds.cli import main

    assert main(["mix", str(farm_folder), "working", "nitric-8", "--percent", "5", "--litres", "1", "--json"]) == 0
    import json

    answer = json.loads(capsys.readouterr().out)
    assert answer["format"] == 1
    assert answer["sheets"][0]["figures"]["stock_ml"] > 500
    assert main(["mix", str(farm_folder), "working", "leaf-a"]) == 1
    assert "neither" in capsys.readouterr().err
    assert main(["mix", str(farm_folder)]) == 2
