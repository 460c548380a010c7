"""`rounds markout` from the command line, as a program and as a person would call it."""

import json
import shlex
import subprocess
import sys
from xml.etree import ElementTree

import pytest

from rounds.cli import main

SHORT = shlex.split("--length 4.2m --section 120x60mm --slope 1:40 --spacing 250mm --hole 50mm --first-site 150mm "
         "--outlet-clearance 80mm --flow 1.2L/min --supports 4")  # fmt: skip
FARM = """# ours
format = 1
name = "Invented"

[[stations]]
kind = "reservoir"
id = "reservoir-1"   # the blue one
name = "Reservoir 1"
"""


@pytest.fixture
def run(capsys):
    def call(*options):
        code = main(["markout", *SHORT, *options])
        out = capsys.readouterr()
        return code, out.out, out.err

    return call


def test_the_short_form_gives_what_is_asked_for(run):
    code, out, _ = run("--json")
    data = json.loads(out)
    assert code == 0
    assert data["format"] == 1
    assert data["fall_mm"] == 105
    assert data["sites_mm"] == list(range(150, 3901, 250))
    assert data["empty_sites_mm"] == [3900]
    assert [(s["at_mm"], s["packer_mm"]) for s in data["supports"]] == [(0, 105), (1400, 70), (2800, 35), (4200, 0)]
    # Nusselt by hand: (3 nu q / g S)^(1/3) with nu 1.0034e-6, q 2e-5/0.12, S 1/40.
    assert data["film"]["depth_mm"] == pytest.approx(
        (3 * 1.0034e-6 * 2e-5 / 0.12 / (9.80665 / 40)) ** (1 / 3) * 1e3, rel=0.01
    )
    assert data["film"]["regime"] == "laminar"
    assert data["film"]["speed_m_s"] == pytest.approx(2e-5 / 0.12 / (data["film"]["depth_mm"] / 1000), rel=0.001)
    assert data["run_back_l"] == pytest.approx(0.12 * 4.2 * data["film"]["depth_mm"], rel=0.001)
    assert data["transit_s"] == pytest.approx(4.2 / data["film"]["speed_m_s"], rel=0.01)
    assert {warning["code"] for warning in data["warnings"]} == {"supports_far"}


def test_the_words_for_people_carry_drawing_lists_and_cautions(run):
    code, out, _ = run()
    assert code == 0
    assert "Drill list" in out
    assert "Fall 105.0 mm" in out
    assert "goggles" in out
    assert "30 mA" in out
    assert max(len(line) for line in out.splitlines()[:34]) <= 80


def test_what_to_beware_of_and_to_think_over_stands_before_the_drawing(run):
    _, out, _ = run()
    drawing = out.index("packers in mm, from the inlet")
    assert 0 < out.index("Caution: Local codes") < out.index("To think over:") < drawing < out.index("Drill list")
    assert out.rstrip().splitlines()[-1] == "1 thing to think over: at the top, with the cautions."


def test_the_plan_says_why_a_site_is_left_empty(run):
    _, out, _ = run()
    assert "mm (its roots would block the outlet)" in " ".join(out.split())
    _, out, _ = run("--plant-last-site")
    assert "its roots" not in out


def test_pictures_are_written_where_they_are_wanted(run, tmp_path):
    code, _, _ = run("--svg", str(tmp_path / "c.svg"), "--pdf", str(tmp_path / "c.pdf"), "--strip")
    assert code == 0
    assert ElementTree.parse(tmp_path / "c.svg").getroot().tag.endswith("svg")
    assert (tmp_path / "c.pdf").read_bytes().startswith(b"%PDF-")


def test_a_picture_that_cannot_be_written_is_said(run, tmp_path):
    code, _, err = run("--svg", str(tmp_path / "nowhere" / "c.svg"))
    assert code == 1
    assert "could not be written" in err


def test_all_mistakes_are_told_together_and_the_code_is_wrong_usage(capsys):
    code = main(["markout", "--length", "3000 m", "--section", "40x40", "--hole", "50mm", "--spacing", "-5mm",
                 "--slope", "1:40", "--flow", "1", "--pump", "0:1,10:2"])  # fmt: skip
    err = capsys.readouterr().err
    assert code == 2
    for words in ("Did you mean 3000 mm", "wider than the channel", "-5 mm is not a size", "rises"):
        assert words in err


def test_mistakes_come_as_data_too(run):
    code, out, _ = run("--json", "--hole", "0")
    told = json.loads(out)
    assert code == 2
    assert told["error"]["mistakes"][0]["field"] == "hole"


def test_levels_below_zero_may_be_typed_as_they_are(run):
    code, out, _ = run("--json", "--ground", "-5,0,12,3mm")
    assert code == 0
    assert [s["ground_mm"] for s in json.loads(out)["supports"]] == [-5, 0, 12, 3]


def test_measurements_are_compared(run):
    _, out, _ = run("--json", "--built-packers", "105,70,45,0mm", "--jug", "1L/50s")
    built = json.loads(out)["as_built"]
    assert built["packers_off_mm"] == [0, 0, 10, 0]
    assert not built["as_planned"]
    assert "2800 mm is 10 mm too high" in built["findings"][0]


def test_without_yes_and_terminal_the_farm_is_only_previewed(tmp_path):
    (tmp_path / "farm.toml").write_text(FARM, encoding="utf-8")
    command = [sys.executable, "-m", "rounds", "markout", *SHORT, "--into", str(tmp_path), "--id", "channel-1",
               "--reservoir", "reservoir-1"]  # fmt: skip
    done = subprocess.run(command, capture_output=True, text=True, stdin=subprocess.DEVNULL)
    assert done.returncode == 0, done.stderr
    assert '+id = "channel-1"' in done.stdout
    assert "Nothing was written" in done.stdout
    assert (tmp_path / "farm.toml").read_text(encoding="utf-8") == FARM


def test_with_yes_the_farm_is_written_and_its_remarks_stay(run, tmp_path):
    (tmp_path / "farm.toml").write_text(FARM, encoding="utf-8")
    code, out, _ = run(
        "--into", str(tmp_path), "--id", "channel-1", "--name", "One", "--reservoir", "reservoir-1", "--yes"
    )
    assert code == 0
    assert "Written to" in out
    written = (tmp_path / "farm.toml").read_text(encoding="utf-8")
    assert written.startswith(FARM)
    assert 'name = "One"' in written


def test_into_what_is_no_farm_is_not_found(run, tmp_path):
    code, _, err = run("--into", str(tmp_path), "--id", "channel-1", "--yes")
    assert code == 1
    assert "no farm.toml" in err
