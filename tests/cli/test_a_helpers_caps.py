"""In a folder that `rounds open` made the helper walks, within the grower's limits, whatever verb is asked."""

from __future__ import annotations

import json
import shutil
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rounds.app import RoundsApp
from rounds.book.offer import Readings
from rounds.cli import main
from rounds.walk.helper import ML_POURED
from rounds.walk.offering import work_out
from rounds.walk.session import Session

ALLOWED, STEP_ML, DAY_ML = ("leaf-a", "leaf-b"), 120.0, 300.0
LIMITS = f"""
[limits.helper]
products = ["leaf-a", "leaf-b"]
step_ml = {STEP_ML}
day_ml = {DAY_ML}
"""
NOT_THEIRS = ("Working nitric acid", "Working potash lye")
SHARP_AND_WEAK = "ph 7.1 ec 0.8 t 20 dip 36"
Printed = pytest.CaptureFixture[str]


@pytest.fixture(scope="module")
def handed_over(tmp_path_factory: pytest.TempPathFactory, lay_out_farm: Callable[[Path], Path]) -> Path:
    """The grower's folder, the bundle made from it, and the helper's own folder; never written to."""
    folder = tmp_path_factory.mktemp("handed-over")
    farm, bundle = lay_out_farm(folder / "farm"), folder / "b.zip"
    with (farm / "farm.toml").open("a", encoding="utf-8") as file:
        file.write(LIMITS)
    assert main(["relief", str(farm), "--for", "ben", "--bundle", str(bundle)]) == 0
    assert main(["open", str(bundle), str(folder / "theirs")]) == 0
    return folder


@pytest.fixture
def theirs(handed_over: Path, tmp_path: Path) -> Path:
    """The helper's own folder, opened from a bundle; the grower's, and the bundle, beside it."""
    return Path(shutil.copytree(handed_over, tmp_path, dirs_exist_ok=True)) / "theirs"


def answer(capsys: Printed, *words: str) -> dict[str, Any]:
    capsys.readouterr()
    main([*words, "--json"])
    form = json.loads(capsys.readouterr().out)
    assert isinstance(form, dict)
    return form


def poured(form: dict[str, Any]) -> list[dict[str, Any]]:
    return [step for step in form["steps"] if step["action"] in ML_POURED]


def test_correct_keeps_to_the_helpers_limits_where_nobody_is_named(theirs: Path, capsys: Printed) -> None:
    form = answer(capsys, "correct", str(theirs), "res-1", SHARP_AND_WEAK)
    assert form["person"] == {"id": "ben", "name": "Ben", "role": "helper"}
    assert all(step["product"] in ALLOWED and step["amount"] <= STEP_ML for step in poured(form))
    assert any("nothing you may pour for it" in refusal["text"] for refusal in form["refusals"])
    growers = answer(capsys, "correct", str(theirs), "res-1", SHARP_AND_WEAK, "--as", "ada")
    assert growers["person"]["role"] == "grower" and poured(growers) != poured(form)


def test_the_first_line_says_who_walks_and_what_they_may_pour(theirs: Path, capsys: Printed) -> None:
    first = "Walking: Ben (helper). May pour: Leaf A, Leaf B up to 120 mL a step, 300 mL a day."
    for verb in (["correct", "res-1", SHARP_AND_WEAK], ["enter", "res-1", "ph 6.4"], ["relief"]):
        main([verb[0], str(theirs), *verb[1:]])
        assert capsys.readouterr().out.splitlines()[0] == first
        main([verb[0], str(theirs.parent / "farm"), *verb[1:]])
        assert capsys.readouterr().out.splitlines()[0] == "Walking: Ada (grower)."


