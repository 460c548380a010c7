"""What each line of the record says, where it says it well and where a key is missing or odd."""

from __future__ import annotations

import inspect
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import msgspec
import pytest

from rounds.book.day import morning_rounds, zone_of
from rounds.book.entries import Dose, Reading, entries_of, entry_of, only
from rounds.book.lots import advised_ml, feed_of, lots_after
from rounds.book.message import Message, say, sentences
from rounds.book.newer import last_renewed, may_touch, standing, told
from rounds.book.offer import (
    After,
    Assumed,
    Correction,
    Finding,
    Interval,
    Readings,
    Refusal,
    Step,
    act,
    form_of,
    in_full,
    note,
    refused,
    stop,
)
from rounds.book.poured import kind_poured
from rounds.farm.farm import Farm
from rounds.farm.load import load_farm
from tests.book.line import NOW, Line, ago, dose


@pytest.fixture
def farm(farm_folder: Path) -> Farm:
    return load_farm(farm_folder)


def entry(kind: str, value: Any = None, **data: Any) -> Any:
    return entry_of(Line(kind=kind, value=value, data=data))


@pytest.mark.parametrize(
    ("action", "unit", "litres", "usual"),
    [
        ("top_up", None, 250.0, "L"), ("change_out", None, 250.0, "L"), ("drain_off", None, 250.0, "L"),
        ("acid", None, 0.25, "mL"), ("base", None, 0.25, "mL"), ("concentrate_a", None, 0.25, "mL"),
        ("", None, 0.25, "mL"), ("acid", "L", 250.0, "mL"), ("top_up", "mL", 0.25, "L"), ("acid", "kg", 0.0, "mL"),
    ],
)  # fmt: skip
def test_a_dose_is_in_the_unit_beside_it_or_in_the_usual_one(
    action: str, unit: str | None, litres: float, usual: str
) -> None:
    (found,) = only(Dose, entries_of([dose(action, 250.0, unit=unit)]))
    assert (found.litres, found.ml, found.usual_unit) == (litres, litres * 1000.0, usual)
    assert (found.renews, found.drains) == (action == "change_out", action == "drain_off")
    assert found.feeds == action.startswith("concentrate")
    assert entry_of(dose(action, None)).litres == 0.0  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("attribute", "kind", "data", "found"),
    [
        ("buffer_ph", "reading", {}, 7.0), ("buffer_ph", "reading", {"buffer": 4.01}, 4.01),
        ("buffer_ph", "reading", {"buffer": "seven"}, 7.0), ("temperature_c", "reading", {}, None),
        ("temperature_c", "reading", {"temperature_c": 18.5}, 18.5),
        ("temperature_c", "reading", {"temperature_c": "x"}, None),
        ("covers", "check", {}, ()), ("covers", "check", {"covers": ["pump", 3, "leak"]}, ("pump", "leak")),
        ("covers", "check", {"covers": "pump"}, ()), ("covers", "check", {"covers": ("pump",)}, ("pump",)),
        ("action", "dose", {}, ""), ("action", "dose", {"action": 5}, ""),
        ("action", "step", {"action": "circulate"}, "circulate"),
        ("correction_id", "dose", {"correction": "c"}, "c"), ("correction_id", "dose", {"correction": 7}, None),
        ("step_number", "dose", {"step": 2}, 2), ("step_number", "dose", {"step": True}, None),
        ("step_number", "dose", {"step": "2"}, None), ("step_number", "dose", {}, None),
        ("advised", "dose", {"advised": 20}, 20.0), ("advised", "dose", {}, None),
        ("doses", "given-up", {"doses": ["a", "b"]}, ("a", "b")), ("doses", "given-up", {}, ()),
        ("stage", "recheck-done", {"stage": "mixed"}, "mixed"), ("stage", "recheck-done", {}, ""),
        ("left_open", "round", {"open": ["hens"]}, ("hens",)), ("put_right", "seen", {"put_right": True}, True),
        ("put_right", "seen", {"put_right": "yes"}, False), ("put_right", "seen", {}, False),
        ("says_it_touches", "moon-phase", {}, None), ("says_it_touches", "moon-phase", {"touches": []}, frozenset()),
        ("says_it_touches", "moon-phase", {"touches": ["stock"]}, frozenset({"stock"})),
        ("name", "moon-phase", {}, "moon phase"), ("marks", "note", {}, ()), ("note", "note", {}, ""),
    ],
)  # fmt: skip
def test_a_line_says_what_stands_in_it_and_nothing_where_that_is_odd(
    attribute: str, kind: str, data: dict[str, Any], found: object
) -> None:
    assert getattr(entry(kind, **data), attribute) == found


