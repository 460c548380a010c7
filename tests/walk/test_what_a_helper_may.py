"""What a helper may pour and mix, who walks, and what is missing of a farm."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import msgspec
import pytest

from rounds.errors import NotFound, Refused
from rounds.history.record import Draft, Record
from rounds.walk.helper import beyond_limit, helpers_view, poured_today_ml
from rounds.walk.helpers_sheets import refuse_a_change_out, refuse_beyond_limits, refuse_to_make
from rounds.walk.missing import missing_lines
from rounds.walk.permission import BEYOND, Permission
from rounds.walk.session import Session
from rounds.walk.walker import default_person, person_form, walking_file, walking_line


def allowed(folder: Path, products: str = '"leaf-a", "leaf-b"') -> None:
    path = folder / "farm.toml"
    text = path.read_text(encoding="utf-8")
    limits = f"\n[limits.helper]\nproducts = [{products}]\nstep_ml = 300\nday_ml = 600\n\n[[people]]"
    path.write_text(text.replace("\n[[people]]", limits, 1), encoding="utf-8")


@pytest.fixture
def helper(farm_folder: Path, clock: Any) -> Session:
    """May pour A and B, 300 mL a step and 600 mL a day."""
    allowed(farm_folder)
    return Session.open(farm_folder, person_id="ben", clock=clock)


def poured(session: Session, ago_h: float, amount: float, action: str = "concentrate_a", **more: Any) -> Record:
    fields = {"item": "leaf-a", "value": amount, "unit": "mL", "person": "ben", "data": {"action": action}} | more
    at = session.now() - timedelta(seconds=round(ago_h * 3600.0))
    return session.history.save(Draft(kind="dose", measured_at=at, station="res-1", **fields))[0]


def test_what_a_helper_poured_counts_for_sixteen_hours_whatever_it_was(helper: Session) -> None:
    poured(helper, 16.1, 1.0)
    poured(helper, 15.9, 10.0)
    poured(helper, 1.0, 20.0, "acid")
    poured(helper, 1.0, 0.03, "base", unit="L")
    poured(helper, 1.0, 40.0, "concentrate_b")
    poured(helper, 1.0, 50.0, "top_up", unit="mL")
    poured(helper, 1.0, 60.0, person="ada")
    assert poured_today_ml(helper.history.records(), "ben", helper.now(), helper.zone) == pytest.approx(100.0)


@pytest.mark.parametrize(("product", "amount", "unit", "why"), [
    ("leaf-a", 300.0, "mL", ""), ("leaf-a", 301.0, "mL", "301 mL in one step, where the grower allows 300 mL"),
    ("leaf-a", 0.301, "L", "301 mL in one step"), ("nitric-8", 1.0, "mL", "not among what the grower allows"),
    ("nitric-8", 0.0, "mL", ""), ("well", 900.0, "L", ""), ("gone", 900.0, "L", ""), ("leaf-b", 250.0, "mL", ""),
    ("leaf-b", 251.0, "mL", "601 mL in one day, where the grower allows 600 mL"),
])  # fmt: skip
def test_why_a_helper_may_not_pour_so_much(helper: Session, product: str, amount: float, unit: str, why: str) -> None:
    poured(helper, 16.5, 500.0)
    if product == "leaf-b":
        poured(helper, 5.0, 350.0)
    found = beyond_limit(helper, product, amount, unit)
    assert why in found and bool(found) is bool(why)


def test_a_narrowed_shelf_holds_no_more_than_may_be_poured(helper: Session) -> None:
    """Both by 5 mL/L: half of what is left of the day, 400 mL, each; a step of 300 mL; 8 L are there."""
    view = helpers_view(helper.farm, [], "res-1", helper.now(), poured_today_ml=200.0)
    assert view.left_today_ml == 400.0 and view.reservoir_id == "res-1" and view.whole is helper.farm
    shelf = {product.id: product for product in view.farm.shelf.values()}
    assert {each: shelf[each].amount for each in shelf} == {
        "leaf-a": pytest.approx(0.2), "leaf-b": pytest.approx(0.2), "nitric-8": 0.0, "koh-5": 0.0,
    }  # fmt: skip
    assert {product.counted_on for product in shelf.values()} == {helper.now().date()}
    early = helpers_view(helper.farm, [], "res-1", helper.now())
    assert early.farm.shelf["leaf-a"].amount == pytest.approx(0.3)
    late = helpers_view(helper.farm, [], "res-1", helper.now(), poured_today_ml=700.0)
    assert late.left_today_ml == 0.0 and late.farm.shelf["leaf-a"].amount == 0.0


def test_of_a_day_each_half_gets_what_the_feed_has_of_it(helper: Session) -> None:
    """2 mL/L of A and 4 of B: of the 450 mL that are left of the day a third is A."""
    feed = msgspec.structs.replace(helper.farm.feeds["leaf"], a_ml_per_l=2.0, b_ml_per_l=4.0)
    farm = replace(helper.farm, feeds={"leaf": feed})
    shelf = helpers_view(farm, [], "res-1", helper.now(), poured_today_ml=150.0).farm.shelf
    assert (shelf["leaf-a"].amount, shelf["leaf-b"].amount) == (pytest.approx(0.15), pytest.approx(0.3))


def test_a_helper_may_write_down_what_is_allowed_or_was_poured_already_and_others_what_they_like(
    helper: Session,
) -> None:
    def dose(amount: float, item: str = "leaf-a", unit: str | None = "mL", **more: Any) -> Draft:
        data = {"action": "concentrate_a"}
        return Draft(kind="dose", station="res-1", item=item, value=amount, unit=unit, data=data,
                     measured_at=helper.now(), **more)  # fmt: skip

    permission = Permission(farm=helper.farm, history=helper.history, zone=helper.zone)
    ada, ben = helper.farm.people
    for drafts in ([dose(301.0)], [dose(0.301, unit="L")], [dose(301.0, unit=None)], [dose(1.0, "nitric-8")],
                   [dose(300.0), dose(300.0, "leaf-b"), dose(1.0)]):  # fmt: skip
        permission(drafts, None)
        permission(drafts, ada)
        with pytest.raises(Refused, match="it is not written down"):
            permission(drafts, ben)
    permission([dose(300.0), dose(300.0, "leaf-b")], ben)
    permission([dose(301.0, marks=(f"{BEYOND}, warned: 301 mL",))], ben)
    with pytest.raises(Refused):
        permission([dose(301.0, marks=(f"{BEYOND}, warned: 301 mL",)), dose(300.0)], ben)


@pytest.mark.parametrize("more", [{"replaces": "1"}, {"void": True}, {"replaces": "1", "void": True}])
def test_what_was_poured_is_put_right_and_taken_back_by_the_grower_alone(helper: Session, more: Any) -> None:
    """Each by itself is refused, though the amount would be allowed."""
    permission = Permission(farm=helper.farm, history=helper.history, zone=helper.zone)
    ada, ben = helper.farm.people
    first = poured(helper, 1.0, 10.0)
    more = {key: first.id if key == "replaces" else value for key, value in more.items()}
    dose = Draft(kind="dose", station="res-1", item="leaf-a", value=10.0, unit="mL", measured_at=helper.now(),
                 data={"action": "concentrate_a"}, **more)  # fmt: skip
    permission([dose], ada)
    with pytest.raises(Refused, match="put right by the grower"):
        permission([dose], ben)
    permission([msgspec.structs.replace(dose, replaces=None, void=False)], ben)
    permission([msgspec.structs.replace(dose, kind="reading", item="ph", value=6.0, unit=None, data={})], ben)


def test_sheets_that_a_helper_may_not_have(helper: Session, session: Session) -> None:
    for each in (lambda s: refuse_a_change_out(s), lambda s: refuse_to_make(s, ["leaf-a", "nitric-8"]),
                 lambda s: refuse_beyond_limits(s, [("nitric-8", 1.0, "mL")]),
                 lambda s: refuse_beyond_limits(s, [("leaf-a", 301.0, "mL")]),
                 lambda s: refuse_beyond_limits(s, [("leaf-a", 0.301, "L")]),
                 lambda s: refuse_beyond_limits(s, [("leaf-a", 300.0, "mL"), ("leaf-b", 300.0, "mL"),
                                                    ("leaf-a", 1.0, "mL")])):  # fmt: skip
        with pytest.raises(Refused):
            each(helper)
        each(session)
    refuse_to_make(helper, ["leaf-a", "leaf-b"])
    refuse_beyond_limits(helper, [("leaf-a", 300.0, "mL"), ("leaf-b", 0.3, "L"), ("well", 900.0, "L")])
    poured(helper, 5.0, 301.0)
    with pytest.raises(Refused, match="601 mL in a day"):
        refuse_beyond_limits(helper, [("leaf-a", 300.0, "mL")])
    refuse_beyond_limits(helper, [("leaf-a", 299.0, "mL")])


def test_who_walks_is_said_with_what_they_may_pour(helper: Session, session: Session) -> None:
    assert walking_line(session) == "Walking: Ada (grower)."
    assert walking_line(helper) == (
        "Walking: Ben (helper). May pour: Leaf A, Leaf B up to 300 mL a step, 600 mL a day."
    )
    assert person_form(helper) == {"id": "ben", "name": "Ben", "role": "helper"}


def test_who_walks_where_nobody_is_named(farm_folder: Path, clock: Any) -> None:
    farm = Session.open(farm_folder, clock=clock).farm
    assert default_person(farm, farm_folder).id == "ada"  # type: ignore[union-attr]
    for person, walks in (("ben", "ben"), ("ada", "ada"), ("nobody", "ben")):
        (farm_folder / "walking.toml").write_bytes(walking_file(person))
        assert default_person(farm, farm_folder).id == walks  # type: ignore[union-attr]
    (farm_folder / "walking.toml").write_text("[")
    assert default_person(farm, farm_folder).id == "ben"  # type: ignore[union-attr]
    bare = Session.open(farm_folder, person_id="Ben", clock=clock)
    assert bare.person_name() == "ben" and "May pour: only water." in walking_line(bare)
    with pytest.raises(NotFound):
        Session.open(farm_folder, person_id="eve", clock=clock)


def test_what_is_missing_of_a_farm_is_said_first(farm_folder: Path, clock: Any) -> None:
    assert missing_lines(Session.open(farm_folder, clock=clock)) == []
    path = farm_folder / "farm.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("birds = 12", 'birds = "x"'), encoding="utf-8")
    assert missing_lines(Session.open(farm_folder, clock=clock)) == [
        "1 station is left out for mistakes in farm.toml: hens."
    ]
    path.write_text(text.replace('role = "helper"', 'role = "helper"\nage = 5'), encoding="utf-8")
    assert missing_lines(Session.open(farm_folder, clock=clock)) == [
        "The farm's files have 1 mistake: `rounds check` names them."
    ]
    path.write_text(text, encoding="utf-8")
    (farm_folder / "shelf.toml").write_text("[", encoding="utf-8")
    assert missing_lines(Session.open(farm_folder, clock=clock)) == ["shelf.toml can't be used: there are no doses."]
