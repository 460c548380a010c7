"""Every error of book, walk and command line: its code, its words to the letter, and no words anywhere else."""

from __future__ import annotations

import ast
import json
from pathlib import Path

import pytest

import rounds
from rounds.book import error_texts as of_book
from rounds.book.message import say
from rounds.cli import error_texts as of_cli
from rounds.cli import main
from rounds.errors import BadInput, Refused
from rounds.walk import error_texts as of_walk
from rounds.walk.doings import error_texts as of_doings
from rounds.walk.measuring import error_texts as of_measuring

CALL = "Pour nothing for it and call the grower; F8 shows the numbers."
CALL_ELSE = "Pour nothing for it and call the grower; `--as NAME` says that somebody else walks."
A_DAY = "A day such as 2026-11-25 is expected."
NOTHING = "Nothing is written."
ZERO_OR_MORE = "An amount of 0 or more is expected."

BOOK = {
    "no-kind": (
        {"kind": "tea", "known": "dose, note"},
        "There is no record of the kind “tea”. Expected: dose, note.",
    ),
    "no-water": ({"water": "sea"}, "There is no water “sea” in farm.toml. Enter it under waters."),
    "blend-of-itself": ({"water": "Mix"}, "The blend Mix is mixed of itself. Name other waters in its blend."),
    "salts-unknown": (
        {"products": "Leaf A and Leaf B"},
        "What is in Leaf A and Leaf B is not known: shelf.toml names no salts and no label for it, so no amount can be "
        "worked out. Enter what its label prints, or its salts in grams per litre, in shelf.toml. Or try it in a "
        "bucket: `rounds measure FARM bucket` guides through ten litres of your water and a syringe of each part.",
    ),
    "agent-odd": ({"product": "Acid", "sentence": "It is odd.", "hint": "Look."}, "Acid: It is odd. Look."),
    "strength-unknown": (
        {"product": "Acid"},
        "The strength of Acid is not known, so there is no dose for it. Enter its percent, or its mol/L, "
        "in shelf.toml.",
    ),
}
WALK = {
    "growers-record": ({}, f"That is the grower's to write down. {CALL}"),
    "growers-newer": ({}, f"What a newer version wrote is the grower's to take back. {CALL}"),
    "growers-doing": (
        {"verb": "sold"},
        "What is sold is the grower's to say. A note (*) tells of it.",
    ),
    "growers-matter": ({}, "That is the grower's to settle. A note (*) tells of it."),
    "growers-dose": ({}, "What was poured is put right by the grower. A note (*) tells what is wrong."),
    "growers-change-out": ({}, f"A change-out is the grower's work. {CALL_ELSE}"),
    "helper-mix": ({"product": "Acid {x}"}, f"Acid {{x}} is not the helper's to mix with. {CALL_ELSE}"),
    "helper-mix-step": (
        {"ml": 60.0, "product": "Leaf A", "most": 50.0},
        f"This wants 60 mL of Leaf A; a helper may pour 50 mL a step. {CALL_ELSE}",
    ),
    "helper-mix-day": (
        {"ml": 120.5, "most": 100},
        f"This wants 120.5 mL in a day; a helper may pour 100 mL. {CALL_ELSE}",
    ),
    "correction-overtaken": (
        {},
        "This correction no longer holds: something was read, poured or put off since it was worked out. "
        "Esc walks on; read the reservoir again.",
    ),
    "step-done": ({"step": 2}, "Step 2 is written down already, perhaps by another window. Esc walks on."),
    "step-amount": ({"amount": -5.0, "unit": "mL"}, f"-5 mL cannot have been added. {ZERO_OR_MORE}"),
    "buffer-ph": ({"ph": 15.5}, "The meter cannot show a pH of 15.5. Expected is about 7."),
    "asked-ph": ({"ph": 15.5, "low": 0.0, "high": 14.0}, "A pH of 15.5 cannot be. Expected: 0 to 14."),
    "no-question": ({}, "Only a question can be skipped. p, then Enter, puts the rest off."),
    "no-jar-asked": (
        {},
        "A jar test belongs to a correction, which says how much of what goes into the jar; none asks for it now. "
        "Read pH, EC and dip; where the correction asks for a jar test, do it and type it there.",
    ),
    "no-reason": ({"product": "Leaf B"}, "Leaf B is not given up without a reason. A few words are expected."),
    "newer-record": ({"told": "A newer one wrote", "instead": "Wait."}, "A newer one wrote. Wait."),
    "impossible": ({"item": "pH", "why": "cannot be 15"}, "pH cannot be 15. Nothing was written down."),
    "right-impossible": ({"why": "cannot be 15"}, "It cannot be 15."),
    "right-amount": (
        {"amount": -1.0, "unit": "", "most": 1_000_000},
        "-1  cannot be. An amount from 0 to 1000000 is expected.",
    ),
    "right-reading": ({"value": 2e6}, "2e+06 cannot be a reading. A number as the meter shows it is expected."),
    "right-no-number": ({}, "This entry holds no answer. A reading, a check, a dose or a stock can be put right."),
    "right-not-clear": ({"why": "Roots: which?"}, "Roots: which?"),
    "right-which": (
        {"text": "roots", "known": "wilt, caps"},
        "“roots” is none of these checks. They are: wilt, caps.",
    ),
    "not-yours": (
        {"person": "ada"},
        "That was written down by ada. You put right what you wrote; a note (*) tells the grower.",
    ),
    "no-such-day": ({"text": "2/10"}, "“2/10” is no day. Such as  last tue,  2 oct,  -10  or  2026-10-02."),
    "day-to-come": ({"text": "tomorrow"}, "“tomorrow” has not come yet. The daybook has today and earlier days."),
    "no-such-kind": (
        {"kind": "redings", "known": "reading"},
        "There is no entry of the kind “redings”. Expected: reading.",
    ),
    "no-station-found": (
        {"station": "ch-9", "known": "ch-1"},
        "The farm has no station “ch-9”. Meant is perhaps ch-1.",
    ),
    "shelf-amount": ({"amount": -1.0, "unit": "L"}, f"-1 L cannot be on the shelf. {ZERO_OR_MORE}"),
    "nobody-walks": (
        {"file": "walking.toml"},
        "walking.toml does not say who walks here. Name somebody with --as NAME.",
    ),
    "no-item": ({"station": "North", "item": "tea", "known": "ph, ec"}, "North has no item “tea”. It has: ph, ec."),
    "no-item-of-the-farm": (
        {"item": "tea"},
        "The farm as a whole has no item “tea”. Name the station it belongs to.",
    ),
    "not-yet": (
        {"at": "2030-01-01 07:00"},
        "2030-01-01 07:00 has not come yet. Only what was read already is taken in.",
    ),
    "no-person": ({"person": "Bo", "known": "ana"}, "Nobody called “Bo” walks this farm. There are: ana."),
}
CLI = {
    "settle-what": (
        {},
        "--reason and --later belong to something that is still to sort. "
        "Name it with --settle ID: `rounds matters FARM` lists them.",
    ),
    "no-day": ({"option": "--since", "text": "soon"}, f"--since: “soon” is not a day. {A_DAY}"),
    "day-beyond": (
        {"option": "--since", "text": "9999-12-31"},
        "--since: “9999-12-31” is beyond the calendar. A day of our time is expected.",
    ),
    "day-without-time": (
        {"text": "2026-05-01"},
        "--at: “2026-05-01” is a day without a time. A time such as 2026-11-25T07:10 is expected.",
    ),
    "too-long-ago": (
        {"at": "2025-01-01 07:10", "days": 14},
        "--at: 2025-01-01 07:10 is not within the last 14 days. A reading is entered after it was taken; "
        "`rounds history --import` takes old paper logs in.",
    ),
    "no-verb": (
        {"line": "ph 6"},
        "“ph 6” is nothing that is done on the farm as a whole. "
        "Such as storm, or outage 20 min; readings belong to a station.",
    ),
    "day-and-span": ({}, "--day stands for itself. Leave --since and --until out."),
    "until-before-since": ({}, "--until lies before --since. Give the earlier day as --since."),
    "no-farm-named": ({}, "No farm was named, and this folder is none. Try  rounds FARM  or  rounds --sample."),
    "not-read-lately": (
        {"reservoir": "North"},
        'North has not been read in the last hours. Give the readings, such as "ph 6.4 ec 1.9 t 21 dip 31cm".',
    ),
    "nothing-read": ({"item": "tea", "known": "ph"}, "Nothing was read here under “tea”. There are: ph."),
    "litres-a-day": ({"litres": 0.0}, "0 L a day cannot be. Expected more than 0 L a day."),
    "growers-plan": (
        {},
        "Tanks, change-outs and bottles are prepared by the grower. `rounds mix` holds to your limits.",
    ),
    "growers-keys": ({}, "Keys are for the grower to say. Where the farm is yours, say so with  --as NAME."),
    "not-written": (
        {"path": "a.pdf", "why": "Is a directory"},
        "a.pdf could not be written: Is a directory. Choose another file or folder.",
    ),
    "not-read": ({"path": "log.csv", "why": "No such file"}, "log.csv cannot be read: No such file."),
    "not-utf-8": ({"path": "log.csv"}, "log.csv is not UTF-8 text. Save the table as CSV in UTF-8."),
    "not-tried-out": (
        {"items": "jar and a strip"},
        "A jar and a strip is not tried out here: it counts once it is written down. "
        "Write it down with `rounds enter`, then correct without a line.",
    ),
    "no-channel-id": ({}, "--into needs the channel's id. Such as --id channel-7."),
    "no-mapping": ({"example": "E {}"}, "--import needs to know which column is what. Give --mapping TOML. E {}"),
    "mapping-odd": ({"path": "m.toml", "why": "odd", "example": "E"}, "m.toml: odd. E"),
    "mapping-key": ({"key": "untis", "known": "no such key; known are unit"}, "untis: no such key; known are unit."),
    "mapping-kind": (
        {"path": "m.toml", "kind": "tea", "known": "dose"},
        "m.toml: there is no record of the kind “tea”. Expected: dose.",
    ),
}
MEASURING = {
    "measure-range": (
        {"what": "A dip", "value": -2.0, "unit": "cm", "low": 0.0, "high": 1000.0},
        "A dip of -2 cm is not believable. Expected: 0 to 1000 cm.",
    ),
    "measure-grower": (
        {},
        "What is measured here changes every dose: it is the grower's to measure. "
        "`--as NAME` says that somebody else walks.",
    ),
    "no-measurement": (
        {"what": "moon", "known": "pump, tub"},
        "There is nothing to measure called “moon”. There are: pump, tub.",
    ),
    "measure-of-what": (
        {"what": "The pump by jug and clock", "known": "north, south"},
        "The pump by jug and clock is measured of one of these: north, south. Name it.",
    ),
    "measure-of-nothing": (
        {"what": "alkalinity", "hint": "Enter a water."},
        "This farm has nothing of which alkalinity is measured. Enter a water.",
    ),
    "no-such-choice": ({"text": "9", "most": 2}, "“9” is not one of these. Type a number from 1 to 2."),
    "measure-wait": ({"left": "4:59"}, "It is too early: 4:59 to go. Then Enter again; what is typed stays."),
    "measure-enter": ({}, "Enter alone says that it is done. Nothing is typed here."),
    "measure-write": ({}, "w writes it into farm.toml, Enter alone leaves the file as it is."),
    "measure-outcome": ({}, "Enter alone says that it counts; F6 takes the last answer back."),
    "no-titrant": (
        {},
        "There is no acid on the shelf to titrate with. Enter a working acid (nitric, phosphoric, sulfuric or "
        "hydrochloric) with its strength in shelf.toml.",
    ),
    "titration-buffer": (
        {"shown": 4.5, "off": 0.3},
        "A meter that shows 4.5 in buffer 4.01 is more than 0.3 off: what it shows at 4.5 tells nothing. "
        "Calibrate it, then dip again.",
    ),
    "titration-no-alkalinity": (
        {"ph": 4.4},
        "At pH 4.40 the water has no alkalinity to be titrated. Is it the right water? Then read again.",
    ),
    "titration-two-numbers": ({}, "Two numbers are expected: mL in all, and the pH. Such as: 2.5 5.8"),
    "titration-below-its-start": (
        {"ml": 1.0, "before": 2.0, "most": 100.0},
        "1 mL in all cannot be after 2 mL: a titration that ends below its start tells nothing. "
        "Count what was poured since the start; at most 100 mL.",
    ),
    "titration-ph-rises": (
        {"ph": 6.9, "before": 6.28},
        "pH 6.9 cannot come after 6.28: acid takes it down. Stir, wait half a minute, read again.",
    ),
    "titration-too-far": (
        {"ph": 3.1, "least": 3.6},
        "pH 3.10 is past the end: from below 3.6 too much of it is acid left over. "
        "Measure out the water anew; `anew`, then Enter, begins again.",
    ),
    "tub-dip": (
        {"before": 4.0, "cm": 3.5},
        "The dip fell from 4 to 3.5 cm while water was poured in: that cannot be. "
        "Dip again where the stick stands on the floor of the tub; is the drain shut?",
    ),
    "tub-one-or-two": (
        {"litres": 10.0},
        "The dip is expected, in cm; behind it the litres, where it was not 10 L. Such as: 12.5",
    ),
    "tub-few": ({"dips": 2}, "2 dips make no table yet. Pour on, and dip again."),
    "tub-same-dip": (
        {"cm": 4.0, "twice": 20.0},
        "The dip is still 4 cm: so little water does not show. "
        "Pour as much again, dip, and type the litres behind it, such as: 12.5 20",
    ),
    "no-tub": ({"name": "Hens"}, "Hens is not dipped. A reservoir or a tank is."),
    "bucket-no-part": (
        {"product": "leaf-b", "feed": "Leaf"},
        "leaf-b, of the nutrient feed Leaf, is not on the shelf. "
        "Enter it in shelf.toml; its name and part are enough for a bucket test.",
    ),
    "bucket-numbers": ({"what": "mL and EC", "ml": 20.0}, "Expected: mL and EC. Such as: 20 1.05"),
    "bucket-odd": (
        {"ml": 1.05, "ec": 20.5},
        "1.05 mL and an EC of 20.5 mS/cm are not believable. mL come first, then the EC.",
    ),
    "bucket-falls": (
        {"before": 1.2, "ec": 1.1, "product": "Leaf A"},
        "The EC fell from 1.2 to 1.1 mS/cm with Leaf A in: that cannot be. "
        "Stir, wait a minute, read again; rinse the probe. Is it the right bottle, and in mS/cm?",
    ),
    "pump-two-numbers": ({}, "Two numbers are expected: litres, and seconds. Such as: 10 31"),
    "pump-off-dip": (
        {"before": 34.0, "cm": 33.0},
        "With the pump off the dip fell from 34 to 33 cm: water is leaving somewhere. "
        "Look for it first. Nothing runs back that leaves.",
    ),
}
DOINGS = {
    "near": (
        {"word": "daed", "near": "`dead`"},
        f"“daed” is nothing that can be typed here. Did you mean `dead`? {NOTHING}",
    ),
    "not-here": (
        {"verb": "dead", "place": "Res", "where": "Hen house"},
        f"`dead` makes no sense at Res. It is typed at Hen house. {NOTHING}",
    ),
    "two-numbers": (
        {"one": "1", "other": "2", "example": "dead 1"},
        f"Two numbers, 1 and 2: which is meant? Type one, such as dead 1. {NOTHING}",
    ),
    "count": (
        {"number": "1.5", "what": "birds"},
        f"1.5 is not a count of birds. A whole number from 1 on is expected. {NOTHING}",
    ),
    "amount": (
        {"number": "-3", "unit": "L", "most": 220.0},
        f"-3 L cannot be. More than 0 and at most 220 L is expected. {NOTHING}",
    ),
    "unit": (
        {"number": "20 kg", "units": "L", "example": "20 L"},
        f"20 kg: in which unit? Type it with L, such as 20 L. {NOTHING}",
    ),
    "more-than-there": ({"number": 40, "there": 23, "what": "birds"}, f"There are only 23 birds, not 40. {NOTHING}"),
    "no-sites": (
        {"number": 2, "planted": 13, "sites": 14},
        f"2 do not fit: 13 of the 14 sites are planted. {NOTHING}",
    ),
    "none-there": ({"what": "plants", "place": "Ch"}, f"There are no plants at Ch by now. {NOTHING}"),
    "not-there": (
        {"litres": 200.0, "there": 149.6, "place": "Res"},
        f"200 L cannot be drained: about 150 L stand in Res. {NOTHING}",
    ),
    "no-product": (
        {"word": "soup", "known": "Leaf A"},
        f"“soup” is nothing on the shelf. It has: Leaf A. {NOTHING}",
    ),
    "which": (
        {"word": "leaf", "found": "leaf-a or leaf-b"},
        f"“leaf” can mean leaf-a or leaf-b. Type one of them. {NOTHING}",
    ),
    "not-a-water": (
        {"word": "rain", "place": "Res", "known": "Well"},
        f"“rain” is no water at Res. It has: Well. {NOTHING}",
    ),
    "far-off": (
        {"shown": 9.0, "known": "the buffer of 7", "off": 2.0},
        "9 in the buffer of 7 is 2 off: such a probe is not calibrated but cleaned or replaced.",
    ),
    "far-beyond": (
        {"ml": 800.0, "product": "Acid", "litres": 198.0, "most": 747.7},
        "800 mL of Acid is far more than 198 L would ever be given: at most about 748 mL.",
    ),
    "shown": ({"shown": 15.0}, "The meter cannot show 15. Type what it showed, or `unknown`."),
    "answer": ({"word": "x", "known": "y or n"}, "“x” is no answer to that. Type y or n."),
    "day": (
        {"word": "soon"},
        "“soon” is no day. Type a date such as 3 dec, a weekday, or a number of days.",
    ),
    "day-gone": (
        {"day": "1 November"},
        "1 November is over. A waiting time ends on a day that has not come, or 0 says there is none.",
    ),
    "not-yet": ({"at": "5 December"}, "5 December has not come yet. Only what was done already is written down."),
    "too-long-ago": (
        {"at": "1 May", "days": 31},
        "1 May is more than 31 days ago. Enter it as a note, or in the daybook.",
    ),
    "twice": (
        {"at": "7:10", "what": "1 bird dead"},
        "The same was saved at 7:10: 1 bird dead. `--yes` saves it a second time.",
    ),
    "beyond": ({"why": "It is too much"}, "It is too much. `--yes` saves it as it is."),
    "no-change-out": ({"why": "No acid."}, "No change-out can be led through: No acid."),
    "led-only": (
        {},
        "Steps are led through on the walk. Say what was done: refilled 170 well a 850 b 850 acid 20.",
    ),
    "asks": (
        {"question": "How many?", "inline": "dead 1"},
        "How many? Type it behind the verb, such as: dead 1.",
    ),
    "not-sick": ({"place": "Ch"}, f"Ch is not marked sick. + says that all is well. {NOTHING}"),
    "say-what": (
        {"verb": "sold", "example": "sold 12 eggs"},
        f"`sold`: how many of what? Such as sold 12 eggs. {NOTHING}",
    ),
    "pending": (
        {"what": "1 bird dead"},
        "Not saved yet: 1 bird dead. Enter saves it, Esc leaves it; then type the next.",
    ),
    "again": ({"again": "800"}, "That is not 800. Type 800 once more if it is so, or Esc leaves it."),
}
LIMITS = {
    "helper-product": (
        {"product": "nitric bottle"},
        "Nitric bottle is not among what the grower allows a helper to pour: it is not written down.",
    ),
    "helper-step": (
        {"ml": 60.0, "most": 50.0},
        "60 mL in one step, where the grower allows 50 mL: it is not written down.",
    ),
    "helper-day": (
        {"ml": 120.0, "most": 100.0},
        "120 mL in one day, where the grower allows 100 mL: it is not written down.",
    ),
}
ROOMS = [(of_book, BOOK), (of_walk, WALK), (of_measuring, MEASURING), (of_doings, DOINGS), (of_cli, CLI)]


