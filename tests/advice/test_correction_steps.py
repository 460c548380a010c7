"""The order of the steps, water before bottles, and what each step carries."""

from __future__ import annotations

from datetime import timedelta

import msgspec
import pytest
from light_farm import (
    ACID,
    BASE,
    CONCENTRATES,
    MORNING,
    TRIED,
    Note,
    a_farm,
    blend_water,
    buffer_dip,
    hard_water,
    rain_water,
)

from rounds.advice.correction import Readings, correct
from rounds.book.offer import form_of
from rounds.farm.model import Limits
from rounds.farm.stations import Box


def read(**other):
    return Readings(**{"at": MORNING, "ph": 5.8, "ec_ms_cm": 1.8, "temperature_c": 20.0, "volume_l": 300.0, **other})


def steps(farm, readings, records=None):
    return correct(farm, records if records is not None else [buffer_dip(), *TRIED], "r", readings, MORNING).steps


def actions(found):
    return [step.action for step in found]


def poured(found, action):
    return sum(step.amount for step in found if step.action == action)


def test_in_band_and_full_there_is_nothing_to_do():
    found = correct(a_farm(), [buffer_dip(), *TRIED], "r", read(), MORNING)
    assert found.steps == () and found.refusals == ()


def test_a_trim_goes_water_a_circulate_b_and_acid_last():
    found = actions(steps(a_farm(waters=(rain_water(),)), read(ph=6.4, ec_ms_cm=1.2, volume_l=280.0)))
    order = [found.index(a) for a in ("top_up", "concentrate_a", "concentrate_b", "acid", "recheck")]
    assert order == sorted(order)
    assert "circulate" in found[found.index("concentrate_a") : found.index("concentrate_b")]
    assert "read_again" in found[found.index("concentrate_b") : found.index("acid")]


def test_more_than_a_tenth_of_hard_water_gets_its_acid_before_the_concentrates():
    """At the pH that the acid leaves B may go in; where it stays high, A and B wait until it was read again."""
    found = actions(steps(a_farm(waters=(hard_water(2.0),)), read(ph=6.1, ec_ms_cm=1.5, volume_l=250.0)))
    assert found.index("top_up") < found.index("acid") < found.index("concentrate_a") < found.index("concentrate_b")
    assert "read_again" in found[found.index("top_up") : found.index("acid")]
    high = correct(a_farm(waters=(hard_water(),)), [buffer_dip(), *TRIED], "r",
                   read(ph=6.3, ec_ms_cm=1.5, volume_l=200.0), MORNING)  # fmt: skip
    assert actions(high.steps)[-1] == "recheck" and "concentrate_b" not in actions(high.steps)
    assert "feed-waits" in {f.code for f in high.findings} and poured(high.steps, "acid") > 0.0


@pytest.mark.parametrize(("value", "waits"), [(6.4, False), (6.9, True), (7.2, True)])
def test_b_waits_where_calcium_phosphate_would_fall_out_at_the_ph_it_would_meet(value, waits):
    """Brushite is at its limit near 6.6 with 3 mmol/L of calcium and 1.2 of phosphate: the acid goes in first."""
    found = correct(a_farm(waters=(rain_water(),)), [buffer_dip(), *TRIED], "r", read(ph=value, ec_ms_cm=1.2), MORNING)
    assert ("concentrate_b" not in actions(found.steps)) is waits
    assert ("feed-waits" in {f.code for f in found.findings}) is waits
    assert poured(found.steps, "acid") > 0.0


def test_a_change_out_goes_water_acid_air_a_b_and_is_read_before_it_is_trimmed():
    farm = a_farm(waters=(hard_water(),), ec=(0.9, 1.3))
    found = actions(steps(farm, read(ec_ms_cm=3.2)))
    order = [found.index(a) for a in ("change_out", "acid", "concentrate_a", "concentrate_b", "recheck")]
    assert order == sorted(order)
    assert "circulate" in found[found.index("acid") : found.index("concentrate_a")]


