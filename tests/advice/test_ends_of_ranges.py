"""The ends of what is believed of readings, bands and buffers, and the words that readings are given: by table."""

from __future__ import annotations

import msgspec
import pytest
from light_cases import RAIN, case_of, dip, ec, note, ph, poured, read, told
from light_farm import MORNING, Note, a_farm, buffer_dip, hard_water, rain_water

from rounds.advice.buffers import buffer_at, buffer_dip_verdict
from rounds.advice.correction import correct
from rounds.advice.gates import unbelievable
from rounds.advice.level_fall import far_fall, level_fell, looked_lately
from rounds.advice.meanings import dead_cell, ec_jump, meanings
from rounds.advice.misread import far_from_before
from rounds.errors import BadInput, OutOfRange
from rounds.farm.farm import Farm


@pytest.mark.parametrize(("name", "low", "high", "past"), [
    ("ph", 2.0, 11.0, 0.01), ("second_meter_ph", 2.0, 11.0, 0.01), ("ec_ms_cm", 0.0, 12.0, 0.01),
    ("temperature_c", 0.5, 40.0, 0.1),
])  # fmt: skip
def test_a_reading_that_no_reservoir_has_makes_no_case(name: str, low: float, high: float, past: float) -> None:
    for value in (low, high):
        assert getattr(case_of(readings=read(**{name: value})).readings, name) == value
    for value in (low - past, high + past, float("nan"), float("inf")):
        with pytest.raises(OutOfRange) as refused:
            case_of(readings=read(**{name: value}))
        assert f"{low:g} to {high:g}" in (refused.value.hint or "")


@pytest.mark.parametrize(("band", "sound"), [
    ((4.0, 8.0), True), ((3.9, 6.0), False), ((5.5, 8.1), False), ((5.5, 5.6), True),
])  # fmt: skip
def test_a_ph_band_lies_between_4_and_8(band: tuple[float, float], sound: bool) -> None:
    farm = a_farm(ph=band)
    if sound:
        assert case_of(farm=farm).stage.ph == band
    else:
        with pytest.raises(OutOfRange, match="pH band"):
            case_of(farm=farm)


@pytest.mark.parametrize(("band", "sound"), [
    ((0.0, 8.0), True), ((-0.1, 1.0), False), ((1.4, 8.1), False), ((7.9, 8.0), True),
])  # fmt: skip
def test_an_ec_band_lies_between_0_and_8(band: tuple[float, float], sound: bool) -> None:
    farm = a_farm(ec=band)
    if sound:
        assert case_of(farm=farm).stage.ec == band
    else:
        with pytest.raises(OutOfRange, match="EC band"):
            case_of(farm=farm)


def test_a_dip_a_volume_and_the_book_tell_the_litres_and_how_sure_they_are() -> None:
    """6 L/cm: half a centimetre is 3 L; litres that were read are good to 3 %, the book to 15 %."""
    dipped = case_of(readings=read(volume_l=None, dip_cm=45.0))
    assert (dipped.inside_l, dipped.inside_error_l, dipped.was_dipped) == pytest.approx((270.0, 3.0, True))
    litres = case_of(readings=read(volume_l=250.0))
    assert (litres.inside_l, litres.inside_error_l, litres.was_dipped) == pytest.approx((250.0, 7.5, True))
    book = case_of([dip(40.0, 30.0)], read(volume_l=None))
    assert (book.inside_l, book.inside_error_l, book.was_dipped) == pytest.approx((240.0, 36.0, False))
    nothing = case_of(readings=read(volume_l=None))
    assert (nothing.inside_l, nothing.inside_error_l, nothing.was_dipped) == pytest.approx((300.0, 45.0, False))
    both = case_of(readings=read(volume_l=250.0, dip_cm=45.0))
    assert both.inside_l == pytest.approx(270.0)
    empty = case_of([dip(0.5, 30.0)], read(volume_l=None))
    assert empty.inside_l == pytest.approx(0.05 * 300.0)


