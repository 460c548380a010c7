"""A plan into farm.toml: nothing else may change, whatever the file looks like."""

import difflib
import os
import tomllib

import pytest

from rounds.errors import BadInput, NotFound, NotSaved, Refused
from rounds.farm.load import load_farm
from rounds.farm.rewriting import write
from rounds.markout.into_farm import prepare

FARM = '''# Our farm.
format = 1
name = "Invented farm"

[place]   # where it lies
latitude = 48.1
longitude = 11.5

[[waters]]
id = "rain"
name = "Rain"
ph = 6.0
ec_ms_cm = 0.05
alkalinity_meq_l = 0.1

[[stations]]
kind = "reservoir"
id = "reservoir-1"
name = "Reservoir 1"
working_volume_l = 150
full_volume_l = 200
dip_table = [
  [0, 0],
  [50, 200]
]
feed = "leaf"
stage = "grown"
waters = ["rain"]
pump_l_min = 10.0

[[stations]]
kind = "channel"
id = "channel-1"   # the old one
name = "Channel 1"
reservoir = "reservoir-1"
crop = "lettuce"
sites = 14
planted = 13        # one stays empty
planted_on = 2026-11-03
flow_l_min = 1.0
holds_l = 1.5
roots_l = 2
note = """
[[stations]]
is only a word here"""

# --- hens and the rest

[[stations]]
kind = "hens"
id = "hens-1"
name = "Hens"
birds = 12
'''


@pytest.fixture
def farm(tmp_path):
    (tmp_path / "farm.toml").write_text(FARM, encoding="utf-8")
    return tmp_path


def others(text, channel_id):
    data = tomllib.loads(text)
    data["stations"] = [station for station in data["stations"] if station["id"] != channel_id]
    return data


def stations(folder):
    return tomllib.loads((folder / "farm.toml").read_text(encoding="utf-8"))["stations"]


def test_a_new_channel_stands_behind_the_last_one_and_only_lines_are_added(farm, planned):
    change = prepare(farm, planned(), channel_id="channel-2", name="Channel 2", reservoir="reservoir-1")
    removed = [line for line in difflib.ndiff(FARM.splitlines(), change.after.splitlines()) if line.startswith("- ")]
    assert removed == []
    assert others(change.after, "channel-2") == others(FARM, "channel-2")
    write(change)
    assert [station["id"] for station in stations(farm)] == ["reservoir-1", "channel-1", "channel-2", "hens-1"]
    assert change.after.index("channel-2") < change.after.index("# --- hens")


def test_the_new_channel_is_one_the_farm_can_load(farm, planned):
    write(prepare(farm, planned(), channel_id="channel-2", name="Channel 2", reservoir="reservoir-1"))
    loaded = load_farm(farm)
    assert not [mistake for mistake in loaded.mistakes if "stations" in mistake.key and "feed" not in mistake.key]
    entry = next(station for station in stations(farm) if station["id"] == "channel-2")
    assert (entry["sites"], entry["flow_l_min"], entry["length_m"], entry["planted"]) == (16, 1.2, 4.2, 0)
    assert entry["build"]["packers_mm"] == [105, 70, 35, 0]
    assert any("1.2 L/min" in check for check in entry["build"]["checks"])


def test_a_known_channel_changes_in_place_and_keeps_its_remarks(farm, planned):
    change = prepare(farm, planned(), channel_id="channel-1")
    assert others(change.after, "channel-1") == others(FARM, "channel-1")
    for remark in ("# Our farm.", "# the old one", "# one stays empty", "# --- hens and the rest", "# where it lies"):
        assert remark in change.after
    entry = next(s for s in tomllib.loads(change.after)["stations"] if s["id"] == "channel-1")
    assert (entry["sites"], entry["planted"], entry["crop"], entry["roots_l"]) == (16, 13, "lettuce", 2)
    assert change.after.index("[stations.build]") < change.after.index("# --- hens")


def test_the_preview_shows_old_and_new_values(farm, planned):
    preview = prepare(farm, planned(), channel_id="channel-1").preview()
    assert "-sites = 14" in preview
    assert "+sites = 16" in preview
    assert "birds" not in preview