def test_a_change_out_foresees_the_ec_that_its_concentrates_were_measured_for():
    """The strength is worked out for the middle of the band; what is foreseen must come out there."""
    found = steps(a_farm(waters=(hard_water(),), ec=(0.9, 1.3)), read(ec_ms_cm=3.2))
    after_b = next(step.after for step in found if step.action == "concentrate_b")
    assert after_b.ec_ms_cm.value == pytest.approx(1.1, abs=0.1)


def test_too_strong_is_thinned_with_plain_water_while_there_is_room():
    found = steps(a_farm(waters=(rain_water(),)), read(ec_ms_cm=2.35, volume_l=290.0))
    assert actions(found)[0] == "top_up" and "drain_off" not in actions(found)
    assert found[0].after.ec_ms_cm.value < 2.2


def test_too_strong_and_full_is_drained_first():
    found = steps(a_farm(waters=(rain_water(),), full_volume_l=301.0), read(ec_ms_cm=2.5))
    assert actions(found)[:2] == ["drain_off", "top_up"]
    assert found[1].after.volume_l.value == pytest.approx(320.0, abs=2.0)


def test_far_too_strong_and_full_is_changed_out():
    found = steps(a_farm(waters=(rain_water(),), full_volume_l=301.0, ec=(0.9, 1.3)), read(ec_ms_cm=3.5))
    assert actions(found)[0] == "change_out"


def test_no_water_weak_enough_is_said_and_nothing_is_poured():
    strong = msgspec.structs.replace(hard_water(), ec_ms_cm=2.4)
    found = correct(a_farm(waters=(strong,), ec=(0.9, 1.3)), [buffer_dip(), *TRIED], "r", read(ec_ms_cm=2.0), MORNING)
    assert "top_up" not in actions(found.steps)
    assert "no-weak-water" in {r.code for r in found.refusals}


def test_hard_water_is_the_base_where_there_is_room():
    found = steps(a_farm(waters=(rain_water(), hard_water())), read(ph=5.15))
    assert actions(found)[0] == "top_up" and {s.product for s in found if s.action == "top_up"} >= {"well"}
    assert "base" not in actions(found)


def test_without_room_or_hard_water_the_bottle_is_the_base():
    found = steps(a_farm(waters=(rain_water(),), full_volume_l=301.0), read(ph=5.15))
    assert "base" in actions(found)


def test_low_ph_and_low_level_take_the_harder_water_and_high_ph_the_softer():
    farm = a_farm(waters=(rain_water(), hard_water()))
    low = {s.product for s in steps(farm, read(ph=5.2, volume_l=285.0)) if s.action == "top_up"}
    high = {s.product for s in steps(farm, read(ph=6.4, volume_l=285.0)) if s.action == "top_up"}
    assert "well" in low and high == {"rain"}


def test_a_blend_worked_out_here_is_poured_part_by_part():
    farm = a_farm(waters=(rain_water(), hard_water()))
    found = [s for s in steps(farm, read(ph=5.7, volume_l=270.0)) if s.action == "top_up"]
    assert {s.product for s in found} <= {"rain", "well"}
    assert sum(s.amount for s in found) == pytest.approx(30.0, abs=1.0)


def test_the_conductivity_is_raised_by_at_most_a_step_and_by_half_of_it_for_young_plants():
    grown = steps(a_farm(waters=(rain_water(),)), read(ec_ms_cm=0.9))
    young = steps(a_farm(waters=(rain_water(),), young=True), read(ec_ms_cm=0.9))
    assert grown[-1].after.ec_ms_cm.value == pytest.approx(1.2, abs=0.03)
    assert young[-1].after.ec_ms_cm.value == pytest.approx(1.05, abs=0.03)


def test_a_and_b_are_poured_in_the_proportion_of_the_feed():
    found = steps(a_farm(waters=(rain_water(),)), read(ec_ms_cm=1.2))
    assert poured(found, "concentrate_a") == poured(found, "concentrate_b") > 0.0