def test_what_circulates_and_how_surely() -> None:
    """250 L read to 3 % (nine in ten: 1.645 standard deviations), 20 L of channels, roots and pipes to 15 %."""
    case = case_of(readings=read(volume_l=250.0))
    assert case.outside_l == 10.0 + 4.0 + 6.0
    assert case.volume_l == 270.0
    assert case.volume_sd_l == pytest.approx(((7.5 / 1.645) ** 2 + (0.15 * 20.0) ** 2) ** 0.5)
    assert case.turnover_min == pytest.approx(270.0 / 20.0)


@pytest.mark.parametrize(("litres", "sound"), [(360.0, True), (360.3, True), (360.5, False), (0.0, False), (0.1, True)])
def test_litres_that_the_reservoir_cannot_hold_make_no_case(litres: float, sound: bool) -> None:
    if sound:
        assert case_of(readings=read(volume_l=litres)).inside_l == litres
    else:
        with pytest.raises(OutOfRange, match="cannot hold"):
            case_of(readings=read(volume_l=litres))


@pytest.mark.parametrize(("tolerance", "sd"), [(0.1, 0.05), (0.2, 0.1), (0.06, 0.03), (0.02, 0.03), (2.0, 1.0)])
def test_a_ph_is_as_sure_as_its_meter_but_never_surer_than_0_03(tolerance: float, sd: float) -> None:
    assert case_of(farm=a_farm(ph_tolerance=tolerance)).ph_sd == pytest.approx(sd)


@pytest.mark.parametrize("tolerance", [0.0, -0.1, 2.1, float("nan")])
def test_a_tolerance_that_cannot_be_makes_no_case(tolerance: float) -> None:
    with pytest.raises(BadInput, match="tolerance"):
        case_of(farm=a_farm(ph_tolerance=tolerance))


def test_a_meter_that_says_nothing_of_itself_is_as_good_as_usual() -> None:
    """Usual half widths are 0.1 of the pH and 0.05 mS/cm; the stick of the light farm says 0.04."""
    assert case_of(readings=read(ec_meter="stick")).ec_sd == pytest.approx(0.02)
    assert case_of(readings=read(ec_meter=None)).ec_sd == pytest.approx(0.02)
    assert case_of(readings=read(ec_meter="pen")).ec_sd == pytest.approx(0.025)
    assert case_of(readings=read(ph_meter="stick")).ph_sd == pytest.approx(0.05)
    assert case_of(readings=read(ph_meter="stick"), farm=a_farm(ph_tolerance=0.3)).ph_sd == pytest.approx(0.05)
    assert case_of(readings=read(ph_meter=None), farm=a_farm(ph_tolerance=0.3)).ph_sd == pytest.approx(0.15)


def test_where_no_temperature_was_read_it_has_20_degrees() -> None:
    assert case_of(readings=read(temperature_c=None)).temperature_c == 20.0
    assert case_of(readings=read(temperature_c=17.5)).temperature_c == 17.5


@pytest.mark.parametrize(("value", "believed"), [
    (3.5, True), (3.49, False), (9.0, True), (9.01, False), (6.0, True), (None, True),
])  # fmt: skip
def test_a_feed_has_a_ph_from_3_5_to_9(value: float | None, believed: bool) -> None:
    found = unbelievable(case_of(readings=read(ph=value)))
    assert (found is None) is believed
    assert found is None or found.code == "reading-unbelievable"


@pytest.mark.parametrize(("buffer", "at_c", "due"), [
    (7.0, 10.0, 7.06), (7.0, 25.0, 7.00), (4.01, 25.0, 4.01), (10.01, 10.0, 10.18), (7.0, 22.5, 7.01), (7.0, 0.0, 7.09),
    (7.0, 45.0, 6.99), (7.0, 5.0, 7.09), (7.0, 30.0, 6.99), (6.86, 25.0, 6.86), (6.86, 10.0, 6.92), (4.0, 25.0, 4.0),
    (7.3, 25.0, 7.3), (10.0, 12.5, 10.14),
])  # fmt: skip
def test_what_a_buffer_has_at_a_temperature(buffer: float, at_c: float, due: float) -> None:
    """Between the rows straight; a bottle of 6.86 goes along with that of 7, as far off as its label says."""
    assert buffer_at(buffer, at_c) == pytest.approx(due, abs=0.006)


