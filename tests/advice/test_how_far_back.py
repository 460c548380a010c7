"""How far back each rule looks, to the second: 16 hours are today, 6 hours to 3 days the round before, and so on."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import msgspec
import pytest
from light_cases import TURNOVER_MIN, case_of, check, ec, note, ph, poured, read, told
from light_farm import MORNING, Note, a_farm, buffer_dip, rain_water

from rounds.advice.bottle_effect import doses_of_this_feed, doses_today
from rounds.advice.drift import ec_by_next_round, ec_per_day
from rounds.advice.earlier import poured_since, read_before, read_twice
from rounds.advice.gates import acid_poured_today, falls_by_itself, gates_for, still_mixing
from rounds.advice.planning_feed import fed_today
from rounds.advice.planning_ph import dips
from rounds.advice.products import usual_ml
from rounds.belief import state as b
from rounds.farm.model import Limits

SECOND = 1.0 / 3600.0
DAY = 24.0


def shut_by(found) -> str | None:
    return None if found.shut is None else found.shut.code


@pytest.mark.parametrize(("ago_h", "counts"), [
    (16.0, True), (16.0 + SECOND, False), (15.9, True), (0.0, True), (-SECOND, False), (24.0, False),
])  # fmt: skip
def test_today_is_the_last_sixteen_hours_up_to_this_second(ago_h: float, counts: bool) -> None:
    case = case_of([poured("acid", 5.0, ago_h)])
    assert [dose.item for dose in doses_today(case)] == (["acid"] if counts else [])
    assert acid_poured_today(case) is counts


@pytest.mark.parametrize(("item", "action", "counts", "acid"), [
    ("acid", "acid", True, True), ("base", "base", True, False), ("a", "concentrate_a", False, False),
    ("rain", "top_up", False, False), ("gone-acid", "acid", True, True), ("gone-base", "base", True, False),
])  # fmt: skip
def test_only_acid_and_base_are_doses_of_the_ph(item: str, action: str, counts: bool, acid: bool) -> None:
    case = case_of([poured(item, 5.0, 2.0, action)])
    assert (len(doses_today(case)) == 1) is counts
    assert acid_poured_today(case) is acid


def test_the_acid_of_a_fill_is_no_dose_of_the_feed_that_was_read_after_it() -> None:
    fill = [poured("rain", 320.0, 5.0, "change_out"), poured("acid", 40.0, 4.5)]
    later = [ph(6.4, 3.0), poured("acid", 5.0, 2.9)]
    assert doses_of_this_feed(case_of(fill)) == []
    assert [dose.ml for dose in doses_of_this_feed(case_of([*fill, *later]))] == [5.0]
    assert [dose.ml for dose in doses_today(case_of([*fill, *later]))] == [40.0, 5.0]
    at_once = [*fill, ph(6.4, 3.0), poured("acid", 5.0, 3.0)]
    assert [dose.ml for dose in doses_of_this_feed(case_of(at_once))] == [5.0]


@pytest.mark.parametrize(("ago_h", "found"), [
    (6.0, 1.7), (6.0 - SECOND, None), (72.0, 1.7), (72.0 + SECOND, None), (0.5, None), (24.0, 1.7),
])  # fmt: skip
def test_the_round_before_lies_six_hours_to_three_days_back(ago_h: float, found: float | None) -> None:
    assert read_before(case_of([ec(1.7, ago_h)]), "ec") == found
    assert read_before(case_of([ec(1.7, ago_h)]), "ph") is None


def test_the_newest_of_the_rounds_before_is_the_one_before() -> None:
    assert read_before(case_of([ec(1.5, 48.0), ec(1.7, 24.0), ec(1.9, 2.0)]), "ec") == 1.7


@pytest.mark.parametrize(("reading_h", "dose_h", "went_in"), [
    (24.0, 3.0, True), (24.0, 0.0, True), (24.0, 24.0, False), (24.0, 25.0, False), (24.0, -1.0, False),
    (6.0, 5.0, True), (5.9, 5.0, False), (100.0, 3.0, True),
])  # fmt: skip
def test_poured_since_means_after_the_reading_before(reading_h: float, dose_h: float, went_in: bool) -> None:
    assert poured_since(case_of([ec(1.7, reading_h), poured("a", 50.0, dose_h, "concentrate_a")])) is went_in


def test_poured_since_asks_for_the_reading_of_its_own_kind() -> None:
    case = case_of([ph(5.8, 24.0), poured("acid", 5.0, 12.0), ec(1.7, 8.0)])
    assert not poured_since(case)
    assert poured_since(case, "ph")


@pytest.mark.parametrize(("ago_s", "value", "same"), [
    (4, 1.8, False), (6, 1.8, True), (3600, 1.8, True), (21599, 1.8, True), (21600, 1.8, False), (600, 1.87, True),
    (600, 1.73, True), (600, 1.95, False), (600, 1.65, False), (-60, 1.8, False),
])  # fmt: skip
def test_the_same_read_twice_on_one_round_confirms_itself_whenever_that_was(
    ago_s: float, value: float, same: bool
) -> None:
    assert read_twice(case_of([ec(value, ago_s / 3600.0)]), "ec", 1.8, 0.1) is same
    assert not read_twice(case_of([ec(value, ago_s / 3600.0)]), "ph", 1.8, 0.1)


@pytest.mark.parametrize("what", [
    poured("acid", 5.0, 40 / 60), poured("a", 50.0, 40 / 60, "concentrate_a"), poured("rain", 10.0, 40 / 60, "top_up"),
])  # fmt: skip
def test_what_was_poured_mixes_for_three_turnovers(what: Note) -> None:
    assert still_mixing(case_of([what])) == pytest.approx(3.0 * TURNOVER_MIN - 40.0)


def test_only_the_last_thing_poured_mixes_and_a_reading_does_not() -> None:
    assert still_mixing(case_of()) == 0.0
    assert still_mixing(case_of([ph(5.8, 0.1), ec(1.8, 0.1)])) == 0.0
    assert still_mixing(case_of([poured("acid", 5.0, 0.1), poured("acid", 5.0, 0.5)])) == pytest.approx(48.0 - 6.0)
    assert still_mixing(case_of([poured("acid", 5.0, 48 / 60)])) == 0.0
    assert still_mixing(case_of([poured("rain", 320.0, 0.5, "change_out")])) == pytest.approx(48.0 - 30.0)


EAST = timezone(timedelta(hours=9))


@pytest.mark.parametrize(("dip", "counts"), [
    (buffer_dip(MORNING), True), (buffer_dip(MORNING - timedelta(hours=8)), True),
    (buffer_dip(MORNING - timedelta(hours=8, seconds=1)), False), (buffer_dip(MORNING + timedelta(seconds=1)), False),
    (note("reading", "buffer", 7.02, 1.0, station="", meter=None), True),
    (note("reading", "buffer", 7.02, 1.0, station="", meter="other"), False),
])  # fmt: skip
def test_a_buffer_dip_counts_on_its_day_for_its_meter(dip: Note, counts: bool) -> None:
    gates = gates_for(case_of([dip], read(ph=6.9)), "acid")
    assert gates.needs_buffer_dip is not counts
    assert gates.extra_ph_sd == (0.0 if counts else 0.15)


def test_a_dip_counts_for_every_meter_where_the_reading_names_none() -> None:
    other = note("reading", "buffer", 7.02, 1.0, station="", meter="other")
    assert not gates_for(case_of([other], read(ph=6.9, ph_meter=None)), "acid").needs_buffer_dip


def test_the_day_of_a_buffer_dip_is_that_of_the_farm_wherever_the_clock_of_the_reader_stands() -> None:
    """A day begins at midnight of the farm's own clock, here Greenwich's; 23:00 there is 08:00 in the east."""
    at = datetime(2026, 6, 10, 8, 0, tzinfo=EAST)
    dip = buffer_dip(datetime(2026, 6, 9, 0, 30, tzinfo=UTC))
    late = buffer_dip(datetime(2026, 6, 8, 23, 30, tzinfo=UTC))
    assert not gates_for(case_of([dip], read(ph=6.9, at=at)), "acid").needs_buffer_dip
    assert gates_for(case_of([late], read(ph=6.9, at=at)), "acid").needs_buffer_dip


def test_the_day_of_a_buffer_dip_is_that_of_the_place_and_not_of_greenwich() -> None:
    """04:30 and 13:30 of one morning in Tokyo are two days in Greenwich."""
    usual = a_farm(waters=(rain_water(),))
    farm = replace(usual, place=msgspec.structs.replace(usual.place, timezone="Asia/Tokyo"))
    at = datetime(2026, 6, 10, 13, 30, tzinfo=EAST)
    same = buffer_dip(datetime(2026, 6, 10, 4, 30, tzinfo=EAST).astimezone(UTC))
    before = buffer_dip(datetime(2026, 6, 9, 23, 30, tzinfo=EAST).astimezone(UTC))
    assert not gates_for(case_of([same], read(ph=6.9, at=at), farm), "acid").needs_buffer_dip
    assert gates_for(case_of([before], read(ph=6.9, at=at), farm), "acid").needs_buffer_dip


def test_the_last_dip_of_the_day_holds_and_is_judged_at_the_warmth_of_its_bottle() -> None:
    """A buffer of 7 has 7.06 at 10 °C (instrument manual): 7.14 passes there, and is 0.14 off at 25 °C."""
    bad, good = buffer_dip(MORNING - timedelta(hours=2), 7.40), buffer_dip(MORNING - timedelta(hours=1), 7.02)
    assert shut_by(gates_for(case_of([bad, good], read(ph=6.9)), "acid")) is None
    assert shut_by(gates_for(case_of([buffer_dip(shown=7.02), buffer_dip(shown=7.4)], read(ph=6.9)), "acid")) == (
        "buffer-off"
    )
    cold = note("reading", "buffer", 7.14, 1.0, station="", data={"buffer": 7.0, "temperature_c": 10.0})
    warm = note("reading", "buffer", 7.14, 1.0, station="", data={"buffer": 7.0, "temperature_c": 25.0})
    untold = note("reading", "buffer", 7.14, 1.0, station="", data={"buffer": 7.0})
    assert shut_by(gates_for(case_of([cold], read(ph=6.9)), "acid")) is None
    assert shut_by(gates_for(case_of([warm], read(ph=6.9)), "acid")) == "buffer-off"
    assert shut_by(gates_for(case_of([untold], read(ph=6.9, temperature_c=10.0)), "acid")) is None
    assert shut_by(gates_for(case_of([untold], read(ph=6.9, temperature_c=25.0)), "acid")) == "buffer-off"


@pytest.mark.parametrize(("records", "fall"), [
    ([ph(6.2, 24.0)], 0.4),
    ([ph(6.2, 12.0)], 0.4),
    ([ph(6.2, 6.0)], 0.4),
    ([ph(6.2, 6.0 - SECOND)], 0.0),
    ([ph(6.6, 48.0)], 0.4),
    ([ph(7.0, 72.0)], 0.4),
    ([ph(7.0, 72.0 + SECOND)], 0.0),
    ([ph(5.6, 24.0)], -0.2),
    ([], 0.0),
    ([ph(6.2, 24.0), poured("acid", 5.0, 20.0)], 0.0),
    ([ph(6.2, 24.0), poured("rain", 5.0, 20.0, "top_up")], 0.0),
    ([ph(6.2, 24.0), ec(1.8, 20.0)], 0.4),
    ([ph(6.2, 24.0), ph(5.8, 0.0)], 0.4),
    ([ph(6.5, 31.0), ph(5.9, 7.0)], 0.6),
    ([ph(6.5, 33.0), ph(5.9, 8.0 + SECOND)], 0.1),
])  # fmt: skip
def test_how_far_the_ph_fell_in_a_day_by_itself(records: list[Note], fall: float) -> None:
    """Read 5.8 at eight in the morning; less than a day counts as one, the most of this day's falls holds."""
    assert falls_by_itself(case_of(records)) == pytest.approx(fall, abs=0.001)