def test_young_plants_get_half_of_the_growers_own_ph_step():
    limits = Limits(step_ph=0.06)
    full = {"waters": (rain_water(),), "full_volume_l": 301.0, "ph_tolerance": 0.06, "limits": limits}
    records = [
        Note(kind="reading", item="ph", value=6.8, measured_at=MORNING - timedelta(days=d), id=f"d{d}") for d in (2, 1)
    ]
    grown = steps(a_farm(**full), read(ph=6.8), [*records, buffer_dip(), *TRIED])
    young = steps(a_farm(**full, young=True), read(ph=6.8), [*records, buffer_dip(), *TRIED])
    assert 0.0 < poured(young, "acid") < 0.75 * poured(grown, "acid")


def test_the_days_limit_ends_the_day():
    limits = Limits(day_ph=0.3)
    records = [
        buffer_dip(MORNING - timedelta(hours=5)),
        Note(kind="reading", item="ph", value=7.1, measured_at=MORNING - timedelta(hours=4), id="a"),
        Note(kind="dose", item="acid", value=30.0, unit="mL", measured_at=MORNING - timedelta(hours=3.9),
             data={"action": "acid"}, id="b"),
    ]  # fmt: skip
    farm = a_farm(waters=(rain_water(),), full_volume_l=301.0, limits=limits)
    found = correct(farm, records, "r", read(ph=6.75), MORNING)
    assert "acid" not in actions(found.steps)
    assert "day-limit" in {r.code for r in found.refusals}


def test_a_mixture_that_would_throw_down_is_named():
    """Hard water into a full-strength feed at pH 7.7, calcium phosphate: common knowledge of the trade."""
    found = correct(
        a_farm(waters=(hard_water(),), ec=(2.2, 2.6)),
        [buffer_dip(), *TRIED],
        "r",
        read(ph=7.7, ec_ms_cm=2.4, volume_l=280.0),
        MORNING,
    )
    calm = correct(a_farm(waters=(rain_water(),)), [buffer_dip(), *TRIED], "r", read(ph=5.8, ec_ms_cm=1.2), MORNING)
    assert any(f.code == "throws-down" and "calcium phosphate" in f.text for f in found.findings)
    assert "throws-down" not in {f.code for f in calm.findings}


def test_every_acid_step_carries_its_cautions():
    (acid,) = [s for s in steps(a_farm(full_volume_l=301.0), read(ph=7.0)) if s.action == "acid"]
    said = " ".join(acid.cautions)
    for word in ("Acid into water", "15 minutes", "bleach", "oggles", "metals", "codes"):
        assert word in said


def test_every_base_step_carries_its_own():
    farm = a_farm(waters=(rain_water(),), full_volume_l=301.0)
    (base,) = [s for s in steps(farm, read(ph=5.15)) if s.action == "base"]
    said = " ".join(base.cautions)
    for word in ("worse for eyes", "aluminium", "ammonia", "15 minutes"):
        assert word in said


def test_a_mild_base_step_raises_no_alarm_of_lye():
    mild = msgspec.structs.replace(BASE, agent="potassium_hydrogen_carbonate")
    farm = a_farm(waters=(rain_water(),), full_volume_l=301.0, products=(*CONCENTRATES, ACID, mild))
    (base,) = [s for s in steps(farm, read(ph=5.15)) if s.action == "base"]
    said = " ".join(base.cautions)
    assert "foams" in said and "eyes" in said
    for word in ("boil", "Pellets", "worse", "ammonia"):
        assert word not in said


def test_a_and_b_never_meet_undiluted():
    found = steps(a_farm(waters=(rain_water(),)), read(ec_ms_cm=1.2))
    for step in found:
        if step.action.startswith("concentrate"):
            assert "Never A and B undiluted" in " ".join(step.cautions)


def test_waits_are_turnovers_of_the_circulating_volume():
    (acid,) = [s for s in steps(a_farm(full_volume_l=301.0), read(ph=7.0)) if s.action == "acid"]
    assert acid.wait_min == pytest.approx(3 * 320.0 / 20.0, abs=1.0)