@pytest.mark.parametrize("buffer", [4.31, 3.69, 7.31, 6.69, 9.69, 10.32])
def test_a_buffer_further_than_0_3_from_4_7_and_10_is_none(buffer: float) -> None:
    with pytest.raises(OutOfRange):
        buffer_at(buffer, 25.0)


@pytest.mark.parametrize(("shown", "at_c", "tolerance"), [
    (-0.01, 25.0, 0.1), (14.01, 25.0, 0.1), (7.0, -0.1, 0.1), (7.0, 45.1, 0.1), (7.0, 25.0, 0.0), (7.0, 25.0, 0.51),
    (7.0, float("nan"), 0.1),
])  # fmt: skip
def test_a_dip_beyond_the_ends_is_not_judged(shown: float, at_c: float, tolerance: float) -> None:
    with pytest.raises(OutOfRange):
        buffer_dip_verdict(shown, 7.0, at_c, tolerance)


@pytest.mark.parametrize(("shown", "at_c", "tolerance", "word"), [
    (7.1, 25.0, 0.1, None), (6.9, 25.0, 0.1, None), (7.11, 25.0, 0.1, "0.11 too high"),
    (6.89, 25.0, 0.1, "0.11 too low"), (7.5, 25.0, 0.5, None), (7.09, 0.0, 0.1, None), (6.99, 45.0, 0.1, None),
    (0.0, 25.0, 0.1, "7.00 too low"), (14.0, 25.0, 0.1, "7.00 too high"),
])  # fmt: skip
def test_a_dip_passes_within_its_tolerance(shown: float, at_c: float, tolerance: float, word: str | None) -> None:
    found = buffer_dip_verdict(shown, 7.0, at_c, tolerance)
    if word is None:
        assert found is None
    else:
        assert found is not None and found.severity == "stop" and word in told(found)


def said(records: list[Note], farm: Farm = RAIN, **readings: object) -> set[str]:
    return {finding.code for finding in meanings(case_of(records, read(**readings), farm))}


@pytest.mark.parametrize(("level_cm", "value", "code"), [
    (52.0, 1.91, "thirsty"), (52.0, 1.69, "hungry"), (50.0, 1.69, "raw-water"), (50.0, 1.91, None),
    (52.0, 1.90, None), (52.0, 1.70, None), (51.4, 1.91, None), (51.6, 1.91, "thirsty"), (51.6, 1.69, "hungry"),
    (51.4, 1.69, "raw-water"),
    (51.5, 1.91, None), (51.5, 1.69, "raw-water"), (48.6, 1.69, "raw-water"), (48.4, 1.69, None), (48.0, 1.91, None),
])  # fmt: skip
def test_conductivity_and_level_together_say_what_the_plants_do(
    level_cm: float, value: float, code: str | None
) -> None:
    """From 1.8 mS/cm a day ago by more than 6 %, from so many cm to 50 cm by more than 3 % of 300 L: 1.5 cm."""
    codes = {"thirsty", "hungry", "raw-water"}
    before = [ec(1.8, 24.0), dip(level_cm, 24.0)]
    found = said(before, ec_ms_cm=value, volume_l=None, dip_cm=50.0)
    assert found & codes == ({code} if code else set())
    assert not said(before, ec_ms_cm=None, volume_l=None, dip_cm=50.0) & codes
    assert not said(before, ec_ms_cm=value, volume_l=None) & codes
    assert not said([*before, poured("a", 5.0, 10.0, "concentrate_a")], ec_ms_cm=value, volume_l=None, dip_cm=50.0) & (
        codes
    )
    assert not said([before[1]], ec_ms_cm=value, volume_l=None, dip_cm=50.0) & codes
    assert not said([before[0]], ec_ms_cm=value, volume_l=None, dip_cm=50.0) & codes


@pytest.mark.parametrize(("ago_h", "counts"), [(6.0, True), (5.99, False), (72.0, True), (72.01, False)])
def test_the_level_before_is_that_of_the_round_before(ago_h: float, counts: bool) -> None:
    before = [ec(1.8, 24.0), dip(52.0, ago_h)]
    assert ("thirsty" in said(before, ec_ms_cm=2.0, volume_l=None, dip_cm=50.0)) is counts