@pytest.mark.parametrize(("fell", "asks"), [(0.29, False), (0.31, True)])
def test_roots_are_asked_for_where_the_ph_fell_by_more_than_0_3(fell: float, asks: bool) -> None:
    records = [buffer_dip(), ph(5.3 + fell, 24.0)]
    gates = gates_for(case_of(records, read(ph=5.3)), "base")
    assert gates.needs_roots is asks
    assert ("ph-falls" in {finding.code for finding in gates.findings}) is asks
    assert not gates_for(case_of(records, read(ph=5.3)), "acid").needs_roots


@pytest.mark.parametrize(("seen", "enough"), [
    (check("roots", True, 1.0, station="c"), True), (check("root-end", True, 1.0, station="c"), True),
    (check("roots", True, 1.0), True), (check("all-well", True, 1.0, station="c", data={"covers": ["roots"]}), True),
    (check("all-well", True, 1.0, station="c", data={"covers": ["leaves"]}), False),
    (check("leaves", True, 1.0, station="c"), False), (check("roots", True, 1.0, station="hens"), False),
    (check("roots", True, 8.0, station="c"), True), (check("roots", True, 8.1, station="c"), False),
])  # fmt: skip
def test_roots_that_were_seen_today_in_its_channels_are_not_asked_for_again(seen: Note, enough: bool) -> None:
    case = case_of([buffer_dip(), ph(5.75, 24.0), seen], read(ph=5.3))
    assert gates_for(case, "base").needs_roots is not enough