def test_a_round_is_closed_by_its_mark() -> None:
    assert entry("round", "closed").is_closed
    assert not entry("round", "started").is_closed


def test_what_was_foreseen_is_read_back_with_its_middle() -> None:
    def offer(**prediction: Any) -> Any:
        return entry("correction", prediction=prediction)

    span = {"low": 5.6, "high": 6.0, "value": 5.9}
    assert offer(mixed={"ph": span}).foreseen("mixed", "ph") == (5.6, 5.9, 6.0)
    assert offer(mixed={"ph": {"low": 5.6, "high": 6.0}}).foreseen("mixed", "ph") == (5.6, pytest.approx(5.8), 6.0)
    for odd in (
        {},
        {"mixed": 5},
        {"mixed": {"ph": 5}},
        {"mixed": {"ph": {"low": 5.6}}},
        {"mixed": {"ph": {"high": 6.0}}},
    ):
        assert offer(**odd).foreseen("mixed", "ph") is None
    assert offer(mixed={"ph": span}).foreseen("next_morning", "ph") is None


def test_an_offer_is_read_back_in_the_words_it_was_made_in() -> None:
    after = {name: {"value": 1.0, "low": 0.5, "high": 2.0} for name in ("volume_l", "ph", "ec_ms_cm")}
    found = entry(
        "correction",
        steps=[{"action": "acid", "amount": 20.0, "unit": "mL", "text": "Pour", "number": 9, "after": after}, 5,
               {"action": "look", "after": {"ph": 5}}],
        findings=[{"text": "told"}, {}], refusals=[{"text": "no", "instead": "call"}, {"text": "no"}, {}],
        explain=["a", 5], answer="held", assumed={"volume_l": 198.0, "ph": "x"}, input={"records": {"ph": "id"}},
        prediction={"belief": {"at": 1}},
    )  # fmt: skip
    assert [(s.number, s.action, s.amount, s.text) for s in found.steps] == [
        (1, "acid", 20.0, "Pour"),
        (2, "look", 0.0, ""),
    ]
    assert found.steps[0].after.ph == Interval(value=1.0, low=0.5, high=2.0)
    assert found.steps[1].after is None
    assert (found.findings, found.refusals) == (("told", ""), ("no call", "no", ""))
    assert (found.explain, found.answer, found.used, found.belief) == (("a",), "held", {"ph": "id"}, {"at": 1})
    assert (found.assumed.volume_l, found.assumed.ph, found.volume_l) == (198.0, None, 198.0)
    assert entry("correction", prediction={"volume_l": 150.0}, assumed={"volume_l": 198.0}).volume_l == 150.0
    bare = entry("correction", prediction=5, input={"records": 5})
    assert (bare.steps, bare.used, bare.belief, bare.answer, bare.volume_l, bare.findings) == (
        (),
        None,
        {},
        "",
        None,
        (),
    )
    assert entry("correction", prediction={"belief": 5}).belief == {}


def interval(value: float, by: float = 0.1) -> Interval:
    return Interval(value=value, low=value - by, high=value + by)


@pytest.mark.parametrize(
    ("low", "value", "high"),
    [(1.0, 0.9, 2.0), (1.0, 2.1, 2.0), (float("nan"), 1.0, 2.0), (float("-inf"), 1.0, 2.0), (1.0, 2.0, float("inf"))],
)
def test_an_interval_holds_its_value_and_is_finite(low: float, value: float, high: float) -> None:
    with pytest.raises(ValueError, match="interval"):
        Interval(low=low, value=value, high=high)
    assert Interval(low=1.0, value=1.0, high=1.0).rounded(1) == Interval(low=1.0, value=1.0, high=1.0)


