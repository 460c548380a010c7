"""Whatever a helper writes, and whenever the disk fails: what others wrote stands as it stood."""

from __future__ import annotations

import importlib
import shutil
import sys
import tempfile
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rounds.errors import NotSaved
from rounds.history import merge
from rounds.history.beside import beside
from rounds.history.disk import Disk
from rounds.history.store import History
from rounds.trust.admission import Admitted, Grounds
from rounds.trust.signing import granted, sign, standing_of, stated
from rounds.trust.statements import Opened
from tests.trust.conftest import AWAY, FIRST, LAST, MORNING, Laptop, reading

SUPPORT = str(Path(__file__).parents[1] / "history" / "support")
if SUPPORT not in sys.path:
    sys.path.insert(0, SUPPORT)
tools: Any = importlib.import_module("history_tools")

GROWERS = Grounds(growers=("ada",))
ACTIONS = st.lists(
    st.tuples(
        st.sampled_from(("add", "replace", "void", "sign")),
        st.integers(0, 50),
        st.sampled_from(("ben", "ada", "", "Ada")),
        st.integers(-4, 6),
    ),
    max_size=12,
)
SOME = settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
MANY = settings(SOME, max_examples=400)


def at(farm: Path, device: str, **more: Any) -> History:
    return History.open(farm / "history", device=device, now=lambda: AWAY, farm_name="Test farm", **more)


def take_in(history: History, other: Path) -> merge.MergePreview:
    found = merge.preview(history, other, Admitted(history, standing_of(history), beside(other), GROWERS))
    merge.apply(history, found)
    return found


def laid_out(place: Path) -> tuple[Path, Path]:
    """The grower's farm, and the copy that a helper has with a key for some days."""
    grower, helper = Laptop(place / "g"), Laptop(place / "h")
    with grower.used(), at(place / "farm", "grower") as history:
        history.save(*(reading(6.0 + n / 10, MORNING - timedelta(days=n), person="ada") for n in range(3)))
        sign(history, MORNING)
        made = granted(history, "ben", FIRST, LAST, MORNING)
    assert made is not None
    shutil.copytree(place / "farm", place / "theirs")
    with helper.used(), at(place / "theirs", "helper") as history:
        from rounds.trust.keys import keep_pair

        keep_pair(made[0])
        stated(history, [Opened(key=made[0].public)])
    return place / "farm", place / "theirs"


def whatever_is_brought(actions: list[tuple[str, int, str, int]]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        farm, theirs = laid_out(place)
        with Laptop(place / "h").used(), at(theirs, "helper") as history:
            for action, number, person, day in actions:
                there = history.records(replaced=True)
                old, when = there[number % len(there)], MORNING + timedelta(days=day)
                if action == "sign":
                    sign(history, when)
                elif action == "add":
                    history.save(reading(7.0, when, person=person))
                else:
                    history.save(reading(8.0, when, person=person, replaces=old.id, void=action == "void"))
        with Laptop(place / "g").used(), at(farm, "grower") as history:
            before = {each.id: each for each in history.records()}
            found = take_in(history, theirs)
            after = {each.id: each for each in history.records()}
            assert before.items() <= after.items(), "what stood stands"
            for each in found.new:
                assert each.device == "helper"
                assert each.person in ("ben", ""), "nothing new is in the grower's name"
            assert take_in(history, theirs).new == ()
            asked = [each.id for each in found.refused]
            assert all(each.may_be_taken for each in found.refused)
            assert len({*asked}) == len(asked)


@SOME
@given(ACTIONS)
def test_whatever_a_helper_brings_what_others_wrote_stands(actions: list[tuple[str, int, str, int]]) -> None:
    whatever_is_brought(actions)


@pytest.mark.long
@MANY
@given(ACTIONS)
def test_however_often_it_is_tried_what_others_wrote_stands(actions: list[tuple[str, int, str, int]]) -> None:
    whatever_is_brought(actions)


def test_a_disk_that_fails_at_any_call_of_a_merge_leaves_all_of_it_or_nothing(tmp_path: Path) -> None:
    """Statements go in before the records; alone they harm nothing, and the same merge is done again."""
    farm, theirs = laid_out(tmp_path)
    with Laptop(tmp_path / "h").used(), at(theirs, "helper") as history:
        history.save(reading(6.3, AWAY, person="ben"), reading(6.4, AWAY, person="ben"))
        sign(history, AWAY)

    def tried(name: str, disk: Disk) -> tuple[Path, bool]:
        copy = Path(shutil.copytree(farm, tmp_path / name))
        history = at(copy, "grower", disk=disk)
        try:
            take_in(history, theirs)
        except NotSaved:
            return copy, False
        finally:
            history.close()
        return copy, True

    counting = tools.FailingDisk()
    tried("counted", counting)
    outcomes = set()
    for call in range(counting.calls):
        copy, done = tried(f"call-{call}", tools.FailingDisk(fail_at=call))
        with at(copy, "grower") as history:
            brought = len(history.records()) - 3
            assert brought in (0, 2)
            assert brought == 2 or not done
            assert len(take_in(history, theirs).new) == 2 - brought
            assert len(history.records()) == 5
        outcomes.add(done)
        shutil.rmtree(copy)
    assert outcomes == {True, False}