@pytest.mark.parametrize(("records", "shut"), [
    ([check("chlorine", True, 5.0)], True), ([check("bleach", True, 5.0)], True),
    ([check("disinfected", True, 5.0)], True), ([check("chlorine", "yes", 500.0)], True),
    ([check("chlorine", True, 5.0, station="c")], True), ([check("chlorine", True, 5.0, station="")], True),
    ([check("chlorine", True, 5.0, station="hens")], False), ([check("chlorine", False, 5.0)], False),
    ([check("chlorine", "no", 5.0)], False), ([check("chlorine", 0, 5.0)], False),
    ([check("chlorine", True, -SECOND)], False), ([check("chlorine", True, 0.0)], True),
    ([note("note", "chlorine", "used some", 5.0)], True), ([poured("bleach", 50.0, 5.0, "")], True),
    ([note("reading", "chlorine", 1.8, 5.0)], False), ([check("smell", True, 5.0)], False),
    ([check("chlorine", True, 5.0), check("rinsed", True, 4.0)], False),
    ([check("chlorine", True, 5.0), check("rinse", True, 4.0)], False),
    ([check("chlorine", True, 5.0), check("rinsed", True, 5.0)], True),
    ([check("chlorine", True, 5.0), check("rinsed", False, 4.0)], True),
    ([check("rinsed", True, 6.0), check("chlorine", True, 5.0)], True),
    ([check("chlorine", True, 9.0), check("rinsed", True, 8.0), check("chlorine", True, 5.0)], True),
    ([check("chlorine", True, 30.0), poured("rain", 320.0, 20.0, "change_out")], False),
    ([poured("rain", 320.0, 40.0, "change_out"), check("chlorine", True, 30.0)], True),
])  # fmt: skip
def test_acid_waits_for_a_rinse_after_chlorine(records: list[Note], shut: bool) -> None:
    case = case_of([buffer_dip(), *records], read(ph=6.9))
    assert (shut_by(gates_for(case, "acid")) == "chlorine") is shut
    assert shut_by(gates_for(case, "base")) != "chlorine"