def test_a_correction_is_written_down_with_as_many_decimals_as_can_be_meant() -> None:
    """A tenth of a litre, minute and degree; thousandths of mS/cm and meq/L; pH by hundredths in what is foreseen."""
    said = say(
        "x", figure=1.234567, whole=3, word="w", inner=say("y", figure=2.345678), all=(say("z", figure=9.87654321), "t")
    )
    step = Step(
        number=1, action="acid", amount=20.123456, unit="mL", wait_min=12.3456, says=said,
        after=After(volume_l=interval(198.4321), ph=interval(5.98765), ec_ms_cm=interval(1.7654321)),
    )  # fmt: skip
    made = Correction(
        reservoir_id="r", steps=(step, Step(number=2)), prediction={"secret": 1},
        assumed=Assumed(volume_l=198.4321, ph=5.98765, ec_ms_cm=1.7654321, temperature_c=18.26,
        alkalinity_meq_l=1.23456),
        findings=(note("x", figure=1.234567),), refusals=(refused("x", figure=1.234567),),
    )  # fmt: skip
    form = form_of(made)
    one, two = form["steps"]
    assert (one["wait_min"], one["amount"]) == (12.3, 20.123456), "an amount is written as it was measured out"
    assert one["after"]["ph"] == {"value": 5.99, "low": 5.89, "high": 6.09}
    assert (one["after"]["volume_l"]["value"], one["after"]["ec_ms_cm"]["value"]) == (198.4, 1.765)
    assert two["after"] is None
    values = one["says"]["values"]
    assert (values["figure"], values["whole"], values["word"]) == (1.2346, 3, "w")
    assert values["inner"]["values"] == {"figure": 2.3457}
    assert values["all"][0]["values"] == {"figure": 9.8765}
    assert values["all"][1] == "t"
    assert form["assumed"] == {
        "volume_l": 198.4, "ph": 5.988, "ec_ms_cm": 1.765, "temperature_c": 18.3, "alkalinity_meq_l": 1.235,
    }  # fmt: skip
    assert form["findings"][0]["says"]["values"] == form["refusals"][0]["says"]["values"] == {"figure": 1.2346}
    assert (form["format"], form["reservoir"]) == (1, "r")
    assert "prediction" not in form
    assert form_of(Correction(reservoir_id="r", assumed=Assumed()))["assumed"] == dict.fromkeys(form["assumed"])


def test_findings_and_refusals_carry_their_codes_and_say_what_to_do_instead() -> None:
    assert [(each.code, each.severity) for each in (note("a"), act("a"), stop("a"), note("a", "b"), act("a", "b"),
    stop("a", "b"))] == [
        ("a", "note"), ("a", "act"), ("a", "stop"), ("b", "note"), ("b", "act"), ("b", "stop"),
    ]  # fmt: skip
    made = refused("no", "about", ml=5)
    assert (made.code, made.says, made.hint) == ("about", say("no", ml=5), say("no-instead", ml=5))
    assert in_full(made, "stop") == Finding(
        code="about", severity="stop", says=say("sentences", all=(say("no", ml=5), say("no-instead", ml=5)))
    )
    assert Refusal(code="x").hint is None
    assert refused("no").code == "no"
    assert Step(action="acid").is_measured
    assert Step(action="drain_off").is_measured
    assert not Step(action="circulate").is_measured


def test_several_sentences_are_one_message_that_says_each_once() -> None:
    a, b = say("a"), say("b", t=1.0)
    assert sentences(a) == sentences(a, a) == a
    assert sentences(a, b, a) == Message("sentences", {"all": (a, b)})


@pytest.mark.parametrize(
    ("item", "action", "kind"),
    [("nitric-8", "", "acid"), ("koh-5", "", "base"), ("leaf-a", "acid", None), ("gone", "acid", "acid"),
     ("gone", "base", "base"), ("gone", "top_up", None), ("koh-5", "acid", "base")],
)  # fmt: skip
def test_what_was_poured_goes_by_the_shelf_and_by_its_action_where_it_is_gone(
    farm: Farm, item: str, action: str, kind: str | None
) -> None:
    found = entry_of(dose(action, 5.0, item=item))
    assert isinstance(found, Dose)
    assert kind_poured(farm, found) == kind


@pytest.mark.parametrize(
    ("station", "touches", "may"),
    [
        ("res-1", None, True), ("ch-1", None, True), ("hens", None, False), ("", None, False),
        ("res-1", [], False), ("ch-2", ["stock", "flock"], False), ("res-1", ["stock", "level"], True),
        ("res-1", ["weather"], True), ("", ["level"], True), ("", ["composition", "stock"], True),
        ("", ["stock"], False),
        ("", ["weather"], False), ("", [], False), ("hens", ["level"], False),
    ],
)  # fmt: skip
def test_a_record_of_an_unknown_kind_may_have_changed_what_it_does_not_say_it_left_alone(
    farm: Farm, station: str, touches: list[str] | None, may: bool
) -> None:
    data = {} if touches is None else {"touches": touches}
    unknown: Any = entry_of(Line(kind="moon-phase", station=station, data=data))
    assert may_touch(farm, farm.reservoir("res-1"), unknown) is may


