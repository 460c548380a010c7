"""Farm files, tables and mappings with something wrong in them: a sentence or the whole of it, never half in silence.

Each case is made from its number alone, which stands in the message of what fails.
"""

from __future__ import annotations

import json
import random
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from rounds.cli import main
from rounds.cli.due import lines_of, what_is_due
from rounds.errors import RoundsError
from rounds.history.export import to_csv
from rounds.history.record import Draft
from rounds.history.store import History
from rounds.text import is_unwanted
from rounds.walk.session import Session

FILES = ("farm.toml", "feeds.toml", "shelf.toml")
FEW_FARMS, FEW_TABLES = 190, 110
"""In an ordinary run."""
MANY_FARMS, MANY_TABLES = 6_400, 3_600
"""In a long one."""
PART = 40
VALUES = ["5", "-1", "1e308", "nan", "inf", "9" * 30, "9" * 5000, "true", '""', '"x"', "[]", "{}", "[[[[]]]]", "[1, 2]",
          "1979-05-27", "07:32:00", '"\\u001b[2J"', '"\\u202e"', '"' + "x" * 3000 + '"', "0.0", "-0.0", "1_0",
          "[" * 40 + "]" * 40, '"""a\nb"""', "{ a = { a = { a = 1 } } }"]  # fmt: skip
LETTERS = [*"\"'[]=,.#\n\r{} 7“\ufeff\0\x1b\\ü"]
LINES = ["[[stations]]", "[[waters]]", "[place]", "x = 1", 'kind = "reservoir"', 'id = "hens"', "a.b.c = 1",
         "[[feeds]]", 'kind = "moon"', "x" + ".y" * 30 + " = 1", 'gone = ["hens"]', "stations = 5", "format = 2",
         "<<<<<<< HEAD"]  # fmt: skip

Change = Callable[[random.Random, str], str]


def cut(numbers: random.Random, text: str) -> str:
    return text[: numbers.randrange(len(text) + 1)]


def one_letter(numbers: random.Random, text: str) -> str:
    at = numbers.randrange(max(len(text), 1))
    return text[:at] + numbers.choice(["", *LETTERS]) + text[at + numbers.choice((0, 1)) :]


def one_value(numbers: random.Random, text: str) -> str:
    lines = text.split("\n")
    at = numbers.choice([n for n, line in enumerate(lines) if " = " in line] or [0])
    lines[at] = f"{lines[at].partition(' = ')[0]} = {numbers.choice(VALUES)}"
    return "\n".join(lines)


def lines_moved(numbers: random.Random, text: str) -> str:
    lines = text.split("\n")
    first = numbers.randrange(len(lines))
    some = lines[first : first + numbers.randrange(1, 9)]
    rest = lines[:first] + lines[first + len(some) :]
    if numbers.random() < 0.4:
        return "\n".join(rest)
    at = numbers.randrange(len(rest) + 1)
    return "\n".join([*rest[:at], *some, *([] if numbers.random() < 0.5 else some), *rest[at:]])


def one_line(numbers: random.Random, text: str) -> str:
    lines = text.split("\n")
    lines.insert(numbers.randrange(len(lines) + 1), numbers.choice(LINES))
    return "\n".join(lines)


CHANGES: tuple[Change, ...] = (cut, one_letter, one_value, lines_moved, one_line)


def changed(numbers: random.Random, text: str) -> str:
    for _ in range(numbers.choice((1, 1, 2, 4))):
        text = numbers.choice(CHANGES)(numbers, text)
    return text


def spelt(text: str, station: str) -> bool:
    return f'id = "{station}"' in text


def everything_in(folder: Path) -> list[str]:
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*"))


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory, lay_out_farm: Callable[[Path], Path]) -> dict[str, str]:
    """The texts of a sound farm."""
    folder = lay_out_farm(tmp_path_factory.mktemp("fuzz") / "farm")
    return {name: (folder / name).read_text(encoding="utf-8") for name in FILES}


def noted(folder: Path) -> None:
    """Something is written down at each station."""
    session = Session.open(folder)
    with session.history:
        now = session.now()
        session.save(*(Draft(kind="note", station=each, note="n", measured_at=now) for each in session.farm.stations))


def cases(few: int, many: int) -> list[object]:
    """The numbers of the cases, in parts that take a second or two; the many ones in a long run."""
    parts = [range(first, min(first + PART, few)) for first in range(0, few, PART)]
    return [*parts, pytest.param(range(few, many), marks=pytest.mark.long)]


def what_was_wrong(folder: Path, before: set[str], text: str) -> str:
    """What is wrong with how a farm with a changed file is told; empty where nothing is."""
    try:
        session = Session.open(folder, read_only=True)
    except RoundsError as error:
        return "" if error.sentence and not any(map(is_unwanted, str(error))) else f"no sentence: {error!r}"
    with session.history:
        form = what_is_due(session)
        told = "\n".join([*lines_of(form), *map(str, session.mistakes)])
        farm = session.farm
    known = {*farm.stations, *farm.left_out, *(each.id for each in farm.lost), *farm.gone}
    if gone := before - known:
        return f"{gone} gone without a word"
    if before - set(farm.stations) - set(farm.gone) and not session.mistakes:
        return "a smaller farm without a mistake"
    return f"{told!a} would be obeyed" if any(map(is_unwanted, told.replace("\n", ""))) else ""


