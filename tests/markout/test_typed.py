"""What people type: units, decimal marks, and a sentence for every mistake, all of them at once."""

import pytest

from rounds.markout.mistakes import SeveralMistakes
from rounds.markout.typed import flows_l_min, lengths_mm, read


def mistakes(typed):
    with pytest.raises(SeveralMistakes) as caught:
        read(typed)
    return {mistake.field: str(mistake) for mistake in caught.value.mistakes}


def test_units_and_bare_numbers_mean_the_same(typed):
    bare = {
        "length": "4,2", "section": "120x60", "slope": "1:40", "spacing": "25cm", "hole": "50", "flow": "72 L/h",
        "first_site": "0.15m", "outlet_clearance": "80", "supports": "4",
    }  # fmt: skip
    assert read(bare) == read(typed)


def test_everything_in_the_form_arrives(full):
    inputs = read(full)
    assert inputs.section.form == "rectangular"
    assert inputs.ground_mm == (0, 12, -5, 8)
    assert inputs.pump_curve == ((0, 4), (10, 3), (20, 0))
    assert (inputs.supply_pipe.diameter_mm, inputs.supply_pipe.length_mm) == (16, 6000)
    assert (inputs.reservoir_l, inputs.working_l, inputs.lift_mm) == (300, 250, 1100)


@pytest.mark.parametrize("section", ["100mm", "round 100 mm", "100", "ø100mm", "10cm"])
def test_one_size_is_a_round_pipe(typed, section):
    read_section = read(typed | {"section": section}).section
    assert (read_section.form, read_section.width_mm) == ("round", 100)


def test_a_pot_gives_the_hole_that_holds_its_rim(typed):
    # 45 mm holes for standard 50 mm pots: common practice.
    del typed["hole"]
    assert read(typed | {"pot": "50mm"}).hole_mm == 45


@pytest.mark.parametrize(("field", "text", "words"), [
    ("length", "0", "not a size"),
    ("length", "-3m", "not a size"),
    ("length", "3000 m", "Did you mean 3000 mm"),
    ("length", "3000", "Did you mean 3000 mm"),
    ("length", "4.2mm", "Did you mean 4.2 m"),
    ("spacing", "250m", "Did you mean 250 mm"),
    ("spacing", "0.25", "Did you mean 0.25 m"),
    ("spacing", "-250mm", "not a size"),
    ("spacing", "40mm", "run into each other"),
    ("hole", "130mm", "wider than the channel"),
    ("hole", "nan", "not a number"),
    ("hole", "1e2", "not known"),
    ("hole", "٤٥", "number"),
    ("section", "0x60mm", "not above 0"),
    ("section", "120x60x20", "more than two"),
    ("slope", "1:0", "none"),
    ("slope", "steep", "not a slope"),
    ("slope", "1:1", "cannot be a channel"),
    ("flow", "-1", "not believable"),
    ("flow", "5 kg", "kind"),
    ("flow", "2 gal", "gallon"),
    ("first_site", "4.1m", "does not fit"),
    ("outlet_clearance", "4.19m", "not believable"),
    ("supports", "0,2000,1000mm", "out of order"),
    ("supports", "0,5000mm", "beyond the channel"),
    ("supports", "1", "cannot carry"),
    ("ground", "1,2,3mm", "3 levels are given for 4 supports"),
    ("pump", "0:1,10:2", "rises"),
    ("pump", "10", "not a point"),
    ("crop", "triffid", "not known"),
    ("channels", "2.5", "whole number"),
    ("plant_last_site", "maybe", "neither yes nor no"),
    ("supply_pipe", "20mm", "not a pipe"),
    ("inlet_tube", "0mm:1m", "above 0"),
    ("temperature", "80", "not believable"),
    ("outlet", "200mm", "does not fit"),
])  # fmt: skip
def test_each_mistake_has_a_sentence_at_its_own_field(typed, field, text, words):
    found = mistakes(typed | {field: text})
    assert words in found[field]


def test_all_mistakes_come_at_once_even_when_some_texts_cannot_be_read(typed):
    wrong = {"length": "3000 m", "hole": "130mm", "slope": "?", "flow": "-1", "supports": "3,2", "pump": "0:1,10:2"}
    assert set(wrong) <= set(mistakes(typed | wrong))


def test_an_empty_form_asks_for_what_is_needed_and_nothing_else():
    assert set(mistakes({})) == {"length", "section", "slope", "flow", "spacing", "hole"}


@pytest.mark.parametrize("changes", [{"hole": "2in"}, {"hole": '2"'}, {"length": "14ft"}, {"spacing": "10 inch"}])
def test_inches_beside_millimetres_are_refused(typed, changes):
    assert any("Inches and millimetres are mixed" in text for text in mistakes(typed | changes).values())


def test_inches_beside_bare_numbers_are_refused_too():
    typed = {"length": "10ft", "section": "4x2in", "slope": "1:40", "spacing": "250", "hole": "2in", "flow": "1"}
    assert any("without a unit" in text for text in mistakes(typed).values())


def test_one_in_forty_is_no_inch(typed):
    assert read(typed | {"slope": "1 in 40"}).run_per_rise == 40


def test_ground_twice_is_one_too_many(typed):
    assert "twice" in mistakes(typed | {"ground": "0,0,0,0", "string": "1,1,1,1"})["ground"]


def test_escape_bytes_never_come_back_in_a_sentence(typed):
    assert "\x1b" not in mistakes(typed | {"slope": "\x1b[31mred"})["slope"]


@pytest.mark.parametrize(("text", "usual", "values"), [
    ("0, 12, -5, 8mm", "mm", (0, 12, -5, 8)),
    ("0 12 -5 8", "mm", (0, 12, -5, 8)),
    ("0,5; 12", "mm", (0.5, 12)),
    ("6m 3m", "m", (6000, 3000)),
    ("6m,3m", "m", (6000, 3000)),
    ("2,4m", "m", (2400,)),
    ("2.4", "m", (2400,)),
])  # fmt: skip
def test_lists_of_lengths(text, usual, values):
    assert lengths_mm(text, usual) == values


def test_a_timed_jug_is_a_flow():
    assert flows_l_min("1L/50s, 1L/60s") == (1.2, 1.0)
    assert flows_l_min("1.15, 1.09 L/min") == (1.15, 1.09)
