"""Escape sequences and marks that turn text around, in every text of a farm's files: none reaches whoever reads it."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest

from rounds.app import RoundsApp
from rounds.cli import main
from rounds.farm.load import load_farm
from rounds.resources import checklists_folder
from rounds.text import is_unwanted
from rounds.walk.session import Session
from tests import keyboard
from tests.once import style_sheets_are_parsed_once  # noqa: F401  # this is a fixture

BAD = r"\u001b[2J\u001b]0;owned\u0007\u009b31m\u202eabc\u2066\u200f"
"""Clear the screen, a new title, red by a C1 byte, and from right to left; as TOML escapes."""
TEXT_KEYS = ("name", "what", "phone", "note", "crop", "label", "how", "why", "off", "title", "water", "isolators")
READING = [
    ["due"], ["due", "--json"], ["card"], ["change", "--plot"], ["correct", "res-1", "ph 6.9 ec 1.4 t 20 dip 30"],
    ["history", "--all"], ["history", "--json"], ["history", "--csv"], ["check"], ["check", "--json"],
    ["relief", "--report"], ["relief", "--plan"], ["mix", "top-up", "res-1", "--litres-per-day", "9"],
    ["mix", "change-out", "res-1"], ["mix", "concentrate", "leaf"], ["enter", "res-1", "ph 6.1"],
    ["enter", "res-1", "ph 61"], ["enter", "nowhere", "ph 6"], ["correct", "hens", "x"],
]  # fmt: skip


def spoilt(text: str) -> str:
    """A TOML text with what a terminal would obey at the end of each of its texts."""
    keys = "|".join(TEXT_KEYS)
    pattern = rf'^((?:{keys}) = "[^"\n]{{1,50}})"'
    return re.sub(pattern, lambda found: f'{found[1]}{BAD}"', text, flags=re.MULTILINE)


@pytest.fixture
def bad_farm(farm_folder: Path) -> Path:
    """The small farm and a checklist of its own, with such letters in every text of theirs."""
    more = '\n[[contacts]]\nname = "Vet"\nwhat = "Birds"\nphone = "1"\n\n[where]\nwater = "left"\n'
    path = farm_folder / "farm.toml"
    path.write_text(path.read_text(encoding="utf-8") + more, encoding="utf-8")
    (farm_folder / "checklists").mkdir()
    for name in ("reservoir.toml", "hens.toml"):
        shutil.copyfile(checklists_folder() / name, farm_folder / "checklists" / name)
    for path in [*farm_folder.glob("*.toml"), *farm_folder.glob("checklists/*.toml")]:
        text = path.read_text(encoding="utf-8")
        assert "u001b" in spoilt(text), path
        path.write_text(spoilt(text), encoding="utf-8")
    return farm_folder


def texts_in(value: Any) -> Iterator[str]:
    """Every text of a model, however deep."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, msgspec.Struct):
        yield from texts_in(msgspec.structs.asdict(value))
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield from texts_in(key)
            yield from texts_in(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from texts_in(inner)


def obeyed(text: str) -> list[str]:
    return sorted({ascii(letter) for letter in text if letter != "\n" and is_unwanted(letter)})


def test_no_text_that_was_read_holds_what_a_terminal_obeys(bad_farm: Path) -> None:
    farm = load_farm(bad_farm)
    session = Session.open(bad_farm, read_only=True)
    read = [farm.name, *texts_in([farm.place, farm.people, farm.contacts, dict(farm.where), dict(farm.meters),
            dict(farm.waters), dict(farm.stations), dict(farm.feeds), dict(farm.shelf)]),
            *texts_in(dict(session.checklists.by_kind)), *map(str, session.mistakes)]  # fmt: skip
    assert len([text for text in read if "\ufffd" in text]) > 60
    assert [text for text in read if obeyed(text)] == []
    assert session.mistakes == ()
    assert all("\n" not in text for text in (farm.name, *(each.name for each in farm.stations.values())))


@pytest.mark.parametrize(
    "line", ["x = -11\0 01", "x = 5 \x1b[2J", "x = \u202eabc", "\x9b31m = 5", 'x = "a\x1b[2J', "[\x1b]"]
)
def test_how_to_write_a_line_that_is_no_toml_is_said_without_its_letters(farm_folder: Path, line: str) -> None:
    (farm_folder / "shelf.toml").write_text(f"{line}\n", encoding="utf-8")
    (mistake,) = load_farm(farm_folder).mistakes
    assert obeyed(mistake.told) == []


@pytest.mark.parametrize("broken", [False, True], ids=["sound", "with mistakes"])
def test_no_verb_says_what_a_terminal_obeys(bad_farm: Path, capsys: pytest.CaptureFixture[str], broken: bool) -> None:
    assert main(["enter", str(bad_farm), "ch-1", "flow 1.1"]) == 0
    if broken:
        path = bad_farm / "farm.toml"
        text = path.read_text(encoding="utf-8").replace("birds = 12", f'birds = "{BAD}"\n"{BAD}" = "{BAD}"')
        path.write_text(text.replace("pump_l_min = 20", f'pump_l_min = "{BAD}"'), encoding="utf-8")
    for verb, *rest in READING:
        capsys.readouterr()
        assert main([verb, str(bad_farm), *rest]) in (0, 1), verb
        both = capsys.readouterr()
        assert obeyed((both.out + both.err).replace("\r\n", "\n")) == [], (verb, rest)
    assert main(["due", f"{bad_farm}/\x1b[2Jnowhere\u202e"]) == 1
    assert obeyed(capsys.readouterr().err) == []


def test_no_sheet_holds_what_a_browser_or_a_printer_obeys(
    bad_farm: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    html = tmp_path / "sheet.html"
    assert main(["relief", str(bad_farm), "--html", str(html)]) == 0
    text = html.read_text(encoding="utf-8")
    assert "Hen house\ufffd[2J" in text and obeyed(text) == []
    code = main(["relief", str(bad_farm), "--pdf", str(tmp_path / "sheet.pdf")])
    told = capsys.readouterr()
    assert obeyed(told.out + told.err) == []
    assert (code == 1 and not (tmp_path / "sheet.pdf").exists()) or b"\x1b" not in (tmp_path / "sheet.pdf").read_bytes()


async def test_no_screen_shows_what_a_terminal_obeys(bad_farm: Path) -> None:
    app = RoundsApp(bad_farm)
    seen: list[str] = []
    async with app.run_test(size=(100, 40), notifications=True):
        for key in ("f8", "escape", "d", "escape", "b", "escape", "t", "escape", "f1", "escape", "r", "escape", "o",
                    "escape", "enter", "plus", "escape", "i", "escape", "c", "escape"):  # fmt: skip
            keyboard.type_at_once(app, key)
            await keyboard.until(app, lambda: app.keys_are_through)
            seen.append(keyboard.shown(app))
    assert any("\ufffd" in text for text in seen)
    assert [obeyed(text) for text in seen if obeyed(text)] == []
