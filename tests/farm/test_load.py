"""A farm's files: every mistake at once, each with file, key, value and expectation."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from rounds.errors import NotFound
from rounds.farm.farm import Farm
from rounds.farm.load import load_farm
from rounds.farm.schema import FILES, schema_of

HEAD = 'format = 1\nname = "Test farm"\n[place]\nlatitude = 47.0\nlongitude = 8.0\n'
WELL = '[[waters]]\nid = "well"\nname = "Well"\nph = 7.4\nec_ms_cm = 0.6\nalkalinity_meq_l = 4.0\n'
BED = '[[stations]]\nkind = "bed"\nid = "bed-1"\nname = "Bed 1"\ncrop = "beans"\n'
RESERVOIR = (
    '[[stations]]\nkind = "reservoir"\nid = "r1"\nname = "One"\nfull_volume_l = 200\nworking_volume_l = 150\n'
    'dip_table = [[0, 0], [40, 200]]\nfeed = "leaf"\nstage = "grown"\nwaters = ["well"]\npump_l_min = 20\n'
)
FEEDS = (
    'format = 1\n[[feeds]]\nid = "leaf"\nname = "Leaf"\npart_a = "a"\npart_b = "b"\na_ml_per_l = 5\nb_ml_per_l = 5\n'
    '[[feeds.stages]]\nid = "grown"\nec = [1.4, 1.8]\nph = [5.6, 6.2]\n'
)
SHELF = (
    'format = 1\n[[products]]\nkind = "concentrate"\nid = "a"\nname = "A"\namount = 5\nunit = "L"\n'
    'counted_on = 2026-07-01\npart = "A"\nsalts_g_l = { potassium_nitrate = 50 }\n'
    '[[products]]\nkind = "concentrate"\nid = "b"\nname = "B"\namount = 5\nunit = "L"\n'
    'counted_on = 2026-07-01\npart = "B"\nsalts_g_l = { potassium_nitrate = 50 }\n'
)


def write(folder: Path, farm: str = HEAD + WELL + RESERVOIR + BED, feeds: str = FEEDS, shelf: str = SHELF) -> Farm:
    for name, text in (("farm.toml", farm), ("feeds.toml", feeds), ("shelf.toml", shelf)):
        (folder / name).write_text(text, encoding="utf-8")
    return load_farm(folder)


def test_a_sound_farm_loads_without_a_mistake(tmp_path: Path) -> None:
    farm = write(tmp_path)
    assert farm.mistakes == ()
    assert list(farm.stations) == ["r1", "bed-1"]


def test_all_mistakes_come_together_with_file_key_value_and_expectation(tmp_path: Path) -> None:
    broken = (
        RESERVOIR.replace("pump_l_min = 20", "pump_l_min = -3").replace('["well"]', '["wel"]')
        + BED.replace('crop = "beans"', "crop = 3").replace("bed-1", "bed-2")
        + '[[stations]]\nkind = "resevoir"\n'
    )
    farm = write(tmp_path, farm=HEAD + WELL + broken + BED)
    found = {(m.file, m.key): m for m in farm.mistakes}
    assert found["farm.toml", "stations[0].pump_l_min"].found == "-3"
    assert "above 0" in found["farm.toml", "stations[0].pump_l_min"].expected
    assert "1 to 80 characters" in found["farm.toml", "stations[1].crop"].expected
    assert "reservoir" in found["farm.toml", "stations[2].kind"].expected
    assert list(farm.stations) == ["bed-1"]


def test_a_reference_that_leads_nowhere_names_the_likely_one(tmp_path: Path) -> None:
    farm = write(tmp_path, farm=HEAD + WELL + RESERVOIR.replace('["well"]', '["wel"]') + BED)
    (mistake,) = farm.mistakes
    assert mistake.key == "stations.r1.waters"
    assert "did you mean well" in mistake.expected
    assert list(farm.stations) == ["bed-1"]


@pytest.mark.parametrize(
    ("key", "changed", "expected"),
    [
        ("stations[0].working_volume_l", RESERVOIR.replace("= 150", "= 300"), "full_volume_l"),
        ("stations[0].dip_table", RESERVOIR.replace("[40, 200]", "[0, 10]"), "rows"),
        ("stations[0].shape", RESERVOIR.replace("dip_table = [[0, 0], [40, 200]]\n", ""), "a shape or a dip_table"),
        ("stations[0].shpae", RESERVOIR + "shpae = 3\n", "no such key"),
        ("stations[0].full_volume_l", RESERVOIR.replace("full_volume_l = 200", "full_volume_l = nan"), "litres"),
    ],
)
def test_what_only_the_whole_table_can_tell_is_told_too(tmp_path: Path, key: str, changed: str, expected: str) -> None:
    farm = write(tmp_path, farm=HEAD + WELL + changed)
    (mistake,) = [m for m in farm.mistakes if m.key == key]
    assert expected in mistake.expected


def test_alkalinity_is_wanted_in_exactly_one_of_its_forms(tmp_path: Path) -> None:
    farm = write(tmp_path, farm=HEAD + WELL + "hco3_mg_l = 240\n" + BED)
    assert "exactly one" in farm.mistakes[0].expected
    assert list(farm.stations) == ["bed-1"]


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("name = ", "a value is missing"),
        ("", "empty"),
        ("[[place]]\nx = 1\n", "table"),
        ("a = " + "[" * 5000, "more brackets"),
    ],
)
def test_a_file_that_is_no_farm_still_opens_with_its_mistakes(tmp_path: Path, text: str, word: str) -> None:
    farm = write(tmp_path, farm=text)
    assert farm.stations == {}
    assert any(word in m.found or word in m.expected for m in farm.mistakes)


def test_bytes_that_are_not_text_are_named(tmp_path: Path) -> None:
    (tmp_path / "farm.toml").write_bytes(b"\xff\xfe\x00")
    assert "save it as UTF-8" in load_farm(tmp_path).mistakes[0].expected


def test_no_folder_a_file_and_an_empty_folder_are_no_farm(tmp_path: Path) -> None:
    for path in (tmp_path / "nowhere", tmp_path / "file", tmp_path):
        if path.name == "file":
            path.write_text("x")
        with pytest.raises(NotFound):
            load_farm(path)


@pytest.mark.skipif(os.geteuid() == 0, reason="root reads everything")
def test_a_file_that_may_not_be_read_is_a_mistake(tmp_path: Path) -> None:
    write(tmp_path)
    (tmp_path / "feeds.toml").chmod(0)
    assert any(m.file == "feeds.toml" for m in load_farm(tmp_path).mistakes)


def test_the_same_id_twice_keeps_the_first(tmp_path: Path) -> None:
    farm = write(tmp_path, farm=HEAD + WELL + BED + BED.replace("Bed 1", "Bed again"))
    assert farm.stations["bed-1"].name == "Bed 1"
    assert farm.mistakes[0].expected == "an id that nothing else has"


def test_an_unknown_station_names_the_likely_one(tmp_path: Path) -> None:
    with pytest.raises(NotFound, match=r"Did you mean bed-1\?"):
        write(tmp_path).station("bed1")


def test_where_none_is_near_the_stations_there_are_are_named(tmp_path: Path) -> None:
    with pytest.raises(NotFound, match="There are: r1, bed-1"):
        write(tmp_path).station("greenhouse")


def test_where_mistakes_kept_every_station_out_the_way_to_them_is_named(tmp_path: Path) -> None:
    broken = write(tmp_path, farm=HEAD + BED.replace('"beans"', "3"))
    with pytest.raises(NotFound, match=r"“bed-1” is left out for a mistake: farm.toml, station bed-1, crop: found 3"):
        broken.station("bed-1")
    with pytest.raises(NotFound, match="There are none, since its files have mistakes: `rounds check`"):
        broken.station("bed-9")
    with pytest.raises(NotFound, match="There are none yet"):
        write(tmp_path, farm=HEAD).station("bed-1")


@pytest.mark.parametrize("zone", ["Mars/X", "../../etc/localtime", "Etc"])
def test_a_time_zone_that_is_none_is_a_mistake(tmp_path: Path, zone: str) -> None:
    farm = write(tmp_path, farm=HEAD + f'timezone = "{zone}"\n' + BED)
    (mistake,) = farm.mistakes
    assert (mistake.file, mistake.key) == ("farm.toml", "place.timezone")
    assert zone in mistake.found
    assert "time zone" in mistake.expected
    assert list(farm.stations) == ["bed-1"]


@pytest.mark.parametrize("zone", ["UTC", "Etc/GMT-1", "Antarctica/Troll"])
def test_a_zone_of_the_zone_database_is_none(tmp_path: Path, zone: str) -> None:
    """Names of the IANA time zone database; Troll is one with an odd clock change."""
    assert write(tmp_path, farm=HEAD + f'timezone = "{zone}"\n' + BED).mistakes == ()


def test_a_misspelt_zone_names_the_likely_one(tmp_path: Path) -> None:
    (mistake,) = write(tmp_path, farm=HEAD + 'timezone = "Etc/GMT_1"\n' + BED).mistakes
    assert "did you mean Etc/GMT" in str(mistake) and str(mistake).endswith("?")


def test_on_a_machine_without_zone_data_only_a_malformed_zone_is_a_mistake(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As on a bare system: neither the system's zone folder nor the package tzdata."""
    import zoneinfo

    monkeypatch.setitem(sys.modules, "tzdata", None)
    zoneinfo.reset_tzpath(to=[str(tmp_path)])
    zoneinfo.ZoneInfo.clear_cache()
    try:
        assert write(tmp_path, farm=HEAD + 'timezone = "Etc/GMT-1"\n' + BED).mistakes == ()
        assert len(write(tmp_path, farm=HEAD + 'timezone = "/etc/localtime"\n' + BED).mistakes) == 1
    finally:
        zoneinfo.reset_tzpath()
        zoneinfo.ZoneInfo.clear_cache()