@pytest.mark.parametrize(("before", "ml", "value", "shut"), [
    (7.4, 150.0, 5.45, True), (6.6, 60.0, 5.2, False), (6.2, 200.0, 4.2, False),
])  # fmt: skip
def test_after_acid_base_is_only_shut_where_the_co2_that_leaves_brings_the_ph_back_by_itself(
    before: float, ml: float, value: float, shut: bool
) -> None:
    """Acid on bicarbonate sets CO2 free, and half a day later the pH is in its band; without any it stays too low."""
    case = case_of([buffer_dip(), ph(before, 3.0), poured("acid", ml, 2.8)], read(ph=value))
    assert case.state is not None
    rest = b.summed_up(b.aged(case.state, case.curve, 12.0)).mean[b.PH]
    assert (rest >= 5.5) is shut
    gates = gates_for(case, "base")
    assert shut_by(gates) == ("base-after-acid" if shut else None)
    if shut:
        assert f"the pH comes to about {rest:.1f} by itself" in told(gates.shut)
    assert shut_by(gates_for(case_of([buffer_dip(), ph(before, 3.0)], read(ph=value)), "base")) is None


@pytest.mark.parametrize(("ago_h", "counts"), [
    (15.9, True), (16.1, False), (0.0, True), (-0.1, False),
])  # fmt: skip
def test_a_and_b_of_today_are_those_of_sixteen_hours(ago_h: float, counts: bool) -> None:
    case = case_of([poured("a", 50.0, ago_h, "concentrate_a"), poured("acid", 5.0, 2.0)])
    assert [dose.item for dose in fed_today(case)] == (["a"] if counts else [])


