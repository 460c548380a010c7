"""What the advice says: codes with values first, words last, from one catalogue; all of it is kept with the record."""

from __future__ import annotations

import ast
import json
import re
import string
from pathlib import Path

import msgspec
import pytest
from light_farm import MORNING, Note, a_farm, buffer_dip

import rounds.advice
from rounds.advice.catalogue import PARTS, TEXTS
from rounds.advice.correction import Correction, Readings, correct
from rounds.advice.wording import worded, words
from rounds.book.message import Message, say, sentences
from rounds.book.offer import Finding, Refusal, Step, form_of
from rounds.book.offered import Offer

ROOM = Path(rounds.advice.__file__).parent
Said = tuple[str, str, frozenset[str]]
"""How it is said, its code, the names of its values."""
SAYING = frozenset({"say", "note", "act", "stop", "refused"})
FROM_ELSEWHERE = frozenset({"sentences"})
"""Said by `book/message` itself."""


def said_in(tree: ast.AST) -> set[Said]:
    """Every message that a module puts together."""
    calls = [node for node in ast.walk(tree) if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)]
    found = set()
    for call in calls:
        if call.func.id in SAYING:
            code, names = call.args[0], frozenset(each.arg for each in call.keywords)
            assert isinstance(code, ast.Constant) and None not in names, "code and names stand where it is said"
            found.add((call.func.id, code.value, names - {"about"}))
    return found


def fields_of(text: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(text) if name is not None}


def all_said() -> set[Said]:
    trees = [ast.parse(path.read_text(encoding="utf-8")) for path in ROOM.glob("*.py")]
    elsewhere = ROOM.parent / "mixing" / "change_out.py"
    return set().union(*map(said_in, [*trees, ast.parse(elsewhere.read_text(encoding="utf-8"))]))


def test_every_code_that_is_said_is_in_the_catalogue_and_every_one_there_is_said() -> None:
    said = all_said()
    instead = {f"{code}-instead" for how, code, _ in said if how == "refused"}
    instead.add("bad-input-instead")
    used = {code for _, code, _ in said} | instead | FROM_ELSEWHERE | {"buffer-off-instead"}
    assert used - TEXTS.keys() == set()
    assert TEXTS.keys() - used == set()


def test_codes_are_unique_and_in_lower_case_with_hyphens() -> None:
    codes = [code for part in PARTS for code in part]
    assert len(codes) == len(set(codes))
    assert [code for code in codes if not re.fullmatch(r"[a-z]+(-[a-z]+)*", code)] == []


def test_only_the_door_gives_words() -> None:
    knows = {
        path.stem
        for path in ROOM.glob("*.py")
        if re.search(r"import (TEXTS|words|worded|.*_in_words)|advice\.(catalogue|wording) ", path.read_text("utf-8"))
    }
    assert knows == {"correction", "wording"}


@pytest.fixture(scope="module")
def corrections() -> list[Correction]:
    """Sound, odd and doubtful readings on a farm with and without records."""
    farm, found = a_farm(), []
    before = [
        Note(kind="reading", item=item, value=value, measured_at=MORNING.replace(day=9), id=item)
        for item, value in (("ph", 6.0), ("ec", 1.9), ("volume", 300.0))
    ]
    for records in ([], [buffer_dip()], [buffer_dip(shown=7.6)], [*before, buffer_dip()]):
        for ph in (3.0, 4.8, 5.8, 6.4, 7.2, 9.5, 12.0):
            for ec in (0.05, 1.2, 3.0):
                readings = Readings(at=MORNING, ph=ph, ec_ms_cm=ec, temperature_c=27.0, volume_l=280.0)
                found.append(correct(farm, records, "r", readings, MORNING))
    return found


def messages_of(correction: Correction) -> list[tuple[Message | None, str]]:
    steps = [pair for step in correction.steps for pair in ((step.says, step.text), (step.because, step.why))]
    refused = [pair for each in correction.refusals for pair in ((each.says, each.text), (each.hint, each.instead))]
    return [*steps, *((each.says, each.text) for each in correction.findings), *refused]


def test_all_that_a_correction_says_has_its_code_and_its_words(corrections: list[Correction]) -> None:
    told = [pair for correction in corrections for pair in messages_of(correction)]
    assert len({message.code for message, _ in told if message}) > 30
    for message, text in told:
        assert message is not None and text == words(message)
        assert text[0].isupper() or text.startswith("pH") or text[0].isdigit(), text
        assert text.endswith(".") and "{" not in text and "  " not in text, text


def test_a_code_or_a_value_that_is_missing_is_a_bug_that_shows() -> None:
    for message in (say("nobody-says-this"), say("warm")):
        with pytest.raises(KeyError):
            words(message)


def test_every_message_has_just_the_values_that_its_sentences_name() -> None:
    for how, code, names in all_said():
        instead = fields_of(TEXTS[f"{code}-instead"]) if how == "refused" or code == "bad-input" else set()
        assert fields_of(TEXTS[code]) | instead == names, code


def test_an_error_is_told_apart_by_its_code_not_by_its_words() -> None:
    (refusal,) = correct(a_farm(), [], "r", Readings(at=MORNING, ph=12.0), MORNING).refusals
    assert refusal.says is not None and refusal.says.values["error"] == "reading-out-of-range"
    assert (refusal.says.values["value"], refusal.says.values["high"]) == (12.0, 11.0)


def test_lists_are_joined_by_what_the_sentence_puts_between_and_nothing_is_said_twice() -> None:
    assert words(say("unknown-poured", names=("lye", "bleach"))).startswith("lye and bleach was poured here")
    once = say("tests-this")
    assert sentences(once, once) == once
    assert words(sentences(once, say("says-little"))) == f"{words(once)} A reading before that says little."
    assert words(None) == ""


