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

CALL = "Pour nothing for it and call the grower; F8 shows the numbers."
CALL_ELSE = "Pour nothing for it and call the grower; `--as NAME` says that somebody else walks."
A_DAY = "A day such as 2026-11-25 is expected."
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
        "What is in Leaf A and Leaf B is not known: shelf.toml names no salts for it, so no amount can be worked out. "
        "Enter its salts in grams per litre in shelf.toml. Until then feed by its label, in small parts, and read the "
        "EC after each.",
    ),
    "agent-odd": ({"product": "Acid", "sentence": "It is odd.", "hint": "Look."}, "Acid: It is odd. Look."),
    "strength-unknown": (
        {"product": "Acid"},
        "The strength of Acid is not known, so there is no dose for it. Enter its percent and density, or its mol/L, "
        "in shelf.toml.",
    ),
}
WALK = {
    "growers-record": ({}, f"That is the grower's to write down. {CALL}"),
    "growers-newer": ({}, f"What a newer version wrote is the grower's to take back. {CALL}"),
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
    "right-no-number": ({}, "This entry holds no number. A reading, a dose or a stock can be put right."),
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
ROOMS = [(of_book, BOOK), (of_walk, WALK), (of_cli, CLI)]


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