@pytest.mark.parametrize(("dose", "counts"), [
    (poured("a", 50.0, 3.0, ""), True), (poured("b", 50.0, 3.0, ""), True),
    (poured("old-a", 50.0, 3.0, "concentrate_a"), True), (poured("old-b", 50.0, 3.0, "concentrate_b"), True),
    (poured("acid", 50.0, 3.0, ""), False), (poured("rain", 50.0, 3.0, "top_up"), False),
])  # fmt: skip
def test_what_was_fed_is_told_by_the_step_or_by_the_bottle(dose: Note, counts: bool) -> None:
    assert bool(fed_today(case_of([dose]))) is counts


def test_the_a_and_b_of_a_fill_are_no_feeding() -> None:
    fill = poured("rain", 320.0, 8.0, "change_out", correction="k1")
    with_it = poured("a", 300.0, 5.0, "concentrate_a", correction="k1")
    before_read = poured("b", 300.0, 7.0, "concentrate_b")
    after_read = poured("a", 30.0, 4.0, "concentrate_a", correction="k2")
    found = fed_today(case_of([fill, before_read, ec(1.7, 6.0), with_it, after_read]))
    assert [(dose.item, dose.ml) for dose in found] == [("a", 30.0)]
    assert fed_today(case_of([fill, before_read, after_read])) == []
    before_fill = poured("a", 40.0, 9.0, "concentrate_a")
    assert fed_today(case_of([before_fill, fill, ec(1.7, 6.0)])) == []
    two_hands = [poured("rain", 320.0, 8.0, "change_out"), ec(1.7, 6.0), poured("a", 30.0, 4.0, "concentrate_a")]
    assert len(fed_today(case_of(two_hands))) == 1


def every(hours: float, *values: float) -> list[Note]:
    """Conductivities at so many hours from one to the next, the last one so long ago too."""
    return [ec(value, hours * (len(values) - n)) for n, value in enumerate(values)]