@pytest.mark.parametrize(("at_c", "code", "severity"), [
    (24.0, None, None), (24.1, "warm", "note"), (26.0, "warm", "note"), (26.1, "warm", "act"), (15.0, None, None),
    (14.9, "cold", "note"), (None, "temperature-assumed", "note"),
])  # fmt: skip
def test_a_feed_too_warm_or_too_cold_is_named(at_c: float | None, code: str | None, severity: str | None) -> None:
    found = [
        each for each in meanings(case_of(readings=read(temperature_c=at_c)))
        if each.code in ("warm", "cold", "temperature-assumed")
    ]  # fmt: skip
    assert [(each.code, each.severity) for each in found] == ([(code, severity)] if code else [])


@pytest.mark.parametrize(("value", "dead"), [(0.09, True), (0.1, False), (None, False), (0.0, True)])
def test_less_than_0_1_is_no_feed_where_there_was_one(value: float | None, dead: bool) -> None:
    assert (dead_cell(case_of([ec(1.8, 24.0)], read(ec_ms_cm=value))) is not None) is dead
    assert dead_cell(case_of([], read(ec_ms_cm=value))) is None
    assert dead_cell(case_of([ec(0.09, 24.0)], read(ec_ms_cm=value))) is None
    assert (dead_cell(case_of([ec(0.1, 24.0)], read(ec_ms_cm=value))) is not None) is dead
    renewed = [ec(1.8, 24.0), poured("rain", 320.0, 5.0, "change_out")]
    assert dead_cell(case_of(renewed, read(ec_ms_cm=value))) is None
    assert (dead_cell(case_of([*renewed, ec(1.6, 3.0)], read(ec_ms_cm=value))) is not None) is dead
    assert dead_cell(case_of([ec(1.8, 0.0)], read(ec_ms_cm=value))) is None


def test_a_dead_cell_names_the_last_conductivity_of_a_feed() -> None:
    found = dead_cell(case_of([ec(1.5, 48.0), ec(1.8, 24.0), ec(0.05, 1.0)], read(ec_ms_cm=0.04)))
    assert found is not None and "EC 0.04 mS/cm after 1.80" in told(found) and found.severity == "act"


@pytest.mark.parametrize(("then", "jumped"), [(2.41, True), (2.40, False), (1.19, True), (1.21, False), (1.8, False)])
def test_a_conductivity_that_jumps_by_more_than_0_6_is_read_again(then: float, jumped: bool) -> None:
    assert (ec_jump(case_of([ec(then, 24.0)])) is not None) is jumped
    assert ec_jump(case_of([ec(then, 24.0), ec(1.85, 0.5)])) is None
    assert ec_jump(case_of([ec(then, 24.0), poured("a", 5.0, 3.0, "concentrate_a")])) is None
    assert ec_jump(case_of([ec(then, 24.0)], read(ec_ms_cm=None))) is None
    assert ec_jump(case_of()) is None


@pytest.mark.parametrize(("then", "jumped"), [(6.61, True), (6.59, False), (4.99, True), (5.01, False)])
def test_a_ph_that_jumps_by_more_than_0_8_is_read_again(then: float, jumped: bool) -> None:
    assert (far_from_before(case_of([ph(then, 24.0)])) is not None) is jumped
    assert far_from_before(case_of([ph(then, 24.0), ph(5.9, 0.5)])) is None
    assert far_from_before(case_of([ph(then, 24.0), poured("acid", 5.0, 3.0)])) is None
    assert far_from_before(case_of([ph(then, 24.0)], read(ph=None))) is None
    assert far_from_before(case_of()) is None


def test_waters_that_do_not_balance_are_named_with_what_is_missing() -> None:
    """Ten mmol/L of calcium on top lack as many anions; without any calcium cations lack."""
    more = a_farm(waters=(msgspec.structs.replace(hard_water(), ca_mg_l=200.0),))
    less = a_farm(waters=(rain_water(), msgspec.structs.replace(hard_water(), ca_mg_l=20.0)))
    for farm, word in ((more, "anions"), (less, "cations")):
        (found,) = [each for each in meanings(case_of(farm=farm)) if each.code == "water-unbalanced"]
        assert "Well water" in told(found) and f"% of the {word} are missing" in told(found)
    assert "water-unbalanced" not in said([])