@pytest.mark.parametrize(
    ("fill", "stands"),
    [(None, True), (dose("change_out", 198.0, 3.0), True), (dose("change_out", 198.0, 2.0), True),
     (dose("change_out", 198.0, 1.0), False), (dose("change_out", 0.0, 1.0), True),
     (dose("change_out", None, 1.0), True), (dose("top_up", 198.0, 1.0), True),
     (replace(dose("change_out", 198.0, 1.0), station="res-2"), True)],
)  # fmt: skip
def test_only_a_change_out_of_a_known_amount_ends_what_a_newer_version_wrote(
    farm: Farm, fill: Line | None, stands: bool
) -> None:
    unknown = Line(kind="moon-phase", measured_at=ago(2.0))
    reservoir = farm.reservoir("res-1")
    records = [unknown] if fill is None else [unknown, fill]
    assert bool(standing(farm, reservoir, records)) is stands
    fills = [dose("change_out", 198.0, 5.0), dose("change_out", 198.0, 9.0)]
    assert last_renewed(reservoir, entries_of(fills)) == ago(5.0)
    assert last_renewed(reservoir, []) is None


def test_a_newer_record_is_told_with_its_day_and_hour_in_the_zone_of_the_reader() -> None:
    unknown: Any = entry_of(Line(kind="moon-phase", measured_at=datetime(2026, 11, 5, 23, 30, tzinfo=UTC)))
    assert told(unknown, NOW.astimezone(zone_of("Europe/Zurich"))).startswith("“moon phase” of 6 November, 00:30, was")


def test_only_a_morning_round_that_was_started_begins_the_day() -> None:
    rounds = [
        Line(kind="round", item=item, value=value, measured_at=ago(hours))
        for item, value, hours in (("morning", "started", 3), ("morning", "closed", 2), ("dusk", "started", 1))
    ]
    assert list(morning_rounds(rounds)) == [ago(3)]
    assert zone_of("Nowhere/Atoll") is UTC
    assert zone_of("Asia/Tokyo").utcoffset(NOW) == timedelta(hours=9)


def test_entries_are_picked_by_type_and_station() -> None:
    lines = [Line(kind="reading", id="a"), Line(kind="reading", id="b", station="res-2"), dose("acid", 5.0)]
    found = entries_of(lines)
    assert [each.id for each in only(Reading, found)] == ["a", "b"]
    assert [each.id for each in only(Reading, found, "res-2")] == ["b"]
    assert entries_of(found) == found
    named = entry_of(Line(kind="note", note="windy", person="ben"))
    assert (named.note, named.person) == ("windy", "ben")
    assert entry_of(SimpleNamespace(kind="note", data={}, marks=("m",))).marks == ("m",)  # type: ignore[attr-defined]


@pytest.mark.parametrize("sort", [Interval, After, Step, Finding, Refusal, Assumed, Correction, Readings, Message])
def test_what_was_worked_out_is_never_changed_and_its_parts_have_names(sort: Any) -> None:
    """One correction is shown in several places: none of them may change it for the others."""
    with pytest.raises(AttributeError):
        in_full(refused("x")).code = "y"  # type: ignore[misc]
    config = sort.__struct_config__
    assert config.frozen
    positional = [each for each in sort.__struct_fields__ if sort is Message]
    assert inspect.signature(sort).parameters.keys() >= set(sort.__struct_fields__)
    kinds = {name: each.kind for name, each in inspect.signature(sort).parameters.items()}
    assert [name for name, kind in kinds.items() if kind is not inspect.Parameter.KEYWORD_ONLY] == positional


def test_what_a_correction_advised_of_a_and_b_is_summed_in_millilitres() -> None:
    steps = [
        {"action": "concentrate_a", "amount": 200.0, "unit": "mL"},
        {"action": "concentrate_a", "amount": 0.1, "unit": "L"},
        {"action": "concentrate_b", "amount": 50.0}, {"action": "acid", "amount": 9.0, "unit": "mL"},
    ]  # fmt: skip
    assert advised_ml(entry("correction", steps=steps)) == {"concentrate_a": 300.0, "concentrate_b": 50.0}
    assert advised_ml(entry("correction")) == {}


def test_what_a_pour_owes_goes_by_the_feed_of_its_own_reservoir_and_is_as_much_where_none_is_known(farm: Farm) -> None:
    reservoir, own = farm.reservoir("res-1"), farm.feeds["leaf"]
    other = msgspec.structs.replace(own, id="old", b_ml_per_l=10.0)
    both = replace(farm, feeds={"old": other, "leaf": own})
    assert feed_of(both, reservoir, "leaf-a") == own
    assert feed_of(replace(farm, feeds={"old": other}), reservoir, "leaf-a") == other
    assert feed_of(replace(farm, feeds={}), reservoir, "leaf-a") is None
    (poured,) = only(Dose, entries_of([dose("concentrate_a", 80.0, item="leaf-a")]))
    for feeds, owed in (({}, 80.0), ({"old": other}, 160.0), ({"leaf": own}, 80.0)):
        (lot,) = lots_after(replace(farm, feeds=feeds), reservoir, [], poured, {})
        assert (lot.part, lot.owed_ml, lot.left_ml) == ("A", owed, owed)