def test_an_extension_updates_what_was_written(farm, planned):
    write(prepare(farm, planned(), channel_id="channel-2", name="Channel 2", reservoir="reservoir-1"))
    longer = prepare(farm, planned(length="5m", supports="6"), channel_id="channel-2")
    assert "-sites = 16" in longer.preview()
    assert "+sites = 19" in longer.preview()
    write(longer)
    assert next(s for s in stations(farm) if s["id"] == "channel-2")["build"]["supports_mm"] == [
        0,
        1000,
        2000,
        3000,
        4000,
        5000,
    ]


def test_writing_the_same_again_changes_nothing(farm, planned):
    write(prepare(farm, planned(), channel_id="channel-2", name="Channel 2", reservoir="reservoir-1"))
    again = prepare(farm, planned(), channel_id="channel-2")
    assert not again.is_new
    assert again.preview() == ""


@pytest.mark.parametrize("shape", [
    lambda text: text.replace("\n", "\r\n"),
    lambda text: text.rstrip("\n"),
    lambda text: text + "\n[limits]\nstep_ph = 0.3\n",
    lambda text: text.replace("[[stations]]\nkind = \"hens\"", "  [[ stations ]]  # birds\nkind = \"hens\""),
])  # fmt: skip
def test_other_ways_of_writing_the_file_are_kept(farm, planned, shape):
    text = shape(FARM)
    (farm / "farm.toml").write_bytes(text.encode())
    change = prepare(farm, planned(), channel_id="channel-2", name="Two", reservoir="reservoir-1")
    assert others(change.after, "channel-2") == others(text, "channel-2")
    assert ("\r\n" in change.after) == ("\r\n" in text)
    assert "\r\r" not in change.after
    assert change.after.count("\n") == change.after.count("\r\n") or "\r\n" not in text
    write(change)
    assert (farm / "farm.toml").read_bytes().decode() == change.after


def test_a_file_that_changed_since_the_preview_is_left_alone(farm, planned):
    change = prepare(farm, planned(), channel_id="channel-1")
    (farm / "farm.toml").write_text(FARM + "\n# a word by somebody else\n", encoding="utf-8")
    with pytest.raises(Refused, match="changed since"):
        write(change)
    assert "somebody else" in (farm / "farm.toml").read_text(encoding="utf-8")


def test_a_write_that_fails_leaves_the_file_and_no_rubbish(farm, planned, monkeypatch):
    change = prepare(farm, planned(), channel_id="channel-1")

    def full(handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(NotSaved):
        write(change)
    assert (farm / "farm.toml").read_text(encoding="utf-8") == FARM
    assert [file.name for file in farm.iterdir()] == ["farm.toml"]


def test_a_linked_farm_file_stays_a_link(farm, planned, tmp_path):
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (farm / "farm.toml").rename(elsewhere / "farm.toml")
    (farm / "farm.toml").symlink_to(elsewhere / "farm.toml")
    write(prepare(farm, planned(), channel_id="channel-1"))
    assert (farm / "farm.toml").is_symlink()
    assert "[stations.build]" in (elsewhere / "farm.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(("options", "error", "words"), [
    ({"channel_id": "channel-2", "name": "Two"}, BadInput, "needs a reservoir"),
    ({"channel_id": "channel-2", "name": "Two", "reservoir": "pond"}, BadInput, "no reservoir"),
    ({"channel_id": "Channel 2!", "name": "Two", "reservoir": "reservoir-1"}, BadInput, "lower-case"),
    ({"channel_id": "hens-1"}, Refused, "is a hens"),
])  # fmt: skip
def test_what_does_not_fit_the_farm_is_refused(farm, planned, options, error, words):
    with pytest.raises(error, match=words):
        prepare(farm, planned(), **options)


def test_more_plants_than_new_sites_are_refused(farm, planned):
    with pytest.raises(Refused, match="13 plants"):
        prepare(farm, planned(spacing="600mm"), channel_id="channel-1")


def test_a_folder_that_is_no_farm_and_a_file_that_is_no_toml_are_refused(tmp_path, planned):
    with pytest.raises(NotFound):
        prepare(tmp_path, planned(), channel_id="channel-1")
    (tmp_path / "farm.toml").write_text("stations = [", encoding="utf-8")
    with pytest.raises(BadInput, match=r"line 1, column 13 can't be read: close the list with \]"):
        prepare(tmp_path, planned(), channel_id="channel-1")