def test_what_comes_back_when_the_co2_has_left_is_said_beside_the_recheck():
    found = correct(a_farm(full_volume_l=301.0), [buffer_dip(), *TRIED], "r", read(ph=7.0), MORNING)
    tomorrow = found.prediction["next_morning"]["ph"]
    assert found.steps[-1].action == "recheck"
    assert f"expect pH {tomorrow['value']:.1f}" in found.steps[-1].why


def test_the_working_can_be_opened():
    found = correct(a_farm(full_volume_l=301.0), [buffer_dip(), *TRIED], "r", read(ph=7.0), MORNING)
    (acid,) = [s for s in found.steps if s.action == "acid"]
    assert f"{acid.amount:g} mL x 1.30 meq/mL / 320 L = {acid.amount * 1.3 / 320.0:.3f} meq/L" in acid.explain
    said = " ".join(found.explain)
    for word in ("Circulating volume", "PHREEQC", "times the air's", "Phosphate believed"):
        assert word in said


def test_the_json_form_is_versioned_and_has_the_keys_of_its_contract():
    form = form_of(correct(a_farm(), [], "r", read(ph=7.0, ec_ms_cm=1.1, volume_l=260.0), MORNING))
    assert form["format"] == 1
    assert set(form["assumed"]) == {"volume_l", "ph", "ec_ms_cm", "temperature_c", "alkalinity_meq_l"}
    assert form["steps"]
    for step in form["steps"]:
        assert {"action", "product", "amount", "unit", "wait_min", "cautions", "after"} <= set(step)
        for name in ("volume_l", "ph", "ec_ms_cm"):
            span = step["after"][name]
            assert span["low"] <= span["value"] <= span["high"]


def test_a_dip_becomes_litres_with_its_error():
    found = correct(a_farm(), [buffer_dip(), *TRIED], "r", read(volume_l=None, dip_cm=50.0), MORNING)
    assert found.assumed.volume_l == pytest.approx(300.0 + 20.0)


def test_the_blend_of_the_farm_is_one_can():
    farm = a_farm(waters=(blend_water(), hard_water(), rain_water()))
    found = [s for s in steps(farm, read(ph=5.5, volume_l=285.0)) if s.action == "top_up"]
    assert [s.product for s in found] == ["blend"]


def test_stock_acid_is_allowed_at_the_change_out_of_a_large_reservoir_only():
    strong = msgspec.structs.replace(
        ACID, id="strong", molarity_mol_l=None, percent=53.0, density_kg_l=1.33, working=False
    )
    shelf = (*CONCENTRATES, ACID, strong, BASE)
    large = {"full_volume_l": 900.0, "working_volume_l": 800.0, "shape": Box(length_cm=100.0, width_cm=100.0)}
    small_farm = a_farm(waters=(hard_water(),), products=shelf, ec=(0.9, 1.3), full_volume_l=301.0)
    large_farm = a_farm(waters=(hard_water(),), products=shelf, ec=(0.9, 1.3), **{**large, "full_volume_l": 801.0})
    small = [s for s in steps(small_farm, read(ec_ms_cm=3.2)) if s.action == "acid"]
    big = [s for s in steps(large_farm, read(ec_ms_cm=3.2, volume_l=800.0)) if s.action == "acid"]
    assert {s.product for s in small} == {"acid"}
    assert {s.product for s in big} == {"strong"} and "apron" in big[0].cautions[0]


def test_a_reading_within_a_correction_is_asked_for_when_the_gate_takes_it_and_not_before():
    """Three turnovers mix to 95 % (1 - exp(-3)): a reading before that would be refused."""
    found = steps(a_farm(waters=(hard_water(),)), read(ph=6.3, ec_ms_cm=1.5, volume_l=200.0))
    at = actions(found).index("read_again")
    circulated = found[at - 1]
    volume_l = circulated.after.volume_l.value
    assert circulated.action == "circulate"
    assert circulated.wait_min == pytest.approx(3.0 * volume_l / 20.0, rel=0.05)
