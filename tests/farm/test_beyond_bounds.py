"""Files that would take minutes, or stop whoever reads them: refused in a sentence, in the farm and in a bundle."""

from __future__ import annotations

import os
import random
from pathlib import Path

import pytest

from rounds.farm.load import load_farm
from rounds.resources import checklists_folder, sample_farm_folder
from rounds.toml_bounds import MOST_BYTES, MOST_DEPTH, MOST_DIGITS, MOST_DOTS, MOST_KEYS, beyond, loads

FILES = ("farm.toml", "feeds.toml", "shelf.toml")
BEYOND = {
    "dots": ("x.a" + ".a" * 12_000 + " = 1", "more than 8 dots"),
    "dots with spaces and quotes": ("x" + ' . "a"' * 9_000 + " = 1", "more than 8 dots"),
    "dots of a table": ("[x" + ".'a b'" * 40 + "]", "more than 8 dots"),
    "digits": ("x = " + "9" * 10_000, "this number is too long"),
    "digits of base 16": ("x = 0x" + "f" * 90_000, "this number is too long"),
    "brackets": ("x = " + "[" * 900 + "]" * 900, "more brackets inside each other"),
    "tables": ("x = " + "{a=" * 400 + "1" + "}" * 400, "more brackets inside each other"),
    "tables and lists": ("x = " + "[{a=[], b=" * 30 + "1" + "}]" * 30, "more brackets inside each other"),
    "brackets that never end": ("x = " + "[" * 100_000, "more brackets inside each other"),
    "keys": ("\n".join(f"k{n} = 1" for n in range(MOST_KEYS + 2)), "more than 20000 keys"),
    "length": ("# " + "x" * MOST_BYTES, "longer than 1 MB"),
}


@pytest.mark.parametrize("file", FILES)
@pytest.mark.parametrize("what", BEYOND)
def test_what_would_take_minutes_to_read_is_told_in_a_sentence(farm_folder: Path, file: str, what: str) -> None:
    text, how = BEYOND[what]
    (farm_folder / file).write_text(text, encoding="utf-8")
    (mistake,) = [each for each in load_farm(farm_folder).mistakes if each.file == file]
    assert mistake.unreadable
    assert how in str(mistake)
    assert len(mistake.told) < 400


def test_what_a_farm_needs_is_within_bounds_and_just_inside_each_is_read() -> None:
    for path in [*sample_farm_folder().glob("*.toml"), *checklists_folder().glob("*.toml")]:
        assert beyond(path.read_text(encoding="utf-8")) is None
    for text in (
        "a" + ".a" * MOST_DOTS + " = 1", "x = " + "[" * MOST_DEPTH + "]" * MOST_DEPTH, "x = 0." + "1" * 39,
        "note = '" + "a." * 99 + "'", 'note = """' + "[[[[" * 40 + '"""', "# " + "[" * 40, "x = '" + "9" * 99 + "'",
        'a = "\\"' + "[" * 40 + '"', "# it's\na = " + "[" * MOST_DEPTH + "]" * MOST_DEPTH + " # it's",
        "_" * 60 + " = 1", "x = '''" + "\n\"{{{{" * 20 + "'''",
    ):  # fmt: skip
        assert beyond(text) is None, text
        assert loads(text) is not None


@pytest.mark.parametrize("text", ["x.a" + ".a" * MOST_DOTS + " = 1", "x = " + "9" * (MOST_DIGITS + 1),
                                  "x = " + "[" * (MOST_DEPTH + 1) + "]" * (MOST_DEPTH + 1)])  # fmt: skip
def test_just_outside_each_bound_nothing_is_read(text: str) -> None:
    with pytest.raises(ValueError, match=r"dots|long|brackets"):
        loads(text)


def test_a_text_that_is_never_closed_is_no_work(farm_folder: Path) -> None:
    for mark in ('"""', "'''", '"', "'", "# "):
        assert beyond(f"x = {mark}" + "a.b[" * 30_000) is None
    rest = "".join(random.Random(3).choice("\"'\\.[]{}#\n=a1 ") for _ in range(20_000))
    assert beyond(rest) is None or beyond(rest)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes with a name are not known here")
@pytest.mark.parametrize("file", FILES)
def test_a_pipe_in_the_place_of_a_file_is_not_waited_for(farm_folder: Path, file: str) -> None:
    (farm_folder / file).unlink()
    os.mkfifo(farm_folder / file)
    (mistake,) = [each for each in load_farm(farm_folder).mistakes if each.file == file]
    assert "can't be opened: it is not an ordinary file" in str(mistake)


def test_a_file_without_end_is_not_read(farm_folder: Path) -> None:
    (farm_folder / "shelf.toml").unlink()
    (farm_folder / "shelf.toml").symlink_to("/dev/zero")
    assert "not an ordinary file" in str(load_farm(farm_folder).mistakes[0])


def test_keys_that_nobody_knows_are_told_up_to_twenty_and_then_counted(farm_folder: Path) -> None:
    many = "\n".join(f"k{n} = 1" for n in range(3_000))
    path = farm_folder / "farm.toml"
    path.write_text(f"{many}\n{path.read_text(encoding='utf-8')}{many}\n", encoding="utf-8")
    told = [str(each) for each in load_farm(farm_folder).mistakes]
    assert len([each for each in told if "no such key" in each]) == 40
    assert next(each for each in told if "2980 more keys" in each) == (
        "farm.toml: found 2980 more keys, expected keys that are known."
    )