@pytest.mark.parametrize("numbers", cases(FEW_FARMS, MANY_FARMS), ids=str)
def test_a_farm_file_with_something_wrong_is_told_or_is_whole(
    farm_folder: Path, whole: dict[str, str], numbers: range
) -> None:
    noted(farm_folder)
    before = set(Session.open(farm_folder, read_only=True).farm.stations)
    files = everything_in(farm_folder)
    for number in numbers:
        dice = random.Random(f"farm {number}")
        file = dice.choice((FILES[0], FILES[0], *FILES))
        text = changed(dice, whole[file])
        (farm_folder / file).write_bytes(text.encode("utf-8", "surrogatepass"))
        wrong = what_was_wrong(farm_folder, before, text)
        assert wrong == "", (number, file, wrong, text)
        assert everything_in(farm_folder) == files, number
        (farm_folder / file).write_text(whole[file], encoding="utf-8")


MAPPING = """time = ["Date", "Time"]
time_format = "%Y-%m-%d %H:%M"
delimiter = ";"
person = "Kim"
note_heading = "Remark"
[[columns]]
heading = "pH"
station = "res-1"
item = "ph"
[[columns]]
heading = "EC"
station = "res-1"
item = "ec"
unit = "uS/cm"
[[columns]]
heading = "Pump"
station = "res-1"
item = "pump"
kind = "check"
"""
CELLS = [
    "",
    "6,1",
    "61",
    "1450",
    "-1",
    "nan",
    "1e5",
    "9" * 400,
    "y",
    "n",
    "=1+1",
    "'",
    '"',
    "\x1b[2J",
    "\u202e6",
    "6.1.2",
]


def table(now: datetime, dice: random.Random) -> str:
    rows = ["Date;Time;pH;EC;Pump;Remark"]
    for day in range(6):
        at = now - timedelta(days=dice.choice((1, 2, 3, 30, 400, -400)) + day)
        rows.append(f"{at:%Y-%m-%d};07:10;{dice.choice(('6,1', *CELLS))};{dice.choice(('1450', *CELLS))};y;wind")
    return "\n".join(rows)


def table_case(number: int, now: datetime, export: str) -> tuple[str, str | None]:
    """A table and its mapping, with something wrong in either; or an export with something wrong in it."""
    dice = random.Random(f"table {number}")
    if number % 3 == 0:
        return changed(dice, export), None
    text, mapping = table(now, dice), MAPPING
    if dice.random() < 0.6:
        mapping = changed(dice, mapping)
    return (changed(dice, text) if dice.random() < 0.6 else text), mapping


def taken(words: list[str], capsys: pytest.CaptureFixture[str]) -> tuple[int, str]:
    capsys.readouterr()
    code = main(words)
    both = capsys.readouterr()
    return code, both.out + both.err


def exported(now: datetime) -> Iterator[Draft]:
    for hours in range(1, 6):
        yield Draft(
            kind="reading", station="res-1", item="ph", value=6.0 + hours / 50, measured_at=now - timedelta(hours=hours)
        )
        yield Draft(kind="note", station="hens", note="a; b", measured_at=now - timedelta(hours=hours))


@pytest.mark.parametrize("numbers", cases(FEW_TABLES, MANY_TABLES), ids=str)
def test_a_table_with_something_wrong_brings_in_what_it_says_and_nothing_impossible(
    farm_folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], numbers: range
) -> None:
    now = datetime.now(UTC).replace(microsecond=0)
    with History.open(tmp_path / "old") as old:
        old.save(*exported(now))
        export = to_csv(old.records(), ",")
    noted(farm_folder)
    csv, toml = tmp_path / "t.csv", tmp_path / "m.toml"
    known = 4
    for number in numbers:
        text, mapping = table_case(number, now, export)
        csv.write_bytes(text.encode("utf-8", "surrogatepass"))
        words = ["history", str(farm_folder), "--import", str(csv), "--yes", "--json"]
        if mapping is not None:
            toml.write_bytes(mapping.encode("utf-8", "surrogatepass"))
            words += ["--mapping", str(toml)]
        code, told = taken(words, capsys)
        form = json.loads(told)
        assert code in (0, 1) and ("error" in form) <= (code == 1), (number, told)
        assert "error" not in form or form["error"]["sentence"], number
        assert code == 1 or not (form["refused"] or form["doubted"]), number
        with History.open(farm_folder / "history", read_only=True) as history:
            found = history.records(until=now + timedelta(days=9_999))
        known += form.get("written", 0)
        assert len(found) == known, number
        assert all(each.measured_at <= datetime.now(UTC) + timedelta(minutes=1) for each in found), number
        for each in found:
            limits = {"ph": (0, 14), "ec": (0, 20)}.get(each.item) if each.kind == "reading" else None
            assert limits is None or limits[0] <= float(each.value or 0) <= limits[1], (number, each)  # type: ignore[arg-type]
    left = [path for path in everything_in(farm_folder) if path.endswith((".tmp", ".staged", ".unfinished"))]
    assert left == []