def test_an_analysis_is_named_from_5_percent_of_imbalance_on() -> None:
    """Every 2 mg/L more of calcium add 0.1 meq/L of cations."""
    seen = set()
    for ca in range(84, 110, 2):
        farm = a_farm(waters=(msgspec.structs.replace(hard_water(), ca_mg_l=float(ca)),))
        off = abs(case_of(farm=farm).waters[0].imbalance_percent)
        assert ("water-unbalanced" in said([], farm)) is (off > 5.0), (ca, off)
        seen.add(round(off) // 2)
    assert {1, 2, 3} <= seen, "between 2 and 8 percent"


@pytest.mark.parametrize(("pump", "small"), [(2.66, True), (2.67, False), (20.0, False)])
def test_a_pump_that_needs_more_than_six_hours_for_three_turnovers_is_too_small(pump: float, small: bool) -> None:
    """3 x 320 L in 6 h are 160 L/h: 2.667 L/min."""
    assert ("pump-too-small" in said([], a_farm(waters=(rain_water(),), pump_l_min=pump))) is small


RISING = [ec(value, 24.0 * (4 - n)) for n, value in enumerate((1.68, 1.78, 1.88, 1.98))]
"""By 0.1 mS/cm a day."""


@pytest.mark.parametrize(("value", "rises"), [(2.11, False), (2.13, True), (2.2, True), (2.21, False), (1.9, False)])
def test_a_conductivity_in_band_that_will_be_above_it_is_foretold(value: float, rises: bool) -> None:
    """The band ends at 2.2; the meter is good to 0.02 as a standard deviation."""
    assert ("ec-rises" in said(RISING, ec_ms_cm=value)) is rises


@pytest.mark.parametrize(("strength", "off"), [(1.38, False), (1.42, True), (0.62, False), (0.58, True)])
def test_a_book_that_is_40_percent_off_is_named_once_there_is_a_change_out(strength: float, off: bool) -> None:
    fill = [poured("rain", 320.0, 30.0, "change_out"), poured("a", 3200.0, 29.0, "concentrate_a"),
            poured("b", 3200.0, 28.0, "concentrate_b")]  # fmt: skip
    book = 1.8 / case_of(fill).strength
    assert ("book-off" in said(fill, ec_ms_cm=round(book * strength, 3))) is off
    assert "book-off" not in said([], ec_ms_cm=round(book * strength, 3))
    assert "book-off" not in said(fill, ec_ms_cm=None)


def gone(records: list[Note], now_cm: float = 45.0, farm: Farm = RAIN) -> object:
    return far_fall(case_of(records, read(volume_l=None, dip_cm=now_cm), farm))


@pytest.mark.parametrize(("before_cm", "hours", "far"), [
    (53.4, 24.0, False), (53.6, 24.0, True), (49.6, 12.0, False), (49.8, 12.0, True), (49.6, 6.0, False),
    (49.8, 6.0, True), (57.0, 36.0, False), (57.4, 36.0, True), (59.9, 72.0, False), (49.8, 2.9, False),
])  # fmt: skip
def test_a_level_that_fell_by_more_than_15_percent_in_a_day_is_far_more(
    before_cm: float, hours: float, far: bool
) -> None:
    """15 % of 300 L are 45 L a day, 7.5 cm, and 1 cm for the stick; under half a day counts as half a day."""
    found = gone([dip(before_cm, hours)])
    assert (found is not None) is far
    if found is not None:
        assert found.litres == pytest.approx((before_cm - 45.0) * 6.0)
        assert found.days == pytest.approx(max(0.5, hours / 24.0))
        assert found.usual_l_day is None and found.added_l == 0.0


def test_what_was_poured_in_between_is_gone_too_and_what_was_drained_is_not() -> None:
    """From 300 L with 60 L poured in and 6 L drained off to 270 L: 84 L are gone."""
    between = [poured("rain", 60.0, 12.0, "top_up"), poured("", 6.0, 11.0, "drain_off")]
    found = gone([dip(50.0, 24.0), *between])
    assert found is not None
    assert found.litres == pytest.approx(84.0) and found.added_l == pytest.approx(54.0)
    text = level_fell(case_of([dip(50.0, 24.0), *between], read(volume_l=None, dip_cm=45.0)))
    assert text is not None and told(text).startswith("84 L are gone in 24 hours (the 54 L poured in between counted)")
    assert gone([dip(50.0, 24.0), poured("rain", 320.0, 12.0, "change_out"), *between]) is None


def test_without_a_dip_nothing_is_said_of_the_level() -> None:
    assert far_fall(case_of([dip(60.0, 24.0)], read(volume_l=None))) is None


@pytest.mark.parametrize(("ago_h", "far"), [(3.0, True), (2.99, False), (0.17, False), (72.0, False)])
def test_the_level_before_is_three_hours_old_or_more(ago_h: float, far: bool) -> None:
    """15 cm are 90 L; three days may take 135."""
    assert (gone([dip(60.0, ago_h)]) is not None) is far


@pytest.mark.parametrize(("ago_min", "far"), [(10, True), (9, False)])
def test_after_something_was_poured_a_level_of_ten_minutes_ago_is_one_before(ago_min: float, far: bool) -> None:
    assert (gone([dip(60.0, ago_min / 60.0), poured("rain", 2.0, 0.1, "top_up")]) is not None) is far


def days_of(*levels_cm: float) -> list[Note]:
    """Levels of the days before the last one, filled up to 50 cm each morning after the dip."""
    found: list[Note] = []
    for n, level in enumerate(levels_cm):
        ago = 24.0 * (len(levels_cm) - n)
        found += [dip(level, ago), poured("rain", (50.0 - level) * 6.0, ago - 0.1, "top_up")]
    return found


@pytest.mark.parametrize(("now_cm", "far"), [(44.1, False), (43.9, True)])
def test_far_more_is_two_and_a_half_times_what_is_usual_here(now_cm: float, far: bool) -> None:
    """2 cm a day are 12 L: 30 L, 5 cm, and 1 cm for the stick."""
    found = gone(days_of(50.0, 48.0, 48.0, 48.0), now_cm)
    assert (found is not None) is far
    if found is not None:
        assert found.usual_l_day == pytest.approx(12.0)


@pytest.mark.parametrize(("now_cm", "far"), [(46.6, False), (46.4, True)])
def test_less_than_5_percent_in_a_day_is_no_leak_however_little_is_usual(now_cm: float, far: bool) -> None:
    """5 % of 300 L are 15 L, 2.5 cm, and 1 cm for the stick."""
    assert (gone(days_of(50.0, 49.9, 49.9, 49.9), now_cm) is not None) is far


def test_two_stretches_are_too_few_for_what_is_usual() -> None:
    found = gone(days_of(50.0, 48.0, 48.0), 40.0)
    assert found is not None and found.usual_l_day is None


def test_the_usual_is_the_middle_one() -> None:
    found = gone(days_of(50.0, 49.0, 48.0, 44.0), 30.0)
    assert found is not None and found.usual_l_day == pytest.approx(12.0)


@pytest.mark.parametrize(("action", "ago_h", "looked"), [
    ("look", 0.0, True), ("look", 3.0, True), ("look", 3.01, False), ("look", -0.01, False), ("circulate", 1.0, False),
])  # fmt: skip
def test_who_looked_for_the_leak_within_three_hours_is_not_asked_again(action: str, ago_h: float, looked: bool) -> None:
    done = note("step", "", None, ago_h, data={"action": action})
    assert looked_lately(case_of([done])) is looked
    farm = a_farm(waters=(rain_water(),))
    found = correct(farm, [dip(60.0, 24.0), done, buffer_dip()], "r", read(volume_l=None, dip_cm=45.0), MORNING)
    assert ("look" in [step.action for step in found.steps]) is not looked


def test_what_is_said_of_a_fall_counts_days_from_a_day_and_a_half_on() -> None:
    def text(hours: float) -> str:
        found = level_fell(case_of([dip(60.0, hours)], read(volume_l=None, dip_cm=30.0)))
        assert found is not None and found.severity == "act"
        return told(found)

    assert text(35.0).startswith("180 L are gone in 35 hours, far more than plants drink: look for a leak")
    assert text(36.0).startswith("180 L are gone in 2 days, far more")
