"""Waters by drops and strips, nutrients by their label, in a farm's files: mistakes, and what is worth saying."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from rounds.book.waters import water_known
from rounds.cli import main
from rounds.farm.farm import Farm
from rounds.farm.formats import migrate
from rounds.farm.load import load_farm
from rounds.farm.remarks import remarks_on
from rounds.farm.shelf import Concentrate

TODAY = date(2026, 11, 20)


def with_water(folder: Path, *lines: str) -> Farm:
    """The test farm with another well."""
    migrate(folder)
    path = folder / "farm.toml"
    text = path.read_text(encoding="utf-8")
    start, end = text.index("[[waters]]"), text.index("[[stations]]")
    water = ["[[waters]]", 'id = "well"', 'name = "Well water"', *lines, "", ""]
    path.write_text(text[:start] + "\n".join(water) + text[end:], encoding="utf-8")
    return load_farm(folder)


def test_a_water_by_drops_and_a_pen_is_sound_and_known(farm_folder: Path) -> None:
    farm = with_water(
        farm_folder, "ph = 7.4", "ec_ms_cm = 0.55", 'hardness = { value = 14, unit = "dH" }',
        'alkalinity = { value = 12, unit = "dH" }',
    )  # fmt: skip
    assert farm.mistakes == ()
    known = water_known(farm, "well", TODAY)
    # One drop is one German degree, 0.357 meq/L.
    assert known.alkalinity_meq_l == pytest.approx(12 * 0.357, rel=0.01)
    assert known.doubt < 0.1


def test_a_strip_is_in_doubt_by_a_pad_and_the_lower_one_counts_for_acid(farm_folder: Path) -> None:
    farm = with_water(farm_folder, 'alkalinity = { value = 10, unit = "dH", by = "strip", pad = 4 }')
    assert farm.mistakes == ()
    known = water_known(farm, "well", TODAY)
    weakest = known.alkalinity_meq_l * 2.718281828 ** (-1.645 * known.doubt)
    assert weakest == pytest.approx(6 * 0.357, rel=0.02)
    assert any("lower pad counts" in said and "2.1 meq/L" in said for said in remarks_on(farm))


def test_a_softener_is_asked_after_and_its_sodium_is_told_and_nothing_is_refused(farm_folder: Path) -> None:
    soft = ('hardness = { value = 1, unit = "dH" }', 'alkalinity = { value = 12, unit = "dH" }')
    farm = with_water(farm_folder, *soft)
    assert farm.mistakes == ()
    assert any("softener in this line?" in said for said in remarks_on(farm))
    farm = with_water(farm_folder, *soft, "softener = true")
    assert not any("softener in this line?" in said for said in remarks_on(farm))
    assert any("mg/L of sodium" in said for said in remarks_on(farm))


@pytest.mark.parametrize(
    ("lines", "key"),
    [
        (("ph = 7.4", "ec_ms_cm = 0.55", "alkalinity_meq_l = 4.0", "ca_mg_l = 850"), "waters.well.ca_mg_l"),
        (("ec_ms_cm = 0.1", 'alkalinity = { value = 300, unit = "mg_l_caco3" }'), "waters.well.ec_ms_cm"),
        (('alkalinity = { value = 300, unit = "dH" }',), "waters[0].alkalinity.value"),
        (("alkalinity_meq_l = 4.0", 'alkalinity = { value = 12, unit = "dH" }'), "waters[0].alkalinity"),
    ],
)
def test_what_does_not_add_up_is_a_mistake_of_its_water(farm_folder: Path, lines: tuple[str, ...], key: str) -> None:
    assert key in [mistake.key for mistake in with_water(farm_folder, *lines).mistakes]


def test_an_acid_by_name_and_percent_is_enough_and_what_may_not_be_bought_is_said(farm_folder: Path) -> None:
    shelf = farm_folder / "shelf.toml"
    shelf.write_text(shelf.read_text(encoding="utf-8").replace("density_kg_l = 1.043\n", ""), encoding="utf-8")
    farm = load_farm(farm_folder)
    assert farm.mistakes == ()
    told = [said for said in remarks_on(farm) if "Working nitric acid" in said]
    assert len(told) == 1 and "2019/1148" in told[0] and "Check locally" in told[0]


@pytest.mark.parametrize(
    ("label", "said"),
    [
        ("npk = [40, 40, 40]", "40-40-40"), ("npk = [101, 0, 0]", "0 to 100"), ("npk = [4, 0]", "list of 3"),
        ("npk = [4, 0, 1], density_kg_l = 0.2", "weigh 100 mL"),
        ("percent = { n = 4, no3_n = 5 }", "more than the 4 % of N"), ("by = \"weight\"", "neither"),
    ],
)  # fmt: skip
def test_a_label_that_cannot_be_is_named_in_a_sentence(farm_folder: Path, label: str, said: str) -> None:
    migrate(farm_folder)
    shelf = farm_folder / "shelf.toml"
    text = shelf.read_text(encoding="utf-8")
    start = text.index("salts_g_l")
    end = text.index("\n\n", start)
    shelf.write_text(f"{text[:start]}label = {{ {label} }}{text[end:]}", encoding="utf-8")
    before = shelf.read_text(encoding="utf-8")
    assert any(said in str(mistake) for mistake in load_farm(farm_folder).mistakes)
    assert shelf.read_text(encoding="utf-8") == before


def test_check_prints_what_is_worth_saying_and_still_finds_the_farm_sound(
    farm_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with_water(farm_folder, "ec_ms_cm = 0.5", 'hardness = { value = 14, unit = "dH" }')
    assert main(["check", str(farm_folder)]) == 0
    assert "alkalinity was not read" in capsys.readouterr().out


def test_a_band_beyond_its_fussiest_plant_is_remarked_on(farm_folder: Path) -> None:
    assert not any("fussiest" in said for said in remarks_on(load_farm(farm_folder)))
    path = farm_folder / "farm.toml"
    text = path.read_text(encoding="utf-8").replace('crop = "lettuce"', 'crop = "strawberry, early"', 1)
    path.write_text(text, encoding="utf-8")
    told = [said for said in remarks_on(load_farm(farm_folder)) if "fussiest" in said]
    assert len(told) == 1 and "strawberry wants 1 at most" in told[0] and "published" in told[0]


@pytest.mark.parametrize(("country", "habit"), [("AU", "elements"), ("DE", "oxides"), (None, None)])
def test_what_p_and_k_stand_for_follows_the_country_where_the_label_does_not_say(
    farm_folder: Path, country: str | None, habit: str | None
) -> None:
    migrate(farm_folder)
    shelf, farm = farm_folder / "shelf.toml", farm_folder / "farm.toml"
    text = shelf.read_text(encoding="utf-8")
    start = text.index("salts_g_l")
    label = "label = { npk = [4, 1, 6], percent = { fe = 0.1 } }"
    shelf.write_text(f"{text[:start]}{label}{text[text.index(chr(10) * 2, start) :]}", encoding="utf-8")
    if country is not None:
        told = farm.read_text(encoding="utf-8").replace("[place]\n", f'[place]\ncountry = "{country}"\n')
        farm.write_text(told, encoding="utf-8")
    found = load_farm(farm_folder)
    assert found.mistakes == ()
    product = found.shelf["leaf-a"]
    assert isinstance(product, Concentrate) and product.label is not None and product.label.p_and_k == habit


def test_a_powder_is_told_how_its_stock_is_made(farm_folder: Path) -> None:
    migrate(farm_folder)
    shelf = farm_folder / "shelf.toml"
    text = shelf.read_text(encoding="utf-8")
    start = text.index("salts_g_l")
    label = "label = { npk = [15.5, 0, 0], stock_g_l = 100 }"
    shelf.write_text(f"{text[:start]}{label}{text[text.index(chr(10) * 2, start) :]}", encoding="utf-8")
    # By hand: a gram to the litre is 10 mL of a stock of 100 g to the litre.
    assert any("gram to the litre on its label is 10 mL" in said for said in remarks_on(load_farm(farm_folder)))
