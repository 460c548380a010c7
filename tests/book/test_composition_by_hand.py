"""From the farm's files to what is dissolved, against amounts that are worked out by hand from molar masses."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import msgspec
import pytest

from rounds.book.composition import (
    KnownFeed,
    agent_of,
    alkalinity_of,
    blended,
    feed_known,
    is_unknown,
    mixed_feed,
    strength_for_ec,
    unknown_feed,
    water_known,
)
from rounds.errors import BadInput, NotFound, Refused
from rounds.farm.farm import Farm, FaultyFiles
from rounds.farm.load import load_farm
from rounds.farm.model import Water
from rounds.science.conductivity import ec25_ms_cm

TODAY = date(2026, 11, 25)
BALANCED = {
    "ca_mg_l": 40.078, "mg_mg_l": 24.305, "na_mg_l": 22.990, "k_mg_l": 39.098, "cl_mg_l": 35.45, "so4_mg_l": 96.06,
    "no3_mg_l": 2 * 62.005,
}  # fmt: skip
"""One mmol/L of each, two of nitrate: 2 + 2 + 1 + 1 of charge against 1 + 2 + 2 and 1 meq/L of alkalinity."""


def water(**parts: Any) -> Water:
    return Water(**{"id": "w", "name": "Water", "ph": 7.5, "ec_ms_cm": 0.5, "alkalinity_meq_l": 1.0} | parts)


@pytest.fixture
def farm(farm_folder: Path) -> Farm:
    return load_farm(farm_folder)


def known(farm: Farm, *waters: Water, name: str = "w") -> Any:
    return water_known(replace(farm, waters={each.id: each for each in waters}), name, TODAY)


@pytest.mark.parametrize(
    ("form", "meq_l"),
    [({"alkalinity_meq_l": 3.2}, 3.2), ({"alkalinity_mg_l_caco3": 250.2}, 5.0), ({"hco3_mg_l": 305.1}, 5.0)],
)
def test_alkalinity_is_the_same_in_its_three_forms(form: dict[str, float], meq_l: float) -> None:
    """100.09 g of lime and 61.02 g of hydrogen carbonate: 50.04 and 61.02 mg for a milliequivalent."""
    made = water(**{"alkalinity_meq_l": None} | form)
    assert alkalinity_of(made) == pytest.approx(meq_l, rel=1e-3)
    assert alkalinity_of(water(alkalinity_meq_l=0.0)) == 0.0


def test_an_analysis_in_milligrams_is_one_in_millimoles(farm: Farm) -> None:
    found = known(farm, water(**BALANCED))
    for ion, mmol in {"ca": 1, "mg": 1, "na": 1, "k": 1, "cl": 1, "so4": 1, "no3": 2}.items():
        assert getattr(found.solution, ion) == pytest.approx(mmol, rel=0.01), ion
    assert abs(found.imbalance_percent) < 1.0
    assert (found.alkalinity_meq_l, found.ec_ms_cm, found.name) == (1.0, 0.5, "Water")


def test_nitrate_nitrogen_is_told_from_nitrate(farm: Farm) -> None:
    nitrogen = {**BALANCED, "no3_mg_l": None, "no3_n_mg_l": 2 * 14.007}
    assert known(farm, water(**nitrogen)).solution.no3 == pytest.approx(2.0, rel=0.01)
    assert known(farm, water()).solution.no3 == 0.0


@pytest.mark.parametrize(
    ("parts", "doubt"),
    [
        ({"analysed_on": TODAY - timedelta(days=400)}, 0.15), ({"analysed_on": TODAY - timedelta(days=401)}, 0.3),
        ({}, 0.3), ({"na_mg_l": BALANCED["na_mg_l"] * 4}, 0.45),
        ({"na_mg_l": BALANCED["na_mg_l"] * 4, "analysed_on": TODAY}, 0.225),
    ],
)  # fmt: skip
def test_an_old_analysis_and_one_that_does_not_balance_are_doubted_more(
    farm: Farm, parts: dict[str, Any], doubt: float
) -> None:
    assert known(farm, water(**BALANCED | parts)).doubt == pytest.approx(doubt)


@pytest.mark.parametrize("ion", ["ca_mg_l", "mg_mg_l", "na_mg_l"])
def test_an_analysis_without_metals_is_not_held_against_its_charges(farm: Farm, ion: str) -> None:
    bare = known(farm, water(alkalinity_meq_l=4.0, cl_mg_l=70.0))
    assert (bare.imbalance_percent, bare.doubt) == (0.0, 0.3)
    assert abs(known(farm, water(alkalinity_meq_l=4.0, cl_mg_l=70.0, **{ion: 0.5})).imbalance_percent) > 5.0


@pytest.mark.parametrize(("ph", "as_ph"), [(3.0, 4.0), (11.0, 9.5)])
def test_a_ph_that_no_water_keeps_is_taken_as_the_nearest_that_one_does(farm: Farm, ph: float, as_ph: float) -> None:
    assert known(farm, water(**BALANCED, ph=ph)).solution == known(farm, water(**BALANCED, ph=as_ph)).solution
    within = [known(farm, water(**BALANCED, ph=each)).solution for each in (4.0, 4.5, 5.0, 8.0, 9.0, 9.5)]
    assert len({each.carbonate for each in within}) == len(within)


@pytest.mark.parametrize(("meq_l", "hard"), [(1.99, False), (2.0, True), (4.0, True)])
def test_from_two_milliequivalents_on_a_water_is_hard(farm: Farm, meq_l: float, hard: bool) -> None:
    assert known(farm, water(alkalinity_meq_l=meq_l)).is_hard is hard


def test_a_blend_is_the_mean_of_its_parts_by_their_shares(farm: Farm) -> None:
    well = known(
        farm, water(id="well", alkalinity_meq_l=4.0, ec_ms_cm=0.6, ca_mg_l=80.156, analysed_on=TODAY), name="well"
    )
    rain = known(farm, water(id="rain", alkalinity_meq_l=1.0, ec_ms_cm=0.2, ca_mg_l=20.0), name="rain")
    found = blended([(well, 1.0), (rain, 3.0)], id="b", name="Blend")
    assert (found.id, found.name) == ("b", "Blend")
    assert found.alkalinity_meq_l == pytest.approx((4.0 + 3 * 1.0) / 4)
    assert found.ec_ms_cm == pytest.approx((0.6 + 3 * 0.2) / 4)
    assert found.doubt == pytest.approx((4.0 * well.doubt + 3 * 1.0 * rain.doubt) / 7.0)
    assert found.solution.ca == pytest.approx((well.solution.ca + 3 * rain.solution.ca) / 4)
    assert found.shares == {"well": 0.25, "rain": 0.75}
    assert found.imbalance_percent == max(well.imbalance_percent, rain.imbalance_percent, key=abs)


def test_waters_without_alkalinity_are_doubted_as_an_old_analysis_is(farm: Farm) -> None:
    rain = known(farm, water(id="rain", alkalinity_meq_l=0.0), name="rain")
    assert blended([(rain, 1.0), (rain, 1.0)], id="b", name="B").doubt == 0.3


def chain(count: int) -> list[Water]:
    """A water, and blends of blends of it, so many within each other."""
    last = water(id="w0", ca_mg_l=20.0, na_mg_l=1.0)
    return [last, *(water(id=f"w{n}", blend={f"w{n - 1}": 1.0}) for n in range(1, count + 1))]


def test_a_blend_of_blends_is_found_down_to_the_fifth_and_one_of_itself_is_refused(farm: Farm) -> None:
    assert known(farm, *chain(5), name="w5").alkalinity_meq_l == 1.0
    for waters, name in ((chain(6), "w6"), ([water(blend={"w": 1.0})], "w")):
        with pytest.raises(BadInput, match="mixed of itself"):
            known(farm, *waters, name=name)
    with pytest.raises(NotFound, match="no water “moon”"):
        known(farm, water(), name="moon")


def test_a_feed_is_what_both_parts_bring_to_a_litre(farm: Farm) -> None:
    """5 mL of each to a litre: 94 g/L of calcium nitrate (236.15 g/mol), 27 g/L of potassium phosphate (136.09)."""
    feed = feed_known(farm, farm.feeds["leaf"])
    assert feed.brings[0].ca == pytest.approx(94 / 236.15 * 5, rel=1e-3)
    assert feed.brings[0].po4 == 0.0
    assert feed.brings[1].po4 == pytest.approx(27 / 136.09 * 5, rel=1e-3)
    # 40 g/L of potassium nitrate (101.10 g/mol) in A and in B, and the potassium of the phosphate.
    assert feed.full.k == pytest.approx((40 / 101.10 * 2 + 27 / 136.09) * 5, rel=1e-3)
    assert mixed_feed(feed.brings[0], feed, 0.5).k == pytest.approx(feed.brings[0].k + feed.full.k / 2)
    assert feed.unknown == ()
    uneven = feed_known(farm, msgspec.structs.replace(farm.feeds["leaf"], a_ml_per_l=2.0, b_ml_per_l=4.0))
    assert (uneven.brings[0].ca, uneven.brings[1].po4) == (
        pytest.approx(feed.brings[0].ca * 0.4),
        pytest.approx(feed.brings[1].po4 * 0.8),
    )


def with_product(farm: Farm, id: str, **changed: Any) -> Farm:
    return replace(farm, shelf={**farm.shelf, id: msgspec.structs.replace(farm.shelf[id], **changed)})


@pytest.mark.parametrize(
    ("salts", "unknown"), [({}, True), ({"boric_acid": 1.0}, True), ({"potassium_nitrate": 1.0}, False)]
)
def test_a_concentrate_is_unknown_without_salts_or_with_traces_alone(
    farm: Farm, salts: dict[str, float], unknown: bool
) -> None:
    product: Any = with_product(farm, "leaf-a", salts_g_l=salts).shelf["leaf-a"]
    assert is_unknown(product) is unknown


def test_unknown_parts_of_a_feed_are_named(farm: Farm) -> None:
    feed = feed_known(with_product(farm, "leaf-b", salts_g_l={}), farm.feeds["leaf"])
    assert [part.id for part in feed.unknown] == ["leaf-b"]
    assert "What is in Leaf B is not known" in unknown_feed(feed.unknown).sentence
    assert isinstance(unknown_feed(feed.unknown), Refused)


@pytest.mark.parametrize("gone", ["leaf-a", "leaf-b"])
def test_a_feed_whose_concentrates_are_not_there_is_refused(farm: Farm, gone: str) -> None:
    without = replace(farm, shelf={id: each for id, each in farm.shelf.items() if id != gone})
    with pytest.raises(FaultyFiles, match="concentrates of the nutrient feed Leaf feed are not on the shelf"):
        feed_known(without, farm.feeds["leaf"])


def test_a_strength_is_read_from_what_the_label_gives(farm: Farm) -> None:
    """8 % of 1.043 kg/L: 83.4 g of nitric acid (63.01 g/mol) in a litre."""
    acid: Any = farm.shelf["nitric-8"]
    assert agent_of(acid).mol_per_l == pytest.approx(83.44 / 63.01, rel=1e-3)
    molar = msgspec.structs.replace(acid, percent=None, density_kg_l=None, molarity_mol_l=1.5)
    assert agent_of(molar).mol_per_l == 1.5
    with pytest.raises(BadInput, match="strength of Working nitric acid is not known"):
        agent_of(msgspec.structs.replace(acid, percent=None))
    # Without a density the handbook's counts: Perry's has 1.043 kg/L at 8 % and 20 degC, the same as the label.
    assert agent_of(msgspec.structs.replace(acid, density_kg_l=None)).mol_per_l == pytest.approx(
        83.44 / 63.01, rel=3e-3
    )
    with pytest.raises(BadInput, match="Working nitric acid: "):
        agent_of(msgspec.structs.replace(acid, percent=90.0, density_kg_l=None))


@pytest.fixture
def leaf(farm: Farm) -> KnownFeed:
    return feed_known(farm, farm.feeds["leaf"])


@pytest.mark.parametrize("strength", [0.05, 0.4, 1.0, 2.0])
@pytest.mark.parametrize("ph", [5.0, 6.0])
def test_the_strength_of_a_feed_is_found_from_its_conductivity(
    farm: Farm, leaf: KnownFeed, strength: float, ph: float
) -> None:
    well = water_known(farm, "well", TODAY).solution
    ec = ec25_ms_cm(mixed_feed(well, leaf, strength), ph)
    assert strength_for_ec(well, leaf, ec, ph) == pytest.approx(strength, rel=0.01)
    assert strength_for_ec(well, leaf, ec) == strength_for_ec(well, leaf, ec, 6.0), "where no pH is given"


def test_a_water_that_has_more_wants_no_feed_and_no_feed_is_wanted_beyond_all_measure(
    farm: Farm, leaf: KnownFeed
) -> None:
    well = water_known(farm, "well", TODAY).solution
    own = ec25_ms_cm(well, 6.0)
    assert strength_for_ec(well, leaf, own) == strength_for_ec(well, leaf, own - 0.1) == 0.0
    assert strength_for_ec(well, leaf, 60.0) == 10.0
    nothing = replace(leaf, brings=tuple(each.scaled(0.0) for each in leaf.brings))
    assert strength_for_ec(well, nothing, own + 1.0) == 10.0