@pytest.mark.parametrize("file", FILES)
def test_the_schema_of_each_file_is_a_valid_schema_that_describes_its_keys(file: str) -> None:
    schema = schema_of(file)
    Draft202012Validator.check_schema(schema)
    assert "description" in str(schema)


def told(farm: Farm) -> list[str]:
    return [str(mistake) for mistake in farm.mistakes]


def test_a_mistake_names_its_station_by_its_id_and_else_counts_from_one(tmp_path: Path) -> None:
    broken = RESERVOIR.replace("dip_table = [[0, 0], [40, 200]]", 'dip_table = [[0, 0], [40, "x"]]')
    farm = write(tmp_path, farm=HEAD + WELL + BED + broken + BED.replace('id = "bed-1"\n', ""))
    assert any(text.startswith("farm.toml, station r1, dip_table, entry 2, entry 2: found 'x'") for text in told(farm))
    assert any(text.startswith("farm.toml, station 3 of the file, id: found nothing") for text in told(farm))
    assert [mistake.key for mistake in farm.mistakes] == ["stations[1].dip_table[1][1]", "stations[2].id"]


def test_a_channel_says_that_its_reservoir_is_left_out(tmp_path: Path) -> None:
    channel = (
        '[[stations]]\nkind = "channel"\nid = "c1"\nname = "C"\nreservoir = "r1"\ncrop = "lettuce"\nsites = 14\n'
        "planted = 13\nflow_l_min = 1.2\nholds_l = 4\n"
    )
    sound = write(tmp_path, farm=HEAD + WELL + RESERVOIR + channel)
    assert sound.mistakes == ()
    above, hanging = told(write(tmp_path, farm=HEAD + WELL + RESERVOIR.replace("= 150", "= 300") + channel))
    assert "station r1" in above
    assert hanging.startswith("farm.toml, station c1, reservoir: found")
    assert "r1 has one and is left out, see above" in hanging
    (misspelt,) = told(write(tmp_path, farm=HEAD + WELL + RESERVOIR + channel.replace('"r1"', '"r11"')))
    assert "did you mean r1?" in misspelt
    assert "left out" not in misspelt


def test_a_misspelt_key_names_the_likely_one_and_a_vessel_without_shape_says_what_is_missing(tmp_path: Path) -> None:
    (misspelt,) = told(write(tmp_path, farm=HEAD + WELL + BED + BED.replace("bed-1", "bed-2") + 'nots = "x"\n'))
    assert misspelt.endswith("did you mean note?")
    shapeless = RESERVOIR.replace("dip_table = [[0, 0], [40, 200]]\n", "")
    (missing,) = told(write(tmp_path, farm=HEAD + WELL + shapeless))
    assert missing == (
        "farm.toml, station r1, shape: found no shape and no dip_table, expected a shape or a dip_table."
    )