@pytest.mark.parametrize(("records", "per_day"), [
    (every(24.0, 2.0, 1.9, 1.8, 1.7), -0.1),
    (every(24.0, 1.7, 1.8, 2.0, 2.05), 0.1),
    (every(24.0, 2.0, 1.9, 1.8), None),
    (every(8.0, 2.0, 1.9, 1.8, 1.7), -0.3),
    (every(7.9, 2.0, 1.9, 1.8, 1.7), None),
    (every(72.0, 2.0, 1.9, 1.8, 1.7), -0.1 / 3.0),
    (every(72.1, 2.0, 1.9, 1.8, 1.7), None),
    (every(24.0, 1.0, 1.5, 2.0, 2.5), 0.5),
    (every(24.0, 1.0, 1.51, 2.02, 2.53), None),
    (every(24.0, 2.5, 1.9, 1.8, 1.7, 1.6), -0.1),
    ([*every(24.0, 2.0, 1.9, 1.8, 1.7), poured("rain", 5.0, 60.0, "top_up")], None),
    ([*every(24.0, 2.0, 1.9, 1.8, 1.7), ph(5.8, 60.0)], -0.1),
    ([ec(2.0, 337.0), ec(1.9, 313.0), ec(1.8, 289.0), ec(1.7, 265.0)], None),
    ([ec(2.0, 336.0), ec(1.9, 312.0), ec(1.8, 288.0), ec(1.7, 264.0)], -0.1),
])  # fmt: skip
def test_how_the_conductivity_drifts_in_a_day(records: list[Note], per_day: float | None) -> None:
    """The median of three or more stretches of 8 to 72 hours with nothing poured, none steeper than 0.5, of 14 days."""
    found = ec_per_day(case_of(records))
    assert found == (None if per_day is None else pytest.approx(per_day))


@pytest.mark.parametrize(("next_h", "then"), [(24.0, 1.7), (12.0, 1.75), (48.0, 1.6), (96.0, 1.6)])
def test_where_the_conductivity_will_be_at_the_next_round(next_h: float, then: float) -> None:
    """1.8 that falls by 0.1 a day; further than 48 hours nothing is foreseen."""
    farm = a_farm(waters=(rain_water(),), limits=Limits(next_round_h=next_h))
    assert ec_by_next_round(case_of(every(24.0, 2.1, 2.0, 1.9, 1.8), farm=farm), 1.8) == pytest.approx(then)
    assert ec_by_next_round(case_of(farm=farm), 1.8) is None


@pytest.mark.parametrize(("records", "count"), [
    ([], 1), ([ph(5.8, 0.0)], 1), ([ph(5.8, 0.0), ph(5.8, 0.25)], 2), ([ph(5.8, 0.0), ph(5.8, 0.5)], 2),
    ([ph(5.8, 0.0), ph(5.8, 0.5 + SECOND)], 1), ([ec(1.8, 0.0), ec(1.8, 0.1)], 1),
    ([ph(5.8, 0.0), ph(5.8, 0.1), ph(5.8, 0.3)], 3),
    ([ph(5.8, 0.4), poured("acid", 1.0, 0.2), ph(5.8, 0.1), ph(5.8, 0.0)], 2),
    ([ph(5.8, 0.4), poured("rain", 9.0, 0.2, "top_up"), ph(5.8, 0.0)], 1),
])  # fmt: skip
def test_dips_of_the_last_half_hour_since_anything_was_poured(records: list[Note], count: int) -> None:
    assert dips(case_of(records)) == count


@pytest.mark.parametrize(("amounts", "usual"), [
    ([], None), ([5.0], None), ([5.0, 9.0], None), ([9.0, 5.0, 7.0], 7.0), ([9.0, 5.0, 7.0, 8.0], 8.0),
    ([9.0, 5.0, 7.0, 0.0], 7.0), ([9.0, 5.0, 0.0], None),
])  # fmt: skip
def test_the_usual_dose_is_the_middle_of_three_or_more(amounts: list[float], usual: float | None) -> None:
    records = [poured("acid", amount, 24.0 * (n + 1)) for n, amount in enumerate(amounts)]
    assert usual_ml(case_of(records), ["acid"]) == usual
    assert usual_ml(case_of(records), ["base"]) is None


def test_the_acid_of_a_fill_is_no_usual_dose() -> None:
    fill = [poured("rain", 320.0, 100.0, "change_out"), poured("acid", 90.0, 99.0), ph(6.2, 98.0)]
    trims = [poured("acid", 5.0, hours) for hours in (72.0, 48.0, 24.0)]
    assert usual_ml(case_of([*fill, *trims]), ["acid"]) == 5.0
    assert usual_ml(case_of([*fill, *trims[1:]]), ["acid"]) is None
