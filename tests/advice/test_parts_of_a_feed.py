"""Feeds of one to four bottles: all of them are poured, each apart, in the order of their letters."""

from __future__ import annotations

import dataclasses
from datetime import timedelta

import msgspec
import pytest
from labelled_farm import bottle
from light_farm import ACID, BASE, MORNING, Note, a_farm, buffer_dip, rain_water

from rounds.advice.correction import Readings, correct
from rounds.book.composition import feed_known
from rounds.book.half_pair import half_pair
from rounds.farm.farm import Farm
from rounds.farm.feeds import Feed

ONE = (bottle("A", (4.0, 2.0, 6.0), by="volume", whole=True),)
THREE = (
    bottle("A", (5.0, 0.0, 1.0), by="volume"), bottle("B", (2.0, 1.0, 6.0), by="volume"),
    bottle("C", (0.0, 4.0, 3.0), by="volume"),
)  # fmt: skip
FOUR = (*THREE, bottle("D", (0.0, 0.5, 1.0), by="volume"))


def farm_of(bottles, ml_per_l=2.0) -> Farm:
    farm = a_farm(waters=(rain_water(),), products=(*bottles, ACID, BASE))
    told = {f"part_{b.part.lower()}": b.id for b in bottles} | {f"{b.part.lower()}_ml_per_l": ml_per_l for b in bottles}
    feed = Feed(id="feed", name="Feed", stages=farm.feeds["feed"].stages, **told)
    return dataclasses.replace(farm, feeds={"feed": feed})


def read(ec: float = 1.0, at=MORNING):
    return Readings(at=at, ph=5.8, ec_ms_cm=ec, temperature_c=20.0, volume_l=300.0)


@pytest.mark.parametrize("bottles", [ONE, THREE, FOUR], ids=["one", "three", "four"])
def test_every_part_is_poured_apart_and_in_order(bottles):
    found = correct(farm_of(bottles), [buffer_dip()], "r", read(0.5), MORNING)
    steps = [step.action for step in found.steps if step.action.startswith("concentrate") or step.action == "circulate"]
    wanted = [f"concentrate_{each.part.lower()}" for each in bottles]
    assert [action for action in steps if action != "circulate"] == wanted
    assert steps[1:-1:2] == ["circulate"] * (len(bottles) - 1)
    amounts = [step.amount for step in found.steps if step.action.startswith("concentrate")]
    assert max(amounts) - min(amounts) <= 0.1 * max(amounts)


def test_the_only_bottle_of_a_feed_owes_no_other_half():
    farm = farm_of(ONE)
    poured = Note(kind="dose", item="a", value=200.0, unit="mL", measured_at=MORNING - timedelta(hours=3), id="d",
                  data={"action": "concentrate_a"})  # fmt: skip
    assert half_pair(farm, farm.reservoir("r"), [poured], MORNING) is None


def test_a_and_b_of_a_feed_of_three_are_a_pair_and_c_owes_nothing():
    farm = farm_of(THREE)

    def dose(item, id):
        return Note(kind="dose", item=item, value=200.0, unit="mL", measured_at=MORNING - timedelta(hours=3), id=id,
                    data={"action": f"concentrate_{item}"})  # fmt: skip

    assert half_pair(farm, farm.reservoir("r"), [dose("c", "1")], MORNING) is None
    half = half_pair(farm, farm.reservoir("r"), [dose("c", "1"), dose("a", "2")], MORNING)
    assert half is not None and half.missing == "B" and half.owed_ml == pytest.approx(200.0)


def test_calcium_is_believed_beside_phosphate_in_the_only_bottle_alone():
    whole = feed_known(farm_of(ONE), farm_of(ONE).feeds["feed"])
    assert whole.full.ca > 0.0 and whole.full.po4 > 0.0
    three = feed_known(farm_of(THREE), farm_of(THREE).feeds["feed"])
    assert three.brings[0].ca > 0.0 and three.brings[1].ca == three.brings[2].ca == 0.0


@pytest.mark.parametrize(
    ("told", "said"),
    [({"part_b": "b"}, "b_ml_per_l"), ({"b_ml_per_l": 2.0}, "part_b"), ({"part_c": "c", "c_ml_per_l": 2.0}, "part_c")],
)
def test_a_part_without_its_rate_or_before_its_turn_is_a_mistake(told, said):
    with pytest.raises(ValueError, match=said):
        Feed(id="f", name="F", part_a="a", a_ml_per_l=2.0, stages=(), **told)


def test_the_model_reads_a_feed_of_one_bottle():
    raw = {"id": "f", "name": "F", "part_a": "a", "a_ml_per_l": 2.5, "stages": []}
    assert msgspec.convert(raw, Feed).products == ("a",)