def test_what_the_helper_enters_carries_the_helpers_name(theirs: Path, capsys: Printed) -> None:
    assert answer(capsys, "enter", str(theirs), "res-1", "ph 6.4")["person"]["id"] == "ben"
    with Session.open(theirs, read_only=True).history as history:
        assert [record.person for record in history.records()] == ["ben"]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["top-up", "res-1", "--litres-per-day", "3"], "Working nitric acid is not the helper's"),
        (["change-out", "res-1"], "A change-out is the grower's work"),
        (["working", "nitric-8"], "Working nitric acid is not the helper's"),
    ],
)
def test_a_sheet_beyond_the_helpers_limits_is_refused(
    theirs: Path, capsys: Printed, words: list[str], says: str
) -> None:
    assert main(["mix", str(theirs), *words]) == 1
    assert says in capsys.readouterr().err


def test_a_tank_within_the_limits_is_the_helpers_to_make_and_a_larger_one_is_not(theirs: Path, capsys: Printed) -> None:
    farm = theirs / "farm.toml"
    farm.write_text(farm.read_text().replace("alkalinity_meq_l = 4.0", "alkalinity_meq_l = 0.1"))
    tank = ["mix", str(theirs), "top-up", "res-1", "--litres-per-day", "3", "--days"]
    form = answer(capsys, *tank, "2")
    pours = [step for step in form["sheets"][0]["steps"] if step["what"] in ALLOWED]
    assert form["person"]["id"] == "ben" and pours and all(step["amount"] <= STEP_ML for step in pours)
    assert main([*tank, "20"]) == 1
    assert "a helper may pour 120 mL a step" in capsys.readouterr().err
    assert main([*tank, "20", "--as", "ada"]) == 0


def test_preparing_before_leaving_is_not_the_helpers(theirs: Path, capsys: Printed) -> None:
    assert main(["relief", str(theirs), "--plan"]) == 1
    assert "prepared by the grower" in capsys.readouterr().err
    assert main(["relief", str(theirs.parent / "farm"), "--plan"]) == 0


@given(
    ph=st.floats(4.6, 7.9), ec=st.floats(0.2, 3.6), dip=st.one_of(st.none(), st.floats(4.0, 43.0)),
    temperature=st.floats(12.0, 28.0),
)  # fmt: skip
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_reading_makes_a_helper_pour_more_than_allowed(
    theirs: Path, ph: float, ec: float, dip: float | None, temperature: float
) -> None:
    session = Session.open(theirs, read_only=True)
    readings = Readings(at=session.now(), ph=ph, ec_ms_cm=ec, temperature_c=temperature, dip_cm=dip)
    steps = [step for step in work_out(session, "res-1", readings).steps if step.action in ML_POURED]
    assert all(step.product in ALLOWED and step.amount <= STEP_ML for step in steps)
    assert sum(step.amount for step in steps) <= DAY_ML * 1.001
    assert not [step for step in steps if any(name in step.text for name in NOT_THEIRS)]


async def test_the_app_walks_with_the_helper(theirs: Path) -> None:
    app = RoundsApp(theirs)
    async with app.run_test(size=(80, 24)):
        assert app.session.is_helper and app.session.person_name() == "ben"
        assert not any(app.check_action("show", (name,)) for name in ("shelf", "markout", "relief"))


@pytest.mark.parametrize("text", ["person = 5", 'person = "nobody"', "person =", "\udcff"])
def test_a_file_that_does_not_say_who_walks_makes_nobody_the_grower(theirs: Path, capsys: Printed, text: str) -> None:
    (theirs / "walking.toml").write_text(text, encoding="utf-8", errors="surrogateescape")
    assert answer(capsys, "correct", str(theirs), "res-1", SHARP_AND_WEAK)["person"]["id"] == "ben"
    farm = theirs / "farm.toml"
    farm.write_text(farm.read_text().replace('role = "helper"', ""))
    assert main(["correct", str(theirs), "res-1", SHARP_AND_WEAK]) == 1
    assert "does not say who walks here" in capsys.readouterr().err


def test_who_walks_here_goes_into_no_bundle(theirs: Path, tmp_path: Path) -> None:
    assert main(["enter", str(theirs), "res-1", "ph 6.4"]) == 0
    for option in ("--back", "--bundle"):
        path = tmp_path / f"x{option}.zip"
        assert main(["relief", str(theirs), "--for", "ben", option, str(path)]) == 0
        assert "walking.toml" not in zipfile.ZipFile(path).namelist()