def test_the_record_keeps_code_values_and_text(corrections: list[Correction]) -> None:
    warm = next(each for found in corrections for each in found.findings if each.code == "warm")
    form = form_of(Correction(reservoir_id="r", assumed=corrections[0].assumed, findings=(warm,)))
    (kept,) = json.loads(json.dumps(form))["findings"]
    assert (kept["code"], kept["severity"], kept["says"]["values"]) == ("warm", "act", {"t": 27.0})
    assert msgspec.convert(kept, Finding) == warm


def test_a_refusal_as_it_was_written_gives_the_same_words_again(corrections: list[Correction]) -> None:
    found = [each for correction in corrections for each in correction.refusals]
    assert found
    for refusal in found:
        read = msgspec.convert(json.loads(msgspec.json.encode(refusal)), Refusal)
        assert (words(read.says), words(read.hint)) == (refusal.text, refusal.instead)


BEFORE_CODES = """
{"format": 1, "reservoir": "r",
 "assumed": {"volume_l": 170.0, "ph": null, "ec_ms_cm": 7.0, "temperature_c": 20.0, "alkalinity_meq_l": 0.1},
 "steps": [
  {"action": "top_up", "product": "rain", "amount": 150.0, "unit": "L", "wait_min": 0.0,
   "cautions": ["Rinse hands, probe and jug before the next reservoir."],
   "after": {"volume_l": {"value": 320.0, "low": 313.3, "high": 326.7},
             "ph": {"value": 6.95, "low": 6.44, "high": 7.44},
             "ec_ms_cm": {"value": 3.729, "low": 3.487, "high": 3.971}},
   "explain": ["Rain water: alkalinity 0.10 meq/L within a factor of 1.2, EC 0.02 mS/cm"],
   "text": "Add 150 L of Rain water, to a dip of 50 cm.",
   "why": "EC 7.00 mS/cm is above the band of 1.4 to 2.2. There is room for plain water."},
  {"action": "recheck", "product": null, "amount": 0.0, "unit": "", "wait_min": 0.0, "cautions": [],
   "after": {"volume_l": {"value": 320.0, "low": 313.3, "high": 326.7},
             "ph": {"value": 6.95, "low": 6.44, "high": 7.44},
             "ec_ms_cm": {"value": 3.729, "low": 3.487, "high": 3.971}},
   "explain": [], "text": "Read pH and EC again in 48 minutes.",
   "why": "After three turnovers it has mixed to 95 %; that reading tests this correction."}],
 "findings": [{"code": "temperature-assumed", "text": "No water temperature was read: 20 °C assumed.",
               "severity": "note"}],
 "refusals": [{"code": "still-mixing", "text": "What was poured last has not mixed in yet.",
               "instead": "Walk on, and read again then."}],
 "explain": ["Circulating volume = 150 L in the reservoir + 20 L in channels, roots and pipes = 170 L (± 7 L)"]}
"""
"""A correction as the record had it before messages had codes and steps had numbers."""


def offered(data: str) -> Offer:
    return Offer(Note(kind="correction", measured_at=MORNING, data=json.loads(data), id="k"))


def test_a_correction_from_before_is_read_as_it_was() -> None:
    offer = offered(BEFORE_CODES)
    add, again = offer.steps
    assert (add.number, add.action, add.product, add.amount, add.unit) == (1, "top_up", "rain", 150.0, "L")
    assert add.is_measured and not again.is_measured
    assert add.text == "Add 150 L of Rain water, to a dip of 50 cm."
    assert add.cautions == ("Rinse hands, probe and jug before the next reservoir.",)
    assert add.after is not None and add.after.ec_ms_cm.high == 3.971
    assert (again.number, again.why.split(";")[0]) == (2, "After three turnovers it has mixed to 95 %")
    assert offer.assumed.volume_l == 170.0 and offer.assumed.ph is None
    assert offer.findings == ("No water temperature was read: 20 °C assumed.",)
    assert offer.refusals == ("What was poured last has not mixed in yet. Walk on, and read again then.",)


def test_a_step_of_which_little_was_written_is_read_as_far_as_it_goes() -> None:
    newer = '{"steps": [{"action": "stir", "after": {"ph": {"low": 5}}, "says": 3, "colour": "blue"}, {}]}'
    stirred, bare = offered(newer).steps
    assert (stirred.action, stirred.after, stirred.says) == ("stir", None, None)
    assert (bare.number, bare.action, bare.text) == (2, "look", "")


def test_what_is_written_is_read_back_as_the_same_steps() -> None:
    readings = Readings(at=MORNING, ph=7.0, ec_ms_cm=1.1, temperature_c=20.0, volume_l=260.0)
    found = correct(a_farm(), [buffer_dip()], "r", readings, MORNING)
    read = offered(json.dumps(form_of(found))).steps
    assert [step.action for step in read] == [step.action for step in found.steps]
    for back, step in zip(read, found.steps, strict=True):
        assert (back.number, back.text, back.why, back.amount) == (step.number, step.text, step.why, step.amount)
        assert back.after is not None and back.after == (step.after and step.after.rounded())


def test_steps_get_their_numbers_with_their_words(corrections: list[Correction]) -> None:
    bare = Correction(
        reservoir_id="r", assumed=corrections[0].assumed, steps=(Step(says=say("read-then")), Step(action="recheck"))
    )
    assert [(step.number, step.text) for step in worded(bare).steps] == [(1, "Then read pH and EC again."), (2, "")]
