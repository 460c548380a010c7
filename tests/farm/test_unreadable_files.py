"""Files that are no TOML: each slip people make is told with its line, its column and how to write it."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from rounds.errors import RoundsError
from rounds.farm.load import load_farm
from rounds.farm.toml_slips import Slip, read_tables
from rounds.farm.usable import usable
from rounds.resources import sample_farm_folder

FILES = ("farm.toml", "feeds.toml", "shelf.toml")

SLIPS: list[tuple[str | bytes, int, int, str]] = [
    ("[place]\n\n\nlongitude = 10.0\nlatitude = 53,6\n", 5, 14, "write 53.6, not 53,6"),
    ("x = 1.234,5", 1, 10, "write 1234.5, not 1.234,5"),
    ("well = { ph = 7,4, ec = 0.5 }", 1, 16, "write 7.4, not 7,4"),
    ("x = 53, 6 # degrees", 1, 7, "write 53.6, not 53, 6"),
    ('name = "Bed', 1, 12, 'a quote (") is missing'),
    ('name = Bed"', 1, 8, 'a quote (") is missing'),
    ("name = 'Bed", 1, 12, "a quote (') is missing"),
    ('waters = ["well, "rain"]', 1, 19, 'a quote (") is missing'),
    ('note = """begins\nname = "Bed"\n', 1, 8, 'close the text that begins here with """'),
    ("name = Bed one", 1, 8, 'put a text between quotes: "Bed one"'),
    ("waters = [well]", 1, 11, 'put a text between quotes: "well"'),
    ("name = “Bed”", 1, 8, "write straight quotes"),
    ('name = "Bed”', 1, 12, "end the text with a straight quote"),
    ("name = „Bed“", 1, 8, "write straight quotes"),
    ("[place\nlatitude = 5", 1, 7, "write [place]"),
    ('[[stations]\nid = "a"', 1, 11, "write [[stations]]"),
    ('[stations]]\nid = "a"', 1, 11, "write [[stations]]"),
    ('stations]]\nid = "a"', 1, 9, "write [[stations]]"),
    ("ec = [1.4, 1.8\nph = [5, 6]", 1, 15, "close the list with ]"),
    ('a = ["x",\n[[stations]]\nid = "b"', 1, 10, "close the list with ]"),
    ("ec = [1.4 1.8]", 1, 11, "put a comma between the values"),
    ("dips = [[0, 0],\n [1, 2]\n [2, 3]]", 3, 2, "put a comma between the values"),
    ("x = { a = 1, b = 2", 1, 19, "close the table with }"),
    ('name "Bed"', 1, 6, "put = between the key and its value"),
    ('name: "Bed"', 1, 5, "write = instead of :"),
    ("full volume = 3", 1, 6, "write full_volume"),
    ("= 3", 1, 1, "the key before = is missing"),
    ("name = # none", 1, 8, "a value is missing after name ="),
    ("größe = 3", 1, 3, "not with ö"),
    ("a = 1\nb = 2\na = 3", 3, 1, "a stands in line 1 already"),
    ("[place]\na = 1\n[place]\nb = 1", 3, 1, "[place] stands in line 1 already"),
    ("[[stations]]\na = 1\n[stations]\nb = 1", 3, 1, "write [[stations]] with two brackets"),
    ("x = True", 1, 5, "write true, not True"),
    ("x = 05", 1, 5, "write 5, not 05"),
    ("x = .5", 1, 5, "write 0.5, not .5"),
    ("x = 60 cm", 1, 5, "write the number alone, 60"),
    ("x = 28.11.2026", 1, 5, "such as 2026-11-28"),
    ("x = 2026-02-30", 1, 5, "a day as year-month-day"),
    ('path = "C:\\dir"', 1, 13, "write \\\\ where"),
    ("a = 1\n<<<<<<< HEAD\nb = 1\n=======\nb = 2\n>>>>>>> other\n", 2, 1, "two versions meet here"),
    ("a =\u00a01", 1, 4, "cannot be seen"),
    ("\ufeff\ufeffa = 1", 1, 1, "cannot be seen"),
    ("a = 1\rb = 2", 1, 6, "ordinary line ends"),
    ("a = 1 b = 2", 1, 7, "nothing may follow the value"),
    ("\tx = 1,5", 1, 7, "write 1.5, not 1,5"),
    ("x = " + "9" * 5000, 1, 5, "this number is too long"),
    ('a = 1\nname = "Größe"'.encode("latin-1"), 2, 11, "“ö” is not saved as UTF-8"),
    ("a = 1".encode("utf-16"), 1, 1, "UTF-16"),
    ("a = 1".encode("utf-16-le"), 1, 1, "UTF-16"),
]


@pytest.mark.parametrize(("text", "line", "column", "how"), SLIPS, ids=[repr(each[0])[:40] for each in SLIPS])
@pytest.mark.parametrize("file", FILES)
def test_a_slip_is_told_with_its_line_its_column_and_how_to_write_it(
    tmp_path: Path, farm_folder: Path, file: str, text: str | bytes, line: int, column: int, how: str
) -> None:
    (farm_folder / file).write_bytes(text if isinstance(text, bytes) else text.encode())
    (mistake,) = [each for each in load_farm(farm_folder).mistakes if each.file == file]
    assert str(mistake).startswith(f"{file}, line {line}, column {column} can't be read: ")
    assert how in str(mistake)
    assert "\n" not in str(mistake)


def test_the_line_is_shown_with_a_mark_under_the_spot() -> None:
    slip = read_tables(b"[place]\nlongitude = 10.0\nlatitude = 53,6\n")
    assert isinstance(slip, Slip)
    assert slip.picture == "    latitude = 53,6\n                 ^"


def test_a_long_line_is_shown_where_the_spot_is() -> None:
    slip = read_tables(b'note = "' + b"word " * 40 + b'" 5 # \x1b[31m' + b" more" * 40)
    assert isinstance(slip, Slip)
    shown, mark = slip.picture.split("\n")
    assert "\x1b" not in shown
    assert max(len(shown), len(mark)) < 80
    assert shown[len(mark) - 1] == "5"


@pytest.mark.parametrize("text", ["\ufeffa = 1\r\nb = 2\r\n", "a\t=\t1", "a = 'x\ty'"])
def test_a_byte_order_mark_tabs_and_windows_line_ends_are_no_slips(text: str) -> None:
    assert isinstance(read_tables(text.encode()), dict)


def test_a_line_is_counted_as_the_editor_counts_it_in_a_file_from_windows() -> None:
    slip = read_tables(b"\xef\xbb\xbfa = 1\r\n\r\nb = 1,5\r\n")
    assert isinstance(slip, Slip)
    assert (slip.line, slip.column, slip.text) == (3, 6, "b = 1,5")


@pytest.mark.parametrize("file", ["feeds.toml", "shelf.toml"])
@pytest.mark.parametrize("text", [None, "", "# nothing yet\n", "a = 1,5"])
def test_where_a_file_beside_it_cannot_be_used_every_station_is_walked_all_the_same(
    farm_folder: Path, file: str, text: str | None
) -> None:
    if text is None:
        (farm_folder / file).unlink()
    else:
        (farm_folder / file).write_text(text)
    farm = load_farm(farm_folder)
    assert list(farm.stations) == ["res-1", "ch-1", "ch-2", "hens"]
    (mistake,) = farm.mistakes
    assert str(mistake).startswith(file)
    assert mistake.unreadable


def test_a_farm_without_reservoirs_needs_no_feeds_and_no_shelf(farm_folder: Path) -> None:
    text = (farm_folder / "farm.toml").read_text(encoding="utf-8")
    head, *stations = text.split("[[stations]]")
    (farm_folder / "farm.toml").write_text(head + "[[stations]]" + stations[-1], encoding="utf-8")
    (farm_folder / "feeds.toml").unlink()
    (farm_folder / "shelf.toml").write_text("")
    farm = load_farm(farm_folder)
    assert (list(farm.stations), farm.mistakes) == (["hens"], ())


def test_the_stations_that_are_left_out_are_named(farm_folder: Path) -> None:
    path = farm_folder / "farm.toml"
    bad = '\n[[stations]]\nkind = "bed"\nid = "hens"\nname = "Again"\ncrop = "x"\n[[stations]]\nkind = "bad"\n'
    path.write_text(path.read_text(encoding="utf-8").replace("= 180", "= 900") + bad, encoding="utf-8")
    farm = load_farm(farm_folder)
    assert farm.left_out == ("res-1", "ch-1", "ch-2", "hens", "station 6 of the file")
    assert list(farm.stations) == ["hens"]


def test_a_station_whose_header_is_gone_does_not_vanish_among_the_places(farm_folder: Path) -> None:
    path = farm_folder / "farm.toml"
    text = path.read_text(encoding="utf-8") + '\n[where]\nwater = "left"\n#[[stations]]\nkind = "bed"\nid = "b"\n'
    path.write_text(text, encoding="utf-8")
    (mistake,) = load_farm(farm_folder).mistakes
    assert "[[stations]] above" in str(mistake)


CHARACTERS = [
    '"',
    "[",
    "]",
    "=",
    ",",
    ".",
    "#",
    "\n",
    "{",
    "}",
    " ",
    "x",
    "7",
    "“",
    "\ufeff",
    "\u00a0",
    "\r",
    "'",
    "\\",
]


def mutated(text: str, numbers: random.Random) -> str:
    at = numbers.randrange(len(text))
    return text[:at] + numbers.choice(["", *CHARACTERS]) + text[at + 1 :]


def complaint(folder: Path, before: set[str]) -> str | None:
    """What is wrong with how a damaged farm is told: fewer stations, and no sentence."""
    try:
        farm = usable(load_farm(folder))
    except RoundsError as error:
        return None if error.sentence.endswith((".", "?")) else f"no sentence: {error}"
    missing = before - set(farm.stations)
    return f"{missing} gone without a word" if missing and not farm.mistakes else None


@pytest.mark.parametrize("file", FILES)
@pytest.mark.parametrize("seed", range(4))
def test_no_single_wrong_character_makes_a_smaller_farm_without_a_word(tmp_path: Path, file: str, seed: int) -> None:
    """Two hundred files, each with one character dropped or replaced. An id that is spelt anew is no station less."""
    sample = sample_farm_folder()
    texts = {name: (sample / name).read_text(encoding="utf-8") for name in FILES}
    for name, text in texts.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    whole = load_farm(tmp_path)
    assert whole.mistakes == ()
    numbers = random.Random(f"{file} {seed}")
    for _ in range(17):
        damaged = mutated(texts[file], numbers)
        (tmp_path / file).write_text(damaged, encoding="utf-8", newline="")
        spelt = {each for each in whole.stations if f'id = "{each}"' in damaged}
        assert complaint(tmp_path, spelt) is None, damaged


@pytest.mark.long
@pytest.mark.parametrize("file", FILES)
def test_no_wrong_character_anywhere_makes_a_smaller_farm_without_a_word(tmp_path: Path, file: str) -> None:
    """Every place of the file in turn."""
    sample = sample_farm_folder()
    texts = {name: (sample / name).read_text(encoding="utf-8") for name in FILES}
    for name, text in texts.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    whole, numbers = load_farm(tmp_path), random.Random(5)
    for at in range(len(texts[file])):
        damaged = texts[file][:at] + numbers.choice(["", *CHARACTERS]) + texts[file][at + 1 :]
        (tmp_path / file).write_text(damaged, encoding="utf-8", newline="")
        spelt = {each for each in whole.stations if f'id = "{each}"' in damaged}
        assert complaint(tmp_path, spelt) is None, (at, damaged[max(0, at - 60) : at + 60])