@pytest.mark.parametrize(
    ("room", "code", "values", "told"),
    [(room, code, values, told) for room, rows in ROOMS for code, (values, told) in rows.items()],
)
def test_an_error_says_its_sentence_and_hint_and_keeps_its_values(room, code, values, told):
    found = room.in_words(BadInput, code, **values)
    assert (str(found), found.code, found.values) == (told, code, values)


@pytest.mark.parametrize(("code", "values", "told"), [(code, *row) for code, row in LIMITS.items()])
def test_what_is_beyond_a_helpers_limit_is_said_alike_within_a_sentence_and_as_one(code, values, told):
    why = say(code, **values)
    found = of_walk.beyond_the_limit(why)
    assert (str(found), found.code, found.values) == (f"{told} {CALL}", code, values)
    assert told.casefold().startswith(of_walk.limit_text(why).casefold())


def test_every_code_is_held_to_its_words():
    assert all(set(room.in_words.texts) == set(rows) for room, rows in ROOMS)


def test_no_error_of_these_rooms_is_worded_anywhere_else():
    names = {"RoundsError", "BadInput", "OutOfRange", "NotFound", "Refused", "NotSaved"}
    root = Path(rounds.__file__).parent
    worded = [
        f"{path.relative_to(root)}:{node.lineno}"
        for name in ("book", "walk", "cli")
        for path in (root / name).rglob("*.py")
        if path.name != "error_texts.py"
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in names
    ]
    assert worded == []


def test_the_json_of_an_error_has_its_code(capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    from rounds.cli.sample import scratch_sample

    farm = scratch_sample()
    assert main(["change", str(farm), "--json", "--item", "tea"]) == 1
    error = json.loads(capsys.readouterr().out)["error"]
    assert error["code"] == "nothing-read"
    assert list(error) == ["code", "sentence", "hint"]


def test_a_code_without_words_is_a_fault():
    with pytest.raises(KeyError):
        of_walk.in_words(Refused, "no such code")
    with pytest.raises(KeyError):
        of_walk.in_words(Refused, "helper-mix")
